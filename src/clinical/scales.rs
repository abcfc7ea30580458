//! Scales whose forms may be used freely: Glasgow Coma Scale and 4AT.
//!
//! Sources: Glasgow Coma Scale, 2014 wording of its parts (from memory; free to use
//! unmodified); 4AT, © MacLullich, Ryan, Cash, the4at.com: free to use, credit kept with every
//! result.

use crate::record::observed::Acvpu;
use crate::record::scales::{FourAtAnswers, Gcs};

/// Where the coma scale is from.
pub const COMA_SOURCE: &str = "Glasgow Coma Scale, 2014 wording, from memory";
/// To be shown beside a coma scale.
pub const COMA_CAUTION: &str = "Always give the parts; a part that cannot be tested leaves no total, and it does not convert to ACVPU.";
/// Where the 4AT is from.
pub const FOUR_AT_SOURCE: &str = "4AT, the4at.com; item scores as published, its terms not checked";
/// To be shown beside a 4AT.
pub const FOUR_AT_CAUTION: &str = "A screen, not a diagnosis: 0 does not exclude delirium, and a change that comes and goes is to be asked of those who know the patient.";
/// To be shown with every 4AT result.
pub const FOUR_AT_CREDIT: &str = "4AT © MacLullich, Ryan, Cash (the4at.com)";

/// Why an answer is none of the scale's.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{part} {given} is not on the scale; accepted are {accepted}")]
pub struct ScaleError {
    /// Which part.
    pub part: &'static str,
    /// What was given.
    pub given: i32,
    /// What would be accepted.
    pub accepted: &'static str,
}

/// One part of the coma scale: its points, or not testable.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ComaPart {
    /// Points, 1 and up.
    Points(u8),
    /// Not testable (swelling, tube, language). Never counted as 1.
    NotTestable,
}

/// Glasgow Coma Scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Coma {
    eye: ComaPart,
    verbal: ComaPart,
    motor: ComaPart,
}

impl Coma {
    /// Eye 1–4, verbal 1–5, motor 1–6; `None` is not testable.
    ///
    /// # Errors
    /// [`ScaleError`] for points that are not on the scale.
    pub fn new(
        eye: Option<i32>,
        verbal: Option<i32>,
        motor: Option<i32>,
    ) -> Result<Coma, ScaleError> {
        let part = |part, points: Option<i32>, high: i32, accepted| match points {
            None => Ok(ComaPart::NotTestable),
            Some(given) => u8::try_from(given)
                .ok()
                .filter(|_| (1..=high).contains(&given))
                .map(ComaPart::Points)
                .ok_or(ScaleError {
                    part,
                    given,
                    accepted,
                }),
        };
        Ok(Coma {
            eye: part("eye", eye, 4, "1 to 4 or NT (not testable)")?,
            verbal: part("verbal", verbal, 5, "1 to 5 or NT (not testable)")?,
            motor: part("motor", motor, 6, "1 to 6 or NT (not testable)")?,
        })
    }

    /// Of the parts as they were written down.
    ///
    /// # Errors
    /// [`ScaleError`] for stored points that are not on the scale.
    pub fn of(gcs: Gcs) -> Result<Coma, ScaleError> {
        let [eye, verbal, motor] = [gcs.eye, gcs.verbal, gcs.motor].map(|part| part.map(i32::from));
        Coma::new(eye, verbal, motor)
    }

    /// `13 (E3 V4 M6)`, `no total (E4 VNT M6)`.
    #[must_use]
    pub fn text(self) -> String {
        let total = self
            .total()
            .map_or("no total".to_owned(), |total| total.to_string());
        format!("{total} ({})", self.parts_text())
    }

    /// The sum, 3 to 15; `None` if a part is not testable.
    #[must_use]
    pub const fn total(self) -> Option<u8> {
        match (self.eye, self.verbal, self.motor) {
            (ComaPart::Points(e), ComaPart::Points(v), ComaPart::Points(m)) => Some(e + v + m),
            _ => None,
        }
    }

    /// The parts, always shown: `E4 V5 M6`, `E4 VNT M6`.
    #[must_use]
    pub fn parts_text(self) -> String {
        let part = |part| match part {
            ComaPart::Points(points) => points.to_string(),
            ComaPart::NotTestable => "NT".to_owned(),
        };
        format!(
            "E{} V{} M{}",
            part(self.eye),
            part(self.verbal),
            part(self.motor)
        )
    }

