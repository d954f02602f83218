//! Labels and the blank sheet as they come out of the program: read back by another decoder; what is refused; manual and completions.

use std::fs;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::Path;

use rackwalk::domain::code::{Code, Kind};
use rackwalk::store::Store;
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree};
use rxing::BarcodeFormat;
use rxing::helpers::detect_in_luma;

use super::cli::{NOW, demo, json, refused, run};

/// Dots per millimetre of a common label printer, 203 to the inch.
const DOTS: f32 = 8.0;

/// Runs `labels` on the demo room and reads the page.
fn page(args: &[&str]) -> String {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("page.html");
    let args = [args, &["--out", out.to_str().unwrap(), "--now", NOW]].concat();
    let (code, said, err) = run(&[&["labels"], &args[..]].concat());
    assert_eq!((code, said.as_str()), (0, ""), "{err}");
    assert!(err.contains("fails when wet"), "{err}");
    assert_eq!(names(dir.path()), ["page.html"], "nothing is left beside it");
    fs::read_to_string(&out).unwrap()
}

fn names(folder: &Path) -> Vec<String> {
    fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
}

/// What lies between two marks.
fn between<'a>(text: &'a str, before: &str, after: &str) -> &'a str {
    let (_, rest) = text.split_once(before).unwrap();
    rest.split_once(after).unwrap().0
}

/// Each label's code as printed, and its QR code as read at the size and resolution of print.
fn read_back(html: &str) -> Vec<(String, String)> {
    let unit: f32 = between(html, "--u: ", "mm").parse().unwrap();
    html.split("<section class=\"label")
        .skip(1)
        .map(|label| {
            let svg = format!("<svg{}</svg>", between(label, "<svg", "</svg>"));
            (between(label, "<p class=\"code\">", "<").to_owned(), decode(&svg, 20.0 * unit))
        })
        .collect()
}

/// Draws a picture of so many millimetres and has it read.
fn decode(svg: &str, side_mm: f32) -> String {
    let tree = Tree::from_str(svg, &Options::default()).unwrap();
    let dots = side_mm * DOTS;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "some hundred dots")]
    let side = dots.ceil() as u32;
    let mut pixmap = Pixmap::new(side, side).unwrap();
    let scale = dots / tree.size().width();
    resvg::render(&tree, Transform::from_scale(scale, scale), &mut pixmap.as_mut());
    let luma = pixmap.pixels().iter().map(|p| p.green()).collect();
    let read = detect_in_luma(luma, side, side, Some(BarcodeFormat::QR_CODE)).unwrap();
    read.getText().to_owned()
}

/// Codes of the first trays on the walk.
fn tray_codes(most: usize) -> Vec<String> {
    let board = Store::open(demo(), "test").unwrap().board().unwrap();
    board.trays.iter().take(most).map(rackwalk::domain::tray::TrayCard::code).collect()
}

fn assert_read(read: &[(String, String)], kind: Kind, what: &str) {
    for (printed, qr) in read {
        assert_eq!(*qr, printed.replace('-', ""), "{what}: plain");
        let code = Code::parse(qr).unwrap();
        assert_eq!((code.shown(), code.kind()), (printed.clone(), kind), "{what}");
    }
}

#[test]
fn every_qr_code_on_a_sheet_is_read_back_as_the_code_beside_it() {
    let book = demo().to_str().unwrap();
    let codes = tray_codes(24);
    assert_eq!(codes.len(), 24);
    for paper in [
        &[][..],
        &["--sheet", "a4-12"],
        &["--sheet", "letter-24"],
        &["--sheet", "letter-12"],
        &["--sheet", "roll"],
        &["--roll", "50x25"],
    ] {
        let args: Vec<&str> = ["trays", "--book", book].into_iter().chain(codes.iter().map(String::as_str)).collect();
        let html = page(&[&args[..], paper].concat());
        let read = read_back(&html);
        assert_read(&read, Kind::Tray, &paper.join(" "));
        let printed: Vec<String> = read.into_iter().map(|(printed, _)| printed).collect();
        assert_eq!(printed, codes, "as asked for, in that order");
    }
}

