//! Why the forecast of a batch says what it says.

use crate::app::model::{Model, Screen};
use crate::domain::forecast::{Forecast, MOST, lead_words};
use crate::domain::id::SowingId;
use crate::domain::tray::TrayCard;

/// The batch in question and the first line shown.
#[derive(Debug, Clone)]
pub struct State {
    pub sowing: SowingId,
    pub from: usize,
}

pub fn open(model: &mut Model, sowing: SowingId) {
    model.open(Screen::Why(State { sowing, from: 0 }));
}

/// A tray of the batch: all of them share plan and forecast.
fn tray<'m>(model: &'m Model, state: &State) -> Option<&'m TrayCard> {
    model.board.trays.iter().find(|tray| tray.sowing == state.sowing)
}

pub fn title(model: &Model, state: &State) -> String {
    tray(model, state).map_or_else(
        || "Why".to_string(),
        |tray| format!("Why: batch {}, {}, day {}", tray.sowing_code, tray.crop_name, tray.day(model.today())),
    )
}

/// The explanation, a sentence each; an empty one parts them.
pub fn lines(model: &Model, state: &State) -> Vec<String> {
    let Some(tray) = tray(model, state) else {
        return vec!["No tray of this batch stands in the room any more.".into()];
    };
    let plan = &tray.plan;
    let window = format!(
        "The plan's window: {} to {}, day {} to {}.",
        tray.cut_from().format("%a %d %b"),
        tray.cut_to().format("%a %d %b"),
        plan.cut_from_d,
        plan.cut_to_d
    );
    let mut lines = match &tray.forecast {
        Some(forecast) => {
            let mut lines = seen(tray, forecast);
            lines.extend([String::new(), window, arithmetic(forecast)]);
            lines.push(result(tray, forecast));
            lines
        }
        None => vec![nothing(tray).to_string(), String::new(), window],
    };
    lines.extend([
        String::new(),
        "The forecast is an estimate. Signs, days left and \"ready\" go by the plan.".into(),
        "Days are no clearance: no forecast clears a tray, people do, after looking at it.".into(),
    ]);
    lines
}

/// Why there is no forecast.
fn nothing(tray: &TrayCard) -> &'static str {
    if tray.roots_hidden {
        "The roots of this crop are hidden, so nothing is forecast: the plan's window stands."
    } else if tray.plan.roots.is_empty() {
        "The plan of this crop says nothing of roots, so nothing is forecast: its window stands."
    } else {
        "No roots were graded since day 1, so nothing is forecast: the plan's window stands."
    }
}

/// The grades seen, day by day, against the plan's.
fn seen(tray: &TrayCard, forecast: &Forecast) -> Vec<String> {
    let day = |(day, grade): &(i64, crate::domain::look::Roots)| {
        let planned = tray.plan.roots_on(*day).map_or("nothing yet", crate::domain::look::Roots::shown);
        let lead = lead_words(tray.plan.lead(*day, *grade));
        format!("  day {day}: roots {}, the plan says {planned}: {lead}", grade.shown())
    };
    let head = "Roots seen, of each day the slowest tray's:".to_string();
    std::iter::once(head).chain(forecast.seen.iter().map(day)).collect()
}

/// From the lead to the shift.
fn arithmetic(forecast: &Forecast) -> String {
    let lead = lead_words(forecast.lead);
    let one_day = forecast.seen.len() == 1;
    let counted = if one_day { forecast.lead / 2 } else { forecast.lead };
    let newest = if one_day {
        format!("Grades of one day only, {lead}: half of it counts, {} d.", counted.abs())
    } else {
        format!("The newest day counts: {lead}.")
    };
    if counted.abs() > MOST { format!("{newest} More than {MOST} d are never counted.") } else { newest }
}

/// The window that comes of it.
fn result(tray: &TrayCard, forecast: &Forecast) -> String {
    let window = forecast.window(tray.sown);
    let shift = match forecast.shift {
        0 => "as planned".to_string(),
        late if late > 0 => format!("{late} d later"),
        early => format!("{} d earlier", -early),
    };
    format!(
        "The forecast: {shift}, {} to {}, give or take {} d (1 d, and 1 d for each day moved).",
        window.from.format("%a %d %b"),
        window.to.format("%a %d %b"),
        window.band
    )
}
