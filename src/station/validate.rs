//! Step 2: does the ward's state allow it? Patients, references, people, lateness.

use super::Station;
use super::outcome::SubmitError;
use crate::record::draft::{Draft, ReadDraft};
use crate::record::field::{FieldValue, Shape, ShowContext};
use crate::record::ids::{Pseudonym, Seq};
use crate::record::kind::{Body, Kind, Subject};
use crate::record::moment::Due;
use crate::record::person::Handle;
use crate::record::problem::{Refusal, Unusual};
use crate::record::time::{Timestamp, show_date};
use crate::ward::caseload::says_too_little;
use crate::ward::{Found, Patient, Read};

/// A request whose fields, patient, references and people are all in order.
pub(super) struct Validated {
    pub patient: Option<Pseudonym>,
    pub occurred_at: Timestamp,
    pub approximate: bool,
    pub episode: Option<Seq>,
    pub late_reason: Option<String>,
    pub related: Vec<Seq>,
    pub confirmed: Vec<String>,
}

/// Fields that must name an entry of one ledger, and what that ledger is called.
const LEDGERS: &[(&str, &str)] = &[
    ("alert", "an alert"),
    ("answers", "an alert"),
    ("escalation", "an escalation"),
    ("task", "a task"),
    ("sample", "a sample"),
    ("result", "a result"),
    ("supply", "a supply"),
    ("line", "a line or device"),
    ("kit", "issued kit"),
    ("handover", "a handover"),
    ("shift", "a shift"),
];

/// Fields that say until when something is to be done.
const ASKED_FOR_BY: &[&str] = &[
    "due",
    "next",
    "next_due",
    "next_change",
    "next_care",
    "result_by",
    "repeat_by",
    "review_at",
    "needed_by",
];

/// Kinds that may still be written about a patient who has left the ward: loose ends.
const AFTER_DISCHARGE: &[Kind] = &[
    Kind::Access,
    Kind::Amendment,
    Kind::Admission,
    Kind::AlertStep,
    Kind::EscalationStep,
    Kind::TaskStep,
    Kind::SampleStep,
    Kind::LabResult,
    Kind::ResultReview,
    Kind::SupplyStep,
    Kind::KitStep,
    Kind::LineCare,
];

/// Kinds that happen all the same after somebody has left (they press the button, they ring,
/// the next shift asks): taken once the writer has confirmed that the patient has left.
const ASK_AFTER_DISCHARGE: &[Kind] = &[
    Kind::Alert,
    Kind::Contact,
    Kind::Note,
    Kind::Task,
    Kind::Escalation,
    Kind::HandoverStep,
];

impl Station {
    /// A step names its alert, task or supply; the patient follows from it.
    pub(super) fn with_patient_of_target(&self, draft: &Draft) -> Draft {
        let mut draft = draft.clone();
        if draft.patient.is_some() {
            self.carry_known(&mut draft);
            return draft;
        }
        let kind = Kind::from_name(&draft.kind);
        let wants_patient = kind.is_some_and(|kind| kind.subject() != Subject::Ward);
        let target = LEDGERS.iter().find_map(|(name, _)| draft.get(name));
        let target = target.or_else(|| Station::question_of(&draft));
        if let (true, Some(Ok(seq))) = (wants_patient, target.map(str::parse::<Seq>))
            && let Some(patient) = self.patient_of(seq)
        {
            draft.patient = Some(patient.to_string());
        }
        draft
    }

    /// Which patient an entry is about.
    #[must_use]
    pub fn patient_of(&self, seq: Seq) -> Option<Pseudonym> {
        match self.entry(seq).ok()? {
            Read::Entry(entry) => entry.patient,
            Read::Unreadable(unreadable) => unreadable.patient,
        }
    }

    /// Everything that can be said against a request, at once.
    pub(super) fn validate(&self, read: &ReadDraft) -> Result<Validated, SubmitError> {
        let kind = read.body.kind();
        let mut refusals = Vec::new();
        let mut unusual = read.unusual.clone();
        let patient = self.validate_patient(kind, read, &mut refusals, &mut unusual)?;
        self.validate_references(&read.body, patient, &mut refusals);
        for seq in &read.related {
            self.validate_exists("related", *seq, &mut refusals);
        }
        if refusals.is_empty() {
            self.validate_answer(read, patient, &mut refusals, &mut unusual);
        }
        self.validate_people(&read.body, &mut refusals);
        if !refusals.is_empty() {
            return Err(SubmitError::Refused(refusals));
        }
        self.ask_if_late(read, &mut unusual);
        self.ask_if_due_before(read, &mut unusual);
        if !unusual.is_empty() && !read.confirmed {
            return Err(SubmitError::Confirm(unusual));
        }
        Ok(Validated {
            patient,
            occurred_at: read.occurred_at,
            approximate: read.approximate,
            episode: patient.and_then(|patient| self.ward().patient(patient)?.episode_seq()),
            late_reason: read.late_reason.clone(),
            related: read.related.clone(),
            confirmed: unusual.into_iter().map(|unusual| unusual.field).collect(),
        })
    }

