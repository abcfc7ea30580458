//! The governance officer: a copied folder, the program, and nothing else.

use std::os::unix::fs::PermissionsExt;
use std::path::Path;

use handfast::journal::{
    FileReader, FileStore, Layout, NewEntry, ReadJournal, Store, WriteOptions,
};
use handfast::record::codec;
use handfast::record::ids::{EntryId, Pseudonym, Seq};
use handfast::record::kind::Kind;
use handfast::record::person::Handle;
use handfast::station::Station;
use handfast::station::clock::{Clock, SystemClock};
use handfast::station::keys::unlock;
use serde_json::Value;

use crate::desk::{Answer, Desk, copy, flat, member, pristine, says};

/// Words of one entry's text; it stands in the journal once.
const IN_ENTRY: &str = "Answered in three minutes. Pressed by accident.";

fn verify_json(desk: &Desk, code: i32) -> Value {
    let answer = desk.run(&["verify", "--json"]);
    assert_eq!(answer.code, code, "{answer:?}");
    serde_json::from_str(&answer.out).unwrap()
}

/// The number of the entry that holds [`IN_ENTRY`].
fn altered_entry(desk: &Desk) -> u64 {
    let ledger = desk.run(&["alerts", "--all", "--json"]).done();
    let ledger: Value = serde_json::from_str(&ledger).unwrap();
    let steps = ledger["alerts"].as_array().unwrap().iter();
    let steps = steps.flat_map(|alert| alert["steps"].as_array().unwrap());
    let step = steps.into_iter().find(|step| step["what"] == IN_ENTRY);
    step.unwrap()["seq"].as_u64().unwrap()
}

#[test]
fn an_unaltered_folder_is_whole() {
    let desk = Desk::demo();
    let head = desk.head();
    let shown = desk.run(&["verify"]).done();
    says(
        &shown,
        &[
            "WHOLE AND UNALTERED",
            &format!("{} entries", head.seq.0),
            &format!("Newest entry {}: {}", head.seq, head.hash),
            "nothing in this folder was altered",
        ],
    );
    let json = verify_json(&desk, 0);
    assert_eq!(json["sound"], true);
    assert_eq!(json["findings"], Value::Array(Vec::new()));
    let remembered = format!("{}:{}", head.seq.0, head.hash);
    desk.run(&["verify", "--remembered", &remembered]).done();
    let never = format!("{}:{}", head.seq.0, "0".repeat(64));
    let answer = desk.run(&["verify", "--remembered", &never]);
    assert_eq!(answer.code, 3, "{answer:?}");
}

#[test]
fn one_altered_byte_is_named_by_entry_time_and_author_and_the_rest_is_checked() {
    let desk = Desk::demo();
    let (entry, entries) = (altered_entry(&desk), desk.head().seq.0);
    let place = desk.place_of(IN_ENTRY);
    desk.alter(|bytes| bytes[place] = b'a');
    let answer = desk.run(&["verify"]);
    assert_eq!((answer.code, answer.err.as_str()), (3, ""), "{answer:?}");
    says(
        &answer.out,
        &[
            "NOT AS WRITTEN: something is wrong in 1 place.",
            &format!("{} entries are intact", entries - 1),
            &format!("FAULT: entry #{entry}, recorded Fri 23-Oct-2026 03:17, by Orla Quillfeather"),
            "the entry was altered",
        ],
    );
    assert!(
        !flat(&answer.out).contains("nothing in this folder was altered"),
        "it must not say both:\n{}",
        answer.out
    );
    let json = verify_json(&desk, 3);
    assert_eq!(json["sound"], false);
    assert_eq!(json["entries"], entries - 1);
    let findings = json["findings"].as_array().unwrap();
    assert_eq!(findings.len(), 1);
    assert_eq!(findings[0]["seq"], entry);
    // A second one elsewhere is found beside the first.
    let other = desk.place_of("Ward car: nearside tyre flat");
    desk.alter(|bytes| bytes[other] ^= 0x20);
    assert_eq!(
        verify_json(&desk, 3)["findings"].as_array().unwrap().len(),
        2
    );
}

