//! Answers longer than the screen, a screenful at a time.
//!
//! What comes next is asked for with the line editor, so alerts appear above that line as above
//! any other, the keyboard is locked when nobody types, and whoever has seen enough can type the
//! next command at once. Only a terminal is paged.

use std::io;

use super::lines::{Ask, Lines, TerminalLines, Typed};

/// Said before the cursor while there is more.
const MORE: &str = "-- more: Enter, or q --";
/// Lines that the question takes, and one to go on reading from.
const KEPT: usize = 3;

/// How the reading ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum After {
    /// All was shown, or the person had seen enough.
    All,
    /// The person typed this instead of going on.
    Line(String),
    /// Nobody typed for too long, with the line as it stood.
    Idle(String),
}

/// Shows a text that ends each of its lines.
pub(super) fn show(lines: &mut TerminalLines, text: &str) -> io::Result<After> {
    for (at, page) in pages(text, lines.rows()).into_iter().enumerate() {
        if at > 0 {
            match ask(lines)? {
                After::Line(line) if line.trim().is_empty() => {}
                After::Line(line) if is_enough(&line) => return Ok(After::All),
                other => return Ok(other),
            }
        }
        lines.show(page)?;
    }
    Ok(After::All)
}

fn ask(lines: &mut TerminalLines) -> io::Result<After> {
    let ask = Ask {
        mark: MORE.to_owned(),
        ..Ask::default()
    };
    Ok(match lines.read(&ask)? {
        Typed::Line(line) => After::Line(line),
        Typed::Idle(line) => After::Idle(line),
        Typed::Interrupted(_) | Typed::TooLong(_) | Typed::Ended => After::All,
    })
}

fn is_enough(line: &str) -> bool {
    line.trim().eq_ignore_ascii_case("q")
}

/// The text in parts that fit on a screen of so many lines; in one where that is not known.
fn pages(text: &str, rows: usize) -> Vec<&str> {
    let fits = rows.saturating_sub(KEPT);
    if fits == 0 || text.lines().count() <= rows.saturating_sub(1) {
        return vec![text];
    }
    let mut ends: Vec<usize> = text.match_indices('\n').map(|(at, _)| at + 1).collect();
    if ends.last() != Some(&text.len()) {
        ends.push(text.len());
    }
    let mut from = 0;
    let mut pages = Vec::new();
    for end in ends.chunks(fits).filter_map(|chunk| chunk.last().copied()) {
        pages.push(&text[from..end]);
        from = end;
    }
    pages
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_screenful_at_a_time_and_nothing_lost() {
        let text: String = (1..=50).map(|n| format!("line {n}\n")).collect();
        let shown = pages(&text, 24);
        assert_eq!(shown.concat(), text);
        assert_eq!(shown.len(), 3);
        assert!(shown.iter().all(|page| page.lines().count() <= 21));
        assert_eq!(pages("short\n", 24), ["short\n"]);
        assert_eq!(pages(&text, 0), [text.as_str()], "an unknown height");
    }
}
