//! A journal folder with an index beside it.

use std::path::{Path, PathBuf};

use handfast::journal::{
    APPEND_ENTRIES_MAX, FileReader, FileStore, ReadJournal, SEGMENT_BYTES, Store, WriteOptions,
};
use handfast::record::entry::Entry;
use handfast::record::ids::JournalId;
use handfast::ward::draw::Drawn;
use handfast::ward::index::{Index, IndexNote, Past};

use crate::material;

/// A journal folder with a story in it.
pub struct Folder {
    pub dir: tempfile::TempDir,
}

impl Folder {
    pub fn of(journal: u8, entries: &[Entry]) -> Folder {
        let folder = Folder {
            dir: tempfile::tempdir().unwrap(),
        };
        FileStore::create(&folder.path(), JournalId([journal; 16])).unwrap();
        folder.append(entries);
        folder
    }

    pub fn path(&self) -> PathBuf {
        self.dir.path().join("journal")
    }

    /// The same in several segments.
    pub fn in_segments(journal: u8, entries: &[Entry]) -> Folder {
        let folder = Folder::of(journal, &[]);
        folder.append_with(entries, 16 << 10);
        folder
    }

    pub fn append(&self, entries: &[Entry]) {
        self.append_with(entries, SEGMENT_BYTES);
    }

    fn append_with(&self, entries: &[Entry], segment_bytes: u64) {
        let mut options = WriteOptions::new("a test", material::moment(material::START));
        options.segment_bytes = segment_bytes;
        let (store, _) = FileStore::open_writer(&self.path(), &options).unwrap();
        for group in material::to_append(entries).chunks(APPEND_ENTRIES_MAX.min(20)) {
            store.append(group.to_vec(), None).unwrap();
        }
    }

    pub fn reader(&self) -> FileReader {
        FileReader::open(&self.path()).unwrap()
    }

    pub fn index(&self) -> Index {
        let reader = self.reader();
        Index::new(reader.layout(), reader.journal())
    }

    /// Draws the ward from the journal and keeps it.
    pub fn keep(&self) {
        let mut drawn = Drawn::from_journal(&self.reader());
        assert_eq!(drawn.keep(&self.index(), &self.reader()), None);
    }

    /// Draws the ward with the help of the index, and checks it against the fold.
    pub fn draw(&self) -> (Drawn, Option<IndexNote>) {
        let reader = self.reader();
        let (drawn, note) = Drawn::from_index(&reader, &self.index());
        let folded = Drawn::from_journal(&reader);
        assert_eq!(drawn.ward, folded.ward, "{note:?}");
        assert_eq!(drawn.folded, folded.folded);
        (drawn, note)
    }

    /// How far the index goes, if it can be used.
    pub fn kept_to(&self) -> Option<u64> {
        let reader = self.reader();
        let hash_at = |seq| reader.read(seq).ok().map(|frame| frame.hash());
        let (kept, _) = self.index().load(&Past {
            hash_at: &hash_at,
            newest: &|| reader.head().seq,
            still_holds: &|marks| reader.still_holds(marks),
        });
        kept.map(|kept| kept.folded.seq.0)
    }

    /// The index's folders, by name.
    pub fn index_folders(&self) -> Vec<String> {
        let Ok(listing) = std::fs::read_dir(self.path().join("index")) else {
            return Vec::new();
        };
        let mut names: Vec<String> = listing
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    /// The folder in use.
    pub fn index_path(&self) -> PathBuf {
        let names = self.index_folders();
        let current: Vec<&String> = names.iter().filter(|n| !n.ends_with(".aside")).collect();
        assert_eq!(current.len(), 1, "{names:?}");
        self.path().join("index").join(current[0])
    }
}

/// Copies a folder.
pub fn copy_all(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy_all(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}

/// Every file below a folder, sorted.
pub fn files_below(dir: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in std::fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(files_below(&path));
        } else {
            files.push(path);
        }
    }
    files.sort();
    files
}
