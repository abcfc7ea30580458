//! What people type and what it comes to. The lines are common practice at the bedside, no
//! source; what may stand in a field is checked by the record layer's own tests.

use super::*;
use crate::record::field::Shape;

mod spoken;

/// Thursday 16-Jul-2026, 14:20 on the ward.
const THURSDAY: i64 = 1_784_208_000_000_000;

fn cx() -> ShorthandContext {
    ShorthandContext {
        now: Timestamp(THURSDAY),
        zone: WardZone::LONDON,
        patient: Some("T07".to_owned()),
    }
}

fn entries(line: &str) -> Entries {
    match parse(line, &cx()) {
        Ok(Parsed::Entries(entries)) => entries,
        other => panic!("{line}: {other:?}"),
    }
}

fn mistakes(line: &str) -> Vec<Mistake> {
    match parse(line, &cx()) {
        Err(mistakes) => mistakes,
        Ok(Parsed::Unknown { mistake, .. }) => vec![mistake],
        Ok(other) => panic!("{line} was taken: {other:?}"),
    }
}

/// Fields of the only entry, sorted by name.
fn fields(line: &str) -> Vec<(String, String)> {
    let mut entries = entries(line);
    assert_eq!(entries.drafts.len(), 1, "{line}");
    let mut fields = entries.drafts.remove(0).fields;
    fields.sort();
    fields
}

fn pairs(expected: &[(&str, &str)]) -> Vec<(String, String)> {
    let mut pairs: Vec<(String, String)> = expected
        .iter()
        .map(|(name, value)| ((*name).to_owned(), (*value).to_owned()))
        .collect();
    pairs.sort();
    pairs
}

#[test]
fn a_set_of_readings_in_any_order_and_spelling() {
    let full = pairs(&[
        ("rr", "18"),
        ("spo2", "96"),
        ("oxygen", "air"),
        ("sbp", "148"),
        ("dbp", "92"),
        ("hr", "88"),
        ("temp", "37.1"),
        ("acvpu", "alert"),
    ]);
    for line in [
        "obs rr 18 sats 96 air bp 148/92 hr 88 temp 37.1 alert",
        "obs alert temp 37.1 hr 88 bp 148/92 air sats 96 rr 18",
        "obs rr=18 spo2=96 oxygen=air bp=148/92 hr=88 temp=37.1 acvpu=alert",
        "o rr18 s96 air 148/92 p88 t37.1 alert",
        "OBS RR 18, Sats 96, Air, BP 148/92, HR 88, Temp 37.1, Alert",
        "obs resps 18 sat 96 o2 air bp148/92 pulse 88 t 37.1 avpu alert",
    ] {
        let lower = |(name, value): (String, String)| (name, value.to_lowercase());
        let typed: Vec<_> = fields(line).into_iter().map(lower).collect();
        assert_eq!(typed, full, "{line}");
    }
    assert_eq!(
        fields("obs rr18 al"),
        pairs(&[("rr", "18"), ("acvpu", "al")])
    );
}

#[test]
fn oxygen_says_device_and_flow() {
    for (line, oxygen) in [
        ("obs o2 2l nc", "nc 2l"),
        ("obs o2 nc 2", "nc 2"),
        ("obs cannula 2", "cannula 2"),
        ("obs nc 2 l/min", "nc 2l/min"),
        ("obs 2l nc", "nc 2l"),
        ("obs room air", "air"),
        ("obs ra", "air"),
        ("obs venturi 28%", "venturi 28%"),
        ("obs venturi 28 %", "venturi 28%"),
        ("obs oxygen=\"cannula 2\"", "cannula 2"),
        ("obs niv", "niv"),
    ] {
        assert_eq!(fields(line), pairs(&[("oxygen", oxygen)]), "{line}");
    }
    assert_eq!(
        fields("obs nc 2 s96"),
        pairs(&[("oxygen", "nc 2"), ("spo2", "96")])
    );
    assert_eq!(fields("obs o2 sats 96"), pairs(&[("spo2", "96")]));
    let bare = mistakes("obs o2 2l");
    assert_eq!(bare[0].what, "oxygen 2l without its device");
    let saturation = mistakes("obs o2 96");
    assert!(
        saturation[0].accepted.contains("sats 96"),
        "{}",
        saturation[0].accepted
    );
}

