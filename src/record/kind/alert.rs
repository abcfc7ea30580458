//! Alerts and escalations, and the steps of their lives. Every step has a person and a time.

use super::declare::{CrossCheck, Findings, fields};
use crate::record::choice::choices;
use crate::record::ids::Seq;
use crate::record::moment::Due;
use crate::record::person::Handle;
use crate::record::text::{Line, Note};

choices! {
    /// What raised an alert.
    AlertSource {
        HelpButton = "help-button", "help button", also "help";
        Threshold = "threshold", "monitoring threshold";
        Missing = "missing", "missing readings";
        NurseConcern = "nurse-concern", "a nurse is worried", also "nurse";
        CarerConcern = "carer-concern", "a carer is worried", also "carer";
        PatientConcern = "patient-concern", "the patient is worried", also "patient";
        Result = "result", "a result";
        Kit = "kit", "monitoring kit";
        NoContact = "no-contact", "patient not reached";
        Other = "other", "something else";
    }
}

choices! {
    /// How soon somebody must act.
    Severity {
        Critical = "critical", "critical: now";
        Urgent = "urgent", "urgent: within the hour";
        Soon = "soon", "soon: this shift";
    }
}

fields! {
    /// Something somebody must look at.
    Alert {
        /// What raised it.
        source: AlertSource,
        /// What it is.
        what: Line,
        /// How soon somebody must act.
        severity: Severity,
        /// More about it.
        detail: Option<Note>,
        /// The entry it came from.
        from: Option<Seq>,
    }
}

impl CrossCheck for Alert {
    fn cross_check(&self, _: &mut Findings) {}
}

choices! {
    /// One step in an alert's life.
    AlertMove {
        Seen = "seen", "seen";
        Taken = "taken", "taken", also "take";
        Actioned = "actioned", "acted on", also "acted";
        Escalated = "escalated", "escalated";
        HandedOver = "handed-over", "handed over", also "hand-over";
        Released = "released", "given back";
        Closed = "closed", "closed", also "close";
    }
}

choices! {
    /// How an alert ended.
    AlertOutcome {
        Resolved = "resolved", "resolved";
        Mistake = "mistake", "raised by mistake", also "false-alarm";
        Expected = "expected", "expected for this patient";
        KitFault = "kit-fault", "fault in the kit";
        ToHospital = "to-hospital", "patient went to hospital";
        Duplicate = "duplicate", "same as another alert";
    }
}

fields! {
    /// One step in an alert's life.
    AlertStep {
        /// Which alert.
        alert: Seq,
        /// What was done.
        step: AlertMove,
        /// How it ended, when closing.
        outcome: Option<AlertOutcome>,
        /// What was found and done.
        what: Option<Note>,
        /// Whom it was handed to.
        to: Option<Handle>,
        /// Take it although a colleague has it.
        take_over: Option<bool>,
    }
}

impl CrossCheck for AlertStep {
    fn cross_check(&self, findings: &mut Findings) {
        if self.step == AlertMove::Closed && self.outcome.is_none() {
            let codes: Vec<&str> = AlertOutcome::CHOICES.iter().map(|c| c.code).collect();
            findings.refuse(
                "outcome",
                "a closed alert needs its outcome",
                codes.join(", "),
            );
        }
        if self.step == AlertMove::HandedOver && self.to.is_none() {
            findings.refuse(
                "to",
                "nobody is named to take it",
                "a member of staff by handle",
            );
        }
        if self.step == AlertMove::Actioned && self.what.is_none() {
            findings.refuse("what", "is missing", "what was found and done");
        }
    }
}

choices! {
    /// How somebody was called.
    CallMode {
        Phone = "phone", "phone";
        Video = "video", "video";
        Bleep = "bleep", "bleep or pager";
        InPerson = "in-person", "in person";
        Message = "message", "message";
        Emergency = "999", "999";
    }
}

fields! {
    /// Asking somebody more senior for help, as SBAR. Open until somebody answers.
    Escalation {
        /// Situation: what is happening now.
        situation: Note,
        /// Background: why on the ward, history, treatment, allergies, plan.
        background: Note,
        /// Assessment: what you think the problem is.
        assessment: Note,
        /// Recommendation: what you need, from whom, by when.
        recommendation: Note,
        /// Role of whom you called.
        to_role: Line,
        /// Name of whom you called.
        to_name: Option<Line>,
        /// How.
        how: CallMode,
        /// The alert or review it is about.
        about: Option<Seq>,
        /// By when an answer is needed.
        answer_by: Option<Due>,
        /// Who is next when nobody answers.
        next_in_chain: Option<Line>,
    }
}

impl CrossCheck for Escalation {
    fn cross_check(&self, findings: &mut Findings) {
        if self.answer_by.is_none() {
            findings.ask("answer_by", "no time is given by which an answer is needed");
        }
    }
}

choices! {
    /// One step in an escalation's life.
    EscalationMove {
        Answered = "answered", "answered";
        NoAnswer = "no-answer", "no answer";
        NextCalled = "next-called", "next in the chain called";
        Reviewed = "reviewed", "reviewed as agreed";
        Closed = "closed", "closed", also "close";
    }
}

fields! {
    /// One step in an escalation's life.
    EscalationStep {
        /// Which escalation.
        escalation: Seq,
        /// What happened.
        step: EscalationMove,
        /// Name and role of whoever answered or was called next.
        by: Option<Line>,
        /// What they said.
        response: Option<Note>,
        /// The agreed plan.
        plan: Option<Note>,
        /// The plan was read back.
        read_back: Option<bool>,
        /// When it will be looked at again.
        review_at: Option<Due>,
        /// How it ended, when closing.
        outcome: Option<Note>,
    }
}

impl CrossCheck for EscalationStep {
    fn cross_check(&self, findings: &mut Findings) {
        let named = self.by.is_some();
        match self.step {
            EscalationMove::Answered => {
                if !named {
                    findings.refuse("by", "nobody is named who answered", "name and role");
                }
                if self.plan.is_none() {
                    findings.refuse("plan", "is missing", "the agreed plan");
                }
                if self.read_back != Some(true) {
                    findings.ask("read_back", "the plan was not read back");
                }
            }
            EscalationMove::NextCalled if !named => {
                findings.refuse("by", "nobody is named who was called", "name and role");
            }
            EscalationMove::Closed if self.outcome.is_none() => {
                findings.refuse("outcome", "is missing", "how it ended");
            }
            _ => {}
        }
    }
}
