//! A form on a record that someone else changed: what the book says now is put beside what was typed.
//!
//! Three values meet in a field: what the book said when the form was opened, what it says now, and what stands here.
//! What nobody typed over follows the book; what both changed stands here in both versions until one is chosen.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::field::{Field, Kind, Remark};
use super::line::with_unit;
use super::{Form, Outcome, State};

/// Draft key of what the book said where something was typed over it.
const BOOK: &str = "(book) ";

/// A value that both changed.
#[derive(Debug, Clone)]
pub(super) struct Both {
    book: Version,
    /// One's own, kept since the book's was taken.
    own: Option<Version>,
    /// One of them was chosen, or saving was asked for and both were shown.
    decided: bool,
    by: String,
}

/// A value as a field takes it back, and as it reads.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Version {
    held: String,
    said: String,
}

/// Both versions of a field, for the view.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Versions {
    pub yours: String,
    pub book: String,
    /// Which of them stands in the field; none after something else was typed.
    pub stands: Option<Stands>,
    /// Whose the book's is, if that is known.
    pub by: String,
}

/// Whose version stands in a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stands {
    Yours,
    Book,
}

/// What a change in the book did to a form, as labels of fields.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct News {
    /// Fields that follow the book.
    pub taken: Vec<String>,
    /// Fields that both changed.
    pub both: Vec<String>,
}

enum Met {
    Same,
    Taken,
    Both,
}

impl Form {
    /// Notes what stands in the fields as the book's own, so that a later change by hand or in the book is known.
    pub fn of_record(&mut self) {
        self.base = self.fields.iter().map(|field| (field.id, field.kind.held())).collect();
    }

    /// Brings in what the book says now: the same form, built anew from the changed record.
    pub fn merge(&mut self, book: &Self) -> News {
        self.title.clone_from(&book.title);
        self.intro.clone_from(&book.intro);
        let mut news = News::default();
        for theirs in &book.fields {
            let Some(field) = self.fields.iter_mut().find(|field| field.id == theirs.id) else { continue };
            let base = self.base.entry(theirs.id).or_default();
            match field.meet(base, theirs, self.today) {
                Met::Same => {}
                Met::Taken => news.taken.push(field.label.clone()),
                Met::Both => news.both.push(field.label.clone()),
            }
        }
        news
    }

    /// Puts the other version into the field in focus; nothing where there is only one.
    pub fn take_other(&mut self) -> Outcome {
        let today = self.today;
        let saving = self.state == State::Saving;
        let field = self.fields.get_mut(self.focus).filter(|field| field.shown && !saving);
        if !field.is_some_and(|field| field.take_other(today)) {
            return Outcome::Stay;
        }
        self.state = State::Editing;
        Outcome::Changed
    }

    /// Labels of the fields whose two versions nobody has chosen from yet. They are shown from here on: the focus goes to
    /// the first, and they are not asked about again.
    pub fn show_both(&mut self) -> Vec<String> {
        let mut open = Vec::new();
        for field in self.fields.iter_mut().filter(|field| field.shown) {
            let asks = field.apart().is_some_and(|both| !both.decided);
            if let Some(both) = field.both.as_mut().filter(|_| asks) {
                both.decided = true;
                open.push((field.id, field.label.clone()));
            }
        }
        if let Some((first, _)) = open.first() {
            self.focus_on(first);
        }
        open.into_iter().map(|(_, label)| label).collect()
    }

    /// Says whose the book's versions are.
    pub fn versions_by(&mut self, initials: &str) {
        for both in self.fields.iter_mut().filter_map(|field| field.both.as_mut()) {
            initials.clone_into(&mut both.by);
        }
    }

    /// What a draft keeps of the book, for the fields it has something typed in.
    pub(super) fn base_for_draft(&self) -> impl Iterator<Item = (String, String)> {
        let typed = self.fields.iter().filter(|field| field.touched());
        typed.filter_map(|field| Some((format!("{BOOK}{}", field.id), self.base.get(field.id)?.clone())))
    }

