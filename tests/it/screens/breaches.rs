//! "It already happened" by keys: the offer after a refusal, the breach, and the decision.

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::breach::Breach;
use rackwalk::domain::history::Of;
use rackwalk::domain::id::TrayId;
use rackwalk::domain::seed_lot::Treated;

use super::form::{entries, focus, go, put, value};
use super::{Seat, twelve};
use crate::book::Book;

fn breaches(seat: &Seat) -> Vec<Breach> {
    seat.session.store.board().unwrap().breaches
}

fn held(seat: &Seat) -> usize {
    seat.session.store.board().unwrap().trays.iter().filter(|tray| tray.held).count()
}

/// The twelve trays, with someone at hand who may not decide.
fn seat() -> Seat {
    let mut book = twelve::book();
    book.act(&Action::AddPerson { initials: "RM".into(), name: "Rita".into(), may_decide: false });
    Seat::at(book)
}

#[test]
fn a_suspect_tray_was_cut_and_someone_else_decides_later() {
    let mut seat = seat();
    let before = entries(&seat);
    // RM has cut the suspect pea in isolation, and the book refuses it
    seat.press("a").sees("At the rack: RM").press("n n Enter c a");
    seat.sees("Not done: T0007-K is suspect: it is not cut for sale.").sees("leave it").sees("it already happened");
    // leaving it is the first line, Esc does the same
    for leave in ["Enter", "Esc"] {
        seat.press(leave);
        assert_eq!((entries(&seat), seat.session.model.board.trays.len()), (before, 12));
        seat.press("Enter c a");
    }
    seat.press("s").sees("It already happened").sees("and as a breach: cut although it was suspect.");
    seat.press("Enter");
    assert_eq!((focus(&seat).0, entries(&seat)), ("reason", before));
    seat.type_in("the shop took it before I had read the sign").press("Enter");
    seat.sees("T0007-K cut and off the rack. A breach, cut although it was suspect").sees("2 breaches to decide (d)");
    assert_eq!(entries(&seat), before + 1);
    let rules: Vec<String> = breaches(&seat).into_iter().map(|breach| breach.rule).collect();
    assert_eq!(rules, ["cut_suspect", "cut_covered"]);

    // the next morning it is still there, the gravest first
    let mut seat = seat.later(Duration::days(1));
    seat.press("a").sees("At the rack: RM").press("d").sees("1 tray, RM, Wed 08 Jul 06:00");
    seat.press("a").sees("Reason: the shop took it before I had").sees("not in the room any more");
    // RM may not decide, and is told so in a sentence
    seat.press("d").sees("Throw out what is held");
    seat.press("C-s");
    assert_eq!(focus(&seat), ("by", "choose one, it is needed.".into()), "RM is not proposed");
    seat.press("RM C-s");
    assert_eq!(focus(&seat), ("by", "RM cannot be chosen: may not decide; ask someone who may.".into()));
    // AK may, also at RM's keyboard
    put(&mut seat, "by", "AK");
    put(&mut seat, "reason", "shop called, nothing sold, all binned");
    seat.press("C-s").sees("AK decided, cut although it was suspect: to be thrown out; it stays held until");
    seat.sees("1 breach to decide (d)");

    // the story of the tray, for a stranger
    let story = seat.session.store.history(Of::Tray(TrayId(7)), None, 3).unwrap();
    let decided =
        format!("AK decided about 1 tray of entry {}, cut although it was suspect: to be thrown out", story[1].id.0);
    assert!(story[0].text.starts_with(&decided), "{}", story[0].text);
    assert_eq!(story[0].note.as_deref(), Some("shop called, nothing sold, all binned"));
    assert!(story[1].text.starts_with("T0007-K: cut; a breach, cut although it was suspect and cut although"));
    assert!(story[1].text.ends_with("Reason: the shop took it before I had read the sign"), "{}", story[1].text);
    // at AK's own keyboard AK is proposed
    seat.press("a d a a");
    assert_eq!(focus(&seat).0, "by");
    assert_eq!(value(&seat, "by"), "1");
    put(&mut seat, "reason", "it had been in the light since Monday");
    seat.press("C-s").sees("accepted").press("d").sees("No breach, no hold and no spell waits for a decision.");
    seat.press("Esc x").sees("none to decide");
}

