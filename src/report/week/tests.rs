//! The page of a week, ordinary and crowded, printed and as text.

use std::process::Command;

use super::{csv, html, text};
use crate::domain::picture::tests::{all, anything};
use crate::domain::picture::{Bars, Dots, Picture};
use crate::domain::text::columns;
use crate::domain::week_page::{Sheet, Table, WeekPage};
use proptest::prelude::*;

const EVIL: &str = "=1+1 <script>alert(1)</script> & \"Bell\"";

fn strings(cells: &[&str]) -> Vec<String> {
    cells.iter().map(ToString::to_string).collect()
}

fn crops(n: usize) -> Table {
    let row = |n: usize| {
        let crop = ["radish", "pea shoots", "broccoli", "sunflower"][n % 4];
        strings(&[
            crop,
            "14",
            "14",
            "0 of 14, 0 % (0 to 22 %)",
            "239 g",
            "225 to 254 g",
            "240 g",
            "9.51",
            "8.5",
            "3 of 3",
        ])
    };
    Table {
        title: "Each crop".into(),
        head: strings(&[
            "crop", "sown", "cut", "lost of ended", "mean a tray", "likely", "median", "g per g seed", "days", "orders met",
        ]),
        rows: (0..n).map(row).collect(),
        note: "Trays of one shelf fail together, so the range of losses is narrower than it should be. Look at the shelf first.".into(),
    }
}

fn small(title: &str, n: usize) -> Table {
    Table {
        title: title.into(),
        head: strings(&["lot", "against", "difference", "what to do"]),
        rows: (0..n)
            .map(|n| {
                strings(&[
                    &format!("S{n:04}-W radish"),
                    "S0002-V radish, grown in 3 of the same weeks",
                    "no clear difference; could be from -11 g to +54 g",
                    "plan a trial: sow both on one shelf in one week",
                ])
            })
            .collect(),
        note: "7 comparisons were made.".into(),
    }
}

/// A week of so many crops.
fn week(crops_of: usize) -> WeekPage {
    let mut dots = crate::domain::picture::tests::dots();
    let first = dots.rows[0].clone();
    dots.rows.extend((4..crops_of).map(|_| first.clone()));
    dots.rows.truncate(crops_of.max(1));
    let mut pictures = all();
    pictures[0] = Picture::Dots(dots);
    // the order in which they are wanted on the first page
    pictures.swap(1, 2);
    WeekPage {
        sheet: Sheet::A4,
        title: "Week 2026-W47".into(),
        period: "16 to 22 November 2026".into(),
        room: "North Bench (NB)".into(),
        sentences: strings(&[
            "64 trays ended: 55 were cut and 9 lost (9 of 64, 14 %, 8 to 25 %). Most were lost to mould: look at shelf A 2 first.",
            "Radish gave 240 g a tray from 14 trays, 228 to 252 g likely. That is what it gave in the weeks before; change nothing.",
            "Seed lot S0003-T of radish gave 30 g a tray less than S0001-X in the same weeks (6 to 54 g): use up S0001-X first, ask the supplier.",
            "Shelf A 2 lost 10 of 23 trays (26 to 63 %), the others 3 of 41: measure air and water there before you sow on it.",
            "1 entry is odd: pea shoots 41 g on 18 November. Check this entry; it is counted as it stands.",
        ]),
        cautions: strings(&["No figure here says that food is safe: people do, by name. Local codes decide."]),
        tables: vec![
            crops(crops_of),
            small("Seed lots side by side", 5),
            small("Shelves side by side", 4),
            small("Unusual", 3),
        ],
        pictures,
        signature: strings(&[
            "Read and signed by AK on 2026-11-23 08:10. Last hash of the log abababababababababababababababababababababababababababababababab.",
        ]),
        footer: "Made 2026-11-23 08:12 with rackwalk. Weights in grams, times on the room's clock.".into(),
    }
}

/// Everything twice and long.
fn crowded() -> WeekPage {
    let mut page = week(40);
    let lots = page.tables[1].rows.clone();
    page.tables[1].rows = lots.iter().cycle().take(60).cloned().collect();
    page.tables.extend((0..8).map(|n| small(&format!("More of it, part {n}"), 30)));
    let again = page.pictures.clone();
    page.pictures.extend(again.iter().cloned().chain(again.clone()));
    page
}

