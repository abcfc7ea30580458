//! What was observed: readings with where they came from, oxygen, consciousness.

use serde::{Deserialize, Serialize};

use super::choice::choices;
use super::field::{FieldValue, ReadContext, Shape, ShowContext};
use super::problem::Problem;
use super::quantity::{Fio2Percent, FlowCentiLPerMin};

choices! {
    /// Where a reading came from.
    ReadingSource {
        Monitored = "monitored", "monitoring device", also "monitor" | "device";
        Patient = "patient", "measured by the patient", also "pt";
        Carer = "carer", "measured by a carer";
        Staff = "staff", "measured by staff", also "nurse";
    }
}

/// One reading of an observation set, or why there is none.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reading<Q> {
    /// A value.
    Value {
        /// What was measured.
        value: Q,
        /// Where it came from, if it differs from the set's own source.
        source: Option<ReadingSource>,
    },
    /// It was wanted and could not be had.
    NotObtained {
        /// Why: refused, asleep, device out of range.
        reason: String,
    },
}

impl<Q: Copy> Reading<Q> {
    /// The value, if there is one.
    pub fn value(&self) -> Option<Q> {
        match self {
            Reading::Value { value, .. } => Some(*value),
            Reading::NotObtained { .. } => None,
        }
    }
}

impl<Q: FieldValue> FieldValue for Reading<Q> {
    const SHAPE: Shape = Q::SHAPE;
    const HINT: &'static str = Q::HINT;

    fn read(text: &str, cx: &ReadContext) -> Result<Self, Problem> {
        let text = text.trim();
        for opening in ["not obtained", "none"] {
            if let Some(rest) = after(text, opening) {
                return not_obtained(rest);
            }
        }
        let (number, source) = match text.split_once('@') {
            None => (text, None),
            Some((number, source)) => (number, Some(ReadingSource::read(source, cx)?)),
        };
        Ok(Reading::Value {
            value: Q::read(number, cx)?,
            source,
        })
    }
    fn show(&self, cx: &ShowContext) -> Option<String> {
        match self {
            Reading::Value { value, source } => {
                let from = source
                    .map(|s| format!(" ({})", s.label()))
                    .unwrap_or_default();
                value.show(cx).map(|shown| format!("{shown}{from}"))
            }
            Reading::NotObtained { reason } => Some(format!("not obtained: {reason}")),
        }
    }
    fn typed(&self, cx: &ShowContext) -> Option<String> {
        match self {
            Reading::Value { value, source } => {
                let from = source.map(|s| format!("@{}", s.code())).unwrap_or_default();
                value.typed(cx).map(|typed| format!("{typed}{from}"))
            }
            Reading::NotObtained { .. } => self.show(cx),
        }
    }
    fn unusual(&self) -> Option<String> {
        match self {
            Reading::Value { value, .. } => value.unusual(),
            Reading::NotObtained { .. } => None,
        }
    }
}

/// What follows an ASCII opening, in whatever case it was typed. Measured on the text itself:
/// lower case can be longer or shorter.
fn after<'a>(text: &'a str, opening: &str) -> Option<&'a str> {
    let (begun, rest) = text.split_at_checked(opening.len())?;
    begun.eq_ignore_ascii_case(opening).then_some(rest)
}

fn not_obtained<Q>(rest: &str) -> Result<Reading<Q>, Problem> {
    let reason = rest.trim_start_matches([':', ',', ' ']).trim();
    if reason.is_empty() {
        return Err(Problem::new(
            "no reason is given why it was not obtained",
            "not obtained: the reason, e.g. not obtained: refused",
        ));
    }
    Ok(Reading::NotObtained {
        reason: reason.to_owned(),
    })
}

choices! {
    /// How oxygen is given.
    OxygenDevice {
        Cannula = "cannula", "nasal cannula", also "nc" | "nasal" | "cannulae";
        SimpleMask = "mask", "simple face mask";
        Venturi = "venturi", "Venturi mask";
        Reservoir = "reservoir", "reservoir mask", also "nrb";
        Concentrator = "concentrator", "home concentrator";
        Niv = "niv", "non-invasive ventilation with oxygen";
        HighFlow = "high-flow", "high-flow nasal oxygen";
        Other = "other", "another device";
    }
}

/// What the patient breathes. Air is a statement; it is never assumed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Oxygen {
    /// Room air.
    Air,
    /// Supplemental oxygen, with its device and either flow or inspired fraction.
    Given {
        /// How.
        device: OxygenDevice,
        /// L/min, in hundredths, where it was stated.
        flow: Option<FlowCentiLPerMin>,
        /// Inspired per cent, where it was stated.
        fio2: Option<Fio2Percent>,
    },
}

impl Oxygen {
    /// Any supplemental oxygen.
    #[must_use]
    pub const fn is_supplemental(self) -> bool {
        matches!(self, Oxygen::Given { .. })
    }
}

impl FieldValue for Oxygen {
    const SHAPE: Shape = Shape::Structured;
    const HINT: &'static str = "air, or device and flow: cannula 2 (L/min), venturi 28%";

