//! The one place where an error becomes a message, a hint and an exit code.

use serde::Serialize;

use super::exit::Exit;
use crate::journal::{AppendError, OpenError, ReadError};
use crate::record::problem::{Refusal, Unusual};
use crate::station::extract::NoExtract;
use crate::station::keys::UnlockError;
use crate::station::sealing::SealingError;
use crate::station::{StationError, SubmitError};

/// Why a command did not do what was asked.
#[derive(Debug)]
pub struct CliError {
    /// The exit code.
    pub exit: Exit,
    /// What is wrong, in sentences.
    pub message: String,
    /// What to do.
    pub hint: Option<String>,
    /// Each refused field, where fields were refused.
    pub refusals: Vec<Refusal>,
    /// Each value to confirm, where values were unusual.
    pub unusual: Vec<Unusual>,
    /// What the system said of reading or writing, if that failed.
    pub cause: Option<std::io::ErrorKind>,
}

const DAMAGE_HINT: &str =
    "`handfast damage show` shows the report; `handfast damage accept` is the keeper's";

/// As `--json` shows it; schema `handfast.error/1`.
#[derive(Serialize)]
struct ErrorJson<'a> {
    schema: &'static str,
    exit: u8,
    message: &'a str,
    hint: Option<&'a str>,
    refusals: &'a [Refusal],
    unusual: &'a [Unusual],
}

impl CliError {
    /// With a code and a message.
    pub fn new(exit: Exit, message: impl Into<String>) -> CliError {
        CliError {
            exit,
            message: message.into(),
            hint: None,
            refusals: Vec::new(),
            unusual: Vec::new(),
            cause: None,
        }
    }

    /// Refused, with what is wrong.
    pub fn refused(message: impl Into<String>) -> CliError {
        CliError::new(Exit::Refused, message)
    }

    /// Adds what to do.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> CliError {
        self.hint = Some(hint.into());
        self
    }

    /// One line of JSON.
    #[must_use]
    pub fn json(&self) -> String {
        let json = ErrorJson {
            schema: "handfast.error/1",
            exit: self.exit as u8,
            message: &self.message,
            hint: self.hint.as_deref(),
            refusals: &self.refusals,
            unusual: &self.unusual,
        };
        serde_json::to_string(&json).unwrap_or_default()
    }
}

impl From<OpenError> for CliError {
    fn from(error: OpenError) -> CliError {
        let exit = match &error {
            OpenError::Busy { .. } => Exit::Busy,
            OpenError::Damaged { .. } | OpenError::NoHeader { .. } => Exit::Integrity,
            OpenError::NotAJournal { .. }
            | OpenError::AlreadyThere { .. }
            | OpenError::Remains { .. } => Exit::Refused,
            _ => Exit::Storage,
        };
        let damaged = matches!(error, OpenError::Damaged { .. });
        let report = CliError::new(exit, with_cause(&error));
        if damaged {
            return report.hint(DAMAGE_HINT);
        }
        report
    }
}

impl From<ReadError> for CliError {
    fn from(error: ReadError) -> CliError {
        let exit = match &error {
            ReadError::Damaged { .. } => Exit::Integrity,
            ReadError::Missing { .. } => Exit::Refused,
            ReadError::NewerFormat { .. } | ReadError::Unreadable { .. } => Exit::Storage,
        };
        CliError::new(exit, error.to_string())
    }
}

impl From<UnlockError> for CliError {
    fn from(error: UnlockError) -> CliError {
        let exit = match &error {
            UnlockError::Io { .. }
            | UnlockError::StillBeside { .. }
            | UnlockError::Memory
            | UnlockError::Random => Exit::Storage,
            UnlockError::Damaged { .. } => Exit::Integrity,
            UnlockError::Busy => Exit::Busy,
            _ => Exit::Refused,
        };
        CliError::new(exit, with_cause(&error))
    }
}

impl From<SealingError> for CliError {
    fn from(error: SealingError) -> CliError {
        let exit = match &error {
            SealingError::Damaged(_) => Exit::Integrity,
            SealingError::NoRing { .. } | SealingError::Random | SealingError::Io { .. } => {
                Exit::Storage
            }
            SealingError::Busy => Exit::Busy,
            SealingError::NotYetFor { .. }
            | SealingError::ReadsNone { .. }
            | SealingError::WrongShares
            | SealingError::SharesNotGiven(_)
            | SealingError::Destroyed(_) => Exit::Refused,
        };
        CliError::new(exit, with_cause(&error))
    }
}

impl From<SubmitError> for CliError {
    fn from(error: SubmitError) -> CliError {
        let message = with_cause(&error);
        match error {
            SubmitError::Open(error) => error.into(),
            SubmitError::Read(error) => error.into(),
            SubmitError::Refused(refusals) => CliError {
                refusals,
                ..CliError::refused(message)
            },
            SubmitError::Confirm(unusual) => CliError {
                unusual,
                ..CliError::refused(message)
                    .hint("check the value; `--confirm` records it as it is")
            },
            SubmitError::Damaged { .. } => {
                CliError::new(Exit::Integrity, message).hint(DAMAGE_HINT)
            }
            SubmitError::NotAllowed { .. }
            | SubmitError::NotStaff { .. }
            | SubmitError::Taken { .. }
            | SubmitError::Encode(_) => CliError::refused(message),
            SubmitError::NotKnown { .. } => CliError::new(Exit::Storage, message),
            SubmitError::Sealing(error) => error.into(),
            SubmitError::Append(AppendError::Conflict { .. }) => CliError::new(Exit::Busy, message),
            SubmitError::Append(_) | SubmitError::Random(_) => {
                CliError::new(Exit::Storage, message)
            }
        }
    }
}

impl From<StationError> for CliError {
    fn from(error: StationError) -> CliError {
        let message = error.to_string();
        match error {
            StationError::Submit(error) => error.into(),
            StationError::Open(error) => error.into(),
            StationError::Read(error) => error.into(),
            StationError::Unlock(error) => error.into(),
            StationError::Sealing(error) => error.into(),
            StationError::NoWard | StationError::WardNotRead { .. } => {
                CliError::new(Exit::Integrity, message)
            }
            StationError::NotStaff(..) | StationError::Suspended(_) | StationError::WardKey(_) => {
                CliError::refused(message)
            }
            StationError::NoExtract(error) => match *error {
                NoExtract::Read(error) => error.into(),
                NoExtract::DoesNotFit => CliError::new(Exit::Integrity, message),
                _ => CliError::refused(message),
            },
            StationError::CheckpointNotSigned(_) => CliError::new(Exit::Storage, message),
        }
    }
}

impl From<std::io::Error> for CliError {
    fn from(error: std::io::Error) -> CliError {
        let message = format!("reading or writing failed: {error}");
        CliError {
            cause: Some(error.kind()),
            ..CliError::new(Exit::Storage, message)
        }
    }
}

/// The sentence and what lies behind it.
fn with_cause(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut source = error.source();
    while let Some(cause) = source {
        let cause_text = cause.to_string();
        if !text.contains(&cause_text) {
            text = format!("{text}: {cause_text}");
        }
        source = cause.source();
    }
    text
}
