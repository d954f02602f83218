//! A customer calls: what they say, which lots it may be about, and what came of it.

use super::id::{ComplaintId, CustomerId, EntryId, HoldId, LotId, ProductId};
use super::time::{Day, Instant};
use super::words::words;

words!(
    /// What is wrong with it.
    What {
        Mould = "mould" / "mould",
        Slime = "slime" / "slime",
        OffSmell = "off_smell" / "off smell",
        ShortLife = "short_life" / "short life",
        ForeignMatter = "foreign_matter" / "foreign matter",
        Illness = "illness" / "illness",
        WrongProduct = "wrong_product" / "wrong product",
        Other = "other" / "other",
    }
);

words!(
    /// How bad it is.
    Severity {
        Small = "small" / "small",
        Serious = "serious" / "serious",
        Grave = "grave" / "grave: someone may come to harm",
    }
);

words!(
    /// How a lot stands in a complaint.
    Standing {
        Open = "open" / "may be it",
        Sure = "sure" / "it is this one",
        RuledOut = "ruled_out" / "ruled out",
    }
);

/// What was told in one call. It speaks of people, so it lies outside the chain and can be blanked.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize)]
pub struct Told {
    pub caller: Option<String>,
    /// How they kept it.
    pub kept: Option<String>,
    pub words: Option<String>,
    /// Where a photo is to be found.
    pub photo: Option<String>,
    /// How many are ill; when they ate it, when it began, whom else it concerns.
    pub ill: Option<i64>,
    pub ate: Option<String>,
    pub onset: Option<String>,
    pub others: Option<String>,
}

impl Told {
    pub fn is_empty(&self) -> bool {
        self.trimmed() == Self::default()
    }

    /// Without blanks at the ends; what is nothing but blanks was not told.
    #[must_use]
    pub fn trimmed(&self) -> Self {
        let text =
            |text: &Option<String>| text.as_deref().map(str::trim).filter(|text| !text.is_empty()).map(str::to_owned);
        let Self { caller, kept, words, photo, ill, ate, onset, others } = self;
        Self {
            caller: text(caller),
            kept: text(kept),
            words: text(words),
            photo: text(photo),
            ill: *ill,
            ate: text(ate),
            onset: text(onset),
            others: text(others),
        }
    }
}

/// A lot that a complaint may be about, and why, or why not.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Named {
    pub lot: LotId,
    pub standing: Standing,
    pub why: String,
}

/// A complaint as typed in.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NewComplaint {
    pub customer: Option<CustomerId>,
    pub product: Option<ProductId>,
    /// When it was noticed.
    pub day: Day,
    /// When they say they got it.
    pub delivered: Option<Day>,
    /// The code as it was read to us.
    pub code: Option<String>,
    pub what: What,
    pub severity: Severity,
    pub told: Told,
    pub lots: Vec<Named>,
    /// Hold these lots, and the seed lots they were grown from, in the same entry.
    pub hold: bool,
}

impl NewComplaint {
    /// What the book would not take, and the field.
    pub fn check(&self, today: Day) -> Result<(), (&'static str, String)> {
        if self.day > today {
            return Err(("noticed", format!("It cannot have been noticed after today, {today}.")));
        }
        if let Some(delivered) = self.delivered.filter(|delivered| *delivered > self.day) {
            let day = self.day;
            return Err(("noticed", format!("It was delivered on {delivered}, after {day}: check both days.")));
        }
        let said = |text: &Option<String>| text.as_deref().is_some_and(|text| !text.trim().is_empty());
        if self.customer.is_none() && self.product.is_none() && !said(&self.code) && !said(&self.told.words) {
            return Err(("customer", "Say at least who complains, about what, or what they said.".into()));
        }
        if self.told.ill.is_some_and(|ill| !(0..=100_000).contains(&ill)) {
            return Err(("ill", "Say how many are ill, as a number.".into()));
        }
        Ok(())
    }
}

/// A lot named in a complaint, as the book has it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct ComplaintLot {
    pub lot: LotId,
    pub code: String,
    pub name: String,
    pub standing: Standing,
    pub why: String,
    pub held: bool,
}

/// A complaint as the book has it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Complaint {
    pub id: ComplaintId,
    pub entry: EntryId,
    /// When the call came, and who took it.
    pub at: Instant,
    pub who: String,
    pub customer: Option<CustomerId>,
    pub customer_name: String,
    pub product: Option<ProductId>,
    pub product_name: String,
    pub day: Day,
    pub delivered: Option<Day>,
    pub code: Option<String>,
    pub what: What,
    pub severity: Severity,
    /// What was told, call by call; `None` where it was blanked.
    pub told: Vec<(EntryId, Option<Told>)>,
    pub lots: Vec<ComplaintLot>,
    /// Holds that were written because of it.
    pub holds: Vec<HoldId>,
    /// Who answered it, and what was found.
    pub closed: Option<(String, String)>,
}

