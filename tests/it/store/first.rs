use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::history::Of;
use rackwalk::domain::look::Roots;

use crate::book::{Book, roots};

#[test]
fn a_tray_from_seed_to_look_and_back() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let trays = book.sow("RAD", lot, 3);
    assert_eq!(book.board().trays.len(), 3);
    assert_eq!(book.store.seed_lots().unwrap()[0].left_mg, 919_000);
    book.later(Duration::days(2));
    book.act(&roots(trays[0], Roots::Peeking));
    let card = book.board().tray(trays[0]).unwrap().clone();
    assert_eq!(card.last.unwrap().roots, Some(Roots::Peeking));
    let done = book.act(&Action::Undo);
    assert_eq!(done.trays, [trays[0]]);
    assert!(book.board().tray(trays[0]).unwrap().last.is_none());
    let story = book.store.history(Of::Tray(trays[0]), None, 50).unwrap();
    let words: Vec<&str> = story.iter().map(|l| l.text.as_str()).collect();
    assert_eq!(
        words,
        [
            "took back entry 4",
            "T0001-W: roots peeking, watered",
            "3 trays of radish sown as batch B0001-G with 81 g of seed lot S0001-R"
        ]
    );
    assert_eq!(story[0].who, "AK");
    let chain = book.store.verify_chain(|_| ()).unwrap();
    assert_eq!((chain.entries, chain.broken_at), (5, None));
    assert_eq!(book.store.rebuild().unwrap(), 0);
}
