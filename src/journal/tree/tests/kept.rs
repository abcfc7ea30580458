//! The tree in the folder: right, cheap, and never believed when it is wrong.

use std::fs;
use std::path::Path;

use super::naive_root;
use crate::journal::tests::bench_material::*;
use crate::journal::tree::*;
use crate::journal::{FileReader, Layout, ReadJournal, Store};
use crate::record::ids::Seq;

fn journal(dir: &Path, upto: u64) -> FileReader {
    if !dir.join("segments").exists() {
        create(dir);
    }
    let store = open(dir);
    let mut next = store.head().seq.0 + 1;
    while next <= upto {
        let last = upto.min(next + 999);
        store.append(entries(next..=last), None).unwrap();
        next = last + 1;
    }
    drop(store);
    FileReader::open(dir).unwrap()
}

fn leaves_of(reader: &FileReader) -> Vec<TreeHash> {
    reader
        .read_from(Seq(1))
        .map(|frame| entry_leaf(frame.unwrap().hash()))
        .collect()
}

#[test]
fn it_grows_with_the_journal_and_says_what_the_definition_says() {
    let dir = tempfile::tempdir().unwrap();
    for upto in [1, 255, 256, 257, 700] {
        let reader = journal(dir.path(), upto);
        let leaves = leaves_of(&reader);
        let mut tree = KeptTree::follow(&reader).unwrap();
        assert_eq!((tree.size(), tree.root()), (upto, naive_root(&leaves)));
        for old in [1, upto / 2, upto] {
            let part = usize::try_from(old).unwrap();
            let old_root = naive_root(&leaves[..part]);
            assert_eq!(tree.root_at(old).unwrap(), Some(old_root));
            let path = tree.consistency(old, upto).unwrap().unwrap();
            assert!(consistency_holds(old, upto, old_root, tree.root(), &path));
        }
        for seq in [1, upto / 2 + 1, upto] {
            let index = tree.index(Seq(seq)).unwrap();
            let leaf = leaves[usize::try_from(index).unwrap()];
            let path = tree.inclusion(leaf, index, upto).unwrap().unwrap();
            assert!(inclusion_holds(leaf, index, upto, &path, tree.root()));
        }
        assert_eq!(tree.root_at(upto + 1).unwrap(), None);
        assert_eq!(tree.consistency(1, upto + 1).unwrap(), None);
        let stranger = leaf_hash(b"no entry");
        assert_eq!(tree.inclusion(stranger, 0, upto).unwrap(), None);
    }
}

/// Work is counted by what is read: a second look reads one entry, not the journal.
#[test]
fn what_was_drawn_once_is_not_drawn_again() {
    let dir = tempfile::tempdir().unwrap();
    let reader = journal(dir.path(), 600);
    KeptTree::follow(&reader).unwrap();
    let state = Layout::new(dir.path()).tree_state();
    let before = fs::read(&state).unwrap();
    let reader = journal(dir.path(), 601);
    // Damage in the old part of the journal is not met: it is not read again.
    let segment = Layout::new(dir.path()).segment(Seq(1));
    let mut bytes = fs::read(&segment).unwrap();
    bytes[5000] ^= 1;
    fs::write(&segment, &bytes).unwrap();
    let tree = KeptTree::follow(&reader).unwrap();
    assert_eq!(tree.size(), 601);
    assert_ne!(fs::read(&state).unwrap(), before);
}

#[test]
fn a_missing_cut_or_altered_file_costs_a_new_drawing_and_nothing_else() {
    let dir = tempfile::tempdir().unwrap();
    let reader = journal(dir.path(), 600);
    let leaves = leaves_of(&reader);
    let root = naive_root(&leaves);
    let layout = Layout::new(dir.path());
    KeptTree::follow(&reader).unwrap();
    let check = |what: &str| {
        let mut tree = KeptTree::follow(&reader).unwrap();
        assert_eq!((tree.size(), tree.root()), (600, root), "{what}");
        let path = tree.inclusion(leaves[3], 3, 600).unwrap();
        let path = path.unwrap_or_else(|| panic!("{what}"));
        assert!(inclusion_holds(leaves[3], 3, 600, &path, root), "{what}");
    };
    for file in [layout.tree_state(), layout.tree_level(0)] {
        let good = fs::read(&file).unwrap();
        for at in [0, 10, 40, 70, good.len() / 2, good.len() - 1] {
            let mut bad = good.clone();
            bad[at] ^= 1;
            fs::write(&file, &bad).unwrap();
            check(&format!("{} byte {at}", file.display()));
        }
        fs::write(&file, &good[..good.len() / 2]).unwrap();
        check("cut");
        fs::write(&file, b"").unwrap();
        check("empty");
        fs::remove_file(&file).unwrap();
        check("gone");
    }
    fs::remove_dir_all(layout.tree_dir()).unwrap();
    check("no folder");
    // A file where the folder should be: nothing can be stored, and nothing is wrong.
    fs::remove_dir_all(layout.tree_dir()).unwrap();
    fs::write(layout.tree_dir(), b"in the way").unwrap();
    check("a file in the way");
}

