//! The batch under the cursor: the plan as a band, what was seen each day below it, today marked.

use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use super::super::theme::{Role, Theme};
use super::super::{fit, signs};
use crate::app::command::Command;
use crate::app::key::Key;
use crate::app::keys::{self, Context};
use crate::app::model::Model;
use crate::domain::forecast::{Forecast, lead_words};
use crate::domain::fuzz::Verdict;
use crate::domain::look::{Mist, Stand};
use crate::domain::room::Units;
use crate::domain::time::{Now, day_number};
use crate::domain::timeline::{DayMarks, Timeline};
use crate::domain::tray::{Stage, TrayCard};

/// Columns of a row's name.
const NAME: usize = 7;
/// Columns of a day.
const DAY: usize = 3;

/// Lines of the pane.
pub(super) fn lines(model: &Model, theme: &Theme, area: Rect) -> Vec<Line<'static>> {
    let width = usize::from(area.width);
    let Some(tray) = model.cursor_tray() else {
        let place =
            model.cursor_place().map_or_else(String::new, |p| format!("{} is empty ({}).", p.label(), p.zone.shown()));
        let dirty = model.cursor_place().and_then(|place| model.board.to_clean(place.id));
        let dirty = dirty.map(|dirty| format!("To clean {}; r z says that it was cleaned.", dirty.words(model.now)));
        let sows = "s sows trays into free places; they are proposed in walking order.";
        let all = [("Batch".into(), Role::Title), (place, Role::Text)]
            .into_iter()
            .chain(dirty.map(|text| (text, Role::Soon)))
            .chain([(sows.into(), Role::Quiet)]);
        return all
            .map(|(text, role): (String, Role)| super::super::page::line(&text, role, theme, area.width))
            .collect();
    };
    let mut lines = head(model, tray, theme, width);
    let Some(line) = model.room().and_then(|room| room.timeline.as_ref()).filter(|line| line.sowing == tray.sowing)
    else {
        return lines;
    };
    lines.extend(batch(tray, line, model.board.units(), theme, width));
    let days = Days::new(tray, tray.day(model.today()), width);
    lines.push(days.numbers(theme));
    lines.push(days.band(tray, theme));
    lines.extend(days.ahead(tray, theme));
    if !tray.roots_hidden {
        lines.push(days.row("plan", theme, Role::Quiet, |d| {
            let known = tray.plan.roots.iter().any(|(from, _)| *from == d);
            tray.plan.roots_on(d).filter(|_| known).map(|g| signs::roots(g).to_string())
        }));
        lines.push(days.seen("roots", line, theme, |m| {
            m.roots_low.map(|low| {
                let split = m.roots_high.is_some_and(|high| high != low);
                (format!("{}{}", signs::roots(low), if split { "+" } else { "" }), Role::Text)
            })
        }));
    }
    // rows without a mark are left out: nothing of the kind was seen
    let any = |marked: &dyn Fn(&DayMarks) -> bool| line.days.iter().any(marked);
    if any(&|m| m.stand.is_some()) {
        lines.push(days.seen("stand", line, theme, |m| {
            m.stand.map(|s| (signs::stand(s).to_string(), if s == Stand::Good { Role::Text } else { Role::Soon }))
        }));
    }
    if any(&|m| m.fuzz.is_some()) {
        lines.push(days.seen("fuzz", line, theme, |m| {
            m.fuzz.map(|f| (signs::mist(f).to_string(), if f == Mist::Down { Role::Text } else { Role::Alarm }))
        }));
    }
    if any(&|m| m.verdict.is_some()) {
        lines.push(days.seen("check", line, theme, |m| {
            m.verdict.map(|v| (signs::verdict(v).to_string(), if v.is_suspect() { Role::Alarm } else { Role::Text }))
        }));
    }
    lines.push(days.seen("water", line, theme, |m| (m.watered > 0).then(|| (m.watered.to_string(), Role::Text))));
    if !line.damp.is_empty() {
        lines.push(days.row("weath.", theme, Role::Text, |d| {
            let (_, damp) = line.damp.iter().find(|(day, _)| *day == d)?;
            let hours = (damp.minutes + 30) / 60;
            Some(if damp.whole_day() { hours.to_string() } else { format!("{hours}?") })
        }));
    }
    if any(&|m| done(m).is_some()) {
        lines.push(days.seen("done", line, theme, |m| done(m).map(|word| (word.to_string(), Role::Text))));
    }
    if line.treated.iter().any(|treated| treated.wait_until.is_some()) {
        lines
            .push(days.cells("wait", theme, |day| waits(line, day, model.now).then(|| ("wt".to_string(), Role::Soon))));
    }
    // the newest one, and any whose wait is not over
    let newest = line.treated.len().saturating_sub(1);
    let told = line
        .treated
        .iter()
        .enumerate()
        .filter(|(n, treated)| *n == newest || treated.wait_until.is_some_and(|until| until > model.now.instant()));
    lines.extend(told.map(|(_, treated)| {
        let text = format!("{} {}", fit::pad("treated", NAME), treated.words(model.now));
        Line::styled(fit::cut(&text, width, *theme), theme.style(Role::Text))
    }));
    // the newest cut; the story of the batch tells all of them
    lines.extend(line.cuttings.last().map(|cutting| {
        let text = format!("{} {}", fit::pad("cut", NAME), cutting.words(model.board.units()));
        Line::styled(fit::cut(&text, width, *theme), theme.style(Role::Text))
    }));
    lines.extend(legend(tray, line, theme, width));
    lines
}

