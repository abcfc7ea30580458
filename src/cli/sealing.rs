//! `handfast sealing`.

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use serde::Serialize;

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use super::secret::SecretSource;
use super::shares::SharesTo;
use crate::record::ids::{Pseudonym, Seq};
use crate::station::Station;
use crate::station::sealing::{DestructionRequest, Share};

/// Seal the records, see who holds their keys, recover them, or destroy a record's with a second person.
#[derive(Debug, Args)]
pub struct SealingArgs {
    #[command(subcommand)]
    what: SealingCommand,
}

#[derive(Debug, Subcommand)]
enum SealingCommand {
    /// Show whether the records are sealed, who holds their keys and what waits
    Status,
    /// Seal what is written from now on, or make a new recovery key (keeper)
    Begin {
        /// Who will keep which of the three recovery shares
        #[arg(long)]
        holders: Option<String>,
        /// A folder for the three shares, a file each, instead of showing them; move them apart
        #[arg(long, value_name = "DIR")]
        shares: Option<PathBuf>,
    },
    /// Wrap the keys anew for all who read, with two recovery shares (keeper)
    Recover {
        /// File whose first line is one share
        #[arg(long, value_name = "FILE")]
        share: PathBuf,
        /// File whose first line is another share
        #[arg(long, value_name = "FILE")]
        other: PathBuf,
        /// Why
        #[arg(long)]
        reason: String,
    },
    /// Approve of destroying a record at the end of its term, as the first of two (keeper, governance)
    Approve {
        /// The record's pseudonym, 32 digits, as whoever reads it finds with --json
        #[arg(long)]
        patient: Pseudonym,
        /// Why, without anything from the record: this is never sealed
        #[arg(long)]
        reason: String,
        /// The record is younger than the shortest term, and this is known
        #[arg(long)]
        early: bool,
    },
    /// Destroy a record's keys, as the second of two: nobody can read it any more, anywhere (keeper, governance)
    Destroy {
        /// The number of the first person's entry
        #[arg(long)]
        approval: Seq,
        /// Why, without anything from the record: this is never sealed
        #[arg(long)]
        reason: String,
    },
}

/// As `--json` shows it; schema `handfast.sealing/1`.
#[derive(Serialize)]
struct StatusJson {
    schema: &'static str,
    sealed: bool,
    since: Option<u64>,
    /// Who keeps which share, as the keeper wrote it; none where nobody said so.
    holders: Option<String>,
    ring: Option<u64>,
    keys: Option<usize>,
    people: Vec<String>,
    waiting: Vec<String>,
    due: bool,
    /// The ring file is not as anybody on the staff last wrote it.
    altered: bool,
    /// Data keys in it that cannot be read or do not open.
    damaged: usize,
    /// Keys that entries are sealed with and it does not hold.
    lacking: usize,
    destroyed: Vec<DestroyedJson>,
}

#[derive(Serialize)]
struct DestroyedJson {
    patient: String,
    entry: u64,
    by: [String; 2],
}

/// Runs one of the commands.
pub fn run(cx: &Context, args: SealingArgs) -> Result<Exit, CliError> {
    let mut station = cx.station()?;
    let receipt = match args.what {
        SealingCommand::Status => return status(cx, &station),
        SealingCommand::Begin { holders, shares } => {
            let to = SharesTo::checked(shares, station.layout().root())?;
            let actor = cx.actor(&mut station)?;
            let give = |shares: &[Share; 3]| to.give(cx, shares);
            let (receipt, _) = station.seal_records(&actor, holders.as_deref(), give)?;
            to.told(cx)?;
            receipt
        }
        SealingCommand::Recover {
            share,
            other,
            reason,
        } => {
            let (one, two) = (share_from(&share)?, share_from(&other)?);
            let actor = cx.actor(&mut station)?;
            station.recover_records(&actor, (&one, &two), &reason)?
        }
        SealingCommand::Approve {
            patient,
            reason,
            early,
        } => {
            let actor = cx.actor(&mut station)?;
            let request = DestructionRequest {
                patient,
                reason,
                early,
            };
            station.approve_destruction(&actor, &request)?
        }
        SealingCommand::Destroy { approval, reason } => {
            let actor = cx.actor(&mut station)?;
            station.destroy_record(&actor, approval, &reason)?
        }
    };
    super::log::show_receipt(cx, &receipt)?;
    Ok(Exit::Done)
}