#[test]
fn jars_of_all_lots_with_seed_left_are_labelled() {
    let book = demo().to_str().unwrap();
    let html = page(&["jars", "--all", "--book", book]);
    let read = read_back(&html);
    assert_read(&read, Kind::SeedLot, "jars");
    let lots = Store::open(demo(), "test").unwrap().seed_lots().unwrap();
    let left: Vec<&str> = lots.iter().filter(|lot| lot.left_mg > 0).map(|lot| lot.code.as_str()).collect();
    assert_eq!(read.iter().map(|(code, _)| code.as_str()).collect::<Vec<_>>(), left);
    // the invented room has one delivery whose papers do not say whether it was treated
    assert_eq!(html.matches("NOT STATED IF TREATED").count(), 1);
    let one = page(&["jars", left[0], "--book", book]);
    assert_eq!(read_back(&one).len(), 1);
}

#[test]
fn trays_sown_today_are_labelled_for_today_only() {
    let book = demo().to_str().unwrap();
    let html = page(&["trays", "--today", "--book", book]);
    let labels: Vec<&str> = html.split("<section class=\"label").skip(1).collect();
    assert!(!labels.is_empty() && labels.iter().all(|label| label.contains("sown 2026-07-15")), "{html}");
    assert!(labels.iter().all(|label| label.contains("batch NB B")), "the room before the batch");
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("none.html");
    let later =
        ["labels", "trays", "--today", "--book", book, "--now", "2026-08-30T06:00Z", "--out", out.to_str().unwrap()];
    assert!(refused(66, &later).contains("was sown on 2026-08-30"));
    assert!(!out.exists());
}

#[test]
fn a_bottle_needs_no_book() {
    let bottle = ["bottle", "--contents", "water & <citric> acid", "--made", "2026-07-15", "--expires", "2026-07-22"];
    let html = page(&[&bottle[..], &["--caution", "Gloves", "--roll", "80x50"]].concat());
    assert!(html.contains("water &amp; &lt;citric&gt; acid") && html.contains("throw out after 2026-07-22"));
    assert!(html.contains("Never drink") && html.contains("Gloves") && !html.contains("<svg"));
    assert!(html.contains("@page { size: 80.000mm 50.000mm"));
}

#[test]
fn today_prints_a_blank_sheet_with_a_row_for_every_tray_that_is_due() {
    let book = demo().to_str().unwrap();
    let today = ["today", "--book", book, "--now", NOW];
    let list = json(&[&today[..], &["--format", "json"]].concat());
    let due = list["trays"].as_array().unwrap().iter().filter(|tray| {
        let what = tray["what"].as_str().unwrap();
        what.contains("due") || what.contains("late")
    });
    let codes: Vec<&str> = due.map(|tray| tray["tray"].as_str().unwrap()).collect();
    let (code, page, err) = run(&[&today[..], &["--sheet"]].concat());
    assert_eq!((code, err.as_str()), (0, ""));
    let rows: Vec<&str> = page.split("class=\"code\">").skip(1).map(|rest| rest.split('<').next().unwrap()).collect();
    assert_eq!(rows, codes, "one row each, as one walks");
    assert!(
        !page.contains("<script") && !page.contains("http://") && !page.contains("https://"),
        "nothing from outside"
    );

    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("sheet.html");
    let out = out.to_str().unwrap();
    let to_file = [&today[..], &["--sheet", "--out", out]].concat();
    let (code, said, err) = run(&to_file);
    assert_eq!((code, said.as_str()), (0, ""));
    assert!(err.contains("fails when wet"), "{err}");
    assert_eq!(fs::read_to_string(out).unwrap(), page);
    assert!(refused(73, &to_file).contains("is there already"));
    refused(64, &[&today[..], &["--out", out]].concat());
    refused(64, &[&today[..], &["--sheet", "--out", "sheet.txt"]].concat());
}

