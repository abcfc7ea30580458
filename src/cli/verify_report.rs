//! `handfast verify --report`: a report that the verifier signs with a key of their own, and
//! `--check-report`, which tells whether one is as it was signed.
//!
//! What is signed is the report as text, in the open signed-note form (C2SP): so that it can be checked
//! with other programs. HTML and JSON carry the same text and say the same beside it.

use std::fmt::Write as _;
use std::path::PathBuf;

use clap::{Args, ValueEnum};
use serde::Serialize;

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use super::secret::SecretSource;
use super::verify::{Verified, in_words};
use crate::journal::note::{NOTE_BYTES_MAX, NoteKind, SignedNote, VerifierKey};
use crate::journal::verify::{Level, Verdict};
use crate::journal::{FORMAT_VERSION, read_small_file};
use crate::station::clock::{Clock, SystemClock};
use crate::station::keys::OwnKey;
use crate::view::escape;

/// The first line of what is signed.
const FIRST_LINE: &str = "handfast verification report 1";
/// Where the signed text stands in an HTML report.
const HTML_START: &str = "<pre id=\"signed\">";
const HTML_END: &str = "</pre>";
/// A report with every anomaly of a badly damaged journal, in HTML.
const FILE_BYTES_MAX: usize = 8 << 20;

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

/// The report as `--report json` writes it; schema `handfast.verification-report/1`.
#[derive(Serialize)]
struct ReportJson<'a> {
    schema: &'static str,
    program: &'static str,
    verdict: &'static str,
    journal: String,
    entries: u64,
    tree_size: u64,
    tree_root: String,
    faults: usize,
    verifier: String,
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
    let signed = note.to_text();
    let out = match args.report {
        Some(ReportForm::Json) => as_json(verified, &key, &signed)?,
        Some(ReportForm::Html) => as_html(verified, &signed),
        _ => signed,
    };
    cx.out.to(args.out.as_deref(), &out)?;
    if args.out.is_some() {
        cx.out
            .line(&format!("{}. Signed by {key}.", headline(verified)))?;
    }
    Ok(())
}

fn headline(verified: &Verified) -> &'static str {
    match verified.found.verdict() {
        Verdict::Whole => "Whole and unaltered",
        Verdict::NotAllJudged => "Unaltered, but the right to write some entries was not judged",
        Verdict::EndNotVouchedFor => "Unaltered as far as it goes, the end not vouched for",
        Verdict::NotAsWritten => "NOT AS WRITTEN",
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
    line("verdict", headline(verified));
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
    for one in &verified.compared {
        let fits = if one.fits && one.signed {
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
    for words in in_words(verified).lines() {
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

fn as_json(verified: &Verified, key: &VerifierKey, signed: &str) -> Result<String, CliError> {
    let found = &verified.found;
    let faults = found.findings.iter();
    let report = ReportJson {
        schema: "handfast.verification-report/1",
        program: env!("CARGO_PKG_VERSION"),
        verdict: headline(verified),
        journal: found.journal.to_string(),
        entries: found.entries,
        tree_size: found.tree_size,
        tree_root: found.tree_root.to_string(),
        faults: faults.filter(|one| one.level == Level::Fault).count(),
        verifier: key.to_string(),
        signed,
    };
    serde_json::to_string_pretty(&report).map_err(|error| CliError::refused(error.to_string()))
}

/// One page: the verdict large, then the signed text as it is.
fn as_html(verified: &Verified, signed: &str) -> String {
    let head = headline(verified);
    let signed = markup(signed);
    format!(
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
    )
}

fn markup(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}

fn from_markup(text: &str) -> String {
    text.replace("&gt;", ">")
        .replace("&lt;", "<")
        .replace("&amp;", "&")
}

/// Checks a report, if that is what is asked.
pub fn check(cx: &Context, args: &ReportArgs) -> Result<Option<Exit>, CliError> {
    let (Some(path), Some(key)) = (&args.check_report, &args.signed_by) else {
        return Ok(None);
    };
    let refused = |what: String| CliError::refused(format!("{}: {what}", path.display()));
    let key: VerifierKey = key
        .parse()
        .map_err(|error| CliError::refused(format!("--signed-by: {error}")))?;
    let bytes =
        read_small_file(path, FILE_BYTES_MAX).map_err(|cause| refused(cause.to_string()))?;
    let note =
        signed_part(&bytes).ok_or_else(|| refused("it holds no signed report".to_owned()))?;
    let note = SignedNote::parse(note.as_bytes()).map_err(|error| refused(error.to_string()))?;
    if !note.text().starts_with(&format!("{FIRST_LINE}\n")) {
        return Err(refused(
            "what is signed in it is no verification report".to_owned(),
        ));
    }
    if let Err(error) = note.check(&key) {
        let message = format!("{}: {error}", path.display());
        return Err(CliError::new(Exit::Integrity, message));
    }
    cx.out.line(&format!(
        "Signed by {} and not altered since. What it says:\n\n{}",
        key.name,
        note.text()
    ))?;
    Ok(Some(Exit::Done))
}

/// The signed note in a report of any form.
fn signed_part(bytes: &[u8]) -> Option<String> {
    let text = std::str::from_utf8(bytes).ok()?;
    let part = if text.starts_with(FIRST_LINE) {
        text.to_owned()
    } else if let Some((_, rest)) = text.split_once(HTML_START) {
        from_markup(rest.split_once(HTML_END)?.0)
    } else {
        let json: serde_json::Value = serde_json::from_str(text).ok()?;
        json.get("signed")?.as_str()?.to_owned()
    };
    (part.len() <= NOTE_BYTES_MAX).then_some(part)
}
