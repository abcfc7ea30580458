//! The few file calls a journal needs, so that a disk that misbehaves can stand in their
//! place. No other file of the journal touches the file system.
//!
//! What is assumed of a disk is written in `docs/journal-format.md`, "Disk assumptions".

mod beside;
mod copy;
mod place;
mod real;
pub mod simulated;
mod small;

use std::io;
use std::path::{Path, PathBuf};

pub use beside::Beside;
pub use copy::copy_journal;
pub use place::{Concern, concerns};
pub use real::RealDisk;
pub use small::{
    FolderLock, lock_folder, put_small_file_if_none, read_small_file, replace_small_file,
};

/// A file system, seen through the calls a journal makes.
pub trait Disk: Send + Sync {
    /// Makes `dir` and what is above it, durably. No error if it is there.
    ///
    /// # Errors
    /// Whatever the system says.
    fn create_dir(&self, dir: &Path) -> io::Result<()>;

    /// Names of the files in `dir`, sorted; those that are not UTF-8 come with replacements.
    ///
    /// # Errors
    /// Whatever the system says; `NotFound` if there is no such folder.
    fn list(&self, dir: &Path) -> io::Result<Vec<String>>;

    /// What has this name. Links are not followed.
    ///
    /// # Errors
    /// Whatever the system says; `NotFound` if there is nothing.
    fn kind(&self, path: &Path) -> io::Result<FileKind>;

    /// Up to `len` bytes from `offset`; fewer only at the end of the file.
    ///
    /// # Errors
    /// Whatever the system says; `NotFound` if there is no such file; an error in words if it is
    /// a link, a pipe or anything else that is no file of bytes. Never waits for another program.
    fn read(&self, path: &Path, offset: u64, len: usize) -> io::Result<Vec<u8>>;

    /// What the system says of a file without reading it.
    ///
    /// # Errors
    /// Whatever the system says; `NotFound` if there is no such file.
    fn stamp(&self, path: &Path) -> io::Result<FileStamp>;

    /// Opens a file for writing; `fresh` empties or makes it, otherwise it must be there.
    ///
    /// # Errors
    /// Whatever the system says; an error in words if it is a link or no file of bytes.
    fn open(&self, path: &Path, fresh: bool) -> io::Result<Box<dyn DiskFile>>;

    /// Gives a file another name, replacing what has it.
    ///
    /// # Errors
    /// Whatever the system says.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;

    /// Makes the names in `dir` durable.
    ///
    /// # Errors
    /// Whatever the system says.
    fn sync_dir(&self, dir: &Path) -> io::Result<()>;

    /// Removes a file.
    ///
    /// # Errors
    /// Whatever the system says.
    fn remove(&self, path: &Path) -> io::Result<()>;

    /// Takes the exclusive lock on `path`, making the file if needed; `None` if another has
    /// it. The lock ends with the guard or the process.
    ///
    /// # Errors
    /// Whatever the system says.
    fn try_lock(&self, path: &Path, holder: &str) -> io::Result<Option<Box<dyn Lock>>>;
}

/// What a name in a folder stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileKind {
    /// A file of bytes.
    File,
    /// A folder.
    Folder,
    /// A symbolic link.
    Link,
    /// A pipe, a socket or a device.
    Other,
}

impl std::fmt::Display for FileKind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            FileKind::File => "a file",
            FileKind::Folder => "a folder",
            FileKind::Link => "a symbolic link",
            FileKind::Other => "a pipe, socket or device",
        })
    }
}

/// Size and times of a file. A change of either time says that somebody wrote to it, or to
/// its name or rights.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct FileStamp {
    /// Its bytes.
    pub bytes: u64,
    /// When its contents were last written: seconds and nanoseconds since 1970.
    pub modified: (i64, i64),
    /// When anything about it last changed; no program can set it.
    pub changed: (i64, i64),
}

/// A lock that is held as long as this lives.
pub trait Lock: Send + Sync {}

/// One file open for writing.
pub trait DiskFile: Send {
    /// Writes all of `bytes` at `offset`. After an error any part of them may be there.
    ///
    /// # Errors
    /// Whatever the system says.
    fn write_at(&mut self, offset: u64, bytes: &[u8]) -> io::Result<()>;

    /// Puts contents and length on stable storage.
    ///
    /// # Errors
    /// Whatever the system says. After an error nothing is known about what was stored, and
    /// calling it again proves nothing.
    fn sync(&mut self) -> io::Result<()>;

    /// Cuts or extends the file.
    ///
    /// # Errors
    /// Whatever the system says.
    fn set_len(&mut self, len: u64) -> io::Result<()>;
}

/// Most bytes read or copied in one call.
pub(super) const CHUNK_BYTES: usize = 1 << 20;

/// Writes a small file so that after a crash either the old or the new contents are there.
///
/// # Errors
/// Whatever the disk says.
pub(super) fn replace_file(
    disk: &dyn Disk,
    building: &Path,
    path: &Path,
    contents: &[u8],
) -> io::Result<()> {
    let mut file = disk.open(building, true)?;
    file.write_at(0, contents)?;
    file.sync()?;
    drop(file);
    disk.rename(building, path)?;
    disk.sync_dir(&parent(path))
}

/// The folder a path lies in.
pub(super) fn parent(path: &Path) -> PathBuf {
    path.parent().map(Path::to_path_buf).unwrap_or_default()
}

/// Whether a write failed because there is no room (disk full, or over quota).
pub(super) fn is_full(error: &io::Error) -> bool {
    matches!(
        error.kind(),
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded | io::ErrorKind::FileTooLarge
    )
}

/// Whether something failed because we may not write here.
pub(super) fn is_read_only(error: &io::Error) -> bool {
    matches!(
        error.kind(),
        io::ErrorKind::ReadOnlyFilesystem | io::ErrorKind::PermissionDenied
    )
}
