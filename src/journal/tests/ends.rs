//! What a verification says of the journal's end, and of what it counts.

use std::path::Path;

use super::bench_material::*;
use crate::journal::verify::{Level, Verdict, Verification, VerifyOptions, Wrong, verify};
use crate::journal::{FileReader, FileStore, Head, Layout, ReadError, ReadJournal, Store};
use crate::record::ids::Seq;
use crate::record::time::Timestamp;

fn check(dir: &Path) -> Verification {
    verify(dir, VerifyOptions::default()).unwrap()
}

fn check_against(dir: &Path, head: Head) -> Verification {
    let remembered = vec![head];
    let options = VerifyOptions {
        remembered,
        ..VerifyOptions::default()
    };
    verify(dir, options).unwrap()
}

fn change(dir: &Path, how: impl FnOnce(&mut Vec<u8>)) {
    let path = Layout::new(dir).segment(Seq(1));
    let mut bytes = std::fs::read(&path).unwrap();
    how(&mut bytes);
    std::fs::write(path, bytes).unwrap();
}

fn forget_note(dir: &Path) {
    std::fs::remove_file(Layout::new(dir).flushed_note()).unwrap();
}

#[test]
fn only_a_vouched_end_is_whole() {
    let dir = journal();
    let head = FileReader::open(dir.path()).unwrap().head();
    assert_eq!(check(dir.path()).verdict(), Verdict::Whole);
    let note = std::fs::read(Layout::new(dir.path()).flushed_note()).unwrap();
    open(dir.path()).append(vec![entry(5)], None).unwrap();
    // The note of the day before.
    std::fs::write(Layout::new(dir.path()).flushed_note(), &note).unwrap();
    assert_eq!(check(dir.path()).verdict(), Verdict::EndNotVouchedFor);
    forget_note(dir.path());
    let found = check(dir.path());
    assert_eq!(found.verdict(), Verdict::EndNotVouchedFor);
    assert_eq!((found.entries, found.findings.len()), (5, 1));
    assert_eq!(found.findings[0].seq, Some(Seq(5)));
    // A head from elsewhere vouches, if it is the newest; an older one does not.
    let newest = FileReader::open(dir.path()).unwrap().head();
    assert_eq!(check_against(dir.path(), newest).verdict(), Verdict::Whole);
    let older = check_against(dir.path(), head);
    assert_eq!(older.verdict(), Verdict::EndNotVouchedFor);
}

#[test]
fn a_torn_or_lengthened_end_is_not_whole() {
    for garbage in [&b"x"[..], b"hfen", &[0; 400]] {
        let dir = journal();
        change(dir.path(), |bytes| bytes.extend_from_slice(garbage));
        let found = check(dir.path());
        assert_eq!(found.verdict(), Verdict::EndNotVouchedFor, "{found:?}");
        assert!(matches!(found.findings[0].what, Wrong::TornTail { .. }));
        assert_eq!(found.entries, 4);
    }
    let dir = journal();
    let head = FileReader::open(dir.path()).unwrap().head();
    let header = crate::journal::SegmentHeader {
        journal: JOURNAL,
        first: Seq(5),
        prev: head.hash,
    };
    std::fs::write(Layout::new(dir.path()).segment(Seq(5)), header.encode()).unwrap();
    let found = check(dir.path());
    assert_eq!(found.verdict(), Verdict::EndNotVouchedFor, "{found:?}");
    assert_eq!(
        open(dir.path()).append(vec![entry(5)], None).unwrap()[0].seq,
        Seq(5)
    );
    assert_eq!(check(dir.path()).verdict(), Verdict::Whole);
}

#[test]
fn without_the_note_a_flipped_byte_in_the_last_entry_is_not_whole() {
    let dir = journal();
    forget_note(dir.path());
    let path = Layout::new(dir.path()).segment(Seq(1));
    let sound = std::fs::read(&path).unwrap();
    let last = FileReader::open(dir.path()).unwrap().read(Seq(4)).unwrap();
    for back in 1..=last.bytes().len() {
        let mut bytes = sound.clone();
        let at = bytes.len() - back;
        bytes[at] ^= 1;
        std::fs::write(&path, &bytes).unwrap();
        let found = check(dir.path());
        assert_ne!(found.verdict(), Verdict::Whole, "byte {at}");
        assert_eq!(found.entries, 3, "byte {at}");
        assert_eq!(found.findings[0].seq, Some(Seq(4)), "byte {at}");
    }
}

