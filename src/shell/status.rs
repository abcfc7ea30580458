//! The line above the prompt: which ward, who types, and what waits for somebody. Where the
//! terminal is too narrow for all of it, what matters least goes first; what waits goes last.

use unicode_width::UnicodeWidthStr;

use super::look::open_alerts;
use super::prompt::cut;
use crate::record::person::Handle;
use crate::record::time::{Span, Timestamp};
use crate::station::Station;
use crate::view::escape::terminal_line;

const BETWEEN: &str = " | ";

/// What stands in the line, in its order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum What {
    Teaching,
    Ward,
    Person,
    Critical,
    Alerts,
    Overdue,
    Clock,
}

/// What is given up, one after the other, until the line fits: each time the named part takes
/// its next shorter form. The last form of a part that may go altogether is empty. In a
/// teaching journal nothing that is overdue is real, so that there the loud word outlasts it.
/// Whose name an entry will be signed with is never given up.
const GIVEN_UP: [What; 10] = [
    What::Alerts,
    What::Ward,
    What::Person,
    What::Critical,
    What::Alerts,
    What::Critical,
    What::Critical,
    What::Clock,
    What::Overdue,
    What::Teaching,
];

/// One part and its forms, the longest first.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Part {
    what: What,
    forms: Vec<String>,
}

/// The line, before it is known how wide the terminal is.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Status(Vec<Part>);

impl Status {
    /// As the ward stands.
    pub(super) fn of(station: &Station, person: Option<(&Handle, &str)>) -> Status {
        let (ward, now) = (station.ward(), station.now());
        let mut status = Status::default();
        if station.is_teaching() {
            status.add(What::Teaching, ["TEACHING", ""]);
        }
        status.add(What::Ward, [ward.name(), ""]);
        if let Some((handle, role)) = person {
            let (full, short) = (format!("{handle} {role}"), handle.to_string());
            status.add(What::Person, [&full, &short]);
        }
        let critical = ward.critical_unseen();
        let since = |moment: Timestamp| now.since(moment).spoken();
        if let Some((_, oldest)) = critical.first() {
            let (count, age) = (critical.len(), since(oldest.reported.stamp.occurred_at));
            let results = if count == 1 { "result" } else { "results" };
            status.add(
                What::Critical,
                [
                    &format!("{count} CRITICAL {results} unseen ({age})"),
                    &format!("{count} CRITICAL unseen ({age})"),
                    &format!("{count} CRITICAL unseen"),
                    &format!("{count} CRITICAL"),
                ],
            );
        }
        let alerts = open_alerts(ward);
        let untaken = alerts.iter().filter(|(_, one)| one.holder().is_none());
        let untaken: Vec<Span> = untaken.map(|(_, one)| one.age(now)).collect();
        let count = alerts.len();
        let word = if count == 1 { "alert" } else { "alerts" };
        if let Some(age) = untaken.iter().max() {
            let (nobodys, age) = (untaken.len(), age.spoken());
            status.add(
                What::Alerts,
                [
                    &format!("{count} open {word}, {nobodys} NOT TAKEN ({age})"),
                    &format!("{count} {word}, {nobodys} NOT TAKEN ({age})"),
                    &format!("{count} {word}, {nobodys} NOT TAKEN"),
                ],
            );
        } else if let Some(age) = alerts.iter().map(|(_, alert)| alert.age(now)).max() {
            let age = age.spoken();
            status.add(
                What::Alerts,
                [
                    &format!("{count} open {word} ({age})"),
                    &format!("{count} {word} ({age})"),
                    &format!("{count} {word}"),
                ],
            );
        } else {
            status.add(What::Alerts, ["no open alerts", "no alerts"]);
        }
        let due = ward.due_items();
        match due.iter().filter(|item| item.is_overdue(now)).count() {
            0 => status.add(What::Overdue, ["nothing overdue", ""]),
            count => status.add(What::Overdue, [&format!("{count} overdue"), ""]),
        }
        status.add(What::Clock, [&station.zone().clock_time(now), ""]);
        status
    }

    fn add<T: AsRef<str>, const N: usize>(&mut self, what: What, forms: [T; N]) {
        // Of hostile text only what a terminal shows can be measured.
        let forms = forms.map(|form| terminal_line(form.as_ref()).into_owned());
        self.0.push(Part {
            what,
            forms: forms.into(),
        });
    }

