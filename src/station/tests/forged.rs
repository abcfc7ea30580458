//! Entries that somebody with the folder, and without the right keys, appended: intact, in the
//! chain, and not what they say they are.

mod endings;
mod losses;

use zeroize::Zeroizing;

use super::*;
use crate::journal::{FileStore, NewEntry, SigningSeed, Store, WriteOptions};
use crate::record::codec;
use crate::record::envelope::Envelope;
use crate::record::ids::{EntryId, Pseudonym};
use crate::record::kind::Body;
use crate::record::kind::alert::AlertStep;
use crate::record::kind::ward::{Amendment, AmendmentAct, StaffEnrolled, StaffMove};
use crate::view::lists::{AlertWhich, alert_ledger};
use crate::view::origin::Vantage;
use crate::view::page::Reserved;
use crate::view::render::{csv, json};

/// Says it is somebody and signs with another key, or with nonsense.
struct Forger(PersonKey);

impl Signer for Forger {
    fn public(&self) -> PersonKey {
        self.0
    }

    fn sign(&self, _: &[u8]) -> [u8; 64] {
        [7; 64]
    }
}

fn strangers_key() -> SigningSeed {
    SigningSeed::from_bytes(&Zeroizing::new([9; 32]))
}

fn as_keeper(desk: &Desk) -> Envelope {
    Envelope {
        occurred_at: desk.station.now(),
        approximate: false,
        role: Role::Keeper,
        episode: None,
        late_reason: None,
        related: Vec::new(),
        confirmed: Vec::new(),
    }
}

/// Puts an entry into the folder past the station.
fn slip_in(desk: &Desk, signer: Arc<dyn Signer>, patient: Option<Pseudonym>, body: &Body) -> Seq {
    slip_in_related(desk, signer, patient, body, Vec::new())
}

fn slip_in_related(
    desk: &Desk,
    signer: Arc<dyn Signer>,
    patient: Option<Pseudonym>,
    body: &Body,
    related: Vec<Seq>,
) -> Seq {
    let envelope = Envelope {
        related,
        ..as_keeper(desk)
    };
    let kind = (body.kind().code(), body.kind().version());
    let payload = codec::encode(&envelope, body).unwrap();
    slip_in_bytes(desk, signer, patient, kind, payload)
}

fn slip_in_bytes(
    desk: &Desk,
    signer: Arc<dyn Signer>,
    patient: Option<Pseudonym>,
    (kind, kind_version): (u16, u8),
    payload: Vec<u8>,
) -> Seq {
    let options = WriteOptions::new("nobody", desk.station.now());
    let (store, _) = FileStore::open_writer(desk._dir.path(), &options).unwrap();
    let entry = NewEntry {
        id: EntryId(IdSource::Random.next_id().unwrap()),
        recorded_at: desk.station.now(),
        kind,
        kind_version,
        patient: patient.unwrap_or(Pseudonym::ZERO),
        encoding: codec::ENCODING,
        payload,
        signer,
        seal: None,
    };
    store.append(vec![entry], None).unwrap()[0].seq
}

fn enrolment() -> Body {
    StaffEnrolled {
        handle: Handle("mallory".into()),
        name: "Mallory".into(),
        role: Role::Sister,
        registration: None,
        key: Some(strangers_key().public()),
        reading: None,
    }
    .into()
}

fn key_of(desk: &Desk, handle: &str) -> PersonKey {
    let staff = desk.station.ward().staff(&Handle(handle.into())).unwrap();
    staff.key.unwrap()
}

fn fresh(desk: &Desk) -> Station {
    Station::open_with(desk._dir.path(), desk.clock.clone()).unwrap()
}

#[test]
fn an_enrolment_that_the_keeper_did_not_sign_gives_no_right() {
    let desk = desk();
    let keeper = Arc::new(Forger(key_of(&desk, "kay")));
    let at = slip_in(&desk, keeper, None, &enrolment());
    for station in [&mut fresh(&desk), &mut { desk.station }] {
        station.refresh().unwrap();
        assert!(station.ward().staff(&Handle("mallory".into())).is_none());
        let said = &station.reservations().unproved[0];
        assert!(
            said.contains(&at.to_string()) && said.contains("signature does not verify"),
            "{said}"
        );
    }
}

#[test]
fn an_enrolment_signed_by_a_stranger_or_a_nurse_gives_no_right() {
    let mut desk = desk();
    slip_in(&desk, Arc::new(strangers_key()), None, &enrolment());
    slip_in(&desk, desk.nurse.signer.clone(), None, &enrolment());
    desk.station.refresh().unwrap();
    assert!(
        desk.station
            .ward()
            .staff(&Handle("mallory".into()))
            .is_none()
    );
    let said = desk.station.reservations().unproved;
    assert!(said[0].contains("author unknown"), "{said:?}");
    assert!(
        said[1].contains("a registered nurse may not write it"),
        "{said:?}"
    );
}

