//! The ward at a glance: what the oncoming shift must know before the first patient.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::{PatientBlock, TotalThen, Unseen};
use crate::record::ids::Seq;
use crate::record::kind::shift::HandoverMove;
use crate::record::kind::supply::SupplyMove;
use crate::record::person::Handle;
use crate::record::time::Timestamp;
use crate::view::origin::{NameRef, Vantage, Writer};
use crate::ward::Held;
use crate::ward::shifts::{shift_after, shift_at};

/// The ward at a glance.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Strip {
    /// Patients on the ward.
    pub caseload: usize,
    /// Who came since midnight on the ward's clock.
    pub came_today: Vec<NameRef>,
    /// Whose expected discharge date is today or has passed.
    pub expected_out: Vec<NameRef>,
    /// Who left since midnight.
    pub left_today: Vec<NameRef>,
    /// Open alerts, of patients and of the ward.
    pub open_alerts: usize,
    /// Open alerts that nobody has taken.
    pub alerts_untaken: usize,
    /// When the oldest of them was raised.
    pub oldest_alert_at: Option<Timestamp>,
    /// Open escalations.
    pub open_escalations: usize,
    /// Things that should have been done.
    pub overdue: usize,
    /// Things due from now to the end of the oncoming shift.
    pub due_this_shift: usize,
    /// The end of that shift.
    pub shift_ends: Timestamp,
    /// Results nobody has looked at.
    pub unreviewed_results: usize,
    /// How many of them are critical.
    pub unreviewed_critical: usize,
    /// When the oldest of them was reported.
    pub oldest_unreviewed_at: Option<Timestamp>,
    /// The highest scores, highest first, of 5 and more or the top three.
    pub highest: Vec<Highest>,
    /// Incomplete sets that call for something all the same, by their known parts or by the last
    /// complete total: the most points first.
    pub floors: Vec<Floor>,
    /// Patients whose newest set has no total.
    pub without_total: Vec<NameRef>,
    /// Patients without readings for longer than the policy allows.
    pub silent: Vec<SilentPatient>,
    /// Patients nobody has reached.
    pub unreached: Vec<UnreachedPatient>,
    /// The shift that is on and the next one, with who is on.
    pub shifts: Vec<ShiftLine>,
    /// Who looks after how many patients, by the newest allocation.
    pub allocation: Vec<AllocationLine>,
    /// Patients allocated to nobody.
    pub unallocated: Vec<NameRef>,
    /// Supplies that have not arrived.
    pub supplies: Vec<SupplyOnWay>,
    /// Patients whose names are the same or could be taken for one another.
    pub similar_names: Vec<Vec<NameRef>>,
    /// Queries from earlier handovers that nobody has answered.
    pub open_queries: usize,
    /// Patients who were not taken over at the last handover, or in one that waits.
    pub held_back: Vec<HeldBack>,
}

/// A patient who was not taken over, declined or with a question that was open when the ward
/// was accepted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct HeldBack {
    /// Which patient.
    pub who: NameRef,
    /// The handover.
    pub handover: Seq,
    /// They were declined; otherwise a question holds them back.
    pub declined: bool,
    /// The step that holds them back.
    pub seq: Seq,
    /// Why, or the question, as it was written.
    pub text: String,
}

/// A high score.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Highest {
    /// Which patient.
    pub who: NameRef,
    /// The total.
    pub total: u8,
    /// A part scores 3.
    pub single_3: bool,
    /// Points more since the last set.
    pub rise: Option<i16>,
    /// When the set was taken.
    pub at: Timestamp,
}

/// An incomplete set that has reached 5 points or a single 3, or that follows a total of 5 or more.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Floor {
    /// Which patient.
    pub who: NameRef,
    /// What its known parts come to: a lower bound, never a total.
    pub at_least: Option<u8>,
    /// A known part scores 3.
    pub single_3: bool,
    /// When the set was taken.
    pub at: Timestamp,
    /// The newest complete set.
    pub last_total: Option<TotalThen>,
}

