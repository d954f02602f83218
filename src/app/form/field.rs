//! One field: what it asks for, what it holds, and what is said about it.

use chrono::NaiveDate;

use super::line::{Days, Edit, Line, Range, Rule};
use super::measure::Measure;
use super::merge::Both;
use super::pick::{Choice, Many, Opt};
use crate::app::key::Key;

/// What a field holds and how it is entered.
#[derive(Debug, Clone)]
pub enum Kind {
    /// Typed text: words, a number, a day or a note.
    Line(Line),
    Choice(Choice),
    Many(Many),
    /// The answer, if it was given.
    YesNo(Option<bool>),
}

/// A sentence beside a field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Remark {
    /// Worth knowing; nothing to do.
    Told(String),
    /// The field's own check.
    Unmet(String),
    /// The owner's objection.
    Refused(String),
}

/// One field of a form.
#[expect(clippy::struct_excessive_bools, reason = "each is a fact of its own, none a state")]
#[derive(Debug, Clone)]
pub struct Field {
    pub id: &'static str,
    pub label: String,
    pub help: String,
    pub kind: Kind,
    pub required: bool,
    pub shown: bool,
    /// An answer of y or n goes on to the next field by itself.
    pub(super) swift: bool,
    /// What the book says now, where that is neither what was typed nor what the form was opened on.
    pub(super) both: Option<Both>,
    touched: bool,
    remark: Option<Remark>,
    /// The first proposal, read once the form knows what day it is.
    first: String,
}

impl Field {
    fn new(id: &'static str, label: &str, kind: Kind) -> Self {
        Self {
            id,
            label: label.to_owned(),
            help: String::new(),
            kind,
            required: false,
            shown: true,
            swift: false,
            both: None,
            touched: false,
            remark: None,
            first: String::new(),
        }
    }

    /// One line of at most `max` graphemes.
    pub fn text(id: &'static str, label: &str, max: usize) -> Self {
        Self::new(id, label, Kind::Line(Line::new(Rule::Text { max })))
    }

    /// Text of at most `max` graphemes in which pasted line breaks stay.
    pub fn note(id: &'static str, label: &str, max: usize) -> Self {
        Self::new(id, label, Kind::Line(Line::new(Rule::Note { max })))
    }

    /// A number with decimal comma or point.
    pub fn number(id: &'static str, label: &str, range: Range) -> Self {
        Self::new(id, label, Kind::Line(Line::new(Rule::Number(range))))
    }

    /// An amount with its unit.
    pub fn measure(id: &'static str, label: &str, measure: Measure) -> Self {
        Self::new(id, label, Kind::Line(Line::new(Rule::Measure(measure))))
    }

    /// A calendar day within the given days, both included.
    pub fn date(id: &'static str, label: &str, not_before: Option<NaiveDate>, not_after: Option<NaiveDate>) -> Self {
        let days = Days::new(not_before, not_after);
        Self::new(id, label, Kind::Line(Line::new(Rule::Date(days))))
    }

    /// One of the options.
    pub fn choice(id: &'static str, label: &str, options: Vec<Opt>) -> Self {
        Self::new(id, label, Kind::Choice(Choice::new(options)))
    }

    /// Any of the options.
    pub fn many(id: &'static str, label: &str, options: Vec<Opt>) -> Self {
        Self::new(id, label, Kind::Many(Many::new(options)))
    }

    pub fn yes_no(id: &'static str, label: &str) -> Self {
        Self::new(id, label, Kind::YesNo(None))
    }

    /// A sentence shown while the field has the focus.
    #[must_use]
    pub fn help(mut self, help: &str) -> Self {
        help.clone_into(&mut self.help);
        self
    }

    /// The form is not submitted without this field.
    #[must_use]
    pub fn required(mut self) -> Self {
        self.required = true;
        self
    }

    /// A first proposal; it does not count as entered.
    #[must_use]
    pub fn starting(mut self, value: &str) -> Self {
        value.clone_into(&mut self.first);
        self
    }

    /// Answered with one key: y and n go on by themselves.
    #[must_use]
    pub fn swift(mut self) -> Self {
        self.swift = true;
        self
    }

    /// Not on show until the owner shows it.
    #[must_use]
    pub fn hidden(mut self) -> Self {
        self.shown = false;
        self
    }

    /// Whether the person, or a scan for them, entered this value.
    pub fn touched(&self) -> bool {
        self.touched
    }

    pub fn remark(&self) -> Option<&Remark> {
        self.remark.as_ref()
    }

    /// How the entry was understood, where that differs from what was typed.
    pub fn understood(&self) -> Option<String> {
        match &self.kind {
            Kind::Line(line) => line.understood(),
            Kind::Choice(_) | Kind::Many(_) | Kind::YesNo(_) => None,
        }
    }

    /// What may be entered, in a few words.
    pub fn limits(&self) -> String {
        match &self.kind {
            Kind::Line(line) => line.limits(),
            Kind::Choice(choice) => choice.limits(),
            Kind::Many(many) => many.limits(),
            Kind::YesNo(_) => "y or n".to_owned(),
        }
    }

    /// The value in its exact form, empty if there is none, or a sentence on what is missing.
    pub fn check(&self) -> Result<String, String> {
        let value = match &self.kind {
            Kind::Line(line) => line.check(),
            Kind::Choice(choice) => choice.check(),
            Kind::Many(many) => many.check(),
            Kind::YesNo(answer) => Ok(answered(*answer).to_owned()),
        }?;
        if value.is_empty() && self.required {
            return Err(match self.kind {
                Kind::Line(_) => "fill this in, it is needed.",
                Kind::Choice(_) => "choose one, it is needed.",
                Kind::Many(_) => "tick at least one.",
                Kind::YesNo(_) => "answer yes or no.",
            }
            .to_owned());
        }
        Ok(value)
    }

