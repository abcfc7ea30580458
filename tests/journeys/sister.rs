//! The ward sister: who dealt with last night's alert, and how long it waited.

use serde_json::Value;

use crate::desk::{Desk, says};

fn ledger(desk: &Desk, args: &[&str]) -> Value {
    let args: Vec<&str> = [&["alerts", "--all", "--json"], args].concat();
    serde_json::from_str(&desk.run(&args).done()).unwrap()
}

fn of_patient<'a>(ledger: &'a Value, name: &str) -> Vec<&'a Value> {
    let alerts = ledger["alerts"].as_array().unwrap();
    let named = |alert: &&Value| alert["who"]["name"].as_str().unwrap().starts_with(name);
    alerts.iter().filter(named).collect()
}

/// The story: pressed at 03:09, raised 03:10, taken 03:11, rung at 03:12, closed 03:17 as a
/// mistake, all by Orla Quillfeather.
#[test]
fn she_reads_who_took_it_who_acted_and_how_long_it_waited() {
    let desk = Desk::demo();
    let shown = desk.run(&["alerts", "--all"]).done();
    let card = shown
        .split("────")
        .find(|card| card.contains("Help button pressed at 03:09"))
        .unwrap();
    says(
        card,
        &[
            "T02 PELL, Arthur (Mr)",
            "closed: raised by mistake",
            "waited 0min; acted on after 2min",
            "raised Fri 03:10",
            "Fri 03:11 taken Orla Quillfeather (RN)",
            "Fri 03:12 acted on",
            "Fri 03:17 closed Answered in three minutes. Pressed by accident. Orla Quillfeather (RN)",
        ],
    );
    let all = ledger(&desk, &[]);
    let help = of_patient(&all, "PELL, Arthur")[0];
    assert_eq!(help["waited_minutes"], 0, "under a minute");
    assert_eq!(help["to_action_minutes"], 2);
    assert_eq!(help["outcome"], "mistake");
    assert_eq!(help["steps"][0]["by"]["name"], "Orla Quillfeather");
    let csv = desk.run(&["alerts", "--all", "--format", "csv"]).done();
    let alerts = all["alerts"].as_array().unwrap().len();
    assert_eq!(csv.lines().count(), alerts + 1, "a line each and a heading");
}

/// At 02:10, in the hour after the clocks went back, Mr Wickenhall's alert was open and with
/// Joss; it was closed at 02:41, which nobody could know then.
#[test]
fn she_sees_the_ward_as_it_was_then_known() {
    let desk = Desk::demo();
    let then = ledger(&desk, &["--as-of", "25-Oct-2026 02:10"]);
    let alert = of_patient(&then, "WICKENHALL")[0];
    assert_eq!(
        (alert["open"].as_bool(), &alert["outcome"]),
        (Some(true), &Value::Null)
    );
    assert_eq!(alert["holder"]["name"], "Joss Tumbrell");
    assert_eq!(then["open"], 1);
    assert_eq!(
        of_patient(&then, "TARNSBY").len(),
        0,
        "raised in the afternoon"
    );
    let now = ledger(&desk, &[]);
    assert_eq!(of_patient(&now, "WICKENHALL")[0]["outcome"], "resolved");
    // The same moment, said in three ways, is the same ward to the byte.
    let said = ["02:10", "25-Oct-2026 02:10", "2026-10-25T02:10:00Z"];
    for moment in said {
        assert_eq!(ledger(&desk, &["--as-of", moment]), then, "{moment}");
    }
    // And it stays the same whatever is written afterwards.
    desk.log("joss", &["note", "patient=T03", "text=closed too early?"]);
    assert_eq!(ledger(&desk, &["--as-of", "02:10"]), then);
}

#[test]
fn a_late_entry_is_not_there_before_it_was_written() {
    let desk = Desk::demo();
    // Mr Pell's and Miss Pell's readings were mixed up at 22:07 and withdrawn at 22:23.
    let then = desk
        .run(&["timeline", "T02", "--as-of", "23-Oct-2026 22:15"])
        .done();
    says(&then, &["Cough less, sitting by the window with the cat."]);
    assert!(!then.contains("withdrawn"), "nobody knew at 22:15:\n{then}");
    let now = desk.run(&["timeline", "T02"]).done();
    says(&now, &["Cough less", "withdrawn", "wrong patient"]);
}

/// A moment before the ward was opened is no empty ward: every form says whose journal it is and that
/// it had no entry.
#[test]
fn before_the_first_entry_every_list_says_so_and_that_it_is_invented() {
    let desk = Desk::demo();
    let views = [
        "caseload", "tasks", "alerts", "handover", "timeline", "policy",
    ];
    for view in views {
        let mut words = vec![view, "--as-of", "01-Oct-2026 08:00"];
        words.extend((view == "policy").then_some("show"));
        let shown = desk.run(&words).done();
        says(
            &shown,
            &[
                "TEACHING JOURNAL",
                "NOTHING WAS RECORDED YET",
                "Thu 01-Oct-2026 08:00 (BST",
            ],
        );
        assert!(!shown.contains("unnamed"), "{shown}");
    }
    let json = desk.run(&["caseload", "--json", "--as-of", "01-Oct-2026 08:00"]);
    let json: Value = serde_json::from_str(&json.done()).unwrap();
    assert_eq!(json["heading"]["teaching"], true);
    assert_eq!(json["heading"]["journal_seq"], 0);
    let now = desk.run(&["caseload"]).done();
    assert!(!now.contains("NOTHING WAS RECORDED"), "{now}");
}

#[test]
fn a_moment_that_was_twice_or_is_to_come_is_asked_about() {
    let desk = Desk::demo();
    desk.run(&["alerts", "--as-of", "01:30"]).failed(
        2,
        &[
            "happens twice, because the clock goes back",
            "\"01:30 BST\" or \"01:30 GMT\"",
        ],
    );
    desk.run(&["alerts", "--as-of", "26-Oct-2026 09:00"])
        .failed(2, &["--as-of", "still to come"]);
    desk.run(&["alerts", "--as-of", "half past frog"])
        .failed(2, &["--as-of", "half past frog"]);
}

/// `tasks mine` of the shell and `tasks --mine` of the command line are one list, the shell's to the
/// end of a shift.
#[test]
fn tasks_mine_is_one_list_in_the_shell_and_on_the_command_line() {
    let desk = Desk::demo();
    let listed = desk.run(&["--user", "imke", "tasks", "--mine"]).done();
    let everybody = desk.run(&["tasks"]).done();
    let entries = |text: &str| -> Vec<String> {
        let words = text.split_whitespace().filter(|word| word.starts_with('#'));
        words.map(str::to_owned).collect()
    };
    let (mine, all) = (entries(&listed), entries(&everybody));
    assert!(!mine.is_empty() && mine.len() < all.len(), "{listed}");
    let shell = desk.shell("imke", "tasks mine\n").done();
    let soon = entries(&shell);
    assert!(
        !soon.is_empty() && mine.starts_with(&soon),
        "{shell}\n{listed}"
    );
    desk.run(&["tasks", "--mine"]).failed(2, &["give --user"]);
    desk.run(&["--user", "nobody-here", "tasks", "--mine"])
        .failed(1, &["nobody-here is not on the staff"]);
}
