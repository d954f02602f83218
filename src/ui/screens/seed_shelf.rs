//! Seed lots in the order of use.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::super::fit;
use super::super::page::{clock_and_hands, footer, frame_rows, line, put, two_ends};
use super::super::theme::{Role, Theme};
use crate::app::keys::Context;
use crate::app::model::Model;
use crate::app::screens::seed_shelf::State;
use crate::domain::seed_lot::{SeedLot, Treated};
use crate::domain::sowing::grams;

pub(super) fn draw(model: &Model, state: &State, theme: &Theme, frame: &mut Frame, area: Rect) {
    let (head, body, _, foot) = frame_rows(area);
    put(
        frame,
        head,
        [two_ends("Seed shelf, in the order of use", &clock_and_hands(model), Role::Title, theme, head.width)],
    );
    put(frame, foot, [footer(Context::SeedShelf, theme, foot.width)]);
    if model.lots.is_empty() {
        put(frame, body, [line("No seed yet: a receives a lot.", Role::Text, theme, body.width)]);
        return;
    }
    let details = 5.min(body.height / 2);
    let rows = usize::from(body.height - details).saturating_sub(1).max(1);
    let first = state.at.saturating_sub(rows - 1);
    let mut lines =
        vec![line("  lot      crop            left  use by      germ  may be sown", Role::Quiet, theme, body.width)];
    for (n, lot) in model.lots.iter().enumerate().skip(first).take(rows) {
        lines.push(row(model, lot, n == state.at, theme, body.width));
    }
    put(frame, Rect::new(body.x, body.y, body.width, body.height - details), lines);
    if let Some(lot) = model.lots.get(state.at) {
        let below = Rect::new(body.x, body.bottom() - details, body.width, details);
        put(frame, below, about(lot, theme, body.width));
    }
}

fn percent(pm: Option<i64>) -> String {
    pm.map_or_else(
        || "not tested".into(),
        |pm| if pm % 10 == 0 { format!("{} %", pm / 10) } else { format!("{}.{} %", pm / 10, pm % 10) },
    )
}

fn row(model: &Model, lot: &SeedLot, here: bool, theme: &Theme, width: u16) -> Line<'static> {
    let bar = lot.bar(model.today());
    let use_by = lot.use_by.map_or_else(|| "-".to_string(), |day| day.to_string());
    let late = lot.use_by.is_some_and(|day| day < model.today());
    let may = match &bar {
        Some(why) => format!("no: {why}"),
        None if late => "past its use-by".into(),
        None => "yes".into(),
    };
    let text = format!(
        "{} {}  {}{:>8} g  {}  {}  {may}",
        if here { ">" } else { " " },
        lot.code,
        fit::pad(&fit::cut(&lot.crop_name, 12, *theme), 12),
        grams(lot.left_mg / 1000 * 1000),
        fit::pad(&use_by, 10),
        fit::pad(&percent(lot.germ_pm), 5),
    );
    let role = match (here, bar.is_some() || late) {
        (true, _) => Role::Cursor,
        (false, true) => Role::Soon,
        (false, false) => Role::Text,
    };
    line(&text, role, theme, width)
}

fn about(lot: &SeedLot, theme: &Theme, width: u16) -> Vec<Line<'static>> {
    let some = |text: &Option<String>| text.clone().unwrap_or_else(|| "-".into());
    let treated = match lot.treated {
        Treated::No => "not treated",
        Treated::Yes => "TREATED",
        Treated::NotStated => "treatment not stated",
    };
    let tsw = lot.tsw_mg.map_or_else(|| "-".to_string(), |mg| format!("{} g", grams(mg)));
    vec![
        line(&format!("{}  {} {}", lot.code, lot.crop_name, lot.variety), Role::Title, theme, width),
        line(
            &format!("from {}, their lot {}, received {}, {}", lot.supplier, lot.supplier_lot, lot.received, treated),
            Role::Text,
            theme,
            width,
        ),
        line(
            &format!(
                "{} of {} g left   germination {}   1000 seeds {tsw}",
                grams(lot.left_mg),
                grams(lot.received_mg),
                percent(lot.germ_pm)
            ),
            Role::Text,
            theme,
            width,
        ),
        line(
            &format!(
                "kept {}   delivery note {}   pathogen test {}",
                some(&lot.kept),
                some(&lot.document),
                some(&lot.cert)
            ),
            Role::Text,
            theme,
            width,
        ),
    ]
}
