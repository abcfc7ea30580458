//! What a night nurse looked for and did not find.

use super::*;
use crate::record::time::Span;
use crate::shorthand::Act;
use crate::view::lists::{DueFilter, due_list};
use crate::view::origin::Vantage;

const ON_OXYGEN: &str = "rr 18 nc 1 bp 128/76 hr 88 temp 37.1 al";

fn put(desk: &mut Desk, kind: Kind, patient: &str, fields: &[(&str, &str)]) -> Seq {
    let mut draft = Draft::new(kind);
    draft.patient = Some(patient.to_owned());
    draft.confirm = true;
    for (name, value) in fields {
        draft.set(name, (*value).to_owned());
    }
    let tom = desk.tom.clone();
    let receipt = held(&desk.session.station).submit(&tom, &draft);
    receipt.expect("recorded").seq
}

/// RCP NEWS2 (2017), chart 1: on scale 2 the target is 88 to 92 %, and 93 and over on oxygen
/// is too much.
#[test]
fn scale_2_and_what_is_above_its_target_are_said() {
    let mut desk = desk();
    let said = desk.turn(&format!("obs s95 {ON_OXYGEN}"));
    assert!(
        said.contains("points:") && !said.contains("scale 2"),
        "{said}"
    );
    put(
        &mut desk,
        Kind::EpisodeChange,
        "T09",
        &[
            ("scale", "2"),
            ("scale_by", "Dr Amin"),
            ("why", "prescribed"),
        ],
    );
    let scale = "SpO2 scale 2, target 88 to 92 %, prescribed by Dr Amin";
    let above = "SpO2 95 % is above target on oxygen";
    desk.session.state = State::Ready(None);
    let said = desk.turn(&format!("obs s95 {ON_OXYGEN} confirm"));
    assert!(said.contains(scale) && said.contains(above), "{said}");
    let card = desk.turn("t09");
    assert!(card.contains(scale), "{card}");
    let workings = {
        let station = held(&desk.session.station);
        let patient = station.resolve_patient("T09").expect("found");
        let patient = station.ward().patient(patient).expect("known");
        crate::ward::workings::workings(station.ward(), patient, station.now())
    };
    assert!(workings.iter().any(|one| one.text.starts_with(above)));
    let mut parts = workings.iter().flat_map(|one| &one.parts);
    assert!(parts.any(|part| part.value == scale));
    desk.session.state = State::Ready(None);
    let said = desk.turn(&format!("obs s92 {ON_OXYGEN} confirm"));
    assert!(
        said.contains(scale) && !said.contains("above target"),
        "{said}"
    );
    let card = desk.turn("t07");
    assert!(!card.contains("scale 2"), "{card}");
}

#[test]
fn one_patients_list_says_whose_it_is_and_what_is_overdue_elsewhere() {
    let mut desk = desk();
    put(
        &mut desk,
        Kind::Task,
        "T09",
        &[
            ("what", "ring the chemist"),
            ("due", "+2h"),
            ("role", "nurse"),
        ],
    );
    let late = [("what", "ring the son"), ("due", "+30m"), ("role", "nurse")];
    put(&mut desk, Kind::Task, "T07", &late);
    let station = held(&desk.session.station);
    let vantage = Vantage {
        ward: station.ward(),
        now: station.now().plus(Span::hours(1)),
        since: None,
    };
    let patient = Some(station.resolve_patient("T09").expect("found"));
    let one = due_list(
        &vantage,
        &DueFilter {
            patient,
            ..DueFilter::default()
        },
    );
    let page = format!("{:?}", one.page());
    assert!(
        page.contains("OSEI, Kofi only: 1, 0 overdue; 1 overdue elsewhere"),
        "{page}"
    );
    let all = format!("{:?}", due_list(&vantage, &DueFilter::default()).page());
    assert!(all.contains("Due: 2, 1 overdue"), "{all}");
}

