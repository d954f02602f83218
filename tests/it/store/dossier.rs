//! What is handed over of a book: its events with all that is asked for, and everything that touched them.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::cold::{HandReading, Limits, Measured, NewStore, PutAway};
use rackwalk::domain::complaint::{Named, NewComplaint, Severity, Standing, Told, What as Wrong};
use rackwalk::domain::correction::Correction;
use rackwalk::domain::delivery::NewReturn;
use rackwalk::domain::id::{LotId, MaterialLotId, MixId, ProductId, RecipeId, SeedLotId, StoreId, TrayId};
use rackwalk::domain::look::{Look, Mist, WaterFigures};
use rackwalk::domain::measure::Amount;
use rackwalk::domain::mix::{NewMaterialLot, NewMix, NewRecipe};
use rackwalk::domain::packing::{Draw, NewLive, NewRun};
use rackwalk::domain::product::{Kind, NewProduct};
use rackwalk::domain::round::{How, Kind as RoundKind, Settled, Settling};
use rackwalk::domain::sender::Sender;
use rackwalk::domain::stock::CameBack;
use rackwalk::domain::trace::event::{Event, Quantity, What};
use rackwalk::domain::trace::touch::{Section, Touch};
use rackwalk::domain::trace::{Dossier, Start, Way};
use rackwalk::domain::treatment::{Listed, NewTreatment};
use rackwalk::domain::water::NewWater;

use super::sold::{Shop, shop};
use super::{assert_sound, person, raw};
use crate::book::{AK, Book};
use crate::screens::stock::ready;

const BOTH: [Way; 2] = [Way::Back, Way::Forward];

fn handed(book: &Book, start: &Start, ways: &[Way]) -> Dossier {
    book.store.dossier(start, ways, book.now).unwrap()
}

/// `packed PEA-260711-A-Z 10 packs`.
fn told(events: &[Event]) -> Vec<String> {
    let of = |event: &Event| {
        let quantity = event.quantity.map_or_else(String::new, Quantity::words);
        let letters: String = event.lot.chars().take_while(char::is_ascii_alphabetic).collect();
        format!("{} {} {letters} {quantity}", event.day, event.what.shown())
    };
    events.iter().map(of).collect()
}

fn one(dossier: &Dossier, what: What) -> &Event {
    let mut found = dossier.events.iter().filter(|event| event.what == what);
    let event = found.next().unwrap_or_else(|| panic!("no {what:?}"));
    assert!(found.next().is_none(), "several {what:?}");
    event
}

fn words(dossier: &Dossier, section: Section) -> Vec<String> {
    dossier.touches.iter().filter(|touch| touch.section == section).map(|touch| touch.words.clone()).collect()
}

/// The tub of a crop that was cut.
fn tub(s: &Shop, name: &str) -> LotId {
    let goods = s.book.store.goods(s.book.now.day()).unwrap();
    goods.lots.iter().find(|lot| lot.product.is_none() && lot.name == name).unwrap().id
}

/// Greens of pea and radish in a blend, by a named table into boxes of a known lot, and who has it.
struct Sold {
    shop: Shop,
    fridge: StoreId,
    blend: LotId,
}

