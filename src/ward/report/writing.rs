//! What was written, what was written late, and what was put right afterwards.

use super::figure::{Figure, Taking, tally};
use super::{Desk, Event};
use crate::record::ids::Seq;
use crate::record::kind::ward::{AmendmentAct, AmendmentCause};
use crate::record::time::{Span, Timestamp};
use crate::ward::Log;
use crate::ward::log::LogLine;

fn logs<'a>(desk: &Desk<'a>) -> impl Iterator<Item = &'a Log> {
    let of_patients = desk.ward.patients().map(|patient| &patient.log);
    of_patients.chain([desk.ward.common_log()])
}

fn lines<'a>(desk: &Desk<'a>) -> impl Iterator<Item = &'a LogLine> {
    logs(desk).flat_map(Log::lines)
}

fn is_late(desk: &Desk<'_>, line: &LogLine) -> bool {
    let limit = desk.ward.policy().values().record().late_entry;
    line.recorded_at.since(line.occurred_at).max(Span::ZERO) > limit
}

/// When each late entry was written.
pub(super) fn late_events(desk: &Desk<'_>) -> Vec<Event> {
    lines(desk)
        .filter(|line| is_late(desk, line))
        .map(|line| (line.recorded_at, line.seq))
        .collect()
}

pub(super) fn writing(desk: &Desk<'_>) -> Vec<Figure> {
    let written = lines(desk).filter(|line| desk.holds(line.recorded_at));
    let written: Vec<&LogLine> = written.collect();
    let late: Vec<&&LogLine> = written.iter().filter(|line| is_late(desk, line)).collect();
    let mut taking = Taking::until("late-by", desk.now);
    for line in &late {
        taking.add(line.seq, line.occurred_at, Some(line.recorded_at));
    }
    vec![
        desk.figure("written", written.iter().map(|line| line.seq)),
        desk.figure("late", late.iter().map(|line| line.seq))
            .taking(taking.spread()),
    ]
}

pub(super) fn amendments(desk: &Desk<'_>) -> Vec<Figure> {
    let mut found: Vec<((AmendmentAct, AmendmentCause), Seq)> = Vec::new();
    let mut undone = Vec::new();
    for log in logs(desk) {
        let standing = log.standing();
        for amending in log.amendments() {
            let at: Option<Timestamp> = log.line(amending.seq).map(|line| line.recorded_at);
            if !at.is_some_and(|at| desk.holds(at)) {
                continue;
            }
            found.push(((amending.act, amending.cause), amending.seq));
            let by = standing.get(&amending.seq);
            if by.is_some_and(|by| by.act == AmendmentAct::Withdraw) {
                undone.push(amending.seq);
            }
        }
    }
    let of = |act| found.iter().filter(move |((is, _), _)| *is == act);
    let entries = |act| of(act).map(|(_, seq)| *seq);
    let mut figures = vec![
        desk.figure("corrected", entries(AmendmentAct::Correct)),
        desk.figure("withdrawn", entries(AmendmentAct::Withdraw)),
        desk.figure("amendments-withdrawn", undone),
    ];
    for ((act, cause), entries) in tally(found.iter().copied()) {
        let sort = vec![act.code(), cause.code()];
        figures.push(desk.figure("by-act-and-cause", entries).sort(sort));
    }
    figures
}
