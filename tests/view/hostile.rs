//! Words that would do harm, in every place a person can put words, through every form.

use handfast::record::ids::Seq;
use handfast::record::time::Timestamp;
use handfast::view::escape::{self, needs_mark};
use handfast::view::handover::{SheetRequest, sheet, since_accepted};
use handfast::view::lists::{AlertWhich, DueFilter, alert_ledger, caseload, due_list};
use handfast::view::origin::Vantage;
use handfast::view::page::Page;
use handfast::view::render::text::Paper;
use handfast::view::render::{html, json, text};
use handfast::view::report::report;
use handfast::view::timeline::{entry_view, timeline};
use handfast::ward::Read;
use handfast::ward::report::Period;

use crate::demo_ward::{self, DemoWard};

/// Clears the screen, sets the window's title, reverses text, ends a line, closes a tag, opens
/// a script, starts a formula, hides text.
const HOSTILE: &str = "\u{1b}[2J\u{1b}]0;x\u{7}\u{202e}abc\u{2066}\u{2028}\u{9b}1m\u{e0041}\
    \u{200b}\u{200d}\u{2060}\u{feff}\u{ad}\u{fe0f}\u{3164}\
    </title></style><script>alert(1)</script><img src=x onerror=alert(1)>\"'&=cmd|x\u{200f}";

/// The demo ward with hostile words in every free text.
fn hostile_ward() -> DemoWard {
    let story = demo_ward::whole();
    let entries = story.entries.0.into_values();
    let poisoned = entries.map(|mut entry| {
        // Through JSON every word of a body can be reached, whatever its kind. Words that
        // mean something to the program (codes, names of settings) do not take the poison.
        let mut value = serde_json::to_value(&entry.body).expect("a body is JSON");
        poison(&mut value);
        if let Some(body) = demo_ward::body_of(entry.kind(), value) {
            entry.body = body;
        }
        entry.envelope.late_reason = entry.envelope.late_reason.map(|_| HOSTILE.to_owned());
        entry
    });
    DemoWard::of(poisoned.collect())
}

/// Words with a blank in them are a person's; codes have none.
fn poison(value: &mut serde_json::Value) {
    match value {
        serde_json::Value::String(text) if text.contains(' ') && text.parse::<f64>().is_err() => {
            text.push_str(HOSTILE);
        }
        serde_json::Value::Array(items) => items.iter_mut().for_each(poison),
        serde_json::Value::Object(fields) => fields.values_mut().for_each(poison),
        _ => {}
    }
}

fn check_page(name: &str, page: &Page) {
    for width in [40, 80, 132] {
        let plain = text::page(page, Paper::plain(width));
        let bad = plain.chars().find(|c| *c != '\n' && needs_mark(*c));
        assert_eq!(bad, None, "{name} at {width}");
        for line in plain.lines() {
            let wide = unicode_width::UnicodeWidthStr::width(line);
            assert!(wide <= width, "{name} at {width}: {line:?} is {wide} wide");
        }
        assert!(
            plain.contains("\u{241b}[2J"),
            "{name}: the words are still there"
        );
    }
    let styled = text::page(
        page,
        Paper {
            width: 80,
            styled: true,
        },
    );
    for (at, _) in styled.match_indices('\u{1b}') {
        let code = &styled[at + 1..];
        let ours = [
            "[0m", "[1m", "[2m", "[1;31m", "[35m", "[7m", "[32m", "[36m", "[9m",
        ];
        assert!(
            ours.iter().any(|known| code.starts_with(known)),
            "{name}: a code that is not ours"
        );
    }
    let page = html::page(page).expect("drawn");
    assert_eq!(
        page.chars().find(|c| *c != '\n' && needs_mark(*c)),
        None,
        "{name}"
    );
    for tag in ["<script", "<img", "onerror=alert(1)>"] {
        assert!(!page.contains(tag), "{name} holds {tag}");
    }
    assert_eq!(page.matches("</style>").count(), 1, "{name}");
    assert_eq!(page.matches("</title>").count(), 1, "{name}");
    assert!(
        page.contains("&#60;script&#62;"),
        "{name}: the words are still there"
    );
}

fn check_json(name: &str, text: &str) {
    assert_eq!(text.chars().find(|c| needs_mark(*c)), None, "{name}");
    let value: serde_json::Value = serde_json::from_str(text).expect("JSON");
    let back = serde_json::to_string(&value).expect("JSON again");
    assert!(
        back.contains("\u{202e}abc"),
        "{name}: the words come back exactly"
    );
}

