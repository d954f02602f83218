//! The second copy on another disk, and the way back from it.

use std::fs::{self, File};
use std::os::unix::fs::{MetadataExt, PermissionsExt, symlink};
use std::path::{Path, PathBuf};

use chrono::Duration;
use rackwalk::domain::action::Action;
use rackwalk::domain::look::Roots;
use rackwalk::store::Store;
use rackwalk::store::error::StoreError;
use rackwalk::store::open::look;
use rackwalk::store::restore::restore;

use crate::book::{AK, Book, roots};

/// A folder on another file system than temporary files: the second disk of these tests.
pub fn stick() -> tempfile::TempDir {
    let here = fs::metadata(std::env::temp_dir()).unwrap().dev();
    let other = ["/dev/shm", "/var/tmp", "/run/user", "/tmp"]
        .iter()
        .find(|folder| fs::metadata(folder).is_ok_and(|meta| meta.dev() != here))
        .expect("these tests need a folder on a second file system, such as /dev/shm");
    tempfile::tempdir_in(other).unwrap()
}

/// A room with a few looks.
fn lived_in() -> Book {
    let mut book = Book::room();
    let lot = book.seed("RAD", 1000);
    let trays = book.sow("RAD", lot, 4);
    book.later(Duration::days(2));
    for tray in trays {
        book.act(&roots(tray, Roots::Plenty));
    }
    book
}

fn copy(book: &Book, folder: &Path) -> PathBuf {
    book.store.second_copy(folder, book.now.day()).unwrap()
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|file| file.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

fn rule(result: Result<PathBuf, StoreError>) -> &'static str {
    match result {
        Err(StoreError::Rule(refusal)) => refusal.rule,
        other => panic!("expected a refusal, got {other:?}"),
    }
}

#[test]
fn a_day_has_one_copy_which_only_its_owner_reads() {
    let (mut book, stick) = (lived_in(), stick());
    assert_eq!(book.store.newest_copy(stick.path(), book.now.day()), None);
    let made = copy(&book, stick.path());
    assert_eq!(names(stick.path()), ["rackwalk-NB-2026-07-03.rackwalk"]);
    assert_eq!(fs::metadata(&made).unwrap().permissions().mode() & 0o777, 0o600);
    assert_eq!(book.store.newest_copy(stick.path(), book.now.day()), Some(book.now.day()));

    // later that day nothing is to be done, and the file stays as it is
    let before = fs::read(&made).unwrap();
    book.seed("PEA", 500);
    book.later(Duration::hours(3));
    assert_eq!(copy(&book, stick.path()), made);
    assert_eq!(fs::read(&made).unwrap(), before);

    book.later(Duration::days(1));
    copy(&book, stick.path());
    assert_eq!(names(stick.path()), ["rackwalk-NB-2026-07-03.rackwalk", "rackwalk-NB-2026-07-04.rackwalk"]);
    // a copy of a day to come was made by a wrong clock, and says nothing
    let before = book.now.day() - Duration::days(1);
    assert_eq!(book.store.newest_copy(stick.path(), before), Some(before));
}

#[test]
fn a_stick_in_the_drawer_is_remembered() {
    let (book, stick) = (lived_in(), stick());
    copy(&book, stick.path());
    let folder = stick.path().to_owned();
    drop(stick);
    assert_eq!(book.store.newest_copy(&folder, book.now.day()), Some(book.now.day()));
    // the empty mount point it leaves is on the book's own disk
    let point = book.path.with_file_name("mount");
    fs::create_dir(&point).unwrap();
    assert_eq!(book.store.newest_copy(&point, book.now.day()), None, "never copied there");
}

#[test]
fn thirty_days_stay_and_nothing_else_is_touched() {
    let (mut book, stick) = (lived_in(), stick());
    let other = lived_in_elsewhere();
    let bytes = fs::read(copy(&other, stick.path())).unwrap();
    let place = |name: &str, bytes: &[u8]| fs::write(stick.path().join(name), bytes).unwrap();
    // old enough to go by their names, but not ours: another book, another room's code, another form of name
    fs::remove_file(stick.path().join("rackwalk-NB-2026-07-01.rackwalk")).unwrap();
    place("rackwalk-NB-2026-01-01.rackwalk", &bytes);
    place("rackwalk-NB-2026-01-02.rackwalk", b"no book at all");
    // newer than all of ours, and in nobody's place
    place("rackwalk-NB-2027-01-01.rackwalk", &bytes);
    place("rackwalk-SB-2026-01-03.rackwalk", &bytes);
    place("holiday.jpg", b"");
    let kept = names(stick.path());
    for _ in 0..33 {
        copy(&book, stick.path());
        book.later(Duration::days(1));
    }
    let left = names(stick.path());
    assert!(kept.iter().all(|name| left.contains(name)), "{left:?}");
    let ours: Vec<&String> = left.iter().filter(|name| !kept.contains(name)).collect();
    assert_eq!(ours.len(), 30);
    assert_eq!(*ours[0], "rackwalk-NB-2026-07-06.rackwalk");
    assert_eq!(*ours[29], "rackwalk-NB-2026-08-04.rackwalk");
}

/// A second room that happens to have the same code.
fn lived_in_elsewhere() -> Book {
    let mut book = Book::of_racks("1x2x2");
    book.seed("PEA", 100);
    book
}

#[test]
fn two_books_of_one_code_do_not_share_a_folder_unnoticed() {
    let (book, stick) = (lived_in(), stick());
    copy(&book, stick.path());
    let other = lived_in_elsewhere();
    let refused = other.store.second_copy(stick.path(), book.now.day());
    assert_eq!(rule(refused), "copy_other_book");
}

