//! The ward's policy in the fold: as of then, unknown settings, values that no longer hold.

use handfast::clinical::news2::Row;
use handfast::clinical::policy::{self, Every, Value};
use handfast::record::kind::{Body, Kind};
use handfast::record::time::Span;
use handfast::view::handover::{PatientBlock, SheetRequest, sheet};
use handfast::view::origin::Vantage;
use handfast::view::policy::{policy_history, policy_toml, policy_view};
use handfast::ward::Ward;

use crate::material::Story;

fn set(story: &mut Story, setting: &str, value: &str) {
    let fields = format!("setting={setting}; value={value}; reason=agreed");
    story.log(2, None, Kind::PolicyChanged, &fields);
}

fn vantage<'a>(ward: &'a Ward, story: &Story) -> Vantage<'a> {
    Vantage {
        ward,
        now: story.now,
        since: None,
    }
}

#[test]
fn a_view_as_of_then_goes_by_the_policy_of_then() {
    let mut story = Story::begin();
    story.log(
        1,
        Some(0),
        Kind::Observation,
        "rr=18; spo2=97; oxygen=air; sbp=120; hr=80; acvpu=alert; temp=37.0",
    );
    story.now = story.now.plus(Span::hours(8));
    let before = story.ward();
    set(&mut story, "record.silence_hours", "12");
    set(&mut story, "news2.5-6.every_minutes", "30");
    let after = story.ward();
    let silent = |ward: &Ward| {
        let sheet = sheet(ward, story.now, &SheetRequest::new(ward, "a", "b", None));
        let silent = |block: &&PatientBlock| block.situation.silence.is_some();
        sheet.patients.iter().filter(silent).count()
    };
    // Two of the three have no reading at all, and are silent either way.
    assert_eq!(silent(&before), 3, "8 hours: 6 by default");
    assert_eq!(silent(&after), 2, "12 by the ward");
    let every = |ward: &Ward| ward.policy().values().news2().row(Row::FiveOrMore).every;
    assert_eq!(
        every(&before),
        Every::Between(Span::hours(1), Span::hours(1))
    );
    assert_eq!(
        every(&after),
        Every::Between(Span::minutes(30), Span::minutes(30))
    );
}

#[test]
fn unknown_settings_are_kept_and_shown_and_change_nothing() {
    let mut story = Story::begin();
    let published = story.ward().policy().values().clone();
    set(&mut story, "moon.phase", "\"full\"");
    let ward = story.ward();
    assert_eq!(ward.policy().values(), &published);
    let view = policy_view(&vantage(&ward, &story));
    assert_eq!(view.not_in_force.len(), 1);
    let line = &view.not_in_force[0];
    assert!(line.is_unknown && line.setting == "moon.phase" && line.value == "\"full\"");
    let history = policy_history(&vantage(&ward, &story), Some("moon.phase"));
    assert_eq!(
        (
            history.changes[0].from.as_str(),
            history.changes[0].to.as_str()
        ),
        ("not set", "\"full\"")
    );
    assert!(policy_toml(&vantage(&ward, &story)).contains("# NOT IN FORCE: \"moon.phase\""));
}

#[test]
fn a_stored_value_that_is_not_accepted_leaves_the_one_before_it_and_is_said() {
    let mut story = Story::begin();
    let silence = |story: &Story| story.ward().policy().values().record().silence;
    set(&mut story, "record.silence_hours", "8888");
    assert_eq!(silence(&story), Span::hours(6), "the default");
    let ward = story.ward();
    let view = policy_view(&vantage(&ward, &story));
    assert_eq!(view.not_in_force[0].instead, None);
    set(&mut story, "silence_hours", "9");
    let nine = story.entries.last().unwrap().seq;
    assert_eq!(silence(&story), Span::hours(9), "by its earlier name");
    assert!(story.ward().policy().not_in_force().is_empty());
    set(&mut story, "record.silence_hours", "9999");
    set(&mut story, "record.silence_hours", "99999");
    assert_eq!(silence(&story), Span::hours(9), "the value before");
    let ward = story.ward();
    let view = policy_view(&vantage(&ward, &story));
    assert_eq!(view.not_in_force.len(), 1, "the newest is said");
    let line = &view.not_in_force[0];
    assert_eq!((line.value.as_str(), line.instead), ("99999", Some(nine)));
    assert!(
        policy_toml(&vantage(&ward, &story)).contains(&format!("what {nine} set before it holds"))
    );
    assert!(
        !line.is_unknown && line.why.contains("too large"),
        "{line:?}"
    );
    set(&mut story, "record.silence_hours", "7");
    assert_eq!(silence(&story), Span::hours(7));
    assert!(story.ward().policy().not_in_force().is_empty());
}

/// Two programs, or an older one, may have stored what does not hold together: neither of the
/// values is gone by, so that nobody who is iller is seen less often.
#[test]
fn stored_values_that_conflict_are_both_left_out() {
    let mut story = Story::begin();
    set(&mut story, "news2.0.every_minutes", "200");
    let ward = story.ward();
    let values = ward.policy().values();
    assert_eq!(values.conflicts(), []);
    let key = policy::find("news2.0.every_minutes").unwrap();
    assert_eq!(values.get(key), Value::Whole(720));
    assert!(
        ward.policy().not_in_force()[0]
            .why
            .contains("news2.1-4.every_minutes")
    );
    set(&mut story, "news2.1-4.every_minutes", "200");
    set(&mut story, "news2.1-4.soonest_minutes", "100");
    let ward = story.ward();
    assert!(
        ward.policy().not_in_force().is_empty(),
        "now they hold together"
    );
    assert_eq!(ward.policy().values().get(key), Value::Whole(200));
}

/// The policy as a file holds nothing but itself, whatever was stored.
#[test]
fn hostile_stored_settings_cannot_add_a_line_to_the_file() {
    let mut story = Story::begin();
    let mut entry = {
        set(&mut story, "x", "1");
        story.entries.last().unwrap().clone()
    };
    let Body::PolicyChanged(changed) = &mut entry.body else {
        unreachable!()
    };
    changed.setting.0 = "x\nrecord.silence_hours = 99\u{1b}[2J".to_owned();
    changed.value.0 = "1\n[news2]\r\u{85}\u{2028}".to_owned();
    *story.entries.last_mut().unwrap() = entry;
    let ward = story.ward();
    let text = policy_toml(&vantage(&ward, &story));
    let read = policy::file::read(&text, ward.policy().values()).unwrap();
    assert!(read.iter().all(|(key, value)| *value == key.default()));
    assert_eq!(text.matches("NOT IN FORCE").count(), 1);
    assert!(!text.contains('\u{1b}'));
    let page = policy_view(&vantage(&ward, &story)).page();
    let paper = handfast::view::render::text::Paper {
        width: 100,
        styled: false,
    };
    let shown = handfast::view::render::text::page(&page, paper);
    assert!(!shown.contains('\u{1b}') && shown.contains("NOT IN FORCE"));
    let shown = handfast::view::render::html::page(&page).unwrap();
    assert!(!shown.contains('\u{1b}'));
}
