//! People who know a key they should no longer profit from, and files that are not what was written.

use serde_json::Value;

use super::ring::{Readers, RingFile};
use super::wrap::{KeptKey, RingKey, random};
use super::*;
use crate::journal::{FileReader, SigningSeed};
use crate::record::draft::Draft;
use crate::record::person::Handle;
use crate::record::role::Role;
use crate::station::tests::admission;
use crate::station::tests::sealed::{SealedWard, names};
use crate::station::{Read, StationError};

fn ring_of(ward: &SealedWard) -> RingFile {
    RingFile::read(ward.locked().layout()).unwrap()
}

/// Puts a file there as somebody with the folder would, signed for by nobody.
fn put(ward: &SealedWard, file: &RingFile) {
    std::fs::write(ward.ring(), serde_json::to_vec(file).unwrap()).unwrap();
}

fn newest_seal_key(ward: &SealedWard) -> crate::record::ids::SealKeyId {
    let reader = FileReader::open(ward.dir.path()).unwrap();
    let frame = reader.read(reader.head().seq).unwrap();
    assert_ne!(frame.header().sealing, crate::journal::SEALING_CLEAR);
    frame.header().seal_key
}

/// A data key that somebody who knows the ring key puts under it.
fn plant(
    file: &mut RingFile,
    key: &RingKey,
    patient: Pseudonym,
    made_in: u64,
) -> crate::record::ids::SealKeyId {
    let data = DataKey::from_bytes(random().unwrap());
    let kept = KeptKey::new(key, file.journal, (patient, made_in), &data).unwrap();
    file.keys.push(kept);
    data.id()
}

fn write_note(station: &mut Station, actor: &Actor) {
    let note = Draft::new(Kind::Note)
        .with("patient", "T01")
        .with("text", "said afterwards");
    station.submit(actor, &note).unwrap();
}

/// Something new in the journal, so that open sessions look.
fn something_happens(ward: &SealedWard, handle: &str) {
    let (mut station, kay) = ward.at("kay");
    let request = ward.request(handle, Role::Governance);
    station.enrol(&kay, &request).unwrap();
}

#[test]
fn keys_that_a_suspended_reader_planted_seal_nothing() {
    let ward = SealedWard::new();
    let (ada, (_, ned)) = (ward.ada(), ward.at("ned"));
    // What ned keeps: the ring key. What ned can write: the file.
    let key = ring_of(&ward).open(&ned.reading).unwrap();
    ward.suspend("ned");
    let mut file = ring_of(&ward);
    let mut planted = Vec::new();
    for ahead in 0..40 {
        let made_in = file.ring + ahead;
        planted.push(plant(&mut file, &key, ada, made_in));
    }
    planted.push(plant(&mut file, &key, ada, u64::MAX));
    put(&ward, &file);
    assert!(ward.locked().ring_state().unwrap().unwrap().altered);
    ward.note("nell", "after ned left").unwrap();
    assert!(!planted.contains(&newest_seal_key(&ward)));
    assert!(
        ring_of(&ward)
            .keys
            .iter()
            .all(|kept| kept.made_in <= ring_of(&ward).ring)
    );
    ward.note("ana", "and the next").unwrap();
    assert!(!planted.contains(&newest_seal_key(&ward)));
    assert!(!ward.locked().ring_state().unwrap().unwrap().altered);
}

/// Not signed for as a whole, it seals nothing either, even if nobody left.
#[test]
fn a_row_that_nobody_signed_for_seals_nothing() {
    let ward = SealedWard::new();
    let (ada, (_, ned)) = (ward.ada(), ward.at("ned"));
    let mut file = ring_of(&ward);
    let key = file.open(&ned.reading).unwrap();
    let made_in = file.ring;
    let planted = plant(&mut file, &key, ada, made_in);
    let (mut open, nell) = ward.at("nell");
    put(&ward, &file);
    write_note(&mut open, &nell);
    assert_ne!(newest_seal_key(&ward), planted);
}

