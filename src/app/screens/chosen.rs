//! What is chosen at a stop before its grade, and what becomes of it.

use super::walk::plan;
use crate::app::command::Command;
use crate::app::model::{Model, Screen};
use crate::domain::action::Action;
use crate::domain::fuzz::{Extent, Signs};
use crate::domain::id::TrayId;
use crate::domain::look::{Faults, Look, Mist, Roots, WaterFigures};

/// What was chosen for a stop before its grade: it goes with the grade, or by itself with Enter.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Chosen {
    pub roots: Option<Roots>,
    pub fuzz: Option<Mist>,
    /// Of a fuzz check.
    pub signs: Signs,
    pub extent: Option<Extent>,
    pub faults: Faults,
    pub water: WaterFigures,
    pub note: Option<String>,
}

impl Chosen {
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Only the note, which goes with every entry.
    fn only_note(&self) -> Self {
        Self { note: self.note.clone(), ..Self::default() }
    }

    /// Whether anything but a note was chosen.
    pub fn beside_note(&self) -> bool {
        *self != self.only_note()
    }
}

/// What was chosen at this stop and not written goes again, but for the note; false if there is nothing of the kind.
pub fn unchoose(model: &mut Model) -> bool {
    let Some(Screen::Walk(state)) = model.screens.last_mut() else { return false };
    let Some(tray) = state.at.filter(|tray| state.chosen_for(*tray).beside_note()) else { return false };
    state.choose(tray, |chosen| *chosen = chosen.only_note());
    model.say("What you chose is taken back; nothing was written.");
    true
}

/// What was chosen for a tray that is thrown out, as a look of its own, so that it is not lost with the tray.
pub fn last_look(model: &Model, tray: TrayId) -> Option<Action> {
    let state = model.walk().filter(|state| state.at == Some(tray) && state.chosen_for(tray).beside_note())?;
    let Ok(Action::Look(look)) = plan(model, Command::WriteChosen) else { return None };
    Some(Action::Look(Box::new(Look { watered: look.watered && !state.chosen_for(tray).water.is_empty(), ..*look })))
}
