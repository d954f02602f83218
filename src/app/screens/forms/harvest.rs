//! The check before the knife is taken up, and the harvest.

use super::{Wrong, measure, scaled};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::app::screens::cut::unwashed;
use crate::domain::action::Action;
use crate::domain::harvest::{CutTray, NewCutCheck, NewHarvest};
use crate::domain::id::TrayId;
use crate::domain::text::counted;
use crate::domain::tool::{check as check_names, names, same};
use crate::domain::tray::{Stage, TrayCard};
use crate::domain::units::Quantity::Weight;

/// Weights of trays that are weighed one by one.
const EACH: [&str; 12] = ["g1", "g2", "g3", "g4", "g5", "g6", "g7", "g8", "g9", "g10", "g11", "g12"];

/// All mats that are left.
const ALL: &str = "all";

const TOGETHER: &str = "together";
const ONE_BY_ONE: &str = "each";

/// Grams of one harvest.
const MOST_G: f64 = 1_000_000.0;

pub(super) fn check(model: &Model, trays: &[TrayId]) -> Form {
    let ask = |id, label: &str| Field::yes_no(id, label).required().swift();
    let mut fields = vec![
        ask("well", "you are well today").help("No: who is ill cuts and packs nothing."),
        ask("hands", "hands are washed").help("Or the gloves are fresh."),
        ask("blade", "the blade is whole"),
        ask("cleaned", "all is cleaned").help("Table, scale and tools."),
    ];
    if let Some(before) = unwashed(model, trays) {
        let help = format!("{before} was cut before, an allergen: table, scale, tools and hands.");
        fields.push(ask("washed", "washed since").help(&help));
    }
    let with = model.goods.knife.with.clone().unwrap_or_default();
    fields.push(Field::text("with", "cleaned with", 120).starting(&with).help("As it is used by its own label."));
    Form::new("Before the cut", model.today(), fields)
        .intro(["Look, then answer: y or n. It is asked once a day of each person, and anew after an allergen."])
}

pub(super) fn check_changed(form: &mut Form) {
    let values = form.values();
    form.show("with", values.text("cleaned") != "no");
    let answered = |id| form.field(id).is_none() || !values.text(id).is_empty();
    let all = ["well", "hands", "blade", "cleaned", "washed"].into_iter().all(answered);
    let bar = all.then(|| new_check(&values).bar()).flatten();
    form.lines = bar.map(|bar| format!("Nothing is cut yet: {bar}.")).into_iter().collect();
}

fn new_check(values: &Values) -> NewCutCheck {
    NewCutCheck {
        hands: values.yes("hands"),
        well: values.yes("well"),
        blade: values.yes("blade"),
        cleaned: values.yes("cleaned"),
        with: values.text("with").trim().to_string(),
        washed: Some(values.text("washed")).filter(|answer| !answer.is_empty()).map(|answer| answer == "yes"),
    }
}

pub(super) fn check_action(values: &Values) -> Action {
    Action::CheckCut(Box::new(new_check(values)))
}

pub(super) fn build(model: &Model, trays: &[TrayId]) -> Form {
    let first = trays.first().and_then(|id| model.board.tray(*id));
    let ticked: Vec<String> = trays.iter().map(|id| id.0.to_string()).collect();
    let weight = |id, label: &str| Field::measure(id, label, measure(model, Weight, 1.0, MOST_G, 0)).required();
    let ways = vec![
        Opt::new(TOGETHER, "together").hint("one weight of all of them"),
        Opt::new(ONE_BY_ONE, "each").hint("every tray a weight of its own"),
    ];
    let mut fields = vec![
        Field::many("trays", "trays", options(model, trays)).required().starting(&ticked.join("\n")),
        Field::choice("mats", "mats", mats(first)).starting(ALL).hidden().help("The rest goes back and stays."),
        Field::choice("how", "weighed", ways).required().starting(TOGETHER).hidden(),
        Field::yes_no("again", "grows again").starting("no").hidden().help("It stays and is cut a second time."),
        tools(model, &model.goods.last_use.cut),
        weight("grams", "weight"),
    ];
    fields.extend(EACH.map(|id| weight(id, "").hidden()));
    let title = first.map_or_else(|| "Cut".to_string(), |tray| format!("Cut {}", tray.crop_name));
    // where nobody may go in, nobody cuts
    let mut stop = trays.iter().filter_map(|id| model.board.tray(*id));
    let stop = stop.find_map(|tray| model.board.kept_out_of(tray, model.now)).map(|out| format!("STOP: {out}."));
    let mut form = Form::new(title, model.today(), fields).intro(
        stop.into_iter().chain(["One crop makes one lot; its code is told when it is written down.".to_string()]),
    );
    form.focus_on("grams");
    form
}

