//! Every key on both sides of its limits, generated over the table of keys; files; conflicts.

use std::collections::BTreeSet;

use proptest::prelude::*;

use super::file::{self, Mistake};
use super::*;
use crate::clinical::news2::{self, Monitoring, Row};
use crate::clinical::{pressure, wound};
use crate::record::kind::wound::WoundType;
use crate::record::quantity::Decimal;
use crate::record::time::{Span, Timestamp};

fn one_less(value: Decimal) -> Decimal {
    Decimal {
        mantissa: value.mantissa - 1,
        ..value
    }
}

fn one_more(value: Decimal) -> Decimal {
    Decimal {
        mantissa: value.mantissa + 1,
        ..value
    }
}

/// What a key takes at its very limits, and what it refuses just beyond them.
fn edges(key: &Key) -> (Vec<String>, Vec<String>) {
    match key.form {
        Form::Whole { low, high, or, .. } => {
            let mut taken = vec![low.to_string(), high.to_string()];
            taken.extend(or.map(quoted));
            let refused = vec![
                (low - 1).to_string(),
                (high + 1).to_string(),
                format!("{low}.5"),
            ];
            (taken, refused)
        }
        Form::Number { low, high, or, .. } => {
            let mut taken = vec![low.to_string(), high.to_string(), low.plain()];
            taken.extend(or.map(quoted));
            let refused = vec![
                one_less(low).to_string(),
                one_more(high).to_string(),
                format!("{}1", low),
                "1e3".into(),
                "inf".into(),
                "nan".into(),
            ];
            (taken, refused)
        }
        Form::Flag => (
            vec!["true".into(), "false".into()],
            vec!["1".into(), "\"true\"".into(), "yes".into()],
        ),
        Form::Text { max } => (
            vec![quoted("x"), quoted(&"é".repeat(max))],
            vec![
                quoted(""),
                quoted("  "),
                quoted(&"é".repeat(max + 1)),
                "7".into(),
            ],
        ),
    }
}

#[test]
fn every_key_takes_its_limits_and_nothing_beyond() {
    let mut tried = 0;
    for key in keys() {
        let (taken, refused) = edges(key);
        for literal in &taken {
            let read = key.read(literal);
            assert!(read.is_ok(), "{} = {literal}: {read:?}", key.name);
            tried += 1;
        }
        let common = [
            "",
            "[1]",
            "{a = 1}",
            "2026-01-01",
            "other",
            "\"other\"",
            "\"open",
            "1 2",
            "-",
        ];
        let common = common
            .into_iter()
            .filter(|given| !(matches!(key.form, Form::Text { .. }) && *given == "\"other\""));
        for literal in refused.iter().map(String::as_str).chain(common) {
            let read = key.read(literal);
            let problem = read.expect_err(&format!("{} = {literal}", key.name));
            assert_eq!(problem.accepted, key.accepted());
            assert!(!problem.what.is_empty());
            tried += 1;
        }
    }
    assert!(tried > 1_500, "{tried}");
}

#[test]
fn every_key_is_described_once_and_its_default_is_one_it_takes() {
    let mut names = BTreeSet::new();
    for section in SECTIONS {
        for key in section.keys {
            assert_eq!(key.section(), section.name);
            for name in std::iter::once(&key.name).chain(key.before) {
                assert!(names.insert(*name), "{name} twice");
            }
            assert!(
                key.help.ends_with('.') && key.help.len() > 20,
                "{}",
                key.name
            );
            assert!(!key.source.is_empty(), "{}", key.name);
            assert_eq!(
                key.read(&key.default().literal()),
                Ok(key.default()),
                "{}",
                key.name
            );
        }
    }
    assert!(names.len() > 80);
    assert_eq!(Values::default().conflicts(), []);
}

