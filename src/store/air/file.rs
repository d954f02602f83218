//! A logger's file on its way into the book: its rows are staged where they keep nobody from writing, and then go in at once,
//! as one entry, or as one for each part of a long file.

use std::collections::BTreeSet;

use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, params};

use super::super::Store;
use super::super::act::Wrote;
use super::super::chain::encode_rows;
use super::super::error::StoreError;
use super::super::facts::{READING, READING_FILE};
use super::super::room::units;
use super::super::spell::{self, Foreseen};
use super::super::writer::{Watch, Writer, go_on};
use super::{known, series};
use crate::domain::action::{Action, Done};
use crate::domain::id::{PersonId, SensorId};
use crate::domain::reading::{NewReadings, Reading, Spot};
use crate::domain::refusal::Refusal;
use crate::domain::room::Units;
use crate::domain::text::counted;
use crate::domain::time::{Day, Now};

/// Readings staged between two looks at whether to stop.
const STEP: usize = 500;
/// The most readings that go in as one entry, more than a year of them every five minutes. Others wait to write meanwhile: 200,000
/// took 0.24 s on a machine of two cores, and nobody is to wait for longer than 0.2.
pub const PART: usize = 150_000;

/// Of another figure than the book has for the same moment: that of the book, and the new one.
type Contrary = Vec<(Reading, Reading)>;

/// What a file adds, laid ready in the table `temp.staged`, which is this connection's own.
pub(in super::super) struct Staged {
    sensor: SensorId,
    sha256: String,
    part: Option<i64>,
    /// The newest entry of the book it was compared with.
    newest: i64,
    /// What the sensor has not read yet, in the order of time.
    fresh: Vec<Reading>,
    /// The same as the chain will have it under the file's number to be, which is nearly always right.
    encoded: Vec<u8>,
    file: i64,
    /// How many readings the book has already.
    there: usize,
    contrary: Contrary,
    /// Of a cold store: its spells with these readings.
    pub spells: Option<Foreseen>,
}

/// Compares with the book what a file says, and stages what is new.
fn stage(
    conn: &Connection,
    new: &NewReadings,
    spot: Option<Spot>,
    watch: Option<Watch<'_>>,
) -> Result<Staged, StoreError> {
    let newest =
        conn.prepare_cached("SELECT coalesce(max(id), 0) FROM entry")?.query_row([], |row| row.get::<_, i64>(0))?;
    let mut readings: Vec<&Reading> = new.readings.iter().collect();
    readings.sort_by_key(|reading| reading.at);
    let mut known = match (readings.first(), readings.last()) {
        (Some(first), Some(last)) => series(conn, new.sensor, first.at, last.at)?,
        _ => Vec::new(),
    }
    .into_iter()
    .peekable();
    let (mut fresh, mut there, mut contrary): (Vec<Reading>, usize, Contrary) = (Vec::new(), 0, Vec::new());
    for reading in readings {
        while known.next_if(|known| known.at < reading.at).is_some() {}
        let same = known.peek().into_iter().chain(fresh.last()).find(|same| same.at == reading.at);
        match same {
            Some(same) if same == reading => there += 1,
            Some(same) => contrary.push((*same, *reading)),
            None => fresh.push(*reading),
        }
    }
    conn.execute_batch(
        "CREATE TEMP TABLE IF NOT EXISTS staged (at_s INTEGER PRIMARY KEY, temp_dc INTEGER NOT NULL, rh_pm INTEGER) STRICT;
         DELETE FROM temp.staged;",
    )?;
    let mut insert = conn.prepare_cached("INSERT INTO temp.staged (at_s, temp_dc, rh_pm) VALUES (?, ?, ?)")?;
    for (n, reading) in fresh.iter().enumerate() {
        if n % STEP == 0 {
            go_on(watch, n, fresh.len())?;
        }
        insert.execute(params![reading.at.0.timestamp(), reading.temp_dc, reading.rh_pm])?;
    }
    let file = conn
        .prepare_cached("SELECT coalesce(max(id), 0) + 1 FROM reading_file")?
        .query_row([], |row| row.get::<_, i64>(0))?;
    let encoded = encoded(&fresh, new.sensor, file);
    let spells = match spot {
        Some(Spot::Store(store)) => Some(spell::foreseen(conn, store, new.sensor, &fresh, newest)?),
        Some(Spot::Zone(_)) | None => None,
    };
    let (sensor, sha256, part) = (new.sensor, new.sha256.clone(), new.part);
    Ok(Staged { sensor, sha256, part, newest, fresh, encoded, file, there, contrary, spells })
}

