//! How views look, kept as files: a change shows as a difference.

use handfast::record::person::Handle;
use handfast::view::handover::{SheetRequest, sheet};
use handfast::view::lists::{AlertWhich, DueFilter, alert_ledger, caseload, due_list};
use handfast::view::origin::Vantage;
use handfast::view::page::Page;
use handfast::view::render::text::Paper;
use handfast::view::render::{html, text};
use handfast::view::timeline::{entry_view, timeline};
use handfast::ward::Found;

use crate::small_ward;

fn plain(page: &Page) -> String {
    text::page(page, Paper::plain(80))
}

#[test]
fn the_sheet() {
    let demo = small_ward::ward();
    let request = SheetRequest {
        opening: Some("Mrs Larkmead first.".to_owned()),
        ..SheetRequest::new(&demo.ward, "Long day", "Night", Some(Handle("orla".into())))
    };
    let sheet = sheet(&demo.ward, demo.now, &request);
    insta::assert_snapshot!("sheet_80_columns", plain(&sheet.page()));
    insta::assert_snapshot!("sheet_html", html::page(&sheet.page()).expect("drawn"));
}

#[test]
fn timelines_and_lists() {
    let demo = small_ward::ward();
    let vantage = Vantage {
        ward: &demo.ward,
        now: demo.now,
        since: None,
    };
    let reads = demo.reads();
    for slot in ["S1", "S2"] {
        let Found::One(who) = demo.ward.find_patient(slot) else {
            panic!("{slot} is somebody");
        };
        let timeline = timeline(&vantage, demo.ward.patient(who), &reads, false);
        insta::assert_snapshot!(format!("timeline_{slot}"), plain(&timeline.page()));
    }
    let last = reads.last().expect("an entry");
    insta::assert_snapshot!(
        "entry",
        plain(&entry_view(&vantage, last, &reads, false).page())
    );
    let caseload = caseload(&vantage);
    insta::assert_snapshot!("caseload", plain(&caseload.page()));
    insta::assert_snapshot!("caseload_csv", caseload.csv());
    let due = due_list(&vantage, &DueFilter::default());
    insta::assert_snapshot!("due", plain(&due.page()));
    let alerts = alert_ledger(&vantage, &AlertWhich::default());
    insta::assert_snapshot!("alerts", plain(&alerts.page()));
    insta::assert_snapshot!("alerts_csv", alerts.csv());
}
