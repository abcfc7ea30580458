//! Working on from a backup: two people's word that the journal goes on from an older state, and why.

use std::io;
use std::path::Path;

use super::outcome::{Receipt, SubmitError};
use super::submit::Decided;
use super::{Actor, Station};
use crate::journal::copy_journal;
use crate::record::ids::Digest;
use crate::record::kind::Kind;
use crate::record::kind::ward::{DamageAccepted, FourEyesAct};

/// Copies a backup to where the ward is to work on: a folder that is empty or not there yet. Gives the number
/// of files.
///
/// # Errors
/// Whatever the system says; `AlreadyExists` if the folder holds anything.
pub fn copy_backup(from: &Path, to: &Path) -> io::Result<usize> {
    copy_journal(from, to)
}

impl Station {
    /// Records that this journal goes on from a backup. `lost` says, a sentence each, what is known to have
    /// been written after it.
    ///
    /// # Errors
    /// When the actor is no keeper, a second person is needed and is not there, or nothing can be written.
    pub fn went_on_from_backup(
        &mut self,
        actor: &Actor,
        second: Option<&Actor>,
        lost: &[String],
        reason: &str,
    ) -> Result<Receipt, SubmitError> {
        self.check_second(actor, second)?;
        let head = self.head();
        let mut lines = vec![format!(
            "put back from a backup that ends with entry {} ({})",
            head.seq, head.hash
        )];
        lines.extend_from_slice(lost);
        let what = lines.join("\n");
        let report = Digest(*blake3::hash(what.as_bytes()).as_bytes());
        let writer = self.open_writer(actor)?;
        let authorised = self.authorise_under(&writer, actor, Kind::DamageAccepted, None)?;
        let approval = self.approve(second, &writer, (FourEyesAct::Restore, report), reason)?;
        let body = DamageAccepted {
            findings: report,
            what: what.as_str().into(),
            reason: reason.into(),
        };
        let decided = Decided::about_ward(authorised, body.into()).related(approval);
        self.append(actor, &writer, decided)
    }
}
