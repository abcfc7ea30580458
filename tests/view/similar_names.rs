//! A name that could be taken for another's is flagged wherever somebody is named in a list: whoever
//! has learned to rely on the flag relies on it everywhere.

use std::path::Path;

use handfast::view::handover::since_accepted;
use handfast::view::lists::{AlertWhich, DueFilter, alert_ledger, caseload, due_list, workings_of};
use handfast::view::origin::Vantage;
use handfast::view::page::Page;
use handfast::view::render::text::{self, Paper};
use handfast::view::timeline::{entry_view, timeline};
use handfast::ward::{Found, Patient};
use serde::Serialize;
use serde_json::Value;

use crate::demo_ward::DemoWard;
use crate::small_ward;

const ALIKE: [&str; 2] = ["S1 LARKMEAD, Ines (Mrs)", "S4 LARKMEAD, Jo"];

/// The small ward with one more Larkmead, about whom there is something on every list.
pub fn ward() -> DemoWard {
    let mut writing = small_ward::Writing {
        demo: small_ward::ward(),
    };
    let jo = format!(
        "{}\nfamily=Larkmead\ngiven=Jo\nborn=01-May-1970\nsex=female\nlocal_number=L-206\nslot=S4\n\
         allergies=none known",
        small_ward::SAME
    );
    let mut log = |kind: &str, patient: &str, fields: &str| {
        writing.log("16:40", "orla", kind, patient, fields);
    };
    log("admission", "", &format!("patient=new\n{jo}"));
    log("alert", "S4", "source=nurse\nwhat=Fell\nseverity=urgent");
    log("alert", "S2", "source=nurse\nwhat=Cold\nseverity=urgent");
    log(
        "result",
        "S4",
        "values=k 6.9 (3.5-5.3)\ncritical=yes\nread_back=yes",
    );
    log("task", "S4", "what=Ring the son\ndue=18:00");
    log(
        "obs",
        "S4",
        "rr=16\nspo2=97\noxygen=air\nsbp=120\ndbp=70\nhr=70\nacvpu=alert\ntemp=37.0",
    );
    writing.demo.now = small_ward::clock("16:45");
    writing.demo
}

pub fn patient<'a>(demo: &'a DemoWard, slot: &str) -> &'a Patient {
    let Found::One(who) = demo.ward.find_patient(slot) else {
        panic!("{slot} is somebody");
    };
    demo.ward.patient(who).expect("on the ward")
}

/// One view: what it is, on a page, and as JSON. A view without a page of its own has words only.
struct Shown {
    view: &'static str,
    page: Option<String>,
    json: Value,
}

fn shown<V: Serialize>(view: &'static str, page: Option<&Page>, data: &V) -> Shown {
    Shown {
        view,
        page: page.map(|page| text::page(page, Paper::plain(200))),
        json: serde_json::to_value(data).expect("JSON"),
    }
}

fn whole_ward(vantage: &Vantage<'_>) -> Vec<Shown> {
    let cases = caseload(vantage);
    let due = due_list(vantage, &DueFilter::default());
    let alerts = alert_ledger(vantage, &AlertWhich::default());
    let handover = vantage.ward.handovers().keys().next_back();
    let since = since_accepted(vantage.ward, *handover.expect("one")).expect("accepted");
    vec![
        shown("caseload", Some(&cases.page()), &cases),
        shown("tasks", Some(&due.page()), &due),
        shown("alerts", Some(&alerts.page()), &alerts),
        shown("since", None, &since),
    ]
}

fn of_one(demo: &DemoWard, vantage: &Vantage<'_>, who: &Patient) -> Vec<Shown> {
    let reads = demo.reads();
    let line = timeline(vantage, Some(who), &reads, false);
    let workings = workings_of(vantage, who);
    let newest = line.entries.last().expect("an entry").seq;
    let read = &reads[usize::try_from(newest.0).expect("few") - 1];
    let entry = entry_view(vantage, read, &reads, false);
    vec![
        shown("timeline", Some(&line.page()), &line),
        shown("workings", Some(&workings.page()), &workings),
        shown("entry", Some(&entry.page()), &entry),
    ]
}

