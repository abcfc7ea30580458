//! `handfast extract`: part of the record as a file that proves itself, and its check.

mod words;

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use serde::Serialize;

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use crate::journal::{read_small_file, replace_small_file};
use crate::record::ids::Seq;
use crate::record::time::{Leaning, Timestamp, parse_moment};
use crate::station::Station;
use crate::station::extract::check::{Checked, Complete, check, read};
use crate::station::extract::{Extract, ExtractRequest, Scope};
use crate::station::known_checkpoints::KnownCheckpoint;
use crate::view::escape;

/// A patient's record of years, with its proofs.
const BYTES_MAX: usize = 512 << 20;

/// Write part of the record as a file that proves itself, or check such a file.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub struct ExtractArgs {
    #[command(subcommand)]
    check: Option<ExtractCommand>,
    /// Only this patient's entries
    #[arg(long)]
    patient: Option<String>,
    /// Only this episode's, by the number of its admission
    #[arg(long, value_name = "ENTRY")]
    episode: Option<Seq>,
    /// Only this alert and what was done about it
    #[arg(long, value_name = "ENTRY")]
    alert: Option<Seq>,
    /// Only what was recorded from then on
    #[arg(long, value_name = "TIME")]
    from: Option<String>,
    /// Only what was recorded up to then
    #[arg(long, value_name = "TIME")]
    until: Option<String>,
    /// Show this entry by its hash only, for this reason: "123: names a neighbour"
    #[arg(long, value_name = "ENTRY: REASON", value_parser = withheld)]
    withhold: Vec<(Seq, String)>,
    /// The checkpoint it is to rest on, e.g. the one that whoever asks keeps; the newest otherwise
    #[arg(long, value_name = "FILE")]
    checkpoint: Option<PathBuf>,
    /// Why the extract is made; stands in it, and in the journal's record of access
    #[arg(long)]
    purpose: Option<String>,
    /// Where it goes; a page for reading goes beside it with .html at the end
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

#[derive(Debug, Subcommand)]
enum ExtractCommand {
    /// Check an extract; needs no journal and no PIN
    Verify {
        /// The extract
        file: PathBuf,
        /// A checkpoint you kept: whether the extract rests on the same one
        #[arg(long, value_name = "FILE")]
        against: Option<PathBuf>,
        /// Write its page for reading anew from what was checked
        #[arg(long, value_name = "FILE")]
        html: Option<PathBuf>,
    },
}

fn withheld(text: &str) -> Result<(Seq, String), String> {
    let wanted = "give the entry's number, a colon and the reason";
    let (seq, reason) = text.split_once(':').ok_or(wanted)?;
    let seq = seq.parse().map_err(|error| format!("{error}"))?;
    match reason.trim() {
        "" => Err(wanted.to_owned()),
        reason => Ok((seq, reason.to_owned())),
    }
}

/// As `--json` shows it; schema `handfast.extract-check/1`.
#[derive(Serialize)]
struct CheckJson<'a> {
    schema: &'static str,
    holds: bool,
    problems: &'a [String],
    journal: String,
    /// How many entries of the journal the checkpoint covers.
    size: Option<u64>,
    /// The checkpoint's digits to read out.
    digits: Option<String>,
    shown: usize,
    withheld: usize,
    /// The checkpoint's own entry: what is proved, is proved up to it.
    up_to: Option<u64>,
    patients: Vec<CompleteJson>,
    /// Whether it rests on the checkpoint that was named: `same`, or `not-tested` if that covers another number
    /// of entries or is of another journal; null if none was named.
    against: Option<&'static str>,
}

#[derive(Serialize)]
struct CompleteJson {
    patient: String,
    in_all: u64,
    shown: u64,
    withheld: u64,
    up_to: u64,
}

