//! A journal that is made beside the place it is for, and put there in one step when all of it stands.

use std::io;
use std::path::{Path, PathBuf};

use super::copy::copy_file;
use super::{Disk, RealDisk, copy_journal, parent};
use crate::journal::Layout;

/// What may lie in the place already: the ring of keys, which is backed up apart.
const RING: &str = "ring.json";

/// A copy of a journal beside its place. Dropped before it is put there, it is taken away again.
#[derive(Debug)]
pub struct Beside {
    dir: PathBuf,
    to: PathBuf,
    in_place: bool,
}

impl Beside {
    /// Whether a journal may be put there: nothing is there, an empty folder, or one that holds the ring of
    /// keys alone.
    ///
    /// # Errors
    /// `AlreadyExists` if anything else is there; whatever the system says.
    pub fn check(to: &Path) -> io::Result<()> {
        let sealing = Layout::new(to).sealing_dir();
        let of_sealing = sealing
            .file_name()
            .map(|name| name.to_string_lossy().into_owned());
        let names = listed(to)?;
        let ring_alone = || Ok::<_, io::Error>(listed(&sealing)? == [RING]);
        match names.as_slice() {
            [] => Ok(()),
            [name] if Some(name) == of_sealing.as_ref() && ring_alone()? => Ok(()),
            _ => Err(io::Error::from(io::ErrorKind::AlreadyExists)),
        }
    }

    /// Copies a journal beside the place it is for; the ring of keys that lies in the place goes with it.
    ///
    /// # Errors
    /// As [`Beside::check`]; then nothing of the copy is left.
    pub fn copy(from: &Path, to: &Path) -> io::Result<Beside> {
        Beside::check(to)?;
        let to = to.canonicalize().or_else(|_| std::path::absolute(to))?;
        RealDisk.create_dir(&parent(&to))?;
        let dir = named(&to, "restoring");
        std::fs::create_dir(&dir)?;
        let beside = Beside {
            dir,
            to,
            in_place: false,
        };
        copy_journal(from, &beside.dir)?;
        let (there, here) = (Layout::new(&beside.to), Layout::new(&beside.dir));
        let (there, here) = (there.sealing_dir(), here.sealing_dir());
        if listed(&there)? == [RING] {
            RealDisk.create_dir(&here)?;
            match RealDisk.remove(&here.join(RING)) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
                _ => copy_file(&there.join(RING), &here.join(RING))?,
            }
            RealDisk.sync_dir(&here)?;
        }
        Ok(beside)
    }

    /// Where the copy lies.
    #[must_use]
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    /// Puts it in its place.
    ///
    /// # Errors
    /// Whatever the system says: then the place is as it was, and the copy is taken away.
    pub fn put_in_place(mut self) -> io::Result<()> {
        Beside::check(&self.to)?;
        let before = named(&self.to, "before");
        let was_there = match std::fs::rename(&self.to, &before) {
            Ok(()) => true,
            Err(error) if error.kind() == io::ErrorKind::NotFound => false,
            Err(error) => return Err(error),
        };
        if let Err(error) = std::fs::rename(&self.dir, &self.to) {
            if was_there {
                std::fs::rename(&before, &self.to)?;
            }
            return Err(error);
        }
        self.in_place = true;
        RealDisk.sync_dir(&parent(&self.to))?;
        if was_there {
            // Held the ring of keys at most, which came along.
            std::fs::remove_dir_all(&before)?;
        }
        Ok(())
    }
}

impl Drop for Beside {
    fn drop(&mut self) {
        if !self.in_place {
            let _ = std::fs::remove_dir_all(&self.dir);
        }
    }
}

fn listed(dir: &Path) -> io::Result<Vec<String>> {
    match RealDisk.list(dir) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(Vec::new()),
        other => other,
    }
}

fn named(place: &Path, why: &str) -> PathBuf {
    let name = place.file_name().unwrap_or_default().to_string_lossy();
    place.with_file_name(format!(".{name}.{why}-{}", std::process::id()))
}