/// A dozen places here; the library's tests alter each byte of a small journal in turn.
#[test]
fn bytes_all_over_the_segment_are_missed_by_nothing() {
    let desk = Desk::demo();
    let length = std::fs::read(desk.segment()).unwrap().len();
    for step in 0..12 {
        // From the fourth byte: the file's own mark, then frames of every sort.
        let place = 3 + step * (length - 20) / 12;
        desk.alter(|bytes| bytes[place] ^= 0x01);
        let answer = desk.run(&["verify"]);
        assert_eq!(answer.code, 3, "byte {place}: {answer:?}");
        assert!(
            !answer.err.contains("init"),
            "nobody is sent to make a new one: {answer:?}"
        );
        desk.alter(|bytes| bytes[place] ^= 0x01);
    }
    assert_eq!(desk.run(&["verify"]).code, 0);
}

/// A torn end, the note gone: not whole; and whoever writes next is told what was cut.
#[test]
fn a_torn_end_is_named_cut_and_told() {
    let desk = Desk::demo();
    std::fs::remove_file(desk.journal.join("flushed")).unwrap();
    desk.alter(|bytes| bytes.extend_from_slice(b"hfen torn"));
    let answer = desk.run(&["verify"]);
    assert_eq!(answer.code, 4, "{answer:?}");
    says(&answer.out, &["ITS END IS NOT VOUCHED FOR", "END: entry #"]);
    let shown = desk.run(&["damage", "show"]).done();
    says(&shown, &["the journal ends in 9 bytes"]);
    says(&cut_json(&desk), &["the journal ends in 9 bytes"]);
    let mut command = desk.command_as("orla", &["log", "--ndjson"]);
    let line = "{\"kind\":\"note\",\"patient\":\"T01\",\"text\":\"after the stop\"}\n";
    command.stdin(std::process::Stdio::piped());
    let written = crate::desk::answer(command, line);
    assert_eq!(written.code, 0, "{written:?}");
    says(
        &written.err,
        &["The journal ended in 9 bytes", "kept in", "enter it again"],
    );
    let answer = desk.run(&["verify"]).done();
    says(&answer, &["WHOLE AND UNALTERED", "an unfinished end"]);
    says(
        &desk.run(&["damage", "show"]).done(),
        &["an unfinished end"],
    );
    says(&cut_json(&desk), &["an unfinished end"]);
}

/// The one cut that `damage show --json` tells of a journal that is not damaged.
fn cut_json(desk: &Desk) -> String {
    let shown = desk.run(&["damage", "show", "--json"]).done();
    let shown: Value = serde_json::from_str(&shown).unwrap();
    assert_eq!(shown["digest"], Value::Null);
    let cut = shown["cut"].as_array().unwrap();
    assert_eq!(cut.len(), 1, "{shown}");
    cut[0].as_str().unwrap().to_owned()
}

/// An entry whose frame, hash and signature hold and whose payload says it happened at no time
/// that a calendar has: named, everything else is read, and nothing panics.
#[test]
fn a_signed_entry_that_happened_at_no_time_is_named() {
    for time in [i64::MIN, i64::MAX] {
        let desk = Desk::demo();
        let seq = put_at(&desk, time);
        let answer = desk.run(&["verify"]);
        assert_eq!(answer.code, 3, "{answer:?}");
        let unfit = "the payload's bytes do not fit its kind";
        says(
            &answer.out,
            &[&format!("entry #{seq}"), "by Orla Quillfeather", unfit],
        );
        for args in READING.into_iter().filter(|args| args[0] != "verify") {
            let answer = desk.run(args);
            assert_ne!(answer.code, 101, "{args:?} {answer:?}");
            assert!(!answer.err.contains("panicked"), "{args:?} {answer:?}");
        }
        let number = seq.to_string();
        let shown = desk.run(&["entry", &number]);
        let told = format!("{}{}", shown.out, shown.err);
        says(&flat(&told), &[unfit]);
    }
}

