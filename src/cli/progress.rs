//! How far long work is, on stderr, and only if someone looks at it there.

use std::io::{self, IsTerminal};

use indicatif::{ProgressBar, ProgressStyle};

/// Short enough for a window of 60 columns: a line as wide as the window breaks in some terminals.
const LINE: &str = "{msg} {bar:20} {pos}/{len}";
const STOPPABLE: &str = "{msg} {bar:20} {pos}/{len}  Ctrl-C stops";

/// A bar for so many steps, which says how to stop where the work can be stopped.
pub fn bar(what: &'static str, steps: u64, can_stop: bool) -> ProgressBar {
    if !io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(steps).with_message(what);
    let style = ProgressStyle::with_template(if can_stop { STOPPABLE } else { LINE });
    style.map_or(bar.clone(), |style| bar.with_style(style))
}
