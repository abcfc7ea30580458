//! Answers to scales as they were given: the Glasgow Coma Scale by its parts, the 4AT by its
//! items or its total. What they come to is worked out by `clinical::scales`, never stored.

use serde::{Deserialize, Serialize};

use super::field::{FieldValue, ReadContext, Shape, ShowContext};
use super::problem::Problem;

/// Glasgow Coma Scale, part by part; a part that could not be tested has no points.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Gcs {
    /// Eye opening, 1 to 4.
    pub eye: Option<u8>,
    /// Verbal response, 1 to 5.
    pub verbal: Option<u8>,
    /// Motor response, 1 to 6.
    pub motor: Option<u8>,
}

/// At this sum and below an airway is not safe at home, so the writer confirms it. Common
/// practice, no source.
const GCS_ASKED_UP_TO: u8 = 8;

/// Name, letter and highest points of each part, in the order they are said.
const GCS_PARTS: [(&str, char, u8); 3] = [("eye", 'e', 4), ("verbal", 'v', 5), ("motor", 'm', 6)];

impl FieldValue for Gcs {
    const SHAPE: Shape = Shape::Structured;
    const HINT: &'static str = "eye 1 to 4, verbal 1 to 5, motor 1 to 6, NT for a part that cannot be tested, e.g. E4 V5 M6";

    fn read(text: &str, _: &ReadContext) -> Result<Self, Problem> {
        let said = coma_words(text)
            .ok_or_else(|| Problem::new(format!("\"{text}\" is not three parts"), Self::HINT))?;
        let named = said.iter().filter(|(letter, _)| letter.is_some()).count();
        if said.len() == 1 && named == 0 {
            return Err(Problem::new(
                format!("\"{text}\" is a total: the parts are always given"),
                Self::HINT,
            ));
        }
        let mut points = [None; 3];
        for (at, (name, letter, high)) in GCS_PARTS.into_iter().enumerate() {
            let of_part: Vec<_> = match named {
                0 => said.get(at).into_iter().collect(),
                _ => said.iter().filter(|one| one.0 == Some(letter)).collect(),
            };
            let [(_, given)] = of_part.as_slice() else {
                let what = match of_part.len() {
                    0 => format!("the {name} part is missing"),
                    _ => format!("the {name} part is given twice"),
                };
                return Err(Problem::new(what, Self::HINT));
            };
            if let Some(given) = given.filter(|given| !(1..=high).contains(given)) {
                let what = format!("{name} {given} is not on the scale");
                return Err(Problem::new(
                    what,
                    format!("1 to {high}, or NT; {}", Self::HINT),
                ));
            }
            points[at] = *given;
        }
        if said.len() != GCS_PARTS.len() {
            return Err(Problem::new(
                format!("\"{text}\" is not three parts"),
                Self::HINT,
            ));
        }
        let [eye, verbal, motor] = points;
        Ok(Gcs { eye, verbal, motor })
    }
    fn show(&self, _: &ShowContext) -> Option<String> {
        let part = |points: Option<u8>| points.map_or("NT".to_owned(), |one| one.to_string());
        let (eye, verbal, motor) = (part(self.eye), part(self.verbal), part(self.motor));
        Some(format!("E{eye} V{verbal} M{motor}"))
    }
    fn unusual(&self) -> Option<String> {
        let (Some(eye), Some(verbal), Some(motor)) = (self.eye, self.verbal, self.motor) else {
            return None;
        };
        (eye + verbal + motor <= GCS_ASKED_UP_TO).then(|| {
            format!(
                "E{eye} V{verbal} M{motor} is {GCS_ASKED_UP_TO} or less: the airway may not be safe; call for help before confirming"
            )
        })
    }
}

/// `e4 v5 m6`, `4 5 6`, `e4vntm6` as letters and points. Nothing if it is anything else.
fn coma_words(text: &str) -> Option<Vec<(Option<char>, Option<u8>)>> {
    const BETWEEN: [char; 3] = [' ', ',', '/'];
    let lower = text.to_ascii_lowercase();
    let mut rest = lower.trim_matches(BETWEEN);
    let mut said = Vec::new();
    while !rest.is_empty() {
        let letter = rest.chars().next().filter(|c| matches!(c, 'e' | 'v' | 'm'));
        rest = rest[usize::from(letter.is_some())..].trim_start();
        let points = if let Some(after) = rest.strip_prefix("nt") {
            rest = after;
            None
        } else {
            let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
            let points = rest[..digits].parse().ok()?;
            rest = &rest[digits..];
            Some(points)
        };
        said.push((letter, points));
        let after = rest.trim_start_matches(BETWEEN);
        let apart = after.len() < rest.len() || after.starts_with(['e', 'v', 'm']);
        if !after.is_empty() && !apart {
            return None;
        }
        rest = after;
    }
    (!said.is_empty()).then_some(said)
}

