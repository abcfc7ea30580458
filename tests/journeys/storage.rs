//! What the folder or the disk does not let happen: the message says what to do, nothing typed
//! is lost, and what was recorded stays readable.

use std::path::Path;
use std::process::Command;

use handfast::journal::Layout;
use handfast::record::ids::Seq;
use handfast::station::Station;
use serde_json::Value;

use crate::desk::{Desk, answer, copy, hold_lock, number, pristine, says};

const NOTE: [&str; 4] = ["log", "note", "patient=T01", "text=slept well"];

#[test]
fn a_folder_that_holds_no_journal() {
    let desk = Desk::empty();
    for args in [&["caseload"] as &[&str], &["verify"], &["handover"]] {
        desk.run(args).failed(
            1,
            &[
                "holds no journal",
                "make one with `init`, or name the right folder",
            ],
        );
    }
    desk.run_as("orla", &NOTE).failed(1, &["holds no journal"]);
    assert!(!desk.journal.exists(), "asking makes nothing");
    let mut nameless = desk.command(&["caseload"]);
    nameless.env_remove("HANDFAST_JOURNAL");
    answer(nameless, "").failed(2, &["no journal is named", "--journal DIR"]);
}

#[test]
fn a_journal_that_is_there_already() {
    let desk = Desk::demo();
    let before = desk.head();
    let pin = desk.file("new", "654321");
    desk.run(&[
        "init",
        "--ward",
        "X",
        "--keeper",
        "kim",
        "--name",
        "Kim",
        "--new-pin-file",
        pin.to_str().unwrap(),
    ])
    .failed(1, &["already"]);
    desk.run(&["demo", desk.journal.to_str().unwrap()])
        .failed(1, &["already"]);
    assert_eq!(desk.head(), before);
    assert!(!desk.journal.join("keys/kim.key").exists());
}

/// Another program keeps the lock; the reader is not held up and the writer is told who.
#[test]
fn a_journal_in_use() {
    let desk = Desk::demo();
    let before = desk.head();
    let held = hold_lock(&desk.journal, "joss at the night desk");
    desk.run_as("orla", &NOTE).failed(
        5,
        &["joss at the night desk", &std::process::id().to_string()],
    );
    desk.run(&["caseload"]).done();
    assert_eq!(desk.run(&["verify"]).code, 0);
    assert_eq!(desk.head(), before);
    drop(held);
    desk.run_as("orla", &NOTE).done();
}

#[test]
fn a_journal_of_a_newer_format() {
    let desk = Desk::demo();
    let before = desk.head();
    let original = std::fs::read(desk.segment()).unwrap();
    let newer = 99u16.to_le_bytes();
    desk.alter(|bytes| bytes[8..10].copy_from_slice(&newer));
    let said = [
        "the journal is in format 99",
        "knows formats up to 1",
        "use a newer handfast",
    ];
    // Its entries can be read all the same, so they are shown; each page says what it lacks.
    let lacks = format!(
        "any entries after {} are missing (newer format)",
        before.seq
    );
    for args in [
        &["caseload"] as &[&str],
        &["handover"],
        &["alerts", "--all"],
        &["timeline", "T01"],
        &["handover", "--format", "html"],
        &["caseload", "--json"],
        &["caseload", "--format", "csv"],
    ] {
        let shown = desk.run(args);
        assert_eq!(shown.code, 3, "{args:?}: {shown:?}");
        says(&shown.out, &[&lacks]);
        says(&shown.err, &["Not shown", "format 99", "a newer handfast"]);
    }
    let asked = (before.seq.0 + 1).to_string();
    desk.run(&["entry", &asked]).failed(4, &["in format 99"]);
    let found = desk.run(&["verify"]);
    assert_eq!(found.code, 3, "{found:?}");
    says(
        &found.out,
        &["NOT AS WRITTEN", "the segment is in format 99"],
    );
    desk.run(&["damage", "show"]).failed(4, &said);
    desk.run_as("orla", &NOTE).failed(4, &said);
    let typed = desk.shell("orla", "t01\ncaseload\nnote slept well\n");
    says(&typed.out, &[&lacks, "the journal is in format 99"]);
    desk.alter(|bytes| bytes[8..10].copy_from_slice(&original[8..10]));
    assert_eq!(
        std::fs::read(desk.segment()).unwrap(),
        original,
        "not a byte was written"
    );
}

