//! One figure with the entries behind it, and the spread of how long something took.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::record::ids::Seq;
use crate::record::time::{Span, Timestamp};
use crate::ward::Ward;

/// What a figure counts, or a spread is measured in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Unit {
    /// As many as entries are named.
    Entries,
    /// Midnights spent on the ward.
    Midnights,
    /// Minutes of elapsed time.
    Minutes,
    /// Patients.
    Patients,
    /// Repeats of tasks.
    Repeats,
}

impl Unit {
    /// As JSON has it.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Unit::Entries => "entries",
            Unit::Midnights => "midnights",
            Unit::Minutes => "minutes",
            Unit::Patients => "patients",
            Unit::Repeats => "repeats",
        }
    }
}

/// One figure of a report.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Figure {
    /// What is counted, as `docs/report.md` describes it.
    pub name: &'static str,
    /// Of what sort, by the codes of the record's own lists: source and severity of an alert.
    pub of: Vec<&'static str>,
    /// How many.
    pub count: u64,
    /// How many of what.
    pub unit: Unit,
    /// How long it took or waited; of an alert until each step.
    pub times: Vec<Spread>,
    /// The entries it was counted from.
    pub entries: Vec<Seq>,
    /// Those of them that do not count as their author's word.
    pub doubtful: Vec<Seq>,
}

impl Figure {
    /// Counts the entries, each once.
    pub(super) fn of(
        ward: &Ward,
        name: &'static str,
        entries: impl IntoIterator<Item = Seq>,
    ) -> Figure {
        let mut entries: Vec<Seq> = entries.into_iter().collect();
        entries.sort_unstable();
        entries.dedup();
        let doubtful = entries.iter().copied();
        Figure {
            name,
            of: Vec::new(),
            count: entries.len() as u64,
            unit: Unit::Entries,
            times: Vec::new(),
            doubtful: doubtful.filter(|seq| ward.doubt(*seq).is_some()).collect(),
            entries,
        }
    }

    /// Of a sort.
    pub(super) fn sort(mut self, of: Vec<&'static str>) -> Figure {
        self.of = of;
        self
    }

    /// Counts something else than the entries it comes from.
    pub(super) fn counting(mut self, count: u64, unit: Unit) -> Figure {
        self.count = count;
        self.unit = unit;
        self
    }

    /// With how long it took.
    pub(super) fn taking(mut self, spread: Spread) -> Figure {
        self.times.push(spread);
        self
    }
}

/// Entries by what they are.
pub(super) fn tally<K: Ord>(items: impl Iterator<Item = (K, Seq)>) -> BTreeMap<K, Vec<Seq>> {
    let mut found: BTreeMap<K, Vec<Seq>> = BTreeMap::new();
    for (key, seq) in items {
        found.entry(key).or_default().push(seq);
    }
    found
}

/// Something that still waits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Waiting {
    /// Since when.
    pub since: Timestamp,
    /// The entry.
    pub seq: Seq,
}

/// How long something took, over all of which it is asked: also those that still wait.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spread {
    /// What took so long, as `docs/report.md` describes it.
    pub name: &'static str,
    /// Minutes, or midnights for length of stay.
    pub unit: Unit,
    /// How many came to an end.
    pub ended: usize,
    /// The middle one of all, or midway between the middle two. One that still waits counts as
    /// longer than any that ended; null where a middle one still waits, or there is none.
    pub median: Option<f64>,
    /// The longest so far, also of one that still waits; null where there is none.
    pub longest: Option<f64>,
    /// The entry of the longest.
    pub longest_seq: Option<Seq>,
    /// The longest still waits.
    pub longest_waits: bool,
    /// Those that still wait at the moment of the view, oldest first.
    pub waiting: Vec<Waiting>,
}

/// Collects what took how long.
pub(super) struct Taking {
    name: &'static str,
    now: Timestamp,
    ended: Vec<(Span, Seq)>,
    waiting: Vec<Waiting>,
}

