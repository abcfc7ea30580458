//! Everything that is due at some time, whatever ledger it comes from: one list.

use super::Ward;
use super::held::Held;
use super::patient::Patient;
use super::samples::ResultLife;
use super::tasks::TaskLife;
use crate::record::ids::{Pseudonym, Seq};
use crate::record::kind::contact::Contact;
use crate::record::kind::sample::ResultReview;
use crate::record::kind::supply::DoseOutcome;
use crate::record::kind::task::Priority;
use crate::record::person::Handle;
use crate::record::role::Role;
use crate::record::text::Line;
use crate::record::time::Timestamp;

/// Where a due item comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum DueSort {
    /// Nobody has been reached; ages like an overdue task.
    Unreached,
    /// An escalation waits for an answer.
    EscalationAnswer,
    /// A plan agreed in an escalation is to be looked at again.
    EscalationReview,
    /// A task.
    Task,
    /// The next contact.
    NextContact,
    /// A dose.
    Dose,
    /// A dressing change.
    Dressing,
    /// Care of a line.
    LineCare,
    /// A result should be there.
    ResultExpected,
    /// A test is to be repeated.
    ResultRepeat,
    /// A supply should be there.
    Supply,
}

impl DueSort {
    /// What it is called in lists and JSON.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            DueSort::Unreached => "unreached",
            DueSort::EscalationAnswer => "escalation-answer",
            DueSort::EscalationReview => "escalation-review",
            DueSort::Task => "task",
            DueSort::NextContact => "next-contact",
            DueSort::Dose => "dose",
            DueSort::Dressing => "dressing",
            DueSort::LineCare => "line-care",
            DueSort::ResultExpected => "result-expected",
            DueSort::ResultRepeat => "result-repeat",
            DueSort::Supply => "supply",
        }
    }
}

/// Something that is due.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DueItem {
    /// When, or the end of its window.
    pub due: Timestamp,
    /// The start of its window.
    pub from: Option<Timestamp>,
    /// Where it comes from.
    pub sort: DueSort,
    /// The entry it comes from.
    pub seq: Seq,
    /// The patient, if any.
    pub patient: Option<Pseudonym>,
    /// What is to be done.
    pub what: String,
    /// Whose it is.
    pub owner: Option<Handle>,
    /// For which role.
    pub role: Option<Role>,
    /// How much it matters.
    pub priority: Priority,
}

impl DueItem {
    /// Should have been done before `now`.
    #[must_use]
    pub fn is_overdue(&self, now: Timestamp) -> bool {
        self.due < now
    }

    fn new(patient: &Patient, sort: DueSort, seq: Seq, due: Timestamp, what: String) -> DueItem {
        DueItem {
            due,
            from: None,
            sort,
            seq,
            patient: Some(patient.pseudonym),
            what,
            owner: patient.allocated_to().cloned(),
            role: None,
            priority: Priority::Normal,
        }
    }

    fn of_task(task: &TaskLife, patient: Option<Pseudonym>) -> DueItem {
        DueItem {
            due: task.due,
            from: task.from,
            sort: DueSort::Task,
            seq: task.seq(),
            patient,
            what: task.set.body.what.0.clone(),
            owner: task.owner.clone(),
            role: task.set.body.role,
            priority: task.set.body.priority.unwrap_or(Priority::Normal),
        }
    }
}

impl Ward {
    /// Everything due, earliest first: every open task of anybody, and what else is due for
    /// patients on the ward.
    #[must_use]
    pub fn due_items(&self) -> Vec<DueItem> {
        let mut items: Vec<DueItem> = Vec::new();
        items.extend(open_tasks(self.common().tasks.values(), None));
        for patient in self.patients() {
            items.extend(patient.due_items());
        }
        items.sort_by_key(|item| (item.due, item.sort, item.seq));
        items
    }
}

fn open_tasks<'a>(
    tasks: impl Iterator<Item = &'a TaskLife>,
    patient: Option<Pseudonym>,
) -> impl Iterator<Item = DueItem> {
    tasks
        .filter(|task| task.is_open())
        .map(move |task| DueItem::of_task(task, patient))
}

impl Patient {
    /// Everything due for this patient, earliest first. After discharge only what was left
    /// open: tasks, escalations, results, supplies.
    #[must_use]
    pub fn due_items(&self) -> Vec<DueItem> {
        let mut items: Vec<DueItem> =
            open_tasks(self.ledgers.tasks.values(), Some(self.pseudonym)).collect();
        self.add_escalations(&mut items);
        self.add_results(&mut items);
        self.add_supplies(&mut items);
        if self.is_current() {
            self.add_contact(&mut items);
            self.add_doses(&mut items);
            self.add_care(&mut items);
        }
        items.sort_by_key(|item| (item.due, item.sort, item.seq));
        items
    }

