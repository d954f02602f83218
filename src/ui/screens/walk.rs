//! One stop of the walk: where, what, what the plan expects, and exactly what each key will write.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use super::super::fit;
use super::super::page::{footer, frame_rows, header, line, put, two_ends};
use super::super::theme::{Role, Theme};
use crate::app::command::{Command, Row};
use crate::app::key::Key;
use crate::app::keys::{self, Context};
use crate::app::model::Model;
use crate::app::screens::check;
use crate::app::screens::share::whose;
use crate::app::screens::walk::{Grade, State, grade, plan};
use crate::domain::action::Action;
use crate::domain::look::Basis;
use crate::domain::tray::TrayCard;

/// Columns of a grade.
const CELL: usize = 9;
/// Columns of a row's name.
const NAME: usize = 15;

pub(super) fn draw(model: &Model, state: &State, theme: &Theme, frame: &mut Frame, area: Rect) {
    let (head, body, _, foot) = frame_rows(area);
    let title = match &state.walk {
        None => "A look at one tray".to_string(),
        Some(walk) => format!(
            "{}: {} done, {} to do",
            if walk.seen.paper { walk.sheet_words() } else { whose(model, walk) },
            state.route.len() - state.open_count(),
            state.open_count()
        ),
    };
    put(frame, head, [header(&title, model, Role::Title, theme, head.width)]);
    put(frame, foot, [footer(Context::Walk, theme, foot.width)]);
    let Some(tray) = model.walk_tray() else {
        put(frame, body, [line("Looking where to go on ...", Role::Text, theme, body.width)]);
        return;
    };
    let wide = usize::from(body.width) >= NAME + 5 * CELL + 8;
    let mut lines = stop(model, state, tray, theme, body);
    let keys = if wide {
        grid(model, state, tray, theme, usize::from(body.width))
    } else {
        list(model, state, tray, theme, usize::from(body.width))
    };
    let spare = usize::from(body.height).saturating_sub(lines.len() + keys.len());
    if spare > 0 {
        lines.push(Line::default());
    }
    let kept = 1
        + usize::from(gloves(state, tray).is_some())
        + usize::from(naming(model, tray).is_some())
        + usize::from(model.board.kept_out_of(tray, model.now).is_some())
        + model.board.flags(tray, model.now).iter().filter(|flag| flag.grave).count();
    lines.truncate(usize::from(body.height).saturating_sub(keys.len()).max(kept));
    lines.extend(keys);
    put(frame, body, lines);
}

/// What is said of gloves at this stop, and shorter.
fn gloves(state: &State, tray: &TrayCard) -> Option<(&'static str, &'static str)> {
    if state.gloves == Some(tray.id) {
        Some((
            " Suspect trays from here on: gloves and mask on now, fresh gloves after them.",
            " Suspect trays: change gloves, now and after.",
        ))
    } else if state.fresh == Some(tray.id) {
        Some((
            " Fresh gloves before you touch this tray: you come from a suspect one.",
            " Fresh gloves before this tray.",
        ))
    } else if state.walk.is_none() && tray.doubtful() {
        Some((
            " A suspect tray: gloves and mask on now, fresh gloves after it.",
            " Suspect: gloves now, fresh ones after.",
        ))
    } else {
        None
    }
}

/// What is said where the signs chosen name mould or rot.
fn naming(model: &Model, tray: &TrayCard) -> Option<String> {
    let verdict = check::comes_to(model, tray).filter(|verdict| verdict.is_bad())?;
    Some(format!(" {} when written: never for sale, and nothing clears it", verdict.shown().to_uppercase()))
}