#[test]
fn a_note_kept_elsewhere_makes_a_flipped_last_entry_a_fault() {
    let dir = journal();
    change(dir.path(), |bytes| *bytes.last_mut().unwrap() ^= 1);
    assert_eq!(check(dir.path()).verdict(), Verdict::NotAsWritten);
}

#[test]
fn an_altered_header_still_tells_who_and_when_as_its_own_word() {
    let dir = journal();
    let second = FileReader::open(dir.path()).unwrap().read(Seq(2)).unwrap();
    let place = |bytes: &[u8]| {
        let start = &second.bytes()[..64];
        bytes.windows(64).position(|w| w == start).unwrap()
    };
    change(dir.path(), |bytes| {
        let at = place(bytes);
        bytes[at + 130] ^= 1;
    });
    let found = check(dir.path());
    let finding = &found.findings[0];
    assert_eq!(finding.seq, Some(Seq(2)), "{found:?}");
    assert_eq!(finding.recorded_at, Some(entry(2).recorded_at));
    assert_eq!(finding.author, Some(entry(2).signer.public()));
    assert!(finding.claimed);
    assert!(
        finding
            .to_string()
            .contains("as its altered header now says")
    );
    assert_eq!(found.entries, 3);
}

#[test]
fn what_was_cut_is_known_to_later_verifications() {
    let dir = journal();
    change(dir.path(), |bytes| bytes.extend_from_slice(b"hfen torn"));
    let (store, report) = FileStore::open_writer(dir.path(), &options()).unwrap();
    let cut = report.cut.unwrap();
    drop(store);
    let found = check(dir.path());
    assert_eq!(found.verdict(), Verdict::Whole);
    assert_eq!(found.aside.len(), 1);
    assert_eq!(found.aside[0].path, cut.aside);
    assert_eq!(
        (found.aside[0].segment, found.aside[0].offset),
        (Seq(1), cut.offset)
    );
    assert!(
        found
            .findings
            .iter()
            .all(|finding| finding.level == Level::Note)
    );
}

/// A frame whose hash and signature hold, with a time that no calendar has.
#[test]
fn an_entry_with_an_impossible_time_is_unreadable_and_named() {
    for time in [
        i64::MIN,
        i64::MAX,
        Timestamp::LATEST.0,
        Timestamp::STORABLE_FROM.0 - 1,
    ] {
        let dir = journal();
        let reader = FileReader::open(dir.path()).unwrap();
        let mut header = *reader.read(Seq(4)).unwrap().header();
        header.recorded_at = Timestamp(time);
        let path = Layout::new(dir.path()).segment(Seq(1));
        let mut bytes = std::fs::read(&path).unwrap();
        let frame = reader.read(Seq(4)).unwrap().bytes().len();
        bytes.truncate(bytes.len() - frame);
        crate::journal::frame::encode(&header, b"entry 4", &*entry(4).signer, &mut bytes);
        std::fs::write(path, bytes).unwrap();
        let found = check(dir.path());
        assert_eq!((found.verdict(), found.entries), (Verdict::NotAsWritten, 3));
        let all: Vec<String> = found.findings.iter().map(ToString::to_string).collect();
        let named =
            |text: &String| text.contains("entry #4") && text.contains("outside 1900 to 2199");
        assert!(all.iter().any(named), "{all:?}");
        let reader = FileReader::open(dir.path()).unwrap();
        assert!(matches!(
            reader.read(Seq(4)),
            Err(ReadError::Missing { .. })
        ));
        assert_eq!(payloads(&reader).len(), 3);
        let mut wrong = entry(5);
        wrong.recorded_at = Timestamp(time);
        let other = tempfile::tempdir().unwrap();
        create(other.path());
        let refused = open(other.path()).append(vec![wrong], None);
        assert!(refused.unwrap_err().to_string().contains("set the clock"));
    }
}
