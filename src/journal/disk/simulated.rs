//! A disk in memory that fails on purpose, from a seed.
//!
//! What it does: it keeps what was written apart from what was flushed. At a crash each
//! 512-byte sector written since the last flush survives or not, one by one; the length of a
//! file may be any between the flushed and the written one; of the names made or changed
//! since the folder's last flush, the first few survive. A flush may fail, having stored
//! nothing, some or all; it may lie. A write may stop short, or find the disk full.
//!
//! What it does not: sectors that tear inside, or flushed sectors that rot. Those are
//! damage, and the tests on damaged bytes cover them.

use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::{Disk, DiskFile, FileKind, FileStamp, Lock};

const SECTOR: usize = 512;

/// What goes wrong, and at which changing call (write, flush, cut, rename, remove, folder
/// flush), counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// From this call on nothing happens any more: the machine is dead.
    Crash(u64),
    /// If this call is a write, it stores part and fails.
    ShortWrite(u64),
    /// If this call is a flush, it fails and nothing says what was stored; as on a real
    /// kernel, flushing again succeeds without storing what was lost.
    FailedFlush(u64),
    /// From this call on flushes succeed without storing anything.
    LyingFlush(u64),
    /// The disk holds no more than this many bytes.
    Full(u64),
}

#[derive(Debug, Clone, Default)]
struct Inode {
    /// What programs read.
    written: Vec<u8>,
    /// What is certain to survive.
    flushed: Vec<u8>,
    /// Sectors that differ and are still to be flushed.
    dirty: BTreeSet<usize>,
    /// Sectors the kernel believes flushed, and the disk never got.
    lost: BTreeSet<usize>,
}

#[derive(Debug, Default)]
struct State {
    inodes: Vec<Inode>,
    names: BTreeMap<PathBuf, usize>,
    flushed_names: BTreeMap<PathBuf, usize>,
    /// Names as they were after each change since the last folder flush.
    history: Vec<BTreeMap<PathBuf, usize>>,
    dirs: BTreeSet<PathBuf>,
    locked: BTreeSet<PathBuf>,
    faults: Vec<Fault>,
    calls: u64,
    dead: bool,
    seed: u64,
}

/// The disk; clones share it.
#[derive(Debug, Clone, Default)]
pub struct SimulatedDisk {
    state: Arc<Mutex<State>>,
}

impl SimulatedDisk {
    /// An empty disk with these faults to come. `seed` decides every choice.
    #[must_use]
    pub fn new(seed: u64, faults: &[Fault]) -> SimulatedDisk {
        let disk = SimulatedDisk::default();
        disk.lock().faults = faults.to_vec();
        disk.lock().seed = seed;
        disk
    }

    /// How many changing calls there were.
    #[must_use]
    pub fn calls(&self) -> u64 {
        self.lock().calls
    }

    /// The disk as the next start of the machine finds it, with other faults to come.
    #[must_use]
    pub fn after_crash(&self, faults: &[Fault]) -> SimulatedDisk {
        let mut old = self.lock();
        let mut random = Random(old.seed.wrapping_mul(31).wrapping_add(old.calls));
        let history = old.history.len() as u64;
        let kept = random.below(history + 1);
        let names = match kept {
            0 => old.flushed_names.clone(),
            n => old.history[usize::try_from(n - 1).unwrap_or(0)].clone(),
        };
        let inodes = old.inodes.iter().map(|i| i.crashed(&mut random)).collect();
        let state = State {
            inodes,
            flushed_names: names.clone(),
            names,
            dirs: std::mem::take(&mut old.dirs),
            faults: faults.to_vec(),
            seed: random.next(),
            ..State::default()
        };
        SimulatedDisk {
            state: Arc::new(Mutex::new(state)),
        }
    }

    /// The same disk after the program alone was ended: nothing written is lost, and the
    /// kernel still believes what it believed about flushes.
    #[must_use]
    pub fn after_exit(&self, faults: &[Fault]) -> SimulatedDisk {
        let mut state = self.lock();
        state.faults = faults.to_vec();
        state.calls = 0;
        state.dead = false;
        state.locked.clear();
        drop(state);
        self.clone()
    }

    /// A file's bytes as programs read them.
    #[must_use]
    pub fn bytes(&self, path: &Path) -> Option<Vec<u8>> {
        let state = self.lock();
        let inode = state.names.get(path)?;
        Some(state.inodes[*inode].written.clone())
    }

    /// Puts a file on the disk, flushed, whatever was there.
    pub fn put(&self, path: &Path, bytes: &[u8]) {
        let mut state = self.lock();
        let inode = state.inodes.len();
        state.inodes.push(Inode {
            written: bytes.to_vec(),
            flushed: bytes.to_vec(),
            ..Inode::default()
        });
        state.names.insert(path.to_path_buf(), inode);
        state.flushed_names.insert(path.to_path_buf(), inode);
    }