fn check_csv(name: &str, text: &str) {
    for cell in text.split(['\n', ',']) {
        let first = cell.trim_start_matches('"').chars().next();
        assert!(!matches!(first, Some('=' | '+' | '@')), "{name}: {cell:?}");
    }
    assert_eq!(
        text.chars()
            .find(|c| !matches!(c, '\n' | '\r') && needs_mark(*c)),
        None
    );
}

#[test]
fn hostile_words_are_harmless_in_every_form() {
    let demo = hostile_ward();
    let vantage = Vantage {
        ward: &demo.ward,
        now: demo.now,
        since: Some(Seq(1)),
    };
    let sheet = sheet(
        &demo.ward,
        demo.now,
        &SheetRequest {
            opening: Some(HOSTILE.to_owned()),
            ..SheetRequest::new(&demo.ward, HOSTILE, HOSTILE, None)
        },
    );
    check_page("sheet", &sheet.page());
    check_json("sheet", &json::compact(&sheet));
    let (caseload, due) = (
        caseload(&vantage),
        due_list(&vantage, &DueFilter::default()),
    );
    let alerts = alert_ledger(&vantage, &AlertWhich::default());
    check_csv("caseload", &caseload.csv());
    check_csv("due", &due.csv());
    check_csv("alerts", &alerts.csv());
    check_page("due", &due.page());
    check_page("alerts", &alerts.page());
    check_json("alerts", &json::compact(&alerts));
    let whole = Period {
        from: Timestamp::EARLIEST,
        until: demo.now,
    };
    let report = report(&vantage, whole);
    check_page("report", &report.page());
    check_json("report", &json::compact(&report));
    check_csv("report", &report.csv());
    let reads = demo.reads();
    for patient in demo.ward.patients().map(Some).chain([None]) {
        let timeline = timeline(&vantage, patient, &reads, true);
        check_page("timeline", &timeline.page());
        check_json("timeline", &json::compact(&timeline));
    }
    let note = reads
        .iter()
        .filter_map(Read::entry)
        .find(|e| e.kind().name() == "contact");
    let note = Read::Entry(Box::new(note.expect("a contact").clone()));
    check_page("entry", &entry_view(&vantage, &note, &reads, false).page());
}

/// A key-safe code is on no sheet, no list and no timeline that is not for people who visit.
#[test]
fn key_safe_codes_are_never_printed() {
    let demo = demo_ward::whole();
    let codes: Vec<String> = demo
        .ward
        .patients()
        .filter_map(|p| Some(p.details.as_ref()?.key_safe.as_ref()?.0.clone()))
        .collect();
    assert!(!codes.is_empty(), "the demo ward has key safes");
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
    let reads = demo.reads();
    let mut forms = vec![
        json::compact(&sheet),
        text::page(&sheet.page(), Paper::plain(200)),
        html::page(&sheet.page()).expect("drawn"),
        json::compact(&caseload(&vantage)),
        json::compact(&since_accepted(&demo.ward, last_handover(&demo))),
    ];
    for patient in demo.ward.patients() {
        forms.push(json::compact(&timeline(
            &vantage,
            Some(patient),
            &reads,
            false,
        )));
    }
    for code in &codes {
        assert!(
            forms.iter().all(|form| !form.contains(code.as_str())),
            "{code} is shown"
        );
    }
}

fn last_handover(demo: &DemoWard) -> Seq {
    *demo
        .ward
        .handovers()
        .keys()
        .next_back()
        .expect("a handover")
}

/// Every character of the two Unicode properties, in every form: shown by its number where
/// people read, written as an escape and given back exactly where machines read.
#[test]
fn every_invisible_character_is_shown_by_its_number() {
    let table = include_str!("../vectors/invisible.psv");
    let mut seen = 0;
    for line in table.lines().filter(|line| !line.starts_with('#')) {
        let cells: Vec<&str> = line.split('|').collect();
        let [_, first, last] = cells[..] else {
            panic!("{line}");
        };
        let code = |text: &str| u32::from_str_radix(text, 16).expect("a code point");
        for c in (code(first)..=code(last)).map(|code| char::from_u32(code).expect("a character")) {
            let shown = format!("A<U+{:04X}>da", u32::from(c));
            let name = format!("A{c}da");
            assert_eq!(escape::terminal(&name), shown);
            assert_eq!(escape::page(&name), shown);
            assert_eq!(escape::csv_cell(&name), shown);
            let data = json::compact(&name);
            assert!(data.is_ascii(), "{data:?}");
            assert_eq!(serde_json::from_str::<String>(&data).expect("JSON"), name);
            seen += 1;
        }
    }
    assert!(seen > 4_000, "only {seen}");
}
