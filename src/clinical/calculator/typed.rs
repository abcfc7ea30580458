//! A calculator asked with typed words, `rr=18 spo2=96`, and answered in lines: for the command line
//! and the shell alike, so that the same words give the same answer in both.

use serde_json::{Map, Number, Value};

use super::answer;
use crate::clinical::news2;

/// Under every answer.
const CAUTION: &str = "Decision support only: local policy and licensed practice decide.";

/// What a calculator said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Typed {
    /// Its answer, a JSON object.
    pub json: String,
    /// The answer in lines, with its caution; or why there is none.
    pub words: Result<String, String>,
}

/// A word that is no input.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{0}\" is not name=value")]
pub struct NotAPair(pub String);

/// Asks the calculator `name` with `inputs`, each `name=value`.
///
/// # Errors
/// [`NotAPair`] for the first input that is none.
pub fn typed(name: &str, inputs: &[impl AsRef<str>]) -> Result<Typed, NotAPair> {
    let json = answer(&question(name, inputs)?);
    let parsed: Map<String, Value> = serde_json::from_str(&json).unwrap_or_default();
    let words = match parsed.get("ok") == Some(&Value::Bool(true)) {
        true => Ok(in_words(name, &parsed)),
        false => {
            let why = parsed.get("error").and_then(Value::as_str);
            Err(why.unwrap_or(&json).to_owned())
        }
    };
    Ok(Typed { json, words })
}

/// The words of one line: parted by spaces, but not within quotes or brackets, so that a list may
/// be typed with spaces.
#[must_use]
pub fn words_of(line: &str) -> Vec<&str> {
    let (mut words, mut start) = (Vec::new(), None);
    let (mut depth, mut quoted) = (0_usize, false);
    for (at, letter) in line.char_indices() {
        match letter {
            '"' => quoted = !quoted,
            '[' | '{' if !quoted => depth += 1,
            ']' | '}' if !quoted => depth = depth.saturating_sub(1),
            _ => {}
        }
        let parts = letter.is_whitespace() && depth == 0 && !quoted;
        match (parts, start) {
            (false, None) => start = Some(at),
            (true, Some(from)) => {
                words.push(&line[from..at]);
                start = None;
            }
            _ => {}
        }
    }
    words.extend(start.map(|from| &line[from..]));
    words
}

/// `name=value` pairs as the JSON object the calculators read. What looks like a number is
/// one, digit for digit.
fn question(calc: &str, inputs: &[impl AsRef<str>]) -> Result<String, NotAPair> {
    let mut object = format!("{{\"calc\":{}", Value::from(calc));
    for input in inputs.iter().map(AsRef::as_ref) {
        let Some((name, value)) = input.split_once('=') else {
            return Err(NotAPair(input.to_owned()));
        };
        // The ten digits of an NHS number are a text, not a quantity.
        let is_number = calc != "nhs_number" && value.parse::<Number>().is_ok();
        let is_json = value.starts_with(['{', '[', '"'])
            || matches!(value, "true" | "false" | "null")
            || is_number;
        let value = if is_json {
            value.to_owned()
        } else {
            Value::from(value).to_string()
        };
        object.push_str(&format!(",{}:{value}", Value::from(name)));
    }
    object.push('}');
    Ok(object)
}

/// One line per answer, nested ones indented.
fn in_words(calc: &str, answer: &Map<String, Value>) -> String {
    let mut lines = Vec::new();
    for (name, value) in answer.iter().filter(|(name, _)| *name != "ok") {
        add_in_words(&mut lines, name, value, 0);
    }
    if calc == "news2" {
        lines.push(format!("{}. {}", news2::SOURCE, news2::CAUTION));
    }
    lines.push(CAUTION.to_owned());
    lines.join("\n")
}

fn add_in_words(lines: &mut Vec<String>, name: &str, value: &Value, depth: usize) {
    let indent = "  ".repeat(depth);
    let name = name.replace('_', " ");
    match value {
        Value::Object(inner) => {
            lines.push(format!("{indent}{name}:"));
            for (name, value) in inner {
                add_in_words(lines, name, value, depth + 1);
            }
        }
        Value::String(text) => lines.push(format!("{indent}{name}: {text}")),
        Value::Bool(yes) => lines.push(format!(
            "{indent}{name}: {}",
            if *yes { "yes" } else { "no" }
        )),
        Value::Null => lines.push(format!("{indent}{name}: not known")),
        other => lines.push(format!("{indent}{name}: {other}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_parted_outside_quotes_and_brackets() {
        assert_eq!(
            words_of(
                r#"aki  creatinine=120 previous=[{"creatinine": 80, "days_ago": 7}] x="a b" "#
            ),
            [
                "aki",
                "creatinine=120",
                r#"previous=[{"creatinine": 80, "days_ago": 7}]"#,
                r#"x="a b""#
            ]
        );
        assert_eq!(words_of("  "), Vec::<&str>::new());
    }

    #[test]
    fn typed_words_give_lines_or_why_not() {
        let gcs = typed("gcs", &["eye=4", "verbal=5", "motor=6"]).expect("pairs");
        let said = gcs.words.expect("an answer");
        assert!(
            said.contains("total: 15\n") && said.ends_with(CAUTION),
            "{said}"
        );
        let missing = typed("gcs", &["eye=4"]).expect("pairs").words;
        assert!(missing.expect_err("parts are missing").contains("verbal"));
        assert_eq!(
            typed("gcs", &["eye"]).expect_err("no pair").to_string(),
            "\"eye\" is not name=value"
        );
    }
}
