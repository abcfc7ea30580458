//! PINs, and what a program that reads JSON is told about people, kinds and damage.

use std::path::{Path, PathBuf};

use handfast::journal::FileReader;
use handfast::station::Station;
use handfast::ward::index::{Changed, Index};
use serde_json::Value;

use crate::desk::{Desk, answer, copy, pristine, says};

fn json(text: &str) -> Value {
    serde_json::from_str(text.trim()).unwrap()
}

#[test]
fn people_change_their_own_pin() {
    let desk = Desk::demo();
    let (before, new) = (desk.head(), desk.file("new-pin", "a-better-pin\nignored"));
    let new = new.to_str().unwrap();
    let args = ["staff", "pin", "--new-pin-file", new];
    let said = desk.run_as("orla", &args).done();
    says(&said, &["orla has a new PIN", "The key is the same"]);
    assert_eq!(desk.head(), before, "nothing is recorded");
    let note = ["log", "note", "patient=T01", "text=x"];
    desk.run_as("orla", &note).failed(1, &["not the right PIN"]);
    let mut command = desk.command(&note);
    command
        .env("HANDFAST_USER", "orla")
        .env("HANDFAST_PIN_FILE", new);
    answer(command, "").done();
    assert_eq!(desk.run(&["verify"]).code, 0);

    let short = desk.file("short-pin", "12345");
    let args = ["staff", "pin", "--new-pin-file", short.to_str().unwrap()];
    desk.run_as("pip", &args)
        .failed(1, &["at least 6 characters"]);
    let args = ["staff", "pin"];
    desk.run_as("pip", &args).failed(2, &["--new-pin-file"]);
    desk.run(&args).failed(2, &["nobody is named who acts"]);
    let args = ["--json", "staff", "pin", "--new-pin-file", new];
    let said = json(&desk.run_as("pip", &args).done());
    assert_eq!(said["schema"], "handfast.pin/1");
    assert_eq!(said["handle"], "pip");
    desk.shell("nia", "pin\n").failed(1, &[]);
}

/// A copied folder is nothing to try PINs on; a passphrase goes wherever the folder goes.
#[test]
fn a_pin_opens_on_this_computer_only_and_a_passphrase_anywhere() {
    let desk = Desk::empty();
    let pin = desk.file("kit", "471193");
    let init = [
        "init",
        "--ward",
        "Sorrel Ward",
        "--keeper",
        "kit",
        "--name",
        "Kit Keeper",
        "--new-pin-file",
        pin.to_str().unwrap(),
    ];
    let said = desk.run(&init).done();
    let half = desk.beside("device").join("device.half");
    says(
        &said,
        &[
            "a PIN alone is only a screen lock",
            "on this computer only",
            "15 characters or more",
        ],
    );
    assert!(half.is_file());
    let made = |device: &Path, secret: &Path, args: &[&str]| {
        let mut command = desk.command(args);
        command
            .env("HANDFAST_DEVICE_DIR", device)
            .env("HANDFAST_USER", "kit")
            .env("HANDFAST_PIN_FILE", secret);
        answer(command, "")
    };
    let nurse = desk.file("nurse", "three good words");
    let enrol = [
        "staff",
        "add",
        "nell",
        "--name",
        "Nell",
        "--role",
        "nurse",
        "--new-pin-file",
        nurse.to_str().unwrap(),
    ];
    let (here, elsewhere) = (desk.beside("device"), desk.beside("elsewhere"));
    // On another computer the right PIN opens nothing, and is not counted as a wrong one.
    for _ in 0..13 {
        made(&elsewhere, &pin, &enrol).failed(
            1,
            &[
                "the computer where the PIN was",
                "ask the keeper for a new key",
            ],
        );
    }
    let said = made(&here, &pin, &enrol).done();
    says(&said, &["That is a passphrase", "wherever the journal is"]);
    // Put in the folder that is copied, the half would be no half.
    let inside = desk.journal.join("device");
    let change = ["staff", "pin", "--new-pin-file", nurse.to_str().unwrap()];
    let back = desk.file("back", "584421");
    let change_back = ["staff", "pin", "--new-pin-file", back.to_str().unwrap()];
    made(&here, &pin, &change).done();
    made(&inside, &nurse, &change_back).failed(1, &["a copy would hold both"]);
    // A passphrase needs no half.
    made(
        &elsewhere,
        &nurse,
        &["staff", "suspend", "nell", "--reason", "left"],
    )
    .done();
    assert!(!elsewhere.join("device.half").exists());
}

#[test]
fn a_ward_is_not_opened_over_what_is_left_of_another() {
    let desk = Desk::demo();
    std::fs::remove_dir_all(desk.journal.join("segments")).unwrap();
    let before = listing(&desk.journal);
    let pin = desk.file("new-pin", "another-pin");
    let args = [
        "init",
        "--ward",
        "Sorrel Ward",
        "--keeper",
        "kit",
        "--name",
        "Kit Keeper",
        "--new-pin-file",
        pin.to_str().unwrap(),
    ];
    desk.run(&args).failed(
        1,
        &[
            "remains of a journal: keys",
            "nothing was changed",
            "backup",
        ],
    );
    assert_eq!(listing(&desk.journal), before);
}

