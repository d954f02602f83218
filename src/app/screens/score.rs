//! What was held back: the kept samples, their scores, and how long each crop really kept by them.

use super::form_page;
use super::forms::FormKind;
use super::pick::Pick;
use crate::app::effect::{Effect, Query};
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::action::Action;
use crate::domain::history::Of;
use crate::domain::id::{CropId, LotId};
use crate::domain::keeping::NO_CLEARANCE;
use crate::domain::score::{Fit, LotSays, Proposal, Sample, Says, scale};
use crate::domain::text::counted;
use crate::domain::time::Instant;
use crate::domain::units::trimmed;

/// A step through these lists. Each is opened on what the book says now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ask {
    Samples,
    Sample(LotId),
    /// The form of a score.
    Score(LotId),
    /// How long crops really kept.
    Crops,
    Crop(CropId),
    /// The proposed figures of a crop are taken.
    Take(CropId),
}

/// Scores of a lot that are shown; the older ones are in its story.
const SHOWN: usize = 8;

/// `13 Jul 06:15` of a moment.
pub(super) fn when(model: &Model, at_s: i64) -> String {
    chrono::DateTime::from_timestamp(at_s, 0)
        .map_or_else(String::new, |at| model.now.local(Instant(at)).format("%d %b %H:%M").to_string())
}

/// Fetches what a step needs, or does it.
pub fn ask(model: &Model, ask: Ask) -> Vec<Effect> {
    match ask {
        Ask::Take(crop) => take(model, crop).into_iter().collect(),
        ask => vec![Effect::Load(Query::Scores(ask))],
    }
}

/// Scores came: shows what they were fetched for.
pub fn open(model: &mut Model, ask: Ask) {
    let menu = match ask {
        Ask::Score(lot) => {
            form_page::open(model, FormKind::Score(lot));
            return;
        }
        Ask::Sample(lot) => model.scores.sample(lot).map_or_else(|| samples(model), |sample| one(model, sample)),
        Ask::Crop(id) => model.scores.proposal(id).map_or_else(|| crops(model), |proposal| crop(model, proposal)),
        Ask::Crops | Ask::Take(_) => crops(model),
        Ask::Samples => samples(model),
    };
    model.open(Screen::Menu(menu));
}

/// The line that leads to the form, for a lot's lists.
pub(super) fn line(model: &Model, lot: LotId) -> Item<Pick> {
    let kept = model.goods.samples.iter().any(|sample| sample.lot == lot);
    let bar = (!kept).then(|| "keep a sample of it first".to_string());
    Item::new("score what was held back", Pick::Score(Ask::Score(lot))).letter('v').bar(bar)
}

/// The line that leads to the crops.
pub(super) fn kept_line() -> Item<Pick> {
    let line = Item::new("how long crops really kept", Pick::Score(Ask::Crops)).letter('l');
    line.hint("by what was held back and scored")
}

fn samples(model: &Model) -> Menu<Pick> {
    let today = model.today();
    let kept = model.scores.samples.iter().filter(|sample| sample.packs > 0);
    let items: Vec<Item<Pick>> = kept
        .map(|sample| {
            let until = match sample.until {
                Some(day) if day < today => format!("over since {day}: bin it"),
                Some(day) => format!("until {day}"),
                None => "no day".into(),
            };
            let score =
                sample.scores.last().map_or_else(|| "no score yet".to_string(), |last| format!("{} of 9", last.score));
            let label = format!("{} {}, {}", sample.code, sample.name, sample.packs);
            Item::new(label, Pick::Score(Ask::Sample(sample.lot))).hint(format!("{score}; {until}"))
        })
        .collect();
    let none = items.is_empty();
    let menu = Menu::new("Kept samples", items);
    if none { menu.intro("None is kept.") } else { menu.intro("Never for sale; for a complaint, and then binned.") }
}

/// One lot of which something was held back.
fn one(model: &Model, sample: &Sample) -> Menu<Pick> {
    let mut items = vec![line(model, sample.lot)];
    items.extend(sample.crops.iter().filter_map(|id| model.scores.proposal(*id)).map(|proposal| {
        let label = format!("how long {} really kept", proposal.name);
        Item::new(label, Pick::Score(Ask::Crop(proposal.crop))).hint(short(proposal))
    }));
    let story = Pick::Story(Of::Lot(sample.lot), format!("Lot {}", sample.code));
    items.push(Item::new("its story", story).letter('i'));
    let packs = counted(usize::try_from(sample.packs).unwrap_or(0), "pack");
    let mut menu = Menu::new(format!("{} {}: held back", sample.code, sample.name), items)
        .intro(format!("{packs} held back; cut {}.", when(model, sample.cut_s)));
    if sample.scores.is_empty() {
        return menu.intro("Not scored yet.");
    }
    let older = sample.scores.len().saturating_sub(SHOWN);
    if older > 0 {
        menu = menu.intro(format!("{older} older in its story."));
    }
    for scored in sample.scores.iter().skip(older) {
        let at = when(model, scored.at_s);
        menu = menu.intro(format!("{at}: {}, {}", scored.score, scale(scored.score)));
    }
    menu
}

