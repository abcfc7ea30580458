//! Work to be done, and what came of it.

use super::declare::{CrossCheck, Findings, fields};
use crate::record::choice::choices;
use crate::record::ids::Seq;
use crate::record::moment::Due;
use crate::record::person::Handle;
use crate::record::role::Role;
use crate::record::text::{Line, Note};
use crate::record::time::Repeat;

choices! {
    /// How much a task matters.
    Priority {
        High = "high", "high";
        Normal = "normal", "normal";
        Low = "low", "low";
    }
}

choices! {
    /// What a task is, for lists that group work.
    TaskType {
        Observations = "obs", "observations";
        Call = "call", "call the patient";
        Visit = "visit", "visit";
        Bloods = "bloods", "bloods";
        Medicine = "medicine", "medicine";
        Dressing = "dressing", "dressing";
        Supply = "supply", "supply or kit";
        Liaison = "liaison", "speak to another team";
        Other = "other", "something else";
    }
}

fields! {
    /// Something to be done by a time.
    Task {
        /// What is to be done.
        what: Line,
        /// When it is due, or the end of its window.
        due: Due,
        /// The start of its window.
        from: Option<Due>,
        /// For which role.
        role: Option<Role>,
        /// For which person.
        person: Option<Handle>,
        /// Repeats: every 4h, daily 09:00.
        repeat: Option<Repeat>,
        /// How much it matters.
        priority: Option<Priority>,
        /// What it is.
        kind: Option<TaskType>,
        /// The entry it came from.
        source: Option<Seq>,
        /// More about it.
        detail: Option<Note>,
    }
}

impl CrossCheck for Task {
    fn cross_check(&self, findings: &mut Findings) {
        if let Some(from) = self.from
            && from >= self.due
        {
            findings.refuse(
                "from",
                "the window ends before it begins",
                "a time before due",
            );
        }
    }
}

choices! {
    /// What came of a task.
    TaskMove {
        Done = "done", "done";
        NotDone = "not-done", "not done";
        Deferred = "deferred", "deferred", also "defer";
        Reassigned = "reassigned", "reassigned", also "reassign";
        Cancelled = "cancelled", "cancelled", also "cancel";
    }
}

fields! {
    /// What came of a task.
    TaskStep {
        /// Which task.
        task: Seq,
        /// What came of it.
        step: TaskMove,
        /// Why not, or why later.
        reason: Option<Line>,
        /// New time, when deferred.
        until: Option<Due>,
        /// New owner, when reassigned.
        to: Option<Handle>,
        /// What was done or found.
        detail: Option<Note>,
        /// The entry that did it.
        by_entry: Option<Seq>,
    }
}

impl CrossCheck for TaskStep {
    fn cross_check(&self, findings: &mut Findings) {
        let needs_reason = matches!(
            self.step,
            TaskMove::NotDone | TaskMove::Deferred | TaskMove::Cancelled
        );
        if needs_reason && self.reason.is_none() {
            findings.refuse(
                "reason",
                "is missing",
                "why it was not done, put off or cancelled",
            );
        }
        if self.step == TaskMove::Deferred && self.until.is_none() {
            findings.refuse("until", "is missing", "the new time, e.g. +2h");
        }
        if self.step == TaskMove::Reassigned && self.to.is_none() {
            findings.refuse("to", "is missing", "a member of staff by handle");
        }
    }
}
