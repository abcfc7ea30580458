//! `handfast score`: calculators without a journal.

use std::io::{BufWriter, Write};

use clap::Args;
use serde_json::{Map, Number, Value};

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use crate::clinical::{calculator, news2};
use crate::line_input::next_line;

/// A line of NDJSON is never longer than this.
const LINE_BYTES_MAX: usize = 64 * 1024;

/// Calculate a score without a journal.
///
/// `handfast score news2 rr=18 spo2=96 scale=1 oxygen=false sbp=120 hr=88 acvpu=A temp=37.1`
///
/// Decision support only: local policy and licensed practice decide.
#[derive(Debug, Args)]
pub struct ScoreArgs {
    /// Which calculator; `handfast score list` names them
    calc: Option<String>,
    /// Inputs as name=value
    #[arg(value_name = "NAME=VALUE")]
    inputs: Vec<String>,
    /// Read one JSON object a line from standard input, answer one a line
    #[arg(long, conflicts_with_all = ["calc", "inputs"])]
    ndjson: bool,
}

/// Runs the command.
pub fn run(cx: &Context, args: &ScoreArgs) -> Result<Exit, CliError> {
    if args.ndjson {
        return stream();
    }
    let Some(calc) = &args.calc else {
        return Err(CliError::new(Exit::Usage, "no calculator is named")
            .hint("`handfast score list` names them"));
    };
    if calc == "list" {
        for known in calculator::CALCULATORS {
            cx.out.line(known.name)?;
        }
        return Ok(Exit::Done);
    }
    let answer = calculator::answer(&question(calc, &args.inputs)?);
    let parsed: Map<String, Value> = serde_json::from_str(&answer).unwrap_or_default();
    let ok = parsed.get("ok") == Some(&Value::Bool(true));
    if cx.out.json {
        cx.out.text(&answer)?;
    } else if ok {
        cx.out.line(&in_words(&parsed))?;
        if calc == "news2" {
            cx.out
                .line(&format!("{}. {}", news2::SOURCE, news2::CAUTION))?;
        }
        cx.out
            .line("Decision support only: local policy and licensed practice decide.")?;
    } else {
        let message = parsed
            .get("error")
            .and_then(Value::as_str)
            .unwrap_or(&answer);
        return Err(CliError::refused(message));
    }
    Ok(if ok { Exit::Done } else { Exit::Refused })
}

/// `name=value` pairs as the JSON object the calculators read. What looks like a number is
/// one, digit for digit.
fn question(calc: &str, inputs: &[String]) -> Result<String, CliError> {
    let mut object = format!("{{\"calc\":{}", Value::from(calc));
    for input in inputs {
        let Some((name, value)) = input.split_once('=') else {
            return Err(CliError::new(
                Exit::Usage,
                format!("\"{input}\" is not name=value"),
            ));
        };
        let is_json = value.starts_with(['{', '['])
            || matches!(value, "true" | "false" | "null")
            || value.parse::<Number>().is_ok();
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
fn in_words(answer: &Map<String, Value>) -> String {
    let mut lines = Vec::new();
    for (name, value) in answer.iter().filter(|(name, _)| *name != "ok") {
        add_in_words(&mut lines, name, value, 0);
    }
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

fn stream() -> Result<Exit, CliError> {
    let mut input = std::io::stdin().lock();
    let mut output = BufWriter::with_capacity(1 << 16, std::io::stdout().lock());
    while let Some(line) = next_line(&mut input, LINE_BYTES_MAX)? {
        let answer = match line.map(String::from_utf8) {
            Ok(Ok(line)) if line.trim().is_empty() => continue,
            Ok(Ok(line)) => calculator::answer(line.trim_end()),
            Ok(Err(_)) => not_answered("the line is not UTF-8"),
            Err(long) => not_answered(&long.to_string()),
        };
        output.write_all(answer.as_bytes())?;
        output.write_all(b"\n")?;
    }
    output.flush()?;
    Ok(Exit::Done)
}

/// As the calculators say it of a line that could not be given to them.
fn not_answered(why: &str) -> String {
    serde_json::json!({ "ok": false, "error": why }).to_string()
}