#[test]
fn temperatures_carry_their_site() {
    for (line, site) in [
        ("obs tt37.1", "tympanic"),
        ("obs to 37.1", "oral"),
        ("obs ta37.1", "axillary"),
    ] {
        assert_eq!(
            fields(line),
            pairs(&[("temp", "37.1"), ("temp_site", site)]),
            "{line}"
        );
    }
    assert_eq!(fields("obs skin 34.5"), pairs(&[("skin_temp", "34.5")]));
    assert!(mistakes("obs tt98.6")[0].what.starts_with("temp: "));
}

#[test]
fn sources_units_and_readings_not_obtained() {
    assert_eq!(
        fields("obs p88@monitor patient"),
        pairs(&[("hr", "88@monitor"), ("source", "patient")])
    );
    assert_eq!(
        fields("obs bp 148/92@staff"),
        pairs(&[("sbp", "148@staff"), ("dbp", "92@staff")])
    );
    assert_eq!(
        fields("obs temp 37.1 c weight 72.5 kg"),
        pairs(&[("temp", "37.1 c"), ("weight", "72.5 kg")])
    );
    let refused = [
        ("sbp", "not obtained: refused"),
        ("dbp", "not obtained: refused"),
    ];
    assert_eq!(fields("obs bp none refused"), pairs(&refused));
    assert_eq!(
        fields("obs temp not obtained \"asleep\""),
        pairs(&[("temp", "not obtained: asleep")])
    );
    let why = mistakes("obs bp none rr 18");
    assert!(why[0].what.contains("no reason"), "{}", why[0].what);
    let fahrenheit = mistakes("obs temp 98.6 f");
    assert!(
        fahrenheit[0].what.contains("take it in °C"),
        "{:?}",
        fahrenheit
    );
}

#[test]
fn pain_alone_is_asked_about() {
    assert_eq!(fields("obs pain 3"), pairs(&[("pain", "3")]));
    assert_eq!(fields("obs avpu pain"), pairs(&[("acvpu", "pain")]));
    assert_eq!(
        mistakes("obs rr 18 pain")[0].accepted,
        "pain 3 (0 to 10), or avpu pain"
    );
}

const VIDEO: &str = "v rr18 s96 air 148/92 p88 t37.1 al n+4h \"well, eating\"";

#[test]
fn a_video_call_is_a_contact_and_the_readings_taken_in_it() {
    let made = entries(VIDEO);
    let [contact, obs] = made.drafts.as_slice() else {
        panic!("{} drafts", made.drafts.len());
    };
    for (field, value) in [
        ("mode", "video"),
        ("outcome", "reached"),
        ("next", "+4h"),
        ("how", "well, eating"),
    ] {
        assert_eq!(contact.get(field), Some(value), "{field}");
    }
    assert_eq!(contact.get("spoke_to"), None, "nobody said whom");
    assert_eq!(obs.fields.len(), 8, "seven readings, one of them a pair");
    assert_eq!(
        made.links,
        [Link {
            from: 1,
            field: "during",
            to: 0
        }]
    );
    for draft in &made.drafts {
        assert_eq!(draft.patient.as_deref(), Some("T07"));
        let read = draft.read(&cx().read()).expect("a whole entry");
        assert!(read.unusual.is_empty(), "{:?}", read.unusual);
    }
}

/// Counted by hand beside the machine: the characters of the line and Enter.
#[test]
fn a_routine_video_call_takes_at_most_sixty_keystrokes() {
    let keystrokes = VIDEO.chars().count() + 1;
    assert!(keystrokes <= 60, "{keystrokes} keystrokes");
}

#[test]
fn no_answer_is_a_finding() {
    let made = entries("p na then try-again n+15m attempt 2");
    assert_eq!(made.drafts.len(), 1);
    let draft = &made.drafts[0];
    for (field, value) in [
        ("mode", "phone"),
        ("outcome", "na"),
        ("then", "try-again"),
        ("attempt", "2"),
        ("next", "+15m"),
    ] {
        assert_eq!(draft.get(field), Some(value), "{field}");
    }
    assert!(draft.read(&cx().read()).is_ok());
}

