//! The end of a walk: what was done, what is suspect, what was skipped, and the pace.

use super::share;
use crate::app::model::Model;
use crate::domain::text::counted;
use crate::domain::walk::Walk;

/// The walk that ended.
#[derive(Debug, Clone)]
pub struct State {
    pub walk: Walk,
    /// First line shown.
    pub from: usize,
}

/// What is at its end: the walk, or one's own racks of it.
pub fn title(model: &Model, walk: &Walk) -> &'static str {
    let left = share::left(model, walk);
    if left.is_empty() {
        "The walk is done"
    } else if left.iter().any(|(own, _)| *own) {
        "The walk is not done yet"
    } else {
        "Your racks are done"
    }
}

/// The summary as lines: text, and whether it wants a person.
pub fn lines(model: &Model, walk: &Walk) -> Vec<(String, bool)> {
    let skipped: Vec<_> = walk.visited.iter().filter_map(|v| v.skip.map(|why| (v.tray, why))).collect();
    let mut lines = vec![(format!("{}: {}.", share::done_by(model, walk), walk.mode.shown()), false)];
    lines.extend(share::left_lines(model, walk).into_iter().map(|line| (line, true)));
    // the times of a sheet are those of typing it
    if let Some((seconds, per_tray)) = walk.pace().filter(|_| !walk.seen.paper) {
        lines.push((format!("It took {} min {} s, usually {per_tray} s a tray.", seconds / 60, seconds % 60), false));
    }
    let fast = if walk.seen.paper { 0 } else { walk.too_fast() };
    if fast > 0 {
        lines.push((format!("{} faster than two seconds each.", counted(fast, "tray")), true));
    }
    let suspects: Vec<_> = model.board.in_room().filter(|tray| tray.doubtful()).collect();
    lines.push((String::new(), false));
    if suspects.is_empty() {
        lines.push(("No tray is suspect.".into(), false));
    } else {
        lines.push((
            format!("{} suspect: look again today, gloves on, keep apart from the others.", suspects.len()),
            true,
        ));
        for tray in suspects {
            let last = tray.last.as_ref().map_or_else(String::new, crate::domain::tray::LastLook::words);
            lines.push((format!("  {}  {}  {}  {last}", tray.place.label(), tray.code(), tray.crop_name), true));
        }
    }
    let odd: Vec<_> = model
        .board
        .trays
        .iter()
        .filter(|tray| {
            tray.odd() && !tray.doubtful() && tray.last.as_ref().is_some_and(|look| look.day == model.today())
        })
        .collect();
    if !odd.is_empty() {
        lines.push((format!("{} odd:", odd.len()), true));
        for tray in odd {
            let last = tray.last.as_ref().map_or_else(String::new, crate::domain::tray::LastLook::words);
            lines.push((format!("  {}  {}  {}  {last}", tray.place.label(), tray.code(), tray.crop_name), true));
        }
    }
    if !model.board.missing.is_empty() {
        lines.push((format!("{} missing: look for it in the room.", model.board.missing.len()), true));
        for missing in &model.board.missing {
            let (code, crop) = (missing.tray.code(), &missing.tray.crop_name);
            lines.push((format!("  {code}  {crop}  {}", missing.words(model.now)), true));
        }
    }
    if skipped.is_empty() {
        lines.push(("Nothing was skipped.".into(), false));
    } else {
        lines.push((format!("{} skipped:", skipped.len()), true));
        for (tray, why) in skipped {
            let place = model.board.tray(tray).map_or_else(String::new, |t| t.place.label());
            lines.push((format!("  {place}  {}  {}", crate::domain::code::Code::tray(tray.0), why.shown()), true));
        }
    }
    let ready = model.board.trays.iter().filter(|tray| tray.may_be_cut(model.now)).count();
    if ready > 0 {
        lines.push((format!("Ready to cut or in their window: {}.", counted(ready, "tray")), false));
    }
    lines
}
