//! A blank walk sheet to take to the racks, as one HTML file to print.

use maud::{Markup, html};

use super::document;
use crate::domain::board::Board;
use crate::domain::look::Mist;
use crate::domain::text::clean_line;
use crate::domain::time::{Day, Now};
use crate::domain::tray::{LastLook, TrayCard};
use crate::domain::walk::{ROOT_GRADES, STAND_GRADES};

const STYLE: &str = include_str!("sheet.css");

/// Said on the screen and not on paper.
const HINT: &str = "Print on A4 or Letter, landscape. Paper notes fail when wet: use a clipboard with a cover, and type \
    the sheet in the same day (w, \"type in a paper sheet\").";

/// Graphemes of a name; longer ones do not fit a column.
const NAME: usize = 60;

/// One row for every tray that is due on a day, as one walks.
pub fn page(board: &Board, now: Now) -> String {
    let today = now.day();
    let stops: Vec<&TrayCard> = board.trays.iter().filter(|tray| tray.look_due(today)).collect();
    let title = format!("{} ({}): walk sheet of {today}", board.room_name, board.room_code);
    let body = html! {
        p.hint { (HINT) }
        h1 { (line(&title)) }
        @for out in board.kept_out(now) { p.caution { "STOP: " (line(&out.words(now))) } }
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
                tbody { @for tray in stops { (row(tray, board.kept_out_of(tray, now), today)) } }
            }
        }
    };
    document(&line(&title), STYLE, &body)
}

fn row(tray: &TrayCard, out: Option<String>, today: Day) -> Markup {
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
                @if let Some(out) = out { p.caution { (line(&out)) } }
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

    fn morning() -> Now {
        Now(chrono::DateTime::parse_from_rfc3339("2026-07-13T06:00:00Z").unwrap())
    }

    #[test]
    fn where_nobody_goes_in_stands_above_the_rows_and_in_them() {
        let until = crate::domain::treatment::hours_after(morning().instant(), 4);
        let out = |racks: &[&str]| {
            let racks = racks.iter().map(ToString::to_string).collect();
            let keep_out = vec![crate::domain::treatment::KeepOut { until, racks, product: "rinse".into() }];
            page(&Board { keep_out, ..board(vec![card(1)]) }, morning())
        };
        let html = out(&["A"]);
        assert!(html.contains("STOP: do not enter rack A before 10:00"), "{html}");
        assert!(rows(&html)[0][2].contains("do not enter rack A before 10:00"), "{html}");
        let html = out(&["B"]);
        assert!(html.contains("STOP: do not enter rack B") && rows(&html)[0][2] == "radish", "{html}");
    }

    fn board(trays: Vec<TrayCard>) -> Board {
        Board { room_name: "North <Bench>".into(), room_code: "NB".into(), trays, ..Board::default() }
    }

    #[test]
    fn a_row_has_what_is_known_and_boxes_for_what_is_seen() {
        let covered = TrayCard { stage: Stage::Covered, ..card(1) };
        let sown = day("2026-07-08");
        let lit = TrayCard { sown, last: Some(looked("2026-07-12")), suspect: true, ..card(2) };
        let html = page(&board(vec![covered, lit]), morning());
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
        let html = page(&board(vec![seen, new]), morning());
        assert!(rows(&html).is_empty() && html.contains("No tray is due."), "{html}");
    }
}
