//! `handfast verify --report`: a report that the verifier signs with a key of their own.
//!
//! What is signed is the report as text, in the open signed-note form (C2SP): so that it can be checked
//! with other programs. HTML and JSON carry the same text, and what they say around it is made from it and
//! from nothing else: so `check` (`--check-report`) can make it again and compare.

mod check;

use std::fmt::Write as _;
use std::path::PathBuf;

use clap::{Args, ValueEnum};
use serde::Serialize;

use super::context::Context;
use super::report::CliError;
use super::secret::SecretSource;
use super::verify::{Verified, in_words};
use crate::journal::FORMAT_VERSION;
use crate::journal::note::{NOTE_BYTES_MAX, NoteKind, SignedNote, VerifierKey};
use crate::journal::verify::{Level, Verdict};
use crate::station::clock::{Clock, SystemClock};
use crate::station::keys::OwnKey;
use crate::view::escape;

pub use check::check;

/// The first line of what is signed.
const FIRST_LINE: &str = "handfast verification report 1";
/// Where the signed text stands in an HTML report.
const HTML_START: &str = "<pre id=\"signed\">";
const HTML_END: &str = "</pre>";
/// Where the words of a report end: a note has room for no more, and a badly damaged journal has more to say.
const WORDS_BYTES_MAX: usize = NOTE_BYTES_MAX - 16 * 1024;

/// How a report is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ReportForm {
    /// For a browser or a printer
    Html,
    /// For programs
    Json,
    /// The signed text itself
    Text,
}

/// Options of a signed report.
#[derive(Debug, Args)]
pub struct ReportArgs {
    /// Write a report in this form, signed with the verifier's own key
    #[arg(long, value_name = "FORM", requires = "key_file")]
    report: Option<ReportForm>,
    /// The verifier's own key (`checkpoint own-key` makes one); its passphrase is asked for, or --pin-file
    #[arg(long, value_name = "FILE", requires = "report")]
    key_file: Option<PathBuf>,
    /// Where the report goes; otherwise to the screen
    #[arg(long, value_name = "FILE", requires = "report")]
    out: Option<PathBuf>,
    /// Check the signature of a report instead of a journal
    #[arg(long, value_name = "FILE", requires = "signed_by", conflicts_with_all = ["report", "against", "remembered"])]
    check_report: Option<PathBuf>,
    /// The verifier's public key, as `checkpoint own-key` showed it
    #[arg(long, value_name = "KEY", requires = "check_report")]
    signed_by: Option<String>,
}

/// The report as `--report json` writes it; schema `handfast.verification-report/1`. All of it comes from the
/// signed text.
#[derive(Serialize)]
struct ReportJson<'a> {
    schema: &'static str,
    program: &'a str,
    verdict: &'a str,
    journal: &'a str,
    entries: u64,
    tree_size: u64,
    tree_root: &'a str,
    faults: u64,
    verifier: &'a str,
    /// The signed note: text and signature. Only this is signed.
    signed: &'a str,
}

/// The verifier's key, if a report is asked for. Asked before the long work.
pub fn signatory(cx: &Context, args: &ReportArgs) -> Result<Option<OwnKey>, CliError> {
    match (&args.report, &args.key_file) {
        (Some(_), Some(path)) => own_key(cx, path).map(Some),
        _ => Ok(None),
    }
}

/// Opens a key of one's own.
pub fn own_key(cx: &Context, path: &std::path::Path) -> Result<OwnKey, CliError> {
    let secret = match cx.given_pin()? {
        Some(secret) => secret,
        None => {
            let keyboard = SecretSource {
                file: None,
                fd: None,
            };
            keyboard.read(&format!("Passphrase of {}: ", path.display()), "pin")?
        }
    };
    Ok(OwnKey::open(path, &secret)?)
}

/// The key under which reports and other notes are signed.
pub fn note_key(own: &OwnKey, kind: NoteKind) -> Result<VerifierKey, CliError> {
    let name = own.name.as_str().parse();
    Ok(VerifierKey {
        name: name.map_err(|error| CliError::refused(format!("{error}")))?,
        kind,
        key: own.signer.public(),
    })
}

/// Signs and writes the report.
pub fn write(
    cx: &Context,
    args: &ReportArgs,
    own: &OwnKey,
    verified: &Verified,
) -> Result<(), CliError> {
    let key = note_key(own, NoteKind::Note)?;
    let text = signed_text(cx, &key, verified)?;
    let note = SignedNote::sign(text, &key.name, &*own.signer);
    let note = note.map_err(|error| CliError::refused(error.to_string()))?;
    let form = args.report.unwrap_or(ReportForm::Text);
    let out = in_form(form, &note);
    let out = out.ok_or_else(|| CliError::refused("the report's own text cannot be read back"))?;
    cx.out.to(args.out.as_deref(), &out)?;
    if args.out.is_some() {
        cx.out.line(&format!(
            "{}. Signed by {key}.",
            headline(verified.found.verdict())
        ))?;
    }
    Ok(())
}

const VERDICTS: [Verdict; 5] = [
    Verdict::Whole,
    Verdict::NotAllJudged,
    Verdict::EndNotVouchedFor,
    Verdict::NotTested,
    Verdict::NotAsWritten,
];

