//! `assets/demo.toml`: the invented names, shares and lots of the demo room.

use chrono::Weekday;
use serde::Deserialize;

use crate::domain::crop::Medium;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scenario {
    pub name: String,
    pub code: String,
    pub address: String,
    pub phone: String,
    pub currency: String,
    pub notes: Vec<String>,
    pub people: Vec<Person>,
    pub media: Media,
    pub suppliers: Vec<Supplier>,
    pub crops: Vec<ScenarioCrop>,
    pub products: Vec<Product>,
    pub customers: Vec<Customer>,
    pub stall: Stall,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Product {
    pub name: String,
    pub pack_g: Option<i64>,
    pub price_c: i64,
    /// Letters of a crop, and its share per mille.
    pub parts: Vec<(String, i64)>,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Customer {
    pub name: String,
    pub address: String,
    pub phone: String,
    pub round: String,
    pub note: String,
    /// On which days, which product, how many in a room of 40 trays a week.
    pub wants: Vec<(Vec<Weekday>, String, i64)>,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stall {
    pub name: String,
    pub place: String,
    pub hours: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Person {
    pub initials: String,
    pub name: String,
    pub may_decide: bool,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Supplier {
    pub name: String,
    pub address: String,
}

/// Printed lots of what trays are filled with.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Media {
    mat: Vec<String>,
    soil: Vec<String>,
    coco: Vec<String>,
}

/// A starter crop and how the room sows it; the fields are explained in the file.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ScenarioCrop {
    pub letters: String,
    pub share: u32,
    pub sow: Vec<Weekday>,
    pub variety: String,
    pub supplier: usize,
    pub lot: String,
    pub germ_pm: i64,
    pub keeps_d: i64,
    /// Hundredths: a kilogram of seed, and all else that a tray costs.
    pub seed_kg_c: i64,
    pub tray_c: i64,
    pub weak_lot: Option<u32>,
    pub unstated_lot: Option<u32>,
}

impl Scenario {
    pub fn read() -> Result<Self, toml::de::Error> {
        toml::from_str(include_str!("../../assets/demo.toml"))
    }
}

impl Media {
    /// The lot in use on day `done` of `total`: the lots follow each other evenly.
    pub fn lot(&self, medium: Medium, done: usize, total: usize) -> Option<&str> {
        let lots = match medium {
            Medium::Mat => &self.mat,
            Medium::Soil => &self.soil,
            Medium::Coco => &self.coco,
            Medium::Other => return None,
        };
        lots.get(done * lots.len() / total.max(1)).or(lots.last()).map(String::as_str)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::starter::starter_crops;

    #[test]
    fn the_scenario_names_what_exists() {
        let scenario = Scenario::read().unwrap();
        let known = starter_crops().unwrap();
        for crop in &scenario.crops {
            assert!(known.iter().any(|k| k.letters == crop.letters), "{}", crop.letters);
            assert!(crop.supplier < scenario.suppliers.len(), "{}", crop.letters);
        }
        for product in &scenario.products {
            let sum: i64 = product.parts.iter().map(|(_, share)| *share).sum();
            let known = |letters: &String| scenario.crops.iter().any(|crop| crop.letters == *letters);
            assert!(sum == 1000 && product.parts.iter().all(|(letters, _)| known(letters)), "{}", product.name);
        }
        for (_, wanted, _) in scenario.customers.iter().flat_map(|customer| &customer.wants) {
            assert!(scenario.products.iter().any(|product| product.name == *wanted), "{wanted}");
        }
        let week: usize = scenario.crops.iter().map(|c| c.share as usize * c.sow.len()).sum();
        assert_eq!(week, 40, "the file says that shares are of 40 trays a week");
        assert!(scenario.people.len() >= 2);
    }
}
