//! `allocate maya t01 t02`: one entry for each of several patients.
//!
//! The patients are named by single words or in quotes, right after the member of staff; what
//! they name is the ward's to say. A word that names a field, or holds `=` or `#`, ends them.

use super::alias;
use super::fill;
use super::lex::{self, Token};
use super::mistake::Mistake;
use super::verb::Verb;
use super::{Entries, Place, ShorthandContext};
use crate::record::draft::Draft;
use crate::record::kind::Kind;
use crate::record::person::Handle;

/// Words of every line that are no patient.
const COMMON: [&str; 8] = [
    "at", "happened", "late", "related", "confirm", "!", "as-of", "because",
];

/// Who, and whom they are to look after.
pub(super) struct Named {
    to: Token,
    patients: Vec<Token>,
}

/// The member of staff and the patients that a line begins with, if it is such a line.
pub(super) fn named(verb: &Verb, line: &str, after: usize) -> Option<Result<Named, Vec<Mistake>>> {
    if verb.kind != Kind::Allocation {
        return None;
    }
    let mut tokens = lex::words(line, after).ok()?.into_iter().peekable();
    tokens.next_if(|token| !token.quoted && token.lower() == "to");
    let to = tokens.next_if(|token| !token.quoted && !ends_patients(token))?;
    Handle::parse(&to.text)?;
    let mut patients: Vec<Token> = Vec::new();
    while let Some(mut token) = tokens.next_if(|token| !ends_patients(token)) {
        if let Some(name) = token.text.strip_prefix('@') {
            token.text = name.to_owned();
        }
        let again = |other: &Token| other.lower() == token.lower();
        if patients.iter().any(again) {
            let what = format!("\"{}\" is there twice", token.text);
            return Some(Err(vec![Mistake::new(token.at, what, "each patient once")]));
        }
        patients.push(token);
    }
    let late = tokens.find(|token| !token.quoted && token.text.starts_with('@'));
    if let (Some(token), false) = (late, patients.is_empty()) {
        let what = format!("\"{}\" stands apart from the other patients", token.text);
        let accepted = format!("all patients right after {}", to.text);
        return Some(Err(vec![Mistake::new(token.at, what, accepted)]));
    }
    Some(Ok(Named { to, patients }))
}

/// A word that is no patient any more.
fn ends_patients(token: &Token) -> bool {
    if token.quoted {
        return false;
    }
    let word = token.lower();
    let fields = Kind::Allocation.specs();
    token.equals.is_some()
        || word.starts_with('#')
        || COMMON.contains(&word.as_str())
        || fields.iter().any(|spec| alias::names(spec, &word, true))
        || fields.iter().any(|spec| alias::names(spec, &word, false))
}

/// One entry for each patient, all of them with what the rest of the line says; about the
/// selected patient if none is named.
pub(super) fn entries(
    verb: &Verb,
    named: Named,
    line: &str,
    cx: &ShorthandContext,
) -> Result<Entries, Vec<Mistake>> {
    let Named { to, patients } = named;
    let after = patients.last().unwrap_or(&to).at.end;
    let one = fill::entries_with(verb, &[("to", &to)], line, after, cx)?;
    if patients.is_empty() {
        return Ok(one);
    }
    Ok(for_each(&one, &patients))
}

fn for_each(one: &Entries, patients: &[Token]) -> Entries {
    let mut drafts: Vec<Draft> = Vec::new();
    let mut places: Vec<Place> = Vec::new();
    for (index, patient) in patients.iter().enumerate() {
        drafts.extend(one.drafts.iter().map(|draft| Draft {
            patient: Some(patient.text.clone()),
            ..draft.clone()
        }));
        places.extend(one.places.iter().map(|place| Place {
            draft: index,
            ..place.clone()
        }));
        places.push(Place {
            draft: index,
            field: "patient".to_owned(),
            at: patient.at.start,
        });
    }
    Entries {
        drafts,
        links: Vec::new(),
        places,
        together: patients.len() > 1,
    }
}
