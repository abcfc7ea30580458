//! The ward itself: its journal, its people, its policy, who looked at what.

use super::declare::{CrossCheck, Findings, fields};
use crate::record::choice::choices;
use crate::record::ids::{Digest, PersonKey, ReadingKey, Seq};
use crate::record::person::Handle;
use crate::record::role::Role;
use crate::record::text::{Line, Note};

fields! {
    /// The first entry of a journal.
    WardOpened {
        /// The ward's name.
        name: Line,
        /// The ward's time zone, by IANA name.
        zone: Line,
        /// A teaching journal: invented patients only.
        teaching: bool,
    }
}

impl CrossCheck for WardOpened {
    fn cross_check(&self, _: &mut Findings) {}
}

fields! {
    /// Somebody joins the staff.
    StaffEnrolled {
        /// Handle to sign in with.
        handle: Handle,
        /// Full name as colleagues know it.
        name: Line,
        /// Role.
        role: Role,
        /// Professional registration number.
        registration: Option<Line>,
    }
    seen {
        /// Public signing key. Filled in by the program.
        key: Option<PersonKey>,
        /// Public reading key, for which the keys to the records are wrapped. Filled in by the program.
        reading: Option<ReadingKey>,
    }
}

impl CrossCheck for StaffEnrolled {
    fn cross_check(&self, _: &mut Findings) {}
}

choices! {
    /// What changes for a member of staff.
    StaffMove {
        Suspended = "suspended", "suspended", also "suspend";
        Reinstated = "reinstated", "reinstated", also "reinstate";
        RoleChanged = "role", "role changed";
        KeyReplaced = "key", "key replaced";
    }
}

fields! {
    /// Something changes for a member of staff.
    StaffChanged {
        /// Who.
        handle: Handle,
        /// What changes.
        change: StaffMove,
        /// New role.
        role: Option<Role>,
        /// Why.
        reason: Line,
    }
    seen {
        /// New public key. Filled in by the program.
        key: Option<PersonKey>,
        /// New public reading key. Filled in by the program.
        reading: Option<ReadingKey>,
    }
}

impl CrossCheck for StaffChanged {
    fn cross_check(&self, findings: &mut Findings) {
        if self.change == StaffMove::RoleChanged && self.role.is_none() {
            findings.refuse("role", "is missing", "the new role");
        }
    }
}

fields! {
    /// A ward policy value changes.
    PolicyChanged {
        /// Which value.
        setting: Line,
        /// Its new value.
        value: Note,
        /// Why.
        reason: Line,
    }
}

impl CrossCheck for PolicyChanged {
    fn cross_check(&self, _: &mut Findings) {}
}

choices! {
    /// What somebody did with a record.
    AccessAct {
        Opened = "opened", "opened";
        Printed = "printed", "printed";
        Exported = "exported", "exported";
        UnlockFailed = "unlock-failed", "failed to unlock";
        Refused = "refused", "was refused";
    }
}

impl AccessAct {
    /// Whether somebody got to see something.
    #[must_use]
    pub const fn reads(self) -> bool {
        matches!(
            self,
            AccessAct::Opened | AccessAct::Printed | AccessAct::Exported
        )
    }
}

fields! {
    /// Somebody opened, printed or exported a record, or was refused.
    Access {
        /// What was done.
        act: AccessAct,
        /// What exactly.
        what: Line,
        /// Why.
        reason: Option<Line>,
    }
}

impl CrossCheck for Access {
    fn cross_check(&self, _: &mut Findings) {}
}

fields! {
    /// A keeper read a damage report and lets writing go on after it.
    DamageAccepted {
        /// Digest of the findings.
        findings: Digest,
        /// What was found, in words.
        what: Note,
        /// Why writing goes on.
        reason: Line,
    }
}

impl CrossCheck for DamageAccepted {
    fn cross_check(&self, _: &mut Findings) {}
}

choices! {
    /// What an amendment does.
    AmendmentAct {
        Correct = "correct", "corrects";
        Withdraw = "withdraw", "withdraws";
    }
}

choices! {
    /// Why an entry is amended.
    AmendmentCause {
        Typing = "typing", "typing mistake";
        WrongPatient = "wrong-patient", "entered on the wrong patient";
        WrongTime = "wrong-time", "wrong time";
        Incomplete = "incomplete", "something was left out";
        Mistaken = "mistaken", "it was not so";
        Undo = "undo", "undone by its writer at once";
        Other = "other", "another reason";
    }
}

/// An entry's fields as they should have been.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Replacement {
    /// Kind, by number.
    pub kind: u16,
    /// Kind version.
    pub version: u8,
    /// The whole payload of the corrected entry, encoded as that version.
    pub payload: Vec<u8>,
}

fields! {
    /// Corrects or withdraws an earlier entry. The original stays readable, marked.
    Amendment {
        /// Which entry.
        target: Seq,
        /// Correct or withdraw.
        act: AmendmentAct,
        /// Why.
        cause: AmendmentCause,
        /// More about why.
        reason: Option<Line>,
        /// The entry in the right record, when it was on the wrong patient.
        entered_anew: Option<Seq>,
    }
    seen {
        /// The corrected fields. Filled in by the program from what was typed.
        replacement: Option<Replacement>,
    }
}

impl CrossCheck for Amendment {
    fn cross_check(&self, findings: &mut Findings) {
        if self.cause == AmendmentCause::Other && self.reason.is_none() {
            findings.refuse("reason", "is missing", "why the entry is amended");
        }
        if self.cause == AmendmentCause::WrongPatient && self.act == AmendmentAct::Correct {
            findings.refuse(
                "act",
                "an entry is never moved to another patient",
                "withdraw, then enter it anew in the right record",
            );
        }
    }
}

choices! {
    /// What takes two people.
    FourEyesAct {
        Destroy = "destroy", "destroying a record";
        AcceptDamage = "damage", "accepting a damage report";
        Restore = "restore", "working on from a backup";
    }
}

fields! {
    /// The first of two people approves of what takes two.
    Approval {
        /// Of what.
        act: FourEyesAct,
        /// Why, without anything from the record: this is never sealed.
        reason: Line,
    }
}

impl CrossCheck for Approval {
    fn cross_check(&self, _: &mut Findings) {}
}

fields! {
    /// The second person agrees, and the keys to a sealed record are destroyed.
    RecordDestroyed {
        /// The first person's approval.
        approval: Seq,
        /// Why, without anything from the record: this is never sealed.
        reason: Line,
    }
}

impl CrossCheck for RecordDestroyed {
    fn cross_check(&self, _: &mut Findings) {}
}

fields! {
    /// The ward's recovery key. From this entry on what is written about patients is sealed.
    RecoveryKey {
        /// Who keeps which of the three shares of its secret.
        holders: Option<Line>,
    }
    seen {
        /// Public half. Filled in by the program.
        key: Option<ReadingKey>,
    }
}

impl CrossCheck for RecoveryKey {
    fn cross_check(&self, _: &mut Findings) {}
}
