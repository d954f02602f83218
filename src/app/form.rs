//! Forms as data: a screen lists its fields, this engine turns keys into values.
//!
//! The owner builds a [`Form`], passes keys and pastes on, and sets [`Form::lines`] after each
//! [`Outcome::Changed`]. On [`Outcome::Submit`] it acts, then closes the form or puts the answer
//! into [`Form::state`] or [`Form::refuse`].

mod clean;
mod field;
mod line;
mod measure;
mod merge;
mod pick;
#[cfg(test)]
mod tests;
mod values;

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::app::key::Key;
pub use field::{Field, Kind, Remark};
use line::Edit;
pub use line::with_unit;
pub use line::{Days, Line, Range, Rule};
pub use measure::Measure;
pub use merge::{News, Stands, Versions};
pub use pick::{Choice, Many, Opt, PAGE};
pub use values::Values;

/// Draft key that lists the fields whose values were proposed, not entered.
const PROPOSED: &str = "(proposed)";

/// Where a form stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum State {
    Editing,
    /// The owner's answer to the last submit, as a sentence.
    Refused(String),
    /// The entry is on its way to the book; keys wait.
    Saving,
}

/// What a key did, for the owner.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    Stay,
    /// A value changed: consequences want working out again.
    Changed,
    /// Every shown field passed its own check.
    Submit(Values),
    /// Esc: the owner decides what becomes of the draft.
    Cancel,
}

/// One form: fields in order, one of them in focus.
#[derive(Debug, Clone)]
pub struct Form {
    pub title: String,
    pub intro: Vec<String>,
    /// Arithmetic and consequences, set by the owner after each change.
    pub lines: Vec<String>,
    pub state: State,
    /// What Enter in the last field and Esc do, for the footer.
    pub ends: (&'static str, &'static str),
    fields: Vec<Field>,
    focus: usize,
    /// What the book said, in a form on a record; empty in any other.
    base: BTreeMap<&'static str, String>,
    /// The day that "today" and "-3" count from.
    today: NaiveDate,
}

impl Form {
    /// A form with the focus on its first shown field. Field ids are unique within a form.
    pub fn new(title: impl Into<String>, today: NaiveDate, mut fields: Vec<Field>) -> Self {
        for field in &mut fields {
            field.propose_first(today);
        }
        let focus = fields.iter().position(|field| field.shown).unwrap_or(0);
        Self {
            title: title.into(),
            intro: Vec::new(),
            lines: Vec::new(),
            state: State::Editing,
            ends: ("save", "leave"),
            fields,
            focus,
            base: BTreeMap::new(),
            today,
        }
    }

    /// Adds sentences above the fields.
    #[must_use]
    pub fn intro<S: Into<String>>(mut self, lines: impl IntoIterator<Item = S>) -> Self {
        self.intro = lines.into_iter().map(Into::into).collect();
        self
    }

    /// Works one key in; `today` is the local calendar day.
    pub fn key(&mut self, key: Key, today: NaiveDate) -> Outcome {
        if self.state == State::Saving {
            return Outcome::Stay;
        }
        self.today = today;
        match key {
            Key::Esc => Outcome::Cancel,
            Key::Ctrl('s') => self.submit(),
            Key::Enter if self.after().is_none() => self.submit(),
            Key::Enter | Key::Tab | Key::Down => self.go(self.after()),
            Key::BackTab | Key::Up => self.go(self.before()),
            other => {
                let outcome = self.edit(|field| field.key(other, today));
                let answered = matches!(other, Key::Char('y' | 'Y' | 'n' | 'N'));
                if answered && self.focused().is_some_and(|field| field.swift && matches!(field.kind, Kind::YesNo(_))) {
                    self.go(self.after());
                }
                outcome
            }
        }
    }

    /// Works pasted text in. It never leaves the field and never submits.
    pub fn paste(&mut self, text: &str) -> Outcome {
        if self.state == State::Saving {
            return Outcome::Stay;
        }
        let today = self.today;
        self.edit(|field| field.paste(text, today))
    }

