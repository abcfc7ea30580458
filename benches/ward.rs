//! A ward of 200 patients and 100,000 entries: fold, index, handover sheet, verification, and
//! what a person waits for. `cargo bench --bench ward`.
//!
//! The journal is made for the bench: contacts, full sets of readings, notes, tasks and their
//! ends, round robin over the patients, 14 days of a busy ward. The peer beside the fold is
//! SQLite reading the same payloads and decoding them.

use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::{Duration, Instant};

use handfast::journal::verify::{VerifyOptions, verify};
use handfast::journal::{
    FileStore, NewEntry, ReadJournal, Signer, SigningSeed, Store, WriteOptions,
};
use handfast::record::codec;
use handfast::record::draft::Draft;
use handfast::record::envelope::Envelope;
use handfast::record::field::ReadContext;
use handfast::record::ids::{EntryId, JournalId, Pseudonym, Seq};
use handfast::record::kind::ward::StaffEnrolled;
use handfast::record::kind::{Body, Kind};
use handfast::record::person::Handle;
use handfast::record::role::Role;
use handfast::record::time::{Span, Timestamp, WardZone};
use handfast::station::{Station, sheet_now};
use handfast::view::render::text::{self, Paper};
use zeroize::Zeroizing;

const PATIENTS: u64 = 200;
const ENTRIES: u64 = 100_000;
const START: Timestamp = Timestamp(1_792_000_000_000_000);

fn main() {
    // `cargo test --benches` runs this too; it measures only when asked to.
    if !std::env::args().any(|arg| arg == "--bench") {
        println!("not measured: run with `cargo bench --bench ward`");
        return;
    }
    let dir = tempfile::tempdir_in(".").expect("a folder on the disk that is measured");
    let journal = dir.path().join("ward");
    let bytes = make(&journal);
    println!(
        "{ENTRIES} entries, {PATIENTS} patients, {} MiB of segments",
        bytes >> 20
    );
    fold_and_index(&journal);
    sheet(&journal);
    sqlite(&journal, &dir.path().join("peer.sqlite"));
    timed("verify: hashes, chain, signatures", ENTRIES, || {
        let found = verify(&journal, VerifyOptions::default()).expect("a journal");
        assert!(found.is_sound(), "the bench's own journal is whole");
    });
    starts(&journal);
}

struct Maker {
    signer: Arc<dyn Signer>,
    role: Role,
    now: Timestamp,
    number: u64,
    batch: Vec<NewEntry>,
}

impl Maker {
    fn body(&mut self, body: &Body, patient: Option<u64>) {
        self.number += 1;
        self.now = self.now.plus(Span(12_000_000));
        let envelope = Envelope {
            occurred_at: self.now,
            approximate: false,
            role: self.role,
            episode: None,
            late_reason: None,
            related: vec![],
            confirmed: vec![],
        };
        let mut id = [0; 16];
        id.copy_from_slice(&blake3::hash(&self.number.to_le_bytes()).as_bytes()[..16]);
        self.batch.push(NewEntry {
            id: EntryId(id),
            recorded_at: self.now,
            kind: body.kind().code(),
            kind_version: body.kind().version(),
            patient: patient.map_or(Pseudonym::ZERO, pseudonym),
            encoding: codec::ENCODING,
            payload: codec::encode(&envelope, body).expect("encoded"),
            signer: Arc::clone(&self.signer),
            seal: None,
        });
    }

    fn draft(&mut self, draft: Draft, patient: Option<u64>) {
        let cx = ReadContext {
            now: self.now,
            zone: WardZone::LONDON,
        };
        let draft = if draft.patient.is_none() && patient.is_some() {
            draft.with("patient", "x")
        } else {
            draft
        };
        let read = draft.read(&cx).expect("a draft that can be read");
        self.body(&read.body, patient);
    }
}

fn pseudonym(patient: u64) -> Pseudonym {
    let mut bytes = [9; 16];
    bytes[..8].copy_from_slice(&(patient + 1).to_le_bytes());
    Pseudonym(bytes)
}

