//! Damage that is met only while a page is drawn: the page says so itself, as on the command
//! line, and pages drawn from what was read before do not.

use super::*;
use crate::shorthand::Act;

/// One bit of an entry flips on the disk while the session is open.
fn flip(desk: &Desk, words: &[u8]) {
    let path = held(&desk.session.station).layout().segment(Seq(1));
    let mut bytes = std::fs::read(&path).expect("the segment");
    let at = bytes.windows(words.len()).position(|here| here == words);
    bytes[at.expect("the words are there")] ^= 1;
    std::fs::write(&path, bytes).expect("written");
}

fn drawn(desk: &mut Desk) -> String {
    desk.session.take_drawn().expect("a page")
}

#[test]
fn a_page_as_of_an_earlier_moment_names_damage_met_while_it_was_drawn() {
    let mut desk = desk();
    let note = desk.records("note slept well");
    let now = held(&desk.session.station).now();
    let said = format!("NOT COMPLETE: entry {note} is damaged");
    for act in [Act::Caseload, Act::Alerts, Act::Timeline] {
        desk.session.view(act, "", Some(now));
        assert!(!drawn(&mut desk).contains("NOT COMPLETE"), "{act:?}");
    }
    flip(&desk, b"slept well");
    for act in [Act::Caseload, Act::Alerts, Act::Timeline] {
        desk.session.view(act, "", Some(now));
        let page = drawn(&mut desk);
        assert!(page.contains(&said), "{act:?}: {page}");
    }
    // Words that are no page, and the policy, are of that moment too.
    for act in [Act::Baseline, Act::Patients] {
        let words = desk.session.view(act, "", Some(now));
        assert!(words.contains(&said), "{act:?}: {words}");
    }
    desk.session.settings("", Some(now));
    assert!(drawn(&mut desk).contains(&said));
    // The ward as it stands was read before the bit flipped.
    desk.session.view(Act::Caseload, "", None);
    assert!(!drawn(&mut desk).contains("NOT COMPLETE"));
}

/// Whoever cannot write is told how to look at it and whom to tell.
#[test]
fn a_damaged_journal_says_what_to_do_and_whom_to_tell() {
    let mut desk = desk();
    desk.records("note slept well");
    flip(&desk, b"slept well");
    let clock = Arc::new(FixedClock::new(held(&desk.session.station).now()));
    let again = Station::open_with(&desk._dir.path().join("journal"), clock);
    *held(&desk.session.station) = again.expect("it is read");
    for line in ["note eats well", "handover prepare from=day to=night"] {
        let said = desk.turn(line);
        for words in [
            "the journal is damaged",
            "handfast damage show",
            "a keeper: Kit Keeper (keeper)",
            "paper",
        ] {
            assert!(said.contains(words), "{line}: no {words:?} in {said}");
        }
        desk.session.interrupted("");
    }
}

#[test]
fn a_sheet_drawn_again_names_damage_met_while_it_was_drawn() {
    let mut desk = desk();
    let note = desk.records("note slept well");
    desk.turn("handover prepare from=day to=night");
    let handover = desk.head();
    assert!(handover > note, "prepared");
    let said = desk.turn(&format!("handover show {handover}"));
    assert!(said.contains("the same to the byte"), "{said}");
    assert!(!drawn(&mut desk).contains("NOT COMPLETE"));
    flip(&desk, b"slept well");
    desk.turn(&format!("handover show {handover}"));
    let page = drawn(&mut desk);
    let said = format!("NOT COMPLETE: entry {note} is damaged");
    assert!(page.contains(&said), "{page}");
}