#[test]
fn an_old_ring_that_is_put_back_seals_nothing_in_a_session_that_is_open() {
    let ward = SealedWard::new();
    let (_, ned) = ward.at("ned");
    let old = std::fs::read(ward.ring()).unwrap();
    let old_keys: Vec<_> = ring_of(&ward).keys.iter().map(|kept| kept.id).collect();
    assert!(ring_of(&ward).open(&ned.reading).is_some() && !old_keys.is_empty());
    ward.suspend("ned");
    let (mut open, nell) = ward.at("nell");
    write_note(&mut open, &nell);
    let renewed = ring_of(&ward).ring;
    std::fs::write(ward.ring(), &old).unwrap();
    something_happens(&ward, "gina");
    std::fs::write(ward.ring(), &old).unwrap();
    open.refresh().unwrap();
    assert!(open.records.as_ref().unwrap().is_due(open.ward()));
    write_note(&mut open, &nell);
    assert!(!old_keys.contains(&newest_seal_key(&ward)));
    // Said, and under a number that no ring before it had.
    assert!(ring_of(&ward).ring > renewed);
    assert_eq!(ward.locked().keys_lacking().unwrap(), 1);
}

/// The session looks before whoever suspended has changed the file.
#[test]
fn a_suspension_is_enough_for_an_open_session_to_seal_nothing_with_the_old_ring() {
    let ward = SealedWard::new();
    let old_keys: Vec<_> = ring_of(&ward).keys.iter().map(|kept| kept.id).collect();
    let old = std::fs::read(ward.ring()).unwrap();
    let (mut open, nell) = ward.at("nell");
    ward.suspend("ned");
    std::fs::write(ward.ring(), old).unwrap();
    open.refresh().unwrap();
    open.records.as_mut().unwrap().stamp = ring::stamp(open.layout());
    write_note(&mut open, &nell);
    assert!(!old_keys.contains(&newest_seal_key(&ward)));
}

/// Whoever has the folder puts in a ring of their own, wrapped for everybody who really reads, so that
/// new records are sealed for them.
#[test]
fn a_ring_nobody_signed_for_is_not_taken_up() {
    let ward = SealedWard::new();
    let station = ward.locked();
    let (journal, head) = (station.reader.journal(), station.head().seq);
    let readers = Readers::of(station.ward()).unwrap();
    let ana = ward.at("ana").1.key();
    let intruder = SigningSeed::from_bytes(&random().unwrap());
    let (mut file, _) = RingFile::draw(journal, 99, head, &readers, &intruder).unwrap();
    assert!(
        file.open(&ward.at("nell").1.reading).is_some(),
        "it is wrapped for nell"
    );
    file.write(station.layout(), Some(&intruder)).unwrap();
    let not_taken = || {
        let answer = ward.unlock("nell").map(|_| ());
        assert!(
            matches!(answer, Err(StationError::Sealing(SealingError::Damaged(_)))),
            "{answer:?}"
        );
        assert!(ward.note("nell", "for the intruder").is_err());
    };
    not_taken();
    // Nor in the name of somebody who might.
    file.by = ana;
    put(&ward, &file);
    not_taken();
}

/// A keeper may draw a ring, and could keep its key: it seals nothing.
#[test]
fn a_ring_that_a_keeper_drew_is_renewed_by_the_first_who_reads() {
    let ward = SealedWard::new();
    let ada = ward.ada();
    let (mut open, nell) = ward.at("nell");
    let (station, kay) = ward.at("kay");
    let (journal, head) = (station.reader.journal(), station.head().seq);
    let readers = Readers::of(station.ward()).unwrap();
    let (mut file, key) = RingFile::draw(journal, 99, head, &readers, &*kay.signer).unwrap();
    let planted = plant(&mut file, &key, ada, 99);
    let put = |file: &mut RingFile| file.write(station.layout(), Some(&*kay.signer)).unwrap();
    put(&mut file);
    assert!(station.ring_state().unwrap().unwrap().drawn_by_non_reader);
    write_note(&mut open, &nell);
    assert_ne!(newest_seal_key(&ward), planted);
    put(&mut file);
    ward.at("ana");
    assert_ne!(ring_of(&ward).ring_id, file.ring_id);
}

