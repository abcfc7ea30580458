//! Clinical computation: values in; result, its parts, what was missing and the caution out.
//!
//! Pure functions over whole numbers. Thresholds compare the value as entered: nothing is
//! rounded into another band and nothing missing is filled in. Each module names its source
//! and that source's version; `docs/clinical.md` lists formula, units, range and the hazard
//! each guards against. Decision support only: local policy and licensed practice decide.

pub mod aki;
pub mod blood;
pub mod calculator;
pub mod creatinine;
pub mod egfr;
pub mod fluid;
pub mod news2;
pub mod occupancy;
pub mod policy;
pub mod pressure;
pub mod retention;
pub mod scales;
pub mod stay;
pub mod trend;
pub mod wound;
pub mod xmr;

/// Shown wherever a computed value is shown.
pub const CAUTION: &str =
    "Decision support only: a clinician decides. Concern about a patient overrides any low score.";
