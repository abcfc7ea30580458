//! `handfast restore`.

use std::path::PathBuf;

use clap::Args;

use super::context::Context;
use super::damage::SecondPerson;
use super::exit::Exit;
use super::report::CliError;
use super::verify::examine_at;
use crate::journal::verify::Verdict;
use crate::station::Station;
use crate::station::known_checkpoints::KnownCheckpoint;
use crate::station::restoring::copy_backup;

/// Put a backup in place of a journal that was lost, and record who decided so and what is missing.
///
/// The backup is checked whole first, and copied into a folder that is not there yet (--journal). How much
/// more a checkpoint kept elsewhere (--against) covers is named in the entry. In a sealed ward it takes a keeper
/// and a second person.
#[derive(Debug, Args)]
pub struct RestoreArgs {
    /// The backup's folder
    #[arg(long, value_name = "DIR")]
    from: PathBuf,
    /// Why: what happened, who decided
    #[arg(long)]
    reason: String,
    /// A checkpoint that was kept elsewhere; it may be given several times
    #[arg(long, value_name = "FILE")]
    against: Vec<PathBuf>,
    #[command(flatten)]
    second: SecondPerson,
}

/// Runs it.
pub fn run(cx: &Context, args: &RestoreArgs) -> Result<Exit, CliError> {
    let to = cx.journal()?;
    let against: Result<Vec<_>, _> = args
        .against
        .iter()
        .map(|path| KnownCheckpoint::read(path))
        .collect();
    let against = against.map_err(|error| CliError::refused(error.to_string()))?;
    // A checkpoint that covers more than the backup says how much is lost; it is no fault of the backup.
    let mut lost = Vec::new();
    let verified = examine_at(cx, &args.from, Vec::new(), Vec::new())?;
    if verified.found.verdict() == Verdict::NotAsWritten {
        return Err(CliError::new(
            Exit::Integrity,
            "the backup is not as written, and nothing was put in place",
        )
        .hint(format!(
            "`handfast -j {} verify` names each place; take an older backup, or accept the damage there first",
            args.from.display()
        )));
    }
    let (covered, beyond): (Vec<_>, Vec<_>) = against
        .into_iter()
        .partition(|known| known.text.size <= verified.found.head.seq.0);
    let ends = verified.found.head.seq;
    lost.extend(beyond.iter().map(|known| {
        format!(
            "the checkpoint over {} entries, root {}, covers {} that are not in the backup",
            known.text.size,
            known.text.root,
            known.text.size - ends.0
        )
    }));
    let held = examine_at(cx, &args.from, Vec::new(), covered)?;
    if held.found.verdict() == Verdict::NotAsWritten {
        return Err(CliError::new(
            Exit::Integrity,
            "a checkpoint that was kept does not fit the backup, and nothing was put in place",
        )
        .hint(format!(
            "`handfast -j {} verify --against FILE` says where they part",
            args.from.display()
        )));
    }
    copy_backup(&args.from, &to).map_err(|cause| not_copied(&to, &cause))?;
    let mut station = Station::open(&to)?;
    let second = args.second.unlock(&mut station)?;
    let actor = cx.actor(&mut station)?;
    let receipt = station
        .went_on_from_backup(&actor, second.as_ref(), &lost, &args.reason)
        .map_err(|error| {
            CliError::from(error).hint(format!(
                "the backup was copied to {}, and nobody has said that the ward works on there: take that folder \
                 away, or run the command again into another",
                to.display()
            ))
        })?;
    if !cx.out.json {
        cx.out.line(&format!(
            "The backup is in place in {}: {ends} entries, and now {}.",
            to.display(),
            receipt.seq
        ))?;
        for said in &lost {
            cx.out.line(&format!("Missing: {said}."))?;
        }
    }
    super::log::show_receipt(cx, &receipt)?;
    Ok(Exit::Done)
}

fn not_copied(to: &std::path::Path, cause: &std::io::Error) -> CliError {
    if cause.kind() == std::io::ErrorKind::AlreadyExists {
        return CliError::refused(format!("{} holds something already", to.display()))
            .hint("a folder that is empty or not there yet; keep what is left of the old one for governance");
    }
    CliError::new(
        Exit::Storage,
        format!(
            "the backup could not be copied to {}: {cause}",
            to.display()
        ),
    )
}
