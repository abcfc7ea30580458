//! Contacts with patients and about them, and general notes.

use super::declare::{CrossCheck, Findings, fields};
use crate::record::choice::choices;
use crate::record::ids::Seq;
use crate::record::moment::Due;
use crate::record::person::Handle;
use crate::record::quantity::Count;
use crate::record::text::{Line, Note};

choices! {
    /// How the contact was made.
    ContactMode {
        Video = "video", "video call", also "v";
        Phone = "phone", "phone call", also "p" | "call";
        Visit = "visit", "home visit";
        Message = "message", "message";
        HelpButton = "help", "help button", also "help-button";
    }
}

choices! {
    /// Who started it.
    Starter {
        Ward = "ward", "the ward";
        Patient = "patient", "the patient", also "pt";
        Carer = "carer", "a carer";
        Professional = "professional", "another professional";
    }
}

choices! {
    /// Whom the ward spoke with.
    Spoken {
        Patient = "patient", "the patient", also "pt";
        Carer = "carer", "a carer";
        Both = "both", "patient and carer";
        Professional = "professional", "another professional";
        Nobody = "nobody", "nobody", also "none";
    }
}

choices! {
    /// What came of it. No answer is a finding.
    ContactOutcome {
        Reached = "reached", "reached";
        NoAnswer = "no-answer", "no answer", also "na";
        Voicemail = "voicemail", "voicemail left";
        WrongNumber = "wrong-number", "wrong number or not available";
        NoEntry = "no-entry", "could not get in";
        Declined = "declined", "declined to talk";
    }
}

impl ContactOutcome {
    /// Nobody was reached: it ages like an overdue task until somebody is.
    #[must_use]
    pub const fn is_unreached(self) -> bool {
        matches!(
            self,
            ContactOutcome::NoAnswer
                | ContactOutcome::Voicemail
                | ContactOutcome::WrongNumber
                | ContactOutcome::NoEntry
        )
    }
}

impl Contact {
    /// Somebody who can say how the patient is was reached: the patient, a carer, or somebody
    /// not named. A call to a pharmacist says nothing about the patient.
    #[must_use]
    pub fn reached_the_home(&self) -> bool {
        !self.outcome.is_unreached()
            && !matches!(self.spoke_to, Some(Spoken::Professional | Spoken::Nobody))
    }
}

choices! {
    /// Who says how the patient is: "says fine" is not "looks fine".
    Witness {
        PatientSays = "patient", "the patient says", also "pt";
        CarerSays = "carer", "a carer says";
        Seen = "seen", "seen by the writer";
        SeenVideo = "seen-video", "seen on video by the writer";
        Reported = "reported", "another professional says";
    }
}

choices! {
    /// What is done next when nobody answers.
    NextStep {
        TryAgain = "try-again", "try again";
        NextOfKin = "next-of-kin", "next of kin called";
        Visit = "visit", "somebody is sent";
        WelfareCheck = "welfare-check", "police welfare check asked for";
        Ambulance = "999", "999 called", also "ambulance";
    }
}

fields! {
    /// A contact with the patient, or about the patient.
    Contact {
        /// How: video, phone, visit, message, help button.
        mode: ContactMode,
        /// What came of it: reached, no answer, voicemail.
        outcome: ContactOutcome,
        /// Whom the ward spoke with.
        spoke_to: Option<Spoken>,
        /// Name of the carer or professional.
        spoke_name: Option<Line>,
        /// Who started it.
        started_by: Option<Starter>,
        /// How the patient is.
        how: Option<Note>,
        /// Who says so: patient, carer, seen.
        said_by: Option<Witness>,
        /// Two identifiers checked.
        identified: Option<bool>,
        /// Worry without a number: whose and about what. It raises an alert.
        worry: Option<Line>,
        /// Advice given.
        advice: Option<Note>,
        /// What to watch for and whom to call then.
        safety_net: Option<Note>,
        /// Next contact due.
        next: Option<Due>,
        /// Who makes the next contact.
        next_by: Option<Handle>,
        /// The alert this answers.
        answers: Option<Seq>,
        /// Which attempt this was.
        attempt: Option<Count>,
        /// What is done as nobody was reached.
        then: Option<NextStep>,
    }
}

impl CrossCheck for Contact {
    fn cross_check(&self, findings: &mut Findings) {
        if self.outcome.is_unreached() {
            if self.then.is_none() {
                let steps = "try-again, next-of-kin, visit, welfare-check, 999";
                findings.refuse(
                    "then",
                    "nobody was reached, and no next step is given",
                    steps,
                );
            }
            if self.how.is_some() && self.spoke_to.is_none_or(|who| who == Spoken::Nobody) {
                findings.ask("how", "says how the patient is although nobody was reached");
            }
        }
        if self.outcome == ContactOutcome::Reached && self.spoke_to == Some(Spoken::Nobody) {
            let who = "patient, carer, both, professional; or an outcome such as no-answer";
            findings.refuse(
                "spoke_to",
                "somebody was reached, and nobody was spoken to",
                who,
            );
        }
        if self.then == Some(NextStep::TryAgain) && self.next.is_none() {
            findings.refuse("next", "to try again needs a time", "when, e.g. +15m");
        }
    }
}

choices! {
    /// What a note is about.
    NoteTopic {
        General = "general", "general";
        Family = "family", "family and carers";
        Safeguarding = "safeguarding", "safeguarding";
        Medicines = "medicines", "medicines";
        Mobility = "mobility", "mobility and falls";
        Nutrition = "nutrition", "food and drink";
        Skin = "skin", "skin";
        Incident = "incident", "incident";
        MultiDisciplinary = "mdt", "team review";
        WatchFor = "watch-for", "what to watch for and what to do then", also "watch";
        Question = "question", "a question nobody has answered yet";
        Answer = "answer", "answer to a question";
    }
}

fields! {
    /// A general nursing note.
    NursingNote {
        /// The note.
        text: Note,
        /// What it is about.
        topic: Option<NoteTopic>,
        /// Who says so.
        said_by: Option<Witness>,
    }
}

impl CrossCheck for NursingNote {
    fn cross_check(&self, _: &mut Findings) {}
}