/// The file with one field of one row changed by one digit, or by a letter that is no digit.
fn flipped(ward: &SealedWard, list: &str, at: usize, field: &str, to_none: bool) -> Value {
    let text = std::fs::read(ward.ring()).unwrap();
    let mut file: Value = serde_json::from_slice(&text).unwrap();
    let row = match list {
        "recovery" => &mut file[list],
        _ => &mut file[list][at],
    };
    row[field] = match &row[field] {
        Value::String(digits) => {
            let other = if to_none {
                "g"
            } else if digits.starts_with('0') {
                "1"
            } else {
                "0"
            };
            format!("{other}{}", &digits[1..]).into()
        }
        Value::Number(number) => (number.as_u64().unwrap() ^ 1).into(),
        other => panic!("{other}"),
    };
    file
}

fn with_bo() -> SealedWard {
    let ward = SealedWard::new();
    ward.admit(&admission("Quill", "Bo", "999 000 0026", "T02"));
    ward
}

#[test]
fn one_flipped_digit_in_a_data_key_costs_what_is_sealed_with_it_and_nothing_else() {
    let ward = with_bo();
    let ada = ward.ada_of("PELL");
    let sound = std::fs::read(ward.ring()).unwrap();
    let at = ring_of(&ward)
        .keys
        .iter()
        .position(|kept| kept.patient == ada)
        .unwrap();
    for field in ["sealed", "nonce", "id", "patient", "made_in"] {
        for to_none in [false, true] {
            let file = flipped(&ward, "keys", at, field, to_none);
            std::fs::write(ward.ring(), file.to_string()).unwrap();
            let (mut station, ana) = ward.at("ana");
            assert_eq!(names(&station), ["QUILL, Bo"], "{field}");
            let said = station.reservations().damage.join("; ");
            assert!(said.contains("not readable"), "{field}: {said}");
            let bo = Draft::new(Kind::Note)
                .with("patient", "T02")
                .with("text", "x");
            station.submit(&ana, &bo).unwrap();
            let state = station.ring_state().unwrap().unwrap();
            assert_eq!(
                (state.damaged, state.altered, state.due),
                (1, false, false),
                "{field}"
            );
            // Carried along, and not met again.
            ward.suspend("ned");
            ward.at("nell");
            assert_eq!(ward.locked().ring_state().unwrap().unwrap().damaged, 1);
            let (mut desk, kay) = ward.at("kay");
            let (ned, back) = (
                Handle("ned".into()),
                crate::record::kind::ward::StaffMove::Reinstated,
            );
            desk.change_staff(&kay, &ned, back, None, "back").unwrap();
            std::fs::write(ward.ring(), &sound).unwrap();
        }
    }
    assert_eq!(
        names(&ward.at("ana").0).len(),
        2,
        "an older copy has it whole"
    );
}

#[test]
fn a_damaged_row_of_a_person_or_of_the_recovery_key_is_made_anew_by_a_colleague() {
    let ward = SealedWard::new();
    let at = ring_of(&ward)
        .people
        .iter()
        .position(|one| one.handle.as_str() == "ned")
        .unwrap();
    let cases = [
        ("people", "sealed"),
        ("people", "enc"),
        ("people", "reading"),
    ];
    let recovery = [
        ("recovery", "sealed"),
        ("recovery", "enc"),
        ("recovery", "reading"),
    ];
    for (list, field) in cases.into_iter().chain(recovery) {
        for to_none in [false, true] {
            let file = flipped(&ward, list, at, field, to_none);
            std::fs::write(ward.ring(), file.to_string()).unwrap();
            if list == "people" {
                assert!(ward.unlock("ned").is_err(), "{field}");
            }
            ward.at("ana");
            assert_eq!(names(&ward.at("ned").0), ["PELL, Ada"], "{list} {field}");
            let (mut station, kay) = ward.at("kay");
            let [one, two, _] = &ward.shares;
            station.recover_records(&kay, (one, two), "a test").unwrap();
            ward.at("ana");
        }
    }
}

/// A keeper has no key and cannot tell a wrapped one from other bytes: what they signed for is
/// wrapped anew.
#[test]
fn rows_that_a_keeper_signed_for_are_made_anew_too() {
    let ward = SealedWard::new();
    let (station, kay) = ward.at("kay");
    let mut file = ring_of(&ward);
    for row in &mut file.people {
        if row.handle.as_str() == "ned" {
            row.wrapped.sealed = "00".repeat(48);
        }
    }
    file.write(station.layout(), Some(&*kay.signer)).unwrap();
    assert!(ward.unlock("ned").is_err());
    ward.at("ana");
    assert_eq!(names(&ward.at("ned").0), ["PELL, Ada"]);
}

