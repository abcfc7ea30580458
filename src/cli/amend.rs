//! `handfast correct` and `handfast withdraw`.

use clap::Args;

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use crate::record::ids::Seq;
use crate::record::kind::ward::AmendmentCause;
use crate::station::AmendmentReason;

/// Correct an earlier entry; the original stays readable.
#[derive(Debug, Args)]
pub struct CorrectArgs {
    /// Number of the entry, e.g. 123 or "#123"
    entry: Seq,
    /// Right values as name=value; `name=` clears a field; `at=…` corrects the time
    #[arg(value_name = "FIELD=VALUE", required = true)]
    fields: Vec<String>,
    #[command(flatten)]
    why: Why,
    /// Record unusual values as they are
    #[arg(long)]
    confirm: bool,
}

/// Withdraw an earlier entry; it stays readable, struck through.
#[derive(Debug, Args)]
pub struct WithdrawArgs {
    /// Number of the entry, e.g. 123 or "#123"
    entry: Seq,
    #[command(flatten)]
    why: Why,
    /// The entry made anew in the right record
    #[arg(long, value_name = "ENTRY")]
    entered_anew: Option<Seq>,
}

#[derive(Debug, Args)]
struct Why {
    /// typing, wrong-patient, wrong-time, incomplete, mistaken, undo or other
    #[arg(long, value_parser = cause)]
    cause: AmendmentCause,
    /// Why, in words
    #[arg(long)]
    reason: Option<String>,
}

fn cause(text: &str) -> Result<AmendmentCause, String> {
    AmendmentCause::from_code(text).ok_or_else(|| {
        let codes: Vec<&str> = AmendmentCause::CHOICES
            .iter()
            .map(|choice| choice.code)
            .collect();
        format!("a cause is one of {}", codes.join(", "))
    })
}

impl Why {
    fn reason(self) -> AmendmentReason {
        AmendmentReason {
            cause: self.cause,
            words: self.reason,
        }
    }
}

/// Runs `correct`.
pub fn correct(cx: &Context, args: CorrectArgs) -> Result<Exit, CliError> {
    let mut changes = Vec::new();
    for pair in &args.fields {
        let Some((name, value)) = pair.split_once('=') else {
            return Err(CliError::new(
                Exit::Usage,
                format!("\"{pair}\" is not name=value"),
            ));
        };
        changes.push((name.to_owned(), value.to_owned()));
    }
    let mut station = cx.reading_station()?;
    let actor = cx.actor(&mut station)?;
    let receipt = station.correct(
        &actor,
        args.entry,
        &changes,
        &args.why.reason(),
        args.confirm,
    )?;
    super::log::show_receipt(cx, &receipt)?;
    Ok(Exit::Done)
}

/// Runs `withdraw`.
pub fn withdraw(cx: &Context, args: WithdrawArgs) -> Result<Exit, CliError> {
    let mut station = cx.reading_station()?;
    let actor = cx.actor(&mut station)?;
    let reason = args.why.reason();
    let receipt = station.withdraw(&actor, args.entry, &reason, args.entered_anew)?;
    super::log::show_receipt(cx, &receipt)?;
    Ok(Exit::Done)
}
