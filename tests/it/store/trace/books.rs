//! Books at random, each made through the one door: some days of sowing, cutting, packing and selling, with slips put right.

use std::sync::OnceLock;

use chrono::Duration;
use fastrand::Rng;
use rackwalk::domain::action::{Action, Done};
use rackwalk::domain::correction::Correction;
use rackwalk::domain::crop::Medium;
use rackwalk::domain::customer::NewCustomer;
use rackwalk::domain::delivery::{NewDelivery, NewReturn, Packs};
use rackwalk::domain::harvest::{CutTray, NewCutCheck, NewHarvest};
use rackwalk::domain::id::{
    CropId, CustomerId, DeliveryId, EntryId, FormatId, LotId, PlaceId, ProductId, RoundId, SeedLotId, SowingId, TrayId,
};
use rackwalk::domain::packing::{Draw, NewLive, NewRun};
use rackwalk::domain::product::{Kind, NewProduct};
use rackwalk::domain::round::{How, Kind as RoundKind, NewRound, Settled, Settling};
use rackwalk::domain::sowing::{NewSowing, Part, Wetting};
use rackwalk::domain::standing::NewStanding;
use rackwalk::domain::stock::{Away, CameBack, NewMove};
use rackwalk::domain::time::Now;
use rackwalk::domain::tray::{Gear, LossReason, Stage};
use rackwalk::store::error::StoreError;
use rusqlite::Connection;

use super::super::{crop, number, raw};
use crate::book::{AK, Book};

/// How many trays a book has at most.
const PLACES: usize = 14;

/// What the first days of every book have in common.
#[derive(Clone)]
struct Base {
    bytes: Vec<u8>,
    now: Now,
    /// Pea, radish, mustard.
    crops: [CropId; 3],
    /// Two of each.
    seed: [[SeedLotId; 2]; 3],
    places: Vec<PlaceId>,
    format: FormatId,
    /// Each crop, pea and radish, all three, and live pea.
    products: [ProductId; 6],
    customers: [CustomerId; 2],
}

fn base() -> &'static Base {
    static BUILT: OnceLock<Base> = OnceLock::new();
    BUILT.get_or_init(|| {
        let mut book = Book::of_racks("1x2x8");
        let letters = ["PEA", "RAD", "MUS"];
        let crops = letters.map(|letters| crop(&book, letters).id);
        let seed = letters.map(|letters| [book.seed(letters, 5000), book.seed(letters, 5000)]);
        let [pea, radish, mustard] = crops;
        let mut product = |name: &str, kind, pack_g, parts: &[(CropId, i64)]| {
            let new = NewProduct { name: name.into(), kind, pack_g, gtin: None, price_c: None, parts: parts.to_vec() };
            ProductId(book.act(&Action::AddProduct(Box::new(new))).made.unwrap())
        };
        let products = [
            product("pea", Kind::Crop, Some(20), &[(pea, 1000)]),
            product("radish", Kind::Crop, Some(20), &[(radish, 1000)]),
            product("mustard", Kind::Crop, Some(20), &[(mustard, 1000)]),
            product("two", Kind::Blend, Some(20), &[(pea, 500), (radish, 500)]),
            product("three", Kind::Blend, Some(20), &[(pea, 400), (radish, 300), (mustard, 300)]),
            product("live pea", Kind::Live, None, &[(pea, 1000)]),
        ];
        let customers = ["Table", "Corner"].map(|name| {
            let new = NewCustomer { name: name.into(), address: "1 Quay".into(), ..NewCustomer::default() };
            CustomerId(book.act(&Action::AddCustomer(Box::new(new))).made.unwrap())
        });
        let board = book.board();
        let places = board.free_places().iter().map(|place| place.id).collect();
        let format = board.formats[0].id;
        let (bytes, now) = book.closed();
        Base { bytes, now, crops, seed, places, format, products, customers }
    })
}

/// A lot, and which of the three crops it may hold: one bit each.
#[derive(Debug, Clone, Copy)]
struct Made {
    id: LotId,
    pack: bool,
    crops: u8,
}

