//! What the keys of the walk write: one plan for the key and for its hint.

use crate::app::command::{Command, Row};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::fuzz::Sign;
use crate::domain::look::{Basis, Look, Roots, Skip, Stand};
use crate::domain::refusal::Refusal;
use crate::domain::time::Day;
use crate::domain::tray::TrayCard;
use crate::domain::walk::{Mode, ROOT_GRADES, STAND_GRADES, rest_of_shelf};

/// What a grade key's column stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grade {
    Roots(Roots),
    Stand(Stand),
    Watered,
}

impl Grade {
    pub fn word(self) -> &'static str {
        match self {
            Self::Roots(roots) => roots.shown(),
            Self::Stand(stand) => stand.shown(),
            Self::Watered => "watered",
        }
    }
}

/// The meaning of a column at this tray on this walk; the best is always the fourth.
pub fn grade(tray: &TrayCard, mode: Mode, today: Day, column: usize) -> Option<Grade> {
    if !mode.looks() {
        return (column == 3).then_some(Grade::Watered);
    }
    if tray.grades_roots(today) {
        ROOT_GRADES.get(column).map(|r| Grade::Roots(*r))
    } else {
        STAND_GRADES.get(column).map(|s| Grade::Stand(*s))
    }
}

/// The action a command comes to at this stop, or why it does not. Serves the key and its hint alike.
pub fn plan(model: &Model, command: Command) -> Result<Action, Refusal> {
    let none = || Refusal::new("no_stop", "The walk stands at no tray: Esc leads back to the room.");
    let state = model.walk().ok_or_else(none)?;
    let tray = model.walk_tray().ok_or_else(none)?;
    let today = state.day(model.today());
    let chosen = state.chosen_for(tray.id);
    let walk = state.walk.as_ref().map(|walk| walk.id);
    let mut look = Look {
        walk,
        roots: chosen.roots,
        fuzz: chosen.fuzz,
        signs: if chosen.signs.is_empty() { chosen.signs } else { tray.signs_on(chosen.signs, today) },
        extent: chosen.extent.filter(|_| !chosen.signs.is_empty()),
        faults: chosen.faults,
        water: chosen.water,
        note: chosen.note.clone(),
        watered: state.mode.waters(),
        ..Look::of(tray.id)
    };
    match command {
        Command::Grade(row, column) => {
            let grade = grade(tray, state.mode, today, column).ok_or_else(|| {
                Refusal::new("no_grade", "This key has no grade on this walk: the screen shows those that have.")
            })?;
            match grade {
                Grade::Roots(roots) => look.roots = Some(roots),
                Grade::Stand(stand) => look.stand = Some(stand),
                // with something seen or measured it is no skip, only no water
                Grade::Watered if row == Row::NotWatered && !look.saw_something() && look.water.is_empty() => {
                    look.skip = Some(Skip::WetEnough);
                }
                Grade::Watered => {}
            }
            match row {
                Row::Tray => {}
                Row::NotWatered if !state.mode.waters() => {
                    return Err(Refusal::new("not_watering", "This walk does not water: use the row above."));
                }
                Row::NotWatered => look.watered = false,
                Row::Shelf => {
                    if !chosen.is_empty() {
                        return Err(Refusal::new(
                            "shelf_chosen",
                            "What you chose is for this tray only: grade it by itself.",
                        ));
                    }
                    if state.done(tray.id) {
                        return Err(Refusal::new("shelf_done", "This stop is done: the row below corrects it."));
                    }
                    if walk.is_none() {
                        return Err(Refusal::new("shelf_single", "This is a look at one tray: use the row below."));
                    }
                    let open: Vec<&TrayCard> = state
                        .route
                        .iter()
                        .filter(|id| **id == tray.id || !state.visited(**id))
                        .filter_map(|id| model.board.tray(*id))
                        .collect();
                    look.trays = rest_of_shelf(tray, &open, today)
                        .map_err(|why| Refusal::new("shelf_own_look", format!("Not for the shelf: {why}.")))?;
                    look.basis = Basis::Shelf;
                }
            }
        }
        Command::Hairs if tray.doubtful() => {
            let why = "This tray is suspect: mist it and say what is seen, by the fuzz key.";
            return Err(Refusal::new("hairs_suspect", why));
        }
        Command::Hairs if !tray.hairs_time(today) => {
            return Err(Refusal::new(
                "hairs_time",
                "Root hairs are not expected on this tray today: use the fuzz key and say what is seen.",
            ));
        }
        Command::Hairs => {
            look.signs = tray.signs_on(chosen.signs.with(Sign::Vanishes).with(Sign::OnlyRoot), today);
            look.extent = chosen.extent;
            look.signs.check()?;
        }
        Command::WriteChosen if chosen.is_empty() => {
            return Err(Refusal::new("nothing_chosen", "Nothing is chosen yet: press a grade."));
        }
        Command::WriteChosen => {
            // a figure or a note alone is no watering unless water was measured
            look.watered = state.mode.waters() && (look.saw_something() || !look.water.is_empty());
        }
        _ => return Err(Refusal::new("no_action", "This key writes nothing by itself.")),
    }
    Ok(Action::Look(Box::new(look)))
}
