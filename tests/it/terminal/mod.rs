//! The real program in a pseudo-terminal: what is awaited is text on its screen, never time.

mod paste;
mod two;

use std::collections::BTreeMap;
use std::io::{Read, Write};
use std::num::NonZero;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::{Arc, Condvar, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, ExitStatus, MasterPty, PtySize, native_pty_system};
use rackwalk::domain::history::Of;
use rackwalk::domain::time::Now;
use rackwalk::store::Store;

use crate::book::Book;
use crate::screens::twelve;

/// Longer than any machine needs; only a failing test waits so long.
const PATIENCE: Duration = Duration::from_secs(20);

/// A folder with a book and everything else the program may write.
struct Home {
    dir: tempfile::TempDir,
    now: String,
}

impl Home {
    fn empty() -> Self {
        Self { dir: tempfile::tempdir().unwrap(), now: "2026-07-01T06:00Z".into() }
    }

    /// With the book of twelve trays.
    fn with_trays() -> Self {
        Self::with(twelve::book())
    }

    /// With a copy of a book.
    fn with(book: Book) -> Self {
        let (bytes, Now(now)) = book.closed();
        let home = Self { now: now.to_rfc3339(), ..Self::empty() };
        std::fs::write(home.book(), bytes).unwrap();
        home
    }

    fn book(&self) -> PathBuf {
        self.dir.path().join("room.rackwalk")
    }

    fn store(&self) -> Store {
        Store::open(&self.book(), "test").unwrap()
    }

    fn start(&self) -> Pty {
        self.start_with(&[])
    }

    fn start_with(&self, env: &[(&str, &str)]) -> Pty {
        self.start_by(&[], env)
    }

    /// The same with more on the command line.
    fn start_by(&self, args: &[&str], env: &[(&str, &str)]) -> Pty {
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_rackwalk"));
        command.args(["--book".as_ref(), self.book().as_os_str(), "--now".as_ref(), self.now.as_ref()]);
        command.args(args);
        command.env_clear();
        command.cwd(self.dir.path());
        let folder = |name: &str| self.dir.path().join(name);
        for (name, value) in [
            ("HOME", folder("home")),
            ("XDG_STATE_HOME", folder("state")),
            ("XDG_DATA_HOME", folder("data")),
            ("XDG_CONFIG_HOME", folder("config")),
        ] {
            command.env(name, value);
        }
        let usual = BTreeMap::from([("TERM", "xterm-256color"), ("LANG", "C.UTF-8"), ("TZ", "UTC")]);
        for (name, value) in usual.into_iter().chain(env.iter().copied()) {
            command.env(name, value);
        }
        Pty::start(command)
    }
}

/// What the terminal shows and has been sent.
struct Screen {
    parser: vt100::Parser,
    raw: Vec<u8>,
    /// The program has closed the terminal.
    ended: bool,
}

struct Pty {
    master: Box<dyn MasterPty + Send>,
    keyboard: Box<dyn Write + Send>,
    child: Box<dyn Child + Send + Sync>,
    screen: Arc<(Mutex<Screen>, Condvar)>,
}

impl Pty {
    fn start(command: CommandBuilder) -> Self {
        let pair = native_pty_system().openpty(size(80, 24)).unwrap();
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let screen = Screen { parser: vt100::Parser::new(cells(24), cells(80), 0), raw: Vec::new(), ended: false };
        let screen = Arc::new((Mutex::new(screen), Condvar::new()));
        let mut reader = pair.master.try_clone_reader().unwrap();
        let shared = Arc::clone(&screen);
        thread::spawn(move || {
            let mut bytes = [0; 4096];
            loop {
                // a terminal without a program answers with an error on Linux
                let n = reader.read(&mut bytes).unwrap_or(0);
                let mut screen = shared.0.lock().unwrap();
                screen.parser.process(&bytes[..n]);
                screen.raw.extend_from_slice(&bytes[..n]);
                screen.ended = n == 0;
                shared.1.notify_all();
                if n == 0 {
                    return;
                }
            }
        });
        let keyboard = pair.master.take_writer().unwrap();
        Self { master: pair.master, keyboard, child, screen }
    }

    /// Waits until it holds; fails with what is on the screen.
    fn until(&self, what: &str, holds: impl Fn(&Screen) -> bool) {
        let begun = Instant::now();
        let mut screen = self.screen.0.lock().unwrap();
        while !holds(&screen) {
            let left = PATIENCE.saturating_sub(begun.elapsed());
            let shown = screen.parser.screen().contents();
            assert!(!left.is_zero(), "waited in vain for {what} on:\n{shown}");
            screen = self.screen.1.wait_timeout(screen, left).unwrap().0;
        }
    }

    fn sees(&mut self, text: &str) -> &mut Self {
        self.until(&format!("{text:?}"), |screen| screen.parser.screen().contents().contains(text));
        self
    }

