//! `handfast verify`: works on a bare folder, needs no secret and changes nothing.

use std::path::{Path, PathBuf};
use std::time::Duration;

use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use serde::Serialize;

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use super::verify_report::{self, ReportArgs};
use crate::journal::Head;
use crate::journal::verify::{
    Finding, Level, LyingAside, Progress, Verdict, Verification, VerifyOptions, Wrong, verify,
};
use crate::record::ids::{EntryHash, Seq};
use crate::station::clock::{Clock, SystemClock};
use crate::station::judge::RightsJudge;
use crate::station::known_checkpoints::{Compared, KnownCheckpoint, compare};
use crate::view::escape;

/// Check the whole journal: order, hashes, signatures, authors, clocks.
///
/// Needs no PIN and changes nothing. Exit code 0: whole and unaltered.
/// 3: something was altered. 4: what is there is unaltered, but its end is torn or not vouched for,
/// or it has entries of kinds this program does not know, whose authors' rights were not judged,
/// or a checkpoint that was named is of another journal, so that this one was not tested against it.
#[derive(Debug, Args)]
pub struct VerifyArgs {
    /// An entry number and hash noted earlier, e.g. from a receipt: 123:ab12…; it must still be there
    #[arg(long = "remembered", value_name = "SEQ:HASH", value_parser = remembered)]
    remembered: Vec<(Seq, EntryHash)>,
    /// A checkpoint kept elsewhere: the journal must begin with exactly the entries it states
    #[arg(long, value_name = "FILE")]
    against: Vec<PathBuf>,
    #[command(flatten)]
    report: ReportArgs,
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
struct VerificationJson<'a> {
    schema: &'static str,
    /// Only if the verdict is `whole`.
    sound: bool,
    verdict: &'static str,
    journal: String,
    entries: u64,
    /// Entries among them whose payload is sealed: what they say was not judged.
    sealed: u64,
    segments: usize,
    head_seq: u64,
    head_hash: String,
    /// How many leaves the Merkle tree over the entries has; the number of entries where none was lost.
    tree_size: u64,
    /// Its root.
    tree_root: String,
    checkpoints: Vec<CheckpointJson<'a>>,
    findings: Vec<FindingJson>,
    /// Entries of kinds that this program does not know: whether their authors had the right to
    /// write them was not judged.
    not_judged: Vec<NotJudgedJson>,
    aside: Vec<AsideJson>,
}

#[derive(Serialize)]
struct CheckpointJson<'a> {
    file: &'a str,
    size: u64,
    /// Whether the journal begins with exactly the entries it states.
    fits: bool,
    /// Whether it is signed with a key that the journal announces as the ward's.
    signed: bool,
    /// Whether it was named with `--against`; otherwise it lies in the journal's own folder.
    named: bool,
}

#[derive(Serialize)]
struct NotJudgedJson {
    kind: u16,
    entries: u64,
    first: Option<u64>,
}

#[derive(Serialize)]
struct AsideJson {
    segment: u64,
    offset: u64,
    file: String,
}

#[derive(Serialize)]
struct FindingJson {
    level: &'static str,
    seq: Option<u64>,
    last: Option<u64>,
    recorded_at: Option<String>,
    author: Option<String>,
    /// Whether time and author are only what an altered header now says.
    claimed: bool,
    segment: Option<u64>,
    offset: Option<u64>,
    what: String,
}

/// What was found, and what it was held against.
pub struct Verified {
    pub found: Verification,
    pub judge: RightsJudge,
    pub compared: Vec<Compared>,
}

/// Reads the whole journal and holds it against what was kept elsewhere.
pub fn examine(
    cx: &Context,
    remembered: Vec<Head>,
    against: Vec<KnownCheckpoint>,
) -> Result<Verified, CliError> {
    examine_at(cx, &cx.journal()?, remembered, against)
}

/// The same of another folder.
pub fn examine_at(
    cx: &Context,
    dir: &Path,
    remembered: Vec<Head>,
    against: Vec<KnownCheckpoint>,
) -> Result<Verified, CliError> {
    let mut known = KnownCheckpoint::in_folder(dir);
    known.extend(against);
    let bar = progress_bar(cx);
    let mut judge = RightsJudge::at(SystemClock.now());
    let mut show = |progress: Progress| {
        bar.set_length(progress.segments.max(1) as u64);
        bar.set_position(progress.segments_done as u64);
        bar.set_message(format!("{} entries", progress.entries));
    };
    let options = VerifyOptions {
        judge: Some(&mut judge),
        progress: Some(&mut show),
        remembered,
        tree_sizes: known.iter().map(|known| known.text.size).collect(),
    };
    let found = verify(dir, options);
    bar.finish_and_clear();
    let mut found = found?;
    let compared = compare(&mut found, judge.ward_keys(), &known);
    Ok(Verified {
        found,
        judge,
        compared,
    })
}

