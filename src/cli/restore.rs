//! `handfast restore`.

use std::path::PathBuf;

use clap::Args;

use super::context::Context;
use super::damage::SecondPerson;
use super::exit::Exit;
use super::report::CliError;
use super::verify::examine_at;
use crate::journal::verify::{Finding, Level, Verification};
use crate::record::ids::Seq;
use crate::station::Station;
use crate::station::known_checkpoints::KnownCheckpoint;
use crate::station::restoring::Beside;

/// Put a backup in place of a journal that was lost, and record who decided so and what is missing.
///
/// The backup is checked whole first, and both people unlock in it. It is put in place (--journal, which may
/// hold sealing/ring.json alone) in one step with the entry, or not at all. How much more a checkpoint kept
/// elsewhere (--against) covers is named in the entry. In a sealed ward it takes a keeper and a second person.
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
    Beside::check(&to).map_err(|cause| not_copied(&to, &cause))?;
    let against: Result<Vec<_>, _> = args
        .against
        .iter()
        .map(|path| KnownCheckpoint::read(path))
        .collect();
    let against = against.map_err(|error| CliError::refused(error.to_string()))?;
    let mut backup = Station::open(&args.from)?;
    let checked = check(cx, args, &backup, against)?;
    // Both are asked of the backup, before anything is copied.
    let second = args.second.given()?;
    let second = second.map(|(handle, secret)| backup.unlock_in_backup(&handle, &secret));
    let second = second.transpose()?;
    let (handle, secret) = cx.handle_and_pin()?;
    let actor = backup.unlock_in_backup(&handle, &secret)?;
    backup.check_may_restore(&actor, second.as_ref())?;
    drop(backup);
    let copied = Beside::copy(&args.from, &to).map_err(|cause| not_copied(&to, &cause))?;
    let receipt = {
        let mut station = Station::open(copied.dir())?;
        station.went_on_from_backup(&actor, second.as_ref(), &checked.lost, &args.reason)?
    };
    copied
        .put_in_place()
        .map_err(|cause| not_copied(&to, &cause))?;
    if !cx.out.json {
        cx.out.line(&format!(
            "The backup is in place in {}: {} entries, and now {}.",
            to.display(),
            checked.ends,
            receipt.seq
        ))?;
        for said in &checked.accepted {
            cx.out.line(&format!("Accepted before: {said}."))?;
        }
        for said in &checked.lost {
            cx.out.line(&format!("Missing: {said}."))?;
        }
    }
    super::log::show_receipt(cx, &receipt)?;
    Ok(Exit::Done)
}

/// What the backup is, as far as it may be put in place.
struct Checked {
    ends: Seq,
    /// What checkpoints cover that is not in it.
    lost: Vec<String>,
    /// What is wrong with it that keepers accepted there.
    accepted: Vec<String>,
}

/// Reads all of the backup, and holds it against what was kept elsewhere.
fn check(
    cx: &Context,
    args: &RestoreArgs,
    backup: &Station,
    against: Vec<KnownCheckpoint>,
) -> Result<Checked, CliError> {
    let from = args.from.display();
    let verified = examine_at(cx, &args.from, Vec::new(), Vec::new())?;
    let extents = backup.accepted_extents()?;
    let covered = |finding: &&Finding| is_within(finding, &extents);
    let faults = |found: &Verification| -> Vec<Finding> {
        let faults = found.findings.iter();
        faults
            .filter(|finding| finding.level == Level::Fault)
            .cloned()
            .collect()
    };
    let (accepted, open): (Vec<_>, Vec<_>) = faults(&verified.found)
        .into_iter()
        .partition(|finding| covered(&finding));
    if !open.is_empty() {
        return Err(refuse(
            "the backup is not as written, and nothing was put in place",
            format!(
                "`handfast -j {from} verify` names each place; take an older backup. Entries that a keeper accepted as \
                 damaged or missing in it before are no hindrance, and these are others"
            ),
        ));
    }
    let ends = verified.found.head.seq;
    for known in &against {
        let ours = known.text.journal() == Some(verified.found.journal);
        if !ours || !known.is_signed_by(verified.judge.ward_keys()) {
            let what = if ours {
                "is not signed with a key that the backup announces as the ward's"
            } else {
                "is of another journal"
            };
            return Err(refuse(
                &format!("{} {what}, and nothing was put in place", known.from),
                "a checkpoint of this ward, or none".to_owned(),
            ));
        }
    }
    let (within, beyond): (Vec<_>, Vec<_>) = against
        .into_iter()
        .partition(|known| known.text.size <= ends.0);
    if !within.is_empty() {
        let held = examine_at(cx, &args.from, Vec::new(), within)?;
        let all = faults(&held.found);
        if all.iter().any(|finding| !covered(&finding)) {
            return Err(refuse(
                "a checkpoint that was kept does not fit the backup, and nothing was put in place",
                format!("`handfast -j {from} verify --against FILE` says where they part"),
            ));
        }
    }
    let lost = beyond.iter().map(|known| {
        format!(
            "the checkpoint over {} entries, root {}, covers {} that are not in the backup",
            known.text.size,
            known.text.root,
            known.text.size - ends.0
        )
    });
    Ok(Checked {
        ends,
        lost: lost.collect(),
        accepted: accepted.iter().map(ToString::to_string).collect(),
    })
}

/// Whether a fault is about entries whose damage, loss or doubt was accepted, and about no others.
fn is_within(finding: &Finding, extents: &[(Seq, Seq)]) -> bool {
    let Some(first) = finding.seq else {
        return false;
    };
    let last = finding.last.unwrap_or(first);
    extents.iter().any(|(a, b)| *a <= first && last <= *b)
}

fn refuse(what: &str, hint: String) -> CliError {
    CliError::new(Exit::Integrity, what).hint(hint)
}

fn not_copied(to: &std::path::Path, cause: &std::io::Error) -> CliError {
    if cause.kind() == std::io::ErrorKind::AlreadyExists {
        return CliError::refused(format!("{} holds something already", to.display())).hint(
            "a folder that is not there yet, is empty, or holds sealing/ring.json alone; keep what is left of the \
             old one for governance",
        );
    }
    CliError::new(
        Exit::Storage,
        format!(
            "the backup could not be put in place in {}: {cause}; nothing of it is there",
            to.display()
        ),
    )
}