/// Every object that names a patient, wherever it lies.
fn naming<'a>(json: &'a Value, found: &mut Vec<&'a Value>) {
    match json {
        Value::Object(members) => {
            if json["who"]["name"].is_string() {
                found.push(json);
            }
            members.values().for_each(|member| naming(member, found));
        }
        Value::Array(items) => items.iter().for_each(|item| naming(item, found)),
        _ => {}
    }
}

fn name_of(who: &Value) -> String {
    let part = |name: &str| who[name].as_str().unwrap_or_default().to_owned();
    format!("{} {}", part("slot"), part("name"))
}

#[test]
fn every_list_flags_a_name_that_could_be_taken_for_anothers() {
    let demo = ward();
    let vantage = Vantage {
        ward: &demo.ward,
        now: demo.now,
        since: None,
    };
    for view in whole_ward(&vantage) {
        let mut rows = Vec::new();
        naming(&view.json, &mut rows);
        let mut met: Vec<String> = Vec::new();
        for row in rows {
            let name = name_of(&row["who"]);
            let others = row["similar_names"].as_array();
            let others = others.unwrap_or_else(|| panic!("{}: {row}", view.view));
            let others: Vec<String> = others.iter().map(name_of).collect();
            let expected: Vec<&str> = match ALIKE.contains(&name.as_str()) {
                true => ALIKE.into_iter().filter(|other| *other != name).collect(),
                false => Vec::new(),
            };
            assert_eq!(others, expected, "{} of {name}", view.view);
            met.push(name);
        }
        for name in ALIKE.into_iter().chain(["S2 LARKMEDE, Tom"]) {
            assert!(
                met.iter().any(|one| one == name),
                "{name} is not in {}",
                view.view
            );
        }
        if let Some(page) = &view.page {
            assert!(page.contains("SIMILAR NAME"), "{}:\n{page}", view.view);
        }
    }
    for (slot, others) in [
        ("S1", vec![ALIKE[1]]),
        ("S4", vec![ALIKE[0]]),
        ("S2", vec![]),
    ] {
        for view in of_one(&demo, &vantage, patient(&demo, slot)) {
            let found = view.json["similar_names"].as_array().expect(view.view);
            let found: Vec<String> = found.iter().map(name_of).collect();
            assert_eq!(found, others, "{} of {slot}", view.view);
            let page = view.page.expect("a page");
            let said = others
                .iter()
                .all(|other| page.contains(&format!("SIMILAR NAME ON THE WARD: {other}")));
            let is_right = said && page.contains("SIMILAR NAME") != others.is_empty();
            assert!(is_right, "{} of {slot}:\n{page}", view.view);
        }
    }
}

/// In a spreadsheet the flag is a column.
#[test]
fn the_lists_for_a_spreadsheet_have_it_too() {
    let demo = ward();
    let vantage = Vantage {
        ward: &demo.ward,
        now: demo.now,
        since: None,
    };
    let lists = [
        caseload(&vantage).csv(),
        due_list(&vantage, &DueFilter::default()).csv(),
        alert_ledger(&vantage, &AlertWhich::default()).csv(),
    ];
    for csv in lists {
        let mut lines = csv.lines();
        assert!(lines.next().expect("a head").ends_with("similar_names"));
        for line in lines {
            let flagged = ALIKE
                .iter()
                .any(|name| line.trim_end().ends_with(&format!("{name}\"")));
            let of_them = line.contains("LARKMEAD");
            assert_eq!(flagged, of_them, "{line}");
        }
    }
}

/// Whoever adds a list of patients must flag them: a struct that says `who` says whose name is like it.
#[test]
fn whatever_names_a_patient_in_a_list_can_flag_the_name() {
    let view = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/view");
    let mut files: Vec<_> = std::fs::read_dir(view.join("lists"))
        .expect("the lists")
        .map(|file| file.expect("a file").path())
        .collect();
    files.extend([view.join("timeline.rs")]);
    let mut seen = 0;
    for file in files {
        let source = std::fs::read_to_string(&file).expect("a source file");
        for part in source.split("pub struct ").skip(1) {
            let body = part.split("\n}").next().unwrap_or_default();
            if body.contains("pub who: ") {
                seen += 1;
                let name = body.split_whitespace().next().unwrap_or_default();
                assert!(
                    body.contains("pub similar_names: "),
                    "{name} in {}",
                    file.display()
                );
            }
        }
    }
    assert!(seen >= 6, "found only {seen}");
}