    fn lock(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Inode {
    fn write(&mut self, offset: usize, bytes: &[u8]) {
        let end = offset + bytes.len();
        if self.written.len() < end {
            self.written.resize(end, 0);
        }
        self.written[offset..end].copy_from_slice(bytes);
        for sector in offset / SECTOR..end.div_ceil(SECTOR) {
            self.dirty.insert(sector);
            self.lost.remove(&sector);
        }
    }

    fn set_len(&mut self, len: usize) {
        let from = len.min(self.written.len()) / SECTOR;
        let to = len.max(self.written.len()).div_ceil(SECTOR);
        self.written.resize(len, 0);
        self.dirty.extend(from..to);
    }

    /// Brings the sectors of `which` to the flushed copy, and the length with them.
    fn store(&mut self, which: &BTreeSet<usize>, len: usize) {
        self.flushed.resize(len, 0);
        for sector in which {
            let from = (sector * SECTOR).min(len).min(self.written.len());
            let to = (from + SECTOR).min(len).min(self.written.len());
            self.flushed[from..to].copy_from_slice(&self.written[from..to]);
        }
    }

    fn flush(&mut self) {
        let dirty = std::mem::take(&mut self.dirty);
        self.store(&dirty, self.written.len());
    }

    /// A flush that fails: some sectors arrive, the kernel marks all of them clean.
    fn flush_badly(&mut self, random: &mut Random) {
        let dirty = std::mem::take(&mut self.dirty);
        let kept = dirty.iter().copied().filter(|_| random.below(2) == 0);
        let kept: BTreeSet<usize> = kept.collect();
        let len = random.between(self.flushed.len(), self.written.len());
        self.store(&kept, len);
        self.lost.extend(dirty.difference(&kept));
    }

    fn crashed(&self, random: &mut Random) -> Inode {
        let mut after = self.clone();
        let dirty = std::mem::take(&mut after.dirty);
        let kept: BTreeSet<usize> = dirty.into_iter().filter(|_| random.below(2) == 0).collect();
        let len = random.between(self.flushed.len(), self.written.len());
        after.store(&kept, len);
        after.written = after.flushed.clone();
        after.lost.clear();
        after
    }
}

impl State {
    /// Counts a changing call and says whether the machine still runs.
    fn call(&mut self) -> io::Result<u64> {
        self.calls += 1;
        let calls = self.calls;
        self.dead |= self.has(|fault| matches!(fault, Fault::Crash(at) if calls >= at));
        if self.dead {
            return Err(io::Error::other("the simulated machine has crashed"));
        }
        Ok(calls)
    }

    fn has(&self, is: impl Fn(Fault) -> bool) -> bool {
        self.faults.iter().any(|fault| is(*fault))
    }

    fn random(&self) -> Random {
        Random(self.seed.wrapping_add(self.calls.wrapping_mul(0x9e37_79b9)))
    }

    fn inode(&self, path: &Path) -> io::Result<usize> {
        let inode = self.names.get(path).copied();
        inode.ok_or_else(|| io::Error::from(io::ErrorKind::NotFound))
    }

    fn renamed(&mut self) {
        self.history.push(self.names.clone());
    }

    fn room(&self) -> Option<u64> {
        let limit = self.faults.iter().find_map(|fault| match fault {
            Fault::Full(bytes) => Some(*bytes),
            _ => None,
        })?;
        let used: usize = self
            .names
            .values()
            .map(|i| self.inodes[*i].written.len())
            .sum();
        Some(limit.saturating_sub(used as u64))
    }
}

impl Disk for SimulatedDisk {
    fn create_dir(&self, dir: &Path) -> io::Result<()> {
        let mut state = self.lock();
        state.call()?;
        state.dirs.insert(dir.to_path_buf());
        Ok(())
    }

    fn list(&self, dir: &Path) -> io::Result<Vec<String>> {
        let state = self.lock();
        if !state.dirs.contains(dir) {
            return Err(io::Error::from(io::ErrorKind::NotFound));
        }
        let inside = state.names.keys().filter(|path| path.parent() == Some(dir));
        Ok(inside
            .filter_map(|path| Some(path.file_name()?.to_string_lossy().into_owned()))
            .collect())
    }

    fn kind(&self, path: &Path) -> io::Result<FileKind> {
        self.lock().inode(path).map(|_| FileKind::File)
    }

    fn read(&self, path: &Path, offset: u64, len: usize) -> io::Result<Vec<u8>> {
        let state = self.lock();
        let written = &state.inodes[state.inode(path)?].written;
        let from = usize::try_from(offset)
            .unwrap_or(usize::MAX)
            .min(written.len());
        Ok(written[from..(from.saturating_add(len)).min(written.len())].to_vec())
    }

    fn stamp(&self, path: &Path) -> io::Result<FileStamp> {
        let state = self.lock();
        let bytes = state.inodes[state.inode(path)?].written.len() as u64;
        Ok(FileStamp {
            bytes,
            ..FileStamp::default()
        })
    }

    fn open(&self, path: &Path, fresh: bool) -> io::Result<Box<dyn DiskFile>> {
        let mut state = self.lock();
        let there = state.inode(path);
        if fresh {
            state.call()?;
        }
        let inode = match there {
            Ok(inode) => {
                if fresh {
                    state.inodes[inode].set_len(0);
                }
                inode
            }
            Err(error) if !fresh => return Err(error),
            Err(_) => {
                let inode = state.inodes.len();
                state.inodes.push(Inode::default());
                state.names.insert(path.to_path_buf(), inode);
                state.renamed();
                inode
            }
        };
        Ok(Box::new(SimulatedFile {
            disk: self.clone(),
            inode,
        }))
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        let mut state = self.lock();
        state.call()?;
        let inode = state.inode(from)?;
        state.names.remove(from);
        state.names.insert(to.to_path_buf(), inode);
        state.renamed();
        Ok(())
    }

    fn sync_dir(&self, _dir: &Path) -> io::Result<()> {
        let mut state = self.lock();
        let calls = state.call()?;
        if state.has(|fault| fault == Fault::FailedFlush(calls)) {
            return Err(io::Error::from_raw_os_error(5));
        }
        if !state.has(|fault| matches!(fault, Fault::LyingFlush(at) if calls >= at)) {
            state.flushed_names = state.names.clone();
            state.history.clear();
        }
        Ok(())
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        let mut state = self.lock();
        state.call()?;
        state.inode(path)?;
        state.names.remove(path);
        state.renamed();
        Ok(())
    }

    fn try_lock(&self, path: &Path, _holder: &str) -> io::Result<Option<Box<dyn Lock>>> {
        let path = path.to_path_buf();
        if !self.lock().locked.insert(path.clone()) {
            return Ok(None);
        }
        Ok(Some(Box::new(SimulatedLock {
            disk: self.clone(),
            path,
        })))
    }
}

struct SimulatedLock {
    disk: SimulatedDisk,
    path: PathBuf,
}

impl Lock for SimulatedLock {}

impl Drop for SimulatedLock {
    fn drop(&mut self) {
        self.disk.lock().locked.remove(&self.path);
    }
}

struct SimulatedFile {
    disk: SimulatedDisk,
    inode: usize,
}

impl DiskFile for SimulatedFile {
    fn write_at(&mut self, offset: u64, bytes: &[u8]) -> io::Result<()> {
        let mut state = self.disk.lock();
        let at = usize::try_from(offset).map_err(io::Error::other)?;
        let calls = match state.call() {
            Ok(calls) => calls,
            Err(error) => {
                return Err(error);
            }
        };
        let mut random = state.random();
        let mut part = bytes.len();
        let mut failure = None;
        if state.has(|fault| fault == Fault::ShortWrite(calls)) {
            part = random.between(0, bytes.len());
            failure = Some(io::Error::from_raw_os_error(5));
        }
        let grown = (at + part).saturating_sub(state.inodes[self.inode].written.len()) as u64;
        if let Some(room) = state.room().filter(|room| grown > *room) {
            part = part.saturating_sub(usize::try_from(grown - room).unwrap_or(part));
            failure = Some(io::Error::from_raw_os_error(28));
        }
        state.inodes[self.inode].write(at, &bytes[..part]);
        failure.map_or(Ok(()), Err)
    }

    fn sync(&mut self) -> io::Result<()> {
        let mut state = self.disk.lock();
        let calls = state.call()?;
        let mut random = state.random();
        if state.has(|fault| fault == Fault::FailedFlush(calls)) {
            state.inodes[self.inode].flush_badly(&mut random);
            return Err(io::Error::from_raw_os_error(5));
        }
        if !state.has(|fault| matches!(fault, Fault::LyingFlush(at) if calls >= at)) {
            state.inodes[self.inode].flush();
        }
        Ok(())
    }

    fn set_len(&mut self, len: u64) -> io::Result<()> {
        let mut state = self.disk.lock();
        state.call()?;
        let len = usize::try_from(len).map_err(io::Error::other)?;
        state.inodes[self.inode].set_len(len);
        Ok(())
    }
}

/// A small generator whose sequence depends on the seed alone (splitmix64, from memory).
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, end: u64) -> u64 {
        self.next() % end.max(1)
    }

    /// Any value from the smaller to the larger of the two, both included.
    fn between(&mut self, a: usize, b: usize) -> usize {
        let (low, high) = (a.min(b), a.max(b));
        let span = (high - low) as u64 + 1;
        low + usize::try_from(self.below(span)).unwrap_or(0)
    }
}
