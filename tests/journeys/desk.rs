//! A desk on the demo ward: a folder of its own, the real program, and what it answered.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::LazyLock;

use handfast::demo::build::build;
use handfast::demo::cast::{KEEPER, Member, STAFF};
use handfast::journal::{FileReader, FileStore, Head, Layout, ReadJournal, WriteOptions};
use handfast::record::field::ShowContext;
use handfast::record::ids::{JournalId, Seq};
use handfast::record::kind::Kind;
use handfast::station::Station;
use serde_json::Value;
use tempfile::TempDir;

/// Somebody on the demo ward.
pub fn member(handle: &str) -> &'static Member {
    std::iter::once(&KEEPER)
        .chain(&STAFF)
        .find(|member| member.handle == handle)
        .unwrap_or_else(|| panic!("{handle} is not on the demo ward"))
}

/// The demo ward, made once for all tests; nobody writes to it. Left to the system's temporary
/// folder, since statics are never dropped.
pub fn pristine() -> &'static Path {
    static MADE: LazyLock<TempDir> = LazyLock::new(|| {
        let dir = tempfile::tempdir().unwrap();
        build(dir.path()).unwrap();
        dir
    });
    MADE.path()
}

/// Copies a folder and what is in it.
pub fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}

/// A journal folder somebody works on, and files beside it.
pub struct Desk {
    dir: TempDir,
    pub journal: PathBuf,
}

/// What one run of the program answered.
#[derive(Debug)]
pub struct Answer {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Desk {
    /// A fresh copy of the demo ward.
    pub fn demo() -> Desk {
        let desk = Desk::empty();
        copy(pristine(), &desk.journal);
        desk
    }

    /// A folder with no journal in it yet.
    pub fn empty() -> Desk {
        let dir = tempfile::tempdir().unwrap();
        let journal = dir.path().join("journal");
        Desk { dir, journal }
    }

    /// A file beside the journal.
    pub fn file(&self, name: &str, text: &str) -> PathBuf {
        let path = self.dir.path().join(name);
        std::fs::write(&path, text).unwrap();
        path
    }

    /// A path beside the journal.
    pub fn beside(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    /// The program, with nothing from this environment.
    pub fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_handfast"));
        command
            .env_clear()
            .env("NO_COLOR", "1")
            .env("TZ", "Asia/Tokyo") // the ward's own clock counts, not the computer's
            .env("HANDFAST_JOURNAL", &self.journal)
            .env("HANDFAST_DEVICE_DIR", self.beside("device"))
            .args(["--width", "100"])
            .args(args);
        command
    }

    /// The program for somebody of the demo ward, with their PIN.
    pub fn command_as(&self, handle: &str, args: &[&str]) -> Command {
        let pin = self.file(&format!("pin-{handle}"), member(handle).pin);
        let mut command = self.command(args);
        command
            .env("HANDFAST_USER", handle)
            .env("HANDFAST_PIN_FILE", pin);
        command
    }

    /// Runs it as nobody.
    pub fn run(&self, args: &[&str]) -> Answer {
        answer(self.command(args), "")
    }

    /// Runs it as somebody of the demo ward.
    pub fn run_as(&self, handle: &str, args: &[&str]) -> Answer {
        answer(self.command_as(handle, args), "")
    }

    /// Lines typed in the shell, without a terminal.
    pub fn shell(&self, handle: &str, lines: &str) -> Answer {
        answer(self.command_as(handle, &["shell"]), lines)
    }

    /// Records one entry; gives its number.
    pub fn log(&self, handle: &str, fields: &[&str]) -> u64 {
        let args: Vec<&str> = [&["log"], fields].concat();
        let out = self.run_as(handle, &args).done();
        number(&out)
    }

    /// Where the journal stands.
    pub fn head(&self) -> Head {
        FileReader::open(&self.journal).unwrap().head()
    }

