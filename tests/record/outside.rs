//! The stored bytes as others read them: `wincode`, a separate implementation of the same
//! wire format and our way out should bincode ever have to go; and a script that knows only the
//! documents.

use std::path::Path;
use std::process::Command;

use handfast::journal::{FileReader, Layout, ReadJournal};
use handfast::record::ids::Seq;
use handfast::record::kind::Kind;
use wincode::{SchemaRead, SchemaWrite};

use crate::golden::{Case, compact, goldens};

/// A closed list's value is its position.
type Choice = u32;
/// Microseconds since 1970 UTC.
type Moment = i64;
/// The number of an entry.
type Entry = u64;

#[derive(SchemaRead, SchemaWrite, Debug)]
struct Envelope {
    occurred_at: Moment,
    approximate: bool,
    role: Choice,
    episode: Option<Entry>,
    late_reason: Option<String>,
    related: Vec<Entry>,
    confirmed: Vec<String>,
}

#[derive(SchemaRead, SchemaWrite, Debug)]
struct Contact {
    mode: Choice,
    outcome: Choice,
    spoke_to: Option<Choice>,
    spoke_name: Option<String>,
    started_by: Option<Choice>,
    how: Option<String>,
    said_by: Option<Choice>,
    identified: Option<bool>,
    worry: Option<String>,
    advice: Option<String>,
    safety_net: Option<String>,
    next: Option<Moment>,
    next_by: Option<String>,
    answers: Option<Entry>,
    attempt: Option<i32>,
    then: Option<Choice>,
}

#[derive(SchemaRead, SchemaWrite, Debug)]
enum Reading {
    Value { value: i32, source: Option<Choice> },
    NotObtained { reason: String },
}

#[derive(SchemaRead, SchemaWrite, Debug)]
enum Oxygen {
    Air,
    Given {
        device: Choice,
        flow: Option<i32>,
        fio2: Option<i32>,
    },
}

#[derive(SchemaRead, SchemaWrite, Debug)]
struct Gcs {
    eye: Option<u8>,
    verbal: Option<u8>,
    motor: Option<u8>,
}

#[derive(SchemaRead, SchemaWrite, Debug)]
enum FourAt {
    Items {
        alertness: Option<u8>,
        amt4: Option<u8>,
        attention: Option<u8>,
        acute_change: Option<u8>,
    },
    Total(u8),
}

#[derive(SchemaRead, SchemaWrite, Debug)]
struct FluidOut {
    what: Choice,
    ml: Option<i32>,
    detail: Option<String>,
}

#[derive(SchemaRead, SchemaWrite, Debug)]
struct SeenScore {
    total: Option<u8>,
    scale: u8,
    single_3: bool,
    missing: Vec<String>,
}

#[derive(SchemaRead, SchemaWrite, Debug)]
struct Observation {
    rr: Option<Reading>,
    spo2: Option<Reading>,
    oxygen: Option<Oxygen>,
    sbp: Option<Reading>,
    dbp: Option<Reading>,
    hr: Option<Reading>,
    acvpu: Option<Choice>,
    temp: Option<Reading>,
    temp_site: Option<Choice>,
    skin_temp: Option<Reading>,
    glucose: Option<Reading>,
    weight: Option<Reading>,
    pain: Option<i32>,
    pain_moving: Option<i32>,
    gcs: Option<Gcs>,
    four_at: Option<FourAt>,
    fluid_in: Option<i32>,
    urine: Option<i32>,
    fluid_out: Vec<FluidOut>,
    rhythm: Option<Choice>,
    posture: Option<Choice>,
    arm: Option<Choice>,
    signs: Vec<Choice>,
    source: Option<Choice>,
    judgement: Option<String>,
    action: Option<String>,
    worry: Option<String>,
    during: Option<Entry>,
    score: Option<SeenScore>,
}

#[derive(SchemaRead, SchemaWrite, Debug)]
enum Repeat {
    EveryElapsed { minutes: u32 },
    DailyAt { minute_of_day: u16, every_days: u16 },
}

#[derive(SchemaRead, SchemaWrite, Debug)]
struct Task {
    what: String,
    due: Moment,
    from: Option<Moment>,
    role: Option<Choice>,
    person: Option<String>,
    repeat: Option<Repeat>,
    priority: Option<Choice>,
    kind: Option<Choice>,
    source: Option<Entry>,
    detail: Option<String>,
}