fn make(dir: &Path) -> u64 {
    FileStore::create(dir, JournalId([5; 16])).expect("a new journal");
    let (store, _) = FileStore::open_writer(dir, &WriteOptions::new("bench", START)).expect("open");
    let signer: Arc<dyn Signer> = Arc::new(SigningSeed::from_bytes(&Zeroizing::new([7; 32])));
    let mut maker = Maker {
        signer,
        role: Role::Keeper,
        now: START,
        number: 0,
        batch: vec![],
    };
    let opened = Draft::new(Kind::WardOpened)
        .with("name", "Bench Ward")
        .with("zone", "Europe/London")
        .with("teaching", "yes");
    maker.draft(opened, None);
    // As `init` does: a ward that nobody founded would be measured as one whose every entry is in doubt.
    let enrolled = |handle: &str, role: Role, signer: &Arc<dyn Signer>| StaffEnrolled {
        handle: Handle(handle.into()),
        name: "Bench".into(),
        role,
        registration: None,
        key: Some(signer.public()),
        reading: None,
    };
    let keeper = enrolled("keeper", Role::Keeper, &maker.signer);
    maker.body(&keeper.into(), None);
    let nurse: Arc<dyn Signer> = Arc::new(SigningSeed::from_bytes(&Zeroizing::new([8; 32])));
    maker.body(&enrolled("bench", Role::Nurse, &nurse).into(), None);
    (maker.signer, maker.role) = (nurse, Role::Nurse);
    for patient in 0..PATIENTS {
        maker.draft(admission(patient), Some(patient));
    }
    let mut turn = 0;
    while maker.number < ENTRIES {
        let patient = turn % PATIENTS;
        match turn / PATIENTS % 5 {
            0 => maker.draft(contact(turn), Some(patient)),
            1 => maker.draft(readings(turn), Some(patient)),
            2 => maker.draft(
                Draft::new(Kind::Note).with("text", "Slept well, ate breakfast, no new pain."),
                Some(patient),
            ),
            3 => maker.draft(
                Draft::new(Kind::Task)
                    .with("what", "ring about the readings")
                    .with("due", "+6h"),
                Some(patient),
            ),
            _ => {
                let task = Seq(maker.number - PATIENTS + 1);
                let done = Draft::new(Kind::TaskStep)
                    .with("task", task.to_string())
                    .with("step", "done");
                maker.draft(done, Some(patient));
            }
        }
        turn += 1;
        if maker.batch.len() >= 500 {
            store
                .append(std::mem::take(&mut maker.batch), None)
                .expect("appended");
        }
    }
    store
        .append(std::mem::take(&mut maker.batch), None)
        .expect("appended");
    drop(store);
    let files = std::fs::read_dir(dir.join("segments")).expect("segments");
    files
        .filter_map(|file| Some(file.ok()?.metadata().ok()?.len()))
        .sum()
}

fn admission(patient: u64) -> Draft {
    Draft::new(Kind::Admission)
        .with("family", format!("Bench{patient}"))
        .with("given", "Invented")
        .with("born", "02-Jul-1944")
        .with("sex", "female")
        .with("local_number", format!("B{patient}"))
        .with("slot", format!("B{patient}"))
        .with("area", "Nowhere")
        .with("source", "gp")
        .with("reason", "measured")
        .with("allergies", "none known")
        .with("ceiling", "full")
        .with("resuscitation", "attempt")
        .with("scale", "1")
}

fn contact(turn: u64) -> Draft {
    Draft::new(Kind::Contact)
        .with("mode", "video")
        .with("outcome", "reached")
        .with(
            "how",
            format!("Bright, took tablets, walked to the gate ({turn})."),
        )
        .with("next", "+4h")
}

fn readings(turn: u64) -> Draft {
    Draft::new(Kind::Observation)
        .with("rr", (14 + turn % 8).to_string())
        .with("spo2", (93 + turn % 6).to_string())
        .with("oxygen", "air")
        .with("sbp", (110 + turn % 40).to_string())
        .with("dbp", (60 + turn % 20).to_string())
        .with("hr", (64 + turn % 40).to_string())
        .with("acvpu", "alert")
        .with("temp", format!("3{}.{}", 6 + turn % 2, turn % 10))
}

fn fold_and_index(dir: &Path) {
    let first = timed(
        "open, no index: fold everything, write the index",
        ENTRIES,
        || {
            Station::open(dir).expect("the ward");
        },
    );
    let again = timed("open again, from the index", ENTRIES, || {
        Station::open(dir).expect("the ward");
    });
    println!(
        "  the index makes opening {:.1} times as fast",
        first.as_secs_f64() / again.as_secs_f64()
    );
    std::fs::remove_dir_all(dir.join("index")).expect("the index is there and may go");
    let station = timed_value("open, index deleted", || {
        Station::open(dir).expect("the ward")
    });
    timed(
        "fold everything in memory (as-of the newest entry)",
        ENTRIES,
        || {
            std::hint::black_box(station.as_at(station.head().seq));
        },
    );
}