    /// Whether the verbal part says confused or worse (3 or 4) in somebody who is awake: if it
    /// is new, ACVPU is C (RCP 2017, note on new confusion).
    #[must_use]
    pub const fn suggests_confusion(self) -> bool {
        matches!(self.verbal, ComaPart::Points(3 | 4))
    }
}

/// What to do about consciousness before trusting an ACVPU letter; `None` for Alert. ACVPU
/// and the coma scale do not convert into each other, so no number is offered.
#[must_use]
pub const fn acvpu_caution(acvpu: Acvpu) -> Option<&'static str> {
    match acvpu {
        Acvpu::Alert => None,
        Acvpu::Confused => Some("new confusion: look for a cause, do a 4AT, think of sepsis"),
        Acvpu::Voice | Acvpu::Pain | Acvpu::Unresponsive => {
            Some("not alert: take a full Glasgow Coma Scale; ACVPU does not convert to one")
        }
    }
}

/// How far a scale was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Taken {
    /// Not at all.
    Not,
    /// Some of it; what is left was not done or could not be tested, and there is no total.
    InPart,
    /// All of it.
    Whole,
}

impl Taken {
    /// Of each time it was written down, whether all of it was: once is enough.
    pub fn of(times: impl Iterator<Item = bool>) -> Taken {
        times.fold(Taken::Not, |taken, whole| match (taken, whole) {
            (Taken::Whole, _) | (_, true) => Taken::Whole,
            (Taken::Not | Taken::InPart, false) => Taken::InPart,
        })
    }
}

/// As [`acvpu_caution`], for a set beside which a coma scale or a 4AT was written down: what was
/// done is not asked for again, and what was done in part is not said to be done.
#[must_use]
pub const fn acvpu_caution_beside(
    acvpu: Acvpu,
    gcs: Taken,
    four_at: Taken,
) -> Option<&'static str> {
    match (acvpu, gcs, four_at) {
        (Acvpu::Confused, _, Taken::Whole) => {
            Some("new confusion: look for a cause, think of sepsis; the 4AT is done")
        }
        (Acvpu::Confused, _, Taken::InPart) => Some(
            "new confusion: look for a cause, think of sepsis; the 4AT was taken in part, do the rest",
        ),
        (Acvpu::Voice | Acvpu::Pain | Acvpu::Unresponsive, Taken::Whole, _) => {
            Some("not alert: the coma scale is taken; ACVPU does not convert to one")
        }
        (Acvpu::Voice | Acvpu::Pain | Acvpu::Unresponsive, Taken::InPart, _) => Some(
            "not alert: the coma scale was taken in part, so it has no total; take the rest as soon as it can be tested; ACVPU does not convert to one",
        ),
        _ => acvpu_caution(acvpu),
    }
}

/// What a written-down 4AT comes to: all of it, or what is known of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FourAtFound {
    known: u8,
    /// Items that were not done, by name.
    pub not_done: Vec<&'static str>,
}

impl FourAtFound {
    /// Of the items or the total as they were written down.
    ///
    /// # Errors
    /// [`ScaleError`] for stored points the form does not have.
    pub fn of(answers: FourAtAnswers) -> Result<FourAtFound, ScaleError> {
        match answers {
            FourAtAnswers::Total(total @ 0..=12) => Ok(FourAtFound {
                known: total,
                not_done: Vec::new(),
            }),
            FourAtAnswers::Total(total) => Err(ScaleError {
                part: "total",
                given: i32::from(total),
                accepted: "0 to 12",
            }),
            FourAtAnswers::Items {
                alertness,
                amt4,
                attention,
                acute_change,
            } => {
                let items = [alertness, amt4, attention, acute_change];
                let [a, b, c, d] = items.map(|item| i32::from(item.unwrap_or(0)));
                let known = FourAt::new(a, b, c, d)?.total();
                let named = ["alertness", "AMT4", "attention", "acute change"];
                let not_done = named.into_iter().zip(items);
                let not_done = not_done.filter(|(_, item)| item.is_none());
                Ok(FourAtFound {
                    known,
                    not_done: not_done.map(|(name, _)| name).collect(),
                })
            }
        }
    }

    /// The sum; `None` if an item was not done.
    #[must_use]
    pub fn total(&self) -> Option<u8> {
        self.not_done.is_empty().then_some(self.known)
    }

