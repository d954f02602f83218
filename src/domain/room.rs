//! Racks, shelves, places and tray formats: where a tray can stand.

use super::id::{FormatId, PlaceId, RackId};
use super::words::words;

words!(
    /// What a part of the room is for.
    Zone {
        /// Dark and often weighted, the first days.
        Covered = "covered" / "covered",
        Lit = "lit" / "under light",
        /// Apart from everything that is for sale.
        Isolation = "isolation" / "isolation",
    }
);

words!(
    /// What the screens show and forms take; the book keeps SI. See [`super::units`].
    Units { Metric = "metric" / "grams, °C", Us = "us" / "ounces, °F" }
);

/// Shelves × places of one rack.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct RackShape {
    pub shelves: u32,
    pub places: u32,
}

/// Shelves or places of one rack at most; more is a typing slip, or wants a second rack.
pub const RACK_SIDE_MAX: u32 = 40;
/// Trays on each other at most.
pub const STACK_MAX: i64 = 20;
/// Racks of a room at most.
pub const RACKS_MAX: usize = 60;

/// Reads the answer to "racks × shelves × places": `2 x 5 x 4` for alike racks, `5x4, 4x6` where they differ.
pub fn parse_racks(text: &str) -> Result<Vec<RackShape>, String> {
    let ask = "Write racks x shelves x places, such as 2 x 5 x 4; or one shelves x places per rack, such as 5x4, 4x6.";
    let mut racks = Vec::new();
    for part in text.split([',', ';']).filter(|part| !part.trim().is_empty()) {
        let numbers: Vec<u32> = part
            .split(['x', 'X', '×', '*'])
            .map(|n| n.trim().parse::<u32>())
            .collect::<Result<_, _>>()
            .map_err(|_| ask.to_string())?;
        let (count, shelves, places) = match numbers.as_slice() {
            [shelves, places] => (1, *shelves, *places),
            [count, shelves, places] => (*count, *shelves, *places),
            _ => return Err(ask.to_string()),
        };
        if !(1..=RACK_SIDE_MAX).contains(&shelves) || !(1..=RACK_SIDE_MAX).contains(&places) {
            return Err(format!("A rack has 1 to {RACK_SIDE_MAX} shelves of 1 to {RACK_SIDE_MAX} places."));
        }
        if count == 0 || racks.len() + count as usize > RACKS_MAX {
            return Err(format!("A room has 1 to {RACKS_MAX} racks."));
        }
        racks.extend(std::iter::repeat_n(RackShape { shelves, places }, count as usize));
    }
    if racks.is_empty() { Err(ask.to_string()) } else { Ok(racks) }
}

/// Names racks A to Z, then AA, AB …
pub fn rack_name(index: usize) -> String {
    let letter = |n: usize| char::from(b'A' + u8::try_from(n % 26).unwrap_or(0));
    if index < 26 { letter(index).to_string() } else { format!("{}{}", letter(index / 26 - 1), letter(index)) }
}

/// One place of a rack. Shelf 1 is the top, place 1 the left.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Place {
    pub id: PlaceId,
    pub rack: RackId,
    pub rack_name: String,
    /// Racks stand in this order along the walk.
    pub rack_sort: i64,
    pub shelf: i64,
    pub pos: i64,
    pub zone: Zone,
    /// Trays that may stand on each other here.
    pub stack: i64,
}

impl Place {
    /// Short name of the place, such as `B 2-4`: rack B, second shelf from the top, fourth from the left.
    pub fn label(&self) -> String {
        format!("{} {}-{}", self.rack_name, self.shelf, self.pos)
    }

    /// Where the place comes on a walk.
    pub fn walk_order(&self) -> (i64, i64, i64) {
        (self.rack_sort, self.shelf, self.pos)
    }
}

/// A tray's growing surface.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct TrayFormat {
    pub id: FormatId,
    pub name: String,
    pub length_mm: i64,
    pub width_mm: i64,
    /// Edits so far; a form that was opened on an older one is stale.
    pub rev: i64,
}

impl TrayFormat {
    /// Growing surface, cm².
    #[expect(clippy::cast_precision_loss, reason = "millimetres of a tray are far below 2^53")]
    pub fn area_cm2(&self) -> f64 {
        self.length_mm as f64 * self.width_mm as f64 / 100.0
    }
}

/// The nominal 10 × 20 inch tray: 254 × 508 mm, exact from the inch.
pub const NOMINAL_LENGTH_MM: i64 = 508;
/// See [`NOMINAL_LENGTH_MM`].
pub const NOMINAL_WIDTH_MM: i64 = 254;
/// Surface of the nominal tray, cm².
pub const NOMINAL_AREA_CM2: f64 = 1290.32;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn racks_alike_and_racks_that_differ() {
        let shape = |shelves, places| RackShape { shelves, places };
        assert_eq!(parse_racks("2 x 5 x 4").unwrap(), vec![shape(5, 4); 2]);
        assert_eq!(parse_racks("5x4, 4×6").unwrap(), vec![shape(5, 4), shape(4, 6)]);
        for bad in ["", "5", "0x4", "2x5x99", "axb", "99x2x2", "1x2x3x4", "-1x2"] {
            assert!(parse_racks(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn rack_names_go_on_after_z() {
        assert_eq!([rack_name(0), rack_name(25), rack_name(26), rack_name(27)], ["A", "Z", "AA", "AB"]);
    }

    #[test]
    fn nominal_tray_area_is_exact() {
        // P: growing.md G1, 10 × 20 in = 254 × 508 mm = 1290.32 cm² (exact from the inch).
        let tray = TrayFormat {
            id: FormatId(1),
            name: String::new(),
            length_mm: NOMINAL_LENGTH_MM,
            width_mm: NOMINAL_WIDTH_MM,
            rev: 0,
        };
        assert!((tray.area_cm2() - NOMINAL_AREA_CM2).abs() < 1e-9);
    }
}
