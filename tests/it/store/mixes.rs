//! Recipes, bottles and treatments through the door: what is kept of them, what is refused, what waits.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::cause::{Asked, By, Findings, Of as Trouble};
use rackwalk::domain::hands::Seen;
use rackwalk::domain::history::{Of, Record};
use rackwalk::domain::id::{MaterialLotId, MixId, RecipeId, TrayId};
use rackwalk::domain::look::{Look, Mist};
use rackwalk::domain::measure::Amount;
use rackwalk::domain::mix::{MixEnd, NewMaterialLot, NewMix, NewRecipe};
use rackwalk::domain::shelf_life::Kind;
use rackwalk::domain::treatment::{Listed, NewTreatment};

use super::refusals::stage;
use super::{assert_sound, dump, number, raw};
use crate::book::{AK, Book};
use rackwalk::domain::tray::Stage;

fn recipe() -> NewRecipe {
    NewRecipe {
        name: "test rinse".into(),
        ml: 1500,
        life_d: 2,
        parts: vec![
            ("test salt".into(), Amount::parse("3/4 tsp us").unwrap()),
            ("test oil".into(), Amount::parse("20 drops").unwrap()),
        ],
    }
}

fn lot(book: &mut Book, name: &str, code: &str) -> MaterialLotId {
    let new = NewMaterialLot { name: name.into(), code: code.into(), received: book.now.day(), use_by: None };
    MaterialLotId(book.act(&Action::ReceiveMaterial(new)).made.unwrap())
}

fn mix(recipe: RecipeId, ml: i64, lots: &[Option<MaterialLotId>]) -> Action {
    Action::PrepareMix(NewMix { recipe, version: 1, ml, lots: lots.to_vec() })
}

/// A recipe, a lot of one of its ingredients, and a bottle of it.
pub(super) fn bottle(book: &mut Book) -> MixId {
    let recipe = RecipeId(book.act(&Action::AddRecipe(Box::new(recipe()))).made.unwrap());
    let salt = lot(book, "test salt", "L-7");
    MixId(book.act(&mix(recipe, 2000, &[Some(salt), None])).made.unwrap())
}

/// One more by the same recipe, with this lot of its salt.
pub(super) fn one_more(salt: Option<MaterialLotId>) -> Action {
    mix(RecipeId(1), 500, &[salt, None])
}

/// A bottle of three days ago that kept for two.
pub(super) fn expired(book: &mut Book) -> MixId {
    let recipe = RecipeId(book.act(&Action::AddRecipe(Box::new(recipe()))).made.unwrap());
    let then = Seen { at: Some(book.now.plus(-Duration::days(3)).instant()), ..Seen::default() };
    let done = book.store.act_seen(&mix(recipe, 500, &[None, None]), AK, &then, book.now).unwrap();
    MixId(done.made.unwrap())
}

pub(super) fn spray(book: &Book, trays: &[TrayId], mix: Option<MixId>) -> NewTreatment {
    NewTreatment {
        trays: trays.to_vec(),
        mix,
        product: "test product".into(),
        reg_no: Some("T-100".into()),
        at: book.now.instant(),
        ml: Some(300),
        purpose: "fuzz on seed".into(),
        listed: Listed::Yes,
        wait_h: 48,
        reentry_h: 4,
    }
}

fn treat(new: NewTreatment) -> Action {
    Action::Treat(Box::new(new))
}

/// Radish under light, two days old.
fn room() -> (Book, Vec<TrayId>) {
    let mut book = Book::room();
    let seed = book.seed("RAD", 500);
    let trays = book.sow("RAD", seed, 3);
    for tray in &trays {
        book.act(&stage(*tray, Stage::Lit));
    }
    book.later(Duration::days(2));
    (book, trays)
}