impl Complaint {
    /// Lots that nobody has ruled out.
    pub fn open_lots(&self) -> Vec<LotId> {
        self.lots.iter().filter(|lot| lot.standing != Standing::RuledOut).map(|lot| lot.lot).collect()
    }

    /// `mould, Bell Table, pea 100 g`.
    pub fn words(&self) -> String {
        let parts = [self.what.shown(), self.customer_name.as_str(), self.product_name.as_str()];
        parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
    }
}

/// What went out, as far as a complaint asks.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Sold {
    pub lot: LotId,
    pub code: String,
    pub product: ProductId,
    pub name: String,
    /// `None`: sold or given to the public.
    pub customer: Option<CustomerId>,
    pub to: String,
    pub day: Day,
    pub packs: i64,
}

/// What is known of the pack someone complains about.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Asked {
    pub customer: Option<CustomerId>,
    pub product: Option<ProductId>,
    pub delivered: Option<Day>,
    pub noticed: Option<Day>,
    /// The lot of the code that was read, if it is one of ours.
    pub code: Option<LotId>,
}

/// A lot it may be, with what speaks for it; the likeliest first.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Candidate {
    pub lot: LotId,
    pub code: String,
    pub name: String,
    /// What speaks for it, in words.
    pub why: String,
    /// The label was read.
    pub sure: bool,
    /// Nothing speaks against it: proposed to be kept open.
    pub likely: bool,
}

/// Days before it was noticed in which a delivery may be the one.
pub const BACK_D: i64 = 45;
/// A said day of delivery is believed with so many days around it.
const AROUND_D: i64 = 2;
/// Where no day was said, what came so many days before it was noticed is as likely as any.
const FRESH_D: i64 = 14;

/// Ranks what went out by how well it fits: the code that was read first, then product, then how near the day said is, then
/// the newer delivery. What went to someone else, or after it was noticed, is no candidate.
pub fn candidates(asked: &Asked, sold: &[Sold]) -> Vec<Candidate> {
    let mut ranked: Vec<(Rank, Candidate)> = Vec::new();
    for sale in sold {
        let fits = match (asked.code, asked.customer) {
            (Some(lot), _) if lot == sale.lot => true,
            (_, Some(customer)) => sale.customer == Some(customer),
            (_, None) => true,
        };
        let in_time = asked.noticed.is_none_or(|noticed| sale.day <= noticed);
        if !fits || !in_time {
            continue;
        }
        let rank = Rank::of(asked, sale);
        let candidate = Candidate {
            lot: sale.lot,
            code: sale.code.clone(),
            name: sale.name.clone(),
            why: rank.why(asked, sale),
            sure: asked.code == Some(sale.lot),
            likely: !rank.other_code && !rank.other_product && !rank.far,
        };
        match ranked.iter_mut().find(|(_, other)| other.lot == sale.lot) {
            Some(known) if known.0 <= rank => {}
            Some(known) => *known = (rank, candidate),
            None => ranked.push((rank, candidate)),
        }
    }
    ranked.sort_by_key(|(rank, candidate)| (*rank, candidate.lot));
    ranked.into_iter().map(|(_, candidate)| candidate).collect()
}

/// How well a sale fits; the smaller, the better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Rank {
    other_code: bool,
    other_product: bool,
    /// Beyond the days around the one that was said.
    far: bool,
    /// Days from the day that was said, or from when it was noticed.
    days: i64,
}

impl Rank {
    fn of(asked: &Asked, sale: &Sold) -> Self {
        let from = asked.delivered.or(asked.noticed).unwrap_or(sale.day);
        let days = (from - sale.day).num_days().abs();
        let around = if asked.delivered.is_some() { AROUND_D } else { FRESH_D };
        Self {
            other_code: asked.code.is_some_and(|lot| lot != sale.lot),
            other_product: asked.product.is_some_and(|product| product != sale.product),
            far: days > around,
            days,
        }
    }

