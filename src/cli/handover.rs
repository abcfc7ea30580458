//! `handfast handover`.

use clap::{Args, Subcommand};
use serde::Serialize;

use super::access::showing;
use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use super::views::{self, Form};
use crate::record::draft::Draft;
use crate::record::ids::Seq;
use crate::record::kind::Kind;
use crate::record::person::Handle;
use crate::station::{HandoverRequest, MadeAgain, Station, sheet_now};
use crate::view::handover::{InBrief, Sheet, handover_lines, since_accepted};
use crate::view::page::{Reservations, Reserved};
use crate::ward::Ward;

/// Show the handover sheet; prepare, give, query, accept or decline a handover.
///
/// Without a further word it shows the sheet as the ward stands now; no PIN is needed to read
/// a teaching journal.
#[derive(Debug, Args)]
pub struct HandoverArgs {
    #[command(subcommand)]
    what: Option<HandoverCommand>,
    /// Record it although the program asks about it
    #[arg(long, global = true)]
    confirm: bool,
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
    ///
    /// A patient about whom a question is open is held back, and accepted later one by one.
    Accept {
        #[command(flatten)]
        step: Step,
        /// Take over also those about whom a question is open
        #[arg(long, conflicts_with = "patient")]
        all: bool,
    },
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
    let mut station = cx.reading_station()?;
    match args.what {
        None => {
            let drawn = cx.draw(&station)?;
            cx.warn(&drawn);
            let what = "the ward's handover sheet";
            showing(cx, &mut station, None, what, &args.form)?;
            present(
                cx,
                &sheet_now(&drawn.ward, drawn.as_of),
                &drawn.reservations,
                &args.form,
            )
        }
        Some(HandoverCommand::Show { handover, form }) => show(cx, &mut station, handover, &form),
        Some(HandoverCommand::List) => list(cx, &station),
        Some(HandoverCommand::Since { handover }) => since(cx, &station, handover),
        Some(other) => write(cx, &mut station, other, args.confirm),
    }
}

fn present(
    cx: &Context,
    sheet: &Sheet,
    reservations: &Reservations,
    form: &Form,
) -> Result<Exit, CliError> {
    views::present(cx, sheet, &sheet.page(), None, reservations, form)
}

fn newest(ward: &Ward, handover: Option<Seq>) -> Result<Seq, CliError> {
    let newest = ward.handovers().keys().next_back().copied();
    handover.or(newest).ok_or_else(|| {
        CliError::refused("no handover has been prepared")
            .hint("`handfast handover prepare` makes one")
    })
}

fn show(
    cx: &Context,
    station: &mut Station,
    handover: Option<Seq>,
    form: &Form,
) -> Result<Exit, CliError> {
    let seq = newest(&cx.draw(station)?.ward, handover)?;
    let Some(state) = station.handover_sheet(seq)? else {
        return Err(CliError::refused(format!("{seq} is no handover")));
    };
    let what = format!("the sheet of handover {seq}");
    showing(cx, station, None, &what, form)?;
    let shown = present(cx, &state.sheet, &state.reservations, form)?;
    let (digest, named) = (state.digest, state.named);
    match state.made_again() {
        MadeAgain::ToTheByte => {
            super::output::say(&format!("Sheet {digest}, drawn again to the byte."));
            Ok(shown)
        }
        MadeAgain::OtherForm => Err(CliError::refused(format!(
            "this is not the sheet to the byte: it names {named}, and this version of the program draws {digest} from the same entries. The entries up to its head are the ones it was drawn from (their hash is the one it names), so another version made it, or its digest was never a sheet's"
        ))
        .hint("the version that made it can draw it; `handfast verify` checks the entries")),
        MadeAgain::OtherEntries => Err(CliError::new(
            Exit::Integrity,
            format!(
                "the sheet drawn now has digest {digest}, and the handover names {named}: entries it was drawn from were altered or cannot be read"
            ),
        )
        .hint("`handfast verify` says which")),
    }
}

/// As `--json` shows it; schema `handfast.handovers/1`.
#[derive(Serialize)]
struct HandoversJson {
    schema: &'static str,
    handovers: Vec<InBrief>,
}

