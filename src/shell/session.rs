//! One person's work at one keyboard: what is selected, what was offered, what is half done.
//! A turn takes a line and gives text; the terminal is somebody else's concern.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::draft::{Kept, Origin, Parked};
use super::form::{Answered, Form};
use super::known::SharedKnown;
use super::lines::{Ask, Refill};
use super::{help, look};
use crate::line_input::LineTooLong;
use crate::record::ids::{Pseudonym, Seq};
use crate::record::person::Handle;
use crate::record::time::Timestamp;
use crate::shorthand::{self, Act, Command, Entries, Mistake, Parsed, ShorthandContext};
use crate::station::{Actor, Offer, Station};
use crate::view::page::{Page, Reservations};
use crate::view::render::text::{self, Paper};
use crate::ward::Found;
use crate::ward::caseload::says_too_little;

/// The station, shared with the watcher.
pub(super) type SharedStation = Arc<Mutex<Station>>;

/// A panic while it was held is our bug; the journal is the truth and what was folded from it
/// still serves.
pub(super) fn held(station: &SharedStation) -> MutexGuard<'_, Station> {
    station.lock().unwrap_or_else(PoisonError::into_inner)
}

/// What the next line is for.
#[derive(Debug, Clone)]
pub(super) enum State {
    /// Anything; perhaps a line to be edited, with its cursor.
    Ready(Option<Refill>),
    /// An answer in a form.
    Form(Form),
    /// Whether unusual values are right.
    Confirm(Entries, String, Origin),
    /// Whether the writer's last entry is to be taken back.
    Undoing,
    /// Why a colleague's patient's record is opened, before the line goes on.
    Why {
        /// Whose record.
        patient: Pseudonym,
        /// What was typed.
        line: String,
    },
}

/// What the shell does after a turn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Next {
    /// Reads on.
    Go,
    /// Waits for somebody to unlock.
    Lock(Option<Handle>),
    /// Asks for a PIN and a new one.
    Pin,
    /// Asks for a short PIN that re-opens this session.
    SessionPin,
    /// Ends.
    Quit,
}

/// See the module.
pub(super) struct Session {
    pub(super) station: SharedStation,
    pub(super) known: SharedKnown,
    pub(super) actor: Option<Actor>,
    pub(super) patient: Option<Pseudonym>,
    pub(super) state: State,
    pub(super) offers: Vec<Offer>,
    /// What was offered and is no longer: its letter must do nothing else unasked.
    pub(super) lapsed: Vec<Offer>,
    /// Entries of this session, a line's together, for undo.
    pub(super) own: Vec<Vec<Seq>>,
    /// What each person left half done, newest last.
    pub(super) parked: BTreeMap<Handle, Vec<Kept>>,
    /// The last thing said was what quitting would lose.
    pub(super) warned: bool,
    /// The last line took something back.
    pub(super) undone: bool,
    pub(super) next: Next,
    /// Somebody is there to answer questions.
    pub(super) can_ask: bool,
    /// A line that waits for a patient to be chosen.
    pub(super) for_patient: Option<String>,
    /// Who has had the sheet of which handover on the screen.
    pub(super) sheets_opened: BTreeSet<(Handle, Seq)>,
    /// Lines that were not taken.
    pub(super) refused: usize,
    /// Whose record was opened in answer to the question why: asked once, also where no entry of it could be made.
    pub(super) why_answered: Option<Pseudonym>,
    /// What was typed instead of a reason and looked like a line: taken as the reason if it is typed again.
    pub(super) why_doubted: Option<String>,
    /// A form waits while something is looked at: no other question is asked.
    pub(super) looking_aside: bool,
    /// What pages are drawn on.
    pub(super) paper: Paper,
    /// A page drawn by this turn: already harmless and as wide as the paper.
    drawn: Option<String>,
    /// What is asked again below that page.
    asked_again: Option<String>,
}

impl Session {
    pub(super) fn new(station: SharedStation, known: SharedKnown, can_ask: bool) -> Session {
        Session {
            station,
            known,
            actor: None,
            patient: None,
            state: State::Ready(None),
            offers: Vec::new(),
            lapsed: Vec::new(),
            own: Vec::new(),
            parked: BTreeMap::new(),
            warned: false,
            undone: false,
            next: Next::Go,
            can_ask,
            for_patient: None,
            sheets_opened: BTreeSet::new(),
            refused: 0,
            why_answered: None,
            why_doubted: None,
            looking_aside: false,
            paper: Paper::plain(80),
            drawn: None,
            asked_again: None,
        }
    }