/// A newer program goes on in a segment of its own, also while somebody has the journal open.
#[test]
fn a_journal_that_goes_on_in_a_newer_format() {
    let desk = Desk::demo();
    let before = desk.head();
    let mut open = Station::open(&desk.journal).unwrap();
    let whole = open.reservations();
    let next = Seq(before.seq.0 + 1);
    let path = Layout::new(&desk.journal).segment(next);
    std::fs::write(&path, *b"handfast\x02\x00 what this program does not read").unwrap();
    let lacks = format!(
        "any entries after {} are missing (newer format)",
        before.seq
    );
    for _ in 0..2 {
        open.refresh().unwrap();
        let now = open.reservations();
        assert_eq!(
            now.damage.as_slice(),
            std::slice::from_ref(&lacks),
            "said once, and kept"
        );
    }
    let shown = desk.run(&["caseload"]);
    says(&shown.out, &["TARNSBY, Maud (Mrs)", &lacks]);
    desk.run_as("orla", &NOTE).failed(4, &["in format 2"]);
    // Put aside, nothing is left of it.
    std::fs::remove_file(&path).unwrap();
    open.refresh().unwrap();
    assert_eq!(open.reservations(), whole);
}

/// The damaged entry is named, everything else is read, and nobody writes until the keeper has
/// accepted the report; then the damage is still told.
#[test]
fn a_damaged_journal() {
    let desk = Desk::demo();
    let before = desk.head();
    let place = desk.place_of("Ward car: nearside tyre flat");
    desk.alter(|bytes| bytes[place] ^= 0x20);

    let shown = desk.run(&["caseload"]);
    assert_eq!(shown.code, 3);
    says(&shown.out, &["TARNSBY, Maud (Mrs)"]);
    // A page on paper has no standard error beside it: each says itself that it is not whole.
    for view in [
        &["handover"] as &[&str],
        &["handover", "--format", "html"],
        &["alerts", "--all"],
        &["tasks"],
        &["timeline", "T01"],
        &["handover", "show"],
    ] {
        let page = desk.run(view).out;
        says(
            &page,
            &["NOT COMPLETE: entry #", "is damaged; not on this page."],
        );
    }
    says(
        &shown.err,
        &[
            "Not shown: entry #",
            "is damaged",
            "`handfast verify` says more",
        ],
    );

    let closed = [
        "the journal is damaged",
        "nothing is written until a keeper accepts",
    ];
    desk.run_as("orla", &NOTE)
        .failed(3, &[&closed[..], &["handfast damage show"]].concat());
    let shell = desk.shell("orla", "t01\nnote slept well\n");
    assert_eq!(shell.code, 1, "{shell:?}");
    says(&shell.out, &["Nothing was recorded", closed[0], closed[1]]);
    let looked = desk.shell("orla", "alerts\nhandover\npatients\n").done();
    assert_eq!(
        looked.matches("NOT COMPLETE: entry #").count(),
        3,
        "{looked}"
    );
    assert_eq!(desk.head(), before);

    let report = desk.run(&["damage", "show"]);
    assert_eq!(report.code, 3);
    says(&report.out, &["Damage report", "entry #", "was altered"]);
    desk.run_as("orla", &["damage", "accept", "--reason", "x"])
        .failed(1, &["a registered nurse may not write", "keeper"]);
    assert_eq!(desk.head(), before);

    desk.run_as(
        "wren",
        &["damage", "accept", "--reason", "governance has a copy"],
    )
    .done();
    let noted = desk.run_as("orla", &NOTE);
    assert_eq!(noted.code, 0, "{noted:?}");
    assert_eq!(number(&noted.out), before.seq.0 + 2);
    says(
        &desk.run(&["damage", "show"]).out,
        &["Nothing is damaged that keeps entries"],
    );
    let verified = desk.run(&["verify"]);
    assert_eq!(verified.code, 3, "accepted damage stays damage");
    says(&verified.out, &["NOT AS WRITTEN", "was altered"]);
}

