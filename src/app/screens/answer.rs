//! A customer complains: what is wrong, which lots it may be, and from there to the trace, the hold and the call sheet.

use super::forms::FormKind;
use super::forms::complaint::Of as Form;
use super::forms::start::Then;
use super::pick::Pick;
use super::{calls, cause, form_page, trace};
use crate::app::effect::{Effect, Query};
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::action::{Action, Done};
use crate::domain::cause::Of as Trouble;
use crate::domain::complaint::{Complaint, Severity, Standing, Told, What};
use crate::domain::history::Of;
use crate::domain::id::{ComplaintId, HoldId, LotId, RecallId};
use crate::domain::recall::Recall;
use crate::domain::text::{counted, sentence_case};
use crate::domain::trace::{Start, Way};

/// A list, or a step from one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ask {
    List,
    /// What is wrong with it.
    What,
    /// Of that kind; whether all it may be is held at once.
    New(What, bool),
    Complaint(ComplaintId),
    /// All lots a complaint leaves open.
    Trace(ComplaintId, Way),
    /// The call sheet of a hold, begun if it is not there yet.
    Recall(HoldId),
    Calls(RecallId),
    /// A pack that went out, drawn by lot.
    Draw,
    Exercise(LotId),
    /// What the complaints of the last weeks have in common.
    Cause,
}

/// What opens as soon as complaints and recalls came.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Next {
    List,
    Complaint(ComplaintId),
    Calls(RecallId),
}

/// Letters of complaints and recalls in the list; those of its other lines are not among them.
const LETTERS: &str = "asdfgjlqweruiopy";

/// Fetches complaints and recalls, and opens what is wanted when they are here.
pub fn fetch(model: &mut Model, next: Next) -> Vec<Effect> {
    model.answer_next = Some(next);
    vec![Effect::Load(Query::Answers)]
}

pub fn came(model: &mut Model) -> Vec<Effect> {
    match model.answer_next.take() {
        Some(Next::List) => model.open(Screen::Menu(list(model))),
        Some(Next::Complaint(id)) => complaint(model, id),
        Some(Next::Calls(id)) => calls::open(model, id),
        None => {}
    }
    vec![]
}

/// Opens a list, or does what a line of one says.
pub fn open(model: &mut Model, ask: Ask) -> Vec<Effect> {
    match ask {
        Ask::List => return fetch(model, Next::List),
        Ask::What => model.open(Screen::Menu(what())),
        Ask::New(What::Illness, false) => {
            let menu = ill(model);
            model.open(Screen::Menu(menu));
        }
        Ask::New(what, hold) => form_page::open(model, FormKind::Complaint(Form::New(what, hold))),
        Ask::Complaint(id) => return fetch(model, Next::Complaint(id)),
        Ask::Trace(id, way) => {
            let Some(lots) = model.answers.complaint(id).map(Complaint::open_lots) else { return vec![] };
            return trace::open(model, Start::Lots(lots), way, Some(id));
        }
        Ask::Recall(hold) => {
            let known = model.answers.recalls.iter().find(|recall| recall.hold == hold).map(|recall| recall.id);
            return match known {
                Some(id) => fetch(model, Next::Calls(id)),
                None => vec![Effect::Act(Box::new(Action::Recall { hold }))],
            };
        }
        Ask::Calls(id) => return fetch(model, Next::Calls(id)),
        Ask::Draw => return vec![Effect::DrawExercise],
        Ask::Cause => return cause::open(model, Trouble::Complaints),
        Ask::Exercise(lot) => return vec![Effect::Act(Box::new(Action::Exercise { lot }))],
    }
    vec![]
}

fn ask(ask: Ask) -> Pick {
    Pick::Answer(ask)
}

fn form(of: Form) -> Pick {
    Pick::Form(FormKind::Complaint(of))
}

