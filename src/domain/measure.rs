//! What an ingredient is measured with. A teaspoon always says which kind it is.

use super::units::trimmed;
use super::words::words;

words!(
    /// A measure; amounts are kept in thousandths of it.
    Measure {
        Gram = "g" / "g",
        Millilitre = "ml" / "mL",
        Drop = "drop" / "drops",
        UsTsp = "us_tsp" / "tsp (US)",
        LabelTsp = "label_tsp" / "tsp (label)",
        ImperialTsp = "imperial_tsp" / "tsp (imperial)",
    }
);

/// Drops of water in a millilitre; oils differ.
pub const DROPS_PER_ML: f64 = 20.0;

/// Fractions as some keyboards have them.
const QUARTERS: [(&str, &str); 5] = [("¼", " 1/4"), ("½", " 1/2"), ("¾", " 3/4"), ("⅓", " 1/3"), ("⅔", " 2/3")];

/// Thousandths of an amount at most: a tonne, a cubic metre.
pub const MILLI_MAX: i64 = 1_000_000_000;

impl Measure {
    /// Millilitres in one of it; a weight has none.
    pub fn ml(self) -> Option<f64> {
        match self {
            Self::Gram => None,
            Self::Millilitre => Some(1.0),
            Self::Drop => Some(1.0 / DROPS_PER_ML),
            // exact, from the US gallon of 231 cubic inches
            Self::UsTsp => Some(4.928_921_593_75),
            Self::LabelTsp => Some(5.0),
            Self::ImperialTsp => Some(5.919),
        }
    }

    fn spoon(self) -> bool {
        matches!(self, Self::UsTsp | Self::LabelTsp | Self::ImperialTsp)
    }
}

/// Why an amount cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AmountError {
    #[error("{0:?} is no amount: write a number and its measure, such as 2.5 g, 20 drops or 3/4 tsp us")]
    Number(String),
    #[error("{0:?} can be read as {1} and as {2}: write one of these, without a comma")]
    Comma(String, String, String),
    #[error("{0:?}: a tablespoon holds three to four teaspoons and is not taken here: measure it in mL")]
    Tablespoon(String),
    #[error("say what it is measured in: g, mL, drops, or a teaspoon of a kind, such as 3/4 tsp us")]
    NoMeasure,
    #[error(
        "{0:?} does not say which spoon: write tsp us (4.93 mL), tsp label (5 mL) or tsp imperial (5.92 mL), or measure in mL"
    )]
    Spoon(String),
    #[error("{0:?} is no measure here: use g, mL, drops, tsp us, tsp label or tsp imperial")]
    Measure(String),
    #[error("an amount is more than 0, and at most a tonne")]
    Range,
}

/// So much of an ingredient.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Amount {
    /// Thousandths of the measure.
    pub milli: i64,
    pub measure: Measure,
}

impl Amount {
    /// Reads `2.5 g`, `2,5 g`, `20 drops`, `3/4 tsp us`, `1½ label tsp`. `1,500 mL` may be two things and is refused.
    pub fn parse(text: &str) -> Result<Self, AmountError> {
        let text = &QUARTERS.iter().fold(text.trim().to_string(), |text, (sign, figure)| text.replace(*sign, figure));
        let text = text.trim();
        let word = text.trim_start_matches(|c: char| c.is_ascii_digit() || ".,/ -".contains(c));
        let number = text.strip_suffix(word).unwrap_or(text).trim();
        if let Some((whole, part)) = number.split_once(',') {
            let digits = |text: &str| !text.is_empty() && text.chars().all(|c| c.is_ascii_digit());
            if part.len() == 3 && digits(part) && digits(whole) && !whole.starts_with('0') {
                let (grouped, decimal) = (format!("{whole}{part}"), format!("{whole}.{part}"));
                return Err(AmountError::Comma(number.to_string(), grouped, decimal));
            }
        }
        let x = number_of(number).ok_or_else(|| AmountError::Number(text.to_string()))?;
        let measure = measure_of(word)?;
        #[expect(clippy::cast_possible_truncation, reason = "out of range it saturates, and is refused")]
        let milli = (x * 1000.0).round() as i64;
        if (1..=MILLI_MAX).contains(&milli) { Ok(Self { milli, measure }) } else { Err(AmountError::Range) }
    }

    /// How many of its measure.
    #[expect(clippy::cast_precision_loss, reason = "at most 10^9")]
    pub fn number(self) -> f64 {
        self.milli as f64 / 1000.0
    }

    /// Its volume; a weight has none.
    pub fn ml(self) -> Option<f64> {
        self.measure.ml().map(|ml| ml * self.number())
    }

    /// The same share of another volume; `None` where that is too little to be measured, or far too much.
    pub fn scaled(self, from_ml: i64, to_ml: i64) -> Option<Self> {
        let (milli, from, to) = (i128::from(self.milli), i128::from(from_ml), i128::from(to_ml));
        if from <= 0 || to <= 0 {
            return None;
        }
        let milli = i64::try_from((milli * to * 2 + from) / (from * 2)).ok()?;
        (1..=MILLI_MAX).contains(&milli).then_some(Self { milli, ..self })
    }

