//! Germination tests: begun, also with all their numbers at once, and counted.

use super::{Wrong, measure, range, scaled};
use crate::app::form::{Field, Form, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::germ_test::{DayCount, GermEnd, GermTest, NewGermTest, REPLICATES_MAX, SEEDS_MAX, lines, typed};
use crate::domain::id::{GermTestId, SeedLotId};
use crate::domain::time::Day;
use crate::domain::units::Quantity;

/// What is asked only of the last count.
const LEFT: [&str; 3] = ["abnormal", "hard", "dead"];

#[expect(clippy::cast_precision_loss, reason = "a few thousand seeds")]
fn left() -> Vec<Field> {
    let most = (REPLICATES_MAX * SEEDS_MAX) as f64;
    let help = [
        "Seedlings that will not become plants.",
        "Seeds that took up no water.",
        "Seeds that rotted, or never stirred.",
    ];
    let fields = LEFT.into_iter().zip(help);
    fields.map(|(id, help)| Field::number(id, id, range("", 0.0, most, 0)).hidden().help(help)).collect()
}

#[expect(clippy::cast_precision_loss, reason = "a few hundred seeds")]
pub(super) fn begin(model: &Model, lot: SeedLotId) -> Form {
    let known = model.lots.iter().find(|known| known.id == lot);
    let (title, received) =
        known.map_or_else(|| (String::new(), None), |l| (format!("{} {}", l.crop_name, l.code), Some(l.received)));
    let mut fields = vec![
        Field::date("day", "laid out on", received, Some(model.today())).required().starting("today"),
        Field::number("replicates", "replicates", range("", 1.0, REPLICATES_MAX as f64, 0))
            .required()
            .starting("4")
            .help("Dishes or papers counted apart: how they agree tells whether the test is sound."),
        Field::number("seeds", "seeds in each", range("", 1.0, SEEDS_MAX as f64, 0)).required().starting("25"),
        Field::measure("temp", "kept at", measure(model, Quantity::Temperature, 0.0, 45.0, 1)),
        Field::text("counts", "counted", 200).help(typed::HELP),
        Field::yes_no("last", "all counted").required().starting("no").help("Yes: the test is over."),
    ];
    fields.extend(left());
    Form::new(format!("Germination test: {title}"), model.today(), fields).intro([
        "Seed for a test is not taken from the book: count the jar now and then.",
        "A test that is over goes in with all its counts at once.",
    ])
}

pub(super) fn count(model: &Model, id: GermTestId) -> Form {
    let test = model.shelf.test(id);
    let code = |test: &GermTest| model.lots.iter().find(|lot| lot.id == test.lot).map(|lot| lot.code.clone());
    let title = test.and_then(code).unwrap_or_default();
    let so_far = test.map_or_else(String::new, |test| format!("{}; {}.", test.words(), test.result()));
    let mut fields = vec![
        Field::date("day", "counted on", test.map(|test| test.day), Some(model.today())).required().starting("today"),
        Field::text("counts", "new seedlings", 200).help(typed::HELP),
        Field::yes_no("last", "the last count").required().starting("no").help("Yes: the test is over."),
    ];
    fields.extend(left());
    Form::new(format!("Count the germination test of {title}"), model.today(), fields).intro([so_far])
}

/// What a test would be with what is typed.
struct Typed {
    counts: Vec<DayCount>,
    end: Option<GermEnd>,
}

impl Typed {
    fn of(values: &Values, begun: Day, plain: Option<Day>) -> Result<Self, Wrong> {
        let counts = typed::counts(values.text("counts"), begun, plain).map_err(|why| (Some("counts"), why))?;
        if !values.yes("last") {
            return Ok(Self { counts, end: None });
        }
        let Some(day) = counts.iter().map(|count| count.day).max().max(plain) else {
            return Err((Some("counts"), "Give the counts of a test that is over, such as 7: 23 22 25 21.".into()));
        };
        let [abnormal, hard, dead] = LEFT.map(|id| scaled(values, id, 1.0));
        Ok(Self { counts, end: Some(GermEnd { day, abnormal, hard, dead }) })
    }
}

fn new(lot: SeedLotId, values: &Values) -> Result<NewGermTest, Wrong> {
    let day = values.date("day").ok_or((Some("day"), "Say when it was laid out.".to_string()))?;
    let number = |id| scaled(values, id, 1.0).unwrap_or(0);
    let typed = Typed::of(values, day, None)?;
    Ok(NewGermTest {
        temp_dc: scaled(values, "temp", 10.0),
        counts: typed.counts,
        end: typed.end,
        ..NewGermTest::of(lot, day, number("replicates"), number("seeds"))
    })
}

pub(super) fn begin_action(lot: SeedLotId, values: &Values) -> Result<Action, Wrong> {
    Ok(Action::BeginGermTest(Box::new(new(lot, values)?)))
}

pub(super) fn count_action(model: &Model, id: GermTestId, values: &Values) -> Result<Action, Wrong> {
    let gone = || (None, "This germination test was taken back: Esc leaves.".to_string());
    let test = model.shelf.test(id).ok_or_else(gone)?;
    let Typed { counts, end } = Typed::of(values, test.day, values.date("day"))?;
    match (counts.is_empty(), end) {
        (false, end) => Ok(Action::CountGerm { test: id, counts, end }),
        (true, Some(end)) => Ok(Action::EndGermTest { test: id, end }),
        (true, None) => Err((Some("counts"), "Give a number for each replicate, 0 for none.".into())),
    }
}

/// What it comes to as it is typed.
pub(super) fn begin_changed(model: &Model, lot: SeedLotId, form: &mut Form) {
    let values = form.values();
    ask_what_is_left(form, &values);
    form.lines = match new(lot, &values) {
        Ok(new) if !new.counts.is_empty() => {
            let test = GermTest {
                id: GermTestId(0),
                lot,
                day: new.day,
                replicates: new.replicates,
                seeds: new.seeds,
                temp_dc: new.temp_dc,
                counts: vec![],
                end: None,
            };
            told(model, test, &new.counts, new.end)
        }
        Ok(_) => vec![],
        Err((_, why)) => vec![why],
    };
}

pub(super) fn count_changed(model: &Model, id: GermTestId, form: &mut Form) {
    let values = form.values();
    ask_what_is_left(form, &values);
    let Some(test) = model.shelf.test(id) else { return };
    form.lines = match Typed::of(&values, test.day, values.date("day")) {
        Ok(typed) if typed.counts.is_empty() && typed.end.is_none() => vec![],
        Ok(typed) => told(model, test.clone(), &typed.counts, typed.end),
        Err((_, why)) => vec![why],
    };
}

fn ask_what_is_left(form: &mut Form, values: &Values) {
    for id in LEFT {
        form.show(id, values.yes("last"));
    }
}

fn told(model: &Model, test: GermTest, counts: &[DayCount], end: Option<GermEnd>) -> Vec<String> {
    if let Err((_, _, why)) = test.check_counts(counts, model.today()) {
        return vec![why];
    }
    let test = test.with(counts, None);
    if let Some(Err((_, _, why))) = end.map(|end| test.check_end(&end, model.today())) {
        return vec![why];
    }
    let test = test.with(&[], end);
    let lot = model.lots.iter().find(|lot| lot.id == test.lot);
    let crop = lot.and_then(|lot| model.crops.iter().find(|crop| crop.id == lot.crop));
    let packet = lot.and_then(|lot| lot.germ_pm);
    lines(&test, packet, crop.and_then(|c| c.min_germ_pm), crop.and_then(|c| c.want_germ_pm))
}
