//! The bench calculator: sums worked out below their fields as they are typed. Nothing is written.

mod keeping;

use super::{Wrong, measure, mix, range, scaled};
use crate::app::form::{Field, Form, Measure, Opt, Values};
use crate::app::model::Model;
use crate::domain::air::Air;
use crate::domain::dilution::{Dilution, STRONG};
use crate::domain::id::RecipeId;
use crate::domain::light::daily_mol;
use crate::domain::proportion::Share;
use crate::domain::seed_life;
use crate::domain::seed_lot::NEVER_FOOD;
use crate::domain::text::sentence_case;
use crate::domain::units::Quantity;

/// Which sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sum {
    Air,
    Light,
    Share,
    Dilution,
    /// A recipe for another volume.
    Scale,
    /// What is left of a life after some time at some temperatures.
    Keeping,
    /// Of readings.
    Mean,
    /// How much longer seed lives, kept otherwise.
    SeedLife,
}

impl Sum {
    pub const ALL: [Self; 8] =
        [Self::Air, Self::Light, Self::Share, Self::Dilution, Self::Scale, Self::Keeping, Self::Mean, Self::SeedLife];

    pub fn shown(self) -> &'static str {
        match self {
            Self::Air => "dew point and drying power of the air",
            Self::Light => "light of a day",
            Self::Share => "how sure a share is",
            Self::Dilution => "a weaker solution from a stronger one",
            Self::Scale => "a recipe for another volume",
            Self::Keeping => "shelf life",
            Self::Mean => "mean kinetic temperature",
            Self::SeedLife => "how long seed keeps elsewhere",
        }
    }
}

pub(super) fn build(model: &Model, sum: Sum) -> Form {
    let fields = match sum {
        Sum::Air => {
            let temp = Measure {
                quantity: Quantity::Temperature,
                units: model.board.units(),
                min: -40.0,
                max: 60.0,
                decimals: 1,
            };
            vec![
                Field::measure("temp", "temperature", temp).required(),
                Field::number("rh", "humidity", range("%", 0.1, 100.0, 1)).required(),
            ]
        }
        Sum::Light => vec![
            Field::number("ppfd", "light on the tray", range("µmol/m²s", 0.0, 3000.0, 1)).required(),
            Field::number("hours", "hours a day", range("h", 0.0, 24.0, 2)).required(),
        ],
        Sum::Share => vec![
            Field::number("x", "trays that", range("", 0.0, 100_000.0, 0)).required(),
            Field::number("n", "of", range("trays", 1.0, 100_000.0, 0)).required(),
        ],
        Sum::Dilution => vec![
            Field::number("stock", "stock has", range("%", 0.0, 100.0, 3)).required(),
            Field::number("target", "wanted", range("%", 0.0, 100.0, 3)).required(),
            Field::measure("make", "make", measure(model, Quantity::Volume, 1.0, 1_000_000.0, 0)).required(),
        ],
        Sum::Scale => {
            let recipes = model.board.recipes.iter();
            let recipes = recipes.map(|recipe| Opt::new(recipe.id.0.to_string(), recipe.name.clone())).collect();
            vec![
                Field::choice("recipe", "recipe", recipes).required(),
                Field::measure("make", "make", measure(model, Quantity::Volume, 1.0, 1_000_000.0, 0)).required(),
            ]
        }
        Sum::Keeping => keeping::fields(model),
        Sum::Mean => keeping::mean_fields(model),
        Sum::SeedLife => {
            let degrees = || measure(model, Quantity::Temperature, -40.0, 60.0, 1);
            let moisture = || range("%", 0.0, 100.0, 1);
            vec![
                Field::number("wet", "moisture now", moisture()).required().help("Of the seed, by weight."),
                Field::measure("temp", "kept at", degrees()).required(),
                Field::number("wet2", "moisture there", moisture()).required(),
                Field::measure("temp2", "there it has", degrees()).required(),
            ]
        }
    };
    let mut form = Form::new(sum.shown(), model.today(), fields).intro(["Nothing is written: a sum only."]);
    form.ends.0 = "saves nothing";
    form
}

