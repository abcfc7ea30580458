//! What is committed to for each patient.

use proptest::prelude::*;

use crate::journal::tree::*;
use crate::record::ids::{EntryHash, Pseudonym};

fn tally(patients: &[(Pseudonym, u64)]) -> PatientTally {
    let mut tally = PatientTally::default();
    for (patient, entries) in patients {
        let hashes = (0..*entries).map(|n| EntryHash([n.to_le_bytes()[0]; 32]));
        tally.0.insert(*patient, PatientChain::of(hashes));
    }
    tally
}

proptest! {
    #[test]
    fn each_patient_can_be_shown_what_they_have_and_nothing_else_fits(
        mut ids in proptest::collection::btree_map(any::<[u8; 16]>(), 1u64..20, 1..40),
        near: bool, bit in 0usize..128,
    ) {
        // Two pseudonyms that share many bits, too: the deepest place there is.
        if near && let Some((&first, _)) = ids.iter().next() {
            let mut close = first;
            close[bit / 8] ^= 1 << (bit % 8);
            ids.insert(close, 3);
        }
        let rows: Vec<_> = ids.into_iter().map(|(id, n)| (Pseudonym(id), n)).collect();
        let tally = tally(&rows);
        let root = patients_root(&tally);
        for (patient, _) in &rows {
            let path = prove_patient(&tally, *patient).unwrap();
            let chain = tally.of(*patient);
            prop_assert!(patient_proof_holds(*patient, &chain, &path, root));
            let mut fewer = chain;
            fewer.entries -= 1;
            prop_assert!(!patient_proof_holds(*patient, &fewer, &path, root));
            let mut other = chain;
            other.hash[7] ^= 1;
            prop_assert!(!patient_proof_holds(*patient, &other, &path, root));
            let mut stranger = *patient;
            stranger.0[bit / 8] ^= 1 << (bit % 8);
            prop_assert!(!patient_proof_holds(stranger, &chain, &path, root));
        }
        prop_assert!(prove_patient(&tally, Pseudonym([0x5a; 16])).is_none()
            || rows.iter().any(|(p, _)| *p == Pseudonym([0x5a; 16])));
    }
}

/// The order in which patients came makes no difference, and every patient does.
#[test]
fn the_root_is_of_all_patients() {
    let rows = [(Pseudonym([1; 16]), 2), (Pseudonym([0x81; 16]), 5)];
    let both = patients_root(&tally(&rows));
    assert_ne!(both, patients_root(&tally(&rows[..1])));
    assert_ne!(both, patients_root(&tally(&rows[1..])));
    assert_eq!(patients_root(&PatientTally::default()), TreeHash::ZERO);
    let long = vec![both; PATIENT_PROOF_HASHES_MAX + 1];
    let chain = tally(&rows).of(rows[0].0);
    assert!(!patient_proof_holds(rows[0].0, &chain, &long, both));
}
