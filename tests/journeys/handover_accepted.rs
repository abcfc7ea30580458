//! The oncoming nurse: reads the sheet in every form, asks about one patient, takes the rest,
//! and sees what was written meanwhile.

use handfast::record::ids::Seq;
use handfast::record::kind::Body;
use handfast::station::Station;
use serde_json::Value;

use crate::desk::{Desk, number, says};

/// Dev prepares and gives; gives the handover's number.
fn given(desk: &Desk) -> String {
    let prepared = desk
        .run_as(
            "dev",
            &[
                "handover",
                "prepare",
                "--receiver",
                "orla",
                "--opening",
                "Mrs Tarnsby first",
            ],
        )
        .done();
    desk.run_as("dev", &["handover", "give"]).done();
    number(&prepared).to_string()
}

#[test]
fn the_sheet_is_read_without_a_pin_in_every_form() {
    let desk = Desk::demo();
    let text = desk.run(&["handover"]).done();
    says(
        &text,
        &[
            "TEACHING JOURNAL",
            "Handover, Tansy Ward",
            "T05 TARNSBY, Maud (Mrs)",
            "Not herself since lunch",
            "potassium",
            "Decision support only",
        ],
    );
    assert!(
        text.lines().all(|line| line.chars().count() <= 100),
        "no wider than asked for"
    );
    let html = desk.run(&["handover", "--format", "html"]).done();
    assert!(html.starts_with("<!doctype html>"), "{}", &html[..100]);
    assert!(
        !html.contains("<script") && !html.contains("http"),
        "nothing is fetched"
    );
    let json: Value =
        serde_json::from_str(&desk.run(&["handover", "--format", "json"]).done()).unwrap();
    assert_eq!(json["schema"], "handfast.handover/1");
    assert_eq!(json["strip"]["caseload"], 15);
    // One patient, one card, in every form.
    let caseload: Value = serde_json::from_str(&desk.run(&["caseload", "--json"]).done()).unwrap();
    let patients = caseload["patients"].as_array().unwrap();
    assert_eq!(patients.len(), 15);
    for patient in patients {
        let name = patient["who"]["name"].as_str().unwrap();
        says(&text, &[name]);
        assert!(html.contains(name), "{name} is not in the HTML");
        assert!(json.to_string().contains(name), "{name} is not in the JSON");
    }
    let file = desk.beside("sheet.html");
    let file = file.to_str().unwrap();
    assert_eq!(
        desk.run(&["handover", "--format", "html", "--out", file])
            .done(),
        ""
    );
    assert!(std::fs::read_to_string(file).unwrap().contains("TARNSBY"));
}

#[test]
fn one_patient_is_queried_and_the_rest_accepted() {
    let desk = Desk::demo();
    let handover = given(&desk);
    let query = desk
        .run_as(
            "orla",
            &[
                "handover",
                "query",
                &handover,
                "--patient",
                "T02",
                "who has looked at the potassium?",
            ],
        )
        .done();
    let query = format!("#{}", number(&query));
    let waiting = desk.run(&["handover", "list"]).done();
    says(
        &waiting,
        &[&format!("#{handover}"), "waiting; 1 open query"],
    );
    // The day nurse writes on meanwhile.
    let between = desk.log("dev", &["note", "patient=T02", "text=wife rang, he sleeps"]);
    desk.run_as(
        "dev",
        &[
            "handover",
            "answer",
            &handover,
            "--query",
            &query,
            "Dr Fennimere, no dose tonight",
        ],
    )
    .done();
    let accepted = desk
        .run_as("orla", &["handover", "accept", &handover])
        .done();
    let entry = desk.written(number(&accepted));
    says(&entry.1, &["accepted", &format!("#{handover}")]);
    let listed = desk.run(&["handover", "list"]).done();
    says(
        &listed,
        &["by orla (RN); 0 open queries, 0 patients held back"],
    );
    let after = desk.log("dev", &["note", "patient=T02", "text=keys are on the hook"]);
    let since = desk.run_as("orla", &["handover", "since"]).done();
    says(
        &since,
        &[
            &format!("#{handover} accepted"),
            "Written since its sheet was drawn",
            &format!("#{between}"),
            "(before you accepted)",
            &format!("#{after}"),
        ],
    );
    let after_line = since
        .lines()
        .find(|line| line.contains(&format!("#{after} ")));
    assert!(
        !after_line.unwrap().contains("before you accepted"),
        "{since}"
    );
}