#[test]
fn a_code_that_is_not_there_is_refused_and_near_ones_are_offered() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("page.html");
    let book = demo().to_str().unwrap();
    let ask = |what: &str, code: &str| {
        let err = refused(64, &["labels", what, code, "--book", book, "--out", out.to_str().unwrap()]);
        assert!(!out.exists());
        err
    };
    let tray = tray_codes(1).remove(0);
    let wrong = |tray: &str| {
        let last = if tray.ends_with('Z') { 'Y' } else { 'Z' };
        format!("{}{last}", &tray[..tray.len() - 1])
    };
    let err = ask("trays", &wrong(&tray));
    assert!(err.contains("has a mistake in it") && err.contains(&format!("Is it {tray}")), "{err}");
    assert!(ask("trays", &Code::tray(9999).shown()).contains("no such tray is in the room now"));
    assert!(ask("trays", &Code::seed_lot(1).shown()).contains("is a seed lot, and a tray is wanted"));
    assert!(ask("trays", &Code::sowing(1).shown()).contains("is a batch, and a tray is wanted"));
    assert!(ask("trays", "PEA-260712-A-V").contains("is a harvest or pack lot"));
    assert!(ask("jars", &tray).contains("is a tray, and a seed lot is wanted"));
    assert!(ask("jars", &Code::seed_lot(9999).shown()).contains("no such seed lot is in the book"));
    assert!(ask("jars", "\u{1b}[31mhello").contains("not a code of this book"));
    assert!(!ask("jars", "\u{1b}[31mhello").contains('\u{1b}'));
    // one wrong code among right ones: no page that looks complete
    let missing = Code::tray(9999).shown();
    let err = refused(64, &["labels", "trays", &tray, &missing, "--book", book, "--out", out.to_str().unwrap()]);
    assert!(err.contains(&missing) && !out.exists(), "{err}");
}

#[test]
fn a_name_that_is_taken_is_never_written_to() {
    let dir = tempfile::tempdir().unwrap();
    let at = |name: &str| dir.path().join(name);
    fs::write(at("mine.html"), "mine").unwrap();
    symlink(at("mine.html"), at("link.html")).unwrap();
    symlink(at("nowhere.html"), at("dangling.html")).unwrap();
    fs::create_dir(at("folder.html")).unwrap();
    let bottle = |out: &Path| {
        let out = out.to_str().unwrap().to_owned();
        let args = ["labels", "bottle", "--contents", "water", "--made", "2026-07-15", "--expires", "2026-07-16"];
        args.into_iter().map(str::to_owned).chain(["--out".to_owned(), out]).collect::<Vec<_>>()
    };
    let refuse = |out: &Path| {
        let args = bottle(out);
        refused(73, &args.iter().map(String::as_str).collect::<Vec<_>>())
    };
    assert!(refuse(&at("mine.html")).contains("is there already"));
    assert!(refuse(&at("link.html")).contains("is a link"));
    assert!(refuse(&at("dangling.html")).contains("is a link"));
    assert!(refuse(&at("folder.html")).contains("is there already"));
    assert!(refuse(&at("no/such/folder.html")).contains("cannot be written"));
    assert_eq!(fs::read_to_string(at("mine.html")).unwrap(), "mine");
    assert!(!at("nowhere.html").exists());
    assert_eq!(names(dir.path()).len(), 4, "nothing half written is left");
    let args = bottle(&at("new.html"));
    assert_eq!(run(&args.iter().map(String::as_str).collect::<Vec<_>>()).0, 0);
    assert_eq!(fs::metadata(at("new.html")).unwrap().permissions().mode() & 0o777, 0o600);
}