/// Where the walk stands and what is known.
fn stop(model: &Model, state: &State, tray: &TrayCard, theme: &Theme, body: Rect) -> Vec<Line<'static>> {
    let today = state.day(model.today());
    let width = body.width;
    let airy = body.height >= 18;
    let mut lines = Vec::new();
    let out = model.board.kept_out_of(tray, model.now);
    lines.extend(out.iter().map(|out| line(&format!(" STOP: {out}"), Role::Alarm, theme, width)));
    if let Some((said, short)) = gloves(state, tray) {
        let said = if usize::from(width) < said.len() { short } else { said };
        lines.push(line(said, Role::Alarm, theme, width));
    } else if airy && out.is_none() {
        lines.push(Line::default());
    }
    lines.extend(naming(model, tray).map(|said| line(&said, Role::Alarm, theme, width)));
    let big = format!(" {}   {}   day {}", tray.stands(), tray.crop_name.to_uppercase(), tray.day(today));
    lines.push(two_ends(&big, tray.stage_words(model.now), Role::Title, theme, width.saturating_sub(1)));
    let batch = format!(" {}   batch {}, sown {}", tray.code(), tray.sowing_code, tray.sown.format("%a %d %b"));
    // as of the day the walk is of
    let then = model.now.plus(today - model.today());
    let flags = model.board.flags(tray, then).into_iter().map(|flag| {
        let role = if flag.grave { Role::Alarm } else { Role::Soon };
        line(&format!(" {}", flag.text), role, theme, width)
    });
    if airy {
        lines.push(line(&batch, Role::Quiet, theme, width));
        lines.push(Line::default());
        lines.extend(flags);
    } else {
        // lines at the end give way where it is low, and these must not
        lines.extend(flags);
        lines.push(line(&batch, Role::Quiet, theme, width));
    }
    let plan_key = expected_key(model, state, tray);
    lines.push(line(
        &format!(" plan today   {}{plan_key}", tray.plan.words_on(tray.day(today))),
        Role::Text,
        theme,
        width,
    ));
    let last = tray.last.as_ref().map_or_else(
        || "none yet".to_string(),
        |l| {
            let when = if l.day == today { "today".to_string() } else { l.day.format("%a %d %b").to_string() };
            format!("{when}: {}", l.words())
        },
    );
    lines.push(line(&format!(" last look    {last}"), Role::Text, theme, width));
    if let Ok(Action::Look(look)) = plan(model, Command::WriteChosen) {
        lines.push(line(
            &format!(" chosen       {} (Enter writes it)", look.words(model.board.units())),
            Role::Soon,
            theme,
            width,
        ));
    }
    if state.visited(tray.id) {
        let checked = tray.checks.first().is_some_and(|check| check.day == today);
        let fuzz = if tray.suspect || checked { " Fuzz goes on counting." } else { "" };
        lines.push(line(&format!(" This stop is done; a grade now corrects it.{fuzz}"), Role::Good, theme, width));
    }
    lines
}

/// The column of what the plan expects today, if it expects a grade of this row.
fn expected(model: &Model, state: &State, tray: &TrayCard) -> Option<usize> {
    let today = state.day(model.today());
    let expected = tray.plan.roots_on(tray.day(today))?;
    (0..5).find(|column| grade(tray, state.mode, today, *column) == Some(Grade::Roots(expected)))
}

/// The key of what the plan expects, to name it beside the plan.
fn expected_key(model: &Model, state: &State, tray: &TrayCard) -> String {
    expected(model, state, tray).map_or_else(String::new, |column| format!("  (key {})", key_name(Row::Tray, column)))
}

/// What a grade of a row would write, or why the row does nothing.
fn writes(model: &Model, row: Row, column: usize) -> (String, bool) {
    match plan(model, Command::Grade(row, column)) {
        Ok(Action::Look(look)) => {
            let whom = match (look.basis, look.trays.as_slice()) {
                (Basis::Shelf, [_]) => ", shelf glance, this tray only".to_string(),
                (Basis::Shelf, trays) => {
                    let last =
                        trays.last().and_then(|t| model.board.tray(*t)).map_or_else(String::new, |t| t.place.label());
                    format!(", shelf glance, {} trays to {last}", trays.len())
                }
                _ => String::new(),
            };
            (format!("{}{whom}", look.words(model.board.units())), true)
        }
        Ok(_) => (String::new(), false),
        Err(refusal) => (refusal.sentence, false),
    }
}

const ROWS: [(Row, &str); 3] =
    [(Row::Shelf, "rest of shelf"), (Row::Tray, "THIS TRAY"), (Row::NotWatered, "not watered")];

fn key_name(row: Row, column: usize) -> String {
    keys::key_of(Context::Walk, Command::Grade(row, column)).map_or_else(String::new, Key::name)
}

