//! Entering: what is refused or not confirmed comes back whole.

use super::*;

const SBAR: [&str; 8] = [
    "breathless since 01:00",
    "day 2 of antibiotics",
    "sepsis?",
    "see her within the hour",
    "registrar",
    "Dr Amin",
    "phone",
    "",
];

impl Desk {
    /// Answers the SBAR form as far as `answer_by`.
    fn up_to_answer_by(&mut self) -> String {
        let mut said = self.turn("esc");
        for answer in SBAR {
            said = self.turn(answer);
        }
        assert_eq!(self.question(), "answer_by 9/10", "{said}");
        said
    }

    fn answered_in_form(&self, field: &str) -> Option<String> {
        let State::Form(form) = &self.session.state else {
            panic!("{:?}", self.session.state)
        };
        form.entries.drafts[0].get(field).map(str::to_owned)
    }
}

#[test]
fn a_form_that_is_not_confirmed_comes_back_with_every_answer() {
    let mut desk = desk();
    let said = desk.up_to_answer_by();
    assert!(said.contains("no time is given by which"), "{said}");
    desk.turn("");
    let said = desk.turn("");
    assert!(said.contains("Unusual"), "{said}");
    let before = desk.head();
    let said = desk.turn("n");
    assert!(said.contains("every answer kept"), "{said}");
    assert_eq!(desk.question(), "answer_by 1/1");
    assert_eq!(desk.answered_in_form("situation").as_deref(), Some(SBAR[0]));
    // Back from the one question reaches all the others.
    let said = desk.turn("back");
    assert!(said.contains("The alert or review"), "{said}");
    desk.turn("");
    let said = desk.turn("+30m");
    assert!(said.contains("Who is next"), "{said}");
    let said = desk.turn(".");
    assert!(said.contains("Read back, for T09 OSEI, Kofi"), "{said}");
    let said = desk.turn("y");
    assert!(said.contains("Escalation recorded"), "{said}");
    assert!(said.contains(SBAR[3]), "{said}");
    assert_eq!(desk.head(), Seq(before.0 + 1));
}

#[test]
fn a_question_left_by_locking_keeps_the_form_behind_it() {
    for leave in ["lock", "interrupt", "end"] {
        let mut desk = desk();
        desk.up_to_answer_by();
        desk.turn("");
        desk.turn("");
        assert!(matches!(desk.session.state, State::Confirm(..)));
        let actor = desk.session.actor.clone().expect("signed in");
        match leave {
            "lock" => {
                desk.session.lock("");
                desk.session.unlocked(actor);
            }
            "interrupt" => drop(desk.session.interrupted("")),
            _ => drop(desk.session.quit()),
        }
        let said = desk.turn("draft");
        assert!(said.contains("to be confirmed"), "{leave}: {said}");
        let said = desk.turn(".");
        assert!(said.contains("Unusual"), "{leave}: {said}");
        let said = desk.turn("y");
        assert!(said.contains("Escalation recorded"), "{leave}: {said}");
        assert!(said.contains(SBAR[0]), "{leave}: {said}");
    }
}

#[test]
fn an_answer_half_typed_comes_back_in_its_place() {
    let mut desk = desk();
    desk.turn("esc");
    desk.turn(SBAR[0]);
    desk.session.interrupted("day 2 of ant");
    desk.turn("draft");
    let ask = desk.session.ask();
    assert_eq!(ask.mark, "T09 OSEI background 2/10");
    assert_eq!(ask.refill.expect("the words").line, "day 2 of ant");
}

#[test]
fn a_form_the_journal_would_not_take_is_kept_until_it_does() {
    let mut desk = desk();
    desk.up_to_answer_by();
    desk.turn("+30m");
    let lock = desk._dir.path().join("journal").join("lock");
    let other = std::fs::OpenOptions::new()
        .create(true)
        .truncate(false)
        .write(true)
        .open(&lock)
        .expect("the lock file");
    other.lock().expect("held by another program");
    desk.turn("Dr Osei");
    for line in ["y", "draft", "draft"] {
        let said = desk.turn(line);
        assert!(said.contains("Nothing was recorded"), "{line}: {said}");
        assert!(
            said.contains("Everything you typed is kept"),
            "{line}: {said}"
        );
    }
    drop(other);
    let said = desk.turn("draft");
    assert!(said.contains("Escalation recorded"), "{said}");
    assert!(said.contains("next_in_chain Dr Osei"), "{said}");
}