    /// Somebody takes the keyboard.
    pub(super) fn unlocked(&mut self, actor: Actor) -> String {
        let handle = actor.handle.clone();
        let greeting = format!(
            "{} ({}), {}.",
            actor.name,
            actor.role.label(),
            self.moment()
        );
        self.actor = Some(actor);
        self.next = Next::Go;
        self.state = State::Ready(None);
        let unrecorded = self
            .opens(None, "signed in to the shell, which lists everybody")
            .map_or(String::new(), |note| format!("\n{note}"));
        self.refresh_known();
        let kept = self.kept_for(&handle).map_or(String::new(), |kept| {
            format!("\nKept for you: {kept}\n\"draft\" brings it back.")
        });
        let lacking = super::look::not_complete(&held(&self.station).reservations());
        format!("{greeting} \"help\" says what can be typed.{lacking}{unrecorded}{kept}")
    }

    fn moment(&self) -> String {
        let station = held(&self.station);
        station.zone().day_date_time(station.now())
    }

    /// The person leaves; what they were typing is kept for them.
    pub(super) fn lock(&mut self, typing: &str) {
        self.park_typing(typing);
        held(&self.station).lock_records();
        self.actor = None;
        self.patient = None;
        self.offers.clear();
        self.lapsed.clear();
        self.own.clear();
        self.warned = false;
        self.undone = false;
        self.for_patient = None;
        self.why_answered = None;
        self.why_doubted = None;
        self.state = State::Ready(None);
    }

    /// The copy for the line editor, taken anew.
    pub(super) fn refresh_known(&self) {
        let station = held(&self.station);
        let person = self
            .actor
            .as_ref()
            .map(|actor| (&actor.handle, actor.role.short()));
        let mut fresh = look::known(&station, person, self.patient);
        if let State::Form(form) = &self.state {
            fresh.asking = true;
            fresh.answers = form.choices();
        }
        fresh.asking |= matches!(
            self.state,
            State::Confirm(..) | State::Undoing | State::Why { .. }
        );
        *self.known.get() = fresh;
    }

    /// What the next line is asked for with.
    pub(super) fn ask(&mut self) -> Ask {
        let selected = self.known.get().selected.clone();
        let mark = match (&self.state, selected) {
            (State::Form(form), _) => self.whose_mark(&form.entries) + &form.mark(),
            (State::Confirm(entries, ..), _) => {
                format!("{}record it? y/N", self.whose_mark(entries))
            }
            (State::Undoing, _) => "take it back? y/N".to_owned(),
            (State::Why { patient, .. }, _) => {
                format!("{} why do you open it?", self.short(Some(*patient)))
            }
            (_, None) => "ward".to_owned(),
            (_, Some(patient)) => match &patient.slot {
                Some(slot) => format!("{slot} {}", patient.name),
                None => patient.name,
            },
        };
        let refill = match &mut self.state {
            State::Ready(refill) => refill.take(),
            State::Form(form) => form
                .typing
                .take()
                .map(|typing| Refill::at_word(&typing, 0..typing.len())),
            State::Confirm(..) | State::Undoing | State::Why { .. } => None,
        };
        let takes_lines = matches!(&self.state, State::Form(form) if form.takes_lines());
        let status = matches!(self.state, State::Ready(_));
        Ask {
            mark,
            refill,
            takes_lines,
            status,
        }
    }

    /// Puts a page below the words of this turn. `reservations` are those of the ward it was drawn
    /// from: as it stood, perhaps, and not as it stands.
    pub(super) fn draw(&mut self, page: &Page, reservations: &Reservations) {
        let page = page.clone().under(reservations);
        self.drawn = Some(text::page(&page, self.paper));
    }

    /// The page this turn drew.
    pub(super) fn take_drawn(&mut self) -> Option<String> {
        self.drawn.take()
    }

    /// The question that is still open, to be said below the page this turn drew: above it, it
    /// would scroll away.
    pub(super) fn take_asked_again(&mut self) -> Option<String> {
        self.asked_again.take()
    }

