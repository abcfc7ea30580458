//! `docs/json.md` is written from the structs that are serialised: their names, their fields
//! and the comments beside them. `HANDFAST_WRITE_DOCS=1 cargo test --test view json_doc`
//! writes it anew.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::{Path, PathBuf};

use handfast::record::time::Timestamp;
use handfast::view::handover::{SheetRequest, sheet, since_accepted};
use handfast::view::lists::{AlertWhich, DueFilter, alert_ledger, caseload, due_list};
use handfast::view::origin::Vantage;
use handfast::view::report::report;
use handfast::view::timeline::{entry_view, timeline};
use handfast::ward::Read;
use handfast::ward::report::Period;
use serde::Serialize;

use crate::demo_ward;

/// Files whose serialised structs a reader of JSON meets, in reading order.
const SOURCES: &[&str] = &[
    "handover.rs",
    "handover/strip.rs",
    "handover/identity.rs",
    "handover/situation.rs",
    "handover/score.rs",
    "handover/background.rs",
    "handover/assessment.rs",
    "handover/results.rs",
    "handover/wounds.rs",
    "handover/plan.rs",
    "handover/left.rs",
    "handover/amended.rs",
    "timeline.rs",
    "lists/caseload.rs",
    "lists/due.rs",
    "lists/alerts.rs",
    "lists/workings.rs",
    "report.rs",
    "../ward/report/figure.rs",
    "../ward/report/days.rs",
    "../ward/report/series.rs",
    "../ward/workings.rs",
    "policy.rs",
    "access.rs",
    "origin.rs",
];

const MARK: &str = "<!-- from here on written by tests/view/json_doc.rs -->\n";

