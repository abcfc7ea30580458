//! `handfast policy`.

use std::io::{self, BufRead, IsTerminal};
use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use serde::Serialize;

use super::context::{Context, Drawn};
use super::exit::Exit;
use super::report::CliError;
use super::views::{Form, present, vantage};
use crate::clinical::policy::file::{FILE_BYTES_MAX, Mistake};
use crate::clinical::policy::{self, Values};
use crate::record::draft::Draft;
use crate::record::ids::Seq;
use crate::record::kind::Kind;
use crate::station::{PolicyDifference, Station};
use crate::view::policy::{no_such_setting, policy_history, policy_keys, policy_toml, policy_view};

/// Show or change the ward's policy.
#[derive(Debug, Args)]
pub struct PolicyArgs {
    #[command(subcommand)]
    what: PolicyCommand,
}

#[derive(Debug, Subcommand)]
enum PolicyCommand {
    /// Show what holds, as of now or --as-of
    Show {
        /// As a TOML file that `policy check` and `policy apply` read
        #[arg(long)]
        toml: bool,
        #[command(flatten)]
        form: Form,
    },
    /// Explain every setting: meaning, limits, default and its source
    Keys,
    /// Check a TOML file and change nothing
    Check {
        /// The file
        file: PathBuf,
    },
    /// Change one setting (ward sister)
    Set {
        /// Which
        setting: String,
        /// New value
        value: String,
        /// Why
        #[arg(long)]
        reason: String,
    },
    /// Put a TOML file in force, an entry a changed setting, all or none (ward sister)
    Apply {
        /// The file
        file: PathBuf,
        /// Why
        #[arg(long)]
        reason: String,
        /// Do not ask after showing the differences
        #[arg(long)]
        confirm: bool,
    },
    /// Show who changed what, when and why
    History {
        /// One setting only
        setting: Option<String>,
        #[command(flatten)]
        form: Form,
    },
}

/// A file that was checked, as `--json` shows it; schema `handfast.policy-check/1`.
#[derive(Serialize)]
struct CheckJson<'a> {
    schema: &'static str,
    settings: usize,
    mistakes: &'a [Mistake],
}

/// A file that was applied, as `--json` shows it; schema `handfast.policy-applied/1`.
#[derive(Serialize)]
struct AppliedJson {
    schema: &'static str,
    changes: Vec<DifferenceJson>,
}

#[derive(Serialize)]
struct DifferenceJson {
    setting: &'static str,
    from: String,
    to: String,
    entry: Option<Seq>,
}

/// Runs one of the commands.
pub fn run(cx: &Context, args: PolicyArgs) -> Result<Exit, CliError> {
    match args.what {
        PolicyCommand::Show { toml, form } => show(cx, toml, &form),
        PolicyCommand::Keys => keys(cx),
        PolicyCommand::Check { file } => check(cx, &file),
        PolicyCommand::Set {
            setting,
            value,
            reason,
        } => set(cx, setting, value, reason),
        PolicyCommand::Apply {
            file,
            reason,
            confirm,
        } => apply(cx, &file, &reason, confirm),
        PolicyCommand::History { setting, form } => history(cx, setting.as_deref(), &form),
    }
}

/// Settings are never sealed: nobody need unlock to see them.
fn in_clear(cx: &Context) -> Result<Drawn, CliError> {
    let drawn = cx.draw_in_clear(&cx.station()?)?;
    cx.warn(&drawn);
    Ok(drawn)
}

fn show(cx: &Context, toml: bool, form: &Form) -> Result<Exit, CliError> {
    let drawn = in_clear(cx)?;
    let vantage = vantage(&drawn);
    if toml {
        cx.out.text(&policy_toml(&vantage))?;
        return Ok(Exit::Done);
    }
    let view = policy_view(&vantage);
    present(cx, &view, &view.page(), None, &drawn.reservations, form)
}

fn history(cx: &Context, setting: Option<&str>, form: &Form) -> Result<Exit, CliError> {
    let drawn = in_clear(cx)?;
    let view = policy_history(&vantage(&drawn), setting);
    let none = setting.filter(|_| view.changes.is_empty());
    if let Some(problem) = none.and_then(no_such_setting) {
        return Err(CliError::refused(problem.what).hint(problem.accepted));
    }
    present(cx, &view, &view.page(), None, &drawn.reservations, form)
}

fn keys(cx: &Context) -> Result<Exit, CliError> {
    let keys = policy_keys();
    if cx.out.json {
        cx.out.json(&keys)?;
    } else {
        cx.out.text(&keys.text())?;
    }
    Ok(Exit::Done)
}

fn set(cx: &Context, setting: String, value: String, reason: String) -> Result<Exit, CliError> {
    let mut station = cx.station()?;
    let actor = cx.actor(&mut station)?;
    let draft = Draft::new(Kind::PolicyChanged)
        .with("setting", setting)
        .with("value", value)
        .with("reason", reason);
    let receipt = station.submit(&actor, &draft)?;
    super::log::show_receipt(cx, &receipt)?;
    Ok(Exit::Done)
}

