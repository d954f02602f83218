//! One rack as it stands in the room: shelves from the top, places from the left, a board under each shelf.

use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use super::super::theme::{Role, Theme};
use super::super::{fit, signs};
use crate::app::model::Model;
use crate::domain::board::Rack;
use crate::domain::reading::{Damp, zone_day};
use crate::domain::room::{Place, Zone};
use crate::domain::tray::{Sign, TrayCard};

/// Columns of a cell that says everything on one row.
const WIDE: usize = 10;
/// Columns of a cell on two rows.
const NARROW: usize = 5;
/// More trays stand below.
const STACKED: &str = "+";
/// Columns before the first cell: the shelf's number and the upright.
const UPRIGHT: usize = 3;

/// Places on the longest shelf.
fn most(rack: &Rack) -> usize {
    rack.shelves().iter().map(|shelf| rack.on_shelf(*shelf).count()).max().unwrap_or(1)
}

/// Columns the rack would like: up to eight places side by side.
pub(super) fn wanted_width(rack: &Rack) -> u16 {
    let most = most(rack);
    let cells = if most <= 5 { most * WIDE } else { most.min(8) * NARROW };
    u16::try_from(cells + UPRIGHT + 1).unwrap_or(u16::MAX).max(30)
}

/// Rows of the batch below, at the least.
const BATCH: u16 = 10;

/// Rows the rack gets of `all`: boards between its shelves if the batch below keeps enough, else a row a shelf.
pub(super) fn height(rack: &Rack, all: u16) -> u16 {
    let most = most(rack);
    let shelves = u16::try_from(rack.shelves().len()).unwrap_or(u16::MAX);
    // title and up to two rows of legend
    let with = |rows: u16| shelves.saturating_mul(rows).saturating_add(3);
    let (airy, tight) = (with(2), with(if most <= 5 { 1 } else { 2 }));
    if airy + BATCH < all { airy } else { tight.min(all.saturating_sub(BATCH)).max(all / 3) }
}

/// The rack under the cursor as lines of the area's size.
pub(super) fn lines(model: &Model, theme: &Theme, area: Rect) -> Vec<Line<'static>> {
    let width = usize::from(area.width);
    let Some(rack) = model.cursor_rack() else {
        return vec![Line::styled("No rack yet: add one in settings.", theme.style(Role::Text))];
    };
    let n = model.board.racks.iter().position(|r| r.id == rack.id).unwrap_or(0) + 1;
    let title = title(model, rack, n, width);
    let mut lines = vec![Line::styled(fit::cut(&title, width, *theme), theme.style(Role::Title))];
    let legend = legend(model, rack, theme, width);
    let most = most(rack);
    let room = width.saturating_sub(UPRIGHT);
    let cell = if most * WIDE <= room { WIDE } else { NARROW.max(room / most.max(1)).min(WIDE) };
    let wide = cell >= WIDE;
    let fits = (room / cell).max(1);
    let cursor = model.cursor_place();
    let shelves = rack.shelves();
    let rows = usize::from(area.height).saturating_sub(1 + legend.len());
    let boards = wide && rows >= 2 * shelves.len();
    let shown = (rows / if boards || !wide { 2 } else { 1 }).max(1);
    let row = cursor.and_then(|c| shelves.iter().position(|s| *s == c.shelf)).unwrap_or(0);
    let first = row.saturating_sub(shown.saturating_sub(1)).min(shelves.len().saturating_sub(shown));
    for shelf in shelves.iter().skip(first).take(shown) {
        let places: Vec<&Place> = rack.on_shelf(*shelf).collect();
        let at = cursor.and_then(|c| places.iter().position(|p| p.id == c.id)).unwrap_or(0);
        let from = (at + 1).saturating_sub(fits);
        let zone = places.first().map_or(Zone::Lit, |p| p.zone);
        let mut top = vec![Span::styled(format!("{shelf:>2} "), theme.style(Role::Text))];
        let mut below = vec![Span::raw(" ".repeat(UPRIGHT))];
        for place in places.iter().skip(from).take(fits) {
            let stack: Vec<&TrayCard> = model.board.trays_at(place.id).collect();
            let here = cursor.is_some_and(|c| c.id == place.id);
            // of a stack its top, and the gravest sign of all
            let sign = stack.iter().map(|t| t.sign(model.now)).min().unwrap_or_else(|| empty(model, place));
            let (upper, lower) = cell_text(model, &stack, sign, here, cell, wide, theme);
            let style = if here { theme.style(Role::Cursor) } else { theme.style(signs::role(sign)) };
            top.push(Span::styled(upper, style));
            below.push(Span::styled(lower, if wide { theme.style(Role::Quiet) } else { style }));
        }
        if boards {
            let board = board(zone, fits.min(places.len()) * cell, theme);
            below = vec![Span::raw(" ".repeat(UPRIGHT)), Span::styled(board, theme.style(Role::Quiet))];
        } else if wide && zone != Zone::Lit {
            let used = UPRIGHT + fits.min(places.len()) * cell;
            top.push(Span::styled(
                fit::cut(zone.shown(), width.saturating_sub(used), *theme),
                theme.style(Role::Quiet),
            ));
        }
        lines.push(Line::from(top));
        if boards || !wide {
            lines.push(Line::from(below));
        }
    }
    lines.extend(legend);
    lines
}

