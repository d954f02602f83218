//! Typed fields: words, numbers, days and notes.

use chrono::{Days as Span, NaiveDate};
use tui_input::{Input, InputRequest};
use unicode_segmentation::UnicodeSegmentation;

use super::clean::clean;
use super::field::Remark;
use super::measure::Measure;
use crate::app::key::Key;

/// Longest number or day that can be typed, in graphemes.
const SHORT: usize = 24;

/// What a typed field takes.
#[derive(Debug, Clone)]
pub enum Rule {
    Text { max: usize },
    Number(Range),
    Measure(Measure),
    Date(Days),
    Note { max: usize },
}

/// Limits of a number, both included, in `unit`.
#[derive(Debug, Clone)]
pub struct Range {
    pub unit: String,
    pub min: f64,
    pub max: f64,
    pub decimals: u8,
}

/// Limits of a day, both included, and the day that was understood.
#[derive(Debug, Clone)]
pub struct Days {
    not_before: Option<NaiveDate>,
    not_after: Option<NaiveDate>,
    /// Read when it was typed, so that "yesterday" means the same after midnight.
    read: Option<NaiveDate>,
}

impl Days {
    pub(super) fn new(not_before: Option<NaiveDate>, not_after: Option<NaiveDate>) -> Self {
        Self { not_before, not_after, read: None }
    }
}

/// What a key did to a field.
#[derive(Debug)]
pub(super) struct Edit {
    pub changed: bool,
    pub remark: Option<Remark>,
}

impl Edit {
    pub(super) fn changed(changed: bool) -> Self {
        Self { changed, remark: None }
    }

    pub(super) fn refused(sentence: String) -> Self {
        Self { changed: false, remark: Some(Remark::Unmet(sentence)) }
    }
}

/// Typed text with its caret.
#[derive(Debug, Clone)]
pub struct Line {
    input: Input,
    rule: Rule,
    /// A proposal that the first letter replaces, as long as no other key was at it.
    offered: bool,
}

impl Line {
    pub(super) fn new(rule: Rule) -> Self {
        Self { input: Input::default(), rule, offered: false }
    }

    /// The text as typed.
    pub fn typed(&self) -> &str {
        self.input.value()
    }

    /// Characters (not graphemes) before the caret.
    pub fn caret(&self) -> usize {
        self.input.cursor()
    }

    pub fn rule(&self) -> &Rule {
        &self.rule
    }

    /// The unit to show beside the text; empty for none.
    pub fn unit(&self) -> &str {
        match &self.rule {
            Rule::Number(range) => &range.unit,
            Rule::Measure(measure) => measure.beside(self.typed()),
            Rule::Text { .. } | Rule::Date(_) | Rule::Note { .. } => "",
        }
    }

    /// The next letter replaces what stands here.
    pub fn offered(&self) -> bool {
        self.offered && !self.typed().is_empty()
    }

    /// Marks what stands here as a proposal; a note is added to, never replaced.
    pub(super) fn offer(&mut self) {
        self.offered = !matches!(self.rule, Rule::Note { .. });
    }

    pub(super) fn key(&mut self, key: Key, today: NaiveDate) -> Edit {
        let request = match key {
            // A line break comes into a note by paste only.
            Key::Char(c) if c.is_control() => return Edit::changed(false),
            Key::Char(c) => return self.enter(c.encode_utf8(&mut [0; 4]), today),
            Key::Left => InputRequest::GoToPrevChar,
            Key::Right => InputRequest::GoToNextChar,
            Key::Home => InputRequest::GoToStart,
            Key::End => InputRequest::GoToEnd,
            Key::Backspace => InputRequest::DeletePrevChar,
            Key::Delete => InputRequest::DeleteNextChar,
            Key::Ctrl('w') => InputRequest::DeletePrevWord,
            Key::Ctrl('u') => InputRequest::DeleteFromStart,
            _ => return Edit::changed(false),
        };
        self.offered = false;
        let changed = self.input.handle(request).is_some_and(|done| done.value);
        if changed {
            self.read(today);
        }
        Edit::changed(changed)
    }

    pub(super) fn paste(&mut self, text: &str, today: NaiveDate) -> Edit {
        let text = text.trim_matches(['\r', '\n']);
        self.enter(&one_kind_of_break(text, &self.rule), today)
    }

    /// Inserts, in place of a proposal if one stands here.
    fn enter(&mut self, text: &str, today: NaiveDate) -> Edit {
        let before = self.clone();
        if std::mem::take(&mut self.offered) {
            self.input.reset();
        }
        let edit = self.insert(text, today);
        if !edit.changed {
            *self = before;
        }
        edit
    }

