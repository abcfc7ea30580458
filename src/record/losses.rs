//! Fluid that leaves by any way but urine, so that a balance is not shown better than it is.

use serde::{Deserialize, Serialize};

use super::choice::choices;
use super::field::{FieldValue, ReadContext, Shape, ShowContext};
use super::problem::Problem;
use super::quantity::VolumeMl;
use super::text::Line;

choices! {
    /// What was lost.
    Loss {
        Drain = "drain", "drain";
        Vomit = "vomit", "vomit", also "vomited";
        Stool = "stool", "loose stool", also "diarrhoea";
        Stoma = "stoma", "stoma";
        Tube = "tube", "stomach tube", also "ng";
        Blood = "blood", "blood", also "bleeding";
        Other = "other", "another loss";
    }
}

/// One loss: what it was and how much.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FluidOut {
    /// What was lost.
    pub what: Loss,
    /// How much; left out where it was seen and not measured.
    pub ml: Option<VolumeMl>,
    /// Which drain, or what it was like.
    pub detail: Option<Line>,
}

/// One loss of more is confirmed by the writer. Common practice, no source.
const ASKED_ABOVE_ML: i32 = 2_000;

impl FieldValue for FluidOut {
    const SHAPE: Shape = Shape::Structured;
    const HINT: &'static str = "what and how much in mL, or unmeasured: drain, vomit, stool, stoma, tube, blood, other; e.g. drain 250 (drain 250 left chest; vomit unmeasured)";

    fn read(text: &str, cx: &ReadContext) -> Result<Self, Problem> {
        let refused = |what: String| Problem::new(what, Self::HINT);
        let words = apart(text);
        let at = words
            .iter()
            .take(3)
            .position(|word| Loss::from_code(word).is_some());
        let Some(at) = at else {
            return Err(refused(format!("\"{text}\" does not say what was lost")));
        };
        let Some(what) = Loss::from_code(words[at]) else {
            return Err(refused(format!("\"{text}\" does not say what was lost")));
        };
        // "250 mL drain" and "drain 250 mL": the amount stands before it, or else right after.
        let (amount, rest) = match at {
            0 => {
                let used = amount_words(&words[1..]);
                (words[1..=used].join(" "), &words[1 + used..])
            }
            _ => (words[..at].join(" "), &words[at + 1..]),
        };
        let ml = match amount.as_str() {
            "" => {
                return Err(refused(format!(
                    "\"{text}\" does not say how much; what was not measured is unmeasured"
                )));
            }
            "unmeasured" => None,
            amount => Some(VolumeMl::read(amount, cx)?),
        };
        let detail = match rest {
            [] => None,
            // A second number is an amount that nobody counts: "drain 1 200", "drain 250 300".
            [first, ..] if first.starts_with(|c: char| c.is_ascii_digit()) => {
                let what = format!("\"{text}\" has a second number, \"{first}\", after its amount");
                return Err(refused(what));
            }
            rest => Some(Line::read(&rest.join(" "), cx)?),
        };
        Ok(FluidOut { what, ml, detail })
    }
    fn show(&self, cx: &ShowContext) -> Option<String> {
        let amount = match self.ml {
            Some(ml) => ml.show(cx)?,
            None => "not measured".to_owned(),
        };
        let detail = self.detail.as_ref().map(|detail| format!(" ({detail})"));
        Some(format!(
            "{} {amount}{}",
            self.what.label(),
            detail.unwrap_or_default()
        ))
    }
    fn typed(&self, cx: &ShowContext) -> Option<String> {
        let amount = match self.ml {
            Some(ml) => ml.typed(cx)?,
            None => "unmeasured".to_owned(),
        };
        let detail = self.detail.as_ref().map(|detail| format!(" {detail}"));
        Some(format!(
            "{} {amount}{}",
            self.what.code(),
            detail.unwrap_or_default()
        ))
    }
    fn unusual(&self) -> Option<String> {
        let ml = self.ml.filter(|ml| ml.0 > ASKED_ABOVE_ML)?;
        Some(format!("{} {ml} at once is unusual", self.what.label()))
    }
}

