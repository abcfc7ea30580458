//! What each row of NEWS2's chart 4 calls for on this ward. The points and bands are not policy.

use super::values::at_most;
use super::{Conflict, Key, Section, Values};
use crate::clinical::news2::Row;
use crate::record::time::Span;

const CHART: &str = "RCP 2017, NEWS2 chart 4 (written for hospital wards)";
const WORDS: &str = "RCP 2017, NEWS2 chart 4, in our words; policy, which a ward is meant to replace (reference P1)";

/// A day: no set is planned further apart.
const LONGEST: i64 = 1_440;

/// The keys of one row.
struct RowKeys {
    every: Key,
    response: Key,
    by: Key,
    within: Key,
}

macro_rules! row {
    ($row:ident, $code:literal, $what:literal, $every:expr, by $by:literal) => {
        RowKeys {
            every: $every,
            response: Key::text(
                concat!("news2.", $code, ".response"),
                Row::$row.published_response(),
                concat!("What is done when NEWS2 is ", $what, "."),
                WORDS,
            ),
            by: Key::text(
                concat!("news2.", $code, ".answered_by"),
                $by,
                concat!("Who answers when NEWS2 is ", $what, "."),
                WORDS,
            ),
            within: Key::whole(
                concat!("news2.", $code, ".answer_minutes"),
                0,
                (1, LONGEST),
                "minutes",
                concat!(
                    "Within how many minutes they answer when NEWS2 is ",
                    $what,
                    "; none says no time."
                ),
                "chart 4 gives no time in minutes",
            )
            .or("none")
            .preset(super::Preset::Text("none")),
        }
    };
}

macro_rules! every {
    ($code:literal, $what:literal, $preset:expr) => {
        Key::whole(
            concat!("news2.", $code, ".every_minutes"),
            $preset,
            (15, LONGEST),
            "minutes",
            concat!(
                "The next set is overdue so many minutes after one when NEWS2 is ",
                $what,
                "."
            ),
            CHART,
        )
    };
}

const ZERO: RowKeys = row!(Zero, "0", "0", every!("0", "0", 720), by "registered nurse");
const ONE_TO_FOUR: RowKeys = row!(
    OneToFour, "1-4", "1 to 4 without a single 3",
    every!("1-4", "1 to 4 without a single 3", 360),
    by "registered nurse"
);
const ONE_TO_FOUR_SOONEST: Key = Key::whole(
    "news2.1-4.soonest_minutes",
    240,
    (15, LONGEST),
    "minutes",
    "When NEWS2 is 1 to 4 without a single 3, the next set is not needed before so many minutes.",
    CHART,
);
const SINGLE_3: RowKeys = row!(
    Single3, "single-3", "under 5 or not known, with 3 in one parameter",
    every!("single-3", "under 5 or not known, with 3 in one parameter", 60),
    by "medical team caring for the patient"
);
const FIVE_OR_MORE: RowKeys = row!(
    FiveOrMore, "5-6", "5 or 6",
    every!("5-6", "5 or 6", 60).or("continuous"),
    by "clinician or team competent in acute illness"
);
const SEVEN_OR_MORE: RowKeys = row!(
    SevenOrMore, "7-or-more", "7 or more",
    every!("7-or-more", "7 or more", 0).or("continuous").preset(super::Preset::Text("continuous")),
    by "team with critical-care competencies"
);

pub(super) const SECTION: Section = Section {
    name: "news2",
    about: "NEWS2: when the next set is due and what is called for (the table of points cannot be changed)",
    keys: &[
        &ZERO.every,
        &ZERO.response,
        &ZERO.by,
        &ZERO.within,
        &ONE_TO_FOUR_SOONEST,
        &ONE_TO_FOUR.every,
        &ONE_TO_FOUR.response,
        &ONE_TO_FOUR.by,
        &ONE_TO_FOUR.within,
        &SINGLE_3.every,
        &SINGLE_3.response,
        &SINGLE_3.by,
        &SINGLE_3.within,
        &FIVE_OR_MORE.every,
        &FIVE_OR_MORE.response,
        &FIVE_OR_MORE.by,
        &FIVE_OR_MORE.within,
        &SEVEN_OR_MORE.every,
        &SEVEN_OR_MORE.response,
        &SEVEN_OR_MORE.by,
        &SEVEN_OR_MORE.within,
    ],
    check,
};

/// Whoever is iller is not seen less often.
fn check(values: &Values) -> Vec<Conflict> {
    [
        at_most(values, &ONE_TO_FOUR_SOONEST, &ONE_TO_FOUR.every),
        at_most(values, &ONE_TO_FOUR.every, &ZERO.every),
        at_most(values, &SINGLE_3.every, &ONE_TO_FOUR.every),
        at_most(values, &FIVE_OR_MORE.every, &SINGLE_3.every),
        at_most(values, &SEVEN_OR_MORE.every, &FIVE_OR_MORE.every),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// When the next set is due after one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Every {
    /// Not needed before the first, overdue after the second.
    Between(Span, Span),
    /// Monitoring is continuous: there is no next set to wait for.
    Continuously,
}

/// What one row of chart 4 calls for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RowPolicy {
    /// When the next set is due.
    pub every: Every,
    /// What is done.
    pub response: String,
    /// Who answers.
    pub answered_by: String,
    /// Within how long, if the ward says.
    pub answer_within: Option<Span>,
    /// The ward has set any of it: it is not the published row.
    pub is_ward_s_own: bool,
}

/// What each row of chart 4 calls for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct News2 {
    rows: [RowPolicy; 5],
}

impl News2 {
    /// One row.
    #[must_use]
    pub const fn row(&self, row: Row) -> &RowPolicy {
        let [zero, one_to_four, single_3, five_or_more, seven_or_more] = &self.rows;
        match row {
            Row::Zero => zero,
            Row::OneToFour => one_to_four,
            Row::Single3 => single_3,
            Row::FiveOrMore => five_or_more,
            Row::SevenOrMore => seven_or_more,
        }
    }
}

/// As published.
impl Default for News2 {
    fn default() -> News2 {
        Values::default().news2()
    }
}

impl Values {
    /// The section `news2`.
    #[must_use]
    pub fn news2(&self) -> News2 {
        News2 {
            rows: [
                row(self, &ZERO, None),
                row(self, &ONE_TO_FOUR, Some(&ONE_TO_FOUR_SOONEST)),
                row(self, &SINGLE_3, None),
                row(self, &FIVE_OR_MORE, None),
                row(self, &SEVEN_OR_MORE, None),
            ],
        }
    }
}

fn row(values: &Values, keys: &RowKeys, soonest: Option<&Key>) -> RowPolicy {
    let every = values.whole_or(&keys.every).map(Span::minutes);
    let all = [&keys.every, &keys.response, &keys.by, &keys.within];
    let own = |key: &&Key| values.get(key) != key.default();
    RowPolicy {
        every: every.map_or(Every::Continuously, |latest| {
            let soonest = soonest.map_or(latest, |key| values.minutes(key));
            Every::Between(soonest, latest)
        }),
        response: values.text(&keys.response),
        answered_by: values.text(&keys.by),
        answer_within: values.whole_or(&keys.within).map(Span::minutes),
        is_ward_s_own: all.iter().chain(soonest.as_ref()).any(own),
    }
}
