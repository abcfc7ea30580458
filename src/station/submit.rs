//! One act from draft to receipt.

use super::authorise::Authorised;
use super::outcome::{Receipt, SubmitError};
use super::validate::Validated;
use super::{Actor, Station};
use crate::journal::{
    AppendError, Appended, FileStore, Head, NewEntry, OpenError, ReadJournal, RecoveryReport,
    Store, WriteOptions,
};
use crate::record::codec;
use crate::record::draft::Draft;
use crate::record::envelope::Envelope;
use crate::record::ids::{EntryId, Pseudonym, Seq};
use crate::record::kind::{Body, Kind};

/// An entry that may be appended: validated, authorised and decided. There is no other way
/// to the journal's writer than through this.
pub(super) struct Decided {
    authorised: Authorised,
    patient: Option<Pseudonym>,
    body: Body,
    occurred_at: Option<crate::record::time::Timestamp>,
    approximate: bool,
    episode: Option<Seq>,
    late_reason: Option<String>,
    related: Vec<Seq>,
    confirmed: Vec<String>,
}

impl Decided {
    /// From a validated request.
    pub(super) fn new(validated: Validated, authorised: Authorised, body: Body) -> Decided {
        Decided {
            authorised,
            patient: validated.patient,
            body,
            occurred_at: Some(validated.occurred_at),
            approximate: validated.approximate,
            episode: validated.episode,
            late_reason: validated.late_reason,
            related: validated.related,
            confirmed: validated.confirmed,
        }
    }

    /// About the ward, happening as it is written.
    pub(super) fn about_ward(authorised: Authorised, body: Body) -> Decided {
        Decided {
            authorised,
            patient: None,
            body,
            occurred_at: None,
            approximate: false,
            episode: None,
            late_reason: None,
            related: Vec::new(),
            confirmed: Vec::new(),
        }
    }

    /// What is to be recorded.
    pub(super) const fn body(&self) -> &Body {
        &self.body
    }

    /// Whom it is about; nobody yet for an admission of somebody new.
    pub(super) const fn patient(&self) -> Option<Pseudonym> {
        self.patient
    }

    /// The same, naming an entry it belongs with.
    pub(super) fn related(mut self, to: Option<Seq>) -> Decided {
        self.related.extend(to);
        self
    }

    /// The same about a patient.
    pub(super) fn about(mut self, patient: Option<Pseudonym>, episode: Option<Seq>) -> Decided {
        self.patient = patient;
        self.episode = episode;
        self
    }
}

impl Station {
    /// Records what a person typed, or says why not. Nothing is recorded on an error, except
    /// where the error says that it is not known.
    ///
    /// # Errors
    /// See [`SubmitError`].
    pub fn submit(&mut self, actor: &Actor, draft: &Draft) -> Result<Receipt, SubmitError> {
        let writer = self.open_writer(actor)?;
        let decided = match self.decide(actor, draft) {
            Ok(decided) => decided,
            Err(refused) => {
                let patient = self.patient_of_draft(draft);
                self.record_refusal_under(&writer, actor, &refused, patient);
                return Err(refused);
            }
        };
        self.append(actor, &writer, decided)
    }

    /// Whom a draft is about, as far as it says.
    fn patient_of_draft(&self, draft: &Draft) -> Option<Pseudonym> {
        self.resolve_patient(draft.patient.as_deref()?).ok()
    }

    /// Checks a draft as [`Station::submit`] would, and records nothing.
    ///
    /// # Errors
    /// What `submit` would refuse, as far as it can be told without the writer's lock.
    pub fn rehearse(&self, actor: &Actor, draft: &Draft) -> Result<(), SubmitError> {
        self.decide(actor, draft).map(|_| ())
    }

    /// The first entry of a journal, when there is no ward yet to check anything against.
    pub(super) fn submit_unchecked(
        &mut self,
        actor: &Actor,
        draft: &Draft,
    ) -> Result<Receipt, SubmitError> {
        let read = draft
            .read(&self.read_context())
            .map_err(SubmitError::Refused)?;
        self.append_body(actor, read.body)
    }

