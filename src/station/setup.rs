//! Making a journal, and enrolling people in it.

use std::path::Path;
use std::sync::Arc;

use zeroize::Zeroizing;

use super::clock::Clock;
use super::id_source::IdSource;
use super::keys::{self, Cost, Unlocked};
use super::outcome::{Receipt, SubmitError};
use super::{Actor, Station, StationError};
use crate::journal::{FileStore, Layout};
use crate::record::draft::Draft;
use crate::record::ids::{JournalId, PersonKey};
use crate::record::kind::Kind;
use crate::record::kind::ward::{StaffChanged, StaffEnrolled, StaffMove};
use crate::record::person::Handle;
use crate::record::role::Role;
use crate::record::time::WardZone;

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
        keeper: Option<Unlocked>,
    ) -> Result<(Station, Actor), StationError> {
        let layout = Layout::new(dir);
        // Whatever can be refused is refused before there is a folder that holds a journal.
        keys::check_secret(&request.secret)?;
        FileStore::create(dir, journal)?;
        let unlocked = match keeper {
            Some(unlocked) => unlocked,
            None => {
                let cost = if request.teaching {
                    Cost::TEACHING
                } else {
                    Cost::DESK
                };
                keys::create(&layout, &request.handle, &request.secret, cost)?
            }
        };
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
        self.check_enrol(actor, &request.handle)?;
        let cost = if self.is_teaching() {
            Cost::TEACHING
        } else {
            Cost::DESK
        };
        let unlocked = keys::create(self.layout(), &request.handle, &request.secret, cost)?;
        let receipt = self.enrol_as(actor, request, unlocked.signer.public())?;
        Ok((receipt, unlocked))
    }

    /// Enrols somebody whose key already exists.
    ///
    /// # Errors
    /// As [`Station::enrol`].
    pub fn enrol_as(
        &mut self,
        actor: &Actor,
        request: &StaffRequest,
        key: PersonKey,
    ) -> Result<Receipt, StationError> {
        self.check_enrol(actor, &request.handle)?;
        let enrolled = StaffEnrolled {
            handle: request.handle.clone(),
            name: request.name.as_str().into(),
            role: request.role,
            registration: request.registration.as_deref().map(Into::into),
            key: Some(key),
        };
        Ok(self.append_body(actor, enrolled.into())?)
    }

    fn check_enrol(&mut self, actor: &Actor, handle: &Handle) -> Result<(), StationError> {
        self.refresh()?;
        self.authorise(actor, Kind::StaffEnrolled)?;
        if self.ward().staff(handle).is_some() {
            let what = format!("{handle} already belongs to somebody");
            return Err(
                SubmitError::refuse_field("handle", what, "a handle nobody has had").into(),
            );
        }
        Ok(())
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
        self.known_staff(actor, handle)?;
        let changed = StaffChanged {
            handle: handle.clone(),
            change,
            role,
            reason: reason.into(),
            key: None,
        };
        Ok(self.append_body(actor, changed.into())?)
    }

    /// Gives somebody a new key, after a forgotten PIN or a lost key file.
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
        self.known_staff(actor, handle)?;
        let cost = if self.is_teaching() {
            Cost::TEACHING
        } else {
            Cost::DESK
        };
        let unlocked = keys::create(self.layout(), handle, secret, cost)?;
        let changed = StaffChanged {
            handle: handle.clone(),
            change: StaffMove::KeyReplaced,
            role: None,
            reason: reason.into(),
            key: Some(unlocked.signer.public()),
        };
        Ok(self.append_body(actor, changed.into())?)
    }

    fn known_staff(&mut self, actor: &Actor, handle: &Handle) -> Result<(), StationError> {
        self.refresh()?;
        self.authorise(actor, Kind::StaffChanged)?;
        if self.ward().staff(handle).is_none() {
            let what = format!("nobody here has the handle {handle}");
            let known = self.handles();
            return Err(SubmitError::refuse_field("handle", what, known).into());
        }
        Ok(())
    }
}