/// Readings as the chain has them.
fn encoded(readings: &[Reading], sensor: SensorId, file: i64) -> Vec<u8> {
    let row = |reading: &Reading| {
        [Some(sensor.0), Some(reading.at.0.timestamp()), Some(file), Some(reading.temp_dc), reading.rh_pm]
    };
    encode_rows(READING, readings.iter().map(row))
}

impl Staged {
    /// Whether the book has nothing else by now, under its write lock. Indexes: `reading_file_entry`, `reading_file_void`,
    /// the key of `reading`.
    fn holds(&self, conn: &Connection, new: &NewReadings) -> Result<bool, StoreError> {
        if (self.part, &self.sha256) != (new.part, &new.sha256) {
            return Ok(false);
        }
        let changed: bool = conn
            .prepare_cached(
                "SELECT EXISTS (SELECT 1 FROM reading_file WHERE entry_id > ?1)
                   OR EXISTS (SELECT 1 FROM reading_file WHERE void_by > ?1)
                   OR (?2 AND EXISTS (SELECT 1 FROM reading WHERE sensor_id = ?3))",
            )?
            .query_row(params![self.newest, self.sensor != new.sensor, new.sensor], |row| row.get(0))?;
        Ok(!changed && (self.sensor == new.sensor || self.sensor == NONE))
    }

    /// `2 readings of door kept; 3 were there already`.
    fn told(&self, file: &str, name: &str, units: Units, now: Now) -> String {
        Tally { imports: 1, kept: self.fresh.len(), ..Tally::of(self) }.words(file, name, units, now)
    }
}

/// A sensor that is not there yet.
const NONE: SensorId = SensorId(0);

/// What imports of one file came to.
#[derive(Default)]
struct Tally {
    imports: usize,
    kept: usize,
    there: usize,
    /// Parts that were read before.
    before: usize,
    contrary: Contrary,
    /// What followed from it.
    also: BTreeSet<String>,
}

impl Tally {
    fn of(staged: &Staged) -> Self {
        Self { there: staged.there, contrary: staged.contrary.clone(), ..Self::default() }
    }

    fn add(&mut self, staged: &Staged) {
        self.imports += 1;
        self.kept += staged.fresh.len();
        self.there += staged.there;
        self.contrary.extend(&staged.contrary);
    }

    fn words(&self, file: &str, name: &str, units: Units, now: Now) -> String {
        let many = if self.imports > 1 || self.before > 0 {
            format!(", in {}", counted(self.imports, "import"))
        } else {
            String::new()
        };
        let were = |n: usize, what: &str, then: &str| {
            (n > 0).then(|| format!("; {what} {} {then}", if n == 1 { "was" } else { "were" }))
        };
        let before = were(self.before, &counted(self.before, "part"), "read before");
        let there = were(self.there, &self.there.to_string(), "there already");
        let otherwise =
            (!self.contrary.is_empty()).then(|| format!("; {}", contrary_words(&self.contrary, units, now)));
        let told: String = [before, there, otherwise].into_iter().flatten().collect();
        let also: String = self.also.iter().map(String::as_str).collect();
        format!("{file}: {} of {name} kept{many}{told}.{also}", counted(self.kept, "reading"))
    }
}

/// `2 say other than the book, which keeps what it has (12 Jul 06:00: 21.0 °C, 82 % there, 25.0 °C, 95 % here)`.
fn contrary_words(contrary: &Contrary, units: Units, now: Now) -> String {
    /// Told with both values.
    const TOLD: usize = 3;
    let told = contrary.iter().take(TOLD).map(|(there, here)| {
        let at = now.local(here.at).format("%d %b %Y %H:%M");
        format!("{at}: {} there, {} here", there.words(units), here.words(units))
    });
    let more = contrary.len().saturating_sub(TOLD);
    let told: Vec<String> = told.chain((more > 0).then(|| format!("and {more} more"))).collect();
    let say = if contrary.len() == 1 { "says" } else { "say" };
    format!("{} {say} other than the book, which keeps what it has ({})", contrary.len(), told.join("; "))
}

