//! Writes the story into a real journal through the station, as the people in it would have.
//!
//! The journal's segments come out the same on every machine: identifiers are counted, signing
//! keys are made from the handles, the ward's own from its name, and the clock stands where the story
//! puts it; so do the checkpoints that are made as a real ward's are. Only people's key files differ, because each is sealed with fresh random salt. Keys that anybody can work out
//! are for a teaching journal only.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use zeroize::Zeroizing;

use super::cast::{Member, ZONE};
use super::player::{Correction, PlayError, StorySink, Withdrawal, play};
use crate::journal::{Layout, OpenError};
use crate::record::draft::Draft;
use crate::record::field::FieldValue;
use crate::record::ids::{JournalId, Seq};
use crate::record::kind::Kind;
use crate::record::kind::ward::AmendmentCause;
use crate::record::person::Handle;
use crate::record::problem::Refusal;
use crate::record::time::Timestamp;
use crate::station::clock::FixedClock;
use crate::station::id_source::IdSource;
use crate::station::keys::{Cost, NewKey};
use crate::station::sealing::Share;
use crate::station::{
    Actor, AmendmentReason, HandoverRequest, InitRequest, StaffRequest, Station, StationError,
    SubmitError,
};

/// Tells this story's identifiers and keys from any other's.
const LABEL: &str = "handfast demo ward";

/// Makes the demo journal in `dir`, which must not hold a journal yet.
///
/// # Errors
/// When the folder holds a journal already or cannot be written, or a scene is not accepted.
pub fn build(dir: &Path) -> Result<Station, PlayError<StationError>> {
    build_as(dir, false).map(|(station, _)| station)
}

/// The same, sealed or not; sealed it is another journal each time, since its keys are, and comes
/// with the three shares of its recovery key.
///
/// # Errors
/// As [`build`].
pub fn build_as(
    dir: &Path,
    sealed: bool,
) -> Result<(Station, Option<[Share; 3]>), PlayError<StationError>> {
    let mut sink = Builder::new(dir);
    sink.sealed = sealed;
    play(&mut sink)?;
    match sink.station {
        Some(station) => Ok((station, sink.shares)),
        None => Err(PlayError::NotYet("the journal itself".to_owned())),
    }
}

struct Builder<'a> {
    dir: &'a Path,
    clock: Arc<FixedClock>,
    station: Option<Station>,
    actors: BTreeMap<&'static str, Actor>,
    sealed: bool,
    shares: Option<[Share; 3]>,
}

/// The station and the person at it, with the clock put to the scene's moment.
struct Desk<'a> {
    station: &'a mut Station,
    actor: &'a Actor,
}

