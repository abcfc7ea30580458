//! What is worked out of a patient's entries: which statement, how much it asks for, from
//! which entries. The arithmetic has its worked cases beside it in `src/clinical`; the numbers
//! here are those of the clinical reference's W tables, followed from the entry to the sentence.

use handfast::record::ids::Seq;
use handfast::record::kind::Kind;
use handfast::ward::workings::{About, Weight, Working, workings};

use crate::material::{Story, pseudonym};

const WELL: &str = "rr=16; spo2=97; oxygen=air; sbp=124; dbp=78; hr=76; acvpu=alert; temp=36.8";

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
    // Fields are set apart by "; ", values by ";".
    let fields = format!("values={}", values.replace("; ", ";"));
    story.log(1, Some(0), Kind::LabResult, &fields)
}

fn review(story: &mut Story, result: Seq) {
    let fields = format!("result={result}; decision=none-needed");
    story.log(1, Some(0), Kind::ResultReview, &fields);
}

fn texts(worked: &[Working]) -> Vec<&str> {
    worked.iter().map(|working| working.text.as_str()).collect()
}

fn part<'a>(working: &'a Working, name: &str) -> &'a str {
    let parts = working.parts.iter();
    let mut named = parts.filter(|part| part.name == name);
    named.next().map_or("", |part| part.value.as_str())
}

/// Every statement says from which entries, from which source, and what it is not.
fn is_whole(working: &Working) {
    assert!(!working.entries.is_empty(), "{working:?}");
    assert!(!working.source.is_empty() && !working.caution.is_empty());
    assert!(working.entries.is_sorted(), "oldest first: {working:?}");
}

#[test]
fn a_patient_without_readings_has_a_stay_and_nothing_else() {
    let story = Story::begin();
    let ward = story.ward();
    let all = workings(&ward, ward.patient(pseudonym(0)).unwrap(), story.now);
    assert!(
        all.iter().all(|working| working.about == About::Stay),
        "{all:?}"
    );
}

/// Deviation and the slope with its interval reach the nurse; a slope by itself asks for nothing,
/// and a pulse that leaves its usual twice running asks for a look.
#[test]
fn a_trend_shows_its_numbers_and_asks_only_for_deterioration() {
    let mut story = Story::begin();
    let pulse = |story: &mut Story, hr: u32| {
        obs(story, &WELL.replace("hr=76", &format!("hr={hr}")));
        story.wait(240);
    };
    for hr in [76, 80, 74, 78, 82, 76, 80, 74, 72, 75, 78, 82] {
        pulse(&mut story, hr);
    }
    let of_pulse = |story: &Story| {
        let trends = of(story, About::Trend);
        let pulse = trends.into_iter().find(|t| t.text.starts_with("HR"));
        pulse.unwrap()
    };
    let calm = of_pulse(&story);
    assert_eq!(calm.weight, Weight::Say, "{calm:?}");
    assert_eq!(
        part(&calm, "slope"),
        "+0.79 an hour over 12hr, 95 % interval +0.75 to +1.00"
    );
    pulse(&mut story, 94);
    pulse(&mut story, 99);
    let worse = of_pulse(&story);
    assert_eq!(worse.weight, Weight::Look, "{worse:?}");
    assert!(part(&worse, "deviation").ends_with("robust standard deviations"));
    assert!(!part(&worse, "outside usual since").is_empty());
    is_whole(&worse);
}

#[test]
fn a_score_is_held_against_the_set_before_and_the_first() {
    let mut story = Story::begin();
    obs(&mut story, WELL);
    story.wait(60);
    obs(&mut story, &WELL.replace("hr=76", "hr=92"));
    story.wait(60);
    let newest = obs(&mut story, &WELL.replace("hr=76", "hr=112"));
    let score = of(&story, About::Score);
    assert!(score[0].text.starts_with("NEWS2 2 (low) at"), "{score:?}");
    assert!(part(&score[0], "since the set before").starts_with("+1 from 19:00"));
    assert!(part(&score[0], "since the first of the stay").starts_with("+2 from 18:00"));
    assert!(part(&score[0], "band").starts_with("low since 18:00 (2hr)"));
    assert_eq!(score[0].entries, [newest]);
    score.iter().for_each(is_whole);
}

