//! Numbers at their edges, from the entry to the sentence: what is shown never stands past a
//! limit that was not reached, and nothing is taken in that its rule leaves out.

use handfast::record::ids::Seq;
use handfast::record::kind::Kind;
use handfast::ward::workings::{About, Working, workings};

use crate::material::{Story, pseudonym};

fn of(story: &Story, about: About) -> Vec<Working> {
    let ward = story.ward();
    let patient = ward.patient(pseudonym(0)).unwrap();
    let mut all = workings(&ward, patient, story.now);
    all.retain(|working| working.about == about);
    all
}

fn obs(story: &mut Story, fields: &str) -> Seq {
    story.log(1, Some(0), Kind::Observation, fields)
}

fn result(story: &mut Story, values: &str) -> Seq {
    story.log(1, Some(0), Kind::LabResult, &format!("values={values}"))
}

fn saying<'a>(worked: &'a [Working], words: &str) -> &'a Working {
    let found = worked.iter().find(|working| working.text.contains(words));
    found.unwrap_or_else(|| panic!("nothing says \"{words}\": {worked:?}"))
}

fn parts(working: &Working) -> String {
    let shown = |part: &handfast::ward::workings::Part| format!("{}: {}", part.name, part.value);
    working
        .parts
        .iter()
        .map(shown)
        .collect::<Vec<_>>()
        .join("; ")
}

/// Clinical reference W3, second home series: seated readings of days 2 to 4 average 135/85.
/// NICE NG136 1.2.7 averages seated readings, so a standing one beside each changes nothing.
#[test]
fn standing_and_lying_pressures_are_not_in_the_home_average() {
    let mut story = Story::begin();
    for (sbp, dbp) in [(128, 78), (140, 88), (134, 84), (131, 83)] {
        for _ in 0..4 {
            let seated = format!("sbp={sbp}; dbp={dbp}; posture=sitting; source=patient");
            obs(&mut story, &seated);
            story.wait(2);
        }
        obs(
            &mut story,
            "sbp=92; dbp=60; posture=standing; source=patient",
        );
        story.wait(2);
        obs(&mut story, "sbp=96; dbp=62; posture=lying; source=patient");
        story.wait(24 * 60 - 10);
    }
    let pressure = of(&story, About::Pressure);
    let average = saying(&pressure, "Home BP average");
    assert!(
        average.text.contains("average 135/85 over 4 days"),
        "{average:?}"
    );
    assert!(
        parts(average).contains("left out: 8 readings standing or lying"),
        "{average:?}"
    );
    assert_eq!(average.entries.len(), 16, "only what was counted");
}

#[test]
fn a_home_average_says_where_nobody_recorded_the_posture() {
    let mut story = Story::begin();
    for _ in 0..4 {
        obs(&mut story, "sbp=128; dbp=78; source=patient");
        story.wait(24 * 60);
    }
    let pressure = of(&story, About::Pressure);
    let average = saying(&pressure, "Home BP average");
    assert!(
        parts(average).contains("4 readings without a posture"),
        "{average:?}"
    );
}

/// NHS England's algorithm under 18: over three times the laboratory's upper limit is AKI 3. A
/// range with an upper limit alone has what it takes.
#[test]
fn an_upper_limit_alone_decides_a_childs_stage() {
    for (range, stage) in [("(<60)", "AKI 3"), ("", "AKI 1")] {
        let mut story = Story::begin();
        story.log(1, Some(0), Kind::Admission, &child());
        result(&mut story, &format!("creat 100 {range}"));
        story.wait(3 * 24 * 60);
        result(&mut story, &format!("creat 181 {range}"));
        let kidney = of(&story, About::Kidney);
        let said = saying(&kidney, stage);
        assert_eq!(
            said.text.contains("not checked"),
            range.is_empty(),
            "{said:?}"
        );
    }
}

