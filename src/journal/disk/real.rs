//! The operating system's files.

#![allow(clippy::disallowed_methods)] // the one place that may

use std::fs::{self, DirBuilder, File, FileType, OpenOptions, TryLockError};
use std::io;
use std::os::unix::fs::{DirBuilderExt, FileExt, MetadataExt, OpenOptionsExt};
use std::path::Path;

use rustix::fs::OFlags;

use super::{Disk, DiskFile, FileKind, FileStamp, Lock};

/// What is recorded is readable to the account that records it and to nobody else.
const FOLDER_MODE: u32 = 0o700;
const FILE_MODE: u32 = 0o600;

/// The disk the operating system offers.
#[derive(Debug, Clone, Copy, Default)]
pub struct RealDisk;

impl Disk for RealDisk {
    fn create_dir(&self, dir: &Path) -> io::Result<()> {
        // Each folder that is made has its name put on stable storage in the one above it.
        let mut missing: Vec<&Path> = Vec::new();
        let mut at = dir;
        while !at.as_os_str().is_empty() && !at.is_dir() {
            missing.push(at);
            at = at.parent().unwrap_or(Path::new(""));
        }
        for folder in missing.into_iter().rev() {
            match DirBuilder::new().mode(FOLDER_MODE).create(folder) {
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
                made => made?,
            }
            self.sync_dir(folder.parent().unwrap_or(Path::new("")))?;
        }
        Ok(())
    }

    fn list(&self, dir: &Path) -> io::Result<Vec<String>> {
        let mut names = fs::read_dir(dir)?
            .map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()))
            .collect::<io::Result<Vec<_>>>()?;
        names.sort_unstable();
        Ok(names)
    }

    fn kind(&self, path: &Path) -> io::Result<FileKind> {
        Ok(kind_of(fs::symlink_metadata(path)?.file_type()))
    }

    fn read(&self, path: &Path, offset: u64, len: usize) -> io::Result<Vec<u8>> {
        let file = open_plain(path, OpenOptions::new().read(true))?;
        let mut bytes = vec![0; len];
        let mut filled = 0;
        while filled < len {
            match file.read_at(&mut bytes[filled..], offset + filled as u64) {
                Ok(0) => break,
                Ok(count) => filled += count,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        bytes.truncate(filled);
        Ok(bytes)
    }

    fn stamp(&self, path: &Path) -> io::Result<FileStamp> {
        let found = fs::symlink_metadata(path)?;
        Ok(FileStamp {
            bytes: found.len(),
            modified: (found.mtime(), found.mtime_nsec()),
            changed: (found.ctime(), found.ctime_nsec()),
        })
    }

    fn open(&self, path: &Path, fresh: bool) -> io::Result<Box<dyn DiskFile>> {
        let mut options = OpenOptions::new();
        options.write(true).create(fresh).truncate(fresh);
        let file = open_plain(path, options.mode(FILE_MODE))?;
        Ok(Box::new(RealFile(file)))
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)
    }

    fn sync_dir(&self, dir: &Path) -> io::Result<()> {
        let here = dir.as_os_str().is_empty();
        File::open(if here { Path::new(".") } else { dir })?.sync_all()
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }

    fn try_lock(&self, path: &Path, holder: &str) -> io::Result<Option<Box<dyn Lock>>> {
        let mut options = OpenOptions::new();
        options.write(true).create(true).truncate(false);
        let file = open_plain(path, options.mode(FILE_MODE))?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Ok(None),
            Err(TryLockError::Error(error)) => return Err(error),
        }
        // The text is a courtesy to whoever waits; a full disk must not keep the lock from us.
        let _ = file.set_len(0);
        let _ = file.write_all_at(holder.as_bytes(), 0);
        Ok(Some(Box::new(RealLock(file))))
    }
}

fn kind_of(found: FileType) -> FileKind {
    if found.is_file() {
        FileKind::File
    } else if found.is_dir() {
        FileKind::Folder
    } else if found.is_symlink() {
        FileKind::Link
    } else {
        FileKind::Other
    }
}

/// Opens a file of bytes. A link would lead out of the folder, to be read or overwritten there;
/// a pipe would have us wait for somebody to write.
fn open_plain(path: &Path, options: &mut OpenOptions) -> io::Result<File> {
    let careful = (OFlags::NOFOLLOW | OFlags::NONBLOCK).bits();
    let flags = i32::try_from(careful).map_err(io::Error::other)?;
    let opened = options.custom_flags(flags).open(path);
    let kind = match &opened {
        Ok(file) => kind_of(file.metadata()?.file_type()),
        Err(_) => fs::symlink_metadata(path).map_or(FileKind::File, |m| kind_of(m.file_type())),
    };
    match kind {
        FileKind::File => opened,
        other => Err(io::Error::new(
            io::ErrorKind::InvalidInput,
            format!("it is {other}, not a file; it is not followed nor read"),
        )),
    }
}

struct RealFile(File);

impl DiskFile for RealFile {
    fn write_at(&mut self, offset: u64, bytes: &[u8]) -> io::Result<()> {
        self.0.write_all_at(bytes, offset)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.0.sync_data()
    }

    fn set_len(&mut self, len: u64) -> io::Result<()> {
        self.0.set_len(len)
    }
}

struct RealLock(File);

impl Lock for RealLock {}

impl Drop for RealLock {
    fn drop(&mut self) {
        let _ = self.0.set_len(0);
        let _ = self.0.unlock();
    }
}
