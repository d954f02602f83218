//! Everything a hand-over says, for another program.

use crate::domain::trace::Dossier;

/// The whole of it, indented.
pub fn text(dossier: &Dossier) -> String {
    // plain values with text for keys: nothing can go wrong
    let mut text = serde_json::to_string_pretty(dossier).unwrap_or_default();
    text.push('\n');
    text
}
