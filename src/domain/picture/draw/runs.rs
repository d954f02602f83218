//! Values one after the other, with the line they should lie about and the limits they should keep to.

use super::super::{At, RunMark, Runs, Scale, shown};
use super::{Pen, Sign, Strip, cell};
use crate::domain::text::columns;

/// Rows of the plot.
const HIGH: usize = 9;
/// Columns from one point to the next, at most.
const APART: usize = 7;

pub(super) fn drawn(runs: &Runs, pen: Pen) -> Option<Vec<String>> {
    let all = runs.marks();
    let frame = Frame::of(runs, &all, pen)?;
    let skipped = all.len().saturating_sub(frame.points);
    let marks = all.get(skipped..).unwrap_or_default();
    let mut strips = vec![Strip::new(frame.wide); HIGH];
    for (line, sign) in frame.lines(runs) {
        if let Some(strip) = frame.row(line).and_then(|row| strips.get_mut(row)) {
            strip.fill(0, frame.wide, pen.sign(sign));
        }
    }
    for (n, mark) in marks.iter().enumerate() {
        let at = n * frame.apart + frame.apart / 2;
        if let Some(strip) = mark.smoothed.and_then(|x| frame.row(x)).and_then(|row| strips.get_mut(row)) {
            strip.set(at, pen.sign(Sign::Smooth));
        }
        let Some(x) = mark.value else { continue };
        let (row, sign) = match frame.scale.at(x) {
            At::Below => (HIGH - 1, 'v'),
            At::Above => (0, '^'),
            At::On(_) => (frame.row(x).unwrap_or_default(), pen.sign(if mark.signal { Sign::Look } else { Sign::Dot })),
        };
        if let Some(strip) = strips.get_mut(row) {
            strip.set(at, sign);
        }
    }
    let ticks = frame.scale.ticks();
    let mut lines: Vec<String> = strips
        .iter()
        .enumerate()
        .map(|(row, strip)| {
            let tick = ticks.iter().find(|tick| frame.row(**tick) == Some(row));
            let number = tick.map_or_else(String::new, |tick| frame.scale.round(*tick));
            let right = pen.label(&frame.right(runs, row), pen.width / 4);
            format!("{number:>0$} {1}{2} {right}", frame.left, pen.sign(Sign::Side), strip.text())
        })
        .collect();
    lines.extend(foot(&frame, marks, pen));
    lines.extend(pen.notes(&notes(runs, &frame, marks, skipped, pen)));
    Some(lines)
}

/// How the columns are shared out.
struct Frame {
    scale: Scale,
    /// Columns of the numbers, of the plot, and from one point to the next.
    left: usize,
    wide: usize,
    apart: usize,
    points: usize,
}

