//! For an inspector: the records of a period, signatures under them, and whether the log is whole.

use super::forms::FormKind;
use super::forms::period::Of;
use super::pick::Pick;
use super::records::Page;
use super::{form_page, text};
use crate::app::effect::Effect;
use crate::app::form::State;
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::chain::{MEANING, Proof};
use crate::domain::records::CODES;
use crate::domain::review::Signed;

/// A step through the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ask {
    List,
    /// Whether every entry is as it was written.
    Chain,
}

/// Up to which day the records are signed.
pub fn hint(model: &Model) -> String {
    model.board.signed.as_ref().map_or_else(|| "nothing is signed yet".into(), Signed::short)
}

pub fn open(model: &mut Model, ask: Ask) -> Vec<Effect> {
    match ask {
        Ask::List => {
            let menu = menu(model);
            model.open(Screen::Menu(menu));
            vec![]
        }
        Ask::Chain => {
            model.say("The log is proved, entry by entry. Esc stops.");
            vec![Effect::ProveChain]
        }
    }
}

fn menu(model: &Model) -> Menu<Pick> {
    let items = vec![
        Item::new("records of a period", Pick::Form(FormKind::Period(Of::Print))).letter('r').hint("a page to print"),
        Item::new("sign a period", Pick::Form(FormKind::Period(Of::Sign))).letter('s').hint(hint(model)),
        Item::new("check the chain", Pick::Record(Page::Period(Ask::Chain)))
            .letter('c')
            .hint("is every entry as it was written?"),
    ];
    Menu::new("For an inspector", items).intro(CODES)
}

/// How far the proof of the log is: below the form that waits, or where no form is.
pub fn went_on(model: &mut Model, done: i64, all: i64) {
    let said = format!("Proved {done} of {all} entries. Esc stops.");
    match model.screens.last_mut() {
        Some(Screen::Form(page)) => page.form.lines = vec![said],
        _ => model.say(said),
    }
}

/// The page is written under this path, or a sentence says why not.
pub fn printed(model: &mut Model, result: Result<(String, Proof), String>) -> Vec<Effect> {
    let waits = matches!(model.top(), Some(Screen::Form(page)) if page.kind == FormKind::Period(Of::Print));
    match result {
        Ok((path, proof)) => {
            if waits {
                form_page::saved(model);
            }
            model.say(format!("The page is in {path}: open it in a browser and print. Paper fails when wet."));
            if !proof.whole() {
                show(model, &proof);
            }
            vec![Effect::KeepDrafts]
        }
        Err(why) => {
            match model.screens.last_mut() {
                Some(Screen::Form(page)) if waits => {
                    page.form.lines.clear();
                    page.form.state = State::Refused(why);
                }
                _ => model.refuse(why),
            }
            vec![]
        }
    }
}

/// What the proof of the log came to; `None`: it was stopped.
pub fn proved(model: &mut Model, result: Result<Option<Proof>, String>) {
    match result {
        Ok(Some(proof)) => {
            model.notice = None;
            show(model, &proof);
        }
        Ok(None) => model.refuse("Stopped: nothing is known of the chain."),
        Err(why) => model.refuse(why),
    }
}

fn show(model: &mut Model, proof: &Proof) {
    let lines = vec![
        proof.words(model.now),
        String::new(),
        "Last hash of the log:".into(),
        proof.head.clone(),
        String::new(),
        MEANING.into(),
    ];
    text::open(model, "The chain of the log", lines);
}
