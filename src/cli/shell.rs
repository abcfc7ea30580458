//! `handfast shell`: starts the interactive shell, which is another edge.

use std::time::Duration;

use clap::Args;

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;
use super::{ShellFailed, ShellStart, StartShell};
use crate::station::StationError;

/// Work interactively.
#[derive(Debug, Args)]
pub struct ShellArgs {
    /// Minutes without a key pressed after which the keyboard is locked
    #[arg(long, value_name = "MINUTES", default_value_t = 10, value_parser = clap::value_parser!(u64).range(1..=240))]
    idle: u64,
    /// The same in seconds, for trying the lock out
    #[arg(
        long,
        hide = true,
        env = "HANDFAST_IDLE_SECONDS",
        value_name = "SECONDS"
    )]
    idle_seconds: Option<u64>,
}

/// Starts it.
pub fn run(cx: &Context, args: &ShellArgs, start: StartShell) -> Result<Exit, CliError> {
    let request = ShellStart {
        journal: cx.journal()?,
        handle: cx.handle()?.map(|handle| handle.to_string()),
        secret: cx.given_pin()?,
        idle_after: Duration::from_secs(args.idle_seconds.unwrap_or(args.idle * 60)),
    };
    start(&request).map_err(|failed| CliError::new(failed.exit, failed.message))
}

/// How a failure of the shell is reported.
#[must_use]
pub fn failed(error: impl Into<StationError>) -> ShellFailed {
    let report = CliError::from(error.into());
    ShellFailed {
        exit: report.exit,
        message: report.message,
    }
}
