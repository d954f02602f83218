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
}

impl Refusal {
    pub fn new(rule: &'static str, sentence: impl Into<String>) -> Self {
        Self { rule, sentence: sentence.into(), field: None }
    }

    /// The same, shown beside a form field.
    #[must_use]
    pub fn at(self, field: &'static str) -> Self {
        Self { field: Some(field), ..self }
    }
}
