//! `handfast completions` and `handfast man`: made from the command line's own description.

use std::path::PathBuf;

use clap::{Args, CommandFactory};

use super::context::Context;
use super::exit::Exit;
use super::report::CliError;

/// Print shell completions.
#[derive(Debug, Args)]
pub struct CompletionsArgs {
    /// bash, zsh, fish, elvish or powershell
    shell: clap_complete::Shell,
}

/// Write manual pages into a folder.
#[derive(Debug, Args)]
pub struct ManArgs {
    /// The folder, which must exist
    dir: PathBuf,
}

/// Runs `completions`.
pub fn completions(cx: &Context, args: &CompletionsArgs) -> Result<Exit, CliError> {
    let mut text = Vec::new();
    clap_complete::generate(
        args.shell,
        &mut super::args::Args::command(),
        "handfast",
        &mut text,
    );
    cx.out.text(&String::from_utf8_lossy(&text))?;
    Ok(Exit::Done)
}

/// Runs `man`.
pub fn man(cx: &Context, args: &ManArgs) -> Result<Exit, CliError> {
    clap_mangen::generate_to(super::args::Args::command(), &args.dir)?;
    cx.out
        .line(&format!("Manual pages are in {}.", args.dir.display()))?;
    Ok(Exit::Done)
}
