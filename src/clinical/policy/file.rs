//! A policy as a TOML file: reading with the place of every mistake, and writing.

use std::fmt::Write as _;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::key::Key;
use super::value::Value;
use super::values::Values;
use super::{SECTIONS, find, near};
use crate::record::quantity::Decimal;

/// Largest file that is read, in bytes; the whole policy with every text at its longest is less.
pub const FILE_BYTES_MAX: usize = 262_144;

/// One mistake in a file.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Mistake {
    /// The line, from 1; 0 if it concerns the file.
    pub line: usize,
    /// The character in it, from 1.
    pub column: usize,
    /// The key, dotted; none where the text is no TOML.
    pub key: Option<String>,
    /// What is wrong.
    pub what: String,
    /// What would be accepted.
    pub accepted: String,
}

impl std::fmt::Display for Mistake {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.line > 0 {
            write!(f, "line {}, column {}: ", self.line, self.column)?;
        }
        if let Some(key) = &self.key {
            write!(f, "{key}: ")?;
        }
        write!(f, "{}. Accepted: {}.", self.what, self.accepted)
    }
}

/// Reads a file. Keys that it does not name are not in the answer and hold what `base` has.
///
/// # Errors
/// Every mistake, in the order of the file; nothing is taken then.
pub fn read(text: &str, base: &Values) -> Result<Vec<(&'static Key, Value)>, Vec<Mistake>> {
    if text.len() > FILE_BYTES_MAX {
        return Err(vec![Mistake {
            line: 0,
            column: 0,
            key: None,
            what: format!("the file has {} bytes", text.len()),
            accepted: format!("at most {FILE_BYTES_MAX}"),
        }]);
    }
    let table = DeTable::parse(text).map_err(|error| {
        vec![mistake(
            text,
            error.span().map_or(0, |span| span.start),
            None,
            format!("this is no TOML: {}", error.message()),
            "TOML 1.0, such as `policy show --toml` writes",
        )]
    })?;
    let mut found = Found {
        text,
        taken: Vec::new(),
        mistakes: Vec::new(),
    };
    found.table("", table.get_ref());
    found.mistakes.sort_by_key(|m| (m.line, m.column));
    if found.mistakes.is_empty() {
        found.conflicts(base);
    }
    if found.mistakes.is_empty() {
        let taken = found.taken.into_iter();
        Ok(taken.map(|(key, value, _)| (key, value)).collect())
    } else {
        Err(found.mistakes)
    }
}

struct Found<'a> {
    text: &'a str,
    taken: Vec<(&'static Key, Value, usize)>,
    mistakes: Vec<Mistake>,
}

impl Found<'_> {
    fn table(&mut self, prefix: &str, table: &DeTable<'_>) {
        for (name, value) in table {
            let dotted = if prefix.is_empty() {
                name.get_ref().to_string()
            } else {
                format!("{prefix}.{}", name.get_ref())
            };
            let at = name.span().start;
            match value.get_ref() {
                DeValue::Table(inner) if find(&dotted).is_none() => self.table(&dotted, inner),
                _ => self.key(&dotted, at, value),
            }
        }
    }

    fn key(&mut self, dotted: &str, at: usize, value: &Spanned<DeValue<'_>>) {
        let Some(key) = find(dotted) else {
            let (what, accepted) = unknown(dotted);
            let mistake = mistake(self.text, at, Some(dotted), what, accepted);
            self.mistakes.push(mistake);
            return;
        };
        let admitted = match of_toml(value.get_ref()) {
            Some(given) => key
                .admit(given)
                .map_err(|problem| (problem.what, problem.accepted)),
            None => Err((
                format!("this is a TOML {}", value.get_ref().type_str()),
                key.accepted(),
            )),
        };
        let twice = self.taken.iter().any(|(other, ..)| other.name == key.name);
        match admitted {
            Ok(_) if twice => {
                let what = format!("{} stands twice, once by an earlier name", key.name);
                let mistake = mistake(self.text, at, Some(dotted), what, "each setting once");
                self.mistakes.push(mistake);
            }
            Ok(value) => self.taken.push((key, value, at)),
            Err((what, accepted)) => {
                let at = value.span().start;
                let mistake = mistake(self.text, at, Some(dotted), what, accepted);
                self.mistakes.push(mistake);
            }
        }
    }

    /// What cannot hold together, with everything the file leaves out as it is.
    fn conflicts(&mut self, base: &Values) {
        let mut values = base.clone();
        for (key, value, _) in &self.taken {
            values.set(key, value.clone());
        }
        for conflict in values.conflicts() {
            let named = self
                .taken
                .iter()
                .rfind(|(key, ..)| conflict.keys.contains(&key.name));
            let at = named.map_or(0, |(.., at)| *at);
            let key = named.map(|(key, ..)| key.name);
            let mistake = mistake(self.text, at, key, conflict.what, conflict.accepted);
            self.mistakes.push(mistake);
        }
    }
}

/// What to say of a name that is no key.
pub(super) fn unknown(name: &str) -> (String, String) {
    let is_points = name.starts_with("news2.") && name.contains("point");
    if is_points {
        return (
            "NEWS2's table of points cannot be changed".to_owned(),
            "response texts and intervals of each row; the points are the published ones"
                .to_owned(),
        );
    }
    ("there is no such setting".to_owned(), near(name))
}

fn mistake(
    text: &str,
    at: usize,
    key: Option<&str>,
    what: impl Into<String>,
    accepted: impl Into<String>,
) -> Mistake {
    let before = text.get(..at).unwrap_or(text);
    let line_start = before.rfind('\n').map_or(0, |end| end + 1);
    Mistake {
        line: before.matches('\n').count() + 1,
        column: before[line_start..].chars().count() + 1,
        key: key.map(str::to_owned),
        what: what.into(),
        accepted: accepted.into(),
    }
}

/// A TOML value of a sort that some key takes.
fn of_toml(value: &DeValue<'_>) -> Option<Value> {
    match value {
        DeValue::String(text) => Some(Value::Text(text.to_string())),
        DeValue::Boolean(flag) => Some(Value::Flag(*flag)),
        DeValue::Integer(number) => i64::from_str_radix(number.as_str(), number.radix())
            .ok()
            .map(Value::Whole),
        // From its digits, never by way of a binary fraction.
        DeValue::Float(number) => Decimal::parse(number.as_str()).map(Value::Number),
        DeValue::Datetime(_) | DeValue::Array(_) | DeValue::Table(_) => None,
    }
}

/// One TOML value by itself.
pub(super) fn literal(text: &str) -> Option<Value> {
    let value = DeValue::parse(text).ok()?;
    of_toml(value.get_ref())
}

/// The policy as a file: every key with its meaning, its limits and its value. What is as
/// published is written all the same, so that the file says all that holds.
#[must_use]
pub fn write(values: &Values) -> String {
    let mut out = String::from(
        "# The ward's policy. NEWS2's table of points is published and no part of it.\n# Check it with `policy check FILE`; put it in force with `policy apply FILE --reason WHY`.\n",
    );
    for section in SECTIONS {
        // Writing to a string cannot fail.
        let _ = write!(out, "\n# ---- {}\n", section.about);
        for key in section.keys {
            let _ = writeln!(out, "\n# {}", key.help);
            let _ = writeln!(out, "# {}.", capital(&key.accepted()));
            let default = key.default();
            if values.get(key) != default {
                let _ = writeln!(out, "# Without this: {}", default.literal());
            }
            let _ = writeln!(out, "{} = {}", key.name, values.get(key).literal());
        }
    }
    out
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(chars).collect()
    })
}
