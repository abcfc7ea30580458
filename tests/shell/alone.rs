//! One person at one keyboard.

use handfast::record::kind::Kind;

use crate::screen::Screen;
use crate::{fresh, ward};

#[test]
fn the_prompt_says_where_who_and_what_is_open() {
    let (_dir, journal) = fresh();
    let shell = Screen::signed_in(&journal, "maya");
    let shown = shell.wait("no open alerts");
    assert!(shown.contains("TEACHING | Tansy Ward | maya RN"), "{shown}");
    shell.line("pell", "T07 PELL, Rose>");
    let shown = shell.text();
    assert!(
        shown.contains("allergies none known"),
        "two identifiers and allergies come first: {shown}"
    );
    shell.keys("quit\r");
    assert_eq!(shell.ended(), 0);
}

/// A routine video call with seven readings, a note and the next contact: sixty keystrokes at
/// most after the patient is selected, Enter included.
#[test]
fn a_video_call_is_two_entries_in_sixty_keystrokes() {
    let (_dir, journal) = fresh();
    let shell = Screen::signed_in(&journal, "maya");
    shell.line("t07", "T07 PELL, Rose>");
    let keystrokes = "v rr18 s96 air 148/92 p88 t37.1 al n+4h \"well, eating\"\r";
    assert!(
        keystrokes.chars().count() <= 60,
        "{}",
        keystrokes.chars().count()
    );
    shell.keys(keystrokes);
    shell.wait("Observations recorded");
    let written = ward::newest(&journal, 2);
    assert_eq!(written[0].0, Kind::Contact);
    for part in ["video", "reached", "how well, eating", "next "] {
        assert!(written[0].1.contains(part), "{part}: {}", written[0].1);
    }
    assert_eq!(written[1].0, Kind::Observation);
    let readings = [
        "rr 18", "spo2 96", "on air", "sbp 148", "dbp 92", "hr 88", "Alert", "37.1",
    ];
    for part in readings {
        assert!(written[1].1.contains(part), "{part}: {}", written[1].1);
    }
    assert!(
        written[1].1.contains("during #"),
        "taken in the call: {}",
        written[1].1
    );
}

/// Keys that arrive together with Ctrl-C, as over a slow line, are never drawn.
#[test]
fn ctrl_c_keeps_what_was_typed_in_the_same_burst_and_ctrl_y_brings_it_back() {
    let (_dir, journal) = fresh();
    let shell = Screen::signed_in(&journal, "maya");
    shell.line("t07", "T07 PELL, Rose>");
    shell.keys("note \"half a thought\x03");
    shell.wait("Stopped. It is kept");
    shell.keys("\x19");
    shell.wait_until("the line is back", |shown| {
        shown.trim_end().ends_with("> note \"half a thought")
    });
    shell.keys("\x15draft\r");
    shell.wait_until("the kept line is back", |shown| {
        let back = shown.rsplit("draft").next().unwrap_or_default();
        back.contains("note \"half a thought")
    });
    // An empty line is none, whatever was cut before.
    shell.keys("\x15\x03");
    shell.keys("\x03");
    shell.wait("\"quit\" ends, \"lock\"");
}

#[test]
fn a_refused_line_comes_back_and_typing_replaces_what_was_wrong() {
    let (_dir, journal) = fresh();
    let shell = Screen::signed_in(&journal, "maya");
    shell.line("t07", "T07 PELL, Rose>");
    shell.line("obs rr ninety sats 96", "is not a number");
    shell.wait_until("the line is back", |shown| {
        shown
            .trim_end()
            .ends_with("PELL, Rose> obs rr ninety sats 96")
    });
    shell.line("18", "Observations recorded");
    let written = ward::newest(&journal, 1);
    assert!(
        written[0].1.contains("rr 18/min; spo2 96%"),
        "{}",
        written[0].1
    );
}

