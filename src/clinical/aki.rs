//! Acute kidney injury: an alert from creatinine over time.
//!
//! Source: NHS England, *Algorithm for detecting acute kidney injury based on serum
//! creatinine changes with time*, patient-safety alert NHS/PSA/D/2014/010, 9 June 2014. The
//! flowchart itself was not at hand: the rules follow three published statements of it
//! (clinical reference, section 6), and where these differ the choice is in
//! `docs/clinical.md`: above 354 µmol/L means the new value, 1.5 belongs to stage 1, a rise of
//! 26 is not yet over 26. Days are whole elapsed periods of 24 hours; 48 hours are inclusive.

#[cfg(test)]
mod tests;

use crate::clinical::creatinine::Creatinine;
use crate::record::time::{Span, Timestamp};

/// To be shown beside every alert.
pub const CAUTION: &str = "An alert, not a diagnosis: it may follow recovery, dialysis, advanced kidney disease, trimethoprim or a wrong baseline, and it knows nothing of urine output.";

/// One creatinine and when its sample was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reading {
    /// The value.
    pub value: Creatinine,
    /// When the sample was taken.
    pub taken_at: Timestamp,
}

/// The laboratory's own range; either limit may not have been given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LabRange {
    /// Lowest value within.
    pub low: Option<Creatinine>,
    /// Highest value within.
    pub high: Option<Creatinine>,
}

/// What else the rules need.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Person {
    /// Whole years when the new sample was taken.
    pub age_years: u32,
    /// The laboratory's own range.
    pub range: LabRange,
}

/// Which earlier value the new one was compared with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Baseline {
    /// The lowest of the last 7 days.
    Lowest7Days,
    /// The median of 8 to 365 days ago.
    Median365Days,
}

/// The value the new one was compared with, and the ratio.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reference {
    /// Which rule gave it.
    pub baseline: Baseline,
    /// Twice its value in nmol/L: a median of an even number may lie half way between two.
    twice_nmol_per_l: i64,
    new: Creatinine,
}

impl Reference {
    /// The reference value, µmol/L; for showing only.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "at most eight digits")]
    pub fn value_shown(&self) -> f64 {
        self.twice_nmol_per_l as f64 / 2000.0
    }

    /// New value ÷ reference, to four decimals, cut off and never rounded, so that no stage's
    /// limit is shown as reached that is not.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "at most eight digits")]
    pub fn ratio_cut_off(&self) -> f64 {
        self.ratio_in(10_000) as f64 / 10_000.0
    }

    /// The ratio as people read it, two decimals, cut off: 149.9 is `1.49` times 100.
    #[must_use]
    pub fn ratio_text(&self) -> String {
        let hundredths = self.ratio_in(100);
        format!("{}.{:02}", hundredths / 100, hundredths % 100)
    }

    const fn ratio_in(&self, parts: i64) -> i64 {
        2 * parts * self.new.nanomol_per_l() / self.twice_nmol_per_l
    }

    /// Whether the ratio is at least `tenths` ÷ 10, without dividing.
    const fn reaches(&self, tenths: i64) -> bool {
        2 * 10 * self.new.nanomol_per_l() >= tenths * self.twice_nmol_per_l
    }
}

/// What the algorithm says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stage {
    /// No alert.
    None,
    /// AKI 1.
    One,
    /// AKI 2.
    Two,
    /// AKI 3.
    Three,
}

/// Where a value lies in the laboratory's own range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum InRange {
    /// Below it.
    Low,
    /// Within it.
    Within,
    /// Above it.
    High,
    /// The laboratory gave none.
    Unknown,
}

/// The answer and what it rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Aki {
    /// The stage; `None` where there is no earlier result to compare with.
    pub stage: Option<Stage>,
    /// The reference chosen; `None` without an earlier result.
    pub reference: Option<Reference>,
    /// Rise in nmol/L over the lowest of the last 48 hours, if there was one.
    pub rise_48h_nmol_per_l: Option<i64>,
    /// Where the new value lies in the laboratory's range.
    pub in_range: InRange,
    /// Under 18 with no upper limit given: the rule for stage 3 by value was not checked.
    pub value_rule_unchecked: bool,
    /// No alert here, but a rise of exactly 26 µmol/L within 48 h, which NICE NG148 detects.
    pub nice_detects: bool,
    /// Not stage 3 here, but 354 µmol/L and over with a rise, which KDIGO's wording calls so.
    pub kdigo_stage_3: bool,
}

/// Compares `new` with `earlier` results in any order; those at the same moment or later are
/// left out.
#[must_use]
pub fn detect(new: Reading, earlier: &[Reading], person: Person) -> Aki {
    let reference = reference(new, earlier);
    let rise = lowest(new, earlier, |age| age <= Span::hours(48))
        .map(|low| new.value.nanomol_per_l() - low.nanomol_per_l());
    let by_value = is_stage_3_by_value(new.value, person);
    let stage = reference.map(|reference| match reference {
        r if r.reaches(30) || r.reaches(15) && by_value == Some(true) => Stage::Three,
        r if r.reaches(20) => Stage::Two,
        r if r.reaches(15) => Stage::One,
        _ if rise.is_some_and(|nmol| nmol > 26_000) => Stage::One,
        _ => Stage::None,
    });
    Aki {
        stage,
        reference,
        rise_48h_nmol_per_l: rise,
        in_range: in_range(new.value, person.range),
        value_rule_unchecked: by_value.is_none() && reference.is_some_and(|r| r.reaches(15)),
        nice_detects: stage == Some(Stage::None) && rises_by_26(rise),
        kdigo_stage_3: stage.is_some_and(|stage| stage != Stage::Three)
            && person.age_years >= 18
            && new.value.nanomol_per_l() >= 354_000
            && (rises_by_26(rise) || reference.is_some_and(|r| r.reaches(15))),
    }
}