#[test]
fn more_was_sown_than_the_jar_holds() {
    let mut book = Book::room();
    book.seed("RAD", 50);
    let mut seat = Seat::at(book);
    seat.press("s rad Tab 2 Tab 01r C-s").sees("Not done: S0001-R holds 50 g and 58.6 g are wanted").press("Esc");
    // the form is still there with all that was typed
    assert_eq!((focus(&seat).0, value(&seat, "trays")), ("lot", "2".into()));
    seat.press("C-s s").sees("and as a breach: sown with more seed");
    // a reason begun and left is there again for the same act
    seat.type_in("jar was").press("Esc").sees("5 of 14");
    seat.press("C-s s").sees("jar was").type_in(" fuller than the book").press("Enter");
    seat.sees("2 trays of radish sown").sees("1 breach to decide (d)   2 held");
    assert_eq!(held(&seat), 2);
    assert!(seat.session.model.drafts.is_empty(), "{:?}", seat.session.model.drafts);
    seat.press("Down Down Enter c a").sees("is held: it is not cut until the hold is lifted.").press("Esc");
    seat.press("e").sees("-8").press("Esc");
    seat.press("x w").sees("To decide").press("a a");
    put(&mut seat, "reason", "weighed again, the book was wrong");
    seat.press("C-s").sees("AK decided, sown with more seed than the book holds: accepted");
    assert_eq!((held(&seat), breaches(&seat).len()), (0, 0));
    // the decision taken back holds again, and so on down
    seat.press("u");
    assert_eq!((held(&seat), breaches(&seat).len()), (2, 1));
    seat.press("u");
    assert_eq!((held(&seat), breaches(&seat).len(), seat.session.model.board.trays.len()), (0, 0, 0));
}

#[test]
fn seed_nobody_has_called_untreated_was_sown() {
    let mut seat = seat();
    seat.press("s pea Tab 1 Tab");
    go(&mut seat, "lot");
    seat.press("Right").sees("not to be sown: ask the supplier whether it was treated");
    put(&mut seat, "jar", "03N");
    seat.press("C-s");
    seat.sees("S0003-N is not sown: ask the supplier whether it was treated.").press("s");
    seat.type_in("jars stood side by side").press("Enter").sees("1 breach to decide");
    let breach = breaches(&seat).remove(0);
    assert_eq!((breach.rule.as_str(), breach.trays.len(), held(&seat)), ("seed_treated", 1, 1));
    let lots = seat.session.store.seed_lots().unwrap();
    assert!(lots.iter().any(|lot| lot.treated == Treated::NotStated && lot.left_mg < lot.received_mg));
}

#[test]
fn on_the_walk_the_offer_lies_over_the_walk() {
    let mut seat = seat();
    seat.press("w a T0008-I Enter").press("y").sees("A covered tray is not ready to cut").sees("leave it");
    seat.press("Enter").sees("T0008-I");
    seat.press("y s").type_in("it stood in the light all week").press("Enter").sees("marked ready although");
    assert_eq!((breaches(&seat).len(), held(&seat)), (1, 1));
    // still on the walk, and the tray says that it is held
    seat.press("T0008-I Enter").sees("HELD");
    // what cannot have happened is refused without an offer
    seat.press("y").sees("Not done: It stands there already");
    assert!(!seat.text().contains("it already happened"));
}

#[test]
fn a_label_read_while_the_offer_lies_over_a_form_loses_nothing_typed() {
    let mut seat = seat();
    seat.press("s pea Tab 1 Tab 02p Tab 2400 Tab y C-s");
    seat.sees("S0002-P holds 2365 g and 2400 g are wanted").sees("leave it");
    seat.press("T0001-W Enter").sees("Label T0001-W: by the book at ");
    seat.press("s").sees("What you typed last time is back");
    assert_eq!((value(&seat, "grams"), value(&seat, "jar")), ("2400".into(), "02p".into()));
}
