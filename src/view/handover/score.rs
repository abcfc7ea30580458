//! The newest set of readings, what it scores, and against which earlier total.

use serde::Serialize;

use super::situation::show_context;
use crate::clinical::news2::{News2, Set};
use crate::clinical::scales::{Coma, FourAtFound};
use crate::record::field::{FieldValue, ShowContext};
use crate::record::ids::Seq;
use crate::record::observed::{Reading, ReadingSource, Spo2Scale};
use crate::record::quantity::{DiastolicMmHg, SystolicMmHg};
use crate::record::scales::{FourAtAnswers, Gcs};
use crate::record::time::Timestamp;
use crate::view::origin::{Origin, Subject};
use crate::ward::Patient;
use crate::ward::observations::ObservationSet;
use crate::ward::workings;

/// A set of readings and what it scores. An incomplete set has no total.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ScoreNow {
    /// Who took it and when; its age is the sheet's moment less this.
    pub origin: Origin,
    /// Where the readings came from.
    pub source: Option<ReadingSource>,
    /// Total of a complete set.
    pub total: Option<u8>,
    /// `low`, `low-medium`, `medium`, `high`; of a complete set.
    pub band: Option<&'static str>,
    /// What the known parts of an incomplete set come to: a lower bound, never a total. `None`
    /// for a complete set, and where it would be 0.
    pub at_least: Option<u8>,
    /// A known part scores 3, also in an incomplete set.
    pub single_3: bool,
    /// Saturation scale in force.
    pub scale: Option<Spo2Scale>,
    /// Each part in the order of the chart.
    pub parts: Vec<PartLine>,
    /// What an incomplete set lacks, in words.
    pub missing: Vec<&'static str>,
    /// Against the newest earlier complete set.
    pub since_last: Option<ScoreChange>,
    /// Against the newest complete set that was on the last accepted sheet.
    pub since_handover: Option<ScoreChange>,
    /// The newest complete set, when this one is not.
    pub last_total: Option<TotalThen>,
    /// Reasons to doubt the score, in words.
    pub doubts: Vec<&'static str>,
    /// Readings that are charted and not scored, in words: skin temperature, glucose, coma
    /// scale, 4AT, pain, signs beside a severe pressure.
    pub others: Vec<String>,
}

/// One part of the score.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PartLine {
    /// `rr`, `spo2`, `oxygen`, `sbp`, `hr`, `acvpu`, `temp`.
    pub code: &'static str,
    /// As people read it on a chart.
    pub label: &'static str,
    /// The value in words; `None` where it is missing.
    pub value: Option<String>,
    /// Its points; `None` where they are not known.
    pub points: Option<u8>,
}

impl ScoreNow {
    /// `at least 7 from what was measured`, and whether that is 5 or more.
    #[must_use]
    pub fn floor_in_words(&self) -> Option<(String, bool)> {
        let floor = self.at_least?;
        Some((
            format!("at least {floor} from what was measured"),
            floor >= 5,
        ))
    }
}

impl PartLine {
    /// `RR 22/min`, `on oxygen 2 L/min`: oxygen names itself. `None` where the value is missing.
    #[must_use]
    pub fn named(&self) -> Option<String> {
        let value = self.value.as_ref()?;
        Some(match self.code {
            "oxygen" => value.clone(),
            _ => format!("{} {value}", self.label),
        })
    }
}

/// How a total changed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ScoreChange {
    /// Points more, or negative.
    pub points: i16,
    /// The earlier total.
    pub from: TotalThen,
}

/// A total as it was.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TotalThen {
    /// The total.
    pub total: u8,
    /// When the set was taken.
    pub at: Timestamp,
    /// The entry.
    pub seq: Seq,
}

/// One of the newest few sets.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RecentSet {
    /// The entry.
    pub seq: Seq,
    /// When it was taken.
    pub at: Timestamp,
    /// Total of a complete set.
    pub total: Option<u8>,
    /// Respirations a minute.
    pub rr: Option<i32>,
    /// Saturation, per cent.
    pub spo2: Option<i32>,
    /// Pulse a minute.
    pub hr: Option<i32>,
}

/// How many of the newest sets are shown.
const RECENT_SETS: usize = 5;

pub(super) fn recent(sets: &[&ObservationSet]) -> Vec<RecentSet> {
    let with_signs: Vec<&&ObservationSet> = sets.iter().filter(|s| s.has_vital_sign()).collect();
    let from = with_signs.len().saturating_sub(RECENT_SETS);
    with_signs[from..]
        .iter()
        .map(|set| {
            let readings = Set::of(&set.body, set.scale);
            RecentSet {
                seq: set.stamp.seq,
                at: set.stamp.occurred_at,
                total: set.total(),
                rr: readings.rr,
                spo2: readings.spo2,
                hr: readings.hr,
            }
        })
        .collect()
}

