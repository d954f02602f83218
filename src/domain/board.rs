//! The room as the home screen shows it.

use std::collections::BTreeMap;

use super::bands::Bands;
use super::breach::Breach;
use super::check::CheckKind;
use super::cleaning::ToClean;
use super::fuzz::Points;
use super::hold::Hold;
use super::id::{BreachId, CropId, HoldId, MixId, PlaceId, RackId, RecipeId, TrayId};
use super::mix::{Material, Mix, Recipe};
use super::person::Person;
use super::review::Signed;
use super::room::{Place, TrayFormat, Units, Zone};
use super::sender::Sender;
use super::shelf_life::RunsOut;
use super::soak::Soaking;
use super::suspect::Suspect;
use super::time::{Day, Now};
use super::tray::{Flag, Sign, TrayCard};
use super::treatment::KeepOut;
use super::whereabouts::Missing;

/// A rack with its places in walking order.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Rack {
    pub id: RackId,
    pub name: String,
    pub places: Vec<Place>,
    /// Edits of its name so far; a form that was opened on an older one is stale.
    pub rev: i64,
}

impl Rack {
    /// Shelf numbers, top first.
    pub fn shelves(&self) -> Vec<i64> {
        let mut shelves: Vec<i64> = self.places.iter().map(|p| p.shelf).collect();
        shelves.dedup();
        shelves
    }

    pub fn on_shelf(&self, shelf: i64) -> impl Iterator<Item = &Place> {
        self.places.iter().filter(move |p| p.shelf == shelf)
    }
}

/// A crop with its letters, for lists.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct CropName {
    pub id: CropId,
    pub letters: String,
    pub name: String,
}

/// Room, racks, people and every tray standing: what most screens need.
#[derive(Debug, Clone, PartialEq, Eq, Default, serde::Serialize)]
pub struct Board {
    pub room_name: String,
    pub room_code: String,
    pub units: Option<Units>,
    pub racks: Vec<Rack>,
    /// Places taken out of use, rack by rack.
    pub idle: Vec<Rack>,
    pub people: Vec<Person>,
    pub formats: Vec<TrayFormat>,
    pub crops: Vec<CropName>,
    /// Sorted as one walks, a stack from its top.
    pub trays: Vec<TrayCard>,
    /// In the room, and nobody knows where.
    pub missing: Vec<Missing>,
    /// Suspect trays, those missing last.
    pub suspects: Vec<Suspect>,
    pub runs_out: Vec<RunsOut>,
    /// Breaches nobody has decided yet, the gravest first.
    pub breaches: Vec<Breach>,
    /// Holds nobody has lifted yet, the oldest first.
    pub holds: Vec<Hold>,
    /// Checks of the room that are kept.
    pub checks: Vec<CheckKind>,
    /// Places where something bad stood and nobody has said that they were cleaned, as one walks.
    pub to_clean: Vec<ToClean>,
    /// Recipes in use.
    #[serde(skip)]
    pub recipes: Vec<Recipe>,
    /// Ingredients with their lots.
    #[serde(skip)]
    pub materials: Vec<Material>,
    /// Prepared mixes that are still there, the soonest to expire first.
    pub mixes: Vec<Mix>,
    /// Where nobody goes in after a treatment, the longest first; also what is over.
    pub keep_out: Vec<KeepOut>,
    /// Seed in water, and what was there lately, the newest first.
    pub soaks: Vec<Soaking>,
    /// Where water came from, as it was written down.
    pub water_sources: Vec<String>,
    /// What water and air should be here, and how often that was changed.
    #[serde(skip)]
    pub bands: Bands,
    #[serde(skip)]
    pub bands_rev: i64,
    /// What labels and notes say of the room, and how often that was changed.
    pub sender: Sender,
    #[serde(skip)]
    pub sender_rev: i64,
    /// What prices are followed by, and how often that was changed.
    #[serde(skip)]
    pub currency: String,
    #[serde(skip)]
    pub currency_rev: i64,
    /// What signs of fuzz weigh here.
    #[serde(skip)]
    pub fuzz_points: Points,
    /// The folder of the daily second copy, if one was chosen.
    pub second_copy: Option<String>,
    /// The newest days on which any tray was looked at or watered, three at most.
    pub walked: Vec<Day>,
    /// Up to which day the records are signed.
    pub signed: Option<Signed>,
    /// Edits so far of the room's name, code and units.
    pub room_rev: i64,
    /// Edits so far of every place, in use or not.
    #[serde(skip)]
    pub place_revs: BTreeMap<PlaceId, i64>,
}

impl Board {
    /// What the screens show.
    pub fn units(&self) -> Units {
        self.units.unwrap_or(Units::Metric)
    }

    pub fn tray(&self, id: TrayId) -> Option<&TrayCard> {
        self.trays.iter().find(|tray| tray.id == id)
    }

    /// What is known of a suspect tray.
    pub fn suspect(&self, id: TrayId) -> Option<&Suspect> {
        self.suspects.iter().find(|suspect| suspect.tray == id)
    }

    pub fn breach(&self, id: BreachId) -> Option<&Breach> {
        self.breaches.iter().find(|breach| breach.id == id)
    }

