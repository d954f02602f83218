//! The home screen: line of facts, rack, shelf life, timeline. On narrow terminals, one tray.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use super::super::page::{footer, frame_rows, header, put};
use super::super::theme::{Role, Theme};
use super::super::{fit, signs};
use super::{rack, shelf_life, timeline};
use crate::app::command::Command;
use crate::app::key::Key;
use crate::app::keys::{self, Context};
use crate::app::model::Model;
use crate::app::screens::shelf_life::rows as shelf_life_rows;
use crate::app::screens::water;
use crate::domain::tray::{Sign, TrayCard};

/// From here down, one tray per screen.
const NARROW: u16 = 60;

pub(super) fn draw(model: &Model, theme: &Theme, frame: &mut Frame, area: Rect) {
    let (head, body, _, foot) = frame_rows(area);
    let name = format!("{} ({})", model.board.room_name, model.board.room_code);
    put(frame, head, [header(&name, model, Role::Title, theme, head.width)]);
    put(frame, foot, [footer(Context::Room, theme, foot.width)]);
    let facts = Rect::new(body.x, body.y, body.width, 1.min(body.height));
    put(frame, facts, [facts_line(model, theme, facts.width)]);
    let panes = Rect::new(body.x, body.y + facts.height, body.width, body.height - facts.height);
    if area.width <= NARROW {
        one_tray(model, theme, frame, panes);
    } else {
        three_panes(model, theme, frame, panes);
    }
}

/// `+12 more`, which tells what has no room.
const MORE_WIDE: usize = 9;

/// What needs someone, the worst first.
pub(super) fn facts_line(model: &Model, theme: &Theme, width: u16) -> Line<'static> {
    let today = model.today();
    let count = |sign: Sign| model.board.count(sign, model.now);
    let trays = |which: &dyn Fn(&TrayCard) -> bool| model.board.trays.iter().filter(|tray| which(tray)).count();
    let key = |command| keys::key_of(Context::Room, command).map_or_else(String::new, Key::name);
    let missing = format!("missing ({})", key(Command::Whereabouts));
    let suspect = format!("suspect ({})", key(Command::Suspects));
    let facts = [
        (count(Sign::Held), "held", Role::Alarm),
        (count(Sign::Suspect), suspect.as_str(), Role::Alarm),
        (model.board.missing.len(), missing.as_str(), Role::Soon),
        (count(Sign::Late), "late", Role::Soon),
        (count(Sign::Due), "due", Role::Soon),
        (trays(&|t| t.may_be_cut(model.now)), "ready to cut", Role::Good),
        (trays(&|t| t.waits(model.now)), "waiting after a treatment", Role::Soon),
        (trays(&|t| today > t.cut_to()), "past their window", Role::Soon),
    ];
    let counted = facts.into_iter().filter(|(n, ..)| *n > 0).map(|(n, word, role)| (format!("{n} {word}"), role));
    let mut spans = Vec::new();
    let mut used = 0;
    let missed = model.board.missed_yesterday(today).then(|| ("yesterday was not walked".to_string(), Role::Soon));
    // what the records behind one key want
    let records = [
        (model.soaks_due(), "soak to drain", "soaks to drain"),
        (model.board.to_clean.len(), "place to clean", "places to clean"),
        (model.checks_due(), "check due", "checks due"),
        (water::overdue(model), "overdue for water", "overdue for water"),
        (model.mixes_expired(), "mix expired", "mixes expired"),
    ];
    let records = records.into_iter().filter(|(n, ..)| *n > 0).map(|(n, one, many)| {
        let what = if n == 1 { one } else { many };
        (format!("{n} {what} ({})", key(Command::Records)), Role::Soon)
    });
    let kept_out = model.board.kept_out(model.now).map(|out| (out.words(model.now), Role::Alarm));
    let breaches = model.breaches_open().map(|text| (format!("{text} ({})", key(Command::Breaches)), Role::Alarm));
    let noted = counted.chain(missed).chain(records).chain(model.copy_overdue().map(|text| (text, Role::Soon)));
    let overdue = model.relooks_overdue().map(|text| (format!("{text} ({})", key(Command::Suspects)), Role::Alarm));
    let cold = model.cold_facts().into_iter().map(|(text, grave)| (text, if grave { Role::Alarm } else { Role::Soon }));
    // where nobody may go in stands first; what has no room is counted at the end
    let all: Vec<(String, Role)> = kept_out.chain(overdue).chain(cold).chain(breaches).chain(noted).collect();
    let room = usize::from(width).saturating_sub(MORE_WIDE);
    let whole = all.iter().map(|(text, _)| fit::columns(text) + 3).sum::<usize>() <= usize::from(width) + 3;
    let mut left_out = 0;
    for (text, role) in all {
        let wide = fit::columns(&text) + 3;
        if !whole && used + wide > room + 3 {
            left_out += 1;
            continue;
        }
        used += wide;
        spans.push(Span::styled(text, theme.style(role)));
        spans.push(Span::raw("   "));
    }
    if left_out > 0 {
        spans.push(Span::styled(format!("+{left_out} more"), theme.style(Role::Soon)));
    }
    if spans.is_empty() {
        let text = if model.board.trays.is_empty() {
            "The racks are empty: s sows, e receives seed."
        } else {
            "Nothing is waiting."
        };
        spans.push(Span::styled(fit::cut(text, usize::from(width), *theme), theme.style(Role::Text)));
    }
    Line::from(spans)
}

