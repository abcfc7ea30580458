//! What the shell shows of a patient, and acts on a colleague's work.

use super::super::session::{State, held};
use super::{Desk, desk};
use crate::record::draft::Draft;
use crate::record::ids::Seq;
use crate::record::kind::Kind;
use crate::station::HandoverRequest;

impl Desk {
    /// Tom records something at his own keyboard.
    fn tom(&mut self, kind: Kind, fields: &[(&str, &str)]) -> Seq {
        let mut draft = Draft::new(kind);
        for (name, value) in fields {
            draft.set(name, (*value).to_owned());
        }
        let submitted = held(&self.session.station).submit(&self.tom, &draft);
        submitted.expect("Tom records").seq
    }

    fn alert(&mut self, slot: &str, what: &str) -> Seq {
        let fields = [
            ("patient", slot),
            ("source", "help-button"),
            ("severity", "urgent"),
            ("what", what),
        ];
        self.tom(Kind::Alert, &fields)
    }

    pub(super) fn prepared_by_tom(&mut self) -> Seq {
        let request = HandoverRequest::default();
        let prepared = held(&self.session.station).prepare_handover(&self.tom, &request);
        prepared.expect("prepared").seq
    }

    fn says(&mut self, line: &str, parts: &[&str]) -> String {
        let said = self.turn(line);
        for part in parts {
            assert!(said.contains(part), "{line}: no {part:?} in\n{said}");
        }
        said
    }

    fn drawn(&mut self, line: &str) -> String {
        let said = self.turn(line);
        said + &self.session.take_drawn().expect("a page")
    }

    pub(super) fn is_asked(&self) -> bool {
        matches!(self.session.state, State::Confirm(..))
    }
}

const FULL: &str = "obs rr 18 s96 air bp 128/76 hr 88 temp 37.1 al";

#[test]
fn whoever_is_chosen_is_shown_with_what_is_open_and_how_they_were() {
    let mut desk = desk();
    let alert = desk.alert("T09", "fell in the kitchen");
    desk.records("task \"repeat BP\" due +2h");
    desk.records(&format!("{FULL} at 14:10"));
    desk.records("obs rr 26 s95 air");
    let card = desk.says(
        "t09",
        &[
            "T09 OSEI, Kofi, born 02-Jul-1944",
            "allergies none known",
            &format!("ALERT {alert} urgent: fell in the kitchen, now; nobody has it"),
            "NEWS2 no total, A SINGLE 3",
            "RR 26/min (3)",
            "last complete set: NEWS2 0",
            "repeat BP",
            "not reached yet",
        ],
    );
    assert!(
        card.lines().count() <= 20,
        "it fits a small screen:\n{card}"
    );
    // The other has none of it.
    let card = desk.says("t07", &["no readings in this stay"]);
    assert!(!card.contains("ALERT"), "{card}");
    desk.says(
        "patients",
        &["NEWS2 incomplete, at least 4, ", "; last complete 0, "],
    );
}

#[test]
fn a_set_is_answered_with_its_points_and_the_change() {
    let mut desk = desk();
    desk.says(
        FULL,
        &["NEWS2 0 (low)", "points: rr 0, spo2 0, oxygen 0, sbp 0"],
    );
    desk.session.state = State::Ready(None);
    desk.says(
        "obs rr 26 s96 air bp 128/76 hr 88 temp 37.1 al confirm",
        &["A SINGLE 3", "points: rr 3, spo2 0"],
    );
    desk.says(
        "obs rr 26 confirm",
        &["no NEWS2 total", "A SINGLE 3", "points: rr 3"],
    );
    desk.session.state = State::Ready(None);
    // 2 + 2 + 2 + 1 without a single 3, and no temperature.
    desk.says(
        "obs rr 22 s96 o2 2l cannula bp 105/70 hr 112 al confirm",
        &[
            "no NEWS2 total",
            "AT LEAST 7 (high) from what was measured",
            "7-or-more calls for",
            "[e] escalate",
        ],
    );
    desk.session.state = State::Ready(None);
    desk.says(
        "t09",
        &[
            "NEWS2 no total, AT LEAST 7 FROM WHAT WAS MEASURED",
            "last complete set: NEWS2 3",
        ],
    );
    desk.says("patients", &["NEWS2 incomplete, at least 7, "]);
    // What is not known is not guessed from below.
    let said = desk.turn("obs rr 16 hr 95 confirm");
    assert!(
        said.contains("at least 1 from what was measured") && !said.contains("[e] escalate"),
        "{said}"
    );
}