#[test]
fn anything_but_yes_or_no_asks_again() {
    let mut desk = desk();
    desk.turn("obs rr 40");
    let before = desk.head();
    desk.turn("obs rr 14");
    assert!(matches!(desk.session.state, State::Confirm(..)));
    assert_eq!(desk.head(), before);
    desk.turn("");
    assert_eq!(desk.refilled(), "obs rr 40");
}

#[test]
fn a_swapped_pressure_is_refused_as_a_pair() {
    let mut desk = desk();
    let said = desk.turn("obs bp 92/120 hr 80");
    assert!(said.contains("92/120: the systolic is not above"), "{said}");
    assert!(said.contains("120/92 if the two were swapped"), "{said}");
    assert_eq!(desk.refilled(), "obs bp 92/120 hr 80");
    // In a form both halves are asked for again.
    desk.turn("obs");
    for _ in 0..30 {
        let mark = desk.question();
        let said = match mark.split(' ').next() {
            Some("sbp") => desk.turn("92"),
            Some("dbp") => desk.turn("120"),
            Some("rr") => desk.turn("18"),
            _ => desk.turn(""),
        };
        if said.contains("Nothing was recorded yet") {
            break;
        }
    }
    assert_eq!(desk.question(), "sbp 1/2");
    desk.turn("120");
    let said = desk.turn("92");
    assert!(said.contains("sbp 120 mmHg; dbp 92 mmHg"), "{said}");
    assert!(said.contains("rr 18"), "{said}");
}

#[test]
fn an_optional_field_says_when_an_answer_makes_it_needed() {
    let mut desk = desk();
    let said = desk.turn("close #12");
    assert!(!said.contains("(optional)"), "{said}");
    desk.session.interrupted("");
    desk.turn("p n+15m");
    assert!(desk.question().starts_with("outcome"));
    desk.turn("na");
    for _ in 0..12 {
        if desk.question().starts_with("then ") {
            break;
        }
        desk.turn("");
    }
    let State::Form(form) = &desk.session.state else {
        panic!("{:?}", desk.session.state)
    };
    let question = form.question();
    assert!(
        question.contains("needed: nobody was reached"),
        "{question}"
    );
    let said = desk.turn("");
    assert!(
        said.contains("then is needed: nobody was reached"),
        "{said}"
    );
    let said = desk.turn("try-again");
    assert!(said.contains("Contact recorded"), "{said}");
}

#[test]
fn a_refused_answer_says_why_and_comes_back() {
    let mut desk = desk();
    desk.turn("alert");
    let said = desk.turn("kitt");
    assert!(
        said.contains("source: ") && said.contains("Accepted:"),
        "{said}"
    );
    assert_eq!(desk.session.ask().refill.expect("back").line, "kitt");
}

#[test]
fn a_command_in_a_form_is_asked_about_and_a_colon_looks_aside() {
    let mut desk = desk();
    desk.turn("esc");
    let said = desk.turn("tasks");
    assert!(
        said.contains("is also a command") && said.contains(":tasks"),
        "{said}"
    );
    assert_eq!(desk.answered_in_form("situation"), None);
    let said = desk.turn(":tasks");
    assert!(desk.session.take_drawn().is_some(), "the list was drawn");
    assert!(
        !said.contains("Situation"),
        "above a page it scrolls away: {said}"
    );
    let asked = desk.session.take_asked_again();
    let asked = asked.expect("the question again, below the page");
    assert!(asked.contains("Situation"), "{asked}");
    // What is said in words has the question under it at once, and nothing below.
    let said = desk.turn(":baseline t09");
    assert!(
        said.contains("usual mind") && said.contains("Situation"),
        "{said}"
    );
    assert_eq!(desk.session.take_asked_again(), None);
    // Said twice it is what it says, and a sentence is never asked about.
    desk.turn("tasks");
    desk.turn("tasks");
    assert_eq!(desk.question(), "background 2/10");
    desk.turn("ask the registrar about fluids");
    assert_eq!(desk.question(), "assessment 3/10");
    let said = desk.turn(":obs rr 18");
    assert!(said.contains("One entry at a time"), "{said}");
    assert_eq!(desk.answered_in_form("situation").as_deref(), Some("tasks"));
    desk.turn(":lock");
    let maya = Some(Handle("maya".to_owned()));
    assert_eq!(desk.session.next, Next::Lock(maya));
    assert!(
        matches!(desk.session.state, State::Form(_)),
        "kept by the lock"
    );
}