impl Taking {
    pub(super) const fn until(name: &'static str, now: Timestamp) -> Taking {
        Taking {
            name,
            now,
            ended: Vec::new(),
            waiting: Vec::new(),
        }
    }

    /// It began then and ended then, or waits.
    pub(super) fn add(&mut self, seq: Seq, since: Timestamp, ended: Option<Timestamp>) {
        match ended {
            Some(ended) => self.ended.push((ended.since(since).max(Span::ZERO), seq)),
            None => self.waiting.push(Waiting { since, seq }),
        }
    }

    pub(super) fn spread(mut self) -> Spread {
        self.waiting.sort_unstable();
        let waited = self.waiting.iter();
        let waited = waited.map(|one| (self.now.since(one.since).max(Span::ZERO), one.seq));
        let minutes = |span: Span| span.0 as f64 / 60_000_000.0;
        let longest_waiting = waited.max();
        let longest_ended = self.ended.iter().max().copied();
        let longest_waits = longest_waiting > longest_ended;
        let longest = longest_waiting.max(longest_ended);
        let ended = self.ended.iter().map(|(span, _)| span.0).collect();
        Spread {
            name: self.name,
            unit: Unit::Minutes,
            ended: self.ended.len(),
            median: median(ended, self.waiting.len()).map(|micros| micros / 60_000_000.0),
            longest: longest.map(|(span, _)| minutes(span)),
            longest_seq: longest.map(|(_, seq)| seq),
            longest_waits,
            waiting: self.waiting,
        }
    }
}

/// Of lengths of stay, in midnights.
pub(super) fn midnights(name: &'static str, stays: &[(i64, Seq)]) -> Spread {
    let longest = stays.iter().max().copied();
    Spread {
        name,
        unit: Unit::Midnights,
        ended: stays.len(),
        median: median(stays.iter().map(|(nights, _)| *nights).collect(), 0),
        longest: longest.map(|(nights, _)| nights as f64),
        longest_seq: longest.map(|(_, seq)| seq),
        longest_waits: false,
        waiting: Vec::new(),
    }
}

/// The middle of the values and of so many that are longer than any of them, where it is known.
fn median(mut values: Vec<i64>, longer: usize) -> Option<f64> {
    values.sort_unstable();
    let all = values.len() + longer;
    let upper = *values.get(all / 2)?;
    let lower = match all % 2 {
        0 => *values.get((all / 2).checked_sub(1)?)?,
        _ => upper,
    };
    Some((lower as f64 + upper as f64) / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_waits_is_longer_than_what_ended() {
        assert_eq!(median(vec![], 0), None);
        assert_eq!(median(vec![], 3), None);
        assert_eq!(median(vec![5, 1, 3], 0), Some(3.0));
        assert_eq!(median(vec![1, 4], 0), Some(2.5));
        assert_eq!(median(vec![1, 4], 1), Some(4.0));
        assert_eq!(median(vec![1, 4], 2), None, "the upper middle one waits");
        assert_eq!(median(vec![1, 4, 9], 2), Some(9.0));
    }

    #[test]
    fn nothing_open_falls_out_of_a_spread() {
        let now = Timestamp(Span::hours(10).0);
        let mut taking = Taking::until("answered", now);
        taking.add(Seq(7), Timestamp(Span::hours(1).0), None);
        taking.add(Seq(8), Timestamp(0), Some(Timestamp(Span::hours(2).0)));
        taking.add(Seq(9), Timestamp(0), Some(Timestamp(-5)));
        let spread = taking.spread();
        assert_eq!((spread.ended, spread.median), (2, Some(120.0)));
        assert_eq!(
            (spread.longest, spread.longest_seq),
            (Some(540.0), Some(Seq(7)))
        );
        assert!(spread.longest_waits && spread.waiting.len() == 1);
    }
}
