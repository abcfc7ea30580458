//! The period day by day on the ward's calendar, for lists and for series.

use chrono::NaiveTime;
use serde::Serialize;

use super::beds::{midnights, nights_of};
use super::figure::{Figure, Unit};
use super::period::{day_start, next_day};
use super::stays::{Stay, Stays};
use super::{Desk, Event, answers, contacts, event, writing};
use crate::clinical::occupancy::Occupancy;
use crate::record::ids::Seq;
use crate::record::moment::Day as Date;
use crate::record::time::{Timestamp, moment_or_gap_end};

/// One day of the ward's calendar, or as much of it as lies in the period.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WardDay {
    /// Its date.
    pub date: crate::record::moment::Day,
    /// Its first moment in the period.
    pub from: Timestamp,
    /// The moment after its last in the period.
    pub until: Timestamp,
    /// The whole day is in the period and over, and the journal had begun. It has 23 or 25 hours where the clocks change.
    pub whole: bool,
    /// The journal had begun by the day's first moment: before, who was on the ward is not known.
    pub in_journal: bool,
    /// When its patients were counted; null where that moment is not in the period, or is before
    /// the journal.
    pub snapshot_at: Option<Timestamp>,
    /// Places at that moment, by the ward's policy; null where they were not known.
    pub capacity: Option<u32>,
    /// The entry that says how many places there are.
    pub capacity_seq: Option<Seq>,
    /// Patients as a share of places, in tenths of a per cent; null where places are not known.
    pub occupancy_tenths: Option<u64>,
    /// More than 80 per cent of places were taken; null where places are not known.
    pub above_80_percent: Option<bool>,
    /// What was counted of it.
    pub figures: Vec<Figure>,
}

impl WardDay {
    /// One of its figures.
    #[must_use]
    pub fn figure(&self, name: &str) -> Option<&Figure> {
        self.figures.iter().find(|figure| figure.name == name)
    }

    /// How many of something, where it was counted.
    #[must_use]
    pub fn count(&self, name: &str) -> Option<u64> {
        self.figure(name).map(|figure| figure.count)
    }
}

pub(super) fn days(desk: &Desk<'_>, stays: &Stays<'_>) -> Vec<WardDay> {
    let zone = desk.ward.zone();
    let mut series = daily(desk, stays);
    for (_, events) in &mut series {
        events.sort_unstable();
    }
    let mut days = Vec::new();
    let mut date = zone.date(desk.period.from);
    loop {
        let (start, next) = (day_start(zone, date), next_day(date));
        if next == date || start.max(desk.period.from) >= desk.period.until || start > desk.now {
            return days;
        }
        let end = day_start(zone, next);
        let mut day = WardDay {
            date: Date::from_date(date),
            from: start.max(desk.period.from),
            until: end.min(desk.period.until),
            whole: desk.period.from.max(desk.began) <= start && end <= desk.end(),
            in_journal: desk.began <= start.max(desk.period.from),
            snapshot_at: None,
            capacity: None,
            capacity_seq: None,
            occupancy_tenths: None,
            above_80_percent: None,
            figures: Vec::new(),
        };
        snapshot(desk, stays, &mut day);
        spend_night(desk, stays, &mut day);
        for (name, events) in &series {
            let from = events.partition_point(|(at, _)| *at < day.from);
            let until = events.partition_point(|(at, _)| *at < day.until);
            let of_day = events.get(from..until).unwrap_or_default();
            let entries = of_day.iter().map(|(_, seq)| *seq);
            day.figures.push(desk.figure(name, entries));
        }
        days.push(day);
        date = next;
    }
}

/// What is counted by day, with when each happened.
fn daily(desk: &Desk<'_>, stays: &Stays<'_>) -> Vec<(&'static str, Vec<Event>)> {
    let admitted = stays
        .0
        .iter()
        .map(|stay| event(&stay.episode.admitted.stamp));
    let left = stays.0.iter().filter_map(Stay::left);
    vec![
        ("admitted", admitted.collect()),
        ("left", left.collect()),
        ("contacts", contacts::events(desk, false)),
        ("unreached", contacts::events(desk, true)),
        ("alerts-raised", answers::raised(desk)),
        ("late", writing::late_events(desk)),
    ]
}

/// Who was there at the hour the ward counts at, against the places there were.
fn snapshot(desk: &Desk<'_>, stays: &Stays<'_>, day: &mut WardDay) {
    let zone = desk.ward.zone();
    let hour = desk.ward.policy().values().report().snapshot_hour;
    let Some(time) = NaiveTime::from_hms_opt(hour, 0, 0) else {
        return;
    };
    let at = moment_or_gap_end(zone, day.date.to_date(), time);
    if !(day.from.max(desk.began) <= at && at < day.until && at <= desk.now) {
        return;
    }
    let here = stays.0.iter().filter(|stay| stay.is_here(at));
    let here = desk.figure("here", here.map(Stay::seq));
    let policy = desk.ward.policy().at(at);
    day.snapshot_at = Some(at);
    day.capacity = policy.values().report().capacity;
    if let Some(capacity) = day.capacity {
        let newest = policy.newest("report.capacity");
        let patients = u32::try_from(here.count).unwrap_or(u32::MAX);
        let occupancy = Occupancy { patients, capacity };
        day.capacity_seq = newest.map(|held| held.seq());
        day.occupancy_tenths = occupancy.tenths_of_percent();
        day.above_80_percent = occupancy.is_above_80_percent();
    }
    day.figures.push(here.in_patients());
}

/// The midnight at the end of the day, where it is in the period.
fn spend_night(desk: &Desk<'_>, stays: &Stays<'_>, day: &mut WardDay) {
    let zone = desk.ward.zone();
    let nights = midnights(zone, day.from.max(desk.began), day.until.min(desk.now));
    if nights.is_empty() {
        return;
    }
    let here = stays
        .0
        .iter()
        .filter(|stay| nights_of(stay, &nights, zone) > 0);
    let figure = desk.figure("bed-days", here.map(Stay::seq));
    let count = figure.count;
    day.figures.push(figure.counting(count, Unit::Midnights));
}

impl Figure {
    fn in_patients(self) -> Figure {
        let count = self.count;
        self.counting(count, Unit::Patients)
    }
}
