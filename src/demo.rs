//! An invented room with a believable history, written through the one door like everything else.
//!
//! Each day is worked out from the board as it stands and written in a few commits, so whatever the book would
//! refuse a person it refuses the demo as well.

mod air;
mod calendar;
mod cold;
mod complain;
mod harvest;
mod scenario;
mod shop;
mod soak;
mod sow;
mod spray;
mod tested;
mod walk;

use std::collections::HashSet;

use chrono::{Datelike, Duration, TimeZone, Weekday};
use fastrand::Rng;

use crate::domain::action::{Action, Done};
use crate::domain::crop::Allergy;
use crate::domain::id::{CropId, FormatId, PersonId, SeedLotId, SoakId, SowingId, TrayId, WalkId};
use crate::domain::look::{Look, Stand};
use crate::domain::room::{Place, Units, Zone};
use crate::domain::seed_lot::Treated;
use crate::domain::setup::{NewFormat, NewRoom};
use crate::domain::sowing::{NewSowing, share_out};
use crate::domain::starter::starter_crops;
use crate::domain::time::{Day, Now, day_number};
use crate::domain::tray::Stage;
use crate::domain::walk::Mode;
use crate::store::Store;
use crate::store::error::StoreError;

use self::calendar::Calendar;
use self::harvest::{Harvest, harvest, side_by_side};
use self::scenario::Scenario;
use self::sow::{Grown, weak_trays};
use self::walk::{Morning, walk};

/// Weeks of history at most.
pub const WEEKS_MAX: u32 = 104;
/// Trays a week at most.
pub const TRAYS_MAX: u32 = 2500;

/// Size of the demo; the same demo at the same moment is the same book.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Demo {
    /// Weeks of history before today.
    pub weeks: u32,
    /// Trays sown per week.
    pub trays: u32,
    pub seed: u64,
}

impl Default for Demo {
    fn default() -> Self {
        Self { weeks: 4, trays: 40, seed: 7 }
    }
}

/// Fills a new book: history up to yesterday evening, and a first glance this morning, with today's walk still to do.
///
/// `progress` hears the days done and the days in all.
pub fn build(store: &mut Store, demo: &Demo, now: Now, mut progress: impl FnMut(u64, u64)) -> Result<(), StoreError> {
    if !(1..=WEEKS_MAX).contains(&demo.weeks) || !(1..=TRAYS_MAX).contains(&demo.trays) {
        return Err(StoreError::Refused(format!(
            "A demo has 1 to {WEEKS_MAX} weeks of 1 to {TRAYS_MAX} trays: choose smaller figures."
        )));
    }
    let scenario = Scenario::read().map_err(|e| asset("assets/demo.toml", &e))?;
    let calendar = Calendar::new(&scenario.crops, demo, now.day());
    let days: Vec<Day> = calendar.days().collect();
    let total = u64::from(demo.weeks) * 7;
    let mut room = Room::set_up(store, demo, scenario, calendar, now)?;
    for (done, day) in (1..).zip(days) {
        room.live(day)?;
        progress(done, total);
    }
    room.complaints()?;
    room.first_glance()?;
    room.loggers()?;
    room.air()
}

fn asset(file: &str, why: &impl std::fmt::Display) -> StoreError {
    StoreError::Refused(format!("The demo cannot be read, so correct {file}: {why}"))
}

/// How fast a batch grows against its plan, in days: most as planned, some ahead, some behind.
fn vigour(seed: u64, sowing: SowingId) -> i64 {
    match luck(seed, sowing, 0).u8(..10) {
        0 => -1,
        1 | 2 => 1,
        _ => 0,
    }
}

/// A batch's own luck, the same on every day.
fn luck(seed: u64, sowing: SowingId, of: u64) -> Rng {
    // 2^64 divided by the golden ratio: spreads neighbouring numbers far apart
    Rng::with_seed((seed ^ sowing.0.unsigned_abs() << 8 ^ of).wrapping_mul(0x9E37_79B9_7F4A_7C15))
}

/// An action with its hands and its moment.
struct Step {
    action: Action,
    who: PersonId,
    now: Now,
}

/// What one person writes on one day, one thing after the other.
struct Notebook {
    who: PersonId,
    at: Now,
    steps: Vec<Step>,
}

impl Notebook {
    /// Writes an action that took so many seconds.
    fn write(&mut self, seconds: i64, action: Action) {
        self.at = self.at.plus(Duration::seconds(seconds));
        self.steps.push(Step { action, who: self.who, now: self.at });
    }
}

