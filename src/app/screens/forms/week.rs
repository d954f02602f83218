//! The week reviewed: which days, a crop's baseline, a weight that is not right, the currency.

use super::{Submit, Wrong};
use crate::app::form::{Field, Form, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::code::Code;
use crate::domain::id::{CropId, LotId, TrayId};
use crate::domain::period::Period;
use crate::domain::text::NOTE_GRAPHEMES;
use crate::domain::week::{self, BASELINE_LEAST, Currency};

/// What is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    Span,
    /// Proposed are the days that are in force.
    Baseline(CropId, Period),
    /// Whether a weight is to be marked as not right, or to count again.
    Mark(LotId, Option<TrayId>, bool),
    Currency,
}

pub(super) fn build(model: &Model, of: Of) -> Form {
    let today = model.today();
    match of {
        Of::Span => {
            let last = week::last(today);
            let field = Field::text("days", "week or days", 30).required().starting(&week::label(last.from));
            let help = "2026-W47, or 2026-11-02..2026-11-22.";
            Form::new("Which days to review", today, vec![field.help(help)])
        }
        Of::Baseline(crop, period) => {
            let name = model.crops.iter().find(|known| known.id == crop).map_or("this crop", |crop| &crop.name);
            let fields = vec![
                Field::date("from", "from", None, Some(today)).required().starting(&period.from.to_string()),
                Field::date("to", "to", None, Some(today)).required().starting(&period.to.min(today).to_string()),
                Field::note("why", "why these", NOTE_GRAPHEMES).required(),
            ];
            Form::new(format!("What {name} is held against"), today, fields).intro([format!(
                "Days with {BASELINE_LEAST} weights at least, in which the crop grew as it should. They stand still until someone moves them again."
            )])
        }
        Of::Mark(_, tray, odd) => {
            let what = tray.map_or_else(
                || "The weight of the lot".to_string(),
                |tray| format!("The weight of {}", Code::tray(tray.0)),
            );
            let (title, label) = if odd {
                (format!("{what} is not right"), "what is wrong")
            } else {
                (format!("{what} is right after all"), "why it counts")
            };
            let fields = vec![Field::note("why", label, NOTE_GRAPHEMES).required()];
            Form::new(title, today, fields).intro(["It stays in the book. Averages are shown with and without it."])
        }
        Of::Currency => {
            let field = Field::text("currency", "prices are in", Currency::MOST).starting(&model.board.currency);
            Form::new("Prices", today, vec![field.help("Such as EUR. Empty for none.")]).intro([
                "Prices stand at crops (seed, all else of a tray) and at products. They serve the week's margins only.",
            ])
        }
    }
}

pub(super) fn submit(model: &Model, of: Of, rev: i64, values: &Values) -> Result<Submit, Wrong> {
    let act = |action: Action| Ok(Submit::Act(Box::new(action)));
    match of {
        Of::Span => {
            let period = week::parse(values.text("days"), model.today()).map_err(|why| (Some("days"), why))?;
            Ok(Submit::Show(period))
        }
        Of::Baseline(crop, _) => {
            let day =
                |id: &'static str| values.date(id).ok_or((Some(id), "Write the day like 2026-07-15.".to_string()));
            let why = values.text("why").to_string();
            act(Action::SetBaseline { crop, from: day("from")?, to: day("to")?, why })
        }
        Of::Mark(lot, tray, odd) => act(Action::MarkWeight { lot, tray, odd, why: values.text("why").to_string() }),
        Of::Currency => act(Action::EditCurrency { currency: values.text("currency").trim().to_string(), rev }),
    }
}
