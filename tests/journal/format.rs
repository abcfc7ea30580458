//! `docs/journal-format.md` says what the program does: its vectors are what the program
//! writes, and its field tables fit its vectors.

use std::process::Command;

use handfast::journal::verify::{VerifyOptions, verify};
use handfast::journal::{
    FRAME_BYTES_MAX, FileReader, FileStore, HEADER_BYTES, Layout, NewEntry, PAYLOAD_BYTES_MAX,
    ReadJournal, SEGMENT_HEADER_BYTES, Store, TRAILER_BYTES,
};
use handfast::record::ids::{EntryId, JournalId, Pseudonym, Seq, from_hex};
use handfast::record::time::Timestamp;

use crate::material::{open, signer};

const FORMAT: &str = include_str!("../../docs/journal-format.md");

/// The rows of the tables under a heading, as trimmed cells.
fn rows(heading: &str) -> Vec<Vec<&'static str>> {
    let section = FORMAT.split(&format!("\n## {heading}\n")).nth(1).unwrap();
    let section = section.split("\n## ").next().unwrap();
    let cells = |line: &'static str| line.trim_matches('|').split('|').map(str::trim).collect();
    let rows = section
        .lines()
        .filter(|line| line.starts_with('|'))
        .map(cells);
    rows.skip(2).collect()
}

/// Offset, bytes and field of each row of the golden vectors.
fn vectors() -> Vec<(usize, Vec<u8>, &'static str)> {
    let rows = rows("Golden vectors").into_iter();
    rows.map(|row| {
        let bytes = from_hex(row[1].trim_matches('`')).unwrap();
        (row[0].parse().unwrap(), bytes, row[2])
    })
    .collect()
}

fn vector_entry(
    byte: u8,
    micros: i64,
    author: usize,
    patient: u8,
    kind: u16,
    payload: &[u8],
) -> NewEntry {
    NewEntry {
        id: EntryId([byte; 16]),
        recorded_at: Timestamp(micros),
        kind,
        kind_version: 1,
        patient: Pseudonym([patient; 16]),
        encoding: 1,
        payload: payload.to_vec(),
        signer: signer(author),
        seal: None,
    }
}

fn golden_journal() -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    let id = std::array::from_fn(|index| u8::try_from(index).unwrap());
    FileStore::create(dir.path(), JournalId(id)).unwrap();
    let store = open(dir.path()).unwrap();
    let first = vector_entry(0x11, 1_793_000_000_000_000, 0, 0, 1, b"first");
    let second = vector_entry(0x22, 1_793_000_000_000_001, 1, 0xaa, 2, b"");
    store.append(vec![first, second], None).unwrap();
    let third = vector_entry(0x33, 1_793_000_060_000_000, 0, 0xaa, 3, &[0, 255, 0]);
    store.append(vec![third], None).unwrap();
    dir
}

#[test]
fn the_vectors_are_what_the_program_writes() {
    let mut expected = Vec::new();
    for (offset, bytes, field) in vectors() {
        assert_eq!(offset, expected.len(), "{field}");
        expected.extend(bytes);
    }
    assert!(FORMAT.contains(&format!("\nLength {}.", expected.len())));
    let dir = golden_journal();
    let written = std::fs::read(Layout::new(dir.path()).segment(Seq(1))).unwrap();
    assert_eq!(written, expected);
}