    /// Takes over from a draft what its entries were typed over.
    pub(super) fn base_of_draft(&mut self, draft: &BTreeMap<String, String>) {
        for (id, base) in &mut self.base {
            if let Some(kept) = draft.get(&format!("{BOOK}{id}")) {
                kept.clone_into(base);
            }
        }
    }
}

impl Field {
    /// Both versions, where both were changed.
    pub fn versions(&self) -> Option<Versions> {
        let both = self.apart()?;
        let here = self.version();
        let stands = match &both.own {
            None => Some(Stands::Yours),
            Some(_) if here == both.book => Some(Stands::Book),
            Some(_) => None,
        };
        let yours = both.own.clone().unwrap_or(here).said;
        Some(Versions { yours, book: both.book.said.clone(), stands, by: both.by.clone() })
    }

    /// What a draft keeps: one's own, also where the book's stands in the field for now.
    pub(super) fn held_for_draft(&self) -> String {
        let here = self.kind.held();
        match &self.both {
            Some(Both { book, own: Some(own), .. }) if book.held == here => own.held.clone(),
            _ => here,
        }
    }

    fn meet(&mut self, base: &mut String, book: &Self, today: NaiveDate) -> Met {
        if let Kind::Choice(choice) = &book.kind {
            self.set_options(choice.options().to_vec());
        }
        let theirs = book.version();
        let (was, now) = (self.means(base, today), self.means(&theirs.held, today));
        let mine = self.means(&self.kind.held(), today);
        if let Some(both) = &mut self.both {
            if both.book.held == theirs.held {
                return Met::Same;
            }
            let followed = both.own.is_some() && self.kind.held() == both.book.held;
            both.book.clone_from(&theirs);
            both.decided = followed;
            if followed {
                self.enter(&theirs.held, today);
                return Met::Taken;
            }
            if both.own.is_some() || (now != was && now != mine) {
                return Met::Both;
            }
            self.both = None;
        } else if now != was && now != mine && mine != was {
            self.both = Some(Both { book: theirs, own: None, decided: false, by: String::new() });
            return Met::Both;
        }
        if now == was {
            return Met::Same;
        }
        base.clone_from(&theirs.held);
        if mine == now {
            return Met::Same;
        }
        let before = self.version().said;
        self.follow(&theirs.held, today);
        self.say(Remark::Told(format!("changed in the book meanwhile; before: {before}.")));
        Met::Taken
    }

    /// Both versions stand apart, so there is something to choose.
    fn apart(&self) -> Option<&Both> {
        self.both.as_ref().filter(|both| both.own.is_some() || both.book.held != self.kind.held())
    }

    fn take_other(&mut self, today: NaiveDate) -> bool {
        let here = self.version();
        let Some(both) = &mut self.both else { return false };
        both.decided = true;
        let to = if let Some(own) = both.own.take() {
            own.held
        } else {
            both.own = Some(here);
            both.book.held.clone()
        };
        self.enter(&to, today);
        true
    }

    /// A text as this field understands it, so that `9,5` and `9.5` are the same.
    fn means(&self, text: &str, today: NaiveDate) -> String {
        let mut other = self.clone();
        other.enter(text, today);
        other.check().unwrap_or_else(|_| text.to_owned())
    }

    fn version(&self) -> Version {
        let said = match &self.kind {
            Kind::Line(line) if line.typed().is_empty() => String::new(),
            Kind::Line(line) => with_unit(line.typed(), line.unit()),
            Kind::Choice(choice) => choice.chosen().map_or_else(String::new, |opt| opt.label.clone()),
            Kind::Many(many) => many.ticked().map(|opt| opt.label.as_str()).collect::<Vec<_>>().join(", "),
            Kind::YesNo(_) => self.kind.held(),
        };
        let said = if said.is_empty() { "nothing".to_owned() } else { said };
        Version { held: self.kind.held(), said }
    }
}
