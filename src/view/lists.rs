//! The lists people work from: the caseload, what is due, and the ledger of alerts.

mod alerts;
mod caseload;
mod due;

pub use alerts::{ALERTS_SCHEMA, AlertLedger, AlertRow, AlertWhich, StepLine, alert_ledger};
pub use caseload::{CASELOAD_SCHEMA, Caseload, CaseloadRow, caseload};
pub use due::{DUE_SCHEMA, DueFilter, DueList, DueRow, due_list};
