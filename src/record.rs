//! What staff write: identifiers, times, quantities and the kinds of entry.
//!
//! This layer does no input or output, holds no clock and imports no other layer.

pub(crate) mod choice;
pub mod codec;
pub mod draft;
pub mod entry;
pub mod envelope;
pub mod field;
pub mod ids;
pub mod kind;
pub mod losses;
pub mod moment;
pub mod nhs_number;
pub mod observed;
pub mod person;
pub mod problem;
pub mod quantity;
pub mod rights;
pub mod role;
pub mod scales;
pub mod text;
pub mod time;
