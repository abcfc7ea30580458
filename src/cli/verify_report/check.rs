//! `verify --check-report`: whether a report is as its verifier signed it, all of it: the signature over the
//! text, and what stands around the text in HTML and JSON, which is made again from the text and compared.

use serde::Serialize;

use super::{
    FIRST_LINE, HTML_END, HTML_START, ReportArgs, ReportForm, VERDICTS, headline, in_form, told,
};
use crate::cli::context::Context;
use crate::cli::exit::Exit;
use crate::cli::report::CliError;
use crate::cli::verify::exit_of;
use crate::journal::note::{NOTE_BYTES_MAX, SignedNote, VerifierKey};
use crate::journal::read_small_file;

/// The longest text with every character written out, and the page around it.
const FILE_BYTES_MAX: usize = 8 << 20;

/// As `--json` shows it; schema `handfast.report-check/1`.
#[derive(Serialize)]
struct CheckJson<'a> {
    schema: &'static str,
    /// Who signed the text; the signature holds.
    signed_by: String,
    /// Whether what stands around the signed text is what belongs there.
    as_written: bool,
    verdict: &'a str,
    /// Further signatures, not checked.
    others: usize,
    /// The signed text.
    text: &'a str,
}

/// Checks a report, if that is what is asked. The exit code is that of the verdict it tells, if all of it is as
/// it was written.
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
    let (form, file, note) =
        signed_part(&bytes).map_err(|why| refused(format!("it holds no signed report: {why}")))?;
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
    let rebuilt = in_form(form, &note);
    let as_written =
        rebuilt.is_some_and(|made| made.trim_end_matches('\n') == file.trim_end_matches('\n'));
    let verdict = told(note.text(), "verdict").unwrap_or_default();
    shown(cx, &key, &note, as_written, verdict)?;
    let known = VERDICTS
        .into_iter()
        .find(|known| headline(*known) == verdict);
    match known {
        _ if !as_written => Ok(Some(Exit::Integrity)),
        Some(known) => Ok(Some(exit_of(known))),
        None => Err(refused(
            "its verdict is none that this program knows; it is shown above".to_owned(),
        )),
    }
}

fn shown(
    cx: &Context,
    key: &VerifierKey,
    note: &SignedNote,
    as_written: bool,
    verdict: &str,
) -> Result<(), CliError> {
    let others = note.signatures().len().saturating_sub(1);
    if cx.out.json {
        return cx.out.json(&CheckJson {
            schema: "handfast.report-check/1",
            signed_by: key.to_string(),
            as_written,
            verdict,
            others,
            text: note.text(),
        });
    }
    let head = if as_written {
        format!(
            "Signed by {}, and the file is as it was written: nothing in it differs from what was signed.",
            key.name
        )
    } else {
        format!(
            "ALTERED, or written by another version of this program: what stands around the signed text is not what \
             belongs there. Believe nothing in the file but this text, which {} signed.",
            key.name
        )
    };
    let others = match others {
        0 => String::new(),
        some => format!(" It bears {some} more signatures, not checked here."),
    };
    cx.out
        .line(&format!("{head}{others} What it says:\n\n{}", note.text()))
}

/// The form of a report, the file, and the signed note in it.
fn signed_part(bytes: &[u8]) -> Result<(ReportForm, &str, String), &'static str> {
    let file = std::str::from_utf8(bytes).map_err(|_| "it is not text")?;
    let (form, note) = if file.starts_with(FIRST_LINE) {
        (ReportForm::Text, file.to_owned())
    } else if let Some((_, rest)) = file.split_once(HTML_START) {
        if rest.contains(HTML_START) {
            return Err("two texts in it say that they are the signed one");
        }
        let (text, _) = rest
            .split_once(HTML_END)
            .ok_or("the signed text does not end")?;
        (ReportForm::Html, from_markup(text))
    } else {
        let json: serde_json::Value =
            serde_json::from_str(file).map_err(|_| "it is neither text, HTML nor JSON")?;
        let signed = json.get("signed").and_then(serde_json::Value::as_str);
        let signed = signed.ok_or("it has no member \"signed\"")?;
        (ReportForm::Json, signed.to_owned())
    };
    if note.len() > NOTE_BYTES_MAX {
        return Err("the signed text is longer than any report's");
    }
    Ok((form, file, note))
}

fn from_markup(text: &str) -> String {
    text.replace("&gt;", ">")
        .replace("&lt;", "<")
        .replace("&amp;", "&")
}
