//! A result nobody has seen is not buried: it lifts its patient on the sheet and is named in
//! every table.

use handfast::record::ids::Seq;
use handfast::view::handover::{RULE, Sheet, SheetRequest, Standing, sheet};
use handfast::view::lists::{AlertWhich, alert_ledger, caseload};
use handfast::view::origin::Vantage;
use handfast::view::render::text::{self, Paper};

use crate::small_ward::{SAME, Writing, clock};

/// Patients who differ in one thing each, on the slots X1 to X8, looked at at 16:00.
fn ward() -> (Writing, Seq) {
    let mut w = Writing::begun();
    for (slot, rr, at) in [
        ("X1", "16", "06:10"), // nothing
        ("X2", "11", "06:11"), // scores 1, and did before
        ("X3", "16", "06:12"), // a task is overdue
        ("X4", "16", "06:13"), // a result within its range
        ("X5", "16", "06:14"), // a result outside its range
        ("X6", "16", "06:15"), // a result in words only
        ("X7", "16", "06:16"), // a critical result
        ("X8", "16", "06:17"), // an alert
    ] {
        let who = format!(
            "patient=new\n{SAME}\nfamily=Testone\ngiven={slot}\nborn=02-Jul-1944\nsex=female\n\
             local_number=L-{slot}\nslot={slot}\nallergies=none known"
        );
        w.log(at, "imke", "admission", "", &who);
        let set = format!(
            "rr={rr}\nspo2=97\noxygen=air\nsbp=128\ndbp=76\nhr=72\nacvpu=alert\ntemp=37.1\nsource=staff"
        );
        w.log("08:00", "imke", "obs", slot, &set);
        w.log("15:00", "imke", "obs", slot, &set);
    }
    w.log(
        "09:00",
        "imke",
        "task",
        "X3",
        "what=Ring the chemist\ndue=10:00\nrole=nurse",
    );
    let taken = w.log(
        "10:00",
        "imke",
        "sample",
        "X7",
        "what=bloods\ntests=U and E\nresult_by=12:00\nreviewer=orla",
    );
    w.log(
        "11:00",
        "imke",
        "sample-step",
        "X7",
        &format!("sample={taken}\nstep=arrived"),
    );
    w.log("12:30", "imke", "result", "X4", "values=k 4.1 (3.5-5.3)");
    w.log("12:40", "imke", "result", "X5", "values=crp 148 (0-5)");
    w.log(
        "12:50",
        "imke",
        "result",
        "X6",
        "words=Gram-negative rods in both bottles",
    );
    let critical = format!("sample={taken}\nvalues=k 6.8 (3.5-5.3)");
    let critical = w.log("13:00", "imke", "result", "X7", &critical);
    w.log(
        "15:30",
        "imke",
        "alert",
        "X8",
        "source=nurse\nwhat=Pain\nseverity=soon",
    );
    (w, critical)
}

fn drawn(w: &Writing) -> Sheet {
    let request = SheetRequest::new(&w.demo.ward, "Day", "Night", None);
    sheet(&w.demo.ward, clock("16:00"), &request)
}

fn order(sheet: &Sheet) -> Vec<(&str, Standing)> {
    let slot = |block: &'_ handfast::view::handover::PatientBlock| block.stands_by;
    let blocks = sheet.patients.iter();
    blocks
        .map(|block| (block.identity.slot.as_deref().unwrap_or(""), slot(block)))
        .collect()
}

#[test]
fn a_result_nobody_has_seen_lifts_its_patient() {
    let (w, _) = ward();
    assert_eq!(
        order(&drawn(&w)),
        [
            ("X8", Standing::OpenAlert),
            ("X7", Standing::CriticalResult),
            // What is said in words is not known to be normal.
            ("X5", Standing::UnseenResult),
            ("X6", Standing::UnseenResult),
            ("X3", Standing::Overdue),
            ("X4", Standing::Overdue),
            ("X2", Standing::Rest),
            ("X1", Standing::Rest),
        ]
    );
    for words in [
        "critical results nobody has seen",
        "not known to be within range",
    ] {
        assert!(RULE.contains(words), "the rule on the sheet says {words}");
    }
}

#[test]
fn a_result_somebody_has_seen_lifts_nobody() {
    let (mut w, critical) = ward();
    let seen = format!("result={critical}\ndecision=acted\naction=Sent in by 999");
    w.log("15:50", "orla", "result-review", "X7", &seen);
    let sheet = drawn(&w);
    let order = order(&sheet);
    assert!(order.contains(&("X7", Standing::Rest)), "{order:?}");
    let page = text::page(&sheet.page(), Paper::plain(400));
    assert!(
        page.contains("seen 15:50 by Orla Quillfeather (RN) - "),
        "{page}"
    );
}

