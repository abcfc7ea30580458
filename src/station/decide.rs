//! Step 3: what follows from a valid request, on the state under the lock: whom it concerns,
//! whether a colleague was first, and what the program fills in.

use super::authorise::{Authorised, check_in_charge};
use super::outcome::SubmitError;
use super::submit::Decided;
use super::validate::Validated;
use super::{Actor, Station};
use crate::clinical::news2::{self, Set};
use crate::record::draft::Draft;
use crate::record::ids::{Digest, Pseudonym, Seq};
use crate::record::kind::alert::{AlertMove, AlertOutcome, AlertStep};
use crate::record::kind::episode::Admission;
use crate::record::kind::observation::{Observation, SeenScore};
use crate::record::kind::shift::{HandoverMove, HandoverStep};
use crate::record::kind::task::TaskStep;
use crate::record::kind::wound::WoundAssessment;
use crate::record::kind::{Body, Kind};
use crate::record::observed::Spo2Scale;
use crate::record::quantity::Count;
use crate::record::rights;
use crate::record::time::Timestamp;
use crate::ward::Patient;
use crate::ward::rules::{self, NoVerdict};

impl Station {
    /// From a draft to an entry that may be appended.
    pub(super) fn decide(&self, actor: &Actor, draft: &Draft) -> Result<Decided, SubmitError> {
        let draft = self.with_patient_of_target(draft);
        if let Some(kind) = Kind::from_name(&draft.kind) {
            if kind.is_made_by_program() {
                return Err(SubmitError::refuse(
                    format!("\"{}\" is not logged by hand", kind.name()),
                    how_it_is_made(kind),
                ));
            }
            self.authorise(actor, kind)?;
        }
        let read = draft
            .read(&self.read_context())
            .map_err(SubmitError::Refused)?;
        let authorised = self.authorise(actor, read.body.kind())?;
        let mut validated = self.validate(&read)?;
        let body = self.settle_body(
            actor,
            &authorised,
            &mut validated,
            read.body,
            read.confirmed,
        )?;
        Ok(Decided::new(validated, authorised, body))
    }

    fn settle_body(
        &self,
        actor: &Actor,
        authorised: &Authorised,
        validated: &mut Validated,
        body: Body,
        confirmed: bool,
    ) -> Result<Body, SubmitError> {
        let patient = validated
            .patient
            .and_then(|patient| self.ward().patient(patient));
        Ok(match body {
            Body::Admission(admission) => {
                validated.patient = self.settle_admission(&admission, confirmed)?;
                validated.episode = None;
                admission.into()
            }
            Body::Observation(observation) => {
                score(observation, patient, validated.occurred_at).into()
            }
            Body::Wound(wound) => settle_wound(wound, patient)?.into(),
            Body::Dressing(dressing) => {
                let known = patient.is_some_and(|p| p.wounds.contains_key(&dressing.wound.0));
                if !known {
                    return Err(unknown_wound(dressing.wound, patient));
                }
                dressing.into()
            }
            Body::AlertStep(step) => {
                self.check_alert(actor, &step, validated.patient)?;
                if step.step == AlertMove::Closed && !confirmed {
                    let mistake = step.outcome == Some(AlertOutcome::Mistake);
                    self.ask_about_closing(actor, step.alert, mistake, validated.patient)?;
                }
                step.into()
            }
            Body::TaskStep(step) => {
                self.check_task(&step, validated.patient)?;
                if !confirmed {
                    self.ask_about_slot(&step, validated)?;
                }
                step.into()
            }
            Body::ResultReview(review) => {
                if !confirmed {
                    self.ask_about_critical(&review, validated.patient)?;
                }
                review.into()
            }
            Body::HandoverStep(step) => self
                .settle_handover_step(actor, authorised, confirmed, step, validated.patient)?
                .into(),
            Body::EscalationStep(step) => {
                let life = patient.and_then(|p| p.escalations.get(&step.escalation));
                if life.is_some_and(|life| !life.is_open()) {
                    let what = format!("{} is closed", step.escalation);
                    return Err(SubmitError::refuse_field(
                        "escalation",
                        what,
                        "an open one, or a new escalation",
                    ));
                }
                step.into()
            }
            Body::PolicyChanged(changed) => self.settle_policy(changed)?.into(),
            other => other,
        })
    }

