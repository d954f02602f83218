//! A blank walk sheet to take to the racks, as one HTML file to print.

use maud::{Markup, html};

use super::document;
use crate::domain::board::Board;
use crate::domain::look::Mist;
use crate::domain::text::clean_line;
use crate::domain::time::Day;
use crate::domain::tray::{LastLook, TrayCard};
use crate::domain::walk::{ROOT_GRADES, STAND_GRADES};

const STYLE: &str = include_str!("sheet.css");

/// Said on the screen and not on paper.
const HINT: &str = "Print on A4 or Letter, landscape. Paper notes fail when wet: use a clipboard with a cover, and type \
    the sheet in the same day (w, \"type in a paper sheet\").";

/// Graphemes of a name; longer ones do not fit a column.
const NAME: usize = 60;

/// One row for every tray that is due on a day, as one walks.
pub fn page(board: &Board, today: Day) -> String {
    let stops: Vec<&TrayCard> = board.trays.iter().filter(|tray| tray.look_due(today)).collect();
    let title = format!("{} ({}): walk sheet of {today}", board.room_name, board.room_code);
    let body = html! {
        p.hint { (HINT) }
        h1 { (line(&title)) }
        p.hands {
            "walked by (initials) " span.line {} "  from (time) " span.line {} "  to " span.line {}
        }
        @if stops.is_empty() {
            p { "No tray is due." }
        } @else {
            table {
                thead { tr {
                    @for name in ["place", "tray", "crop", "day", "plan", "last look", "seen", "water", "fuzz", "note"] {
                        th { (name) }
                    }
                } }
                tbody { @for tray in stops { (row(tray, today)) } }
            }
        }
    };
    document(&line(&title), STYLE, &body)
}

fn row(tray: &TrayCard, today: Day) -> Markup {
    let last = tray.last.as_ref().map_or_else(|| "none yet".to_string(), told);
    let grades: Vec<&str> = if tray.grades_roots(today) {
        ROOT_GRADES.iter().map(|grade| grade.shown()).collect()
    } else {
        STAND_GRADES.iter().map(|grade| grade.shown()).collect()
    };
    html! {
        tr {
            td.place { (line(&tray.stands())) }
            td.code { (tray.code()) }
            td {
                (line(&tray.crop_name))
                @if tray.suspect || tray.bad { p.caution { "SUSPECT: last, gloves on" } }
                @if tray.held { p.caution { "HELD" } }
            }
            td { (tray.day(today)) }
            td { (tray.plan.words_on(tray.day(today))) }
            td { (line(&last)) }
            td.boxes { @for grade in grades { span { (grade) } } }
            td.boxes { span { "yes" } span { "no" } }
            td.boxes { @for mist in Mist::ALL { span { (mist.shown()) } } }
            td.note {}
        }
    }
}

fn told(look: &LastLook) -> String {
    format!("{}: {}", look.day, look.words())
}

/// One line, safe to print: texts of old or foreign books are cleaned on the way out as well.
fn line(text: &str) -> String {
    clean_line(text.trim(), NAME * 2).text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::tray::Stage;
    use crate::domain::tray::tests::{card, day, looked};

    /// The cells of each row as text, boxes as `[ ]`.
    fn rows(html: &str) -> Vec<Vec<String>> {
        let body = html.split_once("<tbody>").map_or("", |(_, body)| body);
        let cell = |cell: &str| {
            let text = cell.split_once('>').unwrap().1.replace("<span>", "[ ]");
            text.split('<').map(|part| part.split_once('>').map_or(part, |(_, text)| text)).collect::<String>()
        };
        body.split("<tr>").skip(1).map(|row| row.split("<td").skip(1).map(cell).collect()).collect()
    }

    fn board(trays: Vec<TrayCard>) -> Board {
        Board { room_name: "North <Bench>".into(), room_code: "NB".into(), trays, ..Board::default() }
    }

    #[test]
    fn a_row_has_what_is_known_and_boxes_for_what_is_seen() {
        let covered = TrayCard { stage: Stage::Covered, ..card(1) };
        let sown = day("2026-07-08");
        let lit = TrayCard { sown, last: Some(looked("2026-07-12")), suspect: true, ..card(2) };
        let html = page(&board(vec![covered, lit]), day("2026-07-13"));
        let rows = rows(&html);
        assert_eq!(rows.len(), 2);
        assert_eq!(rows[0][..4], ["A 1-1", "T0001-W", "radish", "3"]);
        assert_eq!(rows[0][5..8], ["none yet", "[ ]none[ ]peeking[ ]plenty[ ]full[ ]not visible", "[ ]yes[ ]no"]);
        assert!(rows[1][2].contains("SUSPECT") && rows[1][5].starts_with("2026-07-12: "), "{rows:?}");
        assert_eq!(rows[1][6], "[ ]yellow[ ]dry[ ]uneven[ ]good[ ]fallen");
        assert_eq!(rows[1][8].matches("[ ]").count(), Mist::ALL.len());
        assert!(html.contains("North &lt;Bench&gt;"));
    }

    #[test]
    fn only_what_is_due_has_a_row_and_an_empty_sheet_says_so() {
        let seen = TrayCard { last: Some(looked("2026-07-13")), ..card(1) };
        let new = TrayCard { sown: day("2026-07-13"), ..card(2) };
        let html = page(&board(vec![seen, new]), day("2026-07-13"));
        assert!(rows(&html).is_empty() && html.contains("No tray is due."), "{html}");
    }
}
