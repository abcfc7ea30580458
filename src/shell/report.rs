//! `report`, of the last seven days or of a period that is named.

use super::session::{Session, held};
use crate::record::time::Timestamp;
use crate::station::reservations;
use crate::view::report::report;
use crate::ward::report::Period;

const ACCEPTED: &str = "report alone, or report from 01-Oct-2026 until 07-Oct-2026: days, which count whole, or moments; as-of may follow";

impl Session {
    /// The ward's report, now or as then known; the line back if it names no period.
    pub(super) fn report(&mut self, about: &str, as_of: Option<Timestamp>, line: &str) -> String {
        let Some((from, until)) = ends(about) else {
            let said = format!("\"{about}\" is not understood here. Accepted: {ACCEPTED}.");
            return self.back_with(line, &said);
        };
        let drawn = {
            let station = held(&self.station);
            let now = as_of.unwrap_or_else(|| station.now());
            let then = as_of.map(|moment| station.as_of(moment));
            let drawn = then.as_ref().unwrap_or_else(|| station.drawn());
            let vantage = super::views::vantage(&drawn.ward, now);
            Period::read(from.as_deref(), until.as_deref(), now, drawn.ward.zone())
                .map(|period| (report(&vantage, period).page(), reservations(drawn)))
        };
        match drawn {
            Ok((page, reservations)) => {
                self.draw(&page, &reservations);
                String::new()
            }
            Err(refusal) => self.back_with(line, &format!("{refusal}. Accepted: {ACCEPTED}.")),
        }
    }
}

type Ends = (Option<String>, Option<String>);

/// What stands after `from` and after `until`; nothing if other words stand there.
fn ends(about: &str) -> Option<Ends> {
    let words: Vec<&str> = about.split_whitespace().collect();
    let is = |word: &str, wanted: &str| word.eq_ignore_ascii_case(wanted);
    let until_at = words.iter().position(|word| is(word, "until"));
    let (first, last) = words.split_at(until_at.unwrap_or(words.len()));
    let from = match first {
        [] => None,
        [word, rest @ ..] if is(word, "from") && !rest.is_empty() => Some(rest.join(" ")),
        _ => return None,
    };
    let until = match last {
        [] => None,
        [_, rest @ ..] if !rest.is_empty() => Some(rest.join(" ")),
        _ => return None,
    };
    Some((from, until))
}

#[cfg(test)]
mod tests {
    use super::ends;

    #[test]
    fn both_ends_one_or_none_and_nothing_else() {
        let two = |from: Option<&str>, until: Option<&str>| {
            Some((from.map(str::to_owned), until.map(str::to_owned)))
        };
        assert_eq!(ends(""), two(None, None));
        assert_eq!(ends("from Mon 08:00"), two(Some("Mon 08:00"), None));
        assert_eq!(ends("until yesterday"), two(None, Some("yesterday")));
        let both = ends("from 1 Oct until 7 Oct");
        assert_eq!(both, two(Some("1 Oct"), Some("7 Oct")));
        for wrong in ["pell", "from", "from until", "until", "last week"] {
            assert_eq!(ends(wrong), None, "{wrong}");
        }
    }
}
