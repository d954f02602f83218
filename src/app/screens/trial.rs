//! A trial of the points: signs of fuzz ticked, what they come to. Nothing is written.

use super::check::letter;
use super::pick::Pick;
use super::records::Page;
use crate::app::menu::{Item, Menu};
use crate::app::model::Model;
use crate::domain::fuzz::{Sign, Signs, judge};

const ONLY: &str = "A trial of the points: nothing is written, and no figure clears a tray.";

/// All signs, those that are ticked first, with what each weighs, and of the others what they would change.
pub fn menu(model: &Model, signs: Signs) -> Menu<Pick> {
    let points = &model.board.fuzz_points;
    let judged = judge(signs, points);
    let now = judged.as_ref().ok().map(|found| found.verdict);
    let ticked = signs.iter().map(|sign| {
        let weight = points.of(sign);
        let hint = format!("{:+} {:+} {:+}", weight.hair, weight.mould, weight.rot);
        line(format!("seen: {}", sign.shown()), sign, signs.without(sign)).hint(hint)
    });
    let open = Sign::ALL.iter().copied().filter(|sign| !signs.has(*sign)).map(|sign| {
        let then = judge(signs.with(sign), points).ok().map(|found| found.verdict).filter(|then| Some(*then) != now);
        let hint = then.map_or_else(String::new, |then| format!("then: {}", then.shown()));
        line(sign.shown().to_string(), sign, signs.with(sign)).hint(hint)
    });
    let mut items: Vec<Item<Pick>> = ticked.chain(open).collect();
    items.push(Item::new("none of them", Pick::Record(Page::Trial(Signs::default()))).letter('z'));
    if signs.is_empty() {
        return Menu::new("Fuzz: tick what is seen", items).intro(ONLY);
    }
    let (title, said) = match judged {
        Ok(found) => (found.verdict.shown().to_uppercase(), format!("{} ({})", found.why, found.points())),
        Err(refusal) => ("CANNOT BE".into(), refusal.sentence),
    };
    Menu::new(format!("Fuzz, on trial: {title}"), items).intro(said).intro(ONLY)
}

fn line(label: String, sign: Sign, then: Signs) -> Item<Pick> {
    Item::new(label, Pick::Record(Page::Trial(then))).letter(letter(sign))
}