pub(super) fn score_now(
    subject: &Subject<'_>,
    patient: &Patient,
    sets: &[&ObservationSet],
) -> Option<ScoreNow> {
    let set = *sets.iter().rev().find(|set| set.has_vital_sign())?;
    let news2 = set.news2();
    let score = news2.as_ref().and_then(|news2| news2.score);
    let earlier: Vec<TotalThen> = sets
        .iter()
        .filter(|other| other.stamp.seq != set.stamp.seq)
        .filter_map(|other| total_then(other))
        .collect();
    let change = |from: Option<&TotalThen>| {
        let (from, total) = (from?, score?.total);
        Some(ScoreChange {
            points: i16::from(total) - i16::from(from.total),
            from: from.clone(),
        })
    };
    let handed_over = subject.vantage.since.and_then(|since| {
        let on_sheet = |then: &&TotalThen| then.seq <= since;
        earlier.iter().rev().find(on_sheet)
    });
    Some(ScoreNow {
        origin: subject.origin(&set.stamp),
        source: set.body.source,
        total: score.map(|score| score.total),
        band: score.map(|score| score.band.code()),
        at_least: news2.as_ref().and_then(News2::at_least),
        single_3: news2.as_ref().is_some_and(|news2| news2.single_3),
        scale: set.scale,
        parts: parts(subject, set, news2.as_ref()),
        missing: news2
            .iter()
            .flat_map(|news2| news2.missing.iter().map(|input| input.label()))
            .collect(),
        since_last: change(earlier.last()),
        since_handover: change(handed_over),
        last_total: earlier.last().filter(|_| score.is_none()).cloned(),
        doubts: workings::doubts(subject.vantage.ward, patient, set, subject.vantage.now),
        others: others(subject, set),
    })
}

fn total_then(set: &ObservationSet) -> Option<TotalThen> {
    Some(TotalThen {
        total: set.total()?,
        at: set.stamp.occurred_at,
        seq: set.stamp.seq,
    })
}

fn parts(subject: &Subject<'_>, set: &ObservationSet, news2: Option<&News2>) -> Vec<PartLine> {
    let cx = show_context(subject);
    let body = &set.body;
    let values = [
        ("RR", body.rr.show(&cx)),
        ("SpO2", body.spo2.show(&cx)),
        ("oxygen", body.oxygen.show(&cx)),
        ("BP", pressure(&cx, set)),
        ("HR", body.hr.show(&cx)),
        ("ACVPU", body.acvpu.show(&cx)),
        ("temp", body.temp.show(&cx)),
    ];
    let points = news2.map(|news2| news2.parts).unwrap_or_default();
    points
        .each()
        .into_iter()
        .zip(values)
        .map(|((input, points), (label, value))| PartLine {
            code: input.code(),
            label,
            value,
            points,
        })
        .collect()
}

fn others(subject: &Subject<'_>, set: &ObservationSet) -> Vec<String> {
    let cx = show_context(subject);
    let body = &set.body;
    let named = [
        ("diastolic", diastolic(&cx, set)),
        ("pulse", body.rhythm.show(&cx)),
        ("skin temp, not scored", body.skin_temp.show(&cx)),
        ("glucose", body.glucose.show(&cx)),
        ("weight", body.weight.show(&cx)),
        ("GCS", body.gcs.and_then(coma)),
        ("4AT", body.four_at.and_then(four_at)),
        ("pain", body.pain.show(&cx)),
        ("pain on movement", body.pain_moving.show(&cx)),
        ("signs:", body.signs.show(&cx)),
    ];
    named
        .into_iter()
        .filter_map(|(label, value)| Some(format!("{label} {}", value?)))
        .collect()
}

fn coma(gcs: Gcs) -> Option<String> {
    Coma::of(gcs).ok().map(Coma::text)
}

fn four_at(answers: FourAtAnswers) -> Option<String> {
    FourAtFound::of(answers).ok().map(|found| found.text())
}

/// `128/76 mmHg` where both were read the same way; else the systolic alone.
fn pressure(cx: &ShowContext, set: &ObservationSet) -> Option<String> {
    match both_pressures(set) {
        Some((sbp, dbp)) => Some(format!("{}/{dbp}", sbp.0)),
        None => set.body.sbp.show(cx),
    }
}

fn diastolic(cx: &ShowContext, set: &ObservationSet) -> Option<String> {
    match both_pressures(set) {
        Some(_) => None,
        None => set.body.dbp.show(cx),
    }
}

fn both_pressures(set: &ObservationSet) -> Option<(SystolicMmHg, DiastolicMmHg)> {
    match (&set.body.sbp, &set.body.dbp) {
        (
            Some(Reading::Value {
                value: sbp,
                source: None,
            }),
            Some(Reading::Value {
                value: dbp,
                source: None,
            }),
        ) => Some((*sbp, *dbp)),
        _ => None,
    }
}
