//! What takes two people: accepting damage, and working on from a backup. The second one approves in an
//! entry of their own, which names the report by its digest; the keeper's entry names that entry.

use super::Ward;
use crate::record::entry::Entry;
use crate::record::ids::Digest;
use crate::record::kind::ward::{DamageAccepted, FourEyesAct};
use crate::record::person::Handle;
use crate::record::rights;
use crate::record::role::Role;

/// How the reason of an approval begins: with the digest of what is approved of.
#[must_use]
pub fn reason_naming(report: Digest, reason: &str) -> String {
    format!("{report}: {reason}")
}

/// The digest an approval's reason begins with, if it does.
pub(super) fn report_named(reason: &str) -> Option<Digest> {
    let (digest, _) = reason.split_once(": ")?;
    digest.parse().ok()
}

impl Ward {
    /// Who could be the second person beside this keeper. In a journal whose records are in clear (a teaching
    /// journal, one begun before sealing) one keeper is enough, as it was when those were begun.
    #[must_use]
    pub fn could_be_second(&self, keeper: &Handle) -> Vec<Handle> {
        if !self.is_sealed() {
            return Vec::new();
        }
        let may = self.roster().filter(|staff| {
            let second = (&staff.handle, staff.role);
            !staff.is_suspended() && rights::may_accept_together((keeper, Role::Keeper), second)
        });
        may.map(|staff| staff.handle.clone()).collect()
    }

    /// What an acceptance lacks, in a sentence's second half: the approval of a second person, where there
    /// is somebody who could have given it.
    pub(crate) fn lacks_second(
        &self,
        entry: &Entry,
        accepted: &DamageAccepted,
    ) -> Option<&'static str> {
        let keeper = self.roster.signer_at(&entry.author, entry.seq).ok()?;
        if self.could_be_second(keeper.0).is_empty() {
            return None;
        }
        let approvals = self.sealing.approvals();
        let named = entry.envelope.related.iter();
        let mut approved = named.filter_map(|seq| approvals.get(seq));
        let fits = approved.any(|approved| {
            let act = matches!(
                approved.act,
                FourEyesAct::AcceptDamage | FourEyesAct::Restore
            );
            let second = (&approved.by, approved.role);
            act && approved.report == Some(accepted.findings)
                && rights::may_accept_together(keeper, second)
        });
        (!fits).then_some(
            "accepts without a second person (a governance officer or another keeper) who approves of exactly that",
        )
    }
}