/// Appends the newest note again, truly signed by a nurse, with another `occurred_at`.
fn put_at(desk: &Desk, time: i64) -> u64 {
    let reader = FileReader::open(&desk.journal).unwrap();
    let notes = reader.read_from(Seq(1)).map(Result::unwrap);
    let note = notes.filter(|frame| frame.header().kind == Kind::Note.code());
    let note = note.last().unwrap();
    let header = *note.header();
    let mut payload = note.payload().to_vec();
    payload[..8].copy_from_slice(&time.to_le_bytes());
    let orla = Handle::parse("orla").unwrap();
    let real_now = SystemClock.now();
    let layout = Layout::new(&desk.journal);
    let orla = unlock(&layout, &orla, None, member("orla").pin, real_now).unwrap();
    let now = reader.read(reader.head().seq).unwrap().header().recorded_at;
    let entry = NewEntry {
        id: EntryId([9; 16]),
        recorded_at: now,
        kind: header.kind,
        kind_version: header.kind_version,
        patient: header.patient,
        encoding: header.encoding,
        payload,
        signer: orla.signer,
        seal: None,
    };
    let options = WriteOptions::new("auditor", now);
    let (store, _) = FileStore::open_writer(&desk.journal, &options).unwrap();
    store.append(vec![entry], None).unwrap()[0].seq.0
}

/// A file put among the segments: refused in words, everything else goes on.
#[test]
fn a_folder_among_the_segments_is_named_and_reading_goes_on() {
    let desk = Desk::demo();
    let strange = desk.journal.join("segments/00000000000000900000.hfs");
    std::fs::create_dir(&strange).unwrap();
    let answer = desk.run(&["verify"]);
    assert_eq!(answer.code, 3, "{answer:?}");
    says(&answer.out, &["is a folder, not a file"]);
    // What can be read is shown, and says that it may not be all.
    let page = desk.run(&["caseload"]);
    assert_eq!(page.code, 3, "{page:?}");
    says(
        &page.out,
        &[
            "15 patients",
            "NOT COMPLETE",
            "there is a folder in its place",
        ],
    );
    let shown = desk.run(&["damage", "show"]);
    assert_eq!(shown.code, 3, "{shown:?}");
    says(&shown.out, &["is a folder", "take it out of segments/"]);
    std::fs::remove_dir(&strange).unwrap();
    desk.run(&["verify"]).done();
}

fn set_mode(path: &Path, writable: bool) {
    for entry in std::fs::read_dir(path).unwrap() {
        let entry = entry.unwrap().path();
        if entry.is_dir() {
            set_mode(&entry, writable);
        } else {
            let mode = if writable { 0o644 } else { 0o444 };
            std::fs::set_permissions(&entry, PermissionsExt::from_mode(mode)).unwrap();
        }
    }
    let mode = if writable { 0o755 } else { 0o555 };
    std::fs::set_permissions(path, PermissionsExt::from_mode(mode)).unwrap();
}

/// Every file with its bytes, to see that reading leaves no trace.
fn listing(dir: &Path) -> Vec<(String, Vec<u8>)> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(listing(&path));
        } else {
            found.push((path.display().to_string(), std::fs::read(&path).unwrap()));
        }
    }
    found.sort();
    found
}

const READING: [&[&str]; 6] = [
    &["verify"],
    &["handover"],
    &["alerts", "--all"],
    &["tasks"],
    &["caseload"],
    &["timeline", "T01"],
];

#[test]
fn reading_a_folder_that_cannot_be_written_works_and_leaves_no_trace() {
    let desk = Desk::demo();
    set_mode(&desk.journal, false);
    let before = listing(&desk.journal);
    for args in READING {
        desk.run(args).done();
    }
    assert_eq!(listing(&desk.journal), before);
    set_mode(&desk.journal, true);
}

