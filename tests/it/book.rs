//! A temporary book with a small invented room, built through the one door like everything else.

use std::path::PathBuf;

use chrono::{DateTime, Duration};
use rackwalk::domain::action::{Action, Done};
use rackwalk::domain::board::Board;
use rackwalk::domain::crop::Medium;
use rackwalk::domain::id::{PersonId, PlaceId, SeedLotId, TrayId};
use rackwalk::domain::look::{Look, Roots};
use rackwalk::domain::refusal::Refusal;
use rackwalk::domain::room::{Units, parse_racks};
use rackwalk::domain::seed_lot::{NewSeedLot, Treated};
use rackwalk::domain::setup::{NewFormat, NewRoom, lay_out};
use rackwalk::domain::sowing::{NewSowing, Part, Wetting};
use rackwalk::domain::time::Now;
use rackwalk::store::Store;
use rackwalk::store::error::StoreError;

/// The person who set the room up.
pub const AK: PersonId = PersonId(1);

/// A moment of the invented summer.
pub fn at(text: &str) -> Now {
    Now(DateTime::parse_from_rfc3339(&format!("{text}:00Z")).unwrap())
}

/// A book in a folder of its own that goes away with it.
pub struct Book {
    pub store: Store,
    pub path: PathBuf,
    pub now: Now,
    _dir: tempfile::TempDir,
}

impl Book {
    /// A new file, not set up.
    pub fn empty() -> Self {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("room.rackwalk");
        let store = Store::open(&path, "20260701T060000").unwrap();
        Self { store, path, now: at("2026-07-01T06:00"), _dir: dir }
    }

    /// North Bench on its first day: racks A and B of three shelves by four, radish and pea.
    pub fn room() -> Self {
        Self::of_racks("2x3x4")
    }

    /// The same with other racks.
    pub fn of_racks(racks: &str) -> Self {
        let mut book = Self::empty();
        book.act(&Action::SetUp(Box::new(NewRoom {
            name: "North Bench".into(),
            code: "NB".into(),
            initials: "AK".into(),
            units: Units::Metric,
            racks: lay_out(&parse_racks(racks).unwrap()),
            format: NewFormat::nominal(),
            crops: vec!["RAD".into(), "PEA".into(), "MUS".into()],
        })));
        book
    }

    /// Closes the book: its file and the moment, for any number of copies.
    pub fn closed(self) -> (Vec<u8>, Now) {
        drop(self.store);
        (std::fs::read(&self.path).unwrap(), self.now)
    }

    /// A copy of a closed book.
    pub fn copy(bytes: &[u8], now: Now) -> Self {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("room.rackwalk");
        std::fs::write(&path, bytes).unwrap();
        let store = Store::open(&path, "copy").unwrap();
        Self { store, path, now, _dir: dir }
    }

    /// The same file opened a second time; the first keeps it.
    pub fn beside(&self) -> Self {
        let store = Store::open(&self.path, "beside").unwrap();
        Self { store, path: self.path.clone(), now: self.now, _dir: tempfile::tempdir().unwrap() }
    }

    /// Writes and expects it to go well.
    pub fn act(&mut self, action: &Action) -> Done {
        self.store.act(action, AK, self.now).unwrap()
    }

    /// Writes and expects a rule in the way.
    pub fn refused(&mut self, action: &Action) -> Refusal {
        match self.store.act(action, AK, self.now) {
            Err(StoreError::Rule(refusal)) => refusal,
            other => panic!("expected a refusal, got {other:?}"),
        }
    }

    pub fn board(&self) -> Board {
        self.store.board().unwrap()
    }

    /// Moves the clock.
    pub fn later(&mut self, by: Duration) {
        self.now = self.now.plus(by);
    }

    /// Receives a kilogram lot of a crop.
    pub fn seed(&mut self, letters: &str, grams: i64) -> SeedLotId {
        let crop = self.board().crops.iter().find(|c| c.letters == letters).unwrap().id;
        let new = NewSeedLot {
            supplier: "Fen Seeds".into(),
            supplier_address: "1 Dyke Road".into(),
            supplier_lot: "FS-77 b".into(),
            use_by: Some(self.now.day() + Duration::days(300)),
            germ_pm: Some(920),
            treated: Treated::No,
            ..NewSeedLot::of(crop, grams * 1000, self.now.day())
        };
        SeedLotId(self.act(&Action::ReceiveSeedLot(Box::new(new))).made.unwrap())
    }

    /// A place by its name, such as `B 1-1`.
    pub fn place(&self, label: &str) -> PlaceId {
        let board = self.board();
        board.places().find(|place| place.label() == label).unwrap_or_else(|| panic!("no place {label}")).id
    }

    /// Sows a tray of radish at each place.
    pub fn radish_at(&mut self, lot: SeedLotId, labels: &[&str]) -> Vec<TrayId> {
        let places = labels.iter().map(|label| self.place(label)).collect();
        let new = NewSowing { places, ..self.sowing("RAD", lot, labels.len()) };
        self.act(&Action::Sow(Box::new(new))).trays
    }

    /// A sowing of `n` trays from one lot into the first free places.
    pub fn sowing(&self, letters: &str, lot: SeedLotId, n: usize) -> NewSowing {
        let board = self.board();
        let places: Vec<PlaceId> = board.free_places().iter().take(n).map(|p| p.id).collect();
        NewSowing {
            crop: board.crops.iter().find(|c| c.letters == letters).unwrap().id,
            day: self.now.day(),
            format: board.formats[0].id,
            mats: 1,
            medium: Medium::Mat,
            medium_lot: None,
            wetting: Wetting::Water,
            soaks: vec![],
            soak_h: 0,
            parts: vec![Part { trays: n, seed: vec![(lot, 27_000 * i64::try_from(n).unwrap())] }],
            places,
            counts: vec![],
        }
    }

    /// Sows `n` trays from one lot into the first free places.
    pub fn sow(&mut self, letters: &str, lot: SeedLotId, n: usize) -> Vec<TrayId> {
        let new = self.sowing(letters, lot, n);
        self.act(&Action::Sow(Box::new(new))).trays
    }
}

/// A look with a roots grade.
pub fn roots(tray: TrayId, grade: Roots) -> Action {
    Action::Look(Box::new(Look { roots: Some(grade), watered: true, ..Look::of(tray) }))
}
