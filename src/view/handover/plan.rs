//! R: what is to be done, by when and by whom; what to watch for and what nobody has answered.

use serde::Serialize;

use super::{lasting, stay};
use crate::record::ids::Seq;
use crate::record::kind::contact::{NoteTopic, NursingNote};
use crate::record::kind::task::{Priority, TaskMove, TaskStep};
use crate::record::role::Role;
use crate::record::time::Timestamp;
use crate::view::origin::{Origin, Statement, Subject, Vantage, Writer};
use crate::view::page::Dial;
use crate::ward::due::{DueItem, DueSort};
use crate::ward::shifts::{HandoverLife, HandoverStepHeld};
use crate::ward::tasks::TaskLife;
use crate::ward::{Held, Ledgers, Patient, Ward};

/// What is to be done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Recommendation {
    /// Who looks after the patient, by the newest allocation.
    pub allocated_to: Option<Writer>,
    /// Everything due up to the end of the oncoming shift and the next 24 hours, overdue first.
    pub due: Vec<DueLine>,
    /// How many things are due later than that.
    pub due_later: usize,
    /// The next contact; `None` if none is arranged.
    pub next_contact: Option<Timestamp>,
    /// What to do if the patient gets worse.
    pub plan: Option<String>,
    /// What to watch for, newest first.
    pub watch_for: Vec<Statement>,
    /// The safety net given to the patient at the newest contact that gave one.
    pub safety_net: Option<Statement>,
    /// Questions nobody has answered yet, newest first.
    pub questions: Vec<Statement>,
    /// Queries from earlier handovers nobody has answered.
    pub queries: Vec<QueryLine>,
}

/// Something due.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DueLine {
    /// When, or the end of its window.
    pub due: Timestamp,
    /// The start of its window.
    pub from: Option<Timestamp>,
    /// Should have been done before the sheet's moment.
    pub overdue: bool,
    /// Where it comes from: `task`, `next-contact`, `dose`, …
    pub sort: &'static str,
    /// The entry it comes from.
    pub seq: Seq,
    /// What is to be done.
    pub what: String,
    /// Whose it is; `None` if nobody's.
    pub owner: Option<Writer>,
    /// For which role.
    pub role: Option<Role>,
    /// How much it matters.
    pub priority: Priority,
    /// It, or a step that changed it, is new since the last accepted sheet; that a repeat was done
    /// does not make the next one new.
    pub is_new: bool,
    /// More about a task: its repeat, its newest step, repeats missed.
    pub detail: Vec<String>,
}

/// A handover query nobody has answered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct QueryLine {
    /// Who asked and when.
    pub origin: Origin,
    /// The handover it was asked in.
    pub handover: Seq,
    /// The question.
    pub text: String,
}

pub(super) fn recommendation(
    subject: &Subject<'_>,
    patient: &Patient,
    horizon: Timestamp,
    open: &[&HandoverStepHeld],
) -> Recommendation {
    let vantage = &subject.vantage;
    let items = patient.due_items();
    let (near, later): (Vec<&DueItem>, Vec<&DueItem>) =
        items.iter().partition(|item| item.due <= horizon);
    let contact = items.iter().find(|item| item.sort == DueSort::NextContact);
    let safe = stay::contacts(patient)
        .rev()
        .find(|held| held.body.safety_net.is_some());
    let id = patient.pseudonym;
    Recommendation {
        allocated_to: patient
            .allocated_to()
            .map(|handle| Writer::of_handle(vantage.ward, handle)),
        due: near
            .into_iter()
            .map(|item| due_line(vantage, item, &patient.ledgers))
            .collect(),
        due_later: later.len(),
        next_contact: contact.map(|item| item.due),
        plan: patient
            .details
            .as_ref()
            .and_then(|d| d.plan.as_ref().map(|plan| plan.0.clone())),
        watch_for: topic(subject, patient, NoteTopic::WatchFor),
        safety_net: safe.and_then(|held| {
            Some(Statement {
                text: held.body.safety_net.as_ref()?.0.clone(),
                said_by: None,
                topic: None,
                origin: subject.origin(&held.stamp),
            })
        }),
        questions: patient
            .ledgers
            .open_questions()
            .filter(|held| stay::holds(patient, held.stamp.occurred_at))
            .map(|held| note(subject, &patient.ledgers, held))
            .collect(),
        queries: queries(subject, open, |step| step.patient == Some(id)),
    }
}

