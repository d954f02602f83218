//! The fuzz check: the misting test, then what can still change the answer, one key each.

use super::pick::Pick;
use super::suspects::{self, CAUTION, NO_PLACE};
use super::walk::{self, plan};
use crate::app::command::Command;
use crate::app::effect::Effect;
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::fuzz::{Extent, Sign, Signs, Verdict, judge, open_questions};
use crate::domain::id::PlaceId;
use crate::domain::look::Mist;
use crate::domain::room::Zone;
use crate::domain::time::Day;
use crate::domain::tray::{Check, TrayCard};

/// An answer of the check.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    Mist(Mist),
    /// It is seen; of one that was answered: not seen after all.
    Sign(Sign),
    /// Ask how far it reaches.
    HowFar,
    Extent(Extent),
    /// From the misting test on.
    Again,
    Write,
    /// Write it, and set the tray apart there.
    Isolate(PlaceId),
}

/// Earlier checks named above the list.
const EARLIER: usize = 2;

/// The misting test, or the rest of a check that was begun.
pub fn open(model: &mut Model, tray: &TrayCard) -> Vec<Effect> {
    let begun = model.walk().is_some_and(|state| {
        let chosen = state.chosen_for(tray.id);
        chosen.fuzz.is_some() || !chosen.signs.is_empty()
    });
    let menu = if begun { questions(model, tray) } else { misting(model, tray) };
    model.open(Screen::Menu(menu));
    vec![]
}

/// Takes an answer and goes on asking, or writes.
pub fn answer(model: &mut Model, answer: Answer) -> Vec<Effect> {
    let Some(tray) = model.walk_tray().cloned() else { return vec![] };
    if answer == Answer::Write {
        return walk::command(model, Command::WriteChosen);
    }
    if let Answer::Isolate(to) = answer {
        let then = suspects::isolate(model, tray.id, to).map(Box::new);
        let look = walk::command(model, Command::WriteChosen);
        if let Some(state) = model.walk_mut().filter(|_| !look.is_empty()) {
            state.then = then;
        }
        return look;
    }
    if let Some(state) = model.walk_mut() {
        state.choose(tray.id, |chosen| match answer {
            Answer::Mist(mist) => {
                let signs = chosen.signs.without(Sign::Vanishes).without(Sign::Stands);
                chosen.fuzz = Some(mist);
                chosen.signs = match mist {
                    Mist::Down => signs.with(Sign::Vanishes),
                    Mist::Stands => signs.with(Sign::Stands),
                    Mist::Untested => signs,
                };
            }
            Answer::Sign(sign) if chosen.signs.has(sign) => {
                chosen.signs = chosen.signs.without(sign);
                if matches!(sign, Sign::Vanishes | Sign::Stands) {
                    chosen.fuzz = Some(Mist::Untested);
                }
            }
            Answer::Sign(sign) => chosen.signs = chosen.signs.with(sign),
            Answer::Extent(extent) => chosen.extent = Some(extent),
            Answer::Again => (chosen.fuzz, chosen.signs, chosen.extent) = (None, Signs::default(), None),
            Answer::HowFar | Answer::Write | Answer::Isolate(_) => {}
        });
    }
    let menu = match answer {
        Answer::HowFar => extents(&tray),
        Answer::Again => misting(model, &tray),
        _ => questions(model, &tray),
    };
    model.open(Screen::Menu(menu));
    vec![]
}

fn misting(model: &Model, tray: &TrayCard) -> Menu<Pick> {
    let hint = |mist: Mist| match mist {
        Mist::Down => "as root hairs do",
        Mist::Stands => "as mould does: the tray becomes suspect",
        Mist::Untested => "the tray becomes suspect until it is misted",
    };
    let item = |mist: &Mist| Item::new(mist.shown(), Pick::Check(Answer::Mist(*mist))).hint(hint(*mist));
    let menu = Menu::new(format!("Fuzz on {}", tray.code()), Mist::ALL.iter().map(item).collect());
    earlier(model, tray).into_iter().fold(menu.intro("Mist it lightly and watch.").intro(CAUTION), Menu::intro)
}

fn extents(tray: &TrayCard) -> Menu<Pick> {
    let items = Extent::ALL.iter().map(|e| Item::new(e.shown(), Pick::Check(Answer::Extent(*e)))).collect();
    Menu::new(format!("How far does it reach on {}?", tray.code()), items)
}