#[test]
fn done_says_which_task_and_a_slot_that_was_done_is_asked_about() {
    let mut desk = desk();
    let task = desk.records("task \"repeat BP\" due +1h every 4h");
    let number = task.to_string();
    desk.tom(Kind::TaskStep, &[("task", &number), ("step", "done")]);
    let before = desk.head();
    desk.says(
        &format!("done {task}"),
        &[
            "\"repeat BP\": this slot was done at",
            "by Tom Arkwright",
            "this would finish the next one, due",
        ],
    );
    assert!(desk.is_asked(), "asked, not recorded");
    desk.turn("n");
    assert_eq!(desk.head(), before);
    desk.turn(&format!("done {task}"));
    desk.says(
        "y",
        &[&format!(
            "task {task} \"repeat BP\", T09 OSEI, Kofi: done; next due"
        )],
    );
    desk.says(
        "undo",
        &["Task step, T09 OSEI, Kofi", "step done", "(\"repeat BP\")"],
    );
}

#[test]
fn closing_what_a_colleague_has_is_asked_about() {
    let mut desk = desk();
    let alert = desk.alert("T09", "fell in the kitchen");
    let number = alert.to_string();
    desk.tom(Kind::AlertStep, &[("alert", &number), ("step", "taken")]);
    desk.says(
        &format!("close {alert} resolved"),
        &["\"fell in the kitchen\" (T09 OSEI, Kofi) is with Tom Arkwright since"],
    );
    assert!(desk.is_asked());
    desk.says("y", &["is closed"]);
    // One's own is closed without a question once somebody acted; taking it is no act.
    let own = desk.alert("T09", "kit silent");
    let taken = desk.turn(&format!("take {own}"));
    assert!(!taken.contains("close alert"), "{taken}");
    desk.says(
        &format!("close {own} resolved"),
        &["nobody is recorded as having been reached or having acted"],
    );
    assert!(desk.is_asked());
    desk.turn("n");
    let tried = desk.turn(&format!("p na attempt 1 next +10m then try-again {own}"));
    assert!(
        !tried.contains("close alert"),
        "nobody was reached: {tried}"
    );
    let reached = desk.turn(&format!("p {own} \"kit charged, works\""));
    assert!(reached.contains("close alert"), "{reached}");
    desk.records(&format!("close {own} resolved"));
}

#[test]
fn closing_what_somebody_was_called_about_is_asked_about() {
    let mut desk = desk();
    let alert = desk.alert("T09", "breathless").to_string();
    let escalation = [
        ("patient", "T09"),
        ("situation", "breathless"),
        ("background", "chest infection"),
        ("assessment", "worse"),
        ("recommendation", "see tonight"),
        ("to_role", "registrar"),
        ("how", "phone"),
        ("about", alert.as_str()),
        ("answer_by", "+30m"),
    ];
    desk.tom(Kind::Escalation, &escalation);
    desk.says(
        &format!("close {alert} resolved"),
        &["escalation", "to registrar", "NOT ANSWERED"],
    );
    assert!(desk.is_asked());
    desk.turn("n");
    desk.says("t09", &["ESCALATION", "NOT ANSWERED for"]);
}

#[test]
fn a_corrected_set_is_shown_with_both_values_and_its_new_score() {
    let mut desk = desk();
    let set = desk.records(FULL);
    desk.turn(&format!("correct {set} rr 26 cause typing confirm"));
    for line in [format!("show {set}"), "timeline".to_owned()] {
        let shown = desk.drawn(&line);
        let parts = [
            "CORRECTED by",
            "18/min",
            "corrected to 26/min",
            "NEWS2 3",
            "(as corrected)",
        ];
        for part in parts {
            assert!(shown.contains(part), "{line}: no {part:?} in\n{shown}");
        }
        assert!(!shown.contains("[computed] NEWS2 0"), "{shown}");
    }
}