/// Knife, table and scale, as they were named the last time; what is held is left out.
pub(super) fn tools(model: &Model, last: &[String]) -> Field {
    let (usable, _) = model.goods.usable(last);
    Field::text("tools", "with", 200)
        .starting(&usable.join(", "))
        .help("Knife, table, scale as written on them, commas between.")
}

/// The names in that field.
pub(super) fn named_tools(values: &Values) -> Result<Vec<String>, Wrong> {
    let names = names(values.text("tools"));
    check_names(&names).map_err(|why| (Some("tools"), why))?;
    Ok(names)
}

/// What is to be said of that field: what of it is held, or that nothing is named.
pub(super) fn tool_lines(model: &Model, values: &Values, last: &[String]) -> Vec<String> {
    let typed = names(values.text("tools"));
    let held = model.goods.usable(&typed).1;
    let left_out: Vec<&str> =
        model.goods.usable(last).1.into_iter().filter(|name| !held.iter().any(|h| same(h, name))).collect();
    let mut lines: Vec<String> = held.iter().map(|name| format!("{name} is HELD: take another one.")).collect();
    lines.extend(left_out.iter().map(|name| format!("{name} is HELD and left out.")));
    if typed.is_empty() {
        lines.push("No knife or table is named: a trace by either will not find this lot.".into());
    }
    lines
}

/// Trays of the crop that stand uncovered, those asked for and their batch first.
fn options(model: &Model, trays: &[TrayId]) -> Vec<Opt> {
    let Some(first) = trays.first().and_then(|id| model.board.tray(*id)) else { return vec![] };
    let open = |tray: &&TrayCard| trays.contains(&tray.id) || matches!(tray.stage, Stage::Lit | Stage::Ready);
    let mut cards: Vec<&TrayCard> = model.board.trays.iter().filter(|t| t.crop == first.crop).filter(open).collect();
    cards.sort_by_key(|tray| (!trays.contains(&tray.id), tray.sowing != first.sowing, tray.sown));
    cards
        .into_iter()
        .map(|tray| {
            let stands = format!("{}, {}, day {}", tray.stands(), tray.sowing_code, tray.day(model.today()));
            let bar = tray.cut_bar(model.now).map_or_else(String::new, |why| format!("; {why}"));
            Opt::new(tray.id.0.to_string(), tray.code()).hint(format!("{stands}{bar}"))
        })
        .collect()
}

fn mats(tray: Option<&TrayCard>) -> Vec<Opt> {
    let left = tray.map_or(1, |tray| tray.mats_left);
    let some = (1..left).map(|n| Opt::new(n.to_string(), format!("{n} of {left}")).hint("the rest goes back"));
    std::iter::once(Opt::new(ALL, format!("all {left}"))).chain(some).collect()
}

/// The trays ticked, as they stand now.
fn ticked<'m>(model: &'m Model, values: &Values) -> Vec<&'m TrayCard> {
    let ids = values.many("trays");
    ids.iter().filter_map(|id| model.board.tray(TrayId(id.parse().ok()?))).collect()
}

fn one_by_one(trays: &[&TrayCard], values: &Values) -> bool {
    trays.len() > 1 && trays.len() <= EACH.len() && values.text("how") == ONE_BY_ONE
}

