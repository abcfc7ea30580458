//! Alerts, escalations and contacts: who has it, how long it waited, what is still due.

use handfast::record::kind::Kind;
use handfast::record::time::Span;
use handfast::ward::due::{DueItem, DueSort};
use handfast::ward::{Patient, Ward};

use crate::material::{Story, pseudonym};

fn minutes(span: Span) -> i64 {
    span.0 / 60_000_000
}

fn patient(ward: &Ward) -> &Patient {
    ward.patient(pseudonym(0)).unwrap()
}

fn due(ward: &Ward, sort: DueSort) -> Vec<DueItem> {
    let items = ward.due_items().into_iter();
    items.filter(|item| item.sort == sort).collect()
}

#[test]
fn an_alert_waits_until_the_first_step_and_is_dealt_with_at_the_first_act() {
    let mut story = Story::begin();
    let alert = story.log(
        1,
        Some(0),
        Kind::Alert,
        "source=help-button; what=help; severity=critical",
    );
    story.wait(7);
    let life = |story: &Story| patient(&story.ward()).ledgers.alerts[&alert].clone();
    assert_eq!(
        minutes(life(&story).waited(story.now)),
        7,
        "nobody yet: until now"
    );
    assert_eq!(life(&story).time_to_action(), None);
    story.log(
        1,
        Some(0),
        Kind::AlertStep,
        &format!("alert={alert}; step=seen"),
    );
    story.wait(5);
    let waited = minutes(life(&story).waited(story.now));
    assert_eq!(waited, 12, "seen by somebody, and nobody's");
    story.log(
        2,
        Some(0),
        Kind::AlertStep,
        &format!("alert={alert}; step=taken"),
    );
    story.wait(3);
    assert_eq!(
        minutes(life(&story).waited(story.now)),
        12,
        "taken after 12"
    );
    assert_eq!(life(&story).holder().unwrap().0.as_str(), "tom");
    story.log(
        2,
        Some(0),
        Kind::AlertStep,
        &format!("alert={alert}; step=escalated"),
    );
    story.wait(60);
    story.log(
        2,
        Some(0),
        Kind::AlertStep,
        &format!("alert={alert}; step=closed; outcome=resolved"),
    );
    let life = life(&story);
    assert_eq!(
        minutes(life.time_to_action().unwrap()),
        15,
        "help was called for after 15"
    );
    assert!(!life.is_open());
}

#[test]
fn handing_over_and_giving_back_change_who_has_it() {
    let mut story = Story::begin();
    let alert = story.log(
        1,
        None,
        Kind::Alert,
        "source=kit; what=hub offline; severity=soon",
    );
    let holder = |story: &Story| {
        let ward = story.ward();
        let held = ward.common().alerts[&alert].holder();
        held.map(|(handle, _)| handle.0.clone())
    };
    assert_eq!(holder(&story), None);
    for (step, whose) in [
        ("taken", Some("maya")),
        ("handed-over; to=tom", Some("tom")),
        ("seen", Some("tom")),
        ("released", None),
        ("actioned; what=restarted", Some("maya")),
    ] {
        story.log(
            1,
            None,
            Kind::AlertStep,
            &format!("alert={alert}; step={step}"),
        );
        assert_eq!(holder(&story).as_deref(), whose, "after {step}");
    }
}

#[test]
fn a_call_that_reaches_somebody_deals_with_the_alert_and_one_that_does_not_only_takes_it() {
    let mut story = Story::begin();
    let alert = story.log(
        1,
        Some(0),
        Kind::Alert,
        "source=help-button; what=help; severity=critical",
    );
    story.wait(2);
    let tried = format!("mode=phone; outcome=no-answer; then=try-again; next=+5m; answers={alert}");
    story.log(1, Some(0), Kind::Contact, &tried);
    let life = |story: &Story| patient(&story.ward()).ledgers.alerts[&alert].clone();
    assert_eq!(life(&story).holder().unwrap().0.as_str(), "maya");
    assert_eq!(life(&story).time_to_action(), None);
    story.wait(4);
    story.log(
        1,
        Some(0),
        Kind::Contact,
        &format!("mode=phone; outcome=reached; how=pressed by mistake; answers={alert}"),
    );
    let life = life(&story);
    assert_eq!(minutes(life.time_to_action().unwrap()), 6);
    assert_eq!(
        life.steps.last().unwrap().body.what.as_deref(),
        Some("pressed by mistake")
    );
    assert!(life.is_open(), "only closing closes");
}