#[test]
fn a_line_without_a_patient_waits_for_one() {
    let (_dir, journal) = fresh();
    let shell = Screen::signed_in(&journal, "maya");
    shell.line("obs rr 18", "no patient is selected");
    shell.keys("t09\r");
    shell.wait_until("the line is back", |shown| {
        shown.trim_end().ends_with("T09 OSEI, Kofi> obs rr 18")
    });
    shell.line("", "Observations recorded");
    assert!(ward::newest(&journal, 1)[0].1.contains("rr 18"));
}

#[test]
fn a_form_asks_for_what_is_missing_goes_back_and_keeps_what_was_stopped() {
    let (_dir, journal) = fresh();
    let shell = Screen::signed_in(&journal, "maya");
    shell.line("t07", "T07 PELL, Rose>");
    shell.line("alert", "source 1/5>");
    shell.line("kit", "what 2/5>");
    shell.line("", "what is needed");
    shell.line("oximeter flat", "severity 3/5>");
    shell.line("back", "[oximeter flat]");
    shell.line("cancel", "It is kept");
    shell.line("draft", "source 1/5>");
    shell.line("", "what 2/5> ");
    shell.line("", "severity 3/5>");
    shell.line("3", "detail 4/5>");
    shell.line(".", "Alert recorded");
    let written = ward::newest(&journal, 1);
    assert_eq!(written[0].0, Kind::Alert);
    assert!(
        written[0].1.contains("what oximeter flat; severity soon"),
        "{}",
        written[0].1
    );
}

#[test]
fn the_menu_says_what_each_word_means() {
    let (_dir, journal) = fresh();
    let shell = Screen::signed_in(&journal, "maya");
    shell.line("t07", "T07 PELL, Rose>");
    shell.keys("obs temp_site \t");
    let shown = shell.wait("temporal artery");
    assert!(shown.contains("axillary"), "{shown}");
    shell.keys("\u{3}");
    shell.wait("It is kept");
    shell.keys("sel ose\t");
    shell.wait_until("the name becomes the slot", |shown| {
        shown.trim_end().ends_with("> sel T09")
    });
}

#[test]
fn unusual_values_are_recorded_only_after_a_yes() {
    let (_dir, journal) = fresh();
    let shell = Screen::signed_in(&journal, "maya");
    shell.line("t07", "T07 PELL, Rose>");
    shell.line("obs rr 40", "record it? y/N>");
    shell.line("", "the line is back");
    assert_eq!(
        ward::newest(&journal, 1)[0].0,
        Kind::Admission,
        "Enter alone records nothing"
    );
    shell.line("", "record it? y/N>");
    shell.line("y", "Observations recorded");
}

#[test]
fn undo_takes_the_last_line_back() {
    let (_dir, journal) = fresh();
    let shell = Screen::signed_in(&journal, "maya");
    shell.line("t07", "T07 PELL, Rose>");
    shell.line("v rr18 \"well\"", "Observations recorded");
    let shown = shell.line("undo", "it stays readable, struck");
    assert_eq!(
        shown.matches("is taken back by").count(),
        2,
        "call and readings: {shown}"
    );
    let written = ward::newest(&journal, 2);
    for (kind, words) in written {
        assert_eq!(kind, Kind::Amendment);
        assert!(words.contains("withdraws"), "{words}");
    }
    shell.line("undo", "Nothing of yours");
}

#[test]
fn a_note_runs_over_several_lines() {
    let (_dir, journal) = fresh();
    let shell = Screen::signed_in(&journal, "maya");
    shell.line("t07", "T07 PELL, Rose>");
    shell.line("note", "An empty line ends the note");
    shell.keys("slept well\r");
    shell.keys("asked for a commode\r");
    shell.keys("\r");
    shell.wait("topic 2/3>");
    shell.line(".", "Note recorded");
    let written = ward::newest(&journal, 1);
    assert!(
        written[0]
            .1
            .contains("text slept well\nasked for a commode"),
        "{}",
        written[0].1
    );
}