    /// Replaces the text; it is cleaned and cut as a paste is.
    pub(super) fn put(&mut self, text: &str, today: NaiveDate) {
        self.offered = false;
        self.input.reset();
        let text = match &self.rule {
            Rule::Measure(measure) => measure.on_screen(text.trim()),
            rule => one_kind_of_break(text, rule),
        };
        self.insert(&text, today);
        self.read(today);
        self.settle();
    }

    /// Writes a day out in full.
    pub(super) fn settle(&mut self) {
        if let Rule::Date(Days { read: Some(day), .. }) = self.rule {
            self.input = Input::new(day.to_string());
        }
    }

    /// The text, except that a day is written out: a draft may be opened on another day.
    pub(super) fn held(&self) -> String {
        match &self.rule {
            Rule::Date(Days { read: Some(day), .. }) => day.to_string(),
            Rule::Measure(measure) => measure.held(self.typed()),
            _ => self.typed().to_owned(),
        }
    }

    pub(super) fn check(&self) -> Result<String, String> {
        let text = self.typed().trim();
        if text.is_empty() {
            return Ok(String::new());
        }
        match &self.rule {
            Rule::Text { .. } | Rule::Note { .. } => Ok(text.to_owned()),
            Rule::Number(range) => range.check(text),
            Rule::Measure(measure) => measure.check(text),
            Rule::Date(days) => days.check(),
        }
    }

    pub(super) fn limits(&self) -> String {
        match &self.rule {
            Rule::Text { max } | Rule::Note { max } => format!("at most {max} characters"),
            Rule::Number(range) => range.limits(),
            Rule::Measure(measure) => measure.limits(),
            Rule::Date(days) => days.limits(),
        }
    }

    pub(super) fn understood(&self) -> Option<String> {
        match &self.rule {
            Rule::Text { .. } | Rule::Note { .. } => None,
            Rule::Number(range) => {
                let text = self.typed().trim();
                let exact = range.check(text).ok().filter(|exact| exact != text)?;
                Some(with_unit(&exact, &range.unit))
            }
            Rule::Measure(measure) => measure.understood(self.typed().trim()),
            Rule::Date(days) => days.read.map(|day| day.format("%A, %-d %B %Y").to_string()),
        }
    }

    /// Inserts at the caret what is printable and still fits.
    fn insert(&mut self, text: &str, today: NaiveDate) -> Edit {
        let parts: Vec<(String, usize)> = text.split('\n').map(clean).collect();
        let dropped: usize = parts.iter().map(|(_, dropped)| dropped).sum();
        let lines: Vec<String> = parts.into_iter().map(|(line, _)| line).collect();
        let clean = lines.join("\n");

        let head: String = self.typed().chars().take(self.caret()).collect();
        let tail: String = self.typed().chars().skip(self.caret()).collect();
        let max = self.max();
        let room = max.saturating_sub(self.typed().graphemes(true).count());
        // One more than there is room for: the first may only be an accent on the text before it.
        let mut piece: Vec<&str> = clean.graphemes(true).take(room + 1).collect();
        let mut whole = joined(&head, &piece, &tail);
        while !piece.is_empty() && whole.graphemes(true).count() > max {
            piece.pop();
            whole = joined(&head, &piece, &tail);
        }
        let taken: usize = piece.iter().map(|part| part.chars().count()).sum();
        let over = clean.graphemes(true).count() - piece.len();
        if taken > 0 {
            self.input = Input::new(whole).with_cursor(self.caret() + taken);
            self.read(today);
        }
        Edit { changed: taken > 0, remark: left_out(dropped, over, max).map(Remark::Told) }
    }

    fn max(&self) -> usize {
        match &self.rule {
            Rule::Text { max } | Rule::Note { max } => *max,
            Rule::Number(_) | Rule::Measure(_) | Rule::Date(_) => SHORT,
        }
    }

    fn read(&mut self, today: NaiveDate) {
        if let Rule::Date(days) = &mut self.rule {
            days.read = day(self.input.value(), today);
        }
    }
}

impl Range {
    pub(super) fn check(&self, text: &str) -> Result<String, String> {
        let (value, decimals) = number(text).ok_or("write a number in digits, such as 12 or 12.5.")?;
        // Every digit counts, zeros too: "1,500" is refused rather than read as one and a half.
        if decimals > usize::from(self.decimals) {
            return Err(match self.decimals {
                0 => "write a whole number, without comma or point.".to_owned(),
                1 => "write at most 1 digit after the comma or point.".to_owned(),
                n => format!("write at most {n} digits after the comma or point."),
            });
        }
        if value < self.min || value > self.max {
            let (min, max) = (self.min, self.max);
            let limits = with_unit(&format!("from {min} to {max}"), &self.unit);
            return Err(format!("it must be {limits}; {text} is outside."));
        }
        // Adding zero turns -0 into 0.
        Ok((value + 0.0).to_string())
    }

