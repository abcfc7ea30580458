//! The station: the only way to write, and the way to every view.
//!
//! One act goes through `authorise -> validate -> decide -> append -> project -> notify`,
//! each step in its own file, and the types keep the order: a `Draft` is not a validated
//! request, and only an authorised one can be appended.
//!
//! A station is one process's view of a journal folder. It reads freely and opens the
//! journal for writing only for the length of one act, so that several people at several
//! terminals share a ward. Each act is decided under the writer's lock, on the newest state:
//! two nurses taking one alert at the same moment cannot both succeed.

mod access;
mod amend;
mod amended;
mod answers;
mod asks;
mod authorise;
mod carry;
mod checkpoints;
pub mod clock;
mod decide;
mod effects;
pub mod extract;
mod handing;
pub mod id_source;
pub mod judge;
pub mod keys;
pub mod known_checkpoints;
mod mend;
mod outcome;
mod policy;
pub mod proving;
pub mod restoring;
pub mod sealing;
mod setup;
mod submit;
mod suggest;
#[cfg(test)]
mod tests;
mod together;
mod validate;
mod ward_key;

use std::path::Path;
use std::sync::Arc;

use crate::journal::{
    Concern, FileReader, Head, Layout, OpenError, ReadError, ReadJournal, Refreshed, Signer,
    concerns,
};
use crate::record::entry::Entry;
use crate::record::field::{ReadContext, ShowContext};
use crate::record::ids::{EntryId, PersonKey, Seq};
use crate::record::person::Handle;
use crate::record::role::Role;
use crate::record::time::{Timestamp, WardZone};
use crate::view::page::Reservations;
use crate::ward::draw::Drawn;
use crate::ward::index::{Index, IndexNote};
use crate::ward::staff::STAND_IN;
use crate::ward::{Read, Ward, proof};
use clock::{Clock, SystemClock};
use id_source::IdSource;

pub use access::{ONE_OPENING, Opening};
pub use amend::AmendmentReason;
pub use checkpoints::Made;
pub use handing::{HandoverRequest, HandoverState, MadeAgain, sheet_now, since_last_accepted};
pub use mend::DamageReport;
pub use outcome::{Offer, Receipt, SubmitError};
pub use policy::PolicyDifference;
pub use setup::{InitRequest, StaffRequest};
pub use together::NoneTaken;
pub use ward_key::WardKeyError;

/// A person at work: unlocked, with the role the journal gives them.
#[derive(Clone)]
pub struct Actor {
    /// Who.
    pub handle: Handle,
    /// Full name.
    pub name: String,
    /// Role in the journal at the moment of unlocking; every act checks it again.
    pub role: Role,
    signer: Arc<dyn Signer>,
    reading: Arc<sealing::ReadingSecret>,
}

impl Actor {
    fn new(unlocked: keys::Unlocked, name: String, role: Role) -> Actor {
        Actor {
            handle: unlocked.handle,
            name,
            role,
            signer: unlocked.signer,
            reading: unlocked.reading,
        }
    }

    /// The public key their entries are checked against.
    #[must_use]
    pub fn key(&self) -> PersonKey {
        self.signer.public()
    }
}

/// What can go wrong around an act.
#[derive(Debug, thiserror::Error)]
pub enum StationError {
    /// The act itself.
    #[error(transparent)]
    Submit(#[from] SubmitError),
    /// The journal folder.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// Reading the journal.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// A key.
    #[error(transparent)]
    Unlock(#[from] keys::UnlockError),
    /// The ward's own key.
    #[error(transparent)]
    WardKey(#[from] WardKeyError),
    /// There is no extract.
    #[error(transparent)]
    NoExtract(Box<extract::NoExtract>),
    /// The checkpoint's entry stands, and its signed text could not be made.
    #[error(
        "the checkpoint is recorded, and its signed text could not be made: {0}; once that is mended, \
         `handfast checkpoint make` makes another"
    )]
    CheckpointNotSigned(String),
    /// The keys to the records.
    #[error(transparent)]
    Sealing(#[from] sealing::SealingError),
    /// The journal has no readable first entry, so nothing says which ward it is.
    #[error(
        "the journal's first entry cannot be read, so nothing says which ward this is; `handfast verify` shows what is wrong"
    )]
    NoWard,
    /// The same, where entries before it are damaged or missing.
    #[error(
        "nothing that can be read says which ward this is and which clock it keeps, so nothing is shown: {lacking}; `handfast verify` shows what is wrong"
    )]
    WardNotRead {
        /// What cannot be read.
        lacking: String,
    },
    /// The person is not on the staff.
    #[error("{0} is not on the staff of this ward; the staff are: {1}")]
    NotStaff(Handle, String),
    /// The person is suspended.
    #[error("{0} is suspended; ask the keeper")]
    Suspended(Handle),
}

