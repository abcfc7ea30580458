//! What people read: data first, then text, pages and exchange forms.

pub mod access;
pub mod at_glance;
pub mod baseline;
pub mod escape;
pub mod extract;
pub mod handover;
pub mod lists;
pub mod origin;
pub mod page;
pub mod policy;
pub mod render;
pub mod report;
pub mod timeline;
pub mod words;
