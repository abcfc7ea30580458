//! Scores over time: change, time in a band, when the next set is due, what is called for.

use super::{Band, Input, Monitoring, News2};
use crate::clinical::policy;
use crate::record::observed::Oxygen;
use crate::record::time::Timestamp;

/// How one score differs from another, earlier or baseline one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Points more (or, negative, fewer) in all; `None` if either set is incomplete.
    pub total: Option<i8>,
    /// Parts known in both that differ, in the order of the chart, with points more.
    pub parts: Vec<(Input, i8)>,
}

/// What changed from `before` to `now`. Parts are compared even where totals cannot be.
#[must_use]
pub fn change(before: &News2, now: &News2) -> Change {
    let pairs = before.parts.each().into_iter().zip(now.parts.each());
    let parts = pairs
        .filter_map(|((input, was), (_, is))| Some((input, points_more(was?, is?))))
        .filter(|(_, more)| *more != 0)
        .collect();
    let total = before
        .score
        .zip(now.score)
        .map(|(was, is)| points_more(was.total, is.total));
    Change { total, parts }
}

/// Points are at most 20, so this neither wraps nor cuts.
fn points_more(was: u8, is: u8) -> i8 {
    i8::try_from(i16::from(is) - i16::from(was)).unwrap_or(i8::MAX)
}

/// When the next set is due by the published minimum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NextSet {
    /// Between these two moments; they are the same but for "every 4 to 6 hours".
    Due {
        /// Not needed before.
        from: Timestamp,
        /// Overdue after.
        to: Timestamp,
    },
    /// Monitoring is to be continuous: there is no next set to wait for.
    Continuous,
    /// The set was incomplete and what it held calls for nothing by itself: complete it.
    CompleteThisOne,
}

/// When the next set is due after one taken at `taken_at`, in elapsed time.
#[must_use]
pub fn next_set(news2: &News2, taken_at: Timestamp) -> NextSet {
    match news2.monitoring().map(Monitoring::next_set) {
        None => NextSet::CompleteThisOne,
        Some(None) => NextSet::Continuous,
        Some(Some((soonest, latest))) => NextSet::Due {
            from: taken_at.plus(soonest),
            to: taken_at.plus(latest),
        },
    }
}

/// The same by a ward's policy.
#[must_use]
pub fn next_set_by(policy: &policy::News2, news2: &News2, taken_at: Timestamp) -> NextSet {
    match Row::of(news2).map(|row| policy.row(row).every) {
        None => NextSet::CompleteThisOne,
        Some(policy::Every::Continuously) => NextSet::Continuous,
        Some(policy::Every::Between(soonest, latest)) => NextSet::Due {
            from: taken_at.plus(soonest),
            to: taken_at.plus(latest),
        },
    }
}

/// The band of the latest complete set and the first set of its unbroken run. `series` is in
/// order of time. Incomplete sets say nothing about the band and neither break nor begin a
/// run; where the latest set is incomplete the band now is not known, and nothing is given.
#[must_use]
pub fn in_band_since(series: &[(Timestamp, News2)]) -> Option<(Band, Timestamp)> {
    let band = series.last()?.1.score?.band;
    let complete = series
        .iter()
        .rev()
        .filter_map(|(at, news2)| Some((*at, news2.score?.band)));
    let run = complete.take_while(|(_, then)| *then == band);
    run.last().map(|(at, _)| (band, at))
}

/// The row of chart 4 that a set calls for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Row {
    /// Total 0.
    Zero,
    /// 1 to 4.
    OneToFour,
    /// 3 in one parameter, total under 5, or not known and not yet 5.
    Single3,
    /// 5 or 6: the key threshold.
    FiveOrMore,
    /// 7 and over.
    SevenOrMore,
}

impl Row {
    /// Every row, mildest first.
    pub const ALL: [Row; 5] = [
        Row::Zero,
        Row::OneToFour,
        Row::Single3,
        Row::FiveOrMore,
        Row::SevenOrMore,
    ];

    /// The row for a set, the least that is certain for an incomplete one; `None` if what is known
    /// of that holds no single 3 and comes to less than 5.
    #[must_use]
    pub fn of(news2: &News2) -> Option<Row> {
        let floor = news2.at_least().filter(|floor| *floor >= 5);
        match news2.score.map(|score| score.total).or(floor) {
            Some(7..) => Some(Row::SevenOrMore),
            Some(5 | 6) => Some(Row::FiveOrMore),
            _ if news2.single_3 => Some(Row::Single3),
            Some(1..=4) => Some(Row::OneToFour),
            Some(0) => Some(Row::Zero),
            None => None,
        }
    }

