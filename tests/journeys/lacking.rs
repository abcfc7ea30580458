//! What is said beside or above a page: that an index was of no use, that a sheet drawn again is
//! not the one that was named, that a list lacks something.

use handfast::journal::{
    FileReader, FileStore, Layout, NewEntry, ReadJournal, Store, WriteOptions,
};
use handfast::record::codec;
use handfast::record::entry::Entry;
use handfast::record::ids::{Digest, EntryId, Pseudonym, Seq};
use handfast::record::kind::{Body, Kind};
use handfast::record::person::Handle;
use handfast::station::Station;
use handfast::station::clock::{Clock, SystemClock};
use handfast::station::keys::unlock;
use handfast::ward::draw::Drawn;
use handfast::ward::index::Index;
use serde_json::Value;

use crate::desk::{Desk, member, says};

/// Draws the index as a program does that folded much.
fn keep_index(desk: &Desk) {
    let reader = FileReader::open(&desk.journal).unwrap();
    let index = Index::new(reader.layout(), reader.journal());
    let mut drawn = Drawn::from_journal(&reader);
    assert_eq!(drawn.keep(&index, &reader), None);
}

#[test]
fn an_index_that_is_of_no_use_is_a_note_beside_the_page_and_never_in_it() {
    let desk = Desk::demo();
    keep_index(&desk);
    let with = desk.run(&["caseload", "--json"]);
    assert_eq!((with.code, with.err.as_str()), (0, ""), "it is of use");
    let head = desk.head().seq;
    let place = desk.place_of("Ward car: nearside tyre flat");
    desk.alter(|bytes| bytes[place] ^= 0x20);
    let without = desk.run(&["caseload", "--json"]);
    let note = format!("Note: the journal's files were touched below entry {head}");
    says(
        &without.err,
        &[
            &note,
            "put aside and is drawn anew",
            "run `handfast verify`",
        ],
    );
    assert!(!without.out.contains("index"), "{}", without.out);
    let page: Value = serde_json::from_str(&without.out).unwrap();
    assert_eq!(page["complete"], false, "and the damage is met");
    // It was put aside, so it is told once.
    let again = desk.run(&["caseload", "--json"]);
    assert!(!again.err.contains("Note: "), "{}", again.err);
    let again: Value = serde_json::from_str(&again.out).unwrap();
    assert_eq!(again["patients"], page["patients"]);
}

#[test]
fn an_index_of_rubbish_is_a_note() {
    let desk = Desk::demo();
    keep_index(&desk);
    let whole = desk.run(&["caseload", "--format", "csv"]).done();
    let mut below = vec![desk.journal.join("index")];
    while let Some(path) = below.pop() {
        if path.is_dir() {
            below.extend(std::fs::read_dir(&path).unwrap().map(|e| e.unwrap().path()));
        } else {
            let bytes = std::fs::read(&path).unwrap();
            std::fs::write(&path, vec![0x5a; bytes.len()]).unwrap();
        }
    }
    let shown = desk.run(&["caseload", "--format", "csv"]);
    says(
        &shown.err,
        &["Note: the index was damaged", "drawn anew from the journal"],
    );
    assert_eq!((shown.code, shown.out), (0, whole), "nothing rests on it");
}

/// The newest handover of the demo ward.
fn newest_handover(desk: &Desk) -> Entry {
    let station = Station::open(&desk.journal).unwrap();
    let seq = *station.ward().handovers().keys().next_back().unwrap();
    station.entry(seq).unwrap().entry().unwrap().clone()
}

/// The same handover once more, truly signed by Orla, with another digest of its sheet.
fn prepared_with(desk: &Desk, digest: Digest) -> Seq {
    let old = newest_handover(desk);
    let Body::Handover(mut handover) = old.body else {
        panic!("{:?}", old.body);
    };
    let head = Station::open(&desk.journal).unwrap().head();
    let sheet = handover.sheet.as_mut().unwrap();
    sheet.digest = digest;
    (sheet.head_seq, sheet.head_hash) = (head.seq, head.hash);
    let layout = Layout::new(&desk.journal);
    let orla = Handle::parse("orla").unwrap();
    let orla = unlock(&layout, &orla, None, member("orla").pin, SystemClock.now()).unwrap();
    let body: Body = handover.into();
    let station = Station::open(&desk.journal).unwrap();
    let now = station.ward().newest_recorded_at();
    let entry = NewEntry {
        id: EntryId([8; 16]),
        recorded_at: now,
        kind: Kind::Handover.code(),
        kind_version: Kind::Handover.version(),
        patient: Pseudonym::ZERO,
        encoding: codec::ENCODING,
        payload: codec::encode(&old.envelope, &body).unwrap(),
        signer: orla.signer,
        seal: None,
    };
    let options = WriteOptions::new("a test", now);
    let (store, _) = FileStore::open_writer(&desk.journal, &options).unwrap();
    store.append(vec![entry], None).unwrap()[0].seq
}

#[test]
fn a_sheet_of_another_form_is_shown_and_said_not_to_be_the_one_named() {
    let desk = Desk::demo();
    let named = Digest([0xab; 32]);
    let other = prepared_with(&desk, named).0.to_string();
    let true_one = newest_handover_but(&desk, &other);
    let sheet = desk.run(&["handover", "show", &true_one]);
    assert_eq!(sheet.code, 0, "{sheet:?}");
    let shown = desk.run(&["handover", "show", &other]);
    assert_eq!(shown.code, 1, "{shown:?}");
    says(
        &shown.err,
        &[
            "this is not the sheet to the byte",
            &format!("it names {named}"),
            "from the same entries",
            "the version that made it can draw it",
        ],
    );
    assert!(!shown.err.contains("altered"), "{}", shown.err);
    assert!(!shown.out.contains("NOT COMPLETE"), "{}", shown.out);
    assert!(sheet.out.lines().count() > 50 && shown.out.lines().count() > 50);
    let shell = desk.shell("orla", &format!("handover show #{other}\n"));
    says(
        &shell.out,
        &["NOT the sheet to the byte: its entries are the same"],
    );
}

