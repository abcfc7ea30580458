//! `handfast verify`: works on a bare folder, needs no secret and changes nothing.

use std::time::Duration;

use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use serde::Serialize;

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use crate::journal::Head;
use crate::journal::verify::{Finding, Level, Progress, Verification, VerifyOptions, verify};
use crate::record::ids::{EntryHash, Seq};
use crate::station::clock::{Clock, SystemClock};
use crate::station::judge::RightsJudge;

/// Check the whole journal: order, hashes, signatures, authors, clocks.
///
/// Needs no PIN and changes nothing. Exit code 0: nothing altered. 3: something was.
#[derive(Debug, Args)]
pub struct VerifyArgs {
    /// An entry number and hash noted earlier, e.g. from a receipt: 123:ab12…; it must still be there
    #[arg(long = "remembered", value_name = "SEQ:HASH", value_parser = remembered)]
    remembered: Vec<(Seq, EntryHash)>,
}

fn remembered(text: &str) -> Result<(Seq, EntryHash), String> {
    let parts = text
        .split_once(':')
        .ok_or("give the entry's number, a colon and its hash")?;
    let seq = parts.0.parse().map_err(|error| format!("{error}"))?;
    let hash = parts.1.parse().map_err(|error| format!("{error}"))?;
    Ok((seq, hash))
}

/// As `--json` shows it; schema `handfast.verification/1`.
#[derive(Serialize)]
struct VerificationJson {
    schema: &'static str,
    sound: bool,
    journal: String,
    entries: u64,
    segments: usize,
    head_seq: u64,
    head_hash: String,
    findings: Vec<FindingJson>,
}

#[derive(Serialize)]
struct FindingJson {
    level: &'static str,
    seq: Option<u64>,
    last: Option<u64>,
    recorded_at: Option<String>,
    author: Option<String>,
    segment: Option<u64>,
    offset: Option<u64>,
    what: String,
}

/// Runs the command.
pub fn run(cx: &Context, args: &VerifyArgs) -> Result<Exit, CliError> {
    let dir = cx.journal()?;
    let bar = progress_bar(cx);
    let mut judge = RightsJudge::at(SystemClock.now());
    let mut show = |progress: Progress| {
        bar.set_length(progress.segments as u64);
        bar.set_position(progress.segments_done as u64);
        bar.set_message(format!("{} entries", progress.entries));
    };
    let options = VerifyOptions {
        judge: Some(&mut judge),
        progress: Some(&mut show),
        remembered: args
            .remembered
            .iter()
            .map(|(seq, hash)| Head {
                seq: *seq,
                hash: *hash,
            })
            .collect(),
    };
    let found = verify(&dir, options);
    bar.finish_and_clear();
    let found = found?;
    if cx.out.json {
        cx.out.json(&as_json(&found))?;
    } else {
        cx.out.line(&in_words(&found, &judge))?;
    }
    Ok(if found.is_sound() {
        Exit::Done
    } else {
        Exit::Integrity
    })
}

fn progress_bar(cx: &Context) -> ProgressBar {
    if !cx.out.styled || cx.out.json {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(0);
    if let Ok(style) =
        ProgressStyle::with_template("verifying {bar:30} {pos}/{len} segments, {msg}")
    {
        bar.set_style(style);
    }
    bar.enable_steady_tick(Duration::from_millis(120));
    bar
}

/// Whoever had the key by the entries that could be read; names make the report readable, it
/// does not rest on them.
fn author(finding: &Finding, names: &RightsJudge) -> Option<String> {
    let key = finding.author?;
    let name = names.name_of(&key).map(str::to_owned);
    Some(name.unwrap_or_else(|| format!("unknown key {}", key.short())))
}

fn in_words(found: &Verification, names: &RightsJudge) -> String {
    let faults = found
        .findings
        .iter()
        .filter(|finding| finding.level == Level::Fault)
        .count();
    let mut lines = Vec::new();
    if faults == 0 {
        lines.push(format!(
            "WHOLE AND UNALTERED: {} entries checked in order, each with its hash, its place in \
             the chain, its author's signature and its author's right to write it.",
            found.entries
        ));
    } else {
        let places = if faults == 1 {
            "1 place"
        } else {
            &format!("{faults} places")
        };
        lines.push(format!(
            "NOT AS WRITTEN: something is wrong in {places}. {} entries are intact and in order; \
             the others are named below. Keep the folder as it is and tell governance.",
            found.entries
        ));
    }
    for finding in &found.findings {
        lines.push(String::new());
        lines.push(finding_in_words(finding, names));
    }
    lines.push(String::new());
    lines.push(format!(
        "Newest entry {}: {}",
        found.head.seq, found.head.hash
    ));
    let shown = if faults == 0 {
        "This shows that nothing in this folder was altered. "
    } else {
        ""
    };
    lines.push(format!(
        "{shown}Whether entries were cut off at the end can only be told against a number and \
         hash noted elsewhere (--remembered)."
    ));
    lines.join("\n")
}

fn finding_in_words(finding: &Finding, names: &RightsJudge) -> String {
    let mark = match finding.level {
        Level::Fault => "FAULT",
        Level::Note => "note",
    };
    let entry = match (finding.seq, finding.last) {
        (Some(first), Some(last)) if first != last => format!("entries {first} to {last}"),
        (Some(seq), _) => format!("entry {seq}"),
        (None, _) => "journal".to_owned(),
    };
    let when = finding
        .recorded_at
        .map(|at| format!(", recorded {}", names.zone().day_date_time(at)));
    let who = author(finding, names).map(|who| format!(", by {who}"));
    let place = match (finding.segment, finding.offset) {
        (Some(segment), Some(offset)) => format!(" (segment {}, byte {offset})", segment.0),
        (Some(segment), None) => format!(" (segment {})", segment.0),
        _ => String::new(),
    };
    format!(
        "{mark}: {entry}{}{}\n  {}{place}",
        when.unwrap_or_default(),
        who.unwrap_or_default(),
        finding.what
    )
}

fn as_json(found: &Verification) -> VerificationJson {
    VerificationJson {
        schema: "handfast.verification/1",
        sound: found.is_sound(),
        journal: found.journal.to_string(),
        entries: found.entries,
        segments: found.segments,
        head_seq: found.head.seq.0,
        head_hash: found.head.hash.to_string(),
        findings: found
            .findings
            .iter()
            .map(|finding| FindingJson {
                level: match finding.level {
                    Level::Fault => "fault",
                    Level::Note => "note",
                },
                seq: finding.seq.map(|seq| seq.0),
                last: finding.last.map(|seq| seq.0),
                recorded_at: finding.recorded_at.map(|at| at.rfc3339()),
                author: finding.author.map(|key| key.to_string()),
                segment: finding.segment.map(|seq| seq.0),
                offset: finding.offset,
                what: finding.what.to_string(),
            })
            .collect(),
    }
}
