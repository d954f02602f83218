//! The cut: mats of trays become a harvest lot, and the short check before it.

use rusqlite::{Connection, OptionalExtension, params};

use super::act::Wrote;
use super::ask::ask;
use super::breach::against;
use super::error::StoreError;
use super::facts::{CUT_CHECK, LOT_INPUT, STAGE, STOCK_MOVE};
use super::hands::still_there;
use super::ids::day_sql;
use super::look::{found, in_room, once};
use super::writer::{Cell, Writer};
use super::{lot, room, suspect, tool, tray};
use crate::domain::code::Code;
use crate::domain::crop::Allergy;
use crate::domain::harvest::{CutCheck, CutTray, Knife, Needs, NewCutCheck, NewHarvest, plausible, usual_dg};
use crate::domain::id::{BreachId, CropId, EntryId, LotId, PersonId, TrayId};
use crate::domain::lot::Kind;
use crate::domain::refusal::Refusal;
use crate::domain::text::counted;
use crate::domain::time::{Day, Instant, day_number};
use crate::domain::tray::{Stage, named};

/// Before the knife is taken up.
pub(super) fn check(w: &mut Writer<'_>, new: &NewCutCheck) -> Result<Wrote, StoreError> {
    let with = new.with.trim();
    if new.cleaned && with.is_empty() {
        let why = "Say with what table, scale and tools were cleaned.";
        return Err(Refusal::new("cut_check_with", why).at("with").into());
    }
    let (who, day) = (hands(w), day_sql(w.day()));
    let with = new.cleaned.then_some(with);
    let cells: [Cell<'_>; 8] = [
        ("person_id", &who),
        ("day", &day),
        ("hands", &new.hands),
        ("well", &new.well),
        ("blade", &new.blade),
        ("cleaned", &new.cleaned),
        ("cleaned_with", &with),
        ("washed", &new.washed),
    ];
    w.fact(CUT_CHECK, &cells)?;
    Ok(Wrote::said(new.bar().map_or_else(
        || "Checked: the knife may be taken up.".to_string(),
        |bar| format!("Checked, and nothing is cut yet: {bar}."),
    )))
}

/// Whose hands an entry in the making is of.
fn hands(w: &Writer<'_>) -> PersonId {
    w.seen.by.unwrap_or(w.who)
}

/// Checks of a day, and the allergen that was cut last on it. Indexes: `lot_kind_day`, `cut_check_person`.
pub(super) fn knife(conn: &Connection, day: Day) -> Result<Knife, StoreError> {
    let checks = conn
        .prepare_cached(
            "SELECT c.person_id, c.day, coalesce(e.seen_at, e.at), c.hands, c.well, c.blade, c.cleaned, c.cleaned_with, c.washed
             FROM cut_check c JOIN entry e ON e.id = c.entry_id WHERE c.day = ? AND c.void_by IS NULL ORDER BY c.id",
        )?
        .query_map([day_sql(day)], |row| {
            let check = NewCutCheck {
                hands: row.get(3)?,
                well: row.get(4)?,
                blade: row.get(5)?,
                cleaned: row.get(6)?,
                with: row.get::<_, Option<String>>(7)?.unwrap_or_default(),
                washed: row.get(8)?,
            };
            Ok(CutCheck { person: row.get(0)?, day: row.get(1)?, at: row.get(2)?, check })
        })?
        .collect::<Result<_, _>>()?;
    let last: Option<(CropId, String, String, Instant)> = conn
        .prepare_cached(
            "SELECT c.id, c.name, c.allergen, l.cut_at FROM lot l JOIN crop c ON c.id = l.crop_id
             WHERE l.kind = 'harvest' AND l.day = ? AND l.void_by IS NULL ORDER BY l.cut_at DESC, l.id DESC LIMIT 1",
        )?
        .query_row([day_sql(day)], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))
        .optional()?;
    let allergen = last.and_then(|(crop, name, allergen, at)| match Allergy::of(&allergen) {
        Allergy::Yes(_) => Some((crop, name, at)),
        Allergy::No | Allergy::NotChecked => None,
    });
    let with = conn
        .prepare_cached(
            "SELECT cleaned_with FROM cut_check WHERE cleaned_with NOT NULL AND void_by IS NULL ORDER BY id DESC LIMIT 1",
        )?
        .query_row([], |row| row.get(0))
        .optional()?;
    Ok(Knife { checks, allergen, with })
}

/// A tray at the knife.
struct AtKnife {
    tray: TrayId,
    crop: CropId,
    day: i64,
    window: (i64, i64),
    left: i64,
    mats: i64,
    /// Expected of these mats, tenths of a gram.
    expected_dg: i64,
    cut_before: bool,
}

