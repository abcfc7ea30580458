//! A whole copy of what a journal's folder must hold, put on stable storage file by file. Nothing is
//! followed that is a link, and nothing is written over.

use std::fs::{File, OpenOptions};
use std::io;
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;

use rustix::fs::OFlags;

use super::{Disk, FileKind, RealDisk};
use crate::journal::Layout;

/// Copies segments, keys, checkpoints, what was cut off, the notes beside them and, if it is there, the
/// ring of keys, into a folder that must be empty or not there yet. What is made anew from the segments
/// (indexes, the tree) is left out. Gives the number of files.
///
/// # Errors
/// Whatever the system says; `AlreadyExists` if the folder holds anything; `InvalidInput` for what is
/// neither file nor folder.
pub fn copy_journal(from: &Path, to: &Path) -> io::Result<usize> {
    match RealDisk.list(to) {
        Ok(names) if names.is_empty() => {}
        Ok(_) => return Err(io::Error::from(io::ErrorKind::AlreadyExists)),
        Err(error) if error.kind() == io::ErrorKind::NotFound => {}
        Err(error) => return Err(error),
    }
    RealDisk.create_dir(to)?;
    let (from, to) = (Layout::new(from), Layout::new(to));
    let mut copied = 0;
    let folders = [
        (from.segments_dir(), to.segments_dir()),
        (from.keys_dir(), to.keys_dir()),
        (from.checkpoints_dir(), to.checkpoints_dir()),
        (from.sealing_dir(), to.sealing_dir()),
        (from.aside_dir(), to.aside_dir()),
    ];
    for (from, to) in folders {
        copied += copy_folder(&from, &to)?;
    }
    let files = [
        (from.flushed_note(), to.flushed_note()),
        (from.damage_accepted(), to.damage_accepted()),
    ];
    for (from, to) in files {
        match copy_file(&from, &to) {
            Ok(()) => copied += 1,
            Err(error) if error.kind() == io::ErrorKind::NotFound => {}
            Err(error) => return Err(error),
        }
    }
    RealDisk.sync_dir(to.root())?;
    Ok(copied)
}

/// The files of one folder; none where it is not there.
fn copy_folder(from: &Path, to: &Path) -> io::Result<usize> {
    let names = match RealDisk.list(from) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(0),
        listed => listed?,
    };
    RealDisk.create_dir(to)?;
    for name in &names {
        let file = from.join(name);
        if RealDisk.kind(&file)? != FileKind::File {
            let what = format!("{} is no file", file.display());
            return Err(io::Error::new(io::ErrorKind::InvalidInput, what));
        }
        copy_file(&file, &to.join(name))?;
    }
    RealDisk.sync_dir(to)?;
    Ok(names.len())
}

pub(super) fn copy_file(from: &Path, to: &Path) -> io::Result<()> {
    let flags = (OFlags::NOFOLLOW | OFlags::NONBLOCK).bits().cast_signed();
    let mut read: File = OpenOptions::new()
        .read(true)
        .custom_flags(flags)
        .open(from)?;
    let mut written = OpenOptions::new()
        .write(true)
        .create_new(true)
        .mode(0o600)
        .open(to)?;
    io::copy(&mut read, &mut written)?;
    written.sync_all()
}