    /// Takes a line and says what came of it.
    pub(super) fn turn(&mut self, line: &str) -> String {
        self.asked_again = None;
        // Whoever walks away must be able to, whatever is being asked; what is asked is kept.
        if line.trim().eq_ignore_ascii_case("lock") && !matches!(self.state, State::Ready(_)) {
            return self.lock_for_now();
        }
        // A doubted answer stands in the line already: what was typed after it is the word alone.
        if let State::Form(form) = &self.state
            && form.is_doubted_and_then(line, "lock")
        {
            return self.lock_for_now();
        }
        match std::mem::replace(&mut self.state, State::Ready(None)) {
            State::Form(form) => {
                let words = ["cancel", "back"];
                let after = words
                    .into_iter()
                    .find(|word| form.is_doubted_and_then(line, word));
                self.answer(form, after.unwrap_or(line))
            }
            State::Confirm(entries, typed, origin) => self.confirm(entries, typed, origin, line),
            State::Undoing => self.undo_if(line),
            State::Why {
                patient,
                line: asked,
            } => self.answer_why(patient, &asked, line),
            State::Ready(_) => self.line_or_patient(line),
        }
    }

    /// A line that had no patient waits for the next turn to choose one, and then comes back.
    pub(super) fn line_or_patient(&mut self, line: &str) -> String {
        let (waiting, before) = (self.for_patient.take(), self.patient);
        let said = self.line(line);
        if matches!(self.state, State::Why { .. }) {
            self.for_patient = waiting;
            return said;
        }
        if let (Some(waiting), State::Ready(None), true) = (
            waiting,
            &self.state,
            self.patient.is_some() && self.patient != before,
        ) {
            self.state = State::Ready(Some(Refill::at_end(&waiting)));
        }
        said
    }

    fn line(&mut self, line: &str) -> String {
        if let Some(offer) = self.offered(line) {
            return self.take_offer(&offer);
        }
        if let Some(said) = self.lapsed_offer(line) {
            return said;
        }
        if line.trim().eq_ignore_ascii_case("cancel") {
            self.refused += 1;
            return "There is nothing to cancel: no form is open, and nothing was recorded. cancel #45 \"why\" cancels a task; \"draft\" brings back what is kept.".to_owned();
        }
        let parsed = shorthand::parse(line, &self.context());
        self.undone &= matches!(
            &parsed,
            Ok(Parsed::Nothing | Parsed::Command(Command::Plain { act: Act::Undo, .. }))
        );
        self.warned &= matches!(
            &parsed,
            Ok(Parsed::Command(Command::Plain { act: Act::Quit, .. }))
        );
        // Somebody moved on: a letter typed later must not act on what was offered before.
        if matches!(&parsed, Ok(Parsed::Entries(_) | Parsed::Command(_))) {
            self.lapse();
        }
        match parsed {
            // A refused line was back, and "lock" was typed behind it: whoever leaves must be able to.
            Err(_) if self.refused > 0 && ends_with_lock(line) => {
                let kept = line.trim_end();
                self.park(Parked::Line(
                    kept[..kept.len() - "lock".len()].trim_end().to_owned(),
                ));
                self.lock_for_now()
            }
            Err(mistakes) => self.mistaken(line, &mistakes),
            Ok(Parsed::Nothing) => String::new(),
            Ok(Parsed::Entries(entries)) => self.enter(entries, line),
            Ok(Parsed::Command(command)) => self.command(command, line),
            Ok(Parsed::Unknown { text, mistake }) => self.perhaps_patient(&text, line, mistake),
        }
    }

    pub(super) fn context(&self) -> ShorthandContext {
        let station = held(&self.station);
        ShorthandContext {
            now: station.now(),
            zone: station.zone(),
            patient: self.patient.map(|patient| patient.to_string()),
        }
    }

    /// The line comes back with its mistakes, the first one selected.
    pub(super) fn mistaken(&mut self, line: &str, mistakes: &[Mistake]) -> String {
        self.refused += 1;
        let clean: String = line
            .chars()
            .filter(|c| *c == '\n' || !crate::view::escape::needs_mark(*c))
            .collect();
        let first = mistakes.first().filter(|_| clean == line);
        let refill = first.map_or_else(
            || Refill::at_end(&clean),
            |mistake| Refill::at_word(line, mistake.at.clone()),
        );
        self.state = State::Ready(Some(refill));
        let said = mistakes.iter().map(|mistake| format!("  {mistake}"));
        let mut text = self.nothing_recorded();
        text.push('\n');
        text.push_str(&said.collect::<Vec<_>>().join("\n"));
        text
    }