/// Reads the cases of one kind with wincode, all bytes of each, and writes them again.
macro_rules! with_wincode {
    ($kind:expr, $fields:ty) => {{
        let mut read = Vec::new();
        for (_, _, case) in goldens()
            .into_iter()
            .filter(|g| (g.0, g.1) == ($kind, $kind.version()))
        {
            let bytes = case.payload();
            let both: (Envelope, $fields) = wincode::deserialize_exact(&bytes).expect(&case.name);
            assert_eq!(wincode::serialize(&both).unwrap(), bytes, "{}", case.name);
            read.push((case, both));
        }
        read
    }};
}

/// Whether the JSON beside the bytes says the same.
fn says(case: &Case, part: &str) -> bool {
    compact(case.fields.get()).contains(part) || compact(case.envelope.get()).contains(part)
}

#[test]
fn wincode_reads_an_envelope_and_a_contact() {
    let read = with_wincode!(Kind::Contact, Contact);
    let (case, (envelope, contact)) = &read[0];
    assert_eq!(envelope.related, [1, 4_294_967_296]);
    assert_eq!((envelope.role, envelope.approximate), (2, true));
    assert!(says(case, "\"role\":\"sister\"") && says(case, "\"approximate\":true"));
    assert_eq!(
        envelope.late_reason.as_deref(),
        Some("no signal at the farm — Zoë")
    );
    assert_eq!((contact.mode, contact.attempt), (4, Some(7)));
    assert!(says(case, "\"mode\":\"help\"") && says(case, "\"attempt\":7"));
    assert_eq!(
        (contact.answers, contact.next_by.as_deref()),
        (Some(258), Some("maya"))
    );
    assert!(says(case, "\"answers\":258") && says(case, "\"next_by\":\"maya\""));
}

#[test]
fn wincode_reads_observations() {
    let read = with_wincode!(Kind::Observation, Observation);
    let (case, (_, full)) = &read[0];
    assert!(matches!(
        full.rr,
        Some(Reading::Value {
            value: 18,
            source: Some(1)
        })
    ));
    assert!(says(
        case,
        "\"rr\":{\"value\":{\"value\":18,\"source\":\"patient\"}}"
    ));
    assert!(matches!(
        full.oxygen,
        Some(Oxygen::Given {
            device: 0,
            flow: Some(250),
            fio2: None
        })
    ));
    assert_eq!(full.score.as_ref().unwrap().missing, ["hr", "temp"]);
    assert!(matches!(
        full.gcs,
        Some(Gcs {
            eye: Some(4),
            verbal: Some(5),
            motor: Some(6)
        })
    ));
    assert!(matches!(
        full.four_at,
        Some(FourAt::Items {
            amt4: Some(1),
            acute_change: Some(4),
            ..
        })
    ));
    assert_eq!(
        (full.fluid_out[0].what, full.fluid_out[0].ml),
        (0, Some(250))
    );
    assert!(says(case, "\"fluid_out\":[{\"what\":\"drain\",\"ml\":250,"));
    let (_, (_, lost)) = read
        .iter()
        .find(|(case, _)| case.name == "losses and parts not testable")
        .unwrap();
    assert!(matches!(lost.gcs, Some(Gcs { verbal: None, .. })));
    assert!(matches!(lost.four_at, Some(FourAt::Total(7))));
    assert_eq!(lost.fluid_out[1].ml, None);
    let (_, (_, asleep)) = read
        .iter()
        .find(|(case, _)| case.name == "not obtained")
        .unwrap();
    assert!(matches!(&asleep.rr, Some(Reading::NotObtained { reason }) if reason == "asleep"));
    assert!(matches!(
        asleep.oxygen,
        Some(Oxygen::Given {
            device: 2,
            flow: None,
            fio2: Some(28)
        })
    ));
    let (_, (_, on_air)) = read.iter().find(|(case, _)| case.name == "on air").unwrap();
    assert!(matches!(on_air.oxygen, Some(Oxygen::Air)));
}

