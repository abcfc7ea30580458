//! Coming onto the ward, what changes while on it, and leaving.

use super::declare::{CrossCheck, Findings, fields};
use crate::record::choice::choices;
use crate::record::moment::Day;
use crate::record::nhs_number::NhsNumber;
use crate::record::observed::{Oxygen, Spo2Scale};
use crate::record::person::{Allergies, Carer, Handle};
use crate::record::quantity::{
    PulsePerMin, RespRatePerMin, Spo2Percent, SystolicMmHg, WeightDeciKg,
};
use crate::record::text::{Line, Note, Secret};

choices! {
    /// Sex as the NHS Common User Interface guidance lists it.
    Sex {
        Male = "male", "Male", also "m";
        Female = "female", "Female", also "f";
        Other = "other", "Other";
        NotKnown = "not-known", "Not Known";
        NotSpecified = "not-specified", "Not Specified";
        Indeterminate = "indeterminate", "Indeterminate";
    }
}

choices! {
    /// Who sent the patient to the ward.
    ReferralSource {
        HospitalWard = "hospital-ward", "hospital ward (step down)", also "hospital";
        EmergencyDepartment = "emergency", "emergency department", also "ed";
        SameDayCare = "same-day", "same-day emergency care";
        GeneralPractice = "gp", "general practice (step up)";
        CommunityTeam = "community", "community team (step up)";
        Ambulance = "ambulance", "ambulance service (step up)";
        Other = "other", "another source";
    }
}

choices! {
    /// How far care is to go. It changes the response, never the score.
    Ceiling {
        Full = "full", "full escalation";
        HospitalWard = "hospital-ward", "to hospital, ward-level care";
        HomeOnly = "home-only", "treat at home, not for hospital";
        Comfort = "comfort", "comfort and symptom control";
        NotDecided = "not-decided", "not decided";
    }
}

choices! {
    /// Whether cardiopulmonary resuscitation is to be attempted.
    Resuscitation {
        Attempt = "attempt", "for attempted CPR";
        DoNotAttempt = "dnacpr", "DNACPR recorded";
        NotDiscussed = "not-discussed", "not discussed";
    }
}

choices! {
    /// Where the patient went.
    Destination {
        UsualCare = "usual-care", "home, to usual care", also "home";
        CommunityTeam = "community", "home, with a community team";
        Hospital = "hospital", "back to hospital (planned)";
        HospitalUrgent = "hospital-urgent", "to hospital (unplanned)";
        CareHome = "care-home", "care home";
        Hospice = "hospice", "hospice";
        DiedExpected = "died-expected", "died, expected";
        DiedUnexpected = "died-unexpected", "died, unexpected";
        SelfDischarge = "self", "own decision against advice";
    }
}

choices! {
    /// Whether a question was answered, and how.
    Stated {
        Yes = "yes", "yes", also "y";
        No = "no", "no", also "n";
        NotAsked = "not-asked", "not asked";
    }
}

fields! {
    /// A patient comes onto the ward.
    Admission {
        /// Family name.
        family: Line,
        /// Given name or names.
        given: Line,
        /// Title (Mr, Mrs, Ms, Mx, Dr).
        title: Option<Line>,
        /// What the patient likes to be called.
        known_as: Option<Line>,
        /// Date of birth.
        born: Day,
        /// Sex.
        sex: Sex,
        /// Current gender, where it differs from sex.
        gender: Option<Line>,
        /// NHS number.
        nhs: Option<NhsNumber>,
        /// Local number, where there is no NHS number.
        local_number: Option<Line>,
        /// Short place on the ward's list, e.g. T07.
        slot: Option<Line>,
        /// Area of the address, e.g. the village or street.
        area: Line,
        /// Patient's telephone.
        phone: Option<Line>,
        /// Carers: name, relation, how to reach them.
        carers: Vec<Carer>,
        /// Who sent the patient.
        source: ReferralSource,
        /// Why the patient is on the ward.
        reason: Line,
        /// Relevant history.
        background: Option<Note>,
        /// Treatment now.
        treatment: Option<Note>,
        /// Allergies: none known, not asked, or each one.
        allergies: Allergies,
        /// How far care is to go.
        ceiling: Ceiling,
        /// Whether CPR is to be attempted.
        resuscitation: Resuscitation,
        /// Where the paper form is kept in the house.
        form_kept: Option<Line>,
        /// What to do if the patient gets worse.
        plan: Option<Note>,
        /// Usual respiration rate.
        base_rr: Option<RespRatePerMin>,
        /// Usual oxygen saturation.
        base_spo2: Option<Spo2Percent>,
        /// Usual systolic blood pressure.
        base_sbp: Option<SystolicMmHg>,
        /// Usual pulse.
        base_hr: Option<PulsePerMin>,
        /// Weight on admission.
        base_weight: Option<WeightDeciKg>,
        /// Usual mental state, above all long-standing confusion.
        base_mind: Option<Line>,
        /// NEWS2 oxygen-saturation scale.
        scale: Spo2Scale,
        /// Who prescribed scale 2 and its target.
        scale_by: Option<Line>,
        /// Oxygen at home before admission.
        home_oxygen: Option<Oxygen>,
        /// Getting in: stairs, dog, parking, which door.
        access: Option<Note>,
        /// Key-safe code; shown only to staff who visit, never printed.
        key_safe: Option<Secret>,
        /// Lone-worker risk: what it is and what to do.
        lone_worker: Option<Line>,
        /// Interpreter or language needed.
        language: Option<Line>,
        /// Hearing, sight, speech: what to allow for.
        hearing: Option<Line>,
        /// Somebody smokes in a house with oxygen.
        smoker: Option<Stated>,
        /// Pregnant: NEWS2 is not for use in pregnancy.
        pregnant: Option<Stated>,
        /// High spinal cord injury: NEWS2 may be unreliable.
        spinal_injury: Option<Stated>,
        /// Consultant or GP responsible.
        consultant: Option<Line>,
        /// Expected discharge date.
        expected_discharge: Option<Day>,
    }
}