#[test]
fn help_with_a_number_answers_an_alert_and_without_asks_for_help() {
    let made = entries("help #12 \"pressed by mistake\"");
    assert_eq!(made.drafts[0].get("mode"), Some("help"));
    assert_eq!(made.drafts[0].get("answers"), Some("#12"));
    let asked = parse("help tasks", &cx());
    assert_eq!(
        asked,
        Ok(Parsed::Command(Command::Plain {
            act: Act::Help,
            about: "tasks".to_owned(),
            as_of: None
        }))
    );
}

#[test]
fn a_word_that_could_stand_in_several_fields_is_asked_about() {
    let several = mistakes("v rr18 patient");
    assert!(
        several[0].accepted.contains("spoke_to patient"),
        "{}",
        several[0].accepted
    );
    assert!(
        several[0].accepted.contains("source patient"),
        "{}",
        several[0].accepted
    );
    let made = entries("v rr18 spoke patient src monitor");
    assert_eq!(made.drafts[0].get("spoke_to"), Some("patient"));
    assert_eq!(made.drafts[1].get("source"), Some("monitor"));
}

#[test]
fn every_mistake_is_found_with_its_place_and_nothing_is_dropped() {
    let line = "obs rr ninety sats 96 aire bp 148/92 frog 3";
    let found = mistakes(line);
    let places: Vec<&str> = found
        .iter()
        .map(|mistake| &line[mistake.at.clone()])
        .collect();
    assert_eq!(places, ["ninety", "aire", "frog", "3"]);
    assert!(
        mistakes("obs rr 18 sast 96")[0].accepted.contains("sat"),
        "a near word is offered"
    );
    assert!(mistakes("obs rr 95")[0].accepted.contains("1 to 80"));
    assert!(mistakes("obs rr18 rr19")[0].what.contains("given twice"));
    assert_eq!(mistakes("obs rr")[0].at, 6..6);
}

#[test]
fn text_of_several_words_needs_quotes() {
    let found = mistakes("wound site left heel side left");
    assert_eq!(
        found[0].accepted,
        "text of several words in quotes: site \"… heel\""
    );
    assert_eq!(
        fields("task \"repeat BP\" due 15:30 for nurse"),
        pairs(&[("what", "repeat BP"), ("due", "15:30"), ("role", "nurse")])
    );
    assert_eq!(
        fields("task due tomorrow 09:00 every 4h person maya -- repeat BP, both arms"),
        pairs(&[
            ("what", "repeat BP, both arms"),
            ("due", "tomorrow 09:00"),
            ("repeat", "every 4h"),
            ("person", "maya")
        ])
    );
    assert_eq!(
        fields("task \"x\" due 15:30 for maya")[1],
        ("person".to_owned(), "maya".to_owned())
    );
}

#[test]
fn a_time_at_a_task_is_never_taken_for_when_it_was_noticed() {
    assert!(
        mistakes("task \"repeat BP\" at 15:30")[0]
            .accepted
            .starts_with("due 15:30")
    );
    let made = entries("task \"repeat BP\" due 15:30 happened 12:30");
    assert_eq!(made.drafts[0].at.as_deref(), Some("12:30"));
}

#[test]
fn when_it_happened_why_late_and_what_belongs_with_it() {
    let made =
        entries("obs rr 18 at yesterday 22:15 late \"was with another patient\" related #12 #13");
    let draft = &made.drafts[0];
    assert_eq!(draft.at.as_deref(), Some("yesterday 22:15"));
    assert_eq!(
        draft.late_reason.as_deref(),
        Some("was with another patient")
    );
    assert_eq!(draft.related.as_deref(), Some("#12 #13"));
    assert!(
        mistakes("obs rr 18 at tomorrow 09:00")[0]
            .what
            .contains("still to come")
    );
    // The night the clock goes back: 25-Oct-2026, 03:00 GMT.
    let autumn = ShorthandContext {
        now: Timestamp(1_792_897_200_000_000),
        ..cx()
    };
    let twice = parse("obs rr 18 at 01:30", &autumn).expect_err("it happens twice");
    assert!(twice[0].what.contains("happens twice"), "{}", twice[0].what);
    assert!(parse("obs rr 18 at 01:30 BST", &autumn).is_ok());
    let accepted = twice[0].accepted.split(" or ");
    for example in accepted {
        let line = format!("obs rr 18 at {example}");
        let read = parse(&line, &autumn);
        assert!(matches!(read, Ok(Parsed::Entries(_))), "{line}: {read:?}");
    }
}