/// Ours, no source: theirs, their patients', and what is left to their role.
#[test]
fn what_falls_to_somebody_is_theirs_their_patients_and_their_roles() {
    let mut desk = desk();
    let task = |what, more: (&'static str, &'static str)| [("what", what), ("due", "+1h"), more];
    put(
        &mut desk,
        Kind::Task,
        "T07",
        &task("of maya", ("person", "maya")),
    );
    put(
        &mut desk,
        Kind::Task,
        "T07",
        &task("of tom", ("person", "tom")),
    );
    put(
        &mut desk,
        Kind::Task,
        "T07",
        &task("of nurses", ("role", "nurse")),
    );
    put(
        &mut desk,
        Kind::Task,
        "T07",
        &task("of doctors", ("role", "doctor")),
    );
    put(
        &mut desk,
        Kind::Task,
        "T09",
        &task("of tom on T09", ("person", "tom")),
    );
    let nobodys = [("what", "of nobody, by tom"), ("due", "+1h")];
    put(&mut desk, Kind::Task, "T07", &nobodys);
    desk.turn("t07");
    let said = desk.turn("task \"of nobody, by maya\" due +1h");
    assert!(said.contains("; whose: nobody"), "{said}");
    put(&mut desk, Kind::Allocation, "T09", &[("to", "maya")]);
    let station = held(&desk.session.station);
    let vantage = Vantage {
        ward: station.ward(),
        now: station.now(),
        since: None,
    };
    let falls_to = Some((Handle("maya".to_owned()), Role::Nurse));
    let list = due_list(
        &vantage,
        &DueFilter {
            falls_to,
            ..DueFilter::default()
        },
    );
    let what: Vec<&str> = list.items.iter().map(|row| row.due.what.as_str()).collect();
    assert_eq!(
        what,
        [
            "of maya",
            "of nurses",
            "of tom on T09",
            "of nobody, by maya"
        ]
    );
}

/// Ours, no source: what may wait for the shift does not stand before what may not.
#[test]
fn an_unseen_critical_result_stands_above_soon_alerts_and_what_is_overdue() {
    let mut desk = desk();
    let alert = |severity, what| {
        [
            ("source", "help-button"),
            ("severity", severity),
            ("what", what),
        ]
    };
    put(&mut desk, Kind::Alert, "T07", &alert("soon", "call back"));
    put(&mut desk, Kind::Alert, "T07", &alert("urgent", "fell"));
    let values = [("values", "k 6.9 (3.5-5.3)"), ("critical", "yes")];
    put(&mut desk, Kind::LabResult, "T07", &values);
    let card = desk.turn("t07");
    let at = |what: &str| card.find(what).unwrap_or_else(|| panic!("{what}: {card}"));
    let (urgent, soon) = (at("urgent: fell"), at("soon: call back"));
    let critical = at("CRITICAL RESULT");
    assert!(urgent < critical && critical < soon, "{card}");
}

#[test]
fn a_task_for_a_set_is_offered_after_a_complete_set_of_its_time_only() {
    let mut desk = desk();
    let due = [
        ("what", "Full set"),
        ("due", "+30m"),
        ("kind", "obs"),
        ("role", "nurse"),
    ];
    let task = put(&mut desk, Kind::Task, "T09", &due);
    let offer = format!("task {task} done");
    let said = desk.turn("obs s96 air confirm");
    assert!(
        said.contains("no NEWS2 total") && !said.contains(&offer),
        "{said}"
    );
    desk.session.state = State::Ready(None);
    let full = "obs rr 18 s96 air bp 128/76 hr 88 temp 37.1 al confirm";
    let said = desk.turn(&format!("{full} at 02:10 late \"busy\""));
    assert!(said.contains("NEWS2 0") && !said.contains(&offer), "{said}");
    desk.session.state = State::Ready(None);
    let said = desk.turn(full);
    assert!(said.contains(&offer), "{said}");
}

/// RCPath G158 (2017): potassium is told by voice from 6.5 mmol/L on, whether or not whoever
/// typed it in ticked "critical".
#[test]
fn a_critical_result_nobody_has_seen_counts_in_the_status_line_and_is_told_to_others() {
    let mut desk = desk();
    let status = |desk: &Desk| {
        let known = super::super::look::known(&held(&desk.session.station), None, None);
        known.status.fitted(100)
    };
    assert!(!status(&desk).contains("CRITICAL"), "{}", status(&desk));
    put(
        &mut desk,
        Kind::LabResult,
        "T09",
        &[("values", "k 4.1 (3.5-5.3)")],
    );
    assert!(!status(&desk).contains("CRITICAL"), "{}", status(&desk));
    let seq = put(
        &mut desk,
        Kind::LabResult,
        "T09",
        &[("values", "k 6.8 (3.5-5.3)")],
    );
    let said = status(&desk);
    assert!(
        said.contains("1 CRITICAL result unseen (0min) | no open alerts"),
        "{said}"
    );
    let told = {
        let station = held(&desk.session.station);
        let Ok(Read::Entry(entry)) = station.entry(seq) else {
            panic!("{seq} cannot be read")
        };
        super::super::look::notice(&station, &entry, None)
    };
    assert!(told.is_some_and(|told| told.contains("CRITICAL RESULT")));
    desk.turn(&format!("review {seq} escalated confirm"));
    assert!(!status(&desk).contains("CRITICAL"), "{}", status(&desk));
}

