//! Short lists from the stock to the customer: orders, deliveries, rounds, returns, names, samples.

mod names;
mod orders;
mod rounds;

use super::forms::FormKind;
use super::forms::sold::Of;
use super::pick::Pick;
use super::{form_page, score, stock, text};
use crate::app::effect::Effect;
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::domain::id::{CustomerId, DeliveryId, LotId, OrderId, RoundId};
use crate::domain::lot::Kind;
use crate::domain::stock::Away;
use crate::domain::today;

/// A list, or a step from one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ask {
    Orders,
    Order(OrderId),
    /// Whom to deliver to: the orders of today and before, then anyone.
    Deliver(Option<RoundId>),
    Anyone(Option<RoundId>),
    Rounds,
    Round(RoundId),
    /// Deliveries of the last days.
    Deliveries,
    Delivery(DeliveryId),
    Away,
    Names,
    Products,
    Customers,
    Customer(CustomerId),
    /// Today's lists: read them, or print them.
    Lists,
    Today,
    PrintToday,
    Note(DeliveryId),
}

/// Opens a list, or does what a line of one says.
pub fn open(model: &mut Model, what: Ask) -> Vec<Effect> {
    let menu = match what {
        Ask::Orders => orders::list(model),
        Ask::Order(id) => orders::one(model, id),
        Ask::Deliver(round) => orders::deliver(model, round),
        Ask::Anyone(round) => orders::anyone(model, round),
        Ask::Rounds => rounds::list(model),
        Ask::Round(id) => rounds::one(model, id),
        Ask::Deliveries => rounds::deliveries(model),
        Ask::Delivery(id) => rounds::delivery(model, id),
        Ask::Away => {
            let Some(lot) = stock::here(model).map(|lot| lot.id) else {
                model.refuse("No lot is under the cursor: cut or pack first.");
                return vec![];
            };
            away(model, lot)
        }
        Ask::Names => names::menu(model),
        Ask::Products => names::products(model),
        Ask::Customers => names::customers(model),
        Ask::Customer(id) => names::customer(model, id),
        Ask::Lists => Menu::new(
            "Today's lists",
            vec![
                Item::new("read what to cut, to pack, to bring", ask(Ask::Today)).letter('t'),
                Item::new("a page to print", ask(Ask::PrintToday)).letter('p'),
            ],
        ),
        Ask::Today => {
            let lines = today::lists(&model.board, &model.goods, model.today()).lines(model.board.units());
            text::open(model, "Today's lists", lines);
            return vec![];
        }
        Ask::PrintToday => return vec![Effect::PrintToday],
        Ask::Note(id) => return vec![Effect::PrintNote(id)],
    };
    model.open(Screen::Menu(menu));
    vec![]
}

fn ask(ask: Ask) -> Pick {
    Pick::Sold(ask)
}

fn form(of: Of) -> Pick {
    Pick::Form(FormKind::Sold(of))
}

/// Opens a form of these.
pub fn open_form(model: &mut Model, of: Of) {
    form_page::open(model, FormKind::Sold(of));
}

/// The form of a new order.
pub fn new_order() -> Of {
    Of::Order(None)
}

/// What can become of a lot here.
fn away(model: &Model, id: LotId) -> Menu<Pick> {
    let lot = model.goods.lot(id);
    let pack = lot.is_some_and(|lot| lot.kind == Kind::Pack);
    let held = lot.filter(|lot| lot.held).map(|_| "it is held until someone who may decide has decided".to_string());
    let mut items = vec![
        Item::new("bin some of it", form(Of::Away(id, Away::Waste))).letter('b').hint("with the reason"),
        Item::new("give some away", form(Of::Away(id, Away::Given))).letter('g').bar(held),
        Item::new("count it", form(Of::Count(id))).letter('c').hint("there is more or less than the book says"),
    ];
    if pack {
        let sample = Item::new("keep a sample", form(Of::Away(id, Away::Sample))).letter('s');
        items.insert(0, sample.hint("to the end of its life and 7 days more"));
    }
    let kept = model.goods.samples.len();
    let samples = Pick::Score(score::Ask::Samples);
    items.push(Item::new("kept samples", samples).letter('k').hint(format!("{kept} kept")));
    if pack {
        items.push(score::line(model, id));
    }
    items.push(score::kept_line());
    let title = lot.map_or_else(String::new, |lot| format!("{} {}", lot.code, lot.name));
    Menu::new(title, items)
}
