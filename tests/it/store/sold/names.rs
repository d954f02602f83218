//! Products, customers and orders over time: out of use and back, changed by two people, taken back, told again.

use rackwalk::domain::action::EditCrop;
use rackwalk::domain::history::EntryLine;

use super::*;
use crate::store::act_as;

fn told(book: &Book, of: Record, id: i64) -> Vec<String> {
    let lines: Vec<EntryLine> = book.store.history(Of::Record(of, id), None, 9).unwrap();
    lines.into_iter().map(|line| line.text).collect()
}

fn of(name: &str, kind: Kind, pack_g: Option<i64>, parts: &[(CropId, i64)]) -> NewProduct {
    NewProduct { name: name.into(), kind, pack_g, gtin: None, price_c: None, parts: parts.to_vec() }
}

fn edit(book: &Book, product: ProductId, new: &NewProduct, retired: bool) -> Action {
    let rev = book.store.goods(book.now.day()).unwrap().product(product).unwrap().rev;
    Action::EditProduct { product, new: Box::new(new.clone()), retired, rev }
}

fn order(customer: CustomerId, day: rackwalk::domain::time::Day, lines: &[(ProductId, i64)]) -> NewOrder {
    let lines = lines.iter().map(|(product, packs)| Wanted { product: *product, packs: *packs }).collect();
    NewOrder { customer, day, lines }
}

fn change(book: &Book, id: OrderId, new: &NewOrder, off: bool) -> Action {
    let rev = book.store.goods(book.now.day()).unwrap().order(id).unwrap().rev;
    Action::EditOrder { order: id, new: Box::new(new.clone()), off, rev }
}

#[test]
fn a_customer_who_still_expects_something_stays() {
    let mut s = shop();
    let (table, today) = (s.table, s.book.now.day());
    let edit = |s: &Shop, retired| {
        let rev = s.book.store.goods(today).unwrap().customer(table).unwrap().rev;
        let new = NewCustomer { name: "Table".into(), address: "1 Quay".into(), ..NewCustomer::default() };
        Action::EditCustomer { customer: table, new: Box::new(new), retired, rev }
    };
    let new = order(table, today, &[(s.shoots_of, 2)]);
    let id = OrderId(s.book.act(&Action::Order(Box::new(new.clone()))).made.unwrap());
    let (off, nothing) = (edit(&s, true), edit(&s, false));
    s.bars("customer_ordered", &off);
    s.bars("no_change", &nothing);
    // brought in full, nothing is awaited any more
    let delivery = NewDelivery { order: Some(id), ..s.delivery(&[(s.shoots, 2)]) };
    s.book.act(&Action::Deliver(Box::new(delivery)));
    assert_eq!(s.book.act(&off).sentence, "Customer Table: saved.");
    assert!(s.book.store.goods(today).unwrap().customer(table).is_none());
    s.bars("customer_unknown", &Action::Order(Box::new(new.clone())));
    s.bars("stale", &off);
    // an order of theirs is still called off, and the same name is the same customer
    let gone = change(&s.book, id, &new, true);
    let said = s.book.act(&gone).sentence;
    assert_eq!(said, format!("Order of Table for {today}: called off."));
    assert_eq!(s.book.act(&customer("Table", "2 Quay")).made, Some(table.0));
    let lines = told(&s.book, Record::Customer, table.0);
    assert!(lines.len() >= 4 && lines.iter().any(|line| line.contains("2 Quay")), "{lines:?}");
    assert_sound(&mut s.book);
}

#[test]
fn a_product_keeps_its_sort_and_tells_what_went_into_it() {
    let mut s = shop();
    let (pea, radish) = (crop(&s.book, "PEA").id, crop(&s.book, "RAD").id);
    let alive = of("pea shoots 100 g", Kind::Live, None, &[(pea, 1000)]);
    let to_live = edit(&s.book, s.shoots_of, &alive, false);
    s.bars("product_kind", &to_live);
    // from one crop to a blend it is the same pack
    let kit = of("kit", Kind::Crop, Some(80), &[(pea, 1000)]);
    let id = ProductId(s.book.act(&Action::AddProduct(Box::new(kit))).made.unwrap());
    let kit = of("kit", Kind::Blend, Some(80), &[(pea, 600), (radish, 400)]);
    let blend = edit(&s.book, id, &kit, false);
    s.book.act(&blend);
    s.bars("stale", &blend);
    let other = of("kit", Kind::Blend, Some(80), &[(pea, 700), (radish, 300)]);
    let shares = edit(&s.book, id, &other, false);
    s.book.act(&shares);
    assert_eq!(told(&s.book, Record::Product, id.0)[0], "what goes into kit, version 3: pea 70 %, radish 30 %");
    // taken back, the shares before count again, and the form opened since is stale
    let later = edit(&s.book, id, &kit, false);
    s.book.act(&Action::Undo);
    let parts = s.book.store.goods(s.book.now.day()).unwrap().product(id).unwrap().parts.clone();
    assert_eq!(parts.iter().map(|part| part.share_pm).collect::<Vec<_>>(), [600, 400]);
    s.bars("stale", &later);
    // out of use and back under its name it is still packs
    let off = edit(&s.book, id, &kit, true);
    s.book.act(&off);
    let alive = of("kit", Kind::Live, None, &[(pea, 1000)]);
    s.bars("product_taken", &Action::AddProduct(Box::new(alive)));
    assert_eq!(s.book.act(&Action::AddProduct(Box::new(kit))).made, Some(id.0));
    assert_sound(&mut s.book);
}