#[test]
fn a_step_without_its_entry_asks_for_the_entry_not_for_a_patient() {
    let mut desk = desk();
    let said = desk.turn("noanswer");
    assert!(!said.contains("no patient"), "{said}");
    assert!(desk.question().starts_with("escalation"), "{said}");
    desk.session.interrupted("");
    let said = desk.turn("noanswer #999");
    assert!(
        !said.contains("no patient") && said.contains("no entry #999"),
        "{said}"
    );
}

#[test]
fn no_answer_stands_on_the_card_before_who_was_reached_once() {
    let mut desk = desk();
    desk.records("v \"well\"");
    assert!(desk.turn("t09").contains("reached"));
    desk.records("p na then try-again n+15m");
    let said = desk.turn("t09");
    assert!(
        said.contains("NOT REACHED") && said.contains("no answer"),
        "{said}"
    );
}

#[test]
fn a_call_that_says_nothing_is_asked_about() {
    for line in ["v", "p", "visit", "msg", "hb", "p n+4h"] {
        let mut desk = desk();
        let before = desk.head();
        desk.turn(line);
        assert!(desk.question().starts_with("outcome "), "{line}");
        desk.turn("reached");
        let said = desk.turn(".");
        assert!(said.contains("how the patient is"), "{line}: {said}");
        assert_eq!(desk.head(), before, "{line}");
        let said = desk.turn("well, eating");
        let said = if said.contains("recorded") {
            said
        } else {
            desk.turn(".")
        };
        assert!(
            said.contains("outcome reached; how well, eating"),
            "{line}: {said}"
        );
    }
}

#[test]
fn a_wound_keeps_what_it_is() {
    let mut desk = desk();
    desk.records(
        "wound site heel side left kind pressure length 3.2 width 2.1 method longest-axis",
    );
    let said = desk.turn("wound 1 length 3.0 width 2.0");
    assert!(
        said.contains("site heel; side left; kind pressure ulcer"),
        "{said}"
    );
    for (line, why) in [
        (
            "wound 1 side right length 3 width 2",
            "keeps its side for life",
        ),
        (
            "wound 1 kind burn length 3 width 2",
            "keeps its kind for life",
        ),
        (
            "wound 1 site sacrum length 3 width 2",
            "keeps its site for life",
        ),
    ] {
        let before = desk.head();
        let said = desk.turn(line);
        assert!(
            said.contains(why) && said.contains("leave"),
            "{line}: {said}"
        );
        assert_eq!(desk.head(), before, "{line}");
        desk.session.interrupted("");
    }
}

#[test]
fn words_a_command_would_ignore_are_refused_and_the_line_is_back() {
    for line in [
        "handover t09",
        "handover prepare t09",
        "handover give \"a\" \"b\"",
        "handover frog",
        "caseload t09",
        "undo #12",
        "ward round",
        "lock now",
        "draft two",
        "quit now",
        "switch maya tom",
        "switch Maya!",
        "show #1 #2",
        "tasks frog",
        "tasks mine all",
        "alerts mine",
        "timeline frog",
        "baseline mine",
        "as-of 02:10 caseload t09",
        "lock as-of 02:10",
        "patients frog",
    ] {
        let mut desk = desk();
        let said = desk.turn(line);
        assert!(said.contains("Accepted:"), "{line}: {said}");
        assert_eq!(desk.refilled(), line);
        assert_eq!(desk.session.next, Next::Go, "{line}");
    }
    let mut desk = desk();
    let said = desk.turn("patients pell");
    assert!(said.contains("T07") && !said.contains("T09"), "{said}");
}