/// What each of the packed products may hold.
const HOLDS: [u8; 5] = [1, 2, 4, 3, 7];

/// A book in the making.
pub struct Making {
    pub book: Book,
    /// The same book past the program: opened once, for that costs more than an entry.
    pub raw: Connection,
    rng: Rng,
    base: &'static Base,
    taken: usize,
    sowings: i64,
    trays: Vec<(TrayId, usize)>,
    lots: Vec<Made>,
    /// Deliveries and rounds, each with a lot that went with it.
    deliveries: Vec<(DeliveryId, LotId)>,
    rounds: Vec<(RoundId, LotId)>,
    entries: Vec<EntryId>,
    /// What was done, for whoever looks into a fault.
    pub done: Vec<String>,
}

fn check() -> Action {
    let (with, washed) = ("soap".into(), Some(true));
    Action::CheckCut(Box::new(NewCutCheck { hands: true, well: true, blade: true, cleaned: true, with, washed }))
}

/// So many rooms are grown; more books than that begin in each.
const ROOMS: usize = 40;

/// A room in which all is ready to be cut.
#[derive(Clone)]
struct Grown {
    bytes: Vec<u8>,
    now: Now,
    sowings: i64,
    trays: Vec<(TrayId, usize)>,
    entries: Vec<EntryId>,
    done: Vec<String>,
}

fn grown(seed: u64) -> &'static Grown {
    static ALL: [OnceLock<Grown>; ROOMS] = [const { OnceLock::new() }; ROOMS];
    ALL[usize::try_from(seed).unwrap()].get_or_init(|| {
        let base = base();
        let from = Grown {
            bytes: base.bytes.clone(),
            now: base.now,
            sowings: 0,
            trays: Vec::new(),
            entries: Vec::new(),
            done: Vec::new(),
        };
        let mut making = Making::of(&from, seed);
        making.grow();
        let Making { book, raw, sowings, trays, entries, done, .. } = making;
        drop(raw);
        let (bytes, now) = book.closed();
        Grown { bytes, now, sowings, trays, entries, done }
    })
}

/// The book of a seed.
pub fn book(seed: u64) -> Making {
    let mut making = Making::of(grown(seed % u64::try_from(ROOMS).unwrap()), seed);
    for _ in 0..making.rng.usize(10..20) {
        making.book.later(Duration::minutes(3));
        let action = making.step();
        making.tried(&action);
    }
    making
}

impl Making {
    fn of(from: &Grown, seed: u64) -> Self {
        let book = Book::copy(&from.bytes, from.now);
        Self {
            raw: raw(&book.path),
            book,
            rng: Rng::with_seed(seed),
            base: base(),
            taken: 0,
            sowings: from.sowings,
            trays: from.trays.clone(),
            lots: Vec::new(),
            deliveries: Vec::new(),
            rounds: Vec::new(),
            entries: from.entries.clone(),
            done: from.done.clone(),
        }
    }

    /// Days of sowing; all of it is in its window at the end, and lit.
    fn grow(&mut self) {
        for crop in [0, 2, 1] {
            for _ in 0..self.rng.usize(1..3) {
                let before = self.trays.len();
                let action = if self.rng.u8(..) < 40 { self.standing(crop) } else { self.sowing(crop) };
                self.tried(&action);
                if self.rng.u8(..) < 30 {
                    self.tried(&Action::Undo);
                    self.trays.truncate(before);
                }
            }
            self.book.later(Duration::days(2));
        }
        self.book.later(Duration::days(2));
        let moves = self.trays.iter().map(|(tray, _)| (*tray, None)).collect();
        self.tried(&Action::MoveMany { moves, stage: Some(Stage::Lit) });
        self.book.later(Duration::days(2));
        self.tried(&check());
    }

    fn places(&mut self, n: usize) -> Vec<PlaceId> {
        let from = self.taken.min(PLACES - n);
        self.taken += n;
        self.base.places[from..from + n].to_vec()
    }

