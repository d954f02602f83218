//! A lot's page in sentences, each with its counts.

use super::SeedPage;
use crate::domain::germ_test::GermTest;
use crate::domain::room::Units;
use crate::domain::seed_lot::{NEVER_FOOD, SeedLot, Treated};
use crate::domain::seed_use::SeedUse;
use crate::domain::text::counted;
use crate::domain::time::Day;
use crate::domain::tray::LossReason;

/// Batches and tests told one by one; the rest has its stories.
const TOLD: usize = 8;

/// How seed keeps, within the limits of the rule.
pub const KEEPING: [&str; 2] = [
    "Kept 5 °C cooler, or 1 point drier, seed lives twice as long (Harrington; only from 5 to 14 % moisture and 0 to 50 °C).",
    "In the freezer it keeps longer and more evenly (common practice, no source): let a sealed jar warm up before opening it.",
];

/// The same where the room reads °F: 5 °C are 9 °F.
pub const KEEPING_US: [&str; 2] = [
    "Kept 9 °F cooler, or 1 point drier, seed lives twice as long (Harrington; only from 5 to 14 % moisture and 32 to 122 °F).",
    KEEPING[1],
];

/// The page, a line each; an empty one parts them.
pub fn lines(page: &SeedPage, lot: &SeedLot, of_crop: Option<&SeedUse>, units: Units, today: Day) -> Vec<String> {
    let mut lines = came(lot, units, today);
    lines.push(String::new());
    lines.extend(of_crop.map(|seed| seed.lines(units, today)).unwrap_or_default());
    lines.push(String::new());
    lines.extend(sown(page, units));
    lines.extend(gave(page, units));
    lines.extend(lost(page));
    lines.push(String::new());
    lines.extend(tests(page));
    lines.extend(trouble(page));
    lines.push(String::new());
    lines.push(went(page));
    let keeping = match units {
        Units::Metric => KEEPING,
        Units::Us => KEEPING_US,
    };
    lines.extend(keeping.map(String::from));
    lines
}

fn came(lot: &SeedLot, units: Units, today: Day) -> Vec<String> {
    let mut lines = vec![format!(
        "Received {} on {} from {}, their lot {}; {} left.",
        units.weight(lot.received_mg),
        lot.received,
        lot.supplier,
        lot.supplier_lot,
        units.weight(lot.left_mg)
    )];
    if lot.treated != Treated::No {
        lines.push(NEVER_FOOD.into());
    }
    lines.extend(lot.bar(today).map(|why| format!("Not to be sown: {why}.")));
    lines.extend(lot.tested.and_then(|tested| tested.warning()).map(|why| format!("It {why}.")));
    let until = lot.use_by.map_or_else(|| "No use-by day is stated.".to_string(), |day| format!("Use by {day}."));
    lines.push(match lot.retest() {
        Some(day) if day <= today => format!("{until} Test it again now, before it is sown (half a year is over)."),
        // it is not used beyond its day
        Some(day) if lot.use_by.is_some_and(|until| until < day) => until,
        Some(day) => format!("{until} Test it again by {day} (every half year; common practice, no source)."),
        None => until,
    });
    lines
}

fn sown(page: &SeedPage, units: Units) -> Vec<String> {
    if page.batches.is_empty() {
        return vec!["Nothing was sown of it yet.".into()];
    }
    let mg: i64 = page.batches.iter().filter_map(|batch| batch.mg).sum();
    let trays = counted(page.trays.len(), "tray");
    let batches = if page.batches.len() == 1 { "1 batch".into() } else { format!("{} batches", page.batches.len()) };
    let mut lines = vec![format!("Sown: {} in {batches}, {trays}.", units.weight(mg))];
    let older = page.batches.len().saturating_sub(TOLD);
    for batch in page.batches.iter().rev().take(TOLD) {
        let seed = batch.mg.map_or_else(|| "seed not recorded".to_string(), |mg| units.weight(mg));
        let mixed = if batch.alone { "" } else { ", with seed of another lot" };
        let trays = counted(batch.trays, "tray");
        lines.push(format!("  {}  batch {}: {trays}, {seed}{mixed}", batch.day, batch.code));
    }
    if older > 0 {
        lines.push(format!("  and {older} older: Enter lists them all"));
    }
    lines
}

fn gave(page: &SeedPage, units: Units) -> Vec<String> {
    let weighed = page.weighed();
    let grams = |g: i64| units.weight(g.saturating_mul(1000));
    let mut lines = Vec::new();
    match i64::try_from(weighed.trays.len()) {
        Ok(n) if n > 0 => {
            let each =
                if n == 1 { String::new() } else { format!(", {} a tray", grams((2 * weighed.grams + n) / (2 * n))) };
            let trays = counted(weighed.trays.len(), "tray");
            lines.push(format!("Cut: {} from {trays}{each}.", grams(weighed.grams)));
        }
        _ => lines.push("Cut: nothing weighed of it alone yet, so nothing to say of what it gives.".into()),
    }
    if !weighed.left_out.is_empty() {
        let trays = counted(weighed.left_out.len(), "tray");
        let all = grams(weighed.left_out_g);
        lines.push(format!("Left out: {trays} with seed of other lots, or weighed together with such, {all} in all."));
    }
    if let Some((per, trays)) = page.per_gram() {
        let few = if trays < 3 { ", few" } else { "" };
        let ended = page.per_gram_ended().map_or_else(String::new, |(per, trays)| {
            format!("; {per:.1} times the seed of all {} that ended, lost ones too", counted(trays, "tray"))
        });
        let of = counted(trays, "tray");
        lines.push(format!("That is {per:.1} times the seed in them ({of}{few}){ended}."));
    }
    lines
}