/// A tree of a journal that was cut back is not that of the journal that went on from there.
#[test]
fn a_tree_of_other_entries_is_drawn_anew() {
    let dir = tempfile::tempdir().unwrap();
    let short = journal(dir.path(), 300);
    let leaves = leaves_of(&short);
    let other = tempfile::tempdir().unwrap();
    create(other.path());
    let store = open(other.path());
    store.append(entries(1001..=1300), None).unwrap();
    drop(store);
    let longer = FileReader::open(other.path()).unwrap();
    KeptTree::follow(&longer).unwrap();
    fs::rename(other.path().join("tree"), dir.path().join("tree")).unwrap();
    let tree = KeptTree::follow(&short).unwrap();
    assert_eq!(tree.root(), naive_root(&leaves));
}

/// The entry after a damaged one names its hash, so that older checkpoints still fit.
#[test]
fn one_damaged_entry_keeps_its_leaf_and_two_in_a_row_lose_one() {
    let dir = tempfile::tempdir().unwrap();
    let reader = journal(dir.path(), 20);
    let leaves = leaves_of(&reader);
    let frames: Vec<_> = reader.read_from(Seq(1)).map(Result::unwrap).collect();
    let segment = Layout::new(dir.path()).segment(Seq(1));
    let start = |seq: usize| -> usize {
        104 + frames[..seq - 1]
            .iter()
            .map(|frame| frame.bytes().len())
            .sum::<usize>()
    };
    let mut bytes = fs::read(&segment).unwrap();
    bytes[start(7) + 200] ^= 1;
    fs::write(&segment, &bytes).unwrap();
    let reader = FileReader::open(dir.path()).unwrap();
    let tree = KeptTree::follow(&reader).unwrap();
    assert_eq!(tree.root(), naive_root(&leaves), "one");
    assert_eq!(tree.index(Seq(8)), Some(7));

    bytes[start(8) + 200] ^= 1;
    fs::write(&segment, &bytes).unwrap();
    fs::remove_dir_all(dir.path().join("tree")).unwrap();
    let reader = FileReader::open(dir.path()).unwrap();
    let tree = KeptTree::follow(&reader).unwrap();
    assert_eq!(tree.size(), 19);
    let fewer: Vec<_> = leaves[..6].iter().chain(&leaves[7..]).copied().collect();
    assert_eq!(tree.root(), naive_root(&fewer), "two");
    assert_eq!(tree.index(Seq(9)), Some(7));
    assert_eq!(tree.index(Seq(20)), Some(18));
}

#[test]
fn each_patient_has_what_bears_the_pseudonym() {
    let dir = tempfile::tempdir().unwrap();
    let reader = journal(dir.path(), 23);
    let tree = KeptTree::follow(&reader).unwrap();
    for patient in 1..5_u8 {
        let patient = crate::record::ids::Pseudonym([patient; 16]);
        let frames = reader.read_from(Seq(1)).map(Result::unwrap);
        let theirs = frames.filter(|frame| frame.header().patient == patient);
        let chain = PatientChain::of(theirs.map(|frame| frame.hash()));
        assert_eq!(tree.tally().of(patient), chain);
        assert!(chain.entries >= 4);
    }
    // The tests' entries are of kind 1, which is counted under nobody's pseudonym.
    assert_eq!(tree.tally().patients(), 4);
    let nobody = crate::record::ids::Pseudonym::ZERO;
    assert_eq!(tree.tally().of(nobody).entries, 4);
    let again = KeptTree::follow(&reader).unwrap();
    assert_eq!(again.tally(), tree.tally());
}
