//! What a command runs with: the global options, and what they open.

use std::cell::RefCell;
use std::path::PathBuf;

use zeroize::Zeroizing;

use super::exit::Exit;
use super::output::Output;
use super::report::CliError;
use super::secret::SecretSource;
use crate::record::person::Handle;
use crate::record::time::{Leaning, Timestamp, parse_moment};
use crate::station::sealing::SealingError;
use crate::station::{Actor, Station, reservations};
use crate::view::page::Reservations;
use crate::ward::Ward;

/// The global options.
pub struct Context {
    /// Where the command writes.
    pub out: Output,
    journal: Option<PathBuf>,
    as_of: Option<String>,
    user: Option<String>,
    pin: SecretSource,
    /// The acting person's secret once it was read: a descriptor gives it once, and nobody is asked twice.
    read: RefCell<Option<Zeroizing<String>>>,
    /// Whoever unlocked to read sealed records.
    reader: RefCell<Option<Actor>>,
}

/// The ward as a view shows it.
pub struct Drawn {
    /// The ward: as it stands, or as it was then known.
    pub ward: Ward,
    /// As of when.
    pub as_of: Timestamp,
    /// What could not be read and is therefore not in it, and what is in doubt.
    pub reservations: Reservations,
    /// The damage in full.
    pub unreadable: Vec<String>,
}

impl Context {
    /// From the command line.
    pub fn new(args: &super::args::Args) -> Context {
        Context {
            out: Output::new(args.json, args.width.map(usize::from)),
            journal: args.journal.clone(),
            as_of: args.as_of.clone(),
            user: args.user.clone(),
            pin: SecretSource {
                file: args.pin_file.clone(),
                fd: args.pin_fd,
            },
            read: RefCell::default(),
            reader: RefCell::default(),
        }
    }

    /// The journal folder.
    pub fn journal(&self) -> Result<PathBuf, CliError> {
        self.journal.clone().ok_or_else(|| {
            CliError::new(Exit::Usage, "no journal is named")
                .hint("give --journal DIR, or set HANDFAST_JOURNAL")
        })
    }

    /// The journal, open for reading.
    pub fn station(&self) -> Result<Station, CliError> {
        let mut station = Station::open(&self.journal()?)?;
        station.when_recovered(super::output::say);
        if let Some(note) = station.index_note() {
            super::output::say(&format!("Note: {note}."));
        }
        // Little room is told by what writes.
        let concerns = station.place_concerns().into_iter();
        for concern in concerns.filter(|concern| !concern.is_of_room()) {
            super::output::say(&format!("Note: {concern}."));
        }
        Ok(station)
    }

    /// The same for reading or writing records: where they are sealed, whoever acts unlocks first.
    pub fn reading_station(&self) -> Result<Station, CliError> {
        let mut station = self.station()?;
        if !station.is_sealed() {
            return Ok(station);
        }
        if self.user.is_none() {
            return Err(CliError::new(
                Exit::Usage,
                "the records in this journal are sealed, and nobody is named who reads them",
            )
            .hint("give --user HANDLE (and --pin-file FILE), or set HANDFAST_USER; `handfast verify` needs nobody"));
        }
        let actor = self.actor(&mut station)?;
        if !station.reads_records() {
            station.record_denied_reading(&actor);
            let role = actor.role.with_article();
            let handle = actor.handle.clone();
            return Err(SealingError::ReadsNone { handle, role }.into());
        }
        *self.reader.borrow_mut() = Some(actor);
        Ok(station)
    }

    /// Whoever unlocked to read sealed records; nobody where they lie in clear.
    pub fn reader(&self) -> Option<Actor> {
        self.reader.borrow().clone()
    }

    /// Who acts, if anybody was named.
    pub fn handle(&self) -> Result<Option<Handle>, CliError> {
        match &self.user {
            None => Ok(None),
            Some(text) => Handle::parse(text).map(Some).ok_or_else(|| {
                CliError::new(Exit::Usage, format!("\"{text}\" is no handle"))
                    .hint("2 to 24 lower-case letters, digits or hyphens, e.g. maya")
            }),
        }
    }

    /// The acting person's secret, if a file or descriptor gives it.
    pub fn given_pin(&self) -> Result<Option<Zeroizing<String>>, CliError> {
        self.pin.given()
    }

    /// Unlocks the acting person.
    pub fn actor(&self, station: &mut Station) -> Result<Actor, CliError> {
        let (handle, secret) = self.handle_and_pin()?;
        Ok(station.unlock(&handle, &secret)?)
    }

    /// The acting person and their secret, asked for at the keyboard if need be.
    pub fn handle_and_pin(&self) -> Result<(Handle, Zeroizing<String>), CliError> {
        let Some(handle) = self.handle()? else {
            return Err(CliError::new(Exit::Usage, "nobody is named who acts")
                .hint("give --user HANDLE, or set HANDFAST_USER"));
        };
        if let Some(secret) = &*self.read.borrow() {
            return Ok((handle, secret.clone()));
        }
        let secret = self.pin.read(&format!("PIN of {handle}: "), "pin")?;
        *self.read.borrow_mut() = Some(secret.clone());
        Ok((handle, secret))
    }

    /// Says what could not be read or is in doubt: no view is silent about it.
    pub fn warn(&self, drawn: &Drawn) {
        for error in &drawn.unreadable {
            super::output::say(&format!("Not shown: {error}. `handfast verify` says more."));
        }
        for what in &drawn.reservations.unproved {
            super::output::say(&format!("Not proved: {what}. `handfast verify` says more."));
        }
    }

    /// What a list in plain lines says of itself before its first line, as a page does.
    pub fn say_what_is_lacking(&self, drawn: &Drawn) -> Result<(), CliError> {
        for said in drawn.reservations.sentences() {
            self.out
                .line(&format!("{said} `handfast verify` says more."))?;
        }
        Ok(())
    }

    /// The ward for a view, at the moment asked for.
    pub fn draw(&self, station: &Station) -> Result<Drawn, CliError> {
        let Some(text) = &self.as_of else {
            return Ok(Drawn::of(station.drawn(), station.now()));
        };
        let moment = parse_moment(text, station.now(), station.zone(), Leaning::Past)
            .map_err(|refusal| CliError::new(Exit::Usage, format!("--as-of: {refusal}")))?;
        if moment.at > station.now() {
            return Err(CliError::new(
                Exit::Usage,
                "--as-of: that moment is still to come",
            ));
        }
        Ok(Drawn::of(&station.as_of(moment.at), moment.at))
    }

    /// The same for what is never sealed (staff, settings): sealed entries are not lacking in it.
    pub fn draw_in_clear(&self, station: &Station) -> Result<Drawn, CliError> {
        let mut drawn = self.draw(station)?;
        let sealed = drawn.ward.sealing().lacking_in_words();
        let mut damage = drawn.reservations.damage.clone();
        damage.retain(|said| !sealed.contains(said));
        drawn.reservations = Reservations::new(damage, drawn.reservations.unproved);
        Ok(drawn)
    }
}

impl Drawn {
    fn of(drawn: &crate::ward::draw::Drawn, as_of: Timestamp) -> Drawn {
        Drawn {
            ward: drawn.ward.clone(),
            as_of,
            reservations: reservations(drawn),
            unreadable: {
                let met = drawn.unreadable.iter().map(ToString::to_string);
                met.chain(drawn.faults.in_words(&drawn.unreadable))
                    .collect()
            },
        }
    }
}