#[test]
fn nothing_on_the_page_is_markup_of_a_name() {
    let mut page = week(3);
    for text in
        [&mut page.title, &mut page.room, &mut page.footer, &mut page.sentences[0], &mut page.tables[0].rows[0][0]]
    {
        *text = EVIL.into();
    }
    page.tables[0].head[0] = EVIL.into();
    page.pictures.push(Picture::Bars(Bars {
        title: EVIL.into(),
        each: EVIL.into(),
        bars: vec![(EVIL.into(), 1, EVIL.into())],
    }));
    let page = html::page(&page);
    assert_eq!((page.matches("<script").count(), page.matches("&lt;script").count() > 8), (0, true));
    for never in ["http:", "https:", "url(", "@import", "src=", "href="] {
        assert!(!page.replace("http://www.w3.org/2000/svg", "").contains(never), "{never}");
    }
    let own = "!DOCTYPE html head meta title style body p h1 h2 ol li svg path text rect circle line desc table thead tr th tbody td section header footer div figure";
    for tag in page.split('<').skip(1) {
        let name = tag.trim_start_matches('/').split([' ', '>']).next().unwrap();
        assert!(own.split(' ').any(|known| known == name), "{name}");
    }
}

#[test]
fn sentences_come_before_the_main_table_and_the_break_comes_once() {
    let page = html::page(&week(12));
    let at = |what: &str| page.find(what).unwrap_or_else(|| panic!("{what} is not on the page"));
    let order = [
        "Week 2026-W47</h1>",
        "64 trays ended",
        "No figure here says",
        "Each crop",
        "class=\"pair\"",
        "class=\"second\"><",
        "Seed lots side by side",
        "Read and signed",
    ];
    let places = order.map(at);
    assert!(places.is_sorted(), "{places:?}");
    assert_eq!(page.matches("class=\"second\">").count(), 1);
    assert_eq!(page.matches("break-before").count(), 1);
    assert_eq!(page.matches("<svg").count(), 4, "every picture is there");
    assert!(!page.contains("Not on paper") && !page.contains(" more: open this file"), "all of it is on paper");
}

#[test]
fn what_paper_has_no_room_for_is_on_the_screen_and_said() {
    let crowded = crowded();
    let page = html::page(&crowded);
    assert_eq!(page.matches("<svg").count(), crowded.pictures.len());
    let rows: usize = crowded.tables.iter().map(|table| table.rows.len() + 1).sum();
    assert_eq!(page.matches("<tr").count(), rows, "no row is lost");
    assert!(page.contains("Not on paper: ") && page.contains("more pictures. Open this file on a screen"));
    assert!(page.contains(" more: open this file on a screen."));
}

/// Every page is worked out to end within its paper: the sums of `paper.rs` are larger than what a printer makes of it, which
/// `a_printer_makes_two_pages_of_it` shows where there is one.
#[test]
fn an_ordinary_week_of_twelve_crops_is_on_paper_whole() {
    let page = week(12);
    let paper = super::paper::Paper::of(&page);
    assert_eq!(paper.missing(), "");
    assert!(paper.first.tables.iter().chain(&paper.second.tables).all(|shown| shown.rows == shown.table.rows.len()));
    assert_eq!(paper.first.tables.len(), 1);
    assert!(!paper.first.pairs.is_empty() && !paper.second.pairs.is_empty());
}

/// Needs `weasyprint` (BSD) on the path or in `WEASYPRINT`; `.ci/run` installs and runs it.
#[test]
#[ignore = "needs weasyprint, a program that prints HTML to PDF"]
fn a_printer_makes_two_pages_of_it() {
    let printer = std::env::var("WEASYPRINT").unwrap_or_else(|_| "weasyprint".into());
    let folder = tempfile::tempdir().unwrap();
    let mut long = week(12);
    long.sentences.iter_mut().for_each(|text| *text = format!("{text} {text}"));
    let mut torn = week(6);
    torn.tables[0].rows[1][3] = "0123456789abcdef".repeat(8);
    let weeks = [
        ("empty", WeekPage::default()),
        ("one", week(1)),
        ("twelve", week(12)),
        ("long", long),
        ("crowded", crowded()),
        ("torn", torn),
    ];
    for (name, mut week) in weeks {
        let (from, to) = (folder.path().join(format!("{name}.html")), folder.path().join(format!("{name}.pdf")));
        // points of 297 and of 279 mm
        for (sheet, high) in [(Sheet::A4, "841.8"), (Sheet::Letter, "792")] {
            week.sheet = sheet;
            std::fs::write(&from, html::page(&week)).unwrap();
            let done = Command::new(&printer).args([&from, &to]).status().unwrap();
            assert!(done.success());
            let pdf = String::from_utf8_lossy(&std::fs::read(&to).unwrap()).into_owned();
            let count = |what: &str| pdf.matches(what).count();
            let pages = count("/Type /Page") - count("/Type /Pages");
            assert_eq!(pages, 2, "{name} on {sheet:?}");
            assert!(pdf.contains(high), "{name} is not on {sheet:?}");
        }
    }
}