fn sold() -> Sold {
    let mut s = shop();
    let sender =
        Sender { name: "North Bench".into(), address: "2 Kiln Yard".into(), phone: "555".into(), ..Sender::default() };
    s.book.act(&Action::EditSender { sender: Box::new(sender), rev: 0 });
    let new = NewStore { name: "walk-in".into(), limits: Limits::default() };
    let fridge = StoreId(s.book.act(&Action::AddStore(Box::new(new))).made.unwrap());
    s.book.later(Duration::minutes(10));
    let read = |book: &mut Book, temp_dc| {
        let thermometer = "probe".into();
        let reading =
            HandReading { store: fridge, at: book.now.instant(), temp_dc, thermometer, measured: Measured::Air };
        book.act(&Action::ReadCold(Box::new(reading)));
    };
    read(&mut s.book, 40);
    let away = PutAway {
        lots: vec![s.pea, tub(&s, "radish")],
        store: Some(fridge),
        at: s.book.now.instant(),
        out_dc: Some(180),
    };
    s.book.act(&Action::PutAway(Box::new(away)));
    s.book.later(Duration::minutes(50));
    read(&mut s.book, 46);
    let goods = s.book.store.goods(s.book.now.day()).unwrap();
    let product = goods.products.iter().find(|product| product.name == "two sorts 80 g").unwrap().id;
    let draw = |lot, grams| Draw { lot, grams, packs: None };
    let run = NewRun {
        product,
        draws: vec![draw(s.pea, 100), draw(tub(&s, "radish"), 64)],
        packs: 2,
        pack_g: 80,
        trim_g: 4,
        waste_g: 0,
        best_before: None,
        store: None,
        tools: vec!["table 2".into()],
        packaging: Some(("boxes".into(), "BX-1".into())),
        sure: vec![],
    };
    let blend = LotId(s.book.act(&Action::Pack(Box::new(run))).made.unwrap());
    s.deliver(&[(blend, 2)]);
    Sold { shop: s, fridge, blend }
}

#[test]
fn back_from_a_blend_every_event_stands_with_what_an_authority_asks_for() {
    let Sold { shop: s, blend, .. } = sold();
    let dossier = handed(&s.book, &Start::Lot(blend), &BOTH);
    assert_eq!(
        told(&dossier.events),
        [
            "2026-07-01 seed received S 2000 g",
            "2026-07-01 sown B 16 mats",
            "2026-07-05 seed received S 2000 g",
            "2026-07-05 sown B 4 mats",
            "2026-07-11 harvested PEA 1240 g",
            "2026-07-11 harvested RAD 480 g",
            "2026-07-11 cooled PEA 1240 g",
            "2026-07-11 cooled RAD 480 g",
            "2026-07-11 packed MIX 2 packs",
            "2026-07-11 shipped MIX 2 packs",
            "2026-07-11 binned MIX 4 g",
        ]
    );
    let seed = &dossier.events[0];
    assert_eq!((seed.from.name.as_str(), seed.from.address.as_str()), ("Fen Seeds", "1 Dyke Road"));
    assert_eq!((seed.supplier_lot.as_str(), seed.crop.as_str()), ("FS-77 b", "pea"));
    let sown = &dossier.events[1];
    assert_eq!((sown.inputs.len(), sown.inputs[0].quantity), (1, Some(Quantity::Mass(108_000))));
    assert_eq!((sown.trays.len(), sown.places.len()), (4, 4));
    assert_eq!(sown.places[0], "A 1-1");
    let harvest = &dossier.events[4];
    assert_eq!((harvest.places.len(), harvest.trays.len(), harvest.batches.len()), (4, 4, 1));
    assert_eq!(harvest.document, ("log entry".to_string(), harvest.stamp.entry.0.to_string()));
    assert_eq!(harvest.stamp.saw, "AK");
    let cooled = &dossier.events[6];
    assert_eq!(cooled.places, ["walk-in"]);
    assert!(cooled.at.is_some() && cooled.until.is_none(), "something of it is there still");
    let run = one(&dossier, What::Packed);
    let inputs: Vec<(&str, Option<Quantity>, usize)> =
        run.inputs.iter().map(|input| (input.name.as_str(), input.quantity, input.cut.len())).collect();
    assert_eq!(inputs, [("pea", Some(Quantity::grams(100)), 1), ("radish", Some(Quantity::grams(64)), 1)]);
    assert_eq!((run.pack_g, run.product.as_str(), run.crop.as_str()), (Some(80), "two sorts 80 g", "pea; radish"));
    assert_eq!(run.code_by.address, "2 Kiln Yard");
    let shipped = one(&dossier, What::Shipped);
    assert_eq!((shipped.to.name.as_str(), shipped.to.address.as_str()), ("Table", "1 Quay"));
    assert_eq!((shipped.from.name.as_str(), shipped.document.0.as_str()), ("North Bench", "delivery note"));
    assert_eq!(one(&dossier, What::Binned).remark, "trimmed off in packing");
    assert!(dossier.events.iter().all(|event| event.room == "NB"));
    assert!(dossier.proof.whole() && dossier.marks().is_empty());
    let listed: Vec<&str> = dossier.us_list.iter().map(|crop| crop.letters.as_str()).collect();
    assert_eq!(listed, ["PEA", "RAD"]);
    assert_eq!(
        dossier.gaps,
        [
            format!("{}: no document of the supplier.", dossier.events[0].lot),
            format!("{}: no document of the supplier.", dossier.events[2].lot),
            "No phone of Table.".to_string(),
        ]
    );
    // back alone says nothing of customers
    let back = handed(&s.book, &Start::Lot(blend), &[Way::Back]);
    assert!(back.events.iter().all(|event| event.what < What::Shipped), "{:?}", told(&back.events));
    assert_eq!(back.traces.len(), 1);
}