    fn send(&mut self, keys: &str) -> &mut Self {
        self.keyboard.write_all(keys.as_bytes()).unwrap();
        self.keyboard.flush().unwrap();
        self
    }

    /// Sends a paste as a terminal brackets it.
    fn paste(&mut self, text: &str) -> &mut Self {
        self.send(&format!("\u{1b}[200~{text}\u{1b}[201~"))
    }

    fn shows(&self, text: &str) -> bool {
        self.screen.0.lock().unwrap().parser.screen().contents().contains(text)
    }

    fn signal(&mut self, name: &str) {
        let pid = self.child.process_id().unwrap();
        let sent = Command::new("sh").args(["-c", &format!("kill -{name} {pid}")]).status().unwrap();
        assert!(sent.success());
    }

    fn resize(&mut self, columns: u16, rows: u16) -> &mut Self {
        self.screen.0.lock().unwrap().parser.screen_mut().set_size(cells(rows), cells(columns));
        self.master.resize(size(columns, rows)).unwrap();
        self
    }

    /// Waits for the program's end.
    fn ends(&mut self) -> ExitStatus {
        self.until("the end", |screen| screen.ended);
        self.child.wait().unwrap()
    }

    /// The program gave the terminal back: its own screen, visible cursor, no bracketed paste.
    fn is_given_back(&self) {
        let screen = self.screen.0.lock().unwrap();
        let shown = screen.parser.screen();
        assert!(!shown.alternate_screen(), "still on the other screen");
        assert!(!shown.bracketed_paste(), "pastes are still bracketed");
        assert!(!shown.hide_cursor(), "the cursor is still hidden");
    }

    /// Colours asked for so far, by the numbers of ECMA-48; 39 and 49 ask for the terminal's own.
    fn colours(&self) -> Vec<String> {
        let raw = String::from_utf8_lossy(&self.screen.0.lock().unwrap().raw).into_owned();
        let graphics = raw.split("\u{1b}[").skip(1).filter_map(|after| {
            let end = after.find(|c: char| c.is_ascii_alphabetic() || c == '@')?;
            after[end..].starts_with('m').then(|| after[..end].to_owned())
        });
        let numbers = graphics.flat_map(|codes| codes.split([';', ':']).map(str::to_owned).collect::<Vec<_>>());
        let is_colour = |n: i64| matches!(n, 30..=38 | 40..=48 | 90..=97 | 100..=107);
        numbers.filter(|number| number.parse().is_ok_and(is_colour)).collect()
    }
}

impl Drop for Pty {
    fn drop(&mut self) {
        let _ = self.child.kill();
    }
}

fn cells(n: u16) -> NonZero<u16> {
    NonZero::new(n).unwrap()
}

fn size(cols: u16, rows: u16) -> PtySize {
    PtySize { rows, cols, pixel_width: 0, pixel_height: 0 }
}

fn drafts(home: &Home) -> Vec<PathBuf> {
    let folder = home.dir.path().join("state/rackwalk");
    let files = std::fs::read_dir(folder).into_iter().flatten().map(|entry| entry.unwrap().path());
    files.filter(|path| path.extension().is_some_and(|end| end == "json")).collect()
}

fn mode(path: &Path) -> u32 {
    use std::os::unix::fs::PermissionsExt;
    std::fs::metadata(path).unwrap().permissions().mode() & 0o777
}

#[test]
fn seven_questions_lead_to_a_room_and_q_leaves_it() {
    let home = Home::empty();
    let mut pty = home.start();
    pty.sees("question 1 of 7").sees("What is the room called?");
    pty.send("North Bench\r").sees("question 2 of 7");
    pty.send("NB\r").sees("question 3 of 7");
    // Esc alone goes back one question
    pty.send("\u{1b}").sees("question 2 of 7").sees("NB");
    pty.send("\r").sees("question 3 of 7");
    pty.send("AK\r").sees("question 4 of 7");
    pty.send("\r").sees("question 5 of 7");
    pty.send("2x3x4\r").sees("question 6 of 7");
    pty.send("\r").sees("question 7 of 7");
    pty.send("\r").sees("What is standing now?").sees("the racks are empty");
    pty.send("a").sees("North Bench (NB)").sees("Rack A  (1 of 3)").sees("The racks are empty");
    pty.send("q");
    assert!(pty.ends().success());
    pty.is_given_back();
    let board = home.store().board().unwrap();
    assert_eq!((board.room_code.as_str(), board.people[0].initials.as_str()), ("NB", "AK"));
    assert_eq!(board.places().count(), 2 * 3 * 4 + 2);
    assert_eq!(mode(&home.book()), 0o600);
}

