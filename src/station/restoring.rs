//! Working on from a backup: two people's word that the journal goes on from an older state, and why.

pub use crate::journal::Beside;

use super::outcome::{Receipt, SubmitError};
use super::submit::Decided;
use super::{Actor, Station, StationError};
use crate::record::ids::Seq;
use crate::record::kind::Kind;
use crate::record::kind::ward::{DamageAccepted, FourEyesAct};
use crate::record::person::Handle;
use crate::record::text::Note;
use crate::ward::second::{PUT_BACK, digest_of};

impl Station {
    /// Whether these two may put this backup in place. Nothing is written into it but the count of wrong
    /// secrets, and its ring of keys is not needed: neither of the two reads records.
    ///
    /// # Errors
    /// A wrong secret, not on the staff, no keeper, or a second person is needed and is not there.
    pub fn check_may_restore(
        &mut self,
        keeper: &Actor,
        second: Option<&Actor>,
    ) -> Result<(), SubmitError> {
        self.authorise(keeper, Kind::DamageAccepted)?;
        self.check_second(keeper, second)
    }

    /// Unlocks somebody's key in a folder in which nothing is to be written, without the records.
    ///
    /// # Errors
    /// As [`Station::unlock`].
    pub fn unlock_in_backup(
        &mut self,
        handle: &Handle,
        secret: &str,
    ) -> Result<Actor, StationError> {
        self.unlock_key(handle, secret).map(|(actor, _)| actor)
    }

    /// Entries that cannot be had or are in doubt, where keepers have accepted all that is known to be
    /// wrong; none as long as anything waits.
    ///
    /// # Errors
    /// When the folder cannot be read.
    pub fn accepted_extents(&self) -> Result<Vec<(Seq, Seq)>, StationError> {
        if self.damage()?.is_some() {
            return Ok(Vec::new());
        }
        let lost = self.unreadable().iter().filter_map(super::mend::concerned);
        let doubtful = self.ward().doubtful().iter().map(|one| (one.seq, one.seq));
        Ok(lost.chain(doubtful).collect())
    }

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
        let mut lines = vec![format!("{PUT_BACK}entry {} ({})", head.seq, head.hash)];
        lines.extend_from_slice(lost);
        let what = Note(lines.join("\n"));
        let report = digest_of(&what);
        let writer = self.open_writer(actor)?;
        let authorised = self.authorise_under(&writer, actor, Kind::DamageAccepted, None)?;
        let approvals = self.approve(second, &writer, (FourEyesAct::Restore, &[report]), reason)?;
        let body = DamageAccepted {
            findings: report,
            what,
            reason: reason.into(),
        };
        let decided =
            Decided::about_ward(authorised, body.into()).related(approvals.first().copied());
        self.append(actor, &writer, decided)
    }
}