/// What nobody can find on record, nobody does: a critical result is not put away with a word.
#[test]
fn a_critical_result_is_not_put_away_unasked_while_nothing_follows_it_up() {
    let mut desk = desk();
    let mut result = |k: &str| {
        let values = format!("k {k} (3.5-5.3)");
        put(&mut desk, Kind::LabResult, "T09", &[("values", &values)])
    };
    let (fine, critical) = (result("5.4"), result("6.8"));
    for line in [
        "acted \"rang the registrar\"".to_owned(),
        "none-needed".to_owned(),
        "escalated".to_owned(),
    ] {
        let head = desk.head();
        let said = desk.turn(&format!("review {critical} {line}"));
        for part in [
            "is CRITICAL (potassium 6.8 mmol/L (3.5-5.3); T09 OSEI, Kofi)",
            "no escalation, task or repeat",
        ] {
            assert!(said.contains(part), "{line}: {said}");
        }
        assert!(desk.is_asked() && desk.head() == head, "{line}: {said}");
        desk.turn("no");
    }
    // One that is only outside its range is nobody's question.
    desk.records(&format!("review {fine} acted \"rang the registrar\""));
    // A time for the repeat follows it up; so does a task that was recorded since.
    desk.records(&format!("review {critical} repeat repeat_by=+4h"));
    let second = put(
        &mut desk,
        Kind::LabResult,
        "T09",
        &[("values", "k 6.9 (3.5-5.3)")],
    );
    put(
        &mut desk,
        Kind::Task,
        "T07",
        &[("what", "repeat K"), ("due", "+2h"), ("role", "nurse")],
    );
    desk.turn(&format!("review {second} acted \"rang the registrar\""));
    assert!(desk.is_asked(), "another patient's task follows nothing up");
    desk.turn("no");
    put(
        &mut desk,
        Kind::Task,
        "T09",
        &[("what", "repeat K"), ("due", "+2h"), ("role", "nurse")],
    );
    desk.records(&format!("review {second} acted \"rang the registrar\""));
    // Asked once: whoever says yes has it recorded.
    let third = put(
        &mut desk,
        Kind::LabResult,
        "T09",
        &[("values", "k 7.0 (3.5-5.3)")],
    );
    desk.turn(&format!("review {third} acted \"rang the registrar\""));
    let head = desk.head();
    let said = desk.turn("y");
    assert!(desk.head() > head && !desk.is_asked(), "{said}");
}

#[test]
fn a_ward_is_taken_over_unread_only_after_a_question_that_names_what_comes_with_it() {
    let mut desk = desk();
    let result = put(
        &mut desk,
        Kind::LabResult,
        "T09",
        &[("values", "k 6.8 (3.5-5.3)")],
    );
    let escalation = put(
        &mut desk,
        Kind::Escalation,
        "T07",
        &[
            ("to_role", "on-call registrar"),
            ("how", "phone"),
            ("situation", "NEWS2 7"),
            ("background", "COPD"),
            ("assessment", "worse"),
            ("recommendation", "come"),
        ],
    );
    let handover = desk.prepared_by_tom();
    let comes = [
        format!("CRITICAL RESULT {result}, T09 OSEI, Kofi: nobody has looked at it"),
        format!("ESCALATION {escalation} to on-call registrar, T07 PELL, Kofi: NOT ANSWERED"),
    ];
    let said = desk.turn("handover accept");
    assert!(
        desk.is_asked() && said.contains("you have not opened its sheet"),
        "{said}"
    );
    assert!(comes.iter().all(|one| said.contains(one)), "{said}");
    let head = desk.head();
    desk.turn("no");
    assert_eq!(desk.head(), head);
    // As it stood, or somebody else's look, is no look at what is taken over.
    desk.turn("handover as-of 02:10");
    desk.turn("handover accept");
    assert!(desk.is_asked());
    desk.turn("no");
    desk.turn(&format!("handover show {handover}"));
    let said = desk.turn("handover accept");
    assert!(!desk.is_asked() && desk.head() > head, "{said}");
    assert!(
        comes
            .iter()
            .all(|one| said.contains(&format!("yours now: {one}"))),
        "{said}"
    );
}