/// When a sensor's file was read, or this part of it. Index: `reading_file_once`.
fn file_read(conn: &Connection, new: &NewReadings) -> Result<Option<Day>, StoreError> {
    Ok(conn
        .prepare_cached(
            "SELECT e.day FROM reading_file f JOIN entry e ON e.id = f.entry_id
             WHERE f.sensor_id = ?1 AND f.sha256 = ?2 AND f.void_by IS NULL
               AND (?3 IS NULL OR f.part IS NULL OR f.part = ?3) LIMIT 1",
        )?
        .query_row(params![new.sensor, new.sha256, new.part], |row| row.get(0))
        .optional()?)
}

fn nothing() -> Refusal {
    Refusal::new("import_nothing", "There is no reading in it that could be kept.")
}

/// What can be said against a file before its rows are looked at one by one.
fn check(conn: &Connection, new: &NewReadings, now: Now) -> Result<(), StoreError> {
    if let Some(day) = file_read(conn, new)? {
        let sentence = format!("{} was read already on {day}: it adds nothing.", new.file);
        return Err(Refusal::new("file_read_already", sentence).into());
    }
    let last = new.readings.iter().map(|reading| reading.at).max().ok_or_else(nothing)?;
    if last > now.instant() {
        return Err(Refusal::new("reading_future", "That is still to come: give the time it was read.")
            .at("time")
            .into());
    }
    let of_zone: Option<bool> = conn
        .prepare_cached("SELECT zone_id NOT NULL FROM sensor WHERE id = ?")?
        .query_row([new.sensor], |row| row.get(0))
        .optional()?;
    if of_zone == Some(true) && new.readings.iter().any(|reading| reading.rh_pm.is_none()) {
        let sentence = "The air of a zone is judged by its humidity: only in a cold store is the temperature enough.";
        return Err(Refusal::new("reading_humidity", sentence).at("rh").into());
    }
    Ok(())
}

/// Puts in what is staged, or stages it here if the book changed meanwhile.
pub(super) fn put(w: &mut Writer<'_>, new: &NewReadings) -> Result<Staged, StoreError> {
    check(w.conn, new, w.now)?;
    let mut staged = match w.staged.take() {
        Some(staged) if staged.holds(w.conn, new)? => staged,
        _ => stage(w.conn, new, None, w.watch)?,
    };
    let Staged { fresh, contrary, .. } = &staged;
    let Some(first) = fresh.first() else {
        let told = if contrary.is_empty() {
            String::new()
        } else {
            format!(" But {}.", contrary_words(contrary, units(w.conn)?, w.now))
        };
        let sentence =
            format!("{}: the book has a reading at every one of these times, so it adds nothing.{told}", new.file);
        return Err(Refusal::new("import_nothing", sentence).at("time").into());
    };
    let first_s = first.at.0.timestamp();
    let rows = i64::try_from(fresh.len()).unwrap_or(i64::MAX);
    let file = w.fact(
        READING_FILE,
        &[
            ("sensor_id", &new.sensor),
            ("sha256", &new.sha256),
            ("name", &new.file),
            ("rows", &rows),
            ("part", &new.part),
        ],
    )?;
    let put = w
        .conn
        .prepare_cached(
            "INSERT INTO reading (sensor_id, at_s, file_id, temp_dc, rh_pm)
             SELECT ?1, at_s, ?2, temp_dc, rh_pm FROM temp.staged ORDER BY at_s",
        )?
        .execute(params![new.sensor, file])?;
    if put != fresh.len() {
        return Err(StoreError::unreadable("the staged readings", &put.to_string()));
    }
    let key = [new.sensor.0, first_s, file];
    let foreseen = (staged.sensor, staged.file) == (new.sensor, file);
    let rows = if foreseen { std::mem::take(&mut staged.encoded) } else { encoded(fresh, new.sensor, file) };
    w.bulk(READING, &key, rows);
    Ok(staged)
}

/// A file, or a part of a long one, as one entry: all of its new readings or none.
pub(in super::super) fn import(w: &mut Writer<'_>, new: &NewReadings) -> Result<Wrote, StoreError> {
    let name = known(w.conn, new.sensor)?;
    let staged = Staged { sensor: new.sensor, ..put(w, new)? };
    if let Some(map) = &new.map {
        let text = serde_json::to_string(map).map_err(|_| StoreError::unreadable("a map of columns", &name))?;
        w.edit("sensor", new.sensor.0, &[("csv_map", &text)])?;
    }
    let said = staged.told(&new.file, &name, units(w.conn)?, w.now);
    w.staged = Some(staged);
    Ok(Wrote::said(said))
}

