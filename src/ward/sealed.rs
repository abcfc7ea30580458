//! What the journal says of its own sealing: since when, with which recovery key, whose keys
//! two people destroyed; and what could not be opened when the ward was drawn.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::Ward;
use super::held::Author;
use super::read::Unreadable;
use crate::journal::SealFault;
use crate::record::entry::Entry;
use crate::record::ids::{Digest, Pseudonym, ReadingKey, Seq};
use crate::record::kind::ward::{Approval, FourEyesAct, RecordDestroyed, RecoveryKey};
use crate::record::kind::{Body, Kind};
use crate::record::person::Handle;
use crate::record::rights;
use crate::record::role::Role;
use crate::record::time::{Span, Timestamp};

/// How long an approval waits for the second person; common practice, no source.
pub const APPROVAL_HOLDS: Span = Span::days(7);

/// Sealing, as far as the entries tell.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sealing {
    begun: Option<Begun>,
    approvals: BTreeMap<Seq, Approved>,
    destroyed: BTreeMap<Pseudonym, Destroyed>,
    unopened: BTreeMap<(Option<Pseudonym>, SealFault), Unopened>,
}

/// From which entry on records are sealed, and the recovery key in force.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Begun {
    /// The first `recovery` entry.
    pub since: Seq,
    /// The newest one.
    pub newest: Seq,
    /// The key it names.
    pub recovery: ReadingKey,
    /// Who keeps which share, if that was said.
    pub holders: Option<String>,
    /// Who made it.
    pub by: Handle,
    /// When.
    pub at: Timestamp,
}

/// The first of two people has approved.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Approved {
    /// Of what.
    pub act: FourEyesAct,
    /// Whose record.
    pub patient: Option<Pseudonym>,
    /// Of which damage report or backup, by its digest.
    pub report: Option<Digest>,
    /// Who.
    pub by: Handle,
    /// In which role.
    pub role: Role,
    /// When.
    pub at: Timestamp,
    /// The entry of the second person, once there is one.
    pub used: Option<Seq>,
}

/// A record whose keys were destroyed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Destroyed {
    /// By which entry.
    pub seq: Seq,
    /// When.
    pub at: Timestamp,
    /// Both people: who approved, and who agreed.
    pub by: [Handle; 2],
}

/// Entries that are sealed and were not opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unopened {
    /// How many.
    pub entries: u64,
    /// The first.
    pub first: Seq,
    /// The last.
    pub last: Seq,
}

impl Sealing {
    pub(super) fn begin(&mut self, entry: &Entry, made: &RecoveryKey, by: &Handle) {
        let Some(recovery) = made.key else { return };
        let since = self.begun.as_ref().map_or(entry.seq, |begun| begun.since);
        self.begun = Some(Begun {
            since,
            newest: entry.seq,
            recovery,
            holders: made.holders.as_ref().map(|holders| holders.0.clone()),
            by: by.clone(),
            at: entry.recorded_at,
        });
    }

    pub(super) fn approve(
        &mut self,
        entry: &Entry,
        approval: &Approval,
        (by, role): (&Handle, Role),
    ) {
        let approved = Approved {
            act: approval.act,
            patient: entry.patient,
            report: super::second::report_named(&approval.reason.0),
            by: by.clone(),
            role,
            at: entry.recorded_at,
            used: None,
        };
        self.approvals.insert(entry.seq, approved);
    }

    /// Takes note of a destruction, if two people agreed to it.
    pub(super) fn destroy(
        &mut self,
        entry: &Entry,
        named: &RecordDestroyed,
        second: (&Handle, Role),
        open_stay: Option<Seq>,
    ) {
        let at = entry.recorded_at;
        let Some(patient) = entry.patient else { return };
        if self
            .may_destroy(named.approval, patient, second, (at, open_stay))
            .is_err()
        {
            return;
        }
        let Some(approved) = self.approvals.get_mut(&named.approval) else {
            return;
        };
        approved.used = Some(entry.seq);
        let by = [approved.by.clone(), second.0.clone()];
        let seq = entry.seq;
        self.destroyed.insert(patient, Destroyed { seq, at, by });
    }

