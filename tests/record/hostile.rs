//! Payload bytes made to do harm: whatever they are, the answer is a value or an error, never
//! a panic, never memory on a stranger's word.

use std::process::Command;

use handfast::record::codec::{self, DecodeError, ENCODING, PAYLOAD_BYTES_MAX};
use handfast::record::kind::Kind;

use crate::golden::goldens;

/// Decodes; what is accepted in the newest version must be written back as the same bytes.
/// There is one encoding per value, so nobody can dress one entry in other bytes.
fn decode(kind: Kind, version: u8, bytes: &[u8]) -> Result<(), DecodeError> {
    let (envelope, body) = codec::decode(kind.code(), version, ENCODING, bytes)?;
    let again = codec::encode(&envelope, &body).unwrap();
    assert!(
        version != kind.version() || again == bytes,
        "{}: two encodings",
        kind.name()
    );
    Ok(())
}

#[test]
fn a_payload_cut_anywhere_is_refused() {
    for (kind, version, case) in goldens() {
        let bytes = case.payload();
        for length in 0..bytes.len() {
            let cut = decode(kind, version, &bytes[..length]);
            assert!(
                matches!(cut, Err(DecodeError::Malformed(_))),
                "{} {length}",
                kind.name()
            );
        }
    }
}

#[test]
fn one_byte_more_is_refused() {
    for (kind, version, case) in goldens() {
        for extra in [0, 1, 255] {
            let mut bytes = case.payload();
            bytes.push(extra);
            let longer = decode(kind, version, &bytes);
            assert!(
                matches!(longer, Err(DecodeError::TrailingBytes(1))),
                "{}",
                kind.name()
            );
        }
    }
}

/// In every place where a golden payload holds a moment: `occurred_at`, `due`, `next`, ….
#[test]
fn a_time_beyond_the_years_of_the_format_is_refused() {
    let (from, before) = (-2_208_988_800_000_000_i64, 7_258_118_400_000_000_i64);
    let mut places = 0;
    for (kind, version, case) in goldens() {
        let sound = case.payload();
        for at in 0..sound.len() - 7 {
            let here = i64::from_le_bytes(sound[at..at + 8].try_into().unwrap());
            // Every payload begins with `occurred_at`. The full samples' other times lie in these
            // years; no other eight bytes of theirs do.
            if at > 0 && !(1_700_000_000_000_000..1_900_000_000_000_000).contains(&here) {
                continue;
            }
            // Eight bytes inside a text are no moment: the first allowed one would not fit there.
            let with = |time: i64| {
                let mut bytes = sound.clone();
                bytes[at..at + 8].copy_from_slice(&time.to_le_bytes());
                decode(kind, version, &bytes)
            };
            if with(from).is_err() || with(before - 1).is_err() {
                assert!(
                    at > 0,
                    "{}: the format's own years are refused",
                    kind.name()
                );
                continue;
            }
            places += 1;
            for time in [i64::MIN, i64::MAX, from - 1, before] {
                let refused = matches!(with(time), Err(DecodeError::Malformed(_)));
                assert!(refused, "{} byte {at}: {time}", kind.name());
            }
        }
    }
    let samples = goldens().len();
    assert!(
        places > samples + samples / 5,
        "only {places} places in {samples} samples"
    );
}

#[test]
fn every_bit_flipped_is_a_value_or_an_error() {
    let (mut values, mut errors) = (0, 0);
    for (kind, version, case) in goldens() {
        let mut bytes = case.payload();
        for at in 0..bytes.len() {
            for bit in 0..8 {
                bytes[at] ^= 1 << bit;
                match decode(kind, version, &bytes) {
                    Ok(()) => values += 1,
                    Err(_) => errors += 1,
                }
                bytes[at] ^= 1 << bit;
            }
        }
    }
    assert!(
        values > 1000 && errors > 1000,
        "{values} values, {errors} errors"
    );
}

/// Every place of every golden payload as the start of a length that is far too large: some
/// of them are lengths. Run with little memory, see below.
fn claim_everywhere() {
    for (kind, version, case) in goldens() {
        let bytes = case.payload();
        for at in 0..bytes.len().saturating_sub(8) {
            for claim in [
                u64::MAX,
                i64::MAX as u64,
                8 << 30,
                1 << 32,
                PAYLOAD_BYTES_MAX as u64 + 1,
            ] {
                let mut claims = bytes.clone();
                claims[at..at + 8].copy_from_slice(&claim.to_le_bytes());
                let _ = decode(kind, version, &claims);
            }
        }
    }
}

const LIMITED: &str = "HANDFAST_TEST_LIMITED_MEMORY";

/// The test runs itself again where only 1 GiB of addresses can be had, so that a reservation
/// on a claim of 8 GiB ends the process.
#[test]
fn a_huge_claim_reserves_nothing() {
    if std::env::var_os(LIMITED).is_some() {
        let mut probe = Vec::<u8>::new();
        assert!(
            probe.try_reserve_exact(8 << 30).is_err(),
            "memory is not limited here"
        );
        return claim_everywhere();
    }
    let program = std::env::current_exe().unwrap();
    let output = Command::new("sh")
        .args([
            "-c",
            "ulimit -v 1048576 && exec \"$0\" --exact hostile::a_huge_claim_reserves_nothing",
        ])
        .arg(program)
        .env(LIMITED, "1")
        .env("RUST_TEST_THREADS", "1")
        .output()
        .unwrap();
    let text = String::from_utf8_lossy(&output.stdout);
    assert!(
        output.status.success() && text.contains("1 passed"),
        "{text}"
    );
}

/// Sound in every way but its size.
#[test]
fn a_payload_longer_than_any_may_be_is_refused() {
    let sound = |related: u64| {
        let mut payload = vec![0; 8 + 1 + 4 + 1 + 1];
        payload.extend(related.to_le_bytes());
        payload.extend(vec![1; usize::try_from(related).unwrap() * 8]);
        payload.extend(0_u64.to_le_bytes());
        payload.extend([1, 0, 0, 0, 0, 0, 0, 0, b'x', 0, 0]);
        payload
    };
    let note = |related| decode(Kind::Note, 1, &sound(related)).map_err(|error| error.to_string());
    assert_eq!(note(8_000), Ok(()));
    assert!(note(PAYLOAD_BYTES_MAX as u64 / 8).is_err());
}

#[test]
fn numbers_of_a_newer_program_are_named() {
    // An envelope with nothing in it, and no fields.
    let payload = [0; 8 + 1 + 4 + 1 + 1 + 8 + 8];
    let unknown = |code, version, encoding| {
        codec::decode(code, version, encoding, &payload)
            .unwrap_err()
            .to_string()
    };
    assert_eq!(
        unknown(Kind::Contact.code(), 3, ENCODING),
        "version 3 of \"contact\" is not known to this version of the program"
    );
    assert!(unknown(60_000, 1, ENCODING).contains("60000"));
    assert!(unknown(Kind::Contact.code(), 2, 2).contains("encoding 2"));
}

proptest::proptest! {
    #[test]
    fn chance_bytes_are_a_value_or_an_error(
        kind in 0..Kind::ALL.len(),
        bytes in proptest::collection::vec(proptest::num::u8::ANY, 0..400),
    ) {
        let kind = Kind::ALL[kind];
        for version in kind.versions() {
            let _ = decode(kind, *version, &bytes);
        }
    }
}
