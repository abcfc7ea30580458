//! The lists people work from: the caseload, what is due, and the ledger of alerts.

mod alerts;
mod caseload;
mod due;
mod workings;

pub use alerts::{
    ALERTS_SCHEMA, AlertLedger, AlertRow, AlertWhich, CriticalRow, StepLine, alert_ledger,
};
pub use caseload::{CASELOAD_SCHEMA, Caseload, CaseloadRow, caseload};
pub use due::{DUE_SCHEMA, DueFilter, DueList, DueRow, due_list};
pub use workings::{WORKINGS_SCHEMA, Workings, working_line, workings_of, workings_of_window};
