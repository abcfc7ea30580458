//! `handfast handover`.

use clap::{Args, Subcommand};

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use super::views::{self, Form};
use crate::record::ids::Seq;
use crate::record::person::Handle;
use crate::station::{HandoverRequest, Station, sheet_now};
use crate::view::handover::{Sheet, since_accepted};

/// Show the handover sheet; prepare, give, query, accept or decline a handover.
///
/// Without a further word it shows the sheet as the ward stands now; no PIN is needed to read
/// a teaching journal.
#[derive(Debug, Args)]
pub struct HandoverArgs {
    #[command(subcommand)]
    what: Option<HandoverCommand>,
    #[command(flatten)]
    form: Form,
}

#[derive(Debug, Subcommand)]
enum HandoverCommand {
    /// Show every handover and where it stands
    List,
    /// Show the sheet of a prepared handover, drawn again to the byte
    Show {
        /// Its number; the newest if left out
        handover: Option<Seq>,
        #[command(flatten)]
        form: Form,
    },
    /// Prepare a handover from the ward as it stands
    Prepare {
        /// The shift that gives; taken from the shifts if left out
        #[arg(long)]
        from: Option<String>,
        /// The shift that takes; taken from the shifts if left out
        #[arg(long)]
        to: Option<String>,
        /// Who receives, by handle
        #[arg(long, value_name = "HANDLE")]
        receiver: Option<String>,
        /// What you want to say first
        #[arg(long)]
        opening: Option<String>,
    },
    /// Say that it was given
    Give(Step),
    /// Ask about one patient; the others are not held up
    Query {
        /// Which handover
        handover: Seq,
        /// Which patient
        #[arg(long)]
        patient: String,
        /// The question
        text: String,
    },
    /// Answer a query
    Answer {
        /// Which handover
        handover: Seq,
        /// The query, by its number
        #[arg(long)]
        query: Seq,
        /// The answer
        text: String,
    },
    /// Accept the ward, or one patient that was held back
    Accept(Step),
    /// Decline the ward, or one patient, with the reason
    Decline {
        #[command(flatten)]
        step: Step,
        /// Why
        #[arg(long)]
        reason: String,
    },
    /// Show what was written since a handover was accepted
    Since {
        /// Its number; the newest accepted one if left out
        handover: Option<Seq>,
    },
}

#[derive(Debug, Args)]
struct Step {
    /// Which handover; the one that waits, if there is only one
    handover: Option<Seq>,
    /// One patient only
    #[arg(long)]
    patient: Option<String>,
}

/// Runs one of the commands.
pub fn run(cx: &Context, args: HandoverArgs) -> Result<Exit, CliError> {
    let mut station = cx.station()?;
    match args.what {
        None => {
            let drawn = cx.draw(&station)?;
            cx.warn_unreadable(&station);
            present(cx, &sheet_now(&drawn.ward, drawn.as_of), &args.form)
        }
        Some(HandoverCommand::Show { handover, form }) => show(cx, &station, handover, &form),
        Some(HandoverCommand::List) => list(cx, &station),
        Some(HandoverCommand::Since { handover }) => since(cx, &station, handover),
        Some(other) => write(cx, &mut station, other),
    }
}

fn present(cx: &Context, sheet: &Sheet, form: &Form) -> Result<Exit, CliError> {
    views::present(cx, sheet, &sheet.page(), None, form)
}

fn newest(station: &Station, handover: Option<Seq>) -> Result<Seq, CliError> {
    let newest = station.ward().handovers().keys().next_back().copied();
    handover.or(newest).ok_or_else(|| {
        CliError::refused("no handover has been prepared")
            .hint("`handfast handover prepare` makes one")
    })
}

fn show(
    cx: &Context,
    station: &Station,
    handover: Option<Seq>,
    form: &Form,
) -> Result<Exit, CliError> {
    let seq = newest(station, handover)?;
    let Some(state) = station.handover_sheet(seq)? else {
        return Err(CliError::refused(format!("{seq} is no handover")));
    };
    present(cx, &state.sheet, form)?;
    if state.is_same() {
        super::output::say(&format!("Sheet {}, drawn again to the byte.", state.digest));
        return Ok(Exit::Done);
    }
    Err(CliError::new(
        Exit::Integrity,
        format!(
            "the sheet drawn now has digest {}, and the handover names {}: the entries were altered, or another version of the program drew it",
            state.digest, state.named
        ),
    )
    .hint("`handfast verify` tells which"))
}

