//! Cold stores: limits, readings by hand, what is put where, decisions about spells.

use super::breach::{decider, decision};
use super::{Submit, Wrong, amount, measure, minute, moment, range, scaled};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::breach::Verdict;
use crate::domain::cold::{CAUTION, HandReading, Limits, Measured, NewStore, PutAway, Rules, SpellKey};
use crate::domain::id::{LotId, StoreId};
use crate::domain::units::Quantity::Temperature;

/// Which form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    Store(Option<StoreId>),
    /// A reading by hand.
    Read(StoreId),
    /// A logger of a store.
    Logger(StoreId),
    /// Lots into a store or out of it; this one is ticked.
    PutAway(Option<LotId>),
    Decide(SpellKey, Verdict),
    Rules,
}

/// Out of every store.
const OUT: &str = "out";
const ANOTHER: &str = "another";

pub(super) fn build(model: &Model, of: Of) -> Form {
    match of {
        Of::Store(id) => store(model, id),
        Of::Read(id) => read(model, id),
        Of::Logger(id) => Form::new(
            format!("A logger in {}", name(model, id)),
            model.today(),
            vec![Field::text("name", "name", 60).required().help("As it stands on it.")],
        )
        .intro(["One that moves to another store is a new logger: readings keep their store."]),
        Of::PutAway(lot) => put_away(model, lot),
        Of::Decide(key, what) => decide(model, key, what),
        Of::Rules => rules(model),
    }
}

fn name(model: &Model, id: StoreId) -> &str {
    model.cold.store(id).map_or("", |store| store.name.as_str())
}

fn store(model: &Model, id: Option<StoreId>) -> Form {
    let known = id.and_then(|id| model.cold.store(id));
    let limits = known.map_or_else(Limits::default, |store| store.limits);
    let temp = |id, label: &str, dc: i64| {
        Field::measure(id, label, measure(model, Temperature, -20.0, 60.0, 1)).required().starting(&amount(
            Some(dc),
            10.0,
            Temperature,
        ))
    };
    let minutes = |id, label: &str, most: f64, n: i64| {
        Field::number(id, label, range("min", 0.0, most, 0)).required().starting(&n.to_string())
    };
    let mut fields = vec![
        Field::text("name", "name", 50).required().starting(known.map_or("", |store| store.name.as_str())),
        temp("max", "warm above", limits.max_dc).help("5 °C for what counts as food to be kept cold."),
        temp("min", "cold below", limits.min_dc),
        minutes("over", "for more than", 240.0, limits.over_min).help("As long as a door may stand open."),
        minutes("gap", "a gap after", 1440.0, limits.gap_min).help("Readings further apart count as the warmer one."),
        temp("plan", "kept at", limits.plan_dc).help("What is here is counted on at this."),
    ];
    if id.is_some() {
        fields.push(Field::yes_no("used", "still in use").required().starting("yes"));
    }
    Form::new("A cold store", model.today(), fields)
}

fn read(model: &Model, id: StoreId) -> Form {
    let known = model.cold.store(id).map_or(&[][..], |store| &store.thermometers);
    let mut thermometers: Vec<Opt> = known.iter().map(|name| Opt::new(name.clone(), name.clone())).collect();
    let none = thermometers.is_empty();
    thermometers.push(Opt::new(ANOTHER, "another"));
    let ways = Measured::ALL.iter().map(|way| Opt::new(way.stored(), way.shown())).collect();
    let which = Field::choice("which", "thermometer", thermometers).required();
    // the first one is asked by its name
    let which = if none { which.starting(ANOTHER).hidden() } else { which };
    Form::new(
        format!("A reading in {}", name(model, id)),
        model.today(),
        vec![
            Field::measure("temp", "it shows", measure(model, Temperature, -20.0, 60.0, 1)).required(),
            Field::choice("measured", "held into", ways).required(),
            which,
            Field::text("thermometer", "its name", 60).required().hidden().help("As it stands on it."),
            Field::text("time", "read at", 16)
                .required()
                .starting(&minute(model))
                .help("Day and time, such as 2026-07-12 04:10; 04:10 is today."),
        ],
    )
}

fn put_away(model: &Model, lot: Option<LotId>) -> Form {
    let goods = &model.goods;
    let lies = |id: LotId| model.cold.lot(id).and_then(|lot| lot.store);
    // what lies in no store is what is to be put away
    let ticked: Vec<String> = if let Some(id) = lot {
        vec![id.0.to_string()]
    } else {
        let out = goods.lots.iter().filter(|lot| lot.here() > 0 && lies(lot.id).is_none());
        out.map(|lot| lot.id.0.to_string()).collect()
    };
    let lots = goods.lots.iter().filter(|lot| lot.here() > 0).map(|lot| {
        let place = lies(lot.id).map_or("in no store", |store| name(model, store));
        Opt::new(lot.id.0.to_string(), lot.code.clone()).hint(format!("{}, {place}", lot.name))
    });
    let mut stores: Vec<Opt> =
        model.cold.in_use().map(|store| Opt::new(store.id.0.to_string(), store.name.clone())).collect();
    stores.push(Opt::new(OUT, "out of every store"));
    let mut in_use = model.cold.in_use();
    let only = match (in_use.next(), in_use.next()) {
        (Some(one), None) if lot.is_none_or(|lot| lies(lot).is_none()) => one.id.0.to_string(),
        _ => String::new(),
    };
    let mut form = Form::new(
        "Put away",
        model.today(),
        vec![
            Field::many("lots", "lots", lots.collect()).required().starting(&ticked.join("\n")),
            Field::choice("store", "into", stores).required().starting(&only),
            Field::text("time", "since", 16)
                .required()
                .starting(&minute(model))
                .help("Day and time, such as 2026-07-12 04:10; 04:10 is today."),
            Field::measure("out", "warmest before", measure(model, Temperature, -20.0, 60.0, 1))
                .help("Where they lay outside a store until then; empty: what the room's sensors read."),
        ],
    )
    .intro(["A lot lies whole in one store. A part that goes elsewhere is packed as its own lot."]);
    form.focus_on("store");
    form
}