    fn sowing(&mut self, crop: usize) -> Action {
        let parts: Vec<Part> = (0..self.rng.usize(1..3))
            .map(|_| {
                let grams = 1000 * self.rng.i64(5..40);
                let lots = self.base.seed[crop];
                let seed = match self.rng.u8(0..3) {
                    0 => vec![(lots[0], grams)],
                    1 => vec![(lots[1], grams)],
                    _ => vec![(lots[0], grams), (lots[1], grams + 1000)],
                };
                Part { trays: self.rng.usize(1..3), seed }
            })
            .collect();
        let n = parts.iter().map(|part| part.trays).sum();
        Action::Sow(Box::new(NewSowing {
            crop: self.base.crops[crop],
            day: self.book.now.day(),
            format: self.base.format,
            mats: self.rng.i64(1..5),
            medium: Medium::Mat,
            medium_lot: [None, Some("M-1".into()), Some("M-2".into())][self.rng.usize(0..3)].clone(),
            wetting: Wetting::Water,
            soaks: vec![],
            soak_h: 0,
            parts,
            places: self.places(n),
            counts: vec![],
        }))
    }

    /// Trays that stood before the book.
    fn standing(&mut self, crop: usize) -> Action {
        let lot = [None, Some(self.base.seed[crop][self.rng.usize(0..2)])][self.rng.usize(0..2)];
        let n = self.rng.usize(1..3);
        let (sown, places) = (self.book.now.day(), self.places(n));
        let (crop, format) = (self.base.crops[crop], self.base.format);
        Action::Standing(Box::new(NewStanding { crop, sown, format, lot, stage: Stage::Covered, places }))
    }

    /// Whatever may be done on the day of the cut.
    fn step(&mut self) -> Action {
        let action = match self.rng.u8(0..100) {
            0..23 => Some(self.harvest()),
            23..47 => self.pack(),
            47..50 => Some(self.alive()),
            50..58 => self.deliver(),
            58..63 => self.came_back(),
            63..69 => self.load(),
            69..75 => self.settle(),
            75..78 => self.moved(),
            78..83 => self.reissue(),
            83..90 => Some(Action::Undo),
            90..92 => self.never(),
            92..95 => self.seed_put_right(),
            95..98 => Some(check()),
            _ => Some(self.throw()),
        };
        action.unwrap_or_else(|| self.harvest())
    }

    fn some<T: Copy>(&mut self, of: &[T]) -> Option<T> {
        (!of.is_empty()).then(|| of[self.rng.usize(0..of.len())])
    }

    fn lot(&mut self, packed: bool) -> Option<Made> {
        let lots: Vec<Made> = self.lots.iter().filter(|lot| lot.pack || !packed).copied().collect();
        self.some(&lots)
    }

    /// Some mats of some trays of one crop, weighed each or together.
    fn harvest(&mut self) -> Action {
        let crop = self.rng.usize(0..3);
        let mut trays: Vec<TrayId> = self.trays.iter().filter(|(_, of)| *of == crop).map(|(tray, _)| *tray).collect();
        self.rng.shuffle(&mut trays);
        trays.truncate(self.rng.usize(1..4));
        let together = self.rng.bool();
        let cuts = trays.into_iter().map(|tray| CutTray {
            tray,
            mats: [None, Some(1), Some(2)][self.rng.usize(0..3)],
            grams: (!together || self.rng.bool()).then(|| self.rng.i64(60..400)),
        });
        let cuts: Vec<CutTray> = cuts.collect();
        let grams = cuts.iter().any(|cut| cut.grams.is_none()).then(|| self.rng.i64(60..600));
        let sure = vec!["harvest_early", "harvest_late", "harvest_grams"];
        Action::Harvest(Box::new(NewHarvest { cuts, grams, again: self.rng.u8(..) < 20, tools: vec![], sure }))
    }