/// The acceptance names the sheet, and the sheet can be drawn again to the byte: also after
/// more was written.
#[test]
fn the_accepted_sheet_is_drawn_again_to_the_byte() {
    let desk = Desk::demo();
    let handover = given(&desk);
    let shown = |form: &str| {
        let answer = desk.run(&["handover", "show", &handover, "--format", form]);
        assert_eq!(answer.code, 0, "{answer:?}");
        says(&answer.err, &["drawn again to the byte"]);
        (answer.out, answer.err)
    };
    let before: Vec<_> = ["text", "html", "json"].map(shown).into();
    says(
        &before[0].0,
        &["Mrs Tarnsby first", "Dev Larkhanger", "Orla Quillfeather"],
    );
    let digest = before[0]
        .1
        .split_whitespace()
        .nth(1)
        .unwrap()
        .trim_end_matches(',')
        .to_owned();
    assert_eq!(digest.len(), 64, "{digest}");
    let accepted = desk.run_as("orla", &["handover", "accept"]).done();
    says(
        &accepted,
        &[&format!("handover #{handover}: accepted; sheet {digest}")],
    );
    assert_eq!(accepted_digest(&desk, number(&accepted)), digest);
    desk.log("orla", &["note", "patient=T01", "text=after the handover"]);
    let after: Vec<_> = ["text", "html", "json"].map(shown).into();
    assert_eq!(before, after);
}

#[test]
fn one_patient_can_be_declined_and_taken_later() {
    let desk = Desk::demo();
    let handover = given(&desk);
    desk.run_as(
        "orla",
        &[
            "handover",
            "decline",
            &handover,
            "--patient",
            "T02",
            "--reason",
            "not before somebody has looked at the potassium",
        ],
    )
    .done();
    desk.run_as("orla", &["handover", "accept", &handover])
        .done();
    says(
        &desk.run(&["handover", "list"]).done(),
        &["accepted Sun 19:24 by orla (RN); 0 open queries, 1 patient held back"],
    );
    desk.run_as(
        "orla",
        &["handover", "accept", &handover, "--patient", "T02"],
    )
    .done();
    says(
        &desk.run(&["handover", "list"]).done(),
        &["by orla (RN); 0 open queries, 0 patients held back"],
    );
}