/// The newest handover that is not this one.
fn newest_handover_but(desk: &Desk, other: &str) -> String {
    let listed = desk.run(&["handover", "list", "--json"]).done();
    let listed: Value = serde_json::from_str(&listed).unwrap();
    let all = listed["handovers"].as_array().unwrap().iter();
    let mut seqs = all.map(|one| one["seq"].to_string());
    seqs.rfind(|seq| seq != other).unwrap()
}

#[test]
fn a_sheet_of_other_entries_is_shown_and_said_to_rest_on_altered_ones() {
    let desk = Desk::demo();
    let handover = newest_handover(&desk).seq.0.to_string();
    // An entry that said nothing on this sheet: the sheet is the same, and still not complete.
    let place = desk.place_of("Ward car: nearside tyre flat");
    desk.alter(|bytes| bytes[place] ^= 0x20);
    let same = desk.run(&["handover", "show", &handover]);
    assert_eq!(same.code, 3, "{same:?}");
    says(&same.out, &["NOT COMPLETE: entry #"]);
    says(&same.err, &["drawn again to the byte"]);
    // An admission: somebody is not on it.
    let place = desk.place_of("Pneumonia, right lower lobe; step down on day 3");
    desk.alter(|bytes| bytes[place] ^= 0x20);
    let shown = desk.run(&["handover", "show", &handover]);
    assert_eq!(shown.code, 3, "{shown:?}");
    says(
        &shown.err,
        &[
            "entries it was drawn from were altered or cannot be read",
            "`handfast verify` says which",
        ],
    );
    assert!(!shown.err.contains("to the byte"), "{}", shown.err);
    says(&shown.out, &["NOT COMPLETE: entry #"]);
    let shell = desk.shell("orla", &format!("handover show #{handover}\n"));
    says(
        &shell.out,
        &["NOT the sheet that was named: entries were altered"],
    );
}

#[test]
fn lists_of_staff_and_handovers_say_what_they_lack() {
    let desk = Desk::demo();
    let lists: [&[&str]; 3] = [
        &["staff", "list"],
        &["handover", "list"],
        &["handover", "since"],
    ];
    let json = |args: &[&str], code| -> Value {
        let answer = desk.run(&[args, &["--json"]].concat());
        assert_eq!(answer.code, code, "{args:?}: {answer:?}");
        serde_json::from_str(&answer.out).unwrap()
    };
    for args in lists {
        let whole = json(args, 0);
        assert_eq!(whole["complete"], true, "{args:?}");
        assert_eq!(whole["damage"], Value::Array(Vec::new()), "{args:?}");
        assert!(!desk.run(args).done().contains("NOT COMPLETE"), "{args:?}");
    }
    let place = desk.place_of("Ward car: nearside tyre flat");
    desk.alter(|bytes| bytes[place] ^= 0x20);
    for args in lists {
        let lacking = json(args, 3);
        assert_eq!(lacking["complete"], false, "{args:?}");
        let damage = lacking["damage"][0].as_str().unwrap();
        assert!(damage.ends_with("is damaged"), "{damage}");
        let shown = desk.run(args);
        assert_eq!((shown.code, shown.err.as_str()), (3, ""), "{shown:?}");
        let first = shown.out.lines().next().unwrap();
        assert!(first.starts_with("NOT COMPLETE: entry #"), "{shown:?}");
        assert!(shown.out.lines().count() > 1, "{shown:?}");
    }
}

/// Whoever runs a view every night from a script reads no page: the view is shown whole, and the
/// exit code says that it is not all.
#[test]
fn a_view_that_is_not_all_there_is_ends_with_3_in_every_form() {
    let desk = Desk::demo();
    let file = desk.journal.join("../sheet.html");
    let out = file.to_str().unwrap();
    let views: [&[&str]; 11] = [
        &["caseload"],
        &["caseload", "--json"],
        &["caseload", "--format", "csv"],
        &["tasks"],
        &["alerts", "--all"],
        &["timeline", "T01"],
        &["workings", "T01"],
        &["entry", "2"],
        &["handover", "--format", "svg"],
        &["handover", "--format", "html", "--out", out],
        &["policy", "show"],
    ];
    let shown = |code: i32| -> Vec<usize> {
        let lines = views.iter().map(|view| {
            let answer = desk.run(view);
            assert_eq!(answer.code, code, "{view:?}: {}", answer.err);
            match view.contains(&"--out") {
                true => std::fs::read_to_string(&file).unwrap().lines().count(),
                false => answer.out.lines().count(),
            }
        });
        lines.collect()
    };
    let whole = shown(0);
    std::fs::remove_file(&file).unwrap();
    let place = desk.place_of("Ward car: nearside tyre flat");
    desk.alter(|bytes| bytes[place] ^= 0x20);
    let lacking = shown(3);
    for ((view, whole), lacking) in views.iter().zip(whole).zip(lacking) {
        assert!(
            lacking > 0 && lacking + 5 >= whole,
            "{view:?}: {whole}, {lacking}"
        );
    }
}
