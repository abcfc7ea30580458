//! What is worth knowing of the place a journal lies in before it fails: little room, and a
//! file system on which the lock and the flush may not hold.

use std::fmt;
use std::path::Path;

use rustix::fs::{statfs, statvfs};

/// Room below which people are told, bytes: some years of a ward's entries, and little enough
/// that somebody should look at the disk. Our choice, no source.
const LITTLE_ROOM: u64 = 256 << 20;

/// File systems over which others may write too, by the number the kernel gives them (Linux,
/// `statfs(2)` and `linux/magic.h`; some from memory).
const SHARED: [(u64, &str); 9] = [
    (0x6969, "NFS"),
    (0x517B, "SMB"),
    (0xFF53_4D42, "CIFS"),
    (0xFE53_4D42, "SMB 2"),
    (0x0102_1997, "9P"),
    (0x6573_5546, "FUSE"),
    (0x5346_414F, "AFS"),
    (0x00C3_6400, "Ceph"),
    (0x0116_1970, "GFS2"),
];

/// One thing people should know.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Concern {
    /// The disk is nearly full.
    LittleRoom {
        /// What is left for this account.
        bytes: u64,
    },
    /// A file system on which two computers may both be let in as the only writer, or a flush
    /// may be confirmed that has not happened.
    Shared {
        /// Its name.
        kind: &'static str,
    },
}

impl Concern {
    /// Whether it is about room, which matters to what is written next.
    #[must_use]
    pub const fn is_of_room(&self) -> bool {
        matches!(self, Concern::LittleRoom { .. })
    }
}

impl fmt::Display for Concern {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Concern::LittleRoom { bytes } => write!(
                f,
                "only {} MiB are left on the journal's disk. Entries go on being recorded until \
                 it is full, and are then refused in words; have room made now",
                bytes >> 20
            ),
            Concern::Shared { kind } => write!(
                f,
                "the journal lies on a shared file system ({kind}). Its lock may not keep a \
                 second computer from writing, and a confirmed flush may not have happened: keep \
                 the journal on a local disk"
            ),
        }
    }
}

/// What is to be said of the place of this folder. A place the system says nothing of gives
/// nothing to say.
#[must_use]
pub fn concerns(dir: &Path) -> Vec<Concern> {
    let room = statvfs(dir).ok().and_then(|found| little_room(&found));
    let shared = statfs(dir).ok().and_then(|found| {
        let number = u64::try_from(found.f_type).ok()?;
        shared_kind(number)
    });
    room.into_iter().chain(shared).collect()
}

fn little_room(found: &rustix::fs::StatVfs) -> Option<Concern> {
    let bytes = found.f_bavail.saturating_mul(found.f_frsize);
    (bytes < LITTLE_ROOM).then_some(Concern::LittleRoom { bytes })
}

fn shared_kind(number: u64) -> Option<Concern> {
    // A number with its highest bit set may come as a negative one.
    let number = number & 0xFFFF_FFFF;
    let known = SHARED.iter().find(|(magic, _)| *magic == number);
    known.map(|(_, kind)| Concern::Shared { kind })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers from the kernel's `linux/magic.h`, by memory.
    #[test]
    fn shared_file_systems_are_told_by_their_number_and_local_ones_are_not() {
        assert_eq!(shared_kind(0x6969), Some(Concern::Shared { kind: "NFS" }));
        let negative = 0xFFFF_FFFF_FF53_4D42;
        assert_eq!(
            shared_kind(negative),
            Some(Concern::Shared { kind: "CIFS" })
        );
        for local in [0xEF53, 0x0102_1994, 0x9123_683E, 0x5846_5342, 0x794C_7630] {
            assert_eq!(shared_kind(local), None, "{local:x}");
        }
    }

    #[test]
    fn a_folder_that_is_not_there_gives_nothing_to_say() {
        assert_eq!(concerns(Path::new("/nowhere/at/all")), []);
    }
}
