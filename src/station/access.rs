//! The access record: who opened, printed or exported whose record and why, who tried to unlock and
//! failed, and what was refused.
//!
//! It is kept where the records are sealed. Where they lie in clear (a teaching journal, one begun before
//! sealing) anybody reads the folder without signing in, and a record of some readers would pass for a
//! record of all. What is written here is never sealed, so that governance can review it: it names the
//! patient by pseudonym, and a reason must hold nothing clinical.

use super::authorise::Authorised;
use super::outcome::{Receipt, SubmitError};
use super::submit::Decided;
use super::{Actor, Station, keys};
use crate::journal::FileStore;
use crate::record::ids::Pseudonym;
use crate::record::kind::Kind;
use crate::record::kind::ward::{Access, AccessAct};
use crate::record::time::Span;
use crate::ward::AccessHeld;

/// Opening the same record again in this time is one opening: a nurse goes to and fro between patients.
pub const ONE_OPENING: Span = Span::hours(4);

/// Somebody looks at a record, or at lists of the whole ward.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Opening<'a> {
    /// Whose; none for the whole ward.
    pub patient: Option<Pseudonym>,
    /// How it is shown.
    pub act: AccessAct,
    /// What is shown: "timeline".
    pub what: &'a str,
    /// Why, in words without anything clinical.
    pub reason: Option<&'a str>,
}

impl Station {
    /// Whether this journal keeps an access record: where its records are sealed.
    #[must_use]
    pub fn keeps_access_record(&self) -> bool {
        self.is_sealed()
    }

    /// Whether whoever opens this record is to be asked why: it is allocated to somebody else, and they
    /// have not opened it within [`ONE_OPENING`]. One that is allocated to nobody is the whole shift's.
    #[must_use]
    pub fn is_to_be_asked_why(&self, actor: &Actor, patient: Pseudonym) -> bool {
        let of = self.ward().patient(patient);
        let others = of
            .and_then(|patient| patient.allocated_to())
            .is_some_and(|handle| *handle != actor.handle);
        let lately = || {
            self.accesses_lately(actor)
                .any(|held| held.patient == Some(patient) && held.held.body.act.reads())
        };
        self.keeps_access_record() && others && !lately()
    }

    /// Records that somebody looks at a record. Nothing is written where no access record is kept, or
    /// where they did the same within [`ONE_OPENING`].
    ///
    /// # Errors
    /// When it cannot be recorded. Whoever reads is shown the record all the same, and told.
    pub fn record_opening(
        &mut self,
        actor: &Actor,
        opening: &Opening<'_>,
    ) -> Result<Option<Receipt>, SubmitError> {
        let same = |held: &AccessHeld| {
            let body = &held.held.body;
            held.patient == opening.patient
                && body.act == opening.act
                && body.what.as_str() == opening.what
                && (opening.reason.is_none()
                    || body.reason.as_ref().map(|why| why.as_str()) == opening.reason)
        };
        if !self.keeps_access_record() || self.accesses_lately(actor).any(same) {
            return Ok(None);
        }
        let writer = self.open_writer(actor)?;
        let authorised = self.authorise(actor, Kind::Access)?;
        let access = Access {
            act: opening.act,
            what: opening.what.into(),
            reason: opening.reason.map(Into::into),
        };
        self.write_access(&writer, actor, authorised, access, opening.patient)
            .map(Some)
    }

    /// Puts a refusal for want of a right into the access record, if one is kept. What cannot be written is
    /// let go: the refusal itself is what somebody waits for.
    pub fn record_refusal(
        &mut self,
        actor: &Actor,
        refused: &SubmitError,
        patient: Option<Pseudonym>,
    ) {
        if !self.keeps_access_record() || !matches!(refused, SubmitError::NotAllowed { .. }) {
            return;
        }
        if let Ok(writer) = self.open_writer(actor) {
            self.record_refusal_under(&writer, actor, refused, patient);
        }
    }