pub(super) fn changed(model: &Model, form: &mut Form) {
    let values = form.values();
    let trays = ticked(model, &values);
    let one = match trays.as_slice() {
        [one] if one.mats_left > 1 => Some(*one),
        _ => None,
    };
    form.set_options("mats", mats(one));
    form.show("mats", one.is_some());
    form.show("how", trays.len() > 1 && trays.len() <= EACH.len());
    let again = trays.first().and_then(|tray| model.crops.iter().find(|crop| crop.id == tray.crop));
    form.show("again", again.is_some_and(|crop| crop.second_cut));
    let each = one_by_one(&trays, &form.values());
    form.show("grams", !each);
    for (n, id) in EACH.into_iter().enumerate() {
        let tray = trays.get(n).filter(|_| each);
        if let Some(tray) = tray {
            form.set_label(id, &tray.code());
        }
        form.show(id, tray.is_some());
    }
    let values = form.values();
    form.lines = lines(model, &trays, &values);
    form.lines.extend(tool_lines(model, &values, &model.goods.last_use.cut));
}

/// Mats of the only tray that are cut; `None`: all that are left.
fn some_mats(trays: &[&TrayCard], values: &Values) -> Option<i64> {
    if trays.len() == 1 { values.text("mats").parse().ok() } else { None }
}

fn weighed(trays: &[&TrayCard], values: &Values) -> Option<i64> {
    if one_by_one(trays, values) {
        EACH.iter().take(trays.len()).map(|id| scaled(values, id, 1.0)).sum()
    } else {
        scaled(values, "grams", 1.0)
    }
}

/// What is usual, what was weighed, and what stands against the cut.
fn lines(model: &Model, trays: &[&TrayCard], values: &Values) -> Vec<String> {
    let weight = |grams: i64| model.board.units().weight(grams * 1000);
    let part = some_mats(trays, values);
    let share = |tray: &TrayCard, grams: i64| part.map_or(grams, |mats| grams * mats / tray.mats_left.max(1));
    let usual: Option<i64> = trays.iter().map(|tray| tray.usual_g.map(|grams| share(tray, grams))).sum();
    let mut lines = vec![match usual.filter(|grams| *grams > 0) {
        Some(grams) => format!("{}: about {} usual.", counted(trays.len(), "tray"), weight(grams)),
        None => format!("{}: nothing is known of what is usual.", counted(trays.len(), "tray")),
    }];
    if let (Some(grams), Ok(n @ 2..)) = (weighed(trays, values), i64::try_from(trays.len())) {
        lines.push(format!("{} together, {} a tray on average.", weight(grams), weight(grams / n)));
    }
    if let (Some(mats), [tray]) = (part, trays) {
        let rest = tray.mats_left - mats;
        lines.push(format!("{rest} of its {} mats go back and stay at {}.", tray.mats_left, tray.place.label()));
    }
    lines.extend(trays.iter().filter_map(|tray| Some(format!("{}: {}.", tray.code(), tray.cut_bar(model.now)?))));
    lines.extend(trays.iter().filter_map(|tray| window(model, tray)));
    lines
}

/// Early or late against the plan.
fn window(model: &Model, tray: &TrayCard) -> Option<String> {
    let (code, day, plan) = (tray.code(), tray.day(model.today()), &tray.plan);
    if day < plan.cut_from_d {
        let ahead = tray.moved_forecast();
        let ahead =
            ahead.map_or_else(String::new, |f| format!(" By forecast day {} to {}, ±{} d.", f.from, f.to, f.band));
        Some(format!("{code}: early, day {day}; its window opens on day {}.{ahead}", plan.cut_from_d))
    } else if day > plan.cut_to_d {
        Some(format!("{code}: late, day {day}; its window ended on day {}.", plan.cut_to_d))
    } else {
        None
    }
}

pub(super) fn action(model: &Model, values: &Values) -> Result<Action, Wrong> {
    let trays = ticked(model, values);
    if trays.len() != values.many("trays").len() {
        return Err((Some("trays"), "One of the trays does not stand in the room any more: untick it.".into()));
    }
    let each = one_by_one(&trays, values);
    let mats = some_mats(&trays, values);
    let cuts = trays
        .iter()
        .zip(EACH.iter().map(Some).chain(std::iter::repeat(None)))
        .map(|(tray, id)| CutTray {
            tray: tray.id,
            mats,
            grams: id.filter(|_| each).and_then(|id| scaled(values, id, 1.0)),
        })
        .collect();
    Ok(Action::Harvest(Box::new(NewHarvest {
        cuts,
        grams: if each { None } else { scaled(values, "grams", 1.0) },
        again: values.yes("again"),
        tools: named_tools(values)?,
        sure: values.sure().to_vec(),
    })))
}
