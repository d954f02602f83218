//! Knives, tables and packaging: what a lot was cut and packed with, by name.

use rackwalk::domain::action::Action;
use rackwalk::domain::correction::Correction;
use rackwalk::domain::history::{Of, Record};
use rackwalk::domain::id::{EntryId, LotId, ToolId};
use rackwalk::domain::packing::NewRun;
use rackwalk::domain::tool::Tool;

use super::sold::{Shop, pack, shop};
use super::{act_as, assert_sound, number, person, raw};
use crate::book::AK;

/// The rules met here.
pub(super) const MET: &[&str] = &["packaging", "tool_name", "tool_taken"];

fn run(s: &Shop, tools: &[&str], packaging: Option<(&str, &str)>) -> Action {
    let Action::Pack(new) = pack(s.shoots_of, s.pea, 1, 100) else { panic!("a run") };
    let tools = tools.iter().map(ToString::to_string).collect();
    let packaging = packaging.map(|(name, code)| (name.into(), code.into()));
    Action::Pack(Box::new(NewRun { tools, packaging, ..*new }))
}

fn tools(s: &Shop) -> Vec<Tool> {
    s.book.store.goods(s.book.now.day()).unwrap().tools
}

fn names(s: &Shop) -> Vec<(String, bool)> {
    tools(s).into_iter().map(|tool| (tool.name, tool.retired)).collect()
}

fn edit(s: &Shop, name: &str, new: &str, retired: bool) -> Action {
    let tool = tools(s).into_iter().find(|tool| tool.name == name).unwrap();
    Action::EditTool { tool: tool.id, name: new.into(), retired, rev: tool.rev }
}

fn last(s: &Shop) -> String {
    s.book.store.history(Of::Everything, None, 1).unwrap().remove(0).text
}

#[test]
fn tools_are_made_by_their_names_and_found_again() {
    let mut s = shop();
    let new = run(&s, &["table 2", "scale 1"], Some(("boxes", "BX-1")));
    let lot = LotId(s.book.act(&new).made.unwrap());
    let told = last(&s);
    assert!(told.contains(", with table 2, scale 1, into boxes of lot BX-1; trim 0 g"), "{told}");
    let new = run(&s, &["TABLE 2", "table 2", "knife 1"], None);
    s.book.act(&new);
    let all: Vec<(String, bool)> = ["knife 1", "scale 1", "table 2"].map(|name| (name.into(), false)).to_vec();
    assert_eq!(names(&s), all);
    let goods = s.book.store.goods(s.book.now.day()).unwrap();
    assert_eq!(goods.last_use.packed, ["table 2", "knife 1"]);
    assert_eq!(goods.last_use.packaging[&s.shoots_of], ("boxes".to_string(), "BX-1".to_string()));
    // another label keeps what it was packed with
    let reissue = Action::Reissue { lot, product: s.shoots_of, reason: "smudged".into() };
    let again = s.book.act(&reissue).made.unwrap();
    let conn = raw(&s.book.path);
    let live =
        |lot: i64| number(&conn, &format!("SELECT count(*) FROM lot_use WHERE lot_id = {lot} AND void_by IS NULL"));
    assert_eq!((live(lot.0), live(again)), (0, 3));
    assert_sound(&mut s.book);
}

