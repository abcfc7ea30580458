//! `handfast damage`.

use clap::{Args, Subcommand};

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;

/// Show a damage report, or accept it as keeper so that writing can go on.
#[derive(Debug, Args)]
pub struct DamageArgs {
    #[command(subcommand)]
    what: DamageCommand,
}

#[derive(Debug, Subcommand)]
enum DamageCommand {
    /// Show what is damaged
    Show,
    /// Accept the report (keeper): writing goes on after what is left
    Accept {
        /// Why writing goes on: who decided, what was done about the damage
        #[arg(long)]
        reason: String,
    },
}

/// Runs one of the commands.
pub fn run(cx: &Context, args: DamageArgs) -> Result<Exit, CliError> {
    let mut station = cx.station()?;
    let Some(report) = station.damage()? else {
        cx.out
            .line("Nothing is damaged that keeps entries from being written.")?;
        return Ok(Exit::Done);
    };
    let mut lines = vec![format!("Damage report {}:", report.digest.short())];
    lines.extend(report.places.iter().map(|place| format!("  {place}")));
    match args.what {
        DamageCommand::Show => {
            cx.out.line(&lines.join("\n"))?;
            Ok(Exit::Integrity)
        }
        DamageCommand::Accept { reason } => {
            let actor = cx.actor(&mut station)?;
            let receipt = station.accept_damage(&actor, &report, &reason)?;
            cx.out.line(&lines.join("\n"))?;
            super::log::show_receipt(cx, &receipt)?;
            Ok(Exit::Done)
        }
    }
}
