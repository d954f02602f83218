//! The first start: seven short questions, one at a time, each with a sensible default.

use super::forms::unit_options;
use crate::app::effect::{Effect, Failure};
use crate::app::form::{Field, Form, Opt, Outcome, State as FormState, Values};
use crate::app::key::Key;
use crate::app::model::{Model, Screen};
use crate::app::update::keep_drafts;
use crate::domain::action::Action;
use crate::domain::person::{parse_initials, parse_room_code};
use crate::domain::room::{Units, parse_racks};
use crate::domain::setup::{NewFormat, NewRoom, lay_out};
use crate::domain::starter::starter_crops;
use crate::domain::time::Day;

/// The questions by the ids of their fields, in order.
const QUESTIONS: &[&str] = &["name", "code", "initials", "units", "racks", "tray", "crops"];

/// Which question stands on the screen.
#[derive(Debug, Clone)]
pub struct State {
    pub form: Form,
    pub question: usize,
}

impl State {
    pub fn new(today: Day) -> Self {
        let crops = starter_crops().unwrap_or_default();
        let options = crops.iter().map(|crop| Opt::new(crop.letters.clone(), crop.name.clone())).collect();
        let usual: Vec<&str> =
            crops.iter().map(|c| c.letters.as_str()).filter(|l| ["RAD", "BRO", "PEA", "SUN"].contains(l)).collect();
        let fields = vec![
            Field::text("name", "What is the room called?", 60).required().starting("Grow room"),
            Field::text("code", "Two letters for it?", 2)
                .required()
                .starting("GR")
                .help("Printed before every lot code, so that books of several rooms can stand side by side."),
            Field::text("initials", "Your initials?", 4)
                .required()
                .help("Two to four letters; every entry carries them."),
            Field::choice("units", "Units?", unit_options()).required().starting("metric"),
            Field::text("racks", "How are the racks built?", 120)
                .required()
                .starting("2 x 5 x 4")
                .help("Racks x shelves x places: 2 x 5 x 4 is two racks of five shelves for four trays. Racks that differ, shelves x places each: 5x4, 4x6."),
            Field::choice(
                "tray",
                "Which tray?",
                vec![
                    Opt::new("508x254", "10 x 20 in").hint("254 x 508 mm inside, nominal"),
                    Opt::new("254x254", "10 x 10 in").hint("254 x 254 mm inside, nominal"),
                    Opt::new("600x400", "600 x 400 mm").hint("outside size; measure the inside"),
                ],
            )
            .required()
            .starting("508x254")
            .help("Makers' inner sizes differ; other formats can be added in settings."),
            Field::many("crops", "Which crops?", options)
                .required()
                .starting(&usual.join("\n"))
                .help("Space marks one. All figures can be changed in settings."),
        ];
        let mut state = Self { form: Form::new("A new room", today, fields), question: 0 };
        state.show();
        state
    }

    fn show(&mut self) {
        for (n, id) in QUESTIONS.iter().enumerate() {
            self.form.show(id, n == self.question);
        }
        if let Some(id) = QUESTIONS.get(self.question) {
            self.form.focus_on(id);
        }
        let (n, of) = (self.question + 1, QUESTIONS.len());
        self.form.ends = (if n == of { "begin" } else { "next" }, if n == 1 { "quit" } else { "back" });
        self.form.title = format!("A new room: question {n} of {of}");
        self.form.intro = vec![
            "Enter takes the answer, Esc goes back one question. All of it can be changed later in settings.".into(),
        ];
    }
}

/// A key for the question on the screen.
pub fn key(model: &mut Model, key: Key) -> Vec<Effect> {
    let today = model.today();
    let Some(Screen::Setup(state)) = model.screens.last_mut() else { return vec![] };
    match state.form.key(key, today) {
        Outcome::Stay | Outcome::Changed => vec![],
        Outcome::Cancel if state.question == 0 => {
            keep_drafts(model);
            vec![Effect::KeepDrafts, Effect::Quit]
        }
        Outcome::Cancel => {
            state.question -= 1;
            state.show();
            vec![]
        }
        Outcome::Submit(values) => match answer(state, &values) {
            Ok(None) => {
                state.question += 1;
                state.show();
                vec![]
            }
            Ok(Some(action)) => {
                state.form.state = FormState::Saving;
                vec![Effect::Act(Box::new(action))]
            }
            Err((id, sentence)) => {
                state.form.refuse(id, sentence);
                vec![]
            }
        },
    }
}

/// Checks the answer on the screen; after the last one, the room.
fn answer(state: &mut State, values: &Values) -> Result<Option<Action>, (&'static str, String)> {
    match QUESTIONS.get(state.question).copied() {
        Some("code") => parse_room_code(values.text("code")).map(|_| None).map_err(|why| ("code", why)),
        Some("initials") => parse_initials(values.text("initials")).map(|_| None).map_err(|why| ("initials", why)),
        Some("racks") => parse_racks(values.text("racks")).map(|_| None).map_err(|why| ("racks", why)),
        Some("crops") => {
            for id in QUESTIONS {
                state.form.show(id, true);
            }
            let all = state.form.values();
            state.show();
            room(&all).map(|room| Some(Action::SetUp(Box::new(room))))
        }
        _ => Ok(None),
    }
}

fn room(values: &Values) -> Result<NewRoom, (&'static str, String)> {
    let shapes = parse_racks(values.text("racks")).map_err(|why| ("racks", why))?;
    let format = match values.text("tray") {
        "254x254" => NewFormat { name: "10 x 10 in".into(), length_mm: 254, width_mm: 254 },
        "600x400" => NewFormat { name: "600 x 400 mm".into(), length_mm: 600, width_mm: 400 },
        _ => NewFormat::nominal(),
    };
    Ok(NewRoom {
        name: values.text("name").trim().to_string(),
        code: parse_room_code(values.text("code")).map_err(|why| ("code", why))?,
        initials: parse_initials(values.text("initials")).map_err(|why| ("initials", why))?,
        units: Units::from_stored(values.text("units")).unwrap_or(Units::Metric),
        racks: lay_out(&shapes),
        format,
        crops: values.many("crops"),
    })
}

/// The book did not take it.
pub fn refused(state: &mut State, failure: &Failure) {
    state.form.state = FormState::Refused(failure.sentence());
}
