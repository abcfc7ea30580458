//! From data to what a medium shows. Nothing is computed here.

pub mod csv;
pub mod html;
pub mod json;
pub mod svg;
pub mod text;
pub mod wrap;
