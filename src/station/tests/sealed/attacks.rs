//! People with the folder, or with a key of their own, do what they should not.

use super::*;

/// Whoever has the folder puts in a ring of their own, so that new records are sealed for them.
#[test]
fn a_ring_nobody_signed_for_is_not_taken_up() {
    let ward = SealedWard::new();
    let elsewhere = SealedWard::new();
    std::fs::copy(elsewhere.ring(), ward.ring()).unwrap();
    let answer = ward.unlock("nell").map(|_| ());
    assert!(
        matches!(answer, Err(StationError::Sealing(SealingError::Damaged(_)))),
        "{answer:?}"
    );
    let text = std::fs::read_to_string(elsewhere.ring()).unwrap();
    let journal = |ward: &SealedWard| ward.locked().reader.journal().to_string();
    std::fs::write(
        ward.ring(),
        text.replace(&journal(&elsewhere), &journal(&ward)),
    )
    .unwrap();
    assert!(ward.unlock("nell").is_err());
    assert!(ward.note("nell", "for the intruder").is_err());
}

/// Written without our program by an insider: `verify` and the fold name both.
#[test]
fn a_record_in_clear_and_a_sealed_staff_entry_are_found() {
    let ward = SealedWard::new();
    let (station, nell) = ward.at("nell");
    let seal = {
        let (mut other, actor) = ward.at("nell");
        other.seal_for(&actor, Kind::Note, Pseudonym::ZERO).unwrap()
    };
    let note = station.entry(station.head().seq).unwrap();
    let entry = note.entry().unwrap();
    let payload = codec::encode(&entry.envelope, &entry.body).unwrap();
    let new = |byte: u8, kind: Kind, signer: Arc<dyn Signer>, seal| NewEntry {
        id: EntryId([byte; 16]),
        recorded_at: station.now(),
        kind: kind.code(),
        kind_version: kind.version(),
        patient: entry.patient.unwrap(),
        encoding: codec::ENCODING,
        payload: payload.clone(),
        signer,
        seal,
    };
    let (_, kay) = ward.at("kay");
    let clear = new(1, Kind::Admission, nell.signer.clone(), None);
    let hidden = new(2, Kind::StaffEnrolled, kay.signer, seal);
    let options = WriteOptions::new("an insider", Timestamp(0));
    let (store, _) = FileStore::open_writer(ward.dir.path(), &options).unwrap();
    store.append(vec![clear, hidden], None).unwrap();
    drop(store);
    let (faults, _) = ward.verdict();
    assert_eq!(faults.len(), 2, "{faults:?}");
    assert!(faults[0].contains("lies in clear"), "{faults:?}");
    assert!(
        faults[1].contains("is sealed, and a \"staff\" entry never is"),
        "{faults:?}"
    );
}

/// An insider with their own key puts one patient's sealed payload under another's header.
#[test]
fn a_payload_moved_to_another_record_does_not_open_there() {
    let ward = SealedWard::new();
    ward.note("nell", "about Ada").unwrap();
    let reader = FileReader::open(ward.dir.path()).unwrap();
    let frame = reader.read(reader.head().seq).unwrap();
    let header = *frame.header();
    // Sealed anew is not possible without the key; so the sealed bytes are appended as they are.
    let (_, nell) = ward.at("nell");
    let moved = NewEntry {
        id: EntryId([9; 16]),
        recorded_at: header.recorded_at,
        kind: header.kind,
        kind_version: header.kind_version,
        patient: Pseudonym([9; 16]),
        encoding: header.encoding,
        payload: frame.payload().to_vec(),
        signer: nell.signer.clone(),
        seal: None,
    };
    let options = WriteOptions::new("an insider", Timestamp(0));
    let (store, _) = FileStore::open_writer(ward.dir.path(), &options).unwrap();
    store.append(vec![moved], None).unwrap();
    drop(store);
    let (station, _) = ward.at("ana");
    let read = station.entry(station.head().seq).unwrap();
    assert!(read.entry().is_none());
    assert!(!station.reservations().damage.is_empty());
    assert!(!ward.verdict().0.is_empty());
}