/// A key marked as read is read: the field or the method that hands it out is named outside this
/// folder, and no section is handed out that has only unread keys.
#[test]
fn every_key_is_read() {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/src");
    let mut code = String::new();
    let mut folders = vec![std::path::PathBuf::from(root)];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.ends_with("clinical/policy") || path.ends_with("clinical/policy.rs") {
                continue;
            }
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|ext| ext == "rs") {
                code.push_str(&std::fs::read_to_string(path).expect("a source file"));
            }
        }
    }
    for section in SECTIONS {
        let called = code.contains(&format!(".values().{}()", section.name));
        assert!(called, "{}", section.name);
    }
    for (name, reader) in [
        ("record.late_entry_minutes", ".late_entry"),
        ("record.silence_hours", ".silence"),
        ("record.stale_set_hours", ".stale_set"),
        ("sheet.due_soon_minutes", ".due_soon"),
        ("trend.usual_readings", ".usual_readings"),
        ("trend.usual_spreads", ".usual_spreads"),
        ("trend.by_time_of_day", ".by_time_of_day"),
        ("trend.slope_hours", ".slope_over"),
        ("trend.slope_readings", ".slope_readings"),
        ("news2.0.every_minutes", "policy.row(row).every"),
        ("news2.0.response", ".response"),
        ("news2.0.answered_by", ".answered_by"),
        ("news2.0.answer_minutes", "answer_within"),
        ("blood.k.critical_low", "limits.critical("),
        ("blood.k.low", "blood().range("),
        ("pressure.target.systolic", ".target_at("),
        (
            "pressure.repeat_after_raised_minutes",
            ".repeat_after_raised",
        ),
        (
            "pressure.repeat_after_severe_minutes",
            ".repeat_after_severe",
        ),
        (
            "wound.four_weeks.venous_leg_ulcer_percent",
            ".four_weeks_percent(",
        ),
        ("fluid.window_hours", ".window"),
        ("contact.no_answer_attempts", ".no_answer_attempts"),
        ("contact.next_attempt_minutes", ".next_attempt"),
        ("contact.welfare_check", ".welfare_check"),
        ("escalation.unanswered_minutes", ".unanswered_after"),
        ("escalation.next", ".next"),
    ] {
        assert!(find(name).is_some() && code.contains(reader), "{name}");
    }
}

/// The defaults are the published values, which the calculators have in their own tables.
#[test]
fn defaults_are_the_published_values() {
    let values = Values::default();
    let news2 = values.news2();
    for (row, monitoring) in [
        (Row::Zero, Monitoring::TwelveHourly),
        (Row::OneToFour, Monitoring::FourToSixHourly),
        (Row::Single3, Monitoring::Hourly),
        (Row::FiveOrMore, Monitoring::Hourly),
        (Row::SevenOrMore, Monitoring::Continuous),
    ] {
        let every = match monitoring.next_set() {
            Some((soonest, latest)) => Every::Between(soonest, latest),
            None => Every::Continuously,
        };
        let called = news2.row(row);
        assert_eq!(called.every, every);
        assert_eq!(called.response, row.published_response());
        assert_eq!((called.answer_within, called.is_ward_s_own), (None, false));
    }
    let pressure_of = |age| {
        let (systolic, diastolic) = pressure::home_target(age);
        (i64::from(systolic), i64::from(diastolic))
    };
    for age in [18, 79, 80, 101] {
        assert_eq!(values.pressure().target_at(age), pressure_of(age));
    }
    for kind in [
        WoundType::DiabeticFootUlcer,
        WoundType::VenousLegUlcer,
        WoundType::Burn,
    ] {
        let marker = wound::Marker::of(kind).map(|marker| i64::from(marker.percent));
        assert_eq!(values.wound().four_weeks_percent(kind), marker);
    }
}

fn mistakes(text: &str) -> Vec<Mistake> {
    file::read(text, &Values::default()).expect_err(text)
}