#[test]
fn a_bottle_keeps_what_went_into_it_whatever_becomes_of_its_recipe() {
    let (mut book, _) = room();
    let mix = bottle(&mut book);
    let kept = book.board().mix(mix).unwrap().clone();
    assert_eq!((kept.code.as_str(), kept.made_ml, kept.left_ml), ("M0001-Y", 2000, 2000));
    assert_eq!(kept.expires, Some(book.now.plus(Duration::days(2)).instant()));
    let story = |book: &Book| book.store.history(Of::Mix(mix), None, 9).unwrap().last().unwrap().text.clone();
    let told = "test rinse prepared, 2000 mL in M0001-Y, keeps until 2026-07-05: test salt 1 tsp (US) (lot L-7), \
                test oil 26.667 drops (lot not recorded)";
    assert_eq!(story(&book), told);
    let old = book.board().recipes[0].clone();
    let other = NewRecipe { parts: vec![("test salt".into(), Amount::parse("2 g").unwrap())], ..recipe() };
    let edit = |rev| Action::EditRecipe { recipe: old.id, new: Box::new(other.clone()), retired: false, rev };
    book.act(&edit(old.rev));
    let new = book.board().recipes[0].clone();
    assert_eq!((new.version, new.parts.len(), new.parts[0].amount), (2, 1, Amount::parse("2 g").unwrap()));
    assert_eq!(story(&book), told, "the bottle is of the version before");
    // both versions stand in the story of the recipe
    let lines = book.store.history(Of::Record(Record::Recipe, old.id.0), None, 9).unwrap();
    assert_eq!(lines[0].text, "ingredients of test rinse, version 2: test salt 2 g");
    let first = "ingredients of test rinse, version 1: test salt 3/4 tsp (US), test oil 20 drops";
    assert!(lines.last().unwrap().text.ends_with(first), "{lines:?}");
    // opened before, a form on it is stale, and a bottle by the older version is not prepared
    assert_eq!(book.refused(&edit(old.rev)).rule, "stale");
    assert_eq!(book.refused(&edit(new.rev)).rule, "no_change");
    assert_eq!(book.refused(&self::mix(old.id, 500, &[None, None])).rule, "recipe_meanwhile");
    book.act(&Action::Undo);
    assert_eq!(book.board().recipes[0].parts, old.parts);
    assert_sound(&mut book);
}

#[test]
fn another_size_of_the_bottle_is_another_version() {
    let (mut book, _) = room();
    let id = RecipeId(book.act(&Action::AddRecipe(Box::new(recipe()))).made.unwrap());
    let rev = book.board().recipes[0].rev;
    let twice = NewRecipe { ml: 3000, ..recipe() };
    book.act(&Action::EditRecipe { recipe: id, new: Box::new(twice.clone()), retired: false, rev });
    assert_eq!((book.board().recipes[0].version, book.board().recipes[0].ml), (2, 3000));
    // amounts read for the smaller bottle are twice as strong
    assert_eq!(book.refused(&mix(id, 1500, &[None, None])).rule, "recipe_meanwhile");
    // how long it keeps is no share of anything
    let rev = book.board().recipes[0].rev;
    book.act(&Action::EditRecipe { recipe: id, new: Box::new(NewRecipe { life_d: 3, ..twice }), retired: false, rev });
    assert_eq!(book.board().recipes[0].version, 2);
    book.act(&Action::Undo);
    book.act(&Action::Undo);
    assert_eq!((book.board().recipes[0].version, book.board().recipes[0].ml), (1, 1500));
    assert_sound(&mut book);
}

#[test]
fn what_a_recipe_was_mixed_by_is_not_taken_back() {
    let (mut book, _) = room();
    book.act(&Action::AddRecipe(Box::new(recipe())));
    book.act(&Action::Undo);
    assert!(book.board().recipes.is_empty());
    // written down again it is the same recipe, with a version of its own
    let again = RecipeId(book.act(&Action::AddRecipe(Box::new(recipe()))).made.unwrap());
    assert_eq!(book.board().recipes[0].version, 2);
    let made = Action::PrepareMix(NewMix { recipe: again, version: 2, ml: 100, lots: vec![None, None] });
    book.act(&made);
    book.act(&Action::Undo);
    assert!(book.board().mixes.is_empty());
    assert_sound(&mut book);
}