impl Floor {
    /// The points it stands at: its own or the last total, whichever is more.
    #[must_use]
    pub fn points(&self) -> u8 {
        let before = self.last_total.as_ref().map_or(0, |then| then.total);
        self.at_least.unwrap_or(0).max(before)
    }
}

/// A patient without readings.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SilentPatient {
    /// Which patient.
    pub who: NameRef,
    /// The newest reading; `None` if there was none in this stay.
    pub last_reading_at: Option<Timestamp>,
}

/// A patient nobody has reached.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct UnreachedPatient {
    /// Which patient.
    pub who: NameRef,
    /// How many attempts.
    pub attempts: usize,
    /// The first of them.
    pub since: Timestamp,
}

/// A shift.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ShiftLine {
    /// The entry.
    pub seq: Seq,
    /// Its name.
    pub name: String,
    /// When it begins.
    pub from: Timestamp,
    /// When it ends.
    pub until: Timestamp,
    /// Who is on.
    pub staff: Vec<Writer>,
    /// Staffing problems.
    pub detail: Option<String>,
}

/// Who looks after whom.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AllocationLine {
    /// Who.
    pub to: Writer,
    /// Which patients.
    pub patients: Vec<NameRef>,
}

/// A supply on its way.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SupplyOnWay {
    /// Which patient.
    pub who: NameRef,
    /// The entry that asked for it.
    pub seq: Seq,
    /// What.
    pub item: String,
    /// Where it is; `None` before it was prepared.
    pub state: Option<SupplyMove>,
    /// It set out and the patient does not have it.
    pub failed: bool,
    /// When it should be there.
    pub needed_by: Option<Timestamp>,
}

/// The shift that takes over: the one of that name that is on or comes next, else the next.
pub(super) fn shift_end(vantage: &Vantage<'_>, to_shift: &str) -> Timestamp {
    let (shifts, now) = (vantage.ward.shifts(), vantage.now);
    let named = shifts
        .iter()
        .filter(|held| held.body.until.0 > now && held.body.name.0.eq_ignore_ascii_case(to_shift))
        .min_by_key(|held| held.body.from);
    // A handover is held around the change: a shift that begins within two hours takes over.
    let soon = shift_after(shifts, now)
        .filter(|held| held.body.from.0 <= now.plus(crate::record::time::Span::hours(2)));
    let taking_over = named.or(soon).or_else(|| shift_at(shifts, now));
    taking_over.map_or(now.plus(crate::record::time::Span::hours(12)), |held| {
        held.body.until.0
    })
}

pub(super) fn strip(
    vantage: &Vantage<'_>,
    blocks: &[PatientBlock],
    ward_block: &super::WardBlock,
    left: &[super::LeftBlock],
    shift_ends: Timestamp,
) -> Strip {
    let alerts: Vec<&super::AlertLine> = blocks
        .iter()
        .flat_map(|block| &block.situation.alerts)
        .chain(&ward_block.alerts)
        .chain(left.iter().flat_map(|block| &block.alerts))
        .collect();
    let due = vantage.ward.due_items();
    let overdue = due.iter().filter(|item| item.is_overdue(vantage.now));
    let this_shift = due
        .iter()
        .filter(|item| !item.is_overdue(vantage.now) && item.due <= shift_ends);
    let escalations = |lines: &[super::EscalationLine]| lines.len();
    let here = blocks.iter().map(|block| &block.assessment.results);
    let results = here.chain(left.iter().map(|block| &block.results));
    let unseen: Vec<Unseen> = results.filter_map(|list| Unseen::of(list)).collect();
    Strip {
        caseload: blocks.len(),
        came_today: today(vantage, blocks),
        expected_out: expected_out(vantage, blocks),
        left_today: left_today(vantage),
        open_alerts: alerts.len(),
        alerts_untaken: alerts.iter().filter(|alert| alert.holder.is_none()).count(),
        oldest_alert_at: alerts.iter().map(|alert| alert.origin.occurred_at).min(),
        open_escalations: blocks
            .iter()
            .map(|block| escalations(&block.situation.escalations))
            .chain(left.iter().map(|block| escalations(&block.escalations)))
            .sum(),
        overdue: overdue.count(),
        due_this_shift: this_shift.count(),
        shift_ends,
        unreviewed_results: unseen.iter().map(|unseen| unseen.count).sum(),
        unreviewed_critical: unseen.iter().map(|unseen| unseen.critical).sum(),
        oldest_unreviewed_at: unseen.iter().map(|unseen| unseen.oldest_at).min(),
        highest: highest(blocks),
        floors: floors(blocks),
        without_total: names(blocks, |block| {
            block
                .situation
                .score
                .as_ref()
                .is_some_and(|s| s.total.is_none())
        }),
        silent: silent(blocks),
        unreached: unreached(blocks),
        shifts: shifts(vantage),
        allocation: allocation(vantage),
        unallocated: names(blocks, |block| block.recommendation.allocated_to.is_none()),
        supplies: supplies(blocks, left),
        similar_names: similar(blocks),
        open_queries: blocks
            .iter()
            .map(|block| block.recommendation.queries.len())
            .chain(left.iter().map(|block| block.queries.len()))
            .sum::<usize>()
            + ward_block.queries.len(),
        held_back: held_back(vantage),
    }
}

