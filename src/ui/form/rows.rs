//! The rows of a form before any of them is scrolled away.

use std::ops::Range;

use ratatui::style::Style;
use ratatui::text::{Line, Span};

use crate::app::form::{self, Choice, Field, Form, Kind, Many, Opt, PAGE, Remark, Rule, Stands};
use crate::ui::fit;
use crate::ui::theme::{Role, Theme};

/// Columns before what belongs to a field: the mark and a space, and twice that below it.
const MARK: usize = 2;
const INDENT: usize = 4;
const GAP: usize = 2;
/// Label column in which the names of the two versions of a value fit, indented.
const VERSION: usize = 13;
/// Widest label column.
const LABEL: usize = 24;
/// Rows of a long note that are shown at once, so that what is said about it stays in sight.
const NOTE_ROWS: usize = 8;
/// Columns of a number below which its unit is left to the line of limits.
const ROOM: usize = 8;

/// A place for the terminal's cursor, in rows of the body and columns of the area.
#[derive(Clone, Copy)]
pub(super) struct Caret {
    pub row: usize,
    pub column: usize,
}

/// Everything from the intro to the last field.
pub(super) struct Body {
    pub lines: Vec<Line<'static>>,
    pub caret: Option<Caret>,
    /// Rows of the focused field and what stands below it.
    focus: Range<usize>,
}

impl Body {
    pub(super) fn of(form: &Form, theme: Theme, width: usize) -> Self {
        let widest = form.shown().map(|field| fit::columns(&field.label)).max();
        let least = if form.shown().any(|field| field.versions().is_some()) { VERSION } else { 0 };
        let label = widest.unwrap_or(0).min(LABEL).max(least).min(width * 2 / 5);
        let pen = Pen { theme, width, label };
        let mut body = Self { lines: Vec::new(), caret: None, focus: 0..0 };
        for text in &form.intro {
            body.lines.extend(pen.below(text, 0, Role::Quiet));
        }
        if !form.intro.is_empty() {
            body.lines.push(Line::default());
        }
        let focused = form.focused().map(|field| field.id);
        for field in form.shown() {
            if Some(field.id) == focused {
                let start = body.lines.len();
                body.focused(field, &pen);
                body.focus = start..body.lines.len();
            } else {
                body.lines.push(pen.resting(field));
                body.lines.extend(pen.versions(field));
                body.lines.extend(pen.remark(field));
            }
        }
        body
    }

    /// The first row to show in `height`: the whole focused field if it fits, else its caret.
    pub(super) fn top(&self, height: usize) -> usize {
        let lowest = self.focus.end.saturating_sub(height);
        let top = lowest.min(self.focus.start);
        let caret = self.caret.map_or(self.focus.start, |caret| caret.row);
        top.max((caret + 1).saturating_sub(height))
    }

    fn focused(&mut self, field: &Field, pen: &Pen) {
        let first = self.lines.len();
        let rows = if let Kind::Line(line) = &field.kind {
            let (rows, caret) = pen.typed(line);
            self.caret = Some(Caret { row: first + caret.row, column: pen.value_at() + caret.column });
            rows
        } else {
            vec![pointed(field)]
        };
        let cursor = pen.theme.style(Role::Cursor);
        let begin = std::iter::once((">", field.label.as_str()));
        for ((mark, label), row) in begin.chain(std::iter::repeat((" ", ""))).zip(rows) {
            self.lines.push(pen.row(mark, label, &row, cursor));
        }
        self.lines.extend(pen.versions(field));
        self.lines.extend(pen.remark(field));
        let read = field.understood();
        let read = read.map_or_else(String::new, |meaning| format!("That is {meaning}."));
        self.lines.extend(pen.below(&read, INDENT, Role::Text));
        let limits = pen.below(&limits(field), INDENT, Role::Quiet);
        self.lines.extend(limits);
        self.lines.extend(pen.offered(&field.kind));
        let help = pen.below(&field.help, INDENT, Role::Quiet);
        self.lines.extend(help);
    }
}

/// What all rows share.
struct Pen {
    theme: Theme,
    width: usize,
    label: usize,
}

impl Pen {
    fn value_at(&self) -> usize {
        MARK + self.label + GAP
    }

    fn value_width(&self) -> usize {
        self.width.saturating_sub(self.value_at())
    }

