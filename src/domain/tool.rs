//! Knives, scissors, tables, scales: by the names that are written on them.

use std::collections::BTreeMap;

use super::id::{ProductId, ToolId};

/// Something that touches greens at the cut or at packing.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Tool {
    pub id: ToolId,
    pub rev: i64,
    pub name: String,
    /// Out of use; named again at a cut, it comes back.
    pub retired: bool,
    /// It is not used before someone has decided.
    pub held: bool,
}

/// With what was cut or packed last, by name: proposed for the next time.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize)]
pub struct LastUse {
    pub cut: Vec<String>,
    pub packed: Vec<String>,
    /// The boxes or bags each product went into, and the lot of those.
    pub packaging: BTreeMap<ProductId, (String, String)>,
}

/// Tools of one cut or run at most.
const MOST: usize = 12;

/// Characters of a name at most.
pub const NAME_MAX: usize = 60;

/// Whether two names are of the same tool: it is written by wet hands, large or small.
pub fn same(one: &str, two: &str) -> bool {
    one.trim().to_lowercase() == two.trim().to_lowercase()
}

/// Names as typed, with commas between them, each once.
pub fn names(text: &str) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for name in text.split(',').map(|name| name.split_whitespace().collect::<Vec<_>>().join(" ")) {
        if !name.is_empty() && !names.iter().any(|known| same(known, &name)) {
            names.push(name);
        }
    }
    names
}

/// What the book would not take of such names.
pub fn check(names: &[String]) -> Result<(), String> {
    if names.len() > MOST {
        return Err(format!("At most {MOST} knives, tables and scales are named: leave some out."));
    }
    match names.iter().find(|name| !(1..=NAME_MAX).contains(&name.trim().chars().count())) {
        Some(name) if name.trim().is_empty() => Err("A knife, table or scale has a name: write it down.".into()),
        Some(_) => Err(format!("A name has at most {NAME_MAX} characters; put a comma between two.")),
        None => Ok(()),
    }
}

/// `knife 2, table 1` as a phrase at the end of a sentence; nothing of none.
pub fn with(names: &[String]) -> String {
    if names.is_empty() { String::new() } else { format!(", with {}", names.join(", ")) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_taken_apart_at_commas_and_stand_once() {
        assert_eq!(names(" knife 2,table 1 , Knife  2x, KNIFE 2,,"), ["knife 2", "table 1", "Knife 2x"]);
        assert_eq!(names("  "), Vec::<String>::new());
        assert_eq!(names("scale\u{a0}1"), ["scale 1"]);
    }

    #[test]
    fn too_many_names_and_too_long_ones_are_refused() {
        let many: Vec<String> = (0..13).map(|n| format!("knife {n}")).collect();
        assert!(check(&many).is_err() && check(&many[..12]).is_ok());
        assert!(check(&["x".repeat(61)]).is_err() && check(&["é".repeat(60)]).is_ok());
        assert!(check(&[" ".into()]).is_err());
    }

    #[test]
    fn what_was_used_ends_a_sentence() {
        assert_eq!(with(&names("knife 2, table 1")), ", with knife 2, table 1");
        assert_eq!(with(&[]), "");
    }
}
