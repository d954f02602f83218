//! Bars of single blocks on paper.

use maud::html;

use super::{Drawn, TOP, WIDE, label, n, steps, text, wide};
use crate::domain::picture::Bars;

const MOST: usize = 12;
const ROW: f64 = 15.0;
const BLOCK: f64 = 8.0;
/// Blocks side by side at most.
const BLOCKS: u64 = 40;

pub(super) fn drawn(bars: &Bars) -> Option<Drawn> {
    if bars.bars.is_empty() {
        return None;
    }
    let rows = || bars.bars.iter().take(MOST);
    let names = rows().map(|(name, ..)| wide(name)).fold(0.0, f64::max).min(104.0) + 8.0;
    let words = rows().map(|(.., words)| wide(words)).fold(0.0, f64::max).min(104.0) + 8.0;
    let per = bars.per_block(BLOCKS);
    let most = u32::try_from(bars.most().div_ceil(per)).unwrap_or(1).max(1);
    let apart = ((WIDE - names - words) / f64::from(most)).min(BLOCK + 2.0);
    let body = html! {
        @for (y, (name, count, said)) in steps(TOP, ROW).zip(rows()) {
            @let blocks = usize::try_from(count.div_ceil(per)).unwrap_or(0);
            @let end = steps(names, apart).nth(blocks).unwrap_or(names);
            (text((0.0, y + 8.0), "start", &label(name, names - 8.0)))
            @for x in steps(names, apart).take(blocks) {
                rect x=(n(x)) y=(n(y)) width=(n(apart * 0.8)) height=(BLOCK) fill="#333" {}
            }
            (text((end + if blocks == 0 { 0.0 } else { 4.0 }, y + 8.0), "start", &label(said, words - 8.0)))
        }
    };
    let mut notes = Vec::new();
    if rows().count() < bars.bars.len() {
        notes.push(format!("and {} more: the tables have them.", bars.bars.len() - rows().count()));
    }
    if bars.most() > 0 {
        notes.push(bars.key("block", per));
    }
    let end = steps(TOP, ROW).nth(rows().count()).unwrap_or(TOP);
    Some(Drawn { body, end: end - 2.0, notes })
}
