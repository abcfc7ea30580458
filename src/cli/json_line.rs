//! One JSON object as a line of input, each name at most once. JSON itself leaves open what a
//! name given twice means; here it is refused, since the last of two patients may be the wrong
//! one.

use std::fmt;

use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use serde_json::Value;

use super::report::CliError;

/// Names and values in the order given.
pub struct Object(Vec<(String, Value)>);

impl Object {
    /// Reads a line.
    ///
    /// # Errors
    /// What is no object, or has a name twice.
    pub fn read(line: &[u8]) -> Result<Object, CliError> {
        let object: Object = serde_json::from_slice(line)
            .map_err(|error| CliError::refused(format!("is no JSON object: {error}")))?;
        refuse_twice(object.0.iter().map(|(name, _)| name.as_str()))?;
        Ok(object)
    }

    /// The value of a name.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&Value> {
        let found = self.0.iter().find(|(known, _)| known == name);
        found.map(|(_, value)| value)
    }

    /// All names and values.
    pub fn pairs(&self) -> impl Iterator<Item = (&str, &Value)> {
        self.0.iter().map(|(name, value)| (name.as_str(), value))
    }
}

/// Refuses names of which one is given twice.
///
/// # Errors
/// Names the first that is.
pub fn refuse_twice<'a>(names: impl Iterator<Item = &'a str>) -> Result<(), CliError> {
    let mut seen = std::collections::BTreeSet::new();
    for name in names {
        if !seen.insert(name) {
            return Err(CliError::refused(format!(
                "{name}: is given twice. Accepted: each name once; nothing of it was recorded."
            )));
        }
    }
    Ok(())
}

impl<'de> Deserialize<'de> for Object {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Object, D::Error> {
        struct Pairs;
        impl<'de> Visitor<'de> for Pairs {
            type Value = Object;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Object, A::Error> {
                let mut pairs = Vec::new();
                while let Some(pair) = map.next_entry()? {
                    pairs.push(pair);
                }
                Ok(Object(pairs))
            }
        }
        deserializer.deserialize_map(Pairs)
    }
}
