//! Lines from a file: the same words, nothing asked, plain answers.

use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use crate::{fresh, ward};

fn run(journal: &Path, lines: &str) -> Output {
    run_as(journal, &["shell"], lines)
}

fn run_as(journal: &Path, arguments: &[&str], lines: &str) -> Output {
    let pin = journal.join("../pin");
    std::fs::write(&pin, ward::PIN).expect("a file for the PIN");
    let mut child = Command::new(env!("CARGO_BIN_EXE_handfast"))
        .args(arguments)
        .env_clear()
        .env("HANDFAST_JOURNAL", journal)
        .env("HANDFAST_USER", "maya")
        .env("HANDFAST_PIN_FILE", pin)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut input = child.stdin.take().expect("its input");
    input.write_all(lines.as_bytes()).expect("lines");
    drop(input);
    child.wait_with_output().expect("an answer")
}

#[test]
fn plain_lines_are_taken_without_a_terminal() {
    let (_dir, journal) = fresh();
    let lines = "# a comment\nt07\nobs rr18 s96 air\ntask \"repeat BP\" due +2h for nurse\ntasks\n";
    let output = run(&journal, lines);
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    assert_eq!(output.status.code(), Some(0), "{text}");
    assert!(
        text.contains("Observations recorded") && text.contains("repeat BP"),
        "{text}"
    );
    assert!(
        !text.contains('\u{1b}'),
        "no terminal codes in a pipe: {text:?}"
    );
}

#[test]
fn a_line_that_is_not_taken_is_said_and_counts() {
    let (_dir, journal) = fresh();
    let output = run(
        &journal,
        "t07\nobs rr 40\nobs rr 18 frog\nclose #1\nobs rr 40 confirm\n",
    );
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    assert_eq!(output.status.code(), Some(1), "{text}");
    assert!(
        text.contains("Add the word confirm if it is right"),
        "{text}"
    );
    assert!(text.contains("\"frog\" is not understood"), "{text}");
    assert!(
        text.contains("outcome: a closed alert needs its outcome"),
        "nothing is asked: {text}"
    );
    assert_eq!(text.matches("Observations recorded").count(), 1, "{text}");
}

/// The end of a line too long was once taken for a line of its own.
#[test]
fn nothing_of_a_line_too_long_is_done() {
    let (_dir, journal) = fresh();
    let written = ward::newest_number(&journal);
    let blank = |kib: usize| " ".repeat(kib * 1024);
    let note = r#"{"kind":"note","patient":"T07","text":"slept well"}"#;
    for (arguments, line) in [
        (
            ["shell", "--idle=10"],
            format!("#{}@t07 obs rr 18 s96 air", &blank(64)[1..]),
        ),
        (["log", "--ndjson"], format!("{}{note}", blank(256))),
    ] {
        let output = run_as(&journal, &arguments, &format!("{line}\n# the end\n"));
        let said = [output.stdout, output.stderr].concat();
        let said = String::from_utf8(said).expect("UTF-8");
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(said.contains("is longer than"), "{said}");
        assert_eq!(ward::newest_number(&journal), written, "{said}");
    }
    let line = format!("{}{{\"calc\":\"map\"}}\n", blank(64));
    let output = run_as(&journal, &["score", "--ndjson"], &line);
    let said = String::from_utf8(output.stdout).expect("UTF-8");
    assert!(said.contains("is longer than"), "{said}");
    assert_eq!(said.lines().count(), 1, "one answer to a line: {said}");
}