    /// Appends what the program itself makes: enrolments, access, handovers. The caller has
    /// checked rights; while the ward has no staff, the first keeper may.
    pub(super) fn append_body(
        &mut self,
        actor: &Actor,
        body: Body,
    ) -> Result<Receipt, SubmitError> {
        self.append_about(actor, body, None, None)
    }

    /// The same about a patient.
    pub(super) fn append_about(
        &mut self,
        actor: &Actor,
        body: Body,
        patient: Option<Pseudonym>,
        episode: Option<Seq>,
    ) -> Result<Receipt, SubmitError> {
        let writer = self.open_writer(actor)?;
        self.append_under(&writer, actor, body, patient, episode)
    }

    /// The same under a lock that is held already, so that what was decided still holds.
    pub(super) fn append_under(
        &mut self,
        writer: &FileStore,
        actor: &Actor,
        body: Body,
        patient: Option<Pseudonym>,
        episode: Option<Seq>,
    ) -> Result<Receipt, SubmitError> {
        let is_founding = self.ward().roster().next().is_none();
        let authorised = match self.authorise_under(writer, actor, body.kind(), patient) {
            Err(_) if is_founding => Authorised { role: actor.role },
            other => other?,
        };
        let decided = Decided::about_ward(authorised, body).about(patient, episode);
        self.append(actor, writer, decided)
    }

    /// Takes the writer's lock and brings the ward up to date under it. Everything that is
    /// decided on the ward's state is decided after this.
    pub(super) fn open_writer(&mut self, actor: &Actor) -> Result<FileStore, SubmitError> {
        let writer = self.open_writer_whatever_is_damaged(actor)?;
        self.check_damage_is_accepted()?;
        Ok(writer)
    }

    /// The same for the act that accepts damage.
    pub(super) fn open_writer_whatever_is_damaged(
        &mut self,
        actor: &Actor,
    ) -> Result<FileStore, SubmitError> {
        let mut options = WriteOptions::new(actor.name.clone(), self.now());
        // Only what this process was itself told is safe may be demanded: a reader can see an
        // entry whose writer has not flushed it yet.
        options.expected_at_least = self.acknowledged;
        let (writer, report) = FileStore::open_writer(self.layout().root(), &options)?;
        self.tell_what_was_cut(&report);
        self.refresh()?;
        // Before anything is decided: what cannot be read cannot be decided on.
        if actor.role.reads_records() {
            self.open_for(actor)?;
        }
        Ok(writer)
    }

    pub(super) fn append(
        &mut self,
        actor: &Actor,
        writer: &FileStore,
        decided: Decided,
    ) -> Result<Receipt, SubmitError> {
        let receipts = self.append_all(actor, writer, vec![decided])?;
        let written = receipts.into_iter().next();
        written.ok_or_else(nothing_written)
    }

    /// Appends several entries with one write and one flush, and nothing with them.
    pub(super) fn append_without_checkpoint(
        &mut self,
        actor: &Actor,
        writer: &FileStore,
        decided: Vec<Decided>,
    ) -> Result<Vec<Receipt>, SubmitError> {
        let mut entries = Vec::with_capacity(decided.len());
        let mut about = Vec::with_capacity(decided.len());
        for one in decided {
            let (entry, kind, patient) = self.new_entry(actor, one)?;
            about.push((entry.id, kind, patient));
            entries.push(entry);
        }
        let Some((id, ..)) = about.first().copied() else {
            return Ok(Vec::new());
        };
        let further: Vec<EntryId> = about.iter().skip(1).map(|(id, ..)| *id).collect();
        let appended = match writer.append(entries, None) {
            Ok(appended) => appended,
            Err(AppendError::NotKnown { cause, .. }) => {
                return Err(SubmitError::NotKnown { id, further, cause });
            }
            Err(error) => return Err(SubmitError::Append(error)),
        };
        let Some(last) = appended.last().filter(|_| appended.len() == about.len()) else {
            let cause = "the writer did not answer for it".to_owned();
            return Err(SubmitError::NotKnown { id, further, cause });
        };
        self.acknowledged = Some(Head {
            seq: last.seq,
            hash: last.hash,
        });
        // The entries stand, whatever happens now: an error here would have them typed again.
        let refreshed = self.refresh();
        let receipts = about.into_iter().zip(appended);
        Ok(receipts
            .map(|((_, kind, patient), appended)| {
                let mut receipt = self.receipt(kind, patient, appended);
                if let Err(error) = &refreshed {
                    receipt.changed = vec![format!(
                        "it stands, and the ward could not be drawn anew: {error}"
                    )];
                    receipt.offers.clear();
                }
                receipt
            })
            .collect())
    }

