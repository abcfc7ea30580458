//! Many at once: entries and scores, one JSON object a line.

use crate::desk::{Desk, answer, says};

#[test]
fn a_bad_line_is_named_and_the_others_are_recorded() {
    let desk = Desk::demo();
    let before = desk.head().seq.0;
    let lines = concat!(
        "{\"kind\":\"note\",\"patient\":\"T01\",\"text\":\"first\"}\n",
        "\n",
        "{\"kind\":\"obs\",\"patient\":\"T01\",\"rr\":95,\"spo2\":96}\n",
        "{\"kind\":\"obs\",\"patient\":\"T01\",\"rr\":18,\"spo2\":96,\"oxygen\":\"air\"}\n",
        "{\"kind\":\"frog\"}\n",
        "not json\n",
        "{\"kind\":\"note\",\"patient\":\"pell\",\"text\":\"which?\"}\n",
        "{\"kind\":\"note\",\"patient\":\"T02\",\"text\":\"last, no line feed\"}",
    );
    let said = answer(desk.command_as("orla", &["log", "--ndjson"]), lines);
    let said = said.failed(
        1,
        &[
            "line 3: rr: 95 is not possible here. Accepted: a whole number from 1 to 80 /min.",
            "line 5: \"frog\" is not a kind of entry",
            "line 6: is no JSON object",
            "line 7: patient: \"pell\" could be 2 patients",
            "4 of 8 lines were refused; the others are recorded.",
        ],
    );
    assert_eq!(said.out.matches("recorded: ").count(), 3, "{}", said.out);
    assert_eq!(desk.head().seq.0, before + 3);
    says(&desk.written(before + 1).1, &["text first"]);
    says(&desk.written(before + 2).1, &["rr 18/min; spo2 96%"]);
    says(&desk.written(before + 3).1, &["text last, no line feed"]);
}

#[test]
fn a_line_is_recorded_whole_or_not_at_all() {
    let desk = Desk::demo();
    let before = desk.head();
    // A good contact with a bad reading in the same line.
    let line = "{\"kind\":\"contact\",\"patient\":\"T01\",\"mode\":\"video\",\"outcome\":\"reached\",\"frog\":1}\n";
    answer(desk.command_as("orla", &["log", "--ndjson"]), line)
        .failed(1, &["line 1: frog: is not a field of this entry"]);
    assert_eq!(desk.head(), before);
    let good = "{\"kind\":\"note\",\"patient\":\"T01\",\"text\":\"x\"}\n";
    answer(
        desk.command_as("orla", &["log", "--ndjson", "--dry-run"]),
        good,
    )
    .done();
    assert_eq!(desk.head(), before, "a rehearsal records nothing");
}

#[test]
fn receipts_and_refusals_are_json_for_programs() {
    let desk = Desk::demo();
    let lines = "{\"kind\":\"note\",\"patient\":\"T01\",\"text\":\"x\"}\n{\"kind\":\"note\"}\n";
    let said = answer(
        desk.command_as("orla", &["--json", "log", "--ndjson"]),
        lines,
    );
    assert_eq!(said.code, 1);
    let receipt: serde_json::Value = serde_json::from_str(said.out.trim()).unwrap();
    assert_eq!(receipt["schema"], "handfast.receipt/1");
    assert_eq!(receipt["seq"], desk.head().seq.0);
    assert_eq!(receipt["slot"], "T01");
    assert!(
        receipt["patient"]
            .as_str()
            .is_some_and(|one| !one.is_empty())
    );
    assert_eq!(receipt["hash"], desk.head().hash.to_string());
    let first = said.err.lines().next().unwrap();
    let refused: serde_json::Value = serde_json::from_str(first).unwrap();
    assert_eq!(refused["line"], 2);
    assert_eq!(refused["error"]["schema"], "handfast.error/1");
}

/// The very lines of the promise to programs.
#[test]
fn scores_are_answered_as_promised() {
    let desk = Desk::empty();
    let question = "{\"calc\":\"news2\",\"rr\":18,\"spo2\":96,\"scale\":1,\"oxygen\":false,\"sbp\":120,\"hr\":88,\"acvpu\":\"A\",\"temp\":37.1}\n";
    let promised = "{\"ok\":true,\"total\":0,\"parts\":{\"rr\":0,\"spo2\":0,\"oxygen\":0,\"sbp\":0,\"hr\":0,\"acvpu\":0,\"temp\":0},\"band\":\"low\",\"single_3\":false}\n";
    let said = answer(desk.command(&["score", "--ndjson"]), question).done();
    assert_eq!(said, promised);
    // Wrong lines are answered in place, and the next is answered all the same.
    let many = format!("{question}{{\"calc\":\"news2\",\"rr\":18}}\nfrog\n{question}");
    let said = answer(desk.command(&["score", "--ndjson"]), &many).done();
    let answers: Vec<&str> = said.lines().collect();
    assert_eq!(answers.len(), 4);
    assert_eq!(
        (answers[0], answers[3]),
        (promised.trim_end(), promised.trim_end())
    );
    for refused in &answers[1..3] {
        assert!(
            refused.starts_with("{\"ok\":false,\"error\":\""),
            "{refused}"
        );
        assert!(!refused.contains("\"total\""), "{refused}");
    }
}

/// Bands and the single 3, by the published table (Royal College of Physicians, 2017, chart 1
/// and table 2).
#[test]
fn the_calculator_shows_band_and_single_three() {
    let desk = Desk::empty();
    let score = |changed: &str| {
        let normal = "rr=18 spo2=96 scale=1 oxygen=false sbp=120 hr=88 acvpu=A temp=37.1";
        let name = changed.split('=').next().unwrap();
        let inputs = normal.split(' ').map(|input| {
            if input.split('=').next() == Some(name) {
                changed
            } else {
                input
            }
        });
        let args: Vec<&str> = ["--json", "score", "news2"]
            .into_iter()
            .chain(inputs)
            .collect();
        let said = desk.run(&args).done();
        serde_json::from_str::<serde_json::Value>(&said).unwrap()
    };
    let low = score("rr=21");
    assert_eq!((&low["total"], &low["band"]), (&2.into(), &"low".into()));
    let single = score("rr=25");
    assert_eq!(
        (&single["total"], &single["band"], &single["single_3"]),
        (&3.into(), &"low-medium".into(), &true.into())
    );
    let confused = score("acvpu=C");
    assert_eq!(confused["parts"]["acvpu"], 3);
    let words = desk.run(&[
        "score",
        "news2",
        "rr=25",
        "spo2=91",
        "scale=1",
        "oxygen=true",
        "sbp=90",
        "hr=131",
        "acvpu=V",
        "temp=39.1",
    ]);
    says(
        &words.done(),
        &["total: 19", "band: high", "Decision support only"],
    );
    desk.run(&["score", "news2", "rr=25"]).failed(1, &["spo2"]);
    desk.run(&["score", "frog"]).failed(1, &["frog"]);
    desk.run(&["score"]).failed(2, &["no calculator is named"]);
}