    /// The patient an admission is about: known from an earlier stay by number, or new.
    fn settle_admission(
        &self,
        admission: &Admission,
        confirmed: bool,
    ) -> Result<Option<Pseudonym>, SubmitError> {
        self.check_admission(admission, None)?;
        let same_number = |other: &&Patient| {
            other.details.as_ref().is_some_and(|known| {
                (admission.nhs.is_some() && known.nhs == admission.nhs)
                    || (admission.local_number.is_some()
                        && known.local_number == admission.local_number)
            })
        };
        let known = self.ward().patients().find(same_number);
        if let Some(patient) = known.filter(|patient| patient.is_current()) {
            let what = format!("{} is on the ward already", patient.name_line());
            return Err(SubmitError::refuse_field(
                "nhs",
                what,
                "`change` to change details",
            ));
        }
        if !confirmed && known.is_none() {
            self.ask_about_namesake(admission)?;
        }
        Ok(known.map(|patient| patient.pseudonym))
    }

    /// What holds for an admission's details, new or corrected (`own` is then the patient):
    /// no real number in a teaching journal, nobody else's number, nobody else's slot.
    pub(super) fn check_admission(
        &self,
        admission: &Admission,
        own: Option<Pseudonym>,
    ) -> Result<(), SubmitError> {
        if self.is_teaching()
            && admission
                .nhs
                .is_some_and(|nhs| !nhs.is_reserved_for_tests())
        {
            return Err(SubmitError::refuse_field(
                "nhs",
                "this is a teaching journal, and that number may belong to somebody",
                "a number from 999 000 0000 to 999 999 9999",
            ));
        }
        let same_nhs = self.ward().caseload().into_iter().find(|patient| {
            Some(patient.pseudonym) != own
                && admission.nhs.is_some()
                && patient
                    .details
                    .as_ref()
                    .is_some_and(|known| known.nhs == admission.nhs)
        });
        if let Some(patient) = same_nhs.filter(|_| own.is_some()) {
            let what = format!("that number belongs to {}", patient.name_line());
            return Err(SubmitError::refuse_field(
                "nhs",
                what,
                "this patient's own number",
            ));
        }
        let taken = self
            .ward()
            .caseload()
            .into_iter()
            .filter(|patient| Some(patient.pseudonym) != own)
            .find(|patient| {
                admission.slot.as_ref().is_some_and(|slot| {
                    patient
                        .slot()
                        .is_some_and(|theirs| theirs.eq_ignore_ascii_case(slot.as_str()))
                })
            });
        if let Some(patient) = taken {
            let what = format!("that slot belongs to {}", patient.name_line());
            return Err(SubmitError::refuse_field(
                "slot",
                what,
                "a free slot, or none",
            ));
        }
        Ok(())
    }

    fn ask_about_namesake(&self, admission: &Admission) -> Result<(), SubmitError> {
        let namesake = self.ward().patients().find(|patient| {
            patient.details.as_ref().is_some_and(|known| {
                known.born == admission.born
                    && known.family.0.eq_ignore_ascii_case(&admission.family.0)
            })
        });
        match namesake {
            None => Ok(()),
            Some(patient) => Err(SubmitError::Confirm(vec![
                crate::record::problem::Unusual {
                    field: "family".to_owned(),
                    what: format!(
                        "{} has the same family name and date of birth under another number",
                        patient.name_line()
                    ),
                },
            ])),
        }
    }