    fn why(self, asked: &Asked, sale: &Sold) -> String {
        let mut why = Vec::new();
        if asked.code == Some(sale.lot) {
            why.push("its code was read".to_string());
        }
        if asked.product.is_some() {
            why.push(if self.other_product { "another product".into() } else { "the product".to_string() });
        }
        let packs = if sale.packs == 1 { "1 pack".to_string() } else { format!("{} packs", sale.packs) };
        let to = if sale.customer.is_none() { format!(" to the public, {}", sale.to) } else { String::new() };
        let when = match (asked.delivered, self.days) {
            (Some(_), 0) => ", the day they say".to_string(),
            (Some(_), days) => format!(", {days} d from the day they say"),
            (None, 0) if asked.noticed.is_some() => ", the day it was noticed".to_string(),
            (None, days) if asked.noticed.is_some() => format!(", {days} d before it was noticed"),
            _ => String::new(),
        };
        why.push(format!("{packs} on {}{to}{when}", sale.day));
        why.join("; ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    fn sold(lot: i64, product: i64, customer: Option<i64>, on: &str) -> Sold {
        Sold {
            lot: LotId(lot),
            code: format!("L{lot}"),
            product: ProductId(product),
            name: format!("product {product}"),
            customer: customer.map(CustomerId),
            to: "Quay market".into(),
            day: day(on),
            packs: 2,
        }
    }

    fn asked() -> Asked {
        Asked {
            customer: Some(CustomerId(1)),
            product: Some(ProductId(1)),
            delivered: Some(day("2026-07-10")),
            noticed: Some(day("2026-07-12")),
            code: None,
        }
    }

    fn order(asked: &Asked, sold: &[Sold]) -> Vec<i64> {
        candidates(asked, sold).iter().map(|candidate| candidate.lot.0).collect()
    }

    #[test]
    fn the_product_on_the_day_they_say_comes_first_and_others_stay_open() {
        let all = [
            sold(1, 2, Some(1), "2026-07-10"),
            sold(2, 1, Some(1), "2026-07-08"),
            sold(3, 1, Some(1), "2026-07-10"),
            sold(4, 1, Some(1), "2026-06-20"),
            sold(5, 1, Some(2), "2026-07-10"),
            sold(6, 1, Some(1), "2026-07-13"),
        ];
        assert_eq!(order(&asked(), &all), [3, 2, 4, 1], "another customer's and what came later are none");
        let first = &candidates(&asked(), &all)[0];
        assert_eq!(first.why, "the product; 2 packs on 2026-07-10, the day they say");
        assert_eq!(candidates(&asked(), &all)[3].why, "another product; 2 packs on 2026-07-10, the day they say");
    }

    #[test]
    fn a_code_that_was_read_is_first_whoever_got_it() {
        let asked = Asked { code: Some(LotId(5)), ..asked() };
        let all = [sold(3, 1, Some(1), "2026-07-10"), sold(5, 2, Some(2), "2026-07-01")];
        assert_eq!(order(&asked, &all), [5, 3]);
        assert!(candidates(&asked, &all)[0].sure && !candidates(&asked, &all)[1].sure);
    }

    #[test]
    fn without_a_customer_what_the_public_bought_counts_too() {
        let asked = Asked { customer: None, delivered: None, ..asked() };
        let all = [sold(1, 1, None, "2026-07-11"), sold(2, 1, Some(2), "2026-07-12")];
        assert_eq!(order(&asked, &all), [2, 1]);
        let why = &candidates(&asked, &all)[1].why;
        assert_eq!(why, "the product; 2 packs on 2026-07-11 to the public, Quay market, 1 d before it was noticed");
    }

    #[test]
    fn a_lot_that_went_twice_stands_there_once_with_the_better_reason() {
        let all = [sold(1, 1, Some(1), "2026-07-01"), sold(1, 1, Some(1), "2026-07-10")];
        let found = candidates(&asked(), &all);
        assert_eq!(found.len(), 1);
        assert!(found[0].why.ends_with("the day they say"), "{}", found[0].why);
    }

    #[test]
    fn days_that_cannot_be_are_named_with_their_field() {
        let new = NewComplaint {
            customer: Some(CustomerId(1)),
            product: None,
            day: day("2026-07-12"),
            delivered: Some(day("2026-07-13")),
            code: None,
            what: What::Mould,
            severity: Severity::Small,
            told: Told::default(),
            lots: vec![],
            hold: false,
        };
        assert_eq!(new.check(day("2026-07-14")).unwrap_err().0, "noticed");
        assert_eq!(NewComplaint { delivered: None, ..new.clone() }.check(day("2026-07-11")).unwrap_err().0, "noticed");
        assert_eq!(
            NewComplaint { delivered: None, customer: None, ..new }.check(day("2026-07-14")).unwrap_err().0,
            "customer"
        );
    }
}
