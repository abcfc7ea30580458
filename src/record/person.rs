//! People as fields: staff by handle, carers by name and how to reach them.

use serde::{Deserialize, Serialize};

use super::field::{FieldValue, ReadContext, Shape, ShowContext};
use super::problem::Problem;

/// The short name a member of staff signs in with: 2 to 24 lower-case letters, digits or
/// hyphens, beginning with a letter. Never given to a second person.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Handle(pub String);

impl Handle {
    /// Reads a handle; capitals are lowered.
    #[must_use]
    pub fn parse(text: &str) -> Option<Handle> {
        let text = text.trim().to_ascii_lowercase();
        let first = text.bytes().next().is_some_and(|b| b.is_ascii_lowercase());
        let rest = text
            .bytes()
            .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-');
        (first && rest && (2..=24).contains(&text.len())).then_some(Handle(text))
    }

    /// The handle's letters.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl std::fmt::Display for Handle {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl FieldValue for Handle {
    const SHAPE: Shape = Shape::Person;
    const HINT: &'static str = "a member of staff by handle, e.g. maya";

    fn read(text: &str, _: &ReadContext) -> Result<Self, Problem> {
        Handle::parse(text).ok_or_else(|| {
            let accepted = "2 to 24 lower-case letters, digits or hyphens, e.g. maya";
            Problem::new(format!("\"{text}\" is no handle"), accepted)
        })
    }
    fn show(&self, _: &ShowContext) -> Option<String> {
        Some(self.0.clone())
    }
}

/// Somebody who looks after the patient at home, and how to reach them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Carer {
    /// Name as the carer gives it.
    pub name: String,
    /// What they are to the patient: daughter, neighbour.
    pub relation: String,
    /// How to reach them.
    pub reach: String,
}

impl FieldValue for Carer {
    const SHAPE: Shape = Shape::Structured;
    const HINT: &'static str =
        "name, relation, how to reach them; e.g. Jo Pell, daughter, 01632 960123";
    const MANY: bool = true;

    fn read(text: &str, _: &ReadContext) -> Result<Self, Problem> {
        let parts: Vec<&str> = text.splitn(3, ',').map(str::trim).collect();
        match parts.as_slice() {
            [name, relation, reach] if parts.iter().all(|part| !part.is_empty()) => Ok(Carer {
                name: (*name).to_owned(),
                relation: (*relation).to_owned(),
                reach: (*reach).to_owned(),
            }),
            _ => Err(Problem::new(
                format!("\"{text}\" lacks one of the three parts"),
                Self::HINT,
            )),
        }
    }
    fn show(&self, _: &ShowContext) -> Option<String> {
        Some(format!("{}, {}, {}", self.name, self.relation, self.reach))
    }
}

/// What is known of allergies. "None known" is a statement somebody made; "not asked" is not.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Allergies {
    /// Nobody has asked yet.
    NotAsked,
    /// Asked; none known.
    NoneKnown,
    /// Each substance, with the reaction where it was stated.
    Known(Vec<String>),
}

impl FieldValue for Allergies {
    const SHAPE: Shape = Shape::Structured;
    const HINT: &'static str = "\"none known\", \"not asked\", or each: penicillin (rash); latex";

    fn read(text: &str, _: &ReadContext) -> Result<Self, Problem> {
        match text.trim().to_lowercase().as_str() {
            "none known" | "nka" | "no known allergies" => Ok(Allergies::NoneKnown),
            // Common practice, no source: the D is for drug.
            "nkda" | "no known drug allergies" => Err(Problem::new(
                format!("\"{}\" speaks of drug allergies only", text.trim()),
                "\"none known\" if food, latex and the rest were asked about too, \"not asked\" if nobody has",
            )),
            "not asked" => Ok(Allergies::NotAsked),
            "none" | "no" | "nil" => Err(Problem::new(
                "\"none\" could mean none known or not asked",
                "\"none known\" if you asked, \"not asked\" if nobody has",
            )),
            _ => {
                let each = text
                    .split(';')
                    .map(str::trim)
                    .filter(|part| !part.is_empty());
                let each: Vec<String> = each.map(str::to_owned).collect();
                if each.is_empty() {
                    return Err(Problem::new("no substance is named", Self::HINT));
                }
                Ok(Allergies::Known(each))
            }
        }
    }
    fn show(&self, _: &ShowContext) -> Option<String> {
        Some(match self {
            Allergies::NotAsked => "not asked".to_owned(),
            Allergies::NoneKnown => "none known".to_owned(),
            Allergies::Known(each) => each.join("; "),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::time::{Timestamp, WardZone};

    fn allergies(text: &str) -> Result<Allergies, Problem> {
        let cx = ReadContext {
            now: Timestamp(1_784_208_000_000_000),
            zone: WardZone::LONDON,
        };
        Allergies::read(text, &cx)
    }

    /// NKDA is "no known drug allergies": it says nothing of latex or food. Common practice, no
    /// source.
    #[test]
    fn what_says_less_than_none_known_is_not_taken_for_it() {
        for drugs_only in ["NKDA", " nkda ", "no known drug allergies"] {
            let refused = allergies(drugs_only).expect_err(drugs_only);
            assert!(refused.what.contains("drug"), "{refused:?}");
        }
        for nothing in ["", " ", ";", " ; ;"] {
            assert!(allergies(nothing).is_err(), "{nothing:?}");
        }
        assert_eq!(allergies("nka"), Ok(Allergies::NoneKnown));
        let known = vec!["penicillin (rash)".to_owned(), "latex".to_owned()];
        assert_eq!(
            allergies("penicillin (rash); latex;"),
            Ok(Allergies::Known(known))
        );
    }
}