#[test]
fn arguments_that_cannot_be_meant_are_refused_in_words() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("page.html");
    let out = out.to_str().unwrap();
    let book = demo().to_str().unwrap();
    let trays = ["labels", "trays", "--today", "--book", book, "--now", NOW];
    let on = |more: &[&str]| refused(64, &[&trays[..], more].concat());
    assert!(on(&["--out", "page.txt"]).contains("must end in .html"));
    assert!(on(&["--out", out, "--roll", "20x10"]).contains("50 to 150 wide"));
    assert!(on(&["--out", out, "--sheet", "a4-24", "--roll", "62x29"]).contains("leave --sheet out"));
    on(&["--out", out, "--sheet", "a5"]);
    on(&["--out", out, "T0001-W"]);
    on(&[]);
    refused(64, &["labels", "trays", "--book", book, "--out", out]);
    refused(64, &["labels", "jars", "--book", book, "--out", out]);
    let bottle = |contents: &str, made: &str, expires: &str| {
        refused(64, &["labels", "bottle", "--contents", contents, "--made", made, "--expires", expires, "--out", out])
    };
    assert!(bottle("water", "2026-07-15", "2026-07-14").contains("cannot expire before it was made"));
    assert!(bottle("water", "15.7.2026", "2026-07-16").contains("like 2026-07-15"));
    assert!(bottle("water", "2026-02-30", "2026-07-16").contains("like 2026-07-15"));
    assert!(bottle(" ", "2026-07-15", "2026-07-16").contains("say something"));
    assert!(bottle(&"x".repeat(37), "2026-07-15", "2026-07-16").contains("at most 36 characters"));
    assert!(!Path::new(out).exists());
    refused(66, &["labels", "jars", "--all", "--book", "/nonexistent/room.rackwalk", "--out", out]);
}

/// Every verb there is, as the program's own help lists them.
fn verbs(of: &[&str]) -> Vec<String> {
    let (_, help, _) = run(&[of, &["--help"]].concat());
    let commands = between(&help, "Commands:\n", "\n\n");
    let name = |line: &str| line.split_whitespace().next().unwrap().to_owned();
    commands.lines().map(name).filter(|verb| verb != "help").collect()
}

#[test]
fn completions_know_every_verb() {
    let mut all = verbs(&[]);
    assert!(all.len() >= 9 && all.contains(&"labels".to_owned()), "{all:?}");
    all.extend(verbs(&["labels"]));
    all.extend(verbs(&["calc"]));
    for shell in ["bash", "zsh", "fish"] {
        let (code, script, err) = run(&["completions", shell]);
        assert_eq!((code, err.as_str()), (0, ""), "{shell}");
        for verb in &all {
            let word = script.split(|c: char| !c.is_ascii_alphanumeric() && c != '-').any(|word| word == verb);
            assert!(word, "{shell} does not know {verb}");
        }
        assert!(script.contains("letter-24"), "{shell} offers values");
    }
    refused(64, &["completions", "tcsh"]);
}

#[test]
fn the_manual_has_a_page_for_every_verb() {
    let (code, manual, err) = run(&["man"]);
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(manual.contains(".TH rackwalk 1"), "{manual}");
    for verb in verbs(&[]) {
        assert!(manual.contains(&format!("rackwalk\\-{verb}(1)")), "{verb}");
        let (code, page, _) = run(&["man", &verb]);
        assert!(code == 0 && page.contains(&format!(".TH rackwalk-{verb} 1")), "{page}");
    }
    let (_, page, _) = run(&["man", "labels", "trays"]);
    assert!(page.contains("\\-\\-today") && page.contains("fail when wet"), "{page}");
    assert!(refused(64, &["man", "dance"]).contains("take one of demo, today"));
    assert!(refused(64, &["man", "today", "again"]).contains("no verbs of its own"));
}