/// The demo room while it is lived in.
struct Room<'s> {
    store: &'s mut Store,
    demo: Demo,
    scenario: Scenario,
    calendar: Calendar,
    now: Now,
    rng: Rng,
    people: Vec<PersonId>,
    format: FormatId,
    grown: Vec<Grown>,
    weak_lots: HashSet<SeedLotId>,
    weak: HashSet<TrayId>,
    fridges: cold::Fridges,
    /// When the newest entry was written: nothing is written before it.
    written: Now,
}

impl<'s> Room<'s> {
    fn set_up(
        store: &'s mut Store,
        demo: &Demo,
        scenario: Scenario,
        calendar: Calendar,
        now: Now,
    ) -> Result<Self, StoreError> {
        let table = starter_crops().map_err(|e| asset("assets/crops.toml", &e))?;
        let starters: Vec<_> =
            scenario.crops.iter().filter_map(|crop| table.iter().find(|s| s.letters == crop.letters)).collect();
        let mut room = Self {
            rng: Rng::with_seed(demo.seed),
            people: vec![PersonId(1)],
            format: FormatId(1),
            grown: Vec::new(),
            weak_lots: HashSet::new(),
            weak: HashSet::new(),
            fridges: cold::Fridges::default(),
            written: moment(now, calendar.first, 7 * 60),
            store,
            demo: *demo,
            scenario,
            calendar,
            now,
        };
        let racks = room.calendar.racks(&starters);
        let mut book = room.notebook(room.calendar.first, 7 * 60);
        let mut initials = room.scenario.people.iter();
        let first = initials.next();
        book.write(
            0,
            Action::SetUp(Box::new(NewRoom {
                name: room.scenario.name.clone(),
                code: room.scenario.code.clone(),
                initials: first.map_or_else(|| "AK".into(), |person| person.initials.clone()),
                units: Units::Metric,
                racks,
                format: NewFormat::nominal(),
                crops: room.scenario.crops.iter().map(|crop| crop.letters.clone()).collect(),
            })),
        );
        if let Some(person) = first {
            let name = person.name.clone();
            let may_decide = person.may_decide;
            book.write(60, Action::EditPerson { person: PersonId(1), rev: 0, name, may_decide, retired: false });
        }
        for person in initials {
            let (initials, name) = (person.initials.clone(), person.name.clone());
            book.write(30, Action::AddPerson { initials, name, may_decide: person.may_decide });
        }
        room.commit(&book)?;
        room.meet()?;
        room.open_shop()?;
        room.fridges = room.fridges()?;
        room.first_seed()?;
        Ok(room)
    }

    /// Reads back what the book made of the set-up.
    fn meet(&mut self) -> Result<(), StoreError> {
        let board = self.store.board()?;
        self.people = board.people.iter().map(|person| person.id).collect();
        self.format = board.formats.first().map_or(self.format, |format| format.id);
        let crops = self.store.crops()?;
        for (n, of) in self.scenario.crops.iter().enumerate() {
            let Some(crop) = crops.iter().find(|crop| crop.letters == of.letters) else { continue };
            let trays = |day: Day| self.calendar.on(day).iter().filter(|(c, _)| *c == n).map(|(_, t)| t).sum::<usize>();
            let sown: usize = self.calendar.days().map(trays).sum();
            let weekly = sown / self.demo.weeks as usize;
            self.grown.push(Grown { crop: crop.clone(), of: of.clone(), weekly, deliveries: 0 });
        }
        Ok(())
    }

    /// What stood in the seed cupboard when the book began.
    fn first_seed(&mut self) -> Result<(), StoreError> {
        let mut book = self.notebook(self.calendar.first, 7 * 60 + 20);
        let received = self.calendar.first - Duration::days(12);
        let mut weak = Vec::new();
        for grown in self.grown.iter_mut().filter(|grown| grown.weekly > 0) {
            let first = grown.deliver(&self.scenario, received, 0);
            // the poor lot came with the first one, so that both are sown in the same weeks
            let second = grown.of.weak_lot.map(|_| grown.deliver(&self.scenario, received, grown.weekly));
            for delivery in [first].into_iter().chain(second) {
                weak.push(delivery.weak);
                book.write(120, Action::ReceiveSeedLot(Box::new(delivery.lot)));
            }
        }
        let made = self.commit(&book)?;
        self.weak_lots
            .extend(made.iter().zip(weak).filter(|(_, weak)| *weak).filter_map(|(done, _)| done.made.map(SeedLotId)));
        Ok(())
    }

