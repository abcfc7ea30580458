//! `handfast checkpoint`: statements of where the journal stands, to keep elsewhere.

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use serde::Serialize;

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use super::secret::SecretSource;
use super::verify::examine;
use super::verify_report::{note_key, own_key};
use crate::journal::note::{NoteKind, SignedNote, VerifierKey};
use crate::journal::replace_small_file;
use crate::journal::verify::Verdict;
use crate::record::person::Handle;
use crate::station::clock::{Clock, SystemClock};
use crate::station::keys::OwnKey;
use crate::station::known_checkpoints::{Compared, KnownCheckpoint};
use crate::station::proving::newest_own;
use crate::view::escape;

/// State where the journal stands, signed, to be kept elsewhere; countersign and check such statements.
#[derive(Debug, Args)]
pub struct CheckpointArgs {
    #[command(subcommand)]
    what: CheckpointCommand,
}

#[derive(Debug, Subcommand)]
enum CheckpointCommand {
    /// Make a checkpoint now
    Make {
        /// Where a copy goes
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
    },
    /// Show a checkpoint with its digits to read out, or those in the journal's folder
    Show {
        /// The checkpoint; the newest of the journal's own otherwise
        file: Option<PathBuf>,
    },
    /// Check who signed a checkpoint; needs no journal
    Verify {
        /// The checkpoint
        file: PathBuf,
        /// A key that must have signed it: the ward's or a witness's, as it was given to you
        #[arg(long = "key", value_name = "KEY", required = true)]
        keys: Vec<String>,
    },
    /// Countersign a checkpoint as a witness, after holding it against the journal
    Cosign {
        /// The checkpoint
        file: PathBuf,
        /// The witness's own key
        #[arg(long, value_name = "FILE")]
        key_file: PathBuf,
        /// Where the countersigned checkpoint goes; otherwise in place of the file
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
    },
    /// Make the ward's signing key, or replace it (keeper)
    Key {
        /// Why it is replaced
        #[arg(long)]
        reason: Option<String>,
    },
    /// Make a key of your own, as witness or verifier; needs no journal
    OwnKey {
        /// Where it goes; keep it to yourself
        file: PathBuf,
        /// Your name in signatures: 2 to 24 lower-case letters, digits or hyphens
        #[arg(long)]
        name: String,
    },
}

/// As `--json` shows it; schema `handfast.checkpoint/1`.
#[derive(Serialize)]
struct CheckpointJson<'a> {
    schema: &'static str,
    origin: &'a str,
    size: u64,
    root: String,
    /// Thirty digits in groups, to read out.
    digits: String,
    /// Names of those who signed, ward first; not checked here.
    signers: Vec<&'a str>,
    /// The signed note.
    note: String,
}

/// Runs one of the commands.
pub fn run(cx: &Context, args: CheckpointArgs) -> Result<Exit, CliError> {
    match args.what {
        CheckpointCommand::Make { out } => make(cx, out.as_deref())?,
        CheckpointCommand::Show { file } => {
            let is_own = file.is_none();
            let known = shown(cx, file)?;
            show(cx, &known.from, &known.note)?;
            if is_own && !cx.out.json {
                show_ward_key(cx, &known)?;
            }
        }
        CheckpointCommand::Verify { file, keys } => return verify(cx, &file, &keys),
        CheckpointCommand::Cosign {
            file,
            key_file,
            out,
        } => return cosign(cx, &file, &key_file, out.as_deref()),
        CheckpointCommand::Key { reason } => {
            let mut station = cx.station()?;
            let actor = cx.actor(&mut station)?;
            let receipt = station.make_ward_key(&actor, None, reason.as_deref())?;
            super::log::show_receipt(cx, &receipt)?;
        }
        CheckpointCommand::OwnKey { file, name } => make_own_key(cx, &file, &name)?,
    }
    Ok(Exit::Done)
}

