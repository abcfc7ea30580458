//! The sister, the oncoming nurse and the governance officer on the demo ward, each at a terminal of
//! 80 columns, as they would be: pages are read on with Enter, and nothing but the screen is seen.

use crate::desk::{Desk, flat, says};
use crate::screen::Screen;

const MORE: &str = "-- more: Enter, or q --";

/// A page waits to be read on from.
fn has_more(shown: &str) -> bool {
    let last = shown.trim_end().lines().next_back();
    last.is_some_and(|line| line.contains(MORE))
}

/// Nothing is to be read any more: the prompt.
fn at_prompt(shown: &str) -> bool {
    shown.trim_end().ends_with('>') && !has_more(shown)
}

fn at_rest(shown: &str) -> bool {
    has_more(shown) || at_prompt(shown)
}

/// What stands above the prompt: another line there is another page.
fn last_of_page(shown: &str) -> Option<&str> {
    shown.trim_end().lines().rev().nth(1)
}

/// The lines of the page on the screen, without what is left of the one before it.
fn page_of(shown: &str) -> String {
    let mut lines: Vec<&str> = shown.trim_end().lines().collect();
    lines.pop();
    let begun = |line: &&str| line.contains(MORE) || line.contains("ward> ");
    let from = lines.iter().rposition(begun).map_or(0, |at| at + 1);
    lines[from..].join("\n") + "\n"
}

/// Reads on until something stands on the pages; gives all that was read.
fn read_on(shell: &Screen, what: &str, found: impl Fn(&str) -> bool) -> String {
    let mut shown = shell.wait_until("a page", at_rest);
    let mut read = page_of(&shown);
    while !found(&read) {
        assert!(has_more(&shown), "{what} is on no page of\n{read}");
        shell.keys("\r");
        let before = last_of_page(&shown).map(str::to_owned);
        shown = shell.wait_until("the next page", |now| {
            at_rest(now) && last_of_page(now) != before.as_deref()
        });
        read.push_str(&page_of(&shown));
    }
    read
}

/// The story: raised Saturday 17:05 about too much oxygen, taken at 17:06 and acted on at 17:08 by Dev
/// Larkhanger, handed to Joss Tumbrell, who closed it in the night.
#[test]
fn the_sister_finds_who_acted_on_last_nights_alert_and_how_long_it_waited() {
    let desk = Desk::demo();
    let before = desk.head();
    let shell = Screen::signed_in(&desk.journal, "hester");
    shell.wait("Hester Brackwater");
    shell.line("alerts", "Alerts: 3, 3 open");
    let open = shell.wait_until("all that is open", at_prompt);
    assert!(!open.contains("WICKENHALL"), "it is closed:\n{open}");
    shell.line("alerts all", "Alerts: 1");
    let shown = read_on(&shell, "its card", |read| {
        read.split_once("T03 WICKENHALL")
            .is_some_and(|(_, card)| card.contains("────"))
    });
    let card = shown
        .split("────")
        .find(|card| card.contains("T03 WICKENHALL"));
    says(
        card.expect("its card"),
        &[
            "SpO2 95 % on 2 L/min, target 88 to 92 %",
            "closed: resolved",
            "waited 1min; acted on after 2min",
            "raised Sat 17:05",
            "Sat 17:06 taken Dev Larkhanger (RN)",
            "Sat 17:08 acted on Oxygen back to 1 L/min",
            "02:41 closed",
            "Joss Tumbrell (RN)",
        ],
    );
    if has_more(&shell.text()) {
        shell.keys("q\r");
        shell.wait_until("the prompt", at_prompt);
    }
    shell.keys("quit\r");
    assert_eq!(shell.ended(), 0);
    assert_eq!(desk.head(), before, "looking wrote nothing");
}

#[test]
fn the_oncoming_nurse_reads_the_sheet_asks_about_one_patient_and_takes_the_others() {
    let desk = Desk::demo();
    let prepare = ["handover", "prepare", "--receiver", "orla"];
    desk.run_as("dev", &prepare).done();
    desk.run_as("dev", &["handover", "give"]).done();
    let before = desk.head().seq.0;
    let shell = Screen::signed_in(&desk.journal, "orla");
    shell.wait("Orla Quillfeather");
    shell.keys("handover\r");
    shell.wait("Handover, Tansy Ward");
    let sheet = read_on(&shell, "the end of the sheet", |read| {
        read.contains("Decision support only")
    });
    // The foot may run on to one page more.
    if has_more(&shell.wait_until("a page", at_rest)) {
        shell.keys("\r");
    }
    let arthur = sheet
        .split("────")
        .find(|card| card.contains("T02 PELL, Arthur (Mr)") && card.contains("Allergies:"));
    says(arthur.expect("his block"), &["potassium"]);
    shell.wait_until("the prompt", at_prompt);
    shell.line(
        "handover query @t02 \"who has looked at the potassium?\"",
        &format!("#{}", before + 1),
    );
    shell.keys("handover accept\r");
    let accepted = shell.wait_until("who is not taken over", |shown| {
        flat(shown).contains("NOT TAKEN OVER: T02 PELL, Arthur (Mr)")
    });
    assert!(
        flat(&accepted).contains(&format!("your question #{} is not answered", before + 1)),
        "{accepted}"
    );
    shell.keys("quit\r");
    assert_eq!(shell.ended(), 0);
    let listed = desk.run(&["handover", "list"]).done();
    says(
        &listed,
        &["by orla (RN); 1 open query, 1 patient held back"],
    );
    let others = desk.run(&["timeline", "T05"]).done();
    assert!(!others.contains("[new]"), "T05 was taken over");
    let asked = desk.run(&["timeline", "T02"]).done();
    assert!(asked.contains("[new]"), "T02 was not");
}

/// With the program and a copied folder, and not one key in it.
#[test]
fn the_governance_officer_verifies_at_a_terminal_and_again_after_one_byte_changed() {
    let desk = Desk::demo();
    std::fs::remove_dir_all(desk.journal.join("keys")).expect("the keys are left behind");
    let head = desk.head();
    let verify = || {
        let screen = Screen::running(&desk.journal, &[], &["verify"]);
        let shown = screen.wait("(--remembered)");
        (shown, screen.ended())
    };
    let (whole, code) = verify();
    assert_eq!(code, 0, "{whole}");
    says(
        &whole,
        &[
            &format!(
                "WHOLE AND UNALTERED: {} entries checked in order",
                head.seq.0
            ),
            "nothing in this folder was altered",
        ],
    );
    let hash = head.hash.to_string();
    let line = whole.lines().find(|line| line.contains(&hash));
    assert!(line.is_some(), "the hash is on one line:\n{whole}");
    // Every word is one of the words that a wide page has.
    let wide = flat(&desk.run(&["verify"]).done());
    let wide: Vec<&str> = wide.split(' ').collect();
    for word in whole.split_whitespace() {
        assert!(wide.contains(&word), "{word} is a part of a word:\n{whole}");
    }
    let place = desk.place_of("Ward car: nearside tyre flat");
    desk.alter(|bytes| bytes[place] ^= 0x20);
    let (altered, code) = verify();
    assert_eq!(code, 3, "{altered}");
    says(
        &altered,
        &[
            "NOT AS WRITTEN: something is wrong in 1 place.",
            &format!("{} entries are intact", head.seq.0 - 1),
            "FAULT: entry #",
            "the entry was altered",
        ],
    );
    let gone = flat(&altered);
    assert!(
        !gone.contains("nothing in this folder was altered"),
        "{altered}"
    );
}
