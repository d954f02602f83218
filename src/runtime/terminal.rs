//! The terminal taken over and given back, whatever happens in between; and how it may be painted.

use std::ffi::OsString;
use std::io::{self, IsTerminal, Write, stderr, stdout};
use std::mem::ManuallyDrop;
use std::panic::{self, PanicHookInfo};

use anyhow::{Context, Result, ensure};
use crossterm::cursor::Show;
use crossterm::event::{DisableBracketedPaste, EnableBracketedPaste};
use crossterm::execute;
use crossterm::terminal::{EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode};
use ratatui::DefaultTerminal;
use signal_hook::consts::SIGTSTP;
use signal_hook::low_level;

use super::job;
use crate::domain::text::clean_line;
use crate::ui::theme::{Paint, Theme};

/// The longest panic message printed, in graphemes.
const PANIC_GRAPHEMES: usize = 500;

/// Holds the terminal in full screen; gives it back when dropped, and on a panic before that.
pub struct Guard {
    /// Not dropped, since its own drop panics if both the terminal and standard error are gone.
    terminal: ManuallyDrop<DefaultTerminal>,
}

impl Guard {
    /// Takes the terminal over. Fails, with the terminal as it was, if the output is no terminal or
    /// cannot be switched.
    pub fn new() -> Result<Self> {
        ensure!(stdout().is_terminal(), "The screens need a terminal, but the output goes elsewhere.");
        // Before `try_init`, whose own hook gives the terminal back first and then calls this one.
        panic::set_hook(Box::new(|info| {
            leave();
            // Not `eprintln`, which panics if the terminal is gone.
            let _ = writeln!(stderr(), "{}", panic_text(info));
        }));
        let taken = ratatui::try_init().and_then(|mut terminal| {
            execute!(stdout(), EnableBracketedPaste)?;
            blank(&mut terminal)?;
            Ok(Self { terminal: ManuallyDrop::new(terminal) })
        });
        if taken.is_err() {
            leave();
        }
        taken.context("The terminal could not be switched to full screen.")
    }

    /// For drawing. Never call its `clear` while keys are read: it asks the terminal where the cursor
    /// is, and the answer would wait behind the thread that reads; [`Guard::resume`] draws afresh.
    pub fn terminal(&mut self) -> &mut DefaultTerminal {
        &mut self.terminal
    }

    /// Gives the terminal back, stops, and takes it over again once continued. `false` if nothing was
    /// done because no shell would notice the stop, so that the program would seem to hang.
    pub fn suspend(&mut self) -> Result<bool> {
        if !job::shell_waits() {
            return Ok(false);
        }
        leave();
        let stopped = low_level::emulate_default_handler(SIGTSTP);
        self.resume()?;
        stopped.context("The program could not be stopped.")?;
        Ok(true)
    }

    /// Takes the terminal over again, for a full redraw: after every SIGCONT, also one that follows
    /// a stop from outside, which left no time to give the terminal back.
    pub fn resume(&mut self) -> Result<()> {
        self.retake().context("The terminal could not be taken over again.")
    }

    fn retake(&mut self) -> io::Result<()> {
        // Off first: after a stop from outside raw mode counts as on, though the shell has ended it.
        disable_raw_mode()?;
        enable_raw_mode()?;
        execute!(stdout(), EnterAlternateScreen, EnableBracketedPaste)?;
        blank(&mut self.terminal)
    }
}

impl Drop for Guard {
    fn drop(&mut self) {
        leave();
    }
}

/// Clears the screen and forgets what was on it. Also needed at the start: some consoles have no other screen.
fn blank(terminal: &mut DefaultTerminal) -> io::Result<()> {
    let size = terminal.size()?;
    // Clears also where the size is the same.
    terminal.resize(size.into())
}

/// Gives the terminal back as far as possible; one that is gone needs nothing.
fn leave() {
    let _ = disable_raw_mode();
    let _ = execute!(stdout(), DisableBracketedPaste, LeaveAlternateScreen, Show);
}

