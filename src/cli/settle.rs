//! `handfast settle`.

use clap::Args;
use serde::Serialize;

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use crate::record::ids::{EntryId, Seq};

/// Find out whether an entry whose outcome was not known was recorded.
#[derive(Debug, Args)]
pub struct SettleArgs {
    /// The entry's own id, as the message gave it
    id: EntryId,
}

/// As `--json` shows it; schema `handfast.settled/1`.
#[derive(Serialize)]
struct SettledJson {
    schema: &'static str,
    id: EntryId,
    recorded_as: Option<Seq>,
}

/// Runs the command.
pub fn run(cx: &Context, args: &SettleArgs) -> Result<Exit, CliError> {
    let mut station = cx.station()?;
    let found = station.settle("settle", args.id)?;
    if cx.out.json {
        cx.out.json(&SettledJson {
            schema: "handfast.settled/1",
            id: args.id,
            recorded_as: found,
        })?;
        return Ok(Exit::Done);
    }
    match found {
        Some(seq) => cx
            .out
            .line(&format!("It was recorded, as {seq}. Nothing need be done."))?,
        None => cx.out.line("It was not recorded. Enter it again.")?,
    }
    Ok(Exit::Done)
}