fn decide(model: &Model, key: SpellKey, what: Verdict) -> Form {
    let title = match what {
        Verdict::Accepted => "Accept the spell",
        Verdict::Watch => "Decide another day",
        Verdict::Thrown => "Throw out what it touched",
    };
    decision(model, title, [format!("{}: {}.", name(model, key.store), key.kind.shown()), CAUTION.to_string()])
}

fn rules(model: &Model) -> Form {
    let rules = &model.cold.rules;
    let bench = measure(model, Temperature, -20.0, 60.0, 1);
    Form::new(
        "Cold rules",
        model.today(),
        vec![
            Field::yes_no("food", "food to be kept cold")
                .required()
                .starting(if rules.cold_food { "yes" } else { "no" })
                .help("Whether greens cut only at harvest are is for the local inspector. Yes: spells hold."),
            Field::measure("bench", "workroom at most", bench)
                .starting(&amount(rules.bench_dc, 10.0, Temperature))
                .help("Counts for time outside a store where nothing else was measured."),
        ],
    )
    .intro([CAUTION])
}

/// The name of a thermometer is asked where it is another one.
pub(super) fn changed(model: &Model, of: Of, form: &mut Form) {
    let values = form.values();
    match of {
        Of::Read(store) => {
            let none = model.cold.store(store).is_none_or(|store| store.thermometers.is_empty());
            form.show("thermometer", none || values.text("which") == ANOTHER);
            let warm = scaled(&values, "temp", 10.0)
                .filter(|dc| model.cold.store(store).is_some_and(|store| *dc > store.limits.max_dc));
            form.lines = warm.map(|_| format!("Warmer than the store allows. {CAUTION}")).into_iter().collect();
        }
        Of::PutAway(_) => {
            let lots = values.many("lots");
            let was_out = lots.iter().any(|id| {
                let lot = id.parse().ok().and_then(|id| model.cold.lot(LotId(id)));
                lot.is_some_and(|lot| lot.store.is_none())
            });
            form.show("out", was_out);
        }
        Of::Store(_) | Of::Logger(_) | Of::Decide(..) | Of::Rules => {}
    }
}

pub(super) fn submit(model: &Model, of: Of, rev: i64, values: &Values) -> Result<Submit, Wrong> {
    let tenths = |id| scaled(values, id, 10.0).unwrap_or(0);
    let whole = |id| scaled(values, id, 1.0).unwrap_or(0);
    let action = match of {
        Of::Store(id) => {
            let limits = Limits {
                min_dc: tenths("min"),
                max_dc: tenths("max"),
                over_min: whole("over"),
                gap_min: whole("gap"),
                plan_dc: tenths("plan"),
            };
            let new = Box::new(NewStore { name: values.text("name").trim().to_string(), limits });
            match id {
                None => Action::AddStore(new),
                Some(store) => Action::EditStore { store, new, retired: !values.yes("used"), rev },
            }
        }
        Of::Read(store) => Action::ReadCold(Box::new(HandReading {
            store,
            at: moment(model, values, "time")?,
            temp_dc: tenths("temp"),
            thermometer: match values.text("which") {
                ANOTHER | "" => values.text("thermometer").trim().to_string(),
                known => known.to_string(),
            },
            measured: Measured::from_stored(values.text("measured")).unwrap_or(Measured::Air),
        })),
        Of::Logger(store) => {
            let name = values.text("name").trim().to_string();
            Action::AddSensor { name, at: crate::domain::reading::Spot::Store(store) }
        }
        Of::PutAway(_) => Action::PutAway(Box::new(PutAway {
            lots: values.many("lots").iter().filter_map(|id| id.parse().ok().map(LotId)).collect(),
            store: values.text("store").parse().ok().map(StoreId),
            at: moment(model, values, "time")?,
            out_dc: scaled(values, "out", 10.0),
        })),
        Of::Decide(spell, what) => {
            Action::DecideSpell { spell, what, by: decider(values)?, reason: values.text("reason").to_string() }
        }
        Of::Rules => Action::EditColdRules {
            rules: Box::new(Rules { cold_food: values.yes("food"), bench_dc: scaled(values, "bench", 10.0) }),
            rev,
        },
    };
    Ok(Submit::Act(Box::new(action)))
}