#[test]
fn every_row_is_one_of_the_table_for_spreadsheets() {
    let mut page = week(2);
    page.tables[0].rows[0][0] = EVIL.into();
    let bytes = csv::table(&page).unwrap();
    let mut read = ::csv::Reader::from_reader(bytes.as_slice());
    let head: Vec<String> = read.headers().unwrap().iter().map(ToString::to_string).collect();
    let rows: Vec<Vec<String>> =
        read.records().map(|row| row.unwrap().iter().map(ToString::to_string).collect()).collect();
    let at = |name: &str| head.iter().position(|own| own == name).unwrap();
    let of = |section: &str| rows.iter().filter(|row| row[at("section")] == section).collect::<Vec<_>>();
    assert_eq!([of("sentence").len(), of("caution").len(), of("Each crop").len(), of("signature").len()], [5, 1, 3, 1]);
    let first = of("Each crop")[0];
    assert_eq!(first[at("crop")], format!("'{EVIL}"), "no cell is a formula");
    assert_eq!(
        [&first[at("lost_of_ended")], &first[at("g_per_g_seed")], &first[at("against")]],
        ["0 of 14, 0 % (0 to 22 %)", "9.51", ""]
    );
    assert_eq!(of("Unusual")[0][at("lot")], "S0000-W radish");
    assert!(rows.iter().all(|row| row[at("room")] == "North Bench (NB)" && row.len() == head.len()));
}

#[test]
fn columns_of_one_name_and_of_none_keep_their_values() {
    let table = Table { head: strings(&["a", "a"]), rows: vec![strings(&["1", "2", "3"])], ..Table::default() };
    let bytes = csv::table(&WeekPage { tables: vec![table], ..WeekPage::default() }).unwrap();
    assert_eq!(String::from_utf8(bytes).unwrap(), "room,period,section,text,a,column_3\n,,,,1; 2,3\n");
}

/// Two crops, one comparison, one picture.
fn short() -> WeekPage {
    let mut page = week(2);
    page.tables.truncate(2);
    page.tables[1].rows.truncate(1);
    page.pictures.truncate(1);
    page
}

