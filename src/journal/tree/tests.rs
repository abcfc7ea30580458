//! The tree against published values, against another implementation, and against its definition.

mod kept;
mod patients;

use ct_merkle::mem_backed_tree::MemoryBackedTree;
use proptest::prelude::*;
use sha2::{Digest as _, Sha256};

use super::*;
use crate::record::ids::from_hex;

/// RFC 9162 section 2.1.1, as it is written there.
fn naive_root(leaves: &[TreeHash]) -> TreeHash {
    match leaves.len() {
        0 => TreeHash(Sha256::digest([]).into()),
        1 => leaves[0],
        n => {
            let mut k = 1;
            while k * 2 < n {
                k *= 2;
            }
            node_hash(naive_root(&leaves[..k]), naive_root(&leaves[k..]))
        }
    }
}

/// Section 2.1.3.1, PATH.
fn naive_path(m: usize, leaves: &[TreeHash]) -> Vec<TreeHash> {
    if leaves.len() < 2 {
        return Vec::new();
    }
    let k = leaves.len().next_power_of_two() / 2;
    let (mut path, beside) = if m < k {
        (naive_path(m, &leaves[..k]), naive_root(&leaves[k..]))
    } else {
        (naive_path(m - k, &leaves[k..]), naive_root(&leaves[..k]))
    };
    path.push(beside);
    path
}

/// Section 2.1.4.1, SUBPROOF.
fn naive_subproof(m: usize, leaves: &[TreeHash], known: bool) -> Vec<TreeHash> {
    if m == leaves.len() {
        return if known {
            Vec::new()
        } else {
            vec![naive_root(leaves)]
        };
    }
    let k = leaves.len().next_power_of_two() / 2;
    let (mut path, beside) = if m <= k {
        let path = naive_subproof(m, &leaves[..k], known);
        (path, naive_root(&leaves[k..]))
    } else {
        let path = naive_subproof(m - k, &leaves[k..], false);
        (path, naive_root(&leaves[..k]))
    };
    path.push(beside);
    path
}

pub fn numbered(count: usize) -> Vec<TreeHash> {
    (0..count).map(|n| leaf_hash(&n.to_le_bytes())).collect()
}

fn hash(text: &str) -> TreeHash {
    TreeHash(from_hex(text).unwrap().try_into().unwrap())
}

/// The eight leaves of the reference implementation's tests, the roots over the first 0 to 8 of them,
/// and its proofs (leaf counted from 1 there). Source: `testonly/constants.go` and
/// `proof/verify_test.go` of the open-source repository `transparency-dev/merkle`, which took them from
/// the first implementation of RFC 6962; read in a stored copy.
const LEAVES: [&str; 8] = [
    "",
    "00",
    "10",
    "2021",
    "3031",
    "40414243",
    "5051525354555657",
    "606162636465666768696a6b6c6d6e6f",
];
const ROOTS: [&str; 9] = [
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
];
const INCLUSION: [(u64, u64, &[&str]); 5] = [
    (1, 1, &[]),
    (
        1,
        8,
        &[
            "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
            "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
            "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
        ],
    ),
    (
        6,
        8,
        &[
            "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
            "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
            "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
        ],
    ),
    (
        3,
        3,
        &["fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125"],
    ),
    (
        2,
        5,
        &[
            "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
            "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
            "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
        ],
    ),
];
const CONSISTENCY: [(u64, u64, &[&str]); 5] = [
    (1, 1, &[]),
    (
        1,
        8,
        &[
            "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
            "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
            "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
        ],
    ),
    (
        6,
        8,
        &[
            "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
            "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
            "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
        ],
    ),
    (
        2,
        5,
        &[
            "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
            "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
        ],
    ),
    (
        6,
        7,
        &[
            "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
            "b08693ec2e721597130641e8211e7eedccb4c26413963eee6c1e2ed16ffb1a5f",
            "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
        ],
    ),
];

fn published() -> Vec<TreeHash> {
    LEAVES
        .iter()
        .map(|leaf| leaf_hash(&from_hex(leaf).unwrap()))
        .collect()
}

#[test]
fn roots_are_the_published_ones() {
    let leaves = published();
    let mut edge = Frontier::default();
    assert_eq!(edge.root(), hash(ROOTS[0]));
    for (leaf, root) in leaves.iter().zip(&ROOTS[1..]) {
        edge.push(*leaf);
        assert_eq!(edge.root(), hash(root), "{} leaves", edge.size());
    }
}

#[test]
fn proofs_are_the_published_ones_and_hold() {
    let leaves = published();
    let tree: MemoryTree = leaves.iter().copied().collect();
    let root = |size: u64| hash(ROOTS[usize::try_from(size).unwrap()]);
    for (leaf, size, path) in INCLUSION {
        let path: Vec<_> = path.iter().map(|text| hash(text)).collect();
        assert_eq!(tree.inclusion(leaf - 1, size), Some(path.clone()));
        let leaf_hash = leaves[usize::try_from(leaf - 1).unwrap()];
        assert!(inclusion_holds(
            leaf_hash,
            leaf - 1,
            size,
            &path,
            root(size)
        ));
    }
    for (old, new, path) in CONSISTENCY {
        let path: Vec<_> = path.iter().map(|text| hash(text)).collect();
        assert_eq!(tree.consistency(old, new), Some(path.clone()));
        assert!(consistency_holds(old, new, root(old), root(new), &path));
    }
}

