//! `handfast sealing`.

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use serde::Serialize;
use zeroize::Zeroizing;

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use super::secret::SecretSource;
use crate::journal::replace_small_file;
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
    ring: Option<u64>,
    keys: Option<usize>,
    people: Vec<String>,
    waiting: Vec<String>,
    due: bool,
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
            let actor = cx.actor(&mut station)?;
            let (receipt, made) = station.seal_records(&actor, holders.as_deref())?;
            give_shares(cx, &made, shares.as_deref())?;
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

/// Shows the three shares of a recovery key, once, or puts them into files.
pub fn give_shares(cx: &Context, shares: &[Share; 3], to: Option<&Path>) -> Result<(), CliError> {
    if let Some(dir) = to {
        for (number, share) in (1..).zip(shares) {
            let text = Zeroizing::new(format!("{}\n", *share.text()));
            replace_small_file(&dir.join(format!("share-{number}.txt")), text.as_bytes())?;
        }
        return tell(
            cx,
            &format!(
                "The records are sealed. Three recovery shares are in {}: share-1.txt to share-3.txt. Give each to another \
             person, apart from this computer, and delete the files. Any two of them open the records; one alone says nothing.",
                dir.display()
            ),
        );
    }
    tell(
        cx,
        "The records are sealed. These are the three recovery shares; they are shown once and kept nowhere. Write each \
         down for another person, apart from this computer. Any two of them open the records; one alone says nothing.",
    )?;
    for share in shares {
        tell(cx, &share.text())?;
    }
    Ok(())
}

/// Where the result is JSON, what people must see goes beside it.
fn tell(cx: &Context, text: &str) -> Result<(), CliError> {
    if cx.out.json {
        super::output::say(text);
        return Ok(());
    }
    cx.out.line(text)
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
    let names = |handles: &[crate::record::person::Handle]| -> Vec<String> {
        handles.iter().map(ToString::to_string).collect()
    };
    let json = StatusJson {
        schema: "handfast.sealing/1",
        sealed: station.is_sealed(),
        since: sealing.begun().map(|begun| begun.since.0),
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
        due: ring.is_some_and(|ring| ring.due),
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
