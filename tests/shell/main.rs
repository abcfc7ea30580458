//! The shell as people meet it: the real program on a pseudo-terminal.

mod alone;
mod piped;
mod readme;
mod screen;
mod together;
mod ward;

/// An invented ward in a folder of its own.
fn fresh() -> (tempfile::TempDir, std::path::PathBuf) {
    let dir = tempfile::tempdir().expect("a folder");
    let journal = dir.path().join("journal");
    ward::open(&journal);
    (dir, journal)
}

/// What the pseudo-terminal signs in with: on this ward everybody has the same PIN.
fn pin_of(_: &str) -> &'static str {
    ward::PIN
}
