//! What is typed and not saved: by Esc, by the end of the program, and what a paste may bring in.

use rackwalk::app::effect::Msg;
use rackwalk::app::form::Remark;
use rackwalk::app::key::Key;
use rackwalk::app::model::Notice;
use rackwalk::domain::text::NOTE_GRAPHEMES;
use rackwalk::runtime::clock::Clock;
use rackwalk::runtime::drafts::Drafts;
use rackwalk::runtime::session::{Flow, Session};
use rackwalk::store::Store;

use super::Seat;
use super::form::{entries, value};
use crate::book::Book;

fn room() -> Seat {
    let mut book = Book::room();
    book.seed("RAD", 1000);
    Seat::at(book)
}

#[test]
fn a_form_left_half_filled_comes_back() {
    let mut seat = room();
    seat.press("s rad Tab 7 Tab 0 Esc").sees("Not saved; what you typed is kept for the next time.");
    seat.press("s").sees("What you typed last time is back; Ctrl-N begins afresh.");
    assert_eq!((value(&seat, "trays"), value(&seat, "jar")), ("7".into(), "0".into()));
    // the proposals are worked out again
    assert_eq!(value(&seat, "grams"), "29.3");
    seat.press("Tab Tab 1r C-s").sees("7 trays of radish sown");
    assert!(seat.session.model.drafts.is_empty());
    seat.press("s");
    assert_eq!((value(&seat, "trays"), typed_or_none(&seat, "jar")), ("1".into(), None));
}

#[test]
fn a_form_in_which_nothing_was_typed_leaves_no_draft() {
    let mut seat = room();
    seat.press("s Tab Tab Esc");
    assert!(seat.session.model.drafts.is_empty());
}

#[test]
fn a_form_is_begun_afresh_and_that_can_be_taken_back() {
    let mut seat = room();
    seat.press("s rad Tab 7 Esc s");
    seat.key(Key::Ctrl('n'));
    seat.sees("Begun afresh; Ctrl-N again brings back what stood here.");
    assert_eq!((typed_or_none(&seat, "crop"), value(&seat, "trays")), (None, "1".into()));
    seat.key(Key::Ctrl('n'));
    seat.sees("What stood here before is back.");
    assert_eq!(value(&seat, "trays"), "7");
    seat.key(Key::Ctrl('n'));
    seat.press("Esc s");
    assert_eq!(typed_or_none(&seat, "crop"), None);
}

fn typed_or_none(seat: &Seat, field: &str) -> Option<String> {
    seat.session.model.form().unwrap().field(field).unwrap().check().ok()
}

#[test]
fn each_record_has_a_draft_of_its_own() {
    let mut seat = room();
    seat.press("x f g").type_in("radish, red").press("Esc x f f");
    assert_eq!(value(&seat, "name"), "pea");
    seat.press("Esc x f g");
    assert_eq!(value(&seat, "name"), "radish, red");
}

/// A session with drafts in a folder, as the program starts it.
fn sit_down(book: &Book, dir: &std::path::Path) -> Session {
    let drafts = Drafts::at(dir.to_owned(), &book.path).unwrap();
    let typed = drafts.load().unwrap().forms;
    let store = Store::open(&book.path, "again").unwrap();
    Session::start(store, Clock::Fixed(book.now), None, Some(drafts), typed).unwrap()
}

fn press(session: &mut Session, keys: &[Key]) -> Flow {
    let ticks = (1..).map(std::time::Duration::from_secs);
    keys.iter().zip(ticks).map(|(key, at)| session.handle(Msg::Key(*key, at))).last().unwrap()
}

fn letters(text: &str) -> Vec<Key> {
    text.chars().map(Key::Char).collect()
}

fn trays_typed(session: &Session) -> String {
    session.model.form().unwrap().field("trays").unwrap().check().unwrap()
}

#[test]
fn a_new_session_offers_what_the_last_one_left() {
    let mut book = Book::room();
    book.seed("RAD", 1000);
    let dir = tempfile::tempdir().unwrap();
    // left by Esc and q, by a signal, and by a program that was killed after a field was left
    let ends: [fn(&mut Session); 3] = [
        |session| {
            press(session, &[Key::Esc]);
            assert_eq!(press(session, &[Key::Char('q')]), Flow::Quit);
        },
        |session| assert_eq!(session.handle(Msg::Stop), Flow::Quit),
        |session| {
            press(session, &[Key::Tab]);
        },
    ];
    for end in ends {
        let mut session = sit_down(&book, dir.path());
        press(&mut session, &letters("s"));
        press(&mut session, &[Key::Ctrl('n')]);
        press(&mut session, &[letters("rad"), vec![Key::Tab], letters("7")].concat());
        end(&mut session);
        drop(session);
        let mut session = sit_down(&book, dir.path());
        press(&mut session, &letters("s"));
        let back = Notice::Said("What you typed last time is back; Ctrl-N begins afresh.".into());
        assert_eq!((session.model.notice.clone(), trays_typed(&session)), (Some(back), "7".into()));
    }
    let mut session = sit_down(&book, dir.path());
    press(&mut session, &letters("s"));
    press(&mut session, &[vec![Key::Tab, Key::Tab], letters("01r"), vec![Key::Ctrl('s')]].concat());
    assert_eq!(session.store.board().unwrap().trays.len(), 7);
    drop(session);
    let mut session = sit_down(&book, dir.path());
    assert!(session.model.drafts.is_empty());
    press(&mut session, &letters("s"));
    assert_eq!(trays_typed(&session), "1");
}

