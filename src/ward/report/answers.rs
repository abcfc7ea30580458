//! Alerts and escalations: how many, and how long until somebody answered. One that waits is
//! never left out.

use super::figure::{Figure, Taking, tally};
use super::{Desk, Event, event};
use crate::record::ids::Seq;
use crate::record::kind::alert::{AlertMove, AlertSource, EscalationMove, Severity};
use crate::record::time::Timestamp;
use crate::ward::alerts::AlertLife;
use crate::ward::escalations::EscalationLife;

fn all_alerts<'a>(desk: &Desk<'a>) -> impl Iterator<Item = &'a AlertLife> {
    let of_patients = desk.ward.patients().map(|patient| &patient.ledgers);
    of_patients
        .chain([desk.ward.common()])
        .flat_map(|ledgers| ledgers.alerts.values())
}

/// When each alert was raised.
pub(super) fn raised(desk: &Desk<'_>) -> Vec<Event> {
    all_alerts(desk).map(|alert| event(&alert.stamp)).collect()
}

/// The moves by which an alert has come to a stage or beyond it: whoever closes one has seen it.
const STAGES: [(&str, &[AlertMove]); 4] = [
    ("seen", AlertMove::ALL),
    (
        "taken",
        &[
            AlertMove::Taken,
            AlertMove::Actioned,
            AlertMove::Escalated,
            AlertMove::HandedOver,
            AlertMove::Closed,
        ],
    ),
    (
        "acted",
        &[AlertMove::Actioned, AlertMove::Escalated, AlertMove::Closed],
    ),
    ("closed", &[AlertMove::Closed]),
];

fn reached(alert: &AlertLife, moves: &[AlertMove]) -> Option<Timestamp> {
    let steps = alert.steps.iter();
    let first = steps.filter(|step| moves.contains(&step.body.step));
    first.map(|step| step.stamp.occurred_at).min()
}

fn closed_at(alert: &AlertLife) -> Option<Timestamp> {
    reached(alert, &[AlertMove::Closed])
}

fn timed(desk: &Desk<'_>, figure: Figure, alerts: &[&AlertLife]) -> Figure {
    STAGES.iter().fold(figure, |figure, (name, moves)| {
        let mut taking = Taking::until(name, desk.now);
        for alert in alerts {
            taking.add(alert.seq(), alert.stamp.occurred_at, reached(alert, moves));
        }
        figure.taking(taking.spread())
    })
}

/// Began before a moment and had not ended.
fn is_open_at(moment: Timestamp, began: Timestamp, ended: Option<Timestamp>) -> bool {
    began < moment && ended.is_none_or(|ended| ended >= moment)
}

pub(super) fn alerts(desk: &Desk<'_>) -> Vec<Figure> {
    let all: Vec<&AlertLife> = all_alerts(desk).collect();
    let raised = all
        .iter()
        .filter(|alert| desk.holds(alert.stamp.occurred_at));
    let raised: Vec<&AlertLife> = raised.copied().collect();
    let figure =
        |name, alerts: &[&AlertLife]| desk.figure(name, alerts.iter().map(|alert| alert.seq()));
    let mut figures = vec![timed(desk, figure("raised", &raised), &raised)];
    for severity in Severity::ALL {
        let of: Vec<&AlertLife> = those(&raised, |alert| alert.severity == *severity);
        let counted = figure("by-severity", &of).sort(vec![severity.code()]);
        figures.push(timed(desk, counted, &of));
    }
    for source in AlertSource::ALL {
        for severity in Severity::ALL {
            let is = |alert: &AlertLife| (alert.source, alert.severity) == (*source, *severity);
            let of = those(&raised, is);
            if !of.is_empty() {
                let sort = vec![source.code(), severity.code()];
                let counted = figure("by-source-and-severity", &of).sort(sort);
                figures.push(timed(desk, counted, &of));
            }
        }
    }
    let open_at = |moment| {
        those(&all, |alert| {
            is_open_at(moment, alert.stamp.occurred_at, closed_at(alert))
        })
    };
    let closed = those(&all, |alert| {
        closed_at(alert).is_some_and(|at| desk.holds(at))
    });
    let carried = open_at(desk.period.from);
    let mut taking = Taking::until("closed", desk.now);
    for alert in &carried {
        taking.add(alert.seq(), alert.stamp.occurred_at, closed_at(alert));
    }
    figures.push(figure("open-at-start", &carried).taking(taking.spread()));
    figures.push(figure("closed", &closed));
    figures.push(figure("open-at-end", &open_at(desk.end())));
    let outcomes = closed
        .iter()
        .filter_map(|alert| Some((alert.outcome()?, alert.seq())));
    for (outcome, entries) in tally(outcomes) {
        figures.push(desk.figure("closed", entries).sort(vec![outcome.code()]));
    }
    figures
}

