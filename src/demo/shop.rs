//! From the cut to the customer: packing runs, orders, rounds, a stall on Saturdays, and what comes back.

use chrono::{Datelike, Duration, Weekday};

use super::Room;
use super::sow::Grown;
use crate::domain::action::{Action, EditCrop};
use crate::domain::customer::NewCustomer;
use crate::domain::delivery::{NewDelivery, NewReturn, Packs};
use crate::domain::goods::Goods;
use crate::domain::id::{CropId, PersonId};
use crate::domain::lot::{Kind as LotKind, Lot};
use crate::domain::order::{NewOrder, Wanted};
use crate::domain::packing::{NewLive, NewRun, most, share_out};
use crate::domain::product::{Kind, NewProduct, Product};
use crate::domain::round::{How, Kind as RoundKind, NewRound, Settled, Settling};
use crate::domain::sender::Sender;
use crate::domain::stock::{Away, BackDecision, CameBack, NewMove};
use crate::domain::time::Day;
use crate::store::error::StoreError;

/// The crop whose allergens nobody has checked yet: its label is barred.
const UNCHECKED: &str = "BAS";

impl Room<'_> {
    /// What crops are declared as, what is sold, and to whom.
    pub(super) fn open_shop(&mut self) -> Result<(), StoreError> {
        let mut book = self.notebook(self.calendar.first, 7 * 60 + 10);
        for Grown { crop, of, .. } in &self.grown {
            let mut edit =
                EditCrop { seed_kg_c: Some(of.seed_kg_c), tray_c: Some(of.tray_c), ..EditCrop::of(crop.clone()) };
            if edit.allergen == "not checked" && crop.letters != UNCHECKED {
                edit.allergen = "no".into();
            }
            book.write(20, Action::EditCrop(Box::new(edit)));
        }
        let sender = Sender {
            name: self.scenario.name.clone(),
            address: self.scenario.address.clone(),
            phone: self.scenario.phone.clone(),
            ..Sender::default()
        };
        book.write(60, Action::EditSender { sender: Box::new(sender), rev: 0 });
        book.write(20, Action::EditCurrency { currency: self.scenario.currency.clone(), rev: 0 });
        let crop = |letters: &str| self.grown.iter().find(|grown| grown.crop.letters == letters).map(|g| g.crop.id);
        for product in &self.scenario.products {
            let parts: Option<Vec<(CropId, i64)>> =
                product.parts.iter().map(|(letters, share)| Some((crop(letters)?, *share))).collect();
            let Some(parts) = parts else { continue };
            let kind = match (product.pack_g, parts.len()) {
                (None, _) => Kind::Live,
                (_, 1) => Kind::Crop,
                _ => Kind::Blend,
            };
            let new = NewProduct {
                name: product.name.clone(),
                kind,
                pack_g: product.pack_g,
                gtin: None,
                price_c: Some(product.price_c),
                parts,
            };
            book.write(40, Action::AddProduct(Box::new(new)));
        }
        for of in &self.scenario.customers {
            let new = NewCustomer {
                name: of.name.clone(),
                address: of.address.clone(),
                phone: of.phone.clone(),
                round: of.round.clone(),
                note: of.note.clone(),
            };
            book.write(40, Action::AddCustomer(Box::new(new)));
        }
        self.commit(&book)?;
        Ok(())
    }

    /// After the cut: what is past its day is binned, the blend is packed on its days, then each crop by itself.
    pub(super) fn pack(&mut self, day: Day) -> Result<(), StoreError> {
        let goods = self.store.goods(day)?;
        let mut book = self.notebook(day, 8 * 60 + 40);
        for lot in goods.lots.iter().filter(|lot| lot.past(day) && lot.here() > 0) {
            let (lot, amount, reason) = (lot.id, lot.here(), "past its last day".to_string());
            book.write(30, Action::MoveStock(Box::new(NewMove { lot, away: Away::Waste, amount, reason })));
        }
        self.commit(&book)?;
        for product in goods.products.iter().filter(|product| product.kind != Kind::Live) {
            let blend = product.kind == Kind::Blend;
            if blend && !matches!(day.weekday(), Weekday::Mon | Weekday::Wed | Weekday::Fri) {
                continue;
            }
            let goods = self.store.goods(day)?;
            let mut book = self.notebook(day, 8 * 60 + 45);
            if let Some(run) = self.run(&goods, product, day) {
                book.write(240, Action::Pack(Box::new(run)));
            }
            self.commit(&book)?;
        }
        if day.weekday() == Weekday::Thu {
            self.live_tray(day)?;
        }
        Ok(())
    }

    /// Packs what is there, but of a crop that the blend wants only half.
    fn run(&mut self, goods: &Goods, product: &Product, day: Day) -> Option<NewRun> {
        let pack_g = product.pack_g?;
        let tubs: Vec<&Lot> = goods.to_draw(day).filter(|lot| lot.kind == LotKind::Harvest).collect();
        let there = most(&product.parts, &tubs);
        let blended = |crop: CropId| goods.products.iter().any(|other| other.kind == Kind::Blend && other.has(crop));
        let last = goods.products.iter().rev().find(|other| other.kind == Kind::Blend);
        let wanted = match (product.kind, product.parts.first()) {
            // the blends after it want something too
            (Kind::Blend, _) if last.is_some_and(|last| last.id != product.id) => there / 3,
            (Kind::Crop, Some(part)) if blended(part.crop) => there / 2,
            _ => there,
        };
        let trim_g = wanted * self.rng.i64(5..=15) / 1000;
        let packs = (wanted - trim_g) / pack_g;
        if packs < 1 {
            return None;
        }
        // the scale and the table keep a little
        let draws =
            share_out(&product.parts, &tubs, packs * pack_g + trim_g + packs.min(there - packs * pack_g - trim_g));
        let letters = product.parts.first().map(|part| part.crop);
        let crop = self.grown.iter().find(|grown| Some(grown.crop.id) == letters && product.parts.len() == 1);
        let store = self.fridges.of(crop.map_or("", |grown| grown.crop.letters.as_str()));
        let (product, sure) = (product.id, vec!["pack_balance"]);
        Some(NewRun {
            product,
            draws,
            packs,
            pack_g,
            trim_g,
            waste_g: 0,
            best_before: None,
            store,
            tools: vec!["table 2".into(), "scale 1".into()],
            // a carton lasts a month
            packaging: Some(("boxes".into(), format!("BX-{}", day.format("%y%m")))),
            sure,
        })
    }

    /// One tray a week is sold as it stands.
    fn live_tray(&mut self, day: Day) -> Result<(), StoreError> {
        let (board, goods) = (self.store.board()?, self.store.goods(day)?);
        let Some(product) = goods.products.iter().find(|product| product.kind == Kind::Live) else { return Ok(()) };
        let now = super::moment(self.now, day, 9 * 60);
        let tray = board.trays.iter().find(|tray| product.has(tray.crop) && tray.may_be_cut(now));
        if let Some(tray) = tray {
            let mut book = self.notebook(day, 9 * 60);
            let new = NewLive { product: product.id, trays: vec![tray.id], best_before: None };
            book.write(60, Action::LeaveAlive(Box::new(new)));
            self.commit(&book)?;
        }
        Ok(())
    }

    /// Orders for tomorrow, as their customers always want them.
    pub(super) fn order(&mut self, day: Day) -> Result<(), StoreError> {
        let tomorrow = day + Duration::days(1);
        let goods = self.store.goods(day)?;
        let mut book = self.notebook(day, 15 * 60);
        for of in &self.scenario.customers {
            let Some(customer) = goods.customers.iter().find(|known| known.name == of.name) else { continue };
            let wants = of.wants.iter().filter(|(days, ..)| days.contains(&tomorrow.weekday()));
            let line = |(_, name, packs): &(Vec<Weekday>, String, i64)| {
                let product = goods.products.iter().find(|product| product.name == *name)?;
                let packs = (packs * i64::from(self.demo.trays) / 40).max(1);
                Some(Wanted { product: product.id, packs })
            };
            let lines: Vec<Wanted> = wants.filter_map(line).collect();
            if !lines.is_empty() {
                book.write(120, Action::Order(Box::new(NewOrder { customer: customer.id, day: tomorrow, lines })));
            }
        }
        self.commit(&book)?;
        Ok(())
    }

    /// The day's orders go out on a round; on Saturdays what is left goes to the market.
    pub(super) fn bring(&mut self, day: Day) -> Result<(), StoreError> {
        let goods = self.store.goods(day)?;
        let mut left: Vec<(&Lot, i64)> = goods
            .lots
            .iter()
            .filter(|lot| lot.product.is_some() && lot.free(day))
            .map(|lot| (lot, lot.packs))
            .collect();
        let mut drops = Vec::new();
        for order in goods.orders.iter().filter(|order| order.day == day && order.open() > 0) {
            let mut lines: Vec<Packs> = Vec::new();
            for line in &order.lines {
                let mut open = line.open();
                for (lot, packs) in left.iter_mut().filter(|(lot, _)| lot.product == Some(line.product)) {
                    let take = open.min(*packs);
                    if take > 0 {
                        (open, *packs) = (open - take, *packs - take);
                        lines.push(Packs { lot: lot.id, packs: take });
                    }
                }
            }
            if !lines.is_empty() {
                drops.push((order.customer, order.id, lines));
            }
        }
        let left: Vec<Packs> =
            left.into_iter().filter(|(_, packs)| *packs > 0).map(|(lot, packs)| Packs { lot: lot.id, packs }).collect();
        self.round(day, &goods, drops)?;
        if day.weekday() == Weekday::Sat {
            self.stall(day, left)?;
        }
        self.back(day)
    }

    fn round(
        &mut self,
        day: Day,
        goods: &Goods,
        drops: Vec<(crate::domain::id::CustomerId, crate::domain::id::OrderId, Vec<Packs>)>,
    ) -> Result<(), StoreError> {
        let Some((first, ..)) = drops.first() else { return Ok(()) };
        let mut load: Vec<Packs> = Vec::new();
        for line in drops.iter().flat_map(|(.., lines)| lines) {
            match load.iter_mut().find(|known| known.lot == line.lot) {
                Some(known) => known.packs += line.packs,
                None => load.push(*line),
            }
        }
        let name = goods.customer(*first).map_or_else(String::new, |customer| customer.round.clone());
        let mut book = self.notebook(day, 11 * 60);
        let out_at = book.at.plus(Duration::seconds(300)).instant();
        let new = NewRound {
            kind: RoundKind::Round,
            name,
            out_at,
            temp_dc: Some(38),
            place: None,
            hours: None,
            load,
            sure: vec![],
        };
        book.write(300, Action::LoadRound(Box::new(new)));
        let round = self.commit(&book)?.first().and_then(|done| done.made).map(crate::domain::id::RoundId);
        let mut book = self.notebook(day, 11 * 60 + 20);
        for (customer, order, lines) in drops {
            let temp_dc = Some(39 + self.rng.i64(0..8));
            let (order, received_by) = (Some(order), Some("kitchen".to_string()));
            let new = NewDelivery { customer, order, round, lines, received_by, temp_dc, sure: vec![] };
            book.write(900, Action::Deliver(Box::new(new)));
        }
        self.commit(&book)?;
        Ok(())
    }

    /// A market day: most is sold, something given away and binned, the rest comes back cold.
    fn stall(&mut self, day: Day, load: Vec<Packs>) -> Result<(), StoreError> {
        let load: Vec<Packs> =
            load.into_iter().take(8).map(|line| Packs { packs: line.packs.min(12), ..line }).collect();
        if load.is_empty() {
            return Ok(());
        }
        let of = self.scenario.stall.clone();
        let mut book = self.notebook(day, 12 * 60);
        let out_at = book.at.plus(Duration::seconds(600)).instant();
        let new = NewRound {
            kind: RoundKind::Stall,
            name: of.name,
            out_at,
            temp_dc: Some(36),
            place: Some(of.place),
            hours: Some(of.hours),
            load: load.clone(),
            sure: vec![],
        };
        book.write(600, Action::LoadRound(Box::new(new)));
        let Some(round) = self.commit(&book)?.first().and_then(|done| done.made).map(crate::domain::id::RoundId) else {
            return Ok(());
        };
        let mut lines = Vec::new();
        for (n, line) in load.iter().enumerate() {
            let sold = (line.packs * 3 / 4).max(1);
            let rest = line.packs - sold;
            lines.push(Settled { lot: line.lot, packs: sold, how: How::SoldPublic });
            let how = match n % 3 {
                0 => How::BroughtBack(BackDecision { temp_dc: 41, out_min: 190, by: PersonId(1) }),
                1 => How::Given { to: "to taste, at the stall".into() },
                _ => How::Binned { reason: "squashed at the bottom of the box".into() },
            };
            if rest > 0 {
                lines.push(Settled { lot: line.lot, packs: rest, how });
            }
        }
        let mut book = self.notebook(day, 15 * 60 + 20);
        book.who = PersonId(1);
        book.write(600, Action::SettleRound(Box::new(Settling { round, lines })));
        self.commit(&book)?;
        Ok(())
    }

    /// Once a week a sample is kept, a pack comes back, and empty trays are washed.
    fn back(&mut self, day: Day) -> Result<(), StoreError> {
        let goods = self.store.goods(day)?;
        let mut book = self.notebook(day, 14 * 60 + 30);
        if day.weekday() == Weekday::Mon {
            let fresh =
                goods.lots.iter().find(|lot| lot.product.is_some() && lot.packs > 2 && lot.day == day && lot.free(day));
            if let Some(lot) = fresh {
                let (lot, reason) = (lot.id, String::new());
                book.write(60, Action::MoveStock(Box::new(NewMove { lot, away: Away::Sample, amount: 1, reason })));
            }
        }
        if day.weekday() == Weekday::Wed {
            let yesterday = day - Duration::days(1);
            let known = goods.deliveries.iter().filter(|delivery| delivery.day <= yesterday);
            if let Some((delivery, line)) = known.flat_map(|d| d.lines.iter().map(move |line| (d.id, line))).next() {
                let what = if day + Duration::days(7) > self.calendar.yesterday {
                    CameBack::Undecided
                } else {
                    CameBack::Binned
                };
                let reason = "limp at the edges".to_string();
                let new = NewReturn { delivery, lot: line.lot, packs: 1, what, reason };
                book.write(60, Action::Return(Box::new(new)));
            }
        }
        if let Some(customer) = goods.customers.iter().find(|customer| customer.trays_out > 0)
            && day.weekday() == Weekday::Tue
        {
            let washed_with = "hot water and brush, then sanitiser by its label".to_string();
            book.write(120, Action::Empties { customer: customer.id, trays: customer.trays_out, washed_with });
        }
        self.commit(&book)?;
        Ok(())
    }
}
