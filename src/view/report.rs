//! The ward's report of a period: what a ward sister and governance read. Counts only, with
//! how each was counted and the entries behind it; no patient is named.

mod cells;
mod csv_form;
mod sheet;
mod words;

use serde::Serialize;

use crate::clinical::CAUTION;
use crate::record::time::{Span, Timestamp};
use crate::view::origin::Vantage;
use crate::view::timeline::Heading;
use crate::ward::report::{Figure, Matter, Period, Series, WardDay, began, count};

/// Name and version of the JSON form.
pub const REPORT_SCHEMA: &str = "handfast.report/1";

/// What the figures are, and are not.
pub const REPORT_CAUTION: &str = "Counted from what was recorded, as known at the moment above: what nobody wrote down is in no figure. Small numbers can point to a person: take care who reads this.";

/// What a chart of a measure is for.
pub const SERIES_CAUTION: &str = "For measures of the ward only: a signal asks what changed, it says nothing of any patient, and no signal does not mean all is well.";

/// The ward's report of a period.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    /// [`REPORT_SCHEMA`].
    pub schema: &'static str,
    /// As of when.
    pub heading: Heading,
    /// The first moment that counts.
    pub from: Timestamp,
    /// The first moment after it that does not.
    pub until: Timestamp,
    /// Elapsed minutes of the period.
    pub minutes: i64,
    /// When the journal begins: what happened before is counted only as far as it was written
    /// down since.
    pub journal_began: Option<Timestamp>,
    /// Entries written later than so many minutes after what they tell are late, by the ward's
    /// policy as of the view.
    pub late_entry_minutes: i64,
    /// No reading for more than so many minutes is silence, by the ward's policy as of the view.
    pub silence_minutes: i64,
    /// The hour of the day at which patients are counted, by the ward's policy as of the view.
    pub snapshot_hour: u32,
    /// What was counted.
    pub parts: Vec<ReportPart>,
    /// How the figures of each day were counted, and their source.
    pub days_counted: &'static str,
    /// Each day of the ward's calendar that the period touches.
    pub days: Vec<WardDay>,
    /// The rule of the charts and its source.
    pub series_rule: &'static str,
    /// What they are for.
    pub series_caution: &'static str,
    /// Measures of the ward by day, where there are 12 whole days or more.
    pub series: Vec<Series>,
    /// What the figures are, and are not.
    pub report_caution: &'static str,
    /// The clinical caution.
    pub caution: &'static str,
}

/// A part of a report.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReportPart {
    /// What it is about.
    pub about: Matter,
    /// Its title.
    pub title: &'static str,
    /// How it was counted.
    pub counted: &'static str,
    /// The source of that, or that there is none.
    pub source: &'static str,
    /// Its figures.
    pub figures: Vec<Figure>,
}

/// The report of a period, as seen from a vantage.
#[must_use]
pub fn report(vantage: &Vantage<'_>, period: Period) -> Report {
    let ward = vantage.ward;
    let counted = count(ward, period, vantage.now);
    let values = ward.policy().values();
    let part = |part: crate::ward::report::Part| ReportPart {
        title: words::title(part.about),
        counted: words::counted(part.about),
        source: words::source(part.about),
        about: part.about,
        figures: part.figures,
    };
    Report {
        schema: REPORT_SCHEMA,
        heading: Heading::of(vantage),
        from: period.from,
        until: period.until,
        minutes: period.until.since(period.from).whole_minutes(),
        journal_began: began(ward),
        late_entry_minutes: values.record().late_entry.whole_minutes(),
        silence_minutes: values.record().silence.whole_minutes(),
        snapshot_hour: values.report().snapshot_hour,
        parts: counted.parts.into_iter().map(part).collect(),
        days_counted: words::DAYS_COUNTED,
        days: counted.days,
        series_rule: words::SERIES_RULE,
        series_caution: SERIES_CAUTION,
        series: counted.series,
        report_caution: REPORT_CAUTION,
        caution: CAUTION,
    }
}

/// What a part of a report is called and how it is counted, for its page in the documents.
#[derive(Debug, Clone, Copy)]
pub struct PartWords {
    /// Its title.
    pub title: &'static str,
    /// How it is counted.
    pub counted: &'static str,
    /// The source of that, or that there is none.
    pub source: &'static str,
    /// Its figures that are of no sort: the name in JSON, and what it is called.
    pub names: &'static [(&'static str, &'static str)],
}

/// The words of a part.
#[must_use]
pub const fn words_of(about: Matter) -> PartWords {
    PartWords {
        title: words::title(about),
        counted: words::counted(about),
        source: words::source(about),
        names: words::names(about),
    }
}

/// How the figures of each day are counted.
pub const DAYS_COUNTED: &str = words::DAYS_COUNTED;

/// The rule of the charts.
pub const SERIES_RULE: &str = words::SERIES_RULE;

impl Report {
    /// One of its parts.
    #[must_use]
    pub fn part(&self, about: Matter) -> Option<&ReportPart> {
        self.parts.iter().find(|part| part.about == about)
    }

    fn length(&self) -> Span {
        self.until.since(self.from)
    }
}

impl ReportPart {
    /// A figure by its name, of no sort.
    #[must_use]
    pub fn figure(&self, name: &str) -> Option<&Figure> {
        let mut figures = self.figures.iter();
        figures.find(|figure| figure.name == name && figure.of.is_empty())
    }
}
