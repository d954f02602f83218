//! Short lists: every line has a letter of its own, or the arrows and Enter.

use super::command::Command;

/// Letters in the order lines get them: home row first. `h` stays free for scanners.
const LETTERS: &str = "asdfgjklqwertyuiopzxcvbnm";

/// One line of a list and what taking it means.
#[derive(Debug, Clone, PartialEq)]
pub struct Item<T> {
    pub label: String,
    /// A letter of its own; otherwise the line gets the next one.
    pub letter: Option<char>,
    /// More about it, in quiet words.
    pub hint: String,
    /// Why it cannot be taken now.
    pub bar: Option<String>,
    pub value: T,
}

impl<T> Item<T> {
    pub fn new(label: impl Into<String>, value: T) -> Self {
        Self { label: label.into(), letter: None, hint: String::new(), bar: None, value }
    }

    #[must_use]
    pub fn hint(self, hint: impl Into<String>) -> Self {
        Self { hint: hint.into(), ..self }
    }

    #[must_use]
    pub fn letter(self, letter: char) -> Self {
        Self { letter: Some(letter), ..self }
    }

    #[must_use]
    pub fn bar(self, why: Option<String>) -> Self {
        Self { bar: why, ..self }
    }
}

/// A list with a cursor.
#[derive(Debug, Clone, PartialEq)]
pub struct Menu<T> {
    pub title: String,
    /// Sentences above the lines.
    pub intro: Vec<String>,
    pub items: Vec<Item<T>>,
    pub at: usize,
}

impl<T> Menu<T> {
    pub fn new(title: impl Into<String>, items: Vec<Item<T>>) -> Self {
        Self { title: title.into(), intro: Vec::new(), items, at: 0 }
    }

    #[must_use]
    pub fn intro(self, line: impl Into<String>) -> Self {
        let mut intro = self.intro;
        intro.push(line.into());
        Self { intro, ..self }
    }

    /// The letter of a line, if there are letters left.
    pub fn letter(&self, n: usize) -> Option<char> {
        self.items.get(n)?.letter.or_else(|| LETTERS.chars().nth(n))
    }

    /// The line a letter stands for.
    pub fn by_letter(&self, letter: char) -> Option<usize> {
        (0..self.items.len()).find(|n| self.letter(*n) == Some(letter))
    }

    /// Moves the cursor.
    pub fn walk(&mut self, command: Command) {
        let last = self.items.len().saturating_sub(1);
        self.at = match command {
            Command::Up => self.at.saturating_sub(1),
            Command::Down => (self.at + 1).min(last),
            Command::PageUp => self.at.saturating_sub(10),
            Command::PageDown => (self.at + 10).min(last),
            _ => self.at,
        };
    }
}
