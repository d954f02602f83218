//! Fields that offer options: one of them, or any of them.

use std::collections::BTreeSet;

use super::clean::clean;
use super::line::Edit;
use crate::app::key::Key;

/// Options that a page key moves by: as many as the view lists.
pub const PAGE: usize = 6;

/// One option.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Opt {
    pub value: String,
    pub label: String,
    pub hint: String,
    /// Why it cannot be chosen, if it cannot.
    pub blocked: Option<String>,
}

impl Opt {
    pub fn new(value: impl Into<String>, label: impl Into<String>) -> Self {
        Self { value: value.into(), label: label.into(), hint: String::new(), blocked: None }
    }

    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = hint.into();
        self
    }

    #[must_use]
    pub fn blocked(mut self, why: impl Into<String>) -> Self {
        self.blocked = Some(why.into());
        self
    }

    fn allowed(&self) -> Result<(), String> {
        match &self.blocked {
            None => Ok(()),
            Some(why) => Err(format!("{} cannot be chosen: {why}", self.label)),
        }
    }
}

/// One option of several. The cursor is what is chosen.
#[derive(Debug, Clone)]
pub struct Choice {
    options: Vec<Opt>,
    /// Kept even while it is not offered, so that options may arrive after a draft.
    wanted: Option<String>,
    find: String,
}

impl Choice {
    pub(super) fn new(options: Vec<Opt>) -> Self {
        Self { options, wanted: None, find: String::new() }
    }

    pub fn options(&self) -> &[Opt] {
        &self.options
    }

    /// Position of the option chosen.
    pub fn at(&self) -> Option<usize> {
        let wanted = self.wanted.as_ref()?;
        self.options.iter().position(|opt| opt.value == *wanted)
    }

    pub fn chosen(&self) -> Option<&Opt> {
        self.options.get(self.at()?)
    }

    /// Letters typed so far to find an option.
    pub fn find(&self) -> &str {
        &self.find
    }

    pub(super) fn limits(&self) -> String {
        counted(self.at(), self.options.len())
    }

    pub(super) fn key(&mut self, key: Key) -> Edit {
        let at = self.at();
        if key == Key::Delete {
            self.find.clear();
            return Edit::changed(self.wanted.take().is_some());
        }
        match pointed(&self.options, at, &mut self.find, key) {
            Ok(new) => self.choose(new),
            Err(sentence) => Edit::refused(sentence),
        }
    }

    pub(super) fn paste(&mut self, text: &str) -> Edit {
        match pasted(&self.options, &mut self.find, text) {
            Ok(new) => self.choose(Some(new)),
            Err(sentence) => Edit::refused(sentence),
        }
    }

    pub(super) fn settle(&mut self) {
        self.find.clear();
    }

    pub(super) fn put(&mut self, value: &str) {
        self.find.clear();
        self.wanted = Some(value.to_owned()).filter(|value| !value.is_empty());
    }

    pub(super) fn held(&self) -> String {
        self.wanted.clone().unwrap_or_default()
    }

    pub(super) fn check(&self) -> Result<String, String> {
        let Some(opt) = self.chosen() else {
            return Ok(String::new());
        };
        opt.allowed()?;
        Ok(opt.value.clone())
    }

    /// True if what was chosen is no longer offered.
    pub(super) fn set_options(&mut self, options: Vec<Opt>) -> bool {
        // the same options again, as after every letter, leave the word that is being typed
        if self.options == options {
            return false;
        }
        let had = self.at().is_some();
        self.find.clear();
        self.options = options;
        had && self.at().is_none()
    }

    fn choose(&mut self, at: Option<usize>) -> Edit {
        let Some(opt) = at.and_then(|at| self.options.get(at)) else {
            return Edit::changed(false);
        };
        let changed = self.wanted.as_ref() != Some(&opt.value);
        self.wanted = Some(opt.value.clone());
        Edit::changed(changed)
    }
}

/// Any of several options. The cursor moves over them, space ticks.
#[derive(Debug, Clone)]
pub struct Many {
    options: Vec<Opt>,
    at: usize,
    on: BTreeSet<String>,
    find: String,
}

impl Many {
    pub(super) fn new(options: Vec<Opt>) -> Self {
        Self { options, at: 0, on: BTreeSet::new(), find: String::new() }
    }

    pub fn options(&self) -> &[Opt] {
        &self.options
    }

    /// Position of the cursor.
    pub fn at(&self) -> usize {
        self.at
    }

    pub fn is_on(&self, opt: &Opt) -> bool {
        self.on.contains(&opt.value)
    }

    /// The options ticked, in the order offered.
    pub fn ticked(&self) -> impl Iterator<Item = &Opt> {
        self.options.iter().filter(|opt| self.is_on(opt))
    }

    /// Letters typed so far to find an option.
    pub fn find(&self) -> &str {
        &self.find
    }

    pub(super) fn limits(&self) -> String {
        let at = counted(Some(self.at), self.options.len());
        format!("{at}, {} ticked", self.ticked().count())
    }

