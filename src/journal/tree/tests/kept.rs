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
    let state = fs::read(layout.tree_state()).unwrap();
    let check = |what: &str| {
        let mut tree = KeptTree::follow(&reader).unwrap();
        assert_eq!((tree.size(), tree.root()), (600, root), "{what}");
        // One of each tile.
        for index in [3, 300] {
            let leaf = leaves[usize::try_from(index).unwrap()];
            let path = tree.inclusion(leaf, index, 600).unwrap();
            let path = path.unwrap_or_else(|| panic!("{what}"));
            assert!(inclusion_holds(leaf, index, 600, &path, root), "{what}");
        }
    };
    check("as it was");
    for file in [layout.tree_state(), layout.tree_level(0)] {
        let good = fs::read(&file).unwrap();
        for at in [0, 10, 40, 70, good.len() / 2, good.len() - 1] {
            let mut bad = good.clone();
            bad[at] ^= 1;
            fs::write(&file, &bad).unwrap();
            check(&format!("{} byte {at}", file.display()));
            // It was drawn anew, and so it is right again: what was wrong was not believed.
            let mended = fs::read(&file).unwrap();
            assert!(mended == good, "{} byte {at}", file.display());
        }
        fs::write(&file, &good[..good.len() / 2]).unwrap();
        check("cut");
        fs::write(&file, b"").unwrap();
        check("empty");
        fs::remove_file(&file).unwrap();
        check("gone");
    }
    assert!(fs::read(layout.tree_state()).unwrap() == state);
    fs::remove_dir_all(layout.tree_dir()).unwrap();
    check("no folder");
    // A file where the folder should be: nothing can be stored, and nothing is wrong.
    fs::remove_dir_all(layout.tree_dir()).unwrap();
    fs::write(layout.tree_dir(), b"in the way").unwrap();
    check("a file in the way");
}

/// A tree of a journal that was cut back is not that of the journal that went on from there: same
/// journal, same length, other entries at the end.
#[test]
fn a_tree_of_other_entries_is_drawn_anew() {
    let (one, other) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    journal(one.path(), 280);
    for folder in ["segments", "flushed"] {
        let (from, to) = (one.path().join(folder), other.path().join(folder));
        if from.is_dir() {
            fs::create_dir(&to).unwrap();
            for file in fs::read_dir(&from).unwrap() {
                let file = file.unwrap();
                fs::copy(file.path(), to.join(file.file_name())).unwrap();
            }
        } else if from.exists() {
            fs::copy(from, to).unwrap();
        }
    }
    let short = journal(one.path(), 300);
    let store = open(other.path());
    store.append(entries(1281..=1300), None).unwrap();
    drop(store);
    let forked = FileReader::open(other.path()).unwrap();
    assert_eq!(short.journal(), forked.journal());
    let (leaves, others) = (leaves_of(&short), leaves_of(&forked));
    assert!(leaves.len() == 300 && others.len() == 300);
    assert!(leaves[..280] == others[..280] && leaves != others);
    KeptTree::follow(&forked).unwrap();
    fs::rename(other.path().join("tree"), one.path().join("tree")).unwrap();
    let tree = KeptTree::follow(&short).unwrap();
    assert_eq!(tree.root(), naive_root(&leaves));
}

/// What a state says, and its bytes with another of these changed and its check value made good: the check
/// needs no key, so whoever has the folder can do it.
fn forge(layout: &Layout, change: impl Fn(&mut Vec<u8>)) {
    let path = layout.tree_state();
    let mut bytes = fs::read(&path).unwrap();
    bytes.truncate(bytes.len() - 32);
    let before = bytes.clone();
    change(&mut bytes);
    assert_ne!(bytes, before);
    let check = crate::journal::chain::tree_check(&bytes);
    bytes.extend_from_slice(&check);
    fs::write(path, bytes).unwrap();
}

