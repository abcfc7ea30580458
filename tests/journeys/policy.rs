//! The ward's policy: the sister changes it, everybody sees it, and the past keeps its own.

use serde_json::Value;

use crate::desk::{Desk, says};

fn json(desk: &Desk, args: &[&str]) -> Value {
    let args: Vec<&str> = [&["--json"], args].concat();
    serde_json::from_str(&desk.run(&args).done()).unwrap()
}

fn value(policy: &Value, name: &str) -> String {
    let settings = policy["settings"].as_array().unwrap();
    let setting = settings.iter().find(|one| one["name"] == name).unwrap();
    setting["value"].as_str().unwrap().to_owned()
}

#[test]
fn she_changes_one_setting_and_last_night_keeps_its_own() {
    let desk = Desk::demo();
    let set = [
        "policy",
        "set",
        "news2.7-or-more.response",
        "Ring Dr Fennimere, then 999.",
        "--reason",
        "no night team",
    ];
    desk.run_as("orla", &set).failed(
        1,
        &["a registered nurse may not write \"policy\"", "ward sister"],
    );
    desk.run_as("hester", &set).done();
    let changed = desk.head().seq.0;
    let shown = desk.run(&["policy", "show"]).done();
    says(
        &shown,
        &[
            "news2.7-or-more.response = \"Ring Dr Fennimere, then 999.\"",
            &format!("the ward's own (#{changed})"),
        ],
    );
    let now = json(&desk, &["policy", "show"]);
    assert_eq!(now["schema"], "handfast.policy/2");
    assert_eq!(value(&now, "record.silence_hours"), "12");
    let before = json(&desk, &["--as-of", "25-Oct-2026 18:00", "policy", "show"]);
    assert!(value(&before, "news2.7-or-more.response").starts_with("\"Registered nurse tells"));
    // Set on the first Thursday evening of the story, and not in force before.
    let first = json(&desk, &["--as-of", "22-Oct-2026 12:00", "policy", "show"]);
    assert_eq!(value(&first, "record.silence_hours"), "6");
    let history = desk.run(&["policy", "history", "silence_hours"]).done();
    says(
        &history,
        &[
            "record.silence_hours",
            "6",
            "12",
            "Hester",
            "Two sets a day",
        ],
    );
    let history = json(&desk, &["policy", "history"]);
    let last = history["changes"].as_array().unwrap().last().unwrap();
    assert_eq!(
        (last["seq"].as_u64(), last["reason"].as_str()),
        (Some(changed), Some("no night team"))
    );
    let heard = desk.shell("hester", "settings news2.7-or-more\nsettings history news2.7-or-more.response\nsettings news2 as-of 25-Oct-2026 18:00\nsettings nowt\nquit\n");
    says(
        &heard.out,
        &[
            "Ring Dr Fennimere, then 999.",
            "no night team",
            "Registered nurse tells",
            "there is no such setting: nowt",
        ],
    );
}

#[test]
fn a_set_of_observations_says_what_the_ward_s_policy_calls_for() {
    let desk = Desk::demo();
    let set = |key: &str, to: &str| {
        desk.run_as("hester", &["policy", "set", key, to, "--reason", "trial"])
            .done();
    };
    set("news2.5-6.every_minutes", "30");
    set("news2.5-6.response", "Video call by the doctor on call.");
    set("news2.5-6.answer_minutes", "20");
    let obs = [
        "log",
        "obs",
        "patient=T18",
        "rr=25",
        "spo2=94",
        "oxygen=air",
        "sbp=120",
        "hr=95",
        "acvpu=alert",
        "temp=37.0",
        "temp_site=tympanic",
    ];
    let said = desk.run_as("orla", &obs).done();
    says(
        &said,
        &[
            "NEWS2 5 (medium",
            "Next set due by",
            "(this ward's policy)",
            "Video call by the doctor on call. Answers: clinician or team competent in acute illness, within 20min",
        ],
    );
}

#[test]
fn what_is_shown_as_a_file_is_applied_without_a_change() {
    let desk = Desk::demo();
    let toml = desk.run(&["policy", "show", "--toml"]).done();
    let file = desk.file("policy.toml", &toml);
    let file = file.to_str().unwrap();
    says(
        &desk.run(&["policy", "check", file]).done(),
        &["no mistake"],
    );
    let before = desk.head();
    let apply = ["policy", "apply", file, "--reason", "none"];
    says(&desk.run_as("hester", &apply).done(), &["no change"]);
    assert_eq!(desk.head(), before);
}