/// 4AT (© MacLullich, Ryan, Cash; the4at.com): its items, or the total alone as it was told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum FourAtAnswers {
    /// Points of each item; an item that was not done has none.
    Items {
        /// Alertness: 0 or 4.
        alertness: Option<u8>,
        /// Age, date of birth, place, year: 0, 1 or 2.
        amt4: Option<u8>,
        /// Months backwards: 0, 1 or 2.
        attention: Option<u8>,
        /// Acute change or fluctuating course: 0 or 4.
        acute_change: Option<u8>,
    },
    /// The total, 0 to 12, where nobody said the items.
    Total(u8),
}

/// Name and possible points of each item, in the order of the form.
const FOUR_AT_ITEMS: [(&str, &[u8], &str); 4] = [
    ("alertness", &[0, 4], "0 or 4"),
    ("AMT4", &[0, 1, 2], "0, 1 or 2"),
    ("attention", &[0, 1, 2], "0, 1 or 2"),
    ("acute change", &[0, 4], "0 or 4"),
];

impl FourAtAnswers {
    /// The four items in the order of the form, if they were given.
    #[must_use]
    pub const fn items(self) -> Option<[Option<u8>; 4]> {
        match self {
            FourAtAnswers::Items {
                alertness,
                amt4,
                attention,
                acute_change,
            } => Some([alertness, amt4, attention, acute_change]),
            FourAtAnswers::Total(_) => None,
        }
    }
}

impl FieldValue for FourAtAnswers {
    const SHAPE: Shape = Shape::Structured;
    const HINT: &'static str = "alertness 0 or 4, AMT4 0 to 2, attention 0 to 2, acute change 0 or 4, - for an item not done, e.g. 0 1 2 4 (or total 7)";

    fn read(text: &str, _: &ReadContext) -> Result<Self, Problem> {
        let lower = text.to_ascii_lowercase();
        let words: Vec<&str> = lower
            .split([' ', ',', '/'])
            .filter(|word| !word.is_empty())
            .collect();
        match words.as_slice() {
            ["total", total] => four_at_total(total),
            words if words.len() == FOUR_AT_ITEMS.len() => four_at_items(words),
            _ => Err(Problem::new(
                format!("\"{text}\" is neither the four items nor a total"),
                Self::HINT,
            )),
        }
    }
    fn show(&self, _: &ShowContext) -> Option<String> {
        let Some(items) = self.items() else {
            return self
                .typed_total()
                .map(|total| format!("{total}, items not given"));
        };
        let shown = FOUR_AT_ITEMS.iter().zip(items).map(|((name, ..), points)| {
            let points = points.map_or("not done".to_owned(), |points| points.to_string());
            format!("{name} {points}")
        });
        Some(shown.collect::<Vec<_>>().join(", "))
    }
    fn typed(&self, _: &ShowContext) -> Option<String> {
        let Some(items) = self.items() else {
            return self.typed_total();
        };
        let typed = items.map(|item| item.map_or("-".to_owned(), |points| points.to_string()));
        Some(typed.join(" "))
    }
}

impl FourAtAnswers {
    fn typed_total(self) -> Option<String> {
        match self {
            FourAtAnswers::Total(total) => Some(format!("total {total}")),
            FourAtAnswers::Items { .. } => None,
        }
    }
}

fn four_at_total(text: &str) -> Result<FourAtAnswers, Problem> {
    let total = text.parse::<u8>().ok().filter(|total| *total <= 12);
    total.map(FourAtAnswers::Total).ok_or_else(|| {
        Problem::new(
            format!("\"{text}\" is not a total of the 4AT"),
            format!("0 to 12, or {}", FourAtAnswers::HINT),
        )
    })
}

