//! Medicines and equipment on their way, doses taken, lines, and monitoring kit.

use super::declare::{CrossCheck, Findings, fields};
use crate::record::choice::choices;
use crate::record::ids::Seq;
use crate::record::moment::{Day, Due, Past};
use crate::record::quantity::Count;
use crate::record::text::{Line, Note};

choices! {
    /// What kind of supply.
    SupplyType {
        Medicine = "medicine", "medicine";
        ControlledDrug = "controlled-drug", "controlled drug", also "cd";
        Equipment = "equipment", "equipment";
        Dressings = "dressings", "dressings";
    }
}

fields! {
    /// Something that must reach the patient.
    Supply {
        /// What: name, form, strength, quantity.
        item: Line,
        /// What kind.
        kind: SupplyType,
        /// When the next dose is due that depends on it.
        dose_due: Option<Due>,
        /// When it should be there.
        needed_by: Option<Due>,
        /// Kept at 2 to 8 °C on the way.
        cold_chain: Option<bool>,
        /// Number of the sealed container.
        seal: Option<Line>,
        /// Instructions for delivery.
        instructions: Option<Line>,
    }
}

impl CrossCheck for Supply {
    fn cross_check(&self, findings: &mut Findings) {
        let medicine = matches!(self.kind, SupplyType::Medicine | SupplyType::ControlledDrug);
        if medicine && self.dose_due.is_none() {
            findings.ask(
                "dose_due",
                "nothing says which dose depends on this delivery",
            );
        }
    }
}

choices! {
    /// Where a supply is.
    SupplyMove {
        Prepared = "prepared", "prepared";
        Checked = "checked", "checked";
        Collected = "collected", "collected";
        WithCourier = "with-courier", "handed to courier", also "courier" | "in-transit";
        Delivered = "delivered", "delivered";
        WrongAddress = "wrong-address", "taken to the wrong address";
        NoAnswer = "no-answer", "no answer at the door";
        Refused = "refused", "refused";
        Returned = "returned", "returned";
        Quarantined = "quarantined", "put aside, not to be used";
        Lost = "lost", "lost";
        Destroyed = "destroyed", "destroyed";
    }
}

impl SupplyMove {
    /// Nothing more will happen to it.
    #[must_use]
    pub const fn is_final(self) -> bool {
        matches!(self, SupplyMove::Delivered | SupplyMove::Destroyed)
    }

    /// The patient does not have it although it set out.
    #[must_use]
    pub const fn has_failed(self) -> bool {
        matches!(
            self,
            SupplyMove::WrongAddress
                | SupplyMove::NoAnswer
                | SupplyMove::Refused
                | SupplyMove::Returned
                | SupplyMove::Quarantined
                | SupplyMove::Lost
        )
    }
}

choices! {
    /// How identity was checked at the door.
    IdentityCheck {
        TwoIdentifiers = "two-identifiers", "two identifiers, asked openly", also "two";
        Carer = "carer", "handed to a named carer";
        NotChecked = "not-checked", "not checked";
    }
}

fields! {
    /// What happened to a supply on its way.
    SupplyStep {
        /// Which supply.
        supply: Seq,
        /// What happened.
        step: SupplyMove,
        /// Who has it now, or who took it in.
        holder: Option<Line>,
        /// How identity was checked.
        identity: Option<IdentityCheck>,
        /// Which dose will be missed, and when.
        dose_missed: Option<Line>,
        /// Condition, temperature, seal.
        condition: Option<Line>,
        /// More about it.
        detail: Option<Note>,
        /// No longer needed: closes it without delivery, with the reason in detail.
        no_longer_needed: Option<bool>,
    }
}

impl CrossCheck for SupplyStep {
    fn cross_check(&self, findings: &mut Findings) {
        if self.step == SupplyMove::Delivered {
            if self.identity.is_none() {
                let checks = "two-identifiers, carer, not-checked";
                findings.refuse("identity", "a delivery needs its identity check", checks);
            }
            if self.identity == Some(IdentityCheck::NotChecked) {
                findings.ask("identity", "delivered without an identity check");
            }
        }
        if self.step.has_failed() && self.dose_missed.is_none() {
            findings.ask("dose_missed", "nothing says which dose will be missed");
        }
        if self.no_longer_needed == Some(true) && self.detail.is_none() {
            findings.refuse("detail", "is missing", "why it is no longer needed");
        }
    }
}

