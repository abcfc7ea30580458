//! One setting: its name, meaning, form, limits, default and where the default comes from.

use super::value::{Value, quoted};
use crate::record::problem::Problem;
use crate::record::quantity::Decimal;

/// What a key holds before a ward changes it. As [`Value`], but it can be a constant.
#[derive(Debug, Clone, Copy)]
pub enum Preset {
    /// A whole number.
    Whole(i64),
    /// A decimal number.
    Number(Decimal),
    /// Yes or no.
    Flag(bool),
    /// Words, or the one word that stands for no number.
    Text(&'static str),
}

/// What a key may hold.
#[derive(Debug, Clone, Copy)]
pub enum Form {
    /// A whole number.
    Whole {
        /// In what, as people say it.
        unit: &'static str,
        /// Smallest accepted.
        low: i64,
        /// Largest accepted.
        high: i64,
        /// A word accepted in place of a number.
        or: Option<&'static str>,
    },
    /// A decimal number.
    Number {
        /// In what.
        unit: &'static str,
        /// Smallest accepted.
        low: Decimal,
        /// Largest accepted.
        high: Decimal,
        /// Most digits after the point.
        places: u8,
        /// A word accepted in place of a number.
        or: Option<&'static str>,
    },
    /// Yes or no.
    Flag,
    /// One line of words.
    Text {
        /// Most characters.
        max: usize,
    },
}

/// One setting a ward may change. Everything that is known of it stands here once: reading,
/// showing, refusing and `docs/policy.md` all work from it.
#[derive(Debug, Clone, Copy)]
pub struct Key {
    /// As typed: section, dot, rest.
    pub name: &'static str,
    /// What it means.
    pub help: &'static str,
    /// What it may hold.
    pub form: Form,
    /// What holds until a ward changes it.
    pub preset: Preset,
    /// Where the preset comes from.
    pub source: &'static str,
    /// Names by which earlier programs stored it.
    pub before: &'static [&'static str],
}

/// Most characters of a text setting: one line, as long as any line of an entry.
pub const TEXT_MAX: usize = crate::record::text::LINE_CHARS_MAX;

impl Key {
    const fn new(
        name: &'static str,
        form: Form,
        preset: Preset,
        help: &'static str,
        source: &'static str,
    ) -> Key {
        Key {
            name,
            help,
            form,
            preset,
            source,
            before: &[],
        }
    }

    /// A whole number from `limits.0` to `limits.1`.
    pub(super) const fn whole(
        name: &'static str,
        preset: i64,
        limits: (i64, i64),
        unit: &'static str,
        help: &'static str,
        source: &'static str,
    ) -> Key {
        let form = Form::Whole {
            unit,
            low: limits.0,
            high: limits.1,
            or: None,
        };
        Key::new(name, form, Preset::Whole(preset), help, source)
    }

    /// A decimal number from `limits.0` to `limits.1`.
    pub(super) const fn number(
        name: &'static str,
        preset: Preset,
        limits: (Decimal, Decimal),
        unit: &'static str,
        help: &'static str,
        source: &'static str,
    ) -> Key {
        let form = Form::Number {
            unit,
            low: limits.0,
            high: limits.1,
            places: 1,
            or: None,
        };
        Key::new(name, form, preset, help, source)
    }

    /// Yes or no.
    pub(super) const fn flag(
        name: &'static str,
        preset: bool,
        help: &'static str,
        source: &'static str,
    ) -> Key {
        Key::new(name, Form::Flag, Preset::Flag(preset), help, source)
    }

    /// One line of words.
    pub(super) const fn text(
        name: &'static str,
        preset: &'static str,
        help: &'static str,
        source: &'static str,
    ) -> Key {
        let form = Form::Text { max: TEXT_MAX };
        Key::new(name, form, Preset::Text(preset), help, source)
    }

    /// A word is accepted in place of the number.
    pub(super) const fn or(mut self, word: &'static str) -> Key {
        match &mut self.form {
            Form::Whole { or, .. } | Form::Number { or, .. } => *or = Some(word),
            Form::Flag | Form::Text { .. } => {}
        }
        self
    }

    /// What holds until it is changed.
    pub(super) const fn preset(mut self, preset: Preset) -> Key {
        self.preset = preset;
        self
    }

