//! Who was on the ward, and bed days.

use super::Desk;
use super::figure::{Figure, Unit};
use super::period::{day_start, next_day};
use super::stays::{Stay, Stays};
use crate::record::ids::Seq;
use crate::record::time::{Timestamp, WardZone};
use chrono::NaiveDate;

/// Midnights of the ward's calendar in a period, each by the day it begins: those after the
/// first moment, so that a period of whole days has one for the end of each day.
pub(super) fn midnights(zone: WardZone, after: Timestamp, upto: Timestamp) -> Vec<NaiveDate> {
    let mut date = zone.date(after);
    let mut found = Vec::new();
    loop {
        let next = next_day(date);
        if next == date || day_start(zone, next) > upto {
            return found;
        }
        found.push(next);
        date = next;
    }
}

/// How many of these midnights somebody spent on the ward, counted as the length of a stay is:
/// by dates.
pub(super) fn nights_of(stay: &Stay<'_>, nights: &[NaiveDate], zone: WardZone) -> usize {
    if !stay.is_sound() {
        return 0;
    }
    let first = nights.partition_point(|night| *night <= zone.date(stay.began()));
    let end = stay.left().map_or(nights.len(), |(left, _)| {
        nights.partition_point(|night| *night <= zone.date(left))
    });
    end.saturating_sub(first)
}

pub(super) fn beds(desk: &Desk<'_>, stays: &Stays<'_>) -> Vec<Figure> {
    let zone = desk.ward.zone();
    let here = |moment: Timestamp| {
        let here = stays.0.iter().filter(move |stay| stay.is_here(moment));
        here.map(Stay::seq).collect::<Vec<Seq>>()
    };
    let nights = midnights(zone, desk.period.from.max(desk.began), desk.end());
    let spent = stays
        .0
        .iter()
        .map(|stay| (nights_of(stay, &nights, zone), stay.seq()));
    let spent: Vec<(usize, Seq)> = spent.filter(|(nights, _)| *nights > 0).collect();
    let total: usize = spent.iter().map(|(nights, _)| nights).sum();
    let unknown = stays
        .0
        .iter()
        .filter(|stay| stay.end_unknown && stay.began() < desk.end());
    let unknown: Vec<Seq> = unknown.map(Stay::seq).collect();
    // Who had come and gone before the journal began is not known, nor who was there then.
    let ends = [
        ("here-at-start", desk.period.from),
        ("here-at-end", desk.end()),
    ];
    let known = ends.into_iter().filter(|(_, at)| *at >= desk.began);
    let mut figures: Vec<Figure> = known
        .map(|(name, at)| desk.figure(name, here(at)))
        .collect();
    figures.push(
        desk.figure("bed-days", spent.iter().map(|(_, seq)| *seq))
            .counting(total as u64, Unit::Midnights),
    );
    if !unknown.is_empty() {
        figures.push(desk.figure("end-of-stay-unknown", unknown));
    }
    figures
}
