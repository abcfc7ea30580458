//! Tasks: windows, repeats, and what came of each.

use serde::{Deserialize, Serialize};

use super::held::Held;
use crate::record::ids::Seq;
use crate::record::kind::task::{Task, TaskMove, TaskStep};
use crate::record::person::Handle;
use crate::record::time::{Span, Timestamp, WardZone};

/// Where a task stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum TaskState {
    /// To be done.
    Open,
    /// Done.
    Done,
    /// Will not be done; the reason is in the last step.
    NotDone,
    /// No longer needed; the reason is in the last step.
    Cancelled,
}

/// One task and what came of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TaskLife {
    /// As it was set.
    pub set: Held<Task>,
    /// Where it stands.
    pub state: TaskState,
    /// When it is due now: its first due time, a later repeat, or where it was put off to.
    pub due: Timestamp,
    /// When it may first be done.
    pub from: Option<Timestamp>,
    /// Whose it is now, if it was given to a person.
    pub owner: Option<Handle>,
    /// Every step, in the order recorded.
    pub steps: Vec<Held<TaskStep>>,
    /// Repeats that passed without anybody saying anything.
    pub slots_missed: u32,
    /// The repeat it belongs to, while it is put off.
    slot: Timestamp,
}

/// Repeats are never followed further than this in one step; a rule of one minute left alone
/// for ten days would be longer.
const SLOTS_MAX: u32 = 20_000;

impl TaskLife {
    pub(super) fn set(held: Held<Task>) -> TaskLife {
        let due = held.body.due.0;
        TaskLife {
            state: TaskState::Open,
            due,
            slot: due,
            from: held.body.from.map(|from| from.0),
            owner: held.body.person.clone(),
            steps: Vec::new(),
            slots_missed: 0,
            set: held,
        }
    }

    pub(super) fn step(&mut self, held: Held<TaskStep>, zone: WardZone) {
        let at = held.stamp.occurred_at;
        match held.body.step {
            TaskMove::Done => self.finish(TaskState::Done, at, zone),
            TaskMove::NotDone => self.finish(TaskState::NotDone, at, zone),
            TaskMove::Cancelled => self.state = TaskState::Cancelled,
            TaskMove::Deferred => {
                if let Some(until) = held.body.until {
                    self.due = until.0;
                    self.from = None;
                }
            }
            TaskMove::Reassigned => self.owner.clone_from(&held.body.to),
        }
        self.steps.push(held);
    }

    /// A repeating task goes on to its next slot after the moment it was done.
    fn finish(&mut self, state: TaskState, at: Timestamp, zone: WardZone) {
        let Some(repeat) = self.set.body.repeat else {
            self.state = state;
            return;
        };
        let window = self
            .set
            .body
            .from
            .map(|from| self.set.body.due.0.since(from.0));
        let mut next = repeat.next_after(self.slot, zone);
        let mut skipped = 0;
        while next <= at && skipped < SLOTS_MAX {
            next = repeat.next_after(next, zone);
            skipped += 1;
        }
        self.slots_missed = self.slots_missed.saturating_add(skipped);
        self.slot = next;
        self.due = next;
        self.from = window.map(|window| next.plus(Span(-window.0)));
    }

    /// The step that finished the slot before this one, where `at` is too soon after it to
    /// mean the next: before its window opens, or without a window nearer to that step than to
    /// when it is due (ours, no source). Somebody who says "done" then may mean the same slot
    /// as the colleague who said so first.
    #[must_use]
    pub fn finished_just_before(&self, at: Timestamp) -> Option<&Held<TaskStep>> {
        self.set.body.repeat?;
        let finishes =
            |held: &&Held<TaskStep>| matches!(held.body.step, TaskMove::Done | TaskMove::NotDone);
        let last = self.steps.iter().rfind(finishes)?;
        let too_soon = match self.from {
            Some(from) => at < from,
            None => at.since(last.stamp.occurred_at) < self.due.since(at),
        };
        too_soon.then_some(last)
    }

    /// The entry that set it.
    #[must_use]
    pub const fn seq(&self) -> Seq {
        self.set.seq()
    }

    /// Still to be done.
    #[must_use]
    pub const fn is_open(&self) -> bool {
        matches!(self.state, TaskState::Open)
    }

    /// Should have been done before `now`.
    #[must_use]
    pub fn is_overdue(&self, now: Timestamp) -> bool {
        self.is_open() && self.due < now
    }
}
