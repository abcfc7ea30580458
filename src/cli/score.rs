//! `handfast score`: calculators without a journal.

use std::io::{BufWriter, Write};

use clap::Args;

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use crate::clinical::calculator;
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
    if calc == "help" {
        return help(cx, args.inputs.first().map(String::as_str));
    }
    let typed = calculator::typed(calc, &args.inputs)
        .map_err(|error| CliError::new(Exit::Usage, error.to_string()))?;
    let exit = match typed.words {
        Ok(_) => Exit::Done,
        Err(_) => Exit::Refused,
    };
    match typed.words {
        _ if cx.out.json => cx.out.text(&typed.json)?,
        Ok(words) => cx.out.line(&words)?,
        Err(why) => return Err(CliError::refused(&why)),
    }
    Ok(exit)
}

/// What each calculator works out; of one, the values it takes.
fn help(cx: &Context, about: Option<&str>) -> Result<Exit, CliError> {
    let named = |name: &&str| calculator::CALCULATORS.iter().find(|c| c.name == *name);
    let Some(known) = about.as_ref().and_then(named) else {
        if let Some(unknown) = about {
            return Err(CliError::new(
                Exit::Usage,
                format!("there is no calculator \"{unknown}\""),
            )
            .hint("`handfast score list` names them"));
        }
        for known in calculator::CALCULATORS {
            cx.out.line(&format!("{}: {}", known.name, known.about))?;
        }
        cx.out
            .line("`handfast score help NAME` says what one takes")?;
        return Ok(Exit::Done);
    };
    cx.out.line(&format!("{}: {}", known.name, known.about))?;
    for field in known.fields {
        let need = if field.required {
            ""
        } else {
            " (may be left out)"
        };
        cx.out
            .line(&format!("  {}: {}{need}", field.name, field.holds))?;
    }
    Ok(Exit::Done)
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
