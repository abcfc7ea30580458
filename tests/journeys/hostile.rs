//! Text that means harm: what a terminal obeys, what reorders a line, what a browser or a
//! spreadsheet would run. Nothing is lost, and nothing gets through.

use serde_json::Value;

use crate::desk::{Desk, number};

/// Clears a screen, sets a title, rings, reorders, and closes a cell, a tag and a string.
const HOSTILE: &str = "well\u{1b}[2J\u{1b}]0;title\u{7}\u{9b}31m\u{202e}tsrif\u{202c}\u{2066}\u{2028}<script>alert(1)</script>\"'&=cmd|' /C calc'!A0";

/// What a terminal or a page must not be given as it is.
fn is_obeyed(c: char) -> bool {
    (c.is_control() && c != '\n')
        || matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{2028}' | '\u{2029}')
}

#[track_caller]
fn harmless(shown: &str) {
    if let Some(place) = shown.find(is_obeyed) {
        let from = shown[..place]
            .char_indices()
            .rev()
            .nth(40)
            .map_or(0, |(at, _)| at);
        panic!("{:?}", shown[from..].chars().take(90).collect::<String>());
    }
}

/// A ward where everything that can be typed is typed with harm in it.
fn ward() -> Desk {
    let desk = Desk::demo();
    let with = |field: &str| format!("{field}={HOSTILE}");
    desk.log(
        "orla",
        &["note", "patient=T01", &with("text"), "topic=watch-for"],
    );
    desk.log("orla", &["task", "patient=T01", &with("what"), "due=+2h"]);
    desk.log(
        "orla",
        &[
            "alert",
            "patient=T01",
            "source=other",
            "severity=urgent",
            &with("what"),
            &with("detail"),
        ],
    );
    desk.log(
        "orla",
        &[
            "contact",
            "patient=T01",
            "mode=phone",
            "outcome=reached",
            &with("how"),
            &with("advice"),
            "next=+3h",
        ],
    );
    desk.log(
        "orla",
        &[
            "admission",
            "patient=new",
            "family==HYPERLINK(\"x\")<marquee>",
            "given=\u{202e}Eve\u{1b}[1m",
            "born=02-Jul-1944",
            "sex=female",
            "nhs=999 000 0018",
            "slot=T30",
            "area=Fernhill",
            "source=gp",
            &with("reason"),
            "allergies=none known",
            "ceiling=full",
            "resuscitation=attempt",
            "scale=1",
        ],
    );
    desk
}

#[test]
fn no_view_gives_a_terminal_or_a_page_anything_it_would_obey() {
    let desk = ward();
    let views: [&[&str]; 8] = [
        &["timeline", "T01"],
        &["timeline", "T30"],
        &["handover"],
        &["alerts", "--all"],
        &["tasks"],
        &["caseload"],
        &["alerts", "--format", "csv"],
        &["tasks", "--format", "csv"],
    ];
    for view in views {
        // Lines of a spreadsheet file end with both characters (RFC 4180).
        let shown = desk.run(view).done().replace("\r\n", "\n");
        harmless(&shown);
    }
    for view in [
        &["timeline", "T01"] as &[&str],
        &["handover"],
        &["alerts"],
        &["tasks"],
    ] {
        let args: Vec<&str> = [view, &["--format", "html"]].concat();
        let html = desk.run(&args).done();
        harmless(&html);
        assert!(
            !html.contains("<script") && !html.contains("<marquee>"),
            "{view:?}"
        );
        assert!(
            html.contains("&#60;script&#62;") || html.contains("&lt;script&gt;"),
            "{view:?}"
        );
    }
}

#[test]
fn json_escapes_and_loses_nothing() {
    let desk = ward();
    for view in [
        &["timeline", "T01"] as &[&str],
        &["handover"],
        &["alerts"],
        &["tasks"],
    ] {
        let args: Vec<&str> = [view, &["--json"]].concat();
        let shown = desk.run(&args).done();
        harmless(&shown);
        let parsed: Value = serde_json::from_str(&shown).unwrap();
        assert!(holds(&parsed, HOSTILE), "{view:?}: the text as written");
    }
}

/// Whether a string somewhere in it holds the text.
fn holds(value: &Value, text: &str) -> bool {
    match value {
        Value::String(own) => own.contains(text),
        Value::Array(items) => items.iter().any(|item| holds(item, text)),
        Value::Object(fields) => fields.values().any(|field| holds(field, text)),
        _ => false,
    }
}

/// Also where it is shown back at once: receipts, refusals, the shell.
#[test]
fn what_is_said_back_is_harmless() {
    let desk = ward();
    let patient = format!("patient={HOSTILE}");
    let unit = format!("rr={HOSTILE}");
    let kind = HOSTILE;
    let refused: [&[&str]; 5] = [
        &["log", "note", &patient, "text=x"],
        &["log", "obs", "patient=T01", &unit],
        &["log", kind],
        &["timeline", HOSTILE],
        &[HOSTILE],
    ];
    for args in refused {
        let answer = desk.run_as("orla", args);
        assert!(matches!(answer.code, 1 | 2), "{answer:?}");
        harmless(&answer.err);
        harmless(&answer.out);
    }
    let shell = desk.shell("orla", &format!("t01\nnote {HOSTILE}\ntimeline\nt30\n"));
    harmless(&shell.out);
    harmless(&shell.err);
    let line = serde_json::json!({"kind": "note", "patient": HOSTILE, "text": "x"});
    let many = crate::desk::answer(
        desk.command_as("orla", &["log", "--ndjson"]),
        &format!("{line}\n"),
    );
    assert_eq!(many.code, 1);
    harmless(&many.err);
}

/// A cell that begins like a formula is text for a spreadsheet.
#[test]
fn no_cell_is_a_formula() {
    let desk = Desk::demo();
    for formula in ["=1+1", "+cmd|' /C calc'!A0", "@SUM(A1)", "-2+3", "\t=1+1"] {
        let what = format!("what={formula}");
        let fields = [
            "alert",
            "patient=T01",
            "source=other",
            "severity=soon",
            &what,
        ];
        desk.log("orla", &fields);
    }
    let csv = desk.run(&["alerts", "--format", "csv"]).done();
    for line in csv.lines() {
        for cell in line.split(',') {
            let begins = cell.trim_start_matches('"').trim_start().chars().next();
            assert!(
                !matches!(begins, Some('=' | '+' | '@' | '-' | '|')),
                "{line}"
            );
        }
    }
}

/// Refused or shown, never silently changed.
#[test]
fn what_was_typed_is_what_is_kept() {
    let desk = Desk::demo();
    let text = format!("text={HOSTILE}");
    let receipt = desk
        .run_as("orla", &["log", "note", "patient=T01", &text])
        .done();
    let entry = desk
        .run(&["entry", &number(&receipt).to_string(), "--json"])
        .done();
    assert!(holds(&serde_json::from_str(&entry).unwrap(), HOSTILE));
}
