//! Hold or trace by what has no label: water of some days, a place, a cold store, somebody's hands, a knife or a table.

use chrono::Duration;

use super::{Submit, Wrong, minute, moment};
use crate::app::effect::Effect;
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::hold::NewHold;
use crate::domain::id::{PersonId, PlaceId, StoreId, ToolId};
use crate::domain::text::NOTE_GRAPHEMES;
use crate::domain::trace::{Days, Hours, Start, Way};

/// By what.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    Water,
    Place,
    Store,
    Person,
    Tool,
}

impl By {
    pub const ALL: [Self; 5] = [Self::Water, Self::Place, Self::Store, Self::Person, Self::Tool];

    pub fn shown(self) -> &'static str {
        match self {
            Self::Water => "water from one source",
            Self::Place => "a place on a rack",
            Self::Store => "a cold store",
            Self::Person => "somebody's hands",
            Self::Tool => "a knife, a table, a scale",
        }
    }

    /// What such a start is of.
    pub fn hint(self) -> &'static str {
        match self {
            Self::Water => "trays that got it, of some days",
            Self::Place => "trays that stood there, of some days",
            Self::Store => "lots that lay there, of some hours",
            Self::Person => "all they touched, of some hours",
            Self::Tool => "lots it cut or packed, of some days",
        }
    }

    fn label(self) -> &'static str {
        match self {
            Self::Water => "water from",
            Self::Place => "place",
            Self::Store => "cold store",
            Self::Person => "hands of",
            Self::Tool => "tool",
        }
    }

    /// Why there is nothing to choose from.
    pub fn none(self, model: &Model) -> Option<String> {
        self.options(model).is_empty().then(|| {
            match self {
                Self::Water => "No water was written down with where it came from yet.",
                Self::Place => "No place is in use: add a rack in settings.",
                Self::Store => "No cold store is in use yet.",
                Self::Person => "Nobody is on the list yet.",
                Self::Tool => "No knife, table or scale was named at a cut or a run yet.",
            }
            .into()
        })
    }

    fn options(self, model: &Model) -> Vec<Opt> {
        let board = &model.board;
        match self {
            Self::Water => board.water_sources.iter().map(|source| Opt::new(source, source)).collect(),
            Self::Place => {
                board.places().map(|p| Opt::new(p.id.0.to_string(), p.label()).hint(p.zone.shown())).collect()
            }
            Self::Store => {
                model.cold.in_use().map(|store| Opt::new(store.id.0.to_string(), store.name.clone())).collect()
            }
            Self::Person => board
                .people
                .iter()
                .map(|p| Opt::new(p.id.0.to_string(), p.initials.clone()).hint(p.name.clone()))
                .collect(),
            Self::Tool => {
                let held = |held| if held { "HELD" } else { "" };
                let tools = model.goods.tools.iter();
                tools.map(|tool| Opt::new(tool.id.0.to_string(), tool.name.clone()).hint(held(tool.held))).collect()
            }
        }
    }

    /// Days as a calendar has them, or hours of a clock.
    fn by_hours(self) -> bool {
        matches!(self, Self::Store | Self::Person)
    }
}

/// What is wanted of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Then {
    Hold,
    Trace,
}

const HOLD: &str = "hold";

/// Days back that are proposed.
const WEEK_D: i64 = 6;

