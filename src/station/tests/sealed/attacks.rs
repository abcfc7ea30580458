//! People with the folder, or with a key of their own, do what they should not.

use super::*;

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
    let (_, nell) = ward.at("nell");
    // Sealed anew is not possible without the key; so the sealed bytes are appended as they are,
    // under a header that names their key and nonce, and truly signed.
    let moved = |patient, byte| {
        let reader = FileReader::open(ward.dir.path()).unwrap();
        let mut header = *frame.header();
        header.seq = reader.head().seq.next();
        header.prev = reader.head().hash;
        header.id = EntryId([byte; 16]);
        header.patient = patient;
        let mut bytes = Vec::new();
        crate::journal::encode_frame(&header, frame.payload(), &*nell.signer, &mut bytes);
        let segments = std::fs::read_dir(ward.dir.path().join("segments")).unwrap();
        let newest = segments.map(|file| file.unwrap().path()).max().unwrap();
        let before = std::fs::read(&newest).unwrap();
        std::fs::write(&newest, [before, bytes].concat()).unwrap();
    };
    moved(Pseudonym([9; 16]), 9);
    moved(frame.header().patient, 10);
    let (station, _) = ward.at("ana");
    for seq in [frame.seq().next(), frame.seq().next().next()] {
        let Read::Unreadable(read) = station.entry(seq).unwrap() else {
            panic!("read")
        };
        assert_eq!(read.sealed, Some(SealFault::DoesNotOpen));
    }
    let damage = station.reservations().damage.join("; ");
    assert!(damage.contains("was made for another place"), "{damage}");
}