#[test]
fn an_incomplete_set_has_no_total_and_is_to_be_completed() {
    let mut story = Story::begin();
    obs(&mut story, "rr=16; hr=76");
    let score = of(&story, About::Score);
    assert!(texts(&score).iter().any(|text| text.contains("no total")));
    let complete = score
        .iter()
        .find(|w| w.text.contains("complete it"))
        .unwrap();
    assert_eq!(complete.weight, Weight::Look);
}

#[test]
fn a_single_3_in_an_incomplete_set_still_calls_for_its_response() {
    let mut story = Story::begin();
    obs(&mut story, "rr=26");
    let score = of(&story, About::Score);
    let called = score.iter().find(|w| w.text.contains("single-3 calls for"));
    assert_eq!(called.unwrap().weight, Weight::Look);
}

/// No part takes points away (RCP 2017, chart 1): what was measured is a lower bound.
#[test]
fn an_incomplete_set_calls_for_what_it_has_reached_or_the_last_complete_one_did() {
    let calls = |story: &Story| {
        let score = of(story, About::Score);
        let called = score.iter().filter(|w| w.text.contains(" calls for"));
        called.map(|w| w.text.clone()).collect::<Vec<_>>()
    };
    let mut story = Story::begin();
    obs(&mut story, WELL);
    story.wait(60);
    let seven = "rr=22; spo2=97; oxygen=cannula 2; sbp=105; dbp=70; hr=112; acvpu=alert";
    obs(&mut story, seven);
    let said = calls(&story);
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(
        said[0].starts_with("NEWS2 at least 7 (high) from what was measured: 7-or-more"),
        "{said:?}"
    );
    // Complete at 7, then a set of three parts that come to 2: the 7 stands.
    story.wait(60);
    obs(&mut story, &format!("{seven}; temp=36.8"));
    story.wait(60);
    obs(&mut story, "hr=112; acvpu=alert");
    let said = calls(&story);
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(
        said[0].contains("7-or-more at") && said[0].contains("the last complete set"),
        "{said:?}"
    );
}

#[test]
fn seven_and_over_asks_for_somebody_now_and_says_the_ceiling_of_care() {
    let mut story = Story::begin();
    obs(
        &mut story,
        "rr=25; spo2=91; oxygen=air; sbp=124; dbp=78; hr=111; acvpu=alert; temp=36.8",
    );
    let score = of(&story, About::Score);
    assert_eq!(score[0].weight, Weight::Act, "most pressing first");
    assert!(score[0].text.contains("7-or-more calls for"), "{score:?}");
    assert!(!part(&score[0], "ceiling of care").is_empty());
    assert!(
        !score[0].text.contains("CEILING"),
        "full escalation limits nothing"
    );
    story.log(
        1,
        Some(0),
        Kind::EpisodeChange,
        "ceiling=comfort; why=agreed with her",
    );
    let score = of(&story, About::Score);
    let first = &score[0].text;
    assert!(first.starts_with("CEILING OF CARE COMFORT"), "{first}");
}

#[test]
fn the_next_set_is_due_and_then_overdue() {
    let mut story = Story::begin();
    obs(&mut story, WELL);
    let due = |story: &Story| {
        let score = of(story, About::Score);
        let found = score.into_iter().find(|w| w.text.starts_with("Next set"));
        found.map(|w| (w.weight, w.text)).unwrap()
    };
    story.wait(12 * 60);
    assert_eq!(
        due(&story).0,
        Weight::Say,
        "on the minute it is not overdue"
    );
    story.wait(1);
    let (weight, text) = due(&story);
    assert_eq!(weight, Weight::Look);
    assert!(
        text.contains("was due") && text.contains("1min ago"),
        "{text}"
    );
}

