//! How many to sow, to have ready and to keep back.

use rackwalk::domain::stats::law::normal_at;
use rackwalk::domain::stats::sow::{
    beta_binomial, newsvendor, newsvendor_normal, newsvendor_uniform, safety_stock, trays, trays_at,
};

use super::{TABLE, Table, near};

#[test]
fn trays_to_sow_with_a_known_share() {
    let table = Table::read("trays_to_sow");
    let (rates, assured, sown) = (table.numbers("p_success"), table.numbers("confidence"), table.counts("sow"));
    for (at, need) in table.counts("need").into_iter().enumerate() {
        let found = trays_at(need, rates[at], assured[at]).unwrap();
        assert_eq!(found.trays, sown[at], "{need} at {}", rates[at]);
        near(found.chance, table.numbers("p_enough")[at], TABLE);
        near(found.one_fewer, table.numbers("p_enough_if_one_fewer")[at], TABLE);
    }
    assert_eq!(table.rows.len(), 15);
    for (need, rate, sow) in [(10, 0.9, 13), (5, 0.9, 7), (20, 0.9, 25), (10, 0.95, 12), (20, 0.85, 27)] {
        assert_eq!(trays_at(need, rate, 0.95).unwrap().trays, sow);
    }
    // 10 / 0.9 rounded up is 12, and not enough
    assert!(trays_at(10, 0.9, 0.95).unwrap().one_fewer < 0.9);
}

#[test]
fn trays_to_sow_from_a_record() {
    let table = Table::read("trays_to_sow_betabinomial");
    let (a, b, assured) = (table.numbers("a"), table.numbers("b"), table.numbers("confidence"));
    let (sown, plain) = (table.counts("sow"), table.counts("plug_in_binomial_sow"));
    for (at, need) in table.counts("need").into_iter().enumerate() {
        let found = beta_binomial(need, a[at], b[at], assured[at]).unwrap();
        assert_eq!((found.trays, found.optimistic), (sown[at], plain[at]), "{need} from {} {}", a[at], b[at]);
        near(found.chance, table.numbers("p_enough")[at], TABLE);
        near(a[at] / (a[at] + b[at]), table.numbers("mean_p")[at], 6e-5);
    }
    assert_eq!(table.rows.len(), 10);
    // statistics.md section 7: a record of s of n enters with a half more on either side
    for (good, of, sow, chance) in [(18, 20, 15, 0.971_65), (9, 10, 16, 0.958_06), (20, 20, 11, 0.950_17)] {
        let found = trays(10, good, of, 0.95).unwrap();
        assert_eq!(found.trays, sow, "{good} of {of}");
        near(found.chance, chance, 6e-6);
    }
    assert_eq!(trays(10, 18, 20, 0.95).unwrap().optimistic, 13);
    assert_eq!(trays(10, 0, 0, 0.95), None, "no record: not enough to say");
}

#[test]
fn how_many_to_have_ready() {
    let table = Table::read("newsvendor");
    let (a, b) = (table.numbers("a"), table.numbers("b"));
    let (few, many) = (table.numbers("cu"), table.numbers("co"));
    for (at, kind) in table.texts("dist").into_iter().enumerate() {
        near(newsvendor(few[at], many[at]).unwrap(), table.numbers("critical_ratio")[at], TABLE);
        let ready = match kind {
            "normal" => newsvendor_normal(a[at], b[at], few[at], many[at]),
            "uniform" => newsvendor_uniform(a[at], b[at], few[at], many[at]),
            other => panic!("{other}"),
        };
        near(ready.unwrap(), table.numbers("q_star")[at], 1e-4);
    }
    // published to two decimals, and the slip of turning the ratio upside down
    near(newsvendor_normal(50.0, 20.0, 2.0, 5.0).unwrap(), 38.68, 6e-3);
    near(newsvendor_uniform(50.0, 80.0, 2.0, 5.0).unwrap(), 58.571, 6e-4);
    assert!(newsvendor_normal(50.0, 20.0, 5.0, 2.0).unwrap() > 60.0);
}

#[test]
fn what_to_keep_back() {
    let table = Table::read("safety_stock");
    let column = |name: &str| table.numbers(name);
    // worked out with the limit of 95 %, which is listed with six decimals
    let limit = normal_at(0.95).unwrap();
    for (at, listed) in column("z").into_iter().enumerate() {
        let found = safety_stock(
            if (listed - limit).abs() < 1e-6 { limit } else { listed },
            column("sd_demand_per_period")[at],
            column("lead_periods")[at],
            column("mean_demand")[at],
            column("sd_lead")[at],
        );
        near(found.unwrap(), column("safety_stock")[at], TABLE);
    }
    assert_eq!(table.rows.len(), 3);
}