impl Frame {
    fn of(runs: &Runs, marks: &[RunMark<'_>], pen: Pen) -> Option<Self> {
        let scale = runs.scale(marks)?;
        let left = scale.ticks().iter().map(|tick| scale.round(*tick).len()).max().unwrap_or(0);
        let right = (0..HIGH).map(|row| columns(&text_of(runs, &scale, row))).max().unwrap_or(0).min(pen.width / 4);
        let room = pen.width.saturating_sub(left + right + 3).max(1);
        let apart = (room / marks.len().max(1)).clamp(1, APART);
        let points = marks.len().min(room / apart);
        Some(Self { scale, left, wide: (points * apart).max(1), apart, points })
    }

    fn row(&self, x: f64) -> Option<usize> {
        row(&self.scale, x)
    }

    fn lines(&self, runs: &Runs) -> Vec<(f64, Sign)> {
        lines(runs, &self.scale).into_iter().map(|(x, sign, _)| (x, sign)).collect()
    }

    fn right(&self, runs: &Runs, row: usize) -> String {
        text_of(runs, &self.scale, row)
    }
}

fn row(scale: &Scale, x: f64) -> Option<usize> {
    match scale.at(x) {
        At::On(part) => Some(HIGH - 1 - cell(part, HIGH)),
        _ => None,
    }
}

/// Lines on the scale: where, drawn how, called what. The centre comes last, so that it lies on top.
fn lines(runs: &Runs, scale: &Scale) -> Vec<(f64, Sign, String)> {
    let limits = runs.limits().into_iter().flat_map(|(low, high)| [low, high]);
    let limits = limits.map(|x| (x, Sign::Limit, format!("limit {} {}", shown(x), runs.unit)));
    let centre = runs.centre().map(|x| (x, Sign::Line, format!("{} {} {}", runs.centre_label, shown(x), runs.unit)));
    limits.chain(centre).filter(|(x, ..)| row(scale, *x).is_some()).collect()
}

fn text_of(runs: &Runs, scale: &Scale, at: usize) -> String {
    let mut on = lines(runs, scale).into_iter().filter(|(x, ..)| row(scale, *x) == Some(at));
    on.next_back().map_or_else(String::new, |(.., text)| text)
}

/// The line below the plot and as many labels as have room, the last one first.
fn foot(frame: &Frame, marks: &[RunMark<'_>], pen: Pen) -> [String; 2] {
    // a label may hang over the end of the plot, but not out of the picture
    let room = pen.width.saturating_sub(frame.left + 3);
    let (mut rule, mut labels) = (Strip::new(frame.wide), Strip::new(room));
    rule.fill(0, frame.wide, pen.sign(Sign::Line));
    for (n, mark) in marks.iter().enumerate().rev() {
        let label: String = super::line(mark.label).chars().map(|c| if c.is_ascii() { c } else { '?' }).collect();
        let at = n * frame.apart + frame.apart / 2;
        let from = (at + 1).saturating_sub(label.len().div_ceil(2)).min(room.saturating_sub(label.len()));
        if labels.write(from, &label) {
            rule.set(at, pen.sign(Sign::Tick));
        }
    }
    let side = " ".repeat(frame.left + 1);
    [format!("{side}{}{}", pen.sign(Sign::Corner), rule.text()), format!("{side} {}", labels.text())]
}

fn notes(runs: &Runs, frame: &Frame, marks: &[RunMark<'_>], skipped: usize, pen: Pen) -> Vec<String> {
    let said = |mark: &&RunMark<'_>| {
        let value = mark.value.map_or_else(String::new, |x| format!(" {} {}", shown(x), runs.unit));
        format!("{}{value}", mark.label)
    };
    let some = |which: &dyn Fn(&RunMark<'_>) -> bool| {
        marks.iter().filter(|mark| which(mark)).collect::<Vec<_>>().iter().map(said).collect::<Vec<_>>().join(", ")
    };
    let mut notes = Vec::new();
    let beyond = some(&|mark| mark.value.is_some_and(|x| !matches!(frame.scale.at(x), At::On(_))));
    if !beyond.is_empty() {
        notes.push(format!("Beyond the scale: {beyond}."));
    }
    let look = some(&|mark| mark.signal && mark.value.is_some());
    if !look.is_empty() {
        notes.push(format!("{} look here: {look}.", pen.sign(Sign::Look)));
    }
    let mut more = Vec::new();
    if marks.iter().any(|mark| mark.smoothed.is_some()) {
        more.push(format!("{} smoothed", pen.sign(Sign::Smooth)));
    }
    if let Some((low, high)) =
        runs.limits().filter(|(low, high)| frame.row(*low).is_none() || frame.row(*high).is_none())
    {
        more.push(format!("limits {} to {} {}", shown(low), shown(high), runs.unit));
    }
    let none = some(&|mark| mark.value.is_none());
    if !none.is_empty() {
        more.push(format!("no value: {none}"));
    }
    if skipped > 0 {
        more.push(format!("{skipped} earlier left out: the tables have them"));
    }
    if !more.is_empty() {
        notes.push(format!("{}.", more.join("; ")));
    }
    notes
}