#[test]
fn not_alert_wants_a_coma_scale_of_its_own() {
    let mut story = Story::begin();
    obs(&mut story, &WELL.replace("acvpu=alert", "acvpu=voice"));
    let score = of(&story, About::Score);
    assert!(
        texts(&score)
            .iter()
            .any(|text| text.contains("does not convert"))
    );
}

/// Clinical reference W3: 120/80, pulse 80: mean 93.33, pulse pressure 40, shock index 0.67.
#[test]
fn a_pressure_has_its_derived_values() {
    let mut story = Story::begin();
    obs(&mut story, "sbp=120; dbp=80; hr=80; source=staff");
    let pressure = of(&story, About::Pressure);
    assert_eq!(pressure.len(), 1, "below 140/90: nothing more to say");
    assert!(
        pressure[0]
            .text
            .contains("mean 93 mmHg, pulse pressure 40 mmHg")
    );
    assert_eq!(part(&pressure[0], "shock index"), "0.67");
}

#[test]
fn a_raised_pressure_is_due_again_and_a_new_reading_settles_it() {
    let mut story = Story::begin();
    obs(&mut story, "sbp=172; dbp=98; source=patient");
    let ranged = |story: &Story| {
        of(story, About::Pressure)
            .into_iter()
            .find(|w| w.text.contains("range"))
    };
    let raised = ranged(&story).unwrap();
    assert_eq!(raised.weight, Weight::Look);
    assert!(
        raised
            .text
            .contains("stage 2 range (home limits): repeat due by"),
        "{raised:?}"
    );
    story.wait(48 * 60);
    assert!(
        ranged(&story)
            .unwrap()
            .text
            .contains("the repeat was due by")
    );
    obs(&mut story, "sbp=128; dbp=76; source=patient");
    assert_eq!(ranged(&story), None);
}

/// NICE NG136 1.5.2: severe with new confusion is the same day.
#[test]
fn severe_with_new_confusion_is_for_the_same_day() {
    let mut story = Story::begin();
    obs(&mut story, "sbp=184; dbp=98; acvpu=confused; source=staff");
    let pressure = of(&story, About::Pressure);
    assert_eq!(pressure[0].weight, Weight::Act);
    assert!(pressure[0].text.contains("the same day"), "{pressure:?}");
    let mut calm = Story::begin();
    obs(&mut calm, "sbp=184; dbp=98; acvpu=alert; source=staff");
    assert_eq!(of(&calm, About::Pressure)[0].weight, Weight::Look);
}

#[test]
fn a_fall_of_20_on_standing_is_named_and_19_is_not() {
    for (standing, named) in [(110, true), (111, false)] {
        let mut story = Story::begin();
        obs(&mut story, "sbp=130; dbp=80; posture=lying; source=staff");
        story.wait(3);
        let up = format!("sbp={standing}; dbp=74; posture=standing; source=staff");
        obs(&mut story, &up);
        let pressure = of(&story, About::Pressure);
        let said = texts(&pressure)
            .iter()
            .any(|text| text.contains("fell on standing"));
        assert_eq!(said, named, "{standing}");
    }
}

#[test]
fn a_value_is_flagged_by_its_laboratory_and_compared_with_the_one_before() {
    let mut story = Story::begin();
    let first = result(&mut story, "crp 112 (0-5)");
    review(&mut story, first);
    story.wait(24 * 60);
    let second = result(&mut story, "crp 148 (0-5)");
    let bloods = of(&story, About::Bloods);
    let newest = bloods
        .iter()
        .find(|w| w.text.contains("above the laboratory"))
        .unwrap();
    assert_eq!(newest.weight, Weight::Look, "outside and not seen");
    assert!(newest.text.contains("unseen for 0min"), "{newest:?}");
    assert!(newest.text.contains(", +36 since Sat 18:00"), "{newest:?}");
    assert!(part(newest, "since the one before").starts_with("+36 from 112"));
    assert_eq!(newest.entries, [first, second]);
    review(&mut story, second);
    let seen = of(&story, About::Bloods);
    assert!(seen.iter().all(|w| w.weight == Weight::Say), "{seen:?}");
}

