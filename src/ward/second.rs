//! What takes two people: accepting damage, and working on from a backup. The second one approves in an
//! entry of their own, which names the report by its digest; the keeper's entry names that entry.

use super::Ward;
use crate::record::entry::Entry;
use crate::record::ids::{Digest, Seq};
use crate::record::kind::ward::{DamageAccepted, FourEyesAct};
use crate::record::person::Handle;
use crate::record::rights;
use crate::record::role::Role;
use crate::record::text::Note;

use super::sealed::APPROVAL_HOLDS;

/// How the first line of an acceptance begins by which a ward works on from a backup.
pub const PUT_BACK: &str = "put back from a backup that ends with ";

/// What an approval names: the digest over the places exactly as one entry lists them.
#[must_use]
pub fn digest_of(what: &Note) -> Digest {
    Digest(*blake3::hash(what.0.as_bytes()).as_bytes())
}

/// What a second person approves of where this is accepted.
fn act_of(what: &Note) -> FourEyesAct {
    if what.0.starts_with(PUT_BACK) {
        FourEyesAct::Restore
    } else {
        FourEyesAct::AcceptDamage
    }
}

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
        let fits = self.approval_of(entry, accepted).is_some();
        (!fits).then_some(
            "accepts without a second person (a governance officer or another keeper) who approves of exactly that, \
             once and within seven days",
        )
    }

    /// The approval that an acceptance rests on: of the same act, of exactly these places, not older than
    /// [`APPROVAL_HOLDS`], and used by no other entry.
    fn approval_of(&self, entry: &Entry, accepted: &DamageAccepted) -> Option<Seq> {
        let keeper = self.roster.signer_at(&entry.author, entry.seq).ok()?;
        let digest = digest_of(&accepted.what);
        if accepted.findings != digest {
            return None;
        }
        let fits = |seq: &Seq| {
            let Some(approved) = self.sealing.approvals().get(seq) else {
                return false;
            };
            approved.act == act_of(&accepted.what)
                && approved.report == Some(digest)
                && approved.used.is_none_or(|used| used == entry.seq)
                && entry.recorded_at.since(approved.at) <= APPROVAL_HOLDS
                && rights::may_accept_together(keeper, (&approved.by, approved.role))
        };
        entry.envelope.related.iter().copied().find(fits)
    }

    /// Takes note that an acceptance used up the approval it rests on.
    pub(crate) fn use_up_approval(&mut self, entry: &Entry, accepted: &DamageAccepted) {
        if let Some(seq) = self.approval_of(entry, accepted) {
            self.sealing.used_by(seq, entry.seq);
        }
    }
}