fn lost(page: &SeedPage) -> Vec<String> {
    let Some(share) = page.lost() else { return vec!["Lost: no tray of it has ended yet.".into()] };
    let (not_needed, reasons): (Vec<_>, Vec<_>) =
        page.reasons().into_iter().partition(|(why, _)| *why == LossReason::NotNeeded);
    let words: Vec<String> = reasons.iter().map(|(why, n)| format!("{} {n}", why.shown())).collect();
    let why = if words.is_empty() { String::new() } else { format!(": {}", words.join(", ")) };
    let spare = not_needed.first().map_or_else(String::new, |(_, n)| format!("; {n} more not needed"));
    vec![format!("Lost of the trays that ended: {}{why}{spare}.", share.words())]
}

fn tests(page: &SeedPage) -> Vec<String> {
    if page.tests.is_empty() {
        return vec!["No germination test here yet: g begins one.".into()];
    }
    let lines = |test: &GermTest| {
        let found = format!("Germination: {}, {}.", test.words(), test.result());
        let doubt = test.doubt().map(|why| format!("  {why}"));
        std::iter::once(found).chain(doubt)
    };
    page.tests.iter().take(TOLD).flat_map(lines).collect()
}

fn trouble(page: &SeedPage) -> Vec<String> {
    let mut lines: Vec<String> = page
        .holds
        .iter()
        .map(|hold| {
            let open = if hold.open { "still held" } else { "lifted" };
            format!("Held {}: {}; {open}.", hold.day, hold.of)
        })
        .collect();
    lines.extend(page.complaints.iter().map(|call| format!("Complaint of {}: {}.", call.day, call.what.shown())));
    if lines.is_empty() {
        lines.push("No hold and no complaint touches it.".into());
    }
    lines
}

fn went(page: &SeedPage) -> String {
    if page.packs_out <= 0 {
        return "Nothing made of it is with a customer; t traces it all the same.".into();
    }
    let packs = counted(usize::try_from(page.packs_out).unwrap_or(0), "pack");
    let customers = counted(usize::try_from(page.customers).unwrap_or(0), "customer");
    format!("Its greens went out in {packs} to {customers}; t says to whom.")
}

#[cfg(test)]
mod tests {
    use super::super::tests::{page, weighing};
    use super::*;
    use crate::domain::germ_test::Tested;
    use crate::domain::seed_lot::tests::lot;

    fn told(page: &SeedPage, lot: &SeedLot) -> String {
        lines(page, lot, None, Units::Metric, "2026-07-12".parse().unwrap()).join("\n")
    }

    #[test]
    fn each_figure_has_its_count_and_what_is_left_out_is_told() {
        let mut page = page();
        page.weighings = vec![weighing(240, &[(1, Some(120)), (2, None)]), weighing(90, &[(4, Some(90))])];
        page.trays[2].lost = Some(LossReason::Mould);
        page.trays[4].lost = Some(LossReason::NotNeeded);
        (page.packs_out, page.customers) = (4, 1);
        let told = told(&page, &lot(1, 800));
        for sentence in [
            "Sown: 101 g in 2 batches, 5 trays.",
            "  2026-07-01  batch B2: 2 trays, 20 g, with seed of another lot",
            "Cut: 240 g from 2 trays, 120 g a tray.",
            "Left out: 1 tray with seed of other lots, or weighed together with such, 90 g in all.",
            // 240 g of 2 x 27 g, derived by hand
            "That is 4.4 times the seed in them (2 trays, few).",
            "Lost of the trays that ended: 1 of 5, 20 % (4 to 62 %, few): mould 1; 1 more not needed.",
            "Its greens went out in 4 packs to 1 customer; t says to whom.",
            "No germination test here yet: g begins one.",
        ] {
            assert!(told.contains(sentence), "{sentence}\n{told}");
        }
    }

    #[test]
    fn treated_failed_and_old_lots_say_so() {
        let day = "2026-07-08".parse().unwrap();
        let failed = Some(Tested { day, normal: 40, seeds: 100, min_pm: Some(750) });
        assert!(
            told(&page(), &SeedLot { tested: failed, ..lot(1, 10) })
                .contains("It failed its germination test: 40 of 100")
        );
        assert!(told(&page(), &SeedLot { treated: Treated::Yes, ..lot(1, 10) }).contains(NEVER_FOOD));
        // received on the 10th of January
        assert!(told(&page(), &lot(1, 10)).contains("Test it again now, before it is sown"));
        assert!(!told(&page(), &lot(1, 0)).contains("Test it again"));
    }
}