    pub(super) fn key(&mut self, key: Key) -> Edit {
        if key == Key::Char(' ') {
            self.find.clear();
            return self.toggle();
        }
        let at = Some(self.at);
        match pointed(&self.options, at, &mut self.find, key) {
            Ok(new) => self.at = new.unwrap_or(self.at),
            Err(sentence) => return Edit::refused(sentence),
        }
        Edit::changed(false)
    }

    pub(super) fn paste(&mut self, text: &str) -> Edit {
        match pasted(&self.options, &mut self.find, text) {
            Ok(new) => self.at = new,
            Err(sentence) => return Edit::refused(sentence),
        }
        Edit::changed(false)
    }

    pub(super) fn settle(&mut self) {
        self.find.clear();
    }

    pub(super) fn put(&mut self, values: &str) {
        self.find.clear();
        self.on = values.lines().map(str::to_owned).collect();
    }

    pub(super) fn held(&self) -> String {
        let on: Vec<&str> = self.on.iter().map(String::as_str).collect();
        on.join("\n")
    }

    /// One value a line.
    pub(super) fn check(&self) -> Result<String, String> {
        let mut values = Vec::new();
        for opt in self.ticked() {
            opt.allowed()?;
            values.push(opt.value.as_str());
        }
        Ok(values.join("\n"))
    }

    /// True if something ticked is no longer offered.
    pub(super) fn set_options(&mut self, options: Vec<Opt>) -> bool {
        if self.options == options {
            return false;
        }
        let before = self.ticked().count();
        self.find.clear();
        self.options = options;
        self.at = self.at.min(self.options.len().saturating_sub(1));
        self.ticked().count() < before
    }

    fn toggle(&mut self) -> Edit {
        let Some(opt) = self.options.get(self.at) else {
            return Edit::changed(false);
        };
        if self.on.remove(&opt.value) {
            return Edit::changed(true);
        }
        if let Err(sentence) = opt.allowed() {
            return Edit::refused(sentence);
        }
        self.on.insert(opt.value.clone());
        Edit::changed(true)
    }
}

fn counted(at: Option<usize>, of: usize) -> String {
    match at {
        _ if of == 0 => "nothing to choose from".to_owned(),
        Some(at) => format!("{} of {of}", at + 1),
        None => format!("{of} to choose from"),
    }
}

/// Where a key moves the cursor, none if it does not; a sentence if nothing matches what was typed.
fn pointed(options: &[Opt], at: Option<usize>, find: &mut String, key: Key) -> Result<Option<usize>, String> {
    let Some(last) = options.len().checked_sub(1) else {
        return Ok(None);
    };
    let to = match (key, at) {
        (Key::Char(c), _) => return typed(options, find, c),
        (Key::Backspace, _) => {
            find.pop();
            return Ok(None);
        }
        (Key::Home, _) | (Key::Right | Key::PageDown, None) => 0,
        (Key::End, _) | (Key::Left | Key::PageUp, None) => last,
        (Key::Left, Some(at)) => at.saturating_sub(1),
        (Key::Right, Some(at)) => at + 1,
        (Key::PageUp, Some(at)) => at.saturating_sub(PAGE),
        (Key::PageDown, Some(at)) => at + PAGE,
        _ => return Ok(None),
    };
    find.clear();
    Ok(Some(to.min(last)))
}

/// Goes on with the word typed so far, or begins a new one with this letter.
fn typed(options: &[Opt], find: &mut String, c: char) -> Result<Option<usize>, String> {
    if c.is_control() || (c == ' ' && find.is_empty()) {
        return Ok(None);
    }
    let longer = format!("{find}{c}");
    if let Some(at) = search(options, &longer) {
        *find = longer;
        return Ok(Some(at));
    }
    let fresh = c.to_string();
    match search(options, &fresh).filter(|_| c != ' ') {
        Some(at) => {
            *find = fresh;
            Ok(Some(at))
        }
        None => Err(format!("nothing here matches \"{longer}\".")),
    }
}

fn pasted(options: &[Opt], find: &mut String, text: &str) -> Result<usize, String> {
    let first = text.lines().map(str::trim).find(|line| !line.is_empty());
    let (word, _) = clean(first.unwrap_or_default());
    find.clear();
    search(options, &word).ok_or_else(|| format!("nothing here matches \"{word}\"."))
}

/// The first label that begins with the word, else has a word that does, else contains it.
fn search(options: &[Opt], word: &str) -> Option<usize> {
    let word = word.to_lowercase();
    if word.is_empty() {
        return None;
    }
    let labels: Vec<String> = options.iter().map(|opt| opt.label.to_lowercase()).collect();
    let first = |matches: &dyn Fn(&String) -> bool| labels.iter().position(matches);
    first(&|label| label.starts_with(&word))
        .or_else(|| first(&|label| label.split_whitespace().any(|part| part.starts_with(&word))))
        .or_else(|| first(&|label| label.contains(&word)))
}