/// Runs the command.
pub fn run(cx: &Context, args: &ExtractArgs) -> Result<Exit, CliError> {
    if let Some(ExtractCommand::Verify {
        file,
        against,
        html,
    }) = &args.check
    {
        return verify(cx, file, against.as_deref(), html.as_deref());
    }
    let (Some(out), Some(purpose)) = (&args.out, &args.purpose) else {
        return Err(CliError::new(
            Exit::Usage,
            "--out FILE and --purpose TEXT are needed",
        ));
    };
    let mut station = cx.reading_station()?;
    let actor = match cx.reader() {
        Some(reader) => reader,
        None => cx.actor(&mut station)?,
    };
    let scope = scope(&station, args)?;
    let request = ExtractRequest {
        words: asked(args),
        scope,
        purpose: purpose.clone(),
        made_by: actor.name.clone(),
        withheld: args.withhold.clone(),
        against: args.checkpoint.as_deref().map(kept).transpose()?,
    };
    let mut beside = out.as_os_str().to_os_string();
    beside.push(".html");
    let beside = PathBuf::from(beside);
    for path in [out, &beside] {
        can_be_written(path)?;
    }
    // Recorded before it is written: no extract is anywhere that the journal does not name.
    let extract = station.extract(&actor, &request)?;
    let text = serde_json::to_string_pretty(&extract);
    let text = text.map_err(|error| CliError::refused(error.to_string()))?;
    let checked = check(&extract);
    let page = words::html_of(&extract, &checked);
    replace_small_file(out, text.as_bytes())
        .and_then(|()| replace_small_file(&beside, page.as_bytes()))
        .map_err(|cause| recorded_and_not_written(out, &cause))?;
    told(cx, &extract, &checked, None)
}

/// Tries to write beside it, and leaves nothing: a full disk or a folder that is read only shows before the
/// journal says that an extract was made.
fn can_be_written(path: &Path) -> Result<(), CliError> {
    let refused = |why: String| {
        CliError::new(
            Exit::Storage,
            format!(
                "{} cannot be written: {why}; nothing was recorded",
                path.display()
            ),
        )
    };
    if path.is_dir() {
        return Err(refused("it is a folder".to_owned()));
    }
    let mut name = path.file_name().unwrap_or_default().to_os_string();
    name.push(".tried");
    let tried = path.with_file_name(name);
    let written = replace_small_file(&tried, b"");
    let removed = written.and_then(|()| std::fs::remove_file(&tried));
    removed.map_err(|cause| refused(cause.to_string()))
}

fn recorded_and_not_written(out: &Path, cause: &std::io::Error) -> CliError {
    CliError::new(
        Exit::Storage,
        format!(
            "{} could not be written: {cause}; the journal says that the extract was made",
            out.display()
        ),
    )
    .hint("ask for it again once there is room; that is recorded again")
}

fn kept(path: &Path) -> Result<KnownCheckpoint, CliError> {
    KnownCheckpoint::read(path).map_err(|error| CliError::refused(error.to_string()))
}

fn scope(station: &Station, args: &ExtractArgs) -> Result<Scope, CliError> {
    let patient = args.patient.as_deref();
    let patient = patient
        .map(|text| station.resolve_patient(text))
        .transpose()?;
    let moment = |text: &Option<String>, option: &str| -> Result<Option<Timestamp>, CliError> {
        let Some(text) = text else { return Ok(None) };
        let read = parse_moment(text, station.now(), station.zone(), Leaning::Past);
        let read = read.map_err(|why| CliError::new(Exit::Usage, format!("{option}: {why}")))?;
        Ok(Some(read.at))
    };
    let scope = Scope {
        patient,
        episode: args.episode,
        alert: args.alert,
        from: moment(&args.from, "--from")?,
        until: moment(&args.until, "--until")?,
    };
    if scope == Scope::default() {
        let what =
            "nothing says which entries: give --patient, --episode, --alert, --from or --until";
        return Err(CliError::new(Exit::Usage, what));
    }
    Ok(scope)
}

fn asked(args: &ExtractArgs) -> String {
    let mut words = Vec::new();
    let mut say = |what: &str, said: Option<String>| {
        words.extend(said.map(|said| format!("{what} {said}")));
    };
    say("patient", args.patient.clone());
    say("episode", args.episode.map(|seq| seq.to_string()));
    say("alert", args.alert.map(|seq| seq.to_string()));
    say("recorded from", args.from.clone());
    say("recorded until", args.until.clone());
    words.join(", ")
}

