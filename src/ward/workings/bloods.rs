//! The newest value of each test: its flag and whose range it rests on, how it changed, and
//! how long a critical one has waited to be seen. CRP over the stay.

use super::{About, Desk, Part, Weight, Working};
use crate::clinical::blood::{
    self, CAUTION, Flag, RangeOwner, SOURCE, TYPICAL_CAUTION, crp_course, value_is_critical,
};
use crate::record::ids::Seq;
use crate::record::kind::episode::Sex;
use crate::record::kind::sample::{Analyte, Comparator, ResultValue, SampleQuality};
use crate::record::quantity::Decimal;
use crate::record::time::Timestamp;
use crate::ward::samples::ResultLife;

const CRP_SOURCE: &str = "common practice, no source";
const CRP_CAUTION: &str = "CRP lags a day behind the illness; counted from admission, as the start of treatment is not recorded as such.";

/// One value, when its sample was taken, and the result it came with.
pub(super) struct Measured<'a> {
    pub(super) at: Timestamp,
    pub(super) value: &'a ResultValue,
    pub(super) life: &'a ResultLife,
}

impl Measured<'_> {
    pub(super) const fn seq(&self) -> Seq {
        self.life.reported.stamp.seq
    }
}

/// Values of one test from fit samples, oldest first. A haemolysed or old sample gave none, and
/// a result that is not proven to be its author's stands on the sheet and in no series.
pub(super) fn series<'a>(desk: &Desk<'a>, analyte: Analyte) -> Vec<Measured<'a>> {
    let patient = desk.patient;
    let fit = |quality: Option<SampleQuality>| quality.is_none_or(|q| q == SampleQuality::Fit);
    let lives = patient.results.values();
    let mut found: Vec<Measured<'a>> = lives
        .filter(|life| fit(life.reported.body.quality) && !life.reported.stamp.limited)
        .flat_map(|life| {
            let sample = life.reported.body.sample;
            let taken = sample.and_then(|seq| patient.samples.get(&seq));
            let at = taken.map_or(life.reported.stamp.occurred_at, |sample| {
                sample.taken.stamp.occurred_at
            });
            let values = life.reported.body.values.iter();
            values.map(move |value| Measured { at, value, life })
        })
        .filter(|measured| measured.value.analyte == analyte && measured.at <= desk.now)
        .collect();
    found.sort_by_key(|measured| (measured.at, measured.seq()));
    found
}

pub(super) fn bloods(desk: &Desk<'_>) -> Vec<Working> {
    let mut worked = Vec::new();
    for analyte in Analyte::ALL {
        let series = series(desk, *analyte);
        worked.extend(newest(desk, &series));
        if *analyte == Analyte::Crp {
            worked.extend(crp(desk, &series));
        }
    }
    worked
}

fn newest(desk: &Desk<'_>, series: &[Measured<'_>]) -> Option<Working> {
    let now = series.last()?;
    let typical = range_of(desk, now.value.analyte);
    let (flag, owner) = blood::flag(now.value, typical);
    let critical = is_critical(desk, now);
    let unseen = now.life.is_unreviewed();
    let mut text = format!(
        "{} {}, {}",
        now.value.analyte.label(),
        now.value.numbers(),
        desk.when(now.at)
    );
    text += match (flag, owner) {
        (Flag::Low, RangeOwner::Laboratory) => ", below the laboratory's range",
        (Flag::High, RangeOwner::Laboratory) => ", above the laboratory's range",
        (Flag::Within, RangeOwner::Laboratory) => ", within the laboratory's range",
        (Flag::Low, _) => ", below the typical range",
        (Flag::High, _) => ", above the typical range",
        (Flag::Within, _) => ", within the typical range",
        (Flag::Unknown, RangeOwner::Nobody) => ", no range to hold it against",
        (Flag::Unknown, _) => ", could lie on either side of a limit",
    };
    let before = series.len().checked_sub(2).map(|at| &series[at]);
    if let Some((before, more)) =
        before.and_then(|before| Some((before, blood::change(before.value, now.value)?)))
    {
        text += &format!(", {} since {}", signed(more), desk.when(before.at));
    }
    if critical {
        text += ", CRITICAL";
    }
    if unseen {
        let resulted = now.life.reported.stamp.occurred_at;
        text += &format!("; unseen for {}", desk.now.since(resulted).spoken());
    } else if critical {
        text += &first_look(now.life);
    }
    // One that was seen in an earlier stay is no news of this one.
    let began = desk.patient.admitted().map(|stamp| stamp.occurred_at);
    let of_stay = began.is_none_or(|began| now.at >= began);
    let weight = match (critical && (unseen || of_stay), unseen, flag) {
        (true, true, _) => Weight::Act,
        (true, false, _) | (_, true, Flag::Low | Flag::High) => Weight::Look,
        _ => Weight::Say,
    };
    let caution = match owner {
        RangeOwner::Policy => TYPICAL_CAUTION,
        RangeOwner::Laboratory | RangeOwner::Nobody => CAUTION,
    };
    Some(Working {
        about: About::Bloods,
        weight,
        text,
        parts: changes(desk, series),
        entries: series.iter().map(Measured::seq).collect(),
        source: SOURCE,
        caution,
    })
}

