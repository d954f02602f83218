//! What journeys through forms share: where the focus is, what is said there, and moving about.

use rackwalk::app::form::Remark;
use rackwalk::app::key::Key;
use rackwalk::domain::action::Action;
use rackwalk::domain::history::Of;
use rackwalk::store::Store;

use super::Seat;
use crate::book::AK;

/// The field in focus and the sentence beside it.
pub fn focus(seat: &Seat) -> (&'static str, String) {
    let field = seat.session.model.form().unwrap().focused().unwrap();
    let sentence = match field.remark() {
        Some(Remark::Unmet(why) | Remark::Refused(why) | Remark::Told(why)) => why.clone(),
        None => String::new(),
    };
    (field.id, sentence)
}

/// Goes to a field of the form on top, from its first field on.
pub fn go(seat: &mut Seat, field: &str) {
    let all = seat.session.model.form().unwrap().shown().count();
    (0..all).for_each(|_| seat.key(Key::BackTab));
    for _ in 0..all {
        if focus(seat).0 == field {
            return;
        }
        seat.key(Key::Tab);
    }
    panic!("this form shows no field {field}");
}

/// Replaces what stands in a field.
pub fn put(seat: &mut Seat, field: &str, text: &str) {
    go(seat, field);
    seat.press("End").key(Key::Ctrl('u'));
    seat.type_in(text);
}

/// Opens a form as if nothing had ever been typed into it.
pub fn afresh(seat: &mut Seat, keys: &str) {
    seat.press(keys).key(Key::Ctrl('n'));
}

/// What a field would hand over, exact.
pub fn value(seat: &Seat, field: &str) -> String {
    seat.session.model.form().unwrap().field(field).unwrap().check().unwrap()
}

/// Entries in the book.
pub fn entries(seat: &Seat) -> usize {
    seat.session.store.history(Of::Everything, None, 99).unwrap().len()
}

/// What another terminal writes meanwhile.
pub fn elsewhere(seat: &Seat, action: &Action) {
    let mut other = Store::open(&seat.book().path, "other").unwrap();
    other.act(action, AK, seat.book().now).unwrap();
}
