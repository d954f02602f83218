//! What leaves the program for paper and other programs: pure functions from read models to text.
//!
//! Outermost beside the command line: this layer knows the domain and nothing else, and opens no file.

pub mod calls;
pub mod labels;
pub mod lists;
pub mod note;
pub mod picture;
pub mod records;
pub mod sheet;
pub mod trace;
pub mod week;

use maud::{DOCTYPE, Markup, PreEscaped, html};

/// One HTML file with its styles inside, no scripts, and nothing loaded from elsewhere.
fn document(title: &str, style: &str, body: &Markup) -> String {
    let whole = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                // the reader's own guard that nothing runs and nothing is fetched
                meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
                title { (title) }
                style { (PreEscaped(style)) }
            }
            body { (body) }
        }
    };
    whole.into_string()
}