#[test]
fn what_touched_a_blend_stands_under_its_headings_once_each() {
    let Sold { shop: mut s, fridge, blend, .. } = sold();
    // read warm for an hour and a half while the tubs lay there
    for minutes in [5, 45, 45, 45] {
        s.book.later(Duration::minutes(minutes));
        let reading = HandReading {
            store: fridge,
            at: s.book.now.instant(),
            temp_dc: 90,
            thermometer: "probe".into(),
            measured: Measured::Product,
        };
        s.book.store.act(&Action::ReadCold(Box::new(reading)), AK, s.book.now).unwrap();
    }
    let complaint = NewComplaint {
        customer: Some(s.table),
        product: None,
        day: s.book.now.day(),
        delivered: None,
        code: None,
        what: Wrong::Mould,
        severity: Severity::Serious,
        told: Told { words: Some("Quell's guests".into()), ..Told::default() },
        lots: vec![Named { lot: blend, standing: Standing::Open, why: "2 packs that day".into() }],
        hold: true,
    };
    s.book.act(&Action::Complain(Box::new(complaint)));
    let dossier = handed(&s.book, &Start::Lot(blend), &[Way::Back]);
    let code = one(&dossier, What::Packed).lot.clone();
    assert_eq!(words(&dossier, Section::Tools), [format!("table 2 was used on {code}")]);
    assert!(
        words(&dossier, Section::Materials)
            .iter()
            .any(|text| text.starts_with("boxes, lot BX-1 is around MIX-260711-A-"))
    );
    assert_eq!(words(&dossier, Section::Cut).len(), 3, "one check, two harvests");
    assert_eq!(
        words(&dossier, Section::Packing).len(),
        1,
        "not the runs of one crop: {:?}",
        words(&dossier, Section::Packing)
    );
    let cold = words(&dossier, Section::Cold);
    assert!(cold.contains(&"pea: outside a store, 18.0 °C at most".to_string()), "{cold:?}");
    assert!(cold.iter().any(|text| text.starts_with("radish: in walk-in: 2 readings, 4.0 °C to 4.6 °C")), "{cold:?}");
    let complaints: Vec<&Touch> = dossier.touches.iter().filter(|touch| touch.section == Section::Complaints).collect();
    assert_eq!(complaints.len(), 1);
    let whole = serde_json::to_string(&dossier).unwrap();
    assert!(!whole.contains("Quell"), "what was told of people is handed to nobody");
    // 4 pea, 4 radish trays; places once, neighbours that are not of the trace
    assert!(!words(&dossier, Section::Places).is_empty());
    let beside = words(&dossier, Section::Neighbours);
    assert!(!beside.is_empty() && beside.iter().all(|text| text.starts_with("MUS ")), "{beside:?}");
    let mut entries: Vec<_> = dossier
        .touches
        .iter()
        .filter(|touch| touch.section != Section::Tools && touch.section != Section::Materials)
        .filter_map(|touch| touch.entry)
        .collect();
    let all = entries.len();
    entries.sort_unstable();
    entries.dedup();
    assert_eq!(entries.len(), all, "an entry is told once");
    assert_eq!(dossier.touches.iter().filter(|touch| touch.section == Section::Hands).count(), 1);
    // the tubs themselves lay through the spell, the blend left before it
    let spelled = handed(&s.book, &Start::Lot(s.pea), &[Way::Back]);
    let spells = words(&spelled, Section::Spells);
    assert!(spells.len() == 1 && spells[0].starts_with("walk-in: Warm spell"), "{spells:?}");
    assert!(spells[0].ends_with("nobody has decided about it"), "{spells:?}");
    assert_eq!(words(&dossier, Section::Spells), [] as [String; 0]);
}