/// Whether trays of the batch were not to be cut on a day, or on part of it.
fn waits(line: &Timeline, day: i64, now: Now) -> bool {
    line.treated.iter().any(|treated| {
        let until = treated.wait_until.map(|until| day_number(line.sown, now.local(until).date_naive()));
        until.is_some_and(|until| (treated.day..=until).contains(&day))
    })
}

/// The words behind the two letters that stand above.
fn legend(tray: &TrayCard, line: &Timeline, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    let mut words = Vec::new();
    if !tray.roots_hidden {
        words.push("no pe pl fu: roots none, peeking, plenty, full".to_string());
        if line.days.iter().any(|m| m.roots_high != m.roots_low) {
            words.push("+ not all alike".into());
        }
    }
    let stands = Stand::ALL.iter().filter(|s| line.days.iter().any(|m| m.stand == Some(**s)));
    words.extend(stands.map(|s| format!("{} {}", signs::stand(*s), s.shown())));
    let fuzz = Mist::ALL.iter().filter(|f| line.days.iter().any(|m| m.fuzz == Some(**f)));
    words.extend(fuzz.map(|f| format!("{} {}", signs::mist(*f), f.shown())));
    let verdicts = Verdict::ALL.iter().filter(|v| line.days.iter().any(|m| m.verdict == Some(**v)));
    words.extend(verdicts.map(|v| format!("{} {}", signs::verdict(*v), v.shown())));
    if !line.damp.is_empty() {
        let part = line.damp.iter().any(|(_, damp)| !damp.whole_day());
        let part = if part { ", ? not measured all day" } else { "" };
        words.push(format!("weath.: hours of mould weather{part}; 0 clears nothing"));
    }
    let acts = [
        ("li", "to the light"),
        ("mv", "moved"),
        ("rd", "ready"),
        ("ct", "cut"),
        ("th", "thrown out"),
        ("tr", "treated"),
        ("od", "something odd"),
        ("nt", "note"),
    ];
    words.extend(
        acts.iter()
            .filter(|(sign, _)| line.days.iter().any(|m| done(m) == Some(sign)))
            .map(|(sign, word)| format!("{sign} {word}")),
    );
    if line.treated.iter().any(|treated| treated.wait_until.is_some()) {
        words.push("wt waiting after a treatment".into());
    }
    let rows = fit::side_by_side(words, 2, width).into_iter();
    rows.map(|row| Line::styled(fit::cut(&row, width, *theme), theme.style(Role::Quiet))).collect()
}

/// What was done on a day, the weightiest first.
fn done(marks: &DayMarks) -> Option<&'static str> {
    if marks.lost > 0 {
        Some("th")
    } else if marks.cut > 0 {
        Some("ct")
    } else if marks.treated > 0 {
        Some("tr")
    } else if marks.stage == Some(Stage::Ready) {
        Some("rd")
    } else if marks.stage == Some(Stage::Lit) && marks.day > 0 {
        Some("li")
    } else if marks.moved > 0 {
        Some("mv")
    } else if marks.odd > 0 {
        Some("od")
    } else if marks.notes > 0 {
        Some("nt")
    } else {
        None
    }
}