    /// The key under which a ward's policy may put its own words.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Row::Zero => "0",
            Row::OneToFour => "1-4",
            Row::Single3 => "single-3",
            Row::FiveOrMore => "5-6",
            Row::SevenOrMore => "7-or-more",
        }
    }

    /// The published response in our words, for a ward whose policy says nothing else. It
    /// was written for hospital wards.
    #[must_use]
    pub const fn published_response(self) -> &'static str {
        match self {
            Row::Zero => "Continue routine monitoring.",
            Row::OneToFour => {
                "Tell the registered nurse, who must assess and decide on closer monitoring or escalation."
            }
            Row::Single3 => {
                "Registered nurse tells the medical team caring for the patient, who review and decide on escalation."
            }
            Row::FiveOrMore => {
                "Registered nurse tells the medical team at once and asks for urgent assessment by a team competent in acute illness; think of sepsis."
            }
            Row::SevenOrMore => {
                "Registered nurse tells the medical team at once, at least at specialist-registrar level; emergency assessment by a team with critical-care competencies; think of sepsis and of transfer."
            }
        }
    }
}

/// What a change of oxygen means that the score does not show: 2 to 4 L/min is 2 points
/// before and after.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum OxygenChange {
    /// Oxygen was started.
    Started,
    /// More flow or a higher fraction.
    Increased,
    /// Less of it.
    Decreased,
    /// Oxygen was stopped.
    Stopped,
    /// A flow beside a fraction, or an amount not stated: not comparable, look at both.
    NotComparable,
}

impl OxygenChange {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            OxygenChange::Started => "started",
            OxygenChange::Increased => "increased",
            OxygenChange::Decreased => "decreased",
            OxygenChange::Stopped => "stopped",
            OxygenChange::NotComparable => "changed, amounts not comparable",
        }
    }
}