/// The rack, and how damp the last day was in each of its zones where that was measured; in the worst of them where
/// the line is short.
fn title(model: &Model, rack: &Rack, n: usize, width: usize) -> String {
    let name = format!("Rack {}", rack.name);
    let title = format!("{name}  ({n} of {})", model.board.racks.len());
    let known = Zone::ALL.iter().filter(|zone| rack.places.iter().any(|place| place.zone == **zone));
    let known = known.filter_map(|zone| Some((zone.shown(), zone_day(&model.air, *zone)?)));
    let zones: Vec<(&str, Damp)> = known.collect();
    let Some((zone, worst)) = zones.iter().max_by_key(|(_, damp)| *damp) else { return title };
    let all: Vec<String> = zones.iter().map(|(zone, damp)| format!("{zone} {}", damp.words())).collect();
    let short = format!("mould weather: {zone} {}", worst.short());
    [
        format!("{title}  mould weather: {}", all.join(", ")),
        format!("{title}  mould weather: {zone} {}", worst.words()),
        format!("{title}  {short}"),
        format!("{name}  {short}"),
        short,
    ]
    .into_iter()
    .find(|text| fit::columns(text) <= width)
    .unwrap_or(title)
}

/// The sign of a place without a tray.
fn empty(model: &Model, place: &Place) -> Sign {
    if model.board.to_clean(place.id).is_some() { Sign::ToClean } else { Sign::Empty }
}

/// A cell's text on one row, or on two where it is narrow. The cursor stands in brackets; a plus after the sign means
/// that there are more trays below.
fn cell_text(
    model: &Model,
    stack: &[&TrayCard],
    sign: Sign,
    here: bool,
    cell: usize,
    wide: bool,
    theme: &Theme,
) -> (String, String) {
    let (open, close) = if here { ("[", "]") } else { (" ", " ") };
    let inner = cell.saturating_sub(2);
    let Some(top) = stack.first() else {
        let (dash, sign) = (if wide { "  --" } else { "--" }, signs::sign(sign, theme));
        let upper = if wide { format!("{dash}  {sign}") } else { dash.to_string() };
        let lower = if wide { " ".repeat(cell) } else { fit::pad(&format!("   {sign}"), cell) };
        return (format!("{open}{}{close}", fit::pad(&upper, inner)), lower);
    };
    let (sign, day) = (signs::sign(sign, theme), top.day(model.today()));
    let more = stack.len() > 1;
    if wide {
        let text = if more {
            format!("{} {day:>2}{sign}{STACKED}", top.letters)
        } else {
            format!("{} {day:>2} {sign}", top.letters)
        };
        return (format!("{open}{}{close}", fit::pad(&fit::cut(&text, inner, *theme), inner)), String::new());
    }
    let upper = format!("{open}{}{close}", fit::pad(&fit::cut(&top.letters, inner, *theme), inner));
    let lower = format!("{day:>2}{sign}");
    let below = if more { STACKED } else { " " };
    (upper, format!(" {}{below}", fit::pad(&fit::cut(&lower, inner, *theme), inner)))
}

/// The board under a shelf, with its zone on it.
fn board(zone: Zone, width: usize, theme: &Theme) -> String {
    let dash = if theme.wide_signs { "─" } else { "-" };
    let word = match zone {
        Zone::Lit => String::new(),
        other => format!(" {} ", other.shown()),
    };
    let rest = width.saturating_sub(fit::columns(&word) + 2);
    format!("{}{word}{}", dash.repeat(2), dash.repeat(rest))
}

/// The signs that stand on this rack, with their words and how many.
fn legend(model: &Model, rack: &Rack, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    let trays = model.board.trays.iter().filter(|t| t.place.rack == rack.id).map(|t| t.sign(model.now));
    let unclean = rack.places.iter().filter(|place| model.board.tray_at(place.id).is_none());
    let unclean = unclean.map(|place| empty(model, place)).filter(|sign| *sign == Sign::ToClean);
    let signs: Vec<Sign> = trays.chain(unclean).collect();
    let stacked = model.board.trays.iter().any(|tray| tray.place.rack == rack.id && tray.stacked > 1);
    let words: Vec<String> = Sign::ALL
        .iter()
        .filter_map(|sign| {
            let n = signs.iter().filter(|s| *s == sign).count();
            (n > 0).then(|| format!("{} {} {n}", signs::sign(*sign, theme), sign.shown()))
        })
        .chain(stacked.then(|| format!("{STACKED} more below")))
        .collect();
    let rows = fit::side_by_side(words, 3, width).into_iter();
    rows.map(|row| Line::styled(fit::cut(&row, width, *theme), theme.style(Role::Text))).collect()
}
