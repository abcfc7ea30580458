//! Several patients allocated on one line: an entry each, all of them or none.

use super::*;
use crate::record::kind::Body;

impl Desk {
    fn to_whom(&self, seq: Seq) -> (String, String) {
        let station = held(&self.session.station);
        match station.entry(seq) {
            Ok(Read::Entry(entry)) => {
                let patient = entry.patient.and_then(|one| station.ward().patient(one));
                let slot = patient.and_then(|one| one.slot()).expect("a slot");
                match &entry.body {
                    Body::Allocation(allocation) => (slot.to_owned(), allocation.to.to_string()),
                    other => panic!("{other:?}"),
                }
            }
            _ => panic!("{seq} cannot be read"),
        }
    }

    fn refused_whole(&mut self, line: &str, parts: &[&str], goes_on_at: &str) {
        let before = self.head();
        let said = self.turn(line);
        for part in parts {
            assert!(said.contains(part), "{line}: no {part:?} in\n{said}");
        }
        assert_eq!(self.head(), before, "{line}: {said}");
        match &self.session.state {
            State::Ready(Some(refill)) => {
                assert_eq!(refill.line, line);
                assert_eq!(&line[refill.at.start..], goes_on_at, "{line}");
            }
            other => panic!("{line}: {other:?}"),
        }
    }
}

#[test]
fn several_patients_get_an_entry_each() {
    let mut desk = desk();
    let before = desk.head();
    let said = desk.turn("allocate maya t07 @t09");
    let (first, second) = (before.next(), before.next().next());
    assert_eq!(desk.head(), second, "{said}");
    assert_eq!(desk.to_whom(first), ("T07".into(), "maya".into()));
    assert_eq!(desk.to_whom(second), ("T09".into(), "maya".into()));
    for part in ["T07 PELL, Kofi", "T09 OSEI, Kofi"] {
        assert!(said.contains(part), "{said}");
    }
    // One line, so one undo.
    desk.turn("undo");
    let station = held(&desk.session.station);
    let caseload = station.ward().caseload();
    assert!(caseload.iter().all(|one| one.allocated_to().is_none()));
}

#[test]
fn whoever_is_selected_needs_no_name() {
    let mut desk = desk();
    let seq = desk.records("allocate tom");
    assert_eq!(desk.to_whom(seq), ("T09".into(), "tom".into()));
    let seq = desk.records("allocate to maya at 14:10");
    assert_eq!(desk.to_whom(seq), ("T09".into(), "maya".into()));
}

#[test]
fn one_wrong_patient_and_nobody_is_allocated() {
    let mut desk = desk();
    desk.refused_whole(
        "allocate maya t07 t99 t09",
        &[
            "Nothing was recorded",
            "t99: ",
            "no patient on this ward",
            "\"t99\"",
        ],
        "t99 t09",
    );
    desk.refused_whole(
        "allocate maya t07 kofi zed",
        &["kofi: ", "could be 2 patients", "zed: ", "called \"zed\""],
        "kofi zed",
    );
    // Twice by two names is told by the ward, twice by one name by the line.
    desk.refused_whole(
        "allocate maya t07 pell",
        &["pell: ", "the same patient was named before"],
        "pell",
    );
    desk.refused_whole(
        "allocate maya t07 T07",
        &["\"T07\" is there twice", "each patient once"],
        "T07",
    );
    // What is wrong with all of them is said once.
    desk.refused_whole(
        "allocate nobody t07 t09",
        &["Nothing was recorded", "nobody"],
        "nobody t07 t09",
    );
    desk.refused_whole(
        "allocate maya t07 shift #12 @t09",
        &["stands apart", "all patients right after maya"],
        "@t09",
    );
}

/// The journal may keep the first of several and lose the rest, if it stops between them.
#[test]
fn what_is_not_known_of_several_is_looked_for_one_by_one() {
    let mut desk = desk();
    let line = "allocate maya t07 t09";
    desk.turn("allocate maya t07");
    let stands = desk.head();
    let error = SubmitError::NotKnown {
        id: desk.id_of(stands),
        further: vec![EntryId([7; 16])],
        cause: "flush failed".to_owned(),
    };
    assert!(
        error.to_string().contains("1 with it were recorded"),
        "{error}"
    );
    let entries = desk.entries(line);
    let said = desk.session.stopped_at(0, &[], entries, line, &error);
    assert!(said.contains("not known"), "{said}");
    let said = desk.turn("draft");
    assert!(
        said.contains(&format!("It is recorded: {stands}.")),
        "{said}"
    );
    assert_eq!(
        desk.head(),
        stands.next(),
        "only the second is written: {said}"
    );
    assert_eq!(desk.to_whom(stands.next()), ("T09".into(), "maya".into()));
    // Both stand: neither is entered again.
    let error = SubmitError::NotKnown {
        id: desk.id_of(stands),
        further: vec![desk.id_of(stands.next())],
        cause: "flush failed".to_owned(),
    };
    let entries = desk.entries(line);
    desk.session.stopped_at(0, &[], entries, line, &error);
    let said = desk.turn("draft");
    let both = format!("It is recorded: {stands}, {}.", stands.next());
    assert!(said.contains(&both), "{said}");
    assert_eq!(desk.head(), stands.next(), "{said}");
}
