//! Runs what may panic or hang so that neither reaches the user.

use std::panic::{AssertUnwindSafe, PanicHookInfo, catch_unwind, set_hook, take_hook};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::Duration;

use super::cache::Trouble;

/// Name of the thread the work runs on.
const NAME: &str = "handfast-index";
/// How sled names the threads it starts.
const SLED_NAMES: &str = "sled-";

/// The panic hook belongs to the whole process: one at a time may exchange it.
static HOOK: Mutex<()> = Mutex::new(());

type Hook = Box<dyn Fn(&PanicHookInfo<'_>) + Sync + Send + 'static>;

/// Runs `job` on its own thread, for at most `patience`. A panic in it, or in a thread it
/// started, prints nothing; panics elsewhere in the program print as ever.
pub(super) fn run<T: Send + 'static>(
    patience: Duration,
    job: impl FnOnce() -> Result<T, Trouble> + Send + 'static,
) -> Result<T, Trouble> {
    let _one_at_a_time = HOOK.lock().unwrap_or_else(PoisonError::into_inner);
    let silence = Silence::begin();
    let (send, receive) = channel();
    let work = move || {
        let outcome = catch_unwind(AssertUnwindSafe(job));
        // Whoever waited may have gone.
        let _ = send.send(outcome);
    };
    let thread = match thread::Builder::new().name(NAME.to_owned()).spawn(work) {
        Ok(thread) => thread,
        Err(error) => return Err(Trouble::NotKept(error.to_string())),
    };
    match receive.recv_timeout(patience) {
        Ok(outcome) => {
            let _ = thread.join();
            outcome.unwrap_or_else(|panic| Err(Trouble::Damaged(words(&*panic))))
        }
        Err(RecvTimeoutError::Disconnected) => Err(Trouble::Damaged("it stopped".to_owned())),
        Err(RecvTimeoutError::Timeout) => {
            // The thread is still at it, and may yet panic.
            silence.keep();
            Err(Trouble::TooSlow)
        }
    }
}

/// The first line of a panic's message.
fn words(panic: &(dyn std::any::Any + Send)) -> String {
    let text = panic
        .downcast_ref::<&str>()
        .copied()
        .or_else(|| panic.downcast_ref::<String>().map(String::as_str));
    let line = text.and_then(|text| text.lines().next());
    let plain = line.unwrap_or("no reason given").chars();
    plain.filter(|c| !c.is_control()).take(120).collect()
}

/// While it lives, panics on the index's own threads print nothing.
struct Silence {
    before: Option<Arc<Hook>>,
}

impl Silence {
    fn begin() -> Silence {
        let before = Arc::new(take_hook());
        let others = Arc::clone(&before);
        set_hook(Box::new(move |info| {
            let name = thread::current().name().map(str::to_owned);
            let ours = name.is_some_and(|name| name == NAME || name.starts_with(SLED_NAMES));
            if !ours {
                others(info);
            }
        }));
        Silence {
            before: Some(before),
        }
    }

    fn keep(mut self) {
        self.before = None;
    }
}

impl Drop for Silence {
    fn drop(&mut self) {
        let Some(before) = self.before.take() else {
            return;
        };
        if thread::panicking() {
            return;
        }
        drop(take_hook());
        // With ours gone nobody else has it.
        match Arc::try_unwrap(before) {
            Ok(before) => set_hook(before),
            Err(before) => set_hook(Box::new(move |info| before(info))),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SOON: Duration = Duration::from_secs(5);

    #[test]
    fn hands_on_what_the_job_found() {
        assert_eq!(run(SOON, || Ok(7)), Ok(7));
    }

    #[test]
    fn a_panic_becomes_a_finding_with_its_words() {
        let found = run::<()>(SOON, || panic!("page 3 is\x1b gone\nmore"));
        assert_eq!(found, Err(Trouble::Damaged("page 3 is gone".to_owned())));
    }

    #[test]
    fn nobody_waits_longer_than_their_patience() {
        let begun = std::time::Instant::now();
        let slow = run(Duration::from_millis(30), || {
            thread::sleep(Duration::from_secs(2));
            Ok(())
        });
        assert_eq!(slow, Err(Trouble::TooSlow));
        assert!(begun.elapsed() < Duration::from_secs(1));
    }
}