/// RCPath G158: potassium 6.5 mmol/L and over is critical; 6.4 is not.
#[test]
fn a_critical_value_asks_for_somebody_until_it_was_seen() {
    let newest = |value: &str, seen: bool| {
        let mut story = Story::begin();
        let critical = result(&mut story, &format!("k {value} (3.5-5.3)"));
        if seen {
            review(&mut story, critical);
        }
        of(&story, About::Bloods).remove(0)
    };
    assert_eq!(newest("6.5", false).weight, Weight::Act);
    assert_eq!(newest("6.5", true).weight, Weight::Look);
    assert_eq!(newest("6.4", false).weight, Weight::Look);
    assert!(!newest("6.4", false).text.contains("CRITICAL"));
}

#[test]
fn an_unfit_sample_gives_no_value() {
    let mut story = Story::begin();
    let fields = "values=crp 112 (0-5); quality=haemolysed";
    story.log(1, Some(0), Kind::LabResult, fields);
    assert_eq!(of(&story, About::Bloods), []);
}

#[test]
fn a_typical_range_is_said_to_be_one() {
    let mut story = Story::begin();
    result(&mut story, "na 150");
    let bloods = of(&story, About::Bloods);
    assert!(
        bloods[0].text.contains("above the typical range"),
        "{bloods:?}"
    );
    assert!(bloods[0].caution.contains("this laboratory gave none"));
}

/// Clinical reference W5: 120 against the lowest of the last 7 days, 80, is 1.5 times: AKI 1.
#[test]
fn kidney_injury_names_its_reference_and_voids_the_egfr() {
    let mut story = Story::begin();
    let first = result(&mut story, "creat 80 (45-84)");
    review(&mut story, first);
    story.wait(3 * 24 * 60);
    result(&mut story, "creat 120 (45-84)");
    let kidney = of(&story, About::Kidney);
    assert_eq!(kidney[0].weight, Weight::Act, "{kidney:?}");
    assert!(
        kidney[0]
            .text
            .starts_with("AKI 1 alert: creatinine 120 µmol/L is 1.50 times the lowest")
    );
    assert_eq!(
        part(&kidney[0], "reference"),
        "80 µmol/L, the lowest of the last 7 days"
    );
    assert!(
        kidney[1].text.contains("not valid: creatinine is changing"),
        "{kidney:?}"
    );
}

#[test]
fn a_first_creatinine_has_no_stage_and_says_why() {
    let mut story = Story::begin();
    result(&mut story, "creat 120 (45-84)");
    let kidney = of(&story, About::Kidney);
    assert!(
        texts(&kidney)
            .iter()
            .any(|text| text.contains("no result in the last 365 days"))
    );
    assert!(kidney.iter().all(|w| w.weight == Weight::Say));
    let mut beyond = Story::begin();
    result(&mut beyond, "creat >2000 (45-84)");
    assert!(
        of(&beyond, About::Kidney)[0]
            .text
            .contains("not an exact value")
    );
}

/// RCPath G158: AKI 1 with potassium over 6.0 is told by voice; at 6.0 it is not.
#[test]
fn kidney_injury_with_high_potassium_is_told_by_voice() {
    for (potassium, by_voice) in [("6.1", true), ("6.0", false)] {
        let mut story = Story::begin();
        result(&mut story, "creat 80 (45-84)");
        story.wait(24 * 60);
        result(
            &mut story,
            &format!("creat 120 (45-84); k {potassium} (3.5-5.3)"),
        );
        let kidney = of(&story, About::Kidney);
        assert_eq!(
            kidney[0].text.contains("told by voice"),
            by_voice,
            "{kidney:?}"
        );
    }
}