fn held_back(vantage: &Vantage<'_>) -> Vec<HeldBack> {
    let ward = vantage.ward;
    let not_taken = ward.not_taken_over().into_iter();
    not_taken
        .filter_map(|(handover, patient)| {
            let step = &ward.handovers().get(&handover)?.held_back_by(patient)?.held;
            Some(HeldBack {
                who: NameRef::of(ward.patient(patient)?),
                handover,
                declined: step.body.step == HandoverMove::Declined,
                seq: step.seq(),
                text: step
                    .body
                    .text
                    .clone()
                    .map(|text| text.0)
                    .unwrap_or_default(),
            })
        })
        .collect()
}

fn name(block: &PatientBlock) -> NameRef {
    NameRef {
        patient: block.identity.patient,
        name: block.identity.name.clone(),
        slot: block.identity.slot.clone(),
    }
}

fn names(blocks: &[PatientBlock], wanted: impl Fn(&&PatientBlock) -> bool) -> Vec<NameRef> {
    blocks.iter().filter(wanted).map(name).collect()
}

fn today(vantage: &Vantage<'_>, blocks: &[PatientBlock]) -> Vec<NameRef> {
    let zone = vantage.zone();
    let day = zone.date(vantage.now);
    names(blocks, |block| {
        let admitted = block.background.admitted.as_ref();
        admitted.is_some_and(|origin| zone.date(origin.occurred_at) == day)
    })
}

fn expected_out(vantage: &Vantage<'_>, blocks: &[PatientBlock]) -> Vec<NameRef> {
    let day = vantage.zone().date(vantage.now);
    names(blocks, |block| {
        let expected = block.identity.expected_discharge;
        expected.is_some_and(|date| date.to_date() <= day)
    })
}

fn left_today(vantage: &Vantage<'_>) -> Vec<NameRef> {
    let zone = vantage.zone();
    let day = zone.date(vantage.now);
    let left = vantage
        .ward
        .patients()
        .filter(|patient| patient.left_at().is_some_and(|at| zone.date(at) == day));
    left.map(NameRef::of).collect()
}

fn highest(blocks: &[PatientBlock]) -> Vec<Highest> {
    let scored = blocks.iter().filter_map(|block| {
        let score = block.situation.score.as_ref()?;
        Some(Highest {
            who: name(block),
            total: score.total?,
            single_3: score.single_3,
            rise: score.since_last.as_ref().map(|change| change.points),
            at: score.origin.occurred_at,
        })
    });
    let mut highest: Vec<Highest> = scored.filter(|high| high.total > 0).collect();
    highest.sort_by_key(|high| (std::cmp::Reverse(high.total), high.who.slot.clone()));
    let urgent = highest.iter().filter(|high| high.total >= 5).count();
    highest.truncate(urgent.max(3));
    highest
}

