//! The kinds of entry. One line each in the list below gives a kind its number (stored in
//! every frame, never reused), its newest version, the word people type and what it is about.

pub mod alert;
pub mod contact;
pub mod declare;
pub mod episode;
pub mod observation;
pub mod old;
pub mod proof;
pub mod sample;
pub mod shift;
pub mod supply;
pub mod task;
pub mod ward;
pub mod wound;

use serde::{Deserialize, Serialize};

use super::codec::{self, DecodeError, EncodeError};
use super::field::{FieldReader, FieldSpec, ShowContext};
use declare::{CrossCheck, Fields, Findings, Shown};

/// Whether an entry of a kind is about one patient.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Subject {
    /// Always about one patient.
    Patient,
    /// About one patient or about the ward.
    Either,
    /// About the ward.
    Ward,
}

macro_rules! kinds {
    ($($kind:ident($ty:ty) = $code:literal, v $version:literal $(, before [$($old:literal => $oldty:ty),+])?,
       $name:literal, $title:literal, $subject:ident, $help:literal;)+) => {
        /// A kind of entry.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Kind { $(#[doc = $help] $kind),+ }

        /// The fields of an entry, in the newest version of its kind.
        #[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
        #[serde(untagged)]
        pub enum Body { $(#[doc = $help] $kind($ty)),+ }

        $(impl From<$ty> for Body {
            fn from(fields: $ty) -> Body {
                Body::$kind(fields)
            }
        })+

        impl Kind {
            /// Every kind, by number.
            pub const ALL: &'static [Kind] = &[$(Kind::$kind),+];

            /// The number in the frame.
            #[must_use]
            pub const fn code(self) -> u16 {
                match self { $(Kind::$kind => $code),+ }
            }
            /// The version written now.
            #[must_use]
            pub const fn version(self) -> u8 {
                match self { $(Kind::$kind => $version),+ }
            }
            /// The word people type.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self { $(Kind::$kind => $name),+ }
            }
            /// What it is called on a page.
            #[must_use]
            pub const fn title(self) -> &'static str {
                match self { $(Kind::$kind => $title),+ }
            }
            /// One sentence on when to use it.
            #[must_use]
            pub const fn help(self) -> &'static str {
                match self { $(Kind::$kind => $help),+ }
            }
            /// Whether it is about a patient.
            #[must_use]
            pub const fn subject(self) -> Subject {
                match self { $(Kind::$kind => Subject::$subject),+ }
            }
            /// By the number in a frame.
            #[must_use]
            pub const fn from_code(code: u16) -> Option<Kind> {
                match code { $($code => Some(Kind::$kind),)+ _ => None }
            }
            /// By the word people type.
            #[must_use]
            pub fn from_name(name: &str) -> Option<Kind> {
                match name { $($name => Some(Kind::$kind),)+ _ => None }
            }
            /// Its fields, in the order a form asks for them.
            #[must_use]
            pub fn specs(self) -> Vec<FieldSpec> {
                match self { $(Kind::$kind => <$ty>::specs()),+ }
            }
            /// Reads the fields of an entry of this kind.
            pub fn read(self, reader: &mut FieldReader<'_>) -> Option<Body> {
                match self { $(Kind::$kind => <$ty>::read(reader).map(Body::$kind)),+ }
            }
            /// Every version that can be read, oldest first.
            #[must_use]
            pub const fn versions(self) -> &'static [u8] {
                match self { $(Kind::$kind => &[$($($old,)+)? $version]),+ }
            }
        }

        impl Body {
            /// Which kind it is.
            #[must_use]
            pub const fn kind(&self) -> Kind {
                match self { $(Body::$kind(_) => Kind::$kind),+ }
            }
            /// The stated fields in words.
            #[must_use]
            pub fn show(&self, cx: &ShowContext) -> Vec<Shown> {
                match self { $(Body::$kind(fields) => fields.show(cx)),+ }
            }
            /// The stated fields as they would be typed.
            #[must_use]
            pub fn typed(&self, cx: &ShowContext) -> Vec<(String, String)> {
                match self { $(Body::$kind(fields) => fields.typed(cx)),+ }
            }
            /// Checks the fields against each other.
            pub fn cross_check(&self, findings: &mut Findings) {
                match self { $(Body::$kind(fields) => fields.cross_check(findings)),+ }
            }
            /// Appends the fields, encoded, to a payload.
            pub(super) fn encode(&self, payload: &mut Vec<u8>) -> Result<(), EncodeError> {
                match self { $(Body::$kind(fields) => codec::put(fields, payload)),+ }
            }
            /// Reads the fields of any version, brought up to the newest.
            pub(super) fn decode(kind: Kind, version: u8, bytes: &[u8]) -> Result<Body, DecodeError> {
                match (kind, version) {
                    $((Kind::$kind, $version) => codec::take_all::<$ty>(bytes).map(Body::$kind),
                      $($((Kind::$kind, $old) => {
                          codec::take_all::<$oldty>(bytes).map(|old| Body::$kind(old.into()))
                      })+)?)+
                    _ => Err(DecodeError::UnknownVersion { kind: kind.name(), version }),
                }
            }
        }
    };
}