#[test]
fn a_file_s_mistakes_are_named_with_their_place_all_at_once() {
    let found = mistakes("record.silence_hours = 8\n[record]x\n");
    assert_eq!((found.len(), found[0].line), (1, 2));
    let found = mistakes(
        "[record]\nsilence_hour = 8\n  stale_set_hours = \"six\"\n[news2.single-3]\nevery_minutes = 5\n\n[nowt]\nx = 1\n",
    );
    let said: Vec<String> = found.iter().map(ToString::to_string).collect();
    assert_eq!(
        said,
        [
            "line 2, column 1: record.silence_hour: there is no such setting. Accepted: perhaps record.silence_hours.",
            "line 3, column 21: record.stale_set_hours: \"six\" is text. Accepted: a whole number from 1 to 168 (hours), or \"silence\".",
            "line 5, column 17: news2.single-3.every_minutes: 5 is too small. Accepted: a whole number from 15 to 1440 (minutes).",
            "line 8, column 1: nowt.x: there is no such setting. Accepted: a key of the sections record, news2, trend, pressure, blood, wound, contact, escalation, fluid, sheet, report; `policy keys` lists all.",
        ]
    );
    let points = mistakes("news2.points.rr = 1");
    assert!(points[0].what.contains("cannot be changed"), "{points:?}");
    let twice = mistakes("silence_hours = 7\n[record]\nsilence_hours = 8");
    assert!(twice[0].what.contains("stands twice"), "{twice:?}");
    let twice = mistakes("record.silence_hours = 7\nrecord.silence_hours = 7");
    assert_eq!(twice[0].line, 2);
    let huge = mistakes(&" ".repeat(file::FILE_BYTES_MAX + 1));
    assert_eq!(huge[0].line, 0);
    assert_eq!(mistakes("record = 5").len(), 1);
    assert_eq!(mistakes("record.silence_hours.x = 5").len(), 1);
    // Nested deeper than anybody writes: refused, no overflow.
    assert_eq!(
        mistakes(&format!("record = {}", "[".repeat(50_000))).len(),
        1
    );
}

#[test]
fn settings_that_cannot_hold_together_are_refused_by_name() {
    for (text, keys) in [
        (
            "news2.0.every_minutes = 300",
            ["news2.1-4.every_minutes", "news2.0.every_minutes"],
        ),
        (
            "news2.1-4.soonest_minutes = 361",
            ["news2.1-4.soonest_minutes", "news2.1-4.every_minutes"],
        ),
        (
            "news2.single-3.every_minutes = 361",
            ["news2.single-3.every_minutes", "news2.1-4.every_minutes"],
        ),
        (
            "news2.5-6.every_minutes = 61",
            ["news2.5-6.every_minutes", "news2.single-3.every_minutes"],
        ),
        (
            "news2.7-or-more.every_minutes = 61",
            ["news2.7-or-more.every_minutes", "news2.5-6.every_minutes"],
        ),
        ("blood.k.low = 5.3", ["blood.k.low", "blood.k.high"]),
        (
            "blood.na.critical_high = 120",
            ["blood.na.critical_low", "blood.na.critical_high"],
        ),
        (
            "pressure.target.systolic = 100\npressure.target.diastolic = 100",
            ["pressure.target.diastolic", "pressure.target.systolic"],
        ),
    ] {
        let found = mistakes(text);
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(
            keys.iter().all(|key| found[0].what.contains(key)),
            "{found:?}"
        );
        assert!(found[0].line > 0);
    }
    // Both together are fine, and what the file leaves out is as the ward has it.
    let both = "news2.5-6.every_minutes = 90\nnews2.single-3.every_minutes = 120";
    assert_eq!(file::read(both, &Values::default()).expect("fine").len(), 2);
    let mut base = Values::default();
    let key = find("news2.single-3.every_minutes").expect("a key");
    base.set(key, Value::Whole(240));
    assert!(file::read("news2.5-6.every_minutes = 90", &base).is_ok());
}