    /// What it means. An incomplete one means something only where what is known is 4 already:
    /// no item takes points away.
    #[must_use]
    pub fn reading(&self) -> Option<FourAtReading> {
        (self.not_done.is_empty() || self.known >= 4).then(|| FourAtReading::of(self.known))
    }

    /// `7: possible delirium`, `no total, attention not done`.
    #[must_use]
    pub fn text(&self) -> String {
        match (self.total(), self.reading()) {
            (Some(total), Some(reading)) => format!("{total}: {}", reading.text()),
            (None, Some(reading)) => format!(
                "no total, {} not done; {} points already: {}",
                self.not_done.join(" and "),
                self.known,
                reading.text()
            ),
            _ => format!("no total, {} not done", self.not_done.join(" and ")),
        }
    }
}

/// The four parts of a 4AT, as points.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct FourAt {
    points: [u8; 4],
}

/// What a 4AT total means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FourAtReading {
    /// 0.
    DoesNotExclude,
    /// 1 to 3.
    PossibleCognitiveImpairment,
    /// 4 and over.
    PossibleDelirium,
}

impl FourAt {
    /// Alertness 0 or 4; AMT4 0, 1 or 2; attention 0, 1 or 2; acute change 0 or 4.
    ///
    /// # Errors
    /// [`ScaleError`] for points the form does not have.
    pub fn new(
        alertness: i32,
        amt4: i32,
        attention: i32,
        acute_change: i32,
    ) -> Result<FourAt, ScaleError> {
        let check = |part, given: i32, allowed: &[i32], accepted| {
            u8::try_from(given)
                .ok()
                .filter(|_| allowed.contains(&given))
                .ok_or(ScaleError {
                    part,
                    given,
                    accepted,
                })
        };
        Ok(FourAt {
            points: [
                check("alertness", alertness, &[0, 4], "0 or 4")?,
                check("amt4", amt4, &[0, 1, 2], "0, 1 or 2")?,
                check("attention", attention, &[0, 1, 2], "0, 1 or 2")?,
                check("acute_change", acute_change, &[0, 4], "0 or 4")?,
            ],
        })
    }

    /// The sum, 0 to 12.
    #[must_use]
    pub fn total(self) -> u8 {
        self.points.iter().sum()
    }

    /// What it means.
    #[must_use]
    pub fn reading(self) -> FourAtReading {
        FourAtReading::of(self.total())
    }
}

impl FourAtReading {
    const fn of(total: u8) -> FourAtReading {
        match total {
            0 => FourAtReading::DoesNotExclude,
            1..=3 => FourAtReading::PossibleCognitiveImpairment,
            _ => FourAtReading::PossibleDelirium,
        }
    }

    /// As people read it.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            FourAtReading::DoesNotExclude => "does not exclude delirium",
            FourAtReading::PossibleCognitiveImpairment => "possible cognitive impairment",
            FourAtReading::PossibleDelirium => "possible delirium",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Clinical reference W9.
    #[test]
    fn w9_four_at() {
        use FourAtReading::{DoesNotExclude, PossibleCognitiveImpairment, PossibleDelirium};
        for (alertness, amt4, attention, change, total, reading) in [
            (0, 0, 0, 0, 0, DoesNotExclude),
            (0, 1, 0, 0, 1, PossibleCognitiveImpairment),
            (0, 1, 1, 0, 2, PossibleCognitiveImpairment),
            (0, 2, 1, 0, 3, PossibleCognitiveImpairment),
            (0, 2, 2, 0, 4, PossibleDelirium),
            (0, 0, 0, 4, 4, PossibleDelirium),
            (4, 0, 0, 0, 4, PossibleDelirium),
            (4, 2, 2, 4, 12, PossibleDelirium),
            (0, 1, 2, 4, 7, PossibleDelirium),
            (4, 2, 2, 0, 8, PossibleDelirium),
        ] {
            let four_at = FourAt::new(alertness, amt4, attention, change).expect("on the form");
            assert_eq!((four_at.total(), four_at.reading()), (total, reading));
        }
        for bad in [(1, 0, 0, 0), (0, 3, 0, 0), (0, 0, -1, 0), (0, 0, 0, 2)] {
            let refused = FourAt::new(bad.0, bad.1, bad.2, bad.3).expect_err("not on the form");
            assert!(
                refused
                    .to_string()
                    .contains("is not on the scale; accepted are 0")
            );
        }
    }

