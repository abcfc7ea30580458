//! Two people on one ward.

use crate::screen::Screen;
use crate::{fresh, ward};

#[test]
fn a_colleagues_alert_appears_above_the_line_being_typed() {
    let (_dir, journal) = fresh();
    let shell = Screen::signed_in(&journal, "maya");
    shell.line("t07", "T07 PELL, Rose>");
    shell.keys("obs rr 18 sa");
    shell.wait_until("typed", |shown| shown.trim_end().ends_with("obs rr 18 sa"));
    ward::raise_alert(
        &journal,
        "T09",
        "fell in the kitchen beside the stove and cannot get up alone",
    );
    let shown = shell.wait_until("the alert, above the line as it stood", |shown| {
        let alert = shown.find("fell in the kitchen");
        let line = shown.rfind("> obs rr 18 sa");
        matches!((alert, line), (Some(alert), Some(line)) if alert < line)
    });
    assert!(shown.contains("T09 OSEI, Kofi"), "{shown}");
    // What is typed next stands first, and no line breaks inside a word.
    let notice = shown.lines().position(|line| line.starts_with("! #"));
    let notice = notice.unwrap_or_else(|| panic!("the number first: {shown}"));
    let notice: Vec<&str> = shown.lines().skip(notice).take(2).collect();
    let words: Vec<&str> = notice
        .iter()
        .flat_map(|line| line.split_whitespace())
        .collect();
    let raised = "ALERT urgent: fell in the kitchen beside the stove and cannot get up alone; T09 OSEI, Kofi (Tom Arkwright)";
    assert_eq!(words[3..].join(" "), raised, "{shown}");
    shell.wait("1 NOT TAKEN");
    shell.line("ts 96", "Observations recorded");
    let written = ward::newest(&journal, 1);
    assert!(
        written[0].1.contains("spo2 96"),
        "nothing typed was lost: {}",
        written[0].1
    );
}

/// Somebody who reads a long page must not be the last to hear of it.
#[test]
fn a_colleagues_alert_appears_while_a_long_page_waits() {
    const MORE: &str = "-- more: Enter, or q --";
    let (_dir, journal) = fresh();
    let shell = Screen::signed_in(&journal, "maya");
    let before = shell.line("handover", MORE);
    assert!(!before.contains("fell in the kitchen"), "{before}");
    shell.keys("tas");
    shell.wait_until("typed", |shown| shown.trim_end().ends_with("tas"));
    ward::raise_alert(&journal, "T09", "fell in the kitchen");
    let shown = shell.wait_until("the alert, above the line as it stood", |shown| {
        let alert = shown.find("fell in the kitchen");
        let line = shown
            .rfind(&format!("{MORE} tas"))
            .or_else(|| shown.rfind("tas"));
        let still_waits = shown.contains(MORE) && shown.trim_end().ends_with("tas");
        matches!((alert, line), (Some(alert), Some(line)) if alert < line) && still_waits
    });
    assert!(
        shown.contains("! ") && shown.contains("T09 OSEI, Kofi"),
        "{shown}"
    );
    // What was begun is the next command.
    shell.line("ks", "1 NOT TAKEN");
    shell.wait_until("no page waits", |shown| !shown.trim_end().ends_with(MORE));
}

#[test]
fn the_second_to_take_an_alert_is_told_who_has_it() {
    let (_dir, journal) = fresh();
    ward::raise_alert(&journal, "T09", "fell in the kitchen");
    let shell = Screen::signed_in(&journal, "maya");
    let alert = ward::newest_number(&journal);
    ward::take_alert(&journal, alert);
    let shown = shell.line(&format!("take #{alert}"), "is with");
    assert!(shown.contains("Tom Arkwright"), "{shown}");
    // The line is back: "over" takes it all the same.
    shell.line(" over", "Alert step recorded");
}

#[test]
fn one_key_takes_what_is_offered() {
    let (_dir, journal) = fresh();
    ward::raise_alert(&journal, "T09", "pressed the button");
    let alert = ward::newest_number(&journal);
    let shell = Screen::signed_in(&journal, "maya");
    shell.line("t09", "T09 OSEI, Kofi>");
    let shown = shell.line(
        &format!("help #{alert} \"pressed by mistake, well\""),
        "[m]",
    );
    assert!(shown.contains("Contact recorded"), "{shown}");
    shell.line("m", "Alert step recorded");
    let written = ward::newest(&journal, 1);
    assert!(
        written[0].1.contains("closed") && written[0].1.contains("mistake"),
        "{}",
        written[0].1
    );
    shell.wait("no open alerts");
}

#[test]
fn a_handover_is_prepared_queried_answered_and_accepted() {
    let (_dir, journal) = fresh();
    let maya = Screen::signed_in(&journal, "maya");
    maya.line("handover", "Tansy Ward");
    let shown = maya.line(
        "handover prepare \"two to watch\"",
        "Handover prepared recorded",
    );
    assert!(shown.contains("two to watch"), "{shown}");
    maya.line("handover give", "given");
    let tom = Screen::signed_in(&journal, "tom");
    tom.line(
        "handover query @pell \"who visits?\"",
        "Handover step recorded",
    );
    maya.wait("QUESTION");
    maya.line(
        "handover answer \"the daughter does\"",
        // Not "recorded": `give` said that as well, and the answer must come before the verdict.
        "step query answered",
    );
    tom.line("handover accept", "you have not opened its sheet");
    tom.line("y", "step accepted");
    let written = ward::newest(&journal, 1);
    assert!(written[0].1.contains("accepted"), "{}", written[0].1);
    tom.line("handover accept", "no handover is waiting");
}

#[test]
fn nobody_typing_locks_the_keyboard_and_keeps_the_line() {
    let (_dir, journal) = fresh();
    let pin = journal.join("../pin");
    std::fs::write(&pin, ward::PIN).expect("a file for the PIN");
    let pin = pin.to_str().expect("a path in UTF-8").to_owned();
    let settings = [
        ("HANDFAST_USER", "maya"),
        ("HANDFAST_PIN_FILE", pin.as_str()),
        ("HANDFAST_IDLE_SECONDS", "3"),
    ];
    let shell = Screen::start(&journal, &settings);
    shell.wait("ward>");
    shell.line("t07", "T07 PELL, Rose>");
    shell.keys("obs rr 1");
    shell.wait("PIN of maya");
    let shown = shell.text();
    assert!(
        !shown.contains("PELL"),
        "nothing of the ward stays on the screen: {shown}"
    );
    shell.keys(&format!("{}\r", ward::PIN));
    shell.wait("Kept for you: T07 PELL: obs rr 1");
}
