//! The night nurse: a video call with a full set of readings, a repeat task, and a help call
//! answered and closed with one key.

use handfast::record::kind::Kind;

use crate::desk::{Desk, member, says};
use crate::screen::Screen;

const HELP: &str = "leg more painful tonight";

/// What the nurse wrote, whichever way she typed it: five entries after `before`.
fn check_what_was_written(desk: &Desk, before: u64, alert: u64) {
    let written: Vec<(Kind, String)> = (1..=5).map(|more| desk.written(before + more)).collect();
    let kinds: Vec<Kind> = written.iter().map(|(kind, _)| *kind).collect();
    assert_eq!(
        kinds,
        [
            Kind::Contact,
            Kind::Observation,
            Kind::Task,
            Kind::Contact,
            Kind::AlertStep
        ]
    );
    says(
        &written[0].1,
        &[
            "video",
            "reached",
            "how well, eating",
            "next Sun 25-Oct-2026 23:",
        ],
    );
    says(
        &written[1].1,
        &[
            "rr 18/min; spo2 96%; oxygen on air; sbp 148 mmHg; dbp 92 mmHg; hr 88/min",
            "Alert",
            "temp 37.1",
            &format!("during #{}", before + 1),
        ],
    );
    says(
        &written[2].1,
        &["what repeat BP", "due Sun 25-Oct-2026 23:30", "every 4h"],
    );
    says(&written[3].1, &["help", &format!("answers #{alert}")]);
    says(
        &written[4].1,
        &[&format!("alert #{alert}; step closed; outcome resolved")],
    );
    assert_eq!(desk.head().seq.0, before + 5, "and nothing else");
}

#[test]
fn a_night_call_typed_without_a_terminal() {
    let desk = Desk::demo();
    let (before, alert) = (desk.head().seq.0, desk.open_alert(HELP));
    let lines = format!(
        "t01\n\
         v rr18 s96 air 148/92 p88 t37.1 al n+4h \"well, eating\"\n\
         task \"repeat BP\" due 23:30 repeat every 4h for nurse\n\
         t18\n\
         help #{alert} \"leg aches when she turns, no swelling\"\n\
         c\n"
    );
    let shown = desk.shell("joss", &lines).done();
    says(
        &shown,
        &[
            &format!("#{} Contact recorded", before + 1),
            "next contact Sun 23:",
            &format!("#{} Observations recorded", before + 2),
            "NEWS2 0 (low), unchanged from 0",
            &format!("#{} Task recorded", before + 3),
            "due Sun 23:30",
            &format!("alert #{alert}: taken and acted on by you"),
            &format!("[c] close alert #{alert}: resolved"),
            &format!("alert #{alert} is closed"),
        ],
    );
    check_what_was_written(&desk, before, alert);
    let after = desk.run(&["alerts"]).done();
    assert!(!after.contains(HELP), "closed alerts are not on the list");
    let all = desk.run(&["alerts", "--all"]).done();
    says(&all, &[HELP, "closed: resolved", "Joss Tumbrell (RN)"]);
    says(&desk.run(&["tasks"]).done(), &["repeat BP"]);
}

#[test]
fn the_same_call_at_a_terminal() {
    let desk = Desk::demo();
    let (before, alert) = (desk.head().seq.0, desk.open_alert(HELP));
    let shell = Screen::signed_in(&desk.journal, "joss");
    shell.wait("Joss Tumbrell");
    shell.line("t01", "T01 BRAMBLEY, Odette (Mrs)>");
    shell.line(
        "v rr18 s96 air 148/92 p88 t37.1 al n+4h \"well, eating\"",
        "Observations recorded",
    );
    shell.line(
        "task \"repeat BP\" due 23:30 repeat every 4h for nurse",
        "Task recorded",
    );
    shell.line("t18", "T18 LINDQVIST-ROWE, Anton");
    shell.line(
        &format!("help #{alert} \"leg aches when he turns, no swelling\""),
        "[c]",
    );
    shell.line("c", "Alert step recorded");
    check_what_was_written(&desk, before, alert);
    shell.keys("quit\r");
    assert_eq!(shell.ended(), 0);
}

/// From the prompt of the chosen patient: a routine video call with seven readings, a note and
/// the next contact, Enter included.
#[test]
fn a_routine_video_call_takes_at_most_sixty_keystrokes() {
    let desk = Desk::demo();
    let before = desk.head().seq.0;
    let line = "v rr18 s96 air 148/92 p88 t37.1 al n+4h \"well, eating\"\n";
    assert!(line.chars().count() <= 60, "{}", line.chars().count());
    desk.shell("joss", &format!("t01\n{line}")).done();
    assert_eq!(desk.written(before + 1).0, Kind::Contact);
    let readings = desk.written(before + 2).1;
    let seven = ["rr ", "spo2 ", "oxygen ", "sbp ", "hr ", "acvpu ", "temp "];
    says(&readings, &seven);
}

/// What a person must not be able to do by answering: take a colleague's alert unawares.
#[test]
fn whoever_answers_a_colleagues_alert_is_told_whose_it_was() {
    let desk = Desk::demo();
    let alert = desk.open_alert("Not herself since lunch");
    let receipt = desk
        .run_as(
            "imke",
            &[
                "log",
                "contact",
                "patient=T05",
                "mode=phone",
                "outcome=reached",
                "how=calmer",
                &format!("answers=#{alert}"),
            ],
        )
        .done();
    let told = format!(
        "alert #{alert}: acted on by you; it is still with {}, since Sun 16:17",
        member("dev").name
    );
    says(&receipt, &[&told]);
    says(
        &desk.run(&["alerts"]).done(),
        &["Dev Larkhanger (RN) has it"],
    );
}