#[test]
fn a_correction_says_the_new_score_and_a_withdrawal_what_fell_off_the_lists() {
    let mut desk = desk();
    let set = desk.records(FULL);
    let said = desk.turn(&format!("correct {set} rr 26 cause typing confirm"));
    assert!(
        said.contains(&format!("{set}: NEWS2 3, was NEWS2 0")),
        "{said}"
    );
    let alert = desk.records("alert source nurse severity urgent what \"fell\" @T09");
    // While another is selected nothing of this patient is taken back.
    desk.turn("t07");
    desk.says(
        &format!("withdraw {alert} mistaken"),
        &["is about T09 OSEI, Kofi", "T07 PELL", "is selected"],
    );
    desk.turn("t09");
    desk.says(
        &format!("withdraw {alert} mistaken"),
        &[&format!("open alert {alert} is on no list any more")],
    );
    desk.says(
        &format!("withdraw {set} mistaken"),
        &["(NEWS2 3) counts no more", "no readings are left"],
    );
}

#[test]
fn more_oxygen_at_the_same_score_is_said_in_the_receipt_and_on_the_card() {
    let mut desk = desk();
    desk.turn("t07");
    let line = |oxygen: &str| format!("obs rr 18 sats 96 {oxygen} bp 128/82 hr 80 temp 37.1 alert");
    desk.records(&line("nc 2"));
    let said = desk.turn(&line("nc 4"));
    assert!(said.contains("NEWS2 2 (low)"), "{said}");
    assert!(
        said.contains("Oxygen increased: now on oxygen 4 L/min"),
        "{said}"
    );
    desk.turn("t09");
    desk.says("t07", &["OXYGEN increased: on oxygen 4 L/min"]);
}

/// A note of several lines cannot pass for an entry of somebody else.
#[test]
fn no_line_of_a_note_begins_like_an_entry() {
    let mut desk = desk();
    let forged = "10:00 Observations #9 Tom Arkwright (RN)";
    let text = format!("slept well\n{forged}\n    rr 18/min;");
    let entry = desk.tom(Kind::Note, &[("patient", "T09"), ("text", &text)]);
    for line in ["timeline".to_owned(), format!("show {entry}")] {
        let shown = desk.drawn(&line);
        let lines: Vec<&str> = shown.lines().filter(|line| line.contains(forged)).collect();
        assert_eq!(lines, [format!("    | {forged}")], "{shown}");
        assert!(shown.contains("    | rr 18/min;"), "{shown}");
    }
    let said = desk.turn(&format!("note \"well\n{forged}\""));
    let lines: Vec<&str> = said.lines().filter(|line| line.contains(forged)).collect();
    assert!(
        !lines.is_empty() && lines.iter().all(|line| line.starts_with("    | ")),
        "{said}"
    );
}

#[test]
fn whoever_was_asked_about_is_taken_over_later_by_name() {
    let mut desk = desk();
    let given = desk.prepared_by_tom();
    desk.turn("handover");
    let query = desk.records("handover query @t07 \"who visits?\"");
    desk.says(
        "handover accept",
        &[
            "NOT TAKEN OVER: T07 PELL, Kofi, your question",
            &query.to_string(),
            "is not answered: \"who visits?\"",
        ],
    );
    desk.says(
        "handover",
        &[&format!("NOT TAKEN OVER with {given}: T07 PELL, Kofi")],
    );
    // Another's question, of another handover, does not make the answer ambiguous.
    let other = desk.prepared_by_tom();
    desk.records(&format!("handover query {other} @t09 \"rail?\""));
    let no_answer = format!("question {query} has no answer: \"who visits?\"");
    desk.says("handover accept @t07", &[&no_answer]);
    assert!(desk.is_asked());
    let said = desk.says("y", &["accepted", "T07 PELL"]);
    assert!(!said.contains("NOT TAKEN OVER"), "{said}");
    let said = desk.turn("handover");
    assert!(!said.contains("NOT TAKEN OVER"), "{said}");
    let which = desk.says("handover answer \"the team\"", &["which question?"]);
    assert!(
        which.contains(&format!("{query} \"…\" (T07 PELL, Kofi")),
        "{which}"
    );
    desk.turn("cancel");
    desk.records("handover answer @t07 \"the evening team\"");
    desk.says("handover answer @t07 \"again\"", &["which question?"]);
}