    /// An alert has one holder: the second person to take it is told who has it.
    fn check_alert(
        &self,
        actor: &Actor,
        step: &AlertStep,
        patient: Option<Pseudonym>,
    ) -> Result<(), SubmitError> {
        let ledgers = self.ward().ledgers_of(patient);
        let Some(alert) = ledgers.and_then(|ledgers| ledgers.alerts.get(&step.alert)) else {
            return Ok(());
        };
        if !alert.is_open() {
            let outcome = alert.outcome().map_or("", |outcome| outcome.label());
            let what = format!("{} is closed: {outcome}", step.alert);
            return Err(SubmitError::refuse_field(
                "alert",
                what,
                "an open alert, or a new one",
            ));
        }
        let taking = matches!(step.step, AlertMove::Taken);
        if let Some((holder, since)) = alert.holder()
            && taking
            && *holder != actor.handle
            && step.take_over != Some(true)
        {
            return Err(SubmitError::Taken {
                alert: step.alert,
                by: self.name_of(holder).to_owned(),
                since: self.zone().day_time(*since),
            });
        }
        Ok(())
    }

    fn check_task(&self, step: &TaskStep, patient: Option<Pseudonym>) -> Result<(), SubmitError> {
        let ledgers = self.ward().ledgers_of(patient);
        let Some(task) = ledgers.and_then(|ledgers| ledgers.tasks.get(&step.task)) else {
            return Ok(());
        };
        if task.is_open() {
            return Ok(());
        }
        let by = task
            .steps
            .last()
            .map(|held| held.stamp.author.to_string())
            .unwrap_or_default();
        let what = format!("{} is finished already, by {by}", step.task);
        Err(SubmitError::refuse_field("task", what, "an open task"))
    }

    /// Accepting names the sheet that was accepted.
    fn settle_handover_step(
        &self,
        actor: &Actor,
        authorised: &Authorised,
        confirmed: bool,
        mut step: HandoverStep,
        patient: Option<Pseudonym>,
    ) -> Result<HandoverStep, SubmitError> {
        check_in_charge(authorised.role, step.step)?;
        let Some(life) = self.ward().handovers().get(&step.handover) else {
            return Ok(step);
        };
        match rules::verdict(life, step.step, &actor.handle, patient) {
            Ok(()) => {}
            Err(NoVerdict::Settled) => {
                let what = format!("{} is settled already", step.handover);
                return Err(SubmitError::refuse_field(
                    "handover",
                    what,
                    "a handover that waits",
                ));
            }
            Err(NoVerdict::OwnHandover) => {
                return Err(SubmitError::refuse_field(
                    "step",
                    "whoever gave a handover cannot accept it",
                    "somebody of the oncoming shift accepts it",
                ));
            }
        }
        if step.step == HandoverMove::Accepted {
            if !confirmed {
                self.ask_about_accepting(actor, life, patient)?;
            }
            step.digest = Some(self.digest_drawn_now(step.handover)?);
        }
        Ok(step)
    }

    /// The digest of the sheet as it is drawn again now; refused if it is not the one that
    /// was prepared.
    fn digest_drawn_now(&self, handover: Seq) -> Result<Digest, SubmitError> {
        match self.handover_sheet(handover)? {
            Some(state) if state.is_same() => Ok(state.digest),
            Some(state) => Err(SubmitError::refuse_field(
                "handover",
                format!(
                    "the sheet drawn now has digest {}, and it was prepared as {}",
                    state.digest.short(),
                    state.named.short()
                ),
                "a new handover; tell governance, who can run `handfast verify`",
            )),
            None => Err(SubmitError::refuse_field(
                "handover",
                "its sheet cannot be drawn again",
                "a new handover",
            )),
        }
    }

    /// Whether somebody may amend an entry: their own, or any for the ward sister.
    pub(super) fn check_amender(
        &self,
        actor: &Actor,
        authorised: &Authorised,
        target: Seq,
        author: crate::record::ids::PersonKey,
    ) -> Result<(), SubmitError> {
        let writer = self.ward().staff_by_key(&author);
        let own = writer.is_some_and(|staff| staff.handle == actor.handle);
        if rights::may_amend(authorised.role, own) {
            return Ok(());
        }
        let who = writer.map_or("somebody else", |staff| staff.name.as_str());
        Err(SubmitError::refuse_field(
            "target",
            format!("{target} was written by {who}"),
            "your own entries; others' by the ward sister",
        ))
    }
}

