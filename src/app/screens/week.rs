//! The week reviewed: five sentences, and behind each of them its figures down to the trays.

use super::form_page;
use super::forms::{FormKind, period, week as form};
use super::pick::Pick;
use super::story;
use crate::app::command::Command;
use crate::app::effect::{Effect, Query};
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::code::Code;
use crate::domain::history::{Of, Record};
use crate::domain::id::TrayId;
use crate::domain::period::Period;
use crate::domain::room::Units;
use crate::domain::week::{self, Line, Open, Part, Told};

/// Which days, what they came to, and which pages lie on each other.
#[derive(Debug, Clone)]
pub struct State {
    pub period: Period,
    /// Unknown until it is loaded.
    pub told: Option<Box<Told>>,
    /// The page on top last, each with the line under the cursor.
    pub pages: Vec<(Part, usize)>,
}

impl State {
    fn new(period: Period) -> Self {
        Self { period, told: None, pages: vec![(Part::Plain, 0)] }
    }

    pub fn part(&self) -> Part {
        self.pages.last().map_or(Part::Plain, |(part, _)| *part)
    }

    pub fn at(&self) -> usize {
        self.pages.last().map_or(0, |(_, at)| *at)
    }
}

/// `Week 2026-W47, 2026-11-16 to 2026-11-22: seed lots and shelves`.
pub fn title(state: &State) -> String {
    let days = crate::domain::text::sentence_case(&week::span_words(state.period));
    let of = |part| match part {
        Part::Plain => None,
        Part::Crops => Some("crops".to_string()),
        Part::Crop(crop) => {
            let crops = state.told.as_ref().map(|told| &told.review.crops);
            crops.and_then(|crops| crops.iter().find(|one| one.crop == crop)).map(|one| one.name.clone())
        }
        Part::Losses => Some("losses".into()),
        Part::Drift => Some("against before".into()),
        Part::Differ => Some("what differs".into()),
        Part::Sold => Some("orders and money".into()),
        Part::Why => Some("how it was counted".into()),
        Part::Pictures => Some("pictures".into()),
    };
    of(state.part()).map_or_else(|| days.clone(), |part| format!("{days}: {part}"))
}

/// Opens the last week that is over, or the running one in a book that is younger.
pub fn open(model: &mut Model) -> Vec<Effect> {
    let period = week::last(model.today());
    model.open(Screen::Week(State::new(period)));
    vec![Effect::Load(Query::Week(period))]
}

/// Other days on the page that is open.
pub fn ask(model: &mut Model, period: Period) -> Vec<Effect> {
    if let Some(state) = state_mut(model) {
        *state = State::new(period);
    }
    vec![Effect::Load(Query::Week(period))]
}

fn state_mut(model: &mut Model) -> Option<&mut State> {
    model.screens.iter_mut().rev().find_map(|screen| match screen {
        Screen::Week(state) => Some(state),
        _ => None,
    })
}

/// What is reviewed, on whatever lies over it.
fn told(model: &Model) -> Option<&Told> {
    model.screens.iter().rev().find_map(|screen| match screen {
        Screen::Week(state) => state.told.as_deref(),
        _ => None,
    })
}

pub fn loaded(model: &mut Model, told: Told) {
    let units = model.board.units();
    if let Some(state) = state_mut(model)
        && state.period == told.review.period
    {
        follow(state, &told, units);
        state.told = Some(Box::new(told));
    }
}

/// Keeps the cursor of every page on what it was on, though there are more lines above it now.
fn follow(state: &mut State, told: &Told, units: Units) {
    let Some(before) = &state.told else { return };
    for (part, at) in &mut state.pages {
        let opens = week::lines(before, *part, units).into_iter().nth(*at).and_then(|line| line.opens);
        let Some(opens) = opens else { continue };
        let now = week::lines(told, *part, units);
        let same = now.iter().enumerate().filter(|(_, line)| line.opens.as_ref().is_some_and(|of| of.same(&opens)));
        *at = same.map(|(n, _)| n).min_by_key(|n| n.abs_diff(*at)).unwrap_or(*at);
    }
}

/// The lines of the page on top; `ascii`: where nothing else can be drawn.
pub fn lines(model: &Model, state: &State, ascii: bool) -> Vec<Line> {
    let Some(told) = &state.told else { return vec![Line::said("Counting ...")] };
    if state.part() != Part::Pictures {
        return week::lines(told, state.part(), model.board.units());
    }
    let width = usize::from(model.size.0).saturating_sub(4).clamp(40, 100);
    let mut lines = Vec::new();
    for picture in week::pictures(told, model.board.units(), &model.board.racks) {
        lines.extend(picture.lines(width, ascii).into_iter().map(Line::said));
        lines.push(Line::said(""));
    }
    lines
}

pub fn command(model: &mut Model, command: Command) -> Vec<Effect> {
    let Some(Screen::Week(state)) = model.screens.last() else { return vec![] };
    let lines = lines(model, state, false);
    let at = state.at().min(lines.len().saturating_sub(1));
    let to = match command {
        Command::Up => before(&lines, at),
        Command::Down => after(&lines, at),
        Command::PageUp => (0..10).fold(at, |at, _| before(&lines, at)),
        Command::PageDown => (0..10).fold(at, |at, _| after(&lines, at)),
        Command::First => 0,
        Command::Last => lines.iter().rposition(|line| !line.text.is_empty()).unwrap_or(0),
        _ => {
            let (period, part, deep) = (state.period, state.part(), state.pages.len() > 1);
            return other(model, (period, part, deep), lines.into_iter().nth(at), command);
        }
    };
    if let Some((_, at)) = state_mut(model).and_then(|state| state.pages.last_mut()) {
        *at = to;
    }
    vec![]
}