/// The words between spaces and commas. A comma between digits stays: "1,200" is one number, which
/// the amount refuses because it could be two, and never 1 with 200 behind it.
fn apart(text: &str) -> Vec<&str> {
    let is_digit = |at: Option<usize>| {
        let byte = at.and_then(|at| text.as_bytes().get(at));
        byte.is_some_and(u8::is_ascii_digit)
    };
    let mut words = Vec::new();
    let mut from = 0;
    for (at, found) in text.match_indices([' ', ',']) {
        let within = found == "," && is_digit(at.checked_sub(1)) && is_digit(Some(at + 1));
        if !within {
            words.push(&text[from..at]);
            from = at + 1;
        }
    }
    words.push(&text[from..]);
    words.retain(|word| !word.is_empty());
    words
}

/// How many of these words are an amount: a number, perhaps with its unit apart.
fn amount_words(words: &[&str]) -> usize {
    let unit = |word: &&str| matches!(word.to_ascii_lowercase().as_str(), "ml" | "l");
    match words {
        [first, second, ..] if first.ends_with(|c: char| c.is_ascii_digit()) && unit(second) => 2,
        [first, ..]
            if *first == "unmeasured" || first.starts_with(|c: char| c.is_ascii_digit()) =>
        {
            1
        }
        _ => 0,
    }
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
    fn a_loss_says_what_it_was_and_how_much() {
        for (typed, shown, again) in [
            ("drain 250", "drain 250 mL", "drain 250"),
            ("250 ml drain", "drain 250 mL", "drain 250"),
            ("250ml vomit", "vomit 250 mL", "vomit 250"),
            (
                "drain 0.5 L left chest",
                "drain 500 mL (left chest)",
                "drain 500 left chest",
            ),
            ("drain,250,left", "drain 250 mL (left)", "drain 250 left"),
            ("stoma 0", "stoma 0 mL", "stoma 0"),
            ("vomit unmeasured", "vomit not measured", "vomit unmeasured"),
            ("diarrhoea 300", "loose stool 300 mL", "stool 300"),
        ] {
            let read = FluidOut::read(typed, &CX).expect(typed);
            assert_eq!(read.show(&SHOW).as_deref(), Some(shown), "{typed}");
            assert_eq!(read.typed(&SHOW).as_deref(), Some(again), "{typed}");
            assert_eq!(FluidOut::read(again, &CX), Ok(read));
        }
        for (typed, what) in [
            ("250", "what was lost"),
            ("sweat 250", "what was lost"),
            ("vomit", "how much"),
            ("vomit lots", "how much"),
            ("drain 20001", "not possible"),
            ("drain -5", "how much"),
            ("drain 2.5", "finer"),
            ("drain 1,200", "could be 1200 or 1.200"),
            ("1,200 drain", "could be 1200 or 1.200"),
            ("drain 1,200 left chest", "could be"),
            ("drain 0,5 L", "not a number"),
            ("drain 1 200", "a second number"),
            ("250 drain 300", "a second number"),
            ("drain 250, 300", "a second number"),
            ("", "what was lost"),
        ] {
            let problem = FluidOut::read(typed, &CX).expect_err(typed);
            assert!(problem.what.contains(what), "{typed}: {}", problem.what);
        }
    }

    #[test]
    fn much_at_once_is_asked_about() {
        let asks = |typed: &str| FluidOut::read(typed, &CX).expect(typed).unusual().is_some();
        assert!(asks("drain 2001") && !asks("drain 2000") && !asks("vomit unmeasured"));
    }

    #[test]
    fn several_stand_apart_by_semicolons() {
        let read = Vec::<FluidOut>::read("drain 250; vomit 100", &CX).expect("two");
        assert_eq!(read.len(), 2);
    }
}
