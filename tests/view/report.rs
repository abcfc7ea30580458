//! How the ward's report looks and reads, and the page that describes it.

use std::fmt::Write;

use handfast::record::time::Timestamp;
use handfast::view::render::text::Paper;
use handfast::view::render::{html, json, text};
use handfast::view::report::{DAYS_COUNTED, SERIES_CAUTION, SERIES_RULE, words_of};
use handfast::ward::report::{Matter, Period};

use crate::demo_ward;
use crate::report_sql::{drawn, periods};

/// No name, number or address of anybody is in it, in whatever form.
#[test]
fn it_names_no_patient() {
    let demo = demo_ward::whole();
    let whole = Period {
        from: Timestamp::EARLIEST,
        until: demo.now,
    };
    let report = drawn(&demo, whole);
    let forms = [
        text::page(&report.page(), Paper::plain(80)),
        json::compact(&report),
        report.csv(),
    ];
    for patient in demo.ward.patients() {
        let details = patient.details.as_ref().expect("admitted");
        let number = details.nhs.as_ref().map(ToString::to_string);
        for form in &forms {
            let form = form.to_lowercase();
            assert!(!form.contains(&details.family.0.to_lowercase()));
            assert!(number.as_ref().is_none_or(|number| !form.contains(number)));
        }
    }
}

const MARK: &str = "<!-- from here on written by tests/view/report.rs -->\n";

fn described() -> String {
    let mut out = String::new();
    for about in Matter::ALL {
        let words = words_of(about);
        let (counted, source) = (words.counted, words.source);
        // Writing to a string cannot fail.
        let _ = writeln!(
            out,
            "\n## {}\n\n{counted}\n\nSource: {source}.\n",
            words.title
        );
        out.push_str("| name in JSON | figure |\n| --- | --- |\n");
        for (name, label) in words.names {
            let _ = writeln!(out, "| `{name}` | {label} |");
        }
    }
    let _ = writeln!(out, "\n## Day by day\n\n{DAYS_COUNTED}");
    let _ = writeln!(
        out,
        "\n## Measures over days\n\n{SERIES_RULE} {SERIES_CAUTION}"
    );
    out
}

/// `HANDFAST_WRITE_DOCS=1 cargo test --test view report::` writes the page anew.
#[test]
fn the_page_says_how_each_part_is_counted() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/report.md");
    let page = std::fs::read_to_string(&path).expect("docs/report.md");
    let (prose, tables) = page.split_once(MARK).expect("the mark");
    let fresh = described();
    if std::env::var_os("HANDFAST_WRITE_DOCS").is_some() {
        std::fs::write(&path, format!("{prose}{MARK}{fresh}")).expect("written");
        return;
    }
    assert!(
        tables == fresh,
        "docs/report.md differs from what the report says"
    );
}

/// Every figure that is of no sort has its words.
#[test]
fn every_figure_has_its_words() {
    let demo = demo_ward::whole();
    for period in periods(&demo) {
        for part in drawn(&demo, period).parts {
            let names = words_of(part.about).names;
            for figure in part.figures.iter().filter(|figure| figure.of.is_empty()) {
                let known = names.iter().any(|(name, _)| *name == figure.name);
                assert!(known, "{:?} {}", part.about, figure.name);
            }
        }
    }
}

#[test]
fn how_it_looks() {
    let demo = demo_ward::whole();
    let [week, today] = periods(&demo);
    let page = |period| text::page(&drawn(&demo, period).page(), Paper::plain(80));
    insta::assert_snapshot!("report_week", page(week));
    insta::assert_snapshot!("report_today", page(today));
    insta::assert_snapshot!("report_csv", drawn(&demo, today).csv());
    let shown = html::page(&drawn(&demo, week).page()).expect("drawn");
    assert!(shown.contains("<h2>Alerts</h2>"), "headings are headings");
}
