//! Sheets and rolls: how large a label is and how many go on a page. All lengths in tenths of a millimetre.

use std::fmt;
use std::str::FromStr;

/// A page of labels, all of one size.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sheet {
    /// Width and height of the paper.
    pub page: (u32, u32),
    /// Width and height of a label.
    pub label: (u32, u32),
    pub columns: u32,
    pub rows: u32,
}

/// 210 × 297 mm (ISO 216).
const A4: (u32, u32) = (2100, 2970);
/// 8.5 × 11 inch of 25.4 mm.
const LETTER: (u32, u32) = (2159, 2794);

impl Sheet {
    pub const A4_24: Self = Self { page: A4, label: (640, 340), columns: 3, rows: 8 };
    pub const A4_12: Self = Self { page: A4, label: (960, 450), columns: 2, rows: 6 };
    pub const LETTER_24: Self = Self { page: LETTER, label: (660, 330), columns: 3, rows: 8 };
    pub const LETTER_12: Self = Self { page: LETTER, label: (980, 430), columns: 2, rows: 6 };

    /// One label per page, as label printers feed them.
    pub fn roll(roll: Roll) -> Self {
        let size = (roll.width_mm * 10, roll.height_mm * 10);
        Self { page: size, label: size, columns: 1, rows: 1 }
    }

    pub fn per_page(&self) -> u32 {
        self.columns * self.rows
    }

    /// Left and top margin: the labels stand in the middle of the paper.
    pub fn margins(&self) -> (u32, u32) {
        let half = |page: u32, labels: u32| page.saturating_sub(labels) / 2;
        (half(self.page.0, self.columns * self.label.0), half(self.page.1, self.rows * self.label.1))
    }

    /// Left and top of each label, row by row.
    pub fn corners(&self) -> impl Iterator<Item = (u32, u32)> {
        let Self { label: (width, height), columns, rows, .. } = *self;
        let (left, top) = self.margins();
        (0..rows).flat_map(move |row| (0..columns).map(move |column| (left + column * width, top + row * height)))
    }

    /// What everything on a label is measured in: a 34th of its height or a 64th of its width, whichever is less.
    pub fn unit(&self) -> Length {
        let (width, height) = self.label;
        // thousandths of a millimetre
        Length((width * 100 / 64).min(height * 100 / 34))
    }
}

/// A length in thousandths of a millimetre, written for a style sheet: `63.5mm`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Length(u32);

impl Length {
    pub fn tenths(tenths: u32) -> Self {
        Self(tenths * 100)
    }
}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{:03}mm", self.0 / 1000, self.0 % 1000)
    }
}

/// The size of a label on a roll.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Roll {
    width_mm: u32,
    height_mm: u32,
}

impl Default for Roll {
    fn default() -> Self {
        Self { width_mm: 62, height_mm: 29 }
    }
}

/// Smaller labels leave no room for a QR code that a phone reads through a film; larger ones come on sheets.
const ROLL_MM: (std::ops::RangeInclusive<u32>, std::ops::RangeInclusive<u32>) = (50..=150, 25..=150);

impl FromStr for Roll {
    type Err = String;

    /// Reads width × height in whole millimetres: `62x29`.
    fn from_str(text: &str) -> Result<Self, String> {
        let side = |text: &str| text.trim().parse::<u32>().ok();
        let sides = text.split_once(['x', 'X', '×']).and_then(|(w, h)| Some((side(w)?, side(h)?)));
        match sides {
            Some((width_mm, height_mm)) if ROLL_MM.0.contains(&width_mm) && ROLL_MM.1.contains(&height_mm) => {
                Ok(Self { width_mm, height_mm })
            }
            _ => Err("write width x height in millimetres, such as 62x29: 50 to 150 wide, 25 to 150 high".into()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Common office printers leave up to a quarter of an inch blank at an edge (memory).
    const BLANK: u32 = 64;

    #[test]
    fn the_labels_of_a_sheet_fit_inside_what_a_printer_reaches() {
        for (sheet, labels, paper) in [
            (Sheet::A4_24, 24, (2100, 2970)),
            (Sheet::A4_12, 12, (2100, 2970)),
            (Sheet::LETTER_24, 24, (2159, 2794)),
            (Sheet::LETTER_12, 12, (2159, 2794)),
        ] {
            assert_eq!((sheet.per_page(), sheet.page), (labels, paper));
            let (left, top) = sheet.margins();
            assert!(left >= BLANK && top >= BLANK, "{sheet:?}: {left} {top}");
            let corners: Vec<(u32, u32)> = sheet.corners().collect();
            assert_eq!(corners.len(), labels as usize);
            let (w, h) = sheet.label;
            for (x, y) in &corners {
                assert!(x + w + BLANK <= sheet.page.0 && y + h + BLANK <= sheet.page.1, "{sheet:?}: {x} {y}");
                let over = |(a, b): &&(u32, u32)| a.abs_diff(*x) < w && b.abs_diff(*y) < h;
                assert_eq!(corners.iter().filter(over).count(), 1, "no label lies on another");
            }
        }
        assert_eq!(Sheet::A4_24.margins(), (90, 125));
        assert_eq!(Sheet::LETTER_24.margins(), (89, 77));
    }

    #[test]
    fn a_roll_feeds_one_label_without_margins() {
        let roll = Sheet::roll(Roll::default());
        assert_eq!((roll.page, roll.label, roll.per_page(), roll.margins()), ((620, 290), (620, 290), 1, (0, 0)));
    }

    #[test]
    fn a_rolls_size_is_read_in_millimetres() {
        assert_eq!("62x29".parse(), Ok(Roll::default()));
        assert_eq!("100 × 50".parse(), Ok(Roll { width_mm: 100, height_mm: 50 }));
        for wrong in ["", "62", "62x", "x29", "62x29x1", "49x29", "62x24", "151x29", "62x151", "-62x29", "62.5x29"] {
            assert!(wrong.parse::<Roll>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_unit_follows_the_tighter_side() {
        assert_eq!(Sheet::A4_24.unit().to_string(), "1.000mm");
        // 29 / 34 = 0.853
        assert_eq!(Sheet::roll(Roll::default()).unit().to_string(), "0.852mm");
        // 50 / 64 = 0.781
        assert_eq!(Sheet::roll("50x50".parse().unwrap()).unit().to_string(), "0.781mm");
    }
}