fn make(cx: &Context, out: Option<&Path>) -> Result<(), CliError> {
    let mut station = cx.station()?;
    let actor = cx.actor(&mut station)?;
    let (receipt, made) = station.checkpoint(&actor)?;
    if let Some(out) = out {
        replace_small_file(out, made.note.to_text().as_bytes())?;
    }
    if !cx.out.json {
        super::log::show_receipt(cx, &receipt)?;
    }
    show(cx, &made.path.display().to_string(), &made.note)
}

fn read(path: &Path) -> Result<KnownCheckpoint, CliError> {
    KnownCheckpoint::read(path).map_err(|error| CliError::refused(error.to_string()))
}

fn shown(cx: &Context, file: Option<PathBuf>) -> Result<KnownCheckpoint, CliError> {
    if let Some(path) = file {
        return read(&path);
    }
    let own = newest_own(&cx.journal()?).map_err(super::prove::no_proof)?;
    own.ok_or_else(|| {
        CliError::refused("this journal's folder holds no checkpoint")
            .hint("`handfast checkpoint make` makes one")
    })
}

fn show(cx: &Context, from: &str, note: &SignedNote) -> Result<(), CliError> {
    let text = crate::journal::note::Checkpoint::parse(note.text());
    let text = text.map_err(|error| CliError::refused(error.to_string()))?;
    let signers: Vec<&str> = note
        .signatures()
        .iter()
        .map(|one| one.name.as_str())
        .collect();
    if cx.out.json {
        return cx.out.json(&CheckpointJson {
            schema: "handfast.checkpoint/1",
            origin: &text.origin,
            size: text.size,
            root: text.root.to_string(),
            digits: text.digits(),
            signers,
            note: note.to_text(),
        });
    }
    cx.out.line(&format!(
        "{}\n\nCovers entries 1 to {}. To read out: {}\nSigned by {} (not checked here). In {}",
        note.to_text(),
        text.size,
        text.digits(),
        signers.join(", "),
        escape::terminal_line(from),
    ))
}

/// The key that checks the ward's signatures, as this journal announces it.
fn show_ward_key(cx: &Context, known: &KnownCheckpoint) -> Result<(), CliError> {
    let (Some(key), Ok(name)) = (cx.station()?.ward().ward_key(), known.text.key_name()) else {
        return Ok(());
    };
    let kind = NoteKind::Note;
    let key = VerifierKey { name, kind, key };
    cx.out
        .line(&format!("The ward's key, by this journal: {key}"))
}

fn verify(cx: &Context, file: &Path, keys: &[String]) -> Result<Exit, CliError> {
    let known = read(file)?;
    let mut exit = Exit::Done;
    for key in keys {
        let key: VerifierKey = key
            .parse()
            .map_err(|error| CliError::refused(format!("--key: {error}")))?;
        let said = match known.note.check(&key) {
            Ok(signed) => match signed.at.and_then(|at| i64::try_from(at).ok()) {
                None => format!("signed by {}", key.name),
                Some(at) => {
                    let at = crate::record::time::Timestamp(at.saturating_mul(1_000_000));
                    format!("countersigned by {} at {}", key.name, at.rfc3339())
                }
            },
            Err(error) => {
                exit = Exit::Integrity;
                format!("NOT as signed: {error}")
            }
        };
        cx.out.line(&said)?;
    }
    cx.out.line(&format!(
        "{} entries of {}; digits {}",
        known.text.size,
        known.text.origin,
        known.text.digits()
    ))?;
    Ok(exit)
}

