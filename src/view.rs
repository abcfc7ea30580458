//! What people read: data first, then text, pages and exchange forms.

pub mod escape;
