//! `handfast allocate`.

use clap::Args;

use super::context::Context;
use super::exit::Exit;
use super::log::{rehearsed, show_receipt};
use super::report::CliError;
use crate::record::draft::Draft;
use crate::record::ids::Seq;
use crate::record::kind::Kind;
use crate::station::NoneTaken;

/// Say who looks after which patients: an entry for each of them, or none if one is wrong.
///
/// `handfast allocate maya T01 T02 T07 --shift 30`
#[derive(Debug, Args)]
pub struct AllocateArgs {
    /// The member of staff, by handle
    handle: String,
    /// Patients, each by slot, NHS number or name
    #[arg(required = true, value_name = "PATIENT")]
    patients: Vec<String>,
    /// The shift, by the number of its entry
    #[arg(long, value_name = "ENTRY")]
    shift: Option<Seq>,
    /// Record unusual values as they are
    #[arg(long)]
    confirm: bool,
    /// Check and record nothing
    #[arg(long)]
    dry_run: bool,
}

/// Runs the command.
pub fn run(cx: &Context, args: &AllocateArgs) -> Result<Exit, CliError> {
    let drafts: Vec<Draft> = args.patients.iter().map(|one| draft(args, one)).collect();
    let mut station = cx.reading_station()?;
    let actor = cx.actor(&mut station)?;
    if args.dry_run {
        station
            .rehearse_all(&actor, &drafts)
            .map_err(|none| wrong(args, none))?;
        let spoken = if cx.out.json { drafts.len() } else { 1 };
        for draft in drafts.iter().take(spoken) {
            rehearsed(cx, draft, None)?;
        }
        return Ok(Exit::Done);
    }
    let receipts = station.submit_all(&actor, &drafts);
    for receipt in &receipts.map_err(|none| wrong(args, none))? {
        show_receipt(cx, receipt)?;
    }
    Ok(Exit::Done)
}

fn draft(args: &AllocateArgs, patient: &str) -> Draft {
    let mut draft = Draft::new(Kind::Allocation)
        .with("patient", patient)
        .with("to", &args.handle);
    if let Some(shift) = args.shift {
        draft.set("shift", shift.to_string());
    }
    draft.confirm = args.confirm;
    draft
}

/// Says of each patient that is wrong why; the first one's code is the command's.
fn wrong(args: &AllocateArgs, none: NoneTaken) -> CliError {
    let drafts = match none {
        NoneTaken::Journal(error) => return error.into(),
        NoneTaken::Drafts(drafts) => drafts,
    };
    let mut all: Option<CliError> = None;
    for (index, error) in drafts {
        let mut error = CliError::from(error);
        let patient = args.patients.get(index).map_or("", String::as_str);
        error.message = format!("{patient}: {}", error.message.replace('\n', "; "));
        match &mut all {
            None => all = Some(error),
            Some(all) => {
                all.message = format!("{}\n{}", all.message, error.message);
                all.refusals.extend(error.refusals);
                all.unusual.extend(error.unusual);
            }
        }
    }
    let mut all = all.unwrap_or_else(|| CliError::refused("it cannot be taken"));
    all.message = format!("nothing was recorded:\n{}", all.message);
    all
}