fn sheet(dir: &Path) {
    let station = Station::open(dir).expect("the ward");
    let mut times: Vec<Duration> = Vec::new();
    let mut length = 0;
    for _ in 0..11 {
        let begun = Instant::now();
        let sheet = sheet_now(station.ward(), station.now());
        length = text::page(&sheet.page(), Paper::plain(80)).len();
        times.push(begun.elapsed());
    }
    times.sort_unstable();
    println!(
        "{:<56} {:>9.1} ms (median of 11; {length} bytes of text)",
        "handover sheet as data and text",
        times[5].as_secs_f64() * 1e3
    );
}

/// The same payloads in a table, read back and decoded.
fn sqlite(dir: &Path, path: &Path) {
    let station = Station::open(dir).expect("the ward");
    let reader = handfast::journal::FileReader::open(dir).expect("the journal");
    let mut db = rusqlite::Connection::open(path).expect("a database");
    db.execute_batch(
        "CREATE TABLE entry (seq INTEGER PRIMARY KEY, kind INT, version INT, payload BLOB)",
    )
    .expect("a table");
    let fill = db.transaction().expect("a transaction");
    for frame in reader.read_from(Seq(1)).flatten() {
        let header = frame.header();
        fill.execute(
            "INSERT INTO entry VALUES (?1, ?2, ?3, ?4)",
            (
                frame.seq().0.cast_signed(),
                header.kind,
                header.kind_version,
                frame.payload(),
            ),
        )
        .expect("inserted");
    }
    fill.commit().expect("committed");
    drop(station);
    timed(
        "peer: SQLite scan and decode, no fold, no hash check",
        ENTRIES,
        || {
            let mut select = db
                .prepare("SELECT kind, version, payload FROM entry ORDER BY seq")
                .expect("a statement");
            let mut rows = select.query([]).expect("rows");
            let mut decoded = 0_u64;
            while let Some(row) = rows.next().expect("a row") {
                let payload: Vec<u8> = row.get(2).expect("a payload");
                let kind: u16 = row.get(0).expect("a kind");
                let version: u8 = row.get(1).expect("a version");
                codec::decode(kind, version, codec::ENCODING, &payload).expect("decoded");
                decoded += 1;
            }
            assert_eq!(decoded, ENTRIES);
        },
    );
}

/// What a person waits for: the program from start to end.
fn starts(dir: &Path) {
    let program = env!("CARGO_BIN_EXE_handfast");
    let run = |args: &[&str]| {
        let mut command = Command::new(program);
        command
            .args(args)
            .arg("--journal")
            .arg(dir)
            .stdout(Stdio::null())
            .stdin(Stdio::null());
        let output = command.output().expect("the program");
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(
            output.status.success(),
            "{args:?}: {}: {said}",
            output.status
        );
    };
    timed_value("program: tasks, cold index", || run(&["tasks"]));
    timed_value("program: tasks, warm", || run(&["tasks"]));
    timed_value("program: handover sheet, warm", || run(&["handover"]));
    let shell = || {
        Command::new(program)
            .args(["shell", "--journal"])
            .arg(dir)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status()
            .expect("the program");
    };
    timed_value(
        "program: shell, from start to where it asks who you are",
        shell,
    );
}

fn timed(what: &str, entries: u64, run: impl FnOnce()) -> Duration {
    let begun = Instant::now();
    run();
    let elapsed = begun.elapsed();
    #[expect(clippy::cast_precision_loss, reason = "a rate for people")]
    let rate = entries as f64 / elapsed.as_secs_f64();
    println!(
        "{what:<56} {:>9.1} ms  {rate:>10.0} entries/s",
        elapsed.as_secs_f64() * 1e3
    );
    elapsed
}

fn timed_value<T>(what: &str, run: impl FnOnce() -> T) -> T {
    let begun = Instant::now();
    let value = run();
    println!("{what:<56} {:>9.1} ms", begun.elapsed().as_secs_f64() * 1e3);
    value
}
