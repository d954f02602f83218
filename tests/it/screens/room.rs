use chrono::Duration;

use super::{MONO, Seat};
use crate::book::Book;

#[test]
fn dump() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    book.sow("RAD", lot, 5);
    book.later(Duration::days(2));
    book.sow("RAD", lot, 3);
    book.later(Duration::days(1));
    let mut seat = Seat::at(book);
    println!("{}", seat.text());
    println!("{}", seat.text_in(60, 20, &MONO));
    println!("{}", seat.text_in(120, 30, &MONO));
    println!("{}", seat.press("w").text());
    println!("{}", seat.press("a").text());
    println!("{}", seat.press("d").text());
    println!("{}", seat.press("j").text());
    println!("{}", seat.press("s").text());
    println!("{}", seat.press("s").text());
    println!("{}", seat.press("Space").text());
    println!("{}", seat.press("Esc Esc e").text());
    println!("{}", seat.press("a").text());
    println!("{}", seat.press("Esc s").text());
    println!("{}", seat.press("Esc Esc i").text());
    println!("{}", seat.press("Esc ?").text());
    println!("{}", seat.press("Esc x").text());
}
#[test]
fn dbg2() {
    let book = Book::room();
    let seat = Seat::at(book);
    println!("{:?} {:?}", seat.session.model.screens.len(), seat.session.model.notice);
    println!("{:?}", seat.session.model.screens);
    println!("{}", seat.text());
}
