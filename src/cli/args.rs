//! The command line. Each command's arguments stand beside what it does.

use std::path::PathBuf;

use clap::{Parser, Subcommand};

use super::{
    access, allocate, amend, checkpoint, damage, demo, extract, generate, handover, init, log,
    policy, prove, restore, score, sealing, settle, shell, staff, verify, views,
};

/// An event-sourced shift-handover and clinical-notes log for a ward whose patients are at
/// home.
///
/// Decision support only: local policy and licensed practice decide.
#[derive(Debug, Parser)]
#[command(name = "handfast", version = version(), propagate_version = true, max_term_width = 100)]
pub struct Args {
    /// The journal folder
    #[arg(
        long,
        short = 'j',
        global = true,
        env = "HANDFAST_JOURNAL",
        value_name = "DIR"
    )]
    pub journal: Option<PathBuf>,
    /// Show JSON instead of text
    #[arg(long, global = true)]
    pub json: bool,
    /// Show the ward as it was then known: "25-Oct-2026 02:10", "yesterday 22:00", RFC 3339
    #[arg(long, global = true, value_name = "TIME")]
    pub as_of: Option<String>,
    /// Who is acting, by handle
    #[arg(
        long,
        short = 'u',
        global = true,
        env = "HANDFAST_USER",
        value_name = "HANDLE"
    )]
    pub user: Option<String>,
    /// File whose first line is the acting person's PIN
    #[arg(long, global = true, env = "HANDFAST_PIN_FILE", value_name = "FILE")]
    pub pin_file: Option<PathBuf>,
    /// Open file descriptor whose first line is the acting person's PIN
    #[arg(long, global = true, value_name = "N", conflicts_with = "pin_file")]
    pub pin_fd: Option<u32>,
    /// Width of text in columns
    #[arg(long, global = true, value_name = "COLUMNS", value_parser = clap::value_parser!(u16).range(40..=400))]
    pub width: Option<u16>,
    /// What to do
    #[command(subcommand)]
    pub command: Command,
}

/// Every command.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Make a journal and its first keeper
    Init(init::InitArgs),
    /// Enrol, list, suspend or reinstate staff; give a new role or key; change your own PIN
    Staff(staff::StaffArgs),
    /// Show or change the ward's settings
    Policy(policy::PolicyArgs),
    /// Make the demo ward in a new folder
    Demo(demo::DemoArgs),
    /// Work interactively
    Shell(shell::ShellArgs),
    /// Record an entry, or many from standard input
    Log(log::LogArgs),
    /// Say who looks after which patients: an entry for each, or none if one is wrong
    Allocate(allocate::AllocateArgs),
    /// Correct an earlier entry; the original stays readable
    Correct(amend::CorrectArgs),
    /// Withdraw an earlier entry; it stays readable, struck through
    Withdraw(amend::WithdrawArgs),
    /// Show the handover sheet; prepare, give, query, accept or decline a handover
    Handover(handover::HandoverArgs),
    /// Show one patient's entries in time order
    Timeline(views::TimelineArgs),
    /// Show one entry in full
    Entry(views::EntryArgs),
    /// Show what is due
    Tasks(views::TasksArgs),
    /// Show alerts: who raised, took, acted on and closed each, and how long it waited
    Alerts(views::AlertsArgs),
    /// Show who is on the ward
    Caseload(views::CaseloadArgs),
    /// Show what was worked out about a patient: numbers, source and caution
    Workings(views::WorkingsArgs),
    /// Count what happened on the ward in a period, with how it was counted
    Report(views::ReportArgs),
    /// Show who opened, printed or exported which record and why, and who was refused
    Access(access::AccessArgs),
    /// Check the whole journal: order, hashes, signatures, authors, clocks
    Verify(verify::VerifyArgs),
    /// State where the journal stands, signed, to keep elsewhere; countersign and check such statements
    Checkpoint(checkpoint::CheckpointArgs),
    /// Prove that an entry is among those of a checkpoint, or that a checkpoint extends an older one
    Prove(prove::ProveArgs),
    /// Write part of the record as a file that proves itself, or check such a file
    Extract(extract::ExtractArgs),
    /// Show a damage report, or accept it as keeper so that writing can go on
    Damage(damage::DamageArgs),
    /// Put a backup in place of a lost journal, as keeper with a second person
    Restore(restore::RestoreArgs),
    /// Seal the records, see who holds their keys, recover them, or destroy a record's with a second person
    Sealing(sealing::SealingArgs),
    /// Find out whether an entry whose outcome was not known was recorded
    Settle(settle::SettleArgs),
    /// Calculate a score without a journal
    Score(score::ScoreArgs),
    /// Print shell completions
    Completions(generate::CompletionsArgs),
    /// Write manual pages into a folder
    Man(generate::ManArgs),
}

/// Version, journal format and time-zone data.
fn version() -> String {
    format!(
        "{} (journal format {}, time zones {})",
        env!("CARGO_PKG_VERSION"),
        crate::journal::FORMAT_VERSION,
        chrono_tz::IANA_TZDB_VERSION,
    )
}