fn panic_text(info: &PanicHookInfo<'_>) -> String {
    let place = info.location().map_or_else(String::new, |at| format!(" ({}:{})", at.file(), at.line()));
    let message = clean_line(info.payload_as_str().unwrap_or("no message"), PANIC_GRAPHEMES).text;
    format!("rackwalk stopped because of a fault in the program. Saved entries are in the book.\n{message}{place}")
}

/// How to paint, from environment variables (`var` gives the value of one): attributes only if
/// `NO_COLOR` is set and not empty (no-color.org) or `TERM` is `dumb`; signs beyond ASCII if the
/// locale's character set is UTF-8.
pub fn theme_from_env(var: impl Fn(&str) -> Option<OsString>) -> Theme {
    let filled = |name: &str| var(name).filter(|value| !value.is_empty());
    let mono = filled("NO_COLOR").is_some() || filled("TERM").is_some_and(|term| term == "dumb");
    // The first that is not empty decides (POSIX.1, Environment Variables).
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().find_map(filled);
    Theme {
        paint: if mono { Paint::Mono } else { Paint::Plain },
        wide_signs: locale.is_some_and(|locale| is_utf8(&locale.to_string_lossy())),
    }
}

/// Whether a locale name, `language_TERRITORY.charset@modifier`, has UTF-8 as its character set. macOS
/// also sets the character set alone.
fn is_utf8(locale: &str) -> bool {
    let name = locale.split_once('@').map_or(locale, |(name, _)| name);
    let charset = name.rsplit_once('.').map_or(name, |(_, charset)| charset);
    charset.eq_ignore_ascii_case("UTF-8") || charset.eq_ignore_ascii_case("UTF8")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn theme(vars: &[(&str, &str)]) -> (Paint, bool) {
        let theme =
            theme_from_env(|name| vars.iter().find(|(set, _)| *set == name).map(|(_, value)| OsString::from(value)));
        (theme.paint, theme.wide_signs)
    }

    #[test]
    fn colours_end_with_no_color_or_a_dumb_terminal() {
        for (vars, paint) in [
            (&[][..], Paint::Plain),
            (&[("TERM", "xterm-256color")], Paint::Plain),
            (&[("NO_COLOR", "1")], Paint::Mono),
            (&[("NO_COLOR", "0")], Paint::Mono),
            (&[("NO_COLOR", "")], Paint::Plain),
            (&[("TERM", "dumb")], Paint::Mono),
            (&[("NO_COLOR", "1"), ("TERM", "xterm")], Paint::Mono),
        ] {
            assert_eq!(theme(vars).0, paint, "{vars:?}");
        }
    }

    #[test]
    fn signs_follow_the_locale_that_decides() {
        for (vars, wide) in [
            (&[][..], false),
            (&[("LANG", "en_GB.UTF-8")], true),
            (&[("LANG", "de_DE.utf8")], true),
            (&[("LANG", "sr_RS.UTF-8@latin")], true),
            (&[("LANG", "C.UTF-8")], true),
            (&[("LC_CTYPE", "UTF-8")], true),
            (&[("LANG", "C")], false),
            (&[("LANG", "POSIX")], false),
            (&[("LANG", "de_DE")], false),
            (&[("LANG", "de_DE@euro")], false),
            (&[("LANG", "de_DE.ISO-8859-15@euro")], false),
            (&[("LC_ALL", "C"), ("LC_CTYPE", "en_GB.UTF-8"), ("LANG", "en_GB.UTF-8")], false),
            (&[("LC_CTYPE", "en_GB.UTF-8"), ("LANG", "C")], true),
            (&[("LC_CTYPE", "C"), ("LANG", "en_GB.UTF-8")], false),
            (&[("LC_ALL", ""), ("LC_CTYPE", ""), ("LANG", "en_GB.UTF-8")], true),
        ] {
            assert_eq!(theme(vars).1, wide, "{vars:?}");
        }
    }
}