/// Checks against the ward's policy if a journal is named, else against the defaults.
fn check(cx: &Context, file: &Path) -> Result<Exit, CliError> {
    let base = match cx.journal() {
        Ok(_) => cx.station()?.ward().policy().values().clone(),
        Err(_) => Values::default(),
    };
    let read = policy::file::read(&text_of(file)?, &base);
    let mistakes = read.as_ref().err().map_or(&[][..], Vec::as_slice);
    if cx.out.json {
        cx.out.json(&CheckJson {
            schema: "handfast.policy-check/1",
            settings: read.as_ref().map_or(0, Vec::len),
            mistakes,
        })?;
        return Ok(if mistakes.is_empty() {
            Exit::Done
        } else {
            Exit::Refused
        });
    }
    let settings = read.map_err(|mistakes| wrong(file, &mistakes))?;
    cx.out
        .line(&format!("{} settings, no mistake", settings.len()))?;
    Ok(Exit::Done)
}

fn apply(cx: &Context, file: &Path, reason: &str, confirm: bool) -> Result<Exit, CliError> {
    let text = text_of(file)?;
    let mut station = cx.station()?;
    let wanted = policy::file::read(&text, station.ward().policy().values())
        .map_err(|mistakes| wrong(file, &mistakes))?;
    let differences = station.policy_differences(&wanted);
    if differences.is_empty() {
        return applied(cx, &differences, &[]);
    }
    for difference in &differences {
        let said = format!(
            "{}: {} -> {}",
            difference.key.name,
            difference.from.literal(),
            difference.to.literal()
        );
        // JSON stays alone on standard output.
        if cx.out.json {
            super::output::say(&said);
        } else {
            cx.out.line(&said)?;
        }
    }
    if !confirm && !asked(differences.len())? {
        return Err(CliError::refused("not confirmed; nothing was recorded")
            .hint("answer yes, or give --confirm"));
    }
    let entries = put_in_force(cx, &mut station, &differences, reason)?;
    applied(cx, &differences, &entries)
}

fn put_in_force(
    cx: &Context,
    station: &mut Station,
    differences: &[PolicyDifference],
    reason: &str,
) -> Result<Vec<Seq>, CliError> {
    let actor = cx.actor(station)?;
    let receipts = station.apply_policy(&actor, differences, reason)?;
    Ok(receipts.iter().map(|receipt| receipt.seq).collect())
}

fn applied(
    cx: &Context,
    differences: &[PolicyDifference],
    entries: &[Seq],
) -> Result<Exit, CliError> {
    if cx.out.json {
        let changes = differences
            .iter()
            .enumerate()
            .map(|(at, difference)| DifferenceJson {
                setting: difference.key.name,
                from: difference.from.literal(),
                to: difference.to.literal(),
                entry: entries.get(at).copied(),
            });
        cx.out.json(&AppliedJson {
            schema: "handfast.policy-applied/1",
            changes: changes.collect(),
        })?;
        return Ok(Exit::Done);
    }
    let said = match (entries.first(), entries.last()) {
        (Some(first), Some(last)) => format!(
            "{} settings changed, entries {first} to {last}",
            entries.len()
        ),
        _ => "no change: all of this holds already".to_owned(),
    };
    cx.out.line(&said)?;
    Ok(Exit::Done)
}

/// Asks at the terminal; where there is none, nobody said yes.
fn asked(count: usize) -> Result<bool, CliError> {
    if !io::stdin().is_terminal() {
        return Ok(false);
    }
    super::output::say(&format!("Change these {count} settings? yes or no:"));
    let mut answer = String::new();
    io::stdin().lock().read_line(&mut answer)?;
    Ok(matches!(answer.trim(), "yes" | "y"))
}

/// The file's text, if it can be a policy.
fn text_of(file: &Path) -> Result<String, CliError> {
    let shown = file.display();
    let failed = |error: io::Error| CliError {
        cause: Some(error.kind()),
        ..CliError::refused(format!("{shown} cannot be read: {error}"))
    };
    // Looked at first: a device or a huge file is not read into memory.
    let about = std::fs::metadata(file).map_err(failed)?;
    if !about.is_file() || about.len() > FILE_BYTES_MAX as u64 {
        return Err(CliError::refused(format!("{shown} is no policy file"))
            .hint(format!("a TOML file of at most {FILE_BYTES_MAX} bytes")));
    }
    let bytes = std::fs::read(file).map_err(failed)?;
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        CliError::refused(format!("{shown} is no UTF-8 text from byte {at} on"))
            .hint("a TOML file in UTF-8")
    })
}

fn wrong(file: &Path, mistakes: &[Mistake]) -> CliError {
    let said: Vec<String> = mistakes.iter().map(ToString::to_string).collect();
    CliError::refused(format!(
        "{}: {}; nothing was changed\n{}",
        file.display(),
        match mistakes.len() {
            1 => "1 mistake".to_owned(),
            count => format!("{count} mistakes"),
        },
        said.join("\n")
    ))
}
