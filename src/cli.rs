//! The command line: parses, shows, and turns errors into exit codes. Thin: what a command
//! does is the station's, what it shows is the view's.

mod access;
mod allocate;
mod amend;
mod args;
mod checkpoint;
mod context;
mod damage;
mod demo;
mod exit;
mod extract;
mod generate;
mod handover;
mod init;
mod json_line;
mod log;
mod no_dumps;
mod output;
mod policy;
mod prove;
mod report;
mod restore;
mod score;
mod sealing;
mod secret;
mod settle;
mod shares;
mod shell;
mod staff;
mod verify;
mod verify_report;
mod views;

use std::ffi::OsString;
use std::io::ErrorKind;
use std::process::ExitCode;

use clap::{CommandFactory, Parser};

use args::{Args, Command};
use context::Context;
pub use exit::Exit;
use report::CliError;

/// The interactive shell is another edge; whoever builds the program hands it in.
pub type StartShell = fn(&ShellStart) -> Result<Exit, ShellFailed>;

/// What the shell is started with. It cannot be shown: it may hold a secret.
pub struct ShellStart {
    /// The journal folder.
    pub journal: std::path::PathBuf,
    /// Who signs in, if anybody was named.
    pub handle: Option<String>,
    /// Their secret, if a file or descriptor gave it.
    pub secret: Option<zeroize::Zeroizing<String>>,
    /// How long nobody types before the keyboard is locked.
    pub idle_after: std::time::Duration,
}

/// Why the shell could not start or go on.
#[derive(Debug)]
pub struct ShellFailed {
    /// The exit code.
    pub exit: Exit,
    /// What is wrong.
    pub message: String,
}

pub use shell::failed as shell_failed;

/// Runs the program with its arguments.
pub fn run(args: impl IntoIterator<Item = OsString>, start_shell: StartShell) -> ExitCode {
    no_dumps::switch_off();
    let args = match Args::try_parse_from(args) {
        Ok(args) => args,
        Err(error) => {
            return not_a_command(&error).into();
        }
    };
    let cx = Context::new(&args);
    match command(&cx, args.command, start_shell) {
        Ok(exit) => exit.into(),
        Err(error) if is_closed_pipe(&error) => Exit::Done.into(),
        Err(error) => {
            show(&cx, &error);
            error.exit.into()
        }
    }
}

/// Help and the version are answers; anything else is a mistake in the line, which is shown
/// back as harmless as all that people type.
fn not_a_command(error: &clap::Error) -> Exit {
    if error.use_stderr() {
        output::say(error.render().to_string().trim_end());
        return Exit::Usage;
    }
    match error.print() {
        Err(cause) if cause.kind() != ErrorKind::BrokenPipe => Exit::Storage,
        _ => Exit::Done,
    }
}

/// The command line's own description, for completions, manual pages and the reference.
#[must_use]
pub fn description() -> clap::Command {
    Args::command()
}

fn command(cx: &Context, command: Command, start_shell: StartShell) -> Result<Exit, CliError> {
    match command {
        Command::Init(args) => init::run(cx, args),
        Command::Staff(args) => staff::run(cx, args),
        Command::Policy(args) => policy::run(cx, args),
        Command::Demo(args) => demo::run(cx, &args),
        Command::Shell(args) => shell::run(cx, &args, start_shell),
        Command::Log(args) => log::run(cx, args),
        Command::Allocate(args) => allocate::run(cx, &args),
        Command::Correct(args) => amend::correct(cx, args),
        Command::Withdraw(args) => amend::withdraw(cx, args),
        Command::Handover(args) => handover::run(cx, args),
        Command::Timeline(args) => views::timeline(cx, &args),
        Command::Entry(args) => views::entry(cx, &args),
        Command::Tasks(args) => views::tasks(cx, &args),
        Command::Alerts(args) => views::alerts(cx, &args),
        Command::Caseload(args) => views::caseload(cx, &args),
        Command::Workings(args) => views::workings(cx, &args),
        Command::Access(args) => access::run(cx, &args),
        Command::Report(args) => views::report(cx, &args),
        Command::Verify(args) => verify::run(cx, &args),
        Command::Checkpoint(args) => checkpoint::run(cx, args),
        Command::Prove(args) => prove::run(cx, &args),
        Command::Extract(args) => extract::run(cx, &args),
        Command::Damage(args) => damage::run(cx, args),
        Command::Restore(args) => restore::run(cx, &args),
        Command::Sealing(args) => sealing::run(cx, args),
        Command::Settle(args) => settle::run(cx, &args),
        Command::Score(args) => score::run(cx, &args),
        Command::Completions(args) => generate::completions(cx, &args),
        Command::Man(args) => generate::man(cx, &args),
    }
}

/// Whoever read our output has seen enough: a clean end.
fn is_closed_pipe(error: &CliError) -> bool {
    error.cause == Some(ErrorKind::BrokenPipe)
}

fn show(cx: &Context, error: &CliError) {
    if cx.out.json {
        output::say(&error.json());
        return;
    }
    output::say(&format!("handfast: {}", error.message));
    if let Some(hint) = &error.hint {
        output::say(&format!("  {hint}"));
    }
}