#[test]
fn words_that_hide_something_are_refused() {
    let key = find("news2.7-or-more.response").expect("a key");
    for hostile in [
        "a\u{1b}[2Jb",
        "a\nb",
        "a\u{202e}b",
        "a\u{200b}b",
        "a\u{0}b",
        "a\u{2028}b",
    ] {
        assert!(key.read_typed(hostile).is_err(), "{hostile:?}");
        assert!(key.read(&quoted(hostile)).is_err(), "{hostile:?}");
    }
    // What only looks hostile is kept as it is; whoever shows it makes it harmless.
    for odd in [
        "<script>alert(1)</script>",
        "=cmd|' /C calc'!A0",
        "\"quoted\" \\ back",
        "# no comment",
        "x = 1",
    ] {
        let read = key.read(&quoted(odd)).expect("taken");
        assert_eq!(read, Value::Text(odd.to_owned()));
    }
    assert_eq!(
        key.read_typed("Ring the team").expect("taken"),
        Value::Text("Ring the team".into())
    );
    assert!(key.read("Ring the team").is_err(), "the journal holds TOML");
}

#[test]
fn the_ward_s_interval_decides_when_the_next_set_is_due() {
    let set = news2::Set {
        rr: Some(21),
        spo2: Some(97),
        scale: Some(crate::record::observed::Spo2Scale::Scale1),
        oxygen: Some(false),
        sbp: Some(120),
        hr: Some(80),
        acvpu: Some(crate::record::observed::Acvpu::Alert),
        temp_deci_c: Some(370),
    };
    let scored = news2::score(&set).expect("possible");
    let mut values = Values::default();
    let due = |values: &Values| news2::next_set_by(&values.news2(), &scored, Timestamp::EARLIEST);
    assert_eq!(due(&values), news2::next_set(&scored, Timestamp::EARLIEST));
    values.set(
        find("news2.1-4.every_minutes").expect("a key"),
        Value::Whole(300),
    );
    assert_eq!(
        due(&values),
        news2::NextSet::Due {
            from: Timestamp::EARLIEST.plus(Span::minutes(240)),
            to: Timestamp::EARLIEST.plus(Span::minutes(300)),
        }
    );
    assert!(values.news2().row(Row::OneToFour).is_ward_s_own);
}

/// Any value some key takes.
fn any_setting() -> impl Strategy<Value = (usize, u64, String)> {
    (0..keys().count(), any::<u64>(), "\\PC{1,40}")
}

fn value_of(key: &Key, seed: u64, words: &str) -> Option<Value> {
    let literal = match key.form {
        Form::Whole { low, high, .. } => {
            let span = u64::try_from(high - low).ok()? + 1;
            (low + i64::try_from(seed % span).ok()?).to_string()
        }
        Form::Number { low, high, .. } => {
            let span = u64::try_from(high.mantissa - low.mantissa).ok()? + 1;
            let mantissa = low.mantissa + i64::try_from(seed % span).ok()?;
            Decimal { mantissa, ..low }.to_string()
        }
        Form::Flag => seed.is_multiple_of(2).to_string(),
        Form::Text { .. } => quoted(words),
    };
    key.read(&literal).ok()
}

proptest! {
    /// Whatever a ward has set, its file says the same: written, read back, no difference.
    #[test]
    fn a_written_file_reads_back_as_what_held(settings in proptest::collection::vec(any_setting(), 0..12)) {
        let mut values = Values::default();
        for (at, seed, words) in settings {
            let key = keys().nth(at).expect("a key");
            let before = values.clone();
            if let Some(value) = value_of(key, seed, &words) {
                values.set(key, value);
            }
            if !values.conflicts().is_empty() {
                values = before;
            }
        }
        let text = file::write(&values);
        let read = file::read(&text, &Values::default());
        let read = read.map_err(|m| TestCaseError::fail(format!("{m:?}\n{text}")))?;
        prop_assert_eq!(read.len(), keys().count());
        for (key, value) in read {
            prop_assert_eq!(value, values.get(key), "{}", key.name);
        }
    }

    /// No text is a panic, and a mistake lies within the text.
    #[test]
    fn any_text_is_read_or_refused(text in "\\PC{0,80}|[a-z0-9.=\"\n \\[\\]-]{0,80}") {
        if let Err(mistakes) = file::read(&text, &Values::default()) {
            for mistake in mistakes {
                prop_assert!(mistake.line <= text.lines().count() + 1);
            }
        }
        for key in keys() {
            let _ = key.read(&text);
            let _ = key.read_typed(&text);
        }
    }
}
