//! Places that were cleaned.

use crate::app::form::{Field, Form, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::id::PlaceId;

const CAUTION: &str = "Gloves on, and air. Never mix bleach with acid, peroxide or ammonia; the label decides how.";

pub(super) fn build(model: &Model, places: &[PlaceId]) -> Form {
    let dirty = model.board.to_clean.iter().filter(|dirty| places.contains(&dirty.place.id));
    let labels: Vec<String> = dirty.map(|dirty| dirty.place.label()).collect();
    let with = Field::text("with", "cleaned with", 200).required().help("Product and strength, and for how long.");
    Form::new(format!("Cleaned: {}", labels.join(", ")), model.today(), vec![with]).intro(Some(CAUTION.to_string()))
}

pub(super) fn action(places: &[PlaceId], values: &Values) -> Action {
    Action::CleanPlaces { places: places.to_vec(), with: values.text("with").trim().to_string() }
}