fn verify(
    cx: &Context,
    file: &Path,
    against: Option<&Path>,
    html: Option<&Path>,
) -> Result<Exit, CliError> {
    let refused = |what: String| CliError::refused(format!("{}: {what}", file.display()));
    let bytes = read_small_file(file, BYTES_MAX).map_err(|cause| refused(cause.to_string()))?;
    let extract = read(&bytes).map_err(refused)?;
    let mut checked = check(&extract);
    let against = against.map(kept).transpose()?;
    let against = against.map(|kept| Against::of(&kept, &mut checked));
    if let Some(html) = html {
        let page = words::html_of(&extract, &checked);
        replace_small_file(html, page.as_bytes())?;
    }
    told(cx, &extract, &checked, against.as_ref())
}

/// What a checkpoint that somebody kept says of the extract.
struct Against {
    same: bool,
    words: String,
}

impl Against {
    /// Another root at the same size is a problem of the extract; anything else is not tested.
    fn of(kept: &KnownCheckpoint, checked: &mut Checked) -> Against {
        let from = escape::terminal_line(&kept.from).into_owned();
        let not_tested = |why: String| Against {
            same: false,
            words: format!("NOT TESTED against {from}: {why}."),
        };
        let Some(rests_on) = &checked.checkpoint else {
            return not_tested("the extract has no checkpoint that could be believed".to_owned());
        };
        let (ours, theirs) = (kept.text.size, rests_on.size);
        if kept.text.origin != rests_on.origin {
            return not_tested("it is of another journal".to_owned());
        }
        if ours != theirs {
            return not_tested(format!(
                "it covers {ours} entries and the extract's checkpoint {theirs}; ask the ward for an extract that \
                 rests on it (`extract --checkpoint`), or for a proof that one extends the other (`prove --extends`)"
            ));
        }
        if kept.text != *rests_on {
            let what = format!(
                "its checkpoint is another than {from}, over as many entries of the same journal: two histories were kept"
            );
            checked.problems.push(what);
            let words = format!("DOES NOT FIT {from}.");
            return Against { same: false, words };
        }
        Against {
            same: true,
            words: format!("Rests on the same checkpoint as {from}."),
        }
    }
}

fn told(
    cx: &Context,
    extract: &Extract,
    checked: &Checked,
    against: Option<&Against>,
) -> Result<Exit, CliError> {
    let holds = checked.problems.is_empty();
    if cx.out.json {
        let complete = |one: &Complete| CompleteJson {
            patient: one.patient.to_string(),
            in_all: one.in_all,
            shown: one.shown,
            withheld: one.withheld,
            up_to: one.up_to,
        };
        let checkpoint = checked.checkpoint.as_ref();
        cx.out.json(&CheckJson {
            schema: "handfast.extract-check/1",
            holds,
            problems: &checked.problems,
            journal: extract.journal.to_string(),
            size: checkpoint.map(|checkpoint| checkpoint.size),
            digits: checkpoint.map(|checkpoint| checkpoint.digits()),
            shown: checked.shown,
            withheld: checked.withheld.len(),
            up_to: checked.up_to.map(|seq| seq.0),
            patients: checked.patients.iter().map(complete).collect(),
            against: against.map(|against| if against.same { "same" } else { "not-tested" }),
        })?;
    } else {
        let mut lines = words::in_lines(extract, checked);
        lines.extend(against.map(|against| against.words.clone()));
        let lines: Vec<_> = lines
            .iter()
            .map(|line| escape::terminal_line(line))
            .collect();
        cx.out.line(&lines.join("\n"))?;
    }
    Ok(match (holds, against) {
        (false, _) => Exit::Integrity,
        (true, Some(against)) if !against.same => Exit::Storage,
        (true, _) => Exit::Done,
    })
}
