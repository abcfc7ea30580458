//! The entries a line may fill, and their fields.

use std::ops::Range;

use super::alias;
use super::mistake::Mistake;
use crate::record::draft::Draft;
use crate::record::field::{FieldReader, FieldSpec, ReadContext, Shape};
use crate::record::kind::Kind;
use crate::record::problem::Problem;

/// One entry being filled.
pub(super) struct Part {
    pub(super) kind: Kind,
    pub(super) specs: Vec<FieldSpec>,
    pub(super) draft: Draft,
    pub(super) places: Vec<(String, usize)>,
    /// Where text without a field name goes.
    pub(super) text_field: Option<&'static str>,
}

impl Part {
    pub(super) fn new(kind: Kind, fixed: &[(&str, &str)]) -> Part {
        let mut draft = Draft::new(kind);
        for (field, value) in fixed {
            draft.set(field, (*value).to_owned());
        }
        Part {
            kind,
            specs: kind.specs(),
            draft,
            places: Vec::new(),
            text_field: alias::text_field_of(kind, fixed),
        }
    }
}

/// A field of one of the parts.
#[derive(Debug, Clone)]
pub(super) struct Field {
    pub(super) part: usize,
    pub(super) spec: FieldSpec,
}

/// The entries a line may fill, the main one first.
pub(super) struct Scope {
    pub(super) parts: Vec<Part>,
    pub(super) cx: ReadContext,
}

impl Scope {
    /// Every field that a word names: by its own name before any alias, the main entry first.
    pub(super) fn named(&self, word: &str) -> Vec<Field> {
        let mut found: Vec<Field> = self.matching(|spec| alias::names(spec, word, true));
        for field in self.matching(|spec| alias::names(spec, word, false)) {
            let known =
                |other: &Field| other.part == field.part && other.spec.name == field.spec.name;
            if !found.iter().any(known) {
                found.push(field);
            }
        }
        found
    }

    /// The field of that very name.
    pub(super) fn field(&self, part: usize, name: &str) -> Option<Field> {
        let spec = self.parts[part]
            .specs
            .iter()
            .find(|spec| spec.name == name)?;
        Some(Field {
            part,
            spec: spec.clone(),
        })
    }

    /// Every field for which `wanted` holds.
    pub(super) fn matching(&self, wanted: impl Fn(&FieldSpec) -> bool) -> Vec<Field> {
        let fields = self
            .parts
            .iter()
            .enumerate()
            .flat_map(|(part, entry)| entry.specs.iter().map(move |spec| (part, spec)));
        fields
            .filter(|(_, spec)| wanted(spec))
            .map(|(part, spec)| Field {
                part,
                spec: spec.clone(),
            })
            .collect()
    }

    /// The part that is a set of observations, if there is one.
    pub(super) fn observation(&self) -> Option<usize> {
        self.parts
            .iter()
            .position(|part| part.kind == Kind::Observation)
    }

    /// What is wrong with a text as the value of a field.
    pub(super) fn problem(&self, field: &Field, text: &str) -> Option<Problem> {
        problem_with(self.parts[field.part].kind, field.spec.name, text, &self.cx)
    }

    /// Whether a text can stand in a field.
    pub(super) fn accepts(&self, field: &Field, text: &str) -> bool {
        self.problem(field, text).is_none()
    }

    /// Whether a field has a value already.
    pub(super) fn is_set(&self, field: &Field) -> bool {
        self.parts[field.part].draft.get(field.spec.name).is_some()
    }

    /// Gives a field its value. A list grows; any other field given twice is a mistake.
    pub(super) fn set(
        &mut self,
        field: &Field,
        value: String,
        at: Range<usize>,
    ) -> Result<(), Mistake> {
        let name = field.spec.name;
        let part = &mut self.parts[field.part];
        let held = part
            .draft
            .fields
            .iter_mut()
            .find(|(known, _)| known == name);
        match held {
            None => part.draft.fields.push((name.to_owned(), value)),
            Some((_, held)) if field.spec.many => {
                held.push_str("; ");
                held.push_str(&value);
            }
            Some((_, held)) => {
                let what = format!("{name} is given twice: it is already \"{held}\"");
                return Err(Mistake::new(at, what, "one of them"));
            }
        }
        part.places.push((name.to_owned(), at.start));
        Ok(())
    }

    /// Every word that could stand in the line: names of fields and values of lists.
    pub(super) fn vocabulary(&self) -> Vec<&'static str> {
        let mut words = Vec::new();
        for spec in self.parts.iter().flat_map(|part| part.specs.iter()) {
            words.push(spec.name);
            words.extend(alias::field_words(spec.name));
            if let Shape::Choice(choices) = spec.shape {
                words.extend(choices.iter().map(|choice| choice.code));
            }
        }
        words
    }
}

/// What is wrong with a text as the value of one field of a kind; nothing if it can stand.
#[must_use]
pub fn problem_with(kind: Kind, field: &str, text: &str, cx: &ReadContext) -> Option<Problem> {
    let typed = [(field.to_owned(), text.to_owned())];
    let mut reader = FieldReader::new(&typed, *cx);
    let _ = kind.read(&mut reader);
    let about = |refusal: &crate::record::problem::Refusal| refusal.field.as_deref() == Some(field);
    let refusal = reader.refusals.into_iter().find(about)?;
    Some(Problem::new(refusal.what, refusal.accepted))
}