#[test]
fn the_values_beside_the_vectors_are_what_the_program_reads() {
    let dir = golden_journal();
    let reader = FileReader::open(dir.path()).unwrap();
    let mut compared = 0;
    for (_, bytes, field) in vectors() {
        let Some((entry, field)) = field
            .strip_prefix("entry ")
            .and_then(|f| f.split_once(": "))
        else {
            continue;
        };
        let frame = reader.read(entry.parse().unwrap()).unwrap();
        let header = frame.header();
        let (name, said) = field.split_once(" = ").unwrap_or((field, ""));
        let read: String = match name {
            "payload length" => header.payload_bytes.to_string(),
            "kind" => header.kind.to_string(),
            "kind version" => header.kind_version.to_string(),
            "payload encoding" => header.encoding.to_string(),
            "seq" => header.seq.0.to_string(),
            "synced through" => header.synced_through.0.to_string(),
            "recorded at" => header.recorded_at.0.to_string(),
            "following" => header.following.to_string(),
            "sealing" => header.sealing.to_string(),
            "entry id" => return_if(header.id.0 == bytes[..]),
            "prev" => return_if(header.prev.0 == bytes[..]),
            "author" => return_if(header.author.0 == bytes[..]),
            "patient" => return_if(header.patient.0 == bytes[..]),
            "payload" => return_if(frame.payload() == bytes),
            "entry hash" => return_if(frame.hash().0 == bytes[..]),
            _ => continue,
        };
        assert_eq!(read, said, "entry {entry}: {name}");
        compared += 1;
    }
    assert_eq!(compared, 3 * 15);
}

/// Empty, as the text beside a value that is only bytes, if the bytes are equal.
fn return_if(equal: bool) -> String {
    if equal {
        String::new()
    } else {
        "other bytes".into()
    }
}

#[test]
fn the_field_tables_fit_the_vectors() {
    for (heading, prefix, start) in [("Segment", "segment: ", 0), ("Frame", "entry 1: ", 104)] {
        let listed: Vec<_> = vectors()
            .into_iter()
            .filter_map(|(offset, bytes, field)| Some((offset, bytes, field.strip_prefix(prefix)?)))
            .collect();
        let table = rows(heading);
        assert_eq!(listed.len(), table.len(), "{heading}");
        for ((offset, bytes, field), row) in listed.iter().zip(table) {
            let name = field.split(" = ").next().unwrap();
            assert_eq!(name, row[0], "{heading}");
            // Offsets after the payload are written "256 + n"; its length is 5 in entry 1.
            let said: usize = row[1].split(" + ").map(|p| p.parse().unwrap_or(5)).sum();
            assert_eq!(*offset - start, said, "{name}");
            assert_eq!(bytes.len(), row[2].parse().unwrap_or(5), "{name}");
        }
    }
    assert_eq!(
        (SEGMENT_HEADER_BYTES, HEADER_BYTES, TRAILER_BYTES),
        (104, 192, 96)
    );
    assert_eq!(FRAME_BYTES_MAX, 192 + PAYLOAD_BYTES_MAX + 96);
}

#[test]
fn the_golden_journal_verifies() {
    let dir = golden_journal();
    let found = verify(dir.path(), VerifyOptions::default()).unwrap();
    assert_eq!((found.entries, found.findings), (3, vec![]));
}

/// The independent checker agrees, and is not blind. Needs the PyPI packages `blake3` and
/// `cryptography`; `HANDFAST_PYTHON` names an interpreter that has them. CI must have them.
#[test]
fn a_checker_written_from_the_document_alone_agrees() {
    let python = std::env::var("HANDFAST_PYTHON").unwrap_or_else(|_| "python3".into());
    let has = Command::new(&python)
        .args(["-c", "import blake3, cryptography"])
        .output();
    if !has.is_ok_and(|output| output.status.success()) {
        let required = std::env::var_os("CI").is_some();
        assert!(
            !required,
            "{python} lacks the packages blake3 and cryptography"
        );
        eprintln!("SKIPPED: {python} lacks the packages blake3 and cryptography");
        return;
    }
    let dir = golden_journal();
    let check = || {
        let script = concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/tests/independent/verify_journal.py"
        );
        // The vectors' payloads are no payloads.
        Command::new(&python)
            .args([script, "--frames"])
            .arg(dir.path())
            .output()
            .unwrap()
    };
    let sound = check();
    let text = String::from_utf8_lossy(&sound.stdout).into_owned();
    assert!(
        sound.status.success() && text.starts_with("3 entries"),
        "{text}"
    );
    let path = Layout::new(dir.path()).segment(Seq(1));
    let bytes = std::fs::read(&path).unwrap();
    for at in (0..bytes.len()).step_by(97) {
        let mut altered = bytes.clone();
        altered[at] ^= 4;
        std::fs::write(&path, altered).unwrap();
        assert!(!check().status.success(), "byte {at}");
    }
}
