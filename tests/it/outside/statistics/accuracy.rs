//! Numbers that lose their digits where they are added carelessly: NIST's statistical reference data sets.

use rackwalk::domain::stats::groups::anova;
use rackwalk::domain::stats::regress::{lag1, ols};

use super::{CERTIFIED, PUBLISHED, TABLE, Table, alike, near, real, spread};

/// The six univariate sets by their names.
fn set(name: &str) -> Vec<f64> {
    let table = match name {
        "Mavro" => Table::read("strd_mavro"),
        "Michelso" => Table::read("strd_michelso"),
        "NumAcc1" => Table::read("strd_numacc1"),
        "NumAcc2" => Table::read("strd_numacc2"),
        "NumAcc3" => Table::read("strd_numacc3"),
        "NumAcc4" => Table::read("strd_numacc4"),
        other => panic!("no set {other}"),
    };
    table.numbers("y")
}

#[test]
fn means_deviations_and_neighbours_as_certified() {
    let certified = Table::read("strd_univariate_certified_public");
    let (names, n) = (certified.texts("dataset"), certified.counts("n"));
    let (means, sds, lags) = (certified.numbers("mean"), certified.numbers("sd"), certified.numbers("lag1_autocorr"));
    assert_eq!(names.len(), 6);
    for (at, name) in names.into_iter().enumerate() {
        let values = set(name);
        assert_eq!(u64::try_from(values.len()), Ok(n[at]), "{name}");
        let found = spread(&values);
        alike(found.mean, means[at], CERTIFIED);
        let part = if name.ends_with('3') || name.ends_with('4') { 1e-8 } else { CERTIFIED };
        alike(found.sd.unwrap(), sds[at], part);
        alike(lag1(&values).unwrap(), lags[at], if part > CERTIFIED { 1e-7 } else { CERTIFIED });
    }
}

/// The trap: squares less the square of the sum, in one pass.
fn one_pass_variance(values: &[f64]) -> f64 {
    let (n, sum) = (real(values.len()), values.iter().sum::<f64>());
    (values.iter().map(|x| x * x).sum::<f64>() - sum * sum / n) / (n - 1.0)
}

#[test]
fn trap_one_pass_variance_loses_everything_and_two_passes_do_not() {
    let (third, fourth) = (set("NumAcc3"), set("NumAcc4"));
    // the reference saw 0.009875 and −0.032; the last digits depend on the order of the additions
    assert!((one_pass_variance(&third) / 0.01 - 1.0).abs() > 1e-3, "{}", one_pass_variance(&third));
    assert!((one_pass_variance(&fourth) / 0.01 - 1.0).abs() > 0.5, "{}", one_pass_variance(&fourth));
    for values in [third, fourth] {
        alike(spread(&values).sd.unwrap().powi(2), 0.01, 2e-8);
    }
}

#[test]
fn norris_line_as_certified() {
    let table = Table::read("strd_norris");
    let points: Vec<(f64, f64)> = table.numbers("x").into_iter().zip(table.numbers("y")).collect();
    assert_eq!(points.len(), 36);
    let line = ols(&points).unwrap();
    for (found, right) in [
        (line.intercept, -0.262_323_073_774_029),
        (line.slope, 1.002_116_818_020_45),
        (line.intercept_sd, 0.232_818_234_301_152),
        (line.slope_sd, 4.297_968_481_999_37e-4),
        (line.residual_sd, 0.884_796_396_144_373),
        (line.r2, 0.999_993_745_883_712),
        (line.f, 5_436_385.540_797_85),
        (line.explained, 4_255_954.132_323_69),
        (line.left, 26.617_398_529_422_4),
        (line.df, 34.0),
    ] {
        alike(found, right, CERTIFIED);
    }
}

#[test]
fn sirstv_analysis_of_variance_as_certified() {
    let found = anova(&Table::read("strd_sirstv").values("treatment", "y")).unwrap();
    for (found, right) in [
        (found.f, 1.180_462_374_402_55),
        (found.between, 5.114_626_16e-2),
        (found.within, 2.166_365_6e-1),
        (found.r2, 0.190_999_039_051_129),
        (found.residual_sd, 0.104_076_068_334_656),
    ] {
        alike(found, right, CERTIFIED);
    }
    assert_eq!((found.df_between, found.df_within), (4.0, 20.0));
}

#[test]
fn limits_of_a_mean_as_in_the_handbook() {
    // e-Handbook 1.3.5.2, ZARR13
    let found = spread(&Table::read("nist_1_3_5_2_zarr13").numbers("y"));
    assert_eq!(found.n, 195);
    near(found.mean, 9.261_460, TABLE);
    near(found.sd.unwrap(), 0.022_789, TABLE);
    let (low, high) = found.mean_interval().unwrap();
    near(low, 9.258_242, TABLE);
    near(high, 9.264_679, TABLE);
    // recomputed in the copy's own words
    near(low, 9.258_242_14, 1e-8);
    near(high, 9.264_679_38, 1e-8);
    near(found.sd.unwrap(), 0.022_788_80, 1e-7);
    near((high - low) / 2.0 / found.sd.unwrap() * 195f64.sqrt(), 1.9723, PUBLISHED);
}