impl Store {
    /// Stages a file beside the book. Others go on writing.
    pub(in super::super) fn stage(
        &self,
        new: &NewReadings,
        spot: Option<Spot>,
        now: Now,
        watch: Option<Watch<'_>>,
    ) -> Result<Staged, StoreError> {
        if self.read_only {
            return Err(StoreError::ReadOnly);
        }
        // of the book it only reads: what it writes is this connection's own
        let view = Transaction::new_unchecked(&self.conn, TransactionBehavior::Deferred)?;
        check(&view, new, now)?;
        let spot = match spot {
            Some(spot) => Some(spot),
            None => super::spot(&view, new.sensor)?,
        };
        let staged = stage(&view, new, spot, watch)?;
        view.commit()?;
        Ok(staged)
    }

    /// Reads a file in, one entry for each [`PART`] of it in the order of time. `add`: the sensor it comes with, which is made
    /// with its first readings or not at all. Stopped between two parts, those before stay, and the file can be read again.
    pub fn read_in(
        &mut self,
        add: Option<&Action>,
        new: &NewReadings,
        (who, now): (PersonId, Now),
        watch: Watch<'_>,
    ) -> Result<Done, StoreError> {
        let all = new.readings.len();
        if all <= PART {
            return Ok(self.one(add, new.clone(), (who, now), watch)?.0);
        }
        let mut readings = new.readings.clone();
        readings.sort_by_key(|reading| reading.at);
        let (mut add, mut sensor, mut tally) = (add, new.sensor, Tally::default());
        let (mut last, mut refused) = (None, None);
        for (n, part) in readings.chunks(PART).enumerate() {
            let part = NewReadings { sensor, part: i64::try_from(n + 1).ok(), readings: part.to_vec(), ..new.clone() };
            match self.one(add, part, (who, now), &|done, _| watch(n * PART + done, all)) {
                Ok((done, staged)) => {
                    (add, sensor) = (None, staged.sensor);
                    let name = known(&self.conn, sensor)?;
                    let own = staged.told(&new.file, &name, units(&self.conn)?, now);
                    tally.add(&staged);
                    tally.also.extend(done.sentence.strip_prefix(&own).map(str::to_owned));
                    last = Some((done, name));
                }
                Err(StoreError::Rule(why)) if why.rule == "file_read_already" => {
                    tally.before += 1;
                    refused = Some(why);
                }
                // all of this part came with other files
                Err(StoreError::Rule(why)) if why.rule == "import_nothing" => refused = refused.or(Some(why)),
                Err(StoreError::Rule(why)) if why.rule == "import_stopped" && tally.imports > 0 => {
                    let parts = all.div_ceil(PART);
                    let sentence =
                        format!("Stopped after part {n} of {parts}, which stays: read the file again for the rest.");
                    return Err(Refusal { sentence, ..why }.into());
                }
                Err(why) => return Err(why),
            }
        }
        match (last, refused) {
            (Some((done, name)), _) => {
                Ok(Done { sentence: tally.words(&new.file, &name, units(&self.conn)?, now), ..done })
            }
            (None, why) => Err(why.unwrap_or_else(nothing).into()),
        }
    }

    /// One entry of a file, and what it brought.
    fn one(
        &mut self,
        add: Option<&Action>,
        mut new: NewReadings,
        (who, now): (PersonId, Now),
        watch: Watch<'_>,
    ) -> Result<(Done, Staged), StoreError> {
        let spot = match add {
            Some(Action::AddSensor { at, .. }) => Some(*at),
            _ => None,
        };
        let staged = self.stage(&new, spot, now, Some(watch))?;
        self.through(Some(watch), Some(staged), |door| {
            if let Some(add) = add {
                new.sensor = SensorId(door.act(add, who, now)?.made.unwrap_or(0));
            }
            let done = door.act(&Action::ImportAir(Box::new(new)), who, now)?;
            let staged = door.staged().ok_or_else(|| StoreError::unreadable("the staged readings", "nothing"))?;
            Ok((done, staged))
        })
    }
}
