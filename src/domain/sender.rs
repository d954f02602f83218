//! Who grows: what labels and delivery notes say of the room.

use super::gs1::is_prefix;

/// Name, address and phone as they stand on labels and notes.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Sender {
    pub name: String,
    pub address: String,
    pub phone: String,
    /// A licensed GS1 company prefix; without one no symbol of that system is printed.
    pub gs1_prefix: Option<String>,
    /// "Wash before eating" stands on the label.
    pub wash: bool,
    /// Tenths of °C that greens are kept at after they leave us: best-before is planned there.
    pub after_dc: i64,
}

impl Default for Sender {
    fn default() -> Self {
        let none = String::new;
        // 7 °C at the customer's: memory
        Self { name: none(), address: none(), phone: none(), gs1_prefix: None, wash: true, after_dc: 70 }
    }
}

impl Sender {
    /// What the book would not take, and the field.
    pub fn check(&self) -> Result<(), (&'static str, String)> {
        if self.gs1_prefix.as_deref().is_some_and(|prefix| !is_prefix(prefix)) {
            return Err(("prefix", "A company prefix has 4 to 12 digits, as the licence says: read it again.".into()));
        }
        if !(0..=250).contains(&self.after_dc) {
            return Err(("after", "Say a temperature between 0 and 25 °C.".into()));
        }
        Ok(())
    }

    /// What is missing before a label may be printed.
    pub fn missing(&self) -> Option<&'static str> {
        [(&self.name, "name"), (&self.address, "address"), (&self.phone, "phone")]
            .into_iter()
            .find_map(|(text, what)| text.trim().is_empty().then_some(what))
    }
}
