//! Rows of dots over one scale, each with its mean and how far off that may be.

use super::super::{At, DotRow, Dots, Scale};
use super::{Pen, ROWS, Sign, Strip, cell};
use crate::domain::text::{columns, padded};

/// Two columns of the plot are kept for what lies beyond its ends.
const ENDS: usize = 2;

pub(super) fn drawn(dots: &Dots, pen: Pen) -> Option<Vec<String>> {
    let scale = dots.scale()?;
    // two rows each where there is room for them
    let notes = |roomy: bool| pen.notes(&notes(dots, &scale, roomy, pen));
    // title, line of the scale, its numbers
    let room = ROWS.saturating_sub(notes(true).len() + 3);
    let roomy = dots.rows.len() * 2 <= room;
    let notes = notes(roomy);
    let shown = if dots.rows.len() <= room { dots.rows.len() } else { room.saturating_sub(1) };
    let rows: Vec<&DotRow> = dots.rows.iter().take(shown).collect();
    let label = rows.iter().map(|row| columns(&row.label)).max().unwrap_or(0).min(pen.width / 4);
    let said: Vec<(String, String)> = rows.iter().map(|row| figures(row, dots, roomy, pen)).collect();
    let widest = said.iter().flat_map(|(first, second)| [columns(first), columns(second)]).max().unwrap_or(0);
    let widest = widest.min(pen.width * 2 / 5);
    let plot = pen.width.saturating_sub(label + widest + 2);
    let mut lines = Vec::new();
    for (row, (first, second)) in rows.iter().zip(&said) {
        let name = padded(&pen.label(&row.label, label), label);
        lines.push(format!("{name} {} {}", values(row, &scale, plot, pen).text(), pen.label(first, widest)));
        let mean = mean(row, &scale, plot, pen).text();
        if roomy && !(mean.trim().is_empty() && second.is_empty()) {
            lines.push(format!("{} {mean} {}", " ".repeat(label), pen.label(second, widest)));
        }
    }
    lines.extend(axis(&scale, plot, pen).map(|row| format!("{} {row}", " ".repeat(label))));
    if shown < dots.rows.len() {
        lines.push(format!("and {} more: the tables have them.", dots.rows.len() - shown));
    }
    lines.extend(notes);
    Some(lines)
}

/// How many and what on average; where each has one row only, with how far off that may be as far as there is room.
fn figures(row: &DotRow, dots: &Dots, roomy: bool, pen: Pen) -> (String, String) {
    let (first, second) = row.figures(dots);
    if roomy {
        return (first, second);
    }
    let both = if second.is_empty() { first.clone() } else { format!("{first} ({second})") };
    (if columns(&both) <= pen.width * 2 / 5 { both } else { first }, String::new())
}

fn column(part: f64, plot: usize) -> usize {
    1 + cell(part, plot.saturating_sub(ENDS))
}

/// One value is a dot, several at one place are their number, what is to be checked is crossed.
fn values(row: &DotRow, scale: &Scale, plot: usize, pen: Pen) -> Strip {
    let mut strip = Strip::new(plot);
    let mut at_place: Vec<(usize, bool)> = vec![(0, false); plot];
    for (x, odd) in row.marks() {
        match scale.at(x) {
            At::Below => strip.set(0, '<'),
            At::Above => strip.set(plot.saturating_sub(1), '>'),
            At::On(part) => {
                if let Some((n, check)) = at_place.get_mut(column(part, plot)) {
                    *n += 1;
                    *check |= odd;
                }
            }
        }
    }
    for (at, (n, check)) in at_place.into_iter().enumerate() {
        match n {
            0 => {}
            _ if check => strip.set(at, pen.sign(Sign::Check)),
            1 => strip.set(at, pen.sign(Sign::Dot)),
            n => strip.set(at, u32::try_from(n).ok().and_then(|n| char::from_digit(n, 10)).unwrap_or('+')),
        }
    }
    strip
}

fn mean(row: &DotRow, scale: &Scale, plot: usize, pen: Pen) -> Strip {
    let mut strip = Strip::new(plot);
    if row.marks().len() < 3 {
        return strip;
    }
    if let Some((low, high)) = row.interval() {
        let end = |x: f64, sign: Sign| match scale.at(x) {
            At::Below => (0, '<'),
            At::Above => (plot.saturating_sub(1), '>'),
            At::On(part) => (column(part, plot), pen.sign(sign)),
        };
        let (left, right) = (end(low, Sign::Begin), end(high, Sign::End));
        strip.fill(left.0, right.0, pen.sign(Sign::Line));
        strip.set(left.0, left.1);
        strip.set(right.0, right.1);
    }
    if let Some(At::On(part)) = row.mean().map(|mean| scale.at(mean)) {
        strip.set(column(part, plot), pen.sign(Sign::Mean));
    }
    strip
}

/// The line of the scale and its round numbers.
fn axis(scale: &Scale, plot: usize, pen: Pen) -> impl Iterator<Item = String> {
    let (mut rule, mut numbers) = (Strip::new(plot), Strip::new(plot));
    rule.fill(1, plot.saturating_sub(2), pen.sign(Sign::Line));
    for tick in scale.ticks() {
        let (at, text) = (column(scale.near(tick), plot), scale.round(tick));
        let from = at.saturating_sub(text.len() / 2).min(plot.saturating_sub(text.len()));
        if numbers.write(from, &text) {
            rule.set(at, pen.sign(Sign::Tick));
        }
    }
    [rule.text(), numbers.text()].into_iter()
}

/// What the signs mean, and what lies beyond the scale; only what is there is explained.
fn notes(dots: &Dots, scale: &Scale, roomy: bool, pen: Pen) -> Vec<String> {
    let mut key = vec![format!("{} one {}, a digit: so many", pen.sign(Sign::Dot), dots.each)];
    if roomy && dots.rows.iter().any(|row| row.mean().is_some() && row.marks().len() > 2) {
        let signs = [Sign::Begin, Sign::Line, Sign::Mean, Sign::Line, Sign::End].map(|sign| pen.sign(sign));
        key.push(format!("{} mean and how far off it may be", signs.iter().collect::<String>()));
    }
    if dots.rows.iter().flat_map(DotRow::marks).any(|(_, odd)| odd) {
        key.push(format!("{} check this entry", pen.sign(Sign::Check)));
    }
    let mut notes = vec![format!("{}.", key.join("; "))];
    let beyond = dots.beyond(scale);
    if !beyond.is_empty() {
        notes.insert(0, format!("Beyond the scale: {}.", beyond.join("; ")));
    }
    notes
}