#[test]
fn tables_and_the_strip_name_results_nobody_has_seen() {
    let (w, _) = ward();
    let sheet = drawn(&w);
    let page = text::page(&sheet.page(), Paper::plain(400));
    let row = |text: &str, slot: &str| {
        let mut rows = text
            .lines()
            .filter(|line| line.contains(&format!("{slot} TESTONE")));
        rows.find(|line| line.contains("unseen"))
            .unwrap_or_default()
            .to_owned()
    };
    assert!(
        row(&page, "X7").contains("CRITICAL result unseen 3hr"),
        "{page}"
    );
    assert!(
        row(&page, "X5").contains("result unseen 3hr 20min"),
        "{page}"
    );
    assert!(!row(&page, "X5").contains("CRITICAL"), "{page}");
    assert!(
        page.contains(
            "4 results nobody has seen 1 CRITICAL (oldest reported 12:30, 3hr 30min ago);"
        ),
        "{page}"
    );
    let vantage = Vantage {
        ward: &w.demo.ward,
        now: clock("16:00"),
        since: None,
    };
    let list = caseload(&vantage);
    let shown = text::page(&list.page(), Paper::plain(400));
    assert!(
        row(&shown, "X7").contains("CRITICAL result unseen 3hr"),
        "{shown}"
    );
    let csv = list.csv();
    let row = csv
        .lines()
        .find(|line| line.starts_with("X7"))
        .expect("a row");
    assert!(row.contains(",1,1,2026-10-24T12:00:00.000000Z,"), "{row}");
}

/// Taken, arrived, resulted, seen, acted: the line says who had it and who is missing.
#[test]
fn the_line_names_each_owner_of_a_result() {
    let (w, _) = ward();
    let page = text::page(&drawn(&w).page(), Paper::plain(400));
    assert!(
        page.contains(
            "taken 10:00 by Imke Saltmarsh (RN), at the laboratory 11:00, reported 13:00, 3hr ago, \
             Orla Quillfeather (RN) was to look - "
        ),
        "{page}"
    );
    assert!(page.contains("sample not named, reported 12:40"), "{page}");
}

/// RCPath G158 (2017): ALT is told by voice from fifteen times the laboratory's upper limit on.
/// The sheet, the caseload and the workings all say so, by one decision.
#[test]
fn an_alt_of_fifteen_times_its_limit_is_critical_everywhere() {
    for (value, critical) in [("525", true), ("524", false)] {
        let (mut w, _) = ward();
        let values = format!("values=alt {value} (10-35)");
        w.log("13:10", "imke", "result", "X1", &values);
        let sheet = drawn(&w);
        let standing = order(&sheet).into_iter().find(|(slot, _)| *slot == "X1");
        let wanted = if critical {
            Standing::CriticalResult
        } else {
            Standing::UnseenResult
        };
        assert_eq!(standing, Some(("X1", wanted)), "{value}");
        let patient = w
            .demo
            .ward
            .caseload()
            .into_iter()
            .find(|one| one.slot() == Some("X1"));
        let patient = patient.expect("on the ward");
        let worked = handfast::ward::workings::workings(&w.demo.ward, patient, clock("16:00"));
        let said = worked.iter().any(|one| one.text.contains("CRITICAL"));
        assert_eq!(said, critical, "{value}");
        assert_eq!(
            w.demo.ward.critical_unseen().len(),
            if critical { 2 } else { 1 }
        );
    }
}

/// Whoever asks for the alerts asks what needs somebody now.
#[test]
fn the_alerts_name_a_critical_result_as_what_it_is() {
    let (mut w, critical) = ward();
    let open_only = AlertWhich {
        open_only: true,
        ..AlertWhich::default()
    };
    let ledger = |w: &Writing, which: &AlertWhich| {
        let vantage = Vantage {
            ward: &w.demo.ward,
            now: clock("16:00"),
            since: None,
        };
        alert_ledger(&vantage, which)
    };
    let listed = ledger(&w, &open_only);
    assert_eq!((listed.open, listed.alerts.len()), (1, 1), "it is no alert");
    let page = text::page(&listed.page(), Paper::plain(400));
    assert!(
        page.contains("Alerts: 1, 1 open; 1 critical result nobody has looked at"),
        "{page}"
    );
    let line = page
        .lines()
        .find(|line| line.contains("X7 TESTONE"))
        .unwrap_or_default();
    assert!(
        line.contains("CRITICAL RESULT potassium 6.8 mmol/L")
            && line.contains("NOBODY HAS LOOKED AT IT"),
        "{page}"
    );
    assert!(page.contains("WAITING 3hr") && page.contains(&format!("review {}", critical.0)));
    // Another patient's alerts are asked for: theirs only.
    let others = w
        .demo
        .ward
        .caseload()
        .into_iter()
        .find(|one| one.slot() == Some("X8"));
    let which = AlertWhich {
        patient: others.map(|one| one.pseudonym),
        ..open_only
    };
    assert!(ledger(&w, &which).critical_unseen.is_empty());
    // Somebody has looked: it is gone.
    let seen = format!("result={critical}\ndecision=escalated");
    w.log("15:50", "orla", "result-review", "X7", &seen);
    assert!(ledger(&w, &open_only).critical_unseen.is_empty());
}