    /// References and people of a body, as for a new entry: also for a corrected one.
    pub(super) fn validate_body(
        &self,
        body: &Body,
        patient: Option<Pseudonym>,
    ) -> Result<(), SubmitError> {
        let mut refusals = Vec::new();
        self.validate_references(body, patient, &mut refusals);
        self.validate_people(body, &mut refusals);
        if refusals.is_empty() {
            Ok(())
        } else {
            Err(SubmitError::Refused(refusals))
        }
    }

    fn validate_patient(
        &self,
        kind: Kind,
        read: &ReadDraft,
        refusals: &mut Vec<Refusal>,
        unusual: &mut Vec<Unusual>,
    ) -> Result<Option<Pseudonym>, SubmitError> {
        let Some(text) = read.patient.as_deref() else {
            return Ok(None);
        };
        if kind == Kind::Admission {
            return Ok(None);
        }
        let patient = self.resolve_patient(text)?;
        if let Some(known) = self.ward().patient(patient)
            && let Some(left) = known.left_at()
            && !AFTER_DISCHARGE.contains(&kind)
            && read.occurred_at >= left
        {
            let what = format!(
                "{} left the ward on {}",
                known.name_line(),
                self.zone().day_date_time(left)
            );
            if ASK_AFTER_DISCHARGE.contains(&kind) {
                unusual.push(Unusual {
                    field: "patient".to_owned(),
                    what,
                });
            } else {
                let accepted = "if it happened before that, its true time as `at`; otherwise a new admission first";
                refusals.push(Refusal::field("patient", what, accepted));
            }
        }
        Ok(Some(patient))
    }

    /// The one patient a text names.
    ///
    /// # Errors
    /// Nobody, or several: the refusal says whom it could mean.
    pub fn resolve_patient(&self, text: &str) -> Result<Pseudonym, SubmitError> {
        if let Ok(pseudonym) = text.parse::<Pseudonym>()
            && self.ward().patient(pseudonym).is_some()
        {
            return Ok(pseudonym);
        }
        let names = |found: &[Pseudonym]| {
            let named = found.iter().filter_map(|one| self.ward().patient(*one));
            let mut told: Vec<String> = named.map(told_apart).collect();
            told.sort_unstable();
            told.join("; ")
        };
        match self.ward().find_patient(text) {
            Found::One(patient) => Ok(patient),
            Found::Many(found) => {
                let what = format!("\"{text}\" could be {} patients", found.len());
                let accepted = format!(
                    "more of the name, the slot or the number of one of: {}",
                    names(&found)
                );
                Err(SubmitError::refuse_field("patient", what, accepted))
            }
            Found::None { .. } if says_too_little(text) => {
                let what = format!("\"{text}\" is too little to find a patient by");
                let accepted = "a slot, a number, or three letters of a name or more";
                Err(SubmitError::refuse_field("patient", what, accepted))
            }
            Found::None { near } => {
                let what = format!("no patient on this ward is called \"{text}\"");
                let accepted = if near.is_empty() {
                    "a name, a slot such as T07, or an NHS number".to_owned()
                } else {
                    format!("perhaps: {}", names(&near))
                };
                Err(SubmitError::refuse_field("patient", what, accepted))
            }
        }
    }

    fn validate_references(
        &self,
        body: &Body,
        patient: Option<Pseudonym>,
        refusals: &mut Vec<Refusal>,
    ) {
        for (name, seq) in self.references(body) {
            if !self.validate_exists(&name, seq, refusals) {
                continue;
            }
            let Some((_, what)) = LEDGERS.iter().find(|(known, _)| *known == name) else {
                continue;
            };
            if !self.ward().is_in_ledger(&name, seq) {
                let found = self.entry_title(seq);
                refusals.push(Refusal::field(
                    &name,
                    format!("{seq} is {found}, not {what} that stands"),
                    self.ward().ledger_examples(&name, patient),
                ));
            } else if !matches!(name.as_str(), "handover" | "shift")
                && self.patient_of(seq) != patient
            {
                let whose = match self.patient_of(seq) {
                    None => "the ward".to_owned(),
                    Some(theirs) => self
                        .ward()
                        .patient(theirs)
                        .map(|p| p.name_line())
                        .unwrap_or_default(),
                };
                refusals.push(Refusal::field(
                    &name,
                    format!("{seq} belongs to {whose}, not to this patient"),
                    self.ward().ledger_examples(&name, patient),
                ));
            }
        }
    }