#[test]
fn closing_is_no_act_and_giving_back_goes_on_waiting() {
    let mut story = Story::begin();
    let alert = story.log(
        1,
        Some(0),
        Kind::Alert,
        "source=help-button; what=help; severity=critical",
    );
    let life = |story: &Story| patient(&story.ward()).ledgers.alerts[&alert].clone();
    let step = |what: &str| format!("alert={alert}; step={what}");
    story.wait(2);
    story.log(1, Some(0), Kind::AlertStep, &step("taken"));
    story.wait(3);
    assert_eq!(minutes(life(&story).waited(story.now)), 2);
    story.log(1, Some(0), Kind::AlertStep, &step("released"));
    story.wait(4);
    assert_eq!(minutes(life(&story).waited(story.now)), 9, "nobody's again");
    story.log(
        1,
        Some(0),
        Kind::AlertStep,
        &step("closed; outcome=resolved"),
    );
    assert_eq!(life(&story).time_to_action(), None);
}

#[test]
fn a_worry_is_an_alert_of_its_own_and_says_whose() {
    let mut story = Story::begin();
    story.log(
        1,
        Some(0),
        Kind::Contact,
        "mode=phone; outcome=reached; spoke_to=carer; worry=not himself",
    );
    story.log(1, Some(0), Kind::Observation, "hr=90; worry=looks grey");
    let ward = story.ward();
    let raised: Vec<(&str, &str)> = patient(&ward)
        .ledgers
        .alerts
        .values()
        .map(|alert| (alert.source.code(), alert.what.as_str()))
        .collect();
    assert_eq!(
        raised,
        [
            ("carer-concern", "not himself"),
            ("nurse-concern", "looks grey")
        ]
    );
}

#[test]
fn an_escalation_waits_for_its_answer_and_then_for_its_review() {
    let mut story = Story::begin();
    let fields = "situation=worse; background=b; assessment=a; recommendation=r; to_role=registrar; how=phone; answer_by=+30m";
    let escalation = story.log(1, Some(0), Kind::Escalation, fields);
    let sorts = |story: &Story| -> Vec<DueSort> {
        story
            .ward()
            .due_items()
            .iter()
            .map(|item| item.sort)
            .collect()
    };
    let step = |story: &mut Story, step: &str| {
        story.wait(10);
        let fields = format!("escalation={escalation}; step={step}");
        story.log(1, Some(0), Kind::EscalationStep, &fields);
    };
    assert_eq!(sorts(&story), [DueSort::EscalationAnswer]);
    step(&mut story, "no-answer");
    assert_eq!(
        sorts(&story),
        [DueSort::EscalationAnswer],
        "no answer is not an answer"
    );
    step(
        &mut story,
        "answered; by=Dr F; plan=bloods; read_back=yes; review_at=+2h",
    );
    assert_eq!(sorts(&story), [DueSort::EscalationReview]);
    step(&mut story, "reviewed");
    assert_eq!(sorts(&story), []);
    assert_eq!(
        story.ward().open_items(story.now).len(),
        1,
        "open until closed"
    );
    step(&mut story, "closed; outcome=settled");
    assert_eq!(story.ward().open_items(story.now), []);
}

/// A help call at teatime must not cancel the call agreed for the night.
#[test]
fn an_agreed_contact_stays_due_until_it_is_kept() {
    let mut story = Story::begin();
    story.log(
        1,
        Some(0),
        Kind::Contact,
        "mode=video; outcome=reached; next=+4h; next_by=tom",
    );
    let agreed = story.now.plus(Span::minutes(240));
    story.wait(60);
    story.log(
        1,
        Some(0),
        Kind::Contact,
        "mode=help; outcome=reached; how=by mistake",
    );
    let next = due(&story.ward(), DueSort::NextContact);
    assert_eq!(next.len(), 1);
    assert_eq!(
        (next[0].due, next[0].owner.as_ref().unwrap().as_str()),
        (agreed, "tom")
    );
    story.wait(185);
    story.log(
        1,
        Some(0),
        Kind::Contact,
        "mode=phone; outcome=no-answer; then=try-again; next=+15m",
    );
    let ward = story.ward();
    let tries = due(&ward, DueSort::Unreached);
    assert_eq!(tries.len(), 1);
    assert_eq!(tries[0].what, "not reached: 1 attempt, last: no answer");
    assert_eq!(tries[0].due, story.now.plus(Span::minutes(15)));
    assert_eq!(due(&ward, DueSort::NextContact), []);
    story.wait(15);
    story.log(1, Some(0), Kind::Contact, "mode=phone; outcome=reached");
    let ward = story.ward();
    assert_eq!(
        (
            due(&ward, DueSort::Unreached),
            due(&ward, DueSort::NextContact)
        ),
        (vec![], vec![])
    );
}

#[test]
fn an_earlier_stay_is_not_now() {
    let mut story = Story::begin();
    story.log(
        1,
        Some(0),
        Kind::Observation,
        "rr=25; spo2=92; oxygen=air; sbp=98; hr=132; acvpu=V; temp=39.2",
    );
    story.log(
        1,
        Some(0),
        Kind::Contact,
        "mode=phone; outcome=no-answer; then=try-again; next=+15m",
    );
    story.wait(10);
    story.log(1, Some(0), Kind::Discharge, "to=home; summary=well");
    story.wait(5_000);
    let again = "family=Pell; given=Ada; born=14-Mar-1955; sex=female; local_number=LN-0; area=Sallow Lane; source=gp; reason=again; allergies=none known; ceiling=full; resuscitation=attempt; scale=1";
    story.log(1, Some(0), Kind::Admission, again);
    let ward = story.ward();
    let patient = patient(&ward);
    assert_eq!(patient.last_set(), None);
    assert_eq!(patient.last_total_before(story.now), None);
    assert_eq!(patient.last_contact(), None);
    assert!(patient.unreached().is_empty());
    assert_eq!(
        (patient.sets.len(), patient.contacts.len()),
        (1, 1),
        "they stay in the record"
    );
}

