//! What staff write: identifiers, times, quantities and the kinds of entry.
//!
//! This layer does no input or output, holds no clock and imports no other layer.

pub mod ids;
pub mod nhs_number;
pub mod time;
