//! The lists of a day as one HTML file to print.

use maud::html;

use super::document;
use crate::domain::room::Units;
use crate::domain::text::clean_line;
use crate::domain::today::Lists;

const STYLE: &str = include_str!("paper.css");

/// All three lists, as the screen shows them.
pub fn page(lists: &Lists, room: &str, units: Units) -> String {
    let title = format!("{}: lists of {}", clean_line(room, 120).text, lists.day);
    let text: Vec<String> = lists.lines(units).iter().map(|line| clean_line(line, 300).text).collect();
    let body = html! {
        p.hint { "Print on A4 or Letter. Paper fails when wet." }
        h1 { (title) }
        pre { (text.join("\n")) }
    };
    document(&title, STYLE, &body)
}