    /// An earlier name.
    pub(super) const fn was(mut self, before: &'static [&'static str]) -> Key {
        self.before = before;
        self
    }

    /// The section it is in.
    #[must_use]
    pub fn section(&self) -> &'static str {
        self.name
            .split_once('.')
            .map_or(self.name, |(section, _)| section)
    }

    /// What holds until a ward changes it.
    #[must_use]
    pub fn default(&self) -> Value {
        match self.preset {
            Preset::Whole(number) => Value::Whole(number),
            Preset::Number(number) => Value::Number(number),
            Preset::Flag(flag) => Value::Flag(flag),
            Preset::Text(text) => Value::Text(text.to_owned()),
        }
    }

    /// What would be accepted, in words.
    #[must_use]
    pub fn accepted(&self) -> String {
        let or = |word: Option<&str>| {
            word.map_or(String::new(), |word| format!(", or {}", quoted(word)))
        };
        match self.form {
            Form::Whole {
                unit,
                low,
                high,
                or: word,
            } => {
                format!("a whole number from {low} to {high} ({unit}){}", or(word))
            }
            Form::Number {
                unit,
                low,
                high,
                places,
                or: word,
            } => format!(
                "a number from {} to {} ({unit}), at most {places} {} after the point{}",
                low.plain(),
                high.plain(),
                if places == 1 { "digit" } else { "digits" },
                or(word)
            ),
            Form::Flag => "true or false".to_owned(),
            Form::Text { max } => format!("one line of 1 to {max} characters, in quotes"),
        }
    }

    /// Reads a value as the journal holds it and as a TOML file has it: `45`, `2.5`, `true`,
    /// `"words"`.
    ///
    /// # Errors
    /// What is wrong and what would be accepted.
    pub fn read(&self, literal: &str) -> Result<Value, Problem> {
        super::file::literal(literal)
            .ok_or_else(|| {
                self.refuse(format!(
                    "{} is no TOML number, text, true or false",
                    shortened(literal)
                ))
            })
            .and_then(|given| self.admit(given))
    }

    /// Reads a value as people type it: as [`Key::read`], and words need no quotes.
    ///
    /// # Errors
    /// What is wrong and what would be accepted.
    pub fn read_typed(&self, typed: &str) -> Result<Value, Problem> {
        let typed = typed.trim();
        let word = match self.form {
            Form::Whole { or, .. } | Form::Number { or, .. } => or,
            Form::Flag | Form::Text { .. } => None,
        };
        let is_bare = !typed.starts_with(['"', '\'']);
        if is_bare && (matches!(self.form, Form::Text { .. }) || word == Some(typed)) {
            return self.admit(Value::Text(typed.to_owned()));
        }
        self.read(typed)
    }

    /// Takes a value if it has the right form and is within its limits.
    pub(super) fn admit(&self, given: Value) -> Result<Value, Problem> {
        match (self.form, given) {
            (
                Form::Whole { or: Some(word), .. } | Form::Number { or: Some(word), .. },
                Value::Text(text),
            ) if text == word => Ok(Value::Text(text)),
            (Form::Whole { low, high, .. }, Value::Whole(number)) => {
                self.within(number < low, number > high, Value::Whole(number))
            }
            (
                Form::Number {
                    low, high, places, ..
                },
                given @ (Value::Whole(_) | Value::Number(_)),
            ) => {
                let number = given.as_number().unwrap_or(low);
                if number.places > places {
                    return Err(self.refuse(format!("{} is finer than is used", given.literal())));
                }
                let (below, above) = (number.compare(low).is_lt(), number.compare(high).is_gt());
                self.within(below, above, Value::Number(number))
            }
            (Form::Flag, Value::Flag(flag)) => Ok(Value::Flag(flag)),
            (Form::Text { max }, Value::Text(text)) => self.words(text, max),
            (_, given) => Err(self.refuse(format!(
                "{} is {}",
                shortened(&given.literal()),
                given.sort()
            ))),
        }
    }

    fn within(&self, below: bool, above: bool, value: Value) -> Result<Value, Problem> {
        if below {
            return Err(self.refuse(format!("{} is too small", value.literal())));
        }
        if above {
            return Err(self.refuse(format!("{} is too large", value.literal())));
        }
        Ok(value)
    }

    fn words(&self, text: String, max: usize) -> Result<Value, Problem> {
        let length = text.chars().count();
        if text.trim().is_empty() {
            return Err(self.refuse("it is empty".to_owned()));
        }
        if length > max {
            return Err(self.refuse(format!("it is {length} characters long")));
        }
        if let Some(strange) = text.chars().find(|c| is_strange(*c)) {
            return Err(self.refuse(format!(
                "it holds the invisible character U+{:04X}",
                u32::from(strange)
            )));
        }
        Ok(Value::Text(text))
    }

    fn refuse(&self, what: String) -> Problem {
        Problem::new(what, self.accepted())
    }
}

/// Controls, line ends, and what turns the direction of reading: none belongs into one line of
/// words that others act on.
fn is_strange(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}')
}

/// Enough of what was given to find it again.
fn shortened(text: &str) -> String {
    const SHOWN: usize = 60;
    if text.chars().count() <= SHOWN {
        return text.to_owned();
    }
    let start: String = text.chars().take(SHOWN).collect();
    format!("{start}…")
}
