//! An index that is whole, and not of this journal as it is.

use handfast::record::ids::Seq;
use handfast::ward::draw::Drawn;
use handfast::ward::index::IndexNote;

use crate::folder::{Folder, copy_all, files_below};
use crate::material::story;

#[test]
fn an_index_copied_from_another_journal_is_not_looked_at() {
    let entries = story(11, 60).entries;
    let (mine, other) = (Folder::of(1, &entries), Folder::of(2, &entries));
    other.keep();
    copy_all(&other.path().join("index"), &mine.path().join("index"));
    let (mut drawn, note) = mine.draw();
    assert_eq!(note, Some(IndexNote::OtherVersion));
    assert_eq!(drawn.keep(&mine.index(), &mine.reader()), None);
    assert_eq!(mine.index_folders().len(), 1, "the other's is gone");
    assert_eq!(mine.kept_to(), Some(entries.len() as u64));
}

#[test]
fn an_index_of_another_journal_under_the_right_name_is_put_aside() {
    let entries = story(12, 60).entries;
    let (mine, other) = (Folder::of(1, &entries), Folder::of(2, &entries));
    other.keep();
    mine.keep();
    let place = mine.index_path();
    std::fs::remove_dir_all(&place).unwrap();
    copy_all(&other.index_path(), &place);
    let (mut drawn, note) = mine.draw();
    assert_eq!(note, Some(IndexNote::Foreign));
    assert_eq!(drawn.keep(&mine.index(), &mine.reader()), None);
    let (_, note) = mine.draw();
    assert_eq!(note, None);
    assert_ne!(mine.index_path(), place, "a fresh folder has a fresh name");
}

#[test]
fn an_index_ahead_of_the_journal_says_that_entries_are_missing_as_long_as_it_is_there() {
    let story = story(13, 90);
    let folder = Folder::of(1, &story.entries);
    let earlier = Folder::of(1, &story.entries[..50]);
    folder.keep();
    copy_all(&folder.path().join("index"), &earlier.path().join("index"));
    let newest = Drawn::from_journal(&folder.reader()).folded;
    for _ in 0..2 {
        let (mut drawn, note) = earlier.draw();
        assert_eq!(note, Some(IndexNote::Ahead { index: newest }));
        assert_eq!(drawn.faults.lost_end, Some((Seq(51), newest.seq)));
        assert_eq!(drawn.keep(&earlier.index(), &earlier.reader()), None);
    }
    // Once that is settled somebody deletes it.
    std::fs::remove_dir_all(earlier.path().join("index")).unwrap();
    let (mut drawn, note) = earlier.draw();
    assert_eq!(note, Some(IndexNote::Missing));
    assert!(drawn.faults.is_empty());
    assert_eq!(drawn.keep(&earlier.index(), &earlier.reader()), None);
    assert_eq!(earlier.kept_to(), Some(50));
}

#[test]
fn an_index_of_a_history_that_went_another_way_is_put_aside() {
    let story = story(14, 60);
    let mut other = story.clone();
    other.entries[40].envelope.approximate ^= true;
    let (mine, theirs) = (Folder::of(1, &story.entries), Folder::of(1, &other.entries));
    theirs.keep();
    copy_all(&theirs.path().join("index"), &mine.path().join("index"));
    let (_, note) = mine.draw();
    assert!(
        matches!(note, Some(IndexNote::NotOfThisHistory { .. })),
        "{note:?}"
    );
}

#[test]
fn an_index_newer_than_the_readers_view_makes_it_look_again() {
    let story = story(15, 90);
    let folder = Folder::of(1, &story.entries[..50]);
    let reader = folder.reader();
    folder.append(&story.entries[50..]);
    folder.keep();
    let (drawn, note) = Drawn::from_index(&reader, &folder.index());
    assert_eq!(note, None);
    assert_eq!(drawn.ward, Drawn::from_journal(&folder.reader()).ward);
}

/// The newest segment is compared byte for byte; of earlier ones size and times are.
#[test]
fn damage_below_the_index_is_met_and_not_hidden_by_it() {
    let story = story(16, 120);
    for touch_newest in [false, true] {
        let folder = Folder::in_segments(1, &story.entries);
        folder.keep();
        assert_eq!(folder.draw().1, None);
        let segments = files_below(&folder.path().join("segments"));
        assert!(segments.len() > 2, "{segments:?}");
        let touched = if touch_newest { segments.len() - 1 } else { 0 };
        let mut bytes = std::fs::read(&segments[touched]).unwrap();
        let middle = bytes.len() / 3;
        bytes[middle] ^= 1;
        std::fs::write(&segments[touched], bytes).unwrap();
        let (mut drawn, note) = folder.draw();
        assert!(
            matches!(note, Some(IndexNote::FilesTouched { .. })),
            "{touched}: {note:?}"
        );
        assert!(!drawn.unreadable.is_empty());
        assert_eq!(drawn.keep(&folder.index(), &folder.reader()), None);
        assert!(!folder.draw().0.unreadable.is_empty(), "and met each time");
    }
}
