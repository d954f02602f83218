//! Why something is not done, in one sentence that says what to do instead.

/// A rule that stands in the way.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{sentence}")]
pub struct Refusal {
    /// Short stable name of the rule, also the name of the database's own guard where there is one.
    pub rule: &'static str,
    pub sentence: String,
    /// The form field it is about, if it is about one.
    pub field: Option<&'static str>,
    /// It only asks: said again, it is done.
    pub asks: bool,
}

impl Refusal {
    pub fn new(rule: &'static str, sentence: impl Into<String>) -> Self {
        Self { rule, sentence: sentence.into(), field: None, asks: false }
    }

    /// The same, shown beside a form field.
    #[must_use]
    pub fn at(self, field: &'static str) -> Self {
        Self { field: Some(field), ..self }
    }

    /// The same as a question.
    #[must_use]
    pub fn asking(self) -> Self {
        Self { asks: true, ..self }
    }
}