    pub(super) fn key(&mut self, key: Key, today: NaiveDate) -> Edit {
        match &mut self.kind {
            Kind::Line(line) => line.key(key, today),
            Kind::Choice(choice) => choice.key(key),
            Kind::Many(many) => many.key(key),
            Kind::YesNo(answer) => {
                let new = match (key, *answer) {
                    (Key::Char('y' | 'Y') | Key::Left, _) | (Key::Char(' '), Some(false) | None) => Some(true),
                    (Key::Char('n' | 'N') | Key::Right, _) | (Key::Char(' '), Some(true)) => Some(false),
                    (Key::Delete | Key::Backspace, _) => None,
                    (_, same) => same,
                };
                let changed = new != *answer;
                *answer = new;
                Edit::changed(changed)
            }
        }
    }

    pub(super) fn paste(&mut self, text: &str, today: NaiveDate) -> Edit {
        match &mut self.kind {
            Kind::Line(line) => line.paste(text, today),
            Kind::Choice(choice) => choice.paste(text),
            Kind::Many(many) => many.paste(text),
            Kind::YesNo(_) => Edit::changed(false),
        }
    }

    /// Notes what an edit did; true if the value changed.
    pub(super) fn edited(&mut self, edit: Edit) -> bool {
        let unmet = matches!(self.remark, Some(Remark::Unmet(_)));
        // Among options a sentence answers the last key; beside typed text it stays until mended.
        let answered = unmet && !matches!(self.kind, Kind::Line(_));
        if edit.changed || edit.remark.is_some() || answered {
            self.remark = edit.remark;
        }
        self.touched |= edit.changed;
        edit.changed
    }

    /// Settles and checks the field as the focus leaves it. The owner's objection stays.
    pub(super) fn leave(&mut self) {
        match &mut self.kind {
            Kind::Line(line) => line.settle(),
            Kind::Choice(choice) => choice.settle(),
            Kind::Many(many) => many.settle(),
            Kind::YesNo(_) => {}
        }
        match self.check() {
            Err(sentence) => self.remark = Some(Remark::Unmet(sentence)),
            Ok(_) if matches!(self.remark, Some(Remark::Unmet(_))) => self.remark = None,
            Ok(_) => {}
        }
    }

    pub(super) fn say(&mut self, remark: Remark) {
        self.remark = Some(remark);
    }

    pub(super) fn accept(&mut self) {
        if matches!(self.remark, Some(Remark::Refused(_))) {
            self.remark = None;
        }
    }

    pub(super) fn propose_first(&mut self, today: NaiveDate) {
        let first = std::mem::take(&mut self.first);
        if !first.is_empty() {
            self.propose(&first, today);
        }
    }

    pub(super) fn propose(&mut self, value: &str, today: NaiveDate) {
        if !self.touched {
            self.put(value, today);
            if let Kind::Line(line) = &mut self.kind {
                line.offer();
            }
        }
    }

    pub(super) fn enter(&mut self, value: &str, today: NaiveDate) {
        self.put(value, today);
        self.touched = true;
    }

    /// Takes the book's value in place of one that nobody typed.
    pub(super) fn follow(&mut self, value: &str, today: NaiveDate) {
        self.touched = false;
        self.propose(value, today);
    }

    pub(super) fn set_options(&mut self, options: Vec<Opt>) {
        let lost = match &mut self.kind {
            Kind::Choice(choice) => choice.set_options(options),
            Kind::Many(many) => many.set_options(options),
            Kind::Line(_) | Kind::YesNo(_) => false,
        };
        if lost {
            let sentence = "what was chosen before is no longer offered.".to_owned();
            self.remark = Some(Remark::Told(sentence));
        }
    }

    fn put(&mut self, value: &str, today: NaiveDate) {
        self.remark = None;
        match &mut self.kind {
            Kind::Line(line) => line.put(value, today),
            Kind::Choice(choice) => choice.put(value),
            Kind::Many(many) => many.put(value),
            Kind::YesNo(answer) => {
                *answer = match value {
                    "yes" => Some(true),
                    "no" => Some(false),
                    _ => None,
                }
            }
        }
    }

    pub(super) fn keys_hint(&self) -> Vec<(&'static str, &'static str)> {
        match &self.kind {
            Kind::Line(line) if line.offered() => vec![("letters", "replace"), ("Left/Right", "change")],
            Kind::Line(_) => vec![("Ctrl+U", "clear")],
            Kind::Choice(_) => vec![("Left/Right", "choose"), ("letters", "find")],
            Kind::Many(_) => vec![("Left/Right", "move"), ("Space", "tick"), ("letters", "find")],
            Kind::YesNo(_) => vec![("y", "yes"), ("n", "no")],
        }
    }
}

impl Kind {
    /// What is held, valid or not, in the form that [`Field`] takes back.
    pub(super) fn held(&self) -> String {
        match self {
            Self::Line(line) => line.held(),
            Self::Choice(choice) => choice.held(),
            Self::Many(many) => many.held(),
            Self::YesNo(answer) => answered(*answer).to_owned(),
        }
    }
}

fn answered(answer: Option<bool>) -> &'static str {
    match answer {
        Some(true) => "yes",
        Some(false) => "no",
        None => "",
    }
}