    /// A line of which nothing was taken.
    pub(super) fn too_long(&mut self, long: LineTooLong) -> String {
        self.refused += 1;
        format!("{} {long}", self.nothing_recorded())
    }

    /// How a refusal begins.
    pub(super) fn nothing_recorded(&self) -> String {
        let clears = if self.can_ask {
            " (Ctrl-U clears the line)"
        } else {
            ""
        };
        format!("Nothing was recorded{clears}:")
    }

    fn command(&mut self, command: Command, line: &str) -> String {
        match command {
            Command::Plain { act, about, as_of } => match act {
                Act::Select => self.select(&about, line),
                Act::Ward => self.deselect(),
                Act::Undo => self.undo(),
                Act::Draft => self.bring_back(),
                Act::Lock => self.lock_for_now(),
                Act::Switch => self.leave(Handle::parse(&about)),
                Act::Pin => self.ask_for_pin(&about, line),
                Act::Help => help::help(&about),
                Act::Quit => self.quit(),
                Act::Patients if as_of.is_none() && !about.is_empty() => {
                    self.patients_found(&about, line)
                }
                Act::Settings => self.settings(&about, as_of),
                Act::Report => self.report(&about, as_of, line),
                Act::Access => self.access(&about, as_of, line),
                Act::Score => self.score(line),
                _ => self.view_or_back(act, &about, as_of, line),
            },
            Command::Show(seq) => self.show_opened(seq, line),
            Command::Correct { seq, fields_at } => match self.opens_entry(seq, line) {
                Err(asked) => asked,
                Ok(note) => {
                    let said = self.correct(seq, line, fields_at);
                    note.map_or(said.clone(), |note| format!("{note}\n{said}"))
                }
            },
            Command::Withdraw {
                seq,
                cause,
                reason,
                anew,
            } => self.withdraw(seq, cause.as_deref(), reason, anew, line),
            Command::Handover {
                act,
                about,
                entries,
                texts,
                named,
            } => self.handover(act, &about, &entries, &texts, &named, line),
        }
    }

    /// A view, or the line back if what follows it says nothing of what to show.
    fn view_or_back(
        &mut self,
        act: Act,
        about: &str,
        as_of: Option<Timestamp>,
        line: &str,
    ) -> String {
        let one_patient = matches!(act, Act::Timeline | Act::Baseline | Act::Workings);
        let takes = match act {
            Act::Tasks => "a patient, mine or all",
            Act::Alerts => "a patient, or all",
            Act::Timeline => "a patient, and today for only that",
            Act::Workings => "a patient, and over 12h for the fluid balance of another window",
            _ if one_patient => "a patient",
            _ => "the word alone",
        };
        let (whose, _) = super::views::of_today(act, about);
        let whose = match super::views::of_window(act, whose) {
            Ok((whose, _)) => whose,
            Err(said) => return self.back_with(line, &said),
        };
        let word = whose.trim_start_matches('@').to_lowercase();
        let special = match word.as_str() {
            "" => true,
            "mine" => act == Act::Tasks,
            "all" => matches!(act, Act::Tasks | Act::Alerts),
            "ward" => !one_patient,
            _ => false,
        };
        let known = special || !matches!(word.as_str(), "mine" | "all" | "ward");
        let patient = one_patient || matches!(act, Act::Tasks | Act::Alerts);
        match self.patient_of(whose) {
            Ok(whose) if known && (special || patient) => {
                if let Some(whose) = whose
                    && let Some(asked) = self.asks_why(whose, line)
                {
                    return asked;
                }
                let note = whose.and_then(|whose| self.opens(Some(whose), "in the shell"));
                let said = self.view(act, about, as_of);
                note.map_or(said.clone(), |note| format!("{note}\n{said}"))
            }
            Ok(_) => self.back_with(
                line,
                &format!("\"{about}\" is not understood here. Accepted: {takes}."),
            ),
            Err(said) => self.back_with(line, &format!("{said} Accepted: {takes}.")),
        }
    }

