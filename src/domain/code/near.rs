//! Known codes near a mistyped one.

use std::collections::BTreeMap;

use super::{Code, plain};

/// No code is longer than this with its check character.
const LONGEST: usize = 21;

/// The known codes (with check character, hyphens or not) that are one wrong, missing or added
/// character or one swap of neighbours away from what was typed. The person chooses; nothing is
/// corrected silently.
pub fn within_one_edit<'a>(typed: &str, known: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let typed: Vec<char> = plain(typed).chars().collect();
    known.filter(|code| one_edit_apart(&typed, &plain(code).chars().collect::<Vec<_>>())).collect()
}

/// Every code that is one such slip away from what was typed, whether it is known or not: to look each up where there are too
/// many known ones to go through.
pub fn one_edit_from(typed: &str) -> Vec<Code> {
    let typed: Vec<char> = plain(typed).chars().take(LONGEST + 2).collect();
    if typed.len() > LONGEST + 1 {
        return Vec::new();
    }
    let alphabet = || ('0'..='9').chain('A'..='Z');
    let mut slips: Vec<Vec<char>> = Vec::new();
    for at in 0..=typed.len() {
        let (before, after) = typed.split_at(at);
        slips.extend(alphabet().map(|c| [before, &[c], after].concat()));
        let Some((here, rest)) = after.split_first() else { continue };
        slips.push([before, rest].concat());
        slips.extend(alphabet().filter(|c| c != here).map(|c| [before, &[c], rest].concat()));
        if let Some((next, rest)) = rest.split_first().filter(|(next, _)| *next != here) {
            slips.push([before, &[*next, *here], rest].concat());
        }
    }
    let codes = slips.into_iter().filter_map(|slip| Code::parse(&slip.into_iter().collect::<String>()).ok());
    codes.map(|code| (code.to_string(), code)).collect::<BTreeMap<_, _>>().into_values().collect()
}

/// Strips what both have in common at the start and at the end and looks at what is left.
fn one_edit_apart(one: &[char], other: &[char]) -> bool {
    let start = one.iter().zip(other).take_while(|(x, y)| x == y).count();
    let (one, other) = (one.get(start..).unwrap_or(&[]), other.get(start..).unwrap_or(&[]));
    let end = one.iter().rev().zip(other.iter().rev()).take_while(|(x, y)| x == y).count();
    match (one.split_at(one.len() - end).0, other.split_at(other.len() - end).0) {
        ([_], [] | [_]) | ([], [_]) => true,
        ([first, second], [third, fourth]) => first == fourth && second == third,
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_bad_code_offers_the_known_ones_one_edit_away() {
        let known = ["PEA-260712-A-V", "PEA-260712-B-T", "RAD-260712-A-5", "T0001-W"];
        let near = |typed| within_one_edit(typed, known.into_iter());
        assert_eq!(near("PEA260721AV"), ["PEA-260712-A-V"], "swap");
        assert_eq!(near("PEA26O712AV"), ["PEA-260712-A-V"], "O for 0");
        assert_eq!(near("PEA26712AV"), ["PEA-260712-A-V"], "left out");
        assert_eq!(near("]C0T00011W"), ["T0001-W"], "twice");
        assert_eq!(near("PEA-260712-V"), ["PEA-260712-A-V"], "run left out");
        assert!(near("PEA260712BV").len() == 2, "the person chooses");
        assert!(near("PEA260712AV").is_empty(), "the same code is no correction");
        assert!(near("").is_empty());
    }

    /// Optimal string alignment by the full table, to compare with the stripping of common ends.
    fn distance(a: &[char], b: &[char]) -> usize {
        let mut d = vec![vec![0; b.len() + 1]; a.len() + 1];
        for i in 0..=a.len() {
            for j in 0..=b.len() {
                if i == 0 || j == 0 {
                    d[i][j] = i + j;
                    continue;
                }
                let differ = usize::from(a[i - 1] != b[j - 1]);
                d[i][j] = (d[i - 1][j] + 1).min(d[i][j - 1] + 1).min(d[i - 1][j - 1] + differ);
                if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                    d[i][j] = d[i][j].min(d[i - 2][j - 2] + 1);
                }
            }
        }
        d[a.len()][b.len()]
    }

    proptest! {
        #[test]
        fn every_slip_is_tried(kind in 0..3, id in 1i64..20_000, edit in 0..4, at in 0usize..11, c in "[A-Z0-9]") {
            let lot = format!("PEA2607{:02}A", id % 28 + 1);
            let code = [Code::tray(id), Code::seed_lot(id), Code::of_lot(&lot).unwrap()][usize::try_from(kind).unwrap()].clone();
            let right: Vec<char> = plain(&code.to_string()).chars().collect();
            let (at, c) = (at % right.len(), c.chars().next().unwrap());
            let mut typed = right.clone();
            match edit {
                0 => typed[at] = c,
                1 => typed.insert(at, c),
                2 => { typed.remove(at); }
                _ => { let next = (at + 1) % right.len(); typed.swap(at, next); }
            }
            let typed: String = typed.into_iter().collect();
            let (shown, tried) = (code.to_string(), one_edit_from(&typed));
            let near = !within_one_edit(&typed, [shown.as_str()].into_iter()).is_empty();
            prop_assert_eq!(tried.contains(&code), near, "{} for {}", typed, shown);
            let tried: Vec<String> = tried.iter().map(Code::to_string).collect();
            prop_assert_eq!(within_one_edit(&typed, tried.iter().map(String::as_str)).len(), tried.len());
        }

        #[test]
        fn one_edit_is_distance_one(a in "[AB0]{0,6}", b in "[AB0]{0,6}") {
            let (x, y): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
            prop_assert_eq!(one_edit_apart(&x, &y), distance(&x, &y) == 1);
        }
    }
}