choices! {
    /// What came of a dose.
    DoseOutcome {
        Taken = "taken", "taken";
        Given = "given", "given by staff";
        Missed = "missed", "missed";
        Refused = "refused", "refused";
        Vomited = "vomited", "taken and vomited";
        Unknown = "unknown", "not known whether it was taken";
    }
}

fields! {
    /// A dose taken or not: delivered is not taken.
    Dose {
        /// Medicine, dose and route.
        medicine: Line,
        /// What came of it.
        outcome: DoseOutcome,
        /// When the last dose was taken.
        last_taken: Option<Past>,
        /// When the next is due.
        next_due: Option<Due>,
        /// Who says so.
        said_by: Option<super::contact::Witness>,
        /// More about it.
        detail: Option<Note>,
    }
}

impl CrossCheck for Dose {
    fn cross_check(&self, _: &mut Findings) {}
}

choices! {
    /// A line or device in the body.
    LineType {
        PeripheralCannula = "cannula", "peripheral cannula";
        Midline = "midline", "midline";
        Picc = "picc", "PICC";
        Central = "central", "tunnelled or central line";
        UrinaryCatheter = "urinary-catheter", "urinary catheter", also "catheter";
        FeedingTube = "feeding-tube", "feeding tube";
        SubcutaneousPump = "pump", "subcutaneous infusion pump";
        Drain = "drain", "drain";
    }
}

fields! {
    /// A line or device in the patient.
    BodyLine {
        /// What it is.
        kind: LineType,
        /// Where.
        site: Line,
        /// Day it was put in.
        inserted: Day,
        /// Who can flush or change it at night.
        night_cover: Option<Line>,
        /// Next care due.
        next_care: Option<Due>,
    }
}

impl CrossCheck for BodyLine {
    fn cross_check(&self, _: &mut Findings) {}
}

choices! {
    /// Care of a line.
    LineMove {
        Checked = "checked", "checked";
        Flushed = "flushed", "flushed";
        Resited = "resited", "resited";
        Removed = "removed", "removed";
        Blocked = "blocked", "blocked";
    }
}

fields! {
    /// Care of a line or device.
    LineCare {
        /// Which line.
        line: Seq,
        /// What was done.
        step: LineMove,
        /// Site score, 0 (healthy) to 5.
        site_score: Option<Count>,
        /// Next care due.
        next_care: Option<Due>,
        /// What was seen.
        detail: Option<Note>,
    }
}

impl CrossCheck for LineCare {
    fn cross_check(&self, findings: &mut Findings) {
        if self.site_score.is_some_and(|score| score.0 > 5) {
            findings.refuse("site_score", "is above 5", "0 (healthy) to 5");
        }
        if self
            .site_score
            .is_some_and(|score| (2..=5).contains(&score.0))
            && self.step == LineMove::Checked
        {
            findings.ask(
                "site_score",
                "a site score of 2 or more, and the line stays in",
            );
        }
    }
}

fields! {
    /// Monitoring kit issued to the patient.
    Kit {
        /// What.
        item: Line,
        /// Serial or asset number.
        serial: Line,
        /// Set up and working.
        working: Option<bool>,
        /// Charged.
        charged: Option<bool>,
        /// Patient or carer shown how, and showed it back.
        taught: Option<bool>,
    }
}

impl CrossCheck for Kit {
    fn cross_check(&self, _: &mut Findings) {}
}

choices! {
    /// What happened to a piece of kit.
    KitMove {
        Working = "working", "set up and working";
        Charged = "charged", "charged";
        FlatBattery = "flat-battery", "flat battery", also "flat";
        OutOfRange = "out-of-range", "out of range";
        Fault = "fault", "fault";
        Swapped = "swapped", "swapped";
        Returned = "returned", "returned";
    }
}

impl KitMove {
    /// While it lasts nothing is monitored.
    #[must_use]
    pub const fn is_silent(self) -> bool {
        matches!(
            self,
            KitMove::FlatBattery | KitMove::OutOfRange | KitMove::Fault
        )
    }
}

fields! {
    /// What happened to a piece of kit.
    KitStep {
        /// Which kit.
        kit: Seq,
        /// What happened.
        step: KitMove,
        /// New serial number, when swapped.
        serial: Option<Line>,
        /// More about it.
        detail: Option<Note>,
    }
}

impl CrossCheck for KitStep {
    fn cross_check(&self, findings: &mut Findings) {
        if self.step == KitMove::Swapped && self.serial.is_none() {
            findings.refuse("serial", "is missing", "the new serial number");
        }
    }
}
