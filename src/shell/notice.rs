//! What others do while a line is typed: it appears above the line and never waits for it.
//!
//! The editor's channel is small and only read while a line is being typed, so notices are
//! offered to it without waiting, and kept here until it takes them. When too many pile up the
//! oldest go, and a line says how many: every alert is still in the ledger.

use std::collections::VecDeque;
use std::sync::mpsc::SyncSender;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::lines::columns;
use crate::view::render::wrap::wrapped;

/// Most notices kept for a reader who is not at the prompt.
const KEPT_MAX: usize = 40;

#[derive(Debug, Default)]
struct Board {
    sender: Option<SyncSender<String>>,
    open: bool,
    waiting: VecDeque<String>,
    dropped: usize,
}

/// Where notices are pinned up.
#[derive(Debug, Clone, Default)]
pub(super) struct NoticeBoard(Arc<Mutex<Board>>);

impl NoticeBoard {
    fn get(&self) -> MutexGuard<'_, Board> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The editor that shows them now.
    pub(super) fn pin_to(&self, sender: SyncSender<String>) {
        self.get().sender = Some(sender);
    }

    /// A line is being typed: what waits is shown.
    pub(super) fn open(&self) {
        let mut board = self.get();
        board.open = true;
        board.offer();
    }

    /// Nobody reads the channel now.
    pub(super) fn close(&self) {
        self.get().open = false;
    }

    /// The person left: the next one starts with an empty board and the ward's counts.
    pub(super) fn clear(&self) {
        let mut board = self.get();
        board.waiting.clear();
        board.dropped = 0;
    }

    /// Pins up a notice, already harmless for a terminal. Never waits.
    pub(super) fn pin(&self, notice: &str) {
        let mut board = self.get();
        board.waiting.push_back(laid_out(notice, columns()));
        if board.waiting.len() > KEPT_MAX {
            board.waiting.pop_front();
            board.dropped += 1;
        }
        board.offer();
    }
}

/// Broken between words: the editor prints a line as it comes, and the terminal would cut a number
/// in two. One column is left, or a line that just fits would be followed by an empty one.
fn laid_out(notice: &str, columns: usize) -> String {
    wrapped(notice, columns.saturating_sub(1))
}

impl Board {
    fn offer(&mut self) {
        if !self.open {
            return;
        }
        let Some(sender) = &self.sender else { return };
        if self.dropped > 0 {
            let said = format!(
                "! {} earlier notices are not shown; \"alerts\" lists what is open",
                self.dropped
            );
            if sender.try_send(said).is_err() {
                return;
            }
            self.dropped = 0;
        }
        while let Some(notice) = self.waiting.pop_front() {
            if let Err(full) = sender.try_send(notice) {
                let (std::sync::mpsc::TrySendError::Full(notice)
                | std::sync::mpsc::TrySendError::Disconnected(notice)) = full;
                self.waiting.push_front(notice);
                return;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc::sync_channel;

    #[test]
    fn a_notice_breaks_between_words() {
        let notice =
            "! #806 19:22 ALERT urgent: breathless, lips blue; T18 PELL, Rose (Mrs) (Maya)";
        for columns in 30..90 {
            let shown = laid_out(notice, columns);
            assert!(shown.lines().all(|line| line.len() < columns), "{shown}");
            let words: Vec<&str> = shown.split_whitespace().collect();
            assert_eq!(words, notice.split_whitespace().collect::<Vec<_>>());
        }
    }

    #[test]
    fn notices_wait_for_a_reader_and_never_block() {
        let board = NoticeBoard::default();
        let (sender, receiver) = sync_channel(2);
        board.pin_to(sender);
        board.pin("one");
        assert!(receiver.try_recv().is_err(), "nobody types yet");
        board.open();
        assert_eq!(receiver.try_recv().as_deref(), Ok("one"));
        for number in 0..100 {
            board.pin(&number.to_string());
        }
        assert_eq!(
            receiver.try_iter().count(),
            2,
            "as many as the channel holds"
        );
        board.pin("last");
        let said = receiver.try_recv().expect("a line");
        assert!(said.contains("earlier notices are not shown"), "{said}");
    }
}
