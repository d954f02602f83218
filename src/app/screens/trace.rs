//! A trace as a tree: back to the seed, or forward to everybody who has it.

use std::collections::BTreeSet;

use super::answer::{Ask, Next, fetch};
use super::forms::FormKind;
use super::pick::Pick;
use super::{answer, form_page, story};
use crate::app::command::Command;
use crate::app::effect::{Effect, Failure};
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::history::{Of, Record};
use crate::domain::id::ComplaintId;
use crate::domain::text::counted;
use crate::domain::trace::{Node, Row, Start, Trace, Way};

/// What is traced, the lines that are open, and where the cursor is.
#[derive(Debug, Clone)]
pub struct State {
    pub start: Start,
    pub way: Way,
    /// The complaint it was asked for.
    pub complaint: Option<ComplaintId>,
    /// Unknown until it is loaded.
    pub trace: Option<Trace>,
    pub open: BTreeSet<Vec<Node>>,
    pub at: usize,
}

impl State {
    pub fn rows(&self) -> Vec<Row> {
        self.trace.as_ref().map(|trace| trace.rows(&self.open)).unwrap_or_default()
    }

    pub fn row(&self) -> Option<Row> {
        self.rows().into_iter().nth(self.at)
    }
}

pub fn open(model: &mut Model, start: Start, way: Way, complaint: Option<ComplaintId>) -> Vec<Effect> {
    let effect = Effect::Trace(start.clone(), way);
    let state = State { start, way, complaint, trace: None, open: BTreeSet::new(), at: 0 };
    model.open(Screen::Trace(Box::new(state)));
    vec![effect]
}

/// A trace was worked out, or not: on the screen that waits for it, or anew for a form that asked for it.
pub fn came(model: &mut Model, result: Result<(Box<Trace>, Option<String>), Failure>) {
    let (trace, note) = match result {
        Ok((trace, note)) => (*trace, note),
        Err(failure) => {
            if let Some(Screen::Form(page)) = model.screens.last_mut() {
                form_page::refused(page, &failure);
                return;
            }
            if matches!(model.top(), Some(Screen::Trace(state)) if state.trace.is_none()) {
                model.back();
            }
            model.fail(&failure);
            return;
        }
    };
    if matches!(model.top(), Some(Screen::Form(page)) if matches!(page.kind, FormKind::TraceCode | FormKind::By(..))) {
        form_page::saved(model);
        let (start, way) = (trace.start.clone(), trace.way);
        let state = State { start, way, complaint: None, trace: None, open: BTreeSet::new(), at: 0 };
        model.open(Screen::Trace(Box::new(state)));
    }
    if let Some(note) = note {
        model.say(note);
    }
    let waiting = model.screens.iter_mut().rev().find_map(|screen| match screen {
        Screen::Trace(state) if state.start == trace.start && state.way == trace.way => Some(state),
        _ => None,
    });
    let Some(state) = waiting else { return };
    if state.trace.is_none() {
        state.open = trace.first_open();
    }
    state.trace = Some(trace);
    state.at = state.at.min(state.rows().len().saturating_sub(1));
}

pub fn command(model: &mut Model, command: Command) -> Vec<Effect> {
    let Some(Screen::Trace(state)) = model.screens.last_mut() else { return vec![] };
    let rows = state.rows();
    let last = rows.len().saturating_sub(1);
    let row = rows.get(state.at).cloned();
    match command {
        Command::Up => state.at = state.at.saturating_sub(1),
        Command::Down => state.at = (state.at + 1).min(last),
        Command::PageUp => state.at = state.at.saturating_sub(10),
        Command::PageDown => state.at = (state.at + 10).min(last),
        Command::Open => {
            if let Some(row) = row.filter(|row| row.leads_on)
                && !state.open.remove(&row.path)
            {
                state.open.insert(row.path);
            }
        }
        Command::Right => match row {
            Some(row) if row.leads_on && !row.open => {
                state.open.insert(row.path);
            }
            Some(row) if row.open => state.at = (state.at + 1).min(last),
            _ => {}
        },
        Command::Left => match row {
            Some(row) if row.open => {
                state.open.remove(&row.path);
            }
            Some(row) => {
                let above = row.path.split_last().map(|(_, above)| above);
                state.at = rows.iter().position(|other| Some(other.path.as_slice()) == above).unwrap_or(state.at);
            }
            None => {}
        },
        Command::OtherWay => {
            let (start, way) = (state.start.clone(), state.way.other());
            let effect = Effect::Trace(start.clone(), way);
            **state = State { start, way, complaint: state.complaint, trace: None, open: BTreeSet::new(), at: 0 };
            return vec![effect];
        }
        Command::TraceFrom => return from_here(model, row.as_ref()),
        Command::Story => return stories(model, row.as_ref()),
        Command::Hold => hold(model, false),
        Command::Recall => return recall(model),
        Command::Touched => {
            let start = row.as_ref().and_then(start_of).unwrap_or_else(|| state.start.clone());
            return vec![Effect::Touched(start)];
        }
        Command::HandOver => return vec![Effect::HandOver(state.start.clone())],
        Command::Back => {
            let complaint = state.complaint;
            model.back();
            // back to the page it was asked from
            if let (Some(id), Some(Screen::Room(_))) = (complaint, model.top()) {
                return fetch(model, Next::Complaint(id));
            }
        }
        _ => {}
    }
    vec![]
}

