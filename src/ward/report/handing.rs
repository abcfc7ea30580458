//! Handovers and how long they waited; shifts, and hours that none covers.

use super::figure::{Figure, Taking, Unit};
use super::{Desk, still};
use crate::record::ids::Seq;
use crate::record::kind::shift::{HandoverMove, Shift};
use crate::record::time::{Span, Timestamp};
use crate::ward::Held;
use crate::ward::shifts::HandoverLife;

pub(super) fn handovers(desk: &Desk<'_>) -> Vec<Figure> {
    let all = desk.ward.handovers();
    let prepared_at = |life: &HandoverLife| life.prepared.stamp.occurred_at;
    let ours = all.values().filter(|life| desk.holds(prepared_at(life)));
    let ours: Vec<&HandoverLife> = ours.collect();
    let accepted_at = |life: &HandoverLife| life.accepted().map(|stamp| stamp.occurred_at);
    // One that waits after a later one was accepted will not be accepted any more.
    let newest = all.values().rev().find(|life| life.accepted().is_some());
    let newest = newest.map(HandoverLife::seq);
    let overtaken = |life: &HandoverLife| life.is_pending() && Some(life.seq()) < newest;
    let those = |which: &dyn Fn(&HandoverLife) -> bool| {
        let those = ours.iter().filter(|life| which(life));
        those.map(|life| life.seq()).collect::<Vec<Seq>>()
    };
    let mut taking = Taking::until("accepted", desk.now);
    for life in &ours {
        match accepted_at(life) {
            None if life.declined().is_some() || overtaken(life) => {}
            accepted => taking.add(life.seq(), prepared_at(life), accepted),
        }
    }
    let mut before = Taking::until("accepted", desk.now);
    let earlier = all
        .values()
        .filter(|life| prepared_at(life) < desk.period.from);
    for life in earlier.filter(|life| life.is_pending() && !overtaken(life)) {
        before.add(life.seq(), prepared_at(life), None);
    }
    let queries = all.values().flat_map(|life| &life.steps).filter(|step| {
        step.held.body.step == HandoverMove::Query && desk.holds(step.held.stamp.occurred_at)
    });
    let held_back =
        those(&|life| life.accepted().is_some() && !life.patients_held_back().is_empty());
    vec![
        desk.figure("prepared", those(&|_| true))
            .taking(taking.spread()),
        desk.figure("accepted", those(&|life| life.accepted().is_some())),
        desk.figure("declined", those(&|life| life.declined().is_some())),
        desk.figure("overtaken", those(&overtaken)),
        desk.figure("patients-held-back", held_back),
        still(desk, "prepared-before", before),
        desk.figure("queries", queries.map(|step| step.held.seq())),
    ]
}

pub(super) fn shifts(desk: &Desk<'_>) -> Vec<Figure> {
    let all = desk.ward.shifts();
    let begun = || all.iter().filter(|held| desk.holds(held.body.from.0));
    let covering = all.iter().filter(|held| !held.body.staff.is_empty());
    let (from, until) = (desk.period.from.max(desk.began), desk.end());
    let mut spans: Vec<(Timestamp, Timestamp, Seq)> = covering
        .map(|held| {
            (
                held.body.from.0.max(from),
                held.body.until.0.min(until),
                held.seq(),
            )
        })
        .filter(|(from, until, _)| from < until)
        .collect();
    spans.sort_unstable();
    let uncovered = gaps(&spans, from, until);
    let open: i64 = uncovered
        .iter()
        .map(|(from, until)| until.since(*from).0)
        .sum();
    let whole = until.since(from).max(Span::ZERO).0;
    let minutes = |micros: i64| u64::try_from(Span(micros).whole_minutes()).unwrap_or_default();
    let entries = || spans.iter().map(|(_, _, seq)| *seq);
    let nobody = begun().filter(|held| held.body.staff.is_empty());
    vec![
        desk.figure("shifts", begun().map(Held::<Shift>::seq)),
        desk.figure("nobody-on", nobody.map(Held::<Shift>::seq)),
        desk.figure("covered", entries())
            .counting(minutes(whole - open), Unit::Minutes),
        desk.figure("not-covered", entries())
            .counting(minutes(open), Unit::Minutes),
    ]
}

/// Stretches that none of the spans, ordered by their beginnings, covers.
fn gaps(
    spans: &[(Timestamp, Timestamp, Seq)],
    from: Timestamp,
    until: Timestamp,
) -> Vec<(Timestamp, Timestamp)> {
    let mut found = Vec::new();
    let mut covered = from;
    for (begins, ends, _) in spans {
        if *begins > covered {
            found.push((covered, *begins));
        }
        covered = covered.max(*ends);
    }
    if covered < until {
        found.push((covered, until));
    }
    found
}