    /// Those whom a text finds.
    fn patients_found(&mut self, about: &str, line: &str) -> String {
        let found = held(&self.station).ward().find_patient(about);
        match found {
            Found::One(patient) => self.listed(&[patient]),
            Found::Many(several) => self.listed(&several),
            Found::None { near } => {
                let near = match near.as_slice() {
                    [] => String::new(),
                    near => format!("\nNear by name:\n{}", self.listed(near)),
                };
                let said = format!(
                    "nobody on the ward is \"{about}\". Accepted: a name, a slot or a number; \"patients\" alone lists everyone."
                );
                self.back_with(line, &said) + &near
            }
        }
    }

    /// The same person is asked for first: their PIN must not be typed where it can be read.
    fn lock_for_now(&mut self) -> String {
        self.leave(self.actor.as_ref().map(|actor| actor.handle.clone()))
    }

    fn leave(&mut self, to: Option<Handle>) -> String {
        self.next = Next::Lock(to);
        String::new()
    }

    /// A PIN is typed unseen, so only at a keyboard.
    fn ask_for_pin(&mut self, about: &str, line: &str) -> String {
        if self.can_ask {
            match about {
                "" => self.next = Next::Pin,
                "session" => self.next = Next::SessionPin,
                _ => {
                    let said = format!(
                        "\"{about}\" is not understood here. Accepted: pin alone, or pin session."
                    );
                    return self.back_with(line, &said);
                }
            }
            return String::new();
        }
        let accepted = "`handfast staff pin` with --pin-file and --new-pin-file";
        let what = "a PIN is not changed from input that everybody can read";
        self.mistaken(line, &[Mistake::new(0..line.len(), what, accepted)])
    }

    // Patients.

    fn deselect(&mut self) -> String {
        self.patient = None;
        self.refresh_known();
        "No patient is selected.".to_owned()
    }

    fn select(&mut self, text: &str, line: &str) -> String {
        if matches!(text, "-" | "none" | "ward" | "") {
            return if text.is_empty() {
                self.view(Act::Patients, "", None)
            } else {
                self.deselect()
            };
        }
        let mistake = Mistake::new(
            line.len()..line.len(),
            format!("nobody on the ward is \"{text}\""),
            "a name, a slot or a number; \"patients\" lists everyone",
        );
        self.perhaps_patient(text, line, mistake)
    }

    fn perhaps_patient(&mut self, text: &str, line: &str, mistake: Mistake) -> String {
        if says_too_little(text) && !self.is_slot(text) {
            let what = format!("\"{text}\" is too little to choose a patient by");
            let accepted = "a slot, a number, or three letters of a name or more";
            return self.mistaken(line, &[Mistake::new(mistake.at, what, accepted)]);
        }
        let found = held(&self.station).ward().find_patient(text);
        match found {
            Found::One(patient) => self.selected(patient, line),
            // The slot is typed next, not the name again: nothing to come back.
            Found::Many(several) => format!(
                "\"{text}\" could be several; say the slot:\n{}",
                self.listed(&several)
            ),
            Found::None { .. } if is_slot_like(text) => {
                let what = format!("nobody on the ward is {}", text.to_uppercase());
                let accepted =
                    "a slot that is taken, a number or a name; \"patients\" lists everyone";
                self.mistaken(line, &[Mistake::new(mistake.at, what, accepted)])
            }
            Found::None { near } if near.is_empty() => self.mistaken(line, &[mistake]),
            Found::None { near } => {
                let near = self.listed(&near);
                format!("{}\nNear by name:\n{near}", self.mistaken(line, &[mistake]))
            }
        }
    }

    fn selected(&mut self, patient: Pseudonym, line: &str) -> String {
        if let Some(asked) = self.asks_why(patient, line) {
            return asked;
        }
        let note = self.opens(Some(patient), "in the shell");
        self.patient = Some(patient);
        self.lapse();
        self.refresh_known();
        let station = held(&self.station);
        let card = super::views::card(station.ward(), patient, station.now());
        note.map_or(card.clone(), |note| format!("{card}\n{note}"))
    }

