//! Lines to read, as a page.

use crate::app::model::{Model, Screen};

#[derive(Debug, Clone)]
pub struct State {
    pub title: String,
    pub lines: Vec<String>,
    pub from: usize,
}

pub fn open(model: &mut Model, title: impl Into<String>, lines: Vec<String>) {
    model.open(Screen::Text(State { title: title.into(), lines, from: 0 }));
}