#[test]
fn a_late_set_is_scored_on_the_scale_of_its_own_time() {
    let mut story = Story::begin();
    let readings = "rr=18; spo2=90; oxygen=air; sbp=120; hr=80; acvpu=A; temp=37.0";
    let taken = story.now;
    story.wait(60);
    story.log(
        1,
        Some(0),
        Kind::EpisodeChange,
        "why=prescribed; scale=2; scale_by=Dr M",
    );
    story.wait(10);
    story.log(1, Some(0), Kind::Observation, readings);
    story.log(1, Some(0), Kind::Observation, readings);
    story.entries.last_mut().unwrap().envelope.occurred_at = taken;
    let ward = story.ward();
    let totals: Vec<_> = patient(&ward).sets.iter().map(|set| set.total()).collect();
    // NEWS2: 90 % is 3 on scale 1, and within the target of scale 2 (88 to 92 %).
    assert_eq!(totals, [Some(3), Some(0)]);
}

/// A haemolysed potassium is to be taken again; a urine sample is not that.
#[test]
fn a_test_to_be_repeated_stays_due_until_the_same_is_taken() {
    let mut story = Story::begin();
    let bloods = story.log(1, Some(0), Kind::Sample, "what=bloods; tests=U&E");
    let result = story.log(
        1,
        Some(0),
        Kind::LabResult,
        &format!("sample={bloods}; words=haemolysed; quality=haemolysed"),
    );
    story.log(
        1,
        Some(0),
        Kind::ResultReview,
        &format!("result={result}; decision=repeat; repeat_by=+1d"),
    );
    story.wait(30);
    story.log(1, Some(0), Kind::Sample, "what=urine; tests=culture");
    assert_eq!(due(&story.ward(), DueSort::ResultRepeat).len(), 1);
    story.log(1, Some(0), Kind::Sample, "what=Bloods ; tests=U&E, CRP");
    assert_eq!(due(&story.ward(), DueSort::ResultRepeat), []);
}

/// Writes an entry down `minutes` after it happened.
fn late(story: &mut Story, who: usize, kind: Kind, fields: &str, minutes: i64) {
    story.log(who, Some(0), kind, fields);
    let entry = story.entries.last_mut().unwrap();
    entry.envelope.occurred_at = entry.recorded_at.plus(Span::minutes(-minutes));
}

#[test]
fn a_step_written_down_late_does_not_undo_what_came_after_it() {
    let mut story = Story::begin();
    let fields = "source=help-button; what=help; severity=critical";
    let alert = story.log(1, Some(0), Kind::Alert, fields);
    let kit = story.log(1, Some(0), Kind::Kit, "item=gateway; serial=G-1");
    story.wait(30);
    let step = |what: &str| format!("alert={alert}; step={what}");
    story.log(2, Some(0), Kind::AlertStep, &step("taken"));
    story.log(
        2,
        Some(0),
        Kind::KitStep,
        &format!("kit={kit}; step=working"),
    );
    // Twenty minutes earlier somebody else had it, and the kit was silent.
    late(&mut story, 1, Kind::AlertStep, &step("taken"), 20);
    let silent = format!("kit={kit}; step=flat-battery");
    late(&mut story, 1, Kind::KitStep, &silent, 20);
    let ward = story.ward();
    let life = &patient(&ward).ledgers.alerts[&alert];
    assert_eq!(life.holder().unwrap().0.as_str(), "tom");
    assert_eq!(minutes(life.waited(story.now)), 10);
    assert_eq!(patient(&ward).kit[&kit].silent_since(), None);
}

#[test]
fn speaking_with_a_professional_does_not_reach_the_patient() {
    let mut story = Story::begin();
    story.log(
        1,
        Some(0),
        Kind::Contact,
        "mode=phone; outcome=no-answer; then=try-again; next=+15m",
    );
    story.wait(5);
    let pharmacist = "mode=phone; outcome=reached; spoke_to=professional";
    story.log(1, Some(0), Kind::Contact, pharmacist);
    let tries = |story: &Story| patient(&story.ward()).unreached().len();
    assert_eq!(tries(&story), 1);
    assert!(patient(&story.ward()).last_reached().is_none());
    story.wait(5);
    story.log(1, Some(0), Kind::Contact, "mode=phone; outcome=reached");
    assert_eq!(tries(&story), 0);
}