    pub(super) fn limits(&self) -> String {
        let limits = with_unit(&format!("{} to {}", self.min, self.max), &self.unit);
        match self.decimals {
            0 => format!("{limits}, whole"),
            1 => format!("{limits}, at most 1 decimal"),
            n => format!("{limits}, at most {n} decimals"),
        }
    }
}

impl Days {
    fn check(&self) -> Result<String, String> {
        let Some(day) = self.read else {
            return Err("write a day as YYYY-MM-DD, today, yesterday, -3 or +30.".to_owned());
        };
        if let Some(first) = self.not_before.filter(|first| day < *first) {
            return Err(format!("it cannot be before {first}; this is {day}."));
        }
        if let Some(last) = self.not_after.filter(|last| day > *last) {
            return Err(format!("it cannot be after {last}; this is {day}."));
        }
        Ok(day.to_string())
    }

    fn limits(&self) -> String {
        let forms = "YYYY-MM-DD, today, yesterday, -3 or +30 days";
        match (self.not_before, self.not_after) {
            (None, None) => forms.to_owned(),
            (Some(first), None) => format!("{forms}; from {first}"),
            (None, Some(last)) => format!("{forms}; until {last}"),
            (Some(first), Some(last)) => format!("{forms}; {first} to {last}"),
        }
    }
}

/// Line breaks as `\n` in a note and as spaces elsewhere; tabs as spaces.
fn one_kind_of_break(text: &str, rule: &Rule) -> String {
    let breaks = ['\r', '\u{b}', '\u{c}', '\u{85}', '\u{2028}', '\u{2029}'];
    let text = text.replace("\r\n", "\n").replace(breaks, "\n");
    let text = text.replace('\t', " ");
    match rule {
        Rule::Note { .. } => text,
        Rule::Text { .. } | Rule::Number(_) | Rule::Measure(_) | Rule::Date(_) => text.replace('\n', " "),
    }
}

fn joined(head: &str, piece: &[&str], tail: &str) -> String {
    [head, &piece.concat(), tail].concat()
}

/// What was left out of a text: characters that cannot be seen, and those beyond the `max` that fit.
fn left_out(dropped: usize, over: usize, max: usize) -> Option<String> {
    let counted = |n: usize| if n == 1 { "1 was".to_owned() } else { format!("{n} were") };
    let unseen = match dropped {
        0 => None,
        1 => Some("1 character that cannot be printed was left out".to_owned()),
        n => Some(format!("{n} characters that cannot be printed were left out")),
    };
    let long = (over > 0).then(|| format!("only {max} characters fit, {} left out", counted(over)));
    let said: Vec<String> = unseen.into_iter().chain(long).collect();
    (!said.is_empty()).then(|| format!("{}.", said.join("; ")))
}

/// An amount with its unit, if it has one.
pub fn with_unit(amount: &str, unit: &str) -> String {
    if unit.is_empty() { amount.to_owned() } else { format!("{amount} {unit}") }
}

/// A decimal number and how many digits follow its comma or point.
fn number(text: &str) -> Option<(f64, usize)> {
    let plain = text.replace(',', ".");
    let unsigned = plain.strip_prefix('-').unwrap_or(&plain);
    let (whole, part) = match unsigned.split_once('.') {
        Some((_, "")) => return None,
        Some(halves) => halves,
        None => (unsigned, ""),
    };
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if whole.len() + part.len() == 0 || !digits(whole) || !digits(part) {
        return None;
    }
    Some((plain.parse().ok()?, part.len()))
}

/// A calendar day, by date or counted from `today`.
fn day(text: &str, today: NaiveDate) -> Option<NaiveDate> {
    let text = text.trim().to_lowercase();
    match text.as_str() {
        "today" => return Some(today),
        "yesterday" => return today.pred_opt(),
        _ => {}
    }
    if let Some(days) = text.strip_prefix('-') {
        return today.checked_sub_days(span(days)?);
    }
    if let Some(days) = text.strip_prefix('+') {
        return today.checked_add_days(span(days)?);
    }
    let mut parts = text.split('-');
    let year = parts.next().filter(|year| year.len() == 4)?;
    let (month, day) = (parts.next()?, parts.next()?);
    if parts.next().is_some() {
        return None;
    }
    NaiveDate::from_ymd_opt(whole(year)?, whole(month)?, whole(day)?)
}

/// Up to four digits: further days are a slip of the finger.
fn span(days: &str) -> Option<Span> {
    (days.len() <= 4).then(|| whole(days).map(Span::new))?
}

/// Digits only: the standard library would also read a sign.
fn whole<N: std::str::FromStr>(text: &str) -> Option<N> {
    let digits = text.bytes().all(|byte| byte.is_ascii_digit());
    digits.then(|| text.parse().ok())?
}
