//! Making a journal, and enrolling people in it.

use std::path::Path;
use std::sync::Arc;

use zeroize::Zeroizing;

use super::clock::{Clock, SystemClock};
use super::id_source::IdSource;
use super::keys::{self, Cost, NewKey, Unlocked, WaitingKey};
use super::outcome::{Receipt, SubmitError};
use super::submit::Decided;
use super::{Actor, Station, StationError};
use crate::journal::{FileStore, Layout};
use crate::record::draft::Draft;
use crate::record::ids::{JournalId, PersonKey, ReadingKey};
use crate::record::kind::ward::{StaffChanged, StaffEnrolled, StaffMove};
use crate::record::kind::{Body, Kind};
use crate::record::person::Handle;
use crate::record::role::Role;
use crate::record::time::WardZone;
use crate::ward::rules;

/// What a new journal begins with. It cannot be shown: it holds a secret.
#[derive(Clone)]
pub struct InitRequest {
    /// The ward's name.
    pub ward: String,
    /// The ward's time zone.
    pub zone: WardZone,
    /// Invented patients only.
    pub teaching: bool,
    /// Handle of the first keeper.
    pub handle: Handle,
    /// Full name of the first keeper.
    pub name: String,
    /// The keeper's passphrase or PIN.
    pub secret: Zeroizing<String>,
}

/// Somebody to be enrolled. It cannot be shown: it holds a secret.
#[derive(Clone)]
pub struct StaffRequest {
    /// Handle to sign in with.
    pub handle: Handle,
    /// Full name.
    pub name: String,
    /// Role.
    pub role: Role,
    /// Professional registration number.
    pub registration: Option<String>,
    /// Their first passphrase or PIN, which they should change.
    pub secret: Zeroizing<String>,
}

impl Station {
    /// Makes a journal in `dir` with its first keeper.
    ///
    /// # Errors
    /// When the folder already holds a journal or cannot be written.
    pub fn init(
        dir: &Path,
        request: &InitRequest,
        clock: Arc<dyn Clock>,
    ) -> Result<(Station, Actor), StationError> {
        let mut ids = IdSource::Random;
        let journal = JournalId(ids.next_id().map_err(SubmitError::from)?);
        Station::init_as(dir, request, clock, ids, journal, None)
    }

    /// The same with a given identity and keeper's key: for a generator that must make the
    /// same journal every time.
    ///
    /// # Errors
    /// As [`Station::init`].
    pub fn init_as(
        dir: &Path,
        request: &InitRequest,
        clock: Arc<dyn Clock>,
        ids: IdSource,
        journal: JournalId,
        keeper: Option<NewKey>,
    ) -> Result<(Station, Actor), StationError> {
        let layout = Layout::new(dir);
        // Whatever can be refused is refused before there is a folder that holds a journal.
        let key = match keeper {
            Some(key) => key,
            None => {
                let cost = Cost::of_journal(request.teaching);
                NewKey::make(&layout, &request.handle, &request.secret, cost)?
            }
        };
        FileStore::create(dir, journal)?;
        let unlocked = key.put_in_place(&layout)?;
        let mut station = Station::open_with(dir, clock)?;
        station.ids = ids;
        let actor = Actor::new(unlocked, request.name.clone(), Role::Keeper);
        let opened = Draft::new(Kind::WardOpened)
            .with("name", &request.ward)
            .with("zone", request.zone.to_string())
            .with("teaching", if request.teaching { "yes" } else { "no" });
        station.submit_unchecked(&actor, &opened)?;
        let enrolled = StaffEnrolled {
            handle: request.handle.clone(),
            name: request.name.as_str().into(),
            role: Role::Keeper,
            registration: None,
            key: Some(actor.key()),
            reading: Some(actor.reading.public()),
        };
        station.append_body(&actor, enrolled.into())?;
        Ok((station, actor))
    }