impl CrossCheck for Admission {
    fn cross_check(&self, findings: &mut Findings) {
        if self.nhs.is_none() && self.local_number.is_none() {
            findings.refuse(
                "nhs",
                "no number identifies the patient",
                "nhs, or local_number",
            );
        }
        check_scale(Some(self.scale), self.scale_by.as_ref(), findings);
        if self.home_oxygen.is_some_and(Oxygen::is_supplemental) && self.smoker.is_none() {
            findings.ask(
                "smoker",
                "oxygen in the house, and nobody has stated whether anyone smokes",
            );
        }
    }
}

fn check_scale(scale: Option<Spo2Scale>, by: Option<&Line>, findings: &mut Findings) {
    if scale == Some(Spo2Scale::Scale2) && by.is_none() {
        findings.refuse(
            "scale_by",
            "scale 2 needs somebody who prescribed it",
            "who prescribed it and the target, e.g. Dr Amin, 88 to 92 %",
        );
    }
}

fields! {
    /// Something about the patient or the plan changed. Only what is given changes.
    EpisodeChange {
        /// Why it changes.
        why: Line,
        /// Short place on the ward's list.
        slot: Option<Line>,
        /// Area of the address.
        area: Option<Line>,
        /// Patient's telephone.
        phone: Option<Line>,
        /// Carers, replacing the list.
        carers: Vec<Carer>,
        /// Reason for being on the ward.
        reason: Option<Line>,
        /// Relevant history.
        background: Option<Note>,
        /// Treatment now.
        treatment: Option<Note>,
        /// Allergies.
        allergies: Option<Allergies>,
        /// How far care is to go.
        ceiling: Option<Ceiling>,
        /// Whether CPR is to be attempted.
        resuscitation: Option<Resuscitation>,
        /// Where the paper form is kept in the house.
        form_kept: Option<Line>,
        /// What to do if the patient gets worse.
        plan: Option<Note>,
        /// Usual mental state.
        base_mind: Option<Line>,
        /// NEWS2 oxygen-saturation scale.
        scale: Option<Spo2Scale>,
        /// Who prescribed scale 2 and its target.
        scale_by: Option<Line>,
        /// Getting in.
        access: Option<Note>,
        /// Key-safe code; shown only to staff who visit, never printed.
        key_safe: Option<Secret>,
        /// Lone-worker risk.
        lone_worker: Option<Line>,
        /// Interpreter or language needed.
        language: Option<Line>,
        /// Hearing, sight, speech.
        hearing: Option<Line>,
        /// Somebody smokes in a house with oxygen.
        smoker: Option<Stated>,
        /// Consultant or GP responsible.
        consultant: Option<Line>,
        /// Expected discharge date.
        expected_discharge: Option<Day>,
    }
}

impl CrossCheck for EpisodeChange {
    fn cross_check(&self, findings: &mut Findings) {
        check_scale(self.scale, self.scale_by.as_ref(), findings);
    }
}

fields! {
    /// A patient leaves the ward.
    Discharge {
        /// Where to.
        to: Destination,
        /// Summary for whoever takes over.
        summary: Note,
        /// What was arranged: follow-up, results to chase and by whom.
        arranged: Option<Note>,
        /// Who was told: patient, carer, GP.
        told: Option<Line>,
    }
}

impl CrossCheck for Discharge {
    fn cross_check(&self, _: &mut Findings) {}
}

choices! {
    /// What was decided about consent.
    ConsentDecision {
        Given = "given", "given";
        Declined = "declined", "declined";
        Withdrawn = "withdrawn", "withdrawn";
    }
}

choices! {
    /// Who decided.
    Decider {
        Patient = "patient", "the patient";
        Attorney = "attorney", "attorney for health and welfare";
        BestInterests = "best-interests", "best-interests decision";
        Other = "other", "somebody else (say who)";
    }
}

fields! {
    /// What the patient agreed to or did not.
    Consent {
        /// What for: monitoring, photographs, sharing with a carer.
        about: Line,
        /// The decision.
        decision: ConsentDecision,
        /// Who decided.
        by: Decider,
        /// Name of whoever decided, if not the patient.
        by_name: Option<Line>,
        /// Any concern about capacity, in words.
        capacity_concern: Option<Note>,
        /// What was explained and asked.
        detail: Option<Note>,
    }
}

impl CrossCheck for Consent {
    fn cross_check(&self, findings: &mut Findings) {
        if self.by != Decider::Patient && self.by_name.is_none() {
            findings.refuse(
                "by_name",
                "somebody other than the patient decided",
                "their name",
            );
        }
    }
}

fields! {
    /// Who looks after which patient on a shift.
    Allocation {
        /// The member of staff.
        to: Handle,
        /// Which shift, by the number of its entry.
        shift: Option<crate::record::ids::Seq>,
    }
}

impl CrossCheck for Allocation {
    fn cross_check(&self, _: &mut Findings) {}
}