#[test]
fn a_note_is_the_rest_of_the_line() {
    assert_eq!(
        fields("note says \"fine\", looks pale"),
        pairs(&[("text", "says \"fine\", looks pale")])
    );
    assert_eq!(
        fields("note topic=family at=12:30 daughter rang"),
        pairs(&[("text", "daughter rang"), ("topic", "family")])
    );
    assert_eq!(
        entries("note at=12:30 x").drafts[0].at.as_deref(),
        Some("12:30")
    );
    assert_eq!(
        fields("watch RR above 24: call the registrar")[1].1,
        "watch-for"
    );
    assert!(fields("note").is_empty());
    assert_eq!(entries("note @ward fire drill").drafts[0].patient, None);
}

#[test]
fn steps_name_their_entry() {
    for (line, expected) in [
        ("done #45", vec![("step", "done"), ("task", "#45")]),
        (
            "done #45 \"128/76\"",
            vec![("step", "done"), ("task", "#45"), ("detail", "128/76")],
        ),
        (
            "notdone #45 \"asleep\"",
            vec![("step", "not-done"), ("task", "#45"), ("reason", "asleep")],
        ),
        (
            "defer #45 to 18:00 \"visitors\"",
            vec![
                ("step", "deferred"),
                ("task", "#45"),
                ("until", "18:00"),
                ("reason", "visitors"),
            ],
        ),
        ("take #12", vec![("step", "taken"), ("alert", "#12")]),
        (
            "take #12 over",
            vec![("step", "taken"), ("alert", "#12"), ("take_over", "yes")],
        ),
        (
            "close #12 mistake \"asleep on it\"",
            vec![
                ("step", "closed"),
                ("alert", "#12"),
                ("outcome", "mistake"),
                ("what", "asleep on it"),
            ],
        ),
        (
            "delivered #60 two holder \"Mrs Pell\"",
            vec![
                ("step", "delivered"),
                ("supply", "#60"),
                ("identity", "two"),
                ("holder", "Mrs Pell"),
            ],
        ),
        (
            "result #50 crp 148 (0-5); k 4.1 (3.5-5.3) fit",
            vec![
                ("sample", "#50"),
                ("values", "crp 148 (0-5); k 4.1 (3.5-5.3)"),
                ("quality", "fit"),
            ],
        ),
        (
            "result #50 crp 148 k 4.1",
            vec![("sample", "#50"), ("values", "crp 148; k 4.1")],
        ),
    ] {
        assert_eq!(fields(line), pairs(&expected), "{line}");
    }
}

#[test]
fn another_patient_can_be_named_on_the_line() {
    assert_eq!(
        entries("obs @pell rr 18").drafts[0].patient.as_deref(),
        Some("pell")
    );
    assert_eq!(
        entries("obs patient=\"Pell, Rose\" rr 18").drafts[0]
            .patient
            .as_deref(),
        Some("Pell, Rose")
    );
    assert_eq!(
        entries("shift Night from 20:00 until tomorrow 08:00").drafts[0].patient,
        None
    );
    assert!(
        mistakes("shift Night @pell from 20:00 until tomorrow 08:00")[0]
            .what
            .contains("about the ward")
    );
}

#[test]
fn what_came_in_by_pasting_is_shown_and_refused() {
    let line = "note well\u{1b}[31m\u{202e}";
    let found = mistakes(line);
    assert_eq!(found.len(), 2);
    assert_eq!(
        found[0].what,
        "an invisible character (U+001B) came with the text"
    );
    assert!(is_unfinished("v \"well"));
    assert!(!is_unfinished("note the 12\" ruler"));
    assert!(mistakes("obs \"well")[0].what.contains("not closed"));
}