/// Looks, a spray from a bottle, water: before the cut.
#[test]
fn looks_sprays_water_and_the_lots_of_what_was_sprayed_stand_beside_a_tray() {
    let mut book = ready();
    let trays: Vec<TrayId> =
        book.board().trays.iter().filter(|tray| tray.letters == "PEA").map(|tray| tray.id).collect();
    let fuzz = Look { fuzz: Some(Mist::Down), watered: true, ..Look::of(trays[0]) };
    let look = book.act(&Action::Look(Box::new(fuzz))).entry;
    let plain = book.act(&Action::Look(Box::new(Look { watered: true, ..Look::of(trays[1]) }))).entry;
    let received = book.now.day();
    let salt = NewMaterialLot { name: "salt".into(), code: "SL-9".into(), received, use_by: None };
    let salt = MaterialLotId(book.act(&Action::ReceiveMaterial(salt)).made.unwrap());
    let parts = vec![("salt".to_string(), Amount::parse("2 g").unwrap())];
    let recipe = NewRecipe { name: "rinse".into(), ml: 500, life_d: 2, parts };
    let recipe = RecipeId(book.act(&Action::AddRecipe(Box::new(recipe))).made.unwrap());
    let mix = NewMix { recipe, version: 1, ml: 400, lots: vec![Some(salt)] };
    let mix = book.act(&Action::PrepareMix(mix)).made.map(MixId);
    let treated = NewTreatment {
        trays: vec![trays[0]],
        mix,
        product: String::new(),
        reg_no: None,
        at: book.now.instant(),
        ml: Some(20),
        purpose: "test".into(),
        listed: Listed::Yes,
        wait_h: 0,
        reentry_h: 0,
    };
    let treated = book.act(&Action::Treat(Box::new(treated))).entry;
    let water = NewWater {
        trays: vec![trays[0]],
        figures: WaterFigures { ec_us: Some(820), ..WaterFigures::default() },
        source: "well".into(),
    };
    let watered = book.act(&Action::Water(Box::new(water))).entry;
    let of = |tray: TrayId| -> Vec<(Section, i64)> {
        let touches = book.store.touches(&Start::Tray(tray), book.now).unwrap();
        touches.iter().filter_map(|touch| Some((touch.section, touch.entry?.0))).collect()
    };
    let first = of(trays[0]);
    for (section, entry) in [(Section::Fuzz, look), (Section::Treatments, treated), (Section::Water, watered)] {
        assert!(first.contains(&(section, entry.0)), "{section:?} {first:?}");
    }
    let dossier = handed(&book, &Start::Tray(trays[0]), &[Way::Back]);
    assert!(words(&dossier, Section::Materials).iter().any(|text| text.starts_with("salt, lot SL-9")));
    assert_eq!(words(&dossier, Section::Treatments).len(), 2, "the bottle, and the spray");
    let second = of(trays[1]);
    assert!(second.contains(&(Section::Looks, plain.0)), "{second:?}");
    assert!(
        !second.iter().any(|(section, _)| *section == Section::Treatments || *section == Section::Water),
        "{second:?}"
    );
    // forward from the bottle: what was sprayed, and nothing else
    let forward = handed(&book, &Start::Mix(mix.unwrap()), &[Way::Forward]);
    assert!(words(&forward, Section::Treatments).len() == 2, "{:?}", words(&forward, Section::Treatments));
}

