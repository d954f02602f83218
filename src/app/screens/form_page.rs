//! A form lying over a screen: keys go to its engine, a submit becomes an action.

use std::collections::BTreeMap;

use super::forms::{self, FormKind, Submit, Wrong};
use super::meeting::{self, Meeting};
use super::week;
use crate::app::effect::{Effect, Failure};
use crate::app::form::{Form, Outcome, State, Values};
use crate::app::key::Key;
use crate::app::model::{Model, Screen};

/// Said beside a question of the book.
const AGAIN: &str = "Enter again says that it is so.";

/// A form and what it is for.
#[derive(Debug, Clone)]
pub struct FormPage {
    pub kind: FormKind,
    pub form: Form,
    /// What stood in the form before it was begun afresh.
    aside: Option<BTreeMap<String, String>>,
    /// The rule the book asked about last, and those that were answered; a change takes the answers back.
    asked: Option<&'static str>,
    sure: Vec<&'static str>,
    pub(super) meeting: Meeting,
}

impl FormPage {
    /// Under which name what is typed is kept.
    pub fn draft_name(&self) -> String {
        self.kind.draft_name()
    }

    /// The book asked, and waits for the answer.
    pub fn asks(&self) -> bool {
        self.asked.is_some()
    }

    /// What was answered was answered about other values.
    fn withdraw(&mut self) {
        self.asked = None;
        self.sure.clear();
    }

    /// Submitted as it stood when the book asked: that is the answer.
    fn say_sure(&mut self, model: &mut Model, values: Values) -> Result<Submit, Wrong> {
        self.sure.extend(self.asked.take());
        self.submit(model, &values.answered(self.sure.clone()))
    }
}

/// Opens a form with what was typed into it last time and not saved.
pub fn open(model: &mut Model, kind: FormKind) {
    let mut form = build(model, &kind);
    if let Some(draft) = model.drafts.get(&kind.draft_name()) {
        let before = form.values();
        bring_back(model, &kind, &mut form, draft);
        // what was chosen for a stop stands there already
        if form.values() != before {
            model.say("What you typed last time is back; Ctrl-N begins afresh.");
        }
    }
    forms::changed(model, &kind, &mut form);
    let meeting = Meeting::at(model, &kind);
    model.open(Screen::Form(Box::new(FormPage { kind, form, aside: None, asked: None, sure: Vec::new(), meeting })));
}

/// The form with what the book says now.
fn build(model: &Model, kind: &FormKind) -> Form {
    let mut form = forms::build(model, kind);
    if kind.edits() {
        form.of_record();
    }
    form
}

/// Puts a draft back. Where it was typed over what the book does not say any more, both stand there.
fn bring_back(model: &Model, kind: &FormKind, form: &mut Form, draft: &BTreeMap<String, String>) {
    if kind.edits() {
        form.restore_entered(draft);
        form.merge(&forms::build(model, kind));
    } else {
        form.restore(draft);
    }
}

/// Empties the form; a second time brings back what stood in it, so that the key costs nothing.
fn afresh(model: &mut Model) -> Vec<Effect> {
    let Some(mut page) = take(model) else { return vec![] };
    if page.form.state != State::Saving {
        let typed = page.form.touched().then(|| page.form.draft());
        page.form = build(model, &page.kind);
        page.meeting = Meeting::at(model, &page.kind);
        page.withdraw();
        if let Some(before) = page.aside.take() {
            bring_back(model, &page.kind, &mut page.form, &before);
            model.say("What stood here before is back.");
        } else {
            model.say("Begun afresh; Ctrl-N again brings back what stood here.");
        }
        page.aside = typed;
        forms::changed(model, &page.kind, &mut page.form);
    }
    model.screens.push(Screen::Form(page));
    meeting::whose(model)
}

/// A key for the form on top.
pub fn key(model: &mut Model, key: Key) -> Vec<Effect> {
    if key == Key::Ctrl('n') {
        return afresh(model);
    }
    let today = model.today();
    let Some(Screen::Form(page)) = model.screens.last_mut() else { return vec![] };
    let outcome = match key {
        Key::Ctrl('t') => page.form.take_other(),
        // the question stands there: the key answers it wherever the cursor is
        Key::Enter if page.asked.is_some() => page.form.key(Key::Ctrl('s'), today),
        key => page.form.key(key, today),
    };
    if key == Key::Ctrl('t') && outcome == Outcome::Stay {
        model.refuse("Nobody else changed this field, so there is no other version of it.");
    }
    after(model, outcome)
}

/// A paste for the form, or for the set-up's question.
pub fn paste(model: &mut Model, text: &str) -> Vec<Effect> {
    let outcome = match model.screens.last_mut() {
        Some(Screen::Form(page)) => page.form.paste(text),
        Some(Screen::Setup(state)) => state.form.paste(text),
        _ => Outcome::Stay,
    };
    if matches!(model.top(), Some(Screen::Form(_))) { after(model, outcome) } else { vec![] }
}