fn those<'a>(all: &[&'a AlertLife], which: impl Fn(&AlertLife) -> bool) -> Vec<&'a AlertLife> {
    all.iter().copied().filter(|alert| which(alert)).collect()
}

/// When an escalation first came to a step.
fn first(life: &EscalationLife, step: EscalationMove) -> Option<Timestamp> {
    let steps = life.steps.iter().filter(|held| held.body.step == step);
    steps.map(|held| held.stamp.occurred_at).min()
}

fn made_at(life: &EscalationLife) -> Timestamp {
    life.made.stamp.occurred_at
}

pub(super) fn escalations(desk: &Desk<'_>) -> Vec<Figure> {
    let all = desk
        .ward
        .patients()
        .flat_map(|patient| patient.escalations.values());
    let all: Vec<&EscalationLife> = all.collect();
    let those = |which: &dyn Fn(&EscalationLife) -> bool| {
        let those = all.iter().filter(|life| which(life));
        those.map(|life| life.seq()).collect::<Vec<Seq>>()
    };
    let answered = |life: &EscalationLife| first(life, EscalationMove::Answered);
    let closed = |life: &EscalationLife| first(life, EscalationMove::Closed);
    let is_ours = |life: &EscalationLife| desk.holds(made_at(life));
    let given_up = |life: &EscalationLife| answered(life).is_none() && closed(life).is_some();
    let after_time = |life: &EscalationLife| {
        let due = life.made.body.answer_by.map(|due| due.0);
        due.is_some_and(|due| answered(life).or(closed(life)).unwrap_or(desk.now) > due)
    };
    let open_at =
        |moment| those(&|life: &EscalationLife| is_open_at(moment, made_at(life), closed(life)));
    let mut taking = Taking::until("answered", desk.now);
    for life in all.iter().filter(|life| is_ours(life) && !given_up(life)) {
        taking.add(life.seq(), made_at(life), answered(life));
    }
    let mut carried = Taking::until("answered", desk.now);
    let open_then = all.iter().filter(|life| {
        is_open_at(desk.period.from, made_at(life), closed(life)) && !given_up(life)
    });
    for life in open_then {
        carried.add(life.seq(), made_at(life), answered(life));
    }
    let tries = all.iter().flat_map(|life| &life.steps).filter(|held| {
        held.body.step == EscalationMove::NoAnswer && desk.holds(held.stamp.occurred_at)
    });
    let ended = those(&|life: &EscalationLife| closed(life).is_some_and(|at| desk.holds(at)));
    vec![
        desk.figure("made", those(&is_ours)).taking(taking.spread()),
        desk.figure(
            "after-the-time-asked-for",
            those(&|life: &EscalationLife| is_ours(life) && after_time(life)),
        ),
        desk.figure(
            "closed-without-answer",
            those(&|life: &EscalationLife| is_ours(life) && given_up(life)),
        ),
        desk.figure("no-answer", tries.map(|held| held.seq())),
        desk.figure("open-at-start", open_at(desk.period.from))
            .taking(carried.spread()),
        desk.figure("closed", ended),
        desk.figure("open-at-end", open_at(desk.end())),
    ]
}