#[test]
fn every_rule_of_recipes_and_bottles_refuses_and_leaves_no_trace() {
    let (mut book, trays) = room();
    let mix = bottle(&mut book);
    let gone = MixId(book.act(&self::mix(RecipeId(1), 500, &[None, None])).made.unwrap());
    book.act(&Action::EndMix { mix: gone, what: MixEnd::UsedUp });
    book.later(Duration::hours(1));
    let oil = lot(&mut book, "test oil", "O-1");
    let retired = RecipeId(
        book.act(&Action::AddRecipe(Box::new(NewRecipe { name: "old rinse".into(), ..recipe() }))).made.unwrap(),
    );
    let old = NewRecipe { name: "old rinse".into(), ..recipe() };
    let rev = book.board().recipe(retired).unwrap().rev;
    book.act(&Action::EditRecipe { recipe: retired, new: Box::new(old), retired: true, rev });
    let salt = MaterialLotId(oil.0 - 1);
    let received = |name: &str, code: &str, ago: i64| {
        let received = book.now.day() - Duration::days(ago);
        Action::ReceiveMaterial(NewMaterialLot { name: name.into(), code: code.into(), received, use_by: None })
    };
    let with = |change: &dyn Fn(&mut NewTreatment)| {
        let mut new = spray(&book, &trays, Some(mix));
        change(&mut new);
        treat(new)
    };
    let of = |parts: &[(&str, &str)]| -> Vec<(String, Amount)> {
        parts.iter().map(|(name, amount)| ((*name).to_string(), Amount::parse(amount).unwrap())).collect()
    };
    let ago = |hours: i64| book.now.plus(-Duration::hours(hours)).instant();
    let cases = vec![
        ("recipe", Action::AddRecipe(Box::new(NewRecipe { ml: 0, ..recipe() }))),
        (
            "recipe",
            Action::AddRecipe(Box::new(NewRecipe { parts: of(&[("test soap", "2001 mL")]), ml: 2000, ..recipe() })),
        ),
        (
            "recipe_poison",
            Action::AddRecipe(Box::new(NewRecipe {
                parts: of(&[("Bleach", "1 mL"), ("vinegar", "1 mL")]),
                ..recipe()
            })),
        ),
        ("recipe_taken", Action::AddRecipe(Box::new(recipe()))),
        ("material_lot", received("test salt", " ", 0)),
        ("material_lot", received("test salt", "L-9", -1)),
        ("material_lot_taken", received("test salt", "L-7", 0)),
        ("recipe_unknown", self::mix(RecipeId(99), 500, &[])),
        ("recipe_unknown", self::mix(retired, 500, &[None, None])),
        ("recipe_meanwhile", self::mix(RecipeId(1), 500, &[None])),
        ("mix_ml", self::mix(RecipeId(1), 0, &[None, None])),
        ("mix_lot", self::mix(RecipeId(1), 500, &[Some(oil), None])),
        ("mix_lot", self::mix(RecipeId(1), 500, &[Some(salt), Some(MaterialLotId(99))])),
        ("mix_unknown", Action::EndMix { mix: MixId(99), what: MixEnd::Binned }),
        ("mix_ended", Action::EndMix { mix: gone, what: MixEnd::Binned }),
        ("mix_unknown", with(&|new| new.mix = Some(MixId(99)))),
        ("mix_gone", with(&|new| new.mix = Some(gone))),
        ("mix_not_yet", with(&|new| new.at = ago(2))),
        ("mix_left", with(&|new| new.ml = Some(2001))),
        ("treatment", with(&|new| new.purpose = " ".into())),
        ("treatment", with(&|new| new.wait_h = -1)),
        ("treatment", with(&|new| (new.listed, new.wait_h) = (Listed::Unknown, 0))),
        ("treat_nothing", with(&|new| new.trays.clear())),
        ("tray_twice", with(&|new| new.trays.push(trays[0]))),
        ("tray_unknown", with(&|new| new.trays = vec![TrayId(99)])),
        ("treat_not_listed", with(&|new| new.listed = Listed::No)),
        ("seen_future", with(&|new| new.at = ago(-1))),
    ];
    let conn = raw(&book.path);
    let before = dump(&conn);
    for (rule, action) in cases {
        let refusal = book.refused(&action);
        assert_eq!(refusal.rule, rule, "{action:?}: {refusal}");
        assert!(refusal.sentence.ends_with('.') && refusal.sentence.len() > 20, "{refusal}");
        assert_eq!(dump(&conn), before, "{action:?} left a trace");
    }
    // too little to weigh: a gram in a thousand litres, for a millilitre
    let thin = NewRecipe {
        name: "thin".into(),
        ml: 1_000_000,
        parts: vec![("test salt".into(), Amount::parse("0.1 g").unwrap())],
        ..recipe()
    };
    let thin = RecipeId(book.act(&Action::AddRecipe(Box::new(thin))).made.unwrap());
    assert_eq!(book.refused(&self::mix(thin, 1, &[None])).rule, "mix_amounts");
    let past = expired(&mut Book::room());
    assert_eq!(past, MixId(1));
}

