//! What earlier recoveries cut and put aside, told by the names in `aside/`.

use std::fmt;
use std::path::PathBuf;

use crate::journal::disk::Disk;
use crate::journal::layout::Layout;
use crate::record::ids::Seq;

/// A tail that was cut once and lies aside: bytes that no acknowledgement ever covered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LyingAside {
    /// First entry of the segment it was cut from.
    pub segment: Seq,
    /// Where in the segment it began.
    pub offset: u64,
    /// The file it lies in.
    pub path: PathBuf,
}

impl fmt::Display for LyingAside {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (segment, offset, path) = (self.segment.0, self.offset, self.path.display());
        write!(
            f,
            "an unfinished end, never acknowledged as recorded, was cut off segment {segment} "
        )?;
        write!(
            f,
            "at byte {offset} when the journal was opened after a stop; it lies in {path}"
        )
    }
}

/// Everything in `aside/`, in the order of names. A folder that cannot be read holds nothing.
pub(in crate::journal) fn lying_aside(disk: &dyn Disk, layout: &Layout) -> Vec<LyingAside> {
    let dir = layout.aside_dir();
    let names = disk.list(&dir).unwrap_or_default();
    let cut = names.iter().filter_map(|name| {
        let (segment, offset) = Layout::cut_from(name)?;
        let path = dir.join(name);
        Some(LyingAside {
            segment,
            offset,
            path,
        })
    });
    cut.collect()
}
