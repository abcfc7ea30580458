//! `handfast policy`.

use clap::{Args, Subcommand};
use serde::Serialize;

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use crate::record::draft::Draft;
use crate::record::kind::Kind;
use crate::ward::policy::SETTINGS;

/// Show or change the ward's settings.
#[derive(Debug, Args)]
pub struct PolicyArgs {
    #[command(subcommand)]
    what: PolicyCommand,
}

#[derive(Debug, Subcommand)]
enum PolicyCommand {
    /// Show every setting and its value
    Show,
    /// Change one setting (ward sister)
    Set {
        /// Which
        setting: String,
        /// New value
        value: String,
        /// Why
        #[arg(long)]
        reason: String,
    },
}

/// As `--json` shows it; schema `handfast.policy/1`.
#[derive(Serialize)]
struct PolicyJson<'a> {
    schema: &'static str,
    settings: Vec<SettingJson<'a>>,
}

#[derive(Serialize)]
struct SettingJson<'a> {
    name: &'a str,
    value: &'a str,
    default: &'a str,
    help: &'a str,
}

/// Runs one of the commands.
pub fn run(cx: &Context, args: PolicyArgs) -> Result<Exit, CliError> {
    let mut station = cx.station()?;
    match args.what {
        PolicyCommand::Show => show(cx, cx.draw(&station)?.ward.policy()),
        PolicyCommand::Set {
            setting,
            value,
            reason,
        } => {
            let actor = cx.actor(&mut station)?;
            let draft = Draft::new(Kind::PolicyChanged)
                .with("setting", setting)
                .with("value", value)
                .with("reason", reason);
            let receipt = station.submit(&actor, &draft)?;
            super::log::show_receipt(cx, &receipt)?;
            Ok(Exit::Done)
        }
    }
}

fn show(cx: &Context, policy: &crate::ward::policy::Policy) -> Result<Exit, CliError> {
    let settings: Vec<SettingJson<'_>> = SETTINGS
        .iter()
        .map(|setting| SettingJson {
            name: setting.name,
            value: policy.value(setting),
            default: setting.default,
            help: setting.help,
        })
        .collect();
    if cx.out.json {
        cx.out.json(&PolicyJson {
            schema: "handfast.policy/1",
            settings,
        })?;
        return Ok(Exit::Done);
    }
    for setting in settings {
        cx.out.line(&format!(
            "{} = {}\n  {}",
            setting.name, setting.value, setting.help
        ))?;
    }
    Ok(Exit::Done)
}