/// One process's view of a journal.
pub struct Station {
    reader: Arc<FileReader>,
    clock: Arc<dyn Clock>,
    ids: IdSource,
    /// The newest entry of its own that was acknowledged.
    acknowledged: Option<Head>,
    drawn: Drawn,
    /// The keys to sealed records, while somebody who reads them is unlocked.
    records: Option<sealing::OpenRecords>,
    index_note: Option<IndexNote>,
    /// The tree that checkpoints state and sign, once it was needed.
    tree: Option<checkpoints::OwnTree>,
    /// Told in a line what opening for writing cut off the journal's end.
    tell_recovered: Option<Tell>,
}

/// Somebody to be told something in a line.
type Tell = Box<dyn Fn(&str) + Send + Sync>;

impl Station {
    /// Opens a journal for reading and for acts. A teaching journal gets the story's clock.
    ///
    /// # Errors
    /// When there is no journal, or it cannot be read.
    pub fn open(dir: &Path) -> Result<Station, StationError> {
        let mut station = Station::open_with(dir, Arc::new(SystemClock))?;
        if station.drawn.ward.opened().is_none() {
            return Err(station.no_ward());
        }
        if station.is_teaching() {
            station.clock = clock::of_story(station.drawn.ward.newest_recorded_at());
        }
        Ok(station)
    }

    fn no_ward(&self) -> StationError {
        let lacking: Vec<String> = self.unreadable().iter().map(ToString::to_string).collect();
        if lacking.is_empty() {
            return StationError::NoWard;
        }
        let lacking = lacking.join("; ");
        StationError::WardNotRead { lacking }
    }

    /// The same with a given clock.
    ///
    /// # Errors
    /// As [`Station::open`].
    pub fn open_with(dir: &Path, clock: Arc<dyn Clock>) -> Result<Station, StationError> {
        let reader = Arc::new(FileReader::open(dir)?);
        let drawn = Drawn::nothing_yet(&*reader);
        let mut station = Station {
            reader,
            clock,
            ids: IdSource::Random,
            acknowledged: None,
            drawn,
            records: None,
            index_note: None,
            tree: None,
            tell_recovered: None,
        };
        station.take_up_index();
        Ok(station)
    }

    /// Begins with what the index holds, folds the rest, and keeps the result if that was
    /// much. Whatever is wrong with the index is a note; the journal is the truth.
    fn take_up_index(&mut self) {
        let mut index = Index::new(self.reader.layout(), self.reader.journal());
        if let Some(records) = &self.records {
            index = index.sealed_with(self.reader.layout(), &records.index_key());
        }
        let (drawn, note) = Drawn::from_index(&self.reader, &index);
        self.drawn = drawn;
        let worth = self.drawn.is_worth_keeping();
        let kept = if worth {
            self.drawn.keep(&index, &self.reader)
        } else {
            None
        };
        // A ward so small that no index of it is kept has none that could be missed.
        self.index_note = note
            .filter(|note| worth || !matches!(note, IndexNote::Missing | IndexNote::OtherVersion))
            .or(kept);
    }

    /// Has `tell` told, in a line, what opening the journal for writing cut off its end.
    pub fn when_recovered(&mut self, tell: impl Fn(&str) + Send + Sync + 'static) {
        self.tell_recovered = Some(Box::new(tell));
    }

    /// What was wrong with the index, in a line; nothing rests on it.
    #[must_use]
    pub fn index_note(&self) -> Option<&IndexNote> {
        self.index_note.as_ref()
    }

    /// What is to be known of the place the journal lies in, before it fails.
    #[must_use]
    pub fn place_concerns(&self) -> Vec<Concern> {
        concerns(self.layout().root())
    }

