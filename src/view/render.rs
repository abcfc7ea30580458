//! From data to what a medium shows. No view computes anything here.

pub mod json;