/// The alert somebody forged away stays open, and the one somebody forged is shown, marked.
#[test]
fn a_forged_entry_opens_and_never_ends() {
    let mut desk = desk();
    let alert = desk.alert();
    let patient = desk.station.patient_of(alert);
    let close = Draft::new(Kind::AlertStep)
        .with("alert", alert.to_string())
        .with("step", "close")
        .with("outcome", "resolved");
    let close = close.read(&desk.station.read_context());
    let Ok(close) = close else {
        panic!("{close:?}")
    };
    assert!(matches!(close.body, Body::AlertStep(AlertStep { .. })));
    let nurse = Arc::new(Forger(desk.nurse.key()));
    slip_in(&desk, nurse.clone(), patient, &close.body);
    slip_in(
        &desk,
        Arc::new(strangers_key()),
        patient,
        &close.body.clone(),
    );
    let away = Amendment {
        target: alert,
        act: AmendmentAct::Withdraw,
        cause: AmendmentCause::Mistaken,
        reason: None,
        entered_anew: None,
        replacement: None,
    };
    slip_in(&desk, nurse.clone(), patient, &away.into());
    let Read::Entry(entry) = desk.station.entry(alert).unwrap() else {
        panic!()
    };
    let forged = slip_in(&desk, nurse, patient, &entry.body);
    // As it was written, and as an amendment has the record drawn anew.
    let mut station = fresh(&desk);
    for _ in 0..2 {
        let ward = station.ward();
        let vantage = Vantage {
            ward,
            now: station.now(),
            since: None,
        };
        let open = alert_ledger(
            &vantage,
            &AlertWhich {
                open_only: true,
                ..AlertWhich::default()
            },
        );
        let rows: Vec<Seq> = open.alerts.iter().map(|row| row.raised.seq).collect();
        assert!(rows.contains(&alert) && rows.contains(&forged), "{rows:?}");
        let whole = json::compact(&Reserved::new(&open, &station.reservations()));
        let whole: serde_json::Value = serde_json::from_str(&whole).unwrap();
        assert_eq!(whole["complete"], false);
        assert_eq!(whole["damage"].as_array().unwrap().len(), 0);
        assert!(whole.to_string().contains("signature does not verify (key"));
        let table = csv::under(&open.csv(), &station.reservations());
        assert!(
            table.lines().nth(1).unwrap().contains("NOT PROVED: "),
            "{table}"
        );
        station = redrawn(station, patient);
    }
}

/// The same ward after its patient was drawn anew.
fn redrawn(mut station: Station, patient: Option<Pseudonym>) -> Station {
    let source = crate::ward::draw::Source(&*station.reader);
    station.drawn.ward.redraw(patient, &source);
    station
}

#[test]
fn after_a_forged_entry_nothing_is_written_until_a_keeper_accepts_exactly_that() {
    let mut desk = desk();
    let alert = desk.alert();
    slip_in(
        &desk,
        Arc::new(Forger(key_of(&desk, "kay"))),
        None,
        &enrolment(),
    );
    let note = Draft::new(Kind::Note)
        .with("text", "on")
        .with("patient", "pell");
    let told = refused(desk.log(note.clone()));
    assert!(told.contains("signature does not verify"), "{told}");
    let keeper = desk
        .station
        .unlock(&Handle("kay".into()), "000000")
        .unwrap();
    let report = desk.station.damage().unwrap().unwrap();
    desk.station
        .accept_damage(&keeper, None, &report, "seen")
        .unwrap();
    desk.log(note.clone()).unwrap();
    assert!(
        !desk.station.reservations().complete,
        "accepted, and still said"
    );

    // Another one later, and damage further back than what was accepted, are new.
    let patient = desk.station.patient_of(alert);
    let Read::Entry(entry) = desk.station.entry(alert).unwrap() else {
        panic!()
    };
    slip_in(
        &desk,
        Arc::new(Forger(desk.nurse.key())),
        patient,
        &entry.body,
    );
    refused(desk.log(note.clone()));
    let report = desk.station.damage().unwrap().unwrap();
    assert_eq!(report.places.len(), 1, "{:?}", report.places);
    desk.station
        .accept_damage(&keeper, None, &report, "seen")
        .unwrap();
    desk.log(note.clone()).unwrap();
    flip(&desk.station, b"pressed the button");
    let mut station = fresh(&desk);
    let nell = station
        .unlock(&Handle("nell".into()), "nell-secret")
        .unwrap();
    let told = refused(station.submit(&nell, &note));
    assert!(
        told.contains("nothing is written until a keeper accepts"),
        "{told}"
    );
    let report = station.damage().unwrap().unwrap();
    let again = format!("entry {alert} is damaged");
    assert!(report.places[0].contains(&again), "{:?}", report.places);
}

