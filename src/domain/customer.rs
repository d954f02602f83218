//! Who buys.

use super::id::CustomerId;

/// A customer to be written down. Without an address nothing is delivered there.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize)]
pub struct NewCustomer {
    pub name: String,
    pub address: String,
    pub phone: String,
    /// The round they are usually brought things on; empty: fetched, or by itself.
    pub round: String,
    pub note: String,
}

#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Customer {
    pub id: CustomerId,
    pub rev: i64,
    pub name: String,
    pub address: String,
    pub phone: String,
    pub round: String,
    pub note: String,
    /// Live trays that went there and have not come back empty.
    pub trays_out: i64,
}

impl Customer {
    /// Address and phone, as far as they are known.
    pub fn reached(&self) -> String {
        let known = [self.address.as_str(), self.phone.as_str()].into_iter().filter(|text| !text.is_empty());
        known.collect::<Vec<_>>().join(", ")
    }
}
