//! The access record of a sealed ward.

use super::*;
use crate::record::kind::ward::AccessAct;
use crate::view::access::{AccessOf, AccessRecord, access_record};
use crate::view::origin::Vantage;

fn record(station: &Station, of: &AccessOf) -> AccessRecord {
    let vantage = Vantage {
        ward: station.ward(),
        now: station.now(),
        since: None,
    };
    access_record(&vantage, of)
}

fn opening(patient: Pseudonym) -> Opening<'static> {
    Opening {
        patient: Some(patient),
        act: AccessAct::Opened,
        what: "timeline",
        reason: Some("covering"),
    }
}

fn lines(record: &AccessRecord) -> Vec<String> {
    let line = |line: &crate::view::access::AccessLine| {
        let reason = line.reason.clone().unwrap_or_default();
        format!(
            "{} {} {} {reason}",
            line.by.name,
            line.act.code(),
            line.what
        )
    };
    record.accesses.iter().map(line).collect()
}

#[test]
fn opening_a_record_is_written_once_in_four_hours_and_the_chain_verifies() {
    let ward = SealedWard::new();
    let ada = ward.ada();
    let (mut station, ned) = ward.at("ned");
    assert!(
        station
            .record_opening(&ned, &opening(ada))
            .unwrap()
            .is_some()
    );
    assert!(
        station
            .record_opening(&ned, &opening(ada))
            .unwrap()
            .is_none()
    );
    // Another way of showing it is another access.
    let printed = Opening {
        act: AccessAct::Printed,
        ..opening(ada)
    };
    assert!(station.record_opening(&ned, &printed).unwrap().is_some());
    ward.later(Span::hours(4));
    assert!(
        station
            .record_opening(&ned, &opening(ada))
            .unwrap()
            .is_none()
    );
    ward.later(Span(1));
    assert!(
        station
            .record_opening(&ned, &opening(ada))
            .unwrap()
            .is_some()
    );
    // Governance, who reads no records, reviews who read them: nothing of it is sealed.
    let (station, _) = ward.at("gov");
    assert!(!station.reads_records());
    let found = record(&station, &AccessOf::Patient(ada));
    assert!(found.kept);
    assert_eq!(
        lines(&found),
        [
            "NED opened timeline covering",
            "NED printed timeline covering",
            "NED opened timeline covering",
        ]
    );
    assert!(found.patient.is_some_and(|whose| whose.name.is_none()));
    assert_eq!(ward.verdict(), (vec![], 1));
}

#[test]
fn somebody_elses_patient_is_asked_about_and_ones_own_or_nobodys_is_not() {
    let ward = SealedWard::new();
    let ada = ward.ada();
    let (mut station, nell) = ward.at("nell");
    let (_, ned) = ward.at("ned");
    assert!(
        !station.is_to_be_asked_why(&ned, ada),
        "allocated to nobody"
    );
    let allocation = Draft::new(Kind::Allocation)
        .with("patient", "T01")
        .with("to", "nell");
    station.submit(&nell, &allocation).unwrap();
    assert!(!station.is_to_be_asked_why(&nell, ada));
    assert!(station.is_to_be_asked_why(&ned, ada));
    let (mut station, ned) = ward.at("ned");
    station.record_opening(&ned, &opening(ada)).unwrap();
    assert!(!station.is_to_be_asked_why(&ned, ada), "asked already");
    ward.later(Span::hours(5));
    assert!(
        station.is_to_be_asked_why(&ned, ada),
        "that was yesterday's reason"
    );
}

#[test]
fn what_was_refused_and_wrong_pins_are_in_the_record() {
    let ward = SealedWard::new();
    let (mut station, ned) = ward.at("ned");
    // A nurse enrols nobody.
    let refused = station.enrol(&ned, &ward.request("mole", Role::Nurse));
    assert!(matches!(
        refused,
        Err(StationError::Submit(SubmitError::NotAllowed { .. }))
    ));
    let (mut station, gov) = ward.at("gov");
    let note = Draft::new(Kind::Note)
        .with("patient", "T01")
        .with("text", "x");
    assert!(station.submit(&gov, &note).is_err());
    for _ in 0..2 {
        let mut other = ward.locked();
        let wrong = other.unlock(&Handle("ned".into()), "not his");
        assert!(matches!(
            wrong,
            Err(StationError::Unlock(keys::UnlockError::Wrong { .. }))
        ));
    }
    let (station, _) = ward.at("ned");
    let of = |handle: &str| lines(&record(&station, &AccessOf::Staff(Handle(handle.into()))));
    let ned = of("ned");
    assert_eq!(ned[0], "NED refused staff as a registered nurse ");
    assert!(
        ned[1].starts_with("NED unlock-failed 2 wrong PINs before the right one"),
        "{ned:?}"
    );
    assert_eq!(ned.len(), 2);
    assert_eq!(of("gov"), ["GOV refused note as a governance officer "]);
}

#[test]
fn looking_at_a_record_does_not_keep_it_from_being_destroyed() {
    let ward = SealedWard::new();
    let ada = ward.ada();
    ward.discharge("T01");
    ward.later(Span::days(8 * 366));
    let (mut station, ned) = ward.at("ned");
    station.record_opening(&ned, &opening(ada)).unwrap();
    let (mut station, gov) = ward.at("gov");
    let request = DestructionRequest {
        patient: ada,
        reason: "the term is over".into(),
        early: false,
    };
    station.approve_destruction(&gov, &request).unwrap();
}

#[test]
fn a_journal_in_clear_keeps_none_and_says_so() {
    let mut desk = desk();
    let before = desk.station.head();
    let nell = desk.nurse.clone();
    let opened = Opening {
        patient: None,
        ..opening(Pseudonym::ZERO)
    };
    assert!(
        desk.station
            .record_opening(&nell, &opened)
            .unwrap()
            .is_none()
    );
    assert_eq!(desk.station.head(), before);
    let found = record(&desk.station, &AccessOf::Ward);
    assert!(!found.kept);
    let shown =
        crate::view::render::text::page(&found.page(), crate::view::render::text::Paper::plain(96));
    assert!(shown.contains("No access record is kept here"), "{shown}");
}