#[test]
fn what_is_left_of_a_crop_out_of_use_is_still_sold() {
    let mut book = Book::room();
    let crop = book.store.crops().unwrap().into_iter().find(|crop| crop.letters == "MUS").unwrap();
    let new = of("mustard 50 g", Kind::Crop, Some(50), &[(crop.id, 1000)]);
    let id = ProductId(book.act(&Action::AddProduct(Box::new(new.clone()))).made.unwrap());
    let idle = EditCrop { retired: true, ..EditCrop::of(crop) };
    let said = book.act(&Action::EditCrop(Box::new(idle))).sentence;
    assert!(said.contains("Still sold as mustard 50 g: put that out of use when the last of it is gone."), "{said}");
    assert_eq!(
        book.refused(&Action::AddProduct(Box::new(NewProduct { name: "x".into(), ..new.clone() }))).rule,
        "product_crop"
    );
    let bigger = edit(&book, id, &NewProduct { pack_g: Some(60), ..new.clone() }, false);
    book.act(&bigger);
    let off = edit(&book, id, &NewProduct { pack_g: Some(60), ..new }, true);
    book.act(&off);
    assert!(book.store.goods(book.now.day()).unwrap().product(id).is_none());
    assert_sound(&mut book);
}

#[test]
fn an_order_partly_brought_stays_with_its_customer() {
    let mut s = shop();
    let (table, nowhere, today) = (s.table, s.nowhere, s.book.now.day());
    let new = order(table, today, &[(s.shoots_of, 4)]);
    let id = OrderId(s.book.act(&Action::Order(Box::new(new))).made.unwrap());
    let theirs = order(nowhere, today, &[(s.shoots_of, 4)]);
    let moved = change(&s.book, id, &theirs, false);
    s.book.act(&moved);
    s.book.act(&Action::Undo);
    let delivery = NewDelivery { order: Some(id), ..s.delivery(&[(s.shoots, 3)]) };
    s.book.act(&Action::Deliver(Box::new(delivery)));
    let moved = change(&s.book, id, &theirs, false);
    s.bars("order_customer", &moved);
    // the day after, what is short is still called less
    s.book.later(Duration::days(1));
    let less = change(&s.book, id, &order(table, today, &[(s.shoots_of, 3)]), false);
    let early = change(&s.book, id, &order(table, today - Duration::days(1), &[(s.shoots_of, 3)]), false);
    s.bars("order_day", &early);
    s.book.act(&less);
    assert_eq!(s.book.store.goods(s.book.now.day()).unwrap().order(id).unwrap().open(), 0);
    assert!(told(&s.book, Record::Order, id.0).iter().any(|line| line.contains("3 × pea shoots 100 g")));
    assert_sound(&mut s.book);
}

#[test]
fn who_and_what_is_ordered_is_not_taken_back_under_the_order() {
    let mut s = shop();
    let today = s.book.now.day();
    let other = person(&mut s.book, "BO", false);
    let who = CustomerId(s.book.act(&customer("Corner", "3 Quay")).made.unwrap());
    let new = order(who, today, &[(s.shoots_of, 1)]);
    // another person takes the order
    let id = OrderId(act_as(&mut s.book, other, &Action::Order(Box::new(new.clone()))).made.unwrap());
    let refusal = s.book.refused(&Action::Undo);
    assert_eq!(refusal.rule, "undo_in_use", "{}", refusal.sentence);
    let off = change(&s.book, id, &new, true);
    act_as(&mut s.book, other, &off);
    s.book.act(&Action::Undo);
    assert!(s.book.store.goods(today).unwrap().customer(who).is_none());
    assert_sound(&mut s.book);
}

#[test]
fn live_trays_are_ordered_by_the_tray() {
    let mut s = shop();
    let (table, today) = (s.table, s.book.now.day());
    let alive = of("radish, alive", Kind::Live, None, &[(crop(&s.book, "RAD").id, 1000)]);
    let live = ProductId(s.book.act(&Action::AddProduct(Box::new(alive))).made.unwrap());
    let new = order(table, today, &[(live, 2), (s.shoots_of, 1)]);
    let id = OrderId(s.book.act(&Action::Order(Box::new(new))).made.unwrap());
    let more = change(&s.book, id, &order(table, today, &[(live, 3)]), false);
    s.book.act(&more);
    let lines = s.book.store.goods(today).unwrap().order(id).unwrap().lines.clone();
    assert_eq!(lines.iter().map(|line| (line.product, line.packs)).collect::<Vec<_>>(), [(live, 3)]);
    let columns: (Option<i64>, Option<i64>) = raw(&s.book.path)
        .query_row("SELECT packs, trays FROM order_line WHERE product_id = ?", [live.0], |row| {
            Ok((row.get(0)?, row.get(1)?))
        })
        .unwrap();
    assert_eq!(columns, (None, Some(3)));
    assert!(told(&s.book, Record::Order, id.0)[0].contains("3 × radish, alive, no pea shoots 100 g"));
    s.book.act(&Action::Undo);
    assert_eq!(s.book.store.goods(today).unwrap().order(id).unwrap().lines.len(), 2);
    assert_sound(&mut s.book);
}