/// A row before one's own that holds another key does not stand in its way.
#[test]
fn a_row_with_another_key_locks_nobody_out() {
    let ward = SealedWard::new();
    let (_, ned) = ward.at("ned");
    let mut file = ring_of(&ward);
    let other = RingKey::fresh().unwrap();
    let own = file
        .people
        .iter()
        .position(|one| one.reading == ned.reading.public())
        .unwrap();
    file.let_in(&other, &ned.handle, ned.reading.public())
        .unwrap();
    let strange = file.people.pop().unwrap();
    file.people.insert(own, strange);
    assert!(file.open(&ned.reading).is_some());
}

/// As the first builds wrote it: read, said, and replaced.
#[test]
fn a_ring_of_the_first_format_is_read_and_renewed_by_the_next_reader() {
    let ward = SealedWard::new();
    ward.at("nell");
    let text = std::fs::read(ward.ring()).unwrap();
    let mut file: Value = serde_json::from_slice(&text).unwrap();
    file["format"] = 1.into();
    file.as_object_mut().unwrap().remove("written");
    std::fs::write(ward.ring(), file.to_string()).unwrap();
    let old = ring_of(&ward);
    let state = ward.locked().ring_state().unwrap().unwrap();
    assert!(state.altered && state.due && state.people.len() == 3);
    assert_eq!(names(&ward.at("nell").0), ["PELL, Ada"]);
    let state = ward.locked().ring_state().unwrap().unwrap();
    assert!(!state.altered && !state.due && state.number > old.ring);
    let new: Value = serde_json::from_slice(&std::fs::read(ward.ring()).unwrap()).unwrap();
    assert_eq!(new["format"], 2);
}

/// The file cannot be replaced: what writing it first makes is in the way.
fn block(ward: &SealedWard) -> std::path::PathBuf {
    let name = format!("ring.json.{}.building", std::process::id());
    let block = ward.dir.path().join("sealing").join(name);
    std::fs::create_dir(&block).unwrap();
    block
}

#[test]
fn a_recovery_is_recorded_before_anything_is_opened_by_it() {
    let ward = SealedWard::new();
    let (mut station, kay) = ward.at("kay");
    let before = std::fs::read(ward.ring()).unwrap();
    let blocked = block(&ward);
    let [one, two, _] = &ward.shares;
    assert!(station.recover_records(&kay, (one, two), "flood").is_err());
    assert_eq!(std::fs::read(ward.ring()).unwrap(), before);
    let newest = station.entry(station.head().seq).unwrap();
    let Read::Entry(entry) = newest else {
        panic!("not read")
    };
    assert_eq!(entry.kind(), Kind::Access);
    std::fs::remove_dir(blocked).unwrap();
}

#[test]
fn nothing_is_recorded_when_the_shares_reach_nobody() {
    let ward = SealedWard::new();
    let (mut station, kay) = ward.at("kay");
    let (head, ring) = (station.head(), std::fs::read(ward.ring()).unwrap());
    let refused = station.seal_records(&kay, None, |_| Err("the stick is full".to_owned()));
    let said = refused.map(|_| ()).unwrap_err().to_string();
    assert!(
        said.contains("the stick is full") && said.contains("nothing"),
        "{said}"
    );
    station.refresh().unwrap();
    assert_eq!(station.head(), head);
    assert_eq!(std::fs::read(ward.ring()).unwrap(), ring);
}

/// What a keeper entered as somebody's reading key and is none locks nobody else out.
#[test]
fn a_reading_key_that_is_none_is_passed_over() {
    let ward = SealedWard::new();
    let (station, nell) = ward.at("nell");
    let mut readers = Readers::of(station.ward()).unwrap();
    readers.people.insert(
        0,
        (Handle("zed".into()), crate::record::ids::ReadingKey::ZERO),
    );
    let journal = station.reader.journal();
    let (file, _) = RingFile::draw(journal, 9, Seq(9), &readers, &*nell.signer).unwrap();
    assert_eq!(file.people.len(), readers.people.len() - 1);
    assert!(file.open(&nell.reading).is_some());
}