/// How oxygen changed; `None` if it did not.
#[must_use]
pub fn oxygen_change(before: Oxygen, now: Oxygen) -> Option<OxygenChange> {
    use std::cmp::Ordering::{Equal, Greater, Less};
    let (flows, fractions) = match (before, now) {
        (Oxygen::Air, Oxygen::Air) => return None,
        (Oxygen::Air, Oxygen::Given { .. }) => return Some(OxygenChange::Started),
        (Oxygen::Given { .. }, Oxygen::Air) => return Some(OxygenChange::Stopped),
        (
            Oxygen::Given {
                flow: flow_before,
                fio2: fio2_before,
                ..
            },
            Oxygen::Given { flow, fio2, .. },
        ) => (flow_before.zip(flow), fio2_before.zip(fio2)),
    };
    let by_flow = flows.map(|(before, now)| now.cmp(&before));
    let by_fraction = fractions.map(|(before, now)| now.cmp(&before));
    match (by_flow, by_fraction) {
        (Some(Greater), Some(Less)) | (Some(Less), Some(Greater)) | (None, None) => {
            Some(OxygenChange::NotComparable)
        }
        (Some(Greater), _) | (_, Some(Greater)) => Some(OxygenChange::Increased),
        (Some(Less), _) | (_, Some(Less)) => Some(OxygenChange::Decreased),
        (Some(Equal) | None, Some(Equal) | None) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clinical::news2::{Set, score};
    use crate::record::observed::{Acvpu, OxygenDevice, Spo2Scale};
    use crate::record::quantity::{Fio2Percent, FlowCentiLPerMin};
    use crate::record::time::Span;

    const CALM: Set = Set {
        rr: Some(16),
        spo2: Some(97),
        scale: Some(Spo2Scale::Scale1),
        oxygen: Some(false),
        sbp: Some(120),
        hr: Some(80),
        acvpu: Some(Acvpu::Alert),
        temp_deci_c: Some(370),
    };

    fn scored(set: Set) -> News2 {
        score(&set).expect("possible values")
    }

    fn at(hours: i64) -> Timestamp {
        Timestamp::EARLIEST.plus(Span::hours(hours))
    }

    #[test]
    fn change_names_its_parts_and_survives_gaps() {
        let calm = scored(CALM);
        let ill = scored(Set {
            rr: Some(22),
            hr: Some(95),
            ..CALM
        });
        assert_eq!(
            change(&calm, &ill),
            Change {
                total: Some(3),
                parts: vec![(Input::Rr, 2), (Input::Hr, 1)]
            }
        );
        assert_eq!(change(&ill, &calm).total, Some(-3));
        assert_eq!(
            change(&ill, &ill),
            Change {
                total: Some(0),
                parts: vec![]
            }
        );
        let gap = scored(Set {
            temp_deci_c: None,
            rr: Some(22),
            ..CALM
        });
        assert_eq!(
            change(&calm, &gap),
            Change {
                total: None,
                parts: vec![(Input::Rr, 2)]
            }
        );
    }

    /// W10: due times run on elapsed time, so hourly across the autumn change is one hour.
    #[test]
    fn the_next_set_follows_the_published_interval() {
        let due = |set| next_set(&scored(set), at(0));
        let exactly = |hours| NextSet::Due {
            from: at(hours),
            to: at(hours),
        };
        assert_eq!(due(CALM), exactly(12));
        assert_eq!(
            due(Set {
                hr: Some(95),
                ..CALM
            }),
            NextSet::Due {
                from: at(4),
                to: at(6)
            }
        );
        assert_eq!(
            due(Set {
                rr: Some(25),
                ..CALM
            }),
            exactly(1)
        );
        assert_eq!(
            due(Set {
                rr: Some(25),
                temp_deci_c: None,
                ..CALM
            }),
            exactly(1)
        );
        assert_eq!(
            due(Set {
                temp_deci_c: None,
                ..CALM
            }),
            NextSet::CompleteThisOne
        );
        let bad = Set {
            rr: Some(25),
            hr: Some(135),
            oxygen: Some(true),
            ..CALM
        };
        assert_eq!(due(bad), NextSet::Continuous);
    }

    #[test]
    fn a_band_is_held_through_gaps_but_not_through_another_band() {
        let medium = Set {
            rr: Some(22),
            hr: Some(112),
            spo2: Some(95),
            ..CALM
        };
        let gap = Set {
            temp_deci_c: None,
            ..medium
        };
        let series = |sets: &[Set]| -> Vec<(Timestamp, News2)> {
            (0..)
                .zip(sets)
                .map(|(hours, set)| (at(hours), scored(*set)))
                .collect()
        };
        let held = series(&[medium, CALM, medium, gap, medium]);
        assert_eq!(in_band_since(&held), Some((Band::Medium, at(2))));
        assert_eq!(in_band_since(&series(&[medium, gap])), None);
        assert_eq!(in_band_since(&[]), None);
    }

    #[test]
    fn rows_of_the_chart() {
        let row = |set| Row::of(&scored(set));
        assert_eq!(row(CALM), Some(Row::Zero));
        assert_eq!(
            row(Set {
                hr: Some(95),
                ..CALM
            }),
            Some(Row::OneToFour)
        );
        assert_eq!(
            row(Set {
                rr: Some(25),
                ..CALM
            }),
            Some(Row::Single3)
        );
        assert_eq!(
            row(Set {
                rr: Some(25),
                hr: None,
                ..CALM
            }),
            Some(Row::Single3)
        );
        assert_eq!(
            row(Set {
                rr: Some(25),
                oxygen: Some(true),
                ..CALM
            }),
            Some(Row::FiveOrMore)
        );
        let bad = Set {
            rr: Some(25),
            hr: Some(111),
            oxygen: Some(true),
            ..CALM
        };
        assert_eq!(row(bad), Some(Row::SevenOrMore));
        assert_eq!(row(Set { hr: None, ..CALM }), None);
        // What an incomplete set has reached it has reached, and it has no total for that.
        let seven = Set {
            rr: Some(22),
            oxygen: Some(true),
            hr: Some(112),
            sbp: Some(105),
            temp_deci_c: None,
            ..CALM
        };
        assert_eq!(row(seven), Some(Row::SevenOrMore));
        assert_eq!(scored(seven).score, None);
        assert_eq!(scored(seven).at_least(), Some(7));
        assert_eq!(scored(seven).band_at_least(), Some(Band::High));
        assert_eq!(next_set(&scored(seven), at(0)), NextSet::Continuous);
        let four = Set {
            rr: Some(22),
            oxygen: Some(true),
            temp_deci_c: None,
            ..CALM
        };
        assert_eq!(row(four), None);
        assert_eq!(scored(four).at_least(), Some(4));
        assert_eq!(scored(four).band_at_least(), None);
        assert_eq!(scored(bad).at_least(), None);
    }

    #[test]
    fn oxygen_that_the_score_does_not_show() {
        let flow = |hundredths| Oxygen::Given {
            device: OxygenDevice::Cannula,
            flow: Some(FlowCentiLPerMin(hundredths)),
            fio2: None,
        };
        let fraction = |percent| Oxygen::Given {
            device: OxygenDevice::Venturi,
            flow: None,
            fio2: Some(Fio2Percent(percent)),
        };
        let unsaid = Oxygen::Given {
            device: OxygenDevice::Niv,
            flow: None,
            fio2: None,
        };
        use OxygenChange::{Decreased, Increased, NotComparable, Started, Stopped};
        for (before, now, expected) in [
            (Oxygen::Air, Oxygen::Air, None),
            (Oxygen::Air, flow(200), Some(Started)),
            (flow(200), Oxygen::Air, Some(Stopped)),
            (flow(200), flow(400), Some(Increased)),
            (flow(400), flow(200), Some(Decreased)),
            (flow(200), flow(200), None),
            (fraction(28), fraction(35), Some(Increased)),
            (flow(200), fraction(28), Some(NotComparable)),
            (flow(200), unsaid, Some(NotComparable)),
        ] {
            assert_eq!(oxygen_change(before, now), expected, "{before:?} {now:?}");
        }
    }
}
