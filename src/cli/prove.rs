//! `handfast prove`: proofs that outsiders can check with their own programs.

use std::path::PathBuf;

use clap::Args;

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use crate::record::ids::Seq;
use crate::station::known_checkpoints::KnownCheckpoint;
use crate::station::proving::{NoProof, prove_entry, prove_extends};
use crate::view::escape;

/// Prove that an entry is among those of a checkpoint, or that a checkpoint extends an older one.
///
/// The proof is text: C2SP tlog-proof for an entry, and `old N`, hashes and the newer checkpoint for two
/// checkpoints. docs/journal-format.md says how each is checked.
#[derive(Debug, Args)]
pub struct ProveArgs {
    /// The entry
    #[arg(required_unless_present = "extends", conflicts_with = "extends")]
    entry: Option<Seq>,
    /// An older checkpoint that a newer one is to extend
    #[arg(long, value_name = "FILE")]
    extends: Option<PathBuf>,
    /// The checkpoint to prove it against, signed by the ward; otherwise the newest in the journal's folder that is
    #[arg(long, value_name = "FILE")]
    checkpoint: Option<PathBuf>,
    /// Where the proof goes; otherwise to the screen
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Runs the command.
pub fn run(cx: &Context, args: &ProveArgs) -> Result<Exit, CliError> {
    let dir = cx.journal()?;
    let read = |path: &PathBuf| {
        KnownCheckpoint::read(path).map_err(|error| CliError::refused(error.to_string()))
    };
    let known = match &args.checkpoint {
        Some(path) => vec![read(path)?],
        None => {
            let mut own = KnownCheckpoint::in_folder(&dir);
            own.reverse();
            own
        }
    };
    let text = match (&args.extends, args.entry) {
        (Some(old), _) => {
            if known.is_empty() {
                return Err(no_checkpoint());
            }
            let proof = prove_extends(&dir, &read(old)?, &known);
            proof.map_err(no_proof)?.to_text()
        }
        (None, Some(seq)) => {
            let proved = prove_entry(&dir, seq, &known).map_err(no_proof)?;
            if args.out.is_some() {
                cx.out.line(&format!(
                    "{seq} with hash {} is among the first {} entries, by the checkpoint {}.",
                    proved.hash,
                    proved.size,
                    escape::terminal_line(&proved.from)
                ))?;
            }
            proved.proof.to_text()
        }
        (None, None) => return Err(no_checkpoint()),
    };
    cx.out.to(args.out.as_deref(), &text)?;
    Ok(Exit::Done)
}

fn no_checkpoint() -> CliError {
    CliError::refused("this journal's folder holds no checkpoint")
        .hint("`handfast checkpoint make` makes one, or give --checkpoint FILE")
}

pub(super) fn no_proof(error: NoProof) -> CliError {
    let message = error.to_string();
    match error {
        NoProof::Open(error) => error.into(),
        NoProof::Read(error) => error.into(),
        NoProof::NotCovered { .. } => CliError::refused(message)
            .hint("`handfast checkpoint make` makes one that covers every entry there is"),
        NoProof::None => CliError::refused(message).hint("`handfast checkpoint make` makes one"),
        NoProof::NotSigned { .. } | NoProof::DoesNotFit { .. } => {
            CliError::new(Exit::Integrity, message)
        }
        NoProof::WrongWay { .. } => CliError::refused(message),
    }
}
