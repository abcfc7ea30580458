//! Times, numbers and windows as they are said, beside what a note is about.

use super::*;
use crate::record::field::FieldValue;
use crate::record::moment::Due;

/// A time or a late reason beside the text of a note is one; within the text it is text.
#[test]
fn a_time_beside_a_notes_text_is_its_time() {
    for (line, text, at, late) in [
        ("note \"x y\" at 12:30", "x y", Some("12:30"), None),
        (
            "note \"x\" at 12:30 late \"phone died\"",
            "x",
            Some("12:30"),
            Some("phone died"),
        ),
        (
            "note \"x\" late \"phone died\"",
            "x",
            None,
            Some("phone died"),
        ),
        (
            "note \"x\" at=12:30 late=busy",
            "x",
            Some("12:30"),
            Some("busy"),
        ),
        ("note at 12:30 \"x\"", "x", Some("12:30"), None),
        (
            "note at yesterday 22:15 late \"asleep\" \"x\"",
            "x",
            Some("yesterday 22:15"),
            Some("asleep"),
        ),
        ("watch \"x\" at 20m ago", "x", Some("20m ago"), None),
        // Words of the note stay where they are.
        (
            "note says \"x\" at 12:30",
            "says \"x\" at 12:30",
            None,
            None,
        ),
        (
            "note rang at 12:30, asleep",
            "rang at 12:30, asleep",
            None,
            None,
        ),
        ("note he fell at 12:30", "he fell at 12:30", None, None),
        ("note \"x\" at home", "\"x\" at home", None, None),
        ("note \"x\" late again", "\"x\" late again", None, None),
        ("note at home with \"x\"", "at home with \"x\"", None, None),
        (
            "note \"at 12:30 carers came\"",
            "at 12:30 carers came",
            None,
            None,
        ),
    ] {
        let read = entries(line);
        let draft = &read.drafts[0];
        let found = (
            draft.get("text"),
            draft.at.as_deref(),
            draft.late_reason.as_deref(),
        );
        assert_eq!(found, (Some(text), at, late), "{line}");
    }
    assert_eq!(
        entries("note \"x\" at 12:30 related #12 confirm").drafts[0]
            .related
            .as_deref(),
        Some("#12")
    );
    assert_eq!(
        entries("answer #12 \"the surgery\" at 12:30").drafts[0]
            .related
            .as_deref(),
        Some("#12")
    );
    // It could be either, and is asked about.
    let either = &mistakes("note at 12:30 carers came")[0];
    assert!(
        either.what.contains("when it happened, or the beginning"),
        "{}",
        either.what
    );
    for line in ["note at=12:30 carers came", "note \"at 12:30 carers came\""] {
        assert!(either.accepted.contains(line), "{}", either.accepted);
    }
    for line in [
        "note \"x\" at 29:00",
        "note at tomorrow 09:00 \"x\"",
        "note \"x\" at 12:30 at 12:40",
    ] {
        assert_eq!(mistakes(line).len(), 1, "{line}");
    }
    let autumn = ShorthandContext {
        now: Timestamp(1_792_897_200_000_000),
        ..cx()
    };
    for line in ["note \"x\" at 01:30", "note at 01:30 \"x\""] {
        let twice = parse(line, &autumn).expect_err("it happens twice");
        assert!(twice[0].what.contains("happens twice"), "{}", twice[0].what);
    }
}

#[test]
fn a_pressure_may_have_blanks_and_a_number_a_comma() {
    for line in [
        "obs bp 120 / 80",
        "obs bp 120/ 80",
        "obs bp 120 /80 mmHg",
        "obs rr 18 bp 120 / 80 hr 70",
    ] {
        let found = fields(line);
        assert!(
            found.contains(&("sbp".to_owned(), "120".to_owned())),
            "{line}: {found:?}"
        );
        assert!(
            found.contains(&("dbp".to_owned(), "80".to_owned())),
            "{line}: {found:?}"
        );
    }
    for line in ["obs temp 36,8", "obs t36,8", "obs tt36,8 rr 18"] {
        assert!(
            fields(line).contains(&("temp".to_owned(), "36,8".to_owned())),
            "{line}"
        );
    }
    for (line, words) in [
        ("obs glucose 99 mg/dl", "mmol/L"),
        ("obs weight 180 lbs", "give kg"),
        ("obs weight 12 stone", "give kg"),
        ("obs temp 98,6", "25.0 to 45.0"),
        ("obs hr 1,200", "could be"),
        ("obs 2L", "o2 2l cannula"),
        ("obs rr 18 at 3.30", "03:30"),
        ("obs rr 18 at 12pm", "12:00"),
    ] {
        let found = mistakes(line);
        let said = format!("{}. {}", found[0].what, found[0].accepted);
        assert!(
            found.len() == 1 && said.contains(words),
            "{line}: {found:?}"
        );
    }
}

#[test]
fn a_tasks_window_is_said_as_people_say_it() {
    let window = |line: &str| {
        let draft = entries(line).drafts.remove(0);
        let moment = |field: &str| {
            let text = draft
                .get(field)
                .unwrap_or_else(|| panic!("{line}: no {field}"));
            Due::read(text, &cx().read()).unwrap().0
        };
        (moment("from"), moment("due"))
    };
    let right = window("task \"visit\" from 20:00 due 22:00");
    for said in [
        "between 20:00 and 22:00",
        "20:00-22:00",
        "due 20:00-22:00",
        "due 20:00 to 22:00",
        "from 20:00 to 22:00",
        "between 8pm and 10 pm",
        "between 20:00 and 22:00 for nurse",
    ] {
        assert_eq!(window(&format!("task \"visit\" {said}")), right, "{said}");
        assert_eq!(window(&format!("task {said} \"visit\"")), right, "{said}");
    }
    let tomorrow = window("task \"visit\" due tomorrow 14:00 to 16:00");
    assert_eq!(
        tomorrow,
        window("task \"visit\" from tomorrow 14:00 due tomorrow 16:00")
    );
    // One time alone is still one.
    let one = entries("task \"visit\" due 2026-10-25 09:00 for nurse");
    assert_eq!(
        (one.drafts[0].get("due"), one.drafts[0].get("from")),
        (Some("2026-10-25 09:00"), None)
    );
    let found = mistakes("task \"visit\" between eight and ten");
    assert!(
        found[0].accepted.contains("from 20:00 due 22:00"),
        "{found:?}"
    );
}