#[test]
fn a_treatment_before_seed_or_sowing_is_told_apart_and_nothing_is_lost() {
    let mut book = Book::room();
    let seed = book.seed("RAD", 500);
    book.later(Duration::days(1));
    let trays = book.sow("RAD", seed, 1);
    book.later(Duration::days(1));
    let on = |ago: i64| {
        let at = book.now.plus(-Duration::days(ago)).instant();
        treat(NewTreatment { at, ..spray(&book, &trays, None) })
    };
    let (sowing, received) = (on(2), on(3));
    let why = book.refused(&sowing);
    assert_eq!((why.rule, why.field), ("treated_before_sowing", Some("from")));
    assert!(why.sentence.contains("sown on 2026-07-02"), "{why}");
    let why = book.refused(&received);
    assert_eq!((why.rule, why.field), ("treated_before_seed", Some("from")));
    assert!(why.sentence.contains("received on 2026-07-01"), "{why}");
    let at = book.now.plus(-Duration::days(1)).instant();
    let day = book.act(&treat(NewTreatment { at, ..spray(&book, &trays, None) })).entry;
    let line = book.store.history(Of::Tray(trays[0]), None, 1).unwrap().remove(0);
    assert_eq!((line.id, line.seen.unwrap().at), (day, at));
}

#[test]
fn the_longest_wait_blocks_cutting_and_lets_go_when_it_is_over() {
    let (mut book, trays) = room();
    let mix = bottle(&mut book);
    book.act(&treat(spray(&book, &trays[..2], Some(mix))));
    // a shorter one later changes nothing
    book.later(Duration::hours(1));
    book.act(&treat(NewTreatment { wait_h: 12, ..spray(&book, &trays[..1], None) }));
    let cut = |tray| Action::Cut { trays: vec![tray] };
    book.later(Duration::hours(47) - Duration::seconds(1));
    assert_eq!(book.refused(&cut(trays[0])).rule, "cut_waiting");
    assert_eq!(book.refused(&cut(trays[1])).rule, "cut_waiting");
    let line = book.store.timeline(book.board().trays[0].sowing).unwrap();
    let told: Vec<(i64, i64, &str)> =
        line.treated.iter().map(|treated| (treated.day, treated.trays, treated.product.as_str())).collect();
    assert_eq!(told, [(2, 2, "test rinse"), (2, 1, "test product")]);
    assert_eq!(line.treated[0].wait_until, Some(book.now.plus(Duration::seconds(1)).instant()));
    book.later(Duration::seconds(1));
    book.act(&cut(trays[0]));
    // the last entries taken back, the wait goes with its treatment
    book.act(&Action::Undo);
    assert_sound(&mut book);
}

#[test]
fn a_treatment_taken_back_waits_no_more_and_fills_the_bottle_again() {
    let (mut book, trays) = room();
    let mix = bottle(&mut book);
    book.act(&treat(spray(&book, &trays, Some(mix))));
    let board = book.board();
    assert_eq!(board.mix(mix).unwrap().left_ml, 1700);
    assert!(board.trays.iter().all(|tray| tray.waits(book.now)));
    assert_eq!(board.kept_out(book.now).count(), 1);
    assert_eq!(board.keep_out[0].words(book.now), "do not enter rack A before 10:00");
    let life = board.runs_out.iter().find(|line| line.kind == Kind::Mix).unwrap();
    assert_eq!((life.name.as_str(), life.amount.as_str(), life.code.as_str()), ("test rinse", "1700 mL", "M0001-Y"));
    assert_eq!(life.until.to_string(), "2026-07-05");
    let line = book.store.history(Of::Sowing(board.trays[0].sowing), None, 1).unwrap().remove(0);
    assert_eq!(
        line.text,
        "3 trays treated with test rinse from M0001-Y, registration T-100, 300 mL: fuzz on seed; \
         listed on the label: yes; no cutting for 48 h, nobody in for 4 h"
    );
    book.act(&Action::Undo);
    let board = book.board();
    assert!(board.trays.iter().all(|tray| !tray.waits(book.now)) && board.keep_out.is_empty());
    assert_eq!(board.mix(mix).unwrap().left_ml, 2000);
    book.act(&Action::EndMix { mix, what: MixEnd::Binned });
    assert!(book.board().runs_out.iter().all(|line| line.kind != Kind::Mix));
    assert_sound(&mut book);
}

#[test]
fn nobody_is_kept_out_when_the_time_is_over() {
    let (mut book, trays) = room();
    book.act(&treat(spray(&book, &trays, None)));
    book.later(Duration::hours(4) - Duration::seconds(1));
    assert_eq!(book.board().kept_out(book.now).count(), 1);
    book.later(Duration::seconds(1));
    assert_eq!(book.board().kept_out(book.now).count(), 0);
}

