//! The digests of the damage reports that a keeper has accepted.

use std::io;

use crate::journal::disk::{Disk, replace_file};
use crate::journal::layout::Layout;
use crate::journal::open::OpenError;
use crate::record::ids::{Digest, to_hex};

/// Most bytes of the acceptance file that are looked at: room for 15,000 acceptances.
const ACCEPTANCE_BYTES_MAX: usize = 1 << 20;

pub(super) fn is_accepted(disk: &dyn Disk, layout: &Layout, digest: Digest) -> bool {
    accepted(disk, layout).is_ok_and(|text| text.lines().any(|line| line == digest.to_string()))
}

fn accepted(disk: &dyn Disk, layout: &Layout) -> io::Result<String> {
    match disk.read(&layout.damage_accepted(), 0, ACCEPTANCE_BYTES_MAX) {
        Ok(bytes) => Ok(String::from_utf8_lossy(&bytes).into_owned()),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(String::new()),
        Err(error) => Err(error),
    }
}

/// Notes that a keeper has read the findings with this digest, so that writing may go on
/// after them. Nothing is repaired; `verify` goes on reporting the damage.
///
/// # Errors
/// When the note cannot be written.
pub(in crate::journal) fn accept(
    disk: &dyn Disk,
    layout: &Layout,
    digest: Digest,
) -> Result<(), OpenError> {
    let path = layout.damage_accepted();
    let write = || {
        let mut text = accepted(disk, layout)?;
        text.push_str(&to_hex(&digest.0));
        text.push('\n');
        replace_file(
            disk,
            &layout.damage_accepted_building(),
            &path,
            text.as_bytes(),
        )
    };
    write().map_err(|cause| OpenError::io(&path, cause))
}