#[test]
fn what_came_back_was_sold_to_the_public_or_binned_is_told_with_whom_and_why() {
    let mut s = shop();
    let shoots = s.shoots;
    let id = s.deliver(&[(shoots, 4)]);
    let back = NewReturn { delivery: id, lot: shoots, packs: 2, what: CameBack::Undecided, reason: "limp".into() };
    s.book.act(&Action::Return(Box::new(back)));
    s.book.act(&Action::DecideReturn { delivery: id, lot: shoots, packs: 2, what: CameBack::Binned });
    let round = s.load(RoundKind::Stall, &[(shoots, 3)]);
    let line = |packs, how| Settled { lot: shoots, packs, how };
    let lines = vec![line(2, How::SoldPublic), line(1, How::Binned { reason: "squashed".into() })];
    s.book.act(&Action::SettleRound(Box::new(Settling { round, lines })));
    // a delivery that was none
    s.deliver(&[(shoots, 1)]);
    s.book.act(&Action::Undo);
    let dossier = handed(&s.book, &Start::Lot(shoots), &[Way::Forward]);
    let of = |what| -> Vec<(String, String, String)> {
        let of: Vec<&Event> = dossier.events.iter().filter(|event| event.what == what).collect();
        of.iter().map(|e| (e.quantity.unwrap().words(), e.to.words(), e.remark.clone())).collect()
    };
    let text = String::from;
    assert_eq!(of(What::Shipped), [(text("4 packs"), text("Table, 1 Quay"), String::new())]);
    assert_eq!(of(What::Sold), [(text("2 packs"), text("the public: north, square"), text("8 to 13"))]);
    let returned = one(&dossier, What::Returned);
    assert_eq!((returned.from.name.as_str(), returned.remark.as_str()), ("Table", "not decided yet; limp"));
    let binned: Vec<String> = of(What::Binned).into_iter().map(|(packs, _, why)| format!("{packs} {why}")).collect();
    assert!(binned.contains(&"2 packs came back from a customer".to_string()), "{binned:?}");
    assert!(binned.iter().any(|text| text.starts_with("1 pack") && text.ends_with("squashed")), "{binned:?}");
    assert_eq!(dossier.replaced.len(), 1);
    let undone = &dossier.replaced[0];
    assert!(undone.never && undone.event.what == What::Shipped);
    assert_eq!(undone.event.quantity, Some(Quantity::Packs(1)));
    assert_sound(&mut s.book);
}

#[test]
fn a_batch_and_a_delivery_put_right_say_what_they_said_first() {
    let Sold { shop: mut s, blend, .. } = sold();
    let rm = person(&mut s.book, "RM", false);
    let before = handed(&s.book, &Start::Lot(blend), &[Way::Back]);
    assert!(before.replaced.is_empty());
    let (received, sown) = (before.events[0].stamp.entry, before.events[1].stamp.entry);
    let right = |correction| Action::Correct { entry: sown, correction, reason: "misread".into(), second: None };
    let entry = s.book.store.entry(sown).unwrap();
    let batch = &entry.sowings[0];
    let correction = Correction::Sowing {
        sowing: batch.id,
        crop: batch.crop,
        day: batch.day,
        seed: vec![(batch.seed[0].0, 120_000)],
        after: entry.after,
    };
    let by = s.book.act(&right(correction)).entry;
    let correction = Correction::Received { mg: 2_100_000, after: None };
    s.book.act(&Action::Correct { entry: received, correction, reason: "misread".into(), second: None });
    s.book.act(&Action::Correct {
        entry: sown,
        correction: Correction::Hands { at: None, by: rm },
        reason: "it was RM".into(),
        second: None,
    });
    let after = handed(&s.book, &Start::Lot(blend), &[Way::Back]);
    assert_eq!(after.events[0].quantity, Some(Quantity::grams(2100)));
    let now = &after.events[1];
    assert_eq!(now.inputs[0].quantity, Some(Quantity::grams(120)));
    assert_eq!((now.stamp.saw.as_str(), now.stamp.typed.as_str()), ("RM", "AK"));
    assert!(now.stamp.put_right_by.is_some());
    let first: Vec<(What, Option<Quantity>, bool)> = after
        .replaced
        .iter()
        .map(|old| {
            (old.event.what, old.event.inputs.first().map_or(old.event.quantity, |input| input.quantity), old.never)
        })
        .collect();
    assert_eq!(
        first,
        [(What::Received, Some(Quantity::grams(2000)), false), (What::Sown, Some(Quantity::grams(108)), false)]
    );
    assert_eq!((after.replaced[1].by.entry, after.replaced[1].by.note.as_deref()), (by, Some("misread")));
}

