//! Figures in sentences: no more digits than they are good for.

/// Limits of so few values or fewer are very wide.
pub const VERY_WIDE: usize = 5;

/// More decimals tell nothing.
const MOST_DECIMALS: usize = 6;

/// So many decimals that the width has two digits, and more where a limit would look like 0 and is not.
fn decimals(low: f64, high: f64) -> usize {
    let mut width = (high - low).abs();
    let mut found = 0;
    while width < 20.0 && width > 0.0 && found < MOST_DECIMALS {
        width *= 10.0;
        found += 1;
    }
    let looks_like_none = |x: f64, digits: usize| x.abs() > 0.0 && 2.0 * x.abs() * 10f64.powi(power(digits)) < 1.0;
    while found < MOST_DECIMALS && (looks_like_none(low, found) || looks_like_none(high, found)) {
        found += 1;
    }
    found
}

fn power(digits: usize) -> i32 {
    i32::try_from(digits).unwrap_or(0)
}

/// Without its decimals, and never -0.
pub fn rounded(value: f64) -> f64 {
    value.round() + 0.0
}

/// Two limits with their signs: `-11` and `+54`.
pub fn signed(low: f64, high: f64) -> (String, String) {
    let digits = decimals(low, high);
    (format!("{:+.digits$}", low + 0.0), format!("{:+.digits$}", high + 0.0))
}

/// Two limits of what has no sign of its own: `183` and `295`.
pub fn limits(low: f64, high: f64) -> (String, String) {
    let digits = decimals(low, high);
    (format!("{:.digits$}", low + 0.0), format!("{:.digits$}", high + 0.0))
}

/// A figure with as many digits as its limits have.
pub fn like(x: f64, low: f64, high: f64) -> String {
    format!("{x:.0$}", decimals(low, high))
}

/// A figure by itself, to four digits or so.
pub fn short(x: f64) -> String {
    let size = x.abs();
    let digits = match size {
        _ if size >= 1000.0 => 0,
        _ if size >= 100.0 => 1,
        _ if size >= 10.0 => 2,
        _ => 3,
    };
    let text = format!("{:.digits$}", x + 0.0);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').into() } else { text }
}

/// The same with its sign.
pub fn plus(x: f64) -> String {
    if x > 0.0 { format!("+{}", short(x)) } else { short(x) }
}

/// A chance; very small ones are called that.
pub fn chance(p: f64) -> String {
    if p < 0.0001 { "below 0.0001".into() } else { format!("{p:.4}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_have_as_many_digits_as_they_are_good_for() {
        assert_eq!(signed(-11.3, 54.2), ("-11".into(), "+54".into()));
        assert_eq!(signed(-0.04, 31.0), ("-0.04".into(), "+31.00".into()), "never -0");
        assert_eq!(signed(0.0, 0.0), ("+0".into(), "+0".into()));
        assert_eq!(limits(182.87, 295.24), ("183".into(), "295".into()));
        assert_eq!(limits(1.234, 1.456), ("1.23".into(), "1.46".into()));
        assert_eq!(
            (short(3.0), short(0.12345), short(1234.5), short(-0.0)),
            ("3".into(), "0.123".into(), "1234".into(), "0".into())
        );
        assert_eq!((plus(3.5), plus(-3.5), plus(0.0)), ("+3.5".into(), "-3.5".into(), "0".into()));
        assert_eq!((chance(0.02), chance(1e-9)), ("0.0200".into(), "below 0.0001".into()));
    }
}
