//! Where identifiers that must not be guessed come from.

/// The operating system gave no random bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the operating system gave no random bytes")]
pub struct NoRandom;

/// Makes identifiers.
#[derive(Debug, Clone)]
pub enum IdSource {
    /// Random, from the operating system.
    Random,
    /// The same sequence every time: for teaching journals that must come out the same on
    /// every machine. Never for a real ward, whose entries could then be guessed.
    Counted {
        /// Tells one sequence from another.
        label: &'static str,
        /// How many were made.
        made: u64,
    },
}

impl IdSource {
    /// Sixteen bytes nobody has had before.
    ///
    /// # Errors
    /// When the operating system gives none.
    pub fn next_id(&mut self) -> Result<[u8; 16], NoRandom> {
        match self {
            IdSource::Random => {
                let mut id = [0; 16];
                getrandom::fill(&mut id).map_err(|_| NoRandom)?;
                Ok(id)
            }
            IdSource::Counted { label, made } => {
                *made += 1;
                let mut hasher = blake3::Hasher::new();
                hasher.update(label.as_bytes()).update(&made.to_le_bytes());
                let mut id = [0; 16];
                hasher.finalize_xof().fill(&mut id);
                Ok(id)
            }
        }
    }
}