    /// Takes in what other processes have appended; returns it.
    ///
    /// # Errors
    /// When the folder cannot be read.
    pub fn refresh(&mut self) -> Result<Vec<Entry>, ReadError> {
        match self.reader.refresh()? {
            Refreshed::Unchanged => Ok(Vec::new()),
            Refreshed::Grew { .. } => {
                self.take_in_new_keys();
                let fresh = self.drawn.catch_up(&*self.reader);
                if !self.follow_ring(&fresh) {
                    self.look_at_files();
                }
                Ok(fresh)
            }
            Refreshed::WentBack { .. } => {
                self.drawn = Drawn::from_journal(&*self.reader);
                self.look_at_files();
                Ok(Vec::new())
            }
        }
    }

    /// What the files lack, also by an index that remembers more.
    fn look_at_files(&mut self) {
        self.drawn.look_at_files(&*self.reader);
        if let Some(IndexNote::Ahead { index }) = &self.index_note {
            let newest = self.drawn.folded.seq;
            self.drawn.faults.were_there(newest, index.seq);
        }
    }

    /// The ward as it stands.
    #[must_use]
    pub fn ward(&self) -> &Ward {
        &self.drawn.ward
    }

    /// The ward as it stands, with what could not be read.
    #[must_use]
    pub const fn drawn(&self) -> &Drawn {
        &self.drawn
    }

    /// The ward as it was then known: nothing recorded after that moment is in it.
    #[must_use]
    pub fn as_of(&self, moment: Timestamp) -> Drawn {
        let mut then = self
            .drawn
            .part(&*self.reader, |_, recorded_at| recorded_at <= moment);
        if let Some(opened) = self.ward().opened() {
            then.ward.will_open(opened);
        }
        then
    }

    /// The ward as it stood right after one entry.
    #[must_use]
    pub fn as_at(&self, seq: Seq) -> Drawn {
        self.drawn.part(&*self.reader, |at, _| at <= seq)
    }

    /// One entry.
    ///
    /// # Errors
    /// When it is missing, damaged, or written by a newer program.
    pub fn entry(&self, seq: Seq) -> Result<Read, ReadError> {
        self.reader
            .read(seq)
            .map(|frame| Read::of(&*self.reader, &frame))
    }

    /// Several entries, in the order asked for; what cannot be read comes as its error.
    pub fn entries(&self, seqs: impl IntoIterator<Item = Seq>) -> Vec<Result<Read, ReadError>> {
        seqs.into_iter().map(|seq| self.entry(seq)).collect()
    }

    /// Where an entry with this id is, if it was recorded.
    ///
    /// # Errors
    /// When the journal cannot be read.
    pub fn find(&self, id: EntryId) -> Result<Option<Seq>, ReadError> {
        self.reader.find(id)
    }

    /// What could not be read when the ward was drawn: shown with every view.
    #[must_use]
    pub fn unreadable(&self) -> &[ReadError] {
        &self.drawn.unreadable
    }

    /// What every view of the ward as it stands says of itself first.
    #[must_use]
    pub fn reservations(&self) -> Reservations {
        reservations(&self.drawn)
    }

    /// Newest entry in the ward as it stands.
    #[must_use]
    pub fn head(&self) -> Head {
        self.drawn.folded
    }

    /// The moment it is on the ward.
    #[must_use]
    pub fn now(&self) -> Timestamp {
        self.clock.now()
    }

    /// The ward's clock.
    #[must_use]
    pub fn zone(&self) -> WardZone {
        self.drawn.ward.zone()
    }

    /// Invented patients only.
    #[must_use]
    pub fn is_teaching(&self) -> bool {
        self.drawn
            .ward
            .opened()
            .is_some_and(|opened| opened.teaching)
    }

    /// The journal folder.
    #[must_use]
    pub fn layout(&self) -> &Layout {
        self.reader.layout()
    }

    /// What reading a typed field needs.
    #[must_use]
    pub fn read_context(&self) -> ReadContext {
        ReadContext {
            now: self.now(),
            zone: self.zone(),
        }
    }

    /// What showing a field needs; key safes are shown to roles that visit.
    #[must_use]
    pub fn show_context(&self, reader: Option<Role>) -> ShowContext {
        ShowContext {
            zone: self.zone(),
            secrets: reader.is_some_and(crate::record::rights::may_read_key_safes),
        }
    }

