//! Damage: what it is, and a keeper's word that writing may go on after it.

use super::outcome::{Receipt, SubmitError};
use super::{Actor, Station};
use crate::journal::{DamageFinding, FileStore, OpenError, ReadError};
use crate::record::ids::{Digest, Seq};
use crate::record::kind::Kind;
use crate::record::kind::ward::DamageAccepted;

/// Everything that is known to be damaged and keeps entries from being written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DamageReport {
    /// One sentence for each place.
    pub places: Vec<String>,
    /// Names exactly these places.
    pub digest: Digest,
    /// Whether a place is a file that may simply not belong among the segments.
    pub names_a_segment: bool,
    /// What the journal itself must be told is accepted, where its end is concerned.
    end: Option<Digest>,
}

fn is_a_segment(finding: &DamageFinding) -> bool {
    matches!(
        finding,
        DamageFinding::Gap { .. } | DamageFinding::NotAFile { .. }
    )
}

impl Station {
    /// The damage that keeps entries from being written, if there is any.
    ///
    /// # Errors
    /// When the folder cannot be read.
    pub fn damage(&self) -> Result<Option<DamageReport>, OpenError> {
        let end_report = FileStore::inspect(self.layout().root(), None)?;
        let end = &end_report;
        let mut places: Vec<String> = end.damaged.iter().map(ToString::to_string).collect();
        let earlier = self.unaccepted().map(ToString::to_string);
        places.extend(earlier.filter(|place| !end.damaged.iter().any(|d| d.to_string() == *place)));
        if places.is_empty() {
            return Ok(None);
        }
        let digest = Digest(*blake3::hash(places.join("\n").as_bytes()).as_bytes());
        let end = (!end.damaged.is_empty()).then_some(end.digest);
        Ok(Some(DamageReport {
            places,
            digest,
            names_a_segment: end_report.damaged.iter().any(is_a_segment),
            end,
        }))
    }

    /// The unfinished ends that opening after a stop has cut off, and where they lie: no damage, but
    /// whoever looks for something that is not in the log should know. And, first, what opening
    /// would cut now.
    ///
    /// # Errors
    /// When the folder cannot be read.
    pub fn cut_off(&self) -> Result<Vec<String>, OpenError> {
        let root = self.layout().root();
        let now = FileStore::inspect(root, None)?.cut;
        let now = now.map(|cut| {
            format!(
                "the journal ends in {} bytes of an append that was never finished; the next \
                 entry that is recorded has them cut off and put into {}",
                cut.bytes,
                cut.aside.display()
            )
        });
        let before = FileStore::lying_aside(root);
        Ok(now
            .into_iter()
            .chain(before.iter().map(ToString::to_string))
            .collect())
    }

    /// Accepts a damage report as keeper, and records who did and why. Nothing damaged is
    /// touched; writing goes on after it.
    ///
    /// # Errors
    /// When the actor is no keeper, or the folder cannot be written.
    pub fn accept_damage(
        &mut self,
        actor: &Actor,
        report: &DamageReport,
        reason: &str,
    ) -> Result<Receipt, SubmitError> {
        self.authorise(actor, Kind::DamageAccepted)?;
        if let Some(end) = report.end {
            FileStore::accept_damage(self.layout().root(), end)?;
        }
        self.acknowledged = None;
        let accepted = DamageAccepted {
            findings: report.digest,
            what: report.places.join("\n").as_str().into(),
            reason: reason.into(),
        };
        let writer = self.open_writer_whatever_is_damaged(actor)?;
        self.append_under(&writer, actor, accepted.into(), None, None)
    }

    /// Damaged or missing entries that no acceptance covers. An acceptance covers what lies
    /// before it; damage done to that later is for `verify` to find.
    fn unaccepted(&self) -> impl Iterator<Item = &ReadError> {
        let log = self.ward().common_log().lines().iter();
        let accepted = log
            .filter(|line| line.kind == Kind::DamageAccepted.code())
            .map(|line| line.seq)
            .max()
            .unwrap_or(Seq::NONE);
        self.unreadable().iter().filter(move |error| match error {
            ReadError::Damaged { last, .. } | ReadError::Missing { last, .. } => *last > accepted,
            ReadError::Unreadable { .. } => false,
        })
    }

    /// Writing waits for a keeper while something recorded is known to be damaged.
    pub(super) fn check_damage_is_accepted(&self) -> Result<(), SubmitError> {
        let places: Vec<String> = self.unaccepted().map(ToString::to_string).collect();
        if places.is_empty() {
            Ok(())
        } else {
            Err(SubmitError::Damaged { places })
        }
    }
}
