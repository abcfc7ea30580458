//! Observation sets as a series: what each scored, and how it changed.

use serde::{Deserialize, Serialize};

use super::held::Stamp;
use crate::clinical::news2::{self, News2, Set};
use crate::clinical::trend::{Sample, Sign};
use crate::record::kind::observation::Observation;
use crate::record::observed::{Reading, Spo2Scale};

/// One set of observations, with the saturation scale that held when it was taken.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ObservationSet {
    /// Who, when.
    pub stamp: Stamp,
    /// The readings.
    pub body: Observation,
    /// The scale that held.
    pub scale: Option<Spo2Scale>,
}

impl ObservationSet {
    /// What it scores: parts, total if complete, what is missing. `None` only if a reading in
    /// the journal is outside what the score accepts, which validation refuses.
    #[must_use]
    pub fn news2(&self) -> Option<News2> {
        news2::score(&Set::of(&self.body, self.scale)).ok()
    }

    /// Total, if the set is complete.
    #[must_use]
    pub fn total(&self) -> Option<u8> {
        self.news2()?.score.map(|score| score.total)
    }

    /// The reading of one sign, for a trend.
    #[must_use]
    pub fn sample(&self, sign: Sign) -> Option<Sample> {
        let body = &self.body;
        let value = match sign {
            Sign::Rr => body.rr.as_ref().and_then(Reading::value)?.0,
            Sign::Spo2 => body.spo2.as_ref().and_then(Reading::value)?.0,
            Sign::Sbp => body.sbp.as_ref().and_then(Reading::value)?.0,
            Sign::Hr => body.hr.as_ref().and_then(Reading::value)?.0,
            Sign::Temp => body.temp.as_ref().and_then(Reading::value)?.0,
        };
        Some(Sample {
            at: self.stamp.occurred_at,
            value,
        })
    }

    /// Holds at least one vital sign of the score.
    #[must_use]
    pub const fn has_vital_sign(&self) -> bool {
        let set = &self.body;
        set.rr.is_some()
            || set.spo2.is_some()
            || set.sbp.is_some()
            || set.hr.is_some()
            || set.acvpu.is_some()
            || set.temp.is_some()
    }
}
