//! The reading commands: timeline, entry, tasks, alerts, caseload, report.

use std::collections::BTreeSet;
use std::path::PathBuf;

use clap::{Args, ValueEnum};
use serde::Serialize;

use super::access::showing;
use super::context::{Context, Drawn};
use super::exit::Exit;
use super::report::CliError;
use crate::journal::ReadError;
use crate::record::ids::{Pseudonym, Seq};
use crate::record::person::Handle;
use crate::record::role::Role;
use crate::record::time::Span;
use crate::station::{Station, since_last_accepted};
use crate::view::lists::{
    AlertWhich, DueFilter, alert_ledger, caseload as draw_caseload, due_list, workings_of,
    workings_of_window,
};
use crate::view::origin::Vantage;
use crate::view::page::{Page, Reservations, Reserved};
use crate::view::render::{csv, html, json, svg, text};
use crate::view::report::report as draw_report;
use crate::view::timeline::{entry_view, timeline as draw_timeline};
use crate::ward::Read;
use crate::ward::report::Period;

/// How a view is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// Text for a terminal or a plain printer.
    Text,
    /// One HTML file that prints on A4.
    Html,
    /// JSON on one line.
    Json,
    /// Comma-separated values for a spreadsheet.
    Csv,
    /// A picture of the text, for documents.
    Svg,
}

/// How and where a view is shown.
#[derive(Debug, Args)]
pub struct Form {
    /// How to show it
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Lines of the picture (svg)
    #[arg(long, value_name = "N", default_value_t = 60, value_parser = clap::value_parser!(u16).range(1..=2000))]
    lines: u16,
    /// Write into a file instead of standard output
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Why you open a record that is allocated to somebody else (sealed journals; nothing clinical)
    #[arg(long, value_name = "REASON")]
    pub(super) why: Option<String>,
}

impl Form {
    /// The form that is shown.
    pub(super) const fn of(&self, cx: &Context) -> Format {
        if cx.out.json {
            Format::Json
        } else {
            self.format
        }
    }
}

/// Show one patient's entries in time order.
#[derive(Debug, Args)]
pub struct TimelineArgs {
    /// Name, slot or number; left out: the ward's own entries
    patient: Option<String>,
    #[command(flatten)]
    form: Form,
}

/// Show one entry in full.
#[derive(Debug, Args)]
pub struct EntryArgs {
    /// Its number, e.g. 123 or "#123"
    entry: Seq,
    #[command(flatten)]
    form: Form,
}

/// Show what is due.
#[derive(Debug, Args)]
pub struct TasksArgs {
    /// One patient only: name, slot or number
    #[arg(long)]
    patient: Option<String>,
    /// One owner only, by handle
    #[arg(long, value_name = "HANDLE")]
    owner: Option<String>,
    /// What falls to you (--user): yours by name, your patients', and what is left to your role
    #[arg(long, conflicts_with_all = ["owner", "patient"])]
    mine: bool,
    /// Tasks only, not the contacts, doses, dressings and results that are due
    #[arg(long)]
    tasks_only: bool,
    #[command(flatten)]
    form: Form,
}

/// Show alerts.
#[derive(Debug, Args)]
pub struct AlertsArgs {
    /// Closed ones as well
    #[arg(long)]
    all: bool,
    #[command(flatten)]
    form: Form,
}

/// Show who is on the ward.
#[derive(Debug, Args)]
pub struct CaseloadArgs {
    #[command(flatten)]
    form: Form,
}

/// Show what was worked out about one patient, with its numbers, source and caution.
#[derive(Debug, Args)]
pub struct WorkingsArgs {
    /// Name, slot or number
    patient: String,
    /// Balance fluids over so many hours, 1 to 168, instead of over the policy's
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(i64).range(1..=168))]
    hours: Option<i64>,
    #[command(flatten)]
    form: Form,
}

/// Show what happened on the ward in a period, counted.
#[derive(Debug, Args)]
pub struct ReportArgs {
    /// The first day or moment that counts: "01-Oct-2026", "yesterday 08:00"; left out: seven
    /// days before the end
    #[arg(long, value_name = "TIME")]
    from: Option<String>,
    /// The last day, which counts whole, or the moment before which things count; left out: the
    /// last midnight
    #[arg(long, value_name = "TIME")]
    until: Option<String>,
    #[command(flatten)]
    form: Form,
}

