//! Shifts, and handing the ward from one to the next.

use super::declare::{CrossCheck, Findings, fields};
use crate::record::choice::choices;
use crate::record::ids::{Digest, EntryHash, Seq};
use crate::record::moment::Due;
use crate::record::person::Handle;
use crate::record::text::{Line, Note};
use crate::record::time::Timestamp;

fields! {
    /// Who is on, from when to when.
    Shift {
        /// Its name: Night, Early, Late, Long day.
        name: Line,
        /// When it begins.
        from: Due,
        /// When it ends.
        until: Due,
        /// Who is on.
        staff: Vec<Handle>,
        /// Staffing problems.
        detail: Option<Note>,
    }
}

impl CrossCheck for Shift {
    fn cross_check(&self, findings: &mut Findings) {
        if self.until <= self.from {
            findings.refuse(
                "until",
                "the shift ends before it begins",
                "a time after from",
            );
        }
        if self.staff.is_empty() {
            findings.ask("staff", "nobody is on this shift");
        }
    }
}

/// The sheet that was handed over, named so that it can be drawn again to the byte.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct SheetName {
    /// The moment as of which it was drawn.
    pub as_of: Timestamp,
    /// Newest entry it was drawn from.
    pub head_seq: Seq,
    /// That entry's hash.
    pub head_hash: EntryHash,
    /// BLAKE3 of the sheet's data as JSON.
    pub digest: Digest,
}

fields! {
    /// A handover sheet was prepared.
    Handover {
        /// The shift that gives, in words.
        from_shift: Line,
        /// The shift that takes, in words.
        to_shift: Line,
        /// Who receives.
        receiver: Option<Handle>,
        /// What the giver wants to say first.
        opening: Option<Note>,
    }
    seen {
        /// The sheet. Filled in by the program.
        sheet: Option<SheetName>,
    }
}

impl CrossCheck for Handover {
    fn cross_check(&self, _: &mut Findings) {}
}

choices! {
    /// One step of a handover.
    HandoverMove {
        Given = "given", "given";
        Query = "query", "query about a patient", also "ask";
        Answer = "answer", "query answered";
        Accepted = "accepted", "accepted", also "accept";
        Declined = "declined", "not accepted", also "decline";
    }
}

fields! {
    /// One step of a handover. A query or an answer names its patient; accepting with a
    /// patient named accepts or declines that patient alone.
    HandoverStep {
        /// Which handover.
        handover: Seq,
        /// What happened.
        step: HandoverMove,
        /// The question, the answer, or why it is not accepted.
        text: Option<Note>,
        /// The query an answer belongs to.
        query: Option<Seq>,
    }
    seen {
        /// Digest of the sheet that was accepted. Filled in by the program.
        digest: Option<Digest>,
    }
}

impl CrossCheck for HandoverStep {
    fn cross_check(&self, findings: &mut Findings) {
        let needs_text = match self.step {
            HandoverMove::Query => Some("the question"),
            HandoverMove::Answer => Some("the answer"),
            HandoverMove::Declined => Some("why it is not accepted"),
            HandoverMove::Given | HandoverMove::Accepted => None,
        };
        if let (Some(wanted), None) = (needs_text, &self.text) {
            findings.refuse("text", "is missing", wanted);
        }
        if self.step == HandoverMove::Answer && self.query.is_none() {
            findings.refuse("query", "is missing", "the number of the query, e.g. #123");
        }
    }
}