/// `ct-merkle` is an implementation by other people.
#[test]
fn another_implementation_agrees_on_roots_and_proofs() {
    let mut theirs = MemoryBackedTree::<Sha256, Vec<u8>>::new();
    let mut ours = MemoryTree::default();
    for n in 0..70_u64 {
        let data = n.to_le_bytes().to_vec();
        ours.push(leaf_hash(&data));
        theirs.push(data);
        let root = theirs.root();
        assert_eq!(root.as_bytes()[..], ours.root().0, "{n}");
        let size = n + 1;
        for index in 0..size {
            let path = ours.inclusion(index, size).unwrap();
            let bytes: Vec<u8> = path.iter().flat_map(|hash| hash.0).collect();
            let proof = theirs.prove_inclusion(usize::try_from(index).unwrap());
            assert_eq!(proof.as_bytes(), bytes, "leaf {index} of {size}");
        }
        for old in 1..size {
            let path = ours.consistency(old, size).unwrap();
            let bytes: Vec<u8> = path.iter().flat_map(|hash| hash.0).collect();
            let proof = theirs.prove_consistency(usize::try_from(size - old).unwrap());
            assert_eq!(proof.as_bytes(), bytes, "{old} to {size}");
        }
    }
}

proptest! {
    #[test]
    fn roots_and_proofs_are_as_the_definition_says(count in 1usize..300, at in 0usize..300) {
        let leaves = numbered(count);
        let tree: MemoryTree = leaves.iter().copied().collect();
        prop_assert_eq!(tree.root(), naive_root(&leaves));
        let (index, size) = (at % count, count as u64);
        let path = tree.inclusion(index as u64, size).unwrap();
        prop_assert_eq!(&path, &naive_path(index, &leaves));
        prop_assert!(inclusion_holds(leaves[index], index as u64, size, &path, tree.root()));
        let before = naive_root(&leaves[..index]);
        prop_assert_eq!(root_before(index as u64, size, &path), Some(before));
        let old = 1 + at % count;
        let path = tree.consistency(old as u64, size).unwrap();
        prop_assert_eq!(&path, &naive_subproof(old, &leaves, true));
        let old_root = naive_root(&leaves[..old]);
        prop_assert!(consistency_holds(old as u64, size, old_root, tree.root(), &path));
    }

    /// Whatever is altered in a proof, or in what it is held against, it no longer holds.
    #[test]
    fn an_altered_proof_holds_for_nothing(
        count in 2usize..200, at in 0usize..200, bit in 0usize..256, which in 0usize..8,
    ) {
        let leaves = numbered(count);
        let tree: MemoryTree = leaves.iter().copied().collect();
        let (index, size, root) = (at % count, count as u64, tree.root());
        let good = tree.inclusion(index as u64, size).unwrap();
        let (leaf, number) = (leaves[index], index as u64);
        let mut path = good.clone();
        let hash = which % path.len();
        path[hash].0[bit / 8] ^= 1 << (bit % 8);
        prop_assert!(!inclusion_holds(leaf, number, size, &path, root));
        prop_assert!(!inclusion_holds(leaf, number, size, &good[1..], root));
        prop_assert!(!inclusion_holds(leaf, number, size, &good[..good.len() - 1], root));
        let longer: Vec<_> = good.iter().copied().chain([root]).collect();
        prop_assert!(!inclusion_holds(leaf, number, size, &longer, root));
        prop_assert!(!inclusion_holds(leaf, size, size, &good, root));
        prop_assert!(!inclusion_holds(leaf, number ^ 1, size, &good, root));
        prop_assert!(!inclusion_holds(leaves[(index + 1) % count], number, size, &good, root));

        let old = 1 + at % (count - 1);
        let good = tree.consistency(old as u64, size).unwrap();
        let (old, old_root) = (old as u64, naive_root(&leaves[..old]));
        let mut path = good.clone();
        let hash = which % path.len();
        path[hash].0[bit / 8] ^= 1 << (bit % 8);
        prop_assert!(!consistency_holds(old, size, old_root, root, &path));
        prop_assert!(!consistency_holds(old, size, old_root, root, &good[1..]));
        prop_assert!(!consistency_holds(old, size, root, root, &good));
        prop_assert!(!consistency_holds(old, size, old_root, old_root, &good));
        prop_assert!(!consistency_holds(size, old, root, old_root, &good));
    }

    /// Anything at all: an answer, no panic.
    #[test]
    fn nonsense_is_refused_without_a_panic(
        index: u64, size: u64, old: u64,
        path in proptest::collection::vec(any::<[u8; 32]>(), 0..70),
    ) {
        let path: Vec<_> = path.into_iter().map(TreeHash).collect();
        let root = leaf_hash(b"root");
        prop_assert!(!inclusion_holds(leaf_hash(b"leaf"), index, size, &path, root));
        prop_assert!(index < size || root_before(index, size, &path).is_none());
        prop_assert!(!consistency_holds(old, size, leaf_hash(b"old"), root, &path));
    }
}

#[test]
fn sizes_at_the_ends_are_answered_as_agreed() {
    let tree: MemoryTree = numbered(5).into_iter().collect();
    assert_eq!(tree.inclusion(5, 5), None);
    assert_eq!(tree.inclusion(0, 6), None);
    assert_eq!(tree.consistency(0, 5), Some(Vec::new()));
    assert_eq!(tree.consistency(5, 5), Some(Vec::new()));
    assert_eq!(tree.consistency(5, 4), None);
    assert!(consistency_holds(0, 5, empty_root(), tree.root(), &[]));
    assert!(!consistency_holds(0, 5, tree.root(), tree.root(), &[]));
    assert!(!consistency_holds(
        5,
        5,
        tree.root(),
        tree.root(),
        &[tree.root()]
    ));
    assert!(!inclusion_holds(tree.root(), 0, 0, &[], tree.root()));
    assert!(inclusion_holds(tree.root(), 0, 1, &[], tree.root()));
}