#[test]
fn the_days_list_and_the_sheet_say_where_nobody_goes_in() {
    let (mut book, trays) = room();
    book.act(&treat(spray(&book, &trays, None)));
    book.later(Duration::hours(1));
    let now = book.now.0.to_rfc3339();
    let today = ["today", "--book", book.path.to_str().unwrap(), "--now", &now];
    let printed = |more: &[&str]| {
        let (code, out, err) = crate::cli::run(&[&today[..], more].concat());
        assert_eq!((code, err.as_str()), (0, ""));
        out
    };
    let out = "do not enter rack A before 10:00";
    assert!(printed(&[]).starts_with(&format!("STOP: {out}\n")), "{}", printed(&[]));
    let sheet = crate::cli::json(&[&today[..], &["--format", "json"]].concat());
    assert_eq!(sheet["keep_out"], serde_json::json!([out]));
    assert_eq!(printed(&["--format", "csv"]).matches(out).count(), 3);
    assert_eq!(printed(&["--sheet"]).matches(out).count(), 1 + 3);
    book.later(Duration::hours(4));
    let now = book.now.0.to_rfc3339();
    let (_, text, _) = crate::cli::run(&["today", "--book", book.path.to_str().unwrap(), "--now", &now]);
    assert!(!text.contains("do not enter"), "{text}");
}

#[test]
fn what_was_sprayed_before_it_was_cut_is_noted_of_a_tray_that_is_gone() {
    let (mut book, trays) = room();
    let sprayed = book.now.instant();
    book.later(Duration::hours(2));
    book.act(&Action::Cut { trays: vec![trays[0]] });
    book.later(Duration::hours(1));
    assert_eq!(book.refused(&treat(spray(&book, &trays, None))).rule, "seen_after_leaving");
    book.act(&treat(NewTreatment { at: sprayed, ..spray(&book, &trays, None) }));
    let conn = raw(&book.path);
    let text = format!("SELECT count(*) FROM treatment_tray WHERE tray_id = {}", trays[0].0);
    assert_eq!(number(&conn, &text), 1);
    assert!(book.board().trays.iter().all(|tray| tray.waits(book.now)));
    assert_sound(&mut book);
}

#[test]
fn a_missing_tray_is_found_before_it_is_treated() {
    let (mut book, trays) = room();
    book.act(&Action::Sight { walk: None, trays: vec![(trays[0], None)] });
    assert_eq!(book.refused(&treat(spray(&book, &trays, None))).rule, "tray_missing");
}

#[test]
fn a_spray_clears_no_suspect_tray() {
    let (mut book, trays) = room();
    book.act(&Action::Look(Box::new(Look { fuzz: Some(Mist::Stands), ..Look::of(trays[0]) })));
    book.act(&treat(spray(&book, &trays, None)));
    assert!(book.board().tray(trays[0]).unwrap().suspect);
    // and it is counted by what was sprayed before the fuzz only
    let found = Findings::of(book.store.cause(&Asked::of(Trouble::Mould), book.now).unwrap()).groups;
    let of = |name: &str| found.iter().find(|group| group.by == By::Mix && group.name == name).cloned();
    let group = of("test product").unwrap();
    assert_eq!((group.share.x, group.share.n), (0, 2));
}

#[test]
fn an_expired_bottle_is_refused_and_noted_where_it_was_used_all_the_same() {
    let (mut book, trays) = room();
    let old = expired(&mut book);
    let action = treat(spray(&book, &trays[..1], Some(old)));
    let why = book.refused(&action);
    assert_eq!((why.rule, why.field), ("mix_expired", Some("what")));
    let already = Action::Already { action: Box::new(action), reason: "nobody looked at the bottle".into() };
    book.act(&already);
    let board = book.board();
    assert_eq!((board.breaches[0].rule.as_str(), &board.breaches[0].trays), ("mix_expired", &trays[..1].to_vec()));
    assert!(board.tray(trays[0]).unwrap().held && !board.tray(trays[1]).unwrap().held);
    let about = board.breaches[0].about.unwrap();
    let lines = book.store.history(Of::Mix(old), None, 9).unwrap();
    assert_eq!(lines.last().unwrap().id, about, "the rule speaks of the bottle");
    book.act(&Action::EndMix { mix: old, what: MixEnd::Binned });
}