/// Each line of a report must reach the journal, however many there are: a report that fits no
/// entry would keep the ward from writing for good.
#[test]
fn a_report_too_long_for_one_entry_is_accepted_in_several() {
    let mut desk = desk();
    slip_in_many(&desk, 800);
    desk.station.refresh().unwrap();
    let keeper = desk
        .station
        .unlock(&Handle("kay".into()), "000000")
        .unwrap();
    let report = desk.station.damage().unwrap().unwrap();
    assert_eq!(report.places.len(), 800);
    let before = desk.station.head().seq;
    let receipt = desk
        .station
        .accept_damage(&keeper, None, &report, "seen")
        .unwrap();
    assert!(receipt.seq.0 > before.0 + 1, "one entry cannot hold it");
    let mut listed = Vec::new();
    for seq in before.0 + 1..=receipt.seq.0 {
        let Read::Entry(entry) = desk.station.entry(Seq(seq)).unwrap() else {
            panic!()
        };
        let Body::DamageAccepted(part) = entry.body else {
            panic!()
        };
        assert_eq!(part.findings, report.digest, "all name the one report");
        assert_eq!(part.reason.as_str(), "seen");
        listed.extend(part.what.as_str().lines().map(str::to_owned));
    }
    assert_eq!(listed, report.places);
    let note = Draft::new(Kind::Note)
        .with("text", "on")
        .with("patient", "pell");
    desk.log(note.clone()).unwrap();
    let nurse = desk.nurse.clone();
    fresh(&desk).submit(&nurse, &note).unwrap();
}

/// Forged entries, each under another key, in one append.
fn slip_in_many(desk: &Desk, count: u32) {
    let options = WriteOptions::new("nobody", desk.station.now());
    let (store, _) = FileStore::open_writer(desk._dir.path(), &options).unwrap();
    let entries = (0..count).map(|n| {
        let (mut id, mut key) = ([0; 16], [0; 32]);
        id[..4].copy_from_slice(&n.to_le_bytes());
        key[..4].copy_from_slice(&n.to_le_bytes());
        NewEntry {
            id: EntryId(id),
            recorded_at: desk.station.now(),
            kind: Kind::StaffEnrolled.code(),
            kind_version: Kind::StaffEnrolled.version(),
            patient: Pseudonym::ZERO,
            encoding: codec::ENCODING,
            payload: codec::encode(&as_keeper(desk), &enrolment()).unwrap(),
            signer: Arc::new(Forger(PersonKey(key))),
            seal: None,
        }
    });
    store.append(entries.collect(), None).unwrap();
}

#[test]
fn an_acceptance_that_cannot_be_recorded_leaves_no_trace() {
    let mut desk = desk();
    desk.alert();
    desk.alert();
    flip(&desk.station, b"pressed the button");
    let mut station = fresh(&desk);
    let keeper = station.unlock(&Handle("kay".into()), "000000").unwrap();
    let report = station.damage().unwrap().unwrap();
    let endless = "x".repeat(80_000);
    station
        .accept_damage(&keeper, None, &report, &endless)
        .unwrap_err();
    assert!(!station.layout().damage_accepted().exists());
    assert_eq!(station.damage().unwrap(), Some(report.clone()));
    station
        .accept_damage(&keeper, None, &report, "seen")
        .unwrap();
}

fn flip(station: &Station, words: &[u8]) {
    let segment = station.layout().segment(Seq(1));
    let mut bytes = std::fs::read(&segment).unwrap();
    let at = bytes.windows(words.len()).position(|w| w == words);
    bytes[at.unwrap()] ^= 1;
    std::fs::write(&segment, &bytes).unwrap();
}

/// An entry that was read, and is damaged when its record is drawn anew: out of the record, but
/// counted, named and in the way of writing.
#[test]
fn what_cannot_be_read_again_is_named() {
    let mut desk = desk();
    let alert = desk.alert();
    let patient = desk.station.patient_of(alert);
    flip(&desk.station, b"pressed the button");
    let mut station = redrawn(desk.station, patient);
    let said = station.reservations();
    assert!(
        said.damage[0].contains(&format!("entry {alert} was read before")),
        "{said:?}"
    );
    desk.nurse = station
        .unlock(&Handle("nell".into()), "nell-secret")
        .unwrap();
    let note = Draft::new(Kind::Note)
        .with("text", "on")
        .with("patient", "pell");
    refused(station.submit(&desk.nurse, &note));
}
