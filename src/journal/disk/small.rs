//! Small files beside the journal, read and replaced whole, and a lock on the folder they lie in.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Read};
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

use rustix::fs::OFlags;

use super::{Disk, RealDisk, parent, replace_file};

/// How long to sleep between two tries for a lock.
const RETRY: Duration = Duration::from_millis(5);

/// Reads a whole small file from the real disk. A link is not followed, and what is no plain
/// file is not waited for: either would let whoever can write in the folder choose what is read.
///
/// # Errors
/// Whatever the system says; `InvalidInput` for a link or what is no file; `InvalidData` if it
/// has more than `bytes_max` bytes.
pub fn read_small_file(path: &Path, bytes_max: usize) -> io::Result<Vec<u8>> {
    let flags = (OFlags::NOFOLLOW | OFlags::NONBLOCK).bits().cast_signed();
    let opened = OpenOptions::new().read(true).custom_flags(flags).open(path);
    let file = opened.map_err(|error| {
        if is_link(path) {
            not_a_file("it is a link, and links are not followed here")
        } else {
            error
        }
    })?;
    if !file.metadata()?.is_file() {
        return Err(not_a_file("it is not a file"));
    }
    let most = u64::try_from(bytes_max).unwrap_or(u64::MAX);
    let mut bytes = Vec::new();
    file.take(most.saturating_add(1)).read_to_end(&mut bytes)?;
    if bytes.len() > bytes_max {
        return Err(io::Error::from(io::ErrorKind::InvalidData));
    }
    Ok(bytes)
}

fn is_link(path: &Path) -> bool {
    path.symlink_metadata()
        .is_ok_and(|found| found.is_symlink())
}

fn not_a_file(what: &'static str) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidInput, what)
}

/// Writes a small file on the real disk so that after a crash either the old or the new
/// contents are there; makes its folder if need be.
///
/// # Errors
/// Whatever the system says.
pub fn replace_small_file(path: &Path, contents: &[u8]) -> io::Result<()> {
    // A name of its own for every file and process: two files written at once must never take
    // each other's contents.
    let mut name = path.file_name().unwrap_or_default().to_os_string();
    name.push(format!(".{}.building", std::process::id()));
    let building = path.with_file_name(name);
    RealDisk.create_dir(&parent(path))?;
    replace_file(&RealDisk, &building, path, contents)
}

/// Puts a small file where there is none, whole or not at all; one that is there stays as it is.
///
/// # Errors
/// Whatever the system says.
pub fn put_small_file_if_none(path: &Path, contents: &[u8]) -> io::Result<()> {
    let mut name = path.file_name().unwrap_or_default().to_os_string();
    name.push(format!(".{}.first", std::process::id()));
    let beside = path.with_file_name(name);
    replace_small_file(&beside, contents)?;
    // A link is made only where nothing is: of two programs one comes first.
    let linked = std::fs::hard_link(&beside, path);
    RealDisk.remove(&beside)?;
    match linked {
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Ok(()),
        Ok(()) => RealDisk.sync_dir(&parent(path)),
        // A file system that has no such links.
        Err(_) => replace_small_file(path, contents),
    }
}

/// A folder others are kept out of, as far as they ask too, as long as this lives.
#[derive(Debug)]
pub struct FolderLock(File);

impl Drop for FolderLock {
    fn drop(&mut self) {
        let _ = self.0.unlock();
    }
}

/// Takes the lock on a folder itself, trying for at most `wait`; `None` if another still has
/// it. It makes no file, so it also works where nothing may be written.
///
/// # Errors
/// Whatever the system says; some network file systems lock no folders.
pub fn lock_folder(dir: &Path, wait: Duration) -> io::Result<Option<FolderLock>> {
    let folder = File::open(dir)?;
    let started = Instant::now();
    loop {
        match folder.try_lock() {
            Ok(()) => return Ok(Some(FolderLock(folder))),
            Err(TryLockError::Error(error)) => return Err(error),
            Err(TryLockError::WouldBlock) if started.elapsed() >= wait => return Ok(None),
            Err(TryLockError::WouldBlock) => thread::sleep(RETRY),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_is_not_followed_and_a_pipe_not_waited_for() {
        let dir = tempfile::tempdir().unwrap();
        let (plain, link) = (dir.path().join("plain"), dir.path().join("link"));
        replace_small_file(&plain, b"here").unwrap();
        assert_eq!(read_small_file(&plain, 4).unwrap(), b"here");
        assert!(read_small_file(&plain, 3).is_err());
        std::os::unix::fs::symlink(&plain, &link).unwrap();
        let error = read_small_file(&link, 100).unwrap_err();
        assert!(error.to_string().contains("a link"), "{error}");
        let pipe = dir.path().join("pipe");
        rustix::fs::mknodat(
            rustix::fs::CWD,
            &pipe,
            rustix::fs::FileType::Fifo,
            rustix::fs::Mode::RUSR | rustix::fs::Mode::WUSR,
            0,
        )
        .unwrap();
        assert!(read_small_file(&pipe, 100).is_err());
        assert!(read_small_file(dir.path(), 100).is_err());
        // Written over, the link is gone and what it named is as it was.
        replace_small_file(&link, b"new").unwrap();
        assert_eq!(read_small_file(&plain, 4).unwrap(), b"here");
    }

    #[test]
    fn a_locked_folder_lets_in_one_at_a_time() {
        let dir = tempfile::tempdir().unwrap();
        let first = lock_folder(dir.path(), Duration::ZERO).unwrap();
        assert!(first.is_some());
        assert!(lock_folder(dir.path(), Duration::ZERO).unwrap().is_none());
        drop(first);
        assert!(lock_folder(dir.path(), Duration::ZERO).unwrap().is_some());
    }
}
