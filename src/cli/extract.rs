//! `handfast extract`: part of the record as a file that proves itself, and its check.

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
use crate::view::extract::{ExtractHead, page};

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
    patients: Vec<CompleteJson>,
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
    if let Some(ExtractCommand::Verify { file, html }) = &args.check {
        return verify(cx, file, html.as_deref());
    }
    let (Some(out), Some(purpose)) = (&args.out, &args.purpose) else {
        return Err(CliError::new(
            Exit::Usage,
            "--out FILE and --purpose TEXT are needed",
        ));
    };
    let mut station = cx.station()?;
    if station.is_sealed() {
        return Err(CliError::refused(
            "the records in this journal are sealed: an extract would hold them unread, and could not tell \
             which entries belong to an episode or an alert",
        )
        .hint("checkpoints and `prove` work as ever; extracts of sealed records are not made yet"));
    }
    let actor = cx.actor(&mut station)?;
    let scope = scope(&station, args)?;
    let request = ExtractRequest {
        words: words(args),
        scope,
        purpose: purpose.clone(),
        made_by: actor.name.clone(),
        withheld: args.withhold.clone(),
    };
    let extract = station.extract(&actor, &request)?;
    let text = serde_json::to_string_pretty(&extract);
    let text = text.map_err(|error| CliError::refused(error.to_string()))?;
    replace_small_file(out, text.as_bytes())?;
    let checked = check(&extract);
    let mut beside = out.as_os_str().to_os_string();
    beside.push(".html");
    replace_small_file(Path::new(&beside), html_of(&extract, &checked).as_bytes())?;
    told(cx, &extract, &checked)
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

fn words(args: &ExtractArgs) -> String {
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

fn verify(cx: &Context, file: &Path, html: Option<&Path>) -> Result<Exit, CliError> {
    let refused = |what: String| CliError::refused(format!("{}: {what}", file.display()));
    let bytes = read_small_file(file, BYTES_MAX).map_err(|cause| refused(cause.to_string()))?;
    let extract = read(&bytes).map_err(refused)?;
    let checked = check(&extract);
    if let Some(html) = html {
        replace_small_file(html, html_of(&extract, &checked).as_bytes())?;
    }
    told(cx, &extract, &checked)
}

fn html_of(extract: &Extract, checked: &Checked) -> String {
    let head = ExtractHead {
        ward: checked
            .ward
            .clone()
            .unwrap_or_else(|| "a ward that is not named".to_owned()),
        scope: format!("Asked for: {}", extract.scope),
        made: format!(
            "Made {} by {}. Purpose: {}. Nothing vouches for these three.",
            extract.made_at, extract.made_by, extract.purpose
        ),
        teaching: checked.teaching,
        proved: proved(extract, checked),
        problems: checked.problems.clone(),
    };
    page(&head, &checked.entries, &checked.withheld, checked.zone)
}

/// What the checks say, a sentence each.
fn proved(extract: &Extract, checked: &Checked) -> Vec<String> {
    let mut said = Vec::new();
    if let Some(checkpoint) = &checked.checkpoint {
        said.push(format!(
            "Rests on the checkpoint over entries 1 to {} of journal {}. To read out and compare with one \
             kept elsewhere: {}",
            checkpoint.size,
            extract.journal,
            checkpoint.digits()
        ));
    }
    said.push(format!(
        "{} entries shown, {} withheld.",
        checked.shown,
        checked.withheld.len()
    ));
    said.extend(checked.patients.iter().map(completeness));
    said
}

fn completeness(one: &Complete) -> String {
    let (shown, held) = (one.shown, one.withheld);
    let elsewhere = one.in_all.saturating_sub(shown + held);
    let all = format!(
        "Up to entry {} the record of patient {} has {} entries",
        one.up_to,
        one.patient.short(),
        one.in_all
    );
    match (held, elsewhere) {
        (0, 0) => format!("{all}, and all of them are here."),
        (held, 0) => format!("{all}: {shown} are here and {held} withheld."),
        (held, elsewhere) => {
            format!("{all}: {shown} are here, {held} withheld, {elsewhere} not asked for.")
        }
    }
}

fn told(cx: &Context, extract: &Extract, checked: &Checked) -> Result<Exit, CliError> {
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
            patients: checked.patients.iter().map(complete).collect(),
        })?;
    } else {
        if checked.teaching {
            cx.out.line(crate::view::page::TEACHING)?;
        }
        let mut lines = vec![if holds {
            "HOLDS: every entry shown is as it was recorded, by an author who might write it, and belongs \
             to the journal that the checkpoint is of."
                .to_owned()
        } else {
            "DOES NOT HOLD:".to_owned()
        }];
        lines.extend(checked.problems.iter().map(|what| format!("  {what}")));
        lines.extend(proved(extract, checked));
        lines.extend(
            checked
                .withheld
                .iter()
                .map(|(seq, why)| format!("  {seq} withheld: {why}")),
        );
        cx.out.line(&lines.join("\n"))?;
    }
    Ok(if holds { Exit::Done } else { Exit::Integrity })
}
