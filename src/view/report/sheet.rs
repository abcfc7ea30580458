//! The report as a page.

use super::{Report, ReportPart, cells, words};
use crate::clinical::CAUTION;
use crate::record::ids::Seq;
use crate::record::time::show_date;
use crate::view::page::{Block, Dial, Line, Page, Table};
use crate::ward::report::{Figure, Matter, Series, Spread, WardDay};

impl Report {
    /// The report in words.
    #[must_use]
    pub fn page(&self) -> Page {
        let dial = self.heading.dial();
        let mut page = self.heading.page("Report of the ward".to_owned());
        page.head.extend(self.period(dial));
        for part in &self.parts {
            page.blocks.push(Block::Heading(part.title.to_owned()));
            page.blocks.extend(part.blocks(dial));
        }
        page.blocks.push(Block::Heading("Day by day".to_owned()));
        page.blocks.extend(self.days_tables(dial).map(Block::Table));
        page.blocks.push(Block::Lines(vec![quiet(format!(
            "Counted: {}",
            self.days_counted
        ))]));
        page.blocks
            .push(Block::Heading("Measures over days".to_owned()));
        page.blocks.push(Block::Lines(self.series_lines()));
        page.foot = vec![
            self.report_caution.to_owned(),
            "`--json` names the entries behind each figure; `handfast entry NUMBER` shows one."
                .to_owned(),
            CAUTION.to_owned(),
        ];
        page
    }

    fn period(&self, dial: Dial) -> Vec<Line> {
        let said = |moment| dial.zone.day_date_time(moment);
        let minutes = self.length().whole_minutes();
        let long = match (minutes / 60, minutes % 60) {
            (hours, 0) => format!("{hours} hours"),
            (hours, minutes) => format!("{hours} hours {minutes} minutes"),
        };
        let mut lines = vec![
            Line::new()
                .quiet("from")
                .strong(said(self.from))
                .quiet("until")
                .strong(said(self.until))
                .quiet(format!(
                    "({long}; the first moment counts, the last does not)"
                )),
        ];
        if let Some(began) = self.journal_began.filter(|began| *began > self.from) {
            lines.push(Line::new().warn(format!(
                "The journal begins {}: what happened before is counted only as far as it was written down since; who was on the ward is not known.",
                said(began)
            )));
        }
        lines
    }

    /// Who was there, and what was done: two tables, that both fit a narrow screen.
    fn days_tables(&self, dial: Dial) -> [Table; 2] {
        let rows = |row: fn(&WardDay, Dial) -> Vec<Line>| {
            let rows = self.days.iter().map(|day| row(day, dial));
            rows.collect()
        };
        [
            Table {
                head: vec!["Day", "Here", "Of places", "Night", "In", "Out"],
                rows: rows(day_of_beds),
            },
            Table {
                head: vec!["Day", "Contacts", "Missed", "Alerts", "Late"],
                rows: rows(day_of_work),
            },
        ]
    }

    fn series_lines(&self) -> Vec<Line> {
        if self.series.is_empty() {
            let whole = self.days.iter().filter(|day| day.whole).count();
            return vec![Line::of(format!(
                "None: 12 whole days or more are needed, and there are {whole}."
            ))];
        }
        let mut lines: Vec<Line> = self.series.iter().map(series_line).collect();
        lines.push(quiet(self.series_rule));
        lines.push(quiet(self.series_caution));
        lines
    }
}

fn quiet(text: impl Into<String>) -> Line {
    Line::new().quiet(text)
}

impl ReportPart {
    fn blocks(&self, dial: Dial) -> Vec<Block> {
        let mut blocks = match self.about {
            Matter::Alerts => self.alert_tables(),
            _ => vec![Block::Table(self.table(self.figures.iter()))],
        };
        let mut lines = self.waiting(dial);
        lines.push(quiet(format!(
            "Counted: {} Source: {}.",
            self.counted, self.source
        )));
        blocks.push(Block::Lines(lines));
        blocks
    }

    fn label(&self, figure: &Figure) -> Line {
        Line::of(words::label(self.about, figure))
    }