/// A view in one of its forms.
pub fn present<V: Serialize>(
    cx: &Context,
    view: &V,
    page: &Page,
    csv: Option<String>,
    reservations: &Reservations,
    form: &Form,
) -> Result<Exit, CliError> {
    let page = &page.clone().under(reservations);
    let format = form.of(cx);
    let shown = match (format, csv) {
        (Format::Text, _) => text::page(page, cx.out.paper()),
        (Format::Html, _) => {
            html::page(page).map_err(|error| CliError::new(Exit::Storage, error.to_string()))?
        }
        (Format::Json, _) => json::compact(&Reserved::new(view, reservations)) + "\n",
        (Format::Svg, _) => svg::page(page, cx.out.width, usize::from(form.lines)),
        (Format::Csv, Some(csv)) => csv::under(&csv, reservations),
        (Format::Csv, None) => {
            return Err(CliError::new(Exit::Usage, "this view has no CSV form")
                .hint("text, html, json or svg"));
        }
    };
    cx.out.to(form.out.as_deref(), &shown)?;
    Ok(Exit::of_view(reservations))
}

pub(super) fn open(cx: &Context) -> Result<(Station, Drawn), CliError> {
    let station = cx.reading_station()?;
    let drawn = cx.draw(&station)?;
    cx.warn(&drawn);
    Ok((station, drawn))
}

/// The same where nothing that is sealed need be read: whoever names nobody sees what lies in clear.
fn open_in_clear(cx: &Context) -> Result<(Station, Drawn), CliError> {
    if cx.handle()?.is_some() {
        return open(cx);
    }
    drawn_in_clear(cx, cx.station()?)
}

/// The same for one entry: of a kind that is never sealed anybody sees it.
fn open_for_entry(cx: &Context, seq: Seq) -> Result<(Station, Drawn), CliError> {
    if cx.handle()?.is_none() {
        let station = cx.station()?;
        if let Ok(Read::Entry(entry)) = station.entry(seq)
            && !entry.kind().is_sealed()
        {
            return drawn_in_clear(cx, station);
        }
    }
    open(cx)
}

fn drawn_in_clear(cx: &Context, station: Station) -> Result<(Station, Drawn), CliError> {
    let drawn = cx.draw_in_clear(&station)?;
    cx.warn(&drawn);
    Ok((station, drawn))
}

pub(super) fn vantage(drawn: &Drawn) -> Vantage<'_> {
    Vantage {
        ward: &drawn.ward,
        now: drawn.as_of,
        since: since_last_accepted(&drawn.ward),
    }
}

/// Shows a timeline.
pub fn timeline(cx: &Context, args: &TimelineArgs) -> Result<Exit, CliError> {
    let (mut station, drawn) = match args.patient {
        Some(_) => open(cx)?,
        None => open_in_clear(cx)?,
    };
    let pseudonym = args
        .patient
        .as_deref()
        .map(|text| station.resolve_patient(text))
        .transpose()?;
    let patient = pseudonym
        .map(|pseudonym| known(&drawn, pseudonym))
        .transpose()?;
    let log = patient.map_or(drawn.ward.common_log(), |patient| &patient.log);
    let reads = read(&station, log.lines().iter().map(|line| line.seq));
    // The ward's own entries are nobody's record.
    if patient.is_some() {
        showing(cx, &mut station, pseudonym, "timeline", &args.form)?;
    }
    let view = draw_timeline(&vantage(&drawn), patient, &reads, false);
    present(
        cx,
        &view,
        &view.page(),
        None,
        &drawn.reservations,
        &args.form,
    )
}

fn known(drawn: &Drawn, pseudonym: Pseudonym) -> Result<&crate::ward::Patient, CliError> {
    drawn
        .ward
        .patient(pseudonym)
        .ok_or_else(|| CliError::refused("nothing was recorded about that patient by then"))
}

/// Entries that can be read; the view says of the others that they cannot.
fn read(station: &Station, seqs: impl IntoIterator<Item = Seq>) -> Vec<Read> {
    station
        .entries(seqs)
        .into_iter()
        .filter_map(Result::ok)
        .collect()
}

/// Shows one entry.
pub fn entry(cx: &Context, args: &EntryArgs) -> Result<Exit, CliError> {
    let (mut station, drawn) = open_for_entry(cx, args.entry)?;
    let newest = station.head().seq;
    let shown = match station.entry(args.entry) {
        Err(ReadError::Missing { .. }) if args.entry > newest => {
            return Err(
                CliError::refused(format!("there is no entry {}", args.entry))
                    .hint(format!("the newest is {newest}")),
            );
        }
        shown => shown?,
    };
    let patient = match &shown {
        Read::Entry(entry) => entry.patient,
        Read::Unreadable(unreadable) => unreadable.patient,
    };
    if patient.is_some() {
        let what = format!("entry {}", args.entry);
        showing(cx, &mut station, patient, &what, &args.form)?;
    }
    let log = drawn.ward.log_of(patient);
    let seqs: BTreeSet<Seq> = log
        .map(|log| log.lines().iter().map(|line| line.seq).collect())
        .unwrap_or_default();
    let view = entry_view(&vantage(&drawn), &shown, &read(&station, seqs), false);
    present(
        cx,
        &view,
        &view.page(),
        None,
        &drawn.reservations,
        &args.form,
    )
}