/// The tray under the cursor in one or two rows: place, day, stage, last look, flags.
fn head(model: &Model, tray: &TrayCard, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    let today = model.today();
    let title = format!(
        "{}  {}  {}  day {}, {}",
        tray.stands(),
        tray.code(),
        tray.crop_name,
        tray.day(today),
        tray.stage_words(model.now)
    );
    let last = tray.last.as_ref().map_or_else(
        || "not looked at yet".to_string(),
        |look| {
            let when = match (today - look.day).num_days() {
                0 => "today".to_string(),
                1 => "yesterday".to_string(),
                n => format!("{n} days ago"),
            };
            format!("{when}: {}", look.words())
        },
    );
    let flags = model.board.flags(tray, model.now);
    let text = theme.style(Role::Text);
    let mut lines = vec![Line::styled(fit::cut(&title, width, *theme), theme.style(Role::Title))];
    match lines.first_mut() {
        Some(row) if fit::columns(&title) + 3 + fit::columns(&last) <= width => {
            row.push_span(Span::styled(format!("   {last}"), text));
        }
        _ => lines.push(Line::styled(fit::cut(&last, width, *theme), text)),
    }
    if !flags.is_empty() {
        let role = if flags.iter().any(|flag| flag.grave) { Role::Alarm } else { Role::Soon };
        let words: Vec<String> = flags.into_iter().map(|flag| flag.text).collect();
        let rows = fit::wrap(&words.join(".  "), width).into_iter();
        lines.extend(rows.map(|row| Line::styled(row, theme.style(role))));
    }
    lines
}

/// The batch: how many stand, from which seed, and where it is against its plan.
fn batch(tray: &TrayCard, line: &Timeline, units: Units, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    let seed: Vec<String> = match &line.before_book {
        Some(Some(lot)) => vec![format!("{lot}, before this book")],
        Some(None) => vec!["before this book".to_string()],
        None => line.seed.iter().map(|(code, mg)| format!("{} of {code}", units.weight(*mg))).collect(),
    };
    let seen = line.days.iter().rev().find_map(|m| m.roots_low.map(|grade| (m.day, grade)));
    let stands = format!("Batch {}: {} of {} standing", line.code, line.standing, line.trays);
    let seed = seed.join(" and ");
    let rows = if let Some(forecast) = tray.moved_forecast() {
        vec![format!("{stands}; {seed}"), ahead_words(tray, forecast)]
    } else {
        let lead =
            seen.map_or_else(String::new, |(day, grade)| format!("{}, ", lead_words(tray.plan.lead(day, grade))));
        let (from, to) = (tray.cut_from().format("%d %b"), tray.cut_to().format("%d %b"));
        vec![format!("{stands}, {lead}cut {from} to {to}; {seed}")]
    };
    rows.into_iter().map(|text| Line::styled(fit::cut(&text, width, *theme), theme.style(Role::Text))).collect()
}

/// The forecast beside the plan: `2 d behind the plan: cut 13 Jul to 17 Jul ±3 d (plan 11 to 15)`.
fn ahead_words(tray: &TrayCard, forecast: &Forecast) -> String {
    let window = forecast.window(tray.sown);
    let month = |day: crate::domain::time::Day| day.format("%b").to_string();
    let days = [window.from, window.to, tray.cut_from(), tray.cut_to()];
    let alike = days.iter().all(|day| month(*day) == month(window.from));
    let short = if alike { "%d" } else { "%d %b" };
    let why = keys::key_of(Context::Room, Command::Why).map_or_else(String::new, Key::name);
    format!(
        "{}: cut {} to {} ±{} d (plan {} to {}); {why} says why",
        lead_words(forecast.lead),
        window.from.format("%d %b"),
        window.to.format("%d %b"),
        window.band,
        tray.cut_from().format(short),
        tray.cut_to().format(short),
    )
}

/// The days that fit, today among them.
struct Days {
    from: i64,
    to: i64,
    today: i64,
}