    /// Unlocks somebody's key and makes sure that the journal knows them by it.
    ///
    /// # Errors
    /// Wrong secret, not on the staff, or suspended.
    pub fn unlock(&mut self, handle: &Handle, secret: &str) -> Result<Actor, StationError> {
        let (actor, failed) = self.unlock_key(handle, secret)?;
        self.open_records(&actor)?;
        if let Some(failed) = failed {
            // What cannot be written (a read-only or damaged journal) must not keep somebody out.
            if self.record_failed_unlocks(&actor, &failed).is_ok() {
                keys::failed_tries_are_recorded(self.layout(), handle);
            }
        }
        Ok(actor)
    }

    fn unlock_key(
        &mut self,
        handle: &Handle,
        secret: &str,
    ) -> Result<(Actor, Option<keys::FailedTries>), StationError> {
        self.refresh()?;
        let staff = self.may_unlock(handle)?;
        // Tries are counted on the computer's clock, also where a story's clock runs.
        let now = SystemClock.now();
        let mut unlocked = keys::unlock(self.reader.layout(), handle, staff.key, secret, now)?;
        // The journal's word, where the two differ: whoever opened the ward, their enrolment lost.
        unlocked.handle = staff.handle.clone();
        let failed = unlocked.failed;
        let actor = Actor::new(unlocked, staff.name.clone(), staff.role);
        Ok((actor, failed))
    }

    /// Goes on with somebody who was unlocked in this process before: as long as they are on the staff, not
    /// suspended, and have the same key.
    ///
    /// # Errors
    /// Suspended or gone, another key since, or the records cannot be opened for them.
    pub fn reopen(&mut self, actor: &Actor) -> Result<Actor, StationError> {
        self.refresh()?;
        let staff = self.may_unlock(&actor.handle)?;
        if staff.key != Some(actor.key()) {
            return Err(keys::UnlockError::NotInUse(actor.handle.clone()).into());
        }
        let actor = Actor {
            role: staff.role,
            ..actor.clone()
        };
        self.open_records(&actor)?;
        Ok(actor)
    }

    /// Somebody on the staff who is not suspended.
    fn may_unlock(&self, handle: &Handle) -> Result<&crate::ward::staff::Staff, StationError> {
        let known = self.ward().staff(handle);
        match known.or_else(|| self.opener_by_key_file(handle)) {
            None => Err(StationError::NotStaff(handle.clone(), self.handles())),
            Some(staff) if staff.is_suspended() => Err(StationError::Suspended(handle.clone())),
            Some(staff) => Ok(staff),
        }
    }

    /// Whoever opened the ward, where the entry that enrolled them is lost and with it their
    /// handle: the key file that bears it holds the key of the first entry.
    fn opener_by_key_file(&self, handle: &Handle) -> Option<&crate::ward::staff::Staff> {
        let opener = self.ward().staff(&Handle(STAND_IN.to_owned()))?;
        keys::is_key_of(self.reader.layout(), handle, opener.key?).then_some(opener)
    }

    /// The full name of somebody on the staff; the handle of anybody else.
    fn name_of<'a>(&'a self, handle: &'a Handle) -> &'a str {
        self.ward()
            .staff(handle)
            .map_or(handle.as_str(), |staff| staff.name.as_str())
    }

    /// Everybody's handle, for messages.
    fn handles(&self) -> String {
        let handles: Vec<&str> = self
            .drawn
            .ward
            .roster()
            .map(|staff| staff.handle.as_str())
            .collect();
        if handles.is_empty() {
            "nobody yet".to_owned()
        } else {
            handles.join(", ")
        }
    }
}

/// What a view of a ward says of itself first: what is in the journal and not in it, and which
/// entries do not count as their author's word.
#[must_use]
pub fn reservations(drawn: &Drawn) -> Reservations {
    let mut damage: Vec<String> = drawn.unreadable.iter().map(ReadError::in_short).collect();
    damage.extend(drawn.faults.in_words(&drawn.unreadable));
    damage.extend(lost_since(&drawn.ward));
    damage.extend(drawn.ward.sealing().lacking_in_words());
    let newer = drawn.ward.of_newer_programs().keys();
    damage.extend(newer.map(|seq| format!("entry {seq} cannot be read by this program")));
    Reservations::new(damage, proof::in_words(drawn.ward.doubtful()))
}

/// Entries that were read once and cannot be read now.
fn lost_since(ward: &Ward) -> impl Iterator<Item = String> {
    let lost = ward.lost_since().iter();
    lost.map(|seq| format!("entry {seq} was read before, and cannot be read now"))
}