/// Keys, notes and the index are no part of the truth.
#[test]
fn the_segments_alone_are_enough() {
    let desk = Desk::empty();
    copy(&pristine().join("segments"), &desk.journal.join("segments"));
    // `verify` says more where the note is not there: below.
    for args in READING.into_iter().filter(|args| args[0] != "verify") {
        let alone = desk.run(args).done();
        if args[0] != "tasks" {
            assert_eq!(alone, Desk::demo().run(args).done(), "{args:?}");
        }
    }
    // Without the note nothing vouches that the newest entry is the newest there was.
    let alone = verify_json(&desk, 4);
    assert_eq!(alone["entries"], desk.head().seq.0);
    assert_eq!(alone["verdict"], "end-not-vouched-for");
    let text = desk.run(&["verify"]);
    says(&text.out, &["ITS END IS NOT VOUCHED FOR", "--remembered"]);
    assert!(!text.out.contains("WHOLE AND UNALTERED"), "{}", text.out);
    let head = desk.head();
    let remembered = format!("{}:{}", head.seq.0, head.hash);
    desk.run(&["verify", "--remembered", &remembered]).done();
}

/// An entry of a kind that this program does not know, truly signed by somebody on the staff.
#[test]
fn what_could_not_be_judged_is_counted_and_is_not_called_whole() {
    let desk = Desk::demo();
    let layout = Layout::new(&desk.journal);
    let orla = Handle::parse("orla").unwrap();
    let orla = unlock(&layout, &orla, None, member("orla").pin, SystemClock.now()).unwrap();
    let now = Station::open(&desk.journal)
        .unwrap()
        .ward()
        .newest_recorded_at();
    let entry = NewEntry {
        id: EntryId([8; 16]),
        recorded_at: now,
        kind: 60_000,
        kind_version: 1,
        patient: Pseudonym::ZERO,
        encoding: codec::ENCODING,
        payload: vec![1],
        seal: None,
        signer: orla.signer,
    };
    let options = WriteOptions::new("a newer program", now);
    let (store, _) = FileStore::open_writer(&desk.journal, &options).unwrap();
    let seq = store.append(vec![entry], None).unwrap()[0].seq;
    drop(store);
    let found = verify_json(&desk, 4);
    assert_eq!(found["verdict"], "not-all-judged");
    assert_eq!(found["sound"], false);
    let not_judged = serde_json::json!([{"kind": 60_000, "entries": 1, "first": seq.0}]);
    assert_eq!(found["not_judged"], not_judged);
    let text = desk.run(&["verify"]);
    let words = [
        "NOT ALL OF IT COULD BE JUDGED",
        "the right to write 1 of kinds",
    ];
    says(&text.out, &words);
    assert!(!text.out.contains("WHOLE AND UNALTERED"), "{}", text.out);
}

/// A reader never waits for a writer, and never sees half an entry.
#[test]
fn one_reads_while_another_writes() {
    let desk = Desk::demo();
    let before = desk.head().seq.0;
    let lines: String = (0..40)
        .map(|number| {
            format!("{{\"kind\":\"note\",\"patient\":\"T01\",\"text\":\"round {number}\"}}\n")
        })
        .collect();
    let command = desk.command_as("orla", &["log", "--ndjson"]);
    std::thread::scope(|scope| {
        let writer = scope.spawn(move || crate::desk::answer(command, &lines));
        let mut seen = before;
        for _ in 0..8 {
            // Between an entry and the note that the writer leaves behind nothing vouches for it.
            let answer = desk.run(&["verify", "--json"]);
            assert!([0, 4].contains(&answer.code), "{answer:?}");
            let found: Value = serde_json::from_str(&answer.out).unwrap();
            let entries = found["entries"].as_u64().unwrap();
            assert!(entries >= seen, "{entries} after {seen}");
            seen = entries;
        }
        let written: Answer = writer.join().unwrap();
        assert_eq!(written.code, 0, "{written:?}");
    });
    assert_eq!(desk.head().seq.0, before + 40);
    assert_eq!(verify_json(&desk, 0)["entries"], before + 40);
}
