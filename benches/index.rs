//! The ward's index at 200 patients and 100,000 entries: folding without it, writing it,
//! taking the ward from it. `cargo bench --bench index`.

#[path = "support/ward_journal.rs"]
mod ward_journal;

use std::path::Path;
use std::time::{Duration, Instant};

use handfast::journal::{FileReader, ReadJournal};
use handfast::ward::Ward;
use handfast::ward::draw::{Drawn, Source};
use handfast::ward::index::Index;
use ward_journal::Size;

const RUNS: usize = 5;

fn main() {
    // `cargo test --benches` runs this too; it measures only when asked to.
    if !std::env::args().any(|arg| arg == "--bench") {
        println!("not measured: run with `cargo bench --bench index`");
        return;
    }
    for withdraw_every in [0, 100] {
        measure(Size {
            patients: 200,
            entries: 100_000,
            withdraw_every,
        });
    }
}

fn measure(size: Size) {
    let dir = tempfile::tempdir_in(".").expect("a folder on the disk that is measured");
    let journal = dir.path().join("ward");
    ward_journal::make(&journal, size);
    let reader = open(&journal);
    let index = Index::new(reader.layout(), reader.journal());
    println!(
        "\n{} entries, {} patients, one in {} withdraws another",
        size.entries, size.patients, size.withdraw_every
    );
    let (fold, mut drawn) = best(|| Drawn::from_journal(&open(&journal)));
    say("fold everything", fold, Some(size.entries));
    let (decode, _) = best(|| decode_only(&open(&journal)));
    say(
        "  of which reading, checking and decoding",
        decode,
        Some(size.entries),
    );
    if size.withdraw_every > 0 {
        let one_by_one = once(|| one_by_one(&reader));
        say(
            "the same, each amendment drawn at once",
            one_by_one,
            Some(size.entries),
        );
    }
    let write = once(|| assert_eq!(drawn.keep(&index, &reader), None));
    say("write the whole index", write, None);
    let (load, _) = best(|| {
        let (found, note) = Drawn::from_index(&open(&journal), &index);
        assert_eq!(note, None);
        found
    });
    say("take the ward from the index", load, Some(size.entries));
    let mut more = size.entries;
    let mut add = || {
        more += 1;
        ward_journal::add_note(&journal, size, more);
    };
    add();
    let (mut grown, _) = Drawn::from_index(&open(&journal), &index);
    let one = once(|| assert_eq!(grown.keep(&index, &open(&journal)), None));
    say("write the index after one more entry", one, None);
    let many = once(|| {
        for _ in 0..100 {
            add();
            let (mut grown, _) = Drawn::from_index(&open(&journal), &index);
            assert_eq!(grown.keep(&index, &open(&journal)), None);
        }
    });
    say(
        "one entry more, from append to index, of 100",
        many / 100,
        None,
    );
    let bytes = |part: &str| folder_bytes(&journal.join(part)) >> 20;
    println!(
        "on disk: index {} MiB, segments {} MiB",
        bytes("index"),
        bytes("segments")
    );
}

fn open(journal: &Path) -> FileReader {
    FileReader::open(journal).expect("the journal")
}

fn decode_only(reader: &FileReader) -> usize {
    let frames = reader.read_from(handfast::record::ids::Seq(1));
    let reads = frames.map(|frame| handfast::ward::Read::from_frame(&frame.expect("a frame")));
    reads.filter(|read| read.entry().is_some()).count()
}

fn one_by_one(reader: &FileReader) {
    let mut ward = Ward::new();
    let source = Source(reader);
    for frame in reader.read_from(handfast::record::ids::Seq(1)) {
        let read = handfast::ward::Read::from_frame(&frame.expect("a frame"));
        ward.apply(read.entry().expect("an entry"), &source);
    }
}

/// The quickest of several runs, and what the last one made.
fn best<T>(mut run: impl FnMut() -> T) -> (Duration, T) {
    let mut quickest = Duration::MAX;
    let mut timed = || {
        let begun = Instant::now();
        let value = run();
        quickest = quickest.min(begun.elapsed());
        value
    };
    for _ in 1..RUNS {
        timed();
    }
    let value = timed();
    (quickest, value)
}

fn once(run: impl FnOnce()) -> Duration {
    let begun = Instant::now();
    run();
    begun.elapsed()
}

fn say(what: &str, took: Duration, entries: Option<u64>) {
    let milliseconds = took.as_secs_f64() * 1e3;
    #[expect(clippy::cast_precision_loss, reason = "a rate for people")]
    let rate = entries.map_or(String::new(), |entries| {
        format!("{:>11.0} entries/s", entries as f64 / took.as_secs_f64())
    });
    println!("{what:<44} {milliseconds:>9.1} ms {rate}");
}

fn folder_bytes(dir: &Path) -> u64 {
    let Ok(listing) = std::fs::read_dir(dir) else {
        return 0;
    };
    let sizes = listing.filter_map(Result::ok).map(|entry| {
        let path = entry.path();
        if path.is_dir() {
            folder_bytes(&path)
        } else {
            entry.metadata().map_or(0, |meta| meta.len())
        }
    });
    sizes.sum()
}
