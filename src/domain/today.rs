//! What is to be cut, packed and brought today, worked out from orders, stock and racks.

use super::board::Board;
use super::goods::Goods;
use super::id::CropId;
use super::product::Kind;
use super::room::Units;
use super::text::counted;
use super::time::Day;
use super::tray::TrayCard;

/// Trays of a crop that may be cut, and what orders still want of it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Cut {
    pub crop: String,
    pub trays: usize,
    pub places: Vec<String>,
    /// Grams that orders of today and tomorrow want beyond what is packed or cut.
    pub wanted_g: i64,
    /// Grams these trays usually give, where the crop says.
    pub usual_g: Option<i64>,
}

/// Packs of a product that orders of today want and that are not packed.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Pack {
    pub product: String,
    pub unit: &'static str,
    pub ordered: i64,
    pub on_hand: i64,
}

impl Pack {
    pub fn missing(&self) -> i64 {
        (self.ordered - self.on_hand).max(0)
    }
}

/// What one customer gets today.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Drop {
    pub round: String,
    pub customer: String,
    pub address: String,
    pub phone: String,
    pub note: String,
    /// Products, packs still to be brought, and the lots they come from with the packs of each.
    pub lines: Vec<DropLine>,
}

#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct DropLine {
    pub product: String,
    pub packs: i64,
    pub lots: Vec<(String, i64)>,
}

/// The three lists of a day.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Lists {
    pub day: Day,
    pub cut: Vec<Cut>,
    pub pack: Vec<Pack>,
    pub drops: Vec<Drop>,
}

pub fn lists(board: &Board, goods: &Goods, day: Day) -> Lists {
    Lists { day, cut: cut(board, goods, day), pack: pack(goods, day), drops: drops(goods, day) }
}

/// Packs of a product that orders of these days still want.
fn open(goods: &Goods, product: super::id::ProductId, from: Day, to: Day) -> i64 {
    let orders = goods.orders.iter().filter(|order| (from..=to).contains(&order.day));
    orders.flat_map(|order| &order.lines).filter(|line| line.product == product).map(super::order::Line::open).sum()
}

/// Grams of a crop that are wanted and not there: packs beyond stock, less what lies in tubs.
fn wanted_g(goods: &Goods, crop: CropId, day: Day) -> i64 {
    let tomorrow = day + chrono::Duration::days(1);
    let packs = goods.products.iter().filter_map(|product| {
        let share = product.parts.iter().find(|part| part.crop == crop)?.share_pm;
        let missing = (open(goods, product.id, day, tomorrow) - goods.on_hand(product.id, day)).max(0);
        Some(missing * product.pack_g? * share / 1000)
    });
    (packs.sum::<i64>() - tubs_g(goods, crop, day)).max(0)
}

/// Trays of a crop that may be cut: in their window, and neither in doubt nor held.
pub fn ready(board: &Board, crop: CropId, day: Day) -> impl Iterator<Item = &TrayCard> {
    board.trays.iter().filter(move |tray| tray.crop == crop && tray.ready(day) && !tray.doubtful() && !tray.held)
}

/// Grams of a crop in tubs that may be packed.
pub fn tubs_g(goods: &Goods, crop: CropId, day: Day) -> i64 {
    goods.lots.iter().filter(|lot| lot.crop == Some(crop) && lot.free(day)).map(|lot| lot.grams).sum()
}

fn cut(board: &Board, goods: &Goods, day: Day) -> Vec<Cut> {
    let mut list: Vec<(CropId, Cut)> = Vec::new();
    for crop in &board.crops {
        let ready: Vec<_> = ready(board, crop.id, day).collect();
        let wanted_g = wanted_g(goods, crop.id, day);
        if ready.is_empty() && wanted_g == 0 {
            continue;
        }
        let usual: Option<i64> = ready.iter().map(|tray| tray.usual_g).sum();
        let places = ready.iter().map(|tray| tray.stands()).collect();
        let cut = Cut { crop: crop.name.clone(), trays: ready.len(), places, wanted_g, usual_g: usual };
        list.push((crop.id, cut));
    }
    list.sort_by_key(|(_, cut)| (std::cmp::Reverse(cut.wanted_g), cut.crop.clone()));
    list.into_iter().map(|(_, cut)| cut).collect()
}

