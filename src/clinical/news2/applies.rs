//! What a reader must know before trusting a score: whether it was made for this person,
//! whether its inputs are what they seem, and whether it is still about now.

use super::Set;
use crate::record::observed::Spo2Scale;
use crate::record::time::{Span, Timestamp};

/// What is known about the person and the set, beyond its values. `None` is "not known".
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Context {
    /// Whole years of age when the set was taken.
    pub age_years: Option<u32>,
    /// Pregnant, if asked.
    pub pregnant: Option<bool>,
    /// Tetraplegia or high paraplegia, if asked.
    pub high_spinal_injury: Option<bool>,
    /// Whether somebody competent is on record as having prescribed scale 2.
    pub scale_2_prescribed: bool,
    /// The only temperature to hand came from a wearable on the skin.
    pub skin_temperature_only: bool,
    /// When the set was taken.
    pub taken_at: Timestamp,
    /// The moment of reading.
    pub as_of: Timestamp,
    /// How old a set may be before it says nothing about now; policy.
    pub stale_after: Span,
}

/// A reason to doubt a score. Shown beside it; the arithmetic stays as published.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Doubt {
    /// Under 16: outside the published use.
    Under16,
    /// Pregnant: outside the published use.
    Pregnant,
    /// Spinal injury: may be unreliable.
    SpinalInjury,
    /// Age not known: whether it applies is not known.
    AgeUnknown,
    /// Scale 2 in use and no prescriber on record.
    Scale2WithoutPrescriber,
    /// A skin temperature is there and was not scored.
    SkinTemperatureNotScored,
    /// The set is older than the policy's limit.
    Stale,
}

impl Doubt {
    /// As people read it.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Doubt::Under16 => "NEWS2 is not for anybody under 16",
            Doubt::Pregnant => "NEWS2 is not for use in pregnancy",
            Doubt::SpinalInjury => "NEWS2 may be unreliable after spinal cord injury",
            Doubt::AgeUnknown => "age not recorded: NEWS2 is for people of 16 and over",
            Doubt::Scale2WithoutPrescriber => {
                "SpO2 scale 2 is in use but nobody is recorded as having prescribed it"
            }
            Doubt::SkinTemperatureNotScored => {
                "skin temperature is never scored: take a body temperature"
            }
            Doubt::Stale => "this set is old: it does not say how the patient is now",
        }
    }
}

/// Every reason to doubt the score of `set` (RCP 2017 recommendations 1 to 3 and p. 31).
#[must_use]
pub fn doubts(set: &Set, context: &Context) -> Vec<Doubt> {
    let old = context.as_of.since(context.taken_at) > context.stale_after;
    let unprescribed = set.scale == Some(Spo2Scale::Scale2) && !context.scale_2_prescribed;
    [
        (
            Doubt::Under16,
            context.age_years.is_some_and(|years| years < 16),
        ),
        (Doubt::AgeUnknown, context.age_years.is_none()),
        (Doubt::Pregnant, context.pregnant == Some(true)),
        (
            Doubt::SpinalInjury,
            context.high_spinal_injury == Some(true),
        ),
        (Doubt::Scale2WithoutPrescriber, unprescribed),
        (
            Doubt::SkinTemperatureNotScored,
            context.skin_temperature_only,
        ),
        (Doubt::Stale, old),
    ]
    .into_iter()
    .filter_map(|(doubt, holds)| holds.then_some(doubt))
    .collect()
}