/// Every file and folder, with what is in it.
fn listing(dir: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.push((path.clone(), Vec::new()));
            found.extend(listing(&path));
        } else {
            let bytes = std::fs::read(&path).unwrap();
            found.push((path, bytes));
        }
    }
    found.sort();
    found
}

/// An index that a reader of the ward would put aside is left as it lies, and the authors of
/// altered entries are named all the same.
#[test]
fn verify_writes_nothing() {
    let desk = Desk::demo();
    desk.log("orla", &["note", "patient=T01", "text=one more"]);
    let station = Station::open(&desk.journal).unwrap();
    let index = Index::new(station.layout(), desk.journal_id());
    let marks = FileReader::open(&desk.journal)
        .unwrap()
        .marks(station.head())
        .unwrap();
    assert_eq!(
        index.store(station.ward(), station.head(), marks, Changed::All),
        None
    );
    drop(station);
    copy(&pristine().join("segments"), &desk.journal.join("segments"));
    std::fs::remove_file(desk.journal.join("flushed")).unwrap();
    let place = desk.place_of("Answered in three minutes.");
    desk.alter(|bytes| bytes[place] ^= 1);
    let before = listing(&desk.journal);
    let found = desk.run(&["verify"]);
    assert_eq!(found.code, 3, "{found:?}");
    says(&found.out, &["by Orla Quillfeather"]);
    let now = listing(&desk.journal);
    assert!(now == before, "verify wrote into the folder");
    // Somebody who reads the ward would have: the test can fail.
    desk.run(&["caseload"]);
    assert!(listing(&desk.journal) != before);
}

#[test]
fn a_name_given_twice_is_refused_and_its_line_named() {
    let desk = Desk::demo();
    let before = desk.head();
    let lines = concat!(
        "{\"kind\":\"note\",\"patient\":\"T01\",\"text\":\"x\",\"patient\":\"T02\"}\n",
        "{\"kind\":\"note\",\"patient\":\"T01\",\"text\":\"x\",\"pati\\u0065nt\":\"T02\"}\n",
        "{\"kind\":\"note\",\"kind\":\"alert\",\"patient\":\"T01\",\"text\":\"x\"}\n",
        "{\"kind\":\"note\",\"patient\":\"T01\",\"text\":\"x\",\"text\":\"y\"}\n",
    );
    answer(desk.command_as("orla", &["log", "--ndjson"]), lines).failed(
        1,
        &[
            "line 1: patient: is given twice",
            "line 2: patient: is given twice",
            "line 3: kind: is given twice",
            "line 4: text: is given twice",
        ],
    );
    let twice = ["log", "note", "patient=T01", "text=x", "patient=T02"];
    desk.run_as("orla", &twice)
        .failed(1, &["patient: is given twice"]);
    assert_eq!(desk.head(), before);
    let score = "{\"calc\":\"news2\",\"rr\":18,\"rr\":30}\n{\"calc\":\"map\",\"sbp\":120,\"dbp\":80,\"sb\\u0070\":130}\n";
    let said = answer(desk.command(&["score", "--ndjson"]), score).done();
    let answers: Vec<Value> = said.lines().map(json).collect();
    assert_eq!(answers[0]["error"], "\"rr\" is given twice");
    assert_eq!(answers[1]["error"], "\"sbp\" is given twice");
}

#[test]
fn what_is_asked_in_json_is_answered_in_json() {
    let desk = Desk::demo();
    let kinds = json(&desk.run(&["--json", "log", "help"]).done());
    assert_eq!(kinds["schema"], "handfast.kinds/1");
    let listed = kinds["kinds"].as_array().unwrap();
    assert!(listed.iter().any(|one| one["kind"] == "contact"));
    let fields = json(&desk.run(&["--json", "log", "help", "note"]).done());
    assert_eq!(fields["schema"], "handfast.fields/1");
    let text = fields["fields"].as_array().unwrap().iter();
    let text = text.into_iter().find(|field| field["name"] == "text");
    assert_eq!(text.unwrap()["required"], true);
    let note = [
        "log",
        "note",
        "patient=T01",
        "text=x",
        "--dry-run",
        "--json",
    ];
    let said = json(&desk.run_as("orla", &note).done());
    assert_eq!(said["schema"], "handfast.rehearsal/1");
    assert_eq!(
        (&said["kind"], &said["line"]),
        (&"note".into(), &Value::Null)
    );
    let line = "{\"kind\":\"note\",\"patient\":\"T01\",\"text\":\"x\"}\n";
    let many = desk.command_as("orla", &["log", "--ndjson", "--dry-run", "--json"]);
    assert_eq!(json(&answer(many, line).done())["line"], 1);
    let whole = json(&desk.run(&["--json", "damage", "show"]).done());
    assert_eq!(whole["schema"], "handfast.damage/1");
    assert_eq!(whole["digest"], Value::Null);
    let place = desk.place_of("Answered in three minutes.");
    desk.alter(|bytes| bytes[place] ^= 1);
    let damaged = desk.run(&["--json", "damage", "show"]);
    assert_eq!(damaged.code, 3, "{damaged:?}");
    let damaged = json(&damaged.out);
    assert_eq!(damaged["places"].as_array().unwrap().len(), 1);
    assert_eq!(damaged["digest"].as_str().unwrap().len(), 64);
}