    /// Fields of a body that name entries.
    fn references(&self, body: &Body) -> Vec<(String, Seq)> {
        let cx = ShowContext {
            zone: self.zone(),
            secrets: false,
        };
        let specs = body.kind().specs();
        let is_entry = |name: &str| {
            specs
                .iter()
                .any(|spec| spec.name == name && spec.shape == Shape::Entry)
        };
        let typed = body
            .typed(&cx)
            .into_iter()
            .filter(|(name, _)| is_entry(name));
        typed
            .filter_map(|(name, text)| Some((name, text.parse().ok()?)))
            .collect()
    }

    fn validate_exists(&self, name: &str, seq: Seq, refusals: &mut Vec<Refusal>) -> bool {
        let exists = seq <= self.head().seq;
        if !exists {
            let newest = self.head().seq;
            let what = format!("there is no entry {seq}");
            refusals.push(Refusal::field(
                name,
                what,
                format!("a number up to {newest}"),
            ));
        }
        exists
    }

    fn entry_title(&self, seq: Seq) -> String {
        match self.entry(seq) {
            Ok(Read::Entry(entry)) => format!("\"{}\"", entry.kind().title()),
            Ok(Read::Unreadable(_)) => "written by a newer program".to_owned(),
            Err(error) => error.to_string(),
        }
    }

    fn validate_people(&self, body: &Body, refusals: &mut Vec<Refusal>) {
        let cx = ShowContext {
            zone: self.zone(),
            secrets: false,
        };
        let specs = body.kind().specs();
        for (name, text) in body.typed(&cx) {
            let person = specs
                .iter()
                .any(|spec| spec.name == name && spec.shape == Shape::Person);
            if !person {
                continue;
            }
            for handle in text.split(';').filter_map(Handle::parse) {
                let known = self
                    .ward()
                    .staff(&handle)
                    .is_some_and(|staff| !staff.is_suspended());
                if !known {
                    let what = format!("{handle} is not on the staff");
                    let roster: Vec<&str> = self
                        .ward()
                        .roster()
                        .map(|staff| staff.handle.as_str())
                        .collect();
                    refusals.push(Refusal::field(&name, what, roster.join(", ")));
                }
            }
        }
    }

    /// What is due before it is asked for was mostly meant for another day.
    fn ask_if_due_before(&self, read: &ReadDraft, unusual: &mut Vec<Unusual>) {
        let cx = ShowContext {
            zone: self.zone(),
            secrets: false,
        };
        for spec in read.body.kind().specs() {
            if !ASKED_FOR_BY.contains(&spec.name) {
                continue;
            }
            let typed = read.body.typed(&cx);
            let due = typed.iter().find(|(name, _)| name == spec.name);
            let due = due.and_then(|(_, text)| Due::read(text, &self.read_context()).ok());
            if let Some(Due(due)) = due.filter(|due| due.0 < read.occurred_at) {
                unusual.push(Unusual {
                    field: spec.name.to_owned(),
                    what: format!("{} has passed already", self.zone().day_date_time(due)),
                });
            }
        }
    }

    fn ask_if_late(&self, read: &ReadDraft, unusual: &mut Vec<Unusual>) {
        let delay = self.now().since(read.occurred_at);
        let limit = self.ward().policy().values().record().late_entry;
        let is_ward_opening = matches!(read.body, Body::WardOpened(_));
        if delay > limit && read.late_reason.is_none() && !is_ward_opening {
            unusual.push(Unusual {
                field: "late_reason".to_owned(),
                what: format!(
                    "this is written {} after it happened, and no reason is given",
                    delay.spoken()
                ),
            });
        }
    }
}

/// Slot, name and date of birth: enough to tell two people of one name apart. A name alone is
/// never enough to choose by.
fn told_apart(patient: &Patient) -> String {
    let slot = patient.slot().map(|slot| format!("{slot} "));
    let born = patient.details.as_ref().map(|details| {
        let born = show_date(details.born.to_date());
        format!(", born {born}")
    });
    format!(
        "{}{}{}",
        slot.unwrap_or_default(),
        patient.name_line(),
        born.unwrap_or_default()
    )
}
