//! What left the trays: lots that are there, products, customers, orders, rounds. One read model for its screens.

use super::customer::Customer;
use super::delivery::Delivery;
use super::harvest::Knife;
use super::id::{CustomerId, LotId, OrderId, ProductId, RoundId, ToolId};
use super::lot::Lot;
use super::order::Order;
use super::product::Product;
use super::round::Round;
use super::stock::KeptSample;
use super::time::Day;
use super::tool::{LastUse, Tool, same};

/// Everything the screens after the cut show.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize)]
pub struct Goods {
    /// Lots of which something is here or on the way, least life left first.
    pub lots: Vec<Lot>,
    pub products: Vec<Product>,
    pub customers: Vec<Customer>,
    /// Orders of the last fortnight and to come, by day.
    pub orders: Vec<Order>,
    /// Rounds of today, and those not accounted for.
    pub rounds: Vec<Round>,
    /// Deliveries of the last fortnight, newest first.
    pub deliveries: Vec<Delivery>,
    pub samples: Vec<KeptSample>,
    pub knife: Knife,
    /// Knives, tables, scales by name, those out of use among them.
    pub tools: Vec<Tool>,
    pub last_use: LastUse,
}

impl Goods {
    pub fn lot(&self, id: LotId) -> Option<&Lot> {
        self.lots.iter().find(|lot| lot.id == id)
    }

    pub fn tool(&self, id: ToolId) -> Option<&Tool> {
        self.tools.iter().find(|tool| tool.id == id)
    }

    /// Of these names those that may be used, and those that are held.
    pub fn usable<'n>(&self, names: &'n [String]) -> (Vec<&'n str>, Vec<&'n str>) {
        let held = |name: &&str| self.tools.iter().any(|tool| tool.held && same(&tool.name, name));
        let (held, free) = names.iter().map(String::as_str).partition(held);
        (free, held)
    }

    pub fn product(&self, id: ProductId) -> Option<&Product> {
        self.products.iter().find(|product| product.id == id)
    }

    pub fn customer(&self, id: CustomerId) -> Option<&Customer> {
        self.customers.iter().find(|customer| customer.id == id)
    }

    pub fn order(&self, id: OrderId) -> Option<&Order> {
        self.orders.iter().find(|order| order.id == id)
    }

    pub fn round(&self, id: RoundId) -> Option<&Round> {
        self.rounds.iter().find(|round| round.id == id)
    }

    /// Pack lots of a product that may be sold today, least life left first.
    pub fn on_sale(&self, product: ProductId, today: Day) -> impl Iterator<Item = &Lot> {
        self.lots.iter().filter(move |lot| lot.product == Some(product) && lot.packs > 0 && lot.free(today))
    }

    /// Harvest lots, and pack lots that a blend may draw from, least life left first.
    pub fn to_draw(&self, today: Day) -> impl Iterator<Item = &Lot> {
        self.lots.iter().filter(move |lot| lot.here() > 0 && lot.free(today))
    }

    /// Packs of a product that are here and may be sold.
    pub fn on_hand(&self, product: ProductId, today: Day) -> i64 {
        self.on_sale(product, today).map(|lot| lot.packs).sum()
    }

    /// Packs promised by orders of today and later.
    pub fn promised(&self, product: ProductId, today: Day) -> i64 {
        let orders = self.orders.iter().filter(|order| order.day >= today);
        let lines = orders.flat_map(|order| &order.lines).filter(|line| line.product == product);
        let open: i64 = lines.map(super::order::Line::open).sum();
        // what is on its way there is not on hand any more
        let rounds = self.rounds.iter().filter(|round| round.kind == super::round::Kind::Round);
        let out = rounds
            .flat_map(|round| &round.carries)
            .filter(|line| self.lot(line.lot).is_some_and(|lot| lot.product == Some(product)));
        (open - out.map(|line| line.packs).sum::<i64>()).max(0)
    }

    /// On hand less promised; negative: more is promised than there is.
    pub fn free(&self, product: ProductId, today: Day) -> i64 {
        self.on_hand(product, today) - self.promised(product, today)
    }
}
