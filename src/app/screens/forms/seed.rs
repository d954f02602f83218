//! Receiving and counting seed.

use super::{Wrong, milligrams, range, scaled, seed_weight, shown, some_text};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::id::{CropId, SeedLotId};
use crate::domain::seed_lot::{NewSeedLot, Treated};

pub(super) fn crop_options(model: &Model) -> Vec<Opt> {
    model
        .board
        .crops
        .iter()
        .map(|crop| Opt::new(crop.id.0.to_string(), crop.name.clone()).hint(crop.letters.clone()))
        .collect()
}

pub(super) fn receive(model: &Model) -> Form {
    let today = model.today();
    Form::new(
        "Receive a seed lot",
        today,
        vec![
            Field::choice("crop", "crop", crop_options(model)).required(),
            Field::text("supplier", "supplier", 80).required().help("Who sold it; a trace ends there."),
            Field::text("supplier_lot", "their lot", 80).required().help("Letter for letter from the bag."),
            Field::measure("grams", "weight", seed_weight(model, 0.001, 1_000_000.0)).required(),
            Field::choice(
                "treated",
                "treated",
                vec![
                    Opt::new("no", "no").hint("stated untreated"),
                    Opt::new("yes", "yes").hint("is never sown for food"),
                    Opt::new("not_stated", "not stated").hint("cannot be sown until the supplier says no"),
                ],
            )
            .required()
            .help("Treated or coated field seed is never for food."),
            Field::date("received", "received", None, Some(today)).required().starting("today"),
            Field::date("use_by", "use by", None, None).help("As printed, or +365 for a year from today."),
            Field::number("germ", "germination", range("%", 0.0, 100.0, 1)).help("From the packet or certificate."),
            Field::measure("tsw", "1000 seeds weigh", seed_weight(model, 0.01, 5000.0)),
            Field::text("variety", "variety", 80),
            Field::text("address", "their address", 200).help("Wanted in a recall; kept with the supplier."),
            Field::text("document", "delivery note", 80),
            Field::text("cert", "pathogen test", 80).help("Number of the certificate that the lot was tested."),
            Field::text("kept", "kept where", 80)
                .help("Shelf, fridge, freezer. A jar from the freezer warms up closed."),
        ],
    )
}

/// Says what the germination means for sowing.
pub(super) fn changed(model: &Model, form: &mut Form) {
    let values = form.values();
    let crop = values.text("crop").parse().ok().map(CropId).and_then(|id| model.crops.iter().find(|c| c.id == id));
    let mut lines = Vec::new();
    if let (Some(crop), Some(germ)) = (crop, scaled(&values, "germ", 10.0)) {
        if let Some(min) = crop.min_germ_pm.filter(|min| germ < *min) {
            lines.push(format!(
                "Below the legal floor for selling {} seed, {} %: ask the supplier.",
                crop.name,
                shown(min, 10.0)
            ));
        } else if let Some(want) = crop.want_germ_pm.filter(|want| germ < *want) {
            lines.push(format!(
                "Below the {} % this room wants: the sowing form adds seed, 20 % at most.",
                shown(want, 10.0)
            ));
        }
    }
    if let Some(use_by) = values.date("use_by").filter(|day| *day < model.today()) {
        lines.push(format!("Past its use-by day already, {use_by}: is the date right?"));
    }
    form.lines = lines;
}

pub(super) fn receive_action(values: &Values) -> Result<Action, Wrong> {
    let crop = values.text("crop").parse().map(CropId).map_err(|_| (Some("crop"), "Choose the crop.".to_string()))?;
    let treated = Treated::from_stored(values.text("treated"))
        .ok_or((Some("treated"), "Say whether the seed is treated.".to_string()))?;
    let received = values.date("received").ok_or((Some("received"), "Say when it came.".to_string()))?;
    Ok(Action::ReceiveSeedLot(Box::new(NewSeedLot {
        crop,
        variety: values.text("variety").to_string(),
        supplier: values.text("supplier").to_string(),
        supplier_address: values.text("address").to_string(),
        supplier_lot: values.text("supplier_lot").to_string(),
        mg: milligrams(values, "grams").unwrap_or(0),
        received,
        use_by: values.date("use_by"),
        germ_pm: scaled(values, "germ", 10.0),
        tsw_mg: milligrams(values, "tsw"),
        treated,
        cert: some_text(values, "cert"),
        document: some_text(values, "document"),
        kept: some_text(values, "kept"),
    })))
}

pub(super) fn count(model: &Model, lot: SeedLotId) -> Form {
    let title =
        model.lots.iter().find(|l| l.id == lot).map_or_else(String::new, |l| format!("{} {}", l.crop_name, l.code));
    Form::new(
        format!("Count the jar: {title}"),
        model.today(),
        vec![Field::measure("counted", "jar holds", seed_weight(model, 0.0, 1_000_000.0)).required()],
    )
}

pub(super) fn count_changed(model: &Model, lot: SeedLotId, form: &mut Form) {
    let Some(lot) = model.lots.iter().find(|l| l.id == lot) else { return };
    let units = model.board.units();
    let mut lines = vec![format!("The book has {}.", units.weight(lot.left_mg))];
    if let Some(counted) = milligrams(&form.values(), "counted") {
        let more = counted - lot.left_mg;
        lines.push(match more.signum() {
            0 => "That is what the book says: nothing to write.".to_string(),
            1 => format!("Will write: {} more than the book.", units.weight(more)),
            _ => format!("Will write: {} less than the book.", units.weight(-more)),
        });
    }
    form.lines = lines;
}

pub(super) fn count_action(lot: SeedLotId, values: &Values) -> Action {
    Action::CountSeed { lot, counted_mg: milligrams(values, "counted").unwrap_or(0) }
}
