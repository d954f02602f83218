//! One number for each of some pack lots, least life left first.

use super::super::{range, scaled};
use crate::app::form::{Field, Values};
use crate::app::model::Model;
use crate::domain::delivery::Packs;
use crate::domain::id::{LotId, OrderId, ProductId};
use crate::domain::lot::Lot;

/// As many lots as one form takes.
pub const LOTS: [&str; 40] = [
    "l1", "l2", "l3", "l4", "l5", "l6", "l7", "l8", "l9", "l10", "l11", "l12", "l13", "l14", "l15", "l16", "l17",
    "l18", "l19", "l20", "l21", "l22", "l23", "l24", "l25", "l26", "l27", "l28", "l29", "l30", "l31", "l32", "l33",
    "l34", "l35", "l36", "l37", "l38", "l39", "l40",
];

/// Pack lots in the room that may go out today.
pub fn on_hand(model: &Model) -> Vec<(&Lot, i64)> {
    let today = model.today();
    let lots = model.goods.lots.iter().filter(|lot| lot.product.is_some() && lot.packs > 0 && lot.free(today));
    lots.map(|lot| (lot, lot.packs)).take(LOTS.len()).collect()
}

/// Fields for them, with what is proposed of each.
pub fn fields(model: &Model, lots: &[(&Lot, i64)], proposed: &[Packs]) -> Vec<Field> {
    lots.iter()
        .zip(LOTS)
        .map(|((lot, most), id)| {
            let start: i64 = proposed.iter().filter(|line| line.lot == lot.id).map(|line| line.packs).sum();
            let start = if start > 0 { start.to_string() } else { String::new() };
            #[expect(clippy::cast_precision_loss, reason = "packs of one lot")]
            let number = range("", 0.0, *most as f64, 0);
            let help = format!("{}, {} here, {}", lot.code, most, lot.life(model.today()));
            // two lots of one product are told apart by day and run
            let label = format!("{} {}", lot.name, lot.code.split_once('-').map_or("", |(_, rest)| rest));
            Field::number(id, &label, number).starting(&start).help(&help)
        })
        .collect()
}

/// The numbers given, without those that are nothing.
pub fn given(lots: &[(&Lot, i64)], values: &Values) -> Vec<Packs> {
    let packs = |id| scaled(values, id, 1.0).unwrap_or(0);
    let lines = lots.iter().zip(LOTS).map(|((lot, _), id)| Packs { lot: lot.id, packs: packs(id) });
    lines.filter(|line| line.packs > 0).collect()
}

/// Takes of lots what these products want, least life left first.
pub fn propose(lots: &[(&Lot, i64)], wanted: impl IntoIterator<Item = (ProductId, i64)>) -> Vec<Packs> {
    let mut left: Vec<(LotId, ProductId, i64)> =
        lots.iter().filter_map(|(lot, here)| Some((lot.id, lot.product?, *here))).collect();
    let mut lines: Vec<Packs> = Vec::new();
    for (product, mut open) in wanted {
        for (lot, _, here) in left.iter_mut().filter(|(_, of, _)| *of == product) {
            let take = open.min(*here);
            if take > 0 {
                (open, *here) = (open - take, *here - take);
                match lines.iter_mut().find(|line| line.lot == *lot) {
                    Some(line) => line.packs += take,
                    None => lines.push(Packs { lot: *lot, packs: take }),
                }
            }
        }
    }
    lines
}

/// What an order still wants.
pub fn wanted(model: &Model, order: OrderId) -> Vec<(ProductId, i64)> {
    let order = model.goods.order(order);
    order.into_iter().flat_map(|order| &order.lines).map(|line| (line.product, line.open())).collect()
}

/// Each product against what was wanted of it: `4 of 4`, `SHORT by 2`, `1 beyond the order`.
pub fn against(model: &Model, wanted: &[(ProductId, i64)], given: &[Packs]) -> Vec<String> {
    let mut sums: Vec<(ProductId, i64, i64)> = wanted.iter().map(|(product, open)| (*product, *open, 0)).collect();
    for line in given {
        let Some(product) = model.goods.lot(line.lot).and_then(|lot| lot.product) else { continue };
        match sums.iter_mut().find(|(of, ..)| *of == product) {
            Some((.., sum)) => *sum += line.packs,
            None => sums.push((product, 0, line.packs)),
        }
    }
    sums.iter()
        .filter_map(|(id, open, sum)| {
            let name = &model.goods.product(*id)?.name;
            let free = format!("{} left after", model.goods.on_hand(*id, model.today()) - sum);
            Some(match open - sum {
                0 => format!("{name}: {sum}, as ordered; {free}"),
                _ if wanted.is_empty() => format!("{name}: {sum}; {free}"),
                short if short > 0 => format!("{name}: {sum} of {open}, SHORT by {short}"),
                more => format!("{name}: {sum}, {} beyond the order; {free}", -more),
            })
        })
        .collect()
}