#[test]
fn a_folder_that_cannot_hold_it_is_refused_in_a_sentence() {
    let (book, stick) = (lived_in(), stick());
    let day = book.now.day();
    let home = book.path.parent().unwrap();
    let link = stick.path().join("link");
    symlink(stick.path(), &link).unwrap();
    let shut = stick.path().join("shut");
    fs::create_dir(&shut).unwrap();
    fs::set_permissions(&shut, fs::Permissions::from_mode(0o555)).unwrap();
    File::create(stick.path().join("file")).unwrap();
    for (folder, expected) in [
        (PathBuf::from("media/stick"), "copy_whole_path"),
        (stick.path().join("gone"), "copy_absent"),
        (link.clone(), "copy_link"),
        (PathBuf::from(format!("{}/", link.display())), "copy_link"),
        (stick.path().join("file"), "copy_no_folder"),
        (home.to_owned(), "copy_same_disk"),
        (shut, "copy_read_only"),
    ] {
        assert_eq!(rule(book.store.second_copy(&folder, day)), expected, "{}", folder.display());
    }
    assert_eq!(names(stick.path()), ["file", "link", "shut"], "nothing is left behind");
}

#[test]
fn the_folder_is_chosen_through_the_door_and_taken_back() {
    let (mut book, stick) = (lived_in(), stick());
    let choose = |folder: Option<&Path>| Action::SetSecondCopy { folder: folder.map(|f| f.display().to_string()) };
    let chosen = |book: &Book| book.board().second_copy;
    book.act(&choose(Some(stick.path())));
    assert_eq!(chosen(&book), Some(stick.path().display().to_string()));
    assert_eq!(book.refused(&choose(Some(stick.path()))).rule, "no_change");
    book.act(&Action::Undo);
    assert_eq!(chosen(&book), None);
    book.act(&choose(Some(stick.path())));
    book.act(&choose(None));
    assert_eq!(chosen(&book), None);
    assert_eq!(book.refused(&choose(None)).rule, "no_change");
    assert_eq!(book.store.verify_chain(|_| ()).unwrap().broken_at, None);
}

#[test]
fn a_lost_book_comes_back_from_its_copy() {
    let (book, stick) = (lived_in(), stick());
    let made = copy(&book, stick.path());
    let (board, chain) = (book.board(), book.store.verify_chain(|_| ()).unwrap());
    let now = book.now;
    // the computer is gone, and a new one has nothing
    drop(book);
    let new = tempfile::tempdir().unwrap();
    let path = new.path().join("data/rackwalk/room.rackwalk");
    let proved = restore(&made, &path, |_, _| true).unwrap();
    assert_eq!(proved, chain);
    assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
    let mut store = Store::open(&path, "x").unwrap();
    assert_eq!(store.board().unwrap(), board);
    assert_eq!(store.verify_chain(|_| ()).unwrap(), chain);
    assert_eq!(store.rebuild().unwrap(), 0);
    // and it goes on from there
    store.act(&roots(board.trays[0].id, Roots::Full), AK, now).unwrap();
    assert_eq!(store.verify_chain(|_| ()).unwrap().entries, chain.entries + 1);
}

#[test]
fn restoring_never_takes_the_place_of_anything() {
    let (book, stick) = (lived_in(), stick());
    let made = copy(&book, stick.path());
    let dir = tempfile::tempdir().unwrap();
    let to = dir.path().join("room.rackwalk");
    for name in ["room.rackwalk", "room.rackwalk-wal", "room.rackwalk-journal"] {
        fs::write(dir.path().join(name), "something").unwrap();
        let said = restore(&made, &to, |_, _| true).unwrap_err().to_string();
        assert!(said.contains("move it aside first"), "{said}");
        assert_eq!(names(dir.path()), [name]);
        fs::remove_file(dir.path().join(name)).unwrap();
    }
}

#[test]
fn a_copy_that_is_not_sound_is_not_restored() {
    let (book, stick) = (lived_in(), stick());
    let made = copy(&book, stick.path());
    let dir = tempfile::tempdir().unwrap();
    let to = dir.path().join("room.rackwalk");
    let whole = fs::read(&made).unwrap();
    let spoilt = |change: &dyn Fn(&mut Vec<u8>)| {
        let mut bytes = whole.clone();
        change(&mut bytes);
        let path = stick.path().join("spoilt.rackwalk");
        fs::write(&path, bytes).unwrap();
        restore(&path, &to, |_, _| true).unwrap_err()
    };
    let torn = spoilt(&|bytes| bytes.truncate(whole.len() / 2));
    assert!(torn.to_string().contains("This copy is not sound"), "{torn}");
    // one changed letter: SQLite is content with it, the chain is not
    let letter = spoilt(&|bytes| {
        let at = bytes.windows(9).position(|window| window == b"Fen Seeds").unwrap();
        bytes[at] = b'P';
    });
    assert!(letter.to_string().contains("This copy is not sound"), "{letter}");
    assert!(matches!(spoilt(&|bytes| *bytes = b"no book at all".to_vec()), StoreError::Foreign));
    let gone = restore(&stick.path().join("gone"), &to, |_, _| true).unwrap_err();
    assert!(matches!(gone, StoreError::NoBook(_)), "{gone}");
    assert_eq!(names(dir.path()), Vec::<String>::new());
    assert!(look(&made).is_ok(), "the good copy was not touched");
}
