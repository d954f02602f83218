//! What reaches the program from outside, in one channel: keys, pastes, sizes, signals, the terminal's end.

use std::fs::File;
use std::io::{self, IsTerminal};
use std::sync::mpsc::{self, Receiver, Sender};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result};
use crossterm::event::{self, Event};
use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGTERM, SIGTSTP};
use signal_hook::iterator::Signals;
use signal_hook::low_level;

use super::keys::key;
use super::wait::PULSE;
use crate::app::key::Key;

/// Something from outside that the loop reacts to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Input {
    /// A key, and when it was read: time since listening began, on a clock that nobody sets.
    Key(Key, Duration),
    /// Pasted text as it came: not cleaned yet.
    Paste(String),
    /// New width and height in cells.
    Resize(u16, u16),
    Signal(Signal),
    /// Nothing can be read from the terminal any more: save the drafts and leave.
    Gone,
}

/// What a signal asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Signal {
    /// SIGTERM, SIGHUP or SIGINT: save the drafts and leave.
    Stop,
    /// SIGTSTP: give the terminal back and stop.
    Suspend,
    /// SIGCONT: running again, and the terminal may have been used by others.
    Continue,
}

/// Starts listening. Fails if there is no terminal to read from or signals cannot be caught.
///
/// The threads end with the program. Call it once, after [`super::terminal::Guard::new`].
pub fn start() -> Result<Receiver<Input>> {
    let (tx, rx) = mpsc::channel();
    let terminal = Source::find().context("There is no terminal to read keys from.")?;
    let signals = Signals::new([SIGTERM, SIGHUP, SIGINT, SIGTSTP, SIGCONT]).context("Signals cannot be caught.")?;
    let (reader, watcher) = (tx.clone(), tx.clone());
    spawn("keys", move || read(reader))?;
    spawn("signals", move || catch(signals, &tx))?;
    spawn("terminal", move || watch(&terminal, &watcher))?;
    Ok(rx)
}

fn spawn(name: &str, work: impl FnOnce() + Send + 'static) -> Result<()> {
    thread::Builder::new().name(name.to_owned()).spawn(work).context("No thread could be started.")?;
    Ok(())
}

/// Says that the terminal is gone when it is dropped, so that a reader that ends in any way, even by a
/// panic, also ends the loop.
struct Last(Sender<Input>);

impl Drop for Last {
    fn drop(&mut self) {
        // Nobody listens any more: then nobody needs to be told.
        let _ = self.0.send(Input::Gone);
    }
}

fn read(to: Sender<Input>) {
    let to = Last(to);
    let began = Instant::now();
    while let Ok(event) = event::read() {
        if let Some(input) = input(event, began.elapsed())
            && to.0.send(input).is_err()
        {
            break;
        }
    }
}

fn input(event: Event, at: Duration) -> Option<Input> {
    match event {
        Event::Key(pressed) => key(pressed).map(|key| Input::Key(key, at)),
        Event::Paste(text) => Some(Input::Paste(text)),
        Event::Resize(width, height) => Some(Input::Resize(width, height)),
        Event::FocusGained | Event::FocusLost | Event::Mouse(_) => None,
    }
}

fn catch(mut signals: Signals, to: &Sender<Input>) {
    for number in signals.forever() {
        if signal(number).is_some_and(|signal| to.send(Input::Signal(signal)).is_err()) {
            // The loop has ended and something still runs: the signal does what it does to any program.
            let _ = low_level::emulate_default_handler(number);
        }
    }
}

fn signal(number: i32) -> Option<Signal> {
    match number {
        SIGTERM | SIGHUP | SIGINT => Some(Signal::Stop),
        SIGTSTP => Some(Signal::Suspend),
        SIGCONT => Some(Signal::Continue),
        _ => None,
    }
}

/// What crossterm reads from: standard input if that is a terminal, else the controlling terminal.
enum Source {
    Stdin,
    Controlling(File),
}

impl Source {
    fn find() -> io::Result<Self> {
        if io::stdin().is_terminal() { Ok(Self::Stdin) } else { File::open("/dev/tty").map(Self::Controlling) }
    }

    /// A terminal that has hung up answers like something that never was one.
    fn is_there(&self) -> bool {
        match self {
            Self::Stdin => io::stdin().is_terminal(),
            Self::Controlling(device) => device.is_terminal(),
        }
    }
}

/// `event::read` never returns from a terminal that is gone but spins in it, and SIGHUP does not reach
/// every program whose window was closed; so a second thread looks.
fn watch(terminal: &Source, to: &Sender<Input>) {
    while terminal.is_there() {
        thread::sleep(PULSE);
    }
    // Nobody listens any more: then nobody needs to be told.
    let _ = to.send(Input::Gone);
}

#[cfg(test)]
mod tests {
    use crossterm::event::{KeyCode, MouseButton, MouseEvent, MouseEventKind};
    use crossterm::event::{KeyEvent, KeyModifiers};

    use super::*;

    #[test]
    fn events_become_inputs_and_the_mouse_is_left_to_the_terminal() {
        let click = MouseEvent {
            kind: MouseEventKind::Down(MouseButton::Left),
            column: 1,
            row: 1,
            modifiers: KeyModifiers::NONE,
        };
        let plain = |code| Event::Key(KeyEvent::new(code, KeyModifiers::NONE));
        for (event, expected) in [
            (plain(KeyCode::Char('g')), Some(Input::Key(Key::Char('g'), Duration::from_millis(7)))),
            (plain(KeyCode::CapsLock), None),
            (Event::Paste("two\nlines".to_owned()), Some(Input::Paste("two\nlines".to_owned()))),
            (Event::Resize(80, 24), Some(Input::Resize(80, 24))),
            (Event::Mouse(click), None),
            (Event::FocusLost, None),
        ] {
            assert_eq!(input(event.clone(), Duration::from_millis(7)), expected, "{event:?}");
        }
    }

    #[test]
    fn each_signal_asks_for_one_thing() {
        assert_eq!([SIGTERM, SIGHUP, SIGINT].map(signal), [Some(Signal::Stop); 3]);
        assert_eq!([SIGTSTP, SIGCONT].map(signal), [Some(Signal::Suspend), Some(Signal::Continue)]);
        assert_eq!(signal(signal_hook::consts::SIGWINCH), None);
    }

    #[test]
    fn a_reader_that_ends_says_so_once() {
        let (tx, rx) = mpsc::channel();
        drop(Last(tx));
        assert_eq!(rx.iter().collect::<Vec<_>>(), [Input::Gone]);
    }

    #[test]
    fn what_is_no_terminal_is_gone_at_once() {
        let (tx, rx) = mpsc::channel();
        watch(&Source::Controlling(File::open("/dev/null").unwrap()), &tx);
        assert_eq!(rx.try_recv(), Ok(Input::Gone));
    }
}
