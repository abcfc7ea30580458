//! Typical ranges and critical values by analyte. The laboratory's own range on a result always
//! wins. Whether a limit itself is within or critical follows the source and is no policy.

use super::values::ordered;
use super::{Conflict, Key, Preset, Section, Values, tenths};
use crate::clinical::blood::{Bound, Critical, Range};
use crate::record::kind::episode::Sex;
use crate::record::kind::sample::Analyte;
use crate::record::quantity::Decimal;

const HANDBOOK: &str = "laboratory handbooks, mostly from memory; the laboratory's own range wins";
const RCPATH: &str = "RCPath G158 (2017)";
const MEMORY: &str = "RCPath G158 (2017), haematology from memory";
const NO_GUIDANCE: &str = "no guidance found: not critical by itself";

/// Nothing a laboratory reports is larger.
const LARGEST: Decimal = tenths(200_000);

/// The end of a range has no limit.
const NONE: Preset = Preset::Text("none");

const fn at(tenths_of_unit: i64) -> Preset {
    Preset::Number(tenths(tenths_of_unit))
}

/// Both ends of a range.
struct Ends {
    low: Key,
    high: Key,
}

macro_rules! end {
    ($name:expr, $preset:expr, $unit:literal, $help:expr, $source:expr) => {
        Key::number($name, $preset, (tenths(0), LARGEST), $unit, $help, $source).or("none")
    };
}

macro_rules! range {
    ($code:literal, $what:literal, $unit:literal, $low:expr, $high:expr, $within:literal) => {
        Ends {
            low: end!(
                concat!("blood.", $code, ".low"),
                $low,
                $unit,
                concat!("Typical ", $what, ": lowest value within."),
                HANDBOOK
            ),
            high: end!(
                concat!("blood.", $code, ".high"),
                $high,
                $unit,
                concat!("Typical ", $what, ": ", $within, "."),
                HANDBOOK
            ),
        }
    };
}

macro_rules! critical {
    ($code:literal, $what:literal, $unit:literal, $low:expr, $high:expr, $below:literal, $above:literal, $source:expr) => {
        Ends {
            low: end!(
                concat!("blood.", $code, ".critical_low"),
                $low,
                $unit,
                concat!("Critical ", $what, ", told by voice at once: ", $below, "."),
                $source
            ),
            high: end!(
                concat!("blood.", $code, ".critical_high"),
                $high,
                $unit,
                concat!("Critical ", $what, ", told by voice at once: ", $above, "."),
                $source
            ),
        }
    };
}

const CRP: Ends = range!("crp", "CRP", "mg/L", NONE, at(50), "first value above");
const CRP_CRITICAL: Ends = critical!(
    "crp",
    "CRP",
    "mg/L",
    NONE,
    at(3000),
    "this and below",
    "this and above",
    RCPATH
);
const WCC: Ends = range!(
    "wcc",
    "white cells",
    "10⁹/L",
    at(40),
    at(110),
    "highest value within"
);
const WCC_CRITICAL: Ends = critical!(
    "wcc",
    "white cells",
    "10⁹/L",
    NONE,
    NONE,
    "this and below",
    "this and above",
    NO_GUIDANCE
);
const NEUT: Ends = range!(
    "neut",
    "neutrophils",
    "10⁹/L",
    at(20),
    at(75),
    "highest value within"
);
const NEUT_CRITICAL: Ends = critical!(
    "neut",
    "neutrophils",
    "10⁹/L",
    at(5),
    at(500),
    "anything below this",
    "anything above this",
    MEMORY
);
const HB_WOMEN: Ends = range!(
    "hb.women",
    "haemoglobin of women",
    "g/L",
    at(1150),
    at(1650),
    "highest value within"
);
const HB_MEN: Ends = range!(
    "hb.men",
    "haemoglobin of men",
    "g/L",
    at(1300),
    at(1800),
    "highest value within"
);
const HB_CRITICAL: Ends = critical!(
    "hb",
    "haemoglobin",
    "g/L",
    at(700),
    NONE,
    "anything below this",
    "anything above this",
    MEMORY
);
const PLT: Ends = range!(
    "plt",
    "platelets",
    "10⁹/L",
    at(1500),
    at(4000),
    "highest value within"
);
const PLT_CRITICAL: Ends = critical!(
    "plt",
    "platelets",
    "10⁹/L",
    at(300),
    at(10000),
    "anything below this",
    "anything above this",
    MEMORY
);
const UREA: Ends = range!(
    "urea",
    "urea",
    "mmol/L",
    at(25),
    at(78),
    "highest value within"
);
const UREA_CRITICAL: Ends = critical!(
    "urea",
    "urea",
    "mmol/L",
    NONE,
    at(300),
    "this and below",
    "this and above",
    RCPATH
);
const CREAT_WOMEN: Ends = range!(
    "creat.women",
    "creatinine of women",
    "µmol/L",
    at(450),
    at(840),
    "highest value within"
);
const CREAT_MEN: Ends = range!(
    "creat.men",
    "creatinine of men",
    "µmol/L",
    at(590),
    at(1040),
    "highest value within"
);
const CREAT_CRITICAL: Ends = critical!(
    "creat",
    "creatinine",
    "µmol/L",
    NONE,
    at(3540),
    "this and below",
    "this and above",
    RCPATH
);
const NA: Ends = range!(
    "na",
    "sodium",
    "mmol/L",
    at(1330),
    at(1460),
    "highest value within"
);
const NA_CRITICAL: Ends = critical!(
    "na",
    "sodium",
    "mmol/L",
    at(1200),
    at(1600),
    "this and below",
    "this and above",
    RCPATH
);
const K: Ends = range!(
    "k",
    "potassium",
    "mmol/L",
    at(35),
    at(53),
    "highest value within"
);
const K_CRITICAL: Ends = critical!(
    "k",
    "potassium",
    "mmol/L",
    at(25),
    at(65),
    "this and below",
    "this and above",
    RCPATH
);
const ALT_WOMEN: Ends = range!(
    "alt.women",
    "ALT of women",
    "U/L",
    NONE,
    at(330),
    "first value above"
);
const ALT_MEN: Ends = range!(
    "alt.men",
    "ALT of men",
    "U/L",
    NONE,
    at(410),
    "first value above"
);
const ALT_CRITICAL: Ends = critical!(
    "alt",
    "ALT",
    "U/L",
    NONE,
    NONE,
    "this and below",
    "this and above",
    NO_GUIDANCE
);
const ALB: Ends = range!(
    "alb",
    "albumin",
    "g/L",
    at(350),
    at(500),
    "highest value within"
);
const ALB_CRITICAL: Ends = critical!(
    "alb",
    "albumin",
    "g/L",
    NONE,
    NONE,
    "this and below",
    "this and above",
    NO_GUIDANCE
);
const LACTATE: Ends = range!(
    "lactate",
    "venous lactate",
    "mmol/L",
    at(5),
    at(22),
    "highest value within"
);
const LACTATE_CRITICAL: Ends = critical!(
    "lactate",
    "venous lactate",
    "mmol/L",
    NONE,
    NONE,
    "this and below",
    "this and above",
    NO_GUIDANCE
);
const GLUCOSE: Ends = range!(
    "glucose",
    "glucose",
    "mmol/L",
    NONE,
    NONE,
    "highest value within"
);
const GLUCOSE_CRITICAL: Ends = critical!(
    "glucose",
    "glucose",
    "mmol/L",
    at(25),
    at(250),
    "this and below",
    "this and above",
    RCPATH
);