fn list(cx: &Context, station: &Station) -> Result<Exit, CliError> {
    let drawn = cx.draw(station)?;
    if cx.out.json {
        let handovers = drawn.ward.handovers().values().map(InBrief::of).collect();
        let list = HandoversJson {
            schema: "handfast.handovers/1",
            handovers,
        };
        cx.out.json(&Reserved::new(&list, &drawn.reservations))?;
        return Ok(Exit::of_view(&drawn.reservations));
    }
    cx.say_what_is_lacking(&drawn)?;
    for line in handover_lines(&drawn.ward) {
        cx.out.line(&line)?;
    }
    Ok(Exit::of_view(&drawn.reservations))
}

fn since(cx: &Context, station: &Station, handover: Option<Seq>) -> Result<Exit, CliError> {
    let drawn = cx.draw(station)?;
    let accepted = drawn.ward.last_accepted().map(|life| life.seq());
    let Some(seq) = handover.or(accepted) else {
        return Err(CliError::refused("no handover has been accepted"));
    };
    let Some(found) = since_accepted(&drawn.ward, seq) else {
        return Err(CliError::refused(format!("{seq} is no accepted handover")));
    };
    if cx.out.json {
        cx.out.json(&Reserved::new(&found, &drawn.reservations))?;
        return Ok(Exit::of_view(&drawn.reservations));
    }
    cx.say_what_is_lacking(&drawn)?;
    for line in found.lines(drawn.ward.zone()) {
        cx.out.line(&line)?;
    }
    Ok(Exit::of_view(&drawn.reservations))
}

fn write(
    cx: &Context,
    station: &mut Station,
    what: HandoverCommand,
    confirm: bool,
) -> Result<Exit, CliError> {
    let actor = cx.actor(station)?;
    if let HandoverCommand::Prepare {
        from,
        to,
        receiver,
        opening,
    } = what
    {
        let request = HandoverRequest {
            from_shift: from,
            to_shift: to,
            receiver: receiver.as_deref().map(handle).transpose()?,
            opening,
        };
        let receipt = station.prepare_handover(&actor, &request)?;
        super::log::show_receipt(cx, &receipt)?;
        return Ok(Exit::Done);
    }
    let all = matches!(what, HandoverCommand::Accept { all: true, .. });
    let Some(first) = step(station, what)? else {
        return Ok(Exit::Done);
    };
    let handover = first.get("handover").and_then(|text| text.parse().ok());
    // One by one first: whoever is taken over by then is not held back from the ward.
    let mut drafts = match handover.filter(|_| all) {
        Some(handover) => station.accept_each_asked_about(handover),
        None => Vec::new(),
    };
    drafts.push(first);
    for mut draft in drafts {
        draft.confirm = confirm;
        let receipt = station.submit(&actor, &draft)?;
        super::log::show_receipt(cx, &receipt)?;
    }
    Ok(Exit::Done)
}

/// The step as an entry; none for what only looks.
fn step(station: &Station, what: HandoverCommand) -> Result<Option<Draft>, CliError> {
    let new = |handover: Seq, step: &str, patient: Option<String>| {
        let mut draft = Draft::new(Kind::HandoverStep)
            .with("handover", handover.to_string())
            .with("step", step);
        draft.patient = patient;
        draft
    };
    Ok(Some(match what {
        HandoverCommand::Give(step) => new(waiting(station, &step)?, "given", step.patient),
        HandoverCommand::Accept { step, .. } => {
            new(waiting(station, &step)?, "accepted", step.patient)
        }
        HandoverCommand::Decline { step, reason } => {
            new(waiting(station, &step)?, "declined", step.patient).with("text", reason)
        }
        HandoverCommand::Query {
            handover,
            patient,
            text,
        } => new(handover, "query", Some(patient)).with("text", text),
        HandoverCommand::Answer {
            handover,
            query,
            text,
        } => {
            let patient = station.patient_of(query).map(|patient| patient.to_string());
            new(handover, "answer", patient)
                .with("text", text)
                .with("query", query.to_string())
        }
        HandoverCommand::List
        | HandoverCommand::Show { .. }
        | HandoverCommand::Since { .. }
        | HandoverCommand::Prepare { .. } => return Ok(None),
    }))
}

/// The handover that is named, the one in which the patient was held back, or the only one
/// that waits.
fn waiting(station: &Station, step: &Step) -> Result<Seq, CliError> {
    if let Some(seq) = step.handover {
        return Ok(seq);
    }
    if let Some(text) = &step.patient {
        let patient = station.resolve_patient(text)?;
        let held_back = station.ward().not_taken_over();
        if let Some((handover, _)) = held_back.iter().find(|(_, one)| *one == patient) {
            return Ok(*handover);
        }
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