    /// As much as fits, the most important for certain unless even that is too wide; then it is
    /// cut, with a mark.
    pub(super) fn fitted(&self, columns: usize) -> String {
        let mut parts = self.0.clone();
        for what in GIVEN_UP {
            if joined(&parts).width() <= columns {
                break;
            }
            for part in parts.iter_mut().filter(|part| part.what == what) {
                if part.forms.len() > 1 {
                    part.forms.remove(0);
                }
            }
        }
        cut(&joined(&parts), columns)
    }
}

/// `Fellside | maya RN | 1 CRITICAL result unseen (35min) | 2 open alerts (35min) | 1 overdue |
/// 14:20`: in brackets the age of the oldest; of alerts the oldest that nobody has, if there is one.
fn joined(parts: &[Part]) -> String {
    let shown = parts.iter().filter_map(|part| part.forms.first());
    let shown: Vec<&str> = shown
        .map(String::as_str)
        .filter(|form| !form.is_empty())
        .collect();
    shown.join(BETWEEN)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn status(teaching: bool, critical: bool) -> Status {
        let mut status = Status::default();
        if teaching {
            status.add(What::Teaching, ["TEACHING", ""]);
        }
        status.add(What::Ward, ["Fell\u{1b}[2Jside virtual ward", ""]);
        status.add(What::Person, ["maya RN", "maya"]);
        if critical {
            let forms = [
                "1 CRITICAL result unseen (3hr 20min)",
                "1 CRITICAL unseen (3hr 20min)",
                "1 CRITICAL unseen",
                "1 CRITICAL",
            ];
            status.add(What::Critical, forms);
        }
        let forms = ["12 open alerts (35min)", "12 alerts (35min)", "12 alerts"];
        status.add(What::Alerts, forms);
        status.add(What::Overdue, ["4 overdue", ""]);
        status.add(What::Clock, ["14:20", ""]);
        status
    }

    #[test]
    fn what_waits_is_counted_at_every_width_a_terminal_has() {
        for (teaching, critical) in [(true, true), (true, false), (false, true), (false, false)] {
            for columns in 30..160 {
                let line = status(teaching, critical).fitted(columns);
                assert!(line.width() <= columns, "{columns}: {line}");
                assert!(!line.contains('\u{1b}'), "{line}");
                assert!(line.contains("12 "), "{columns}: {line}");
                assert!(line.contains("maya"), "{columns}: {line}");
                assert!(columns < 79 || line.ends_with("14:20"), "{columns}: {line}");
                assert!(line.contains("CRITICAL") == critical, "{columns}: {line}");
                assert!(
                    columns < 44 || line.contains("TEACHING") == teaching,
                    "{line}"
                );
            }
        }
    }

    #[test]
    fn a_wide_terminal_shows_all_of_it_and_a_narrow_one_what_matters() {
        let all = status(true, true).fitted(200);
        let said = " | maya RN | 1 CRITICAL result unseen (3hr 20min) | 12 open alerts (35min) \
                    | 4 overdue | 14:20";
        assert!(
            all.starts_with("TEACHING | Fell") && all.ends_with(said),
            "{all}"
        );
        for (teaching, critical, columns, wanted) in [
            (
                true,
                true,
                79,
                "TEACHING | maya | 1 CRITICAL unseen (3hr 20min) | 12 alerts | 4 overdue | 14:20",
            ),
            (true, true, 44, "TEACHING | maya | 1 CRITICAL | 12 alerts"),
            (false, true, 44, "maya | 1 CRITICAL | 12 alerts | 4 overdue"),
            (true, false, 44, "TEACHING | maya | 12 alerts | 4 overdue"),
            (
                false,
                false,
                44,
                "maya | 12 alerts (35min) | 4 overdue | 14:20",
            ),
        ] {
            assert_eq!(status(teaching, critical).fitted(columns), wanted);
        }
    }

    #[test]
    fn what_is_too_wide_even_so_is_cut_and_says_it() {
        let line = status(true, true).fitted(20);
        assert_eq!(line, "maya | 1 CRITICAL |…");
    }
}