fn crops(model: &Model) -> Menu<Pick> {
    let items: Vec<Item<Pick>> = model
        .scores
        .proposals
        .iter()
        .map(|proposal| Item::new(proposal.name.clone(), Pick::Score(Ask::Crop(proposal.crop))).hint(short(proposal)))
        .collect();
    let none = items.is_empty();
    let menu = Menu::new("How long crops really kept", items);
    if none {
        menu.intro("Nothing was scored yet. Keep a sample of a lot, and score it every few days until it is gone.")
    } else {
        menu.intro("By packs that were held back and scored, at the temperatures they really had.")
    }
}

/// A proposal in a few words.
fn short(proposal: &Proposal) -> String {
    let few = if proposal.few() { ", few" } else { "" };
    match proposal.fit() {
        Ok(fit) => format!("times {:.2}, by {}{few}", fit.factor, proposal.of()),
        Err(_) => format!("{} scored, no figure yet", counted(proposal.lots.len(), "lot")),
    }
}

/// `10 d`, `7.5 d`.
#[expect(clippy::cast_precision_loss, reason = "hours of some weeks")]
fn days(hours: i64) -> String {
    format!("{} d", trimmed(hours as f64 / 24.0, 1))
}

fn crop(model: &Model, proposal: &Proposal) -> Menu<Pick> {
    let fit = proposal.fit();
    let bar = match &fit {
        Ok(fit) if fit.anchors == proposal.old => Some("it kept as the figures say".to_string()),
        Ok(_) => None,
        Err(_) => Some("no new figures yet".to_string()),
    };
    // nothing is taken by Enter on the first line
    let mut items = vec![
        Item::new("leave them", Pick::Nothing).letter('l').hint("the figures stay as they are"),
        Item::new("take the new figures", Pick::Score(Ask::Take(proposal.crop))).letter('t').bar(bar),
    ];
    items.extend(
        proposal.lots.iter().map(|lot| Item::new(lot.code.clone(), Pick::Score(Ask::Sample(lot.lot))).hint(told(lot))),
    );
    let mut menu = Menu::new(format!("How long it really kept: {}", proposal.name), items);
    for sentence in said(proposal, fit.as_ref().ok()) {
        menu = menu.intro(sentence);
    }
    let units = model.board.units();
    let new = fit.as_ref().map_or(&[][..], |fit| &fit.anchors);
    for (n, (dc, old)) in proposal.old.iter().enumerate() {
        let temp = units.temperature(*dc);
        menu = menu.intro(match new.get(n) {
            Some((_, new)) => format!("{temp}: {} ({old} h) so far, new {} ({new} h)", days(*old), days(*new)),
            None => format!("{temp}: {} ({old} h)", days(*old)),
        });
    }
    menu.intro(NO_CLEARANCE)
}

/// What the figures come of, a sentence each.
fn said(proposal: &Proposal, fit: Option<&Fit>) -> Vec<String> {
    let mut said = Vec::new();
    if let Some(Fit { factor, range: (least, most), .. }) = fit {
        let few = if proposal.few() { ": few" } else { "" };
        said.push(format!("By {} that fell below 5{few}. A lot counts once.", proposal.of()));
        let percent = |share: &f64| format!("{:.0} %", share * 100.0);
        said.push(match proposal.used() {
            1 => format!("By then it had used {} of the life figured: every figure times {factor:.2}.", percent(least)),
            _ => format!(
                "By then they had used {} to {} of the life figured; geometric mean, every figure times {factor:.2}.",
                percent(least),
                percent(most)
            ),
        });
    } else {
        said.extend(proposal.fit().err().map(String::from));
    }
    let (still, gaps, out) = (proposal.still(), proposal.gaps(), proposal.left_out().count());
    if still > 0 {
        said.push(format!("Still 5 or better at the last look, not used: {}.", counted(still, "lot")));
    }
    if out > 0 {
        said.push(format!("Left out, with the reason below: {}.", counted(out, "lot")));
    }
    if gaps > 0 {
        said.push(format!("Gaps in the readings, counted as the warmer end: {}.", counted(gaps, "lot")));
    }
    said
}

/// What one lot tells.
fn told(lot: &LotSays) -> String {
    match lot.says {
        Says::Share { share, gap } => {
            let gap = if gap { ", with gaps" } else { "" };
            format!("below 5 at {:.0} % of its life{gap}", share * 100.0)
        }
        Says::Still => "still 5 or better".into(),
        Says::Nothing(why) => format!("left out: {}", why.shown()),
    }
}

fn take(model: &Model, crop: CropId) -> Option<Effect> {
    let proposal = model.scores.proposal(crop)?;
    let fit = proposal.fit().ok()?;
    Some(Effect::Act(Box::new(Action::RefitAnchors {
        crop,
        anchors: fit.anchors,
        lots: proposal.used(),
        packs: proposal.packs(),
        rev: proposal.rev,
    })))
}