#[test]
fn another_code_for_the_same_packs_is_an_event_of_its_own() {
    let mut s = shop();
    let old = handed(&s.book, &Start::Lot(s.shoots), &[Way::Back]).events.last().unwrap().clone();
    s.book.later(Duration::days(1));
    let reissue = Action::Reissue { lot: s.shoots, product: s.shoots_of, reason: "smudged".into() };
    let new = LotId(s.book.act(&reissue).made.unwrap());
    let dossier = handed(&s.book, &Start::Lot(new), &BOTH);
    let packed = one(&dossier, What::Packed);
    assert_eq!(
        (packed.stamp.entry, packed.day, packed.quantity),
        (old.stamp.entry, old.day, Some(Quantity::Packs(10)))
    );
    assert_eq!(packed.inputs, old.inputs);
    let label = one(&dossier, What::Relabelled);
    assert_eq!((label.inputs[0].lot.as_str(), label.lot.as_str()), (old.lot.as_str(), packed.lot.as_str()));
    assert_eq!((label.remark.as_str(), label.day), ("smudged", s.book.now.day()));
    assert_eq!(words(&dossier, Section::Packing).len(), 2, "packed, and labelled anew");
}

#[test]
fn a_chain_that_is_broken_is_said_and_it_is_handed_over_all_the_same() {
    let Sold { shop: s, blend, .. } = sold();
    let conn = raw(&s.book.path);
    // the trigger would stop it; whoever breaks the chain has taken it away
    conn.execute_batch("DROP TRIGGER seed_move_frozen; UPDATE seed_move SET mg = mg + 1 WHERE id = 1;").unwrap();
    let dossier = handed(&s.book, &Start::Lot(blend), &BOTH);
    let broken = dossier.proof.broken.as_ref().unwrap();
    assert_eq!(dossier.marks(), [format!("THE CHAIN OF THE LOG IS BROKEN AT ENTRY {}.", broken.entry)]);
    assert!(dossier.proven().contains("BROKEN") && !dossier.events.is_empty());
}

#[test]
fn a_seed_lot_has_its_sowings_and_a_lot_on_the_way_only_its_own() {
    let mut book = Book::room();
    let seed = book.seed("RAD", 1000);
    book.sow("RAD", seed, 1);
    book.later(Duration::days(1));
    book.sow("RAD", seed, 2);
    let start = Start::SeedLot(SeedLotId(seed.0));
    let whole = handed(&book, &start, &BOTH);
    assert_eq!(words(&whole, Section::Seed).len(), 3, "received, and sown twice");
    let tray = book.board().trays[0].id;
    let of_tray = handed(&book, &Start::Tray(tray), &BOTH);
    assert_eq!(words(&of_tray, Section::Seed).len(), 2, "{:?}", words(&of_tray, Section::Seed));
}

#[test]
fn a_tray_that_leaves_alive_is_packed_without_a_harvest() {
    let mut s = shop();
    let mustard = s.book.board().trays.iter().find(|tray| tray.letters == "MUS").cloned().unwrap();
    let parts = vec![(mustard.crop, 1000)];
    let new =
        NewProduct { name: "mustard, living".into(), kind: Kind::Live, pack_g: None, gtin: None, price_c: None, parts };
    let product = ProductId(s.book.act(&Action::AddProduct(Box::new(new))).made.unwrap());
    let new = NewLive { product, trays: vec![mustard.id], best_before: None };
    let lot = LotId(s.book.act(&Action::LeaveAlive(Box::new(new))).made.unwrap());
    let dossier = handed(&s.book, &Start::Lot(lot), &[Way::Back]);
    let packed = one(&dossier, What::Packed);
    assert_eq!((packed.quantity, packed.pack_g), (Some(Quantity::Trays(1)), None));
    assert_eq!((packed.inputs[0].quantity, packed.rows().len()), (Some(Quantity::Mats(1)), 1));
    assert_eq!((packed.trays.len(), packed.places.len(), packed.remark.as_str()), (1, 1, "left the room alive"));
    assert!(dossier.events.iter().all(|event| event.what != What::Harvested));
}
