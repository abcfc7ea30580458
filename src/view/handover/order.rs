//! In which order patients stand on the sheet, and why.

use std::cmp::Reverse;

use serde::Serialize;

use super::{PatientBlock, ResultLine};
use crate::record::kind::alert::Severity;

/// Stated on every sheet.
pub const RULE: &str = "Order: open escalations; open alerts, critical before urgent before soon; critical results \
nobody has seen; NEWS2 of 5 or more, a single 3, a rise, or a score not known or too old (silence is not stability); \
other results nobody has seen that are not known to be within range; overdue work, patients not reached and other \
unseen results; the rest. Within each: NEWS2, highest first (not known, too old or a single 3 counts as above 4; an incomplete \
set by what was measured or by the last complete total, whichever is more), then largest rise, then slot.";

/// The part of the rule that puts a patient where they stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// An escalation is open.
    OpenEscalation,
    /// An alert is open.
    OpenAlert,
    /// Nobody has seen a critical result.
    CriticalResult,
    /// The score calls for attention, rose, or is not known.
    Score,
    /// Nobody has seen a result that is not known to be within its range.
    UnseenResult,
    /// Something is overdue, the patient was not reached, or nobody has seen a result.
    Overdue,
    /// Nothing of these.
    Rest,
}

impl Standing {
    /// As people read it.
    #[must_use]
    pub const fn label(self) -> &'static str {
        match self {
            Standing::OpenEscalation => "open escalation",
            Standing::OpenAlert => "open alert",
            Standing::CriticalResult => "critical result nobody has seen",
            Standing::Score => "score or silence",
            Standing::UnseenResult => "result nobody has seen",
            Standing::Overdue => "overdue work",
            Standing::Rest => "nothing open or overdue",
        }
    }
}

/// Halves of a point: an unknown score and a single 3 stand between 4 and 5, or at the points
/// of the parts that are known or of the last complete set if those are more.
const UNKNOWN_HALVES: u8 = 9;

/// Sorts patients by the rule, sets each one's place and says why they stand there.
pub(super) fn arrange(blocks: &mut [PatientBlock]) {
    for block in blocks.iter_mut() {
        block.stands_by = standing(block);
    }
    blocks.sort_by_cached_key(key);
    for (block, place) in blocks.iter_mut().zip(1..) {
        block.place = place;
    }
}

fn key(block: &PatientBlock) -> impl Ord + use<> {
    let severity = block.situation.alerts.iter().map(|alert| alert.severity);
    let severity: Option<Severity> = severity.min();
    let name = (
        block.identity.slot.is_none(),
        block.identity.slot.clone(),
        block.identity.name.clone(),
    );
    (
        block.stands_by,
        severity.is_none(),
        severity,
        Reverse(score_halves(block)),
        Reverse(rise(block)),
        name,
    )
}

fn standing(block: &PatientBlock) -> Standing {
    let results = &block.assessment.results;
    if !block.situation.escalations.is_empty() {
        Standing::OpenEscalation
    } else if !block.situation.alerts.is_empty() {
        Standing::OpenAlert
    } else if results.iter().any(ResultLine::is_critical_unseen) {
        Standing::CriticalResult
    } else if score_halves(block) >= UNKNOWN_HALVES || rise(block) > 0 {
        Standing::Score
    } else if results.iter().any(ResultLine::is_abnormal_unseen) {
        Standing::UnseenResult
    } else if has_overdue(block) {
        Standing::Overdue
    } else {
        Standing::Rest
    }
}

fn score_halves(block: &PatientBlock) -> u8 {
    let Some(score) = &block.situation.score else {
        return UNKNOWN_HALVES;
    };
    let known: u8 = score.parts.iter().filter_map(|part| part.points).sum();
    let before = score.last_total.as_ref().map_or(0, |then| then.total);
    match score.total {
        Some(total) if block.situation.silence.is_none() && !score.single_3 => {
            total.saturating_mul(2)
        }
        _ => known.max(before).saturating_mul(2).max(UNKNOWN_HALVES),
    }
}

/// The larger of the rises since the last set and since the last handover.
fn rise(block: &PatientBlock) -> i16 {
    let Some(score) = &block.situation.score else {
        return 0;
    };
    let changes = [&score.since_last, &score.since_handover];
    let points = changes.into_iter().flatten().map(|change| change.points);
    points.max().unwrap_or(0)
}

fn has_overdue(block: &PatientBlock) -> bool {
    block.situation.unreached.is_some()
        || block.recommendation.due.iter().any(|due| due.overdue)
        || block.assessment.results.iter().any(|r| r.unreviewed)
}