    /// Which journal it is.
    pub fn journal_id(&self) -> JournalId {
        FileReader::open(&self.journal).unwrap().journal()
    }

    /// The open alert whose words hold this.
    pub fn open_alert(&self, words: &str) -> u64 {
        let ledger: Value = serde_json::from_str(&self.run(&["alerts", "--json"]).done()).unwrap();
        let alerts = ledger["alerts"].as_array().unwrap();
        let found = alerts
            .iter()
            .find(|alert| alert["what"].as_str().unwrap().contains(words));
        found.expect("an open alert")["raised"]["seq"]
            .as_u64()
            .unwrap()
    }

    /// An entry as its kind and its fields in words.
    pub fn written(&self, seq: u64) -> (Kind, String) {
        let station = Station::open(&self.journal).unwrap();
        let cx = ShowContext {
            zone: station.zone(),
            secrets: false,
        };
        let read = station.entry(Seq(seq)).unwrap();
        let entry = read.entry().unwrap();
        let fields = entry.body.show(&cx).into_iter();
        let words: Vec<String> = fields
            .map(|field| format!("{} {}", field.name, field.text))
            .collect();
        (entry.kind(), words.join("; "))
    }

    /// The file that holds the demo ward's entries.
    pub fn segment(&self) -> PathBuf {
        Layout::new(&self.journal).segment(Seq(1))
    }

    /// Alters the segment's bytes.
    pub fn alter(&self, change: impl FnOnce(&mut Vec<u8>)) {
        let path = self.segment();
        let mut bytes = std::fs::read(&path).unwrap();
        change(&mut bytes);
        std::fs::write(&path, bytes).unwrap();
    }

    /// Where a text of the journal begins in the segment; it stands there once.
    pub fn place_of(&self, text: &str) -> usize {
        let bytes = std::fs::read(self.segment()).unwrap();
        let mut found = bytes
            .windows(text.len())
            .enumerate()
            .filter(|(_, window)| *window == text.as_bytes());
        let (place, _) = found.next().expect("the text is in the journal");
        assert!(found.next().is_none(), "{text:?} stands there twice");
        place
    }
}

/// Runs a command with this standard input.
pub fn answer(mut command: Command, input: &str) -> Answer {
    let mut child = command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A program that has refused already does not read what it is given.
    let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
    Answer::from(child.wait_with_output().unwrap())
}

impl From<Output> for Answer {
    fn from(output: Output) -> Answer {
        Answer {
            code: output.status.code().expect("not killed"),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }
}

impl Answer {
    /// Done, silently on standard error; gives standard output.
    #[track_caller]
    pub fn done(self) -> String {
        assert_eq!((self.code, self.err.as_str()), (0, ""), "{}", self.out);
        self.out
    }

    /// Ended with this code, and said all of this on standard error.
    #[track_caller]
    pub fn failed(self, code: i32, said: &[&str]) -> Answer {
        assert_eq!(self.code, code, "{self:?}");
        says(&self.err, said);
        self
    }
}

/// All of these stand in a text, whatever its line breaks.
#[track_caller]
pub fn says(text: &str, parts: &[&str]) {
    let flat = flat(text);
    for part in parts {
        assert!(flat.contains(part), "{part:?} is not in:\n{text}");
    }
}

/// A text with each run of blanks and line breaks as one blank.
pub fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The number at the beginning of a receipt: `#797 recorded: …`.
pub fn number(receipt: &str) -> u64 {
    let digits = receipt.trim_start_matches('#');
    let end = digits.find(' ').expect("a receipt");
    digits[..end].parse().expect("a number")
}

/// The journal opened for writing by another program, which keeps it until this is dropped.
pub fn hold_lock(journal: &Path, who: &str) -> FileStore {
    let since = Station::open(journal).unwrap().now();
    let options = WriteOptions::new(who, since);
    FileStore::open_writer(journal, &options).unwrap().0
}
