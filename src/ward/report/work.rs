//! Tasks: done in time or late, not done, put off, overdue.

use super::figure::{Figure, Taking, Unit};
use super::{Desk, still};
use crate::record::ids::Seq;
use crate::record::kind::task::TaskMove;
use crate::record::time::Timestamp;
use crate::ward::tasks::TaskLife;

/// Repeats are never followed further than this.
const SLOTS_MAX: u32 = 20_000;

/// What was said of a task, and what was due then.
struct Said {
    step: Seq,
    at: Timestamp,
    what: TaskMove,
    /// When it was due, as put off by then.
    due: Timestamp,
}

#[derive(Default)]
struct Told {
    said: Vec<Said>,
    /// When repeats passed of which nobody said anything.
    silent: Vec<(Timestamp, Seq)>,
}

fn all_tasks<'a>(desk: &Desk<'a>) -> impl Iterator<Item = &'a TaskLife> {
    let of_patients = desk.ward.patients().map(|patient| &patient.ledgers);
    of_patients
        .chain([desk.ward.common()])
        .flat_map(|ledgers| ledgers.tasks.values())
}

/// Goes through a task's life again: a repeating task forgets what each repeat was due.
fn tell(desk: &Desk<'_>, task: &TaskLife, told: &mut Told) {
    let zone = desk.ward.zone();
    let mut life = TaskLife::set(task.set.clone());
    let mut slot = life.due;
    for held in &task.steps {
        let (due, missed) = (life.due, life.slots_missed);
        told.said.push(Said {
            step: held.seq(),
            at: held.stamp.occurred_at,
            what: held.body.step,
            due,
        });
        life.step(held.clone(), zone);
        let Some(repeat) = task.set.body.repeat else {
            continue;
        };
        if matches!(held.body.step, TaskMove::Done | TaskMove::NotDone) {
            let passed = life.slots_missed.saturating_sub(missed).min(SLOTS_MAX);
            for _ in 0..passed {
                slot = repeat.next_after(slot, zone);
                told.silent.push((slot, task.seq()));
            }
            slot = life.due;
        }
    }
}

pub(super) fn tasks(desk: &Desk<'_>) -> Vec<Figure> {
    let mut told = Told::default();
    all_tasks(desk).for_each(|task| tell(desk, task, &mut told));
    let said: Vec<&Said> = told
        .said
        .iter()
        .filter(|said| desk.holds(said.at))
        .collect();
    let steps = |what: TaskMove| {
        let steps = said.iter().filter(move |said| said.what == what);
        steps.map(|said| said.step).collect::<Vec<Seq>>()
    };
    let is_late = |said: &&&Said| said.what == TaskMove::Done && said.at > said.due;
    let in_time = |said: &&&Said| said.what == TaskMove::Done && said.at <= said.due;
    let mut lateness = Taking::until("late-by", desk.now);
    for late in said.iter().filter(is_late) {
        lateness.add(late.step, late.due, Some(late.at));
    }
    let mut overdue = Taking::until("overdue-for", desk.now);
    let open = all_tasks(desk).filter(|task| task.is_overdue(desk.now) && desk.holds(task.due));
    let open: Vec<&TaskLife> = open.collect();
    for task in &open {
        overdue.add(task.seq(), task.due, None);
    }
    let mut before = Taking::until("overdue-for", desk.now);
    for task in all_tasks(desk).filter(|task| task.is_open() && task.due < desk.period.from) {
        before.add(task.seq(), task.due, None);
    }
    let set = all_tasks(desk).filter(|task| desk.holds(task.set.stamp.occurred_at));
    let silent: Vec<Seq> = told
        .silent
        .iter()
        .filter(|(at, _)| desk.holds(*at))
        .map(|(_, seq)| *seq)
        .collect();
    let repeats = silent.len() as u64;
    vec![
        desk.figure("set", set.map(TaskLife::seq)),
        desk.figure("done", steps(TaskMove::Done)),
        desk.figure(
            "done-in-time",
            said.iter().filter(in_time).map(|said| said.step),
        ),
        desk.figure(
            "done-late",
            said.iter().filter(is_late).map(|said| said.step),
        )
        .taking(lateness.spread()),
        desk.figure("not-done", steps(TaskMove::NotDone)),
        desk.figure("put-off", steps(TaskMove::Deferred)),
        desk.figure("cancelled", steps(TaskMove::Cancelled)),
        desk.figure("repeats-nothing-said", silent)
            .counting(repeats, Unit::Repeats),
        desk.figure("overdue", open.iter().map(|task| task.seq()))
            .taking(overdue.spread()),
        still(desk, "overdue-from-before", before),
    ]
}