fn after(model: &mut Model, outcome: Outcome) -> Vec<Effect> {
    let Some(mut page) = take(model) else { return vec![] };
    let mut effects = Vec::new();
    let mut asks = false;
    match outcome {
        Outcome::Stay => {}
        Outcome::Changed => {
            page.withdraw();
            forms::changed(model, &page.kind, &mut page.form);
            asks = true;
        }
        Outcome::Cancel => {
            let name = page.draft_name();
            if page.form.touched() {
                model.drafts.insert(name, page.form.draft());
                model.say("Not saved; what you typed is kept for the next time.");
            } else {
                model.drafts.remove(&name);
            }
            return vec![Effect::KeepDrafts];
        }
        Outcome::Submit(values) => match page.say_sure(model, values) {
            Ok(Submit::Act(action)) => {
                page.form.state = State::Saving;
                effects.push(Effect::Act(action));
            }
            Ok(Submit::ActSeen(action, seen)) => {
                page.form.state = State::Saving;
                effects.push(Effect::ActSeen(action, seen));
            }
            Ok(Submit::Ask(effect)) => {
                page.form.state = State::Saving;
                effects.push(*effect);
            }
            Ok(Submit::Show(period)) => {
                model.drafts.remove(&page.draft_name());
                let mut effects = week::ask(model, period);
                effects.push(Effect::KeepDrafts);
                return effects;
            }
            Ok(Submit::Chosen) => {
                // kept until the stop's entry is in the book
                model.drafts.insert(page.draft_name(), page.form.draft());
                return vec![Effect::KeepDrafts];
            }
            Err((field, sentence)) => tell(&mut page.form, field, sentence),
        },
    }
    model.screens.push(Screen::Form(page));
    if asks {
        effects.extend(preview(model));
    }
    effects
}

/// Asks what saving the form on top would change, for the forms that list it.
pub fn preview(model: &Model) -> Vec<Effect> {
    let Some(Screen::Form(page)) = model.top() else { return vec![] };
    let action = forms::preview(model, &page.kind, &page.form.values());
    action.map(|action| Effect::Preview(Box::new(action))).into_iter().collect()
}

/// Takes the form off the top while it is worked on, so that it may look at the rest of the model.
fn take(model: &mut Model) -> Option<Box<FormPage>> {
    match model.screens.pop() {
        Some(Screen::Form(page)) => Some(page),
        Some(other) => {
            model.screens.push(other);
            None
        }
        None => None,
    }
}

fn tell(form: &mut Form, field: Option<&'static str>, sentence: String) {
    form.state = State::Editing;
    match field.filter(|id| form.field(id).is_some_and(|f| f.shown)) {
        Some(id) => {
            form.refuse(id, sentence);
            form.focus_on(id);
        }
        None => form.state = State::Refused(sentence),
    }
}

/// What saving would change came: it stands below the fields.
pub fn previewed(model: &mut Model, result: Result<Vec<String>, Failure>) {
    const MOST: usize = 12;
    let Some(Screen::Form(page)) = model.screens.last_mut() else { return };
    page.form.lines = match result {
        Ok(lines) if lines.is_empty() => vec!["Nothing else depends on it.".into()],
        Ok(lines) => {
            let more = lines.len().saturating_sub(MOST);
            let tail = (more > 0).then(|| format!("and {more} more"));
            ["What changes with it:".to_string()].into_iter().chain(lines.into_iter().take(MOST)).chain(tail).collect()
        }
        Err(failure) => vec![failure.sentence()],
    };
}

/// The book did not take it: the form stays with everything typed.
pub fn refused(page: &mut FormPage, failure: &Failure) {
    page.meeting.refused(failure);
    match failure {
        Failure::Rule(refusal) if refusal.asks => {
            page.asked = Some(refusal.rule);
            tell(&mut page.form, refusal.field, format!("{} {AGAIN}", refusal.sentence));
        }
        Failure::Rule(refusal) => tell(&mut page.form, refusal.field, refusal.sentence.clone()),
        Failure::Book(sentence) => page.form.state = State::Refused(sentence.clone()),
    }
}

/// The book took it: the form goes.
pub fn saved(model: &mut Model) {
    if let Some(page) = take(model) {
        model.drafts.remove(&page.draft_name());
    }
}

/// Lots and crops came: the form that chooses from them shows them, also below a short list.
pub fn stock_came(model: &mut Model) {
    let Some(at) = model.screens.iter().rposition(|screen| matches!(screen, Screen::Form(_))) else { return };
    let above = model.screens.split_off(at + 1);
    if let Some(mut page) = take(model) {
        forms::changed(model, &page.kind, &mut page.form);
        model.screens.push(Screen::Form(page));
    }
    model.screens.extend(above);
}
