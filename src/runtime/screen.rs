//! The loop: wait, hand over what came, draw once.

use std::path::Path;
use std::time::Duration;

use anyhow::{Context, Result};

use super::clock::Clock;
use super::drafts::Drafts;
use super::events::{self, Input, Signal};
use super::session::{Flow, Session};
use super::terminal::{self, Guard};
use super::{paths, wait};
use crate::app::effect::Msg;
use crate::app::key::Key;
use crate::domain::id::PersonId;
use crate::store::Store;
use crate::ui;

/// Silence that ends a scan.
const SCAN_SILENCE: Duration = Duration::from_millis(100);

/// Opens the screen on a book and stays until the person leaves.
pub fn run(store: Store, book: &Path, clock: Clock, who: Option<PersonId>) -> Result<()> {
    let drafts = Drafts::at(paths::state_dir()?, book).context("cannot keep drafts")?;
    let kept = drafts.load().context("cannot read drafts")?;
    let theme = terminal::theme_from_env(|name| std::env::var_os(name));
    let mut guard = Guard::new()?;
    let inputs = events::start()?;
    let mut session = Session::start(store, clock, who, Some(drafts), kept.forms)?;
    if let Some(aside) = kept.set_aside {
        session.model.refuse(format!("Kept drafts could not be read; the file was set aside as {}.", aside.display()));
    }
    let size = guard.terminal().size()?;
    session.handle(Msg::Resize(size.width, size.height));
    loop {
        guard.terminal().draw(|frame| ui::draw(&session.model, &theme, frame))?;
        let until = session.model.scan.active().then_some(SCAN_SILENCE);
        let came = wait::next(&inputs, until);
        let mut flow = if came.is_empty() { session.handle(Msg::Quiet) } else { Flow::GoOn };
        for input in came {
            if flow == Flow::Quit {
                break;
            }
            flow = match input {
                Input::Key(key, at) => session.handle(Msg::Key(key, at)),
                Input::Paste(text) => session.handle(Msg::Paste(text)),
                Input::Resize(width, height) => session.handle(Msg::Resize(width, height)),
                Input::Signal(Signal::Stop) | Input::Gone => session.handle(Msg::Stop),
                Input::Signal(Signal::Suspend) => {
                    session.handle(Msg::Keep);
                    guard.suspend()?;
                    Flow::GoOn
                }
                Input::Signal(Signal::Continue) => {
                    guard.resume()?;
                    Flow::GoOn
                }
            };
        }
        while flow == Flow::GoOn && session.busy() {
            let mut stop = None;
            flow = session.work(&mut |model| {
                while let Ok(input) = inputs.try_recv() {
                    match input {
                        Input::Key(Key::Esc | Key::Ctrl('c'), _) => return false,
                        Input::Resize(width, height) => model.size = (width, height),
                        Input::Signal(Signal::Stop) | Input::Gone => stop = Some(Msg::Stop),
                        // keys wait for nobody: what they would do cannot be seen
                        _ => {}
                    }
                }
                stop.is_none() && guard.terminal().draw(|frame| ui::draw(model, &theme, frame)).is_ok()
            });
            if let Some(stop) = stop {
                flow = session.handle(stop);
            }
        }
        if flow == Flow::Quit || session.look_around() == Flow::Quit {
            return Ok(());
        }
    }
}