    /// As it is typed and read back: `3/4 tsp us`.
    pub fn typed(self) -> String {
        let word = match self.measure {
            Measure::UsTsp => "tsp us",
            Measure::LabelTsp => "tsp label",
            Measure::ImperialTsp => "tsp imperial",
            other => other.shown(),
        };
        format!("{} {word}", self.figure())
    }

    /// `2.5 g`, `3.70 mL = 3/4 tsp (US)`, `20 drops, about 1.00 mL (drops differ, an oil's most)`.
    pub fn words(self) -> String {
        let short = self.short();
        match (self.measure, self.ml()) {
            (Measure::Drop, Some(ml)) => {
                format!("{}, about {ml:.2} mL (drops differ, an oil's most)", self.whole_drops())
            }
            (measure, Some(ml)) if measure.spoon() => format!("{ml:.2} mL = {short}"),
            _ => short,
        }
    }

    /// What can be dropped: `27 drops, by the sum 26.7`.
    fn whole_drops(self) -> String {
        match (self.milli + 500) / 1000 {
            0 => format!("{}, less than can be dropped: make more at once", self.short()),
            _ if self.milli % 1000 == 0 => self.short(),
            1 => format!("1 drop, by the sum {}", trimmed(self.number(), 1)),
            whole => format!("{whole} drops, by the sum {}", trimmed(self.number(), 1)),
        }
    }

    /// Without its millilitres: `3/4 tsp (US)`.
    pub fn short(self) -> String {
        let word = if self.measure == Measure::Drop && self.milli == 1000 { "drop" } else { self.measure.shown() };
        format!("{} {word}", self.figure())
    }

    /// Spoons in quarters where they come out even.
    fn figure(self) -> String {
        let (whole, part) = (self.milli / 1000, self.milli % 1000);
        let quarter = match part {
            250 => "1/4",
            500 => "1/2",
            750 => "3/4",
            _ => "",
        };
        if self.measure.spoon() && !quarter.is_empty() {
            return if whole == 0 { quarter.to_string() } else { format!("{whole} {quarter}") };
        }
        trimmed(self.number(), 3)
    }
}

/// Decimals with comma or point, fractions, and a whole number before a fraction.
fn number_of(text: &str) -> Option<f64> {
    let parts: Vec<&str> = text.split_whitespace().collect();
    let decimal = |text: &str| text.replace(',', ".").parse::<f64>().ok().filter(|x| x.is_finite());
    let fraction = |text: &str| {
        let (above, below) = text.split_once('/')?;
        let (above, below) = (above.parse::<u32>().ok()?, below.parse::<u32>().ok()?);
        (below > 0).then(|| f64::from(above) / f64::from(below))
    };
    match parts.as_slice() {
        [one] if one.contains('/') => fraction(one),
        [one] => decimal(one),
        [whole, part] => Some(f64::from(whole.parse::<u32>().ok()?) + fraction(part)?),
        _ => None,
    }
}

