//! The `handfast` program.

fn main() {}
