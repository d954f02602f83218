//! An invented log of 34 trays through the same functions as the review's, against what other software made of it.

use rackwalk::domain::proportion::{Share, corrected};
use rackwalk::domain::stats::compare::two;
use rackwalk::domain::stats::rank::kruskal_wallis;
use rackwalk::domain::stats::spread::ratio;

use super::{TABLE, Table, near, real, spread};

struct Tray {
    crop: String,
    lot: String,
    rack: String,
    seed: f64,
    cut: Option<f64>,
}

fn log() -> Vec<Tray> {
    let table = Table::read("traylog_public");
    let (crops, lots, racks) = (table.texts("crop"), table.texts("lot"), table.texts("rack"));
    let (seed, cut, status) = (table.numbers("seed_g"), table.cells("harvest_g"), table.texts("status"));
    (0..table.rows.len())
        .map(|at| {
            assert_eq!(status[at] == "lost", cut[at].is_none());
            Tray { crop: crops[at].into(), lot: lots[at].into(), rack: racks[at].into(), seed: seed[at], cut: cut[at] }
        })
        .collect()
}

#[test]
fn each_crop() {
    let (log, table) = (log(), Table::read("traylog_public_by_crop"));
    assert_eq!(log.len(), 34);
    for (at, crop) in table.texts("crop").into_iter().enumerate() {
        let trays: Vec<&Tray> = log.iter().filter(|tray| tray.crop == crop).collect();
        let cut: Vec<f64> = trays.iter().filter_map(|tray| tray.cut).collect();
        let found = spread(&cut);
        let lost = trays.len() - cut.len();
        let share = Share::of(lost as u64, trays.len() as u64).unwrap();
        let harvested: Vec<(f64, f64)> = trays.iter().filter_map(|tray| Some((tray.cut?, tray.seed))).collect();
        let sown: Vec<(f64, f64)> = trays.iter().map(|tray| (tray.cut.unwrap_or(0.0), tray.seed)).collect();
        let gave = ratio(&harvested).unwrap();
        let (low, high) = found.mean_interval().unwrap();
        let (next_low, next_high) = found.next_interval().unwrap();
        for (name, value) in [
            ("sown", real(trays.len())),
            ("harvested", real(cut.len())),
            ("lost", real(lost)),
            ("loss_frac", share.share),
            ("loss_wilson_lo", share.low),
            ("loss_wilson_hi", share.high),
            ("mean_g", found.mean),
            ("sd_g", found.sd.unwrap()),
            ("ci_lo", low),
            ("ci_hi", high),
            ("pred_lo", next_low),
            ("pred_hi", next_high),
            ("median_g", found.median),
            ("mad_scaled", found.mad),
            ("hodges_lehmann", found.hodges_lehmann),
            ("total_g", found.sum),
            ("g_per_tray_sown", found.sum / real(trays.len())),
            ("ratio_harvested_basis", gave.ratio),
            ("ratio_sown_basis", ratio(&sown).unwrap().ratio),
            ("ratio_se_linear", gave.se.unwrap()),
            ("ratio_se_jack", gave.jackknife.unwrap()),
        ] {
            let right = table.numbers(name)[at];
            assert!((value - right).abs() <= TABLE, "{crop} {name}: {value} is not {right}");
        }
    }
    assert_eq!((table.rows.len(), table.names.len()), (3, 22));
}

/// Values of a crop's trays by lot or rack, in the order of their names.
fn by(log: &[Tray], crop: &str, key: impl Fn(&Tray) -> &str) -> Vec<(String, Vec<f64>)> {
    let mut names: Vec<&str> = log.iter().filter(|tray| tray.crop == crop).map(&key).collect();
    names.sort_unstable();
    names.dedup();
    let of = |name: &str| -> Vec<f64> {
        log.iter().filter(|tray| tray.crop == crop && key(tray) == name).filter_map(|tray| tray.cut).collect()
    };
    names.iter().map(|name| ((*name).to_string(), of(name))).collect()
}

#[test]
fn each_comparison() {
    let (log, table) = (log(), Table::read("traylog_public_tests"));
    let column = |name: &str, at: usize| table.cells(name)[at].unwrap();
    let mut chances = Vec::new();
    for (at, what) in table.texts("comparison").into_iter().enumerate() {
        let crop = table.texts("crop")[at];
        if what.starts_with("lot ") {
            let lots = by(&log, crop, |tray| &tray.lot);
            assert_eq!(what, format!("lot {} - {}", lots[0].0, lots[1].0));
            let found = two(&lots[0].1, &lots[1].1).unwrap();
            let (low, high) = found.interval.unwrap();
            for (name, value) in [
                ("n1", real(found.n.0)),
                ("n2_or_k", real(found.n.1)),
                ("diff", found.diff),
                ("ci_lo", low),
                ("ci_hi", high),
                ("stat_t_or_H", found.t.unwrap()),
                ("df", found.df.unwrap()),
                ("p", found.p.unwrap()),
                ("U", found.w),
                ("U_p", found.rank_p),
                ("hl_shift", found.shift),
            ] {
                let right = column(name, at);
                assert!((value - right).abs() <= TABLE, "{crop} {name}: {value} is not {right}");
            }
            assert_eq!(table.texts("U_method")[at], if found.exact { "exact" } else { "normal" });
            chances.push(found.p.unwrap());
        } else {
            let racks: Vec<Vec<f64>> =
                by(&log, crop, |tray| &tray.rack).into_iter().map(|(_, values)| values).collect();
            let found = kruskal_wallis(&racks).unwrap();
            near(real(racks.iter().map(Vec::len).sum()), column("n1", at), 1e-12);
            near(real(racks.len()), column("n2_or_k", at), 1e-12);
            near(found.h, column("stat_t_or_H", at), TABLE);
            near(found.df, column("df", at), TABLE);
            near(found.p, column("p", at), TABLE);
            chances.push(found.p);
        }
    }
    for (at, q) in corrected(&chances).into_iter().enumerate() {
        near(q, column("bh_q", at), TABLE);
    }
    assert_eq!(chances.len(), 5);
}
