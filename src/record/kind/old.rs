//! Kind versions that are no longer written. They are read for ever: each is a frozen
//! struct that is never edited, and a step that turns it into the next version.

use serde::{Deserialize, Serialize};

use super::contact::{Contact, ContactMode, ContactOutcome, NextStep, Spoken, Starter, Witness};
use crate::record::ids::Seq;
use crate::record::moment::Due;
use crate::record::person::Handle;
use crate::record::quantity::Count;
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