#[test]
fn yes_or_the_word_confirm_takes_a_ward_over_unread() {
    for (lines, can_ask) in [
        (["handover accept", "y"], true),
        (["handover accept", "handover accept confirm"], false),
    ] {
        let mut desk = desk();
        desk.prepared_by_tom();
        desk.session.can_ask = can_ask;
        let head = desk.head();
        let said = desk.turn(lines[0]);
        assert_eq!(desk.head(), head, "{said}");
        assert!(
            can_ask || said.contains("handover accept confirm"),
            "{said}"
        );
        let said = desk.turn(lines[1]);
        assert!(desk.head() > head && said.contains("accepted"), "{said}");
    }
}

#[test]
fn a_timeline_can_begin_with_today_and_says_what_that_leaves_out() {
    let mut desk = desk();
    put(
        &mut desk,
        Kind::Note,
        "T09",
        &[
            ("text", "slept badly"),
            ("at", "yesterday 02:10"),
            ("late_reason", "typed up"),
        ],
    );
    desk.records("note eats well");
    let page = |desk: &mut Desk, line: &str| {
        let said = desk.turn(line);
        desk.session.take_drawn().expect(&said)
    };
    let all = page(&mut desk, "timeline");
    let today = page(&mut desk, "timeline today");
    assert!(
        all.contains("eats well") && !all.contains("TODAY ONLY"),
        "{all}"
    );
    assert!(
        today.contains("eats well") && today.contains("slept badly"),
        "written today: {today}"
    );
    assert!(
        today.contains("TODAY ONLY: 0 earlier entries are left out"),
        "{today}"
    );
    let named = page(&mut desk, "timeline osei today");
    assert_eq!(named, today);
    let then = held(&desk.session.station).now().plus(Span::days(1));
    let station = held(&desk.session.station);
    let vantage = Vantage {
        ward: station.ward(),
        now: then,
        since: None,
    };
    let reads: Vec<Read> = station
        .entries([Seq(4), station.head().seq])
        .into_iter()
        .flatten()
        .collect();
    let patient = station
        .ward()
        .caseload()
        .into_iter()
        .find(|one| one.slot() == Some("T09"));
    let mut tomorrow = crate::view::timeline::timeline(&vantage, patient, &reads, false);
    let before = tomorrow.entries.len();
    assert!(before > 0);
    assert_eq!((tomorrow.keep_today(), tomorrow.entries.len()), (before, 0));
}

/// Whoever asks who is on the ward must see who needs somebody, in words and not by their absence.
#[test]
fn the_list_of_patients_names_what_is_open_and_who_is_silent() {
    let mut desk = desk();
    let before = desk.turn("patients");
    for word in ["ESCALATION", "NOT LOOKED AT", "alert"] {
        assert!(!before.contains(word), "{word}: {before}");
    }
    let call = [
        ("situation", "breathless"),
        ("background", "chest infection"),
        ("assessment", "worse"),
        ("recommendation", "see her"),
        ("to_role", "registrar"),
        ("how", "phone"),
        ("answer_by", "+1h"),
    ];
    put(&mut desk, Kind::Escalation, "T07", &call);
    let alert = [
        ("source", "nurse"),
        ("severity", "urgent"),
        ("what", "fell"),
    ];
    put(&mut desk, Kind::Alert, "T09", &alert);
    let values = [("values", "k 6.9 (3.5-5.3)"), ("critical", "yes")];
    put(&mut desk, Kind::LabResult, "T09", &values);
    let said = desk.turn("patients");
    let line = |said: &str, slot: &str| {
        let line = said.lines().find(|line| line.starts_with(slot));
        line.expect("a line each").to_owned()
    };
    assert!(line(&said, "T07").contains("; 1 open ESCALATION"), "{said}");
    let of_t09 = line(&said, "T09");
    for words in ["; 1 open alert;", "1 result NOT LOOKED AT (1 CRITICAL)"] {
        assert!(of_t09.contains(words), "{words}: {said}");
    }
    assert!(!said.contains("(s)"), "{said}");
    put(&mut desk, Kind::Observation, "T09", &[("rr", "18")]);
    let now = held(&desk.session.station).now();
    let later = desk
        .session
        .view(Act::Patients, "", Some(now.plus(Span::hours(40))));
    assert!(line(&later, "T09").contains("SILENT"), "{later}");
    assert!(line(&later, "T07").contains("SILENT"), "{later}");
    let soon = desk.session.view(Act::Patients, "", Some(now));
    assert!(!line(&soon, "T09").contains("SILENT"), "{soon}");
}

