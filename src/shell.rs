//! The interactive shell: a person types a line, the ward answers.
//!
//! - `session` takes a line and gives text; it knows no terminal. `lines` knows the terminal
//!   and nothing of the ward. `watch` runs beside both: notices and the idle lock.
//! - What is typed is read by `shorthand`, written by `station`, drawn by `view`. Every text
//!   goes to the screen through one function, [`crate::view::escape::terminal`].
//! - Nothing typed is lost: a refused line comes back, a form or a line left half way is kept
//!   for its writer until the shell ends. Nothing typed reaches a disk but by the journal.

mod activity;
mod amending;
mod complete;
mod damage;
mod draft;
mod entering;
mod form;
mod handing;
mod help;
mod highlight;
mod hint;
mod known;
mod lines;
mod look;
mod notice;
mod opening;
mod pager;
mod prompt;
mod reopening;
mod report;
mod score;
mod session;
mod status;
#[cfg(test)]
mod tests;
mod together;
mod turn;
mod views;
mod watch;
mod whose;

use std::io::{self, IsTerminal, Write};
use std::path::PathBuf;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use zeroize::Zeroizing;

use crate::record::person::Handle;
use crate::station::{Station, StationError};
use crate::view::escape;
use activity::Activity;
use known::SharedKnown;
use lines::{Lines, PlainLines, TerminalLines, Typed};
use notice::NoticeBoard;
use pager::After;
use reopening::{Reopening, Tried};
use session::{Next, Session, SharedStation, held};
use watch::Watcher;

/// How long nobody types before the keyboard is locked, unless told otherwise.
pub const IDLE_AFTER: Duration = Duration::from_secs(10 * 60);

/// How the shell is started.
pub struct ShellRequest {
    /// The journal folder.
    pub journal: PathBuf,
    /// Who signs in; asked for if left out.
    pub handle: Option<String>,
    /// Their secret, where it does not come from the keyboard.
    pub secret: Option<Zeroizing<String>>,
    /// How long nobody types before the keyboard is locked.
    pub idle_after: Duration,
}

/// How the shell ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShellEnd {
    /// Every line was taken, or a person was there to mend it.
    Done,
    /// So many lines of the input were not taken.
    Refused(usize),
}

