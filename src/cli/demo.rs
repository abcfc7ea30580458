//! `handfast demo`.

use std::path::PathBuf;

use clap::Args;

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use super::shares::SharesTo;
use crate::demo::build;
use crate::demo::cast::{KEEPER, STAFF};
use crate::demo::player::PlayError;

/// Make the demo ward in a new folder: the same invented ward on every machine.
#[derive(Debug, Args)]
pub struct DemoArgs {
    /// A folder that does not hold a journal yet
    dir: PathBuf,
    /// Seal the records, as a real ward's are; the keys are then other ones each time
    #[arg(long)]
    sealed: bool,
}

/// Makes it.
pub fn run(cx: &Context, args: &DemoArgs) -> Result<Exit, CliError> {
    let built = build::build_as(&args.dir, args.sealed);
    let (station, shares) = built.map_err(|error| match error {
        PlayError::NotOpened(error) => CliError::from(*error),
        PlayError::NotWritten { why, .. } => CliError::from(*why),
        other => CliError::new(Exit::Storage, other.to_string()),
    })?;
    cx.out.line(&format!(
        "{} is in {}: {} entries. Everybody in it is invented; its clock goes on from its last entry.",
        station.ward().name(),
        args.dir.display(),
        station.head().seq.0
    ))?;
    cx.out.line("Staff and PINs:")?;
    for member in std::iter::once(&KEEPER).chain(STAFF.iter()) {
        cx.out.line(&format!(
            "  {:<9} {}  {}, {}",
            member.handle, member.pin, member.name, member.role
        ))?;
    }
    if let Some(shares) = shares {
        let shown = SharesTo::checked(None, &args.dir)?;
        shown.give(cx, &shares).map_err(CliError::refused)?;
        shown.told(cx)?;
    }
    Ok(Exit::Done)
}