/// The demo room on a market day, with a licensed prefix that one product is numbered under.
fn numbered() -> (tempfile::TempDir, std::path::PathBuf) {
    use rackwalk::domain::action::Action;
    use rackwalk::domain::id::PersonId;
    use rackwalk::domain::product::NewProduct;
    use rackwalk::domain::sender::Sender;

    let dir = tempfile::tempdir().unwrap();
    let book = dir.path().join("room.rackwalk");
    fs::copy(demo(), &book).unwrap();
    let mut store = Store::open(&book, "test").unwrap();
    let now = rackwalk::runtime::clock::parse_now(NOW).unwrap();
    let board = store.board().unwrap();
    let sender = Sender { gs1_prefix: Some("6291041".into()), ..board.sender.clone() };
    store.act(&Action::EditSender { sender: Box::new(sender), rev: board.sender_rev }, PersonId(1), now).unwrap();
    let goods = store.goods(now.day()).unwrap();
    let lot = goods.lots.iter().find(|lot| lot.product.is_some() && !lot.name.starts_with("Basil")).unwrap();
    let product = goods.product(lot.product.unwrap()).unwrap();
    let new = NewProduct {
        name: product.name.clone(),
        kind: product.kind,
        pack_g: product.pack_g,
        gtin: Some("6291041500213".into()),
        price_c: None,
        parts: product.parts.iter().map(|part| (part.crop, part.share_pm)).collect(),
    };
    let edit = Action::EditProduct { product: product.id, new: Box::new(new), retired: false, rev: product.rev };
    store.act(&edit, PersonId(1), now).unwrap();
    (dir, book)
}

fn symbol(label: &str) -> String {
    format!("<svg{}</svg>", between(label, "<svg", "</svg>"))
}

/// Any symbol, drawn as large as it is printed.
fn read_any(svg: &str, side_mm: f32, format: BarcodeFormat) -> String {
    let tree = Tree::from_str(svg, &Options::default()).unwrap();
    let dots = side_mm * DOTS;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "some hundred dots")]
    let side = dots.ceil() as u32;
    let mut pixmap = Pixmap::new(side, side).unwrap();
    pixmap.fill(resvg::tiny_skia::Color::WHITE);
    let scale = dots / tree.size().width().max(tree.size().height());
    resvg::render(&tree, Transform::from_scale(scale, scale), &mut pixmap.as_mut());
    let luma = pixmap.pixels().iter().map(|p| p.green()).collect();
    detect_in_luma(luma, side, side, Some(format)).unwrap().getText().to_owned()
}

fn sold_codes(kind: rackwalk::domain::lot::Kind, without: &str) -> Vec<String> {
    let now = rackwalk::runtime::clock::parse_now(NOW).unwrap();
    let goods = Store::open(demo(), "test").unwrap().goods(now.day()).unwrap();
    let lots = goods.lots.into_iter().filter(|lot| lot.kind == kind && !lot.name.starts_with(without));
    lots.map(|lot| lot.code).take(4).collect()
}

#[test]
fn labels_of_packs_and_tubs_are_read_back_and_say_what_they_must() {
    use rackwalk::domain::lot::Kind as LotKind;

    let codes = sold_codes(LotKind::Pack, "Basil");
    for sheet in ["a4-12", "a4-24", "letter-12", "letter-24", "roll"] {
        let book = demo().to_str().unwrap();
        let args: Vec<&str> =
            ["packs", "--book", book, "--sheet", sheet].into_iter().chain(codes.iter().map(String::as_str)).collect();
        let html = page(&args);
        let read = read_back(&html);
        assert!(read.len() >= codes.len());
        assert_read(&read, Kind::Lot, sheet);
    }
    let html = page(&["packs", &codes[0], "--book", demo().to_str().unwrap()]);
    for must in [
        "LOT NB ",
        "packed 2026-",
        "cut 2026-",
        "BEST BEFORE 2026-",
        "net ",
        "North Bench, 2 Kiln Yard, Lowmarsh LM4, 555 0123",
        "Keep refrigerated. Wash before eating.",
    ] {
        assert!(html.contains(must), "{must}");
    }
    let tubs = sold_codes(LotKind::Harvest, "basil");
    let html = page(&["tubs", &tubs[0], "--book", demo().to_str().unwrap()]);
    assert_read(&read_back(&html), Kind::Lot, "tubs");
    assert!(html.contains("For packing; keep cold, dry and covered."));
}