/// The ward is accepted while a question about one patient is open: that patient is held back,
/// the message says who and why, what is new of them stays new, the question stays open on the
/// next sheet, and they are taken later by name alone.
#[test]
fn a_patient_asked_about_is_held_back_from_the_ward() {
    let desk = Desk::demo();
    let handover = given(&desk);
    let marks = |desk: &Desk| {
        let timeline = desk.run(&["timeline", "T02"]).done();
        timeline.matches("[new]").count()
    };
    let new_before = marks(&desk);
    assert!(new_before > 0, "something was written since the last sheet");
    let ask = [
        "handover",
        "query",
        &handover,
        "--patient",
        "T02",
        "who reads the potassium?",
    ];
    let query = number(&desk.run_as("orla", &ask).done());
    let accepted = desk.run_as("orla", &["handover", "accept"]).done();
    says(
        &accepted,
        &[
            "NOT TAKEN OVER: T02 ",
            &format!("your question #{query} is not answered: \"who reads the potassium?\""),
            "accept them one by one",
        ],
    );
    assert_eq!(accepted.matches("NOT TAKEN OVER").count(), 1, "{accepted}");
    says(
        &desk.run(&["handover", "list"]).done(),
        &["1 open query, 1 patient held back"],
    );
    assert!(
        marks(&desk) >= new_before,
        "what nobody took over is still new: {new_before} before"
    );
    let others = desk.run(&["timeline", "T05"]).done();
    assert_eq!(others.matches("[new]").count(), 0, "T05 was taken over");
    says(
        &desk.run(&["handover"]).done(),
        &["who reads the potassium?"],
    );
    let accept = ["handover", "accept", "--patient", "T02"];
    desk.run_as("orla", &accept).failed(
        1,
        &[&format!("question #{query} has no answer"), "--confirm"],
    );
    let taken = desk
        .run_as("orla", &[&accept[..], &["--confirm"]].concat())
        .done();
    says(&taken, &["accepted", "T02"]);
    says(
        &desk.run(&["handover", "list"]).done(),
        &["1 open query, 0 patients held back"],
    );
    says(
        &desk.run(&["handover"]).done(),
        &["who reads the potassium?"],
    );
}

/// With an explicit word a patient is taken over with the question open.
#[test]
fn everybody_is_accepted_with_an_explicit_word() {
    let desk = Desk::demo();
    let handover = given(&desk);
    let ask = [
        "handover",
        "query",
        &handover,
        "--patient",
        "T02",
        "who visits?",
    ];
    desk.run_as("orla", &ask).done();
    let accepted = desk.run_as("orla", &["handover", "accept", "--all"]).done();
    assert!(!accepted.contains("NOT TAKEN OVER"), "{accepted}");
    says(
        &desk.run(&["handover", "list"]).done(),
        &["accepted Sun 19:24 by orla (RN); 1 open query, 0 patients held back"],
    );
}

/// Nobody accepts what they gave; somebody who is not the named receiver says so first.
#[test]
fn the_wrong_person_does_not_accept_unawares() {
    let desk = Desk::demo();
    let handover = given(&desk);
    let before = desk.head();
    desk.run_as("dev", &["handover", "accept", &handover])
        .failed(
            1,
            &[
                "whoever gave a handover cannot accept it",
                "somebody of the oncoming shift",
            ],
        );
    desk.run_as("joss", &["handover", "accept", &handover])
        .failed(
            1,
            &[
                "please confirm: handover: it was prepared for orla, not for you",
                "--confirm",
            ],
        );
    assert_eq!(desk.head(), before);
    desk.run_as("joss", &["handover", "accept", &handover, "--confirm"])
        .done();
    says(&desk.run(&["handover", "list"]).done(), &["by joss (RN)"]);
}

#[test]
fn what_cannot_be_accepted_is_said_and_changes_nothing() {
    let desk = Desk::demo();
    let before = desk.head();
    desk.run_as("orla", &["handover", "accept"])
        .failed(1, &["no handover is waiting", "handover prepare"]);
    desk.run_as("orla", &["handover", "accept", "5"])
        .failed(1, &["#5 is", "not a handover"]);
    desk.run(&["handover", "show", "5"])
        .failed(1, &["#5 is no handover"]);
    desk.run_as("amos", &["handover", "prepare"])
        .failed(1, &["visiting clinician", "registered nurse"]);
    desk.run_as("orla", &["handover", "prepare", "--receiver", "zork"])
        .failed(1, &["zork is not on the staff"]);
    assert_eq!(desk.head(), before);
}

/// The digest that an acceptance names in its signed bytes.
fn accepted_digest(desk: &Desk, seq: u64) -> String {
    let station = Station::open(&desk.journal).unwrap();
    let read = station.entry(Seq(seq)).unwrap();
    let Body::HandoverStep(step) = &read.entry().unwrap().body else {
        panic!("{read:?} is no step of a handover");
    };
    step.digest.unwrap().to_string()
}
