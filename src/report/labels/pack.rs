//! Labels of packs and of harvest tubs: everything that is to be said of them, or one sentence why they are not printed.

use super::{Label, Symbol, line, name};
use crate::domain::code::Code;
use crate::domain::crop::Allergy;
use crate::domain::gs1::{Gtin, digital_link, element_string};
use crate::domain::lot::Lot;
use crate::domain::product::Product;
use crate::domain::room::Units;
use crate::domain::seed_lot::percent;
use crate::domain::sender::Sender;

/// Which symbol a pack carries where a company prefix is licensed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gs1 {
    Matrix,
    Link,
}

/// What all labels of a room share.
#[derive(Debug, Clone, Copy)]
pub struct Printer<'a> {
    pub sender: &'a Sender,
    pub room_code: &'a str,
    pub units: Units,
    pub gs1: Gs1,
}

/// Labels of one lot at most.
const MOST: usize = 600;

/// Columns of one line below the symbol, at the size packs are printed in.
const COLUMNS: usize = 54;
/// Lines that fit there, with and without something that stands out.
const LINES: (usize, usize) = (4, 5);

impl Printer<'_> {
    /// The label of a pack; refused as long as an allergen is not checked or the sender is not complete.
    pub fn pack(&self, lot: &Lot, product: &Product) -> Result<Label, String> {
        if let Some(what) = self.sender.missing() {
            return Err(format!("Labels say who grows: write down the {what} first (settings, labels and notes)."));
        }
        let allergens = allergens(lot)?;
        let code = code(lot)?;
        let net = match lot.pack_g {
            // both ways, as the room counts and in grams
            Some(grams) if self.units == Units::Us => format!("net {} ({grams} g)", self.units.weight(grams * 1000)),
            Some(grams) => format!("net {grams} g"),
            None => "1 tray, living".into(),
        };
        let cut: Vec<String> = lot.cut_days.iter().map(ToString::to_string).collect();
        let packed = if cut.is_empty() { format!("leaves {}", lot.day) } else { format!("packed {}", lot.day) };
        let cut = if cut.is_empty() { String::new() } else { format!("cut {}", cut.join(", ")) };
        let until = lot.best_before.map_or_else(String::new, |day| format!("BEST BEFORE {day}"));
        let mut beside = vec![format!("LOT {} {}", self.room_code, code), packed, until, net];
        beside.retain(|text| !text.trim().is_empty());
        let mut below = Vec::new();
        if lot.parts.len() > 1 {
            let parts: Vec<String> =
                lot.parts.iter().map(|part| format!("{} {}", part.name, percent(part.share_pm))).collect();
            below.extend(wrapped(&parts.join(", ")));
        }
        let Sender { name: grower, address, phone, wash, .. } = self.sender;
        below.extend(wrapped(&format!("{}, {}, {}", line(grower), line(address), line(phone))));
        let wash = if *wash { " Wash before eating." } else { "" };
        below.extend(wrapped(&format!("Keep refrigerated.{wash} {cut}")));
        let caution = (!allergens.is_empty()).then(|| format!("CONTAINS {}", allergens.join(", ").to_uppercase()));
        let most = if caution.is_some() { LINES.0 } else { LINES.1 };
        if below.len() > most {
            return Err(format!("{} says more than a label holds: a shorter address, or fewer crops.", product.name));
        }
        Ok(Label {
            name: name(&product.name),
            symbol: self.symbol(lot, product, &code),
            code: Some(code),
            beside,
            caution,
            below,
            dense: true,
        })
    }

    /// One label for each pack that is there or on its way, or that of the tub.
    pub fn all(&self, lot: &Lot, product: Option<&Product>) -> Result<Vec<Label>, String> {
        match (lot.product, product) {
            (None, _) => Ok(vec![self.tub(lot)?]),
            (Some(_), None) => Err("Its product is out of use: put it to use first.".into()),
            (Some(_), Some(product)) => {
                let packs = usize::try_from(lot.packs + lot.out_packs).unwrap_or(1).max(1);
                if packs > MOST {
                    return Err(format!(
                        "{packs} packs are more labels than one page takes, {MOST}: pack them in two runs."
                    ));
                }
                Ok(std::iter::repeat_n(self.pack(lot, product)?, packs).collect())
            }
        }
    }

    /// Plain, unless the number of the product is one of a licensed prefix.
    fn symbol(&self, lot: &Lot, product: &Product, code: &Code) -> Symbol {
        let gtin = product.gtin.as_deref().and_then(|text| text.parse::<Gtin>().ok());
        let licensed = gtin.filter(|gtin| self.sender.gs1_prefix.as_deref().is_some_and(|prefix| gtin.is_of(prefix)));
        let Some(gtin) = licensed else { return Symbol::Plain };
        let plain = code.shown().replace('-', "");
        let until = lot.best_before.map(|day| day.format("%y%m%d").to_string());
        let written = match self.gs1 {
            Gs1::Link => digital_link(&gtin, &plain, None, None).map(Symbol::Link),
            Gs1::Matrix => {
                let gtin = gtin.to_string();
                let mut elements = vec![("01", gtin.as_str())];
                elements.extend(until.as_deref().map(|day| ("15", day)));
                elements.push(("10", &plain));
                element_string(&elements).map(Symbol::Matrix)
            }
        };
        written.unwrap_or(Symbol::Plain)
    }

    /// The label of a tub that a harvest lot stands in until it is packed.
    pub fn tub(&self, lot: &Lot) -> Result<Label, String> {
        let code = code(lot)?;
        let caution = match lot.parts.first().map(|part| Allergy::of(&part.allergen)) {
            Some(Allergy::Yes(what)) => Some(format!("CONTAINS {}", what.to_uppercase())),
            Some(Allergy::NotChecked) => Some("ALLERGENS NOT CHECKED".into()),
            _ => None,
        };
        let until = lot.best_before.map_or_else(String::new, |day| format!("use by {day}"));
        let weight = self.units.weight(lot.grams * 1000);
        Ok(Label {
            name: name(&lot.name),
            symbol: Symbol::Plain,
            code: Some(code.clone()),
            beside: vec![format!("LOT {} {code}", self.room_code), format!("cut {}", lot.day), until, weight],
            caution,
            below: vec!["For packing; keep cold, dry and covered.".into()],
            dense: true,
        })
    }
}

fn code(lot: &Lot) -> Result<Code, String> {
    Code::parse(&lot.code).map_err(|why| format!("{}: {why}.", lot.code))
}

/// What is to be declared; a crop nobody checked bars the label.
fn allergens(lot: &Lot) -> Result<Vec<String>, String> {
    let mut found: Vec<String> = Vec::new();
    for part in &lot.parts {
        match Allergy::of(&part.allergen) {
            Allergy::NotChecked => {
                return Err(format!(
                    "Allergens of {} are not checked, so no label is printed: look it up, and say so in the crop's settings.",
                    part.name
                ));
            }
            Allergy::Yes(what) if !found.contains(&what) => found.push(what),
            Allergy::Yes(_) | Allergy::No => {}
        }
    }
    Ok(found)
}

/// Broken at spaces into lines that fit.
fn wrapped(text: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(last) if last.chars().count() + 1 + word.chars().count() <= COLUMNS => {
                last.push(' ');
                last.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