#[test]
fn a_blend_lists_its_crops_by_weight_and_an_unchecked_allergen_bars_the_label() {
    // on one evening the mix is in stock, on another mustard and basil are
    const EVENING: &str = "2026-07-14T17:00Z";
    const BEFORE: &str = "2026-07-13T17:00Z";
    const LATER: &str = "2026-07-15T17:00Z";
    let dir = tempfile::tempdir().unwrap();
    let code = |evening: &str, name: &str| {
        let book = dir.path().join(format!("{}.rackwalk", &evening[..10]));
        if !book.exists() {
            assert_eq!(run(&["demo", "--into", book.to_str().unwrap(), "--now", evening]).0, 0);
        }
        let now = rackwalk::runtime::clock::parse_now(evening).unwrap();
        let goods = Store::open(&book, "test").unwrap().goods(now.day()).unwrap();
        let lot = goods.lots.iter().find(|lot| lot.name.starts_with(name)).unwrap().code.clone();
        (lot, book.to_str().unwrap().to_string())
    };
    let (mix, book) = code(EVENING, "Bench mix");
    let html = page(&["packs", &mix, "--book", &book]);
    let listed = format!("pea {}", between(&html, "<p class=\"line\">pea ", "</p>"));
    let parts: Vec<(&str, f64)> = listed
        .split(", ")
        .map(|part| part.trim_end_matches(" %").rsplit_once(' ').unwrap())
        .map(|(name, share)| (name, share.parse().unwrap()))
        .collect();
    for (part, (name, share)) in parts.iter().zip([("pea", 50.0), ("radish", 30.0), ("broccoli", 20.0)]) {
        assert!(part.0 == name && (part.1 - share).abs() < 3.0, "{listed}");
    }
    assert_eq!(parts.len(), 3);
    let (mustard, book) = code(BEFORE, "Mustard");
    assert!(page(&["packs", &mustard, "--book", &book]).contains("CONTAINS MUSTARD"));
    let (basil, book) = code(LATER, "Basil");
    let out = dir.path().join("page.html");
    let args = ["labels", "packs", &basil, "--out", out.to_str().unwrap(), "--book", &book, "--now", NOW];
    let (exit, said, err) = run(&args);
    assert_eq!((exit, said.as_str()), (65, ""));
    assert!(err.contains("Allergens of basil are not checked, so no label is printed"), "{err}");
    assert!(!out.exists());
}

#[test]
fn a_licensed_number_is_read_back_from_matrix_and_link() {
    let (dir, book) = numbered();
    let now = rackwalk::runtime::clock::parse_now(NOW).unwrap();
    let goods = Store::open(&book, "test").unwrap().goods(now.day()).unwrap();
    let product = goods.products.iter().find(|product| product.gtin.is_some()).unwrap();
    let lot = goods.lots.iter().find(|lot| lot.product == Some(product.id)).unwrap();
    let plain = lot.code.replace('-', "");
    let until = lot.best_before.unwrap().format("%y%m%d");
    let page = |more: &[&str]| {
        let out = dir.path().join(format!("page{}.html", more.len()));
        let args = [
            "labels",
            "packs",
            &lot.code,
            "--out",
            out.to_str().unwrap(),
            "--book",
            book.to_str().unwrap(),
            "--now",
            NOW,
        ];
        let (exit, _, err) = run(&[&args[..], more].concat());
        assert_eq!(exit, 0, "{err}");
        let html = fs::read_to_string(&out).unwrap();
        let unit: f32 = between(&html, "--u: ", "mm").parse().unwrap();
        (symbol(&html), 20.0 * unit)
    };
    let (svg, side) = page(&[]);
    let read = read_any(&svg, side, BarcodeFormat::DATA_MATRIX);
    // a reader says FNC1 at the start in its own way
    let read = read.trim_start_matches(['\u{1d}', '\u{e8}']).trim_start_matches("]d2");
    assert_eq!(read, format!("010629104150021315{until}10{plain}"));
    assert_eq!(rackwalk::domain::gs1::lot_in(read).as_deref(), Some(plain.as_str()));
    let (svg, side) = page(&["--link"]);
    let read = read_any(&svg, side, BarcodeFormat::QR_CODE);
    assert_eq!(read, format!("https://id.gs1.org/01/06291041500213/10/{plain}"));
    assert_eq!(rackwalk::domain::gs1::lot_in(&read).as_deref(), Some(plain.as_str()));
}