    pub(super) fn new_entry(
        &mut self,
        actor: &Actor,
        decided: Decided,
    ) -> Result<(NewEntry, Kind, Option<Pseudonym>), SubmitError> {
        let now = self.now();
        let kind = decided.body.kind();
        // An admission of somebody new is where a pseudonym begins.
        let patient = match (decided.patient, kind) {
            (None, Kind::Admission) => Some(Pseudonym(self.ids.next_id()?)),
            (known, _) => known,
        };
        let envelope = Envelope {
            occurred_at: decided.occurred_at.unwrap_or(now).min(now),
            approximate: decided.approximate,
            role: decided.authorised.role,
            episode: decided.episode,
            late_reason: decided.late_reason,
            related: decided.related,
            confirmed: decided.confirmed,
        };
        let payload = codec::encode(&envelope, &decided.body)?;
        debug_assert!(
            codec::decode(kind.code(), kind.version(), codec::ENCODING, &payload)
                .is_ok_and(|(_, body)| body == decided.body),
            "what was encoded reads back as itself"
        );
        let about = patient.unwrap_or(Pseudonym::ZERO);
        let seal = self.seal_for(actor, kind, about)?;
        let entry = NewEntry {
            id: EntryId(self.ids.next_id()?),
            recorded_at: now,
            kind: kind.code(),
            kind_version: kind.version(),
            patient: about,
            encoding: codec::ENCODING,
            payload,
            signer: actor.signer.clone(),
            seal,
        };
        Ok((entry, kind, patient))
    }

    fn receipt(&self, kind: Kind, patient: Option<Pseudonym>, appended: Appended) -> Receipt {
        Receipt {
            seq: appended.seq,
            hash: appended.hash,
            recorded_at: appended.recorded_at,
            kind,
            patient,
            slot: patient
                .and_then(|patient| self.ward().patient(patient)?.slot().map(str::to_owned)),
            changed: super::effects::changes(self, patient, appended.seq),
            offers: super::suggest::offers(self, patient, appended.seq),
        }
    }

    /// Whether an entry whose outcome was not known stands. Opening the journal for writing
    /// puts whatever survived under a fresh flush, so the answer is final.
    ///
    /// # Errors
    /// When the journal still cannot be opened for writing: then it is still not known.
    pub fn settle(&mut self, actor_name: &str, id: EntryId) -> Result<Option<Seq>, SubmitError> {
        let options = WriteOptions::new(actor_name, self.now());
        let (writer, report) = FileStore::open_writer(self.layout().root(), &options)?;
        self.tell_what_was_cut(&report);
        let found = writer.find(id)?;
        drop(writer);
        self.refresh()?;
        Ok(found)
    }

    /// Whether entries could be written now, without writing any.
    ///
    /// # Errors
    /// Why not: busy, read-only, full, damaged.
    pub fn check_writable(&self, who: &str) -> Result<(), OpenError> {
        FileStore::open_writer(self.layout().root(), &WriteOptions::new(who, self.now()))
            .map(|(_, report)| self.tell_what_was_cut(&report))
    }

    /// Opening after a stop cuts an unfinished end; whoever is at the screen is told at once.
    /// And at each act that the disk is nearly full, while somebody can still do something.
    fn tell_what_was_cut(&self, report: &RecoveryReport) {
        let Some(tell) = &self.tell_recovered else {
            return;
        };
        if let Some(cut) = &report.cut {
            tell(&cut.to_string());
        }
        for concern in self.place_concerns() {
            if concern.is_of_room() {
                tell(&format!("Note: {concern}."));
            }
        }
    }
}

/// Nothing was given to the writer, so nothing stands.
pub(super) fn nothing_written() -> SubmitError {
    SubmitError::Append(AppendError::Closed {
        cause: "nothing was written".to_owned(),
    })
}