/// The verdict so far, and what can still change it.
fn questions(model: &Model, tray: &TrayCard) -> Menu<Pick> {
    let Some(state) = model.walk() else { return extents(tray) };
    let (chosen, today) = (state.chosen_for(tray.id), state.day(model.today()));
    let points = &model.board.fuzz_points;
    let signs = tray.signs_on(chosen.signs, today);
    let mut items = vec![Item::new("write it", Pick::Check(Answer::Write)).letter('g')];
    items.extend(isolate(model, tray, signs, today));
    let far = chosen.extent.map_or("one seed, a patch, or spread", Extent::shown);
    items.push(Item::new("how far it reaches", Pick::Check(Answer::HowFar)).letter('v').hint(far));
    let asked = open_questions(signs, points).into_iter().map(|sign| {
        let answer = Pick::Check(Answer::Sign(sign));
        let then = judge(signs.with(sign), points).map_or_else(|_| String::new(), |j| then(j.verdict, tray, today));
        Item::new(sign.shown(), answer).letter(letter(sign)).hint(then)
    });
    items.extend(chosen.signs.iter().map(|sign| {
        let label = format!("seen: {}", sign.shown());
        Item::new(label, Pick::Check(Answer::Sign(sign))).letter(letter(sign)).hint("not after all")
    }));
    items.extend(asked);
    items.push(Item::new("begin the check again", Pick::Check(Answer::Again)).letter('z'));
    let (title, said, bad) = match judge(signs, points) {
        Ok(found) => {
            let verdict = beside(found.verdict, tray, today);
            (verdict.shown().to_string(), format!("{} ({})", found.why, found.points()), verdict.is_bad())
        }
        Err(refusal) => ("cannot be".into(), refusal.sentence, false),
    };
    let end = if bad { " Then it is never for sale, and nothing clears it." } else { "" };
    let menu = Menu::new(format!("Fuzz on {}: {}", tray.code(), title.to_uppercase()), items)
        .intro(said)
        .intro(format!("Enter writes: {}.{end}", written(model)));
    earlier(model, tray).into_iter().fold(menu, Menu::intro).intro(CAUTION)
}

/// Where what is seen makes the tray suspect and it does not stand apart yet: write it and set it apart.
fn isolate(model: &Model, tray: &TrayCard, signs: Signs, today: Day) -> Option<Item<Pick>> {
    let suspect = judge(signs, &model.board.fuzz_points)
        .is_ok_and(|found| tray.doubtful() || beside(found.verdict, tray, today).is_suspect());
    if !suspect || tray.place.zone == Zone::Isolation {
        return None;
    }
    let item = match suspects::apart(model, tray).first() {
        Some(place) => Item::new(
            format!("write it, then isolate it: to {}", place.label()),
            Pick::Check(Answer::Isolate(place.id)),
        ),
        None => Item::new("write it, then isolate it", Pick::Nothing).bar(Some(NO_PLACE.into())),
    };
    Some(item.letter('n'))
}

/// What the signs chosen for a stop come to with what was checked that day; `None` where none are chosen.
pub fn comes_to(model: &Model, tray: &TrayCard) -> Option<Verdict> {
    let state = model.walk()?;
    let (signs, today) = (state.chosen_for(tray.id).signs, state.day(model.today()));
    let found = judge(tray.signs_on(signs, today), &model.board.fuzz_points).ok().filter(|_| !signs.is_empty())?;
    Some(beside(found.verdict, tray, today))
}

/// Together with another spot checked on the same day.
fn beside(verdict: Verdict, tray: &TrayCard, today: Day) -> Verdict {
    tray.checks.iter().filter(|check| check.day == today).map(|check| check.verdict).fold(verdict, Verdict::beside)
}

fn then(verdict: Verdict, tray: &TrayCard, today: Day) -> String {
    format!("then: {}", beside(verdict, tray, today).shown())
}

/// What Enter writes.
fn written(model: &Model) -> String {
    match plan(model, Command::WriteChosen) {
        Ok(crate::domain::action::Action::Look(look)) => look.words(model.board.units()),
        _ => String::new(),
    }
}

fn earlier(model: &Model, tray: &TrayCard) -> Option<String> {
    let told = |check: &Check| {
        let day = if check.day == model.today() { "today".into() } else { check.day.format("%a %d %b").to_string() };
        format!("{day} {} ({})", check.verdict.shown(), check.who)
    };
    let told: Vec<String> = tray.checks.iter().take(EARLIER).map(told).collect();
    (!told.is_empty()).then(|| format!("Checked before: {}.", told.join("; ")))
}

/// The letter of a sign, the same in every list.
pub(super) fn letter(sign: Sign) -> char {
    match sign {
        Sign::Vanishes => 'y',
        Sign::Stands => 'k',
        Sign::BackWhenDry => 'd',
        Sign::RoundRoots => 'r',
        Sign::Web => 'e',
        Sign::OnlyRoot => 'o',
        Sign::OnStems => 's',
        Sign::Alike => 'a',
        Sign::Patches => 'p',
        Sign::Wider => 'w',
        Sign::Coloured => 'c',
        Sign::White => 't',
        Sign::Smell => 'm',
        Sign::Slime => 'l',
        Sign::BrownRoots => 'b',
        Sign::Falling => 'f',
        Sign::DeadSeed => 'x',
        Sign::FirmRoots => 'i',
        // on the walk the tray says these itself
        Sign::EarlyDay => 'q',
        Sign::LateDay => 'u',
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    #[test]
    fn no_two_lines_of_the_check_share_a_letter() {
        let mut letters: Vec<char> = Sign::ALL.iter().map(|sign| letter(*sign)).chain(['g', 'n', 'v', 'z']).collect();
        assert!(letters.iter().all(|letter| letter.is_ascii_lowercase() && *letter != 'h'));
        let all = letters.len();
        letters.sort_unstable();
        letters.dedup();
        assert_eq!(letters.len(), all);
    }
}