/// The result below the fields, or why there is none.
pub(super) fn changed(model: &Model, sum: Sum, form: &mut Form) {
    if sum == Sum::Keeping {
        keeping::next(form);
    }
    let values = form.values();
    form.lines = match sum {
        Sum::Air => air(model, &values),
        Sum::Light => light(&values),
        Sum::Share => share(&values),
        Sum::Dilution => dilution(model, &values),
        Sum::Scale => scale(model, &values),
        Sum::Keeping => keeping::left(model, &values),
        Sum::Mean => keeping::mean(model, &values),
        Sum::SeedLife => seed_life(&values),
    }
    .unwrap_or_default();
}

fn air(model: &Model, values: &Values) -> Option<Vec<String>> {
    let (temp, rh) = (values.number("temp")?, values.number("rh")?);
    Some(match Air::new(temp, rh) {
        Ok(air) => {
            #[expect(clippy::cast_possible_truncation, reason = "a temperature of a room")]
            let dew = model.board.units().temperature((air.dew_point_c() * 10.0).round() as i64);
            let weather = if air.mould_weather() {
                "Grey mould likes this air (85 % and more, 13 to 24 °C)."
            } else {
                "Not the air of grey mould; that clears no tray."
            };
            vec![
                format!("Dew point {dew}: a lid colder than that drips."),
                format!("Drying power {:.2} kPa (by FAO-56).", air.deficit_kpa()),
                weather.into(),
            ]
        }
        Err(why) => vec![format!("{why}.")],
    })
}

fn light(values: &Values) -> Option<Vec<String>> {
    let (flux, hours) = (values.number("ppfd")?, values.number("hours")?);
    Some(match daily_mol(flux, hours) {
        Ok(mol) => vec![format!("{mol:.2} mol per m² and day; covered days add none.")],
        Err(why) => vec![format!("{why}.")],
    })
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "fields limit their numbers; the cast saturates"
)]
fn share(values: &Values) -> Option<Vec<String>> {
    let (x, n) = (values.number("x")? as u64, values.number("n")? as u64);
    Some(match Share::of(x, n) {
        Ok(share) => vec![share.words(), "In brackets where the true share lies, 95 of 100 times (Wilson).".into()],
        Err(why) => vec![format!("{why}.")],
    })
}

fn dilution(model: &Model, values: &Values) -> Option<Vec<String>> {
    let (stock, target, make) = (values.number("stock")?, values.number("target")?, values.number("make")?);
    Some(match Dilution::new(stock, target, make) {
        Ok(made) => {
            #[expect(clippy::cast_possible_truncation, reason = "fields limit their numbers")]
            let whole = model.board.units().volume(make.round() as i64);
            let amounts =
                format!("{:.1} mL of stock and {:.1} mL of water make {whole}.", made.stock_ml, made.water_ml);
            [amounts].into_iter().chain(STRONG.map(String::from)).collect()
        }
        Err(why) => vec![format!("{why}.")],
    })
}

/// By Harrington's rule, within its limits only.
fn seed_life(values: &Values) -> Option<Vec<String>> {
    let at = |wet, temp| Some((values.number(wet)?, values.number(temp)?));
    let (from, to) = (at("wet", "temp")?, at("wet2", "temp2")?);
    Some(match seed_life::harrington(from, to) {
        Ok(times) => {
            vec![seed_life::words(times), format!("{}.", seed_life::SOURCE), seed_life::ONLY.into(), NEVER_FOOD.into()]
        }
        Err(why) => vec![sentence_case(&format!("{why}."))],
    })
}

fn scale(model: &Model, values: &Values) -> Option<Vec<String>> {
    let recipe = model.board.recipe(RecipeId(values.text("recipe").parse().ok()?))?;
    Some(mix::amounts(recipe, scaled(values, "make", 1.0)?))
}

/// A sum is never written.
pub(super) fn submit() -> Wrong {
    (None, "Nothing is written here: change a figure, or Esc leaves.".into())
}
