//! Seed lots in the order of use.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::super::fit;
use super::super::page::{footer, frame_rows, header, line, put};
use super::super::theme::{Role, Theme};
use crate::app::keys::Context;
use crate::app::model::Model;
use crate::app::screens::seed_shelf::State;
use crate::domain::germ_test::Against;
use crate::domain::seed_lot::{SeedLot, Treated, percent};
use crate::domain::text::sentence_case;

/// Columns from which the list has room for germination.
const WITH_GERMINATION: u16 = 70;

pub(super) fn draw(model: &Model, state: &State, theme: &Theme, frame: &mut Frame, area: Rect) {
    let (head, body, _, foot) = frame_rows(area);
    put(frame, head, [header("Seed shelf, in the order of use", model, Role::Title, theme, head.width)]);
    put(frame, foot, [footer(Context::SeedShelf, theme, foot.width)]);
    if model.lots.is_empty() {
        put(frame, body, [line("No seed yet: a receives a lot.", Role::Text, theme, body.width)]);
        return;
    }
    let below = model.lots.get(state.at).map_or_else(Vec::new, |lot| about(model, lot, theme, body.width));
    // what the list does not need is for the lot under the cursor
    let list = u16::try_from(model.lots.len() + 2).unwrap_or(u16::MAX).min(body.height / 2);
    let details = u16::try_from(below.len()).unwrap_or(u16::MAX).min(body.height - list);
    let rows = usize::from(body.height - details).saturating_sub(2).max(1);
    let first = state.at.saturating_sub(rows - 1);
    let mut lines = vec![line(
        &columns("  lot", "crop", "left", "use by", "germ", "may be sown", body.width),
        Role::Quiet,
        theme,
        body.width,
    )];
    for (n, lot) in model.lots.iter().enumerate().skip(first).take(rows) {
        lines.push(row(model, lot, n == state.at, theme, body.width));
    }
    put(frame, Rect::new(body.x, body.y, body.width, body.height - details), lines);
    put(frame, Rect::new(body.x, body.bottom() - details, body.width, details), below);
}

/// One row of the list; germination only where there is room for it.
fn columns(code: &str, crop: &str, left: &str, use_by: &str, germ: &str, may: &str, width: u16) -> String {
    let germ = if width < WITH_GERMINATION { String::new() } else { format!("{}  ", fit::pad(germ, 10)) };
    format!("{}  {}{left:>10}  {}  {germ}{may}", fit::pad(code, 9), fit::pad(crop, 12), fit::pad(use_by, 10))
}

/// Whether it may be sown, and if not, why.
fn may_be_sown(model: &Model, lot: &SeedLot) -> (String, bool) {
    match lot.bar(model.today()) {
        Some(why) => (format!("no: {why}"), false),
        None if lot.failed() => ("failed its test".into(), false),
        None if lot.use_by.is_some_and(|day| day < model.today()) => ("past its use-by".into(), false),
        None if lot.tested.is_some_and(|tested| tested.against() != Against::Holds) => {
            ("yes; test again".into(), false)
        }
        None => ("yes".into(), true),
    }
}

/// By the newest test, else as the packet says.
fn germination(lot: &SeedLot) -> String {
    match (&lot.tested, lot.germ_pm) {
        (Some(tested), _) => format!("{:.0} % test", tested.share().map_or(0.0, |share| share.share * 100.0)),
        (None, Some(packet)) => percent(packet),
        (None, None) => "not tested".into(),
    }
}

fn row(model: &Model, lot: &SeedLot, here: bool, theme: &Theme, width: u16) -> Line<'static> {
    let (may, plainly) = may_be_sown(model, lot);
    let text = columns(
        &format!("{} {}", if here { ">" } else { " " }, lot.code),
        &fit::cut(&lot.crop_name, 12, *theme),
        &model.board.units().stock(lot.left_mg),
        &lot.use_by.map_or_else(|| "-".to_string(), |day| day.to_string()),
        &germination(lot),
        &may,
        width,
    );
    let role = match (here, plainly) {
        (true, _) => Role::Cursor,
        (false, false) => Role::Soon,
        (false, true) => Role::Text,
    };
    line(&text, role, theme, width)
}

/// Both of them, where there are both.
fn told(lot: &SeedLot) -> String {
    let packet = lot.germ_pm.map_or_else(|| "not stated".to_string(), percent);
    match lot.tested.and_then(|tested| Some((tested.share()?, tested.day))) {
        Some((share, day)) => format!("{} tested {day}, packet {packet}", share.words()),
        None => germination(lot),
    }
}

/// The lot under the cursor in whole sentences.
fn about(model: &Model, lot: &SeedLot, theme: &Theme, width: u16) -> Vec<Line<'static>> {
    let some = |text: &Option<String>| text.clone().unwrap_or_else(|| "-".into());
    let treated = match lot.treated {
        Treated::No => "not treated",
        Treated::Yes => "TREATED",
        Treated::NotStated => "treatment not stated",
    };
    let units = model.board.units();
    let tsw = lot.tsw_mg.map_or_else(|| "-".to_string(), |mg| units.weight(mg));
    let (may, plainly) = may_be_sown(model, lot);
    let facts = [
        vec![
            format!("from {},", lot.supplier),
            format!("their lot {},", lot.supplier_lot),
            format!("received {},", lot.received),
            treated.to_string(),
        ],
        vec![
            format!("{} left ", units.part_of(lot.left_mg, lot.received_mg)),
            format!("germination {} ", told(lot)),
            format!("1000 seeds {tsw}"),
        ],
        vec![
            format!("kept {} ", some(&lot.kept)),
            format!("delivery note {} ", some(&lot.document)),
            format!("pathogen test {}", some(&lot.cert)),
        ],
    ];
    let mut lines = vec![
        line(&format!("{}  {} {}", lot.code, lot.crop_name, lot.variety), Role::Title, theme, width),
        line(&format!("may be sown: {may}"), if plainly { Role::Text } else { Role::Soon }, theme, width),
    ];
    let worries = lot.tested.and_then(|tested| tested.warning()).map(|why| sentence_case(&format!("{why}.")));
    let again = lot.retest().filter(|day| *day <= model.today() && worries.is_none());
    let again = again.map(|_| "Half a year without a test: g tests it again.".to_string());
    for sentence in worries.into_iter().chain(again) {
        lines.extend(fit::wrap(&sentence, usize::from(width)).iter().map(|row| line(row, Role::Soon, theme, width)));
    }
    for soak in model.soaks_of(lot.id) {
        let words = format!("{} {}", units.weight(soak.left_mg()), soak.words(model.now));
        let phrases: Vec<String> = [Some(words), soak.with_words()].into_iter().flatten().collect();
        let role = if soak.due(model.now.instant()) { Role::Soon } else { Role::Text };
        let rows = fit::side_by_side(phrases, 1, usize::from(width));
        lines.extend(rows.into_iter().map(|row| line(row.trim_end(), role, theme, width)));
    }
    for phrases in facts {
        let rows = fit::side_by_side(phrases, 1, usize::from(width));
        lines.extend(rows.into_iter().map(|row| line(row.trim_end(), Role::Text, theme, width)));
    }
    let lasts = model.shelf.of_crop(lot.crop).map(|seed| seed.lines(units, model.today())).unwrap_or_default();
    for sentence in lasts {
        lines.extend(fit::wrap(&sentence, usize::from(width)).iter().map(|row| line(row, Role::Text, theme, width)));
    }
    lines
}
