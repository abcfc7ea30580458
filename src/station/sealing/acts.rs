//! Acts on the keys: sealing a journal, recovering its keys with two shares, destroying a record's.

use super::ring::{self, Readers};
use super::wrap::random;
use super::{ReadingSecret, SealingError, Share};
use crate::record::ids::{Pseudonym, Seq};
use crate::record::kind::Kind;
use crate::record::kind::ward::{
    Access, AccessAct, Approval, FourEyesAct, RecordDestroyed, RecoveryKey,
};
use crate::record::time::{Span, Timestamp};
use crate::station::outcome::{Receipt, SubmitError};
use crate::station::{Actor, Station, StationError};

/// Records are kept for at least eight years after their last entry: the shortest term for adult
/// health records in the NHS Records Management Code of Practice; many are longer, and only a
/// person who may read the record knows which.
const KEPT_AT_LEAST: Span = Span::days(8 * 365 + 2);

/// The first person's half of destroying a record.
#[derive(Debug, Clone)]
pub struct DestructionRequest {
    /// Whose record.
    pub patient: Pseudonym,
    /// Why, without anything from the record.
    pub reason: String,
    /// Said by somebody who knows that the record's last entry is younger than the shortest term.
    pub early: bool,
}

impl Station {
    /// Seals what is written about patients from now on, or gives a sealed journal a new recovery
    /// key: the shares of the old one are then worthless as soon as somebody who reads has unlocked.
    /// The keeper's act. `give` hands the three shares over before anything is recorded: a key whose
    /// shares nobody has would be in force, and recover nothing.
    ///
    /// # Errors
    /// When the actor is no keeper, the shares cannot be handed over, or nothing can be written.
    pub fn seal_records(
        &mut self,
        actor: &Actor,
        holders: Option<&str>,
        give: impl FnOnce(&[Share; 3]) -> Result<(), String>,
    ) -> Result<(Receipt, [Share; 3]), StationError> {
        let writer = self.open_writer(actor)?;
        self.authorise_under(&writer, actor, Kind::RecoveryKey, None)?;
        let secret = ReadingSecret::from_bytes(random()?);
        let shares = secret.shares()?;
        give(&shares).map_err(SealingError::SharesNotGiven)?;
        let body = RecoveryKey {
            holders: holders.map(Into::into),
            key: Some(secret.public()),
        };
        let mut receipt = self.append_under(&writer, actor, body.into(), None, None)?;
        drop(writer);
        self.tell_of_ring(actor, &mut receipt);
        Ok((receipt, shares))
    }

    /// Draws the ring anew for all who may read, with two recovery shares: when nobody is left who can
    /// open it. The keeper's act; it is recorded, and the keeper reads nothing by it.
    ///
    /// # Errors
    /// When the actor is no keeper, the shares do not fit, or the ring file is not there.
    pub fn recover_records(
        &mut self,
        actor: &Actor,
        shares: (&Share, &Share),
        reason: &str,
    ) -> Result<Receipt, StationError> {
        let writer = self.open_writer(actor)?;
        self.authorise_under(&writer, actor, Kind::RecoveryKey, None)?;
        let secret = shares.0.join(shares.1).map(ReadingSecret::from_bytes);
        let secret = secret.ok_or(SealingError::WrongShares)?;
        let Some(readers) = Readers::of(self.ward()) else {
            return Err(
                SubmitError::refuse("this journal is not sealed", "a sealed journal").into(),
            );
        };
        let opens = |station: &Station| {
            let (file, _) = station.ring_there()?;
            let key = file.open(&secret).ok_or(SealingError::WrongShares)?;
            Ok::<_, SealingError>((file, key))
        };
        opens(self)?;
        // Recorded before it is done: what was opened and is in no entry would be nobody's act.
        let access = Access {
            act: AccessAct::Opened,
            what: "the keys to all records, with two recovery shares".into(),
            reason: Some(reason.into()),
        };
        let mut receipt = self.append_under(&writer, actor, access.into(), None, None)?;
        let lock = ring::lock(self.layout())?;
        let (file, key) = opens(self)?;
        let (file, _) = self.renew(&file, &key, &readers, &*actor.signer)?;
        drop(lock);
        let readers: Vec<&str> = file.people.iter().map(|one| one.handle.as_str()).collect();
        receipt.changed.push(format!(
            "the keys to the records are wrapped anew for: {}",
            if readers.is_empty() {
                "nobody, as nobody who reads is enrolled".to_owned()
            } else {
                readers.join(", ")
            }
        ));
        Ok(receipt)
    }

