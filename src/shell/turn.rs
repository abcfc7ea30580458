//! One turn inside a guard: a bug of ours may spoil a turn, never the session or what was
//! typed.

use std::panic::{AssertUnwindSafe, catch_unwind};

use super::draft::Parked;
use super::lines::Refill;
use super::session::{Session, State};

/// Takes a line and says what came of it.
pub(super) fn guarded(session: &mut Session, line: &str) -> String {
    guard(session, line, Session::turn)
}

fn guard(session: &mut Session, line: &str, turn: fn(&mut Session, &str) -> String) -> String {
    let before = session.state.clone();
    let turned = catch_unwind(AssertUnwindSafe(|| turn(session, line)));
    turned.unwrap_or_else(|_| {
        if !matches!(before, State::Ready(_)) {
            session.state = before;
            session.park_typing("");
        }
        session.park(Parked::Line(line.to_owned()));
        session.state = State::Ready(Some(Refill::at_end(line)));
        session.refused += 1;
        "The program made a mistake in this turn. What you typed is back below. Look at the \
         timeline before you enter it again: it may have been recorded."
            .to_owned()
    })
}

#[cfg(test)]
mod tests {
    use std::sync::{Arc, Mutex};

    use super::super::known::SharedKnown;
    use super::super::session::held;
    use super::*;
    use crate::record::person::Handle;
    use crate::record::time::{Timestamp, WardZone};
    use crate::station::clock::FixedClock;
    use crate::station::{InitRequest, Station};

    #[test]
    fn a_panic_spoils_the_turn_and_nothing_else() {
        let dir = tempfile::tempdir().expect("a folder");
        let request = InitRequest {
            ward: "Tansy Ward".to_owned(),
            zone: WardZone::LONDON,
            teaching: true,
            handle: Handle("keeper".to_owned()),
            name: "Kit Keeper".to_owned(),
            secret: "4729-11".to_owned().into(),
        };
        let clock = Arc::new(FixedClock::new(Timestamp(1_784_208_000_000_000)));
        let path = dir.path().join("journal");
        let (station, keeper) = Station::init(&path, &request, clock).expect("a ward");
        let station = Arc::new(Mutex::new(station));
        let mut session = Session::new(Arc::clone(&station), SharedKnown::default(), true);
        session.unlocked(keeper);
        let said = guard(&mut session, "v rr18", |session, _| {
            let _station = held(&session.station);
            panic!("a bug of ours, with the station held")
        });
        assert!(said.contains("What you typed is back below"), "{said}");
        assert!(matches!(&session.state, State::Ready(Some(refill)) if refill.line == "v rr18"));
        // The next turn works, although the lock was held when it happened.
        assert!(guarded(&mut session, "help").contains("I am handing over"));
        assert!(guarded(&mut session, "draft").is_empty());
        assert!(matches!(&session.state, State::Ready(Some(refill)) if refill.line == "v rr18"));
    }
}
