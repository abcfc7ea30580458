//! Correcting and withdrawing: the original stays, marked.

use super::outcome::{Receipt, SubmitError};
use super::{Actor, Station};
use crate::journal::FileStore;
use crate::record::codec;
use crate::record::draft::{COMMON_NAMES, Draft};
use crate::record::entry::Entry;
use crate::record::envelope::Envelope;
use crate::record::field::ShowContext;
use crate::record::ids::Seq;
use crate::record::kind::ward::{Amendment, AmendmentAct, AmendmentCause, Replacement};
use crate::record::kind::{Body, Kind};
use crate::record::rights;
use crate::ward::{Read, Standing};

/// Why an entry is amended.
#[derive(Debug, Clone)]
pub struct AmendmentReason {
    /// By the closed list.
    pub cause: AmendmentCause,
    /// In words.
    pub words: Option<String>,
}

impl Station {
    /// Withdraws an entry: it stays readable, struck through, and counts no more.
    ///
    /// # Errors
    /// Not the writer's to withdraw, already withdrawn, or of a kind that is never withdrawn.
    pub fn withdraw(
        &mut self,
        actor: &Actor,
        target: Seq,
        reason: &AmendmentReason,
        entered_anew: Option<Seq>,
    ) -> Result<Receipt, SubmitError> {
        let writer = self.open_writer(actor)?;
        let whose = self.patient_of(target);
        self.authorise_under(&writer, actor, Kind::Amendment, whose)?;
        let original = self.amendable(actor, target)?;
        let amendment = Amendment {
            target,
            act: AmendmentAct::Withdraw,
            cause: reason.cause,
            reason: reason.words.as_deref().map(Into::into),
            entered_anew,
            replacement: None,
        };
        check_reason(&amendment)?;
        if let Some(anew) = entered_anew
            && anew > self.head().seq
        {
            let what = format!("there is no entry {anew}");
            return Err(SubmitError::refuse_field(
                "entered_anew",
                what,
                "an entry that is there",
            ));
        }
        self.append_amendment(&writer, actor, amendment, &original)
    }

    /// Corrects fields of an entry. `changes` are names and values as typed; a value of
    /// nothing clears the field. `at` corrects when it happened.
    ///
    /// # Errors
    /// As [`Station::withdraw`], and whatever the corrected entry would be refused for.
    pub fn correct(
        &mut self,
        actor: &Actor,
        target: Seq,
        changes: &[(String, String)],
        reason: &AmendmentReason,
        confirm: bool,
    ) -> Result<Receipt, SubmitError> {
        let writer = self.open_writer(actor)?;
        let whose = self.patient_of(target);
        self.authorise_under(&writer, actor, Kind::Amendment, whose)?;
        let original = self.amendable(actor, target)?;
        if !rights::may_be_corrected(original.kind()) {
            return Err(SubmitError::refuse_field(
                "target",
                format!("{target} is itself an amendment"),
                "withdraw it, and correct the entry it amends",
            ));
        }
        let log = self.ward().log_of(original.patient);
        let current = log
            .and_then(|log| log.as_corrected(&original))
            .unwrap_or(original.clone());
        let (envelope, body) = self.corrected(&current, changes, confirm)?;
        if body == current.body && envelope.occurred_at == current.envelope.occurred_at {
            return Err(SubmitError::refuse(
                "nothing changes by this correction",
                "a field and its right value",
            ));
        }
        let amendment = Amendment {
            target,
            act: AmendmentAct::Correct,
            cause: reason.cause,
            reason: reason.words.as_deref().map(Into::into),
            entered_anew: None,
            replacement: Some(Replacement {
                kind: body.kind().code(),
                version: body.kind().version(),
                payload: codec::encode(&envelope, &body)?,
            }),
        };
        check_reason(&amendment)?;
        self.append_amendment(&writer, actor, amendment, &original)
    }

