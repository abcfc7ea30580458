//! A report for a spreadsheet: one row a figure, then one a figure of each day.

use super::{Report, words};
use crate::record::time::Timestamp;
use crate::view::render::csv;
use crate::ward::report::{Figure, Spread};

const HEAD: [&str; 15] = [
    "part",
    "figure",
    "of",
    "from",
    "until",
    "count",
    "unit",
    "until_step",
    "median",
    "longest",
    "longest_waits",
    "waiting",
    "waiting_since",
    "places",
    "entries",
];

impl Report {
    /// The report for a spreadsheet. Lengths are minutes, of stay midnights.
    #[must_use]
    pub fn csv(&self) -> String {
        let mut rows = Vec::new();
        for part in &self.parts {
            for figure in &part.figures {
                let about = words::title(part.about);
                let none = [None];
                let spreads: Vec<Option<&Spread>> = figure.times.iter().map(Some).collect();
                let spreads = if spreads.is_empty() {
                    &none[..]
                } else {
                    &spreads
                };
                for spread in spreads {
                    let span = (self.from, self.until);
                    rows.push(row(about, figure, span, *spread, None));
                }
            }
        }
        for day in &self.days {
            for figure in &day.figures {
                let places = day.capacity.filter(|_| figure.name == "here");
                rows.push(row("Day", figure, (day.from, day.until), None, places));
            }
        }
        csv::table(&HEAD, rows)
    }
}

fn row(
    part: &str,
    figure: &Figure,
    (from, until): (Timestamp, Timestamp),
    spread: Option<&Spread>,
    places: Option<u32>,
) -> Vec<String> {
    let entries: Vec<String> = figure.entries.iter().map(|seq| seq.0.to_string()).collect();
    let since = spread.and_then(|spread| spread.waiting.first());
    vec![
        part.to_owned(),
        figure.name.to_owned(),
        figure.of.join(" "),
        csv::moment(Some(from)),
        csv::moment(Some(until)),
        figure.count.to_string(),
        figure.unit.code().to_owned(),
        spread.map_or("", |spread| spread.name).to_owned(),
        csv::number(spread.and_then(|spread| spread.median)),
        csv::number(spread.and_then(|spread| spread.longest)),
        csv::number(spread.map(|spread| spread.longest_waits)),
        csv::number(spread.map(|spread| spread.waiting.len())),
        csv::moment(since.map(|one| one.since)),
        csv::number(places),
        entries.join(" "),
    ]
}