pub(super) fn harvest(w: &mut Writer<'_>, new: &NewHarvest) -> Result<Wrote, StoreError> {
    let trays: Vec<TrayId> = new.cuts.iter().map(|cut| cut.tray).collect();
    if trays.is_empty() {
        return Err(Refusal::new("cut_nothing", "There is no tray to cut: choose one first.").at("trays").into());
    }
    once(&trays)?;
    weighed(new)?;
    let mut at_knife = Vec::new();
    for cut in &new.cuts {
        at_knife.push(take_up(w, cut)?);
    }
    let crop = one_crop(w, &at_knife)?;
    let unready = ready_to_cut(w, crop)?;
    for one in &at_knife {
        tray::may_be_cut(w, one.tray)?;
    }
    grows_again(w, new, crop, &at_knife)?;
    asked(w, new, &at_knife)?;
    let (letters, name): (String, String) =
        w.conn
            .query_row("SELECT letters, name FROM crop WHERE id = ?", [crop], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let (day, cut_at) = (w.day(), w.at());
    let best_before = lot::limit(w.conn, crop, w.moment())?;
    let (id, code) = lot::write(
        w,
        &lot::New {
            kind: Kind::Harvest,
            letters: &letters,
            crop: Some(crop),
            product: None,
            day,
            cut_at: Some(cut_at),
            pack_g: None,
            best_before,
            instead_of: None,
        },
    )?;
    if let Some(breach) = unready {
        lot::hold_lot(w, breach, id)?;
    }
    tool::use_on(w, id, &new.tools)?;
    for (cut, one) in new.cuts.iter().zip(&at_knife) {
        w.fact(
            LOT_INPUT,
            &[
                ("lot_id", &id),
                ("tray_id", &one.tray),
                ("mats", &one.mats),
                ("grams", &cut.grams),
                ("again", &new.again),
            ],
        )?;
        w.touched.insert(one.tray);
        if new.again {
            let at = w.seen.at;
            w.fact(STAGE, &[("tray_id", &one.tray), ("stage", &Stage::Lit), ("at", &at)])?;
        } else if one.mats == one.left {
            tray::leave(w, one.tray, Stage::Cut)?;
        }
    }
    let grams = new.total();
    w.fact(STOCK_MOVE, &[("lot_id", &id), ("kind", &"made"), ("grams", &grams), ("day", &day_sql(day))])?;
    let rest = rest(new, &at_knife);
    let weight = room::units(w.conn)?.weight(grams * 1000);
    let sentence = format!("Lot {code}: {weight} of {name} cut from {}{rest}.", named(&trays));
    Ok(Wrote { sentence, made: Some(id.0), trays })
}

fn rest(new: &NewHarvest, at_knife: &[AtKnife]) -> String {
    let stay = at_knife.iter().filter(|one| one.mats < one.left).count();
    if new.again {
        ", which grows again".into()
    } else if stay > 0 {
        format!("; the rest of {} goes back", counted(stay, "tray"))
    } else {
        String::new()
    }
}

/// Every tray has its own weight or a share in one of all, and there is something.
fn weighed(new: &NewHarvest) -> Result<(), StoreError> {
    let without = new.cuts.iter().filter(|cut| cut.grams.is_none()).count();
    let refuse = |rule, why: &str| Err(Refusal::new(rule, why).at("grams").into());
    if without > 0 && new.grams.is_none() {
        return refuse("harvest_weight", "Say what was cut weighs: of all trays together, or of each.");
    }
    if without == 0 && new.grams.is_some() {
        return refuse("harvest_weights", "Every tray has a weight of its own: leave the weight together empty.");
    }
    if new.total() <= 0 {
        return refuse("harvest_none", "Nothing was cut: throw the tray out instead, with the reason.");
    }
    Ok(())
}

/// One tray with what the rules ask of it.
fn take_up(w: &mut Writer<'_>, cut: &CutTray) -> Result<AtKnife, StoreError> {
    in_room(w, cut.tray)?;
    found(w, cut.tray)?;
    still_there(w, cut.tray, w.at())?;
    let left = tray::mats_left(w, cut.tray)?;
    let mats = cut.mats.unwrap_or(left);
    if !(1..=left).contains(&mats) {
        let sentence = format!("{} has {left} mats left: cut 1 to {left} of them.", Code::tray(cut.tray.0));
        return Err(Refusal::new("cut_mats", sentence).at("mats").into());
    }
    let day = w.day();
    let one = w
        .conn
        .prepare_cached(
            "SELECT s.crop_id, s.day, g.cut_from_d, g.cut_to_d, t.mats, f.length_mm, f.width_mm, c.yield_g,
                    EXISTS (SELECT 1 FROM lot_input i WHERE i.tray_id = t.id AND i.again AND i.void_by IS NULL)
             FROM tray t JOIN sowing_now s ON s.id = t.sowing_id JOIN grow_plan g ON g.id = s.grow_plan_id
             JOIN crop c ON c.id = s.crop_id JOIN tray_format f ON f.id = t.format_id WHERE t.id = ?",
        )?
        .query_row([cut.tray], |row| {
            let (sown, of, length, width): (Day, i64, i64, i64) = (row.get(1)?, row.get(4)?, row.get(5)?, row.get(6)?);
            let expected: Option<i64> = row.get(7)?;
            let expected_dg = expected.map_or(0, |grams| usual_dg(grams, (length, width), (mats, of)));
            Ok(AtKnife {
                tray: cut.tray,
                crop: row.get(0)?,
                day: day_number(sown, day),
                window: (row.get(2)?, row.get(3)?),
                left,
                mats,
                expected_dg,
                cut_before: row.get(8)?,
            })
        })?;
    Ok(one)
}

fn one_crop(w: &Writer<'_>, at_knife: &[AtKnife]) -> Result<CropId, StoreError> {
    let Some(first) = at_knife.first() else { return Err(lot::unknown()) };
    let Some(other) = at_knife.iter().find(|one| one.crop != first.crop) else { return Ok(first.crop) };
    let name = |crop: CropId| -> Result<String, StoreError> {
        Ok(w.conn.query_row("SELECT name FROM crop WHERE id = ?", [crop], |row| row.get(0))?)
    };
    let (one, two) = (name(first.crop)?, name(other.crop)?);
    let sentence = format!("A harvest lot is of one crop: cut {one} and {two} into lots of their own.");
    Err(Refusal::new("harvest_crops", sentence).at("trays").into())
}

/// The person at the knife has checked, and nothing of an allergen is left on the table; else the breach it was.
fn ready_to_cut(w: &mut Writer<'_>, crop: CropId) -> Result<Option<BreachId>, StoreError> {
    let knife = knife(w.conn, w.day())?;
    let refusal = match knife.needs(hands(w), crop) {
        Needs::Nothing => return Ok(None),
        Needs::Check => {
            let why = "Check hands, blade and table first, and whoever cuts is well: it is asked once a day of each.";
            Refusal::new("cut_unchecked", why)
        }
        Needs::Wash(before) => {
            let why = format!("{before} was cut before, an allergen: wash everything and say so before the next crop.");
            Refusal::new("cut_unwashed", why)
        }
    };
    Ok(Some(against(w, refusal, None)?))
}

fn grows_again(w: &Writer<'_>, new: &NewHarvest, crop: CropId, at_knife: &[AtKnife]) -> Result<(), StoreError> {
    if !new.again {
        return Ok(());
    }
    let may: bool = w.conn.query_row("SELECT second_cut FROM crop WHERE id = ?", [crop], |row| row.get(0))?;
    if !may {
        let why = "This crop does not grow again after the cut, by its settings: cut it for good.";
        return Err(Refusal::new("harvest_again", why).at("again").into());
    }
    match at_knife.iter().find(|one| one.cut_before) {
        Some(one) => {
            let why = format!("{} was cut before and grew again: this cut is its last.", Code::tray(one.tray.0));
            Err(Refusal::new("harvest_twice", why).at("again").into())
        }
        None => Ok(()),
    }
}

/// What is asked once: a tray near something bad that nobody looked at today, early or late against the window, and a weight
/// that is hard to believe.
fn asked(w: &Writer<'_>, new: &NewHarvest, at_knife: &[AtKnife]) -> Result<(), StoreError> {
    let day = w.day();
    let mut unseen = Vec::new();
    for one in at_knife {
        let looked = "SELECT EXISTS (SELECT 1 FROM look WHERE tray_id = ? AND day = ? AND void_by IS NULL)";
        let looked: bool =
            w.conn.prepare_cached(looked)?.query_row(params![one.tray, day_sql(day)], |row| row.get(0))?;
        if !looked {
            unseen.push(one.tray);
        }
    }
    if let Some(tray) = suspect::closely(w.conn, &unseen, day)? {
        let why = format!(
            "Something bad was found near {}, and nobody looked at it today: was it looked at closely now, and is it sound?",
            Code::tray(tray.0)
        );
        ask(w, &new.sure, Refusal::new("harvest_close", why).at("trays"))?;
    }
    if let Some(one) = at_knife.iter().find(|one| one.day < one.window.0) {
        let (code, day, from) = (Code::tray(one.tray.0), one.day, one.window.0);
        let why = format!("{code} is at day {day}, its window opens on day {from}: is it to be cut that early?");
        ask(w, &new.sure, Refusal::new("harvest_early", why).at("trays"))?;
    }
    // what grew again is past the first window by nature
    if let Some(one) = at_knife.iter().find(|one| one.day > one.window.1 && !one.cut_before) {
        let (code, day, to) = (Code::tray(one.tray.0), one.day, one.window.1);
        let why = format!("{code} is at day {day}, its window ended on day {to}: is it still good to sell?");
        ask(w, &new.sure, Refusal::new("harvest_late", why).at("trays"))?;
    }
    let units = room::units(w.conn)?;
    let odd = |expected_dg: i64, grams: i64| -> Option<String> {
        let expected = expected_dg / 10;
        (!plausible(expected, grams)).then(|| {
            let (grams, expected) = (units.weight(grams * 1000), units.weight(expected * 1000));
            format!("{grams} where about {expected} are usual: is the weight right?")
        })
    };
    let own = new.cuts.iter().zip(at_knife).find_map(|(cut, one)| odd(one.expected_dg, cut.grams?));
    let together: i64 =
        new.cuts.iter().zip(at_knife).filter(|(cut, _)| cut.grams.is_none()).map(|(_, one)| one.expected_dg).sum();
    let odd = own.or_else(|| odd(together, new.grams?));
    match odd {
        Some(why) => ask(w, &new.sure, Refusal::new("harvest_grams", why).at("grams")),
        None => Ok(()),
    }
}

/// What an entry harvested.
pub(super) fn line(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let (id, body, crop, grams): (LotId, String, String, i64) = conn
        .prepare_cached(
            "SELECT l.id, l.code, c.name, (SELECT grams FROM stock_move m WHERE m.lot_id = l.id AND m.kind = 'made'
               AND m.entry_id = l.entry_id) FROM lot l JOIN crop c ON c.id = l.crop_id WHERE l.entry_id = ?",
        )?
        .query_row([entry], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?;
    let cuts: Vec<(TrayId, i64, Option<i64>, bool)> = conn
        .prepare_cached(
            "SELECT tray_id, mats, grams, again FROM lot_input WHERE lot_id = ? AND entry_id = ? ORDER BY id",
        )?
        .query_map((id, entry), |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?
        .collect::<Result<_, _>>()?;
    let units = room::units(conn)?;
    let each: Vec<String> = cuts
        .iter()
        .filter_map(|(tray, _, grams, _)| Some(format!("{} {}", Code::tray(tray.0), units.weight((*grams)? * 1000))))
        .collect();
    let each = if each.is_empty() { String::new() } else { format!(" ({})", each.join(", ")) };
    let again = if cuts.iter().any(|(.., again)| *again) { ", to grow again" } else { "" };
    let mats: i64 = cuts.iter().map(|(_, mats, ..)| *mats).sum();
    let mats = counted(usize::try_from(mats).unwrap_or(0), "mat");
    let trays: Vec<TrayId> = cuts.iter().map(|(tray, ..)| *tray).collect();
    let (code, weight) = (lot::shown(&body)?, units.weight(grams * 1000));
    let with = tool::line(conn, entry)?;
    Ok(format!("lot {code}: {weight} of {crop} cut, {mats} of {}{each}{again}{with}", named(&trays)))
}

/// What an entry checked before the cut.
pub(super) fn checked(conn: &Connection, entry: EntryId) -> Result<String, StoreError> {
    let check = conn
        .prepare_cached("SELECT hands, well, blade, cleaned, cleaned_with, washed FROM cut_check WHERE entry_id = ?")?
        .query_row([entry], |row| {
            Ok(NewCutCheck {
                hands: row.get(0)?,
                well: row.get(1)?,
                blade: row.get(2)?,
                cleaned: row.get(3)?,
                with: row.get::<_, Option<String>>(4)?.unwrap_or_default(),
                washed: row.get(5)?,
            })
        })?;
    if let Some(bar) = check.bar() {
        return Ok(format!("checked before the cut: {bar}"));
    }
    let washed = if check.washed == Some(true) { ", washed after an allergen" } else { "" };
    Ok(format!("checked before the cut: hands, health, blade, all cleaned with {}{washed}", check.with))
}
