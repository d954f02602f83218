//! What a form hands over when it is submitted.

use std::collections::BTreeMap;

use chrono::NaiveDate;

/// Checked values by field id. An empty optional field has no value.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Values {
    by_id: BTreeMap<&'static str, String>,
    sure: Vec<&'static str>,
}

impl Values {
    pub(super) fn new(pairs: impl IntoIterator<Item = (&'static str, String)>) -> Self {
        let filled = pairs.into_iter().filter(|(_, value)| !value.is_empty());
        Self { by_id: filled.collect(), sure: Vec::new() }
    }

    /// The same, with the rules that the person was asked about and answered.
    #[must_use]
    pub fn answered(self, sure: Vec<&'static str>) -> Self {
        Self { sure, ..self }
    }

    /// Rules that were asked about and answered.
    pub fn sure(&self) -> &[&'static str] {
        &self.sure
    }

    /// The text of a field, or the value of the option chosen; empty when there is none.
    pub fn text(&self, id: &str) -> &str {
        self.by_id.get(id).map_or("", String::as_str)
    }

    /// A number, in the unit of its field.
    pub fn number(&self, id: &str) -> Option<f64> {
        self.text(id).parse().ok()
    }

    pub fn date(&self, id: &str) -> Option<NaiveDate> {
        self.text(id).parse().ok()
    }

    /// The values of the options ticked, in the order they were offered.
    pub fn many(&self, id: &str) -> Vec<String> {
        self.text(id).lines().map(str::to_owned).collect()
    }

    /// Answered with yes; "no" and no answer are both false.
    pub fn yes(&self, id: &str) -> bool {
        self.text(id) == "yes"
    }
}