#[test]
fn a_signal_to_stop_keeps_what_was_typed() {
    for signal in ["TERM", "HUP", "INT"] {
        let home = Home::with_trays();
        let mut pty = home.start();
        pty.sees("North Bench (NB)").send("e").sees("in the order of use").send("a").sees("Receive a seed lot");
        pty.send("radish\r").sees("2 of 14").send("Marsh and So").sees("Marsh and So");
        pty.signal(signal);
        pty.ends();
        pty.is_given_back();
        let kept = drafts(&home);
        assert_eq!(kept.len(), 1, "{signal}: {kept:?}");
        assert_eq!(mode(&kept[0]), 0o600);

        let mut pty = home.start();
        pty.sees("North Bench (NB)").send("e").sees("in the order of use").send("a");
        pty.sees("What you typed last time is back").sees("Marsh and So").sees("radish");
    }
}

#[test]
fn a_note_chosen_for_a_stop_outlives_the_program() {
    let home = Home::with_trays();
    let mut pty = home.start();
    pty.sees("North Bench (NB)").send("w").sees("looking and watering").send("a").sees("0 done, 7 to do");
    pty.send("n").sees("Note on T0002-U").send("left edge\r").sees("chosen       note");
    pty.signal("TERM");
    pty.ends();

    let mut pty = home.start();
    pty.sees("North Bench (NB)").send("w").sees("go on with the walk").send("\r").sees("0 done, 7 to do");
    pty.send("n").sees("left edge").send("\r").sees("chosen       note").send("f").sees("1 done, 6 to do");
    pty.send("\u{1b}").sees("Runs out first").send("q");
    assert!(pty.ends().success());
    assert_eq!(drafts(&home), [] as [PathBuf; 0], "what is in the book is no draft any more");
    let newest = home.store().history(Of::Everything, None, 1).unwrap().remove(0);
    assert_eq!(newest.note.as_deref(), Some("left edge"));
}

#[test]
fn a_kill_in_the_middle_of_a_walk_loses_nothing_that_was_on_the_screen() {
    let home = Home::with_trays();
    let mut pty = home.start();
    pty.sees("North Bench (NB)").send("w").sees("looking and watering").send("a").sees("0 done, 7 to do");
    for (key, done) in ["f", "d", "f", "d", "f"].iter().zip(1..) {
        pty.send(key).sees(&format!("{done} done, {} to do", 7 - done));
    }
    pty.signal("KILL");
    pty.ends();

    let store = home.store();
    let walk = store.newest_walk("2026-07-08".parse().unwrap()).unwrap().unwrap();
    assert_eq!(walk.done(), 5);
    assert_eq!(store.verify_chain(|_| ()).unwrap().broken_at, None);
    drop(store);
    let mut pty = home.start();
    pty.sees("North Bench (NB)").send("w").sees("go on with the walk").sees("5 done, 2 to do");
}

#[test]
fn a_key_that_is_held_down_writes_once_though_the_wall_clock_stands_still() {
    let home = Home::with_trays();
    let mut pty = home.start();
    pty.sees("North Bench (NB)").send("w").sees("looking and watering").send("a").sees("0 done, 7 to do");
    pty.send("ffff").sees("Held down? The second f was dropped.").sees("1 done, 6 to do");
}

#[test]
fn no_color_means_no_colour() {
    let home = Home::with_trays();
    for (env, colour) in [(&[][..], true), (&[("NO_COLOR", "1")], false), (&[("TERM", "dumb")], false)] {
        let mut pty = home.start_with(env);
        pty.sees("Runs out first").send("w").sees("one rack only").send("a").sees("THIS TRAY");
        pty.send("o")
            .sees("brown roots")
            .send("\u{1b}")
            .sees("not watered")
            .send("\u{1b}")
            .sees("Runs out first")
            .send("q");
        pty.ends();
        assert_eq!(!pty.colours().is_empty(), colour, "{env:?}: {:?}", pty.colours());
    }
}

#[test]
fn a_terminal_that_is_not_utf_8_is_sent_ascii() {
    let home = Home::with_trays();
    let mut pty = home.start_with(&[("LANG", "C")]);
    pty.sees("Runs out first")
        .send("s")
        .sees("Sow")
        .send("radish\r")
        .sees("seeds/cm2")
        .send("\u{1b}")
        .sees("Rack A")
        .send("q");
    pty.ends();
    let screen = pty.screen.0.lock().unwrap();
    let beyond: Vec<u8> = screen.raw.iter().copied().filter(|byte| !byte.is_ascii()).collect();
    assert_eq!(beyond, [] as [u8; 0]);
}

#[test]
fn a_smaller_window_shows_one_tray() {
    let home = Home::with_trays();
    let mut pty = home.start();
    pty.sees("Runs out first").resize(60, 20).sees("runs out first: radish").sees("? keys");
    pty.resize(30, 8).sees("Please make the window");
    pty.resize(120, 40).sees("Runs out first").sees("B0001-G");
}
