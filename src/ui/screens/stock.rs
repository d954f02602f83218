//! Lots that are here, least life left first; below them all that is known of the one under the cursor.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::super::fit;
use super::super::page::{footer, frame_rows, header, line, put};
use super::super::theme::{Role, Theme};
use crate::app::keys::Context;
use crate::app::model::Model;
use crate::app::screens::stock::{Line as Row, State, lines, position};
use crate::domain::crop::Allergy;
use crate::domain::id::ProductId;
use crate::domain::lot::{Kind, Lot};
use crate::domain::seed_lot::percent;

/// Columns from which the list has room for the kind of a lot.
const WITH_KIND: u16 = 70;

/// Columns of a name.
const NAME: usize = 20;

pub(super) fn draw(model: &Model, state: &State, theme: &Theme, frame: &mut Frame, area: Rect) {
    let (head, body, _, foot) = frame_rows(area);
    put(frame, head, [header("Stock, from the cut on", model, Role::Title, theme, head.width)]);
    put(frame, foot, [footer(Context::Stock, theme, foot.width)]);
    let all = lines(model);
    let at = position(state, &all);
    let Some(here) = all.get(at) else {
        put(frame, body, [line("Nothing is in stock: c cuts what is ready.", Role::Text, theme, body.width)]);
        return;
    };
    let below = match here {
        Row::Lot(id) => model.goods.lot(*id).map(|lot| about(model, state, lot, theme, body.width)),
        Row::Promised(id) => Some(about_product(model, *id, theme, body.width)),
    };
    let below = below.unwrap_or_default();
    let details = u16::try_from(below.len() + 1).unwrap_or(u16::MAX).min(body.height * 2 / 3);
    let rows = usize::from(body.height - details).saturating_sub(1).max(1);
    let first = at.saturating_sub(rows - 1);
    let titles = columns("  lot", "", "what", "here", "life", "", body.width);
    let mut shown = vec![line(&titles, Role::Quiet, theme, body.width)];
    let some = all.iter().enumerate().skip(first).take(rows);
    shown.extend(some.map(|(n, which)| match which {
        Row::Lot(id) => lot_row(model, model.goods.lot(*id), n == at, theme, body.width),
        Row::Promised(id) => promised_row(model, *id, n == at, theme, body.width),
    }));
    // right below the list: a long notice covers the last rows
    shown.push(Line::default());
    put(frame, body, shown.into_iter().chain(below));
}

/// One row of the list; the kind of a lot only where there is room for it.
fn columns(code: &str, kind: &str, name: &str, here: &str, life: &str, state: &str, width: u16) -> String {
    let kind = if width < WITH_KIND { String::new() } else { format!("{}  ", fit::pad(kind, 7)) };
    format!("{}  {kind}{}{here:>10}  {}  {state}", fit::pad(code, 18), fit::pad(name, NAME), fit::pad(life, 9))
}

fn lot_row(model: &Model, lot: Option<&Lot>, here: bool, theme: &Theme, width: u16) -> Line<'static> {
    let Some(lot) = lot else { return Line::default() };
    let (today, mark) = (model.today(), if here { ">" } else { " " });
    let kind = match lot.kind {
        Kind::Harvest => "harvest",
        Kind::Pack => "packs",
    };
    let name = fit::cut(&lot.name, NAME, *theme);
    let code = format!("{mark} {}", lot.code);
    let text = columns(&code, kind, &name, &amount(model, lot), &lot.life(today), lot.state(today), width);
    let role = match (here, lot.held, lot.past(today)) {
        (true, ..) => Role::Cursor,
        (false, true, _) => Role::Alarm,
        (false, false, true) => Role::Soon,
        _ => Role::Text,
    };
    line(&text, role, theme, width)
}

fn promised_row(model: &Model, id: ProductId, here: bool, theme: &Theme, width: u16) -> Line<'static> {
    let Some(product) = model.goods.product(id) else { return Line::default() };
    let promised = model.goods.promised(id, model.today());
    let mark = if here { ">" } else { " " };
    let text = format!("{mark} {}: promised {promised}, none packed", product.name);
    line(&text, if here { Role::Cursor } else { Role::Soon }, theme, width)
}

