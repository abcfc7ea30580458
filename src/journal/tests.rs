//! Tests of the layer as a whole; what one file does alone is tested beside it.

mod basics;
pub(super) mod bench_material;
mod crashes;
mod damage;
mod ends;
mod hostile;
mod newer;
mod reading;
mod sealed;
mod strangers;
mod tampering;
mod views;