/// As on the command line.
#[test]
fn handovers_are_listed_and_what_came_since_is_shown() {
    let mut desk = desk();
    desk.says("handover list", &["no handover has been prepared"]);
    desk.turn("cancel");
    let given = desk.prepared_by_tom();
    desk.says(
        "handover list",
        &[&format!("{given} "), "waiting; 0 open queries"],
    );
    desk.says("handover since", &["no handover has been accepted"]);
    desk.turn("cancel");
    desk.turn("handover");
    desk.records("note @t07 slept well");
    desk.turn("handover accept");
    let listed = desk.says("handover list", &["accepted", "0 patients held back"]);
    assert!(!listed.contains("waiting"), "{listed}");
    let since = [
        &*format!("{given} accepted"),
        "PELL, Kofi",
        "(before you accepted)",
    ];
    desk.says("handover since", &since);
    desk.says(&format!("handover since {given}"), &since);
    desk.says("handover since #1", &["#1 is no accepted handover"]);
    for line in [
        "handover list #1",
        "handover list now",
        "handover since \"x\"",
    ] {
        desk.turn("cancel");
        desk.says(line, &["is not understood here"]);
    }
}

#[test]
fn worry_is_a_word_and_an_empty_slot_is_nobodys() {
    let mut desk = desk();
    desk.says("T99", &["nobody on the ward is T99"]);
    desk.turn("cancel");
    desk.says("t99", &["nobody on the ward is T99"]);
    desk.turn("cancel");
    desk.says("frog", &["not a word we know"]);
    desk.turn("cancel");
    desk.turn("t07");
    for line in ["worry \"quieter\"", "concern \"quieter\""] {
        let said = desk.turn(line);
        assert!(
            matches!(desk.session.state, State::Form(_)),
            "asks how soon: {said}"
        );
        let said = desk.turn("urgent");
        assert!(said.contains("recorded"), "{said}");
    }
}

#[test]
fn everybody_is_taken_over_with_an_explicit_word() {
    let mut desk = desk();
    desk.prepared_by_tom();
    desk.turn("handover");
    desk.records("handover query @t07 \"who visits?\"");
    // Without the word, somebody is held back: otherwise the word would have nothing to do.
    desk.says("handover accept", &["NOT TAKEN OVER: T07 PELL, Kofi"]);
    desk.says("handover", &["NOT TAKEN OVER with", "T07 PELL, Kofi"]);
    let mut desk = self::desk();
    let given = desk.prepared_by_tom();
    desk.turn("handover");
    desk.records("handover query @t07 \"who visits?\"");
    let said = desk.turn("handover accept all");
    assert!(
        said.contains("T07 PELL") && !said.contains("NOT TAKEN OVER"),
        "{said}"
    );
    let said = desk.drawn("handover");
    assert!(!said.contains("NOT TAKEN OVER"), "{said}");
    let station = held(&desk.session.station);
    let life = station.ward().handovers().get(&given).expect("prepared");
    assert!(life.accepted().is_some(), "the ward too");
}

