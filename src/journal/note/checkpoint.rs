//! The text of a checkpoint: which log, how many leaves, which root.

use super::{KeyName, NoteError, decimal, hash_from_base64, to_base64};
use crate::record::ids::{JournalId, TreeHash};

/// How the origin line of a ward's journal begins.
pub const ORIGIN_START: &str = "handfast/";
/// Groups of digits to read out, and digits in each.
const GROUPS: usize = 6;
const GROUP_DIGITS: usize = 5;

/// The origin line of a journal: `handfast/` and its id in hexadecimal.
#[must_use]
pub fn origin(journal: JournalId) -> String {
    format!("{ORIGIN_START}{journal}")
}

/// A statement that the first `size` leaves have this root.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Checkpoint {
    /// Which log it is of.
    pub origin: String,
    /// How many leaves it covers.
    pub size: u64,
    /// The root over them.
    pub root: TreeHash,
    /// Further lines; ours have none.
    pub extensions: Vec<String>,
}

impl Checkpoint {
    /// Of a ward's journal.
    #[must_use]
    pub fn of(journal: JournalId, size: u64, root: TreeHash) -> Checkpoint {
        Checkpoint {
            origin: origin(journal),
            size,
            root,
            extensions: Vec::new(),
        }
    }

    /// The name under which the ward's own key signs it.
    ///
    /// # Errors
    /// [`NoteError::KeyName`] if the origin can be no key's name.
    pub fn key_name(&self) -> Result<KeyName, NoteError> {
        self.origin.parse()
    }

    /// Which of our journals it is of; `None` if it is another's.
    #[must_use]
    pub fn journal(&self) -> Option<JournalId> {
        let id = self.origin.strip_prefix(ORIGIN_START)?;
        let journal: JournalId = id.parse().ok()?;
        (origin(journal) == self.origin).then_some(journal)
    }

    /// Reads the text of a note.
    ///
    /// # Errors
    /// [`NoteError::Checkpoint`] with the first thing that is wrong.
    pub fn parse(text: &str) -> Result<Checkpoint, NoteError> {
        let wrong = NoteError::Checkpoint;
        let body = text
            .strip_suffix('\n')
            .ok_or(wrong("its last line does not end"))?;
        let mut lines = body.split('\n');
        let mut next = |what| {
            lines
                .next()
                .filter(|line| !line.is_empty())
                .ok_or(wrong(what))
        };
        let origin = next("it has no origin line")?.to_owned();
        let size = decimal(next("it has no size line")?).ok_or(wrong(
            "its second line is not a number without leading zeros",
        ))?;
        let root = hash_from_base64(next("it has no root line")?)
            .ok_or(wrong("its third line is not 32 bytes in base 64"))?;
        let extensions: Vec<String> = lines.map(str::to_owned).collect();
        if extensions.iter().any(String::is_empty) {
            return Err(wrong("it has an empty line"));
        }
        Ok(Checkpoint {
            origin,
            size,
            root,
            extensions,
        })
    }

    /// The text that is signed.
    #[must_use]
    pub fn to_text(&self) -> String {
        let root = to_base64(&self.root.0);
        let mut out = format!("{}\n{}\n{root}\n", self.origin, self.size);
        for line in &self.extensions {
            out.push_str(line);
            out.push('\n');
        }
        out
    }

    /// Thirty digits to read out over the telephone, in six groups: 1 in 10^30 for another checkpoint to
    /// have the same. The first 16 bytes of SHA-256 over `handfast checkpoint digits`, a newline and
    /// the text, as a number with its lowest byte first, modulo 10^30.
    #[must_use]
    pub fn digits(&self) -> String {
        use sha2::{Digest as _, Sha256};
        let spoken = format!("handfast checkpoint digits\n{}", self.to_text());
        let hash: [u8; 32] = Sha256::digest(spoken).into();
        let mut low = [0; 16];
        low.copy_from_slice(&hash[..16]);
        let most = 10u128.pow((GROUPS * GROUP_DIGITS) as u32);
        let digits = format!(
            "{:0width$}",
            u128::from_le_bytes(low) % most,
            width = GROUPS * GROUP_DIGITS
        );
        let groups: Vec<&str> = (0..GROUPS)
            .map(|group| &digits[group * GROUP_DIGITS..(group + 1) * GROUP_DIGITS])
            .collect();
        groups.join(" ")
    }
}
