//! Opening a record that is allocated to a colleague, on a sealed ward.

use super::*;
use crate::view::access::{AccessOf, access_record};

/// Maya and Tom on a sealed ward; T01 is allocated to Tom, and Maya is signed in.
fn sealed_desk() -> (Session, tempfile::TempDir) {
    let (dir, mut station, keeper) = ward();
    station
        .seal_records(&keeper, Some("one each"), |_| Ok(()))
        .expect("sealed");
    for (handle, name) in [("maya", "Maya Lind"), ("tom", "Tom Arkwright")] {
        station
            .enrol(&keeper, &nurse(handle, name))
            .expect("enrolled");
    }
    let tom = station
        .unlock(&Handle("tom".to_owned()), PIN)
        .expect("unlocked");
    let admission = admission("Pell", "Ada", "T01", "999 000 0018");
    station.submit(&tom, &admission).expect("admitted");
    let allocation = Draft::new(Kind::Allocation)
        .with("patient", "T01")
        .with("to", "tom");
    station.submit(&tom, &allocation).expect("allocated");
    let maya = station
        .unlock(&Handle("maya".to_owned()), PIN)
        .expect("unlocked");
    let station = Arc::new(Mutex::new(station));
    let mut session = Session::new(station, SharedKnown::default(), true);
    session.unlocked(maya);
    (session, dir)
}

fn record(session: &Session) -> Vec<String> {
    let station = held(&session.station);
    let vantage = super::super::views::vantage(station.ward(), station.now());
    let found = access_record(&vantage, &AccessOf::Staff(Handle("maya".to_owned())));
    let line = |line: &crate::view::access::AccessLine| {
        format!("{}: {}", line.what, line.reason.as_deref().unwrap_or("-"))
    };
    found.accesses.iter().map(line).collect()
}

#[test]
fn one_key_says_why_and_the_record_opens() {
    let (mut session, _dir) = sealed_desk();
    let asked = session.turn("t01");
    assert!(
        asked.contains("T01 PELL, Ada is allocated to a colleague"),
        "{asked}"
    );
    assert!(session.patient.is_none(), "nothing is open yet");
    // A slot is no reason, and the question stays.
    assert!(session.turn("T01").contains("no reason"));
    let card = session.turn("1");
    assert!(
        card.contains("PELL") && card.contains("allergies"),
        "{card}"
    );
    assert!(session.patient.is_some());
    assert_eq!(
        record(&session),
        [
            "signed in to the shell, which lists everybody: -",
            "in the shell: answering a call, an alert or a message",
        ]
    );
    // Asked once, not at every look.
    session.turn("ward");
    assert!(session.turn("t01").contains("allergies"));
    assert_eq!(record(&session).len(), 2);
}

#[test]
fn a_line_that_waits_for_the_patient_is_not_lost_by_the_question() {
    let (mut session, _dir) = sealed_desk();
    session.turn("obs rr 18");
    assert!(session.turn("t01").contains("Why do you open"));
    session.turn("");
    assert!(
        matches!(&session.state, State::Ready(Some(refill)) if refill.line == "obs rr 18"),
        "{:?}",
        session.state
    );
    assert_eq!(record(&session)[1], "in the shell: -");
}

#[test]
fn whoever_thinks_better_of_it_opens_nothing() {
    let (mut session, _dir) = sealed_desk();
    assert!(session.turn("timeline t01").contains("Why do you open"));
    assert_eq!(session.turn("cancel"), "The record was not opened.");
    assert_eq!(record(&session).len(), 1);
    assert!(session.take_drawn().is_none());
    session.turn("timeline t01");
    session.turn("covering for Tom");
    assert!(
        session
            .take_drawn()
            .is_some_and(|page| page.contains("PELL"))
    );
    assert_eq!(record(&session)[1], "in the shell: covering for Tom");
}

#[test]
fn a_line_typed_at_the_question_is_neither_lost_nor_taken_for_the_reason() {
    let (mut session, _dir) = sealed_desk();
    session.turn("t01");
    let said = session.turn("obs rr 28 sats 88");
    assert!(said.contains("NOTHING WAS RECORDED"), "{said}");
    assert_eq!(record(&session).len(), 1);
    session.turn("1");
    assert!(
        matches!(&session.state, State::Ready(Some(refill)) if refill.line == "obs rr 28 sats 88"),
        "{:?}",
        session.state
    );
    assert!(record(&session)[1].contains("answering a call"));
}

#[test]
fn correcting_an_entry_opens_its_record_and_asks_first() {
    let (mut session, _dir) = sealed_desk();
    let admission = {
        let station = held(&session.station);
        let patient = station.ward().caseload()[0].pseudonym;
        let log = station.ward().log_of(Some(patient)).expect("a log");
        log.lines()[0].seq
    };
    let said = session.turn(&format!("correct {admission}"));
    assert!(
        said.contains("Why do you open") && !said.contains("Fernhill"),
        "{said}"
    );
    assert!(session.turn("2").contains("Fernhill"));
}

/// What keeps entries from being written keeps nobody from a patient.
#[test]
fn an_opening_that_cannot_be_recorded_is_asked_about_once_and_opens() {
    let (mut session, dir) = sealed_desk();
    // Somebody else is writing, and does not stop.
    let options =
        crate::journal::WriteOptions::new("another program", Timestamp(1_784_208_000_000_000));
    let _writing = crate::journal::FileStore::open_writer(&dir.path().join("journal"), &options)
        .expect("the lock");
    assert!(session.turn("t01").contains("Why do you open"));
    let shown = session.turn("1");
    assert!(
        shown.contains("allergies") && shown.contains("could not be recorded"),
        "{shown}"
    );
    session.turn("ward");
    assert!(session.turn("t01").contains("allergies"), "asked once");
}

#[test]
fn lock_behind_a_refused_line_locks_and_keeps_the_line() {
    let mut desk = desk();
    desk.turn("obs rr 18x");
    desk.turn("obs rr 18x lock");
    assert!(matches!(desk.session.next, Next::Lock(_)));
    let mut desk = super::desk();
    desk.turn("alert");
    for answer in ["kit", "", "obs rr 30"] {
        desk.turn(answer);
    }
    desk.turn("obs rr 30lock");
    assert!(matches!(desk.session.next, Next::Lock(_)));
    // So with the word that stops a form: it is not taken as part of the text.
    let mut desk = super::desk();
    desk.turn("alert");
    for answer in ["kit", "", "obs rr 30"] {
        desk.turn(answer);
    }
    let said = desk.turn("obs rr 30cancel");
    assert!(said.contains("Stopped; nothing was recorded"), "{said}");
}
