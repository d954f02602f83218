//! Bars of single blocks, so that few can be counted.

use super::super::Bars;
use super::{Pen, ROWS, Sign};
use crate::domain::text::{columns, padded};

pub(super) fn drawn(bars: &Bars, pen: Pen) -> Option<Vec<String>> {
    if bars.bars.is_empty() {
        return None;
    }
    let room = ROWS - 2;
    let shown = if bars.bars.len() <= room { bars.bars.len() } else { room - 1 };
    let label = bars.bars.iter().map(|(label, ..)| columns(label)).max().unwrap_or(0).min(pen.width / 3);
    let words = bars.bars.iter().map(|(.., words)| columns(words)).max().unwrap_or(0).min(pen.width / 3);
    let space = u64::try_from(pen.width.saturating_sub(label + words + 4)).unwrap_or(0);
    let per = bars.per_block(space);
    // blocks that are counted stand apart
    let gap = if bars.most().div_ceil(per) * 2 <= space { " " } else { "" };
    let mut lines: Vec<String> = Vec::new();
    for (name, n, said) in bars.bars.iter().take(shown) {
        let blocks = usize::try_from(n.div_ceil(per)).unwrap_or(0);
        let bar = vec![pen.sign(Sign::Block).to_string(); blocks].join(gap);
        let bar = if bar.is_empty() { bar } else { format!("{bar}  ") };
        lines.push(format!("{}  {bar}{}", padded(&pen.label(name, label), label), pen.label(said, words)));
    }
    if shown < bars.bars.len() {
        lines.push(format!("and {} more: the tables have them.", bars.bars.len() - shown));
    }
    if bars.most() > 0 {
        lines.extend(pen.notes(&[bars.key(&pen.sign(Sign::Block).to_string(), per)]));
    }
    Some(lines)
}
