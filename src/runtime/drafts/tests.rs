use super::*;

fn forms(note: &str) -> Forms {
    let fields = [("crop", "Radish"), ("note", note)].map(|(name, value)| (name.to_owned(), value.to_owned()));
    Forms::from([("sowing".to_owned(), BTreeMap::from(fields))])
}

fn mode(path: &Path) -> u32 {
    fs::metadata(path).unwrap().permissions().mode() & 0o777
}

/// A state folder that is not made yet, and a book.
fn place() -> (tempfile::TempDir, PathBuf, PathBuf) {
    let base = tempfile::tempdir().unwrap();
    let book = base.path().join("north.rackwalk");
    fs::write(&book, "").unwrap();
    let dir = base.path().join("state/rackwalk");
    (base, dir, book)
}

fn json_files(dir: &Path) -> usize {
    fs::read_dir(dir).unwrap().filter(|e| e.as_ref().unwrap().path().extension().is_some_and(|x| x == "json")).count()
}

#[test]
fn drafts_come_back_at_the_next_start_and_nobody_else_can_read_them() {
    let (_base, dir, book) = place();
    let drafts = Drafts::at(dir.clone(), &book).unwrap();
    assert_eq!(drafts.load().unwrap(), Loaded::default());
    drafts.save(&forms("half a “note”\nof two lines")).unwrap();
    assert_eq!((mode(&dir), mode(&drafts.file())), (0o700, 0o600));
    drop(drafts);

    let next = Drafts::at(dir, &book).unwrap();
    let expected = Loaded { forms: forms("half a “note”\nof two lines"), set_aside: None };
    assert_eq!(next.load().unwrap(), expected);
    assert_eq!(next.load().unwrap(), expected, "reading takes nothing away");
}

#[test]
fn a_folder_others_could_read_is_closed() {
    let (_base, dir, book) = place();
    fs::create_dir_all(&dir).unwrap();
    fs::set_permissions(&dir, Permissions::from_mode(0o755)).unwrap();
    Drafts::at(dir.clone(), &book).unwrap();
    assert_eq!(mode(&dir), 0o700);
}

#[test]
fn empty_drafts_leave_no_file() {
    let (_base, dir, book) = place();
    let drafts = Drafts::at(dir, &book).unwrap();
    drafts.save(&Forms::new()).unwrap();
    drafts.save(&forms("x")).unwrap();
    assert!(drafts.file().exists());
    drafts.save(&Forms::from([("sowing".to_owned(), BTreeMap::new())])).unwrap();
    assert!(!drafts.file().exists());
}

#[test]
fn a_broken_file_is_kept_under_another_name_each_time() {
    let (_base, dir, book) = place();
    let drafts = Drafts::at(dir, &book).unwrap();
    for (number, bytes) in [&b"{\"sowing\": {\"note\": \"cut sh"[..], b"[1, 2]", b"\xff\xfe"].into_iter().enumerate() {
        fs::write(drafts.file(), bytes).unwrap();
        let loaded = drafts.load().unwrap();
        let kept = loaded.set_aside.unwrap();
        assert_eq!(loaded.forms, Forms::new());
        assert!(kept.to_string_lossy().ends_with(&format!(".broken-{}", number + 1)), "{}", kept.display());
        assert_eq!(fs::read(kept).unwrap(), bytes);
        assert_eq!(drafts.load().unwrap(), Loaded::default());
    }
}

#[test]
fn a_file_that_cannot_be_read_is_an_error_and_stays() {
    let (_base, dir, book) = place();
    let drafts = Drafts::at(dir, &book).unwrap();
    // Also the superuser cannot read a folder as a file.
    fs::create_dir(drafts.file()).unwrap();
    assert!(format!("{:#}", drafts.load().unwrap_err()).contains("cannot be read"));
    assert!(drafts.file().exists());
}

#[test]
fn a_save_that_fails_keeps_what_was_there() {
    let (_base, dir, book) = place();
    let drafts = Drafts::at(dir, &book).unwrap();
    drafts.save(&forms("first")).unwrap();
    // Something in the way that cannot be removed as a file.
    let fresh = drafts.file().with_extension("new");
    fs::create_dir(&fresh).unwrap();
    assert!(drafts.save(&forms("second")).is_err());
    assert_eq!(drafts.load().unwrap().forms, forms("first"));
    fs::remove_dir(&fresh).unwrap();
    // Half a file of a program that was killed is no obstacle.
    fs::write(&fresh, "{\"sow").unwrap();
    drafts.save(&forms("second")).unwrap();
    assert_eq!(drafts.load().unwrap().forms, forms("second"));
    assert!(!fresh.exists());
}

#[test]
fn two_programs_at_one_book_keep_apart() {
    let (_base, dir, book) = place();
    let first = Drafts::at(dir.clone(), &book).unwrap();
    first.save(&forms("AK")).unwrap();
    let second = Drafts::at(dir.clone(), &book).unwrap();
    assert_eq!(second.load().unwrap(), Loaded::default(), "drafts of a running program are its own");
    second.save(&forms("RM")).unwrap();
    second.save(&Forms::new()).unwrap();
    assert_eq!(first.load().unwrap().forms, forms("AK"));
    assert_eq!(json_files(&dir), 1);
}

#[test]
fn drafts_of_another_seat_are_offered_once_its_program_has_ended() {
    let (_base, dir, book) = place();
    let first = Drafts::at(dir.clone(), &book).unwrap();
    let second = Drafts::at(dir.clone(), &book).unwrap();
    first.save(&forms("AK")).unwrap();
    second.save(&forms("RM")).unwrap();
    drop((first, second));

    let next = Drafts::at(dir.clone(), &book).unwrap();
    assert_eq!(next.load().unwrap().forms, forms("AK"), "its own come first");
    assert_eq!(json_files(&dir), 2);
    next.save(&Forms::new()).unwrap();
    drop(next);

    let after = Drafts::at(dir.clone(), &book).unwrap();
    assert_eq!(after.load().unwrap().forms, forms("RM"));
    assert_eq!(json_files(&dir), 1);
}

#[test]
fn a_book_is_known_by_where_it_really_is() {
    let (base, dir, book) = place();
    let link = base.path().join("link.rackwalk");
    std::os::unix::fs::symlink(&book, &link).unwrap();
    let other = base.path().join("south.rackwalk");
    assert_eq!(stem(&book), stem(&link));
    assert_ne!(stem(&book), stem(&other));

    let before = stem(&other);
    fs::write(&other, "").unwrap();
    assert_eq!(stem(&other), before, "making the book changes nothing");

    Drafts::at(dir.clone(), &book).unwrap().save(&forms("north")).unwrap();
    assert_eq!(Drafts::at(dir, &other).unwrap().load().unwrap(), Loaded::default());
}