#[test]
fn commands_take_their_words() {
    let plain = |line: &str| match parse(line, &cx()) {
        Ok(Parsed::Command(Command::Plain { act, about, as_of })) => (act, about, as_of),
        other => panic!("{line}: {other:?}"),
    };
    assert_eq!(plain("sel pell").1, "pell");
    let (act, about, as_of) = plain("timeline pell as-of 02:10");
    assert_eq!((act, about.as_str()), (Act::Timeline, "pell"));
    assert!(as_of.is_some());
    assert_eq!(plain("as-of yesterday 02:10 alerts").0, Act::Alerts);
    assert_eq!(plain("handover as-of 02:10").0, Act::Handover);
    let handover = parse("ho query @pell \"who visits?\"", &cx());
    let Ok(Parsed::Command(Command::Handover {
        act, about, texts, ..
    })) = handover
    else {
        panic!("{handover:?}");
    };
    assert_eq!(
        (act, about.as_str(), texts.len()),
        (HandoverAct::Query, "pell", 1)
    );
    let withdrawn = parse(
        "withdraw #12 wrong-patient \"meant Mr Osei\" anew #13",
        &cx(),
    );
    let Ok(Parsed::Command(Command::Withdraw {
        seq, cause, anew, ..
    })) = withdrawn
    else {
        panic!("{withdrawn:?}");
    };
    assert_eq!(
        (seq.0, cause.as_deref(), anew.map(|seq| seq.0)),
        (12, Some("wrong-patient"), Some(13))
    );
    for wrong in [
        "show",
        "show x",
        "withdraw #12 frog",
        "as-of",
        "as-of 02:10",
        "as-of 02:10 frog",
        "tl as-of frog",
    ] {
        assert!(parse(wrong, &cx()).is_err(), "{wrong} was taken");
    }
}

#[test]
fn a_correction_reads_the_fields_of_its_kind() {
    let line = "correct #40 rr 19 cause typing because \"hit the wrong key\"";
    let Ok(Parsed::Command(Command::Correct { seq, fields_at })) = parse(line, &cx()) else {
        panic!("a correction");
    };
    let made = parse_correction(Kind::Observation, line, fields_at, &cx()).expect("read");
    assert_eq!(seq.0, 40);
    assert_eq!(made.drafts[0].fields, pairs(&[("rr", "19")]));
    assert_eq!(made.drafts[1].get("cause"), Some("typing"));
    assert_eq!(made.drafts[1].get("reason"), Some("hit the wrong key"));
}

/// Each example of the help must be what it says: an entry that lacks nothing but what the
/// ward's state gives it.
#[test]
fn every_example_in_the_help_is_taken() {
    for verb in VERBS {
        let made = entries(verb.example);
        let alone = verb.words.contains(&verb.example);
        for mut draft in made.drafts.into_iter().filter(|_| !alone) {
            if draft.patient.is_none() && draft.kind != "shift" && draft.kind != "policy" {
                // A step follows its entry; the station looks up whose it is.
                draft.patient = Some("T07".to_owned());
            }
            if let Err(refusals) = draft.read(&cx().read()) {
                panic!("{}: {}", verb.example, refusals[0]);
            }
        }
    }
}

#[test]
fn the_tables_agree_with_the_record() {
    for verb in VERBS {
        let names: Vec<&str> = verb.kind.specs().iter().map(|spec| spec.name).collect();
        for (field, _) in verb.fixed.iter().chain(verb.otherwise) {
            assert!(names.contains(field), "{:?} sets {field}", verb.words);
        }
    }
    for kind in Kind::ALL {
        let specs = kind.specs();
        let known = |name: &str| specs.iter().find(|spec| spec.name == name);
        if let Some(field) = alias::text_field(*kind) {
            let shape = known(field).map(|spec| spec.shape);
            assert!(
                matches!(shape, Some(Shape::Line | Shape::Note)),
                "{kind:?} {field}"
            );
        }
        if let Some(field) = alias::entry_field(*kind) {
            assert_eq!(
                known(field).map(|spec| spec.shape),
                Some(Shape::Entry),
                "{kind:?} {field}"
            );
        }
        for field in alias::bare_fields(*kind) {
            assert!(known(field).is_some(), "{kind:?} {field}");
        }
        let typed = kind.is_made_by_program() || VERBS.iter().any(|verb| verb.kind == *kind);
        assert!(typed, "nothing types a {kind:?}");
    }
    let mut seen = std::collections::BTreeSet::new();
    let words = VERBS
        .iter()
        .flat_map(|verb| verb.words)
        .chain(COMMANDS.iter().flat_map(|c| c.words));
    for word in words.filter(|word| **word != "help") {
        assert!(seen.insert(word), "\"{word}\" is there twice");
    }
}

