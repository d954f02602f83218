//! The story of a tray, a lot, or the whole room: its entries, newest first, one under the cursor.

use super::forms::FormKind;
use super::forms::correct::What;
use super::pick::Pick;
use super::{form_page, hold};
use crate::app::command::Command;
use crate::app::effect::{Effect, Query};
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::code::Code;
use crate::domain::correction::Entry;
use crate::domain::history::{EntryLine, Of};
use crate::domain::id::TrayId;

/// Entries fetched at a time.
pub const PAGE: u32 = 200;

/// What is told and which entry the cursor is on.
#[derive(Debug, Clone)]
pub struct State {
    pub of: Of,
    pub title: String,
    pub lines: Vec<EntryLine>,
    pub at: usize,
    /// Older entries may still be in the book.
    pub more: bool,
}

pub fn open(model: &mut Model, of: Of, title: &str) -> Vec<Effect> {
    model.open(Screen::Story(State { of, title: title.to_string(), lines: vec![], at: 0, more: true }));
    vec![Effect::Load(Query::History(of, None))]
}

/// The label of a tray that does not stand in the room: its story, if nothing lies over the room.
pub fn of_gone(model: &mut Model, tray: TrayId, code: &Code) -> Vec<Effect> {
    if !matches!(model.top(), Some(Screen::Room(_) | Screen::Story(_))) {
        model.refuse(format!("Tray {code} does not stand in the room: read another label."));
        return vec![];
    }
    if matches!(model.top(), Some(Screen::Story(_))) {
        model.back();
    }
    let effects = open(model, Of::Tray(tray), &format!("Tray {code}: not in the room"));
    model.say(format!("Tray {code} does not stand in the room: what the book knows of it."));
    effects
}

pub fn loaded(model: &mut Model, of: Of, older: bool, lines: Vec<EntryLine>) {
    let state = model.screens.iter_mut().rev().find_map(|screen| match screen {
        Screen::Story(state) if state.of == of => Some(state),
        _ => None,
    });
    let Some(state) = state else { return };
    state.more = lines.len() >= PAGE as usize;
    if older {
        state.lines.extend(lines);
    } else {
        // the cursor stays on its entry where newer ones came above it
        let on = state.lines.get(state.at).filter(|_| state.at > 0).map(|line| line.id);
        state.lines = lines;
        let same = on.and_then(|id| state.lines.iter().position(|line| line.id == id));
        state.at = same.unwrap_or(state.at).min(state.lines.len().saturating_sub(1));
    }
}

pub fn command(model: &mut Model, command: Command) -> Vec<Effect> {
    let page = usize::from(model.size.1).saturating_sub(6).max(1);
    let Some(Screen::Story(state)) = model.screens.last_mut() else { return vec![] };
    let last = state.lines.len().saturating_sub(1);
    state.at = match command {
        Command::Up => state.at.saturating_sub(1),
        Command::Down => (state.at + 1).min(last),
        Command::PageUp => state.at.saturating_sub(page),
        Command::PageDown => (state.at + page).min(last),
        Command::First => 0,
        Command::Last => last,
        Command::Correct => {
            return state.lines.get(state.at).map(|line| Effect::Load(Query::Entry(line.id))).into_iter().collect();
        }
        Command::Hold => {
            match hold::form(state.of, &state.title) {
                Some(kind) => form_page::open(model, kind),
                None => model.refuse("A tray or a batch is held from its own story: open that first."),
            }
            return vec![];
        }
        Command::Back => {
            model.back();
            return vec![];
        }
        _ => state.at,
    };
    let ahead = state.at + 2 * page >= state.lines.len();
    match state.lines.last() {
        Some(oldest) if state.more && ahead => {
            state.more = false;
            vec![Effect::Load(Query::History(state.of, Some(oldest.id)))]
        }
        _ => vec![],
    }
}

/// The entry came: what can be put right about it, as a list.
pub fn entry_came(model: &mut Model, entry: Entry) {
    if entry.gone {
        model.refuse("This entry no longer counts: put the one right that replaced it.");
        return;
    }
    let form = |what| Pick::Form(FormKind::Correct(entry.id, what));
    let mut items = Vec::new();
    if entry.look.is_some() {
        items.push(Item::new("another grade or finding, or water", form(What::Look)));
    }
    items.extend(
        entry
            .sowings
            .iter()
            .map(|sown| Item::new(format!("crop, day or seed of batch {}", sown.code), form(What::Sowing(sown.id)))),
    );
    if !entry.placed.is_empty() {
        items.push(Item::new("where a tray stood", form(What::Place)));
    }
    if entry.received.is_some() {
        items.push(Item::new("how much was received", form(What::Received)));
    }
    items.push(
        Item::new("it never happened", form(What::Never))
            .hint("the entry stays visible, and no longer counts")
            .bar(entry.stays.clone()),
    );
    if entry.signed {
        let (label, hint) =
            if entry.timed { ("when, or who", "day, time and initials") } else { ("who", "the initials") };
        items.push(Item::new(label, form(What::Hands)).hint(hint));
    }
    if let (Some(why), true) = (&entry.stays, items.iter().all(|item| item.bar.is_some())) {
        model.refuse(why.clone());
        return;
    }
    let menu = Menu::new(format!("Put entry {} right", entry.id.0), items).intro(entry.text.clone());
    model.entry = Some(entry);
    model.open(Screen::Menu(menu));
}