/// Who looked at a result first, and how long after it was there: a critical one that waited is
/// told by voice (RCPath G158), and whoever asks later needs both ends.
fn first_look(life: &ResultLife) -> String {
    let resulted = life.reported.stamp.occurred_at;
    let Some(look) = life.reviews.first() else {
        return String::new();
    };
    let (by, at) = (&look.stamp.author, look.stamp.occurred_at);
    format!("; seen by {by} after {}", at.since(resulted).spoken())
}

/// How it changed, from the value before and from the first of the series.
fn changes(desk: &Desk<'_>, series: &[Measured<'_>]) -> Vec<Part> {
    let Some((now, earlier)) = series.split_last() else {
        return Vec::new();
    };
    let against = |name, then: &Measured<'_>| {
        let when = desk.when(then.at);
        let value = match blood::change(then.value, now.value) {
            Some(more) => format!("{} from {} on {when}", signed(more), then.value.value),
            None => format!("not comparable with {} on {when}", then.value.numbers()),
        };
        Part::new(name, value)
    };
    let mut parts: Vec<Part> = earlier
        .last()
        .map(|before| against("since the one before", before))
        .into_iter()
        .collect();
    if earlier.len() > 1 {
        parts.push(against("since the first", &earlier[0]));
    }
    parts
}

fn signed(value: Decimal) -> String {
    if value.mantissa > 0 {
        format!("+{value}")
    } else {
        value.to_string()
    }
}

fn range_of(desk: &Desk<'_>, analyte: Analyte) -> Option<blood::Range> {
    let sex = desk
        .patient
        .details
        .as_ref()
        .map_or(Sex::NotKnown, |d| d.sex);
    desk.policy.values().blood().range(analyte, sex)
}

/// The series is of one test, so of the other values on its report only the laboratory's own
/// call counts.
fn is_critical(desk: &Desk<'_>, measured: &Measured<'_>) -> bool {
    measured.life.reported.body.critical == Some(true)
        || value_is_critical(measured.value, desk.policy.values().blood())
}

fn crp(desk: &Desk<'_>, series: &[Measured<'_>]) -> Option<Working> {
    let admitted = desk.patient.admitted()?.occurred_at;
    let exact = series
        .iter()
        .filter(|measured| measured.value.comparator == Comparator::Exact);
    let values: Vec<(Timestamp, Decimal)> = exact
        .clone()
        .map(|measured| (measured.at, measured.value.value))
        .collect();
    let course = crp_course(&values, admitted, desk.now)?;
    let way = if course.rising {
        "rising"
    } else {
        "not rising"
    };
    let mut text = format!("CRP {way}: {} mg/L", course.latest.1);
    if let Some(percent) = course.percent_of_peak().filter(|percent| *percent < 100) {
        let when = desk.when(course.peak.0);
        text += &format!(", {percent} % of its peak {} on {when}", course.peak.1);
    }
    if course.rising_on_treatment {
        text += "; still rising after two days on the ward: look for why";
    }
    Some(Working {
        about: About::Bloods,
        weight: if course.rising_on_treatment {
            Weight::Look
        } else {
            Weight::Say
        },
        text,
        parts: Vec::new(),
        entries: exact.map(Measured::seq).collect(),
        source: CRP_SOURCE,
        caution: CRP_CAUTION,
    })
}