/// Root may write anywhere, so the folder is mounted read-only where that can be done.
#[test]
fn a_folder_that_is_read_only() {
    let Some(mount) = Mount::new("size=8m") else {
        return;
    };
    let desk = Desk::demo();
    copy(pristine(), &mount.path().join("journal"));
    mount.remount("ro");
    let on = |args: &[&str], who: &str| {
        let mut command = desk.command_as(who, args);
        command.env("HANDFAST_JOURNAL", mount.path().join("journal"));
        answer(command, "")
    };
    on(&["caseload"], "orla").done();
    on(&["verify"], "orla").done();
    on(&NOTE, "orla").failed(
        4,
        &[
            "lock cannot be written: Read-only file system",
            "the journal can still be read",
            "write access",
        ],
    );
}

/// Where no journal can be made there is none that could be read.
#[test]
fn a_journal_is_not_made_where_nothing_can_be_written() {
    // The kernel's own folder takes no folder from anybody.
    if !std::path::Path::new("/sys/kernel").is_dir() {
        return;
    }
    let desk = Desk::empty();
    let pin = desk.file("new-pin", "4729-11\n");
    let mut command = desk.command(&["init", "--ward", "Tansy Ward", "--teaching"]);
    command
        .env("HANDFAST_JOURNAL", "/sys/handfast-journal")
        .args(["--keeper", "kit", "--name", "Kit Keeper", "--new-pin-file"])
        .arg(pin);
    let refused = answer(command, "").failed(
        4,
        &[
            "no journal was made: /sys/handfast-journal cannot be written",
            "name a folder",
        ],
    );
    assert!(!refused.err.contains("can still be read"), "{refused:?}");
}

/// A disk with room for the journal and a little more: entries are recorded until it is full,
/// then refused, and all that were acknowledged are there.
#[test]
fn a_full_disk() {
    let Some(mount) = Mount::new("size=640k") else {
        return;
    };
    let desk = Desk::demo();
    let journal = mount.path().join("journal");
    copy(pristine(), &journal);
    let before = desk.head().seq.0;
    let long = "x".repeat(7_900);
    let note = format!("text={long}");
    let mut recorded = 0;
    let full = loop {
        let mut command = desk.command_as("orla", &["log", "note", "patient=T01", &note]);
        command.env("HANDFAST_JOURNAL", &journal);
        let said = answer(command, "");
        if said.code != 0 {
            break said;
        }
        assert!(
            said.err.contains("MiB are left on the journal's disk"),
            "told while there is still room: {}",
            said.err
        );
        recorded += 1;
        assert!(recorded < 100, "the disk never fills");
    };
    full.failed(4, &["the disk is full", "make room and try again"]);
    assert!(recorded > 0, "there was room for some");
    let mut verify = desk.command(&["verify", "--json"]);
    verify.env("HANDFAST_JOURNAL", &journal);
    let found: Value = serde_json::from_str(&answer(verify, "").done()).unwrap();
    assert_eq!(found["entries"], before + recorded);
    let mut read = desk.command(&["timeline", "T01"]);
    read.env("HANDFAST_JOURNAL", &journal);
    answer(read, "").done();
}

/// A small file system of its own; needs the right to mount, and says so where it is missing.
struct Mount(tempfile::TempDir);

impl Mount {
    fn new(options: &str) -> Option<Mount> {
        let dir = tempfile::tempdir().unwrap();
        let mounted = Command::new("mount")
            .args(["-t", "tmpfs", "-o", options, "tmpfs"])
            .arg(dir.path())
            .output();
        match mounted {
            Ok(output) if output.status.success() => Some(Mount(dir)),
            _ => {
                eprintln!("SKIPPED: a tmpfs cannot be mounted here (needs root)");
                None
            }
        }
    }

    fn path(&self) -> &Path {
        self.0.path()
    }

    fn remount(&self, how: &str) {
        let options = format!("remount,{how}");
        let done = Command::new("mount")
            .args(["-o", &options])
            .arg(self.path())
            .status();
        assert!(done.unwrap().success());
    }
}

impl Drop for Mount {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.path()).status();
    }
}