    pub fn hold(&self, id: HoldId) -> Option<&Hold> {
        self.holds.iter().find(|hold| hold.id == id)
    }

    pub fn mix(&self, id: MixId) -> Option<&Mix> {
        self.mixes.iter().find(|mix| mix.id == id)
    }

    pub fn recipe(&self, id: RecipeId) -> Option<&Recipe> {
        self.recipes.iter().find(|recipe| recipe.id == id)
    }

    /// Where nobody goes in now.
    pub fn kept_out(&self, now: Now) -> impl Iterator<Item = &KeepOut> {
        self.keep_out.iter().filter(move |out| out.lasts(now))
    }

    /// That nobody goes in to a tray now, and until when.
    pub fn kept_out_of(&self, tray: &TrayCard, now: Now) -> Option<String> {
        let mut here = self.kept_out(now);
        here.find(|out| out.racks.is_empty() || out.racks.contains(&tray.place.rack_name)).map(|out| out.words(now))
    }

    /// The tray at a place, of a stack the uppermost.
    pub fn tray_at(&self, place: PlaceId) -> Option<&TrayCard> {
        self.trays_at(place).next()
    }

    /// All trays at a place, from the top.
    pub fn trays_at(&self, place: PlaceId) -> impl Iterator<Item = &TrayCard> {
        self.trays.iter().filter(move |tray| tray.place.id == place)
    }

    /// Why a place is to be cleaned before a tray is put there.
    pub fn to_clean(&self, place: PlaceId) -> Option<&ToClean> {
        self.to_clean.iter().find(|dirty| dirty.place.id == place)
    }

    /// What is open about a tray, also what the room's bands say of it.
    pub fn flags(&self, tray: &TrayCard, now: Now) -> Vec<Flag> {
        let mut flags = tray.flags(now);
        if self.bands.water_overdue(tray, now.day()) {
            flags.push(Flag { text: "its water is overdue".into(), grave: false });
        }
        if self.to_clean(tray.place.id).is_some() {
            flags.push(Flag { text: "its place is to be cleaned".into(), grave: false });
        }
        flags
    }

    /// Every tray in the room, those standing and those missing.
    pub fn in_room(&self) -> impl Iterator<Item = &TrayCard> {
        self.trays.iter().chain(self.missing.iter().map(|missing| &missing.tray))
    }

    /// A tray that is missing.
    pub fn missing(&self, id: TrayId) -> Option<&Missing> {
        self.missing.iter().find(|missing| missing.tray.id == id)
    }

    pub fn rack(&self, id: RackId) -> Option<&Rack> {
        self.racks.iter().find(|rack| rack.id == id)
    }

    /// A place in use, by its id.
    pub fn place(&self, id: PlaceId) -> Option<&Place> {
        self.places().find(|place| place.id == id)
    }

    pub fn places(&self) -> impl Iterator<Item = &Place> {
        self.racks.iter().flat_map(|rack| &rack.places)
    }

    /// The revision of some places together.
    pub fn places_rev(&self, places: &[PlaceId]) -> i64 {
        places.iter().filter_map(|place| self.place_revs.get(place)).sum()
    }

    /// Places without a tray, in walking order.
    pub fn free_places(&self) -> Vec<&Place> {
        let taken: std::collections::HashSet<PlaceId> = self.trays.iter().map(|tray| tray.place.id).collect();
        self.places().filter(|place| !taken.contains(&place.id)).collect()
    }

    /// Room for trays, in walking order: a place as often as trays still go on each other there. Under light a tray
    /// shades the one below it, so a place is there once.
    pub fn room_left(&self) -> Vec<&Place> {
        let mut standing: std::collections::HashMap<PlaceId, i64> = std::collections::HashMap::new();
        for tray in &self.trays {
            *standing.entry(tray.place.id).or_default() += 1;
        }
        let left = |place: &Place| {
            let most = if place.zone == Zone::Lit { 1 } else { place.stack };
            usize::try_from(most - standing.get(&place.id).copied().unwrap_or(0)).unwrap_or(0)
        };
        self.places().flat_map(|place| std::iter::repeat_n(place, left(place))).collect()
    }

    /// The same, each place once.
    pub fn places_with_room(&self) -> Vec<&Place> {
        let mut places = self.room_left();
        places.dedup_by_key(|place| place.id);
        places
    }

    /// Nobody looked at anything yesterday though trays stood that wanted it.
    pub fn missed_yesterday(&self, today: Day) -> bool {
        let yesterday = today - chrono::Duration::days(1);
        let stood = self.trays.iter().any(|tray| tray.sown < yesterday && tray.known <= yesterday);
        stood && !self.walked.contains(&yesterday)
    }

    /// Counts for the line of facts. What is held or suspect counts as such also while it is missing.
    pub fn count(&self, sign: Sign, now: Now) -> usize {
        let missing = self.missing.iter().map(|missing| &missing.tray);
        let grave = missing.filter(|_| matches!(sign, Sign::Held | Sign::Suspect));
        self.trays.iter().chain(grave).filter(|tray| tray.sign(now) == sign).count()
    }
}