/// A struct, or an enum whose variants have fields: its comment, and each field's name, type
/// and comment.
#[derive(Debug, Default)]
struct Described {
    name: String,
    about: String,
    fields: Vec<(String, String, String)>,
    /// Those that are left out while they are empty.
    optional: Vec<String>,
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Reads declarations as rustfmt lays them out: one field a line, its comment above it.
fn described(path: &Path) -> Vec<Described> {
    let source = std::fs::read_to_string(path).expect("a source file");
    let mut found: Vec<Described> = Vec::new();
    let (mut comment, mut serialised, mut inside) = (String::new(), false, false);
    let mut optional = false;
    for line in source.lines() {
        let trimmed = line.trim();
        if let Some(words) = trimmed.strip_prefix("///") {
            if !comment.is_empty() {
                comment.push(' ');
            }
            comment.push_str(words.trim());
            continue;
        }
        if trimmed.starts_with("#[derive(") {
            serialised = trimmed.contains("Serialize");
            continue;
        }
        if trimmed.starts_with("#[") {
            optional |= trimmed.contains("skip_serializing_if");
            continue;
        }
        if let (Some(rest), true) = (trimmed.strip_prefix("pub struct "), serialised) {
            found.push(Described {
                name: rest.trim_end_matches(" {").to_owned(),
                about: std::mem::take(&mut comment),
                ..Described::default()
            });
            inside = true;
        } else if line == "}" {
            inside = false;
            serialised = false;
        } else if let (true, Some(rest)) = (inside, trimmed.strip_prefix("pub ")) {
            let (name, kind) = rest
                .trim_end_matches(',')
                .split_once(": ")
                .expect("a field");
            let last = found.last_mut().expect("a struct");
            let mut about = std::mem::take(&mut comment);
            if std::mem::take(&mut optional) {
                about.push_str(" Left out while there is none.");
                last.optional.push(name.to_owned());
            }
            last.fields.push((name.to_owned(), kind.to_owned(), about));
        }
        comment.clear();
    }
    found
}

/// A Rust type as a reader of JSON would say it.
fn json_type(kind: &str) -> String {
    let kind = kind.replace("super::wounds::", "").replace("crate::", "");
    let short = |kind: &str| kind.rsplit("::").next().unwrap_or_default().to_owned();
    if let Some(inner) = kind.strip_prefix("Option<") {
        return format!("{} or null", json_type(inner.trim_end_matches('>')));
    }
    if let Some(inner) = kind.strip_prefix("Vec<") {
        let inner = inner.strip_suffix('>').unwrap_or(inner);
        return format!("list of {}", json_type(inner));
    }
    match short(&kind).as_str() {
        "String" | "&'static str" => "text".into(),
        "bool" => "true or false".into(),
        "usize" | "u8" | "u32" | "u64" | "f64" | "i16" | "i32" | "i64" | "Seq" => "number".into(),
        "Timestamp" => "moment".into(),
        "Day" => "date".into(),
        "EntryHash" | "EntryId" | "PersonKey" | "Pseudonym" | "Digest" => "hexadecimal".into(),
        "Handle" | "WardZone" => "text".into(),
        other => other.to_owned(),
    }
}

fn generated() -> String {
    let mut out = String::new();
    for source in SOURCES {
        for described in described(&root().join("src/view").join(source)) {
            // Writing to a string cannot fail.
            let _ = write!(out, "\n### {}\n\n{}\n\n", described.name, described.about);
            out.push_str("| field | holds | meaning |\n| --- | --- | --- |\n");
            for (name, kind, about) in &described.fields {
                let about = about.replace('|', "\\|");
                let _ = writeln!(out, "| `{name}` | {} | {about} |", json_type(kind));
            }
        }
    }
    out
}

#[test]
fn the_page_describes_the_structs() {
    let path = root().join("docs/json.md");
    let page = std::fs::read_to_string(&path).expect("docs/json.md");
    let (prose, tables) = page.split_once(MARK).expect("the mark");
    let fresh = generated();
    if std::env::var_os("HANDFAST_WRITE_DOCS").is_some() {
        std::fs::write(&path, format!("{prose}{MARK}{fresh}")).expect("written");
        return;
    }
    assert!(
        tables == fresh,
        "docs/json.md differs from the structs; HANDFAST_WRITE_DOCS=1 cargo test --test view json_doc"
    );
}

fn keys<T: Serialize>(value: &T) -> Vec<String> {
    let value = serde_json::to_value(value).expect("JSON");
    value
        .as_object()
        .expect("an object")
        .keys()
        .cloned()
        .collect()
}

/// The fields as described are the members as serialised, for the outermost structs and one
/// of each that a list holds.
#[test]
fn the_described_fields_are_the_serialised_ones() {
    let described: BTreeMap<String, Described> = SOURCES
        .iter()
        .flat_map(|source| described(&root().join("src/view").join(source)))
        .map(|described| (described.name.clone(), described))
        .collect();
    let same = |name: &str, mut serialised: Vec<String>| {
        let left_out = |field: &String| {
            described[name].optional.contains(field) && !serialised.contains(field)
        };
        let fields = described[name].fields.iter().map(|(name, ..)| name);
        let mut fields: Vec<String> = fields.filter(|name| !left_out(name)).cloned().collect();
        fields.sort();
        serialised.sort();
        assert_eq!(fields, serialised, "{name}");
    };
    let demo = demo_ward::whole();
    let vantage = Vantage {
        ward: &demo.ward,
        now: demo.now,
        since: None,
    };
    let sheet = sheet(
        &demo.ward,
        demo.now,
        &SheetRequest::new(&demo.ward, "a", "b", None),
    );
    same("Sheet", keys(&sheet));
    same("Head", keys(&sheet.head));
    same("Strip", keys(&sheet.strip));
    same("WardBlock", keys(&sheet.ward));
    let block = &sheet.patients[0];
    same("PatientBlock", keys(block));
    same("Identity", keys(&block.identity));
    same("Situation", keys(&block.situation));
    same("Background", keys(&block.background));
    same("Assessment", keys(&block.assessment));
    same("Recommendation", keys(&block.recommendation));
    same("Reaching", keys(&block.reaching));
    same("AlertLine", keys(&block.situation.alerts[0]));
    same("Origin", keys(&block.situation.alerts[0].origin));
    let reads = demo.reads();
    let timeline = timeline(&vantage, None, &reads, false);
    same("Timeline", keys(&timeline));
    same("EntryLine", keys(&timeline.entries[0]));
    let first: &Read = &reads[0];
    same(
        "EntryView",
        keys(&entry_view(&vantage, first, &reads, false)),
    );
    let caseload = caseload(&vantage);
    same("Caseload", keys(&caseload));
    same("CaseloadRow", keys(&caseload.patients[0]));
    same("DueList", keys(&due_list(&vantage, &DueFilter::default())));
    let ledger = alert_ledger(&vantage, &AlertWhich::default());
    same("AlertLedger", keys(&ledger));
    same("AlertRow", keys(&ledger.alerts[0]));
    let period = Period {
        from: Timestamp::EARLIEST,
        until: demo.now,
    };
    let report = report(&vantage, period);
    same("Report", keys(&report));
    same("ReportPart", keys(&report.parts[0]));
    let timed = report.parts[1].figure("left").expect("a figure");
    same("Figure", keys(timed));
    same("Spread", keys(&timed.times[0]));
    same("WardDay", keys(&report.days[0]));
    let handover = *demo
        .ward
        .handovers()
        .keys()
        .next_back()
        .expect("a handover");
    let since = since_accepted(&demo.ward, handover).expect("accepted");
    same("SinceAccepted", keys(&since));
}