/// `row`: what is proposed, where it was asked from its own story.
pub(super) fn build(model: &Model, by: By, then: Then, row: Option<i64>) -> Form {
    let here = model.cursor_place().filter(|_| by == By::Place).map(|place| place.id.0);
    let proposed = row.or(here).map_or_else(String::new, |row| row.to_string());
    let mut fields = vec![Field::choice("what", by.label(), by.options(model)).required().starting(&proposed)];
    fields.extend(span(model, by));
    let ways = vec![
        Opt::new(HOLD, "hold it").hint("with all that was made of it"),
        Opt::new(Way::Forward.stored(), "who has it").hint(Way::Forward.shown()),
        Opt::new(Way::Back.stored(), "what it was made of").hint("back to the seed"),
    ];
    let first = if then == Then::Hold { HOLD } else { Way::Forward.stored() };
    fields.extend([
        Field::choice("then", "then", ways).required().starting(first),
        Field::note("reason", "why", NOTE_GRAPHEMES).required().help("What was found, where, and who says so."),
    ]);
    let about = match by {
        By::Water => "Every tray that got water from there on these days, and everything made of them.",
        By::Place => "Every tray that stood there on one of these days, and everything made of them.",
        By::Store => "Every lot that lay there in these hours, and everything made of it.",
        By::Person => "Every tray and lot that was in these hands in these hours, and everything made of them.",
        By::Tool => "Every lot that it cut or packed on these days, and everything made of it.",
    };
    Form::new(format!("Hold or trace by {}", by.shown()), model.today(), fields).intro([about])
}

fn span(model: &Model, by: By) -> [Field; 2] {
    let today = model.today();
    if by.by_hours() {
        let help = "Day and time, such as 2026-07-12 06:10; 06:10 is today.";
        return [
            Field::text("from", "from", 16).required().starting(&format!("{today} 00:00")).help(help),
            Field::text("to", "to", 16).required().starting(&minute(model)).help(help),
        ];
    }
    let from = today - Duration::days(WEEK_D);
    [
        Field::date("from", "from", None, Some(today)).required().starting(&from.to_string()),
        Field::date("to", "to", None, Some(today)).required().starting(&today.to_string()),
    ]
}

pub(super) fn changed(form: &mut Form) {
    let hold = form.values().text("then") == HOLD;
    form.show("reason", hold);
    form.lines = if hold {
        vec!["Only someone who may decide lifts it (d in the room).".into()]
    } else {
        vec!["Nothing is held by it; o in the trace holds it.".into()]
    };
}

fn ends_before_it_begins() -> Wrong {
    (Some("to"), "It ends before it begins: check both.".into())
}

fn days(values: &Values) -> Result<Days, Wrong> {
    let ask = |id: &'static str| values.date(id).ok_or_else(|| (Some(id), "Say which day.".to_string()));
    let (from, to) = (ask("from")?, ask("to")?);
    if to < from { Err(ends_before_it_begins()) } else { Ok(Days { from, to }) }
}

fn hours(model: &Model, values: &Values) -> Result<Hours, Wrong> {
    let (from, to) = (moment(model, values, "from")?, moment(model, values, "to")?);
    let now = model.now.instant();
    if from > now {
        return Err((Some("from"), "That time is still to come: give one that is over.".into()));
    }
    if to < from {
        return Err(ends_before_it_begins());
    }
    if to.0 - now.0 >= Duration::minutes(1) {
        return Err((Some("to"), "That time is still to come: give one that is over.".into()));
    }
    Ok(Hours { from, to })
}

/// What the form is about.
pub fn start(model: &Model, by: By, values: &Values) -> Result<Start, Wrong> {
    let row = || {
        let row: Result<i64, _> = values.text("what").parse();
        row.map_err(|_| (Some("what"), "Choose one.".to_string()))
    };
    Ok(match by {
        By::Water => Start::Water(values.text("what").to_string(), days(values)?),
        By::Place => Start::Place(PlaceId(row()?), days(values)?),
        By::Tool => Start::Tool(ToolId(row()?), days(values)?),
        By::Store => Start::Store(StoreId(row()?), hours(model, values)?),
        By::Person => Start::Person(PersonId(row()?), hours(model, values)?),
    })
}

pub(super) fn submit(model: &Model, by: By, values: &Values) -> Result<Submit, Wrong> {
    let what = start(model, by, values)?;
    Ok(match Way::from_stored(values.text("then")) {
        Some(way) => Submit::Ask(Box::new(Effect::Trace(what, way))),
        None => Submit::Act(Box::new(Action::Hold(Box::new(NewHold::of(
            what,
            None,
            values.text("reason").trim().to_string(),
        ))))),
    })
}
