//! A setting's value, and its TOML form.

use serde::{Deserialize, Serialize};

use crate::record::quantity::Decimal;

/// A value.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub enum Value {
    /// A whole number.
    Whole(i64),
    /// A decimal number.
    Number(Decimal),
    /// Yes or no.
    Flag(bool),
    /// Words.
    Text(String),
}

/// 5 and 5.0 are one value.
impl PartialEq for Value {
    fn eq(&self, other: &Value) -> bool {
        match (self, other) {
            (Value::Flag(one), Value::Flag(two)) => one == two,
            (Value::Text(one), Value::Text(two)) => one == two,
            _ => self
                .as_number()
                .zip(other.as_number())
                .is_some_and(|(one, two)| one.compare(two).is_eq()),
        }
    }
}

impl Eq for Value {}

impl Value {
    /// As TOML has it: `45`, `2.5`, `true`, `"words"`.
    #[must_use]
    pub fn literal(&self) -> String {
        match self {
            Value::Whole(number) => number.to_string(),
            Value::Number(number) => number.plain(),
            Value::Flag(flag) => flag.to_string(),
            Value::Text(text) => quoted(text),
        }
    }

    /// As a number, if it is one.
    #[must_use]
    pub const fn as_number(&self) -> Option<Decimal> {
        match self {
            Value::Whole(mantissa) => Some(Decimal {
                mantissa: *mantissa,
                places: 0,
            }),
            Value::Number(number) => Some(*number),
            Value::Flag(_) | Value::Text(_) => None,
        }
    }

    /// What sort of value it is, with its article.
    pub(super) const fn sort(&self) -> &'static str {
        match self {
            Value::Whole(_) => "a whole number",
            Value::Number(_) => "a decimal number",
            Value::Flag(_) => "true or false",
            Value::Text(_) => "text",
        }
    }
}

/// Words as a TOML basic string.
#[must_use]
pub fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => out.push_str(&format!("\\u{:04X}", u32::from(c))),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
