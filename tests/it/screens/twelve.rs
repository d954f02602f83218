//! A book of twelve trays in every state a tray can be in today, built by hand.
//!
//! Held has no way into the book yet, and nothing here was treated. Today is the eighth of July, six in the morning. Pea grows in soil here, so its
//! roots are never graded.

use std::sync::OnceLock;

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::id::{PlaceId, SeedLotId, TrayId};
use rackwalk::domain::look::{Fault, Faults, Look, Mist, Roots, Stand, WaterFigures};
use rackwalk::domain::seed_lot::{NewSeedLot, Treated};
use rackwalk::domain::time::Now;
use rackwalk::domain::tray::Stage;

use crate::book::Book;

/// A place by its name.
fn place(book: &Book, label: &str) -> PlaceId {
    let board = book.board();
    board.places().find(|place| place.label() == label).unwrap_or_else(|| panic!("no place {label}")).id
}

fn sow(book: &mut Book, letters: &str, lot: SeedLotId, at: &[&str]) -> Vec<TrayId> {
    let places = at.iter().map(|label| place(book, label)).collect();
    let new = rackwalk::domain::sowing::NewSowing { places, ..book.sowing(letters, lot, at.len()) };
    book.act(&Action::Sow(Box::new(new))).trays
}

fn look(book: &mut Book, tray: TrayId, look: Look) {
    let look = Look { trays: vec![tray], ..look };
    book.act(&Action::Look(Box::new(look)));
}

fn rooted(roots: Roots) -> Look {
    Look { roots: Some(roots), watered: true, ..Look::of(TrayId(0)) }
}

fn stands(stand: Stand) -> Look {
    Look { stand: Some(stand), watered: true, ..Look::of(TrayId(0)) }
}

/// Brings a tray to another stage, to a place if one is named.
fn bring(book: &mut Book, tray: TrayId, to: Option<&str>, stage: Option<Stage>) {
    let to = to.map(|label| place(book, label));
    book.act(&Action::Move { walk: None, tray, to, stage });
}

/// Radish on A 1 (three ready in their own ways, one late), pea on A 2 (due, seen, suspect), young radish covered on A 3
/// and B 1 (due and late), pea sown today on B 3; a second pea lot nobody has said is untreated.
pub fn book() -> Book {
    static BUILT: OnceLock<(Vec<u8>, Now)> = OnceLock::new();
    let (bytes, now) = BUILT.get_or_init(|| build().closed());
    Book::copy(bytes, *now)
}

fn build() -> Book {
    let mut book = Book::room();
    let radish = book.seed("RAD", 1000);
    let pea = book.seed("PEA", 2500);
    let pea_crop = book.board().crops.iter().find(|c| c.letters == "PEA").unwrap().id;
    book.act(&Action::ReceiveSeedLot(Box::new(NewSeedLot {
        crop: pea_crop,
        variety: "Dun".into(),
        supplier: "Marsh & Sons".into(),
        supplier_address: String::new(),
        supplier_lot: "none printed".into(),
        mg: 10_000_000,
        received: book.now.day(),
        use_by: None,
        germ_pm: None,
        tsw_mg: Some(210_000),
        treated: Treated::NotStated,
        cert: None,
        document: Some("DN 4471".into()),
        kept: Some("shelf".into()),
    })));
    let first = sow(&mut book, "RAD", radish, &["A 1-1", "A 1-2", "A 1-3", "A 1-4"]);

    book.later(Duration::days(2)); // the 3rd
    for (tray, roots) in first.iter().zip([Roots::Peeking, Roots::Peeking, Roots::None, Roots::Peeking]) {
        look(&mut book, *tray, rooted(roots));
    }
    let second = sow(&mut book, "PEA", pea, &["A 2-1", "A 2-2", "A 2-3"]);

    book.later(Duration::days(2)); // the 5th
    for tray in &first {
        look(&mut book, *tray, rooted(Roots::Full));
        bring(&mut book, *tray, None, Some(Stage::Lit));
    }
    let third = sow(&mut book, "RAD", radish, &["A 3-1", "A 3-2", "B 1-1"]);

    book.later(Duration::days(1)); // the 6th
    look(&mut book, first[3], stands(Stand::Good));
    look(&mut book, second[0], stands(Stand::Uneven));

    book.later(Duration::days(1)); // the 7th
    for tray in &first[..3] {
        look(&mut book, *tray, stands(Stand::Good));
    }
    for tray in &second[..2] {
        bring(&mut book, *tray, None, Some(Stage::Lit));
        look(&mut book, *tray, stands(Stand::Good));
    }
    look(
        &mut book,
        second[2],
        Look {
            fuzz: Some(Mist::Stands),
            faults: Faults::default().toggled(Fault::BrownRoots),
            note: Some("left edge, size of a coin".into()),
            ..stands(Stand::Uneven)
        },
    );
    bring(&mut book, second[2], Some("ISO 1-1"), None);
    look(&mut book, third[0], Look { fuzz: Some(Mist::Down), ..rooted(Roots::Peeking) });
    look(&mut book, third[1], rooted(Roots::None));

    book.later(Duration::days(1)); // the 8th, today
    look(&mut book, first[0], stands(Stand::Good));
    bring(&mut book, first[0], None, Some(Stage::Ready));
    let water = WaterFigures { ml: Some(400), ph_100: Some(610), temp_dc: Some(195), ec_us: None };
    look(&mut book, second[1], Look { water, ..stands(Stand::Good) });
    look(&mut book, second[0], stands(Stand::Uneven));
    sow(&mut book, "PEA", pea, &["B 3-1", "B 3-2"]);
    book
}

#[test]
fn it_shows_every_state_there_is() {
    use rackwalk::domain::tray::Sign;
    let book = book();
    let board = book.board();
    assert_eq!(board.trays.len(), 12);
    for sign in Sign::ALL.iter().filter(|sign| ![Sign::Held, Sign::Waiting, Sign::ToClean, Sign::Empty].contains(sign))
    {
        assert!(board.count(*sign, book.now) > 0, "no tray is {}", sign.shown());
    }
    assert!(!board.free_places().is_empty());
}