/// What can be done, then complaints and recalls.
fn list(model: &Model) -> Menu<Pick> {
    let answers = &model.answers;
    let mut items = vec![
        Item::new("a customer calls", ask(Ask::What))
            .letter('c')
            .hint("which lot, who else has it, what is still here"),
        Item::new("trace a label", Pick::Form(FormKind::TraceCode))
            .letter('t')
            .hint("a code: tray, seed, batch, mix or lot"),
        Item::new("trace without a label", Pick::By(Then::Trace))
            .letter('b')
            .hint("by water, place, cold store, hands or knife"),
        Item::new("what complaints have in common", ask(Ask::Cause)).letter('k').hint("leads, no proofs"),
        Item::new("an exercise: a mock recall", ask(Ask::Draw)).letter('x').hint(last_exercise(model)),
        Item::new("whom to call, how fast", Pick::Form(FormKind::Answering))
            .letter('v')
            .hint("authority, laboratory, insurer"),
    ];
    let mut letters = LETTERS.chars();
    let complaints = answers.complaints.iter().filter(|complaint| complaint.closed.is_none());
    let recalls = answers.recalls.iter().filter(|recall| recall.scored.is_none() && !recall.done());
    let open = complaints
        .map(|complaint| complaint_line(model, complaint))
        .chain(recalls.map(|recall| recall_line(model, recall)));
    let closed = answers.complaints.iter().filter(|complaint| complaint.closed.is_some());
    let over = answers.recalls.iter().filter(|recall| recall.scored.is_some() || recall.done());
    let old =
        closed.map(|complaint| complaint_line(model, complaint)).chain(over.map(|recall| recall_line(model, recall)));
    for line in open.chain(old) {
        let Some(letter) = letters.next() else { break };
        items.push(line.letter(letter));
    }
    Menu::new("Complaints, traces, recalls", items)
}

fn last_exercise(model: &Model) -> String {
    let mut done = model.answers.recalls.iter().filter(|recall| recall.scored.is_some());
    match done.next() {
        Some(recall) => format!("the last on {}", model.now.local(recall.from).format("%Y-%m-%d")),
        None => "none yet; once a year at least".into(),
    }
}

fn complaint_line(model: &Model, complaint: &Complaint) -> Item<Pick> {
    let held = if complaint.holds.is_empty() { "" } else { ", held" };
    let state = if complaint.closed.is_some() { "closed" } else { "open" };
    let hint = format!("{}, {state}{held}", model.now.local(complaint.at).format("%a %d %b %H:%M"));
    Item::new(complaint.words(), ask(Ask::Complaint(complaint.id))).hint(hint)
}

fn recall_line(model: &Model, recall: &Recall) -> Item<Pick> {
    let what = if recall.exercise { "exercise" } else { "recall of" };
    let left = recall.calls.iter().filter(|call| !call.reached()).count();
    let state = match (&recall.scored, left) {
        (Some(_), _) => "over".into(),
        (None, 0) => "everybody reached".into(),
        (None, left) => format!("{left} to reach"),
    };
    let hint = format!("{}, {state}", model.now.local(recall.from).format("%a %d %b %H:%M"));
    let scope = recall.scope.trim_start_matches("EXERCISE ");
    Item::new(format!("{what} {scope}"), ask(Ask::Calls(recall.id))).hint(hint)
}

/// What is wrong with it; each a letter of its own.
fn what() -> Menu<Pick> {
    let letters = "mslofiwt".chars();
    let hint = |what: What| match what {
        What::Illness => "someone is ill after eating it",
        What::ForeignMatter => "glass, metal, stone, hair, insect",
        What::ShortLife => "it did not keep as long as the label says",
        _ => "",
    };
    let order = [
        What::Mould,
        What::Slime,
        What::ShortLife,
        What::OffSmell,
        What::ForeignMatter,
        What::Illness,
        What::WrongProduct,
        What::Other,
    ];
    let items = order
        .into_iter()
        .zip(letters)
        .map(|(what, letter)| Item::new(what.shown(), ask(Ask::New(what, false))).letter(letter).hint(hint(what)));
    Menu::new("What is wrong with it?", items.collect())
}