    /// A field without the focus, on one row.
    fn resting(&self, field: &Field) -> Line<'static> {
        let value = value(field);
        if !value.is_empty() {
            return self.row(" ", &field.label, &value, self.theme.style(Role::Text));
        }
        let empty = if field.required { "(needed)" } else { "-" };
        let quiet = self.theme.style(Role::Quiet);
        self.row(" ", &field.label, empty, quiet)
    }

    fn row(&self, mark: &str, label: &str, value: &str, style: Style) -> Line<'static> {
        let label = fit::pad(&fit::cut(label, self.label, self.theme), self.label);
        let text = format!("{mark} {label}  {value}");
        let text = fit::cut(&text, self.width, self.theme);
        Line::styled(fit::pad(&text, self.width), style)
    }

    /// The text being typed in its own rows, and the caret counted from their corner.
    fn typed(&self, line: &form::Line) -> (Vec<String>, Caret) {
        let width = self.value_width();
        let before: String = line.typed().chars().take(line.caret()).collect();
        if let Rule::Note { .. } = line.rule() {
            // One column stays free for the caret after a full row.
            let rows = fit::wrap_from(line.typed(), width.saturating_sub(1).max(1));
            let row = rows.iter().rposition(|row| row.start <= line.caret());
            let row = row.unwrap_or(0);
            let start = rows.get(row).map_or(0, |row| row.start);
            let into: String = before.chars().skip(start).collect();
            let column = fit::columns(&into).min(width.saturating_sub(1));
            let above = (row + 1).saturating_sub(NOTE_ROWS);
            let rows = rows.into_iter().skip(above).take(NOTE_ROWS).map(|row| row.text).collect();
            return (rows, Caret { row: row - above, column });
        }
        let unit = line.unit();
        let beside = width.checked_sub(fit::columns(unit) + 1);
        let beside = beside.filter(|room| !unit.is_empty() && *room >= ROOM);
        let (text, column) = fit::around(line.typed(), fit::columns(&before), beside.unwrap_or(width));
        let rows = match beside {
            Some(_) => vec![form::with_unit(&text, unit)],
            None => vec![text],
        };
        (rows, Caret { row: 0, column })
    }

    /// Both versions of a value that two people changed, one under the other; a mark is at the one that stands.
    fn versions(&self, field: &Field) -> Vec<Line<'static>> {
        let Some(both) = field.versions() else {
            return Vec::new();
        };
        let by = if both.by.is_empty() { String::new() } else { format!("  (by {})", both.by) };
        let rows = [("yours", both.yours, Stands::Yours), ("in the book", format!("{}{by}", both.book), Stands::Book)];
        rows.iter().flat_map(|(label, value, whose)| self.version(label, value, both.stands == Some(*whose))).collect()
    }

    fn version(&self, label: &str, value: &str, stands: bool) -> Vec<Line<'static>> {
        let (mark, role) = if stands { ("*", Role::Title) } else { (" ", Role::Text) };
        let room = self.label.saturating_sub(MARK);
        let label = fit::pad(&fit::cut(label, room, self.theme), room);
        let heads = std::iter::once(format!("  {mark} {label}  "));
        let heads = heads.chain(std::iter::repeat(" ".repeat(self.value_at())));
        let rows = fit::wrap(value, self.value_width()).into_iter();
        rows.zip(heads).map(|(row, head)| Line::styled(format!("{head}{row}"), self.theme.style(role))).collect()
    }

    fn remark(&self, field: &Field) -> Vec<Line<'static>> {
        match field.remark() {
            None => Vec::new(),
            Some(Remark::Told(what)) => self.below(&format!("Note: {what}"), INDENT, Role::Quiet),
            Some(Remark::Unmet(why) | Remark::Refused(why)) => {
                self.below(&format!("Not yet: {why}"), INDENT, Role::Alarm)
            }
        }
    }

    fn below(&self, text: &str, indent: usize, role: Role) -> Vec<Line<'static>> {
        let style = self.theme.style(role);
        let rows = fit::wrap(text, self.width.saturating_sub(indent)).into_iter();
        let space = " ".repeat(indent);
        rows.map(|row| Line::styled(format!("{space}{row}"), style)).collect()
    }

    /// The options of a field that has some.
    fn offered(&self, kind: &Kind) -> Vec<Line<'static>> {
        match kind {
            Kind::Line(_) | Kind::YesNo(_) => Vec::new(),
            Kind::Choice(choice) => self.options(choice.options(), choice.at(), |_| ""),
            Kind::Many(many) => self.options(many.options(), Some(many.at()), |opt| tick(many, opt)),
        }
    }

    /// The options around the cursor, one a row.
    fn options(
        &self,
        options: &[Opt],
        cursor: Option<usize>,
        tick: impl Fn(&Opt) -> &'static str,
    ) -> Vec<Line<'static>> {
        let last = options.len().saturating_sub(PAGE);
        let first = cursor.unwrap_or(0).saturating_sub(PAGE / 2).min(last);
        let window = options.iter().enumerate().skip(first).take(PAGE);
        window
            .map(|(nth, opt)| {
                let here = cursor == Some(nth);
                let mark = if here { "* " } else { "  " };
                let text = format!("{mark}{}{}", tick(opt), opt.label);
                let text = fit::cut(&text, self.width.saturating_sub(INDENT), self.theme);
                let (extra, role) = match &opt.blocked {
                    Some(why) => (format!("  not now: {why}"), Role::Soon),
                    None if opt.hint.is_empty() => (String::new(), Role::Quiet),
                    None => (format!("  {}", opt.hint), Role::Quiet),
                };
                let left = self.width.saturating_sub(INDENT + fit::columns(&text));
                let role_of_label = if here { Role::Title } else { Role::Text };
                let style = self.theme.style(role_of_label);
                Line::from(vec![
                    Span::raw(" ".repeat(INDENT)),
                    Span::styled(text, style),
                    Span::styled(fit::cut(&extra, left, self.theme), self.theme.style(role)),
                ])
            })
            .collect()
    }
}

