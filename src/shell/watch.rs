//! The watcher: about once a second it takes in what other processes have written, pins up
//! what concerns the person typing, and locks the keyboard when nobody has typed for long.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

use super::activity::Activity;
use super::known::SharedKnown;
use super::look;
use super::notice::NoticeBoard;
use super::session::{SharedStation, held};
use crate::record::ids::{PersonKey, Seq};
use crate::record::person::Handle;
use crate::view::escape::terminal_line;
use crate::ward::Read;

/// How often the idle time is looked at.
const TICK: Duration = Duration::from_millis(200);
/// How often the journal is looked at.
const LOOK: Duration = Duration::from_secs(1);

const LOOK_FAILED: &str = "The program made a mistake while looking for what others wrote: \
     notices may be missing. \"alerts\" and \"tasks\" show what is open.";

/// Who is at the keyboard, and up to which entry they were told.
#[derive(Debug, Default)]
struct Watching {
    person: Option<(Handle, PersonKey, &'static str)>,
    told: Seq,
}

/// What the watcher shares with the shell.
#[derive(Clone)]
pub(super) struct Watcher {
    station: SharedStation,
    known: SharedKnown,
    activity: Activity,
    board: NoticeBoard,
    idle_after: Duration,
    pub(super) idle: Arc<AtomicBool>,
    stop: Arc<AtomicBool>,
    /// Looking has failed, and that was said.
    failed: Arc<AtomicBool>,
    watching: Arc<Mutex<Watching>>,
}

impl Watcher {
    pub(super) fn new(
        station: SharedStation,
        known: SharedKnown,
        activity: Activity,
        board: NoticeBoard,
        idle_after: Duration,
    ) -> Watcher {
        Watcher {
            station,
            known,
            activity,
            board,
            idle_after,
            idle: Arc::default(),
            stop: Arc::default(),
            failed: Arc::default(),
            watching: Arc::default(),
        }
    }

    /// Tells this person about what others write from now on; nobody while it is locked.
    pub(super) fn watch_for(&self, person: Option<(Handle, PersonKey, &'static str)>) {
        let told = held(&self.station).head().seq;
        let mut watching = self.watching.lock().unwrap_or_else(PoisonError::into_inner);
        *watching = Watching { person, told };
        self.board.clear();
    }

    /// Runs until [`Watcher::stop`].
    pub(super) fn start(&self) -> JoinHandle<()> {
        let watcher = self.clone();
        thread::spawn(move || {
            let mut looked = Instant::now();
            while !watcher.stop.load(Ordering::SeqCst) {
                thread::park_timeout(TICK);
                if watcher.activity.idle() >= watcher.idle_after {
                    watcher.idle.store(true, Ordering::SeqCst);
                }
                if looked.elapsed() >= LOOK {
                    looked = Instant::now();
                    watcher.guarded(Watcher::look);
                }
            }
        })
    }

    pub(super) fn stop(&self) {
        self.stop.store(true, Ordering::SeqCst);
    }

    /// A bug of ours may cost the notices, which is said once, never the idle lock.
    fn guarded(&self, look: fn(&Watcher)) {
        let looked = catch_unwind(AssertUnwindSafe(|| look(self)));
        if looked.is_err() && !self.failed.swap(true, Ordering::SeqCst) {
            self.board.pin(LOOK_FAILED);
        }
    }

    /// Takes in what is new. A journal that cannot be read is reported by the next turn, not
    /// from here.
    fn look(&self) {
        let mut watching = self.watching.lock().unwrap_or_else(PoisonError::into_inner);
        let Some((handle, key, role)) = watching.person.clone() else {
            return;
        };
        let mut station = held(&self.station);
        if station.refresh().is_err() {
            return;
        }
        let head = station.head().seq;
        let fresh = (watching.told.0 + 1..=head.0).map(Seq);
        for read in station.entries(fresh).into_iter().flatten() {
            let Read::Entry(entry) = read else { continue };
            if let Some(notice) = look::notice(&station, &entry, Some((&handle, key))) {
                self.board.pin(&terminal_line(&notice));
            }
        }
        let is_new = head != watching.told;
        watching.told = head;
        if is_new {
            let mut known = self.known.get();
            let selected = known
                .selected
                .as_ref()
                .and_then(|patient| patient.key.parse().ok());
            let fresh = look::known(&station, Some((&handle, role)), selected);
            known.patients = fresh.patients;
            known.open = fresh.open;
            known.status = fresh.status;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::desk;
    use super::*;

    #[test]
    fn a_mistake_of_ours_while_looking_is_said_once_and_the_watch_goes_on() {
        let desk = desk();
        let (activity, board) = (Activity::default(), NoticeBoard::default());
        let station = Arc::clone(&desk.session.station);
        let watcher = Watcher::new(
            station,
            desk.session.known.clone(),
            activity,
            board.clone(),
            Duration::ZERO,
        );
        let (sender, shown) = std::sync::mpsc::sync_channel(8);
        board.pin_to(sender);
        board.open();
        for _ in 0..3 {
            watcher.guarded(|watcher| {
                let _station = held(&watcher.station);
                panic!("a bug of ours, with the station held")
            });
        }
        let said: Vec<String> = shown.try_iter().collect();
        let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(
            said.iter().map(|one| words(one)).collect::<Vec<_>>(),
            [LOOK_FAILED]
        );
        let running = watcher.start();
        let begun = Instant::now();
        while !watcher.idle.load(Ordering::SeqCst) && begun.elapsed() < Duration::from_secs(20) {
            thread::sleep(TICK);
        }
        assert!(
            watcher.idle.load(Ordering::SeqCst),
            "the idle lock still works"
        );
        watcher.stop();
        running.join().expect("the watcher ends by itself");
    }
}
