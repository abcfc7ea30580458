//! An entry as a person typed it: words, not yet checked. A draft survives every refusal.

use serde::{Deserialize, Serialize};

use super::field::{FieldReader, FieldValue, ReadContext};
use super::ids::Seq;
use super::kind::declare::Findings;
use super::kind::{Body, Kind, Subject};
use super::moment::Past;
use super::problem::{Refusal, Unusual};
use super::text::Line;
use super::time::{Span, Timestamp};

/// What a person typed for one entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Draft {
    /// Kind, by the word people type.
    pub kind: String,
    /// Which patient: name, slot or number.
    pub patient: Option<String>,
    /// When it happened; left out for now.
    pub at: Option<String>,
    /// Why it is written late.
    pub late_reason: Option<String>,
    /// Other entries it belongs with: `#12 #13`.
    pub related: Option<String>,
    /// Field names and values, in the order typed.
    pub fields: Vec<(String, String)>,
    /// The writer has confirmed unusual values.
    pub confirm: bool,
}

/// Names that belong to every entry and are no field of any kind.
pub const COMMON_NAMES: [&str; 5] = ["patient", "at", "late_reason", "related", "confirm"];

/// A draft whose every field could be read and stands by itself. Whether the ward's state
/// allows it is the station's to say.
#[derive(Debug, Clone)]
pub struct ReadDraft {
    /// The fields.
    pub body: Body,
    /// Which patient, as typed.
    pub patient: Option<String>,
    /// When it happened.
    pub occurred_at: Timestamp,
    /// The time was given as approximate.
    pub approximate: bool,
    /// Why it is written late.
    pub late_reason: Option<String>,
    /// Other entries it belongs with.
    pub related: Vec<Seq>,
    /// Unusual values the writer must confirm or has confirmed.
    pub unusual: Vec<Unusual>,
    /// The writer has confirmed them.
    pub confirmed: bool,
}

impl Draft {
    /// An empty draft of a kind.
    #[must_use]
    pub fn new(kind: Kind) -> Draft {
        Draft {
            kind: kind.name().to_owned(),
            patient: None,
            at: None,
            late_reason: None,
            related: None,
            fields: Vec::new(),
            confirm: false,
        }
    }

    /// From names and values as typed: common names go to their places, all others are fields.
    #[must_use]
    pub fn from_pairs(kind: Kind, pairs: impl IntoIterator<Item = (String, String)>) -> Draft {
        let mut draft = Draft::new(kind);
        for (name, value) in pairs {
            draft.set(&name, value);
        }
        draft
    }

    /// Adds one name and value.
    pub fn set(&mut self, name: &str, value: String) {
        match name {
            "patient" => self.patient = Some(value),
            "at" => self.at = Some(value),
            // A blank is no reason.
            "late_reason" => self.late_reason = Some(value).filter(|text| !text.trim().is_empty()),
            "related" => self.related = Some(value),
            "confirm" => self.confirm = matches!(value.as_str(), "yes" | "true" | "y"),
            _ => self.fields.push((name.to_owned(), value)),
        }
    }

    /// [`Draft::set`] for building one in an expression.
    #[must_use]
    pub fn with(mut self, name: &str, value: impl Into<String>) -> Draft {
        self.set(name, value.into());
        self
    }

