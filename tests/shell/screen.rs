//! The real program on a pseudo-terminal, with a screen to look at.

use std::io::{Read, Write};
use std::num::NonZeroU16;
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, PtySize, native_pty_system};

const ROWS: NonZeroU16 = NonZeroU16::new(40).expect("not zero");
const COLUMNS: NonZeroU16 = NonZeroU16::new(80).expect("not zero");
/// How long to wait for something to appear before giving up; never waited for in full
/// unless the test fails.
const PATIENCE: Duration = Duration::from_secs(30);

pub struct Screen {
    parser: Arc<Mutex<vt100::Parser>>,
    writer: Arc<Mutex<Box<dyn Write + Send>>>,
    child: Box<dyn Child + Send + Sync>,
}

impl Screen {
    /// The shell on a journal, with these settings.
    pub fn start(journal: &Path, settings: &[(&str, &str)]) -> Screen {
        Screen::running(journal, settings, &["shell"])
    }

    /// The program on a journal with these words.
    pub fn running(journal: &Path, settings: &[(&str, &str)], words: &[&str]) -> Screen {
        let size = PtySize {
            rows: ROWS.get(),
            cols: COLUMNS.get(),
            pixel_width: 0,
            pixel_height: 0,
        };
        let pair = native_pty_system().openpty(size).expect("a pty");
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_handfast"));
        command.env_clear();
        command.env("TERM", "xterm-256color");
        command.env("HANDFAST_JOURNAL", journal);
        for (name, value) in settings {
            command.env(name, value);
        }
        command.args(words);
        let child = pair
            .slave
            .spawn_command(command)
            .expect("the program starts");
        drop(pair.slave);
        let writer = Arc::new(Mutex::new(pair.master.take_writer().expect("a writer")));
        let parser = Arc::new(Mutex::new(vt100::Parser::new(ROWS, COLUMNS, 0)));
        let mut reader = pair.master.try_clone_reader().expect("a reader");
        let (shown, answers) = (Arc::clone(&parser), Arc::clone(&writer));
        thread::spawn(move || {
            // The pseudo-terminal lives as long as somebody reads from it.
            let _master = pair.master;
            let mut bytes = [0; 4096];
            while let Ok(count @ 1..) = reader.read(&mut bytes) {
                let mut parser = shown.lock().expect("the screen");
                parser.process(&bytes[..count]);
                // The editor asks where the cursor is and waits for the answer.
                if bytes[..count].windows(4).any(|window| window == b"\x1b[6n") {
                    let (row, column) = parser.screen().cursor_position();
                    let answer = format!("\x1b[{};{}R", row + 1, column + 1);
                    let _ = answers
                        .lock()
                        .expect("the keyboard")
                        .write_all(answer.as_bytes());
                }
            }
        });
        Screen {
            parser,
            writer,
            child,
        }
    }

    /// Signed in as a person of the ward, PIN from a file.
    pub fn signed_in(journal: &Path, handle: &str) -> Screen {
        let pin = journal.join("../pin");
        std::fs::write(&pin, crate::pin_of(handle)).expect("a file for the PIN");
        let pin = pin.to_str().expect("a path in UTF-8").to_owned();
        let screen = Screen::start(
            journal,
            &[("HANDFAST_USER", handle), ("HANDFAST_PIN_FILE", &pin)],
        );
        screen.wait("ward>");
        screen
    }

    /// Presses keys.
    pub fn keys(&self, keys: &str) {
        let mut writer = self.writer.lock().expect("the keyboard");
        writer.write_all(keys.as_bytes()).expect("keys");
        writer.flush().expect("keys");
    }

    /// Types a line and Enter, and waits for an answer.
    pub fn line(&self, line: &str, answer: &str) -> String {
        self.keys(&format!("{line}\r"));
        self.wait(answer)
    }

    /// What is on the screen.
    pub fn text(&self) -> String {
        self.parser.lock().expect("the screen").screen().contents()
    }

    /// Waits until a text is on the screen; gives the screen.
    pub fn wait(&self, text: &str) -> String {
        self.wait_until(&format!("{text:?} on the screen"), |screen| {
            screen.contains(text)
        })
    }

    /// Waits until something holds of the screen.
    pub fn wait_until(&self, what: &str, holds: impl Fn(&str) -> bool) -> String {
        let begun = Instant::now();
        loop {
            let shown = self.text();
            if holds(&shown) {
                return shown;
            }
            assert!(
                begun.elapsed() < PATIENCE,
                "waited for {what}; the screen is\n{shown}"
            );
            thread::sleep(Duration::from_millis(20));
        }
    }

    /// Waits until the program has ended; gives its exit code.
    pub fn ended(mut self) -> u32 {
        let begun = Instant::now();
        loop {
            if let Some(status) = self.child.try_wait().expect("a child") {
                return status.exit_code();
            }
            assert!(begun.elapsed() < PATIENCE, "the program does not end");
            thread::sleep(Duration::from_millis(20));
        }
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
