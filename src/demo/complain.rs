//! Two customers complain in the last days; what both packs have in common is for whoever opens the demo to find.

use chrono::Duration;

use super::Room;
use crate::domain::action::Action;
use crate::domain::complaint::{Asked, Named, NewComplaint, Severity, Standing, Told, What, candidates};
use crate::store::error::StoreError;

/// Who calls yesterday, about what, with the label in hand.
const CALLS: [(&str, &str, What, &str); 2] = [
    ("Harbour Table", "Pea shoots 100 g", What::Mould, "White threads under the leaves, two days after it came."),
    ("The Copper Pot", "Bench mix 60 g", What::Slime, "The pea shoots in it are slimy, the rest looks fine."),
];

impl Room<'_> {
    /// Each about the newest delivery of what they buy. A room too young to have delivered it hears nothing.
    pub(super) fn complaints(&mut self) -> Result<(), StoreError> {
        for (n, (customer, product, what, words)) in (0i64..).zip(CALLS) {
            let day = self.calendar.yesterday;
            let goods = self.store.goods(day)?;
            let customer = goods.customers.iter().find(|known| known.name == customer).map(|known| known.id);
            let product = goods.products.iter().find(|known| known.name == product).map(|known| known.id);
            let asked = Asked { customer, product, noticed: Some(day), ..Asked::default() };
            let found = candidates(&asked, &self.store.sold(day)?);
            let Some(lot) = found.first().filter(|candidate| candidate.likely) else { continue };
            let new = NewComplaint {
                customer,
                product,
                day,
                delivered: None,
                code: Some(lot.code.clone()),
                what,
                severity: Severity::Small,
                told: Told { words: Some(words.into()), kept: Some("in the fridge".into()), ..Told::default() },
                lots: vec![Named { lot: lot.lot, standing: Standing::Sure, why: "its code was read".into() }],
                hold: false,
            };
            let mut book = self.notebook(day, 16 * 60 + 40 * n);
            book.write(Duration::minutes(4).num_seconds(), Action::Complain(Box::new(new)));
            self.commit(&book)?;
        }
        Ok(())
    }
}
