//! Shelf life in days at temperatures, as one line: `5=10, 20=3`, or in degrees Fahrenheit `41=10, 68=3`.

use super::super::{Wrong, shown};
use crate::domain::room::Units;
use crate::domain::units::{Quantity::Temperature, Unit, split_unit, trimmed};

/// Tenths of °C and hours, written in the units of the room.
#[expect(clippy::cast_precision_loss, reason = "temperatures are far below 2^53")]
pub(in super::super) fn text(anchors: &[(i64, i64)], units: Units) -> String {
    let warmth = |dc: i64| trimmed(Temperature.typed_in(units).from_kept(dc as f64 / 10.0), 1);
    anchors.iter().map(|(dc, h)| format!("{}={}", warmth(*dc), shown(*h, 24.0))).collect::<Vec<_>>().join(", ")
}

pub(in super::super) fn help(units: Units) -> String {
    format!(
        "Shelf life in days at {}, such as {}. An estimate of quality, never a safety claim.",
        Temperature.typed_in(units).name(),
        text(&[(50, 240), (200, 72)], units)
    )
}

/// Reads them back. A comma within one `degrees=days` is a decimal comma, and elsewhere parts them.
pub(in super::super) fn parse(text: &str, units: Units) -> Result<Vec<(i64, i64)>, Wrong> {
    let wrong =
        || (Some("anchors"), format!("Write degrees=days, such as {}.", self::text(&[(50, 240), (200, 72)], units)));
    let mut anchors = Vec::new();
    for pair in pairs(text) {
        let (temp, life) = pair.split_once('=').ok_or_else(wrong)?;
        let (temp, unit) = match split_unit(temp.trim()) {
            (number, "") => (number, Temperature.typed_in(units)),
            (number, word) => (number, Temperature.spelled(word).ok_or_else(wrong)?),
        };
        anchors.push((tenths(temp, unit).ok_or_else(wrong)?, hours(life).ok_or_else(wrong)?));
    }
    anchors.sort_unstable();
    if anchors.iter().any(|(dc, h)| !(-50..=450).contains(dc) || !(1..=9600).contains(h)) {
        let limits = [-5.0, 45.0].map(|c| trimmed(Temperature.typed_in(units).from_kept(c), 1));
        let degrees = Temperature.typed_in(units).name();
        let [from, to] = limits;
        return Err((
            Some("anchors"),
            format!("Temperatures from {from} to {to} {degrees}, lives from an hour to 400 days."),
        ));
    }
    Ok(anchors)
}

/// The parts with one `=` each. `5=10,20=3` has no space after its comma and is two parts all the same.
fn pairs(text: &str) -> Vec<String> {
    let spaced = text.replace(", ", ";");
    let parts = spaced.split(';').map(str::trim).filter(|part| !part.is_empty());
    parts
        .flat_map(|part| match part.matches('=').count() {
            0 | 1 => vec![part.trim_end_matches(',').replace(',', ".")],
            _ => part.split(',').map(|part| part.trim().to_string()).collect(),
        })
        .collect()
}

fn number(text: &str) -> Option<f64> {
    text.trim().parse().ok().filter(|x: &f64| x.abs() <= 400.0)
}

#[expect(clippy::cast_possible_truncation, reason = "checked to be a small figure")]
fn tenths(text: &str, unit: Unit) -> Option<i64> {
    number(text).map(|x| (unit.to_kept(x) * 10.0).round() as i64)
}

#[expect(clippy::cast_possible_truncation, reason = "checked to be a small figure")]
fn hours(text: &str) -> Option<i64> {
    number(text).map(|days| (days * 24.0).round() as i64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn warmth_in_either_scale_and_days_with_comma_or_point() {
        for (typed, units) in [
            ("5=10, 20=3.5", Units::Metric),
            ("5=10,20=3.5", Units::Metric),
            ("20=3,5; 5,0=10", Units::Metric),
            ("41 F=10, 20=3,5", Units::Metric),
            ("41=10, 68=3,5", Units::Us),
            ("5 °C=10, 68=3.5,", Units::Us),
        ] {
            assert_eq!(parse(typed, units), Ok(vec![(50, 240), (200, 84)]), "{typed}");
        }
        assert_eq!(text(&[(50, 240), (200, 84)], Units::Metric), "5=10, 20=3.5");
        assert_eq!(text(&[(50, 240), (200, 84)], Units::Us), "41=10, 68=3.5");
    }

    #[test]
    fn what_is_no_shelf_life_is_refused_in_its_own_units() {
        let said = |typed, units| parse(typed, units).unwrap_err().1;
        assert_eq!(said("5", Units::Us), "Write degrees=days, such as 41=10, 68=3.");
        assert_eq!(said("5 oz=3", Units::Metric), "Write degrees=days, such as 5=10, 20=3.");
        let warm = "Temperatures from 23 to 113 °F, lives from an hour to 400 days.";
        assert_eq!(said("120=3", Units::Us), warm);
        assert_eq!(
            parse("120=3", Units::Metric).unwrap_err().1,
            "Temperatures from -5 to 45 °C, lives from an hour to 400 days."
        );
    }

    #[test]
    fn every_shelf_life_comes_back_in_either_scale() {
        for dc in -50..=450 {
            for units in [Units::Metric, Units::Us] {
                assert_eq!(parse(&text(&[(dc, 24)], units), units), Ok(vec![(dc, 24)]), "{dc}");
            }
        }
    }
}