fn measure_of(text: &str) -> Result<Measure, AmountError> {
    let plain = text.to_lowercase();
    let words: Vec<&str> = plain.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let has = |of: &[&str]| words.iter().any(|word| of.contains(word));
    if plain.contains("tablespoon") || has(&["tbsp", "tbsps", "tbs", "tbl"]) {
        return Err(AmountError::Tablespoon(text.trim().to_string()));
    }
    if plain.contains("spoon") || has(&["tsp", "tsps", "us", "label", "imperial"]) {
        let tea = has(&["tsp", "tsps", "teaspoon", "teaspoons"]);
        let kinds = [
            (has(&["us"]), Measure::UsTsp),
            (has(&["label"]), Measure::LabelTsp),
            (has(&["imperial"]), Measure::ImperialTsp),
        ];
        let named: Vec<Measure> = kinds.into_iter().filter(|(named, _)| *named).map(|(_, kind)| kind).collect();
        return match named.as_slice() {
            [kind] if tea && words.len() == 2 => Ok(*kind),
            _ => Err(AmountError::Spoon(text.trim().to_string())),
        };
    }
    match words.as_slice() {
        [] => Err(AmountError::NoMeasure),
        ["g" | "gram" | "grams"] => Ok(Measure::Gram),
        ["ml"] => Ok(Measure::Millilitre),
        ["drop" | "drops"] => Ok(Measure::Drop),
        _ => Err(AmountError::Measure(text.trim().to_string())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn amount(text: &str) -> Amount {
        Amount::parse(text).unwrap_or_else(|why| panic!("{text}: {why}"))
    }

    #[test]
    fn amounts_are_read_as_they_are_written() {
        for (text, milli, measure) in [
            ("2.5 g", 2500, Measure::Gram),
            ("2,5g", 2500, Measure::Gram),
            ("20 drops", 20_000, Measure::Drop),
            ("1 drop", 1000, Measure::Drop),
            ("15 mL", 15_000, Measure::Millilitre),
            ("3/4 tsp us", 750, Measure::UsTsp),
            ("3/4 US tsp.", 750, Measure::UsTsp),
            ("0.75 us_tsp", 750, Measure::UsTsp),
            ("1 1/2 label teaspoons", 1500, Measure::LabelTsp),
            ("1/3 tsp (imperial)", 333, Measure::ImperialTsp),
            ("¾ tsp us", 750, Measure::UsTsp),
            ("1½ tsp label", 1500, Measure::LabelTsp),
        ] {
            assert_eq!(amount(text), Amount { milli, measure }, "{text}");
            // what is shown for typing reads back
            assert_eq!(amount(&amount(text).typed()), Amount { milli, measure });
        }
    }

    #[test]
    fn a_spoon_says_its_kind() {
        for text in ["1 tsp", "3/4 teaspoon", "1 spoon", "1 tsp us label", "1 heaped tsp us", "1 us"] {
            let why = Amount::parse(text).unwrap_err().to_string();
            for kind in ["tsp us", "tsp label", "tsp imperial"] {
                assert!(why.contains(kind), "{text}: {why}");
            }
        }
        assert_eq!(Amount::parse("3"), Err(AmountError::NoMeasure));
        assert!(matches!(Amount::parse("3 cups"), Err(AmountError::Measure(_))));
        for text in ["", "g", "1/0 g", "-1 g", "1/2/3 g", "1 2 g", "1e3 g"] {
            assert!(Amount::parse(text).is_err(), "{text}");
        }
        assert_eq!(Amount::parse("0 g"), Err(AmountError::Range));
        assert_eq!(Amount::parse("0.0001 g"), Err(AmountError::Range));
        assert_eq!(Amount::parse("99999999999 g"), Err(AmountError::Range));
    }

    #[test]
    fn a_tablespoon_is_told_apart_from_a_teaspoon() {
        for text in ["2 tbsp us", "1 us_tbsp", "1 tablespoon", "1 label tablespoons"] {
            let why = Amount::parse(text).unwrap_err().to_string();
            assert!(why.contains("tablespoon") && why.contains("in mL") && !why.contains("tsp us ("), "{text}: {why}");
        }
    }

    #[test]
    fn a_comma_before_three_digits_is_asked_about() {
        let why = Amount::parse("1,500 mL").unwrap_err().to_string();
        assert!(why.contains("1500") && why.contains("1.500"), "{why}");
        assert!(Amount::parse("12,345 g").is_err());
        // no thousand begins with a nought; four digits and two are no thousands
        for (text, milli) in [("0,125 g", 125), ("1,50 g", 1500), ("1.500 g", 1500), ("1500 g", 1_500_000)] {
            assert_eq!(amount(text).milli, milli, "{text}");
        }
    }

    #[test]
    fn spoons_and_drops_in_millilitres() {
        // growing.md G6: US teaspoon 4.92892159375 mL exactly, label spoon 5 mL, imperial 5.919; 20 drops per mL (USP <1101>)
        for (text, ml) in [
            ("1 tsp us", 4.928_921_593_75),
            ("1 tsp label", 5.0),
            ("1 tsp imperial", 5.919),
            ("20 drops", 1.0),
            ("7 ml", 7.0),
        ] {
            let found = amount(text).ml().unwrap();
            assert!((found - ml).abs() < 1e-9, "{text}: {found}");
        }
        assert_eq!(amount("3 g").ml(), None);
        // growing.md G6: 1 tsp per US quart (946.352946 mL exactly) = 0.521 % v/v
        let share = amount("1 tsp us").ml().unwrap() / 946.352_946 * 100.0;
        assert!((share - 0.521).abs() < 0.0005, "{share}");
    }

    #[test]
    fn amounts_scale_with_the_bottle() {
        // common practice, no source: 1.5 L with three quarter-teaspoons and 20 drops, for 2 L
        assert_eq!(amount("3/4 tsp us").scaled(1500, 2000), Some(amount("1 tsp us")));
        assert_eq!(amount("20 drops").scaled(1500, 2000).unwrap().milli, 26_667);
        assert_eq!(amount("20 drops").scaled(1500, 750), Some(amount("10 drops")));
        assert_eq!(amount("1 g").scaled(1_000_000, 1), None, "too little to weigh");
        assert_eq!(amount("1 g").scaled(0, 1), None);
        assert_eq!(amount("1000 g").scaled(1, i64::MAX), None);
    }

    #[test]
    fn words_for_the_bench() {
        assert_eq!(amount("3/4 tsp us").words(), "3.70 mL = 3/4 tsp (US)");
        assert_eq!(amount("1.25 tsp label").words(), "6.25 mL = 1 1/4 tsp (label)");
        assert_eq!(amount("20 drops").words(), "20 drops, about 1.00 mL (drops differ, an oil's most)");
        assert_eq!(
            amount("26.667 drops").words(),
            "27 drops, by the sum 26.7, about 1.33 mL (drops differ, an oil's most)"
        );
        assert!(amount("1.2 drops").words().starts_with("1 drop, by the sum 1.2,"));
        assert!(amount("0.3 drops").words().contains("make more at once"));
        assert_eq!(amount("2.5 g").words(), "2.5 g");
        assert_eq!(amount("1 drop").short(), "1 drop");
    }
}
