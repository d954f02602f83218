//! Waiting for the next thing to react to.

use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::time::Duration;

use super::events::Input;

/// The longest wait. Then the loop asks whether another terminal has written to the book.
pub const PULSE: Duration = Duration::from_secs(2);

/// Waits for an input, for the next known moment (`until` from now) or for [`PULSE`], and returns
/// all that has come, oldest first: nothing if only time has passed.
///
/// When nobody can send any more it is [`Input::Gone`], so that a loop ends instead of spinning.
pub fn next(rx: &Receiver<Input>, until: Option<Duration>) -> Vec<Input> {
    let wait = until.map_or(PULSE, |until| until.min(PULSE));
    let mut inputs = match rx.recv_timeout(wait) {
        Ok(first) => vec![first],
        Err(RecvTimeoutError::Timeout) => return Vec::new(),
        Err(RecvTimeoutError::Disconnected) => return vec![Input::Gone],
    };
    while let Ok(more) = rx.try_recv() {
        inputs.push(more);
    }
    inputs
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc;

    use super::*;
    use crate::app::key::Key;

    #[test]
    fn everything_that_waits_comes_at_once_and_in_order() {
        let (tx, rx) = mpsc::channel();
        let sent = vec![Input::Key(Key::Down, Duration::ZERO), Input::Resize(80, 24), Input::Paste("cress".to_owned())];
        for input in sent.clone() {
            tx.send(input).unwrap();
        }
        assert_eq!(next(&rx, Some(Duration::ZERO)), sent);
        assert_eq!(next(&rx, Some(Duration::ZERO)), []);
    }

    #[test]
    fn an_input_ends_the_wait_before_the_moment() {
        let (tx, rx) = mpsc::channel();
        tx.send(Input::Key(Key::Enter, Duration::ZERO)).unwrap();
        assert_eq!(next(&rx, None), [Input::Key(Key::Enter, Duration::ZERO)]);
    }

    #[test]
    fn with_nobody_left_to_send_what_was_sent_comes_first_and_then_the_end() {
        let (tx, rx) = mpsc::channel();
        tx.send(Input::Key(Key::Esc, Duration::ZERO)).unwrap();
        drop(tx);
        assert_eq!(next(&rx, None), [Input::Key(Key::Esc, Duration::ZERO)]);
        assert_eq!(next(&rx, None), [Input::Gone]);
    }
}
