//! Rows of dots on paper: equal ones stand on each other, the mean with how far off it may be lies below them.

use maud::{Markup, html};

use super::{Drawn, LINE, TOP, WIDE, label, n, steps, stroke, text, wide};
use crate::domain::picture::{At, DotRow, Dots, Scale, shown};

/// Rows of one picture.
const MOST: usize = 12;
/// Dots: half as wide as they are, and how high a pile of them may be, in a picture of few rows and of many.
const DOT: f64 = 2.4;
const PILE: [f64; 2] = [40.0, 10.0];
const FEW: usize = 6;

/// Where the plot begins and ends; beyond its ends there is room for what lies off the scale.
#[derive(Clone, Copy)]
struct Plot {
    left: f64,
    right: f64,
    scale: Scale,
}

impl Plot {
    fn x(self, value: f64) -> f64 {
        match self.scale.at(value) {
            At::Below => self.left - 9.0,
            At::On(part) => self.left + part * (self.right - self.left),
            At::Above => self.right + 9.0,
        }
    }
}

pub(super) fn drawn(dots: &Dots) -> Option<Drawn> {
    let scale = dots.scale()?;
    let rows: Vec<&DotRow> = dots.rows.iter().take(MOST).collect();
    let names = rows.iter().map(|row| wide(&row.label)).fold(20.0, f64::max).min(84.0);
    let plot = Plot { left: names + 18.0, right: WIDE - 106.0, scale };
    let [high, low] = PILE;
    let pile = if rows.len() > FEW { low } else { high };
    let mut y = TOP;
    let mut body = Vec::new();
    for row in &rows {
        let piles = piles(row, plot, pile);
        let above = piles.iter().map(|(_, up, _)| *up).fold(0.0, f64::max);
        // the dots stand on the base, their mean hangs below it
        let base = y + above + 2.0 * DOT;
        body.push(drawn_row(row, dots, plot, &piles, base));
        y = base + 19.0;
    }
    let axis = axis(plot, TOP - 2.0, y - 6.0);
    let mut notes = Vec::new();
    if rows.len() < dots.rows.len() {
        notes.push(format!("and {} more: the tables have them.", dots.rows.len() - rows.len()));
    }
    let beyond = dots.beyond(&scale);
    if !beyond.is_empty() {
        notes.push(format!("Beyond the scale: {}.", beyond.join("; ")));
    }
    let mut key = format!("A dot is one {}; below it the mean and how far off it may be", dots.each);
    if rows.iter().flat_map(|row| row.marks()).any(|(_, odd)| odd) {
        key += "; crossed: check this entry";
    }
    notes.push(format!("{key}."));
    // lines of the scale lie below the dots
    Some(Drawn { body: html! { (axis) @for row in &body { (row) } }, end: y + 6.0, notes })
}

/// Each value with its place: across, how far up, and whether it is to be checked.
fn piles(row: &DotRow, plot: Plot, high: f64) -> Vec<(f64, f64, bool)> {
    let marks = row.marks();
    let mut piles: Vec<(f64, Vec<bool>)> = Vec::new();
    for (value, odd) in marks {
        let x = plot.x(value);
        match piles.last_mut() {
            Some((at, pile)) if x - *at < 1.8 * DOT => pile.push(odd),
            _ => piles.push((x, vec![odd])),
        }
    }
    let placed = |(x, pile): (f64, Vec<bool>)| {
        let floors = u32::try_from(pile.len().saturating_sub(1)).unwrap_or(1).max(1);
        let apart = (2.0 * DOT).min(high / f64::from(floors));
        steps(0.0, apart).zip(pile).map(move |(up, odd)| (x, up, odd)).collect::<Vec<_>>()
    };
    piles.into_iter().flat_map(placed).collect()
}

fn drawn_row(row: &DotRow, dots: &Dots, plot: Plot, piles: &[(f64, f64, bool)], base: f64) -> Markup {
    let (first, second) = row.figures(dots);
    html! {
        (text((0.0, base + 1.0), "start", &label(&row.label, plot.left - 18.0)))
        @for (x, up, odd) in piles { (dot(*x, base - DOT - up, *odd)) }
        (mean(row, plot, base + 4.5))
        (text((WIDE, base + 1.0), "end", &label(&first, 94.0)))
        @if !second.is_empty() { (text((WIDE, base + LINE), "end", &label(&second, 94.0))) }
    }
}

fn dot(x: f64, y: f64, odd: bool) -> Markup {
    let arm = DOT + 1.2;
    html! {
        @if odd {
            circle cx=(n(x)) cy=(n(y)) r=(DOT) fill="#fff" stroke="#000" stroke-width="0.8" {}
            path d=(format!("M{} {}l{arm} {arm}m0 -{arm}l-{arm} {arm}", n(x - arm / 2.0), n(y - arm / 2.0))) stroke="#000"
                stroke-width="0.8" fill="none" {}
        } @else {
            circle cx=(n(x)) cy=(n(y)) r=(DOT) {}
        }
    }
}

/// The interval as a bar with ends, the mean as an upright on it; an end beyond the scale is open.
fn mean(row: &DotRow, plot: Plot, y: f64) -> Markup {
    if row.marks().len() < 3 {
        return html! {};
    }
    let end = |x: f64| matches!(plot.scale.at(x), At::On(_)).then(|| plot.x(x));
    let at = row.mean().and_then(end);
    html! {
        @if let Some((low, high)) = row.interval() {
            (stroke((plot.x(low), y), (plot.x(high), y), "1.4", "#000"))
            @for x in [low, high].into_iter().filter_map(end) { (stroke((x, y - 2.5), (x, y + 2.5), "1", "#000")) }
        }
        @if let Some(x) = at {
            line x1=(n(x)) y1=(n(y - 3.5)) x2=(n(x)) y2=(n(y + 3.5)) stroke="#000" stroke-width="2.4" {
                title { "mean " (row.mean().map_or_else(String::new, shown)) }
            }
        }
    }
}

fn axis(plot: Plot, top: f64, bottom: f64) -> Markup {
    html! {
        @for tick in plot.scale.ticks() {
            @let x = plot.x(tick);
            (stroke((x, top), (x, bottom), "0.5", "#bbb"))
            (text((x, bottom + 10.0), "middle", &plot.scale.round(tick)))
        }
        (stroke((plot.left - 12.0, bottom), (plot.right + 12.0, bottom), "0.8", "#000"))
    }
}
