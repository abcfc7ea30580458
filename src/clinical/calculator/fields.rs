//! Reading one flat JSON object: numbers from their decimal text, each field at most once.

use std::borrow::Cow;
use std::fmt;

use serde::Deserialize;
use serde::de::{Deserializer, MapAccess, Visitor};
use serde_json::value::RawValue;

use super::{Calculator, Refused};
use crate::record::quantity::Decimal;
use crate::record::time::Timestamp;

/// Most fields of one object: more than any calculator takes, and few enough that looking for
/// one given twice stays quick whatever is sent.
const FIELDS_MAX: usize = 32;

/// The fields of one object, unread but for their extent. `null` counts as not given.
pub(super) struct Fields<'a> {
    pairs: Vec<(Key<'a>, &'a RawValue)>,
    /// Put before the name of a field in a refusal: `previous[2].`.
    within: String,
}

struct Key<'a>(Cow<'a, str>);

impl<'a> Fields<'a> {
    pub(super) fn parse(text: &'a str) -> Result<Fields<'a>, Refused> {
        let pairs: Pairs<'a> =
            serde_json::from_str(text).map_err(|error| Refused::NotAnObject {
                why: error.to_string(),
            })?;
        let fields = Fields {
            pairs: pairs.0,
            within: String::new(),
        };
        if fields.pairs.len() > FIELDS_MAX {
            let why = format!("it has more than {FIELDS_MAX} fields");
            return Err(Refused::NotAnObject { why });
        }
        match fields.twice() {
            Some(field) => Err(Refused::GivenTwice { field }),
            None => Ok(fields),
        }
    }

    fn twice(&self) -> Option<String> {
        let again = |(at, (key, _)): (usize, &(Key<'a>, _))| {
            self.pairs[..at]
                .iter()
                .any(|(earlier, _)| earlier.0 == key.0)
                .then(|| key.0.to_string())
        };
        self.pairs.iter().enumerate().find_map(again)
    }

    fn raw(&self, name: &str) -> Option<&'a str> {
        let raw = self.pairs.iter().find(|(key, _)| key.0 == name)?.1.get();
        (raw != "null").then_some(raw)
    }

    pub(super) fn refuse_unknown(&self, calculator: &'static Calculator) -> Result<(), Refused> {
        let known: Vec<&str> = calculator.fields.iter().map(|field| field.name).collect();
        self.refuse_others(&known, calculator.name)
    }

    fn refuse_others(&self, known: &[&str], calculator: &'static str) -> Result<(), Refused> {
        let unknown = |key: &&Key<'a>| key.0 != "calc" && !known.contains(&key.0.as_ref());
        match self.pairs.iter().map(|(key, _)| key).find(unknown) {
            None => Ok(()),
            Some(key) => Err(Refused::UnknownField {
                field: self.named(&shorten(&key.0)),
                calculator,
                known: known.join(", "),
            }),
        }
    }

    /// The name of a field as a refusal shows it.
    fn named(&self, name: &str) -> String {
        format!("{}{name}", self.within)
    }

    fn wrong_type(&self, name: &str, wanted: &'static str) -> Refused {
        Refused::WrongType {
            field: self.named(name),
            wanted,
        }
    }

    /// A string.
    pub(super) fn text(&self, name: &str) -> Result<Option<String>, Refused> {
        let Some(raw) = self.raw(name) else {
            return Ok(None);
        };
        serde_json::from_str(raw)
            .map(Some)
            .map_err(|_| self.wrong_type(name, "a text in quotes"))
    }

    /// A text, a number or true or false, as somebody would type it into a form.
    pub(super) fn as_typed(&self, name: &str) -> Result<Option<String>, Refused> {
        match self.raw(name) {
            None => Ok(None),
            Some(raw) if raw.starts_with(['{', '[']) => {
                Err(self.wrong_type(name, "one text, number, or true or false"))
            }
            Some(raw) if !raw.starts_with('"') => Ok(Some(raw.to_owned())),
            Some(_) => self.text(name),
        }
    }

    /// `true` or `false`.
    pub(super) fn yes_no(&self, name: &str) -> Result<Option<bool>, Refused> {
        match self.raw(name) {
            None => Ok(None),
            Some("true") => Ok(Some(true)),
            Some("false") => Ok(Some(false)),
            Some(_) => Err(self.wrong_type(name, "true or false")),
        }
    }

    /// A whole number.
    pub(super) fn whole(&self, name: &str) -> Result<Option<i32>, Refused> {
        self.steps(name, 0)
    }

    /// A number with at most `places` (0 or 1) decimals, as a whole number of its last place.
    pub(super) fn steps(&self, name: &str, places: usize) -> Result<Option<i32>, Refused> {
        let Some(raw) = self.raw(name) else {
            return Ok(None);
        };
        let wanted = match places {
            0 => "a whole number",
            _ => "a number with at most one decimal",
        };
        match exact(raw, places) {
            Ok(steps) => Ok(Some(steps)),
            // 1e1 is a whole number: what is wrong with it is how it is written.
            Err(NotExact::NotPlain) if has_exponent(raw) => {
                Err(self.wrong_type(name, "written without an exponent: 10, not 1e1"))
            }
            Err(NotExact::NotPlain) => Err(self.wrong_type(name, wanted)),
            Err(NotExact::TooFine) => Err(Refused::TooFine {
                field: self.named(name),
                given: shorten(raw),
                wanted,
            }),
        }
    }

    /// As [`Fields::steps`], and within `low..=high` steps.
    pub(super) fn within(
        &self,
        name: &str,
        places: usize,
        (low, high): (i32, i32),
    ) -> Result<Option<i32>, Refused> {
        let value = self.steps(name, places)?;
        match value {
            Some(steps) if steps < low || steps > high => Err(Refused::NotPossible {
                field: self.named(name),
                given: decimal(steps, places),
                accepted: format!("{} to {}", decimal(low, places), decimal(high, places)),
            }),
            value => Ok(value),
        }
    }

    /// A decimal number exactly as written, at most six decimals.
    pub(super) fn decimal(&self, name: &str) -> Result<Option<Decimal>, Refused> {
        let Some(raw) = self.raw(name) else {
            return Ok(None);
        };
        let wanted = "a number without an exponent, at most six decimals";
        Decimal::parse(raw)
            .map(Some)
            .ok_or_else(|| self.wrong_type(name, wanted))
    }

    /// A whole number, or `"NT"` for not testable (an inner `None`).
    pub(super) fn points_or_nt(&self, name: &str) -> Result<Option<Option<i32>>, Refused> {
        match self.raw(name) {
            Some(r#""NT""#) => Ok(Some(None)),
            _ => Ok(self.whole(name)?.map(Some)),
        }
    }

    /// An RFC 3339 moment with its offset.
    pub(super) fn moment(&self, name: &str) -> Result<Option<Timestamp>, Refused> {
        let Some(text) = self.text(name)? else {
            return Ok(None);
        };
        chrono::DateTime::parse_from_rfc3339(&text)
            .map(|moment| Some(Timestamp::from_utc(moment.to_utc())))
            .map_err(|_| self.wrong_type(name, "a time such as 2026-10-25T01:30:00Z"))
    }

    /// A list of at most `most` numbers, each without an exponent and with at most six decimals.
    pub(super) fn decimals(
        &self,
        name: &str,
        most: usize,
    ) -> Result<Option<Vec<Decimal>>, Refused> {
        let Some(raw) = self.raw(name) else {
            return Ok(None);
        };
        let wanted = "a list of numbers without exponents, each of at most six decimals";
        let list: Vec<&'a RawValue> =
            serde_json::from_str(raw).map_err(|_| self.wrong_type(name, wanted))?;
        if list.len() > most {
            return Err(Refused::NotPossible {
                field: self.named(name),
                given: format!("{} long", list.len()),
                accepted: format!("at most {most} numbers"),
            });
        }
        list.iter()
            .map(|raw| Decimal::parse(raw.get()).ok_or_else(|| self.wrong_type(name, wanted)))
            .collect::<Result<_, _>>()
            .map(Some)
    }

    /// A list of objects that take `known` fields only.
    pub(super) fn objects(
        &self,
        name: &'static str,
        known: &[&str],
        calculator: &'static str,
    ) -> Result<Option<Vec<Fields<'a>>>, Refused> {
        let Some(raw) = self.raw(name) else {
            return Ok(None);
        };
        let list: Vec<&'a RawValue> =
            serde_json::from_str(raw).map_err(|_| self.wrong_type(name, "a list of objects"))?;
        let read = |(at, raw): (usize, &'a RawValue)| {
            let mut fields = Fields::parse(raw.get())?;
            fields.within = format!("{name}[{at}].");
            fields.refuse_others(known, calculator)?;
            Ok(fields)
        };
        list.into_iter()
            .enumerate()
            .map(read)
            .collect::<Result<_, _>>()
            .map(Some)
    }
}

enum NotExact {
    NotPlain,
    TooFine,
}

/// The decimal text of a JSON number times 10^places, exactly. Zeros after the last place
/// change nothing; any other digit there is refused. No exponents: nobody charts them.
fn has_exponent(raw: &str) -> bool {
    raw.starts_with(|c: char| c == '-' || c.is_ascii_digit()) && raw.contains(['e', 'E'])
}

fn exact(text: &str, places: usize) -> Result<i32, NotExact> {
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    let digits = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
    let unsigned = whole.strip_prefix('-').unwrap_or(whole);
    if unsigned.is_empty() || !digits(unsigned) || !digits(fraction) {
        return Err(NotExact::NotPlain);
    }
    let kept = fraction.trim_end_matches('0');
    if kept.len() > places {
        return Err(NotExact::TooFine);
    }
    // Ten digits cannot be charted; saturating leaves them outside every limit.
    let scaled = format_args!("{whole}{kept}").to_string();
    let steps = scaled.parse::<i64>().unwrap_or(i64::MAX);
    let missing_places = u32::try_from(places - kept.len()).unwrap_or(0);
    let steps = steps.saturating_mul(10_i64.pow(missing_places));
    Ok(
        i32::try_from(steps).unwrap_or(if steps < 0 || text.starts_with('-') {
            i32::MIN
        } else {
            i32::MAX
        }),
    )
}

fn decimal(steps: i32, places: usize) -> String {
    if places == 0 {
        return steps.to_string();
    }
    let sign = if steps < 0 { "-" } else { "" };
    format!(
        "{sign}{}.{}",
        steps.unsigned_abs() / 10,
        steps.unsigned_abs() % 10
    )
}

/// At most 40 characters of what was given, for a message.
fn shorten(text: &str) -> String {
    match text.char_indices().nth(40) {
        Some((cut, _)) => format!("{}…", &text[..cut]),
        None => text.to_owned(),
    }
}

/// Pairs in the order written; a map would hide a field given twice.
struct Pairs<'a>(Vec<(Key<'a>, &'a RawValue)>);

impl<'de> Deserialize<'de> for Pairs<'de> {
    fn deserialize<D: Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        struct InOrder;
        impl<'de> Visitor<'de> for InOrder {
            type Value = Pairs<'de>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object")
            }
            fn visit_map<M: MapAccess<'de>>(self, mut map: M) -> Result<Pairs<'de>, M::Error> {
                let mut pairs = Vec::with_capacity(10);
                while let Some(pair) = map.next_entry()? {
                    pairs.push(pair);
                }
                Ok(Pairs(pairs))
            }
        }
        input.deserialize_map(InOrder)
    }
}

impl<'de> Deserialize<'de> for Key<'de> {
    fn deserialize<D: Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        struct Borrowing;
        impl<'de> Visitor<'de> for Borrowing {
            type Value = Key<'de>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a field name")
            }
            fn visit_borrowed_str<E>(self, name: &'de str) -> Result<Key<'de>, E> {
                Ok(Key(Cow::Borrowed(name)))
            }
            fn visit_str<E>(self, name: &str) -> Result<Key<'de>, E> {
                Ok(Key(Cow::Owned(name.to_owned())))
            }
        }
        input.deserialize_str(Borrowing)
    }
}