    /// Whether somebody may, as the second person, destroy what an earlier entry approved: at a
    /// moment, and given the admission that has no discharge after it.
    ///
    /// # Errors
    /// Why not, in a sentence's second half.
    pub fn may_destroy(
        &self,
        approval: Seq,
        patient: Pseudonym,
        second: (&Handle, Role),
        (at, open_stay): (Timestamp, Option<Seq>),
    ) -> Result<(), &'static str> {
        let approved = self.approvals.get(&approval);
        let approved = approved.filter(|approved| {
            approved.act == FourEyesAct::Destroy && approved.patient == Some(patient)
        });
        let Some(approved) = approved else {
            return Err("names no approval of destroying this record");
        };
        if approved.used.is_some() {
            return Err("names an approval that was used before");
        }
        if at.since(approved.at) > APPROVAL_HOLDS {
            return Err("names an approval older than seven days");
        }
        if !rights::may_destroy_together((&approved.by, approved.role), second) {
            return Err(
                "needs a keeper and a governance officer, two people, one of them in the approval",
            );
        }
        if open_stay.is_some() {
            return Err("destroys the record of somebody on the ward");
        }
        Ok(())
    }

    pub(super) fn used_by(&mut self, approval: Seq, entry: Seq) {
        if let Some(approved) = self.approvals.get_mut(&approval) {
            approved.used = Some(entry);
        }
    }

    pub(super) fn pass_over(&mut self, unread: &Unreadable, why: SealFault) {
        let seq = unread.seq;
        let first = Unopened {
            entries: 0,
            first: seq,
            last: seq,
        };
        let met = self.unopened.entry((unread.patient, why)).or_insert(first);
        met.entries += 1;
        met.last = seq;
    }

    /// Since when, and the recovery key; `None` in a journal whose records are in clear.
    #[must_use]
    pub const fn begun(&self) -> Option<&Begun> {
        self.begun.as_ref()
    }

    /// Approvals, by their entries.
    #[must_use]
    pub const fn approvals(&self) -> &BTreeMap<Seq, Approved> {
        &self.approvals
    }

    /// Records whose keys were destroyed.
    #[must_use]
    pub const fn destroyed(&self) -> &BTreeMap<Pseudonym, Destroyed> {
        &self.destroyed
    }

    /// What is sealed and was not opened, by record and reason.
    #[must_use]
    pub const fn unopened(&self) -> &BTreeMap<(Option<Pseudonym>, SealFault), Unopened> {
        &self.unopened
    }

    /// What every view says of it. A destroyed record is not missing: its keys were destroyed
    /// on purpose, and its own timeline says so.
    #[must_use]
    pub fn lacking_in_words(&self) -> Vec<String> {
        let locked: u64 = self.locked();
        let mut words = Vec::new();
        if locked > 0 {
            words.push(format!(
                "{} sealed (nobody who reads records has unlocked)",
                entries_are(locked)
            ));
        }
        for ((patient, why), met) in &self.unopened {
            let gone = patient.is_some_and(|patient| self.destroyed.contains_key(&patient));
            if *why == SealFault::Locked || (gone && matches!(why, SealFault::NoKey(_))) {
                continue;
            }
            let whose = match patient {
                Some(patient) => format!("of record {}", patient.short()),
                None => "of the ward".to_owned(),
            };
            let (count, first, last) = (entries_are(met.entries), met.first, met.last);
            words.push(format!(
                "{count} sealed and not readable ({whose}, {first} to {last}: {why})"
            ));
        }
        words
    }

    fn locked(&self) -> u64 {
        let locked = self.unopened.iter();
        locked
            .filter(|((_, why), _)| *why == SealFault::Locked)
            .map(|(_, met)| met.entries)
            .sum()
    }

    /// The newest entry after which a ring drawn before must be renewed, beside those about staff.
    fn changed_at(&self) -> Seq {
        let destroyed = self.destroyed.values().map(|one| one.seq).max();
        let begun = self.begun.as_ref().map(|begun| begun.newest);
        destroyed.max(begun).unwrap_or(Seq::NONE)
    }
}

/// Of one record's entries, in order and by number and kind: the newest admission, if no discharge
/// comes after it.
pub fn open_stay(entries: impl DoubleEndedIterator<Item = (Seq, u16)>) -> Option<Seq> {
    let decides = [Kind::Admission.code(), Kind::Discharge.code()];
    let mut newest = entries.rev();
    let (seq, kind) = newest.find(|(_, kind)| decides.contains(kind))?;
    (kind == Kind::Admission.code()).then_some(seq)
}

fn entries_are(count: u64) -> String {
    match count {
        1 => "1 entry is".to_owned(),
        more => format!("{more} entries are"),
    }
}

impl Ward {
    /// What the journal says of its sealing.
    #[must_use]
    pub const fn sealing(&self) -> &Sealing {
        &self.sealing
    }

    /// Whether what is written about patients now must be sealed.
    #[must_use]
    pub const fn is_sealed(&self) -> bool {
        self.sealing.begun.is_some()
    }

    /// The newest entry by which somebody lost the right to read, a record was destroyed, or the
    /// recovery key changed: a ring drawn before it is to be renewed.
    #[must_use]
    pub fn ring_due_since(&self) -> Seq {
        self.roster.reading_lost_at().max(self.sealing.changed_at())
    }

    /// The admission of a patient with no discharge after it, as far as headers tell, which
    /// everybody can read: so that whoever holds no key decides as whoever does. An amendment that
    /// takes a discharge back is not seen.
    #[must_use]
    pub fn open_stay(&self, patient: Pseudonym) -> Option<Seq> {
        let lines = self.log_of(Some(patient))?.lines();
        // What anybody may have put there ends nobody's stay.
        let proved = lines.iter().filter(|line| {
            matches!(line.author, Author::Staff(..)) || line.kind == Kind::Admission.code()
        });
        open_stay(proved.map(|line| (line.seq, line.kind)))
    }

    /// Takes in what an entry says of sealing.
    pub(super) fn apply_sealing(&mut self, entry: &Entry) {
        let signer = self.roster.signer_at(&entry.author, entry.seq);
        let Ok(signer) = signer else { return };
        match &entry.body {
            Body::RecoveryKey(made) => self.sealing.begin(entry, made, signer.0),
            Body::Approval(approval) => self.sealing.approve(entry, approval, signer),
            Body::RecordDestroyed(named) => {
                let open = entry.patient.and_then(|patient| self.open_stay(patient));
                self.sealing.destroy(entry, named, signer, open);
            }
            _ => {}
        }
    }
}