/// A witness signs only what it has held against the journal and against what it signed before.
fn cosign(
    cx: &Context,
    file: &Path,
    key_file: &Path,
    out: Option<&Path>,
) -> Result<Exit, CliError> {
    let checkpoint = read(file)?;
    let own = own_key(cx, key_file)?;
    let memory = Memory::of(key_file, &own, &checkpoint);
    let mut against = vec![checkpoint.clone()];
    let seen = memory.read()?;
    if seen.is_empty() {
        super::output::say(&format!(
            "Nothing that this key countersigned for this journal before is remembered beside it. If it did, stop: \
             take the key's folder as it was then, with {}.",
            memory.path.display()
        ));
    }
    for seen in seen {
        if seen.text.size > checkpoint.text.size {
            return Err(CliError::refused(format!(
                "you have countersigned {} entries of this journal already, and this checkpoint covers \
                 {}; nothing was signed. Accepted: a checkpoint that covers at least as many",
                seen.text.size, checkpoint.text.size
            )));
        }
        against.push(seen);
    }
    let verified = examine(cx, Vec::new(), against)?;
    let unfit = |one: &&Compared| one.named && !(one.fits && one.signed);
    let unfit = verified.compared.iter().find(unfit);
    if unfit.is_some() || verified.found.verdict() == Verdict::NotAsWritten {
        cx.out.line(&super::verify::in_words(&verified))?;
        let what = "the journal is not as written, or does not fit; nothing was signed";
        return Err(CliError::new(Exit::Integrity, what));
    }
    let mut note = checkpoint.note;
    let now = SystemClock.now().0 / 1_000_000;
    let key = note_key(&own, NoteKind::Cosignature)?;
    let cosigned = note.cosign(
        &key.name,
        &*own.signer,
        u64::try_from(now).unwrap_or_default(),
    );
    cosigned.map_err(|error| {
        CliError::refused(format!(
            "{} cannot be countersigned: {error}; nothing was written. Accepted: the ward's checkpoint with fewer \
             signatures beside the ward's",
            file.display()
        ))
    })?;
    let text = note.to_text();
    // Remembered first: a witness that forgets may sign two histories.
    replace_small_file(&memory.path, text.as_bytes())?;
    replace_small_file(out.unwrap_or(file), text.as_bytes())?;
    show(cx, &out.unwrap_or(file).display().to_string(), &note)?;
    Ok(Exit::Done)
}

/// What a witness signed last for a journal. It lies beside the key's file, and its name is of the key, not of
/// the file: a key that was renamed there finds it. One that was copied elsewhere does not.
struct Memory {
    path: PathBuf,
    /// Where earlier versions of the program kept it.
    earlier: PathBuf,
}

impl Memory {
    fn of(key_file: &Path, own: &OwnKey, checkpoint: &KnownCheckpoint) -> Memory {
        let journal = checkpoint.text.journal().map(|id| id.short());
        let journal = journal.unwrap_or_default();
        let mut earlier = key_file.file_name().unwrap_or_default().to_os_string();
        earlier.push(format!(".seen-{journal}"));
        let key = own.signer.public().short();
        Memory {
            path: key_file.with_file_name(format!("witness-{key}.seen-{journal}")),
            earlier: key_file.with_file_name(earlier),
        }
    }

    fn read(&self) -> Result<Vec<KnownCheckpoint>, CliError> {
        let there = [&self.path, &self.earlier].into_iter();
        there
            .filter(|path| path.exists())
            .map(|path| read(path))
            .collect()
    }
}

fn make_own_key(cx: &Context, file: &Path, name: &str) -> Result<(), CliError> {
    let name = Handle::parse(name).ok_or_else(|| {
        CliError::refused(format!("\"{name}\" is no name for a key"))
            .hint("2 to 24 lower-case letters, digits or hyphens, e.g. coroner-west")
    })?;
    if file.exists() {
        return Err(CliError::refused(format!(
            "{} is there already; nothing was changed",
            file.display()
        )));
    }
    let secret = match cx.given_pin()? {
        Some(secret) => secret,
        None => {
            let keyboard = SecretSource {
                file: None,
                fd: None,
            };
            keyboard.read_new("New passphrase for your key: ", "pin")?
        }
    };
    let own = OwnKey::make(file, &name, &secret)?;
    let (report, witness) = (
        note_key(&own, NoteKind::Note)?,
        note_key(&own, NoteKind::Cosignature)?,
    );
    cx.out.line(&format!(
        "Your key is in {}. Give these public keys to whoever is to check your signatures:\n  reports:      \
         {report}\n  checkpoints:  {witness}",
        file.display()
    ))
}
