//! What a correction changes, for the form that asks before it saves.

use crate::domain::board::Board;
use crate::domain::code::Code;
use crate::domain::seed_lot::SeedLot;
use crate::domain::time::Day;
use crate::domain::tray::{LastLook, TrayCard};

/// A word, and whether it is true of a tray.
type State = (&'static str, fn(&TrayCard) -> bool);

/// What keeps a tray from being cut or sold.
const STATES: [State; 3] =
    [("suspect", |tray| tray.suspect), ("held", |tray| tray.held), ("unfit for sale", |tray| tray.bad)];

/// What a correction changed, from the room and the seed before and after, a sentence each.
pub(in crate::store) fn consequences(before: (&Board, &[SeedLot]), after: (&Board, &[SeedLot])) -> Vec<String> {
    let mut lines = Vec::new();
    for old in &before.0.trays {
        let code = Code::tray(old.id.0);
        let Some(new) = after.0.tray(old.id) else {
            lines.push(if after.0.missing(old.id).is_some() {
                format!("{code} ({}) is missing, last at {}.", old.crop_name, old.place.label())
            } else {
                format!("{code} ({}) is not in the room any more.", old.crop_name)
            });
            continue;
        };
        let mut changes = Vec::new();
        let mut differ = |what: &str, old: String, new: String| {
            if old != new {
                changes.push(format!("{what} {old} -> {new}"));
            }
        };
        differ("crop", old.crop_name.clone(), new.crop_name.clone());
        differ("sown", old.sown.to_string(), new.sown.to_string());
        differ("cut", window(old), window(new));
        differ("place", old.place.label(), new.place.label());
        differ("stage", old.stage.shown().into(), new.stage.shown().into());
        let look = |t: &TrayCard| t.last.as_ref().map_or_else(|| "none".to_string(), LastLook::words);
        differ("last look", look(old), look(new));
        let day = |day: Option<Day>| day.map_or_else(|| "never".to_string(), |day| day.to_string());
        let looked = |t: &TrayCard| t.last.as_ref().map(|last| last.day);
        differ("looked at", day(looked(old)), day(looked(new)));
        differ("watered", day(old.watered_on), day(new.watered_on));
        for (what, of) in STATES {
            let state = |t: &TrayCard| format!("{}{what}", if of(t) { "" } else { "not " });
            differ("it is", state(old), state(new));
        }
        if !changes.is_empty() {
            lines.push(format!("{code}: {}.", changes.join(", ")));
        }
    }
    for new in after.0.trays.iter().filter(|new| before.0.tray(new.id).is_none()) {
        let (code, crop) = (Code::tray(new.id.0), &new.crop_name);
        lines.push(match before.0.missing(new.id) {
            Some(_) => format!("{code} ({crop}) is not missing any more: at {}.", new.place.label()),
            None => format!("{code} ({crop}) stands in the room again."),
        });
    }
    for was in before.0.missing.iter().map(|missing| &missing.tray) {
        if after.0.tray(was.id).is_none() && after.0.missing(was.id).is_none() {
            lines.push(format!("{} ({}) is not in the room any more.", Code::tray(was.id.0), was.crop_name));
        }
    }
    for new in after.0.missing.iter().map(|missing| &missing.tray) {
        if before.0.tray(new.id).is_none() && before.0.missing(new.id).is_none() {
            lines.push(format!("{} ({}) is in the room again, missing.", Code::tray(new.id.0), new.crop_name));
        }
    }
    for hold in after.0.holds.iter().filter(|hold| before.0.hold(hold.id).is_none()) {
        for held in &hold.trays {
            let code = Code::tray(held.tray.0);
            lines.push(format!("{code} ({}) was cut, and will be held: {}.", held.crop, hold.cause.shown()));
        }
    }
    for old in before.1 {
        let left = after.1.iter().find(|lot| lot.id == old.id).map_or(0, |lot| lot.left_mg);
        if left != old.left_mg {
            let units = after.0.units();
            lines.push(format!("{}: {} -> {} left.", old.code, units.weight(old.left_mg), units.weight(left)));
        }
    }
    lines
}

fn window(tray: &TrayCard) -> String {
    format!("{} to {}", tray.cut_from().format("%d %b"), tray.cut_to().format("%d %b"))
}