/// So many lines are looked through for one that opens; beyond, the page goes on line by line.
const NEAR: usize = 12;

/// The line before that opens, or the one with something on it.
fn before(lines: &[Line], at: usize) -> usize {
    let near = lines.get(at.saturating_sub(NEAR)..at).unwrap_or_default();
    if let Some(n) = near.iter().rposition(|line| line.opens.is_some()) {
        return at - near.len() + n;
    }
    lines.iter().take(at).rposition(|line| !line.text.is_empty()).unwrap_or(at.min(lines.len().saturating_sub(1)))
}

fn after(lines: &[Line], at: usize) -> usize {
    if let Some(n) = lines.iter().skip(at + 1).take(NEAR).position(|line| line.opens.is_some()) {
        return at + 1 + n;
    }
    lines.iter().skip(at + 1).position(|line| !line.text.is_empty()).map_or(at, |n| at + 1 + n)
}

/// `deep`: a page lies over the sentences.
fn other(
    model: &mut Model,
    (period, part, deep): (Period, Part, bool),
    line: Option<Line>,
    command: Command,
) -> Vec<Effect> {
    let opens = line.and_then(|line| line.opens);
    match command {
        Command::Back if deep => {
            if let Some(state) = state_mut(model) {
                state.pages.pop();
            }
        }
        Command::Back => model.back(),
        Command::Part(to) => show(model, to),
        Command::Why => show(model, Part::Why),
        Command::Left | Command::Right => {
            if let Some(period) = week::step(period, command == Command::Right, model.today()) {
                return ask(model, period);
            }
            model.refuse("There is nothing after today: Left goes back.");
        }
        Command::Weeks => form_page::open(model, FormKind::Week(form::Of::Span)),
        Command::Sign => form_page::open(model, FormKind::Period(period::Of::Review(period))),
        Command::PrintPage => return vec![Effect::PrintWeek(period)],
        Command::Open => return open_line(model, opens),
        Command::MarkWeight => match opens {
            Some(Open::Weight(one)) => {
                form_page::open(model, FormKind::Week(form::Of::Mark(one.lot, one.own, !one.odd)));
            }
            _ => model.refuse("Go to the line of a weight first: c, a crop, Enter."),
        },
        Command::Baseline => match (part, opens) {
            (Part::Crop(crop), _) | (_, Some(Open::Part(Part::Crop(crop)))) => {
                let in_force = told(model).and_then(|told| told.past.baselines.get(&crop)).map(|base| base.days);
                form_page::open(model, FormKind::Week(form::Of::Baseline(crop, in_force.unwrap_or(period))));
            }
            _ => model.refuse("Go to the line of a crop first: c lists them."),
        },
        _ => {}
    }
    vec![]
}

fn show(model: &mut Model, part: Part) {
    if let Some(state) = state_mut(model) {
        state.pages.retain(|(open, _)| *open != part);
        if state.pages.is_empty() {
            state.pages.push((Part::Plain, 0));
        }
        if part != Part::Plain || state.part() != Part::Plain {
            state.pages.push((part, 0));
        }
    }
}

fn open_line(model: &mut Model, opens: Option<Open>) -> Vec<Effect> {
    match opens {
        None => model.refuse("Nothing lies behind this line: Up and Down go to one that has something."),
        Some(Open::Part(part)) => show(model, part),
        Some(Open::Trays(title, trays)) => model.open(Screen::Menu(list(model, &title, &trays))),
        Some(Open::Weight(one)) => {
            let trays: Vec<TrayId> = one.on.iter().map(|on| on.tray).collect();
            let title = format!("{} of {}", one.code, one.day);
            let mut menu = list(model, &title, &trays);
            let lot = Pick::Story(Of::Lot(one.lot), format!("Lot {}", one.code));
            menu.items.insert(0, Item::new(format!("lot {}", one.code), lot).hint("its story"));
            model.open(Screen::Menu(menu));
        }
        Some(Open::Lot(lot, code)) => return story::open(model, Of::Lot(lot), &format!("Lot {code}")),
        Some(Open::Order(order, title)) => {
            return story::open(model, Of::Record(Record::Order, order.0), &title);
        }
    }
    vec![]
}

/// Trays with what is known of them, each with its story behind it.
fn list(model: &Model, title: &str, trays: &[TrayId]) -> Menu<Pick> {
    let told = told(model);
    let item = |tray: &TrayId| {
        let code = Code::tray(tray.0).shown();
        let about = told.map(|told| week::about_tray(told, *tray, model.board.units()));
        let about = about.filter(|about| !about.is_empty()).unwrap_or_else(|| "its story".into());
        Item::new(code.clone(), Pick::Story(Of::Tray(*tray), format!("Tray {code}"))).hint(about)
    };
    Menu::new(title, trays.iter().map(item).collect())
}
