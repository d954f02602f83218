//! The racks on paper as they stand: x of n at each place, the darker the more, the worst place framed.

use maud::{Markup, html};

use super::{Drawn, LINE, TOP, WIDE, label, n, steps, text};
use crate::domain::picture::{Heat, HeatRack};

const CELL: f64 = 15.0;
/// Between racks.
const GAP: f64 = 16.0;
const NAME: f64 = 22.0;
/// How far down racks may go.
const MOST: f64 = 260.0;

/// Paper for a share, from none to more than half, and the ink that is read on it.
const PAPER: [(&str, &str); 5] =
    [("#fff", "#000"), ("#e6e6e6", "#000"), ("#c4c4c4", "#000"), ("#999", "#000"), ("#333", "#fff")];

pub(super) fn drawn(heat: &Heat) -> Option<Drawn> {
    let worst = heat.worst(false);
    worst.first()?;
    let framed = worst.first().filter(|(_, at)| at.x > 0).map(|(name, _)| name.clone());
    let shelves = heat.shelves();
    let (plan, of) = match plan(heat) {
        Some(plan) => (plan, heat),
        None => (plan_cut(&shelves), &shelves),
    };
    let wide_cell = cell(of);
    let body = html! {
        @for (at, rack) in &plan.racks { (drawn_rack(*at, rack, wide_cell, framed.as_deref())) }
    };
    let mut notes = vec![heat.words()];
    if plan.left_out > 0 {
        notes.push(format!("Not in the picture: {} more racks. The tables have them.", plan.left_out));
    }
    notes.push(format!(
        "x/n: x of n {}. The darker the more: up to 10 %, 25 %, 50 %, above. A dash: no tray.",
        heat.what
    ));
    Some(Drawn { body, end: plan.end, notes })
}

/// Racks with their places on paper.
struct Plan<'h> {
    racks: Vec<((f64, f64), &'h HeatRack)>,
    end: f64,
    left_out: usize,
}

/// All racks, or none if they take too much room.
fn plan(heat: &Heat) -> Option<Plan<'_>> {
    let plan = plan_cut(heat);
    let fits = |rack: &HeatRack| rack_wide(rack, cell(heat)) <= WIDE;
    (plan.left_out == 0 && heat.racks.iter().all(fits)).then_some(plan)
}

/// As many racks as have room, side by side and below each other.
fn plan_cut(heat: &Heat) -> Plan<'_> {
    let cell = cell(heat);
    let mut plan = Plan { racks: Vec::new(), end: TOP, left_out: 0 };
    let (mut x, mut y) = (0.0, TOP);
    for rack in heat.racks.iter().filter(|rack| rack.shelves.iter().any(|(_, places)| !places.is_empty())) {
        let (across, down) = (rack_wide(rack, cell), rack_high(rack));
        if x > 0.0 && x + across > WIDE {
            (x, y) = (0.0, plan.end + 8.0);
        }
        if y + down > TOP + MOST {
            plan.left_out += 1;
            continue;
        }
        plan.racks.push(((x, y), rack));
        plan.end = plan.end.max(y + down);
        x += across + GAP;
    }
    plan
}

fn cell(heat: &Heat) -> f64 {
    steps(9.0, 4.9).nth(heat.widest()).unwrap_or(30.0).max(24.0)
}

fn rack_wide(rack: &HeatRack, cell: f64) -> f64 {
    let places = rack.shelves.iter().map(|(_, places)| places.len()).max().unwrap_or(0);
    steps(NAME, cell).nth(places).unwrap_or(NAME)
}

fn rack_high(rack: &HeatRack) -> f64 {
    steps(LINE + 3.0, CELL).nth(rack.shelves.len()).unwrap_or(MOST)
}

fn drawn_rack((left, top): (f64, f64), rack: &HeatRack, cell: f64, framed: Option<&str>) -> Markup {
    html! {
        text x=(n(left)) y=(n(top + 9.0)) font-weight="bold" { (label(&rack.name, rack_wide(rack, cell))) }
        @for (y, (shelf, places)) in steps(top + LINE + 2.0, CELL).zip(&rack.shelves) {
            (text((left + NAME - 5.0, y + 11.0), "end", &label(shelf, NAME - 5.0)))
            @for ((place, x), counted) in (1u32..).zip(steps(left + NAME, cell)).zip(places) {
                @let worst = framed.is_some_and(|name| name == format!("{} {shelf}-{place}", rack.name));
                (drawn_place((x, y), cell, *counted, worst))
            }
        }
    }
}

fn drawn_place((x, y): (f64, f64), cell: f64, counted: Option<(u64, u64)>, worst: bool) -> Markup {
    let (words, shade) = counted.map_or_else(|| ("–".into(), 0), |(x, n)| (format!("{x}/{n}"), Heat::shade(x, n)));
    let (paper, ink) = PAPER.get(shade).copied().unwrap_or(("#fff", "#000"));
    let frame = if worst { "2.2" } else { "0.5" };
    html! {
        rect x=(n(x + 1.2)) y=(n(y + 1.2)) width=(n(cell - 2.4)) height=(n(CELL - 2.4)) fill=(paper) stroke="#000" stroke-width=(frame) {}
        text x=(n(x + cell / 2.0)) y=(n(y + 10.6)) text-anchor="middle" fill=(ink) font-size="8.5" { (words) }
    }
}

#[cfg(test)]
mod tests {
    use super::super::wide;
    use super::*;

    #[test]
    fn a_cell_holds_its_words() {
        let heat = |n: u64| Heat {
            racks: vec![HeatRack { name: "A".into(), shelves: vec![("1".into(), vec![Some((n, n))])] }],
            ..Heat::default()
        };
        assert!(cell(&heat(6)) >= wide("6/6"));
        assert!(cell(&heat(6000)) > wide("6000/6000"));
    }
}
