//! Repeating tasks across both clock changes of 2026 in the United Kingdom (29 March, 01:00
//! GMT becomes 02:00 BST; 25 October, 02:00 BST becomes 01:00 GMT: the Summer Time Act 1972 as
//! amended, last Sundays of March and October at 01:00 UTC).

use handfast::record::ids::Seq;
use handfast::record::kind::Kind;
use handfast::record::time::Timestamp;
use handfast::ward::tasks::{TaskLife, TaskState};

use crate::material::{Story, ZONE, moment, pseudonym};

/// A task set at one moment, and a way to look at it.
struct Set {
    story: Story,
    seq: Seq,
}

impl Set {
    fn at(start: &str, fields: &str) -> Set {
        let mut story = Story::begin();
        story.now = moment(start);
        let seq = story.log(1, Some(0), Kind::Task, fields);
        Set { story, seq }
    }

    fn task(&self) -> TaskLife {
        let ward = self.story.ward();
        ward.patient(pseudonym(0)).unwrap().ledgers.tasks[&self.seq].clone()
    }

    fn step_at(&mut self, when: Timestamp, step: &str) {
        self.story.now = when;
        let fields = format!("task={}; step={step}", self.seq);
        self.story.log(1, Some(0), Kind::TaskStep, &fields);
    }

    /// Does it each time when due; says when that was, on the ward's clock.
    fn due_times(&mut self, times: usize) -> Vec<String> {
        (0..times)
            .map(|_| {
                let due = self.task().due;
                self.step_at(due, "done");
                ZONE.date_time(due)
            })
            .collect()
    }
}

#[test]
fn four_hourly_is_four_hours_also_when_the_clock_goes_back() {
    let mut set = Set::at("2026-10-24T17:00:00Z", "what=obs; due=+4h; repeat=every 4h");
    assert_eq!(
        set.due_times(4),
        [
            "24-Oct-2026 22:00",
            "25-Oct-2026 01:00 GMT",
            "25-Oct-2026 05:00",
            "25-Oct-2026 09:00"
        ]
    );
}

#[test]
fn four_hourly_is_four_hours_also_when_the_clock_goes_forward() {
    let mut set = Set::at("2026-03-28T18:00:00Z", "what=obs; due=+4h; repeat=every 4h");
    assert_eq!(
        set.due_times(4),
        [
            "28-Mar-2026 22:00",
            "29-Mar-2026 03:00",
            "29-Mar-2026 07:00",
            "29-Mar-2026 11:00"
        ]
    );
}

#[test]
fn daily_at_nine_is_nine_on_the_wall_across_both_changes() {
    let mut autumn = Set::at(
        "2026-10-23T12:00:00Z",
        "what=pen; due=tomorrow 09:00; repeat=daily 09:00",
    );
    assert_eq!(
        autumn.due_times(3),
        [
            "24-Oct-2026 09:00",
            "25-Oct-2026 09:00",
            "26-Oct-2026 09:00"
        ]
    );
    let mut spring = Set::at(
        "2026-03-27T12:00:00Z",
        "what=pen; due=tomorrow 09:00; repeat=daily 09:00",
    );
    assert_eq!(
        spring.due_times(3),
        [
            "28-Mar-2026 09:00",
            "29-Mar-2026 09:00",
            "30-Mar-2026 09:00"
        ]
    );
    assert_eq!(spring.task().slots_missed, 0);
}

#[test]
fn done_late_goes_on_at_the_next_slot_and_counts_what_was_passed_over() {
    let mut set = Set::at("2026-10-26T08:00:00Z", "what=obs; due=+4h; repeat=every 4h");
    let first = set.task().due;
    set.step_at(moment("2026-10-26T21:00:00Z"), "done");
    let task = set.task();
    assert_eq!(ZONE.date_time(first), "26-Oct-2026 12:00");
    assert_eq!(ZONE.date_time(task.due), "27-Oct-2026 00:00");
    assert_eq!(task.slots_missed, 2, "16:00 and 20:00");
    assert_eq!(task.state, TaskState::Open);
}

#[test]
fn put_off_moves_one_slot_and_not_those_after_it() {
    let mut set = Set::at("2026-10-26T08:00:00Z", "what=obs; due=+4h; repeat=every 4h");
    set.step_at(
        moment("2026-10-26T12:00:00Z"),
        "deferred; reason=asleep; until=+90m",
    );
    assert_eq!(ZONE.date_time(set.task().due), "26-Oct-2026 13:30");
    set.step_at(moment("2026-10-26T13:40:00Z"), "done");
    assert_eq!(ZONE.date_time(set.task().due), "26-Oct-2026 16:00");
}

#[test]
fn a_window_goes_with_its_slot() {
    let mut set = Set::at(
        "2026-10-26T08:00:00Z",
        "what=visit; from=+1h; due=+3h; repeat=daily 11:00",
    );
    let due = set.task().due;
    set.step_at(due, "not-done; reason=away");
    let task = set.task();
    let window = (ZONE.date_time(task.from.unwrap()), ZONE.date_time(task.due));
    assert_eq!(
        window,
        ("27-Oct-2026 09:00".into(), "27-Oct-2026 11:00".into())
    );
}

#[test]
fn once_done_or_cancelled_it_is_no_longer_due() {
    for (step, state) in [
        ("done", TaskState::Done),
        ("not-done; reason=away", TaskState::NotDone),
        ("cancelled; reason=not needed", TaskState::Cancelled),
    ] {
        let mut set = Set::at("2026-10-26T08:00:00Z", "what=call; due=+1h; person=tom");
        let due = set.task().due;
        assert!(set.task().is_overdue(Timestamp(due.0 + 1)) && !set.task().is_overdue(due));
        set.step_at(due, step);
        assert_eq!(set.task().state, state);
        assert!(!set.task().is_overdue(Timestamp::LATEST));
    }
    let mut repeating = Set::at("2026-10-26T08:00:00Z", "what=obs; due=+4h; repeat=every 4h");
    repeating.step_at(
        moment("2026-10-26T09:00:00Z"),
        "cancelled; reason=going home",
    );
    assert!(
        !repeating.task().is_open(),
        "cancelling ends the whole series"
    );
}
