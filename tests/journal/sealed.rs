//! What `docs/journal-format.md` says of sealed payloads is what the program does.

use std::path::Path;
use std::process::Command;
use std::sync::Arc;

use handfast::journal::{
    DataKey, FileReader, FileStore, Layout, NewEntry, ReadJournal, SEGMENT_HEADER_BYTES, Seal,
    Store, open_sealed,
};
use handfast::record::ids::{EntryId, JournalId, Pseudonym, Seq, from_hex, to_hex};
use handfast::record::time::Timestamp;
use zeroize::Zeroizing;

use crate::material::{open, signer};

const FORMAT: &str = include_str!("../../docs/journal-format.md");

/// The bytes beside a name in the table of the sealed vector.
fn vector(name: &str) -> Vec<u8> {
    let section = FORMAT.split("\n## Golden vector, sealed\n").nth(1).unwrap();
    let row = section
        .lines()
        .find_map(|line| line.strip_prefix(&format!("| {name} | `")));
    from_hex(row.unwrap().trim_end_matches("` |")).unwrap()
}

fn data_key() -> DataKey {
    DataKey::from_bytes(Zeroizing::new(vector("data key").try_into().unwrap()))
}

fn golden() -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    let id = std::array::from_fn(|index| u8::try_from(index).unwrap());
    FileStore::create(dir.path(), JournalId(id)).unwrap();
    let entry = NewEntry {
        id: EntryId([0x44; 16]),
        recorded_at: Timestamp(1_793_000_000_000_000),
        kind: 21,
        kind_version: 1,
        patient: Pseudonym([0xaa; 16]),
        encoding: 1,
        payload: vector("payload, opened"),
        signer: signer(0),
        seal: Some(Seal {
            key: Arc::new(data_key()),
            random: [0x77; 32],
        }),
    };
    open(dir.path()).unwrap().append(vec![entry], None).unwrap();
    dir
}

#[test]
fn the_sealed_vector_is_what_the_program_writes_and_opens() {
    let dir = golden();
    let written = std::fs::read(Layout::new(dir.path()).segment(Seq(1))).unwrap();
    assert_eq!(
        to_hex(&written[SEGMENT_HEADER_BYTES..]),
        to_hex(&vector("frame"))
    );
    let frame = FileReader::open(dir.path()).unwrap().read(Seq(1)).unwrap();
    assert_eq!(frame.header().seal_key.0[..], vector("sealing key id"));
    assert_eq!(frame.header().seal_nonce[..], vector("sealing nonce"));
    assert_eq!(frame.payload(), vector("payload, sealed"));
    let opened = open_sealed(&frame, &data_key()).unwrap();
    assert_eq!(*opened, vector("payload, opened"));
}

/// An interpreter with the packages the independent scripts need. CI must have them.
pub fn python() -> Option<String> {
    let python = std::env::var("HANDFAST_PYTHON").unwrap_or_else(|_| "python3".into());
    let has = Command::new(&python)
        .args(["-c", "import blake3, cryptography, nacl"])
        .output();
    if has.is_ok_and(|output| output.status.success()) {
        return Some(python);
    }
    let required = std::env::var_os("CI").is_some();
    assert!(!required, "{python} lacks blake3, cryptography or pynacl");
    eprintln!("SKIPPED: {python} lacks the packages blake3, cryptography or pynacl");
    None
}

fn script(python: &str, name: &str, dir: &Path, args: &[&str]) -> (bool, String) {
    let script = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/independent")
        .join(name);
    let output = Command::new(python)
        .arg(script)
        .arg(dir)
        .args(args)
        .output()
        .unwrap();
    let text = String::from_utf8_lossy(&output.stdout).trim().to_owned();
    (output.status.success(), text)
}

#[test]
fn scripts_written_from_the_document_alone_check_it_without_the_key_and_open_it_with_it() {
    let Some(python) = python() else { return };
    let dir = golden();
    let (sound, said) = script(&python, "verify_journal.py", dir.path(), &["--frames"]);
    assert!(sound && said.ends_with("0 faults, 1 sealed"), "{said}");
    let key = to_hex(&vector("data key"));
    let (opens, said) = script(
        &python,
        "open_sealed.py",
        dir.path(),
        &["1", "--data-key", &key],
    );
    assert_eq!((opens, said), (true, to_hex(&vector("payload, opened"))));
    let other = "5b".repeat(32);
    let (opens, _) = script(
        &python,
        "open_sealed.py",
        dir.path(),
        &["1", "--data-key", &other],
    );
    assert!(!opens);
}
