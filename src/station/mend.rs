//! Damage: what it is, and a keeper's word that writing may go on after it.

use super::outcome::{Receipt, SubmitError};
use super::{Actor, Station};
use crate::journal::{FileStore, OpenError, RecoveryReport};
use crate::record::kind::Kind;
use crate::record::kind::ward::DamageAccepted;

impl Station {
    /// The damage that keeps entries from being written, if there is any.
    ///
    /// # Errors
    /// When the folder cannot be read.
    pub fn damage(&self) -> Result<Option<RecoveryReport>, OpenError> {
        let report = FileStore::inspect(self.layout().root(), None)?;
        Ok((!report.damaged.is_empty()).then_some(report))
    }

    /// Accepts a damage report as keeper, and records who did and why. Nothing damaged is
    /// touched; writing goes on after it.
    ///
    /// # Errors
    /// When the actor is no keeper, or the folder cannot be written.
    pub fn accept_damage(
        &mut self,
        actor: &Actor,
        report: &RecoveryReport,
        reason: &str,
    ) -> Result<Receipt, SubmitError> {
        self.authorise(actor, Kind::DamageAccepted)?;
        FileStore::accept_damage(self.layout().root(), report.digest)?;
        self.acknowledged = None;
        let what: Vec<String> = report.damaged.iter().map(ToString::to_string).collect();
        let accepted = DamageAccepted {
            findings: report.digest,
            what: what.join("\n").as_str().into(),
            reason: reason.into(),
        };
        self.append_body(actor, accepted.into())
    }
}