#[test]
fn a_wound_has_its_area_its_rate_and_what_is_left_out() {
    let mut story = Story::begin();
    let wound = "site=shin; side=left; kind=venous-leg-ulcer; method=longest-axis";
    story.log(
        1,
        Some(0),
        Kind::Wound,
        &format!("{wound}; length=4 cm; width=3 cm"),
    );
    story.wait(28 * 24 * 60);
    let again = format!("wound=1; {wound}; length=3.2 cm; width=2.5 cm");
    story.log(1, Some(0), Kind::Wound, &again);
    let wounds = of(&story, About::Wound);
    let area = wounds
        .iter()
        .find(|w| w.text.contains("by length"))
        .unwrap();
    assert!(
        area.text.contains("8.00 cm²") && area.text.contains("33.3 % smaller"),
        "{area:?}"
    );
    assert!(part(area, "edge moves in").contains("a week (Gilman)"));
    let marker = wounds
        .iter()
        .find(|w| w.text.contains("at 4 weeks"))
        .unwrap();
    assert_eq!(marker.weight, Weight::Look, "33 % is less than 40 %");
    assert!(
        texts(&wounds)
            .iter()
            .any(|text| text.contains("leaves out"))
    );
    wounds.iter().for_each(is_whole);
}

#[test]
fn a_spreading_infection_asks_for_somebody_now() {
    let mut story = Story::begin();
    let wound = "site=shin; side=left; kind=trauma; infection=spreading";
    story.log(1, Some(0), Kind::Wound, wound);
    assert_eq!(of(&story, About::Wound)[0].weight, Weight::Act);
}

#[test]
fn fluids_are_summed_over_the_window_and_silence_is_not_zero() {
    let mut story = Story::begin();
    obs(&mut story, "fluid_in=500 mL");
    story.wait(60);
    let dry = of(&story, About::Fluid);
    assert!(dry[0].text.contains("no urine was written down"), "{dry:?}");
    obs(&mut story, "urine=20 mL; weight=60 kg");
    let wet = of(&story, About::Fluid);
    assert!(
        wet[0]
            .text
            .contains("in 500 mL, out 20 mL, balance +480 mL, from 2 amounts")
    );
    assert!(
        wet[0].text.contains("too few amounts"),
        "one amount is no chart: {wet:?}"
    );
    assert_eq!(wet[0].weight, Weight::Say);
    for _ in 0..2 {
        story.wait(3 * 60);
        obs(&mut story, "urine=60 mL");
    }
    let kept = of(&story, About::Fluid);
    assert!(
        kept[0].text.contains("under 0.5 mL/kg/h"),
        "140 mL in seven hours at 60 kg: {kept:?}"
    );
    assert_eq!(kept[0].weight, Weight::Look);
    story.wait(3 * 24 * 60);
    assert_eq!(of(&story, About::Fluid), [], "an old chart is no chart");
}

#[test]
fn days_of_a_medicine_are_counted_from_its_first_recorded_dose() {
    let mut story = Story::begin();
    let dose = "medicine=Ceftriaxone 2 g by vein; outcome=given";
    story.log(1, Some(0), Kind::Dose, dose);
    story.wait(2 * 24 * 60);
    story.log(
        1,
        Some(0),
        Kind::Dose,
        &dose.replace("Ceftriaxone", "ceftriaxone"),
    );
    let stay = of(&story, About::Stay);
    let treated = stay.iter().find(|w| w.text.contains("eftriaxone")).unwrap();
    assert!(treated.text.contains("day 3 since"), "{stay:?}");
}