/// Runs the command.
pub fn run(cx: &Context, args: &VerifyArgs) -> Result<Exit, CliError> {
    if let Some(exit) = verify_report::check(cx, &args.report)? {
        return Ok(exit);
    }
    let remembered = args.remembered.iter();
    let remembered = remembered.map(|(seq, hash)| Head {
        seq: *seq,
        hash: *hash,
    });
    let against = args.against.iter();
    let against: Result<Vec<_>, _> = against.map(|path| KnownCheckpoint::read(path)).collect();
    let against = against.map_err(|error| CliError::refused(error.to_string()))?;
    let signatory = verify_report::signatory(cx, &args.report)?;
    let verified = examine(cx, remembered.collect(), against)?;
    if let Some(signatory) = signatory {
        verify_report::write(cx, &args.report, &signatory, &verified)?;
    } else if cx.out.json {
        cx.out.json(&as_json(&verified))?;
    } else {
        cx.out.sentences(&in_words(&verified))?;
    }
    Ok(exit_of(verified.found.verdict()))
}

/// How a command ends that came to this verdict, or was shown it.
pub const fn exit_of(verdict: Verdict) -> Exit {
    match verdict {
        Verdict::Whole => Exit::Done,
        Verdict::NotAllJudged | Verdict::EndNotVouchedFor | Verdict::NotTested => Exit::Storage,
        Verdict::NotAsWritten => Exit::Integrity,
    }
}

fn progress_bar(cx: &Context) -> ProgressBar {
    if !cx.out.styled || cx.out.json {
        return ProgressBar::hidden();
    }
    let bar = counting();
    bar.enable_steady_tick(Duration::from_millis(120));
    bar
}

/// Of a length not known yet: of none of no segments the bar would be full.
fn counting() -> ProgressBar {
    let bar = ProgressBar::no_length();
    if let Ok(style) =
        ProgressStyle::with_template("verifying {bar:30} {pos}/{len} segments, {msg}")
    {
        bar.set_style(style);
    }
    bar
}

/// Whoever had the key by the entries that could be read; names make the report readable, it
/// does not rest on them.
fn author(finding: &Finding, names: &RightsJudge) -> Option<String> {
    let key = finding.author?;
    let name = names.name_of(&key).map(str::to_owned);
    Some(name.unwrap_or_else(|| format!("unknown key {}", key.short())))
}

/// The whole report, as people read it.
pub fn in_words(verified: &Verified) -> String {
    let Verified {
        found,
        judge,
        compared,
    } = verified;
    let mut lines = vec![verdict_in_words(found)];
    for finding in &found.findings {
        lines.push(String::new());
        lines.push(finding_in_words(finding, judge));
    }
    for cut in &found.aside {
        lines.push(String::new());
        let cut = cut.to_string();
        lines.push(format!("note: {}", escape::terminal_line(&cut)));
    }
    let unjudged = judge.unjudged();
    if unjudged > 0 {
        lines.push(String::new());
        lines.push(format!(
            "Not judged: what {unjudged} sealed entries say. Who wrote them, their place and their \
             signatures were checked without a key; whether an amendment, a handover or a time within \
             them keeps the rules was not."
        ));
    }
    lines.push(String::new());
    lines.extend(compared_in_words(compared));
    lines.push(format!(
        "Newest entry {}: {}",
        found.head.seq, found.head.hash
    ));
    lines.push(closing_words(found.verdict()).to_owned());
    lines.join("\n")
}

/// Which checkpoints the journal was held against: each that was named, and how many of its own.
fn compared_in_words(compared: &[Compared]) -> Vec<String> {
    let fit = |one: &&Compared| one.fits && one.signed;
    let own = compared.iter().filter(|one| !one.named);
    let (of_own, own_fit) = (own.clone().count(), own.filter(fit).count());
    let mut lines = Vec::new();
    for one in compared.iter().filter(|one| one.named) {
        let said = if !one.ours {
            "is of another journal: this one was not tested against it"
        } else if one.fits && one.signed {
            "fits: the journal begins with exactly these entries"
        } else {
            "does not fit, see above"
        };
        let from = escape::terminal_line(&one.from);
        lines.push(format!(
            "Checkpoint {from} over {} entries {said}.",
            one.size
        ));
    }
    if of_own > 0 {
        lines.push(format!(
            "Of {of_own} checkpoints in the journal's own folder {own_fit} fit."
        ));
    }
    lines
}

