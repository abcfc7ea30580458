//! `handfast init`.

use std::path::PathBuf;
use std::sync::Arc;

use clap::Args;

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use super::secret::SecretSource;
use super::shares::SharesTo;
use crate::record::person::Handle;
use crate::record::time::WardZone;
use crate::station::clock::SystemClock;
use crate::station::{InitRequest, Station};

/// Make a journal and its first keeper.
#[derive(Debug, Args)]
pub struct InitArgs {
    /// The ward's name
    #[arg(long)]
    ward: String,
    /// The ward's time zone, by IANA name
    #[arg(long, default_value = "Europe/London")]
    zone: WardZone,
    /// The keeper's handle: who enrols staff and has no clinical rights
    #[arg(long, value_name = "HANDLE")]
    keeper: String,
    /// The keeper's full name
    #[arg(long)]
    name: String,
    /// A teaching journal: invented patients only, in clear, loudly marked in every view
    #[arg(long)]
    teaching: bool,
    /// A folder for the three recovery shares, a file each, instead of showing them; move them apart
    #[arg(long, value_name = "DIR", conflicts_with = "teaching")]
    shares: Option<PathBuf>,
    /// File whose first line is the keeper's new PIN or passphrase
    #[arg(long, value_name = "FILE")]
    new_pin_file: Option<PathBuf>,
    /// Open file descriptor whose first line is the keeper's new PIN or passphrase
    #[arg(long, value_name = "N", conflicts_with = "new_pin_file")]
    new_pin_fd: Option<u32>,
}

/// Makes the journal.
pub fn run(cx: &Context, args: InitArgs) -> Result<Exit, CliError> {
    let dir = cx.journal()?;
    let handle = Handle::parse(&args.keeper).ok_or_else(|| {
        CliError::new(Exit::Usage, format!("\"{}\" is no handle", args.keeper))
            .hint("2 to 24 lower-case letters, digits or hyphens, e.g. maya")
    })?;
    let source = SecretSource {
        file: args.new_pin_file,
        fd: args.new_pin_fd,
    };
    let secret = source.read_new("New passphrase or PIN for the keeper: ", "new-pin")?;
    let request = InitRequest {
        ward: args.ward,
        zone: args.zone,
        teaching: args.teaching,
        handle,
        name: args.name,
        secret,
    };
    let chosen = request.secret.clone();
    let teaching = request.teaching;
    let shares_to = SharesTo::checked(args.shares, &dir)?;
    let (mut station, keeper) = Station::init(&dir, &request, Arc::new(SystemClock))?;
    station.make_ward_key(&keeper, None, None)?;
    cx.out.line(&format!(
        "{} is open in {}. {} is its keeper; `handfast staff add` enrols everybody else.",
        station.ward().name(),
        dir.display(),
        keeper.name
    ))?;
    super::staff::say_what_it_opens(cx, &station, &keeper.handle, &chosen)?;
    if !teaching {
        let sealed = station.seal_records(&keeper, None, |shares| shares_to.give(cx, shares));
        sealed.map_err(|error| {
            CliError::from(error).hint(
                "the journal is there and its records are not sealed: `handfast sealing begin` seals them",
            )
        })?;
        shares_to.told(cx)?;
    }
    Ok(Exit::Done)
}