pub(super) const SECTION: Section = Section {
    name: "blood",
    about: "Blood results (the laboratory's own range on a result always wins)",
    keys: &[
        &CRP.low,
        &CRP.high,
        &CRP_CRITICAL.low,
        &CRP_CRITICAL.high,
        &WCC.low,
        &WCC.high,
        &WCC_CRITICAL.low,
        &WCC_CRITICAL.high,
        &NEUT.low,
        &NEUT.high,
        &NEUT_CRITICAL.low,
        &NEUT_CRITICAL.high,
        &HB_WOMEN.low,
        &HB_WOMEN.high,
        &HB_MEN.low,
        &HB_MEN.high,
        &HB_CRITICAL.low,
        &HB_CRITICAL.high,
        &PLT.low,
        &PLT.high,
        &PLT_CRITICAL.low,
        &PLT_CRITICAL.high,
        &UREA.low,
        &UREA.high,
        &UREA_CRITICAL.low,
        &UREA_CRITICAL.high,
        &CREAT_WOMEN.low,
        &CREAT_WOMEN.high,
        &CREAT_MEN.low,
        &CREAT_MEN.high,
        &CREAT_CRITICAL.low,
        &CREAT_CRITICAL.high,
        &NA.low,
        &NA.high,
        &NA_CRITICAL.low,
        &NA_CRITICAL.high,
        &K.low,
        &K.high,
        &K_CRITICAL.low,
        &K_CRITICAL.high,
        &ALT_WOMEN.low,
        &ALT_WOMEN.high,
        &ALT_MEN.low,
        &ALT_MEN.high,
        &ALT_CRITICAL.low,
        &ALT_CRITICAL.high,
        &ALB.low,
        &ALB.high,
        &ALB_CRITICAL.low,
        &ALB_CRITICAL.high,
        &LACTATE.low,
        &LACTATE.high,
        &LACTATE_CRITICAL.low,
        &LACTATE_CRITICAL.high,
        &GLUCOSE.low,
        &GLUCOSE.high,
        &GLUCOSE_CRITICAL.low,
        &GLUCOSE_CRITICAL.high,
    ],
    check,
};