#[test]
fn text_has_sentences_then_tables_then_pictures() {
    let page = short();
    insta::assert_snapshot!(text::lines(&page, 78, false).join("\n"), @r#"
    WEEK 2026-W47
    North Bench (NB), 16 to 22 November 2026

    1. 64 trays ended: 55 were cut and 9 lost (9 of 64, 14 %, 8 to 25 %). Most
       were lost to mould: look at shelf A 2 first.
    2. Radish gave 240 g a tray from 14 trays, 228 to 252 g likely. That is what
       it gave in the weeks before; change nothing.
    3. Seed lot S0003-T of radish gave 30 g a tray less than S0001-X in the same
       weeks (6 to 54 g): use up S0001-X first, ask the supplier.
    4. Shelf A 2 lost 10 of 23 trays (26 to 63 %), the others 3 of 41: measure air
       and water there before you sow on it.
    5. 1 entry is odd: pea shoots 41 g on 18 November. Check this entry; it is
       counted as it stands.
    ! No figure here says that food is safe: people do, by name. Local codes
      decide.

    EACH CROP
    crop      sown  cut  lost of   mean a  likely   median  g per g  days  orders
                         ended       tray                      seed        met
    ────────  ────  ───  ───────  ───────  ───────  ──────  ───────  ────  ───────
    radish      14   14  0 of       239 g  225 to    240 g     9.51   8.5  3 of 3
                         14, 0 %           254 g
                         (0 to
                         22 %)
    pea         14   14  0 of       239 g  225 to    240 g     9.51   8.5  3 of 3
    shoots               14, 0 %           254 g
                         (0 to
                         22 %)
    Trays of one shelf fail together, so the range of losses is narrower than it
    should be. Look at the shelf first.

    SEED LOTS SIDE BY SIDE
    lot             against               difference           what to do
    ──────────────  ────────────────────  ───────────────────  ───────────────────
    S0000-W radish  S0002-V radish,       no clear             plan a trial: sow
                    grown in 3 of the     difference; could    both on one shelf
                    same weeks            be from -11 g to     in one week
                                          +54 g
    7 comparisons were made.

    Grams per tray
    radish                    •      •  •• •4• • • •      •        14 trays, 240 g
                                        ├───┃───┤                  228 to 252 g
    broccoli        •• ••  •                                       5 trays, 178 g
                    ├──┃───┤                                       167 to 188 g
              ┬────────────────┬───────────────┬────────────────┬
             150              200             250              300
    • one tray, a digit: so many; ├─┃─┤ mean and how far off it may be.

    Read and signed by AK on 2026-11-23 08:10. Last hash of the log
    abababababababababababababababababababababababababababababababab.
    Made 2026-11-23 08:12 with rackwalk. Weights in grams, times on the room's
    clock.
    "#);
}

#[test]
fn a_narrow_terminal_without_signs_gets_all_of_it() {
    let page = short();
    insta::assert_snapshot!(text::lines(&page, 44, true).join("\n"), @r#"
    WEEK 2026-W47
    North Bench (NB), 16 to 22 November 2026

    1. 64 trays ended: 55 were cut and 9 lost (9
       of 64, 14 %, 8 to 25 %). Most were lost
       to mould: look at shelf A 2 first.
    2. Radish gave 240 g a tray from 14 trays,
       228 to 252 g likely. That is what it gave
       in the weeks before; change nothing.
    3. Seed lot S0003-T of radish gave 30 g a
       tray less than S0001-X in the same weeks
       (6 to 54 g): use up S0001-X first, ask
       the supplier.
    4. Shelf A 2 lost 10 of 23 trays (26 to
       63 %), the others 3 of 41: measure air
       and water there before you sow on it.
    5. 1 entry is odd: pea shoots 41 g on 18
       November. Check this entry; it is counted
       as it stands.
    ! No figure here says that food is safe:
      people do, by name. Local codes decide.

    EACH CROP
    - radish: sown 14; cut 14; lost of ended 0
      of 14, 0 % (0 to 22 %); mean a tray 239 g;
      likely 225 to 254 g; median 240 g; g per g
      seed 9.51; days 8.5; orders met 3 of 3
    - pea shoots: sown 14; cut 14; lost of ended
      0 of 14, 0 % (0 to 22 %); mean a tray
      239 g; likely 225 to 254 g; median 240 g;
      g per g seed 9.51; days 8.5; orders met 3
      of 3
    Trays of one shelf fail together, so the
    range of losses is narrower than it should
    be. Look at the shelf first.

    SEED LOTS SIDE BY SIDE
    lot         against     differenc  what to
                            e          do
    ----------  ----------  ---------  ---------
    S0000-W     S0002-V     no clear   plan a
    radish      radish,     differenc  trial:
                grown in 3  e; could   sow both
                of the      be from    on one
                same weeks  -11 g to   shelf in
                            +54 g      one week
    7 comparisons were made.

    Grams per tray
    radish         o oo35oo o    14 trays, 240 g
                      [-|]       228 to 252 g
    broccoli    22o              5 trays, 178 g
                [|]              167 to 188 g
              +----+-----+----+
             150  200   250  300
    o one tray, a digit: so many; [-|-] mean and
    how far off it may be.

    Read and signed by AK on 2026-11-23 08:10.
    Last hash of the log
    abababababababababababababababababababababab
    abababababababababab.
    Made 2026-11-23 08:12 with rackwalk. Weights
    in grams, times on the room's clock.
    "#);
}

#[test]
fn a_week_of_nothing_is_a_page_a_table_and_lines() {
    let empty = WeekPage::default();
    assert!(html::page(&empty).contains("</html>"));
    assert_eq!(String::from_utf8(csv::table(&empty).unwrap()).unwrap(), "room,period,section,text\n");
    assert!(
        text::lines(&WeekPage { tables: vec![Table::default()], ..empty }, 60, false).contains(&"nothing".to_string())
    );
}

fn any_page() -> impl Strategy<Value = WeekPage> {
    let text = || prop_oneof!["[a-z0-9% ]{0,60}", "\\PC{0,30}"];
    let row = prop::collection::vec(text(), 0..14);
    let table = (text(), row.clone(), prop::collection::vec(row, 0..20), text());
    let table = table.prop_map(|(title, head, rows, note)| Table { title, head, rows, note });
    let said = || prop::collection::vec(text(), 0..6);
    (said(), prop::collection::vec(table, 0..5), prop::collection::vec(anything(), 0..4), said()).prop_map(
        |(sentences, tables, pictures, signature)| WeekPage {
            sentences,
            tables,
            pictures,
            signature,
            ..WeekPage::default()
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]
    #[test]
    fn any_week_is_text_within_its_width_and_a_page_and_a_table(page in any_page(), width in 40..120_usize, ascii: bool) {
        for line in text::lines(&page, width, ascii) {
            prop_assert!(columns(&line) <= width, "{line:?}");
            prop_assert!(!ascii || line.is_ascii(), "{line:?}");
        }
        let html = html::page(&page);
        prop_assert_eq!(html.matches("<svg").count(), page.pictures.len());
        prop_assert!(csv::table(&page).is_ok());
    }
}

#[test]
fn dots_of_a_crowded_room_say_how_many_rows_are_missing() {
    let page = html::page(&week(40));
    let Picture::Dots(Dots { rows, .. }) = &week(40).pictures[0] else { panic!("dots first") };
    assert!(page.contains(&format!("and {} more: the tables have them.", rows.len() - 12)));
}