fn child() -> String {
    let adult = crate::material::admission(0);
    let fields = adult.split("; ").map(|field| match field.split_once('=') {
        Some(("born", _)) => "born=2009-06-01".to_owned(),
        _ => field.to_owned(),
    });
    fields.collect::<Vec<_>>().join("; ")
}

/// RCPath G158: a critical result is told by voice, and both ends are recorded. After somebody
/// looked, the line still says who did and how long it had waited.
#[test]
fn a_critical_result_that_was_seen_says_who_looked_and_after_how_long() {
    let mut story = Story::begin();
    let critical = result(&mut story, "k 6.6 (3.5-5.3)");
    story.wait(95);
    let fields = format!("result={critical}; decision=none-needed");
    let by = story.log(1, Some(0), Kind::ResultReview, &fields);
    story.wait(60);
    story.log(2, Some(0), Kind::ResultReview, &fields);
    let bloods = of(&story, About::Bloods);
    let said = &saying(&bloods, "CRITICAL").text;
    assert!(
        said.contains("; seen by ") && said.ends_with("after 1hr 35min"),
        "{said}, entry {by}"
    );
    let mut calm = Story::begin();
    let usual = result(&mut calm, "k 4.4 (3.5-5.3)");
    let fields = format!("result={usual}; decision=none-needed");
    calm.log(1, Some(0), Kind::ResultReview, &fields);
    let bloods = of(&calm, About::Bloods);
    assert!(
        !saying(&bloods, "potassium").text.contains("seen by"),
        "{bloods:?}"
    );
}

/// NICE NG136 1.5.2 counts acute kidney injury among the signs: the entries show it.
#[test]
fn severe_with_an_aki_alert_is_for_the_same_day() {
    for (creatinine, same_day) in [(120, true), (119, false)] {
        let mut story = Story::begin();
        result(&mut story, "creat 80");
        story.wait(3 * 24 * 60);
        result(&mut story, &format!("creat {creatinine}"));
        obs(&mut story, "sbp=184; dbp=98; acvpu=alert; source=staff");
        let pressure = of(&story, About::Pressure);
        let severe = &saying(&pressure, "severe range").text;
        assert_eq!(
            severe.contains("with an AKI alert: specialist"),
            same_day,
            "{severe}"
        );
        assert_eq!(
            severe.contains("ask for new confusion, chest pain"),
            !same_day,
            "{severe}"
        );
    }
}

/// Clinical reference section 3 and W3: 110 and 99 are 0.90 exactly; 0.899 is not.
#[test]
fn a_shock_index_of_0_9_is_said_to_be_concerning() {
    for (hr, concerning) in [(99, true), (98, false)] {
        let mut story = Story::begin();
        obs(
            &mut story,
            &format!("sbp=110; dbp=70; hr={hr}; source=staff"),
        );
        let pressure = of(&story, About::Pressure);
        let said = &saying(&pressure, "pulse pressure").text;
        assert_eq!(said.contains("concerning"), concerning, "{said}");
    }
}

/// The reviewer's wound: 588 to 296 mm² is 49.659 %, under the marker of 50 %; and what the
/// data set's line looks at is said (Coleman 2017 has 37 items).
#[test]
fn a_wound_just_short_of_its_marker_is_not_shown_at_it() {
    let mut story = Story::begin();
    let wound = "site=heel; side=left; kind=diabetic-foot-ulcer; method=longest-axis";
    let first = format!("{wound}; length=2.8 cm; width=2.1 cm");
    story.log(1, Some(0), Kind::Wound, &first);
    story.wait(28 * 24 * 60);
    let again = format!("wound=1; {wound}; length=3.7 cm; width=0.8 cm");
    story.log(1, Some(0), Kind::Wound, &again);
    let wounds = of(&story, About::Wound);
    assert!(
        saying(&wounds, "by length").text.contains("49.6 % smaller"),
        "{wounds:?}"
    );
    saying(&wounds, "less than 50 % smaller at 4 weeks");
    saying(&wounds, "looked at: 16 of the 37 items");
}