fn check(values: &Values) -> Vec<Conflict> {
    [
        ordered(values, &CRP.low, &CRP.high),
        ordered(values, &CRP_CRITICAL.low, &CRP_CRITICAL.high),
        ordered(values, &WCC.low, &WCC.high),
        ordered(values, &WCC_CRITICAL.low, &WCC_CRITICAL.high),
        ordered(values, &NEUT.low, &NEUT.high),
        ordered(values, &NEUT_CRITICAL.low, &NEUT_CRITICAL.high),
        ordered(values, &HB_WOMEN.low, &HB_WOMEN.high),
        ordered(values, &HB_MEN.low, &HB_MEN.high),
        ordered(values, &HB_CRITICAL.low, &HB_CRITICAL.high),
        ordered(values, &PLT.low, &PLT.high),
        ordered(values, &PLT_CRITICAL.low, &PLT_CRITICAL.high),
        ordered(values, &UREA.low, &UREA.high),
        ordered(values, &UREA_CRITICAL.low, &UREA_CRITICAL.high),
        ordered(values, &CREAT_WOMEN.low, &CREAT_WOMEN.high),
        ordered(values, &CREAT_MEN.low, &CREAT_MEN.high),
        ordered(values, &CREAT_CRITICAL.low, &CREAT_CRITICAL.high),
        ordered(values, &NA.low, &NA.high),
        ordered(values, &NA_CRITICAL.low, &NA_CRITICAL.high),
        ordered(values, &K.low, &K.high),
        ordered(values, &K_CRITICAL.low, &K_CRITICAL.high),
        ordered(values, &ALT_WOMEN.low, &ALT_WOMEN.high),
        ordered(values, &ALT_MEN.low, &ALT_MEN.high),
        ordered(values, &ALT_CRITICAL.low, &ALT_CRITICAL.high),
        ordered(values, &ALB.low, &ALB.high),
        ordered(values, &ALB_CRITICAL.low, &ALB_CRITICAL.high),
        ordered(values, &LACTATE.low, &LACTATE.high),
        ordered(values, &LACTATE_CRITICAL.low, &LACTATE_CRITICAL.high),
        ordered(values, &GLUCOSE.low, &GLUCOSE.high),
        ordered(values, &GLUCOSE_CRITICAL.low, &GLUCOSE_CRITICAL.high),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Ranges and critical values.
#[derive(Debug, Clone, Copy)]
pub struct Blood<'a>(&'a Values);

impl Blood<'_> {
    /// The typical range of an analyte, where the laboratory gave none; `None` where there is
    /// none, or it depends on a sex that is not known.
    #[must_use]
    pub fn range(&self, analyte: Analyte, sex: Sex) -> Option<Range> {
        let by_sex = |women, men| match sex {
            Sex::Female => Some(women),
            Sex::Male => Some(men),
            Sex::Other | Sex::NotKnown | Sex::NotSpecified | Sex::Indeterminate => None,
        };
        let (ends, high_is_above): (&Ends, bool) = match analyte {
            Analyte::Crp => Some((&CRP, true)),
            Analyte::WhiteCells => Some((&WCC, false)),
            Analyte::Neutrophils => Some((&NEUT, false)),
            Analyte::Haemoglobin => by_sex(&HB_WOMEN, &HB_MEN).map(|ends| (ends, false)),
            Analyte::Platelets => Some((&PLT, false)),
            Analyte::Urea => Some((&UREA, false)),
            Analyte::Creatinine => by_sex(&CREAT_WOMEN, &CREAT_MEN).map(|ends| (ends, false)),
            Analyte::Sodium => Some((&NA, false)),
            Analyte::Potassium => Some((&K, false)),
            Analyte::Alt => by_sex(&ALT_WOMEN, &ALT_MEN).map(|ends| (ends, true)),
            Analyte::Albumin => Some((&ALB, false)),
            Analyte::Lactate => Some((&LACTATE, false)),
            Analyte::Glucose => Some((&GLUCOSE, false)),
        }?;
        let (low, high) = (self.0.number_or(&ends.low), self.0.number_or(&ends.high));
        low.or(high).map(|_| Range {
            low,
            high,
            high_is_above,
        })
    }

    /// What is critical; neither end for an analyte without guidance.
    #[must_use]
    pub fn critical(&self, analyte: Analyte) -> Critical {
        let (ends, inclusive) = match analyte {
            Analyte::Crp => (&CRP_CRITICAL, true),
            Analyte::WhiteCells => (&WCC_CRITICAL, true),
            Analyte::Neutrophils => (&NEUT_CRITICAL, false),
            Analyte::Haemoglobin => (&HB_CRITICAL, false),
            Analyte::Platelets => (&PLT_CRITICAL, false),
            Analyte::Urea => (&UREA_CRITICAL, true),
            Analyte::Creatinine => (&CREAT_CRITICAL, true),
            Analyte::Sodium => (&NA_CRITICAL, true),
            Analyte::Potassium => (&K_CRITICAL, true),
            Analyte::Alt => (&ALT_CRITICAL, true),
            Analyte::Albumin => (&ALB_CRITICAL, true),
            Analyte::Lactate => (&LACTATE_CRITICAL, true),
            Analyte::Glucose => (&GLUCOSE_CRITICAL, true),
        };
        let bound = |key| {
            self.0
                .number_or(key)
                .map(|limit| Bound { limit, inclusive })
        };
        Critical {
            low: bound(&ends.low),
            high: bound(&ends.high),
        }
    }
}

impl Values {
    /// The section `blood`.
    #[must_use]
    pub const fn blood(&self) -> Blood<'_> {
        Blood(self)
    }
}
