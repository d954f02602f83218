//! A label was read, or something that was meant to be one.

use super::effect::Effect;
use super::model::{Model, Screen};
use super::scan::Heard;
use super::screens::{room, seed_shelf, stock, story, walk, whereabouts};
use super::update::keep_drafts;
use crate::domain::code::{Code, CodeError, Kind, within_one_edit};
use crate::domain::history::Of;
use crate::domain::id::{MixId, TrayId};

/// What the scanner's keys came to.
pub(super) fn heard(model: &mut Model, heard: Heard) -> Vec<Effect> {
    match heard {
        Heard::NotMine | Heard::Waiting => vec![],
        Heard::LoneCapital => {
            model.refuse("A capital letter does nothing here: is Caps Lock on? The keys are small letters.");
            vec![]
        }
        Heard::Code(code) => scanned(model, &code),
        Heard::Wrong(text, why) => {
            let known: Vec<String> = model.board.trays.iter().map(|tray| Code::tray(tray.id.0).to_string()).collect();
            let lots = model.lots.iter().map(|lot| lot.code.as_str());
            let near = within_one_edit(&text, known.iter().map(String::as_str).chain(lots));
            let offer =
                if near.is_empty() { String::new() } else { format!(" One character away: {}.", near.join(", ")) };
            let what = match why {
                CodeError::Check { .. } => "the check character does not fit, so a character is wrong",
                CodeError::Shape => "it has not the shape of a code",
            };
            model.refuse(format!("{text}: {what}.{offer}"));
            vec![]
        }
    }
}

/// A label was read: go there. It never writes anything.
pub(super) fn scanned(model: &mut Model, code: &Code) -> Vec<Effect> {
    match (code.kind(), code.number()) {
        (Kind::Tray, Some(id)) => {
            let id = TrayId(id);
            if let Some(at) = whereabouts::asked(model) {
                // the question was which tray stands there: its label answers it
                if model.tray_card(id).is_some() {
                    model.back();
                    return whereabouts::stands_here(model, id, at);
                }
            }
            if model.tray_card(id).is_none() {
                return story::of_gone(model, id, code);
            }
            // lists and pages that lie over room or walk are left: nothing was picked from them; a form that lies below
            // the offer after a refusal keeps what was typed
            let form = model.screens.iter().any(|screen| matches!(screen, Screen::Form(_)));
            keep_drafts(model);
            while !matches!(model.top(), Some(Screen::Room(_) | Screen::Walk(_)) | None) {
                model.back();
            }
            if let Some(menu) = whereabouts::missing(model, id, whereabouts::here(model)) {
                model.open(Screen::Menu(menu));
                return if form { vec![Effect::KeepDrafts] } else { vec![] };
            }
            let by_book = model.board.tray(id).map_or_else(String::new, crate::domain::tray::TrayCard::stands);
            model.say(format!("Label {code}: by the book at {by_book}."));
            let mut effects = if matches!(model.top(), Some(Screen::Walk(_))) {
                walk::jump(model, id)
            } else {
                room::jump(model, id)
            };
            effects.extend(form.then_some(Effect::KeepDrafts));
            effects
        }
        (Kind::SeedLot, Some(_)) => {
            while matches!(
                model.top(),
                Some(
                    Screen::Menu(_)
                        | Screen::Help(_)
                        | Screen::Story(_)
                        | Screen::Suspects(_)
                        | Screen::Stock(_)
                        | Screen::Why(_)
                        | Screen::Beside(_)
                        | Screen::Cause(_)
                        | Screen::Text(_)
                        | Screen::SeedPage(_)
                )
            ) {
                model.back();
            }
            seed_shelf::jump(model, &code.to_string())
        }
        (Kind::Mix, Some(id)) => {
            while matches!(model.top(), Some(Screen::Menu(_) | Screen::Story(_))) {
                model.back();
            }
            story::open(model, Of::Mix(MixId(id)), &format!("Mix {code}"))
        }
        (Kind::Lot, _) => {
            keep_drafts(model);
            let mut effects = stock::scanned(model, code);
            effects.push(Effect::KeepDrafts);
            effects
        }
        _ => {
            model.refuse(format!(
                "{code} is a code this screen has no use for: scan a tray, a seed jar, a mix or a lot."
            ));
            vec![]
        }
    }
}
