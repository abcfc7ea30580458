//! `handfast log`: one entry from the command line, or many from standard input.

use clap::Args;
use serde::Serialize;
use serde_json::Value;

use super::context::Context;
use super::exit::Exit;
use super::json_line::{Object, refuse_twice};
use super::output::say;
use super::report::CliError;
use crate::line_input::next_line;
use crate::record::draft::Draft;
use crate::record::field::nearest;
use crate::record::kind::Kind;
use crate::shorthand::composite;
use crate::station::{Receipt, Station};

/// A line of NDJSON is never longer than this.
const LINE_BYTES_MAX: usize = 256 * 1024;

/// Record an entry, or many from standard input.
///
/// `handfast log contact patient=T07 mode=phone outcome=reached how="slept well" next=+4h`
///
/// `handfast log help` names every kind; `handfast log help contact` its fields.
#[derive(Debug, Args)]
pub struct LogArgs {
    /// Kind of entry (contact, obs, task, …), or `help`
    kind: Option<String>,
    /// Fields as name=value; `patient`, `at`, `late_reason` and `related` go with every kind
    #[arg(value_name = "FIELD=VALUE")]
    fields: Vec<String>,
    /// Record unusual values as they are
    #[arg(long)]
    confirm: bool,
    /// Check and record nothing
    #[arg(long)]
    dry_run: bool,
    /// Read one JSON object a line from standard input: {"kind":"note","patient":"T07","text":"…"}
    #[arg(long, conflicts_with_all = ["kind", "fields"])]
    ndjson: bool,
}

/// As `--json` shows it; schema `handfast.receipt/1`.
#[derive(Serialize)]
struct ReceiptJson<'a> {
    schema: &'static str,
    seq: u64,
    hash: String,
    recorded_at: String,
    kind: &'static str,
    /// The patient's pseudonym; none for the ward.
    patient: Option<String>,
    /// The patient's slot, if there is one.
    slot: Option<&'a str>,
    changed: &'a [String],
}

/// As `--dry-run` shows it; schema `handfast.rehearsal/1`.
#[derive(Serialize)]
struct RehearsalJson<'a> {
    schema: &'static str,
    kind: &'a str,
    line: Option<u64>,
}

/// As `log help` shows it; schema `handfast.kinds/1`.
#[derive(Serialize)]
struct KindsJson {
    schema: &'static str,
    kinds: Vec<KindJson>,
}

#[derive(Serialize)]
struct KindJson {
    kind: &'static str,
    help: &'static str,
}

/// As `log help KIND` shows it; schema `handfast.fields/1`.
#[derive(Serialize)]
struct FieldsJson {
    schema: &'static str,
    kind: &'static str,
    help: &'static str,
    fields: Vec<FieldJson>,
}

#[derive(Serialize)]
struct FieldJson {
    name: &'static str,
    required: bool,
    help: &'static str,
    accepted: &'static str,
}

/// Runs the command.
pub fn run(cx: &Context, args: LogArgs) -> Result<Exit, CliError> {
    if args.ndjson {
        return many(cx, args.confirm, args.dry_run);
    }
    let Some(name) = args.kind else {
        return Err(CliError::new(Exit::Usage, "no kind of entry is named")
            .hint("`handfast log help` names every kind"));
    };
    if name == "help" {
        return help(cx, args.fields.first().map(String::as_str));
    }
    let mut draft = draft_from(kind(&name)?, &args.fields)?;
    draft.confirm |= args.confirm;
    let mut station = cx.reading_station()?;
    spell_out(&mut draft, &station)?;
    let actor = cx.actor(&mut station)?;
    if args.dry_run {
        station.rehearse(&actor, &draft)?;
        return rehearsed(cx, &draft, None).map(|()| Exit::Done);
    }
    let receipt = station.submit(&actor, &draft)?;
    show_receipt(cx, &receipt)?;
    Ok(Exit::Done)
}