/// No number in a forged state makes a panic, and none that cannot be is taken.
#[test]
fn a_forged_state_that_cannot_be_is_drawn_anew() {
    let dir = tempfile::tempdir().unwrap();
    let reader = journal(dir.path(), 300);
    let root = naive_root(&leaves_of(&reader));
    let layout = Layout::new(dir.path());
    let number = |at: usize, to: u64| {
        move |bytes: &mut Vec<u8>| bytes[at..at + 8].copy_from_slice(&to.to_le_bytes())
    };
    // Magic 8, journal 16, last 8, its hash 32, size 8, shifts 8, levels 8, hashes in the first 8.
    for (what, at, to) in [
        ("size: all", 64, u64::MAX),
        ("size: half of all", 64, 1 << 63),
        ("size: one more", 64, 301),
        ("size: a tile more", 64, 556),
        ("size: none", 64, 0),
        ("last: none", 24, 0),
        ("last: one before", 24, 299),
        ("shifts: many", 72, 1 << 20),
        ("levels: one", 80, 1),
        ("hashes: fewer", 88, 43),
    ] {
        fs::remove_dir_all(layout.tree_dir()).unwrap_or_default();
        KeptTree::follow(&reader).unwrap();
        forge(&layout, number(at, to));
        let tree = KeptTree::follow(&reader).unwrap();
        assert_eq!((tree.size(), tree.root()), (300, root), "{what}");
    }
}

/// A forged state that could be: the tree it gives is false, and no proof comes of it. What a signed root is
/// held against is drawn anew before anything is refused.
#[test]
fn a_forged_state_that_could_be_costs_a_new_drawing() {
    let dir = tempfile::tempdir().unwrap();
    let reader = journal(dir.path(), 300);
    let leaves = leaves_of(&reader);
    let root = naive_root(&leaves);
    let layout = Layout::new(dir.path());
    let shifted = |bytes: &mut Vec<u8>| {
        // One shift that agrees with the size: entry 100 is leaf 99 by it as well, entry 90 is not leaf 89.
        bytes.splice(72..80, 2u64.to_le_bytes());
        let shifts = [50u64, 60, 100, 99].map(u64::to_le_bytes);
        bytes.splice(80..80, shifts.concat());
    };
    let last_hash = |bytes: &mut Vec<u8>| *bytes.last_mut().unwrap() ^= 1;
    type Change<'a> = &'a dyn Fn(&mut Vec<u8>);
    for change in [&shifted as Change<'_>, &last_hash] {
        fs::remove_dir_all(layout.tree_dir()).unwrap_or_default();
        KeptTree::follow(&reader).unwrap();
        forge(&layout, change);
        let entry = (Seq(90), reader.read(Seq(90)).unwrap().hash());
        let mut tree = KeptTree::follow(&reader).unwrap();
        let (index, path) = tree.prove(entry, (300, root)).unwrap().unwrap();
        assert_eq!(index, 89);
        assert!(inclusion_holds(leaves[89], 89, 300, &path, root));
        let mut tree = KeptTree::follow(&reader).unwrap();
        assert!(tree.has_root(300, root).unwrap());
        assert!(!tree.has_root(300, leaf_hash(b"false")).unwrap());
    }
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
    let mut grown = Grown::of(reader.journal(), []);
    for frame in reader.read_from(Seq(1)) {
        grown.take(&TreeEntry::from(&frame.unwrap()));
    }
    for patient in 1..5_u8 {
        let patient = crate::record::ids::Pseudonym([patient; 16]);
        let frames = reader.read_from(Seq(1)).map(Result::unwrap);
        let theirs = frames.filter(|frame| frame.header().patient == patient);
        let chain = PatientChain::of(theirs.map(|frame| frame.hash()));
        assert_eq!(grown.tally().of(patient), chain);
        assert!(chain.entries >= 4);
    }
    // The tests' entries are of kind 1, which is counted under nobody's pseudonym.
    assert_eq!(grown.tally().patients(), 4);
    let nobody = crate::record::ids::Pseudonym::ZERO;
    assert_eq!(grown.tally().of(nobody).entries, 4);
}
