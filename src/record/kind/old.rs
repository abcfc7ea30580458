//! Kind versions that are no longer written. They are read for ever: each is a frozen
//! struct that is never edited, and a step that turns it into the next version.

use serde::{Deserialize, Serialize};

use super::contact::{Contact, ContactMode, ContactOutcome, NextStep, Spoken, Starter, Witness};
use super::ward::{StaffChanged, StaffEnrolled, StaffMove};
use crate::record::ids::{PersonKey, Seq};
use crate::record::moment::Due;
use crate::record::person::Handle;
use crate::record::quantity::Count;
use crate::record::role::Role;
use crate::record::text::{Line, Note};

/// Contact, version 1: before it was asked whether two identifiers were checked, and before
/// a worry could be stated in the contact itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ContactV1 {
    /// How.
    pub mode: ContactMode,
    /// What came of it.
    pub outcome: ContactOutcome,
    /// Whom the ward spoke with.
    pub spoke_to: Option<Spoken>,
    /// Name of the carer or professional.
    pub spoke_name: Option<Line>,
    /// Who started it.
    pub started_by: Option<Starter>,
    /// How the patient is.
    pub how: Option<Note>,
    /// Who says so.
    pub said_by: Option<Witness>,
    /// Advice given.
    pub advice: Option<Note>,
    /// Safety net.
    pub safety_net: Option<Note>,
    /// Next contact due.
    pub next: Option<Due>,
    /// Who makes it.
    pub next_by: Option<Handle>,
    /// The alert this answers.
    pub answers: Option<Seq>,
    /// Which attempt this was.
    pub attempt: Option<Count>,
    /// What is done as nobody was reached.
    pub then: Option<NextStep>,
}

impl From<ContactV1> for Contact {
    /// What version 1 did not ask stays unknown.
    fn from(old: ContactV1) -> Contact {
        Contact {
            mode: old.mode,
            outcome: old.outcome,
            spoke_to: old.spoke_to,
            spoke_name: old.spoke_name,
            started_by: old.started_by,
            how: old.how,
            said_by: old.said_by,
            identified: None,
            worry: None,
            advice: old.advice,
            safety_net: old.safety_net,
            next: old.next,
            next_by: old.next_by,
            answers: old.answers,
            attempt: old.attempt,
            then: old.then,
        }
    }
}

/// Enrolment, version 1: before people had reading keys.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StaffEnrolledV1 {
    /// Handle.
    pub handle: Handle,
    /// Full name.
    pub name: Line,
    /// Role.
    pub role: Role,
    /// Registration number.
    pub registration: Option<Line>,
    /// Public signing key.
    pub key: Option<PersonKey>,
}

impl From<StaffEnrolledV1> for StaffEnrolled {
    fn from(old: StaffEnrolledV1) -> StaffEnrolled {
        StaffEnrolled {
            handle: old.handle,
            name: old.name,
            role: old.role,
            registration: old.registration,
            key: old.key,
            reading: None,
        }
    }
}

/// Staff change, version 1: before people had reading keys.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StaffChangedV1 {
    /// Who.
    pub handle: Handle,
    /// What changes.
    pub change: StaffMove,
    /// New role.
    pub role: Option<Role>,
    /// Why.
    pub reason: Line,
    /// New public key.
    pub key: Option<PersonKey>,
}

impl From<StaffChangedV1> for StaffChanged {
    fn from(old: StaffChangedV1) -> StaffChanged {
        StaffChanged {
            handle: old.handle,
            change: old.change,
            role: old.role,
            reason: old.reason,
            key: old.key,
            reading: None,
        }
    }
}