fn how_it_is_made(kind: Kind) -> &'static str {
    match kind {
        Kind::Handover => "`handover prepare` makes it from the ward as it stands",
        Kind::Amendment => "`correct` or `withdraw` with the number of the entry",
        Kind::StaffEnrolled | Kind::StaffChanged => "`staff`, by the keeper",
        Kind::WardKey => "`checkpoint key`, by the keeper",
        Kind::Checkpoint => "`checkpoint make`",
        _ => "the program makes it by itself",
    }
}

/// The score the writer sees goes into the entry.
fn score(
    mut observation: Observation,
    patient: Option<&Patient>,
    taken_at: Timestamp,
) -> Observation {
    let scale = patient.and_then(|patient| patient.scale_at(taken_at));
    let Ok(news2) = news2::score(&Set::of(&observation, scale)) else {
        return observation;
    };
    observation.score = scale.map(|scale| SeenScore {
        total: news2.score.map(|score| score.total),
        scale: match scale {
            Spo2Scale::Scale1 => 1,
            Spo2Scale::Scale2 => 2,
        },
        single_3: news2.single_3,
        missing: news2
            .missing
            .iter()
            .map(|part| part.code().to_owned())
            .collect(),
    });
    observation
}

fn next_wound_number(patient: &Patient) -> Result<Count, SubmitError> {
    let next = patient.wound_numbers_used.checked_add(1);
    next.map(Count).ok_or_else(|| {
        let what =
            "this patient's wounds have used up every number, so that a new one can have none";
        let accepted = "a wound that has its number, or a note that describes the new one";
        SubmitError::refuse_field("wound", what.to_owned(), accepted)
    })
}

/// A new wound gets the next number; an old one keeps its number, side and way of measuring.
fn settle_wound(
    mut wound: WoundAssessment,
    patient: Option<&Patient>,
) -> Result<WoundAssessment, SubmitError> {
    let Some(patient) = patient else {
        return Ok(wound);
    };
    let Some(number) = wound.wound else {
        wound.wound = Some(next_wound_number(patient)?);
        return Ok(wound);
    };
    let Some(known) = patient.wounds.get(&number.0) else {
        return Err(unknown_wound(number, Some(patient)));
    };
    super::carry::same_wound(&wound, known)?;
    if let (Some(method), Some(before)) = (wound.method, known.method())
        && method != before
    {
        return Err(SubmitError::refuse_field(
            "method",
            format!(
                "wound {} has been measured {} from the start",
                number.0,
                before.label()
            ),
            before.code(),
        ));
    }
    if wound.method.is_none() && wound.length.is_some() {
        wound.method = known.method();
    }
    Ok(wound)
}

fn unknown_wound(number: Count, patient: Option<&Patient>) -> SubmitError {
    let known: Vec<String> = patient
        .map(|patient| {
            let wounds = patient.wounds.values();
            let named = wounds.filter_map(|wound| {
                Some(format!("{} ({})", wound.number, wound.newest()?.body.site))
            });
            named.collect()
        })
        .unwrap_or_default();
    let accepted = if known.is_empty() {
        "leave it out for a wound not seen before".to_owned()
    } else {
        format!(
            "{}; or leave it out for a wound not seen before",
            known.join(", ")
        )
    };
    SubmitError::refuse_field("wound", format!("there is no wound {}", number.0), accepted)
}

/// Fills in what the program fills in when an entry is corrected: a score follows its
/// readings, a wound keeps its number.
pub(super) fn fill_seen(
    body: Body,
    before: &Body,
    patient: Option<&Patient>,
    occurred_at: Timestamp,
) -> Body {
    match (body, before) {
        (Body::Observation(observation), _) => score(observation, patient, occurred_at).into(),
        (Body::Wound(mut wound), Body::Wound(old)) => {
            wound.wound = old.wound;
            wound.into()
        }
        (other, _) => other,
    }
}