fn list(cx: &Context, station: &Station) -> Result<Exit, CliError> {
    let zone = station.zone();
    for life in station.ward().handovers().values() {
        let body = &life.prepared.body;
        let verdict = match (life.accepted(), life.declined()) {
            (Some(stamp), _) => {
                format!(
                    "accepted {} by {}",
                    zone.day_time(stamp.occurred_at),
                    stamp.author
                )
            }
            (None, Some(step)) => format!("declined by {}", step.held.stamp.author),
            (None, None) => "waiting".to_owned(),
        };
        cx.out.line(&format!(
            "{} {}: {} to {}, {verdict}; {} open queries, {} patients held back",
            life.seq(),
            zone.day_time(life.prepared.stamp.occurred_at),
            body.from_shift,
            body.to_shift,
            life.open_queries().len(),
            life.patients_held_back().len(),
        ))?;
    }
    Ok(Exit::Done)
}

fn since(cx: &Context, station: &Station, handover: Option<Seq>) -> Result<Exit, CliError> {
    let accepted = station.ward().last_accepted().map(|life| life.seq());
    let Some(seq) = handover.or(accepted) else {
        return Err(CliError::refused("no handover has been accepted"));
    };
    let Some(found) = since_accepted(station.ward(), seq) else {
        return Err(CliError::refused(format!("{seq} is no accepted handover")));
    };
    if cx.out.json {
        cx.out.json(&found)?;
        return Ok(Exit::Done);
    }
    let zone = station.zone();
    cx.out.line(&format!(
        "{} accepted {} by {}. Written since its sheet was drawn: {}",
        found.handover,
        zone.day_time(found.accepted_at),
        found.accepted_by,
        found.entries.len()
    ))?;
    for line in &found.entries {
        let who = line.who.as_ref().map_or("ward", |who| who.name.as_str());
        let early = if line.before_acceptance {
            " (before you accepted)"
        } else {
            ""
        };
        cx.out.line(&format!(
            "{:>6} {} {}: {}, by {}{early}",
            line.seq.to_string(),
            zone.day_time(line.occurred_at),
            who,
            line.kind,
            line.by
        ))?;
    }
    Ok(Exit::Done)
}

fn write(cx: &Context, station: &mut Station, what: HandoverCommand) -> Result<Exit, CliError> {
    let actor = cx.actor(station)?;
    let receipt = match what {
        HandoverCommand::Prepare {
            from,
            to,
            receiver,
            opening,
        } => {
            let receiver = receiver.as_deref().map(handle).transpose()?;
            let request = HandoverRequest {
                from_shift: from,
                to_shift: to,
                receiver,
                opening,
            };
            station.prepare_handover(&actor, &request)?
        }
        HandoverCommand::Give(step) => {
            let seq = waiting(station, step.handover)?;
            station.handover_step(&actor, seq, "given", step.patient, None, None)?
        }
        HandoverCommand::Query {
            handover,
            patient,
            text,
        } => station.handover_step(&actor, handover, "query", Some(patient), Some(text), None)?,
        HandoverCommand::Answer {
            handover,
            query,
            text,
        } => {
            let patient = station.patient_of(query).map(|patient| patient.to_string());
            station.handover_step(&actor, handover, "answer", patient, Some(text), Some(query))?
        }
        HandoverCommand::Accept(step) => {
            let seq = waiting(station, step.handover)?;
            station.handover_step(&actor, seq, "accepted", step.patient, None, None)?
        }
        HandoverCommand::Decline { step, reason } => {
            let seq = waiting(station, step.handover)?;
            station.handover_step(&actor, seq, "declined", step.patient, Some(reason), None)?
        }
        HandoverCommand::List | HandoverCommand::Show { .. } | HandoverCommand::Since { .. } => {
            return Ok(Exit::Done);
        }
    };
    super::log::show_receipt(cx, &receipt)?;
    Ok(Exit::Done)
}

fn waiting(station: &Station, named: Option<Seq>) -> Result<Seq, CliError> {
    if let Some(seq) = named {
        return Ok(seq);
    }
    let pending: Vec<Seq> = station
        .ward()
        .handovers()
        .values()
        .filter(|life| life.is_pending())
        .map(|life| life.seq())
        .collect();
    match pending.as_slice() {
        [one] => Ok(*one),
        [] => Err(CliError::refused("no handover is waiting")
            .hint("`handfast handover prepare` makes one")),
        many => {
            let named: Vec<String> = many.iter().map(Seq::to_string).collect();
            Err(CliError::refused("several handovers are waiting")
                .hint(format!("name one: {}", named.join(", "))))
        }
    }
}

fn handle(text: &str) -> Result<Handle, CliError> {
    Handle::parse(text)
        .ok_or_else(|| CliError::new(Exit::Usage, format!("\"{text}\" is no handle")))
}