#[test]
fn attempts_that_reach_nobody_age_into_a_welfare_check() {
    let mut story = Story::begin();
    let attempt = "mode=phone; outcome=no-answer; then=try-again; next=+15m";
    story.log(1, Some(0), Kind::Contact, attempt);
    let first = of(&story, About::Answer);
    assert_eq!(first[0].weight, Weight::Look);
    assert!(
        first[0]
            .text
            .contains("Not reached in 1 attempt; the next is due by 18:15")
    );
    story.wait(16);
    assert!(
        of(&story, About::Answer)[0]
            .text
            .contains("was due by 18:15, 1min ago")
    );
    story.log(1, Some(0), Kind::Contact, attempt);
    story.log(1, Some(0), Kind::Contact, attempt);
    let third = of(&story, About::Answer);
    assert_eq!(third[0].weight, Weight::Act);
    assert!(third[0].text.contains("welfare check"), "{third:?}");
    story.log(
        1,
        Some(0),
        Kind::Contact,
        "mode=phone; outcome=reached; how=was asleep",
    );
    assert_eq!(of(&story, About::Answer), []);
}

#[test]
fn an_escalation_nobody_answers_says_who_is_next() {
    let mut story = Story::begin();
    let sbar = "situation=worse; background=pneumonia; assessment=tiring; recommendation=see her; \
                to_role=registrar; how=phone";
    let made = story.log(1, Some(0), Kind::Escalation, sbar);
    story.wait(29);
    assert_eq!(of(&story, About::Answer)[0].weight, Weight::Look);
    story.wait(1);
    let late = of(&story, About::Answer);
    assert_eq!(late[0].weight, Weight::Act);
    assert!(late[0].text.contains("999"), "{late:?}");
    let answer =
        format!("escalation={made}; step=answered; by=Dr Amin; plan=bloods; read_back=yes");
    story.log(1, Some(0), Kind::EscalationStep, &answer);
    assert_eq!(of(&story, About::Answer), []);
}

#[test]
fn an_answer_is_late_by_the_time_that_was_agreed() {
    let mut story = Story::begin();
    let sbar = "situation=worse; background=pneumonia; assessment=tiring; recommendation=see her; \
                to_role=registrar; how=phone; answer_by=+10m";
    story.log(1, Some(0), Kind::Escalation, sbar);
    story.wait(9);
    assert_eq!(of(&story, About::Answer)[0].weight, Weight::Look);
    story.wait(1);
    assert_eq!(of(&story, About::Answer)[0].weight, Weight::Act);
}

/// A saturation taken again by itself says nothing of the other six.
#[test]
fn a_partial_set_takes_back_nothing_that_a_complete_one_called_for() {
    let mut story = Story::begin();
    let high = "rr=25; spo2=91; oxygen=air; sbp=124; dbp=78; hr=111; acvpu=alert; temp=36.8";
    obs(&mut story, high);
    story.wait(10);
    let again = obs(&mut story, "spo2=93");
    let score = of(&story, About::Score);
    assert_eq!(score[0].weight, Weight::Act, "{score:?}");
    assert!(
        score[0]
            .text
            .contains("7-or-more at 18:00, the last complete set, calls for")
    );
    assert_eq!(score[0].entries.last(), Some(&again));
}

#[test]
fn amounts_without_a_reading_are_no_set_to_compare_with() {
    let mut story = Story::begin();
    obs(&mut story, WELL);
    story.wait(60);
    obs(&mut story, "urine=200 mL");
    story.wait(60);
    obs(&mut story, &WELL.replace("hr=76", "hr=92"));
    let score = of(&story, About::Score);
    assert!(
        part(&score[0], "since the set before").starts_with("+1 from 18:00"),
        "{score:?}"
    );
}

/// 80 kg, 900 mL in eight hours is 1.4 mL/kg/h: enough, however long the window is.
#[test]
fn urine_is_held_against_the_time_that_was_charted() {
    let mut story = Story::begin();
    obs(&mut story, "urine=300 mL; weight=80 kg");
    for _ in 0..2 {
        story.wait(4 * 60);
        obs(&mut story, "urine=300 mL");
    }
    assert_eq!(of(&story, About::Fluid)[0].weight, Weight::Say);
}