fn four_at_items(words: &[&str]) -> Result<FourAtAnswers, Problem> {
    let mut items = [None; 4];
    for (at, ((name, allowed, accepted), word)) in FOUR_AT_ITEMS.iter().zip(words).enumerate() {
        if *word == "-" {
            continue;
        }
        let points = word.parse().ok().filter(|points| allowed.contains(points));
        items[at] = Some(points.ok_or_else(|| {
            let what = format!("{name} {word} is not on the form");
            Problem::new(
                what,
                format!("{accepted}, or - if not done; {}", FourAtAnswers::HINT),
            )
        })?);
    }
    if items.iter().all(Option::is_none) {
        return Err(Problem::new("no item was done", FourAtAnswers::HINT));
    }
    let [alertness, amt4, attention, acute_change] = items;
    Ok(FourAtAnswers::Items {
        alertness,
        amt4,
        attention,
        acute_change,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::time::{Timestamp, WardZone};

    const CX: ReadContext = ReadContext {
        now: Timestamp(0),
        zone: WardZone::LONDON,
    };
    const SHOW: ShowContext = ShowContext {
        zone: WardZone::LONDON,
        secrets: false,
    };

    #[test]
    fn a_coma_scale_is_read_by_its_parts_and_never_by_a_total() {
        for (typed, shown) in [
            ("E4 V5 M6", "E4 V5 M6"),
            ("e3v4m6", "E3 V4 M6"),
            ("m6 e2, v2", "E2 V2 M6"),
            ("4 5 6", "E4 V5 M6"),
            ("4/5/6", "E4 V5 M6"),
            ("e4 vnt m6", "E4 VNT M6"),
            ("NT 5 6", "ENT V5 M6"),
        ] {
            let read = Gcs::read(typed, &CX).expect(typed);
            assert_eq!(read.show(&SHOW).as_deref(), Some(shown), "{typed}");
            let again = read.typed(&SHOW).expect("typed");
            assert_eq!(Gcs::read(&again, &CX), Ok(read), "{typed}");
        }
        for (typed, what) in [
            ("15", "a total"),
            ("e4 m6", "the verbal part is missing"),
            ("e5 v5 m6", "eye 5 is not on the scale"),
            ("e4 v6 m6", "verbal 6"),
            ("e4 v5 m7", "motor 7"),
            ("e0 v5 m6", "eye 0"),
            ("e4 e4 v5 m6", "given twice"),
            ("4 5", "the motor part is missing"),
            ("4 5 6 1", "not three parts"),
            ("456", "not three parts"),
            ("e4 v5 m6x", "not three parts"),
            ("é4 v5 m6", "not three parts"),
            ("", "not three parts"),
        ] {
            let problem = Gcs::read(typed, &CX).expect_err(typed);
            assert!(problem.what.contains(what), "{typed}: {}", problem.what);
            assert!(problem.accepted.contains("E4 V5 M6"), "{typed}");
        }
    }

    /// The writer confirms 8 and below, not 9, and not a set that has no total.
    #[test]
    fn a_low_coma_scale_is_asked_about_at_its_limit() {
        let asks = |typed: &str| Gcs::read(typed, &CX).expect(typed).unusual().is_some();
        assert!(asks("2 2 4") && asks("1 1 1"));
        assert!(!asks("2 3 4") && !asks("1 nt 1"));
    }

    #[test]
    fn a_4at_is_its_items_or_its_total() {
        for (typed, shown, again) in [
            (
                "0 1 2 4",
                "alertness 0, AMT4 1, attention 2, acute change 4",
                "0 1 2 4",
            ),
            (
                "0,-,2,4",
                "alertness 0, AMT4 not done, attention 2, acute change 4",
                "0 - 2 4",
            ),
            ("total 7", "total 7, items not given", "total 7"),
            ("total 12", "total 12, items not given", "total 12"),
        ] {
            let read = FourAtAnswers::read(typed, &CX).expect(typed);
            assert_eq!(read.show(&SHOW).as_deref(), Some(shown));
            assert_eq!(read.typed(&SHOW).as_deref(), Some(again));
            assert_eq!(FourAtAnswers::read(again, &CX), Ok(read));
        }
        for (typed, what) in [
            ("1 0 0 0", "alertness 1"),
            ("0 3 0 0", "AMT4 3"),
            ("0 0 3 0", "attention 3"),
            ("0 0 0 2", "acute change 2"),
            ("total 13", "not a total"),
            ("total -1", "not a total"),
            ("7", "neither"),
            ("- - - -", "no item"),
            ("0 1 2", "neither"),
            ("total", "neither"),
            ("", "neither"),
        ] {
            let problem = FourAtAnswers::read(typed, &CX).expect_err(typed);
            assert!(problem.what.contains(what), "{typed}: {}", problem.what);
        }
    }
}