/// A value on one row, as it reads when nothing is being typed.
fn value(field: &Field) -> String {
    match &field.kind {
        Kind::Line(line) => resting_text(line, field),
        Kind::Choice(choice) => chosen(choice),
        Kind::Many(many) => ticked(many),
        Kind::YesNo(None) => "Yes / No".to_owned(),
        Kind::YesNo(Some(true)) => "[Yes] / No".to_owned(),
        Kind::YesNo(Some(false)) => "Yes / [No]".to_owned(),
    }
}

/// The value of the focused field; of many options the one that space would tick.
fn pointed(field: &Field) -> String {
    match &field.kind {
        Kind::Many(many) => {
            many.options().get(many.at()).map_or_else(String::new, |opt| format!("{}{}", tick(many, opt), opt.label))
        }
        Kind::Line(_) | Kind::Choice(_) | Kind::YesNo(_) => value(field),
    }
}

fn tick(many: &Many, opt: &Opt) -> &'static str {
    if many.is_on(opt) { "[x] " } else { "[ ] " }
}

/// What may be entered, and the letters typed so far to find an option.
fn limits(field: &Field) -> String {
    let needed = if field.required { "needed; " } else { "" };
    match finding(&field.kind) {
        "" => format!("({needed}{})", field.limits()),
        find => format!("({needed}{}; typed: {find})", field.limits()),
    }
}

fn resting_text(line: &form::Line, field: &Field) -> String {
    let text = line.typed().replace('\n', " ");
    match line.rule() {
        Rule::Number(_) | Rule::Measure(_) if !text.is_empty() => form::with_unit(&text, line.unit()),
        Rule::Date(_) => match field.understood() {
            Some(day) => format!("{text}  {day}"),
            None => text,
        },
        Rule::Number(_) | Rule::Measure(_) | Rule::Text { .. } | Rule::Note { .. } => text,
    }
}

fn chosen(choice: &Choice) -> String {
    let Some(opt) = choice.chosen() else {
        return String::new();
    };
    match &opt.blocked {
        Some(_) => format!("{} (not now)", opt.label),
        None => opt.label.clone(),
    }
}

fn ticked(many: &Many) -> String {
    let labels: Vec<&str> = many.ticked().map(|opt| opt.label.as_str()).collect();
    labels.join(", ")
}

fn finding(kind: &Kind) -> &str {
    match kind {
        Kind::Choice(choice) => choice.find(),
        Kind::Many(many) => many.find(),
        Kind::Line(_) | Kind::YesNo(_) => "",
    }
}