#[test]
fn a_file_is_put_in_force_whole_or_not_at_all() {
    let desk = Desk::demo();
    let before = desk.head();
    let wrong = desk.file("wrong.toml", "[record]\nsilence_hours = 8\nlate_entry_minute = 20\n[news2.0]\nevery_minutes = \"often\"\n");
    let wrong = wrong.to_str().unwrap();
    desk.run_as(
        "hester",
        &["policy", "apply", wrong, "--reason", "r", "--confirm"],
    )
    .failed(
        1,
        &[
            "2 mistakes; nothing was changed",
            "line 3, column 1: record.late_entry_minute: there is no such setting",
            "perhaps record.late_entry_minutes",
            "line 5, column 17: news2.0.every_minutes: \"often\" is text",
        ],
    );
    let checked = desk.run(&["--json", "policy", "check", wrong]);
    assert_eq!(checked.code, 1);
    let checked: Value = serde_json::from_str(&checked.out).unwrap();
    assert_eq!(checked["mistakes"][1]["line"], 5);
    // Each alone would conflict with what holds; together they hold.
    let right = desk.file("right.toml", "news2.0.every_minutes = 200\nnews2.1-4.every_minutes = 180\nnews2.1-4.soonest_minutes = 120\nrecord.silence_hours = 12\n");
    let right = right.to_str().unwrap();
    let asked = desk.run_as("hester", &["policy", "apply", right, "--reason", "r"]);
    let asked = asked.failed(1, &["not confirmed", "--confirm"]);
    says(&asked.out, &["news2.0.every_minutes: 720 -> 200"]);
    desk.run_as(
        "orla",
        &["policy", "apply", right, "--reason", "r", "--confirm"],
    )
    .failed(1, &["ward sister"]);
    desk.run_as(
        "hester",
        &["policy", "apply", right, "--reason", " ", "--confirm"],
    )
    .failed(1, &["reason"]);
    assert_eq!(desk.head(), before);
    let done = desk.run_as(
        "hester",
        &[
            "policy",
            "apply",
            right,
            "--reason",
            "closer watch",
            "--confirm",
        ],
    );
    says(&done.done(), &["3 settings changed"]);
    assert_eq!(
        desk.head().seq.0,
        before.seq.0 + 3,
        "an entry a changed setting"
    );
    let now = json(&desk, &["policy", "show"]);
    assert_eq!(value(&now, "news2.1-4.every_minutes"), "180");
    assert!(now["not_in_force"].as_array().unwrap().is_empty());
    desk.run_as(
        "hester",
        &[
            "policy",
            "set",
            "news2.0.every_minutes",
            "100",
            "--reason",
            "r",
        ],
    )
    .failed(
        1,
        &["news2.1-4.every_minutes 180 is more than news2.0.every_minutes 100"],
    );
    let verdict = desk.run(&["verify"]);
    assert_eq!(verdict.code, 0, "{verdict:?}");
}

#[test]
fn files_that_are_no_policy_are_refused() {
    let desk = Desk::empty();
    let failed = |name: &str, words: &[&str]| {
        let mut command = desk.command(&["policy", "check", name]);
        command.env_remove("HANDFAST_JOURNAL");
        let answer = command.output().unwrap();
        let said = String::from_utf8(answer.stderr).unwrap();
        assert_eq!(answer.status.code(), Some(1), "{said}");
        says(&said, words);
        assert!(!said.contains('\u{1b}'), "{said}");
    };
    failed("/dev/zero", &["is no policy file"]);
    failed(
        desk.beside("none.toml").to_str().unwrap(),
        &["cannot be read"],
    );
    let hostile = desk.file(
        "hostile.toml",
        "\"\\u001b[2J\" = 1\nnews2.0.response = \"a\\u001b[2Jb\"\n",
    );
    failed(
        hostile.to_str().unwrap(),
        &["there is no such setting", "invisible character U+001B"],
    );
    std::fs::write(desk.beside("bytes.toml"), b"x = \"\xff\"").unwrap();
    failed(
        desk.beside("bytes.toml").to_str().unwrap(),
        &["is no UTF-8 text from byte 5 on"],
    );
    let keys = desk
        .command(&["policy", "keys"])
        .env_remove("HANDFAST_JOURNAL")
        .output()
        .unwrap();
    says(
        &String::from_utf8(keys.stdout).unwrap(),
        &["record.late_entry_minutes", "cannot be changed"],
    );
}
