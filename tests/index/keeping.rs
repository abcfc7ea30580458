//! Writing the index and reading it again, with nothing wrong.

use handfast::journal::ReadJournal;
use handfast::ward::draw::Drawn;
use handfast::ward::index::IndexNote;

use crate::folder::{Folder, files_below};
use crate::material::story;

#[test]
fn without_an_index_the_ward_is_folded_and_nothing_is_written() {
    let folder = Folder::of(1, &story(1, 60).entries);
    let (_, note) = folder.draw();
    assert_eq!(note, Some(IndexNote::Missing));
    assert_eq!(folder.index_folders(), Vec::<String>::new());
}

#[test]
fn what_is_kept_comes_back_exactly() {
    for seed in 0..8 {
        let story = story(seed, 150);
        let folder = Folder::of(1, &story.entries);
        folder.keep();
        assert_eq!(folder.kept_to(), Some(story.entries.len() as u64));
        let (_, note) = folder.draw();
        assert_eq!(note, None, "seed {seed}");
    }
}

#[test]
fn a_stale_index_is_caught_up_and_then_only_the_changes_are_written() {
    let story = story(3, 200);
    let folder = Folder::of(1, &story.entries[..60]);
    folder.keep();
    for upto in [61, 100, 180] {
        let from = folder.reader().head().seq.0 as usize;
        folder.append(&story.entries[from..upto]);
        let (mut drawn, note) = folder.draw();
        assert_eq!(note, None);
        assert_eq!(drawn.keep(&folder.index(), &folder.reader()), None);
        assert_eq!(folder.kept_to(), Some(upto as u64));
        folder.draw();
    }
}

/// The index is thrown away while one process works from it, and a slow one, which has seen
/// less, makes it anew: what the first one changes does not follow from that.
#[test]
fn changes_are_not_mixed_into_another_state_than_they_follow_from() {
    let story = story(4, 120);
    let folder = Folder::of(1, &story.entries[..50]);
    let mut slow = Drawn::from_journal(&folder.reader());
    let last = story.entries.len() - 1;
    folder.append(&story.entries[50..last]);
    folder.keep();
    let (mut first, _) = folder.draw();
    std::fs::remove_dir_all(folder.path().join("index")).unwrap();
    assert_eq!(slow.keep(&folder.index(), &folder.reader()), None);
    assert_eq!(folder.kept_to(), Some(50));
    folder.append(&story.entries[last..]);
    first.catch_up(&folder.reader());
    assert_eq!(first.keep(&folder.index(), &folder.reader()), None);
    assert_eq!(folder.kept_to(), Some(story.entries.len() as u64));
    folder.draw();
}

#[test]
fn an_index_that_is_further_on_is_left_alone() {
    let story = story(5, 90);
    let folder = Folder::of(1, &story.entries[..40]);
    let mut slow = Drawn::from_journal(&folder.reader());
    folder.append(&story.entries[40..]);
    folder.keep();
    assert_eq!(slow.keep(&folder.index(), &folder.reader()), None);
    assert_eq!(folder.kept_to(), Some(story.entries.len() as u64));
}

#[test]
fn while_another_has_it_open_the_ward_is_folded_and_the_index_is_left_as_it_is() {
    let folder = Folder::of(1, &story(6, 80).entries);
    folder.keep();
    let path = folder.index_path();
    // sled lets go of its lock a moment after it was dropped.
    let held = loop {
        match sled::open(&path) {
            Ok(held) => break held,
            Err(_) => std::thread::sleep(std::time::Duration::from_millis(5)),
        }
    };
    let (mut drawn, note) = folder.draw();
    assert_eq!(note, Some(IndexNote::InUse));
    assert_eq!(
        drawn.keep(&folder.index(), &folder.reader()),
        Some(IndexNote::InUse)
    );
    assert_eq!(folder.index_path(), path);
    drop(held);
    let (_, note) = folder.draw();
    assert_eq!(note, None);
}

#[test]
fn indexes_of_other_versions_are_removed_when_one_is_made() {
    let folder = Folder::of(1, &story(7, 30).entries);
    let old = folder.path().join("index/0123456789abcdef-3");
    std::fs::create_dir_all(&old).unwrap();
    std::fs::write(old.join("db"), b"old").unwrap();
    folder.draw();
    assert!(old.exists(), "reading alone removes nothing");
    folder.keep();
    assert!(!old.exists());
    assert_eq!(folder.index_folders().len(), 1);
}

#[test]
fn a_damaged_journal_is_never_kept() {
    let folder = Folder::of(1, &story(8, 80).entries);
    let segment = files_below(&folder.path().join("segments")).remove(0);
    let mut bytes = std::fs::read(&segment).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(&segment, bytes).unwrap();
    let (mut drawn, _) = folder.draw();
    assert!(!drawn.unreadable.is_empty());
    assert_eq!(drawn.keep(&folder.index(), &folder.reader()), None);
    assert_eq!(folder.index_folders(), Vec::<String>::new());
}
