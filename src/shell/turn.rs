//! One turn inside a guard: a bug of ours may spoil a turn, never the session or what was
//! typed.

use std::panic::{AssertUnwindSafe, catch_unwind};

use super::draft::Parked;
use super::session::{Session, State};

/// Takes a line and says what came of it.
pub(super) fn guarded(session: &mut Session, line: &str) -> String {
    let turned = catch_unwind(AssertUnwindSafe(|| session.turn(line)));
    turned.unwrap_or_else(|_| {
        session.park(Parked::Line(line.to_owned()));
        session.state = State::Ready(Some((line.to_owned(), line.len())));
        session.refused += 1;
        "The program made a mistake in this turn. What you typed is back below. Look at the \
         timeline before you enter it again: it may have been recorded."
            .to_owned()
    })
}