    fn add_contact(&self, items: &mut Vec<DueItem>) {
        let owner = |held: &Held<Contact>| {
            let named = held.body.next_by.clone();
            named.or_else(|| self.allocated_to().cloned())
        };
        let tries = self.unreached();
        if let (Some(first), Some(last)) = (tries.first(), tries.last()) {
            let attempts = match tries.len() {
                1 => "1 attempt".to_owned(),
                many => format!("{many} attempts"),
            };
            let what = format!(
                "not reached: {attempts}, last: {}",
                last.body.outcome.label()
            );
            let due = last.body.next.map_or(first.stamp.occurred_at, |due| due.0);
            items.push(DueItem {
                priority: Priority::High,
                owner: owner(last),
                ..DueItem::new(self, DueSort::Unreached, last.seq(), due, what)
            });
        }
        let planned = self.next_contact();
        // A time to try again is what the item above says.
        let planned = planned.filter(|held| !held.body.outcome.is_unreached());
        if let Some((held, due)) = planned.and_then(|held| Some((held, held.body.next?.0))) {
            let what = "next contact".to_owned();
            items.push(DueItem {
                owner: owner(held),
                ..DueItem::new(self, DueSort::NextContact, held.seq(), due, what)
            });
        }
    }

    fn add_escalations(&self, items: &mut Vec<DueItem>) {
        for life in self.escalations.values().filter(|life| life.is_open()) {
            let to = life.made.body.to_role.as_str();
            if let Some(due) = life.answer_due() {
                let what = format!("answer from {to}");
                let item = DueItem::new(self, DueSort::EscalationAnswer, life.seq(), due, what);
                items.push(DueItem {
                    priority: Priority::High,
                    ..item
                });
            }
            if let Some(due) = life.review_due() {
                let what = format!("review the plan agreed with {to}");
                let item = DueItem::new(self, DueSort::EscalationReview, life.seq(), due, what);
                items.push(DueItem {
                    priority: Priority::High,
                    ..item
                });
            }
        }
    }

    fn add_results(&self, items: &mut Vec<DueItem>) {
        for (seq, life) in &self.samples {
            if let Some(due) = life.result_due() {
                let what = format!("result of {}", life.taken.body.tests);
                items.push(DueItem {
                    owner: life.taken.body.reviewer.clone(),
                    ..DueItem::new(self, DueSort::ResultExpected, *seq, due, what)
                });
            }
        }
        for life in self.results.values() {
            let Some(review) = life.reviews.last() else {
                continue;
            };
            let Some(due) = review.body.repeat_by else {
                continue;
            };
            if !self.is_repeated(life, review) {
                let what = "repeat the test".to_owned();
                items.push(DueItem::new(
                    self,
                    DueSort::ResultRepeat,
                    review.seq(),
                    due.0,
                    what,
                ));
            }
        }
    }

    /// Whether the sample was taken again since the review: one taken from the same (bloods,
    /// urine), or one that names the result or its review. Where the result came without a
    /// sample, any will do.
    fn is_repeated(&self, life: &ResultLife, review: &Held<ResultReview>) -> bool {
        let same = |text: &Line| text.0.trim().to_lowercase();
        let first = life
            .reported
            .body
            .sample
            .and_then(|seq| self.samples.get(&seq));
        let wanted = first.map(|first| same(&first.taken.body.what));
        let sources = [life.reported.seq(), review.seq()];
        self.samples.values().any(|sample| {
            let taken = &sample.taken;
            let named = taken.body.source.is_some_and(|seq| sources.contains(&seq));
            let alike = wanted
                .as_ref()
                .is_none_or(|what| *what == same(&taken.body.what));
            // One that may never have been taken repeats nothing.
            let later = taken.stamp.occurred_at > review.stamp.occurred_at;
            later && !taken.stamp.limited && (named || alike)
        })
    }

    fn add_supplies(&self, items: &mut Vec<DueItem>) {
        for (seq, life) in &self.supplies {
            if let (true, Some(due)) = (life.is_open(), life.asked.body.needed_by) {
                let what = format!("delivery: {}", life.asked.body.item);
                items.push(DueItem::new(self, DueSort::Supply, *seq, due.0, what));
            }
        }
    }

    /// The newest report of each medicine says when its next dose is due.
    fn add_doses(&self, items: &mut Vec<DueItem>) {
        let mut seen: Vec<&str> = Vec::new();
        for held in self.doses.iter().rev() {
            let medicine = held.body.medicine.as_str();
            if seen.contains(&medicine) {
                continue;
            }
            seen.push(medicine);
            if let Some(due) = held.body.next_due {
                let last = match held.body.outcome {
                    DoseOutcome::Taken | DoseOutcome::Given => "",
                    _ => " (last one not taken)",
                };
                let what = format!("dose: {medicine}{last}");
                items.push(DueItem::new(self, DueSort::Dose, held.seq(), due.0, what));
            }
        }
    }

    fn add_care(&self, items: &mut Vec<DueItem>) {
        for wound in self.wounds.values() {
            let Some(newest) = wound.newest() else {
                continue;
            };
            if let Some(due) = wound.next_change() {
                let what = format!("dressing, wound {} ({})", wound.number, newest.body.site);
                items.push(DueItem::new(
                    self,
                    DueSort::Dressing,
                    newest.seq(),
                    due,
                    what,
                ));
            }
        }
        for line in self.lines.values() {
            if let Some(due) = line.next_care() {
                let what = format!("care of {}", line.found.body.kind.label());
                items.push(DueItem::new(self, DueSort::LineCare, line.seq(), due, what));
            }
        }
    }
}