#[test]
fn what_a_terminal_would_obey_is_shown_and_refused() {
    let (_dir, journal) = fresh();
    let shell = Screen::signed_in(&journal, "maya");
    shell.line("t07", "T07 PELL, Rose>");
    // Pasted: clear the screen, then text. The editor hands such keys on as they are.
    shell.keys("\u{1b}[200~note well\u{1b}[2J\u{202e}done\u{1b}[201~");
    shell.wait("done");
    assert!(
        shell.text().contains("Tansy Ward"),
        "the screen was not cleared"
    );
    shell.line("", "an invisible character (U+");
    shell.line("", "Note recorded");
    let written = ward::newest(&journal, 1);
    assert!(
        written[0].1.contains("text well[2Jdone"),
        "{}",
        written[0].1
    );
}

#[test]
fn lock_clears_the_screen_and_the_history_and_keeps_the_draft_for_its_writer() {
    let (_dir, journal) = fresh();
    let shell = Screen::signed_in(&journal, "maya");
    shell.line("t07", "T07 PELL, Rose>");
    shell.line("note rang the daughter", "Note recorded");
    shell.keys("obs rr 1");
    shell.wait_until("typed", |shown| shown.trim_end().ends_with("obs rr 1"));
    shell.keys("\u{3}");
    shell.wait("It is kept");
    // Her own PIN is asked first, unseen; Enter lets somebody else in.
    shell.line("lock", "PIN of maya (Enter for somebody else)");
    let shown = shell.text();
    assert!(
        !shown.contains("PELL") && !shown.contains("daughter"),
        "{shown}"
    );
    shell.line("", "Locked; who is it?");
    shell.keys("tom\r");
    shell.wait("PIN of tom");
    shell.keys(&format!("{}\r", ward::PIN));
    shell.wait("Tom Arkwright");
    shell.wait("ward>");
    shell.line("draft", "Nothing is kept for you");
    // Arrow up: of Maya's lines none is left.
    shell.keys("\u{1b}[A\u{1b}[A\u{1b}[A\u{1b}[A");
    shell.wait_until("only his own line", |shown| {
        shown.trim_end().ends_with("ward> draft")
    });
    shell.keys("\u{15}");
    shell.line("switch maya", "PIN of maya");
    shell.line("wrong", "is not the right PIN");
    shell.wait("PIN of maya");
    shell.keys(&format!("{}\r", ward::PIN));
    shell.wait("Kept for you: T07 PELL: obs rr 1");
    shell.keys("draft\r");
    shell.wait_until("her line is back", |shown| {
        shown.trim_end().ends_with("> obs rr 1")
    });
}

/// Locked, the session opens again with its own short PIN, three times wrong not any more; the key's secret always does.
#[test]
fn a_short_pin_reopens_the_session_and_nothing_else() {
    let (_dir, journal) = fresh();
    let shell = Screen::signed_in(&journal, "maya");
    shell.line("pin session", "Your PIN or passphrase now");
    shell.line("111222", "not the right PIN");
    shell.keys("pin session\r");
    shell.wait_until("it asks again", |shown| {
        shown.trim_end().ends_with("Your PIN or passphrase now:")
    });
    shell.line(crate::pin_of("maya"), "A short PIN that re-opens");
    shell.line("222333", "The same again");
    shell.line("222333", "It opens nothing else");
    shell.line("lock", "PIN of maya");
    shell.line("222334", "2 more, or your");
    shell.line("222333", "Maya Lind");
    shell.wait("ward>");
    shell.line("lock", "PIN of maya");
    for left in ["2 more", "1 more", "opens nothing any more"] {
        shell.line("999999", left);
    }
    // It is forgotten: the key's own secret is tried now.
    shell.line("222333", "that is not the right PIN");
    shell.line(crate::pin_of("maya"), "Maya Lind");
}