    /// The fields on show, in order.
    pub fn shown(&self) -> impl Iterator<Item = &Field> {
        self.fields.iter().filter(|field| field.shown)
    }

    /// The field in focus; none when no field is shown.
    pub fn focused(&self) -> Option<&Field> {
        self.fields.get(self.focus).filter(|field| field.shown)
    }

    /// A field by id, shown or not.
    pub fn field(&self, id: &str) -> Option<&Field> {
        self.fields.iter().find(|field| field.id == id)
    }

    /// Text has the focus, so letters belong to it.
    pub fn wants_text(&self) -> bool {
        self.focused().is_some_and(|field| matches!(field.kind, Kind::Line(_)))
    }

    /// Whether the person entered anything: a form without it leaves no draft behind.
    pub fn touched(&self) -> bool {
        self.fields.iter().any(Field::touched)
    }

    /// What stands in the fields now, valid or not, for working out [`Form::lines`].
    pub fn values(&self) -> Values {
        let pairs = self.shown().filter_map(|field| {
            let value = field.check().ok()?;
            Some((field.id, value))
        });
        Values::new(pairs)
    }

    /// Puts a value in as if the person had entered it, for example from a scan.
    pub fn set_value(&mut self, id: &str, value: &str) {
        let today = self.today;
        if let Some(field) = self.find(id) {
            field.enter(value, today);
        }
    }

    /// Proposes a value; one the person has entered stays.
    pub fn set_default(&mut self, id: &str, value: &str) {
        let today = self.today;
        if let Some(field) = self.find(id) {
            field.propose(value, today);
        }
    }

    /// Replaces the options of a choice; what was chosen stays if it is still offered.
    pub fn set_options(&mut self, id: &str, options: Vec<Opt>) {
        if let Some(field) = self.find(id) {
            field.set_options(options);
        }
    }

    /// Calls a field something else.
    pub fn set_label(&mut self, id: &str, label: &str) {
        if let Some(field) = self.find(id) {
            label.clone_into(&mut field.label);
        }
    }

    /// Shows or hides a field. A hidden field keeps what it holds but is neither checked nor submitted.
    pub fn show(&mut self, id: &str, shown: bool) {
        if let Some(field) = self.find(id) {
            field.shown = shown;
        }
        if self.focused().is_none() {
            self.focus = self.after().or_else(|| self.before()).unwrap_or(0);
        }
    }

    /// Puts the owner's objection on a field. It stays until the field changes, the owner accepts,
    /// or the next submit, which asks the owner again.
    pub fn refuse(&mut self, id: &str, sentence: impl Into<String>) {
        if let Some(field) = self.find(id) {
            field.say(Remark::Refused(sentence.into()));
        }
    }

    /// Takes the owner's objection off a field.
    pub fn accept(&mut self, id: &str) {
        if let Some(field) = self.find(id) {
            field.accept();
        }
    }

    /// Moves the focus to a shown field.
    pub fn focus_on(&mut self, id: &str) {
        let at = self.fields.iter().position(|field| field.id == id && field.shown);
        self.go(at);
    }

    /// Everything in the fields as text, so that a typed entry can be kept and offered again.
    pub fn draft(&self) -> BTreeMap<String, String> {
        let held = self.fields.iter().map(|field| (field, field.held_for_draft()));
        let mut draft: BTreeMap<String, String> = held
            .filter(|(field, text)| field.touched() || !text.is_empty())
            .map(|(field, text)| (field.id.to_owned(), text))
            .collect();
        let untouched = self.fields.iter().filter(|field| !field.touched());
        let proposed: Vec<&str> = untouched.map(|field| field.id).filter(|id| draft.contains_key(*id)).collect();
        if !proposed.is_empty() {
            draft.insert(PROPOSED.to_owned(), proposed.join("\n"));
        }
        draft.extend(self.base_for_draft());
        draft
    }