#[test]
fn the_baseline_names_what_nobody_recorded_and_the_key_safe_to_who_visits() {
    let mut desk = desk();
    let said = desk.turn("baseline");
    for words in [
        "CPR to be attempted",
        "usual mind         not recorded",
        "home oxygen        not recorded",
        "if worse           not recorded",
        "key safe           not recorded",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    assert!(!said.contains("base_"), "no code names: {said}");
    let home = [
        ("why", "visit"),
        ("key_safe", "4711 left of the door"),
        ("smoker", "yes"),
    ];
    put(&mut desk, Kind::EpisodeChange, "T09", &home);
    put(&mut desk, Kind::Observation, "T09", &[("oxygen", "nc 2")]);
    let said = desk.turn("baseline");
    assert!(said.contains("SMOKER BESIDE OXYGEN"), "{said}");
    assert!(
        said.contains("key safe           4711 left of the door"),
        "{said}"
    );
    let keeper = Handle("keeper".to_owned());
    let keeper = held(&desk.session.station)
        .unlock(&keeper, PIN)
        .expect("unlocked");
    desk.session.unlocked(keeper);
    let said = desk.turn("baseline t09");
    assert!(said.contains("held, not shown here"), "{said}");
    assert!(!said.contains("4711"), "no visitor: {said}");
}

/// "done" of a task that is due again reads as if there were nothing to do.
#[test]
fn a_repeat_says_when_it_was_last_done_and_is_not_new_for_that() {
    let mut desk = desk();
    let fields = [
        ("what", "repeat BP"),
        ("due", "+1h"),
        ("repeat", "every 4h"),
        ("role", "nurse"),
    ];
    let task = put(&mut desk, Kind::Task, "T09", &fields);
    let before = desk.head();
    let number = task.to_string();
    put(
        &mut desk,
        Kind::TaskStep,
        "T09",
        &[("task", &number), ("step", "done")],
    );
    let page = |desk: &Desk, since| {
        let station = held(&desk.session.station);
        let vantage = Vantage {
            ward: station.ward(),
            now: station.now().plus(Span::hours(20)),
            since: Some(since),
        };
        let list = due_list(&vantage, &DueFilter::default());
        let paper = crate::view::render::text::Paper::plain(200);
        crate::view::render::text::page(&list.page(), paper)
    };
    let at = {
        let station = held(&desk.session.station);
        station.zone().day_time(station.now())
    };
    let shown = page(&desk, before);
    assert!(shown.contains(&format!("(last done {at})")), "{shown}");
    assert!(!shown.contains("last step"), "{shown}");
    assert!(
        !shown.contains("[new]"),
        "set before the last sheet: {shown}"
    );
    let shown = page(&desk, Seq(1));
    assert!(shown.contains("[new] repeat BP"), "set since: {shown}");
    let off = [
        ("task", &*number),
        ("step", "deferred"),
        ("until", "+6h"),
        ("reason", "asleep"),
    ];
    put(&mut desk, Kind::TaskStep, "T09", &off);
    let shown = page(&desk, before);
    assert!(
        shown.contains("last step: ") && shown.contains("asleep"),
        "{shown}"
    );
    assert!(
        shown.contains("[new] repeat BP"),
        "it was put off since: {shown}"
    );
}

/// Before its first entry a journal has an owner and a clock, and no entry: said, not drawn as an
/// empty ward.
#[test]
fn before_the_first_entry_every_view_says_that_nothing_was_recorded_yet() {
    let mut desk = desk();
    let now = held(&desk.session.station).now();
    let then = Some(now.plus(Span::hours(-24)));
    for act in [Act::Caseload, Act::Alerts, Act::Tasks, Act::Handover] {
        desk.session.view(act, "all", then);
        let page = desk.session.take_drawn().expect("a page");
        for words in [
            "NOTHING WAS RECORDED YET",
            "TEACHING JOURNAL",
            "Tansy Ward",
            "(BST,",
        ] {
            assert!(page.contains(words), "{act:?}, {words}: {page}");
        }
        assert!(!page.contains("000000"), "{act:?}: {page}");
        desk.session.view(act, "all", Some(now));
        let page = desk.session.take_drawn().expect("a page");
        assert!(!page.contains("NOTHING WAS RECORDED"), "{act:?}: {page}");
    }
    let said = desk.session.view(Act::Patients, "", then);
    for words in ["NOTHING WAS RECORDED YET", "TEACHING JOURNAL"] {
        assert!(said.contains(words), "{words}: {said}");
    }
}