    /// Enrols somebody and makes their key. The keeper's act.
    ///
    /// # Errors
    /// When the actor is no keeper, the handle is taken, or nothing can be written.
    pub fn enrol(
        &mut self,
        actor: &Actor,
        request: &StaffRequest,
    ) -> Result<(Receipt, Unlocked), StationError> {
        // Sealing takes a moment, so it is done before the lock; everything is decided under it.
        let key = NewKey::make(
            self.layout(),
            &request.handle,
            &request.secret,
            self.key_cost(),
        )?;
        let check = |station: &Station| station.check_enrol(actor, &request.handle);
        let writer = self.open_writer_for_staff(actor, &check)?;
        self.authorise_under(&writer, actor, Kind::StaffEnrolled, None)?;
        check(self)?;
        let enrolled = enrolment(request, key.public(), key.reading());
        let layout = self.layout().clone();
        let waiting = key.put_beside(&layout, None)?;
        self.append_with_key(&writer, actor, (enrolled.into(), None), waiting)
    }

    /// Enrols somebody whose key already exists.
    ///
    /// # Errors
    /// As [`Station::enrol`].
    pub fn enrol_as(
        &mut self,
        actor: &Actor,
        request: &StaffRequest,
        key: &Unlocked,
    ) -> Result<Receipt, StationError> {
        let writer = self.open_writer(actor)?;
        self.authorise_under(&writer, actor, Kind::StaffEnrolled, None)?;
        self.check_enrol(actor, &request.handle)?;
        if let Some(other) = self.ward().staff_by_key(&key.signer.public()) {
            let what = format!("{} signs with this key", other.handle);
            let refused = SubmitError::refuse_field("key", what, "a key of their own");
            return Err(refused.into());
        }
        let enrolled = enrolment(request, key.signer.public(), key.reading.public());
        let mut receipt = self.append_under(&writer, actor, enrolled.into(), None, None)?;
        self.tell_of_ring(actor, &mut receipt);
        Ok(receipt)
    }

    /// Whether this person may enrol somebody by this handle, as the journal stands under the
    /// lock.
    fn check_enrol(&self, actor: &Actor, handle: &Handle) -> Result<(), SubmitError> {
        self.authorise(actor, Kind::StaffEnrolled)?;
        if Handle::parse(handle.as_str()).as_ref() != Some(handle) {
            let what = format!("{:?} is no handle", handle.as_str());
            let accepted = "2 to 24 lower-case letters, digits or hyphens, e.g. maya";
            return Err(SubmitError::refuse_field("handle", what, accepted));
        }
        if self.ward().staff(handle).is_some() {
            let what = format!("{handle} already belongs to somebody");
            return Err(SubmitError::refuse_field(
                "handle",
                what,
                "a handle nobody has had",
            ));
        }
        Ok(())
    }

    /// Appends the entry that a new key waits for. The key is taken into use only if it
    /// stands; where that is not known both keys stay, and the journal says which one counts.
    fn append_with_key(
        &mut self,
        writer: &FileStore,
        actor: &Actor,
        (body, with_it): (Body, Option<Decided>),
        key: WaitingKey<'_>,
    ) -> Result<(Receipt, Unlocked), StationError> {
        match self.append_staff(writer, actor, body, with_it) {
            Ok(mut receipt) => {
                let unlocked = key.take_into_use();
                self.tell_of_ring(actor, &mut receipt);
                Ok((receipt, unlocked))
            }
            Err(error @ SubmitError::NotKnown { .. }) => Err(error.into()),
            Err(error) => {
                key.discard();
                Err(error.into())
            }
        }
    }

    fn append_staff(
        &mut self,
        writer: &FileStore,
        actor: &Actor,
        body: Body,
        with_it: Option<Decided>,
    ) -> Result<Receipt, SubmitError> {
        let authorised = self.authorise_under(writer, actor, body.kind(), None)?;
        let mut decided = vec![Decided::about_ward(authorised, body)];
        decided.extend(with_it);
        let receipts = self.append_all(actor, writer, decided)?;
        let first = receipts.into_iter().next();
        first.ok_or_else(super::submit::nothing_written)
    }

    fn key_cost(&self) -> Cost {
        Cost::of_journal(self.is_teaching())
    }