fn share_from(path: &Path) -> Result<Share, CliError> {
    let source = SecretSource {
        file: Some(path.to_path_buf()),
        fd: None,
    };
    let line = source.read("Share: ", "share")?;
    line.parse()
        .map_err(|error| CliError::refused(format!("{}: {error}", path.display())))
}

fn status(cx: &Context, station: &Station) -> Result<Exit, CliError> {
    let sealing = station.ward().sealing();
    let ring = station.ring_state()?;
    let lacking = match &ring {
        Some(_) => station.keys_lacking()?,
        None => 0,
    };
    let names = |handles: &[crate::record::person::Handle]| -> Vec<String> {
        handles.iter().map(ToString::to_string).collect()
    };
    let json = StatusJson {
        schema: "handfast.sealing/1",
        sealed: station.is_sealed(),
        since: sealing.begun().map(|begun| begun.since.0),
        holders: sealing.begun().and_then(|begun| begun.holders.clone()),
        ring: ring.as_ref().map(|ring| ring.number),
        keys: ring.as_ref().map(|ring| ring.keys),
        people: ring
            .as_ref()
            .map(|ring| names(&ring.people))
            .unwrap_or_default(),
        waiting: ring
            .as_ref()
            .map(|ring| names(&ring.waiting))
            .unwrap_or_default(),
        altered: ring.as_ref().is_some_and(|ring| ring.altered),
        damaged: ring.as_ref().map_or(0, |ring| ring.damaged),
        lacking,
        due: ring.is_some_and(|ring| ring.due || ring.drawn_by_non_reader),
        destroyed: sealing
            .destroyed()
            .iter()
            .map(|(patient, one)| DestroyedJson {
                patient: patient.to_string(),
                entry: one.seq.0,
                by: one.by.clone().map(|handle| handle.to_string()),
            })
            .collect(),
    };
    if cx.out.json {
        cx.out.json(&json)?;
        return Ok(Exit::Done);
    }
    for line in in_words(&json) {
        cx.out.line(&line)?;
    }
    Ok(Exit::Done)
}

fn in_words(status: &StatusJson) -> Vec<String> {
    let (Some(since), Some(ring), Some(keys)) = (status.since, status.ring, status.keys) else {
        return vec![
            "The records in this journal lie in clear: whoever has the folder can read them. \
             `handfast sealing begin` seals what is written from then on (keeper)."
                .to_owned(),
        ];
    };
    let or_nobody = |people: &[String]| match people {
        [] => "nobody".to_owned(),
        people => people.join(", "),
    };
    let mut lines = vec![
        format!("The records are sealed from entry #{since} on. Ring {ring}, {keys} data keys."),
        format!("Its key is wrapped for: {}.", or_nobody(&status.people)),
    ];
    if !status.waiting.is_empty() {
        lines.push(format!(
            "Waiting until a colleague who reads unlocks: {}.",
            or_nobody(&status.waiting)
        ));
    }
    if status.holders.is_none() {
        lines.push(
            "Nobody has said who keeps the three recovery shares. If they were not written down, make new ones: \
             `handfast sealing begin --holders \"...\"`."
                .to_owned(),
        );
    }
    if status.altered {
        lines.push(
            "The ring file is not as anybody on the staff last wrote it: it was altered, or is of an earlier program."
                .to_owned(),
        );
    }
    if status.damaged > 0 {
        lines.push(format!(
            "{} in it cannot be read or opened: what is sealed with it cannot be read. An older copy of the file may hold it whole.",
            counted(status.damaged)
        ));
    }
    if status.lacking > 0 {
        lines.push(format!(
            "It lacks {} that entries are sealed with: it is older than the journal, or keys were taken out. Put the newest \
             copy of sealing/ring.json back.",
            counted(status.lacking)
        ));
    }
    if status.due {
        lines.push("It is renewed when somebody who reads next unlocks.".to_owned());
    }
    for one in &status.destroyed {
        lines.push(format!(
            "Destroyed: record {} (entry #{}, {} and {}).",
            one.patient, one.entry, one.by[0], one.by[1]
        ));
    }
    lines
}

fn counted(keys: usize) -> String {
    match keys {
        1 => "1 data key".to_owned(),
        more => format!("{more} data keys"),
    }
}