#[test]
fn a_question_is_answered_and_leaves_the_sheet() {
    let mut desk = desk();
    desk.turn("t09");
    desk.records("ask who restarts the anticoagulant?");
    let asked = held(&desk.session.station).head().seq;
    assert!(desk.drawn("handover").contains("Question: who restarts"));
    // Nothing that is no question can be answered, and what was typed is back.
    desk.says(
        "answer the surgery does",
        &[
            "does not say which question",
            &format!("an open question: {asked}"),
        ],
    );
    desk.says("answer #1 the surgery does", &["#1 is no question"]);
    desk.says(
        &format!("answer {asked} the surgery does, on Monday"),
        &[&format!("question {asked} is answered"), "T09 OSEI, Kofi"],
    );
    let sheet = desk.drawn("handover").replace("\n", " ");
    let sheet: Vec<&str> = sheet.split_whitespace().collect();
    let sheet = sheet.join(" ");
    assert!(!sheet.contains("Question: who restarts"), "{sheet}");
    let answered = format!("\"who restarts the anticoagulant?\" ({asked}): the surgery does");
    assert!(sheet.contains(&answered), "{sheet}");
    // The question itself says where its answer is.
    let answer = desk.head();
    let marked = format!("answered by {answer}");
    assert_eq!(desk.drawn("timeline").matches(&marked).count(), 1);
    assert!(desk.drawn(&format!("show {asked}")).contains(&marked));
    // Somebody else's answer is not silently put beside it.
    desk.says(
        &format!("answer {asked} the hospital does"),
        &["was answered by", "the surgery does"],
    );
    assert!(desk.is_asked());
    desk.turn("no");
    // Taken back, the question is open again.
    let answer = held(&desk.session.station).head().seq;
    desk.turn(&format!("withdraw {answer} typing \"not agreed\""));
    assert!(desk.drawn("handover").contains("Question: who restarts"));
    assert!(!desk.drawn("timeline").contains("answered by"));
}

#[test]
fn a_handover_query_says_what_answered_it() {
    let mut desk = desk();
    desk.prepared_by_tom();
    let query = desk.records("handover query @t07 \"who visits?\"");
    assert!(!desk.drawn(&format!("show {query}")).contains("answered by"));
    let answer = desk.records(&format!("handover answer {query} \"the evening team\""));
    let shown = desk.drawn(&format!("show {query}"));
    assert!(shown.contains(&format!("answered by {answer}")), "{shown}");
}

#[test]
fn the_sheet_says_at_once_who_was_not_taken_over_and_why() {
    let mut desk = desk();
    let given = desk.prepared_by_tom();
    desk.turn("handover");
    let declined = desk.records("handover decline @t09 \"no bed rail\"");
    let query = desk.records("handover query @t07 \"who visits?\"");
    desk.turn("handover accept");
    let sheet = desk.session.turn("handover");
    let sheet = desk.session.take_drawn().expect(&sheet);
    let sheet: Vec<&str> = sheet.split_whitespace().collect();
    let sheet = sheet.join(" ");
    for said in [
        format!("NOT TAKEN OVER with {given}: T09 OSEI, Kofi (declined: no bed rail) {declined}"),
        format!("with {given}: T07 PELL, Kofi (asked, not answered before: who visits?) {query}"),
    ] {
        assert!(sheet.contains(&said), "{said}\n{sheet}");
    }
    desk.turn("handover accept @t09");
    desk.turn("handover accept @t07 confirm");
    desk.turn("handover");
    let sheet = desk.session.take_drawn().expect("a page");
    assert!(!sheet.contains("NOT TAKEN OVER"), "{sheet}");
}

/// The words of the command line give its answer; nothing is recorded, and a line with a mistake
/// comes back.
#[test]
fn a_calculator_answers_as_on_the_command_line() {
    let mut desk = desk();
    desk.says(
        "score gcs eye=4 verbal=5 motor=6",
        &["total: 15", "local policy"],
    );
    desk.says(
        r#"score aki creatinine=120 age=70 previous=[{"creatinine": 80, "days_ago": 7}]"#,
        &["stage: 1", "AKI 1 alert"],
    );
    desk.says("score list", &["news2: ", "nhs_number: "]);
    desk.says("score", &["news2: "]);
    desk.says(
        "score gcs eye=4",
        &["Nothing was recorded", "verbal and motor are missing"],
    );
    desk.says("score gcs 4", &["\"4\" is not name=value"]);
}