    /// A pack of one crop or a blend, drawn from harvest lots and from packs, blends among them.
    fn pack(&mut self) -> Option<Action> {
        let mut draws: Vec<Draw> = Vec::new();
        let mut crops = 0;
        for _ in 0..self.rng.usize(1..4) {
            let Made { id: lot, pack, crops: of } = self.lot(false)?;
            if draws.iter().any(|draw| draw.lot == lot) {
                continue;
            }
            crops |= of;
            let packs = self.rng.i64(1..3);
            draws.push(if pack {
                Draw { lot, grams: packs * 20, packs: Some(packs) }
            } else {
                Draw { lot, grams: self.rng.i64(20..120), packs: None }
            });
        }
        let product = self.product(crops)?;
        let grams: i64 = draws.iter().map(|draw| draw.grams).sum();
        let (packs, trim_g) = (grams / 20, grams % 20);
        let sure = vec!["pack_balance", "pack_parts", "pack_keeps"];
        let run = NewRun {
            product,
            draws,
            packs,
            pack_g: 20,
            trim_g,
            waste_g: 0,
            best_before: None,
            store: None,
            tools: vec![],
            packaging: None,
            sure,
        };
        Some(Action::Pack(Box::new(run)))
    }

    /// A product that may hold these crops.
    fn product(&mut self, crops: u8) -> Option<ProductId> {
        let fit: Vec<usize> = (0..5).filter(|n| HOLDS[*n] & crops == crops).collect();
        self.some(&fit).map(|n| self.base.products[n])
    }

    fn alive(&mut self) -> Action {
        let trays: Vec<TrayId> = self.trays.iter().filter(|(_, of)| *of == 0).map(|(tray, _)| *tray).collect();
        let trays = self.some(&trays).into_iter().collect();
        Action::LeaveAlive(Box::new(NewLive { product: self.base.products[5], trays, best_before: None }))
    }

    fn packs(&mut self) -> Option<Vec<Packs>> {
        let mut lots = vec![self.lot(true)?.id];
        let other = self.lot(true)?.id;
        lots.extend((lots[0] != other && self.rng.bool()).then_some(other));
        Some(lots.into_iter().map(|lot| Packs { lot, packs: self.rng.i64(1..3) }).collect())
    }

    fn deliver(&mut self) -> Option<Action> {
        let customer = self.base.customers[self.rng.usize(0..2)];
        let rounds = self.rounds.clone();
        let on = if self.rng.u8(..) < 80 { self.some(&rounds) } else { None };
        let (round, lines) = match on {
            Some((round, lot)) => (Some(round), vec![Packs { lot, packs: 1 }]),
            None => (None, self.packs()?),
        };
        let sure = vec![];
        let new = NewDelivery { customer, order: None, round, lines, received_by: None, temp_dc: None, sure };
        Some(Action::Deliver(Box::new(new)))
    }

    fn came_back(&mut self) -> Option<Action> {
        let deliveries = self.deliveries.clone();
        let (delivery, lot) = self.some(&deliveries)?;
        let reason = "limp".to_string();
        Some(Action::Return(Box::new(NewReturn { delivery, lot, packs: 1, what: CameBack::Undecided, reason })))
    }

    fn load(&mut self) -> Option<Action> {
        let kind = if self.rng.bool() { RoundKind::Stall } else { RoundKind::Round };
        let (place, hours) = (Some("square".into()), Some("8 to 13".into()));
        let (out_at, load) = (self.book.now.instant(), self.packs()?);
        let (name, temp_dc, sure) = ("north".into(), None, vec![]);
        Some(Action::LoadRound(Box::new(NewRound { kind, name, out_at, temp_dc, place, hours, load, sure })))
    }

    fn settle(&mut self) -> Option<Action> {
        let rounds = self.rounds.clone();
        let (round, lot) = self.some(&rounds)?;
        let how = match self.rng.u8(0..4) {
            0 => How::Delivered { customer: self.base.customers[0], extra: true },
            1 => How::Given { to: "the neighbour".into() },
            _ => How::SoldPublic,
        };
        Some(Action::SettleRound(Box::new(Settling { round, lines: vec![Settled { lot, packs: 1, how }] })))
    }

    fn moved(&mut self) -> Option<Action> {
        let away = [Away::Waste, Away::Given, Away::Sample][self.rng.usize(0..3)];
        let lot = self.lot(false)?.id;
        Some(Action::MoveStock(Box::new(NewMove { lot, away, amount: 1, reason: "the neighbour".into() })))
    }

