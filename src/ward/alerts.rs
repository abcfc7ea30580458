//! The alert ledger: each alert's life, every step with a person and a time.

use serde::{Deserialize, Serialize};

use super::fold::insert_by;
use super::held::{Held, Stamp};
use crate::record::ids::Seq;
use crate::record::kind::alert::{
    Alert, AlertMove, AlertOutcome, AlertSource, AlertStep, Severity,
};
use crate::record::person::Handle;
use crate::record::time::{Span, Timestamp};

/// One alert and what became of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct AlertLife {
    /// Who raised it and when.
    pub stamp: Stamp,
    /// What raised it.
    pub source: AlertSource,
    /// What it is.
    pub what: String,
    /// How soon somebody must act.
    pub severity: Severity,
    /// More about it.
    pub detail: Option<String>,
    /// Every step, by when it happened; of two at one moment the later written is later.
    pub steps: Vec<Held<AlertStepFacts>>,
    holder: Option<(Handle, Timestamp)>,
}

/// What one step says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct AlertStepFacts {
    /// What was done.
    pub step: AlertMove,
    /// How it ended, when closed.
    pub outcome: Option<AlertOutcome>,
    /// What was found and done.
    pub what: Option<String>,
    /// Whom it was handed to.
    pub to: Option<Handle>,
    /// It follows from a contact that answered the alert.
    pub by_contact: bool,
}

impl AlertLife {
    pub(super) fn raised(stamp: Stamp, alert: &Alert) -> AlertLife {
        AlertLife {
            stamp,
            source: alert.source,
            what: alert.what.0.clone(),
            severity: alert.severity,
            detail: alert.detail.as_ref().map(|text| text.0.clone()),
            steps: Vec::new(),
            holder: None,
        }
    }

    /// From a worry stated in a contact or a set of observations.
    pub(super) fn worry(stamp: Stamp, worry: &str, source: AlertSource) -> AlertLife {
        AlertLife {
            stamp,
            source,
            what: worry.to_owned(),
            severity: Severity::Urgent,
            detail: None,
            steps: Vec::new(),
            holder: None,
        }
    }

    pub(super) fn step(&mut self, stamp: Stamp, step: &AlertStep) {
        let facts = AlertStepFacts {
            step: step.step,
            outcome: step.outcome,
            what: step.what.as_ref().map(|text| text.0.clone()),
            to: step.to.clone(),
            by_contact: false,
        };
        self.insert(&stamp, facts);
    }

    /// Puts a step where it belongs in time, and finds out anew who has the alert: a step
    /// written down late does not undo what was done after it.
    fn insert(&mut self, stamp: &Stamp, facts: AlertStepFacts) {
        let held = Held::new(stamp.clone(), facts);
        insert_by(&mut self.steps, held, |held| &held.stamp);
        self.holder = self.steps.iter().fold(None, holder_after);
    }

    /// A contact answered it: taken, if nobody had it, and acted on if somebody was reached.
    /// A call that nobody took has not dealt with it.
    pub(super) fn answered(&mut self, stamp: &Stamp, what: Option<String>, reached: bool) {
        let fact = |step, what| AlertStepFacts {
            step,
            outcome: None,
            what,
            to: None,
            by_contact: true,
        };
        if self.holder.is_none() {
            self.insert(stamp, fact(AlertMove::Taken, None));
        }
        if reached {
            self.insert(stamp, fact(AlertMove::Actioned, what));
        }
    }

    /// The entry that raised it.
    #[must_use]
    pub const fn seq(&self) -> Seq {
        self.stamp.seq
    }

    /// Not closed.
    #[must_use]
    pub fn is_open(&self) -> bool {
        self.first(AlertMove::Closed).is_none()
    }

    /// Who has it, and since when.
    #[must_use]
    pub const fn holder(&self) -> Option<&(Handle, Timestamp)> {
        self.holder.as_ref()
    }

    /// How it ended.
    #[must_use]
    pub fn outcome(&self) -> Option<AlertOutcome> {
        self.first(AlertMove::Closed)
            .and_then(|step| step.body.outcome)
    }

    /// The first step of a sort.
    #[must_use]
    pub fn first(&self, wanted: AlertMove) -> Option<&Held<AlertStepFacts>> {
        self.steps.iter().find(|step| step.body.step == wanted)
    }

    /// How long it waited until somebody had it, by taking it, being given it or acting on it;
    /// until `now` while nobody has. Having been seen ends no waiting.
    #[must_use]
    pub fn waited(&self, now: Timestamp) -> Span {
        let ends = self.steps.iter().filter(|s| s.body.step != AlertMove::Seen);
        let first = ends.map(|step| step.stamp.occurred_at).min();
        let end = match self.is_open() && self.holder.is_none() {
            true => now,
            false => first.unwrap_or(now),
        };
        end.since(self.stamp.occurred_at).max(Span::ZERO)
    }

    /// How long it waited until somebody had acted on it or called for help; `None` if nobody
    /// has. Closing is no act: what was closed without one was not acted on.
    #[must_use]
    pub fn time_to_action(&self) -> Option<Span> {
        let acts = [AlertMove::Actioned, AlertMove::Escalated];
        let acted = self.steps.iter().filter(|s| acts.contains(&s.body.step));
        let first = acted.map(|step| step.stamp.occurred_at).min()?;
        Some(first.since(self.stamp.occurred_at).max(Span::ZERO))
    }

    /// How long ago it was raised.
    #[must_use]
    pub fn age(&self, now: Timestamp) -> Span {
        now.since(self.stamp.occurred_at).max(Span::ZERO)
    }
}

/// Who has an alert, and since when.
type Holder = Option<(Handle, Timestamp)>;

/// Who has it after one more step.
fn holder_after(holder: Holder, step: &Held<AlertStepFacts>) -> Holder {
    let at = step.stamp.occurred_at;
    let author = || {
        let handle = step.stamp.author.handle();
        handle.map(|handle| (handle.clone(), at))
    };
    match step.body.step {
        AlertMove::Taken => author(),
        AlertMove::Actioned | AlertMove::Escalated if holder.is_none() => author(),
        AlertMove::HandedOver => step.body.to.clone().map(|to| (to, at)),
        AlertMove::Released => None,
        _ => holder,
    }
}