#[test]
fn the_questions_of_the_first_start_come_back_too() {
    let book = Book::empty();
    let dir = tempfile::tempdir().unwrap();
    let mut session = sit_down(&book, dir.path());
    press(&mut session, &[letters("North Bench"), vec![Key::Enter], letters("NB"), vec![Key::Enter]].concat());
    press(&mut session, &[Key::Ctrl('c')]);
    drop(session);
    let mut session = sit_down(&book, dir.path());
    assert_eq!(session.model.notice, Some(Notice::Said("Your answers from last time are back.".into())));
    press(&mut session, &[vec![Key::Enter, Key::Enter], letters("AK")].concat());
    press(&mut session, &[Key::Enter; 5]);
    let board = session.store.board().unwrap();
    assert_eq!((board.room_name.as_str(), board.room_code.as_str()), ("North Bench", "NB"));
    drop(session);
    assert!(sit_down(&book, dir.path()).model.drafts.is_empty());
}

/// What the form says beside the field in focus.
fn word(seat: &Seat) -> String {
    match seat.session.model.form().unwrap().focused().unwrap().remark() {
        Some(Remark::Told(word)) => word.clone(),
        other => format!("{other:?}"),
    }
}

#[test]
fn what_cannot_be_printed_is_left_out_with_a_word() {
    let mut seat = room();
    seat.press("e a rad Tab");
    // an escape sequence counts whole, the colour's end too; then a bell, a bidirectional override and its end
    seat.session.handle(Msg::Paste("\u{1b}[31mFen\u{1b}[0m\u{7} \u{202e}Seeds\u{202c}\n".into()));
    assert_eq!(value(&seat, "supplier"), "Fen Seeds");
    let screen = seat.text();
    assert!(!screen.contains('\u{202e}') && !screen.contains('\u{1b}'), "{screen}");
    let dropped: usize = word(&seat).split(' ').next().unwrap().parse().unwrap();
    // 5 + 4 + 1 + 1 + 1
    assert_eq!((dropped, word(&seat).as_str()), (12, "12 characters that cannot be printed were left out."));
    seat.sees("12 characters that cannot be printed were left out.");
    // typed ones do nothing
    seat.press("Tab").key(Key::Char('\u{202e}'));
    assert_eq!(word(&seat), "1 character that cannot be printed was left out.");
    assert_eq!(seat.session.model.form().unwrap().field("supplier_lot").unwrap().limits(), "at most 80 characters");
}

#[test]
fn a_note_of_ten_thousand_characters_is_cut_and_says_by_how_much() {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let tray = book.sow("RAD", lot, 1)[0];
    book.later(chrono::Duration::days(2));
    let mut seat = Seat::at(book);
    seat.press("w a n");
    let note = format!("\u{1b}]0;title\u{7}{}", "left corner dry\n".repeat(640));
    assert!(note.len() > 10_000);
    seat.session.handle(Msg::Paste(note));
    // the line break at the end is not part of it: 10 239 characters, of which 2000 stay
    let said = word(&seat);
    assert!(said.ends_with("only 2000 characters fit, 8239 were left out."), "{said}");
    assert!(said.contains(" that cannot be printed were left out; "), "{said}");
    seat.sees("8239 were left out").press("Enter d");
    let story = seat.session.store.history(rackwalk::domain::history::Of::Tray(tray), None, 1).unwrap();
    let kept = story[0].note.clone().unwrap();
    assert!(kept.starts_with("left corner dry\nleft corner dry") && kept.chars().count() <= NOTE_GRAPHEMES, "{kept}");
}

#[test]
fn a_paste_never_submits_and_outside_a_field_does_nothing() {
    let mut seat = room();
    let before = entries(&seat);
    seat.press("s rad Tab 2 Tab");
    seat.session.handle(Msg::Paste("01r\n\n".into()));
    assert_eq!(seat.session.model.form().unwrap().focused().unwrap().id, "jar");
    seat.press("Esc");
    seat.session.handle(Msg::Paste("q\nq\n".into()));
    seat.sees("Pasted text goes into a text field; here it does nothing.");
    assert_eq!(entries(&seat), before);
}