/// Says that an entry would be recorded. Of many lines only a program wants to hear it.
pub fn rehearsed(cx: &Context, draft: &Draft, line: Option<u64>) -> Result<(), CliError> {
    if cx.out.json {
        return cx.out.json(&RehearsalJson {
            schema: "handfast.rehearsal/1",
            kind: &draft.kind,
            line,
        });
    }
    match line {
        None => cx.out.line("This would be recorded. Nothing was."),
        Some(_) => Ok(()),
    }
}

fn kind(name: &str) -> Result<Kind, CliError> {
    Kind::from_name(name).ok_or_else(|| {
        let names: Vec<&str> = loggable().map(Kind::name).collect();
        let meant = nearest(name, &names).map(|near| format!("; did you mean {near}?"));
        CliError::new(
            Exit::Usage,
            format!(
                "\"{name}\" is not a kind of entry{}",
                meant.unwrap_or_default()
            ),
        )
        .hint(format!("the kinds are {}", names.join(", ")))
    })
}

fn loggable() -> impl Iterator<Item = Kind> {
    Kind::ALL
        .iter()
        .copied()
        .filter(|kind| !kind.is_made_by_program())
}

fn draft_from(kind: Kind, pairs: &[String]) -> Result<Draft, CliError> {
    let mut named = Vec::new();
    for pair in pairs {
        let Some((name, value)) = pair.split_once('=') else {
            return Err(
                CliError::new(Exit::Usage, format!("\"{pair}\" is not name=value"))
                    .hint("quote values with spaces: how=\"slept well\""),
            );
        };
        named.push((name.to_owned(), value.to_owned()));
    }
    refuse_twice(named.iter().map(|(name, _)| name.as_str()))?;
    Ok(Draft::from_pairs(kind, named))
}

/// Readings said together as in the shell, `bp=148/92`, become the fields they stand for.
fn spell_out(draft: &mut Draft, station: &Station) -> Result<(), CliError> {
    let Some(kind) = Kind::from_name(&draft.kind) else {
        return Ok(());
    };
    for (name, value) in std::mem::take(&mut draft.fields) {
        match composite(kind, &name, &value, &station.read_context()) {
            None => draft.fields.push((name, value)),
            Some(Ok(pairs)) => draft.fields.extend(pairs),
            Some(Err(mistake)) => {
                return Err(CliError::refused(format!("{name}: {mistake}")));
            }
        }
    }
    Ok(())
}

/// Shows what was recorded.
pub fn show_receipt(cx: &Context, receipt: &Receipt) -> Result<(), CliError> {
    if cx.out.json {
        return cx.out.json(&ReceiptJson {
            schema: "handfast.receipt/1",
            seq: receipt.seq.0,
            hash: receipt.hash.to_string(),
            recorded_at: receipt.recorded_at.rfc3339(),
            kind: receipt.kind.name(),
            patient: receipt.patient.map(|patient| patient.to_string()),
            slot: receipt.slot.as_deref(),
            changed: &receipt.changed,
        });
    }
    cx.out.line(&format!(
        "{} recorded: {}",
        receipt.seq,
        receipt.kind.title().to_lowercase()
    ))?;
    for changed in &receipt.changed {
        cx.out.line(&format!("  {changed}"))?;
    }
    Ok(())
}

fn help(cx: &Context, name: Option<&str>) -> Result<Exit, CliError> {
    match name {
        None => help_on_kinds(cx)?,
        Some(name) => help_on_fields(cx, kind(name)?)?,
    }
    Ok(Exit::Done)
}

fn help_on_kinds(cx: &Context) -> Result<(), CliError> {
    let kinds = loggable().map(|kind| KindJson {
        kind: kind.name(),
        help: kind.help(),
    });
    if cx.out.json {
        return cx.out.json(&KindsJson {
            schema: "handfast.kinds/1",
            kinds: kinds.collect(),
        });
    }
    for one in kinds {
        cx.out.line(&format!("{:<16} {}", one.kind, one.help))?;
    }
    Ok(())
}

