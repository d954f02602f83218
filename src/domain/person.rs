//! The hands: who saw and who typed.

use super::id::PersonId;
use super::time::Day;

/// Someone who works in the room.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Person {
    pub id: PersonId,
    pub rev: i64,
    /// Two to four capitals, unique in the room.
    pub initials: String,
    pub name: String,
    /// May clear, lift and sign.
    pub may_decide: bool,
    pub retired: bool,
    /// Put on the list; unknown in books that did not ask yet.
    pub from: Option<Day>,
    /// Left the room.
    pub to: Option<Day>,
}

/// Brings typed initials into shape, or says what they look like.
pub fn parse_initials(text: &str) -> Result<String, String> {
    let initials: String = text.trim().to_uppercase();
    if (2..=4).contains(&initials.chars().count()) && initials.chars().all(char::is_alphabetic) {
        Ok(initials)
    } else {
        Err("Initials are two to four letters, such as AK.".into())
    }
}

/// Brings the room's code into shape: two letters, printed before every lot.
pub fn parse_room_code(text: &str) -> Result<String, String> {
    let code = text.trim().to_ascii_uppercase();
    if code.len() == 2 && code.chars().all(|c| c.is_ascii_uppercase()) {
        Ok(code)
    } else {
        Err("The room's code is two letters from A to Z, such as NB.".into())
    }
}