    /// The first of two people approves of destroying a record.
    ///
    /// # Errors
    /// When the actor is neither keeper nor governance, the record is not there, is destroyed already,
    /// or its last entry is younger than the shortest term and that was not said to be known.
    pub fn approve_destruction(
        &mut self,
        actor: &Actor,
        request: &DestructionRequest,
    ) -> Result<Receipt, StationError> {
        let writer = self.open_writer(actor)?;
        self.authorise_under(&writer, actor, Kind::Approval, Some(request.patient))?;
        self.check_destroyable(request.patient)?;
        let newest = self.newest_entry_about(request.patient);
        let young = newest.is_some_and(|at| self.now().since(at) < KEPT_AT_LEAST);
        if young && !request.early {
            let last = newest
                .map(|at| self.zone().day_date_time(at))
                .unwrap_or_default();
            let what = format!("the record's last entry is of {last}, less than eight years ago");
            let accepted =
                "a record whose term has run out; or `--early`, where a court or the law says so";
            return Err(SubmitError::refuse(what, accepted).into());
        }
        let body = Approval {
            act: FourEyesAct::Destroy,
            reason: request.reason.as_str().into(),
        };
        let patient = Some(request.patient);
        Ok(self.append_under(&writer, actor, body.into(), patient, None)?)
    }

    /// The second person agrees: the record's keys are taken out of the ring, and nobody reads the record any
    /// more, here or from a copy of the journal. The chain still verifies.
    ///
    /// # Errors
    /// When the two are not a keeper and a governance officer, or the approval does not fit.
    pub fn destroy_record(
        &mut self,
        actor: &Actor,
        approval: Seq,
        reason: &str,
    ) -> Result<Receipt, StationError> {
        let writer = self.open_writer(actor)?;
        let authorised = self.authorise_under(&writer, actor, Kind::RecordDestroyed, None)?;
        let approved = self.ward().sealing().approvals().get(&approval);
        let Some(patient) = approved.and_then(|approved| approved.patient) else {
            let what = format!("{approval} approves of destroying no record");
            return Err(SubmitError::refuse_field(
                "approval",
                what,
                "the number of the first person's entry",
            )
            .into());
        };
        self.check_destroyable(patient)?;
        let second = (&actor.handle, authorised.role);
        if let Err(why) =
            self.ward()
                .sealing()
                .may_destroy(approval, patient, second, (self.now(), None))
        {
            let accepted = "a keeper and a governance officer, one to approve and the other to destroy within seven days";
            return Err(SubmitError::refuse(format!("this {why}"), accepted).into());
        }
        let body = RecordDestroyed {
            approval,
            reason: reason.into(),
        };
        let mut receipt = self.append_under(&writer, actor, body.into(), Some(patient), None)?;
        drop(writer);
        // What was drawn from the record goes too; what is not done now is done at the next unlocking.
        let index = crate::ward::index::forget_sealed(self.layout());
        if let Err(error) = index {
            receipt.changed.push(format!(
                "the folder index-sealed could not be removed ({error}): delete it"
            ));
        }
        self.tell_of_ring(actor, &mut receipt);
        receipt.changed.push(
            "destroy the older copies of sealing/ring.json now, and make a new one once somebody who reads has unlocked".to_owned(),
        );
        Ok(receipt)
    }

    fn check_destroyable(&self, patient: Pseudonym) -> Result<(), SubmitError> {
        if !self.is_sealed() {
            return Err(SubmitError::refuse(
                "this journal is not sealed: no key stands between its entries and whoever reads them",
                "a sealed journal",
            ));
        }
        if let Some(destroyed) = self.ward().sealing().destroyed().get(&patient) {
            let what = format!(
                "the keys to this record were destroyed in entry {}",
                destroyed.seq
            );
            return Err(SubmitError::refuse(what, "a record that can be read"));
        }
        if self.ward().patient(patient).is_none() {
            let what = format!("there is no record {patient}");
            return Err(SubmitError::refuse_field(
                "patient",
                what,
                "a pseudonym, as a timeline shows it",
            ));
        }
        if let Some(admission) = self.ward().open_stay(patient) {
            let what = format!(
                "this patient is on the ward: the admission in entry {admission} has no discharge after it"
            );
            return Err(SubmitError::refuse(
                what,
                "the record of somebody who was discharged",
            ));
        }
        Ok(())
    }

    fn newest_entry_about(&self, patient: Pseudonym) -> Option<Timestamp> {
        let lines = self.ward().log_of(Some(patient))?.lines();
        // Somebody looking at a record does not keep it alive.
        let written = lines.iter().filter(|line| line.kind != Kind::Access.code());
        written.map(|line| line.recorded_at).max()
    }

    /// Brings the ring up with the journal as far as it can be without its key, and says in the receipt what
    /// waits for a colleague.
    pub(in crate::station) fn tell_of_ring(&mut self, actor: &Actor, receipt: &mut Receipt) {
        let said = match self.tidy_ring(actor) {
            Ok(None) => return,
            Ok(Some(state)) => {
                let waiting: Vec<&str> = state.waiting.iter().map(|one| one.as_str()).collect();
                let mut said = Vec::new();
                if !waiting.is_empty() {
                    said.push(format!(
                        "{} can read records once a colleague who reads has unlocked",
                        waiting.join(", ")
                    ));
                }
                if state.due {
                    said.push(
                        "the ring of keys is renewed when somebody who reads next unlocks"
                            .to_owned(),
                    );
                }
                said
            }
            Err(error) => vec![format!(
                "the ring of keys could not be brought up to date: {error}"
            )],
        };
        receipt.changed.extend(said);
    }
}

impl ReadingSecret {
    fn shares(&self) -> Result<[Share; 3], SealingError> {
        Share::split(self.secret())
    }
}
