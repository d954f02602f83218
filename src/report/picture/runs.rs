//! Values one after the other on paper: joined where none is missing, with their centre, their limits and what is odd ringed.

use maud::{Markup, html};

use super::{Drawn, TOP, WIDE, label, n, steps, stroke, text, wide};
use crate::domain::picture::{At, RunMark, Runs, Scale, shown};

const HIGH: f64 = 104.0;
/// Points of one picture.
const MOST: usize = 104;
/// Room for the words at the right.
const RIGHT: f64 = 84.0;

struct Plot {
    left: f64,
    right: f64,
    scale: Scale,
    apart: f64,
}

impl Plot {
    fn y(&self, value: f64) -> f64 {
        TOP + 4.0 + (1.0 - self.scale.near(value)) * HIGH
    }

    fn on(&self, value: f64) -> bool {
        matches!(self.scale.at(value), At::On(_))
    }

    fn places(&self) -> impl Iterator<Item = f64> {
        steps(self.left + self.apart / 2.0, self.apart)
    }
}

pub(super) fn drawn(runs: &Runs) -> Option<Drawn> {
    let all = runs.marks();
    let skipped = all.len().saturating_sub(MOST);
    let marks = all.get(skipped..).unwrap_or_default();
    let scale = runs.scale(marks)?;
    let left = scale.ticks().iter().map(|tick| wide(&scale.round(*tick))).fold(0.0, f64::max) + 8.0;
    let right = WIDE - RIGHT;
    let count = u32::try_from(marks.len()).unwrap_or(1).max(1);
    let plot = Plot { left, right, scale, apart: (right - left) / f64::from(count) };
    let bottom = TOP + HIGH + 8.0;
    let body = html! {
        @for tick in plot.scale.ticks() {
            (stroke((left - 3.0, plot.y(tick)), (right, plot.y(tick)), "0.4", "#ccc"))
            (text((left - 5.0, plot.y(tick) + 3.2), "end", &plot.scale.round(tick)))
        }
        (stroke((left, TOP), (left, bottom), "0.8", "#000"))
        (stroke((left, bottom), (right, bottom), "0.8", "#000"))
        (lines(runs, &plot))
        (joined(&plot, marks, |mark| mark.smoothed, "2.6", "#aaa"))
        (joined(&plot, marks, |mark| mark.value.filter(|x| plot.on(*x)), "0.8", "#000"))
        @for (x, mark) in plot.places().zip(marks) { (point(&plot, runs, x, mark)) }
        (labels(&plot, marks, bottom))
    };
    Some(Drawn { body, end: bottom + 14.0, notes: notes(runs, &plot, marks, skipped) })
}

/// The centre and the limits, each with its name at the right; names never lie on each other.
fn lines(runs: &Runs, plot: &Plot) -> Markup {
    let limits = runs.limits().into_iter().flat_map(|(low, high)| [high, low]);
    let limits = limits.map(|x| (x, format!("limit {} {}", shown(x), runs.unit), "4 2"));
    let centre = runs.centre().map(|x| (x, format!("{} {} {}", runs.centre_label, shown(x), runs.unit), "none"));
    let mut named: Vec<(f64, String, &str)> = centre.into_iter().chain(limits).filter(|(x, ..)| plot.on(*x)).collect();
    // from the top down
    named.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut free = f64::MIN;
    html! {
        @for (x, name, dashes) in &named {
            @let y = plot.y(*x);
            @let words = { let at = y.max(free); free = at + 9.5; at };
            line x1=(n(plot.left)) y1=(n(y)) x2=(n(plot.right)) y2=(n(y)) stroke="#000" stroke-width="0.9" stroke-dasharray=(dashes) {}
            (text((plot.right + 4.0, words + 3.2), "start", &label(name, RIGHT - 4.0)))
        }
    }
}

