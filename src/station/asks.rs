//! What is asked before an act on a colleague's work, or on a critical result, is recorded. Nothing here is forbidden:
//! whoever confirms it has it recorded.

use super::effects::name_and_slot;
use super::outcome::SubmitError;
use super::validate::Validated;
use super::{Actor, Station};
use crate::record::ids::{Pseudonym, Seq};
use crate::record::kind::alert::AlertMove;
use crate::record::kind::sample::ResultReview;
use crate::record::kind::task::{TaskMove, TaskStep};
use crate::record::problem::Unusual;
use crate::ward::Patient;
use crate::ward::samples::ResultLife;
use crate::ward::shifts::{HandoverLife, is_oncoming};

/// Whether anything recorded after a result could be what was done about it.
fn is_followed_up(patient: &Patient, life: &ResultLife) -> bool {
    let since = life.reported.seq();
    let tasks = &patient.ledgers.tasks;
    patient.escalations.keys().any(|seq| *seq > since)
        || patient.samples.keys().any(|seq| *seq > since)
        || tasks.keys().any(|seq| *seq > since)
        || life
            .reviews
            .iter()
            .any(|held| held.body.repeat_by.is_some())
}

impl Station {
    /// Taking over a ward that was prepared for somebody else, or by somebody on no shift that takes over
    /// now, is asked about; and a patient who was held back while a question about them has no answer.
    pub(super) fn ask_about_accepting(
        &self,
        actor: &Actor,
        life: &HandoverLife,
        patient: Option<Pseudonym>,
    ) -> Result<(), SubmitError> {
        let mut asked = Vec::new();
        if let Some(named) = &life.prepared.body.receiver
            && *named != actor.handle
        {
            asked.push(format!("it was prepared for {named}, not for you"));
        }
        let giver = life.prepared.stamp.author.handle();
        let shifts = self.ward().shifts();
        if patient.is_none() && is_oncoming(shifts, self.now(), giver, &actor.handle) == Some(false)
        {
            asked.push("you are on no oncoming shift, as the shifts are entered".to_owned());
        }
        if patient.is_some() && !life.is_pending() {
            let open = life.open_queries().into_iter();
            asked.extend(open.filter(|query| query.patient == patient).map(|query| {
                let seq = query.held.seq();
                let text = query.held.body.text.as_ref();
                let text = text.map_or("", |text| text.0.as_str());
                format!("question {seq} has no answer: \"{text}\"")
            }));
        }
        if asked.is_empty() {
            return Ok(());
        }
        let asked = asked.into_iter().map(|what| Unusual {
            field: "handover".to_owned(),
            what,
        });
        Err(SubmitError::Confirm(asked.collect()))
    }

    /// Closing what nobody has acted on, what a colleague has, or what somebody was called about and has not settled, is
    /// asked about: two people may be acting on it.
    pub(super) fn ask_about_closing(
        &self,
        actor: &Actor,
        alert: Seq,
        by_mistake: bool,
        patient: Option<Pseudonym>,
    ) -> Result<(), SubmitError> {
        let ledgers = self.ward().ledgers_of(patient);
        let Some(life) = ledgers.and_then(|ledgers| ledgers.alerts.get(&alert)) else {
            return Ok(());
        };
        let known = patient.and_then(|patient| self.ward().patient(patient));
        let whose = known.map_or_else(|| "the ward".to_owned(), name_and_slot);
        let mut unusual = Vec::new();
        let mut ask = |what: String| {
            unusual.push(Unusual {
                field: "alert".to_owned(),
                what,
            });
        };
        let has_acted = life.time_to_action().is_some();
        if !has_acted && !by_mistake {
            let how = match life.first(AlertMove::Taken) {
                Some(_) => "nobody is recorded as having been reached or having acted",
                None => "nobody has taken it, been reached or acted, as far as is recorded",
            };
            ask(format!("{alert} \"{}\" ({whose}): {how}", life.what));
        }
        if let Some((holder, since)) = life.holder().filter(|(by, _)| *by != actor.handle) {
            ask(format!(
                "{alert} \"{}\" ({whose}) is with {} since {}; closing it ends it for both of you",
                life.what,
                self.name_of(holder),
                self.zone().day_time(*since)
            ));
        }
        let escalated = life.first(AlertMove::Escalated).is_some();
        let escalations = known.map(|known| known.escalations.values());
        for open in escalations.into_iter().flatten().filter(|e| e.is_open()) {
            if open.made.body.about == Some(alert) || escalated {
                let answer = match open.answer() {
                    Some(_) => "answered, not closed",
                    None => "NOT ANSWERED",
                };
                ask(format!(
                    "escalation {} to {}, {} ago, is open for {whose}: {answer}",
                    open.seq(),
                    open.made.body.to_role,
                    self.now().since(open.made.stamp.occurred_at).spoken()
                ));
            }
        }
        if unusual.is_empty() {
            return Ok(());
        }
        Err(SubmitError::Confirm(unusual))
    }

    /// A critical result that is put away as seen, acted on or escalated while nothing on record
    /// follows it up is asked about: what nobody else can find, nobody else will do.
    pub(super) fn ask_about_critical(
        &self,
        review: &ResultReview,
        patient: Option<Pseudonym>,
    ) -> Result<(), SubmitError> {
        let known = patient.and_then(|patient| self.ward().patient(patient));
        let Some((known, life)) =
            known.and_then(|known| Some((known, known.results.get(&review.result)?)))
        else {
            return Ok(());
        };
        let policy = self.ward().policy();
        let is_repeat = review.repeat_by.is_some();
        if is_repeat || !life.is_critical(policy) || is_followed_up(known, life) {
            return Ok(());
        }
        let values = life.reported.body.values.iter();
        let values: Vec<String> = values
            .map(|value| format!("{} {}", value.analyte.label(), value.numbers()))
            .collect();
        let values = match values.is_empty() {
            true => "in words".to_owned(),
            false => values.join(", "),
        };
        Err(SubmitError::Confirm(vec![Unusual {
            field: "decision".to_owned(),
            what: format!(
                "result {} is CRITICAL ({values}; {}), and no escalation, task or repeat of this \
                 patient was recorded since: whoever comes next finds only \"{}\"",
                review.result,
                name_and_slot(known),
                review.decision
            ),
        }]))
    }

    /// Saying "done" for a repeat that a colleague has just done would finish the next one too.
    pub(super) fn ask_about_slot(
        &self,
        step: &TaskStep,
        validated: &Validated,
    ) -> Result<(), SubmitError> {
        if !matches!(step.step, TaskMove::Done | TaskMove::NotDone) {
            return Ok(());
        }
        let ledgers = self.ward().ledgers_of(validated.patient);
        let task = ledgers.and_then(|ledgers| ledgers.tasks.get(&step.task));
        let Some((task, last)) =
            task.and_then(|task| Some((task, task.finished_just_before(validated.occurred_at)?)))
        else {
            return Ok(());
        };
        let by = last.stamp.author.handle().map_or_else(
            || last.stamp.author.to_string(),
            |by| self.name_of(by).to_owned(),
        );
        let zone = self.zone();
        Err(SubmitError::Confirm(vec![Unusual {
            field: "task".to_owned(),
            what: format!(
                "{} \"{}\": this slot was {} at {} by {by} ({}); this would finish the next one, due {}",
                step.task,
                task.set.body.what,
                last.body.step.label(),
                zone.day_time(last.stamp.occurred_at),
                last.seq(),
                zone.day_time(task.due)
            ),
        }]))
    }
}