kinds! {
    WardOpened(ward::WardOpened) = 1, v 1, "ward", "Ward opened", Ward,
        "The first entry of a journal: which ward it is.";
    StaffEnrolled(ward::StaffEnrolled) = 2, v 2, before [1 => old::StaffEnrolledV1], "staff", "Staff enrolled", Ward,
        "Somebody joins the staff.";
    StaffChanged(ward::StaffChanged) = 3, v 2, before [1 => old::StaffChangedV1], "staff-change", "Staff change", Ward,
        "Somebody is suspended or reinstated, or gets a new role or key.";
    PolicyChanged(ward::PolicyChanged) = 4, v 1, "policy", "Policy change", Ward,
        "A ward policy value changes.";
    Access(ward::Access) = 5, v 1, "access", "Record access", Either,
        "Somebody opened, printed or exported a record.";
    DamageAccepted(ward::DamageAccepted) = 6, v 1, "damage", "Damage accepted", Ward,
        "A keeper read a damage report and lets writing go on.";
    Amendment(ward::Amendment) = 7, v 1, "amendment", "Amendment", Either,
        "Corrects or withdraws an earlier entry.";
    WardKey(proof::WardKey) = 8, v 1, "ward-key", "Ward's signing key", Ward,
        "The ward's own key, which signs checkpoints, is made or replaced.";
    Checkpoint(proof::Checkpoint) = 9, v 1, "checkpoint", "Checkpoint", Ward,
        "States where the journal stands and what each patient has in it.";
    Admission(episode::Admission) = 10, v 1, "admission", "Admission", Patient,
        "A patient comes onto the ward.";
    EpisodeChange(episode::EpisodeChange) = 11, v 1, "change", "Change of plan or details", Patient,
        "Something about the patient or the plan changed.";
    Discharge(episode::Discharge) = 12, v 1, "discharge", "Discharge", Patient,
        "A patient leaves the ward.";
    Consent(episode::Consent) = 13, v 1, "consent", "Consent", Patient,
        "What the patient agreed to or did not.";
    Allocation(episode::Allocation) = 14, v 1, "allocation", "Allocation", Patient,
        "Who looks after this patient on a shift.";
    RecordDestroyed(ward::RecordDestroyed) = 15, v 1, "destroy", "Record destroyed", Patient,
        "Two people destroyed the keys to a sealed record.";
    Approval(ward::Approval) = 16, v 1, "approval", "Approval", Either,
        "The first of two people approved of what takes two.";
    RecoveryKey(ward::RecoveryKey) = 17, v 1, "recovery", "Recovery key", Ward,
        "From here on records are sealed; this key recovers them.";
    Contact(contact::Contact) = 20, v 2, before [1 => old::ContactV1], "contact", "Contact", Patient,
        "A call, visit or message with the patient or about the patient.";
    Note(contact::NursingNote) = 21, v 1, "note", "Note", Either,
        "A general nursing note.";
    Observation(observation::Observation) = 22, v 2, before [1 => old::ObservationV1], "obs", "Observations", Patient,
        "A set of readings, reviewed.";
    Alert(alert::Alert) = 30, v 1, "alert", "Alert", Either,
        "Something somebody must look at.";
    AlertStep(alert::AlertStep) = 31, v 1, "alert-step", "Alert step", Either,
        "An alert was seen, taken, acted on, handed over or closed.";
    Escalation(alert::Escalation) = 32, v 1, "escalation", "Escalation", Patient,
        "Somebody more senior was asked for help, as SBAR.";
    EscalationStep(alert::EscalationStep) = 33, v 1, "escalation-step", "Escalation step", Patient,
        "An escalation was answered, went unanswered or was closed.";
    Wound(wound::WoundAssessment) = 40, v 1, "wound", "Wound assessment", Patient,
        "A wound was looked at and measured.";
    Dressing(wound::Dressing) = 41, v 1, "dressing", "Dressing", Patient,
        "A dressing was changed without a full assessment.";
    Task(task::Task) = 50, v 1, "task", "Task", Either,
        "Something to be done by a time.";
    TaskStep(task::TaskStep) = 51, v 1, "task-step", "Task step", Either,
        "A task was done, not done, put off, given to another or cancelled.";
    Sample(sample::Sample) = 60, v 1, "sample", "Sample", Patient,
        "A sample was taken.";
    SampleStep(sample::SampleStep) = 61, v 1, "sample-step", "Sample step", Patient,
        "A sample was sent, arrived, was rejected or lost.";
    LabResult(sample::LabResult) = 62, v 1, "result", "Result", Patient,
        "The laboratory reported a result.";
    ResultReview(sample::ResultReview) = 63, v 1, "result-review", "Result review", Patient,
        "Somebody looked at a result and decided.";
    Supply(supply::Supply) = 70, v 1, "supply", "Supply", Patient,
        "Medicine or equipment is to reach the patient.";
    SupplyStep(supply::SupplyStep) = 71, v 1, "supply-step", "Supply step", Patient,
        "A supply was prepared, handed over, delivered, returned or lost.";
    Dose(supply::Dose) = 72, v 1, "dose", "Dose", Patient,
        "A dose was taken, given, missed or refused.";
    BodyLine(supply::BodyLine) = 73, v 1, "line", "Line or device", Patient,
        "A line or device is in the patient.";
    LineCare(supply::LineCare) = 74, v 1, "line-care", "Line care", Patient,
        "A line or device was checked, flushed, resited or removed.";
    Kit(supply::Kit) = 75, v 1, "kit", "Kit issued", Patient,
        "Monitoring kit was issued.";
    KitStep(supply::KitStep) = 76, v 1, "kit-step", "Kit step", Patient,
        "Kit was set up, charged, swapped, returned, or failed.";
    Shift(shift::Shift) = 80, v 1, "shift", "Shift", Ward,
        "Who is on, from when to when.";
    Handover(shift::Handover) = 81, v 1, "handover", "Handover prepared", Ward,
        "A handover sheet was prepared.";
    HandoverStep(shift::HandoverStep) = 82, v 1, "handover-step", "Handover step", Either,
        "A handover was given, queried, answered, accepted or not.";
}

impl Kind {
    /// Kinds that only the program writes as part of another act; nobody logs them by hand.
    #[must_use]
    pub const fn is_made_by_program(self) -> bool {
        matches!(
            self,
            Kind::WardOpened
                | Kind::StaffEnrolled
                | Kind::StaffChanged
                | Kind::Access
                | Kind::DamageAccepted
                | Kind::Amendment
                | Kind::WardKey
                | Kind::Checkpoint
                | Kind::RecordDestroyed
                | Kind::Approval
                | Kind::RecoveryKey
                | Kind::Handover
        )
    }

    /// Whether its payload is sealed in a sealed journal: all but what a verifier judges rights by, and
    /// what people write who read no records.
    #[must_use]
    pub const fn is_sealed(self) -> bool {
        !matches!(
            self,
            Kind::WardOpened
                | Kind::StaffEnrolled
                | Kind::StaffChanged
                | Kind::PolicyChanged
                | Kind::Access
                | Kind::DamageAccepted
                | Kind::WardKey
                | Kind::Checkpoint
                | Kind::RecordDestroyed
                | Kind::Approval
                | Kind::RecoveryKey
        )
    }
}

impl std::fmt::Display for Kind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.title())
    }
}
