//! The records behind the forms that edit one: how often they were changed, and what is said when one is gone.

use super::FormKind;
use super::air::Of;
use super::cold::Of as ColdOf;
use super::places::rack_places;
use super::week::Of as WeekOf;
use crate::app::form::Form;
use crate::app::model::Model;
use crate::domain::history::Record;

/// Revision of the record as it was loaded last; none when it is no longer there, or the form shows no record.
pub(in crate::app::screens) fn rev(model: &Model, kind: &FormKind) -> Option<i64> {
    let board = &model.board;
    match kind {
        FormKind::Sold(of) => of.rev(model),
        FormKind::Room => Some(board.room_rev),
        FormKind::Person(Some(id)) => board.people.iter().find(|p| p.id == *id).map(|p| p.rev),
        FormKind::Crop(Some(id)) => model.crops.iter().find(|c| c.id == *id).map(|c| c.rev),
        FormKind::RenameRack(id) => board.rack(*id).map(|rack| rack.rev),
        FormKind::CheckKind(Some(id)) => board.checks.iter().find(|kind| kind.id == *id).map(|kind| kind.rev),
        FormKind::Recipe(Some(id)) => board.recipe(*id).map(|recipe| recipe.rev),
        FormKind::Air(Of::Sensor(Some(id))) => model.air.iter().find(|s| s.id == *id).map(|s| s.rev),
        FormKind::Bands => Some(board.bands_rev),
        FormKind::Week(WeekOf::Currency) => Some(board.currency_rev),
        FormKind::Cold(ColdOf::Store(Some(id))) => model.cold.store(*id).map(|store| store.rev),
        FormKind::Cold(ColdOf::Rules) => Some(model.cold.rules_rev),
        FormKind::Supplier(id) => model.shelf.supplier(*id).map(|supplier| supplier.rev),
        FormKind::Tool(id) => model.goods.tool(*id).map(|tool| tool.rev),
        FormKind::Format(id) => board.formats.iter().find(|f| f.id == *id).map(|f| f.rev),
        FormKind::Shelves(id) => {
            let places = rack_places(model, *id);
            (!places.is_empty()).then(|| board.places_rev(&places))
        }
        // the correction that its values are of, none before the first
        FormKind::Correct(id, _) => {
            let entry = model.entry.as_ref().filter(|entry| entry.id == *id && !entry.gone)?;
            Some(entry.after.map_or(0, |after| after.0))
        }
        _ => None,
    }
}

/// The record whose last hands are named beside what they changed.
pub(in crate::app::screens) fn record(kind: &FormKind) -> Option<(Record, i64)> {
    match kind {
        FormKind::Sold(of) => of.record(),
        FormKind::Room => Some((Record::Room, 0)),
        FormKind::Person(Some(id)) => Some((Record::Person, id.0)),
        FormKind::Crop(Some(id)) => Some((Record::Crop, id.0)),
        FormKind::RenameRack(id) => Some((Record::Rack, id.0)),
        FormKind::CheckKind(Some(id)) => Some((Record::Check, id.0)),
        FormKind::Recipe(Some(id)) => Some((Record::Recipe, id.0)),
        FormKind::Air(Of::Sensor(Some(id))) => Some((Record::Sensor, id.0)),
        FormKind::Cold(ColdOf::Store(Some(id))) => Some((Record::Store, id.0)),
        FormKind::Format(id) => Some((Record::Format, id.0)),
        FormKind::Supplier(id) => Some((Record::Supplier, id.0)),
        FormKind::Tool(id) => Some((Record::Tool, id.0)),
        _ => None,
    }
}

/// Why nothing can be saved about a record that is not there any more.
pub(in crate::app::screens) fn gone(kind: &FormKind) -> String {
    let what = match kind {
        FormKind::Correct(..) => {
            return "This entry no longer counts, so nothing about it is saved; Esc leaves.".into();
        }
        FormKind::Format(_) => "tray format",
        FormKind::Tool(_) => "tool",
        FormKind::Supplier(_) => "supplier",
        FormKind::CheckKind(_) => "check",
        FormKind::Recipe(_) => "recipe",
        FormKind::Air(_) => "sensor",
        FormKind::Cold(_) => "cold store",
        FormKind::Crop(_) => "crop",
        FormKind::Person(_) => "person",
        FormKind::Sold(of) => of.record().map_or("record", |(record, _)| record.shown()),
        _ => "rack",
    };
    format!("This {what} was taken out of use meanwhile, so nothing about it is saved; Esc leaves.")
}

/// What is said when the record stays, but went out of use in a field that now follows the book.
pub(in crate::app::screens) fn left(kind: &FormKind, form: &Form, taken: &[String]) -> Option<&'static str> {
    let (id, sentence) = match kind {
        FormKind::Person(_) => ("here", "This person was put down as gone meanwhile; saving keeps that."),
        FormKind::Crop(_) => ("grown", "This crop was taken out of use meanwhile; saving keeps that."),
        _ => return None,
    };
    let field = form.field(id)?;
    (taken.contains(&field.label) && field.check().is_ok_and(|value| value == "no")).then_some(sentence)
}