const fn headline(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Whole => "Whole and unaltered",
        Verdict::NotAllJudged => "Unaltered, but the right to write some entries was not judged",
        Verdict::EndNotVouchedFor => "Unaltered as far as it goes, the end not vouched for",
        Verdict::NotTested => {
            "NOT TESTED against a checkpoint that was named: it is of another journal"
        }
        Verdict::NotAsWritten => "NOT AS WRITTEN",
    }
}

/// What a report says in its first lines, before the words: `name: value`.
fn told<'t>(text: &'t str, name: &str) -> Option<&'t str> {
    let head = text.lines().take_while(|line| !line.is_empty());
    let mut found = head.filter_map(|line| line.split_once(": ").filter(|(said, _)| *said == name));
    found.next().map(|(_, value)| value)
}

/// The whole file, from what is signed and nothing else. `None` if the text is not of this program's making.
fn in_form(form: ReportForm, note: &SignedNote) -> Option<String> {
    let signed = note.to_text();
    match form {
        ReportForm::Text => Some(signed),
        ReportForm::Json => as_json(note.text(), &signed),
        ReportForm::Html => as_html(note.text(), &signed),
    }
}

/// Everything the report says, without a control character.
fn signed_text(cx: &Context, key: &VerifierKey, verified: &Verified) -> Result<String, CliError> {
    let found = &verified.found;
    let mut text = format!("{FIRST_LINE}\n");
    let mut line = |name: &str, value: &str| {
        // Writing to a string cannot fail.
        let _ = writeln!(text, "{name}: {}", escape::terminal_line(value));
    };
    line("verdict", headline(found.verdict()));
    line("journal", &found.journal.to_string());
    line("folder", &cx.journal()?.display().to_string());
    line("ward", verified.judge.ward_name().unwrap_or("not known"));
    line("verified at", &SystemClock.now().rfc3339());
    line("by the program", &program());
    line("verifier", &key.to_string());
    line("entries examined", &found.entries.to_string());
    line("sealed among them", &found.sealed.to_string());
    line(
        "newest entry",
        &format!("{} {}", found.head.seq, found.head.hash),
    );
    line(
        "tree",
        &format!("{} leaves, root {}", found.tree_size, found.tree_root),
    );
    line("anomalies", &found.findings.len().to_string());
    let faults = found.findings.iter();
    let faults = faults.filter(|one| one.level == Level::Fault).count();
    line("faults", &faults.to_string());
    for one in &verified.compared {
        let fits = if !one.ours {
            "of another journal, NOT TESTED"
        } else if one.fits && one.signed {
            "fits"
        } else {
            "DOES NOT FIT"
        };
        line(
            "checkpoint",
            &format!("{} over {}: {fits}", one.from, one.size),
        );
    }
    text.push('\n');
    let words = in_words(verified);
    let all = words.lines().count();
    for (done, words) in words.lines().enumerate() {
        if text.len() > WORDS_BYTES_MAX {
            let left = all - done;
            let _ = writeln!(
                text,
                "{left} more lines have no room here; `handfast verify` shows them."
            );
            break;
        }
        // A blank line before the last would end the text of the note early.
        let words = escape::terminal_line(words);
        let _ = writeln!(text, "{}", words.trim_end());
    }
    Ok(text)
}

fn program() -> String {
    let version = env!("CARGO_PKG_VERSION");
    format!("handfast {version}, journal format {FORMAT_VERSION}")
}

fn as_json(text: &str, signed: &str) -> Option<String> {
    let tree = told(text, "tree")?;
    let (size, root) = tree.split_once(" leaves, root ")?;
    let program = told(text, "by the program")?.strip_prefix("handfast ")?;
    let report = ReportJson {
        schema: "handfast.verification-report/1",
        program: program.split(',').next()?,
        verdict: told(text, "verdict")?,
        journal: told(text, "journal")?,
        entries: told(text, "entries examined")?.parse().ok()?,
        tree_size: size.parse().ok()?,
        tree_root: root,
        faults: told(text, "faults")?.parse().ok()?,
        verifier: told(text, "verifier")?,
        signed,
    };
    serde_json::to_string_pretty(&report).ok()
}

/// One page: the verdict large, then the signed text as it is.
fn as_html(text: &str, signed: &str) -> Option<String> {
    let head = markup(told(text, "verdict")?);
    let signed = markup(signed);
    Some(format!(
        "<!doctype html>\n<html lang=\"en-GB\"><head><meta charset=\"utf-8\">\n\
         <title>Verification report</title>\n<style>\n\
         @page {{ size: A4; margin: 18mm }}\n\
         body {{ font: 11pt/1.45 \"DejaVu Sans\", sans-serif; max-width: 46em; margin: 2em auto; \
         padding: 0 1em; color: #111 }}\n\
         h1 {{ font-size: 1.5em; margin: 0 0 .2em }}\n\
         pre {{ font: 9pt/1.4 \"DejaVu Sans Mono\", monospace; white-space: pre-wrap; \
         overflow-wrap: anywhere; border-top: 1px solid #888; padding-top: 1em }}\n\
         </style></head><body>\n<h1>{head}</h1>\n\
         <p>Report on one journal. Everything below the line is what the verifier signed; the last line is the \
         signature. <code>handfast verify --check-report FILE --signed-by KEY</code> checks it.</p>\n\
         {HTML_START}{signed}{HTML_END}\n</body></html>\n"
    ))
}

fn markup(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}
