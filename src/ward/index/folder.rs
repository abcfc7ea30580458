//! Which folder the index is in now, and what becomes of the ones before.
//!
//! `index/<generation>-<n>` is the one in use, the highest `n` there is. One that cannot be
//! used is renamed to `….aside`, and the next is made under the next number: a folder whose
//! opening panicked is never opened again under its name. Older asides and other generations
//! are removed; whatever is called otherwise is left alone.

#![allow(clippy::disallowed_methods)] // sled keeps folders, which the journal's disk does not know

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// Marks a folder that was put aside.
const ASIDE: &str = ".aside";
/// Digits of a generation.
const DIGITS: usize = 16;

/// The folder that holds the index's folders.
#[derive(Debug, Clone)]
pub(super) struct Folder {
    root: PathBuf,
    generation: String,
}

/// A name this module gave.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Name {
    generation: String,
    number: u64,
    aside: bool,
}

impl Name {
    fn parse(name: &str) -> Option<Name> {
        let (rest, aside) = match name.strip_suffix(ASIDE) {
            Some(rest) => (rest, true),
            None => (name, false),
        };
        let (generation, number) = rest.split_once('-')?;
        let is_hex = |c: u8| c.is_ascii_digit() || (b'a'..=b'f').contains(&c);
        if generation.len() != DIGITS || !generation.bytes().all(is_hex) {
            return None;
        }
        Some(Name {
            generation: generation.to_owned(),
            number: number.parse().ok()?,
            aside,
        })
    }

    fn text(&self) -> String {
        let aside = if self.aside { ASIDE } else { "" };
        format!("{}-{}{aside}", self.generation, self.number)
    }
}

impl Folder {
    pub(super) fn new(root: PathBuf, generation: &str) -> Folder {
        Folder {
            root,
            generation: generation.to_owned(),
        }
    }

    /// The folder in use; `None` if there is none yet.
    pub(super) fn current(&self) -> Option<PathBuf> {
        let mine = self.names().into_iter().filter(|name| self.is_mine(name));
        let newest = mine
            .filter(|name| !name.aside)
            .max_by_key(|name| name.number)?;
        Some(self.root.join(newest.text()))
    }

    /// Whether there is an index of another version or journal.
    pub(super) fn holds_others(&self) -> bool {
        self.names().iter().any(|name| !self.is_mine(name))
    }

    /// The folder to write to: the one in use, or a fresh one under a number never used.
    ///
    /// # Errors
    /// Whatever the system says.
    pub(super) fn for_writing(&self) -> io::Result<PathBuf> {
        if let Some(current) = self.current() {
            return Ok(current);
        }
        make_private(&self.root)?;
        let names = self.names();
        let mine = names.iter().filter(|name| self.is_mine(name));
        let last = mine.map(|name| name.number).max().unwrap_or(0);
        let fresh = Name {
            generation: self.generation.clone(),
            number: last.saturating_add(1),
            aside: false,
        };
        for old in names.iter().filter(|name| !self.is_mine(name)) {
            self.remove(old);
        }
        Ok(self.root.join(fresh.text()))
    }

    /// Puts the folder in use aside, and removes those put aside before.
    ///
    /// # Errors
    /// Whatever the system says.
    pub(super) fn put_aside(&self) -> io::Result<()> {
        let names = self.names();
        let (aside, current): (Vec<Name>, Vec<Name>) = names
            .into_iter()
            .filter(|name| self.is_mine(name))
            .partition(|name| name.aside);
        for name in current {
            let to = Name {
                aside: true,
                ..name.clone()
            };
            fs::rename(self.root.join(name.text()), self.root.join(to.text()))?;
        }
        for name in &aside {
            self.remove(name);
        }
        Ok(())
    }

    fn is_mine(&self, name: &Name) -> bool {
        name.generation == self.generation
    }

    fn names(&self) -> Vec<Name> {
        let Ok(listing) = fs::read_dir(&self.root) else {
            return Vec::new();
        };
        let names = listing.filter_map(|entry| entry.ok()?.file_name().into_string().ok());
        names.filter_map(|name| Name::parse(&name)).collect()
    }

    /// What cannot be removed now will be tried again with the next fresh folder.
    fn remove(&self, name: &Name) {
        let path = self.root.join(name.text());
        let _ = fs::remove_dir_all(&path).or_else(|_| fs::remove_file(&path));
    }
}

/// The index holds what the journal holds, in clear: nobody but its owner reads it.
/// Removes a folder with everything in it; no error if there is none.
pub(super) fn remove_all(dir: &Path) -> io::Result<()> {
    match fs::remove_dir_all(dir) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}

fn make_private(dir: &Path) -> io::Result<()> {
    use std::os::unix::fs::DirBuilderExt;
    fs::DirBuilder::new()
        .recursive(true)
        .mode(0o700)
        .create(dir)
}

#[cfg(test)]
mod tests {
    use super::*;

    const MINE: &str = "00112233aabbccdd";

    #[test]
    fn only_names_of_its_own_making_are_read() {
        let name = Name::parse("00112233aabbccdd-12.aside").unwrap();
        assert_eq!((name.number, name.aside), (12, true));
        assert_eq!(name.text(), "00112233aabbccdd-12.aside");
        for other in ["", "notes", "00112233aabbccdd", "00112233AABBCCDD-1", "0-1"] {
            assert_eq!(Name::parse(other), None, "{other}");
        }
    }

    #[test]
    fn a_number_is_never_used_twice_and_other_files_are_left_alone() {
        let dir = tempfile::tempdir().unwrap();
        let folder = Folder::new(dir.path().join("index"), MINE);
        assert_eq!(folder.current(), None);
        for number in 1..=3 {
            let fresh = folder.for_writing().unwrap();
            assert_eq!(fresh, dir.path().join(format!("index/{MINE}-{number}")));
            fs::create_dir(&fresh).unwrap();
            assert_eq!(folder.current(), Some(fresh));
            folder.put_aside().unwrap();
            assert_eq!(folder.current(), None);
        }
        let names: Vec<u64> = folder.names().iter().map(|name| name.number).collect();
        assert_eq!(names, [3], "older asides are gone");
    }

    #[test]
    fn another_generation_goes_when_a_fresh_folder_is_made() {
        let dir = tempfile::tempdir().unwrap();
        for name in ["ffffffffffffffff-4", "ffffffffffffffff-3.aside", "letters"] {
            fs::create_dir(dir.path().join(name)).unwrap();
        }
        Folder::new(dir.path().to_owned(), MINE)
            .for_writing()
            .unwrap();
        let left: Vec<_> = fs::read_dir(dir.path())
            .unwrap()
            .map(|entry| entry.unwrap().file_name())
            .collect();
        assert_eq!(left, ["letters"]);
    }
}
