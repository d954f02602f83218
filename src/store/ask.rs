//! Rules that only ask: refused until the person has said that it is so.

use super::error::StoreError;
use super::writer::Writer;
use crate::domain::refusal::Refusal;

/// Refuses unless this rule was answered already, or the act was over before it was asked.
pub(super) fn ask(w: &Writer<'_>, sure: &[&'static str], refusal: Refusal) -> Result<(), StoreError> {
    if w.already.is_some() || sure.contains(&refusal.rule) { Ok(()) } else { Err(refusal.asking().into()) }
}