    fn table<'a>(&self, figures: impl Iterator<Item = &'a Figure> + Clone) -> Table {
        let is_timed = figures.clone().any(|figure| !figure.times.is_empty());
        let rows = figures.map(|figure| {
            let mut row = vec![self.label(figure), cells::number(figure)];
            if is_timed {
                row.extend(timed_cells(figure.times.first()));
            }
            row
        });
        let rows = rows.collect();
        let mut head = vec!["What", "Count"];
        if is_timed {
            head.extend(["Median", "Longest", "Waiting"]);
        }
        Table { head, rows }
    }

    /// Times to each step stand beside each other; what was open and closed stands under them.
    fn alert_tables(&self) -> Vec<Block> {
        let timed = |figure: &&Figure| figure.times.len() > 1;
        let rows = self.figures.iter().filter(timed).map(|figure| {
            let mut row = vec![self.label(figure), cells::number(figure)];
            row.extend(figure.times.iter().map(cells::in_one));
            row
        });
        let table = Table {
            head: vec!["What", "Count", "Seen", "Taken", "Acted on", "Closed"],
            rows: rows.collect(),
        };
        let others = self.figures.iter().filter(|figure| figure.times.len() < 2);
        vec![Block::Table(table), Block::Table(self.table(others))]
    }

    /// Whatever still waits, each once.
    fn waiting(&self, dial: Dial) -> Vec<Line> {
        let whole = self.figures.iter().filter(|figure| figure.of.is_empty());
        let several = whole
            .clone()
            .filter(|f| f.times.iter().any(|t| !t.waiting.is_empty()));
        let several = several.count() > 1;
        let mut lines = Vec::new();
        for figure in whole {
            let Some(spread) = figure
                .times
                .last()
                .filter(|spread| !spread.waiting.is_empty())
            else {
                continue;
            };
            let label = words::label(self.about, figure);
            let intro = match (self.about, several) {
                (Matter::Readings, _) | (_, true) => {
                    format!("{} ({label}):", words::waits_for(self.about))
                }
                (about, false) => format!("{}:", words::waits_for(about)),
            };
            lines.push(Line::new().strong(intro));
            let beside = |seq| not_yet(&figure.times, seq);
            lines.extend(cells::still_waiting(spread, dial, beside));
        }
        lines
    }
}

/// The steps an alert has not come to, where there are several.
fn not_yet(times: &[Spread], seq: Seq) -> String {
    if times.len() < 2 {
        return String::new();
    }
    let waits = |spread: &&Spread| spread.waiting.iter().any(|one| one.seq == seq);
    let missing: Vec<&str> = times
        .iter()
        .filter(waits)
        .map(|spread| spread.name)
        .collect();
    let missing: Vec<&str> = missing
        .into_iter()
        .map(|name| if name == "acted" { "acted on" } else { name })
        .collect();
    format!(": not {}", missing.join(", not "))
}

fn timed_cells(spread: Option<&Spread>) -> Vec<Line> {
    match spread {
        Some(spread) => vec![
            cells::middle(spread),
            cells::longest(spread),
            cells::waiting(spread),
        ],
        None => vec![Line::new(), Line::new(), Line::new()],
    }
}

fn day_name(day: &WardDay, dial: Dial) -> Line {
    let name = dial.zone.local(day.from).format("%a %d-%b").to_string();
    let minutes = day.until.since(day.from).whole_minutes();
    let note = match (day.whole, minutes) {
        (true, 1_440) => String::new(),
        (true, minutes) => format!("({} h)", minutes / 60),
        (false, _) if !day.in_journal => "(before)".to_owned(),
        (false, _) => "(part)".to_owned(),
    };
    Line::of(name).quiet(note)
}

fn day_count(day: &WardDay, name: &str) -> Line {
    match day.figure(name) {
        Some(figure) => cells::number(figure),
        None => quiet("-"),
    }
}

fn day_of_beds(day: &WardDay, dial: Dial) -> Vec<Line> {
    let share = day.capacity.zip(day.occupancy_tenths);
    let share = share
        .map(|(places, tenths)| format!("{places}: {}.{} %", tenths / 10, tenths % 10))
        .map_or_else(|| quiet("?"), Line::of);
    vec![
        day_name(day, dial),
        day_count(day, "here"),
        share,
        day_count(day, "bed-days"),
        day_count(day, "admitted"),
        day_count(day, "left"),
    ]
}

fn day_of_work(day: &WardDay, dial: Dial) -> Vec<Line> {
    vec![
        day_name(day, dial),
        day_count(day, "contacts"),
        day_count(day, "unreached"),
        day_count(day, "alerts-raised"),
        day_count(day, "late"),
    ]
}

fn series_line(series: &Series) -> Line {
    let line = Line::new()
        .strong(format!("{}:", words::measure(series.name)))
        .plain(format!(
            "mean {:.1}, limits {:.1} to {:.1}, from the first {} of {} days;",
            series.mean,
            series.low,
            series.high,
            series.fixed_on,
            series.days.len()
        ));
    let signals = [
        ("beyond a limit", &series.outside),
        ("on one side of the mean", &series.shift),
        ("rising or falling", &series.trend),
        ("near one limit", &series.two_of_three),
    ];
    let said = signals.into_iter().filter(|(_, days)| !days.is_empty());
    let said: Vec<String> = said
        .map(|(what, days)| {
            let days: Vec<String> = days.iter().map(|day| show_date(day.to_date())).collect();
            format!("{what}: {}", days.join(", "))
        })
        .collect();
    match said.is_empty() {
        true => line.plain("no signal"),
        false => line.warn(said.join("; ")),
    }
}
