//! An invented log of 34 trays through the whole review, against what other software made of it (COMPUTED with scipy and statsmodels;
//! the files say so). Grams of the log have decimals and the book's have none: everything goes in tenths of a gram.

use std::collections::{BTreeMap, BTreeSet};

use rackwalk::domain::id::{CropId, LotId, SowingId, TrayId};
use rackwalk::domain::period::Period;
use rackwalk::domain::time::{Day, day_number};
use rackwalk::domain::tray::LossReason;
use rackwalk::domain::week::{
    Batch, By, CropFigures, End, Ended, Facts, Found, OnScale, Past, Review, Sown, Told, Weighing,
};

use super::statistics::Table;

/// The log as the book would have it: each tray a batch of its own.
fn facts() -> (Facts, BTreeMap<SowingId, Vec<String>>) {
    let table = Table::read("traylog_public");
    let (crops, lots, status) = (table.texts("crop"), table.texts("lot"), table.texts("status"));
    let (sown, cut) = (table.texts("sow_date"), table.texts("harvest_date"));
    let (seed, grams) = (table.numbers("seed_g"), table.cells("harvest_g"));
    let mut names: Vec<&str> = crops.clone();
    names.sort_unstable();
    names.dedup();
    let day = |text: &str| text.parse::<Day>().unwrap();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "tenths of a gram of a tray")]
    let tenths = |grams: f64| (grams * 10.0).round() as u64;
    let mut facts = Facts::of(Period { from: day("2025-09-01"), to: day("2025-10-31") });
    let mut of = BTreeMap::new();
    for (n, name) in (1..).zip(&names) {
        let name = (*name).to_string();
        facts.crops.push(CropFigures { id: CropId(n), name, yield_g: None, seed_kg_c: None, tray_c: None });
    }
    for at in 0..table.rows.len() {
        let id = i64::try_from(at).unwrap() + 1;
        let (tray, sowing) = (TrayId(id), SowingId(id));
        let crop = CropId(i64::try_from(names.iter().position(|name| *name == crops[at]).unwrap()).unwrap() + 1);
        facts.batches.push(Batch {
            sowing,
            code: format!("B{id}"),
            crop,
            day: day(sown[at]),
            window: (5, 20),
            plan_version: 1,
            trays: 1,
            seed_mg: Some(tenths(seed[at]) * 1000),
        });
        facts.sown.push(Sown { tray, sowing });
        let lost = status[at] == "lost";
        let ended = if lost { day(sown[at]) + chrono::Duration::days(7) } else { day(cut[at]) };
        let end = if lost { End::Lost(LossReason::Mould) } else { End::Cut };
        facts.ended.push(Ended { tray, sowing, day: ended, end });
        if let Some(grams) = grams[at] {
            facts.weighings.push(Weighing {
                lot: LotId(id),
                code: format!("L{id}"),
                crop,
                day: ended,
                on: vec![OnScale { tray, sowing, mats: 1, of: 1 }],
                grams: tenths(grams),
                again: false,
                regrown: false,
                odd: false,
                own: Some(tray),
            });
        }
        of.insert(sowing, vec![lots[at].to_string()]);
    }
    (facts, of)
}

fn near(what: &str, value: f64, right: f64) {
    assert!((value - right).abs() <= 1e-6 * right.abs().max(1.0), "{what}: {value} is not {right}");
}

#[test]
fn the_review_of_the_log_is_what_others_made_of_it() {
    let (facts, _) = facts();
    let review = Review::of(&facts);
    let table = Table::read("traylog_public_by_crop");
    assert_eq!(review.crops.len(), 3);
    for (at, crop) in review.crops.iter().enumerate() {
        assert_eq!(crop.name, table.texts("crop")[at]);
        let right = |name: &str| table.numbers(name)[at];
        let (of, lost) = (crop.spread.as_ref().unwrap(), crop.lost.unwrap());
        let (low, high) = of.mean_interval().unwrap();
        let (cut, all) = (crop.per_seed.as_ref().unwrap(), crop.per_seed_all.as_ref().unwrap());
        #[expect(clippy::cast_precision_loss, reason = "trays of a log")]
        let real = |n: usize| n as f64;
        for (name, value) in [
            ("sown", real(crop.sown.len())),
            ("harvested", real(crop.cut())),
            ("loss_frac", lost.share),
            ("loss_wilson_lo", lost.low),
            ("loss_wilson_hi", lost.high),
            ("mean_g", of.mean / 10.0),
            ("ci_lo", low / 10.0),
            ("ci_hi", high / 10.0),
            ("median_g", of.median / 10.0),
            ("mad_scaled", of.mad / 10.0),
            ("hodges_lehmann", of.hodges_lehmann / 10.0),
            ("ratio_harvested_basis", cut.ratio),
            ("ratio_sown_basis", all.ratio),
            ("ratio_se_linear", cut.se.unwrap()),
        ] {
            near(&format!("{} {name}", crop.name), value, right(name));
        }
    }
    // days to the cut, by the days of the log themselves
    let (sown, cut) = (Table::read("traylog_public"), review.crops[2].days.as_ref().unwrap());
    let days = sown.texts("sow_date").into_iter().zip(sown.texts("harvest_date")).zip(sown.texts("crop"));
    let days: Vec<i64> = days
        .filter(|((_, cut), crop)| *crop == "radish" && !cut.is_empty())
        .map(|((sown, cut), _)| day_number(sown.parse().unwrap(), cut.parse().unwrap()))
        .collect();
    #[expect(clippy::cast_precision_loss, reason = "days of a tray")]
    let mean = days.iter().sum::<i64>() as f64 / days.len() as f64;
    near("days", cut.spread.mean, mean);
}

#[test]
fn the_seed_lots_of_the_log_compare_as_others_compared_them() {
    let (facts, lots) = facts();
    let review = Review::of(&facts);
    // all of the log in one week, as other software took it
    let mut together = facts.clone();
    for batch in &mut together.batches {
        batch.day = "2025-09-01".parse().unwrap();
    }
    let past = Past {
        today: together.period.to,
        period: together.period,
        window: together.period,
        facts: together,
        lots,
        gone: BTreeSet::new(),
        shelves: BTreeMap::new(),
        seeded: BTreeMap::new(),
        weekly: vec![],
        baselines: BTreeMap::new(),
    };
    let told = Told::of(review, past);
    let radish = told
        .differences
        .comparisons
        .iter()
        .find(|one| one.by == By::SeedLot && one.crop_name == "radish" && matches!(one.found, Found::Yield(_)));
    let radish = radish.unwrap();
    let Found::Yield(two) = &radish.found else { panic!("weights") };
    let table = Table::read("traylog_public_tests");
    let at = table.texts("comparison").iter().position(|what| *what == "lot R-101 - R-117").unwrap();
    let right = |name: &str| table.cells(name)[at].unwrap();
    assert_eq!((radish.name.as_str(), radish.other.as_str()), ("R-117", "R-101"), "the one that gave less is told of");
    let (low, high) = two.interval.unwrap();
    for (name, value) in [
        ("diff", -two.diff / 10.0),
        ("ci_lo", -high / 10.0),
        ("ci_hi", -low / 10.0),
        ("p", two.p.unwrap()),
        ("U_p", two.rank_p),
        ("hl_shift", -two.shift / 10.0),
    ] {
        near(name, value, right(name));
    }
}
