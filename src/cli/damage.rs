//! `handfast damage`.

use std::path::PathBuf;

use clap::{Args, Subcommand};
use serde::Serialize;
use zeroize::Zeroizing;

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use super::secret::SecretSource;
use crate::record::ids::Seq;
use crate::record::person::Handle;
use crate::station::{Actor, DamageReport, Station};

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
        #[command(flatten)]
        second: SecondPerson,
    },
}

/// Who looks at it beside the keeper.
#[derive(Debug, Args)]
pub(super) struct SecondPerson {
    /// The second person, by handle: a governance officer or another keeper (sealed journals)
    #[arg(long, value_name = "HANDLE")]
    second: Option<String>,
    /// File whose first line is the second person's PIN or passphrase
    #[arg(long, value_name = "FILE")]
    second_pin_file: Option<PathBuf>,
    /// Open file descriptor whose first line is the second person's PIN or passphrase
    #[arg(long, value_name = "N", conflicts_with = "second_pin_file")]
    second_pin_fd: Option<u32>,
}

impl SecondPerson {
    /// Unlocks them, if anybody is named.
    pub(super) fn unlock(&self, station: &mut Station) -> Result<Option<Actor>, CliError> {
        let given = self.given()?;
        let unlocked = given.map(|(handle, secret)| station.unlock(&handle, &secret));
        Ok(unlocked.transpose()?)
    }

    /// Their handle and secret, if anybody is named.
    pub(super) fn given(&self) -> Result<Option<(Handle, Zeroizing<String>)>, CliError> {
        let Some(text) = &self.second else {
            return Ok(None);
        };
        let handle = Handle::parse(text)
            .ok_or_else(|| CliError::new(Exit::Usage, format!("\"{text}\" is no handle")))?;
        let source = SecretSource {
            file: self.second_pin_file.clone(),
            fd: self.second_pin_fd,
        };
        let secret = source.read(&format!("PIN of {handle}: "), "second-pin")?;
        Ok(Some((handle, secret)))
    }
}

/// As `--json` shows it; schema `handfast.damage/1`.
#[derive(Serialize)]
struct DamageJson<'a> {
    schema: &'static str,
    digest: Option<String>,
    places: &'a [String],
    /// Entries that count as written once the report is accepted.
    waiting: Vec<u64>,
    /// Unfinished ends that were cut off, or would be by the next entry.
    cut: &'a [String],
}

/// Runs one of the commands.
pub fn run(cx: &Context, args: DamageArgs) -> Result<Exit, CliError> {
    let mut station = cx.station()?;
    let report = station.damage()?;
    let cut = match args.what {
        DamageCommand::Show => station.cut_off()?,
        DamageCommand::Accept { .. } => Vec::new(),
    };
    let Some(report) = report else {
        show(cx, None, &cut)?;
        return Ok(Exit::Done);
    };
    match args.what {
        DamageCommand::Show => {
            show(cx, Some(&report), &cut)?;
            Ok(Exit::Integrity)
        }
        DamageCommand::Accept { reason, second } => {
            let second = second.unlock(&mut station)?;
            let actor = cx.actor(&mut station)?;
            let receipt = station.accept_damage(&actor, second.as_ref(), &report, &reason)?;
            if !cx.out.json {
                show(cx, Some(&report), &cut)?;
            }
            super::log::show_receipt(cx, &receipt)?;
            Ok(Exit::Done)
        }
    }
}

fn show(cx: &Context, report: Option<&DamageReport>, cut: &[String]) -> Result<(), CliError> {
    if cx.out.json {
        return cx.out.json(&DamageJson {
            schema: "handfast.damage/1",
            digest: report.map(|report| report.digest.to_string()),
            places: report.map_or(&[], |report| &report.places),
            waiting: report.map_or_else(Vec::new, |report| {
                report.waiting.iter().map(|seq| seq.0).collect()
            }),
            cut,
        });
    }
    for cut in cut {
        cx.out.line(&format!("note: {cut}"))?;
    }
    let Some(report) = report else {
        return cx
            .out
            .line("Nothing is damaged that keeps entries from being written.");
    };
    let mut lines = vec![format!("Damage report {}:", report.digest.short())];
    lines.extend(report.places.iter().map(|place| format!("  {place}")));
    if report.names_a_segment {
        lines.push(
            "If a file named here was put among the segments by somebody, take it out of segments/ \
             and keep it for governance instead of accepting: then nothing is missing."
                .to_owned(),
        );
    }
    if !report.waiting.is_empty() {
        let waiting: Vec<String> = report.waiting.iter().map(Seq::to_string).collect();
        lines.push(format!(
            "Their authors may have been known in what was lost: {}. Until this report is accepted \
             they end nothing; once it is, what they closed, answered, withdrew or discharged \
             counts. Look at each (`handfast show NUMBER`), with somebody who knows the patients, \
             before you accept.",
            waiting.join(", ")
        ));
    }
    cx.out.line(&lines.join("\n"))
}