/// Files for an authority were written.
pub fn handed_over(model: &mut Model, page: &str, marks: &[String]) {
    let said = format!("The page is in {page}, the table and the files for other programs beside it.");
    if marks.is_empty() {
        model.say(said);
    } else {
        model.refuse(format!("{} {said}", marks.join(" ")));
    }
}

/// What a row would begin a trace with.
fn start_of(row: &Row) -> Option<Start> {
    Some(match row.node()? {
        Node::SeedLot(id) => Start::SeedLot(id),
        Node::Material(id) => Start::Material(id),
        Node::Mix(id) => Start::Mix(id),
        Node::Sowing(id) => Start::Sowing(id),
        Node::Tray(id) => Start::Tray(id),
        Node::Lot(id) => Start::Lot(id),
        // a tool is of days, which a row does not know
        Node::Tool(_) | Node::Delivery(_) | Node::Round(_) => return None,
    })
}

fn from_here(model: &mut Model, row: Option<&Row>) -> Vec<Effect> {
    let Some(Screen::Trace(state)) = model.top() else { return vec![] };
    let (way, complaint) = (state.way, state.complaint);
    let Some(start) = row.and_then(start_of) else {
        model.refuse("A trace begins with seed, a tray, a batch, a mix or a lot: move to one of them.");
        return vec![];
    };
    open(model, start, way, complaint)
}

/// The story of a row; of several trays a list of them.
fn stories(model: &mut Model, row: Option<&Row>) -> Vec<Effect> {
    let Some(Screen::Trace(state)) = model.top() else { return vec![] };
    let (Some(row), Some(trace)) = (row, &state.trace) else { return vec![] };
    let of = |node: Node| match node {
        Node::SeedLot(id) => Of::SeedLot(id),
        Node::Material(id) => Of::Material(id),
        Node::Mix(id) => Of::Mix(id),
        Node::Sowing(id) => Of::Sowing(id),
        Node::Tool(id) => Of::Record(Record::Tool, id.0),
        Node::Tray(id) => Of::Tray(id),
        Node::Lot(id) => Of::Lot(id),
        Node::Delivery(id) => Of::Delivery(id),
        Node::Round(id) => Of::Round(id),
    };
    let named = |node: &Node| {
        let thing = trace.things.get(node);
        (of(*node), thing.map_or_else(String::new, crate::domain::trace::Thing::label))
    };
    let all: Vec<(Of, String)> = row.branch.nodes.iter().map(named).collect();
    if let [(of, label)] = all.as_slice() {
        let (of, label) = (*of, label.clone());
        return story::open(model, of, &label);
    }
    let items = all.into_iter().take(24).map(|(of, label)| Item::new(label.clone(), Pick::Story(of, label))).collect();
    model.open(Screen::Menu(Menu::new("Whose story?", items)));
    vec![]
}

/// The form that holds what the trace began with.
fn hold(model: &mut Model, call: bool) {
    let Some(Screen::Trace(state)) = model.top() else { return };
    let title = state.trace.as_ref().map_or_else(String::new, |trace| trace.title.clone());
    let kind = FormKind::HoldAll { what: state.start.clone(), title, complaint: state.complaint, call };
    form_page::open(model, kind);
}

