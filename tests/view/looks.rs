//! Writes the demo ward's views to files, to be looked at.

use std::path::Path;

use handfast::record::kind::Kind;
use handfast::record::person::Handle;
use handfast::view::handover::{SheetRequest, sheet};
use handfast::view::lists::{AlertWhich, DueFilter, alert_ledger, caseload, due_list};
use handfast::view::origin::Vantage;
use handfast::view::page::Page;
use handfast::view::render::text::Paper;
use handfast::view::render::{html, json, text};
use handfast::view::timeline::timeline;
use handfast::ward::{Found, Read};

use crate::demo_ward::{self, moment};

fn put(dir: &Path, name: &str, page: &Page) {
    let write = |ending: &str, text: String| {
        std::fs::write(dir.join(format!("{name}.{ending}")), text).expect("written");
    };
    write("html", html::page(page).expect("drawn"));
    write("80.txt", text::page(page, Paper::plain(80)));
    write("130.txt", text::page(page, Paper::plain(130)));
}

/// `HANDFAST_LOOKS=DIR cargo test --test view looks -- --ignored` writes them there.
#[test]
#[ignore = "writes files for people to look at"]
fn looks() {
    let dir = std::path::PathBuf::from(std::env::var("HANDFAST_LOOKS").expect("a directory"));
    let last = demo_ward::whole().now;
    for (name, at) in [("sat-am", moment("24-Oct-2026 07:44")), ("end", last)] {
        let demo = demo_ward::until(at);
        let request = SheetRequest {
            receiver: Some(Handle("imke".into())),
            opening: Some("A hard night.".into()),
            ..SheetRequest::new(&demo.ward, "Night", "Long day", Some(Handle("orla".into())))
        };
        let sheet = sheet(&demo.ward, at, &request);
        put(&dir, name, &sheet.page());
        std::fs::write(dir.join(format!("{name}.json")), json::pretty(&sheet)).expect("written");
    }
    let demo = demo_ward::whole();
    let vantage = Vantage {
        ward: &demo.ward,
        now: demo.now,
        since: None,
    };
    let reads: Vec<Read> = demo.reads();
    let withdrawn = demo
        .entries
        .0
        .values()
        .find(|e| e.kind() == Kind::Amendment);
    let slots = ["T01", "T03"]
        .into_iter()
        .map(|slot| (slot, demo.ward.find_patient(slot)));
    for (name, found) in slots {
        let Found::One(who) = found else { continue };
        let timeline = timeline(&vantage, demo.ward.patient(who), &reads, false);
        put(&dir, &format!("timeline-{name}"), &timeline.page());
    }
    let amended = withdrawn
        .and_then(|e| e.patient)
        .and_then(|p| demo.ward.patient(p));
    put(
        &dir,
        "timeline-amended",
        &timeline(&vantage, amended, &reads, false).page(),
    );
    put(&dir, "caseload", &caseload(&vantage).page());
    put(
        &dir,
        "due",
        &due_list(&vantage, &DueFilter::default()).page(),
    );
    put(
        &dir,
        "alerts",
        &alert_ledger(&vantage, &AlertWhich::default()).page(),
    );
}