    /// Puts back what the person had entered; what was only proposed may be out of date. A form on a record knows from
    /// then on what it was typed over: see [`Form::merge`].
    pub fn restore_entered(&mut self, draft: &BTreeMap<String, String>) {
        let proposed = draft.get(PROPOSED).map_or("", String::as_str);
        let entered = draft.iter().filter(|(id, _)| !proposed.lines().any(|other| other == id.as_str()));
        self.restore(&entered.map(|(id, value)| (id.clone(), value.clone())).collect());
        self.base_of_draft(draft);
    }

    /// Puts a draft back as it stood; ids this form does not know are passed over.
    pub fn restore(&mut self, draft: &BTreeMap<String, String>) {
        let proposed = draft.get(PROPOSED).map_or("", String::as_str);
        for field in &mut self.fields {
            let Some(value) = draft.get(field.id) else {
                continue;
            };
            if proposed.lines().any(|id| id == field.id) {
                field.propose(value, self.today);
            } else {
                field.enter(value, self.today);
            }
        }
    }

    /// Footer hints for the field in focus: the key and what it does.
    pub fn keys_hint(&self) -> Vec<(&'static str, &'static str)> {
        if self.state == State::Saving {
            return Vec::new();
        }
        let mut hints = self.focused().map_or_else(Vec::new, Field::keys_hint);
        if let Some(versions) = self.focused().and_then(Field::versions) {
            let other = if versions.stands == Some(Stands::Yours) { "take the book's" } else { "take yours" };
            hints.insert(0, ("Ctrl+T", other));
        }
        if self.after().is_some() {
            hints.extend([("Enter", "next"), ("Ctrl+S", self.ends.0)]);
        } else {
            hints.push(("Enter", self.ends.0));
        }
        hints.push(("Esc", self.ends.1));
        hints
    }

    fn find(&mut self, id: &str) -> Option<&mut Field> {
        let found = self.fields.iter_mut().find(|field| field.id == id);
        debug_assert!(found.is_some(), "this form has no field {id}");
        found
    }

    fn after(&self) -> Option<usize> {
        let mut later = self.fields.iter().enumerate().skip(self.focus + 1);
        later.find(|(_, field)| field.shown).map(|(at, _)| at)
    }

    fn before(&self) -> Option<usize> {
        let mut earlier = self.fields.iter().enumerate().take(self.focus).rev();
        earlier.find(|(_, field)| field.shown).map(|(at, _)| at)
    }

    /// Checks the field that is left, then moves; at either end the focus stays.
    fn go(&mut self, to: Option<usize>) -> Outcome {
        if let Some(field) = self.fields.get_mut(self.focus) {
            field.leave();
        }
        if let Some(to) = to {
            self.focus = to;
        }
        Outcome::Stay
    }

    fn edit(&mut self, work: impl FnOnce(&mut Field) -> Edit) -> Outcome {
        let field = self.fields.get_mut(self.focus);
        let Some(field) = field.filter(|field| field.shown) else {
            return Outcome::Stay;
        };
        let edit = work(field);
        if !field.edited(edit) {
            return Outcome::Stay;
        }
        self.state = State::Editing;
        Outcome::Changed
    }

    fn submit(&mut self) -> Outcome {
        let mut first_bad = None;
        let mut pairs = Vec::new();
        for (at, field) in self.fields.iter_mut().enumerate() {
            if !field.shown {
                continue;
            }
            field.accept();
            field.leave();
            match field.check() {
                Ok(value) => pairs.push((field.id, value)),
                Err(_) if first_bad.is_none() => first_bad = Some(at),
                Err(_) => {}
            }
        }
        self.state = State::Editing;
        if let Some(at) = first_bad {
            self.focus = at;
            return Outcome::Stay;
        }
        Outcome::Submit(Values::new(pairs))
    }
}
