//! Labels for trays, seed jars and spray bottles, as one HTML file to print.

mod pack;
mod page;
mod sheet;

pub use pack::{Gs1, Printer};
pub use page::page;
pub use sheet::{Roll, Sheet};

use crate::domain::code::Code;
use crate::domain::seed_lot::{SeedLot, Treated, percent};
use crate::domain::text::{clean_line, fit};
use crate::domain::time::Day;
use crate::domain::tray::TrayCard;

/// The longest text of one line, in graphemes; what is longer does not fit on any label.
const LINE_GRAPHEMES: usize = 120;
/// The longest name, in columns: two lines in bold letters.
pub const NAME_COLUMNS: usize = 36;

/// What a label says, from its largest letters to its smallest.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    name: String,
    /// In large letters and, without hyphens, in the QR code.
    code: Option<Code>,
    /// Lines beside the QR code: three short ones.
    beside: Vec<String>,
    /// Stands out above the lines below: something here can harm somebody.
    caution: Option<String>,
    /// Lines of the whole width: two.
    below: Vec<String>,
    symbol: Symbol,
    /// Smaller letters, for all that a pack has to say.
    dense: bool,
}

/// What a machine reads.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Symbol {
    /// A QR code with the plain code.
    Plain,
    /// A GS1 `DataMatrix` with these elements.
    Matrix(String),
    /// A QR code with this address.
    Link(String),
}

/// A bottle of something that was mixed in the room.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bottle {
    pub contents: String,
    pub made: Day,
    pub expires: Day,
    /// What the person wants to be said beside [`BOTTLE_CAUTION`].
    pub caution: String,
}

/// On every bottle.
pub const BOTTLE_CAUTION: &str = "Never drink. The product's own label and local rules decide where it may be used.";
/// On the jar of seed that was treated; one line.
const TREATED: &str = "TREATED SEED: NEVER FOOD, never sow";
/// On the jar of seed nobody has said enough about; one line.
const NOT_STATED: &str = "NOT STATED IF TREATED: do not sow";

impl Label {
    /// For a tray: what it is, where it stands, and what the plan expects when.
    pub fn tray(tray: &TrayCard, room_code: &str) -> Self {
        let uncover = match tray.plan.cover_d {
            0 => "plan: light from the start".into(),
            days => format!("plan: uncover {}", tray.sown + chrono::Duration::days(days)),
        };
        Self {
            name: name(&tray.crop_name),
            code: Some(Code::tray(tray.id.0)),
            beside: vec![
                format!("sown {}", tray.sown),
                line(&format!("place {}", tray.place.label())),
                line(&format!("batch {room_code} {}", tray.sowing_code)),
            ],
            caution: None,
            below: vec![uncover, format!("plan: cut {} to {}", tray.cut_from(), tray.cut_to())],
            symbol: Symbol::Plain,
            dense: false,
        }
    }

    /// For the jar a seed lot is kept in.
    pub fn jar(lot: &SeedLot, room_code: &str) -> Self {
        let variety = lot.variety.trim();
        let seed = if variety.is_empty() { lot.crop_name.clone() } else { format!("{}, {variety}", lot.crop_name) };
        let use_by = lot.use_by.map_or_else(|| "use by not stated".into(), |day| format!("use by {day}"));
        let germination = lot.germ_pm.map_or_else(|| "not stated".into(), percent);
        let (caution, treated) = match lot.treated {
            Treated::No => (None, " · not treated"),
            Treated::Yes => (Some(TREATED.into()), ""),
            Treated::NotStated => (Some(NOT_STATED.into()), ""),
        };
        Self {
            name: name(&seed),
            code: Some(Code::seed_lot(lot.id.0)),
            beside: vec![
                line(&format!("room {room_code}")),
                line(&lot.supplier),
                line(&format!("their lot {}", lot.supplier_lot)),
            ],
            caution,
            below: vec![format!("received {} · {use_by}", lot.received), format!("germination {germination}{treated}")],
            symbol: Symbol::Plain,
            dense: false,
        }
    }

    /// For a spray bottle.
    pub fn bottle(bottle: &Bottle) -> Self {
        let caution = format!("{BOTTLE_CAUTION} {}", line(&bottle.caution));
        Self {
            name: name(&bottle.contents),
            code: None,
            beside: Vec::new(),
            caution: Some(caution.trim_end().to_owned()),
            below: vec![format!("made {}", bottle.made), format!("throw out after {}", bottle.expires)],
            symbol: Symbol::Plain,
            dense: false,
        }
    }
}

/// A name, cut off visibly where it is too long.
fn name(text: &str) -> String {
    fit(&line(text), NAME_COLUMNS, false)
}

/// One line, safe to print: texts of old or foreign books are cleaned on the way out as well.
fn line(text: &str) -> String {
    clean_line(text.trim(), LINE_GRAPHEMES).text
}

#[cfg(test)]
mod tests;
