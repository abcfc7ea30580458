//! One field of an entry: what may stand in it, how it is read from what a person typed,
//! and how it is shown. Forms, completion, command line, NDJSON and views all work from
//! this description, so a field is described once.

use std::collections::BTreeMap;

use super::ids::Seq;
use super::problem::{Problem, Refusal, Unusual};
use super::time::{Timestamp, WardZone};

/// One value of a closed list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Choice {
    /// What is typed and what JSON carries.
    pub code: &'static str,
    /// What is shown.
    pub label: &'static str,
}

/// What may stand in a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// One line of text.
    Line,
    /// Text that may run over several lines.
    Note,
    /// Text that only some roles may read back (a key-safe code).
    Secret,
    /// One of a closed list.
    Choice(&'static [Choice]),
    /// A number with its unit and limits, described in `hint`.
    Number {
        /// Unit as shown (`/min`).
        unit: &'static str,
    },
    /// Yes or no.
    YesNo,
    /// A moment that has passed (`12:30`, `-20m`).
    Past,
    /// A moment to come (`+4h`, `tomorrow 09:00`).
    Future,
    /// A calendar date.
    Date,
    /// A repeat rule (`every 4h`, `daily 09:00`).
    Repeat,
    /// The number of an earlier entry (`#123`).
    Entry,
    /// A member of staff, by handle.
    Person,
    /// Anything else; `hint` says how it is written.
    Structured,
}

/// Describes one field.
#[derive(Debug, Clone)]
pub struct FieldSpec {
    /// What is typed: `next`, `oxygen`.
    pub name: &'static str,
    /// One sentence on what it holds.
    pub help: &'static str,
    /// What may stand in it.
    pub shape: Shape,
    /// How a value is written, with an example.
    pub hint: &'static str,
    /// The entry is refused without it.
    pub required: bool,
    /// More than one value, separated by `;`.
    pub many: bool,
}

/// What reading a field needs to know about the outside.
#[derive(Debug, Clone, Copy)]
pub struct ReadContext {
    /// The moment of writing.
    pub now: Timestamp,
    /// The ward's clock.
    pub zone: WardZone,
}

/// What showing a field needs to know.
#[derive(Debug, Clone, Copy)]
pub struct ShowContext {
    /// The ward's clock.
    pub zone: WardZone,
    /// Show fields that only visiting roles may read (key safes).
    pub secrets: bool,
}

/// A type that can stand in a field.
pub trait FieldValue: Sized {
    /// What may stand in it.
    const SHAPE: Shape;
    /// How a value is written, with an example.
    const HINT: &'static str;
    /// May be left out.
    const OPTIONAL: bool = false;
    /// Takes several values separated by `;`.
    const MANY: bool = false;

    /// Reads what was typed.
    ///
    /// # Errors
    /// Says what is wrong and what would be accepted.
    fn read(text: &str, cx: &ReadContext) -> Result<Self, Problem>;

    /// The value of a field that was left out, for types that may be.
    fn absent() -> Option<Self> {
        None
    }

    /// As people read it; `None` where nothing was stated.
    fn show(&self, cx: &ShowContext) -> Option<String>;

    /// As it would be typed again; used to fill a form when an entry is corrected.
    fn typed(&self, cx: &ShowContext) -> Option<String> {
        self.show(cx)
    }

    /// Why the writer must confirm it, if it is possible but unusual.
    fn unusual(&self) -> Option<String> {
        None
    }
}

impl<T: FieldValue> FieldValue for Option<T> {
    const SHAPE: Shape = T::SHAPE;
    const HINT: &'static str = T::HINT;
    const OPTIONAL: bool = true;
    const MANY: bool = T::MANY;

    fn read(text: &str, cx: &ReadContext) -> Result<Self, Problem> {
        T::read(text, cx).map(Some)
    }
    fn absent() -> Option<Self> {
        Some(None)
    }
    fn show(&self, cx: &ShowContext) -> Option<String> {
        self.as_ref().and_then(|value| value.show(cx))
    }
    fn typed(&self, cx: &ShowContext) -> Option<String> {
        self.as_ref().and_then(|value| value.typed(cx))
    }
    fn unusual(&self) -> Option<String> {
        self.as_ref().and_then(FieldValue::unusual)
    }
}

impl<T: FieldValue> FieldValue for Vec<T> {
    const SHAPE: Shape = T::SHAPE;
    const HINT: &'static str = T::HINT;
    const OPTIONAL: bool = true;
    const MANY: bool = true;

    fn read(text: &str, cx: &ReadContext) -> Result<Self, Problem> {
        let parts = text
            .split(';')
            .map(str::trim)
            .filter(|part| !part.is_empty());
        parts.map(|part| T::read(part, cx)).collect()
    }
    fn absent() -> Option<Self> {
        Some(Vec::new())
    }
    fn show(&self, cx: &ShowContext) -> Option<String> {
        join(self.iter().filter_map(|value| value.show(cx)))
    }
    fn typed(&self, cx: &ShowContext) -> Option<String> {
        join(self.iter().filter_map(|value| value.typed(cx)))
    }
    fn unusual(&self) -> Option<String> {
        join(self.iter().filter_map(FieldValue::unusual))
    }
}