    /// Puts into the access record that somebody who reads no records asked to, once in [`ONE_OPENING`].
    /// What cannot be written is let go.
    pub fn record_denied_reading(&mut self, actor: &Actor) {
        let denied = Opening {
            patient: None,
            act: AccessAct::Refused,
            what: "reading the records",
            reason: None,
        };
        let _ = self.record_opening(actor, &denied);
    }

    /// The same under a lock that is held already.
    pub(super) fn record_refusal_under(
        &mut self,
        writer: &FileStore,
        actor: &Actor,
        refused: &SubmitError,
        patient: Option<Pseudonym>,
    ) {
        let SubmitError::NotAllowed { role, kind, .. } = refused else {
            return;
        };
        if !self.keeps_access_record() {
            return;
        }
        if let Ok(authorised) = self.authorise(actor, Kind::Access) {
            let access = Access {
                act: AccessAct::Refused,
                what: format!("{} as {}", kind.name(), role.with_article())
                    .as_str()
                    .into(),
                reason: None,
            };
            let _ = self.write_access(writer, actor, authorised, access, patient);
        }
    }

    /// Wrong PINs of a session that was left locked, at whoever's next sign-in it is. What cannot be written is let
    /// go.
    pub fn record_wrong_session_pins(&mut self, actor: &Actor, count: u32) {
        let last = self.now();
        let _ = self.record_failed_unlocks(actor, &keys::FailedTries { count, last });
    }

    /// Wrong secrets that were tried for somebody before the right one: written in their name, since
    /// nobody else is known to have been there, and shown to them.
    pub(super) fn record_failed_unlocks(
        &mut self,
        actor: &Actor,
        failed: &keys::FailedTries,
    ) -> Result<(), SubmitError> {
        if !self.keeps_access_record() {
            return Ok(());
        }
        let writer = self.open_writer(actor)?;
        let authorised = self.authorise(actor, Kind::Access)?;
        let access = Access {
            act: AccessAct::UnlockFailed,
            what: failed.in_words(self.zone()).as_str().into(),
            reason: None,
        };
        self.write_access(&writer, actor, authorised, access, None)
            .map(|_| ())
    }

    /// The same where the keeper gives the person a new key, so that no right secret will follow: to be
    /// written with the change.
    pub(super) fn failed_unlocks_before(
        &self,
        actor: &Actor,
        handle: &crate::record::person::Handle,
    ) -> Option<Decided> {
        let failed = keys::failed_tries(self.layout(), handle)?;
        if !self.keeps_access_record() {
            return None;
        }
        let authorised = self.authorise(actor, Kind::Access).ok()?;
        let access = Access {
            act: AccessAct::UnlockFailed,
            what: failed.in_words_of(handle, self.zone()).as_str().into(),
            reason: None,
        };
        Some(Decided::about_ward(authorised, access.into()))
    }

    fn write_access(
        &mut self,
        writer: &FileStore,
        actor: &Actor,
        authorised: Authorised,
        access: Access,
        patient: Option<Pseudonym>,
    ) -> Result<Receipt, SubmitError> {
        let episode = patient.and_then(|patient| self.ward().patient(patient)?.episode_seq());
        let decided = Decided::about_ward(authorised, access.into()).about(patient, episode);
        // No checkpoint with it: looking at a record is not the ward's first act of the day.
        let receipts = self.append_without_checkpoint(actor, writer, vec![decided])?;
        let receipt = receipts.into_iter().next();
        receipt.ok_or_else(super::submit::nothing_written)
    }

    /// What this person did with records within [`ONE_OPENING`], newest first.
    fn accesses_lately(&self, actor: &Actor) -> impl Iterator<Item = &AccessHeld> {
        let since = self.now().plus(Span(-ONE_OPENING.0));
        let newest_first = self.ward().accesses().iter().rev();
        newest_first
            .take_while(move |access| access.held.stamp.recorded_at >= since)
            .filter(|access| access.held.stamp.author.is(&actor.handle))
    }
}