fn help_on_fields(cx: &Context, kind: Kind) -> Result<(), CliError> {
    let specs = kind.specs();
    let fields = specs.iter().map(|spec| FieldJson {
        name: spec.name,
        required: spec.required,
        help: spec.help,
        accepted: spec.hint,
    });
    if cx.out.json {
        return cx.out.json(&FieldsJson {
            schema: "handfast.fields/1",
            kind: kind.name(),
            help: kind.help(),
            fields: fields.collect(),
        });
    }
    cx.out
        .line(&format!("{}: {}\n", kind.name(), kind.help()))?;
    for field in fields {
        let must = if field.required { " (required)" } else { "" };
        cx.out.line(&format!(
            "  {:<18} {}{must}\n  {:<18}   {}",
            field.name, field.help, "", field.accepted
        ))?;
    }
    Ok(())
}

/// One line after another. Each is recorded whole or not at all; what is wrong with one is
/// said with its number, and the others go on.
fn many(cx: &Context, confirm: bool, dry_run: bool) -> Result<Exit, CliError> {
    let mut station = cx.reading_station()?;
    let actor = cx.actor(&mut station)?;
    let mut input = std::io::stdin().lock();
    let (mut refused, mut number) = (0_u64, 0_u64);
    while let Some(line) = next_line(&mut input, LINE_BYTES_MAX)? {
        number += 1;
        if line.as_ref().is_ok_and(|line| line.trim_ascii().is_empty()) {
            continue;
        }
        let draft = line
            .map_err(|long| CliError::refused(long.to_string()))
            .and_then(|line| draft_of_line(&line));
        let outcome = draft.and_then(|mut draft| {
            spell_out(&mut draft, &station)?;
            draft.confirm |= confirm;
            if dry_run {
                station.rehearse(&actor, &draft)?;
                rehearsed(cx, &draft, Some(number))?;
                return Ok(None);
            }
            station
                .submit(&actor, &draft)
                .map(Some)
                .map_err(CliError::from)
        });
        match outcome {
            Ok(Some(receipt)) => show_receipt(cx, &receipt)?,
            Ok(None) => {}
            Err(error) if error.exit == Exit::Refused => {
                refused += 1;
                say_refused(cx, number, &error);
            }
            Err(mut error) => {
                error.message = format!(
                    "line {number}: {}; later lines were not read",
                    error.message
                );
                return Err(error);
            }
        }
    }
    if refused == 0 {
        return Ok(Exit::Done);
    }
    let others = if dry_run {
        "would be recorded, nothing was"
    } else {
        "are recorded"
    };
    say(&format!(
        "{refused} of {number} lines were refused; the others {others}."
    ));
    Ok(Exit::Refused)
}

fn say_refused(cx: &Context, number: u64, error: &CliError) {
    if cx.out.json {
        say(&format!("{{\"line\":{number},\"error\":{}}}", error.json()));
        return;
    }
    for line in error.message.lines() {
        say(&format!("line {number}: {line}"));
    }
}

fn draft_of_line(line: &[u8]) -> Result<Draft, CliError> {
    let object = Object::read(line)?;
    let name = object
        .get("kind")
        .and_then(Value::as_str)
        .unwrap_or_default();
    let kind = kind(name).map_err(|error| CliError {
        exit: Exit::Refused,
        ..error
    })?;
    let mut draft = Draft::new(kind);
    for (name, value) in object.pairs() {
        if name != "kind" {
            draft.set(name, as_typed(name, value)?);
        }
    }
    Ok(draft)
}

/// A JSON value as a person would type it.
fn as_typed(name: &str, value: &Value) -> Result<String, CliError> {
    match value {
        Value::String(text) => Ok(text.clone()),
        Value::Bool(true) => Ok("yes".to_owned()),
        Value::Bool(false) => Ok("no".to_owned()),
        Value::Number(number) => Ok(number.to_string()),
        Value::Array(items) => {
            let typed: Result<Vec<String>, CliError> =
                items.iter().map(|item| as_typed(name, item)).collect();
            Ok(typed?.join("; "))
        }
        Value::Null => Ok(String::new()),
        Value::Object(_) => Err(CliError::refused(format!(
            "{name}: is an object. Accepted: text, a number, true or false, or a list of these."
        ))),
    }
}