fn three_panes(model: &Model, theme: &Theme, frame: &mut Frame, area: Rect) {
    // by the rack alone, so that nothing jumps when the cursor comes to an empty place
    let above = model.cursor_rack().map_or(6, |rack| rack::height(rack, area.height));
    let below = area.height - above;
    let wanted = model.cursor_rack().map_or(40, rack::wanted_width);
    let left = wanted.min(area.width * 3 / 5);
    let rack_area = Rect::new(area.x, area.y, left, above);
    let life_area = Rect::new(area.x + left + 1, area.y, area.width - left - 1, above);
    let line_area = Rect::new(area.x, area.y + above, area.width, below);
    put(frame, rack_area, rack::lines(model, theme, rack_area));
    put(frame, life_area, shelf_life::lines(model, theme, life_area));
    put(frame, line_area, timeline::lines(model, theme, line_area));
}

/// One tray in big plain words, and the first thing that runs out.
fn one_tray(model: &Model, theme: &Theme, frame: &mut Frame, area: Rect) {
    let width = area.width;
    let text = |text: String, role: Role| super::super::page::line(&text, role, theme, width);
    let mut lines = Vec::new();
    let place = model.cursor_place().map_or_else(String::new, |p| format!("{}  {}", p.label(), p.zone.shown()));
    lines.push(text(place, Role::Title));
    match model.cursor_tray() {
        None => {
            lines.push(text("empty".into(), Role::Text));
            let dirty = model.cursor_place().and_then(|place| model.board.to_clean(place.id));
            lines.extend(dirty.map(|dirty| text(format!("to clean {}", dirty.words(model.now)), Role::Soon)));
        }
        Some(tray) => {
            if tray.stacked > 1 {
                lines.push(text(format!("{} on each other; this is the top one", tray.stacked), Role::Text));
            }
            lines.extend(card(model, tray, theme, width));
        }
    }
    lines.push(Line::default());
    if let Some(first) = shelf_life_rows(model, None).first() {
        lines.push(text(format!("runs out first: {}, {}", first.name, first.left), Role::Quiet));
    }
    let left = usize::from(area.height).saturating_sub(lines.len());
    if left > 3 {
        let strip = Rect::new(area.x, area.y, area.width, u16::try_from(left).unwrap_or(area.height));
        lines.extend(rack::lines(model, theme, strip));
    }
    put(frame, area, lines);
}

fn card(model: &Model, tray: &TrayCard, theme: &Theme, width: u16) -> Vec<Line<'static>> {
    let today = model.today();
    let text = |text: String, role: Role| super::super::page::line(&text, role, theme, width);
    let sign = tray.sign(model.now);
    let mut lines = vec![
        text(format!("{}  day {}, {}", tray.crop_name, tray.day(today), tray.stage_words(model.now)), Role::Title),
        text(
            format!("{} {}   {}   batch {}", signs::sign(sign, theme), sign.shown(), tray.code(), tray.sowing_code),
            signs::role(sign),
        ),
    ];
    for flag in model.board.flags(tray, model.now) {
        lines.push(text(flag.text, if flag.grave { Role::Alarm } else { Role::Soon }));
    }
    lines.push(text(format!("plan: {}", tray.plan.words_on(tray.day(today))), Role::Text));
    let last = tray
        .last
        .as_ref()
        .map_or_else(|| "not looked at yet".to_string(), |l| format!("last, {}: {}", l.day.format("%a %d"), l.words()));
    lines.push(text(last, Role::Text));
    lines.push(text(
        format!("cut {} to {}", tray.cut_from().format("%a %d %b"), tray.cut_to().format("%a %d %b")),
        Role::Text,
    ));
    if let Some(forecast) = tray.moved_forecast() {
        lines.push(text(format!("by forecast {}", forecast.window(tray.sown).words(today)), Role::Text));
    }
    lines
}
