//! What `docs/journal-format.md` says of sealed payloads is what the program does.

use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::Arc;

use handfast::journal::{
    DataKey, FileReader, FileStore, Layout, NewEntry, ReadJournal, SEGMENT_HEADER_BYTES, Seal,
    Store, open_sealed,
};
use handfast::record::codec;
use handfast::record::draft::Draft;
use handfast::record::ids::{EntryId, JournalId, Pseudonym, Seq, from_hex, to_hex};
use handfast::record::kind::{Body, Kind};
use handfast::record::person::Handle;
use handfast::record::role::Role;
use handfast::record::time::{Timestamp, WardZone};
use handfast::station::clock::FixedClock;
use handfast::station::{InitRequest, StaffRequest, Station};
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

/// A sealed ward with a keeper, a nurse and one patient, admitted in entry 5; and its shares.
fn sealed_ward(dir: &Path) -> [handfast::station::sealing::Share; 3] {
    let request = InitRequest {
        ward: "Sorrel Ward".into(),
        zone: WardZone::LONDON,
        teaching: true,
        handle: Handle("kay".into()),
        name: "Kay".into(),
        secret: "kay-secret-of-some-length".to_owned().into(),
    };
    let clock = Arc::new(FixedClock::new(Timestamp(1_792_000_000_000_000)));
    let (mut station, kay) = Station::init(dir, &request, clock).unwrap();
    let (_, shares) = station.seal_records(&kay, None, |_| Ok(())).unwrap();
    let nell = StaffRequest {
        handle: Handle("nell".into()),
        name: "Nell".into(),
        role: Role::Nurse,
        registration: None,
        secret: "nell-secret-of-some-length".to_owned().into(),
    };
    station.enrol(&kay, &nell).unwrap();
    let nell = station.unlock(&nell.handle, &nell.secret).unwrap();
    let said = Draft::new(Kind::Note).with("text", "said in confidence");
    station.submit(&nell, &said).unwrap();
    shares
}

/// From the PIN to the words, with the documents alone.
#[test]
fn a_script_written_from_the_documents_alone_opens_a_ward_with_a_pin_or_two_shares() {
    let Some(python) = python() else { return };
    let dir = tempfile::tempdir().unwrap();
    let shares = sealed_ward(dir.path());
    let text = |number: usize| shares[number].text().to_string();
    let open = |args: &[&str], input: &str| {
        let script = concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/tests/independent/open_sealed.py"
        );
        let mut running = Command::new(&python)
            .arg(script)
            .arg(dir.path())
            .arg("5")
            .args(args)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        running
            .stdin
            .take()
            .unwrap()
            .write_all(input.as_bytes())
            .unwrap();
        let output = running.wait_with_output().unwrap();
        let said = String::from_utf8(output.stdout).unwrap();
        output
            .status
            .success()
            .then(|| from_hex(said.trim()).unwrap())
    };
    let says = |payload: Option<Vec<u8>>| {
        let (_, body) = codec::decode(21, 1, 1, &payload?).unwrap();
        let Body::Note(note) = body else {
            panic!("no note")
        };
        Some(note.text.0)
    };
    let confided = Some("said in confidence".to_owned());
    assert_eq!(
        says(open(&["--user", "nell"], "nell-secret-of-some-length\n")),
        confided
    );
    assert_eq!(
        open(&["--user", "nell"], "nell-secret-of-some-lengtg\n"),
        None
    );
    // The keeper's PIN is right, and holds no key.
    assert_eq!(
        open(&["--user", "kay"], "kay-secret-of-some-length\n"),
        None
    );
    let two = format!("{}\n{}\n", text(2), text(0));
    assert_eq!(says(open(&["--shares"], &two)), confided);
    let same = format!("{}\n{}\n", text(2), text(2));
    assert_eq!(open(&["--shares"], &same), None);
}