/// What was checked of every entry, and what not of some.
fn checked_in_words(found: &Verification) -> String {
    let each = format!(
        "{} entries checked in order, each with its hash, its place in the chain, its author's \
         signature and its author's right to write it",
        found.entries
    );
    match found.not_judged() {
        0 => each,
        some => {
            format!("{each}, but for the right to write {some} of kinds this program does not know")
        }
    }
}

fn verdict_in_words(found: &Verification) -> String {
    let entries = found.entries;
    let checked = checked_in_words(found);
    match found.verdict() {
        Verdict::Whole => format!("WHOLE AND UNALTERED: {checked}."),
        Verdict::NotAllJudged => {
            format!("UNALTERED, BUT NOT ALL OF IT COULD BE JUDGED: {checked}. They are said below.")
        }
        Verdict::EndNotVouchedFor => format!(
            "UNALTERED AS FAR AS IT GOES, BUT ITS END IS NOT VOUCHED FOR: {checked}. Whether more entries followed {} cannot be told \
             from this folder; why is said below.",
            found.head.seq
        ),
        Verdict::NotTested => format!(
            "NOT TESTED AGAINST WHAT WAS NAMED: a checkpoint that was given is of another journal. Taken by itself this folder \
             is not altered: {checked}."
        ),
        Verdict::NotAsWritten => {
            let faults = found.findings.iter();
            let places = match faults.filter(|f| f.level == Level::Fault).count() {
                1 => "1 place".to_owned(),
                more => format!("{more} places"),
            };
            format!(
                "NOT AS WRITTEN: something is wrong in {places}. {entries} entries are intact and \
                 in order; the others are named below. Keep the folder as it is and tell governance."
            )
        }
    }
}

fn closing_words(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Whole => {
            "This shows that nothing in this folder was altered. Whether entries were cut off at \
             the end, and the notes with them, can only be told against a number and hash noted \
             elsewhere (--remembered)."
        }
        Verdict::NotAllJudged => {
            "A newer handfast wrote entries of these kinds, or somebody on the staff by another \
             program; verify with the newest version. Nothing in this folder was altered. Whether \
             entries were cut off at the end, and the notes with them, can only be told against a \
             number and hash noted elsewhere (--remembered)."
        }
        Verdict::EndNotVouchedFor => {
            "Mostly a computer stopped while it was writing, and nothing that was acknowledged is \
             lost. But whoever cuts off newer entries leaves the same. So compare the newest entry \
             with what was noted elsewhere (a receipt, a printed sheet, a backup): `handfast verify \
             --remembered NUMBER:HASH`. If one of those shows a higher number, entries are missing: \
             keep the folder as it is and tell governance. If none does, go on working; the next \
             entry that is recorded closes the end again."
        }
        Verdict::NotTested => {
            "Either the wrong file or the wrong folder was named, or this folder was put in the place of the \
             ward's: compare the journal's number with the one in the checkpoint's first line before you rest \
             anything on it."
        }
        Verdict::NotAsWritten => {
            "Whether entries were cut off at the end can only be told against a number and hash \
             noted elsewhere (--remembered)."
        }
    }
}

fn finding_in_words(finding: &Finding, names: &RightsJudge) -> String {
    let mark = match finding.level {
        Level::Fault => "FAULT",
        Level::Unjudged => "NOT JUDGED",
        Level::End => "END",
        Level::Untested => "NOT TESTED",
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
        "{mark}: {entry}{}{}{}\n  {}{place}",
        if finding.claimed {
            ", as its altered header now says"
        } else {
            ""
        },
        when.unwrap_or_default(),
        who.unwrap_or_default(),
        escape::terminal_line(&finding.what.to_string())
    )
}

