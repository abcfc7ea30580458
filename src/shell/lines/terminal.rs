//! Lines from a terminal, with an editor that completes, hints, and lets notices in above
//! the line being typed. History is in memory and ends with the person.

use std::io::{self, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use reedline::{
    ColumnarMenu, EditCommand, EditMode, Emacs, ExternalPrinter, KeyCode, KeyModifiers,
    MenuBuilder, Reedline, ReedlineEvent, ReedlineMenu, Signal, ValidationResult, Validator,
    default_emacs_keybindings,
};
use rustix::termios::tcgetwinsize;
use zeroize::Zeroizing;

use super::{Ask, Lines, Refill, Typed};
use crate::shell::activity::Activity;
use crate::shell::complete::WardCompleter;
use crate::shell::highlight::SafeLine;
use crate::shell::hint::WardHinter;
use crate::shell::known::SharedKnown;
use crate::shell::notice::NoticeBoard;
use crate::shell::prompt::WardPrompt;
use crate::shorthand::is_unfinished;
use crate::view::render::text::Paper;
use crate::view::render::wrap::wrapped;

const MENU: &str = "words";
/// Stands behind a line that Ctrl-C cuts.
const MARK: char = '.';

pub(in crate::shell) struct TerminalLines {
    editor: Reedline,
    known: SharedKnown,
    activity: Activity,
    board: NoticeBoard,
    idle: Arc<AtomicBool>,
    takes_lines: Arc<AtomicBool>,
}

impl TerminalLines {
    /// An editor on the process's terminal.
    pub(in crate::shell) fn new(
        known: SharedKnown,
        activity: Activity,
        board: NoticeBoard,
        idle: Arc<AtomicBool>,
    ) -> TerminalLines {
        let takes_lines = Arc::new(AtomicBool::new(false));
        let editor = editor(&known, &activity, &board, &idle, &takes_lines);
        TerminalLines {
            editor,
            known,
            activity,
            board,
            idle,
            takes_lines,
        }
    }

    fn refill(&mut self, ask: &Ask) {
        let mut commands = vec![EditCommand::Clear];
        let line = ask
            .refill
            .as_ref()
            .map_or("", |refill| refill.line.as_str());
        if let Some(Refill { line, at }) = &ask.refill {
            commands.push(EditCommand::InsertString(line.clone()));
            let goes = |position, select| EditCommand::MoveToPosition { position, select };
            commands.push(goes(at.start, false));
            if !at.is_empty() {
                commands.push(goes(at.end, true));
            }
        }
        self.activity.begin(line);
        self.editor.run_edit_commands(&commands);
    }
}

impl Lines for TerminalLines {
    fn read(&mut self, ask: &Ask) -> io::Result<Typed> {
        self.takes_lines.store(ask.takes_lines, Ordering::SeqCst);
        self.idle.store(false, Ordering::SeqCst);
        self.refill(ask);
        let prompt = WardPrompt {
            known: self.known.clone(),
            mark: ask.mark.clone(),
            columns: columns(),
            status: ask.status,
        };
        self.board.open();
        let signal = self.editor.read_line(&prompt);
        self.board.close();
        Ok(match signal.map_err(io::Error::other)? {
            Signal::Success(line) => Typed::Line(line),
            Signal::CtrlC => Typed::Interrupted(self.cut_line()),
            Signal::ExternalBreak(line) => Typed::Idle(line),
            Signal::CtrlD => Typed::Ended,
            _ => Typed::Line(String::new()),
        })
    }

    fn secret(&mut self, question: &str) -> io::Result<Option<Zeroizing<String>>> {
        match rpassword::prompt_password(question) {
            Ok(secret) => Ok(Some(Zeroizing::new(secret))),
            Err(error) if error.kind() == io::ErrorKind::UnexpectedEof => Ok(None),
            Err(error) => Err(error),
        }
    }

    fn say(&mut self, text: &str) -> io::Result<()> {
        if text.is_empty() {
            return Ok(());
        }
        let text = self.laid_out(text);
        self.say_part(&text)
    }

    fn fresh(&mut self) -> io::Result<()> {
        self.say_part("\u{1b}[2J\u{1b}[3J\u{1b}[H")?;
        self.activity.begin("");
        self.editor = editor(
            &self.known,
            &self.activity,
            &self.board,
            &self.idle,
            &self.takes_lines,
        );
        Ok(())
    }

    fn can_ask(&self) -> bool {
        true
    }
}

impl TerminalLines {
    /// Reads a line without the editor, while nobody is signed in.
    pub(in crate::shell) fn plain(&mut self, question: &str) -> io::Result<Option<String>> {
        self.say_part(question)?;
        let mut text = String::new();
        let read = io::stdin().read_line(&mut text)?;
        Ok((read > 0).then(|| text.trim_end_matches(['\n', '\r']).to_owned()))
    }

    /// The line Ctrl-C took away, which Ctrl-Y brings back.
    fn cut_line(&mut self) -> String {
        let back = [
            EditCommand::Clear,
            EditCommand::PasteCutBufferBefore,
            EditCommand::Backspace,
        ];
        self.editor.run_edit_commands(&back);
        let line = self.editor.current_buffer_contents().to_owned();
        self.editor.run_edit_commands(&cut_all());
        self.editor.run_edit_commands(&[EditCommand::Clear]);
        line
    }

    /// What pages are drawn on here.
    pub(in crate::shell) fn paper(&self) -> Paper {
        Paper {
            width: columns(),
            styled: std::env::var_os("NO_COLOR").is_none(),
        }
    }

    /// An answer as it is put on this terminal; nothing for no answer.
    pub(in crate::shell) fn laid_out(&self, text: &str) -> String {
        if text.is_empty() {
            return String::new();
        }
        wrapped(text, columns()) + "\n"
    }

    /// Lines of the terminal.
    pub(in crate::shell) fn rows(&self) -> usize {
        tcgetwinsize(io::stdout()).map_or(0, |size| usize::from(size.ws_row))
    }

    /// Shows what was laid out for this terminal.
    pub(in crate::shell) fn show(&mut self, page: &str) -> io::Result<()> {
        self.say_part(page)
    }

    fn say_part(&mut self, text: &str) -> io::Result<()> {
        let mut out = io::stdout().lock();
        out.write_all(text.as_bytes())?;
        out.flush()
    }
}

/// Columns of the terminal; 80 where it does not say.
pub(in crate::shell) fn columns() -> usize {
    tcgetwinsize(io::stdout())
        .ok()
        .map(|size| usize::from(size.ws_col))
        .filter(|c| *c > 0)
        .unwrap_or(80)
}

fn editor(
    known: &SharedKnown,
    activity: &Activity,
    board: &NoticeBoard,
    idle: &Arc<AtomicBool>,
    takes_lines: &Arc<AtomicBool>,
) -> Reedline {
    let menu = ColumnarMenu::default().with_name(MENU).with_columns(1);
    let printer = ExternalPrinter::default();
    board.pin_to(printer.sender());
    Reedline::create()
        .with_completer(Box::new(WardCompleter {
            known: known.clone(),
        }))
        .with_menu(ReedlineMenu::EngineCompleter(Box::new(menu)))
        .with_quick_completions(true)
        .with_edit_mode(edit_mode())
        .with_hinter(Box::new(WardHinter {
            known: known.clone(),
            activity: activity.clone(),
            acceptable: String::new(),
        }))
        .with_highlighter(Box::new(SafeLine))
        .with_validator(Box::new(WholeLine(Arc::clone(takes_lines))))
        .with_ansi_colors(std::env::var_os("NO_COLOR").is_none())
        .with_break_signal(Arc::clone(idle))
        .with_external_printer(printer)
        .use_bracketed_paste(true)
}

/// Takes the whole line away, into what Ctrl-Y brings back.
fn cut_all() -> [EditCommand; 2] {
    [
        EditCommand::MoveToEnd { select: false },
        EditCommand::CutFromStart,
    ]
}

fn edit_mode() -> Box<dyn EditMode> {
    let mut keys = default_emacs_keybindings();
    let next = ReedlineEvent::UntilFound(vec![
        ReedlineEvent::Menu(MENU.to_owned()),
        ReedlineEvent::MenuNext,
    ]);
    keys.add_binding(KeyModifiers::NONE, KeyCode::Tab, next);
    keys.add_binding(
        KeyModifiers::SHIFT,
        KeyCode::BackTab,
        ReedlineEvent::MenuPrevious,
    );
    // The whole line goes, and Ctrl-Y brings it back.
    keys.add_binding(
        KeyModifiers::CONTROL,
        KeyCode::Char('u'),
        ReedlineEvent::Edit(cut_all().to_vec()),
    );
    // The editor forgets the line at Ctrl-C; keys that came in one burst with it were never drawn
    // and so never seen. It is cut first, with a mark behind it so that an empty line is cut too.
    let mark = EditCommand::InsertChar(MARK);
    let cut = [&cut_all()[..1], &[mark], &cut_all()[1..]].concat();
    keys.add_binding(
        KeyModifiers::CONTROL,
        KeyCode::Char('c'),
        ReedlineEvent::Multiple(vec![ReedlineEvent::Edit(cut), ReedlineEvent::CtrlC]),
    );
    // Searching the history takes no such binding, and there Ctrl-C would do nothing.
    keys.remove_binding(KeyModifiers::CONTROL, KeyCode::Char('r'));
    let line = ReedlineEvent::Edit(vec![EditCommand::InsertNewline]);
    keys.add_binding(KeyModifiers::ALT, KeyCode::Enter, line);
    Box::new(Emacs::new(keys))
}

/// When Enter ends a line: not inside quotes, and not in a note of several lines. An empty
/// last line always ends it, so that a stray quote traps nobody.
struct WholeLine(Arc<AtomicBool>);

impl Validator for WholeLine {
    fn validate(&self, line: &str) -> ValidationResult {
        let wants_more = self.0.load(Ordering::SeqCst) && !is_word(line) || is_unfinished(line);
        if wants_more && !line.ends_with('\n') {
            ValidationResult::Incomplete
        } else {
            ValidationResult::Complete
        }
    }
}

/// The words that steer a form end a note of several lines as well.
fn is_word(line: &str) -> bool {
    matches!(
        line.trim(),
        "back" | "<" | "cancel" | "lock" | "?" | "." | ""
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn is_complete(validator: &WholeLine, line: &str) -> bool {
        matches!(validator.validate(line), ValidationResult::Complete)
    }

    #[test]
    fn enter_ends_a_line_unless_there_is_more_to_come() {
        let one = WholeLine(Arc::new(AtomicBool::new(false)));
        assert!(is_complete(&one, "v rr18 \"well\""));
        assert!(!is_complete(&one, "v rr18 \"well,"));
        assert!(
            is_complete(&one, "v rr18 \"well,\n"),
            "an empty line ends even a stray quote"
        );
        let several = WholeLine(Arc::new(AtomicBool::new(true)));
        assert!(!is_complete(&several, "first line"));
        assert!(is_complete(&several, "first line\nsecond\n"));
        assert!(is_complete(&several, "cancel"));
    }
}
