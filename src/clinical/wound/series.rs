//! One wound over time.

use super::{Marker, Reduction, Size, SizeError};
use crate::record::kind::wound::WoundType;
use crate::record::time::{Span, Timestamp};

/// One point of a healing curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurvePoint {
    /// When it was measured.
    pub taken_at: Timestamp,
    /// Rectangle, mm².
    pub rectangle_mm2: i64,
    /// Reduction since the first measurement.
    pub reduction: Reduction,
}

/// The healing curve of one wound, earliest first, from measurements in any order.
///
/// # Errors
/// [`SizeError::NoFirstArea`] if there are none or the first has no area.
pub fn curve(measured: &[(Timestamp, Size)]) -> Result<Vec<CurvePoint>, SizeError> {
    let mut measured = measured.to_vec();
    measured.sort_by_key(|(taken_at, _)| *taken_at);
    let first = measured.first().ok_or(SizeError::NoFirstArea)?.1;
    let point = |(taken_at, size): &(Timestamp, Size)| {
        let reduction = Reduction::between(first, *size)?;
        Ok(CurvePoint {
            taken_at: *taken_at,
            rectangle_mm2: size.rectangle_mm2(),
            reduction,
        })
    };
    measured.iter().map(point).collect()
}

/// How a wound stands against its four-week marker.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FourWeeks {
    /// No marker is published for this kind.
    NoMarker,
    /// Not measured at or after four weeks yet.
    NotYet {
        /// The moment four weeks are over.
        due_at: Timestamp,
    },
    /// At least as much smaller as the marker asks.
    Reached(Marker),
    /// Less: reassess.
    NotReached(Marker),
}

/// The four-week marker read from the first measurement at or after 28 days.
///
/// # Errors
/// As [`curve`].
pub fn four_weeks(kind: WoundType, measured: &[(Timestamp, Size)]) -> Result<FourWeeks, SizeError> {
    let points = curve(measured)?;
    let Some(marker) = Marker::of(kind) else {
        return Ok(FourWeeks::NoMarker);
    };
    let due_at = points[0].taken_at.plus(Span::days(28));
    Ok(match points.iter().find(|point| point.taken_at >= due_at) {
        None => FourWeeks::NotYet { due_at },
        Some(point) if point.reduction.reaches(marker.percent) => FourWeeks::Reached(marker),
        Some(_) => FourWeeks::NotReached(marker),
    })
}