/// Why the shell could not start or go on.
#[derive(Debug, thiserror::Error)]
pub enum ShellError {
    /// The journal, or a key.
    #[error(transparent)]
    Station(#[from] StationError),
    /// The terminal or the input.
    #[error("the terminal or the input failed: {0}")]
    Terminal(#[from] io::Error),
}

/// A line beside what is being typed and shown: on standard error.
fn say_aside(text: &str) {
    let _ = writeln!(io::stderr().lock(), "{}", escape::terminal(text));
}

/// Runs until the person ends it or the input does.
///
/// # Errors
/// When the journal cannot be opened, the first person cannot be unlocked without a keyboard,
/// or the terminal fails.
pub fn run(request: &ShellRequest) -> Result<ShellEnd, ShellError> {
    let mut station = Station::open(&request.journal)?;
    if let Some(note) = station.index_note() {
        // A person at the keyboard reads it above the first prompt.
        say_aside(&format!("Note: {note}."));
    }
    for concern in station.place_concerns() {
        say_aside(&format!("Note: {concern}."));
    }
    station.when_recovered(say_aside);
    let station: SharedStation = Arc::new(Mutex::new(station));
    let known = SharedKnown::default();
    if io::stdin().is_terminal() && io::stdout().is_terminal() {
        on_terminal(request, &station, &known)
    } else {
        let mut lines = PlainLines {
            input: io::stdin().lock(),
            output: io::stdout().lock(),
        };
        from_input(request, station, known, &mut lines)
    }
}

fn on_terminal(
    request: &ShellRequest,
    station: &SharedStation,
    known: &SharedKnown,
) -> Result<ShellEnd, ShellError> {
    let (activity, board) = (Activity::default(), NoticeBoard::default());
    let watcher = Watcher::new(
        Arc::clone(station),
        known.clone(),
        activity.clone(),
        board.clone(),
        request.idle_after,
    );
    let mut lines = TerminalLines::new(known.clone(), activity, board, Arc::clone(&watcher.idle));
    let mut session = Session::new(Arc::clone(station), known.clone(), true);
    // A panic is answered by the turn, in words; its trace would only smear the screen.
    let hook = std::panic::take_hook();
    std::panic::set_hook(Box::new(|_| {}));
    let running = watcher.start();
    let ended = at_keyboard(request, &mut session, &mut lines, &watcher);
    watcher.stop();
    running.thread().unpark();
    let _ = running.join();
    std::panic::set_hook(hook);
    ended.map(|()| ShellEnd::Done)
}

fn at_keyboard(
    request: &ShellRequest,
    session: &mut Session,
    lines: &mut TerminalLines,
    watcher: &Watcher,
) -> Result<(), ShellError> {
    let asked = request.handle.as_deref().and_then(Handle::parse);
    let mut reopening = Reopening::default();
    let given = request.secret.as_ref();
    if !sign_in(session, lines, watcher, (asked, given), &mut reopening)? {
        return Ok(());
    }
    // A line that was typed where the next page was offered.
    let mut typed_ahead = None;
    loop {
        let typed = match typed_ahead.take() {
            Some(line) => Typed::Line(line),
            None => lines.read(&session.ask())?,
        };
        match typed {
            Typed::Line(line) => {
                session.paper = lines.paper();
                let said = turn::guarded(session, &line);
                let mut text = lines.laid_out(&escape::terminal(&said));
                text.push_str(&session.take_drawn().unwrap_or_default());
                match pager::show(lines, &text)? {
                    After::All => {
                        if let Some(question) = session.take_asked_again() {
                            say(lines, &question)?;
                        }
                    }
                    After::Line(line) => typed_ahead = Some(line),
                    After::Idle(typing) => away(session, &typing),
                }
            }
            Typed::Interrupted(typing) => say(lines, &session.interrupted(&typing))?,
            Typed::Idle(typing) => away(session, &typing),
            Typed::TooLong(long) => say(lines, &session.too_long(long))?,
            Typed::Ended => say(lines, &session.quit())?,
        }
        match session.next.clone() {
            Next::Go => {}
            Next::Quit => return Ok(()),
            Next::Pin => {
                session.next = Next::Go;
                let said = change_pin(session, lines)?;
                say(lines, &said)?;
            }
            Next::SessionPin => {
                session.next = Next::Go;
                let said = keep_session(session, lines, &mut reopening)?;
                say(lines, &said)?;
            }
            Next::Lock(to) => {
                typed_ahead = None;
                reopening.forget_old();
                session.lock("");
                watcher.watch_for(None);
                lines.fresh()?;
                if !sign_in(session, lines, watcher, (to, None), &mut reopening)? {
                    return Ok(());
                }
            }
        }
    }
}

/// Asks for the PIN and twice for a new one, none of them shown.
fn change_pin(session: &Session, lines: &mut TerminalLines) -> io::Result<String> {
    let unchanged = "Your PIN stays as it was.".to_owned();
    let who = session.actor.as_ref();
    let Some((handle, role)) = who.map(|actor| (actor.handle.clone(), actor.role)) else {
        return Ok(unchanged);
    };
    let mut typed = Vec::new();
    for question in ["Your PIN now: ", "New PIN: ", "The new PIN again: "] {
        match lines.secret(question)?.filter(|secret| !secret.is_empty()) {
            Some(secret) => typed.push(secret),
            None => return Ok(unchanged),
        }
    }
    let [old, new, again] = &typed[..] else {
        return Ok(unchanged);
    };
    if new != again {
        return Ok(format!("The two differ. {unchanged}"));
    }
    let changed = held(&session.station).change_secret(&handle, old, new);
    Ok(match changed {
        Ok(()) if held(&session.station).is_teaching() => "You have a new PIN.".to_owned(),
        Ok(()) => format!(
            "It is changed. {}",
            crate::station::keys::what_it_opens(new, role)
        ),
        Err(error) => format!("{error}. {unchanged}"),
    })
}

/// Asks twice for a short PIN that re-opens this session.
fn keep_session(
    session: &Session,
    lines: &mut TerminalLines,
    reopening: &mut Reopening,
) -> io::Result<String> {
    let Some(actor) = session.actor.clone() else {
        return Ok("Nobody is signed in.".to_owned());
    };
    let mut ask = |question: &str| lines.secret(question);
    // Whoever sits down at a keyboard that was left open must not come back with a PIN of their own.
    let Some(secret) = ask("Your PIN or passphrase now: ")? else {
        return Ok("No PIN was set.".to_owned());
    };
    let unlocked = held(&session.station).unlock(&actor.handle, &secret);
    let actor = match unlocked {
        Ok(actor) => actor,
        Err(error) => return Ok(format!("{error}. No PIN was set.")),
    };
    let (Some(pin), Some(again)) = (
        ask("A short PIN that re-opens this session (6 characters or more): ")?,
        ask("The same again: ")?,
    ) else {
        return Ok("No PIN was set.".to_owned());
    };
    if pin != again {
        return Ok("The two differ; no PIN was set.".to_owned());
    }
    Ok(match reopening.keep(actor, &pin) {
        Ok(()) => "Until you quit, and for twelve hours at most, this PIN re-opens your session here after \
                   lock. It opens nothing else; after three wrong ones your passphrase is asked for."
            .to_owned(),
        Err(why) => format!("No PIN was set: {why}."),
    })
}

/// Nobody typed for too long: locked for the same person, with what they were typing kept.
fn away(session: &mut Session, typing: &str) {
    let handle = session.actor.as_ref().map(|actor| actor.handle.clone());
    session.lock(typing);
    session.next = Next::Lock(handle);
}

/// Asks who it is until somebody is unlocked; false at the end of the input.
fn sign_in(
    session: &mut Session,
    lines: &mut TerminalLines,
    watcher: &Watcher,
    (mut asked, given): (Option<Handle>, Option<&Zeroizing<String>>),
    reopening: &mut Reopening,
) -> Result<bool, ShellError> {
    let mut given = given.cloned();
    loop {
        session.next = Next::Go;
        let Some(handle) = who(session, lines, asked.take())? else {
            return Ok(false);
        };
        let secret = match given.take() {
            Some(secret) => Some(secret),
            None => lines.secret(&format!("PIN of {handle} (Enter for somebody else): "))?,
        };
        let Some(secret) = secret else {
            return Ok(false);
        };
        if secret.is_empty() {
            continue;
        }
        let unlocked = match reopening.try_secret(&handle, &secret) {
            Tried::Opens(actor) => held(&session.station).reopen(&actor),
            Tried::NotHere => held(&session.station).unlock(&handle, &secret),
            Tried::Wrong(left) => {
                let said = match left {
                    0 => "That is not the PIN of this session; it opens nothing any more. Your key's own PIN or passphrase does."
                        .to_owned(),
                    left => format!("That is not the PIN of this session; {left} more, or your key's own PIN or passphrase."),
                };
                say(lines, &said)?;
                asked = Some(handle);
                continue;
            }
        };
        match unlocked {
            Ok(actor) => {
                let wrong = reopening.take_wrong(&actor.handle);
                if wrong > 0 {
                    held(&session.station).record_wrong_session_pins(&actor, wrong);
                }
                watcher.watch_for(Some((
                    actor.handle.clone(),
                    actor.key(),
                    actor.role.short(),
                )));
                lines.fresh()?;
                let greeting = session.unlocked(actor);
                say(lines, &greeting)?;
                return Ok(true);
            }
            Err(error) => {
                say(lines, &error.to_string())?;
                asked = Some(handle);
            }
        }
    }
}

/// Whose turn it is at the keyboard.
fn who(
    session: &Session,
    lines: &mut TerminalLines,
    asked: Option<Handle>,
) -> Result<Option<Handle>, ShellError> {
    if let Some(handle) = asked {
        return Ok(Some(handle));
    }
    let (ward, teaching) = {
        let station = held(&session.station);
        (station.ward().name().to_owned(), station.is_teaching())
    };
    if teaching {
        say(lines, "TEACHING JOURNAL: invented people")?;
    }
    say(lines, &format!("{ward}. Locked; who is it?"))?;
    let mut warning = session.lost_by_quitting();
    loop {
        let text = lines.plain("handle: ")?;
        let Some(text) = text.filter(|text| !matches!(text.trim(), "quit" | "exit" | "q")) else {
            match warning.take() {
                None => return Ok(None),
                Some(warning) => say(lines, &warning)?,
            }
            continue;
        };
        match Handle::parse(&text) {
            Some(handle) => return Ok(Some(handle)),
            None => say(
                lines,
                "A handle is 2 to 24 lower-case letters, digits or hyphens, e.g. maya; \"quit\" ends.",
            )?,
        }
    }
}

/// Lines from a file or another program: the same words, nothing asked.
fn from_input(
    request: &ShellRequest,
    station: SharedStation,
    known: SharedKnown,
    lines: &mut dyn Lines,
) -> Result<ShellEnd, ShellError> {
    let mut session = Session::new(station, known, lines.can_ask());
    if let (Some(handle), Some(secret)) = (request.handle.as_deref(), &request.secret) {
        let handle = Handle::parse(handle).unwrap_or_else(|| Handle(handle.to_owned()));
        let actor = held(&session.station).unlock(&handle, secret)?;
        session.unlocked(actor);
    }
    match every_line(&mut session, lines) {
        // Whoever read the answers has seen enough; what was recorded stays recorded.
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => {}
        other => other?,
    }
    Ok(match session.refused {
        0 => ShellEnd::Done,
        refused => ShellEnd::Refused(refused),
    })
}

/// Until the end of the input or `quit`. Lines that begin with `#` are comments.
fn every_line(session: &mut Session, lines: &mut dyn Lines) -> io::Result<()> {
    loop {
        let ask = session.ask();
        let line = match lines.read(&ask)? {
            Typed::Line(line) => line,
            Typed::TooLong(long) => {
                lines.say(&session.too_long(long))?;
                continue;
            }
            Typed::Interrupted(_) | Typed::Idle(_) | Typed::Ended => return Ok(()),
        };
        if line.trim_start().starts_with('#') {
            continue;
        }
        lines.say(&escape::terminal(&turn::guarded(session, &line)))?;
        if let Some(page) = session.take_drawn() {
            lines.say(&page)?;
        }
        if let Some(question) = session.take_asked_again() {
            lines.say(&escape::terminal(&question))?;
        }
        if session.next != Next::Go {
            return Ok(());
        }
    }
}

/// The one place where the shell's words go to a terminal.
fn say(lines: &mut TerminalLines, text: &str) -> Result<(), ShellError> {
    Ok(lines.say(&escape::terminal(text))?)
}