    /// Suspends, reinstates or gives another role. The keeper's act, effective at once.
    ///
    /// # Errors
    /// When the actor is no keeper, or nobody has that handle.
    pub fn change_staff(
        &mut self,
        actor: &Actor,
        handle: &Handle,
        change: StaffMove,
        role: Option<Role>,
        reason: &str,
    ) -> Result<Receipt, StationError> {
        let check = |station: &Station| station.known_staff(actor, handle);
        let writer = self.open_writer_for_staff(actor, &check)?;
        self.authorise_under(&writer, actor, Kind::StaffChanged, None)?;
        check(self)?;
        let changed = StaffChanged {
            handle: handle.clone(),
            change,
            role,
            reason: reason.into(),
            key: None,
            reading: None,
        };
        if rules::leaves_no_keeper(self.ward(), &changed) {
            let what = format!("{handle} is the last keeper: nobody could change staff any more");
            let accepted = "first another keeper, by `staff enrol` or `staff role`";
            return Err(SubmitError::refuse_field("handle", what, accepted).into());
        }
        let mut receipt = self.append_under(&writer, actor, changed.into(), None, None)?;
        self.tell_of_ring(actor, &mut receipt);
        Ok(receipt)
    }

    /// Gives somebody a new key, after a forgotten PIN or a lost key file. Until that is
    /// recorded, and if it is not, the old one stays as it was.
    ///
    /// # Errors
    /// As [`Station::change_staff`].
    pub fn replace_key(
        &mut self,
        actor: &Actor,
        handle: &Handle,
        secret: &str,
        reason: &str,
    ) -> Result<Receipt, StationError> {
        let key = NewKey::make(self.layout(), handle, secret, self.key_cost())?;
        let check = |station: &Station| station.known_staff(actor, handle);
        let writer = self.open_writer_for_staff(actor, &check)?;
        self.authorise_under(&writer, actor, Kind::StaffChanged, None)?;
        let known = check(self)?;
        let failed = self.failed_unlocks_before(actor, handle);
        let changed = StaffChanged {
            handle: handle.clone(),
            change: StaffMove::KeyReplaced,
            role: None,
            reason: reason.into(),
            key: Some(key.public()),
            reading: Some(key.reading()),
        };
        let layout = self.layout().clone();
        let waiting = key.put_beside(&layout, known)?;
        let (receipt, _) =
            self.append_with_key(&writer, actor, (changed.into(), failed), waiting)?;
        Ok(receipt)
    }

    /// Gives somebody's own key another PIN. The key stays the same, so nothing is recorded:
    /// entries are signed by the key, and no PIN was ever in the journal.
    ///
    /// # Errors
    /// A wrong old PIN, a new one that is too short or the same, not on the staff, suspended.
    pub fn change_secret(
        &mut self,
        handle: &Handle,
        old: &str,
        new: &str,
    ) -> Result<(), StationError> {
        self.refresh()?;
        let known = self.may_unlock(handle)?.key;
        let now = SystemClock.now();
        let cost = self.key_cost();
        Ok(keys::change_secret(
            self.layout(),
            handle,
            known,
            (old, new),
            cost,
            now,
        )?)
    }

    /// The key the journal gives somebody on the staff, as it stands under the lock.
    fn known_staff(
        &self,
        actor: &Actor,
        handle: &Handle,
    ) -> Result<Option<PersonKey>, SubmitError> {
        self.authorise(actor, Kind::StaffChanged)?;
        match self.ward().staff(handle) {
            Some(staff) => Ok(staff.key),
            None => {
                let what = format!("nobody here has the handle {handle}");
                Err(SubmitError::refuse_field("handle", what, self.handles()))
            }
        }
    }
}

fn enrolment(request: &StaffRequest, key: PersonKey, reading: ReadingKey) -> StaffEnrolled {
    StaffEnrolled {
        handle: request.handle.clone(),
        name: request.name.as_str().into(),
        role: request.role,
        registration: request.registration.as_deref().map(Into::into),
        key: Some(key),
        reading: Some(reading),
    }
}