fn join(parts: impl Iterator<Item = String>) -> Option<String> {
    let parts: Vec<String> = parts.collect();
    (!parts.is_empty()).then(|| parts.join("; "))
}

impl FieldValue for bool {
    const SHAPE: Shape = Shape::YesNo;
    const HINT: &'static str = "yes or no";

    fn read(text: &str, _: &ReadContext) -> Result<Self, Problem> {
        match text.trim().to_ascii_lowercase().as_str() {
            "yes" | "y" | "true" => Ok(true),
            "no" | "n" | "false" | "none" | "nil" => Ok(false),
            _ => Err(Problem::new(
                format!("\"{text}\" is neither yes nor no"),
                "yes or no",
            )),
        }
    }
    fn show(&self, _: &ShowContext) -> Option<String> {
        Some(if *self { "yes" } else { "no" }.to_owned())
    }
}

impl FieldValue for Seq {
    const SHAPE: Shape = Shape::Entry;
    const HINT: &'static str = "an entry number, e.g. #123";

    fn read(text: &str, _: &ReadContext) -> Result<Self, Problem> {
        text.parse()
            .map_err(|_| Problem::new(format!("\"{text}\" is no entry number"), Self::HINT))
    }
    fn show(&self, _: &ShowContext) -> Option<String> {
        Some(self.to_string())
    }
}

/// Takes the fields of one entry out of what was typed, collecting every refusal and
/// everything unusual instead of stopping at the first.
pub struct FieldReader<'a> {
    fields: BTreeMap<&'a str, &'a str>,
    cx: ReadContext,
    /// Every reason found so far why the entry cannot be taken.
    pub refusals: Vec<Refusal>,
    /// Everything found so far that the writer must confirm.
    pub unusual: Vec<Unusual>,
}

impl<'a> FieldReader<'a> {
    /// Over the fields as typed. A field given twice is refused.
    #[must_use]
    pub fn new(typed: &'a [(String, String)], cx: ReadContext) -> FieldReader<'a> {
        let mut reader = FieldReader {
            fields: BTreeMap::new(),
            cx,
            refusals: vec![],
            unusual: vec![],
        };
        for (name, text) in typed {
            if reader.fields.insert(name.as_str(), text.as_str()).is_some() {
                reader.refuse(name, Some(text), &Problem::new("given twice", "one value"));
            }
        }
        reader
    }

    /// Takes one field; `None` if it was refused (the refusal is kept).
    pub fn take<T: FieldValue>(&mut self, name: &'static str) -> Option<T> {
        let text = self
            .fields
            .remove(name)
            .filter(|text| !text.trim().is_empty());
        let Some(text) = text else {
            let absent = T::absent();
            if absent.is_none() {
                self.refuse(name, None, &Problem::new("is missing", T::HINT));
            }
            return absent;
        };
        match T::read(text, &self.cx) {
            Ok(value) => {
                if let Some(what) = value.unusual() {
                    self.unusual.push(Unusual {
                        field: name.to_owned(),
                        what,
                    });
                }
                Some(value)
            }
            Err(problem) => {
                self.refuse(name, Some(text), &problem);
                None
            }
        }
    }

    /// Refuses what is left: names that this kind of entry does not have.
    pub fn refuse_unknown(&mut self, known: &[FieldSpec]) {
        let names: Vec<&str> = known.iter().map(|spec| spec.name).collect();
        for (name, text) in std::mem::take(&mut self.fields) {
            let accepted = match nearest(name, &names) {
                Some(near) => format!("{near} (the fields are {})", names.join(", ")),
                None => names.join(", "),
            };
            self.refuse(
                name,
                Some(text),
                &Problem::new("is not a field of this entry", accepted),
            );
        }
    }

    fn refuse(&mut self, name: &str, given: Option<&str>, problem: &Problem) {
        self.refusals.push(Refusal {
            field: Some(name.to_owned()),
            given: given.map(str::to_owned),
            what: problem.what.clone(),
            accepted: problem.accepted.clone(),
        });
    }
}

/// The known word nearest to a mistyped one, if any is near enough to suggest: at most two
/// letters added, dropped or changed.
#[must_use]
pub fn nearest<'a>(typed: &str, known: &[&'a str]) -> Option<&'a str> {
    let typed = typed.to_lowercase();
    let scored = known.iter().map(|word| (edits(&typed, word), *word));
    scored
        .filter(|(distance, word)| *distance <= 2 && *distance < word.len())
        .min()
        .map(|s| s.1)
}

/// Levenshtein distance. Inputs are single words typed by a person; long ones are cut.
fn edits(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().take(40).collect(), b.chars().collect());
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut corner = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let change = corner + usize::from(x != y);
            corner = row[j + 1];
            row[j + 1] = change.min(row[j] + 1).min(corner + 1);
        }
    }
    row[b.len()]
}