    fn append_amendment(
        &mut self,
        writer: &FileStore,
        actor: &Actor,
        amendment: Amendment,
        original: &Entry,
    ) -> Result<Receipt, SubmitError> {
        self.append_under(
            writer,
            actor,
            amendment.into(),
            original.patient,
            original.envelope.episode,
        )
    }

    /// The entry, if this person may amend it and it still stands.
    fn amendable(&self, actor: &Actor, target: Seq) -> Result<Entry, SubmitError> {
        let authorised = self.authorise(actor, Kind::Amendment)?;
        if target > self.head().seq {
            let newest = self.head().seq;
            let what = format!("there is no entry {target}");
            return Err(SubmitError::refuse_field(
                "target",
                what,
                format!("a number up to {newest}"),
            ));
        }
        let entry = match self.entry(target)? {
            Read::Entry(entry) => *entry,
            Read::Unreadable(unreadable) => {
                return Err(SubmitError::refuse_field(
                    "target",
                    unreadable.why,
                    "a newer handfast",
                ));
            }
        };
        if !rights::may_be_amended(entry.kind()) {
            return Err(SubmitError::refuse_field(
                "target",
                format!("a \"{}\" entry is never amended", entry.kind().name()),
                "a new entry that says what holds now",
            ));
        }
        self.check_amender(actor, &authorised, target, entry.author)?;
        let standing = self
            .ward()
            .log_of(entry.patient)
            .map(|log| log.standing_of(target));
        if let Some(Standing::Withdrawn { by, .. }) = standing {
            let what = format!("{target} was withdrawn by {by}");
            return Err(SubmitError::refuse_field(
                "target",
                what,
                "an entry that stands",
            ));
        }
        Ok(entry)
    }

    /// The entry's fields with the changes, checked as if entered now.
    fn corrected(
        &self,
        current: &Entry,
        changes: &[(String, String)],
        confirm: bool,
    ) -> Result<(Envelope, Body), SubmitError> {
        let cx = ShowContext {
            zone: self.zone(),
            secrets: true,
        };
        let mut draft = Draft::new(current.kind());
        draft.fields = current.body.typed(&cx);
        draft.patient = current.patient.map(|patient| patient.to_string());
        draft.at = Some(current.envelope.occurred_at.rfc3339());
        draft.confirm = confirm;
        for (name, value) in changes {
            if name != "at" && COMMON_NAMES.contains(&name.as_str()) {
                return Err(SubmitError::refuse_field(
                    name,
                    "is not corrected",
                    "at, or a field of this entry",
                ));
            }
            draft.fields.retain(|(known, _)| known != name);
            draft.set(name, value.clone());
        }
        let read = draft
            .read(&self.read_context())
            .map_err(SubmitError::Refused)?;
        self.validate_body(&read.body, current.patient)?;
        if let Body::Admission(admission) = &read.body {
            self.check_admission(admission, current.patient)?;
        }
        if !read.unusual.is_empty() && !confirm {
            return Err(SubmitError::Confirm(read.unusual));
        }
        let mut envelope = current.envelope.clone();
        if changes.iter().any(|(name, _)| name == "at") {
            envelope.occurred_at = read.occurred_at;
            envelope.approximate = read.approximate;
        }
        envelope.confirmed = read
            .unusual
            .into_iter()
            .map(|unusual| unusual.field)
            .collect();
        let patient = current
            .patient
            .and_then(|patient| self.ward().patient(patient));
        let body =
            super::decide::fill_seen(read.body, &current.body, patient, envelope.occurred_at);
        Ok((envelope, body))
    }
}

fn check_reason(amendment: &Amendment) -> Result<(), SubmitError> {
    use crate::record::kind::declare::{CrossCheck, Findings};
    let mut findings = Findings::default();
    amendment.cross_check(&mut findings);
    if findings.refusals.is_empty() {
        Ok(())
    } else {
        Err(SubmitError::Refused(findings.refusals))
    }
}