    /// One day: walk, cut, move, sow; on the last one something is sprayed.
    fn live(&mut self, day: Day) -> Result<(), StoreError> {
        if self.calendar.missed != Some(day) {
            self.walk(day)?;
            self.thermometers(day)?;
            self.harvest(day)?;
            self.put_tubs_away(day)?;
            self.pack(day)?;
        }
        self.seed(day)?;
        self.sow(day)?;
        if self.calendar.missed != Some(day) {
            self.bring(day)?;
            self.order(day)?;
        }
        self.tests(day)?;
        if day == self.calendar.yesterday {
            self.spray(day)?;
            self.evening(day)?;
        }
        Ok(())
    }

    fn walk(&mut self, day: Day) -> Result<(), StoreError> {
        let board = self.store.board()?;
        if !board.trays.iter().any(|tray| tray.look_due(day)) {
            return Ok(());
        }
        let begin = 6 * 60 + self.rng.i64(0..12);
        let mut book = self.notebook(day, begin);
        let start = Action::StartWalk { mode: Mode::Both, racks: None };
        let Some(walk_id) = self.store.act(&start, book.who, book.at)?.made else { return Ok(()) };
        let morning = Morning {
            board: &board,
            day,
            walk: WalkId(walk_id),
            seed: self.demo.seed,
            notes: &self.scenario.notes,
            weak: &self.weak,
            last: day == self.calendar.yesterday,
            slip: day_number(self.calendar.first, day) % 11 == 5,
        };
        walk(&morning, &mut book, &mut self.rng);
        self.commit(&book)?;
        Ok(())
    }

    fn harvest(&mut self, day: Day) -> Result<(), StoreError> {
        let board = self.store.board()?;
        let declared = |crop: &&Grown| matches!(Allergy::of(&crop.crop.allergen), Allergy::Yes(_));
        let allergens: Vec<CropId> = self.grown.iter().filter(declared).map(|grown| grown.crop.id).collect();
        let mut book = self.notebook(day, 7 * 60 + 45);
        let today = Harvest {
            board: &board,
            day,
            seed: self.demo.seed,
            weak: &self.weak,
            last: day == self.calendar.yesterday,
            allergens: &allergens,
        };
        harvest(&today, &mut book, &mut self.rng);
        self.commit(&book)?;
        Ok(())
    }

    /// Seed that arrives, before it is wanted twice over; and one jar counted.
    fn seed(&mut self, day: Day) -> Result<(), StoreError> {
        let lots = self.store.seed_lots()?;
        let mut book = self.notebook(day, 9 * 60 + 30);
        let mut weak = Vec::new();
        for (crop, trays) in self.calendar.on(day) {
            let Some(grown) = self.grown.get_mut(*crop) else { continue };
            let mut left: i64 = grown.usable(&lots, day).iter().map(|(_, mg)| mg).sum();
            while left < grown.mg(*trays) * 2 {
                let delivery = grown.deliver(&self.scenario, day, *trays);
                if delivery.lot.treated == Treated::No {
                    left += delivery.lot.mg;
                }
                weak.push(delivery.weak);
                book.write(90, Action::ReceiveSeedLot(Box::new(delivery.lot)));
            }
        }
        let middle = i64::from(self.demo.weeks) * 7 / 2;
        if day_number(self.calendar.first, day) == middle
            && let Some(lot) = lots.iter().find(|lot| lot.left_mg > 20_000)
        {
            weak.push(false);
            book.write(60, Action::CountSeed { lot: lot.id, counted_mg: lot.left_mg - 6_000 });
        }
        for (done, weak) in self.commit(&book)?.iter().zip(weak) {
            self.weak_lots.extend(done.made.filter(|_| weak).map(SeedLotId));
        }
        Ok(())
    }

    fn sow(&mut self, day: Day) -> Result<(), StoreError> {
        let wanted = self.calendar.on(day).to_vec();
        if wanted.is_empty() {
            return Ok(());
        }
        let book = self.notebook(day, 10 * 60 + 15);
        self.sow_all(day, &wanted, book, 240)
    }