fn floors(blocks: &[PatientBlock]) -> Vec<Floor> {
    let incomplete = blocks.iter().filter_map(|block| {
        let score = block.situation.score.as_ref()?;
        score.total.is_none().then(|| Floor {
            who: name(block),
            at_least: score.at_least,
            single_3: score.single_3,
            at: score.origin.occurred_at,
            last_total: score.last_total.clone(),
        })
    });
    let calls = |floor: &Floor| floor.single_3 || floor.points() >= 5;
    let mut floors: Vec<Floor> = incomplete.filter(calls).collect();
    floors.sort_by_key(|floor| (std::cmp::Reverse(floor.points()), floor.who.slot.clone()));
    floors
}

fn silent(blocks: &[PatientBlock]) -> Vec<SilentPatient> {
    let silent = blocks.iter().filter_map(|block| {
        let silence = block.situation.silence.as_ref()?;
        Some(SilentPatient {
            who: name(block),
            last_reading_at: silence.last_reading_at,
        })
    });
    silent.collect()
}

fn unreached(blocks: &[PatientBlock]) -> Vec<UnreachedPatient> {
    let unreached = blocks.iter().filter_map(|block| {
        let tries = block.situation.unreached.as_ref()?;
        Some(UnreachedPatient {
            who: name(block),
            attempts: tries.attempts,
            since: tries.since,
        })
    });
    unreached.collect()
}

fn shifts(vantage: &Vantage<'_>) -> Vec<ShiftLine> {
    let all = vantage.ward.shifts();
    let shown = [shift_at(all, vantage.now), shift_after(all, vantage.now)];
    let line = |held: &Held<crate::record::kind::shift::Shift>| ShiftLine {
        seq: held.seq(),
        name: held.body.name.0.clone(),
        from: held.body.from.0,
        until: held.body.until.0,
        staff: held
            .body
            .staff
            .iter()
            .map(|handle| Writer::of_handle(vantage.ward, handle))
            .collect(),
        detail: held.body.detail.as_ref().map(|note| note.0.clone()),
    };
    shown.into_iter().flatten().map(line).collect()
}

fn allocation(vantage: &Vantage<'_>) -> Vec<AllocationLine> {
    let mut by: BTreeMap<&Handle, Vec<NameRef>> = BTreeMap::new();
    for patient in vantage.ward.caseload() {
        if let Some(handle) = patient.allocated_to() {
            by.entry(handle).or_default().push(NameRef::of(patient));
        }
    }
    by.into_iter()
        .map(|(handle, patients)| AllocationLine {
            to: Writer::of_handle(vantage.ward, handle),
            patients,
        })
        .collect()
}

fn supplies(blocks: &[PatientBlock], left: &[super::LeftBlock]) -> Vec<SupplyOnWay> {
    let here = blocks.iter().flat_map(|block| {
        block
            .assessment
            .supplies
            .iter()
            .map(move |s| (name(block), s))
    });
    let gone = left
        .iter()
        .flat_map(|block| block.supplies.iter().map(move |s| (block.who.clone(), s)));
    here.chain(gone)
        .map(|(who, supply)| SupplyOnWay {
            who,
            seq: supply.origin.seq,
            item: supply.item.clone(),
            state: supply.state,
            failed: supply.failed,
            needed_by: supply.needed_by,
        })
        .collect()
}

/// Each group of names once.
fn similar(blocks: &[PatientBlock]) -> Vec<Vec<NameRef>> {
    let mut groups: BTreeSet<Vec<NameRef>> = BTreeSet::new();
    for block in blocks {
        let mut group = block.identity.similar_names.clone();
        if !group.is_empty() {
            group.push(name(block));
            group.sort();
            groups.insert(group);
        }
    }
    groups.into_iter().collect()
}