/// The call sheet of what is held already, else the form that holds it and makes the sheet.
fn recall(model: &mut Model) -> Vec<Effect> {
    let Some(Screen::Trace(state)) = model.top() else { return vec![] };
    let title = state.trace.as_ref().map(|trace| trace.title.as_str());
    let held = model.board.holds.iter().rev();
    let held = held.filter(|hold| match state.complaint {
        Some(complaint) => hold.complaint == Some(complaint),
        None => Some(hold.scope.as_str()) == title,
    });
    if let Some(hold) = held.map(|hold| hold.id).next() {
        return answer::open(model, Ask::Recall(hold));
    }
    hold(model, true);
    vec![]
}

/// Everything above the tree: what the trace says, in plain words.
pub fn answers(trace: &Trace) -> Vec<String> {
    let mut lines = match trace.way {
        Way::Back => back(trace),
        Way::Forward => forward(trace),
    };
    if trace.roots.len() > 1 && matches!(trace.start, Start::Lots(_)) {
        lines.extend(whichever(trace));
    }
    lines
}

fn back(trace: &Trace) -> Vec<String> {
    let seed = trace.things.values().filter(|thing| matches!(thing.node, Node::SeedLot(_)));
    let seed: Vec<String> = seed.map(|thing| format!("{} ({})", thing.label(), thing.words)).collect();
    match seed.as_slice() {
        [] => vec!["Seed: the book does not know it.".into()],
        seed => vec![format!("Seed: {}.", seed.join("; "))],
    }
}

fn forward(trace: &Trace) -> Vec<String> {
    let names: BTreeSet<&str> = trace.recipients.iter().map(|got| got.name.as_str()).collect();
    let packs: i64 = trace.recipients.iter().map(|got| got.packs).sum();
    let back: i64 = trace.recipients.iter().map(|got| got.returned).sum();
    let public: i64 = trace.public.iter().map(|sold| sold.packs).sum();
    let mut parts = vec![match names.len() {
        0 => "No customer has any of it".to_string(),
        n => {
            let back = if back > 0 { format!(", {back} of them came back") } else { String::new() };
            format!("{} got {}{back}", counted(n, "customer"), counted(usize::try_from(packs).unwrap_or(0), "pack"))
        }
    }];
    if public > 0 {
        parts.push(format!("{} to the public", counted(usize::try_from(public).unwrap_or(0), "pack")));
    }
    let here = trace.things.values().filter(|thing| matches!(thing.node, Node::Lot(_)) && !thing.here.is_empty());
    let here: Vec<String> = here.map(|thing| format!("{} of {}", thing.here, thing.code)).collect();
    let stand =
        trace.things.values().filter(|thing| matches!(thing.node, Node::Tray(_)) && !thing.here.is_empty()).count();
    let mut still = here;
    if stand > 0 {
        still.push(counted(stand, "tray"));
    }
    parts.push(if still.is_empty() {
        "nothing is still here".into()
    } else {
        format!("still here: {}", still.join(", "))
    });
    vec![format!("{}.", parts.join("; "))]
}

/// Which conclusions hold for every candidate.
fn whichever(trace: &Trace) -> Option<String> {
    let (sure, some) = trace.shared();
    let all = trace.roots.len();
    if trace.way == Way::Forward && sure.is_empty() {
        return None;
    }
    let wanted = |node: &Node| match trace.way {
        Way::Back => matches!(node, Node::SeedLot(_)),
        Way::Forward => matches!(node, Node::Delivery(_)),
    };
    let label = |node: &Node| trace.things.get(node).map_or_else(String::new, crate::domain::trace::Thing::label);
    let sure: Vec<String> = sure.iter().filter(|node| wanted(node)).map(label).collect();
    let some = some.iter().filter(|(node, _)| wanted(node));
    let some: Vec<String> = some.map(|(node, n)| format!("{} ({n} of {all})", label(node))).collect();
    Some(match (sure.as_slice(), some.as_slice()) {
        ([], []) => format!("Nothing is the same in all {all}."),
        ([], some) => format!("Nothing is the same in all {all}; in some: {}.", some.join(", ")),
        (sure, []) => format!("Whichever of the {all} it is: {}.", sure.join(", ")),
        (sure, some) => {
            format!("Whichever of the {all} it is: {}; in some only: {}.", sure.join(", "), some.join(", "))
        }
    })
}

/// A hold without a call sheet leads back to where it was asked for, and a trace shows what is held now.
pub fn held(model: &Model) -> Vec<Effect> {
    match model.top() {
        Some(Screen::Trace(state)) => vec![Effect::Trace(state.start.clone(), state.way)],
        _ => vec![],
    }
}
