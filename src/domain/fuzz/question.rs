//! Which answers can still change the verdict.

use super::{Points, Sign, Signs, decide, sums};

/// Signs a person answers, the misting test first.
pub const ASKED: [Sign; 18] = [
    Sign::Vanishes,
    Sign::Stands,
    Sign::Coloured,
    Sign::BrownRoots,
    Sign::Falling,
    Sign::OnlyRoot,
    Sign::RoundRoots,
    Sign::Web,
    Sign::OnStems,
    Sign::Patches,
    Sign::Alike,
    Sign::Wider,
    Sign::BackWhenDry,
    Sign::Slime,
    Sign::Smell,
    Sign::DeadSeed,
    Sign::FirmRoots,
    Sign::White,
];

/// Signs whose "yes" could still change the verdict, by itself or with others: the misting test first, then the most
/// deciding ones.
pub fn open_questions(signs: Signs, points: &Points) -> Vec<Sign> {
    let left: Vec<Sign> =
        ASKED.into_iter().filter(|sign| !signs.has(*sign)).filter(|sign| signs.goes_with(*sign)).collect();
    let mut open: Vec<Sign> = left.iter().copied().filter(|sign| changes(signs, *sign, &left, points)).collect();
    let now = decide(sums(signs, points));
    open.sort_by_key(|sign| {
        let weight = points.of(*sign);
        let apart = (weight.hair - weight.mould).abs().max((weight.hair - weight.rot).abs());
        let misting = matches!(sign, Sign::Vanishes | Sign::Stands);
        (!misting, decide(sums(signs.with(*sign), points)) == now, -apart)
    });
    open
}

/// Whether a sign makes a difference beside any of the others: the fewest others first.
fn changes(signs: Signs, sign: Sign, left: &[Sign], points: &Points) -> bool {
    let others: Vec<Sign> = left.iter().copied().filter(|other| *other != sign).collect();
    (0..=others.len()).any(|most| beside(signs, sign, &others, most, points))
}

/// The same beside exactly `most` of the others.
fn beside(signs: Signs, sign: Sign, others: &[Sign], most: usize, points: &Points) -> bool {
    if most == 0 {
        return differs(signs, sign, points);
    }
    (0..others.len()).any(|n| {
        let Some((first, rest)) = others.get(n..).and_then(<[Sign]>::split_first) else { return false };
        let with = signs.with(*first);
        with.check().is_ok() && beside(with, sign, rest, most - 1, points)
    })
}

fn differs(signs: Signs, sign: Sign, points: &Points) -> bool {
    let with = signs.with(sign);
    with.check().is_ok() && decide(sums(with, points)) != decide(sums(signs, points))
}