    fn reissue(&mut self) -> Option<Action> {
        let Made { id: lot, crops, .. } = self.lot(true)?;
        let product = self.product(crops)?;
        Some(Action::Reissue { lot, product, reason: "the wrong roll of labels".into() })
    }

    /// Some entry never happened.
    fn never(&mut self) -> Option<Action> {
        let entries = self.entries.clone();
        let entry = self.some(&entries)?;
        Some(Action::Correct { entry, correction: Correction::Never, reason: "a slip".into(), second: None })
    }

    /// The seed of a batch was misread.
    fn seed_put_right(&mut self) -> Option<Action> {
        let sowing = SowingId(self.rng.i64(1..=self.sowings));
        let of = format!("SELECT entry_id FROM sowing WHERE id = {}", sowing.0);
        let told = self.book.store.entry(EntryId(number(&self.raw, &of))).unwrap();
        let old = told.sowings.iter().find(|old| old.id == sowing)?;
        let lots = self.base.seed[self.base.crops.iter().position(|crop| *crop == old.crop)?];
        let seed = [vec![(lots[0], 9000)], vec![(lots[1], 8000)], vec![(lots[1], 4000), (lots[0], 3000)]];
        let seed = seed[self.rng.usize(0..3)].clone();
        let correction = Correction::Sowing { sowing, crop: old.crop, day: old.day, seed, after: told.after };
        Some(Action::Correct { entry: told.id, correction, reason: "the scale was misread".into(), second: None })
    }

    fn throw(&mut self) -> Action {
        let trays = self.trays.clone();
        let tray = self.some(&trays).map_or(TrayId(1), |(tray, _)| tray);
        let (reason, gear) = (LossReason::Accident, Gear::Binned);
        Action::Throw { walk: None, tray, reason, gear, cleanup: None, note: None }
    }

    /// Done or refused by a rule; anything else is a fault.
    fn tried(&mut self, action: &Action) {
        match self.book.store.act(action, AK, self.book.now) {
            Ok(done) => {
                self.done.push(format!("{}: {}", done.entry.0, done.sentence));
                self.entries.push(done.entry);
                self.remember(action, &done);
            }
            Err(StoreError::Rule(refusal)) => self.done.push(format!("- {}", refusal.rule)),
            Err(other) => panic!("{action:?}: {other:?}"),
        }
    }

    fn remember(&mut self, action: &Action, done: &Done) {
        let made = done.made.unwrap_or(0);
        let crop = |crop: &CropId| self.base.crops.iter().position(|one| one == crop).unwrap();
        let holds = |product: &ProductId| self.base.products.iter().position(|one| one == product).unwrap();
        match action {
            Action::Sow(_) | Action::Standing(_) => {
                let of = crop(match action {
                    Action::Sow(new) => &new.crop,
                    Action::Standing(new) => &new.crop,
                    _ => return,
                });
                self.trays.extend(done.trays.iter().map(|tray| (*tray, of)));
                self.sowings = number(&self.raw, "SELECT max(id) FROM sowing");
            }
            Action::Harvest(new) => {
                let of = self.trays.iter().find(|(tray, _)| *tray == new.cuts[0].tray).unwrap().1;
                let whole = |tray: &TrayId| new.cuts.iter().any(|cut| cut.tray == *tray && cut.mats.is_none());
                self.trays.retain(|(tray, _)| new.again || !whole(tray));
                self.lots.push(Made { id: LotId(made), pack: false, crops: 1 << of });
            }
            Action::Pack(new) => {
                let crops = HOLDS[holds(&new.product)];
                self.lots.push(Made { id: LotId(made), pack: true, crops });
            }
            Action::Reissue { lot, product, .. } => {
                let crops = HOLDS[holds(product)];
                self.lots.retain(|one| one.id != *lot);
                self.lots.push(Made { id: LotId(made), pack: true, crops });
            }
            Action::LeaveAlive(_) => self.lots.push(Made { id: LotId(made), pack: true, crops: 8 }),
            Action::Deliver(new) => self.deliveries.push((DeliveryId(made), new.lines[0].lot)),
            Action::LoadRound(new) => self.rounds.push((RoundId(made), new.load[0].lot)),
            _ => {}
        }
    }
}
