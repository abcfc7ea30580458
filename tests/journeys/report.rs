//! The ward's report, from the command line and in the shell.

use serde_json::Value;

use crate::desk::{Desk, says};

fn json(desk: &Desk, args: &[&str]) -> Value {
    let args = [&["report", "--json"], args].concat();
    serde_json::from_str(&desk.run(&args).done()).unwrap()
}

fn figure<'a>(report: &'a Value, about: &str, name: &str) -> &'a Value {
    let parts = report["parts"].as_array().unwrap();
    let part = parts.iter().find(|part| part["about"] == about).unwrap();
    let mut figures = part["figures"].as_array().unwrap().iter();
    figures
        .find(|figure| figure["name"] == name && figure["of"].as_array().unwrap().is_empty())
        .unwrap()
}

#[test]
fn the_last_seven_whole_days_in_every_form() {
    let desk = Desk::demo();
    let text = desk.run(&["report"]).done();
    says(
        &text,
        &[
            "from Sun 18-Oct-2026 00:00 until Sun 25-Oct-2026 00:00",
            "The journal begins Thu 22-Oct-2026 20:00",
            "common practice, no source",
            "Decision support only",
        ],
    );
    let html = desk.run(&["report", "--format", "html"]).done();
    assert!(html.contains("<h2>Alerts</h2>"));
    let csv = desk.run(&["report", "--format", "csv"]).done();
    assert!(csv.starts_with("part,figure,of,"));
    let report = json(&desk, &[]);
    assert_eq!(report["schema"], "handfast.report/1");
    assert_eq!(report["complete"], true);
    assert_eq!(report["days"].as_array().unwrap().len(), 7);
}

/// Each number named behind a figure is an entry of the kind it says.
#[test]
fn a_figure_leads_to_its_entries() {
    let desk = Desk::demo();
    let report = json(&desk, &["--from", "23-Oct-2026", "--until", "24-Oct-2026"]);
    for (about, name, kind) in [
        ("discharges", "left", "discharge"),
        ("contacts", "unreached", "contact"),
        ("escalations", "made", "escalation"),
        ("handovers", "prepared", "handover"),
    ] {
        let figure = figure(&report, about, name);
        let entries = figure["entries"].as_array().unwrap();
        assert!(!entries.is_empty(), "{name}");
        assert_eq!(figure["count"], entries.len(), "{name}");
        for entry in entries {
            let shown = desk.run(&["entry", &entry.to_string(), "--json"]).done();
            let shown: Value = serde_json::from_str(&shown).unwrap();
            assert_eq!(shown["entry"]["kind"], kind, "{name} #{entry}");
        }
    }
}

/// At 02:10 the night's alert was open; now it is closed, and the same night says so.
#[test]
fn a_report_is_as_then_known() {
    let desk = Desk::demo();
    let night = [
        "--from",
        "24-Oct-2026 12:00",
        "--until",
        "25-Oct-2026 02:00 GMT",
    ];
    let open = |report: &Value| {
        let times = figure(report, "alerts", "raised")["times"]
            .as_array()
            .unwrap();
        times.last().unwrap()["waiting"].as_array().unwrap().len()
    };
    let then = json(
        &desk,
        &[&night[..], &["--as-of", "25-Oct-2026 02:10"]].concat(),
    );
    let now = json(&desk, &night);
    assert_eq!((open(&then), open(&now)), (1, 0));
}

#[test]
fn a_period_that_is_none_is_refused() {
    let desk = Desk::demo();
    let refused = desk.run(&["report", "--from", "tomorrow 08:00"]);
    refused.failed(2, &["is still to come"]);
    let refused = desk.run(&["report", "--until", "whenever"]);
    refused.failed(2, &["until: "]);
}

#[test]
fn a_damaged_journal_is_said_on_the_report() {
    let desk = Desk::demo();
    let place = desk.place_of("Ward car: nearside tyre flat");
    desk.alter(|bytes| bytes[place] ^= 0x20);
    says(&desk.run(&["report"]).out, &["NOT COMPLETE"]);
    let json: Value = serde_json::from_str(&desk.run(&["report", "--json"]).out).unwrap();
    assert_eq!(json["complete"], false);
    let csv = desk.run(&["report", "--format", "csv"]).out;
    says(&csv, &["NOT COMPLETE"]);
}

#[test]
fn the_shell_knows_the_same_word() {
    let desk = Desk::demo();
    let lines = "report from 24-Oct-2026 until 24-Oct-2026\nreport of last week\nas-of 02:10 report\nquit\n";
    let said = desk.shell("orla", lines).out;
    says(
        &said,
        &[
            "from Sat 24-Oct-2026 00:00 until Sun 25-Oct-2026 00:00",
            "\"of last week\" is not understood here. Accepted: report alone",
            "as of Sun 25-Oct-2026 02:10",
        ],
    );
}