#[test]
fn names_that_cannot_be_are_refused() {
    let mut s = shop();
    let many: Vec<String> = (0..13).map(|n| format!("knife {n}")).collect();
    let many: Vec<&str> = many.iter().map(String::as_str).collect();
    let long = "x".repeat(61);
    for (tools, packaging, rule) in [
        (&many[..], None, "tool_name"),
        (&[long.as_str()][..], None, "tool_name"),
        (&[" "][..], None, "tool_name"),
        (&[][..], Some(("boxes", " ")), "packaging"),
        (&[][..], Some(("", "BX-1")), "packaging"),
        (&[][..], Some(("boxes", &*"x".repeat(41))), "packaging"),
    ] {
        let new = run(&s, tools, packaging);
        s.bars(rule, &new);
    }
    let new = run(&s, &["table 2", "knife 1"], None);
    s.book.act(&new);
    let (taken, comma, empty) =
        (edit(&s, "knife 1", "Table 2", false), edit(&s, "knife 1", "a, b", false), edit(&s, "knife 1", " ", false));
    s.bars("tool_taken", &taken);
    s.bars("tool_name", &comma);
    s.bars("tool_name", &empty);
    let same = edit(&s, "knife 1", "knife 1", false);
    s.bars("no_change", &same);
    let renamed = edit(&s, "knife 1", "long knife", false);
    s.book.act(&renamed);
    assert_eq!(last(&s), "tool changed from name knife 1 to name long knife");
    s.bars("stale", &renamed);
    s.bars("unknown", &Action::EditTool { tool: ToolId(99), name: "x".into(), retired: false, rev: 0 });
    // SQLite itself keeps names apart
    let conn = raw(&s.book.path);
    let twice = conn.execute_batch("UPDATE tool SET name = 'table 2' WHERE name = 'long knife'").unwrap_err();
    assert!(twice.to_string().contains("UNIQUE constraint failed: tool.name"), "{twice}");
    assert_sound(&mut s.book);
}

#[test]
fn one_out_of_use_comes_back_when_it_is_named() {
    let mut s = shop();
    let new = run(&s, &["table 2"], None);
    s.book.act(&new);
    let off = edit(&s, "table 2", "table 2", true);
    s.book.act(&off);
    assert_eq!(names(&s), [("table 2".to_string(), true)]);
    let new = run(&s, &["table 2"], None);
    s.book.act(&new);
    assert_eq!(names(&s), [("table 2".to_string(), false)]);
    let story = s.book.store.history(Of::Record(Record::Tool, 1), None, 9).unwrap();
    let kinds: Vec<&str> = story.iter().map(|line| line.kind.as_str()).collect();
    assert_eq!(kinds, ["packed", "tool", "packed"]);
    assert_eq!(s.book.store.last_hands(Record::Tool, 1).unwrap().as_deref(), Some("AK"));
    // taken back, it is out of use as before
    s.book.act(&Action::Undo);
    assert_eq!(names(&s), [("table 2".to_string(), true)]);
    assert_sound(&mut s.book);
}

#[test]
fn a_run_that_named_a_tool_first_can_be_taken_back_after_others_used_it() {
    let mut s = shop();
    let rm = person(&mut s.book, "RM", false);
    let new = run(&s, &["table 2", "scale 9"], Some(("boxes", "BX-1")));
    let first: EntryId = s.book.act(&new).entry;
    let new = run(&s, &["table 2"], Some(("boxes", "BX-1")));
    act_as(&mut s.book, rm, &new);
    let never =
        Action::Correct { entry: first, correction: Correction::Never, reason: "typed twice".into(), second: None };
    s.book.act(&never);
    // what the other run uses stays, the rest goes out of use
    assert_eq!(names(&s), [("scale 9".to_string(), true), ("table 2".to_string(), false)]);
    let boxes = s.book.board().materials.into_iter().find(|material| material.name == "boxes").unwrap();
    assert_eq!(boxes.lots.len(), 1);
    let conn = raw(&s.book.path);
    assert_eq!(number(&conn, "SELECT count(*) FROM lot_use WHERE void_by IS NULL"), 2);
    assert_sound(&mut s.book);
    // and the other one taken back as well, nothing of it is left in use
    act_as(&mut s.book, rm, &Action::Undo);
    assert_eq!(number(&conn, "SELECT count(*) FROM lot_use WHERE void_by IS NULL"), 0);
    assert_sound(&mut s.book);
    // by undo the same
    let new = run(&s, &["knife 5"], None);
    s.book.act(&new);
    s.book.store.act(&Action::Undo, AK, s.book.now).unwrap();
    assert!(names(&s).contains(&("knife 5".to_string(), true)));
    assert_sound(&mut s.book);
}
