//! `handfast settle`.

use clap::Args;

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use crate::record::ids::EntryId;

/// Find out whether an entry whose outcome was not known was recorded.
#[derive(Debug, Args)]
pub struct SettleArgs {
    /// The entry's own id, as the message gave it
    id: EntryId,
}

/// Runs the command.
pub fn run(cx: &Context, args: &SettleArgs) -> Result<Exit, CliError> {
    let mut station = cx.station()?;
    match station.settle("settle", args.id)? {
        Some(seq) => cx
            .out
            .line(&format!("It was recorded, as {seq}. Nothing need be done."))?,
        None => cx.out.line("It was not recorded. Enter it again.")?,
    }
    Ok(Exit::Done)
}
