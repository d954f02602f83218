//! The answers that make a usable room.

use super::room::{NOMINAL_LENGTH_MM, NOMINAL_WIDTH_MM, RackShape, Units, Zone, rack_name};

/// What the first start asks for, checked.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct NewRoom {
    pub name: String,
    pub code: String,
    pub initials: String,
    pub units: Units,
    pub racks: Vec<NewRack>,
    pub format: NewFormat,
    /// Letters of starter crops.
    pub crops: Vec<String>,
}

/// A rack and what each of its shelves is for, top first.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewRack {
    pub name: String,
    pub places: u32,
    pub zones: Vec<Zone>,
}

/// Outer name and growing surface of a tray.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewFormat {
    pub name: String,
    pub length_mm: i64,
    pub width_mm: i64,
}

impl NewFormat {
    /// The nominal 10 × 20 inch tray.
    pub fn nominal() -> Self {
        Self { name: "10 x 20 in".into(), length_mm: NOMINAL_LENGTH_MM, width_mm: NOMINAL_WIDTH_MM }
    }

    pub fn check(&self) -> Result<(), (&'static str, String)> {
        if self.name.trim().is_empty() {
            return Err(("name", "A tray format wants a name.".into()));
        }
        for (field, mm) in [("length", self.length_mm), ("width", self.width_mm)] {
            if !(30..=3000).contains(&mm) {
                return Err((field, "A tray's side is between 30 and 3000 mm.".into()));
            }
        }
        Ok(())
    }
}

/// Two places apart from the racks, for trays that are suspect.
pub const ISOLATION_RACK: &str = "ISO";

/// Racks for the typed shapes: the lowest shelf of each covered, the others lit, and a small isolation shelf apart.
pub fn lay_out(shapes: &[RackShape]) -> Vec<NewRack> {
    let mut racks: Vec<NewRack> = shapes
        .iter()
        .enumerate()
        .map(|(n, shape)| NewRack {
            name: rack_name(n),
            places: shape.places,
            zones: (1..=shape.shelves)
                .map(|shelf| if shelf == shape.shelves && shape.shelves > 1 { Zone::Covered } else { Zone::Lit })
                .collect(),
        })
        .collect();
    racks.push(NewRack { name: ISOLATION_RACK.into(), places: 2, zones: vec![Zone::Isolation] });
    racks
}