/// Shows what is due.
pub fn tasks(cx: &Context, args: &TasksArgs) -> Result<Exit, CliError> {
    let (mut station, drawn) = open(cx)?;
    let owner = args.owner.as_deref().map(|text| {
        Handle::parse(text)
            .ok_or_else(|| CliError::new(Exit::Usage, format!("\"{text}\" is no handle")))
    });
    let filter = DueFilter {
        patient: args
            .patient
            .as_deref()
            .map(|text| station.resolve_patient(text))
            .transpose()?,
        owner: owner.transpose()?,
        falls_to: args.mine.then(|| mine(cx, &drawn)).transpose()?,
        until: None,
        tasks_only: args.tasks_only,
    };
    showing(cx, &mut station, filter.patient, "tasks", &args.form)?;
    let view = due_list(&vantage(&drawn), &filter);
    present(
        cx,
        &view,
        &view.page(),
        Some(view.csv()),
        &drawn.reservations,
        &args.form,
    )
}

/// Whose work is wanted: whoever is named by `--user`, with their role at that moment. Nothing
/// secret is shown, so no PIN is asked.
fn mine(cx: &Context, drawn: &Drawn) -> Result<(Handle, Role), CliError> {
    let Some(handle) = cx.handle()? else {
        return Err(CliError::new(Exit::Usage, "--mine, and nobody is named")
            .hint("give --user HANDLE, or set HANDFAST_USER"));
    };
    match drawn.ward.staff(&handle) {
        Some(staff) => Ok((handle, staff.role)),
        None => Err(CliError::refused(format!("{handle} is not on the staff"))
            .hint("`handfast staff list` names everybody")),
    }
}

/// Shows the alert ledger.
pub fn alerts(cx: &Context, args: &AlertsArgs) -> Result<Exit, CliError> {
    let (mut station, drawn) = open(cx)?;
    let which = AlertWhich {
        open_only: !args.all,
        ..AlertWhich::default()
    };
    showing(cx, &mut station, None, "alerts", &args.form)?;
    let view = alert_ledger(&vantage(&drawn), &which);
    present(
        cx,
        &view,
        &view.page(),
        Some(view.csv()),
        &drawn.reservations,
        &args.form,
    )
}

/// Shows the caseload.
pub fn caseload(cx: &Context, args: &CaseloadArgs) -> Result<Exit, CliError> {
    let (mut station, drawn) = open(cx)?;
    showing(cx, &mut station, None, "caseload", &args.form)?;
    let view = draw_caseload(&vantage(&drawn));
    present(
        cx,
        &view,
        &view.page(),
        Some(view.csv()),
        &drawn.reservations,
        &args.form,
    )
}

/// Shows the report of a period.
pub fn report(cx: &Context, args: &ReportArgs) -> Result<Exit, CliError> {
    let (mut station, drawn) = open(cx)?;
    let (from, until) = (args.from.as_deref(), args.until.as_deref());
    let period = Period::read(from, until, drawn.as_of, drawn.ward.zone())
        .map_err(|refusal| CliError::new(Exit::Usage, refusal.to_string()))?;
    showing(cx, &mut station, None, "report", &args.form)?;
    let view = draw_report(&vantage(&drawn), period);
    present(
        cx,
        &view,
        &view.page(),
        Some(view.csv()),
        &drawn.reservations,
        &args.form,
    )
}

/// Shows what was worked out about a patient.
pub fn workings(cx: &Context, args: &WorkingsArgs) -> Result<Exit, CliError> {
    let (mut station, drawn) = open(cx)?;
    let pseudonym = station.resolve_patient(&args.patient)?;
    showing(cx, &mut station, Some(pseudonym), "workings", &args.form)?;
    let (vantage, patient) = (vantage(&drawn), known(&drawn, pseudonym)?);
    let view = match args.hours {
        Some(hours) => workings_of_window(&vantage, patient, Span::hours(hours)),
        None => workings_of(&vantage, patient),
    };
    present(
        cx,
        &view,
        &view.page(),
        None,
        &drawn.reservations,
        &args.form,
    )
}