    /// The value typed for a field.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&str> {
        self.fields
            .iter()
            .find(|(known, _)| known == name)
            .map(|(_, value)| value.as_str())
    }

    /// Reads every field and checks them against each other.
    ///
    /// # Errors
    /// Every reason why it cannot be taken, at once.
    pub fn read(&self, cx: &ReadContext) -> Result<ReadDraft, Vec<Refusal>> {
        let Some(kind) = Kind::from_name(&self.kind) else {
            let names: Vec<&str> = Kind::ALL.iter().map(|kind| kind.name()).collect();
            let what = format!("\"{}\" is not a kind of entry", self.kind);
            return Err(vec![Refusal::whole(what, names.join(", "))]);
        };
        let mut reader = FieldReader::new(&self.fields, *cx);
        let body = kind.read(&mut reader);
        let mut refusals = std::mem::take(&mut reader.refusals);
        let mut unusual = std::mem::take(&mut reader.unusual);
        if let Some(body) = &body {
            let mut findings = Findings::default();
            body.cross_check(&mut findings);
            refusals.append(&mut findings.refusals);
            unusual.append(&mut findings.unusual);
        }
        let occurred = self.read_at(cx, &mut refusals);
        unusual.extend(self.rolled_back_far(cx, occurred.0));
        let related = self.read_related(cx, &mut refusals);
        self.check_subject(kind, &mut refusals);
        match (body, refusals.is_empty()) {
            (Some(body), true) => Ok(ReadDraft {
                body,
                patient: self.patient.clone(),
                occurred_at: occurred.0,
                approximate: occurred.1,
                late_reason: self.late_reason().map(str::to_owned),
                related,
                unusual,
                confirmed: self.confirm,
            }),
            _ => Err(refusals),
        }
    }

    /// Why it is written late, if that was said: a blank says nothing.
    fn late_reason(&self) -> Option<&str> {
        let reason = self.late_reason.as_deref();
        reason.filter(|text| !text.trim().is_empty())
    }

    fn check_subject(&self, kind: Kind, refusals: &mut Vec<Refusal>) {
        // An admission names its patient by its own fields.
        if kind == Kind::Admission {
            return;
        }
        match (kind.subject(), &self.patient) {
            (Subject::Patient, None) => refusals.push(Refusal::field(
                "patient",
                "no patient is named",
                "a name, a slot such as T07, or an NHS number",
            )),
            (Subject::Ward, Some(_)) => refusals.push(Refusal::field(
                "patient",
                format!("a {} is about the ward, not about one patient", kind.name()),
                "leave it out",
            )),
            _ => {}
        }
    }

    fn read_at(&self, cx: &ReadContext, refusals: &mut Vec<Refusal>) -> (Timestamp, bool) {
        let Some(text) = self.at.as_deref().filter(|text| !text.trim().is_empty()) else {
            return (cx.now, false);
        };
        let lower = text.trim().to_lowercase();
        let plain = ["approx ", "about ", "~"]
            .iter()
            .find_map(|mark| lower.strip_prefix(mark));
        let approximate = plain.is_some();
        match Past::read(plain.unwrap_or(text), cx) {
            Ok(past) => (past.0, approximate),
            Err(problem) => {
                refusals.push(Refusal {
                    given: Some(text.to_owned()),
                    ..Refusal::field("at", problem.what, problem.accepted)
                });
                (cx.now, approximate)
            }
        }
    }

    /// A time of day alone means its last occurrence. Where that is more than half a day ago,
    /// the next one may well have been meant: `22:15` at 19:32 is yesterday's.
    fn rolled_back_far(&self, cx: &ReadContext, occurred: Timestamp) -> Option<Unusual> {
        let text = self.at.as_deref()?.trim();
        let text = text.trim_start_matches(['~', ' ']).to_lowercase();
        let text = ["approx ", "about "]
            .iter()
            .find_map(|mark| text.strip_prefix(mark))
            .unwrap_or(&text);
        let is_time_of_day = text.chars().all(|c| c.is_ascii_digit() || c == ':');
        let ago = cx.now.since(occurred);
        (is_time_of_day && ago > Span::minutes(12 * 60)).then(|| Unusual {
            field: "at".to_owned(),
            what: format!(
                "{text} is still to come today, so it would be {}, {} ago",
                cx.zone.day_date_time(occurred),
                ago.spoken()
            ),
        })
    }

    fn read_related(&self, cx: &ReadContext, refusals: &mut Vec<Refusal>) -> Vec<Seq> {
        let words = self.related.as_deref().unwrap_or_default();
        let mut found = Vec::new();
        for word in words.split([' ', ',', ';']).filter(|word| !word.is_empty()) {
            match Seq::read(word, cx) {
                Ok(seq) => found.push(seq),
                Err(problem) => {
                    refusals.push(Refusal::field("related", problem.what, problem.accepted));
                }
            }
        }
        if let Some(reason) = self.late_reason()
            && let Err(problem) = Line::read(reason, cx)
        {
            refusals.push(Refusal::field(
                "late_reason",
                problem.what,
                problem.accepted,
            ));
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::time::WardZone;

    #[test]
    fn a_blank_reason_for_writing_late_is_none() {
        let cx = ReadContext {
            now: Timestamp(1_784_208_000_000_000),
            zone: WardZone::LONDON,
        };
        for (typed, kept) in [("", None), (" \t", None), ("was out", Some("was out"))] {
            let draft = Draft::new(Kind::Note)
                .with("patient", "T07")
                .with("text", "slept well")
                .with("late_reason", typed);
            assert_eq!(draft.late_reason.as_deref(), kept, "{typed:?}");
            let assigned = Draft {
                late_reason: Some(typed.to_owned()),
                ..draft
            };
            let read = assigned.read(&cx).expect("a note");
            assert_eq!(read.late_reason.as_deref(), kept, "{typed:?}");
        }
    }
}