fn topic(subject: &Subject<'_>, patient: &Patient, topic: NoteTopic) -> Vec<Statement> {
    patient
        .notes_about(topic)
        .filter(|held| stay::holds(patient, held.stamp.occurred_at))
        .map(|held| note(subject, &patient.ledgers, held))
        .collect()
}

/// A note; an answer repeats its question, which stands nowhere else any more.
pub(super) fn note(
    subject: &Subject<'_>,
    ledgers: &Ledgers,
    held: &Held<NursingNote>,
) -> Statement {
    let text = &held.body.text.0;
    let is_answer = held.body.topic == Some(NoteTopic::Answer);
    let related = held.stamp.related.iter().filter(|_| is_answer);
    let question = related
        .filter_map(|seq| ledgers.question(*seq))
        .map(|asked| format!("\"{}\" ({}): ", asked.body.text.0, asked.seq()));
    Statement {
        text: question.collect::<String>() + text,
        said_by: held.body.said_by,
        topic: held.body.topic,
        origin: subject.origin(&held.stamp),
    }
}

/// One due item; a task's steps say whether it is new and what became of it.
#[must_use]
pub fn due_line(vantage: &Vantage<'_>, item: &DueItem, ledgers: &Ledgers) -> DueLine {
    let task = ledgers.tasks.get(&item.seq);
    let newest = task.and_then(newest_change);
    DueLine {
        due: item.due,
        from: item.from,
        overdue: item.is_overdue(vantage.now),
        sort: item.sort.code(),
        seq: item.seq,
        what: item.what.clone(),
        owner: item
            .owner
            .as_ref()
            .map(|handle| Writer::of_handle(vantage.ward, handle)),
        role: item.role,
        priority: item.priority,
        is_new: vantage.is_new(item.seq.max(newest.unwrap_or_default())),
        detail: task.map_or_else(Vec::new, |task| task_detail(vantage, task)),
    }
}

/// The newest step that changed what is to be done. A repeat that was done is to be done again as
/// before: the doing is not news of the next time.
fn newest_change(task: &TaskLife) -> Option<Seq> {
    let changes = |step: &&Held<TaskStep>| !(finishes(step) && task.is_open());
    task.steps.iter().rfind(changes).map(Held::seq)
}

fn finishes(step: &Held<TaskStep>) -> bool {
    matches!(step.body.step, TaskMove::Done | TaskMove::NotDone)
}

fn task_detail(vantage: &Vantage<'_>, task: &TaskLife) -> Vec<String> {
    let mut detail = Vec::new();
    detail.extend(task.set.body.detail.as_ref().map(|note| note.0.clone()));
    detail.extend(task.set.body.repeat.map(|repeat| repeat.to_string()));
    if task.slots_missed > 0 {
        detail.push(format!("{} repeats passed unsaid", task.slots_missed));
    }
    detail.extend(task.steps.last().map(|step| last_step(vantage, task, step)));
    detail
}

/// `last step: put off`; of a repeat that is open again `last done Sun 09:13`, since "done" alone
/// reads as if there were nothing to do.
fn last_step(vantage: &Vantage<'_>, task: &TaskLife, step: &Held<TaskStep>) -> String {
    let reason = step.body.reason.as_ref();
    let reason = reason.map_or_else(String::new, |reason| format!(": {reason}"));
    let what = step.body.step;
    if task.is_open() && finishes(step) {
        let dial = Dial {
            zone: vantage.zone(),
            now: vantage.now,
        };
        let at = dial.at_day(step.stamp.occurred_at);
        return format!("last {what} {at}{reason}");
    }
    format!("last step: {what}{reason}")
}

/// Unanswered queries of every handover but the one this sheet is for, looked for once.
pub(super) fn open_queries(ward: &Ward, own: Option<Seq>) -> Vec<&HandoverStepHeld> {
    lasting(ward, own)
        .flat_map(HandoverLife::open_queries)
        .collect()
}

/// Those of them that are about somebody, or about the ward.
pub(super) fn queries(
    subject: &Subject<'_>,
    open: &[&HandoverStepHeld],
    about: impl Fn(&HandoverStepHeld) -> bool,
) -> Vec<QueryLine> {
    let text = |step: &HandoverStepHeld| step.held.body.text.as_ref().map(|text| text.0.clone());
    open.iter()
        .filter(|step| about(step))
        .map(|step| QueryLine {
            origin: subject.origin(&step.held.stamp),
            handover: step.held.body.handover,
            text: text(step).unwrap_or_default(),
        })
        .collect()
}