    fn read(text: &str, cx: &ReadContext) -> Result<Self, Problem> {
        let words: Vec<&str> = text
            .split([' ', ','])
            .filter(|word| !word.is_empty())
            .collect();
        let lower = text.trim().to_lowercase();
        if matches!(lower.as_str(), "air" | "ra" | "room air") {
            return Ok(Oxygen::Air);
        }
        let Some(device) = words.first().and_then(|word| OxygenDevice::from_code(word)) else {
            return Err(Problem::new(
                format!("\"{text}\" names no device"),
                Self::HINT,
            ));
        };
        let (mut flow, mut fio2) = (None, None);
        let amount = words[1..].join("");
        if amount.ends_with('%') {
            fio2 = Some(Fio2Percent::read(&amount, cx)?);
        } else if !amount.is_empty() {
            flow = Some(FlowCentiLPerMin::read(&amount, cx)?);
        } else if !matches!(device, OxygenDevice::Niv | OxygenDevice::Other) {
            return Err(Problem::new("the flow is missing", Self::HINT));
        }
        Ok(Oxygen::Given { device, flow, fio2 })
    }
    fn show(&self, _: &ShowContext) -> Option<String> {
        Some(match self {
            Oxygen::Air => "on air".to_owned(),
            Oxygen::Given { device, flow, fio2 } => {
                let flow = flow.map(|f| format!(" {f}")).unwrap_or_default();
                let fio2 = fio2.map(|f| format!(" {f}")).unwrap_or_default();
                format!("on oxygen{flow}{fio2} by {}", device.label())
            }
        })
    }
    fn typed(&self, cx: &ShowContext) -> Option<String> {
        match self {
            Oxygen::Air => Some("air".to_owned()),
            Oxygen::Given { device, flow, fio2 } => {
                let flow = flow.and_then(|f| f.typed(cx)).map(|f| format!(" {f}"));
                let fio2 = fio2.map(|f| format!(" {f}"));
                let amount = flow.or(fio2).unwrap_or_default();
                Some(format!("{}{amount}", device.code()))
            }
        }
    }
    fn unusual(&self) -> Option<String> {
        match self {
            Oxygen::Air => None,
            Oxygen::Given { flow, fio2, .. } => flow.unusual().or_else(|| fio2.unusual()),
        }
    }
}

choices! {
    /// Consciousness on the ACVPU scale (RCP, NEWS2, 2017).
    Acvpu {
        Alert = "alert", "Alert", also "a" | "al";
        /// New confusion only; a long-standing one that has not changed is Alert.
        Confused = "confused", "new Confusion", also "c" | "confusion" | "new-confusion";
        Voice = "voice", "responds to Voice", also "v";
        Pain = "pain", "responds to Pain", also "p";
        Unresponsive = "unresponsive", "Unresponsive", also "u";
    }
}

choices! {
    /// Where a body temperature was taken. A wearable on the skin is another quantity and
    /// has its own field.
    TemperatureSite {
        Tympanic = "tympanic", "tympanic", also "ear";
        Oral = "oral", "oral", also "mouth";
        Axillary = "axillary", "axillary", also "armpit";
        Temporal = "temporal", "temporal artery", also "forehead";
        Rectal = "rectal", "rectal";
    }
}

choices! {
    /// Which NEWS2 oxygen-saturation scale applies.
    Spo2Scale {
        Scale1 = "1", "scale 1", also "scale-1";
        /// Only where somebody competent prescribed a target of 88 to 92 %.
        Scale2 = "2", "scale 2 (prescribed target 88 to 92 %)", also "scale-2";
    }
}

choices! {
    /// How the pulse felt.
    Rhythm {
        Regular = "regular", "regular", also "reg";
        Irregular = "irregular", "irregular", also "irreg";
    }
}

choices! {
    /// What the body was doing when blood pressure was taken.
    Posture {
        Sitting = "sitting", "sitting";
        Lying = "lying", "lying";
        Standing = "standing", "standing";
    }
}

choices! {
    /// The arm a blood pressure was measured in.
    Arm {
        Left = "left", "left arm", also "l";
        Right = "right", "right arm", also "r";
    }
}

choices! {
    /// What matters beside a severe pressure (NICE NG136 1.5.2 and 1.5.3, and what may point to
    /// it). New confusion is ACVPU's to say, kidney injury the laboratory's.
    PressureSign {
        ChestPain = "chest-pain", "chest pain", also "chest";
        Breathless = "breathless", "breathlessness", also "breathlessness" | "sob";
        HeartFailure = "heart-failure", "signs of heart failure";
        Sight = "sight", "disturbed sight", also "vision" | "visual";
        Headache = "headache", "headache";
        Retina = "retina", "retinal haemorrhage or papilloedema", also "papilloedema";
        Phaeochromocytoma = "phaeo", "suspected phaeochromocytoma", also "phaeochromocytoma";
        /// Asked for, and not there: not the same as not asked.
        NoneFound = "none", "none of these, asked for", also "nil";
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::quantity::RespRatePerMin;
    use crate::record::time::{Timestamp, WardZone};

    fn read(text: &str) -> Result<Reading<RespRatePerMin>, Problem> {
        let cx = ReadContext {
            now: Timestamp(1_784_208_000_000_000),
            zone: WardZone::LONDON,
        };
        Reading::read(text, &cx)
    }

    #[test]
    fn a_reason_is_kept_to_the_letter() {
        for (typed, kept) in [
            ("none ẞẞ", "ẞẞ"),
            ("NONE: İ was asleep", "İ was asleep"),
            ("Not Obtained, ẞ", "ẞ"),
        ] {
            let reason = kept.to_owned();
            assert_eq!(read(typed), Ok(Reading::NotObtained { reason }), "{typed}");
        }
        assert!(read("noné").is_err(), "cut inside a letter");
    }
}