    /// Sows crops and trays one after the other into free covered places.
    fn sow_all(
        &mut self,
        day: Day,
        wanted: &[(usize, usize)],
        mut book: Notebook,
        seconds: i64,
    ) -> Result<(), StoreError> {
        let mut free: Vec<Place> = self.store.board()?.free_places().into_iter().cloned().collect();
        free.retain(|place| place.zone == Zone::Covered);
        let (lots, soaks) = (self.store.seed_lots()?, self.store.board()?.soaks);
        let done = usize::try_from(day_number(self.calendar.first, day)).unwrap_or(0);
        let mut weak: Vec<bool> = Vec::new();
        for (crop, trays) in wanted {
            let Some(grown) = self.grown.get(*crop) else { continue };
            let places = side_by_side(&mut free, *trays);
            let mut usable = grown.usable(&lots, day);
            if grown.of.weak_lot.is_some() && day.weekday() == grown.of.sow.last().copied().unwrap_or(Weekday::Sun) {
                usable.reverse();
            }
            let Ok(parts) = share_out(&usable, grown.mg(1), places.len()) else { continue };
            if parts.is_empty() {
                continue;
            }
            weak.extend(weak_trays(&parts, &self.weak_lots));
            let medium = self.scenario.media.lot(grown.crop.medium, done, self.demo.weeks as usize * 7);
            let soaks = soaks.iter().filter(|soak| !soak.running() && parts.iter().any(|part| part.of(soak.lot)));
            let soaks: Vec<SoakId> = soaks.map(|soak| soak.id).collect();
            let sowing = NewSowing { soaks, ..grown.sowing(day, self.format, medium, parts, places) };
            book.write(seconds, Action::Sow(Box::new(sowing)));
        }
        let sown = self.commit(&book)?;
        let trays = sown.iter().flat_map(|done| &done.trays);
        self.weak.extend(trays.zip(weak).filter(|(_, weak)| *weak).map(|(tray, _)| *tray));
        Ok(())
    }

    /// Early today, before the walk: trays for today's knife were checked, seed soaked overnight was drained and sown, and
    /// other seed went into water.
    fn first_glance(&mut self) -> Result<(), StoreError> {
        let today = self.now.day();
        let board = self.store.board()?;
        // a quarter of an hour ago, but today
        let early = self.now.plus(-Duration::minutes(15)).max(moment(self.now, today, 0));
        let mut book = self.notebook(today, 0);
        book.at = early;
        let lit = |ready: bool| {
            let fit = board.trays.iter().filter(move |tray| tray.ready(today) == ready && tray.stage != Stage::Covered);
            fit.filter(|tray| !tray.suspect && !tray.look_late(today))
        };
        let good = lit(true).take(2).chain(lit(false).take(1)).map(|tray| (tray, Stand::Good));
        for (tray, stand) in good.chain(lit(false).skip(1).take(1).map(|tray| (tray, Stand::Uneven))) {
            let look = Look { stand: Some(stand), ..Look::of(tray.id) };
            book.write(0, Action::Look(Box::new(look)));
        }
        for soak in &board.soaks {
            book.write(0, Action::Drain { soak: soak.id, at: early.instant(), rinses: 3 });
        }
        let soaked = self.soaked_crops();
        self.soak(soaked.get(1), &mut book)?;
        self.commit(&book)?;
        book.steps.clear();
        match soaked.first() {
            Some(first) => self.sow_all(today, &[(*first, 2)], book, 0),
            None => Ok(()),
        }
    }

    /// What measures the air, and what it read.
    fn air(&mut self) -> Result<(), StoreError> {
        let mut book = self.notebook(self.now.day(), 0);
        for action in air::sensors() {
            book.write(0, action);
        }
        let made = self.commit(&book)?;
        book.steps.clear();
        for action in air::readings(&made, book.at) {
            book.write(0, action);
        }
        self.commit(&book)?;
        Ok(())
    }

    /// A page for a day from so many minutes after midnight on, or from the newest entry on if that is later.
    fn notebook(&self, day: Day, minutes: i64) -> Notebook {
        let turn = usize::try_from(day.num_days_from_ce()).unwrap_or(0) % self.people.len().max(1);
        let who = self.people.get(turn).copied().unwrap_or(PersonId(1));
        Notebook { who, at: moment(self.now, day, minutes).max(self.written), steps: Vec::new() }
    }

    fn commit(&mut self, book: &Notebook) -> Result<Vec<Done>, StoreError> {
        self.written = book.at;
        self.store.act_many(|door| book.steps.iter().map(|step| door.act(&step.action, step.who, step.now)).collect())
    }
}

/// A moment of a day by the clock on the room's wall.
fn moment(now: Now, day: Day, minutes: i64) -> Now {
    let wall = day.and_time(chrono::NaiveTime::MIN) + Duration::minutes(minutes);
    now.0.offset().from_local_datetime(&wall).single().map_or(now, Now)
}
