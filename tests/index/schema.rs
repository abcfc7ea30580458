//! An index drawn by another version of the fold must not be taken for this one's.

use handfast::ward::Ward;
use handfast::ward::index::SCHEMA;

use crate::material::story;

/// What the fold makes of a fixed story of every kind of entry.
#[test]
fn the_schema_number_is_raised_when_the_state_changes() {
    let story = story(2_026, 3_000);
    assert_eq!(
        short_digest(format!("{:?}", story.entries).as_bytes()),
        "90702eae2278d1aca386253888f2b7cc",
        "\nThe story this test tells is not what it was (tests/ward/material.rs or the record \
         layer changed). Put its new digest here; the digest below then changes too.\n"
    );
    let layout = bincode::config::legacy();
    let mut ward = Ward::new();
    let mut batch = ward.batch(&story);
    for entry in &story.entries {
        batch.apply(entry);
    }
    batch.finish();
    let bytes = bincode::serde::encode_to_vec(&ward, layout).unwrap();
    assert_eq!(
        (SCHEMA, short_digest(&bytes).as_str()),
        (14, "ebd507857d3f03fa4847585f62838297"),
        "\nThe state that the fold makes of the same entries is not what it was. If that is \
         meant, raise `SCHEMA` in src/ward/index.rs (unless that was done since the last \
         release) and put the digest found here into this test: an index on somebody's disk \
         would otherwise go on showing the old state.\n"
    );
}

fn short_digest(bytes: &[u8]) -> String {
    blake3::hash(bytes).to_hex()[..32].to_owned()
}