/// A line through all values that follow each other without a gap.
fn joined(
    plot: &Plot,
    marks: &[RunMark<'_>],
    of: impl Fn(&RunMark<'_>) -> Option<f64>,
    width: &str,
    ink: &str,
) -> Markup {
    let mut path = String::new();
    let mut pen = 'M';
    for (x, mark) in plot.places().zip(marks) {
        match of(mark) {
            Some(value) => {
                path.extend([pen.to_string(), n(x), " ".into(), n(plot.y(value))]);
                pen = 'L';
            }
            None => pen = 'M',
        }
    }
    html! {
        @if path.contains('L') {
            path d=(path) fill="none" stroke=(ink) stroke-width=(width) stroke-linejoin="round" {}
        }
    }
}

fn point(plot: &Plot, runs: &Runs, x: f64, mark: &RunMark<'_>) -> Markup {
    let Some(value) = mark.value else { return html! {} };
    let y = plot.y(value);
    let r = (plot.apart / 2.4).clamp(0.8, 2.6);
    // beyond the scale it is hollow, and named below
    let fill = if plot.on(value) { "#000" } else { "#fff" };
    html! {
        circle cx=(n(x)) cy=(n(y)) r=(n(r)) fill=(fill) stroke="#000" stroke-width="0.8" {
            title { (super::line(mark.label)) " " (shown(value)) " " (super::line(&runs.unit)) }
        }
        @if mark.signal {
            rect x=(n(x - 5.0)) y=(n(y - 5.0)) width="10" height="10" fill="none" stroke="#000" stroke-width="1.2"
                transform=(format!("rotate(45 {} {})", n(x), n(y))) {}
        }
    }
}

/// As many labels as have room, the last one first.
fn labels(plot: &Plot, marks: &[RunMark<'_>], bottom: f64) -> Markup {
    let mut free = WIDE;
    let mut drawn = Vec::new();
    let placed: Vec<(f64, &RunMark<'_>)> = plot.places().zip(marks).collect();
    for (x, mark) in placed.into_iter().rev() {
        let name = label(mark.label, 70.0);
        let half = wide(&name) / 2.0;
        if x + half <= free && x - half >= 0.0 && !name.is_empty() {
            drawn.push(html! { (stroke((x, bottom), (x, bottom + 3.0), "0.8", "#000")) (text((x, bottom + 11.5), "middle", &name)) });
            free = x - half - 5.0;
        }
    }
    html! { @for label in drawn { (label) } }
}

fn notes(runs: &Runs, plot: &Plot, marks: &[RunMark<'_>], skipped: usize) -> Vec<String> {
    let said = |which: &dyn Fn(&RunMark<'_>) -> bool| {
        let which = marks.iter().filter(|mark| which(mark));
        let value =
            |mark: &RunMark<'_>| mark.value.map_or_else(String::new, |x| format!(" {} {}", shown(x), runs.unit));
        which.map(|mark| format!("{}{}", mark.label, value(mark))).collect::<Vec<_>>().join(", ")
    };
    let mut notes = Vec::new();
    let mut say = |words: &str, told: String| {
        if !told.is_empty() {
            notes.push(format!("{words}: {told}."));
        }
    };
    say("Beyond the scale, hollow", said(&|mark| mark.value.is_some_and(|x| !plot.on(x))));
    say("In a diamond, look here", said(&|mark| mark.signal && mark.value.is_some()));
    say("No value", said(&|mark| mark.value.is_none()));
    let hidden = runs.limits().filter(|(low, high)| !plot.on(*low) || !plot.on(*high));
    say(
        "Limits",
        hidden.map_or_else(String::new, |(low, high)| format!("{} to {} {}", shown(low), shown(high), runs.unit)),
    );
    if marks.iter().any(|mark| mark.smoothed.is_some()) {
        notes.push("The broad grey line is smoothed.".into());
    }
    if skipped > 0 {
        notes.push(format!("{skipped} earlier left out: the tables have them."));
    }
    notes
}