/// The caution comes first, then one key.
fn ill(model: &Model) -> Menu<Pick> {
    let answering = &model.answers.answering;
    let number = |text: &str| if text.is_empty() { "no number in settings".to_string() } else { text.to_string() };
    let items = vec![
        Item::new("hold all it may be and their seed lots", ask(Ask::New(What::Illness, true)))
            .letter('y')
            .hint("then write down what they say"),
        Item::new("write it down, hold nothing yet", form(Form::New(What::Illness, false))).letter('n'),
    ];
    Menu::new("Someone is ill", items)
        .intro("Whoever is ill sees a doctor now, or calls an ambulance: this is no medical advice.")
        .intro("They keep the pack, cold and closed; we keep our sample of the lot cold too. Nobody eats more of it.")
        .intro(format!(
            "To call: authority {}; laboratory {}; insurer {}. Local codes decide what must be reported, and how soon.",
            number(&answering.authority),
            number(&answering.laboratory),
            number(&answering.insurer)
        ))
}

/// One complaint: what was said, which lots it may be, and what can be done.
fn complaint(model: &mut Model, id: ComplaintId) {
    let Some(found) = model.answers.complaint(id).cloned() else {
        model.refuse("This complaint was taken back.");
        return;
    };
    let menu = page(model, &found);
    model.open(Screen::Menu(menu));
}

fn page(model: &Model, complaint: &Complaint) -> Menu<Pick> {
    let id = complaint.id;
    let none = complaint.open_lots().is_empty().then(|| "no lot is named yet: l says which it may be".to_string());
    let closed = complaint.closed.as_ref().map(|_| "it is closed: write a new one if they call again".to_string());
    let (hold, recall) = (complaint.holds.last().copied(), recall_of(model, complaint));
    let mut items = vec![
        Item::new("what it was made of", ask(Ask::Trace(id, Way::Back)))
            .letter('t')
            .hint("back to the seed")
            .bar(none.clone()),
        Item::new("who else has it", ask(Ask::Trace(id, Way::Forward)))
            .letter('w')
            .hint("and what is still here")
            .bar(none.clone()),
    ];
    match hold {
        None => items.push(
            Item::new("hold all it may be, and their seed lots", form(Form::Hold(id)))
                .letter('o')
                .bar(none.or_else(|| closed.clone())),
        ),
        Some(hold) => {
            let hint = recall.map_or("make it", |recall| if recall.done() { "everybody reached" } else { "go on" });
            items.push(Item::new("the call sheet", ask(Ask::Recall(hold))).letter('r').hint(hint));
        }
    }
    items.extend([
        Item::new("which lot it is, or may be", form(Form::Lots(id))).letter('l').bar(closed.clone()),
        Item::new("they said more", form(Form::More(id))).letter('m').bar(closed.clone()),
        Item::new("answered: close it", form(Form::Close(id))).letter('c').hint("what was found").bar(closed),
        Item::new("its story", Pick::Story(Of::Complaint(id), format!("Complaint {}: {}", id.0, complaint.words())))
            .letter('i'),
        Item::new("take out what it says of people", form(Form::Blank(id))).letter('b').hint("for good"),
    ]);
    let mut menu = Menu::new(format!("Complaint {}: {}", id.0, complaint.words()), items);
    for line in said(model, complaint) {
        menu = menu.intro(line);
    }
    menu
}

fn recall_of<'m>(model: &'m Model, complaint: &Complaint) -> Option<&'m Recall> {
    model.answers.recalls.iter().find(|recall| complaint.holds.contains(&recall.hold))
}