#[test]
fn wincode_reads_tasks() {
    let read = with_wincode!(Kind::Task, Task);
    assert!(matches!(
        read[0].1.1.repeat,
        Some(Repeat::EveryElapsed { minutes: 240 })
    ));
    let daily = Repeat::DailyAt {
        minute_of_day: 540,
        every_days: 1,
    };
    assert_eq!(
        format!("{:?}", read[2].1.1.repeat),
        format!("{:?}", Some(daily))
    );
    assert_eq!(read[1].1.1.what, "x");
}

/// `tests/independent/payload.py` reads every payload from the documents' tables alone. Needs
/// no package; CI must have an interpreter.
#[test]
fn a_decoder_written_from_the_documents_alone_agrees() {
    let python = std::env::var("HANDFAST_PYTHON").unwrap_or_else(|_| "python3".into());
    let root = env!("CARGO_MANIFEST_DIR");
    let script = format!("{root}/tests/independent/payload.py");
    let Ok(output) = Command::new(&python).arg(script).current_dir(root).output() else {
        assert!(std::env::var_os("CI").is_none(), "no {python}");
        eprintln!("SKIPPED: no {python}");
        return;
    };
    let text = String::from_utf8_lossy(&output.stdout);
    assert!(
        output.status.success(),
        "{text}{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let expected = format!("{} payloads agree", goldens().len());
    assert!(text.contains(&expected), "{text}");
}

/// The demo ward's journal, checked and read without our code. Needs the PyPI packages `blake3`
/// and `cryptography`; CI must have them.
#[test]
fn a_verifier_written_from_the_documents_alone_reads_the_demo_ward() {
    let python = std::env::var("HANDFAST_PYTHON").unwrap_or_else(|_| "python3".into());
    let run = |arguments: &[&str]| Command::new(&python).args(arguments).output();
    if !run(&["-c", "import blake3, cryptography"]).is_ok_and(|has| has.status.success()) {
        assert!(
            std::env::var_os("CI").is_none(),
            "{python} lacks blake3 and cryptography"
        );
        eprintln!("SKIPPED: {python} lacks the packages blake3 and cryptography");
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let segments = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-journal/segments");
    std::fs::create_dir(folder.path().join("segments")).unwrap();
    for file in std::fs::read_dir(segments).unwrap() {
        let file = file.unwrap();
        let copy = folder.path().join("segments").join(file.file_name());
        std::fs::copy(file.path(), copy).unwrap();
    }
    let note = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-journal/flushed");
    std::fs::copy(&note, folder.path().join("flushed")).unwrap();
    let script = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/independent/verify_journal.py"
    );
    let check = || {
        let output = run(&[script, folder.path().to_str().unwrap()]).unwrap();
        let text = String::from_utf8_lossy(&output.stdout).into_owned();
        (
            output.status.code(),
            text + &String::from_utf8_lossy(&output.stderr),
        )
    };
    let head = FileReader::open(folder.path()).unwrap().head();
    let expected = format!("{} entries, head {}, 0 faults\n", head.seq.0, head.hash);
    assert_eq!(check(), (Some(0), expected.clone()));

    // Without the note, or with one that names another entry, nothing vouches for the end.
    let said = std::fs::read_to_string(&note).unwrap();
    std::fs::remove_file(folder.path().join("flushed")).unwrap();
    let lacking = "the end is not vouched for: there is no flushed note\n";
    assert_eq!(check(), (Some(4), format!("{lacking}{expected}")));
    std::fs::write(folder.path().join("flushed"), said.replacen('7', "6", 1)).unwrap();
    let altered =
        "the end is not vouched for: the flushed note is another journal's, or was altered\n";
    assert_eq!(check(), (Some(4), format!("{altered}{expected}")));

    // One bit in the middle of the journal: the entry is named, and what follows is still read.
    let path = Layout::new(folder.path()).segment(Seq(1));
    let mut bytes = std::fs::read(&path).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(&path, bytes).unwrap();
    let (code, text) = check();
    let first = text.lines().next().unwrap();
    assert!(
        code == Some(1) && first.starts_with("entry ") && first.contains(" byte "),
        "{text}"
    );
    let last = text.lines().last().unwrap();
    assert!(
        last.starts_with(&format!("{} entries", head.seq.0 - 1)),
        "{text}"
    );
}
