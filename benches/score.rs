//! NEWS2 objects a second on one core, in the library and through `handfast score --ndjson`.
//! `cargo bench --bench score`.
//!
//! The peer, in the same run, is serde_json reading each line into its own value type and
//! writing it out again: the least a program does that answers JSON with JSON without knowing
//! the fields. The lines are all different, so that no branch is learnt by heart.

use std::io::Write;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use handfast::clinical::calculator::answer;

const LINES: usize = 400_000;
/// The issue's own floor.
const WANTED_PER_SECOND: f64 = 200_000.0;

fn main() {
    // `cargo test --benches` runs this too; it measures only when asked to.
    if !std::env::args().any(|arg| arg == "--bench") {
        println!("not measured: run with `cargo bench --bench score`");
        return;
    }
    let lines = lines();
    let answered = |said: &str| assert!(said.starts_with(r#"{"ok":true"#), "{said}");
    let library = timed("library: calculator::answer", || {
        lines.iter().for_each(|line| answered(&answer(line)));
    });
    timed("peer: serde_json, line to value to line", || {
        for line in &lines {
            let value: serde_json::Value = serde_json::from_str(line).expect("JSON");
            assert!(value.to_string().len() > 50);
        }
    });
    let program = timed("program: score --ndjson, start to end", || through(&lines));
    for (what, took) in [("library", library), ("program", program)] {
        let rate = rate(took);
        println!(
            "{what}: {:.1} times the wanted rate",
            rate / WANTED_PER_SECOND
        );
    }
}

/// Complete sets, every one possible, over the whole of each scale.
fn lines() -> Vec<String> {
    let line = |n: usize| {
        format!(
            r#"{{"calc":"news2","rr":{},"spo2":{},"scale":{},"oxygen":{},"sbp":{},"hr":{},"acvpu":"{}","temp":{}.{}}}"#,
            8 + n % 24,
            82 + n % 19,
            1 + n / 7 % 2,
            n.is_multiple_of(3),
            80 + n % 150,
            40 + n % 110,
            ["A", "C", "V", "P", "U"][n % 5],
            35 + n % 5,
            n % 10,
        )
    };
    (0..LINES).map(line).collect()
}

fn through(lines: &[String]) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_handfast"))
        .args(["score", "--ndjson"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program");
    let mut input = child.stdin.take().expect("its input");
    let text = lines.join("\n") + "\n";
    let writer = std::thread::spawn(move || input.write_all(text.as_bytes()));
    let output = child.wait_with_output().expect("its answers");
    writer.join().expect("no panic").expect("all written");
    assert!(output.status.success());
    let answers = output.stdout.iter().filter(|byte| **byte == b'\n').count();
    assert_eq!(answers, lines.len());
}

fn timed(what: &str, work: impl FnOnce()) -> Duration {
    let begun = Instant::now();
    work();
    let took = begun.elapsed();
    println!("{what}: {:.0} objects/s", rate(took));
    took
}

#[expect(clippy::cast_precision_loss, reason = "a count")]
fn rate(took: Duration) -> f64 {
    LINES as f64 / took.as_secs_f64()
}