/// The call, what was told, and the lots.
fn said(model: &Model, complaint: &Complaint) -> Vec<String> {
    let delivered = complaint.delivered.map_or_else(String::new, |day| format!("; delivered {day}, they say"));
    let code = complaint.code.as_ref().map_or_else(|| "; no label".to_string(), |code| format!("; label {code}"));
    let grave =
        if complaint.severity == Severity::Small { String::new() } else { format!(", {}", complaint.severity.shown()) };
    let call = model.now.local(complaint.at).format("%a %d %b %H:%M");
    let mut lines = vec![format!("Call {call}, {}; noticed {}{delivered}{code}{grave}.", complaint.who, complaint.day)];
    for (entry, told) in &complaint.told {
        lines.push(match told {
            Some(told) => told_words(told),
            None => format!("What entry {} said of people was taken out.", entry.0),
        });
    }
    let lots = |standing| -> Vec<String> {
        let of = complaint.lots.iter().filter(|lot| lot.standing == standing);
        of.map(|lot| format!("{}{}", lot.code, if lot.held { " HELD" } else { "" })).collect()
    };
    for standing in [Standing::Sure, Standing::Open, Standing::RuledOut] {
        let named = lots(standing);
        if !named.is_empty() {
            lines.push(format!("{}: {}.", sentence_case(standing.shown()), named.join(", ")));
        }
    }
    if let Some((who, found)) = &complaint.closed {
        lines.push(format!("Closed by {who}: {found}"));
    }
    lines
}

fn told_words(told: &Told) -> String {
    let ill = told.ill.map(|ill| {
        format!("{} ill", counted(usize::try_from(ill).unwrap_or(0), "person").replace("persons", "people"))
    });
    let named = |label: &str, text: &Option<String>| text.as_ref().map(|text| format!("{label}{text}"));
    let parts = [
        ill,
        named("said: ", &told.words),
        named("kept: ", &told.kept),
        named("caller: ", &told.caller),
        named("ate: ", &told.ate),
        named("began: ", &told.onset),
        named("others: ", &told.others),
        named("photo: ", &told.photo),
    ];
    sentence_case(&parts.into_iter().flatten().collect::<Vec<_>>().join("; "))
}

/// An entry of these screens is in the book: its page opens again, with what changed.
pub fn acted(model: &mut Model, action: &Action, done: &Done) -> Vec<Effect> {
    let next = match action {
        Action::Complain(_) => done.made.map(|id| Next::Complaint(ComplaintId(id))),
        Action::TellMore { complaint, .. }
        | Action::NameLots { complaint, .. }
        | Action::CloseComplaint { complaint, .. }
        | Action::Blank { complaint, .. } => Some(Next::Complaint(*complaint)),
        Action::Hold(new) => match (new.call, new.complaint) {
            (true, _) => done.made.map(|id| Next::Calls(RecallId(id))),
            (false, Some(complaint)) => Some(Next::Complaint(complaint)),
            (false, None) => return trace::held(model),
        },
        Action::Recall { .. } | Action::Exercise { .. } => done.made.map(|id| Next::Calls(RecallId(id))),
        _ => return vec![],
    };
    match next {
        Some(next) => fetch(model, next),
        None => vec![],
    }
}

/// A pack was drawn for an exercise: one more key begins it.
pub fn drawn(model: &mut Model, lot: Option<LotId>) -> Vec<Effect> {
    let Some(lot) = lot else {
        model.refuse("Nothing went to a customer in the last 30 days: there is nothing to draw from.");
        return vec![];
    };
    let sold = model.answers.sold.iter().find(|sold| sold.lot == lot);
    let code = sold.map_or_else(String::new, |sold| format!("{}, {}", sold.code, sold.name));
    let items = vec![
        Item::new("begin: the clock runs", ask(Ask::Exercise(lot))).letter('y'),
        Item::new("draw another", ask(Ask::Draw)).letter('d'),
    ];
    let menu = Menu::new("EXERCISE: a mock recall", items)
        .intro(format!("Drawn by lot: {code}."))
        .intro("Find everyone who got it and everything still here, as if it were true. Nothing is held by it, and nobody is called.");
    model.open(Screen::Menu(menu));
    vec![]
}
