//! What comes in one go: pastes and scans.

use rackwalk::domain::history::Of;

use super::Home;

#[test]
fn a_paste_goes_into_the_field_and_never_submits() {
    let home = Home::with_trays();
    let mut pty = home.start();
    pty.sees("North Bench (NB)").send("e").sees("in the order of use").send("a").sees("Receive a seed lot");
    pty.send("radish\r").sees("2 of 14");
    pty.paste("Marsh\r\n& Sons\u{1b}[31m\t\u{7}Ltd\r").sees("Marsh & Sons Ltd").sees("2 of 14");
    // all of a long one arrives, and is cut to what fits
    pty.send("\t").sees("3 of 14").paste(&"0123456789".repeat(1000)).sees("only 80 characters fit");
    assert!(!pty.shows("Not yet"));
}

#[test]
fn a_paste_outside_a_field_does_nothing() {
    let home = Home::with_trays();
    let before = home.store().history(Of::Everything, None, 1).unwrap();
    let mut pty = home.start();
    pty.sees("North Bench (NB)")
        .paste("w\ra\rffff\rq")
        .sees("Pasted text goes into a text field")
        .sees("Runs out first");
    pty.send("q");
    assert!(pty.ends().success());
    assert_eq!(home.store().history(Of::Everything, None, 1).unwrap(), before);
}

#[test]
fn a_scanner_types_fast_and_fires_nothing() {
    let home = Home::with_trays();
    let before = home.store().history(Of::Everything, None, 1).unwrap();
    let mut pty = home.start();
    pty.sees("North Bench (NB)");
    for end in ["\r", "\t", "\n", ""] {
        pty.send(&format!("T0008-I{end}")).sees("Label T0008-I").sees("A 3-1  T0008-I");
        pty.send(&format!("T0006-M{end}")).sees("Label T0006-M").sees("A 2-2  T0006-M");
    }
    pty.send("q");
    assert!(pty.ends().success());
    assert_eq!(home.store().history(Of::Everything, None, 1).unwrap(), before);
}
