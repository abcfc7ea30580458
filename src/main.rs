//! The `handfast` program: arguments in, exit code out. The command line and the shell do not
//! know each other; here they meet.

use std::process::ExitCode;

use handfast::cli::{self, Exit, ShellFailed, ShellStart};
use handfast::shell::{self, ShellEnd, ShellError, ShellRequest};

fn main() -> ExitCode {
    cli::run(std::env::args_os(), start_shell)
}

fn start_shell(start: &ShellStart) -> Result<Exit, ShellFailed> {
    let request = ShellRequest {
        journal: start.journal.clone(),
        handle: start.handle.clone(),
        secret: start.secret.clone(),
        idle_after: start.idle_after,
    };
    match shell::run(&request) {
        Ok(ShellEnd::Done) => Ok(Exit::Done),
        Ok(ShellEnd::Refused(_)) => Ok(Exit::Refused),
        Err(ShellError::Station(error)) => Err(cli::shell_failed(error)),
        Err(error @ ShellError::Terminal(_)) => Err(ShellFailed {
            exit: Exit::Storage,
            message: error.to_string(),
        }),
    }
}