    fn listed(&self, patients: &[Pseudonym]) -> String {
        let station = held(&self.station);
        let known = patients
            .iter()
            .filter_map(|one| station.ward().patient(*one));
        let lines = known.map(|patient| {
            let known = look::known_patient(patient);
            format!(
                "  {:<5} {}, {}",
                known.slot.unwrap_or_default(),
                known.name,
                known.detail
            )
        });
        lines.collect::<Vec<_>>().join("\n")
    }

    // Forms and confirming.

    fn answer(&mut self, mut form: Form, text: &str) -> String {
        if self.is_slot(text)
            && let Some(said) = form.doubt_slot(text.trim())
        {
            self.state = State::Form(form);
            return said;
        }
        let aside = text.trim().strip_prefix(':').map(str::trim);
        if let Some(aside) = aside
            && let Some(said) = self.look_aside(&form, aside)
        {
            return said;
        }
        let cx = self.context().read();
        let said = match form.answer(text, &cx) {
            Answered::Asking(form, said) => {
                self.state = State::Form(form);
                said.unwrap_or_default()
            }
            Answered::Cancelled(form) => {
                self.park(Parked::Form(Box::new(form)));
                "Stopped; nothing was recorded. It is kept: \"draft\" goes on with it.".to_owned()
            }
            Answered::Complete(form) => self.enter_form(form),
        };
        self.refresh_known();
        said
    }

    /// `:tasks` in the middle of a form: looks, and the form is there again. Nothing if the
    /// text is no command, so that an answer may begin with a colon.
    fn look_aside(&mut self, form: &Form, aside: &str) -> Option<String> {
        let command = match shorthand::parse(aside, &self.context()) {
            Ok(Parsed::Command(command)) => command,
            Ok(Parsed::Entries(_)) => {
                self.state = State::Form(form.clone());
                let said = "One entry at a time: finish this one, or cancel keeps it for later.";
                return Some(format!("{said}\n{}", form.question()));
            }
            Ok(_) => return None,
            Err(mistakes) => {
                self.state = State::Form(form.clone());
                let said: Vec<String> = mistakes.iter().map(|one| format!("  {one}")).collect();
                return Some(format!("{}\n{}", said.join("\n"), form.question()));
            }
        };
        self.state = State::Form(form.clone());
        if leaves(&command) {
            return Some(self.command(command, aside));
        }
        let said = if looks(&command) {
            self.looking_aside = true;
            let said = self.command(command, aside);
            self.looking_aside = false;
            said
        } else {
            "Here a colon only looks; finish this entry first, or cancel keeps it for later."
                .to_owned()
        };
        self.state = State::Form(form.clone());
        self.refresh_known();
        if self.drawn.is_some() {
            self.asked_again = Some(form.question());
            return Some(said);
        }
        Some(
            format!("{said}\n{}", form.question())
                .trim_start()
                .to_owned(),
        )
    }
}

/// Whether a line ends with the word that locks.
fn ends_with_lock(line: &str) -> bool {
    let last = line.split_whitespace().next_back();
    last.is_some_and(|word| word.eq_ignore_ascii_case("lock"))
}

/// A command that changes nothing.
fn looks(command: &Command) -> bool {
    match command {
        Command::Plain { act, .. } => matches!(
            act,
            Act::Patients
                | Act::Timeline
                | Act::Baseline
                | Act::Workings
                | Act::Tasks
                | Act::Alerts
                | Act::Caseload
                | Act::Report
                | Act::Access
                | Act::Handover
                | Act::Score
                | Act::Help
        ),
        Command::Show(_) => true,
        Command::Handover { act, .. } => act.is_view(),
        _ => false,
    }
}

/// One to three letters and then figures, as slots are: `T99`. A number of nine or ten figures is none.
fn is_slot_like(text: &str) -> bool {
    let text = text.trim_start_matches('@');
    let figures = text.trim_start_matches(|c: char| c.is_ascii_alphabetic());
    let letters = text.len() - figures.len();
    let is_number = (1..=3).contains(&figures.len()) && figures.bytes().all(|b| b.is_ascii_digit());
    (1..=3).contains(&letters) && is_number
}

/// A command that leaves the keyboard, with the form kept.
fn leaves(command: &Command) -> bool {
    matches!(
        command,
        Command::Plain {
            act: Act::Lock | Act::Switch | Act::Quit,
            ..
        }
    )
}