fn pack(goods: &Goods, day: Day) -> Vec<Pack> {
    let line = |product: &super::product::Product| {
        let ordered = open(goods, product.id, day, day);
        let (name, unit) = (product.name.clone(), if product.kind == Kind::Live { "trays" } else { "packs" });
        (ordered > 0).then(|| Pack { product: name, unit, ordered, on_hand: goods.on_hand(product.id, day) })
    };
    goods.products.iter().filter_map(line).collect()
}

fn drops(goods: &Goods, day: Day) -> Vec<Drop> {
    // what one customer takes is gone for the next
    let mut here: Vec<(&super::lot::Lot, i64)> =
        goods.lots.iter().filter(|lot| lot.product.is_some() && lot.free(day)).map(|lot| (lot, lot.packs)).collect();
    let mut orders: Vec<_> = goods.orders.iter().filter(|order| order.day == day && order.open() > 0).collect();
    let round =
        |order: &&super::order::Order| goods.customer(order.customer).map(|c| (c.round.clone(), c.name.clone()));
    orders.sort_by_key(round);
    let mut list = Vec::new();
    for order in orders {
        let Some(customer) = goods.customer(order.customer) else { continue };
        let mut lines = Vec::new();
        for line in order.lines.iter().filter(|line| line.open() > 0) {
            let Some(product) = goods.product(line.product) else { continue };
            let mut left = line.open();
            let mut lots = Vec::new();
            for (lot, packs) in here.iter_mut().filter(|(lot, _)| lot.product == Some(line.product)) {
                let take = left.min(*packs);
                if take > 0 {
                    (left, *packs) = (left - take, *packs - take);
                    lots.push((lot.code.clone(), take));
                }
            }
            lines.push(DropLine { product: product.name.clone(), packs: line.open(), lots });
        }
        list.push(Drop {
            round: customer.round.clone(),
            customer: customer.name.clone(),
            address: customer.address.clone(),
            phone: customer.phone.clone(),
            note: customer.note.clone(),
            lines,
        });
    }
    list
}

impl Lists {
    /// All of it as lines of text.
    pub fn lines(&self, units: Units) -> Vec<String> {
        let mut lines = vec![format!("TO CUT, {}", self.day)];
        let none = |list: bool| list.then(|| "  nothing".to_string());
        lines.extend(none(self.cut.is_empty()));
        for cut in &self.cut {
            let usual = cut
                .usual_g
                .filter(|g| *g > 0)
                .map_or_else(String::new, |g| format!(", about {}", units.weight(g * 1000)));
            let wanted = match cut.wanted_g {
                0 => "none ordered beyond stock".to_string(),
                g => format!("{} wanted by tomorrow", units.weight(g * 1000)),
            };
            lines.push(format!("  {}: {wanted}; {} ready{usual}", cut.crop, counted(cut.trays, "tray")));
            if !cut.places.is_empty() {
                lines.push(format!("    {}", cut.places.join(", ")));
            }
        }
        lines.extend([String::new(), "TO PACK".to_string()]);
        lines.extend(none(self.pack.is_empty()));
        for pack in &self.pack {
            let Pack { product, unit, ordered, on_hand } = pack;
            let missing = match pack.missing() {
                0 => "all there".to_string(),
                missing => format!("{missing} TO PACK"),
            };
            lines.push(format!("  {product}: {ordered} {unit} ordered, {on_hand} on hand, {missing}"));
        }
        lines.extend([String::new(), "TO BRING, round by round".to_string()]);
        lines.extend(none(self.drops.is_empty()));
        let mut round: Option<&str> = None;
        for drop in &self.drops {
            if round != Some(drop.round.as_str()) {
                round = Some(&drop.round);
                lines.push(format!(
                    "  {}",
                    if drop.round.is_empty() { "no round: fetched, or by itself" } else { &drop.round }
                ));
            }
            let note = if drop.note.is_empty() { String::new() } else { format!("; {}", drop.note) };
            lines.push(format!("    {}, {}, {}{note}", drop.customer, drop.address, drop.phone));
            for line in &drop.lines {
                let from: Vec<String> = line.lots.iter().map(|(code, packs)| format!("{packs} of {code}")).collect();
                let there: i64 = line.lots.iter().map(|(_, packs)| packs).sum();
                let short = if there < line.packs { format!("; {} SHORT", line.packs - there) } else { String::new() };
                let from = if from.is_empty() { String::new() } else { format!(": {}", from.join(", ")) };
                lines.push(format!("      {} × {}{from}{short}", line.packs, line.product));
            }
        }
        lines
    }
}