impl<'a> Builder<'a> {
    fn new(dir: &'a Path) -> Builder<'a> {
        Builder {
            dir,
            clock: Arc::new(FixedClock::new(super::cast::OPENED)),
            station: None,
            actors: BTreeMap::new(),
            sealed: false,
            shares: None,
        }
    }

    fn desk(&mut self, at: Timestamp, by: &'static Member) -> Result<Desk<'_>, StationError> {
        self.clock.set(at);
        let station = self.station.as_mut().ok_or(StationError::NoWard)?;
        let actor = self.actors.get(by.handle).ok_or_else(|| {
            StationError::NotStaff(Handle(by.handle.to_owned()), "not enrolled yet".to_owned())
        })?;
        Ok(Desk { station, actor })
    }

    /// The member's key, made from the handle, sealed with the published PIN.
    fn key(member: &Member) -> Result<NewKey, StationError> {
        let seed = Zeroizing::new(derived("key", member.handle));
        let handle = Handle(member.handle.to_owned());
        let cost = Cost::of_journal(true);
        Ok(NewKey::from_seed(&handle, &seed, member.pin, cost)?)
    }
}

/// 32 bytes that depend on nothing but the words.
fn derived(what: &str, of: &str) -> [u8; 32] {
    blake3::derive_key(&format!("{LABEL} {what}"), of.as_bytes())
}

fn journal_id() -> JournalId {
    let bytes = derived("journal", "1");
    let mut id = [0; JournalId::LEN];
    id.copy_from_slice(&bytes[..JournalId::LEN]);
    JournalId(id)
}

impl StorySink for Builder<'_> {
    type Error = StationError;

    fn open(
        &mut self,
        at: Timestamp,
        ward: &str,
        keeper: &'static Member,
    ) -> Result<(), StationError> {
        self.clock.set(at);
        if Layout::new(self.dir).segments_dir().exists() {
            let dir = self.dir.to_path_buf();
            return Err(OpenError::AlreadyThere { dir }.into());
        }
        let request = InitRequest {
            ward: ward.to_owned(),
            zone: ZONE,
            teaching: true,
            handle: Handle(keeper.handle.to_owned()),
            name: keeper.name.to_owned(),
            secret: keeper.pin.to_owned().into(),
        };
        let ids = IdSource::Counted {
            label: LABEL,
            made: 0,
        };
        let key = Self::key(keeper)?;
        let clock = Arc::clone(&self.clock);
        let (mut station, actor) =
            Station::init_as(self.dir, &request, clock, ids, journal_id(), Some(key))?;
        let seed = Zeroizing::new(derived("ward key", "1"));
        station.make_ward_key(&actor, Some(seed), None)?;
        if self.sealed {
            let (_, shares) =
                station.seal_records(&actor, Some("published with the demo"), |_| Ok(()))?;
            self.shares = Some(shares);
        }
        self.station = Some(station);
        self.actors.insert(keeper.handle, actor);
        Ok(())
    }

    fn enrol(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        person: &'static Member,
    ) -> Result<Seq, StationError> {
        let key = Self::key(person)?;
        let unlocked = key.put_in_place(&Layout::new(self.dir))?;
        let desk = self.desk(at, by)?;
        // As at a keeper's own desk, where nobody reads.
        desk.station.lock_records();
        let request = StaffRequest {
            handle: Handle(person.handle.to_owned()),
            name: person.name.to_owned(),
            role: person.role,
            registration: person.registration.map(str::to_owned),
            secret: person.pin.to_owned().into(),
        };
        let receipt = desk.station.enrol_as(desk.actor, &request, &unlocked)?;
        let actor = desk.station.unlock(&request.handle, person.pin)?;
        self.actors.insert(person.handle, actor);
        Ok(receipt.seq)
    }

    fn log(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        draft: &Draft,
    ) -> Result<Seq, StationError> {
        let desk = self.desk(at, by)?;
        let mut draft = draft.clone();
        // Whoever closes a colleague's alert in a story has agreed that with them.
        draft.confirm |= matches!(draft.kind.as_str(), "alert-step" | "task-step");
        Ok(desk.station.submit(desk.actor, &draft)?.seq)
    }

    fn withdraw(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        what: &Withdrawal<'_>,
    ) -> Result<Seq, StationError> {
        let desk = self.desk(at, by)?;
        let reason = reason(desk.station, what.cause, what.reason)?;
        let anew = what.entered_anew;
        Ok(desk
            .station
            .withdraw(desk.actor, what.target, &reason, anew)?
            .seq)
    }

    fn correct(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        what: &Correction<'_>,
    ) -> Result<Seq, StationError> {
        let desk = self.desk(at, by)?;
        let reason = reason(desk.station, what.cause, what.reason)?;
        let receipt =
            desk.station
                .correct(desk.actor, what.target, what.changes, &reason, false)?;
        Ok(receipt.seq)
    }

    fn prepare_handover(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        draft: &Draft,
    ) -> Result<Seq, StationError> {
        let desk = self.desk(at, by)?;
        let said = |name| draft.get(name).map(str::to_owned);
        let request = HandoverRequest {
            from_shift: said("from_shift"),
            to_shift: said("to_shift"),
            receiver: draft.get("receiver").and_then(Handle::parse),
            opening: said("opening"),
        };
        Ok(desk.station.prepare_handover(desk.actor, &request)?.seq)
    }

    fn accept_handover(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        handover: Seq,
    ) -> Result<Seq, StationError> {
        let accepted = Draft::new(Kind::HandoverStep)
            .with("handover", handover.to_string())
            .with("step", "accepted");
        self.log(at, by, &accepted)
    }
}

fn reason(station: &Station, cause: &str, words: &str) -> Result<AmendmentReason, StationError> {
    let cause = AmendmentCause::read(cause, &station.read_context()).map_err(|problem| {
        let refusal = Refusal::field("cause", problem.what, problem.accepted);
        SubmitError::Refused(vec![refusal])
    })?;
    Ok(AmendmentReason {
        cause,
        words: Some(words.to_owned()),
    })
}