    /// Clinical reference W9.
    #[test]
    fn w9_coma_scale() {
        for (e, v, m, total, text) in [
            (Some(4), Some(5), Some(6), Some(15), "E4 V5 M6"),
            (Some(3), Some(4), Some(6), Some(13), "E3 V4 M6"),
            (Some(2), Some(2), Some(4), Some(8), "E2 V2 M4"),
            (Some(1), Some(1), Some(1), Some(3), "E1 V1 M1"),
            (Some(4), None, Some(6), None, "E4 VNT M6"),
        ] {
            let coma = Coma::new(e, v, m).expect("on the scale");
            assert_eq!((coma.total(), coma.parts_text().as_str()), (total, text));
        }
        for (e, v, m) in [(0, 5, 6), (5, 5, 6), (4, 6, 6), (4, 5, 7), (4, 5, 0)] {
            assert!(Coma::new(Some(e), Some(v), Some(m)).is_err());
        }
        let verbal = |v| {
            Coma::new(Some(4), v, Some(6))
                .expect("on the scale")
                .suggests_confusion()
        };
        assert_eq!(
            [Some(5), Some(4), Some(3), Some(2), None].map(verbal),
            [false, true, true, false, false]
        );
    }

    /// An incomplete one has no total; 4 points are 4 points whatever the rest would be.
    #[test]
    fn a_4at_with_an_item_not_done_has_no_total() {
        let found = |a, b, c, d| {
            FourAtFound::of(FourAtAnswers::Items {
                alertness: a,
                amt4: b,
                attention: c,
                acute_change: d,
            })
            .expect("on the form")
        };
        let three = found(Some(0), Some(2), Some(1), None);
        assert_eq!((three.total(), three.reading()), (None, None));
        assert_eq!(three.text(), "no total, acute change not done");
        let four = found(Some(4), None, Some(0), None);
        assert_eq!(four.total(), None);
        assert_eq!(
            four.text(),
            "no total, AMT4 and acute change not done; 4 points already: possible delirium"
        );
        assert_eq!(
            found(Some(0), Some(1), Some(2), Some(4)).text(),
            "7: possible delirium"
        );
        let told = |total| FourAtFound::of(FourAtAnswers::Total(total));
        assert_eq!(
            told(0).expect("a total").text(),
            "0: does not exclude delirium"
        );
        assert!(told(13).is_err(), "bytes may say anything");
    }

    #[test]
    fn stored_parts_that_are_not_on_the_scale_have_no_total() {
        let gcs = |eye| Gcs {
            eye,
            verbal: Some(4),
            motor: Some(6),
        };
        assert_eq!(
            Coma::of(gcs(Some(3))).expect("on the scale").text(),
            "13 (E3 V4 M6)"
        );
        assert_eq!(
            Coma::of(gcs(None)).expect("on the scale").text(),
            "no total (ENT V4 M6)"
        );
        assert!(Coma::of(gcs(Some(9))).is_err());
    }

    #[test]
    fn what_was_done_is_not_asked_for_again() {
        use Taken::{InPart, Not, Whole};
        let confused = |done| acvpu_caution_beside(Acvpu::Confused, Not, done).expect("a caution");
        assert!(confused(Not).contains("do a 4AT") && confused(Whole).contains("4AT is done"));
        assert!(confused(Whole).contains("think of sepsis"));
        let voice = |done| acvpu_caution_beside(Acvpu::Voice, done, Not).expect("a caution");
        assert!(voice(Not).contains("take a full") && voice(Whole).contains("is taken"));
        assert_eq!(acvpu_caution_beside(Acvpu::Alert, Whole, Whole), None);
        for part in [confused(InPart), voice(InPart)] {
            assert!(
                part.contains("taken in part") && !part.contains("is done"),
                "{part}"
            );
            assert!(!part.contains("is taken"), "{part}");
        }
        assert_eq!(Taken::of([false, true, false].into_iter()), Whole);
        assert_eq!(Taken::of([false].into_iter()), InPart);
        assert_eq!(Taken::of([].into_iter()), Not);
    }

    #[test]
    fn only_alert_has_no_caution() {
        let cautioned: Vec<bool> = Acvpu::ALL
            .iter()
            .map(|a| acvpu_caution(*a).is_some())
            .collect();
        assert_eq!(cautioned, [false, true, true, true, true]);
    }
}