/// Three rows of keys as they lie on the keyboard, each with what it writes.
fn grid(model: &Model, state: &State, tray: &TrayCard, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    // the grade the plan expects stands as the example, or the best one
    let example = expected(model, state, tray).unwrap_or(3);
    let mut lines = Vec::new();
    for (row, name) in ROWS {
        if row == Row::NotWatered && !state.mode.waters() {
            continue;
        }
        let (sentence, ready) = writes(model, row, example);
        let role = if row == Row::Tray { Role::Title } else { Role::Text };
        let mut spans = vec![Span::styled(fit::pad(&format!(" {name}"), NAME), theme.style(role))];
        for column in 0..5 {
            let Some(grade) = grade(tray, state.mode, model.today(), column) else {
                spans.push(Span::raw(" ".repeat(CELL + 3)));
                continue;
            };
            let word = if row == Row::NotWatered && grade == Grade::Watered { "wet enough" } else { grade.word() };
            spans.push(Span::styled(key_name(row, column), theme.style(if ready { Role::Key } else { Role::Quiet })));
            spans.push(Span::styled(
                format!(" {}", fit::pad(word, CELL)),
                theme.style(if ready { role } else { Role::Quiet }),
            ));
        }
        lines.push(Line::from(spans));
        let example = if ready { format!("{} writes: {sentence}", key_name(row, example)) } else { sentence };
        // what a key writes is never cut short, and this tray's is the one that is read
        let role = if row == Row::Tray { Role::Text } else { Role::Quiet };
        for text in fit::wrap(&example, width.saturating_sub(NAME)) {
            lines.push(Line::styled(format!("{}{text}", " ".repeat(NAME)), theme.style(role)));
        }
        lines.push(Line::default());
    }
    lines.pop();
    lines.extend(hairs(model, theme, width));
    lines
}

/// Said of a suspect tray, whose fuzz no grade answers.
fn misting() -> String {
    let key = keys::key_of(Context::Walk, Command::Fuzz).map_or_else(String::new, Key::name);
    format!("A grade does not answer the fuzz. Mist it: {key}")
}

/// The key for expected root hairs, where they are expected; of a suspect tray the one that asks.
fn hairs(model: &Model, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    if let Some(said) = model.walk_tray().filter(|tray| tray.suspect && !tray.bad).map(|_| misting()) {
        return fit::wrap(&said, width.saturating_sub(1))
            .into_iter()
            .map(|row| Line::styled(format!(" {row}"), theme.style(Role::Alarm)))
            .collect();
    }
    let Ok(Action::Look(look)) = plan(model, Command::Hairs) else { return Vec::new() };
    let key = keys::key_of(Context::Walk, Command::Hairs).map_or_else(String::new, Key::name);
    let text = format!("root hairs: writes {}", look.words(model.board.units()));
    let rows = fit::wrap(&text, width.saturating_sub(3)).into_iter().enumerate();
    rows.map(|(n, row)| {
        let key = if n == 0 { format!(" {key} ") } else { "   ".to_string() };
        Line::from(vec![Span::styled(key, theme.style(Role::Key)), Span::styled(row, theme.style(Role::Text))])
    })
    .collect()
}

/// The same on a narrow screen: this tray's keys one by one, the other rows in a sentence.
fn list(model: &Model, state: &State, tray: &TrayCard, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    let example = expected(model, state, tray).unwrap_or(3);
    let mut cells: Vec<Vec<Span<'static>>> = Vec::new();
    for column in 0..5 {
        if let Some(grade) = grade(tray, state.mode, model.today(), column) {
            cells.push(vec![
                Span::styled(format!(" {}", key_name(Row::Tray, column)), theme.style(Role::Key)),
                Span::styled(format!(" {}", fit::pad(grade.word(), 14)), theme.style(Role::Title)),
            ]);
        }
    }
    let per_row = (width / 17).max(1);
    let mut lines: Vec<Line<'static>> = cells.chunks(per_row).map(|row| Line::from(row.concat())).collect();
    let mut say = |text: &str, role: Role| {
        let rows = fit::wrap(text, width.saturating_sub(1)).into_iter();
        lines.extend(rows.map(|row| Line::styled(format!(" {row}"), theme.style(role))));
    };
    let (sentence, ready) = writes(model, Row::Tray, example);
    if ready {
        say(&format!("{} writes: {sentence}", key_name(Row::Tray, example)), Role::Text);
    }
    let (sentence, ready) = writes(model, Row::Shelf, example);
    let key = if ready { format!(", {}", key_name(Row::Shelf, example)) } else { String::new() };
    say(&format!("row above{key}: {sentence}"), Role::Quiet);
    if state.mode.waters() {
        say(&format!("row below, {}: the same, not watered", key_name(Row::NotWatered, example)), Role::Quiet);
    }
    lines.extend(hairs(model, theme, width));
    lines
}
