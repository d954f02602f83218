//! A treatment: with what, on which trays, what the label says, and how long to wait.

use super::{Wrong, measure, minute, range, scaled, some_text};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::code::{Code, Kind};
use crate::domain::id::{MixId, TrayId};
use crate::domain::mix::Mix;
use crate::domain::text::counted;
use crate::domain::time::Instant;
use crate::domain::tray::named;
use crate::domain::treatment::{CAUTIONS, Listed, NewTreatment, hours_after};
use crate::domain::units::Quantity::Volume;

/// A product as it was bought.
const BOUGHT: &str = "bought";

const YEAR_H: f64 = 8760.0;

pub(super) fn build(model: &Model, trays: &[TrayId]) -> Form {
    let mut what: Vec<Opt> = model
        .board
        .mixes
        .iter()
        .map(|mix| Opt::new(mix.id.0.to_string(), format!("{} {}", mix.code, mix.name)).hint(mix.words(model.now)))
        .collect();
    what.push(Opt::new(BOUGHT, "a product as bought"));
    let only = if what.len() == 1 { BOUGHT } else { "" };
    let listed = Listed::ALL.iter().map(|word| Opt::new(word.stored(), word.shown())).collect();
    Form::new(
        format!("Treated: {}", named(trays)),
        model.today(),
        vec![
            Field::choice("what", "with", what).required().starting(only),
            Field::text("product", "product", 80).required().hidden().help("Its name, as printed on it."),
            Field::text("reg", "its number", 40).help("The registration printed on the label, where it has one."),
            Field::text("purpose", "what for", 200).required(),
            Field::choice("listed", "label allows it", listed)
                .required()
                .help("Does the product's label list this crop and this site?"),
            Field::yes_no("sure", "go on all the same")
                .required()
                .hidden()
                .help("Nobody read the label: it and the local rules decide. Better read it first."),
            Field::number("wait", "no cutting for", range("h", 0.0, YEAR_H, 0)).required().help(
                "From the label: hours before it may be cut. Of your own mix: what you set, and 0 only if you know.",
            ),
            Field::number("reentry", "stay out for", range("h", 0.0, YEAR_H, 0))
                .required()
                .help("From the label: hours before anyone goes in; 0 for none."),
            Field::measure("ml", "amount", measure(model, Volume, 1.0, 1_000_000.0, 0)).help("For all trays together."),
            Field::text("from", "treated at", 16)
                .required()
                .starting(&minute(model))
                .help("Day and time, such as 2026-07-12 06:10; 06:10 is today."),
            Field::text("more", "also on trays", 200)
                .help("Their labels, with spaces between; also of trays that have been cut since."),
        ],
    )
    .intro(CAUTIONS)
}

fn bottle<'m>(model: &'m Model, values: &Values) -> Option<&'m Mix> {
    model.board.mix(MixId(values.text("what").parse().ok()?))
}

/// When, if it can be read; what was left as proposed is now.
fn moment(model: &Model, values: &Values) -> Result<Instant, Wrong> {
    let typed = values.text("from");
    if typed == minute(model) {
        return Ok(model.now.instant());
    }
    super::moment(model, values, "from")
}

/// The labels typed besides.
fn more(values: &Values) -> Result<Vec<TrayId>, Wrong> {
    let words = values.text("more").split(|c: char| c.is_whitespace() || c == ',').filter(|word| !word.is_empty());
    words
        .map(|word| match Code::parse(&word.to_uppercase()).map(|code| (code.kind(), code.number())) {
            Ok((Kind::Tray, Some(id))) => Ok(TrayId(id)),
            _ => Err((Some("more"), format!("{word} is no label of a tray: write them such as T0001-W."))),
        })
        .collect()
}

/// All of them, each once.
fn all(trays: &[TrayId], more: Vec<TrayId>) -> Vec<TrayId> {
    let mut all = trays.to_vec();
    for tray in more {
        if !all.contains(&tray) {
            all.push(tray);
        }
    }
    all
}

pub(super) fn changed(model: &Model, trays: &[TrayId], form: &mut Form) {
    let values = form.values();
    form.show("product", values.text("what") == BOUGHT);
    form.show("sure", values.text("listed") == Listed::Unknown.stored());
    // an answer holds for what it was given for
    if values.yes("sure") && form.focused().is_some_and(|field| field.id == "listed") {
        form.set_value("sure", "");
    }
    let trays = all(trays, more(&values).unwrap_or_default());
    let cards = || trays.iter().filter_map(|tray| model.board.tray(*tray));
    let mut lines = Vec::new();
    if let Some(mix) = bottle(model, &values).filter(|mix| mix.held) {
        lines.push(format!(
            "{} is HELD: take another mix. If it was sprayed, save, and say that it happened.",
            mix.code
        ));
    }
    let past = |mix: &&Mix| moment(model, &values).is_ok_and(|at| mix.expires.is_some_and(|expires| expires < at));
    if let Some(mix) = bottle(model, &values).filter(past) {
        lines.push(format!("{} {}: bin it and prepare it anew.", mix.code, mix.words(model.now)));
    }
    let local = |at: Instant| model.now.local(at).format("%a %d %b %H:%M");
    if let (Ok(at), Some(wait)) = (moment(model, &values), scaled(&values, "wait", 1.0)) {
        let until = hours_after(at, wait);
        lines.push(format!("{}: not to be cut before {}.", counted(trays.len(), "tray"), local(until)));
        let longest = cards().filter_map(|tray| tray.wait_until).max().filter(|longest| *longest > until);
        lines.extend(longest.map(|longest| format!("Some wait until {} already: the longest counts.", local(longest))));
    }
    if let (Ok(at), Some(out)) = (moment(model, &values), scaled(&values, "reentry", 1.0).filter(|out| *out > 0)) {
        lines.push(format!("Nobody goes in before {}.", local(hours_after(at, out))));
    }
    if let (Some(mix), Some(ml)) = (bottle(model, &values), scaled(&values, "ml", 1.0)) {
        lines.push(format!("{} mL stay in {}.", (mix.left_ml - ml).max(0), mix.code));
    }
    if values.text("listed") == Listed::No.stored() {
        lines.push("Not on the label: do not spray it here. If it was sprayed, save, and say that it happened.".into());
    }
    let doubtful = cards().filter(|tray| tray.doubtful()).count();
    if doubtful > 0 {
        lines.push(format!("{} suspect or mouldy: a spray clears none of them.", counted(doubtful, "tray")));
    }
    form.lines = lines;
}

pub(super) fn action(model: &Model, trays: &[TrayId], values: &Values) -> Result<Action, Wrong> {
    let listed = Listed::from_stored(values.text("listed")).unwrap_or(Listed::Unknown);
    if listed == Listed::Unknown && !values.yes("sure") {
        return Err((Some("sure"), "Read the label first, or say yes here.".into()));
    }
    let new = NewTreatment {
        trays: all(trays, more(values)?),
        mix: bottle(model, values).map(|mix| mix.id),
        product: values.text("product").trim().to_string(),
        reg_no: some_text(values, "reg"),
        at: moment(model, values)?,
        ml: scaled(values, "ml", 1.0),
        purpose: values.text("purpose").trim().to_string(),
        listed,
        wait_h: scaled(values, "wait", 1.0).unwrap_or(0),
        reentry_h: scaled(values, "reentry", 1.0).unwrap_or(0),
    };
    if new.mix.is_none() && values.text("what") != BOUGHT {
        return Err((Some("what"), "This bottle is gone meanwhile: choose another.".into()));
    }
    new.check().map_err(|(field, why)| (Some(field), why))?;
    Ok(Action::Treat(Box::new(new)))
}