fn as_json(verified: &Verified) -> VerificationJson<'_> {
    let found = &verified.found;
    VerificationJson {
        schema: "handfast.verification/1",
        sound: found.verdict() == Verdict::Whole,
        verdict: match found.verdict() {
            Verdict::Whole => "whole",
            Verdict::NotAllJudged => "not-all-judged",
            Verdict::EndNotVouchedFor => "end-not-vouched-for",
            Verdict::NotTested => "not-tested",
            Verdict::NotAsWritten => "not-as-written",
        },
        journal: found.journal.to_string(),
        entries: found.entries,
        sealed: found.sealed,
        segments: found.segments,
        head_seq: found.head.seq.0,
        head_hash: found.head.hash.to_string(),
        tree_size: found.tree_size,
        tree_root: found.tree_root.to_string(),
        checkpoints: verified.compared.iter().map(checkpoint_json).collect(),
        findings: found
            .findings
            .iter()
            .map(|finding| FindingJson {
                level: match finding.level {
                    Level::Fault => "fault",
                    Level::Unjudged => "not-judged",
                    Level::End => "end",
                    Level::Untested => "not-tested",
                    Level::Note => "note",
                },
                seq: finding.seq.map(|seq| seq.0),
                last: finding.last.map(|seq| seq.0),
                recorded_at: finding.recorded_at.map(|at| at.rfc3339()),
                author: finding.author.map(|key| key.to_string()),
                claimed: finding.claimed,
                segment: finding.segment.map(|seq| seq.0),
                offset: finding.offset,
                what: finding.what.to_string(),
            })
            .collect(),
        not_judged: found.findings.iter().filter_map(not_judged_json).collect(),
        aside: found.aside.iter().map(aside_json).collect(),
    }
}

fn checkpoint_json(one: &Compared) -> CheckpointJson<'_> {
    CheckpointJson {
        file: &one.from,
        size: one.size,
        fits: one.fits,
        signed: one.signed,
        named: one.named,
    }
}

fn not_judged_json(finding: &Finding) -> Option<NotJudgedJson> {
    let Wrong::NotJudged { kind, entries } = finding.what else {
        return None;
    };
    Some(NotJudgedJson {
        kind,
        entries,
        first: finding.seq.map(|seq| seq.0),
    })
}

fn aside_json(cut: &LyingAside) -> AsideJson {
    AsideJson {
        segment: cut.segment.0,
        offset: cut.offset,
        file: cut.path.display().to_string(),
    }
}

#[cfg(test)]
mod tests {
    use std::io;
    use std::sync::{Arc, Mutex};

    use indicatif::{ProgressDrawTarget, TermLike};

    use super::*;

    /// A terminal that remembers what was drawn on it.
    #[derive(Debug, Clone, Default)]
    struct Shown(Arc<Mutex<String>>);

    impl Shown {
        fn put(&self, text: &str) -> io::Result<()> {
            self.0.lock().expect("the screen").push_str(text);
            Ok(())
        }
    }

    impl TermLike for Shown {
        fn width(&self) -> u16 {
            80
        }
        fn move_cursor_up(&self, _: usize) -> io::Result<()> {
            Ok(())
        }
        fn move_cursor_down(&self, _: usize) -> io::Result<()> {
            Ok(())
        }
        fn move_cursor_right(&self, _: usize) -> io::Result<()> {
            Ok(())
        }
        fn move_cursor_left(&self, _: usize) -> io::Result<()> {
            Ok(())
        }
        fn write_line(&self, text: &str) -> io::Result<()> {
            self.put(text)
        }
        fn write_str(&self, text: &str) -> io::Result<()> {
            self.put(text)
        }
        fn clear_line(&self) -> io::Result<()> {
            Ok(())
        }
        fn flush(&self) -> io::Result<()> {
            Ok(())
        }
    }

    fn drawn(bar: &ProgressBar) -> String {
        let shown = Shown::default();
        bar.set_draw_target(ProgressDrawTarget::term_like(Box::new(shown.clone())));
        bar.force_draw();
        shown.0.lock().expect("the screen").clone()
    }

    #[test]
    fn the_bar_begins_empty_and_ends_full() {
        let bar = counting();
        let begun = drawn(&bar);
        assert!(begun.contains("verifying"), "{begun}");
        assert!(
            !begun.contains('\u{2588}'),
            "full before anything was read: {begun}"
        );
        bar.set_length(4);
        bar.set_position(2);
        let half = drawn(&bar).matches('\u{2588}').count();
        bar.set_position(4);
        let whole = drawn(&bar).matches('\u{2588}').count();
        assert!(0 < half && half < whole, "{half} of {whole}");
    }
}