#[test]
fn a_drop_on_standing_says_when_and_is_gone_after_a_day() {
    let mut story = Story::begin();
    obs(&mut story, "sbp=130; dbp=80; posture=lying; source=staff");
    story.wait(3);
    obs(
        &mut story,
        "sbp=105; dbp=74; posture=standing; source=staff",
    );
    let fell = |story: &Story| {
        let found = of(story, About::Pressure);
        found
            .into_iter()
            .find(|w| w.text.contains("fell on standing"))
    };
    assert!(
        fell(&story)
            .unwrap()
            .text
            .contains("standing, 18:03: 130/80 to 105/74")
    );
    story.wait(24 * 60 + 1);
    assert_eq!(fell(&story), None);
}

#[test]
fn who_measured_is_never_guessed() {
    let mut story = Story::begin();
    for _ in 0..5 {
        obs(&mut story, "sbp=152; dbp=96");
        story.wait(24 * 60);
    }
    let pressure = of(&story, About::Pressure);
    assert!(
        texts(&pressure)
            .iter()
            .any(|text| text.contains("not said who measured"))
    );
    assert!(
        texts(&pressure)
            .iter()
            .all(|text| !text.contains("average")),
        "{pressure:?}"
    );
}

#[test]
fn a_critical_value_of_an_earlier_stay_is_no_news() {
    let mut story = Story::begin();
    let old = result(&mut story, "k 6.8 (3.5-5.3)");
    review(&mut story, old);
    story.wait(60);
    let left = "to=usual-care; summary=well";
    story.log(1, Some(0), Kind::Discharge, left);
    story.wait(30 * 24 * 60);
    let again = crate::material::admission(0);
    story.log(1, Some(0), Kind::Admission, &again);
    let bloods = of(&story, About::Bloods);
    assert!(bloods.iter().all(|w| w.weight == Weight::Say), "{bloods:?}");
}

#[test]
fn pain_is_what_it_was_at_worst_and_how_it_changed() {
    let mut story = Story::begin();
    obs(&mut story, "pain=3");
    story.wait(60);
    obs(&mut story, "pain=2; pain_moving=7");
    let pain = of(&story, About::Pain);
    assert_eq!(pain[0].text, "Pain 7 of 10 at worst, +4 since 18:00");
    assert_eq!(part(&pain[0], "at rest"), "2");
}

/// RCP 2017: not for anybody who is pregnant; a skin temperature is never scored.
#[test]
fn what_makes_a_score_doubtful_is_said_with_it() {
    let mut story = Story::begin();
    let pregnant = format!("{}; pregnant=yes", crate::material::admission(0));
    story.log(1, Some(0), Kind::Admission, &pregnant);
    story.wait(1);
    obs(&mut story, &WELL.replace("temp=36.8", "skin_temp=33.1"));
    let score = of(&story, About::Score);
    for said in [
        "not for use in pregnancy",
        "Skin temperature is never scored",
    ] {
        assert!(
            texts(&score).iter().any(|text| text.contains(said)),
            "{said}: {score:?}"
        );
    }
}

/// A view as of an earlier moment works with what was known then.
#[test]
fn what_comes_later_is_not_worked_with() {
    let mut story = Story::begin();
    obs(&mut story, WELL);
    let then = story.now;
    story.wait(60);
    obs(&mut story, &WELL.replace("rr=16", "rr=26"));
    let ward = story.ward();
    let all = workings(&ward, ward.patient(pseudonym(0)).unwrap(), then);
    let score = all.iter().find(|w| w.text.starts_with("NEWS2 ")).unwrap();
    assert!(score.text.starts_with("NEWS2 0 "), "{score:?}");
}
