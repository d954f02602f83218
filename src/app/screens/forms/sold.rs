//! Forms from the cut to the customer: products, customers, orders, deliveries, rounds, what comes back.

mod away;
mod back;
mod customer;
mod deliver;
mod live;
mod load;
mod lots;
mod order;
pub(super) use order::customers;
mod product;
mod sender;
mod settle;

use super::{Submit, Wrong};
use crate::app::form::{Form, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::history::Record;
use crate::domain::id::{CustomerId, DeliveryId, LotId, OrderId, ProductId, RoundId, TrayId};
use crate::domain::stock::Away;

/// Which of them.
#[derive(Debug, Clone, PartialEq)]
pub enum Of {
    Product(Option<ProductId>),
    Customer(Option<CustomerId>),
    Order(Option<OrderId>),
    /// To a customer, on an order, from what a round carries.
    Deliver(CustomerId, Option<OrderId>, Option<RoundId>),
    Load,
    Settle(RoundId, Settle),
    Return(DeliveryId, LotId),
    DecideReturn(DeliveryId, LotId),
    Away(LotId, Away),
    Count(LotId),
    /// Sold alive, beginning with this tray.
    Live(TrayId),
    Empties(CustomerId),
    /// What labels and notes say of the room.
    Sender,
}

/// What became of a load; one kind at a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Settle {
    SoldPublic,
    Given,
    Binned,
    BroughtBack,
    Refused,
    /// Beyond what was ordered.
    Extra,
}

impl Of {
    /// Edits a record of the book, which others may change meanwhile.
    pub fn edits(&self) -> bool {
        self.record().is_some() || *self == Self::Sender
    }

    /// The record behind it.
    pub fn record(&self) -> Option<(Record, i64)> {
        match self {
            Self::Product(Some(id)) => Some((Record::Product, id.0)),
            Self::Customer(Some(id)) => Some((Record::Customer, id.0)),
            Self::Order(Some(id)) => Some((Record::Order, id.0)),
            _ => None,
        }
    }

    /// How often that record was changed, as it was loaded last.
    pub fn rev(&self, model: &Model) -> Option<i64> {
        match self {
            Self::Product(Some(id)) => model.goods.product(*id).map(|product| product.rev),
            Self::Customer(Some(id)) => model.goods.customer(*id).map(|customer| customer.rev),
            Self::Order(Some(id)) => model.goods.order(*id).map(|order| order.rev),
            Self::Sender => Some(model.board.sender_rev),
            _ => None,
        }
    }
}

pub(super) fn build(model: &Model, of: &Of) -> Form {
    match of {
        Of::Product(id) => product::build(model, *id),
        Of::Customer(id) => customer::build(model, *id),
        Of::Order(id) => order::build(model, *id),
        Of::Deliver(customer, order, round) => deliver::build(model, *customer, *order, *round),
        Of::Load => load::build(model),
        Of::Settle(round, how) => settle::build(model, *round, *how),
        Of::Return(delivery, lot) => back::build(model, *delivery, *lot),
        Of::DecideReturn(delivery, lot) => back::decide(model, *delivery, *lot),
        Of::Away(lot, away) => away::build(model, *lot, *away),
        Of::Count(lot) => away::count(model, *lot),
        Of::Live(tray) => live::build(model, *tray),
        Of::Empties(customer) => live::empties(model, *customer),
        Of::Sender => sender::build(model),
    }
}

pub(super) fn changed(model: &Model, of: &Of, form: &mut Form) {
    match of {
        Of::Product(id) => product::changed(model, *id, form),
        Of::Order(id) => order::changed(model, *id, form),
        Of::Deliver(_, order, round) => deliver::changed(model, *order, *round, form),
        Of::Load => load::changed(model, form),
        Of::Settle(round, how) => settle::changed(model, *round, *how, form),
        _ => {}
    }
}

pub(super) fn submit(model: &Model, of: &Of, rev: i64, values: &Values) -> Result<Submit, Wrong> {
    let action: Action = match of {
        Of::Product(id) => product::action(*id, rev, values)?,
        Of::Customer(id) => customer::action(*id, rev, values),
        Of::Order(id) => order::action(*id, rev, values)?,
        Of::Deliver(customer, order, round) => deliver::action(model, (*customer, *order, *round), values)?,
        Of::Load => load::action(model, values)?,
        Of::Settle(round, how) => settle::action(model, *round, *how, values)?,
        Of::Return(delivery, lot) => back::action(*delivery, *lot, values)?,
        Of::DecideReturn(delivery, lot) => back::decide_action(*delivery, *lot, values)?,
        Of::Away(lot, away) => away::action(*lot, *away, values),
        Of::Count(lot) => away::count_action(*lot, values),
        Of::Live(_) => live::action(values)?,
        Of::Empties(customer) => live::empties_action(*customer, values),
        Of::Sender => sender::action(rev, values),
    };
    Ok(Submit::Act(Box::new(action)))
}
