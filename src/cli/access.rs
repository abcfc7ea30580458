//! `handfast access`, and what the reading commands put into the access record.

use std::io::{self, IsTerminal};

use clap::Args;

use super::context::Context;
use super::exit::Exit;
use super::output::say;
use super::report::CliError;
use super::views::{Form, Format, present, vantage};
use crate::line_input::next_line;
use crate::record::ids::Pseudonym;
use crate::record::kind::ward::AccessAct;
use crate::record::person::Handle;
use crate::station::{Opening, Station};
use crate::view::access::{AccessOf, AccessRecord, access_record};

/// A reason is a line, and no more.
const REASON_BYTES_MAX: usize = 200;

/// Show who opened, printed or exported which record, why, and who was refused.
///
/// It needs no PIN and reads nothing clinical: patients are named by pseudonym unless somebody who reads
/// the records is named by --user.
#[derive(Debug, Args)]
pub struct AccessArgs {
    /// One patient's record: name, slot, number or pseudonym
    #[arg(long, conflicts_with = "staff")]
    patient: Option<String>,
    /// What one member of staff did, by handle
    #[arg(long, value_name = "HANDLE")]
    staff: Option<String>,
    /// In words for the patient
    #[arg(long, requires = "patient")]
    for_patient: bool,
    #[command(flatten)]
    form: Form,
}

/// Runs it.
pub fn run(cx: &Context, args: &AccessArgs) -> Result<Exit, CliError> {
    let (station, drawn) = opened(cx)?;
    let of = match (&args.patient, &args.staff) {
        (Some(text), _) => AccessOf::Patient(patient_named(&station, text)?),
        (_, Some(text)) => AccessOf::Staff(known_staff(&station, text)?),
        _ => AccessOf::Ward,
    };
    let record = access_record(&vantage(&drawn), &of);
    let page = if args.for_patient {
        record.page_for_patient()
    } else {
        record.page()
    };
    present(
        cx,
        &record,
        &page,
        Some(AccessRecord::csv(&record)),
        &drawn.reservations,
        &args.form,
    )
}

/// Somebody by name, or by pseudonym where nobody who may know names is signed in.
fn patient_named(station: &Station, text: &str) -> Result<Pseudonym, CliError> {
    station.resolve_patient(text).map_err(|error| {
        if station.reads_records() {
            return CliError::from(error);
        }
        CliError::refused(format!(
            "nobody who reads the records is signed in, so \"{text}\" cannot be looked up"
        ))
        .hint("the record's pseudonym, as `handfast access` shows it; or --user and a PIN of somebody who reads")
    })
}

/// With names for whoever reads the records, with pseudonyms for anybody else.
fn opened(cx: &Context) -> Result<(Station, super::context::Drawn), CliError> {
    let mut station = cx.station()?;
    if cx.handle()?.is_some() && station.is_sealed() {
        cx.actor(&mut station)?;
    }
    let drawn = cx.draw_in_clear(&station)?;
    cx.warn(&drawn);
    Ok((station, drawn))
}

fn known_staff(station: &Station, text: &str) -> Result<Handle, CliError> {
    let handle = Handle::parse(text).filter(|handle| station.ward().staff(handle).is_some());
    handle.ok_or_else(|| {
        CliError::refused(format!("\"{text}\" is not on the staff"))
            .hint("`handfast staff list` names everybody")
    })
}

/// Puts into the access record that a view is shown, in which form, and why. A record that cannot be
/// written keeps nobody from reading: somebody at home may be waiting.
pub(super) fn showing(
    cx: &Context,
    station: &mut Station,
    patient: Option<Pseudonym>,
    what: &str,
    form: &Form,
) -> Result<(), CliError> {
    let Some(actor) = cx.reader() else {
        return Ok(());
    };
    let mut reason = form.why.clone();
    if let Some(patient) = patient
        && reason.is_none()
        && station.is_to_be_asked_why(&actor, patient)
    {
        reason = ask_why()?;
        if reason.is_none() {
            say(
                "Note: this record is allocated to somebody else, and it is recorded that no reason was given. Give --why \"…\" (nothing clinical).",
            );
        }
    }
    let act = match form.of(cx) {
        Format::Text => AccessAct::Opened,
        Format::Html | Format::Svg => AccessAct::Printed,
        Format::Json | Format::Csv => AccessAct::Exported,
    };
    let opening = Opening {
        patient,
        act,
        what,
        reason: reason.as_deref(),
    };
    if let Err(error) = station.record_opening(&actor, &opening) {
        say(&format!(
            "Note: that this was opened could not be recorded: {error}."
        ));
    }
    Ok(())
}

/// Asked at a keyboard only; an empty line opens the record without a reason.
fn ask_why() -> Result<Option<String>, CliError> {
    if !io::stdin().is_terminal() || !io::stderr().is_terminal() {
        return Ok(None);
    }
    say(
        "This record is allocated to somebody else. Why do you open it? (nothing clinical; Enter opens it without)",
    );
    let line = next_line(&mut io::stdin().lock(), REASON_BYTES_MAX)?;
    let text = match line {
        Some(Ok(line)) => String::from_utf8_lossy(&line).trim().to_owned(),
        Some(Err(long)) => return Err(CliError::refused(long.to_string())),
        None => String::new(),
    };
    Ok(Some(text).filter(|text| !text.is_empty()))
}
