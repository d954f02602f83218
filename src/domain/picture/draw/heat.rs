//! The racks as they stand, x of n at each place with a shade; a large room by shelves, a very large one by its worst shelves.

use super::super::{Heat, HeatRack};
use super::{Pen, ROWS, Sign};
use crate::domain::text::{columns, padded};

/// Between racks side by side.
const GAP: usize = 3;
/// Columns of a shelf's name, at most.
const NAME: usize = 6;

pub(super) fn drawn(heat: &Heat, pen: Pen) -> Option<Vec<String>> {
    heat.worst(false).first()?;
    let notes = pen.notes(&[heat.words(), key(heat, pen)]);
    let room = ROWS.saturating_sub(notes.len() + 1);
    let shelves = heat.shelves();
    let drawn = plan(heat, pen, room).or_else(|| plan(&shelves, pen, room));
    let mut lines = drawn.unwrap_or_else(|| list(&shelves, pen, room));
    lines.extend(notes);
    Some(lines)
}

/// Every rack, side by side as far as the width goes; none if it takes too many rows.
fn plan(heat: &Heat, pen: Pen, room: usize) -> Option<Vec<String>> {
    let cell = heat.widest();
    let blocks: Vec<Vec<String>> = heat.racks.iter().map(|rack| block(rack, cell, pen)).collect();
    let wide = |block: &[String]| block.iter().map(|row| columns(row)).max().unwrap_or(0);
    let mut bands: Vec<Vec<&Vec<String>>> = Vec::new();
    let mut used = 0;
    for block in blocks.iter().filter(|block| !block.is_empty()) {
        let own = wide(block);
        if own > pen.width {
            return None;
        }
        match bands.last_mut() {
            Some(band) if used + GAP + own <= pen.width => {
                used += GAP + own;
                band.push(block);
            }
            _ => {
                used = own;
                bands.push(vec![block]);
            }
        }
    }
    let mut lines = Vec::new();
    for band in &bands {
        for n in 0..band.iter().map(|block| block.len()).max().unwrap_or(0) {
            let parts = band.iter().map(|block| padded(block.get(n).map_or("", String::as_str), wide(block)));
            lines.push(parts.collect::<Vec<_>>().join(&" ".repeat(GAP)));
        }
    }
    (lines.len() <= room).then_some(lines)
}

/// One rack: its name, then each shelf.
fn block(rack: &HeatRack, cell: usize, pen: Pen) -> Vec<String> {
    let name = rack.shelves.iter().map(|(name, _)| columns(name)).max().unwrap_or(0).min(NAME);
    let places = rack.shelves.iter().map(|(_, places)| places.len()).max().unwrap_or(0);
    if places == 0 {
        return Vec::new();
    }
    let wide = name + places * (cell + 3);
    let mut rows = vec![pen.label(&rack.name, wide.min(pen.width))];
    for (shelf, places) in &rack.shelves {
        let cells = places.iter().map(|place| match place {
            Some((x, n)) => format!(" {:>cell$}{}", format!("{x}/{n}"), pen.shade(Heat::shade(*x, *n))),
            None => format!(" {:>cell$}  ", pen.sign(Sign::Nothing)),
        });
        rows.push(format!("{}{}", padded(&pen.label(shelf, name), name), cells.collect::<String>()));
    }
    rows
}

/// The worst shelves below each other, of a room too large for anything else.
fn list(heat: &Heat, pen: Pen, room: usize) -> Vec<String> {
    let worst = heat.worst(true);
    let shown = if worst.len() <= room { worst.len() } else { room - 1 };
    let name = worst.iter().take(shown).map(|(name, _)| columns(name)).max().unwrap_or(0).min(pen.width / 3);
    let cell = heat.widest();
    let mut lines: Vec<String> = worst
        .iter()
        .take(shown)
        .map(|(shelf, on)| {
            let count = format!("{}/{}", on.x, on.n);
            format!("{} {count:>cell$}{}", padded(&pen.label(shelf, name), name), pen.shade(Heat::shade(on.x, on.n)))
        })
        .collect();
    if shown < worst.len() {
        lines.push(format!("and {} more shelves, none worse: the tables have them.", worst.len() - shown));
    }
    lines
}

fn key(heat: &Heat, pen: Pen) -> String {
    let shades = [(1, "up to 10 %"), (2, "25 %"), (3, "50 %"), (4, "more")];
    let shades = shades.map(|(n, words)| format!("{} {words}", pen.shade(n))).join(", ");
    format!("x/n: x of n {}; {shades}; {} no tray.", heat.what, pen.sign(Sign::Nothing))
}