impl Days {
    fn new(tray: &TrayCard, today: i64, width: usize) -> Self {
        let fits = i64::try_from(width.saturating_sub(NAME) / DAY).unwrap_or(0).max(1);
        let forecast = tray.moved_forecast().map_or(0, |forecast| forecast.to);
        let last = tray.plan.cut_to_d.max(forecast).max(today);
        // as much as fits, with two days beyond today where there are more
        let from = (today + 3 - fits).clamp(0, (last + 1 - fits).max(0));
        Self { from, to: (from + fits - 1).min(last), today }
    }

    fn numbers(&self, theme: &Theme) -> Line<'static> {
        let mut spans = vec![Span::styled(fit::pad("day", NAME), theme.style(Role::Quiet))];
        for day in self.from..=self.to {
            let text = if day == self.today { format!("{day:>2}<") } else { format!("{day:>2} ") };
            let role = if day == self.today { Role::Cursor } else { Role::Quiet };
            spans.push(Span::styled(text, theme.style(role)));
        }
        Line::from(spans)
    }

    /// The plan's stages as a band of words.
    fn band(&self, tray: &TrayCard, theme: &Theme) -> Line<'static> {
        let plan = &tray.plan;
        let stages = [
            (0, plan.cover_d - 1, "covered"),
            (plan.cover_d, plan.cut_from_d - 1, "lit"),
            (plan.cut_from_d, plan.cut_to_d, "cut"),
            (plan.cut_to_d + 1, self.to, "past"),
        ];
        Line::from(self.stages("", self.from, &stages, theme, Role::Good))
    }

    /// What the forecast says of the days after today, where it is not what the plan says.
    fn ahead(&self, tray: &TrayCard, theme: &Theme) -> Option<Line<'static>> {
        let forecast = tray.moved_forecast()?;
        let cover = tray.plan.cover_d;
        let stages = [
            (0, cover - 1, "covered"),
            (cover, forecast.from - 1, "lit"),
            (forecast.from, forecast.to, "cut"),
            (forecast.to + 1, self.to, "past"),
        ];
        let tomorrow = (self.today + 1).max(self.from);
        Some(Line::from(self.stages("ahead", tomorrow, &stages, theme, Role::Soon)))
    }

    /// Stages from a day on as a band of words.
    fn stages(
        &self,
        name: &str,
        first: i64,
        stages: &[(i64, i64, &str)],
        theme: &Theme,
        role: Role,
    ) -> Vec<Span<'static>> {
        let blank = usize::try_from(first - self.from).unwrap_or(0) * DAY;
        let mut spans = vec![Span::styled(fit::pad(name, NAME + blank), theme.style(Role::Quiet))];
        for (from, to, word) in stages {
            let (from, to) = ((*from).max(first), (*to).min(self.to));
            let Ok(days) = usize::try_from(to - from + 1) else { continue };
            if days > 0 {
                let wide = days * DAY - 1;
                let fill = if theme.wide_signs { "─" } else { "-" };
                let word = fit::head(word, wide.saturating_sub(1));
                let rest = wide.saturating_sub(fit::columns(&word) + 1);
                spans.push(Span::styled(format!("|{word}{} ", fill.repeat(rest)), theme.style(role)));
            }
        }
        spans
    }

    fn row(&self, name: &str, theme: &Theme, role: Role, cell: impl Fn(i64) -> Option<String>) -> Line<'static> {
        self.cells(name, theme, |day| cell(day).map(|text| (text, role)))
    }

    fn seen(
        &self,
        name: &str,
        line: &Timeline,
        theme: &Theme,
        cell: impl Fn(&DayMarks) -> Option<(String, Role)>,
    ) -> Line<'static> {
        self.cells(name, theme, |day| line.on(day).and_then(&cell))
    }

    fn cells(&self, name: &str, theme: &Theme, cell: impl Fn(i64) -> Option<(String, Role)>) -> Line<'static> {
        let mut spans = vec![Span::styled(fit::pad(name, NAME), theme.style(Role::Quiet))];
        let dot = if theme.wide_signs { "·" } else { "." };
        for day in self.from..=self.to {
            let blank = if day <= self.today { dot } else { " " };
            let (text, role) = cell(day).unwrap_or_else(|| (blank.to_string(), Role::Quiet));
            spans.push(Span::styled(fit::pad(&fit::cut(&text, DAY, *theme), DAY), theme.style(role)));
        }
        Line::from(spans)
    }
}