proptest::proptest! {
    /// Whatever is typed, every word of a taken line is found again in an entry, and every
    /// mistake points into the line.
    #[test]
    fn any_line_is_taken_whole_or_refused_in_place(line in "(obs|v|task|wound|result) [a-z0-9 \"#=@/.+-]{0,40}") {
        match parse(&line, &cx()) {
            Err(mistakes) => {
                proptest::prop_assert!(!mistakes.is_empty());
                for mistake in mistakes {
                    proptest::prop_assert!(line.get(mistake.at.clone()).is_some(), "{:?}", mistake.at);
                }
            }
            Ok(Parsed::Entries(entries)) => {
                let kept: String = entries.drafts.iter().map(|draft| format!("{draft:?}")).collect();
                let digits = |text: &str| text.bytes().filter(u8::is_ascii_digit).collect::<Vec<u8>>();
                for word in digits(&line) {
                    proptest::prop_assert!(digits(&kept).contains(&word));
                }
            }
            Ok(_) => {}
        }
    }
}

/// Lower case can be longer (İ) or shorter (ẞ) than what was typed.
#[test]
fn letters_that_change_length_in_lower_case_are_typed_like_any_other() {
    for line in [
        "obs İ=1",
        "obs İİ=1 rr18",
        "obs 148/92@İ",
        "obs bp148/92@ẞẞ",
    ] {
        let found = mistakes(line);
        assert!(!found.is_empty(), "{line}");
        assert!(
            found.iter().all(|one| line.get(one.at.clone()).is_some()),
            "{line}: {found:?}"
        );
    }
    assert!(mistakes("obs İ=1")[0].what.contains("i\u{307}"));
    assert!(
        mistakes("obs bp148/92@ẞẞ")[0].what.contains("ß"),
        "{:?}",
        mistakes("obs bp148/92@ẞẞ")
    );
    assert_eq!(fields("obs rr=\"NONE ẞẞ\""), pairs(&[("rr", "NONE ẞẞ")]));
}

#[test]
fn words_after_a_time_are_no_zone_letters() {
    // The clock goes back at 02:00 on 25 October 2026 (GOV.UK, "When do the clocks change?").
    let cx = ShorthandContext {
        now: Timestamp(1_792_904_400_000_000),
        ..cx()
    };
    let mistakes = parse("obs rr 18 at 01:30 late \"with another patient\"", &cx)
        .expect_err("the hour happens twice");
    assert!(mistakes[0].what.contains("happens twice"), "{mistakes:?}");
    assert!(mistakes[0].accepted.contains("01:30 BST"), "{mistakes:?}");
    for (line, at) in [
        ("obs rr 18 at 01:30 BST late \"busy\"", "01:30 BST"),
        ("obs rr 18 at 00:30 UTC late \"busy\"", "00:30 UTC"),
        ("obs rr 18 at 00:45 late \"busy\"", "00:45"),
    ] {
        let Ok(Parsed::Entries(entries)) = parse(line, &cx) else {
            panic!("{line}: {:?}", parse(line, &cx))
        };
        assert_eq!(entries.drafts[0].at.as_deref(), Some(at), "{line}");
        assert_eq!(
            entries.drafts[0].late_reason.as_deref(),
            Some("busy"),
            "{line}"
        );
    }
    let mistakes = parse("obs rr 18 at 00:45 soon", &cx).expect_err("soon is no field");
    assert!(mistakes[0].what.contains("soon"), "{mistakes:?}");
}

#[test]
fn readings_said_together_can_be_written_out() {
    let read = cx().read();
    let spelt = |name: &str, text: &str| composite(Kind::Observation, name, text, &read);
    let pair = |a: &str, b: &str| (a.to_owned(), b.to_owned());
    assert_eq!(
        spelt("bp", "148/92"),
        Some(Ok(vec![pair("sbp", "148"), pair("dbp", "92")]))
    );
    assert_eq!(
        spelt("tt", "37.1"),
        Some(Ok(vec![
            pair("temp", "37.1"),
            pair("temp_site", "tympanic")
        ]))
    );
    assert_eq!(spelt("o2", "air"), Some(Ok(vec![pair("oxygen", "air")])));
    assert!(matches!(spelt("bp", "148"), Some(Err(_))));
    assert_eq!(spelt("rr", "18"), None);
    assert_eq!(composite(Kind::Note, "bp", "148/92", &read), None);
}