#[test]
fn a_correction_says_why_or_asks() {
    let mut desk = desk();
    let obs = desk.records("obs rr 18");
    let line = format!("correct {obs} rr 19");
    let said = desk.turn(&line);
    assert!(
        said.contains("does not say why") && said.contains("typing"),
        "{said}"
    );
    assert_eq!(desk.refilled(), format!("{line} cause "));
    assert_eq!(desk.head(), obs);
    desk.records(&format!("{line} cause typing"));
}

#[test]
fn lock_always_locks_and_is_never_an_answer() {
    for before in [
        vec!["esc"],
        vec!["esc", "lock me"],
        vec!["note"],
        vec!["obs rr 40"],
    ] {
        let mut desk = desk();
        for line in &before {
            desk.turn(line);
        }
        desk.turn("lock");
        let maya = Some(Handle("maya".to_owned()));
        assert_eq!(desk.session.next, Next::Lock(maya), "{before:?}");
        let actor = desk.session.actor.clone().expect("signed in");
        desk.session.lock("");
        let said = desk.session.unlocked(actor);
        assert!(
            said.contains("Kept for you: T09 OSEI"),
            "{before:?}: {said}"
        );
    }
}

#[test]
fn cancel_with_no_form_open_cancels_nothing() {
    let mut desk = desk();
    let said = desk.turn("cancel");
    assert!(said.contains("nothing to cancel"), "{said}");
    assert!(matches!(desk.session.state, State::Ready(None)));
    let task = desk.records("task \"repeat BP\" due +2h");
    let said = desk.turn(&format!("cancel {task} \"went to hospital\""));
    assert!(said.contains("Task step recorded"), "{said}");
}

#[test]
fn a_slot_typed_as_free_text_is_asked_about() {
    let mut desk = desk();
    desk.turn("esc");
    for slot in ["T07", "t07", "@t07"] {
        let said = desk.turn(slot);
        assert!(said.contains("is also a patient's slot"), "{slot}: {said}");
        assert_eq!(desk.question(), "situation 1/10");
    }
    desk.turn("@t07");
    assert_eq!(desk.answered_in_form("situation").as_deref(), Some("@t07"));
    desk.turn("T99");
    assert_eq!(desk.question(), "assessment 3/10");
}

#[test]
fn an_escalation_is_read_back_before_it_is_recorded() {
    let mut desk = desk();
    desk.up_to_answer_by();
    desk.turn("+30m");
    let before = desk.head();
    let said = desk.turn("");
    assert!(said.contains("Read back, for T09 OSEI, Kofi"), "{said}");
    assert!(said.contains("situation: breathless since 01:00"), "{said}");
    assert!(!said.contains("Unusual"), "{said}");
    assert_eq!(desk.session.ask().mark, "T09 OSEI record it? y/N");
    assert_eq!(desk.head(), before);
    // What was not right is changed, and read back again.
    desk.turn("n");
    desk.turn("breathless since 02:00");
    let said = desk.turn(".");
    assert!(said.contains("situation: breathless since 02:00"), "{said}");
    let said = desk.turn("y");
    assert!(said.contains("Escalation recorded"), "{said}");
    assert_eq!(desk.head(), Seq(before.0 + 1));
}

#[test]
fn leaving_the_optional_field_out_a_second_time_is_accepted() {
    let mut desk = desk();
    desk.up_to_answer_by();
    desk.turn("");
    let said = desk.turn("");
    assert!(
        said.contains("Unusual") && said.contains("Read back"),
        "{said}"
    );
    let said = desk.turn("");
    assert!(said.contains("Enter leaves it out"), "{said}");
    let said = desk.turn("");
    assert!(said.contains("Escalation recorded"), "{said}");
}

#[test]
fn a_time_of_day_more_than_half_a_day_ago_is_asked_about() {
    // It is 14:20 by the ward's clock.
    let mut desk = desk();
    let before = desk.head();
    let said = desk.turn("obs rr 18 at 22:15 late \"was out\"");
    assert!(said.contains("22:15 is still to come today"), "{said}");
    assert_eq!(desk.head(), before);
    desk.turn("n");
    for line in [
        "obs rr 18 at yesterday 22:15 late \"was out\"",
        "obs rr 18 at 08:00 late \"was out\"",
    ] {
        desk.records(line);
    }
}