/// What is here of a lot.
fn amount(model: &Model, lot: &Lot) -> String {
    match lot.kind {
        Kind::Harvest => model.board.units().weight(lot.grams * 1000),
        Kind::Pack if lot.packs == 0 && lot.out_packs > 0 => format!("{} out", lot.out_packs),
        Kind::Pack => packs(lot.packs),
    }
}

fn packs(n: i64) -> String {
    if n == 1 { "1 pack".into() } else { format!("{n} packs") }
}

fn wrapped(text: &str, role: Role, theme: &Theme, width: u16) -> Vec<Line<'static>> {
    fit::wrap(text, usize::from(width)).into_iter().map(|row| Line::styled(row, theme.style(role))).collect()
}

/// The lot under the cursor in whole sentences.
fn about(model: &Model, state: &State, lot: &Lot, theme: &Theme, width: u16) -> Vec<Line<'static>> {
    let (today, units) = (model.today(), model.board.units());
    let (made, size) = match lot.kind {
        Kind::Harvest => ("cut", String::new()),
        Kind::Pack => {
            ("packed", lot.pack_g.map_or_else(String::new, |g| format!(", packs of {}", units.weight(g * 1000))))
        }
    };
    let title = format!("{}  {}{size}, {made} {}", lot.code, lot.name, lot.day.format("%a %d %b"));
    let mut lines = vec![line(&title, Role::Title, theme, width)];
    let mut say = |text: String, role: Role| lines.extend(wrapped(&text, role, theme, width));
    if lot.held {
        say("HELD: it is not packed and not given out until someone who may decide has decided.".into(), Role::Alarm);
    }
    match lot.best_before {
        Some(day) if lot.past(today) => say(format!("PAST: best before {day}; bin it or keep a sample."), Role::Soon),
        Some(day) => say(format!("best before {day}, {}; a planning figure", lot.life(today)), Role::Text),
        None => say("no best-before day: the crop has no figures for it".into(), Role::Text),
    }
    if lot.kind == Kind::Pack {
        let days: Vec<String> = lot.cut_days.iter().map(|day| day.format("%a %d %b").to_string()).collect();
        say(format!("made of {}; cut {}", lot.composition(), days.join(", ")), Role::Text);
    }
    for part in &lot.parts {
        match Allergy::of(&part.allergen) {
            Allergy::Yes(what) => say(format!("contains {what}"), Role::Soon),
            Allergy::NotChecked => say(format!("{}: allergens not checked", part.name), Role::Soon),
            Allergy::No => {}
        }
    }
    if let Some((_, account)) = state.account.as_ref().filter(|(id, _)| *id == lot.id) {
        let said = |n: i64| match lot.kind {
            Kind::Harvest => units.weight(n * 1000),
            Kind::Pack => n.to_string(),
        };
        let all = account.accounted_pm().map_or_else(String::new, |pm| format!("; accounted {}", percent(pm)));
        let odd = account.accounted_pm().is_some_and(|pm| pm != 1000);
        let text = format!("made {}: {}{all}", said(account.made), account.places(said).join(", "));
        say(text, if odd { Role::Soon } else { Role::Text });
    }
    if let Some(product) = lot.product {
        say(free(model, product), Role::Text);
    }
    lines
}

fn free(model: &Model, product: ProductId) -> String {
    let (goods, today) = (&model.goods, model.today());
    let (hand, promised) = (goods.on_hand(product, today), goods.promised(product, today));
    format!("free {} = {hand} on hand - {promised} promised", hand - promised)
}

/// A product that is promised and not here.
fn about_product(model: &Model, id: ProductId, theme: &Theme, width: u16) -> Vec<Line<'static>> {
    let Some(product) = model.goods.product(id) else { return Vec::new() };
    let today = model.today();
    let mut lines = vec![line(&product.name, Role::Title, theme, width)];
    lines.extend(wrapped(&free(model, id), Role::Soon, theme, width));
    for order in model.goods.orders.iter().filter(|order| order.day >= today) {
        let customer = model.goods.customer(order.customer).map_or("", |customer| &customer.name);
        let open = order.lines.iter().filter(|line| line.product == id && line.open() > 0);
        for wanted in open {
            let text = format!("{}: {} for {customer}", order.day.format("%a %d %b"), wanted.open());
            lines.extend(wrapped(&text, Role::Text, theme, width));
        }
    }
    lines
}