/// At least 26 µmol/L within 48 h: the wording of NICE NG148 and of KDIGO (in mg/dL, 0.3).
fn rises_by_26(rise: Option<i64>) -> bool {
    rise.is_some_and(|nmol| nmol >= 26_000)
}

/// Over 354 µmol/L for adults, over three times the upper limit under 18.
fn is_stage_3_by_value(new: Creatinine, person: Person) -> Option<bool> {
    let nmol = new.nanomol_per_l();
    if person.age_years >= 18 {
        return Some(nmol > 354_000);
    }
    let upper = person.range.high?;
    Some(nmol > 3 * upper.nanomol_per_l())
}

/// The reference with the higher ratio, which is the lower value.
fn reference(new: Reading, earlier: &[Reading]) -> Option<Reference> {
    let by = |baseline, twice_nmol_per_l| Reference {
        baseline,
        twice_nmol_per_l,
        new: new.value,
    };
    let recent = lowest(new, earlier, |age| whole_days(age) <= 7)
        .map(|low| by(Baseline::Lowest7Days, 2 * low.nanomol_per_l()));
    let old = twice_median(new, earlier).map(|twice| by(Baseline::Median365Days, twice));
    match (recent, old) {
        (Some(recent), Some(old)) if old.twice_nmol_per_l < recent.twice_nmol_per_l => Some(old),
        (recent, old) => recent.or(old),
    }
}

/// The earlier values whose age at the new sample is wanted.
fn aged(new: Reading, earlier: &[Reading], wanted: impl Fn(Span) -> bool) -> Vec<Creatinine> {
    let age = |reading: &Reading| new.taken_at.since(reading.taken_at);
    let old_enough = earlier
        .iter()
        .filter(|r| age(r) > Span::ZERO && wanted(age(r)));
    old_enough.map(|reading| reading.value).collect()
}

fn lowest(new: Reading, earlier: &[Reading], wanted: impl Fn(Span) -> bool) -> Option<Creatinine> {
    aged(new, earlier, wanted).into_iter().min()
}

fn twice_median(new: Reading, earlier: &[Reading]) -> Option<i64> {
    let mut values = aged(new, earlier, |age| (8..=365).contains(&whole_days(age)));
    values.sort_unstable();
    let upper = values.get(values.len() / 2)?.nanomol_per_l();
    let lower = values.get((values.len() - 1) / 2)?.nanomol_per_l();
    Some(lower + upper)
}

const fn whole_days(age: Span) -> i64 {
    age.whole_minutes() / (24 * 60)
}

fn in_range(value: Creatinine, range: LabRange) -> InRange {
    match (range.low, range.high) {
        (None, None) => InRange::Unknown,
        (Some(low), _) if value < low => InRange::Low,
        (_, Some(high)) if value > high => InRange::High,
        _ => InRange::Within,
    }
}

impl Aki {
    /// The rise within 48 h in µmol/L; for showing only.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "at most seven digits")]
    pub fn rise_48h_micromol_per_l(&self) -> Option<f64> {
        self.rise_48h_nmol_per_l.map(|nmol| nmol as f64 / 1000.0)
    }

    /// A plain sentence: what it says, of what it is so, and why.
    #[must_use]
    pub fn sentence(&self, new: Creatinine) -> String {
        let value = new.shown();
        let Some((stage, reference)) = self.stage.zip(self.reference) else {
            return format!(
                "creatinine {value} µmol/L, {}; no result in the last 365 days to compare with, so no stage: could be AKI or chronic kidney disease, repeat",
                self.in_range.text()
            );
        };
        let compared = format!(
            "creatinine {value} µmol/L is {} times {} ({} µmol/L)",
            reference.ratio_text(),
            reference.baseline.text(),
            reference.value_shown()
        );
        let rise = match self.rise_48h_nmol_per_l {
            Some(nmol) if !reference.reaches(15) && nmol > 26_000 => {
                format!(
                    ", and rose by more than 26 within 48 h ({})",
                    Creatinine(nmol).shown()
                )
            }
            _ => String::new(),
        };
        let beside = self.beside();
        format!("{}: {compared}{rise}{beside}", stage.text())
    }

    /// What was not checked, and where another published wording says more than this algorithm.
    fn beside(&self) -> String {
        let mut text = String::new();
        if self.value_rule_unchecked {
            text += "; under 18 and no upper limit of the laboratory given, so stage 3 by value was not checked";
        }
        if self.nice_detects {
            text += "; it rose by 26 within 48 h, no alert here (over 26), but NICE NG148 detects AKI from 26 on";
        }
        if self.kdigo_stage_3 {
            text += "; KDIGO's wording calls 354 and over with such a rise stage 3";
        }
        text
    }
}

impl Stage {
    /// As people read it.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Stage::None => "no AKI alert",
            Stage::One => "AKI 1 alert",
            Stage::Two => "AKI 2 alert",
            Stage::Three => "AKI 3 alert",
        }
    }

    /// 0 for no alert, 1 to 3.
    #[must_use]
    pub const fn number(self) -> u8 {
        self as u8
    }
}

impl Baseline {
    /// As people read it.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Baseline::Lowest7Days => "the lowest of the last 7 days",
            Baseline::Median365Days => "the median of 8 to 365 days ago",
        }
    }

    /// As JSON carries it.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Baseline::Lowest7Days => "lowest-0-7-days",
            Baseline::Median365Days => "median-8-365-days",
        }
    }
}

impl InRange {
    /// As people read it.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            InRange::Low => "below the laboratory's range",
            InRange::Within => "within the laboratory's range",
            InRange::High => "above the laboratory's range",
            InRange::Unknown => "no laboratory range given",
        }
    }
}
