//! Blood pressure: derived values, the range it lies in, when it is to be repeated, and the
//! average of measurements at home.

use super::postures::{arms, standing};
use super::{About, Desk, Part, Weight, Working, kidney};
use crate::clinical::pressure::{
    HomeReading, Pressure, RANGE_CAUTION, Range, Setting, SevereAction, SevereSign, home_average,
    home_target, severe_action,
};
use crate::record::observed::{Acvpu, Posture, PressureSign, Reading, ReadingSource};
use crate::record::quantity::SystolicMmHg;
use crate::record::time::{Span, Timestamp};
use crate::ward::observations::ObservationSet;

const SOURCE: &str = "NICE NG136 (2019, as amended); mean pressure: common practice; shock index: Allgöwer 1967, from memory";

/// The home average looks back so far: the ideal seven days.
const HOME_DAYS: Span = Span::days(7);

/// A pressure of one set.
pub(super) struct Taken<'a> {
    pub(super) set: &'a ObservationSet,
    pub(super) pressure: Pressure,
    /// Which limits apply; where nobody said who measured, the stricter ones at home.
    setting: Setting,
    /// Somebody said who measured.
    is_stated: bool,
}

impl Taken<'_> {
    pub(super) fn at(&self) -> Timestamp {
        self.set.stamp.occurred_at
    }
}

pub(super) fn pressure(desk: &Desk<'_>) -> Vec<Working> {
    let taken: Vec<Taken<'_>> = desk.sets().into_iter().filter_map(of_set).collect();
    let Some(newest) = taken.last() else {
        return Vec::new();
    };
    let mut worked = vec![derived(desk, newest)];
    worked.extend(ranged(desk, newest));
    worked.extend(standing(desk, &taken));
    worked.extend(arms(desk, &taken));
    worked.extend(at_home(desk, &taken));
    worked
}

fn of_set(set: &ObservationSet) -> Option<Taken<'_>> {
    let sbp = set.body.sbp.as_ref()?;
    let dbp = set.body.dbp.as_ref().and_then(Reading::value)?;
    let pressure = Pressure::new(sbp.value()?.0, dbp.0).ok()?;
    let source = source(sbp).or(set.body.source);
    let setting = match source {
        Some(ReadingSource::Staff) => Setting::Clinic,
        _ => Setting::Home,
    };
    Some(Taken {
        set,
        pressure,
        setting,
        is_stated: source.is_some(),
    })
}

const fn source(reading: &Reading<SystolicMmHg>) -> Option<ReadingSource> {
    match reading {
        Reading::Value { source, .. } => *source,
        Reading::NotObtained { .. } => None,
    }
}

pub(super) fn working(
    weight: Weight,
    text: String,
    parts: Vec<Part>,
    of: &[&Taken<'_>],
) -> Working {
    Working {
        about: About::Pressure,
        weight,
        text,
        parts,
        entries: of.iter().map(|taken| taken.set.stamp.seq).collect(),
        source: SOURCE,
        caution: RANGE_CAUTION,
    }
}

pub(super) fn shown(pressure: Pressure) -> String {
    format!("{}/{}", pressure.sbp(), pressure.dbp())
}

fn derived(desk: &Desk<'_>, newest: &Taken<'_>) -> Working {
    let pressure = newest.pressure;
    let mut text = format!(
        "BP {} at {}: mean {} mmHg, pulse pressure {} mmHg",
        shown(pressure),
        desk.when(newest.at()),
        pressure.mean_shown(),
        pressure.pulse_pressure()
    );
    let pulse = newest.set.body.hr.as_ref().and_then(Reading::value);
    let index = pulse.and_then(|pulse| pressure.shock_index_in_hundredths(pulse.0).ok());
    let parts =
        index.map(|index| Part::new("shock index", format!("{}.{:02}", index / 100, index % 100)));
    let concerning = pulse.is_some_and(|pulse| pressure.shock_index_is_concerning(pulse.0));
    // Said and not flagged: NEWS2 has both numbers, and the limit is from memory.
    if concerning {
        text += "; shock index 0.9 or more, which is concerning beside the score and the patient";
    }
    working(Weight::Say, text, parts.into_iter().collect(), &[newest])
}

/// Where it lies, what is asked for there, and when it is to be measured again.
fn ranged(desk: &Desk<'_>, newest: &Taken<'_>) -> Option<Working> {
    let range = Range::of(newest.pressure, newest.setting);
    let policy = desk.policy.values().pressure();
    let (repeat, mut weight) = match range {
        Range::Below => return None,
        Range::Stage1 => (policy.repeat_after_raised, Weight::Say),
        Range::Stage2 => (policy.repeat_after_raised, Weight::Look),
        Range::Severe => (policy.repeat_after_severe, Weight::Look),
    };
    let due = newest.at().plus(repeat);
    let mut text = format!(
        "BP {} is {} ({} limits): ",
        shown(newest.pressure),
        range.text(newest.setting),
        match (newest.setting, newest.is_stated) {
            (Setting::Clinic, _) => "clinic",
            (Setting::Home, true) => "home",
            (Setting::Home, false) => "not said who measured, so home",
        }
    );
    if due < desk.now {
        weight = weight.min(Weight::Look);
        let late = desk.now.since(due).spoken();
        text += &format!("the repeat was due by {}, {late} ago", desk.when(due));
    } else {
        text += &format!("repeat due by {}", desk.when(due));
    }
    let written = written_signs(desk, newest);
    let signs = signs(desk, newest, &written);
    match severe_action(newest.pressure, &signs) {
        SevereAction::None => {}
        SevereAction::InvestigateSoon => text += without_sign(&written),
        SevereAction::SameDay => {
            weight = Weight::Act;
            let found: Vec<&str> = signs.iter().map(|sign| sign.text()).collect();
            let found = found.join(" and ");
            text += &format!("; with {found}: specialist assessment the same day");
        }
    }
    let mut worked = working(weight, text, Vec::new(), &[newest]);
    // A sign written after the pressure is part of what is said.
    if matches!(range, Range::Severe) {
        let later = signed(desk, newest).map(|set| set.stamp.seq);
        worked.entries.extend(later);
        worked.entries.sort_unstable();
        worked.entries.dedup();
    }
    Some(worked)
}

/// What is said beside a severe pressure without a sign. Nothing written is not "none found".
fn without_sign(written: &[PressureSign]) -> &'static str {
    match written {
        [] => {
            "; ask for new confusion, chest pain, breathlessness, sight: with any of them, specialist assessment the same day (write it down: signs chest-pain, or signs none)"
        }
        [PressureSign::NoneFound] => {
            "; no sign was found when asked for: look for target-organ damage soon, see again within 7 days"
        }
        _ => {
            "; a headache by itself is none of the published signs: ask for new confusion, chest pain, breathlessness, sight; with any of them, specialist assessment the same day"
        }
    }
}

/// Sets with signs, of this pressure or since.
fn signed<'a>(
    desk: &Desk<'a>,
    newest: &Taken<'_>,
) -> impl Iterator<Item = &'a ObservationSet> + use<'a> {
    let from = newest.at();
    let sets = desk.sets().into_iter();
    sets.filter(move |set| set.stamp.occurred_at >= from && !set.body.signs.is_empty())
}

/// Signs written down with this pressure or since, each once, as people wrote them.
fn written_signs(desk: &Desk<'_>, newest: &Taken<'_>) -> Vec<PressureSign> {
    let signed = signed(desk, newest);
    let mut written: Vec<PressureSign> = signed.flat_map(|set| set.body.signs.clone()).collect();
    written.sort_unstable();
    written.dedup();
    written
}

/// The signs that entries show: those written down, new confusion in the same set, and an AKI
/// alert of this stay.
fn signs(desk: &Desk<'_>, newest: &Taken<'_>, written: &[PressureSign]) -> Vec<SevereSign> {
    let confused = newest.set.body.acvpu == Some(Acvpu::Confused);
    let signs = [
        (confused, SevereSign::NewConfusion),
        (kidney::has_alert(desk), SevereSign::AcuteKidneyInjury),
    ];
    let found = signs
        .into_iter()
        .filter_map(|(found, sign)| found.then_some(sign));
    let written = written.iter().filter_map(|sign| SevereSign::of(*sign));
    found.chain(written).collect()
}

/// The home average of the last seven days against the target for the patient's age.
fn at_home(desk: &Desk<'_>, taken: &[Taken<'_>]) -> Option<Working> {
    let from = desk.now.plus(Span(-HOME_DAYS.0));
    let own = taken
        .iter()
        .filter(|taken| taken.setting == Setting::Home && taken.is_stated && taken.at() >= from);
    let (used, left_out): (Vec<&Taken<'_>>, Vec<_>) = own.partition(|taken| may_be_seated(taken));
    let readings: Vec<HomeReading> = used
        .iter()
        .map(|taken| HomeReading {
            taken_at: taken.at(),
            pressure: taken.pressure,
        })
        .collect();
    // Too few days is no news: nobody asked for an average.
    let home = home_average(&readings, desk.zone).ok()?;
    let average = home.average.shown(Setting::Home);
    let range = home.average.range(Setting::Home).text(Setting::Home);
    let mut text = format!("Home BP average {average} over {} days, {range}", home.days);
    if let Some(age) = desk.age_years() {
        text += &target(desk, age, |target| home.average.is_under(target));
    }
    let notes = home.notes.iter();
    let mut parts: Vec<Part> = notes
        .map(|note| Part::new("short of the rule", note.text()))
        .collect();
    parts.extend(postures(&used, &left_out));
    Some(working(Weight::Say, text, parts, &used))
}

/// The ward's target for the age, whether the average is under it, and the published one where the
/// ward has another.
fn target(desk: &Desk<'_>, age: u32, is_under: impl Fn((i64, i64)) -> bool) -> String {
    let own = desk.policy.values().pressure().target_at(age);
    let met = match is_under(own) {
        true => "it is",
        false => "IT IS NOT",
    };
    let (sbp, dbp) = home_target(age);
    let published = match own == (i64::from(sbp), i64::from(dbp)) {
        true => String::new(),
        false => format!(" (this ward's; published: under {sbp}/{dbp})"),
    };
    format!("; target under {}/{}{published}: {met}", own.0, own.1)
}

/// NG136 1.2.7 averages readings taken seated. Where nobody said, it counts, and that is said.
fn may_be_seated(taken: &Taken<'_>) -> bool {
    matches!(taken.set.body.posture, None | Some(Posture::Sitting))
}

fn postures(used: &[&Taken<'_>], left_out: &[&Taken<'_>]) -> Vec<Part> {
    let unsaid = used.iter().filter(|taken| taken.set.body.posture.is_none());
    let said = [
        (
            "short of the rule",
            unsaid.count(),
            "without a posture; the rule is seated",
        ),
        (
            "left out",
            left_out.len(),
            "standing or lying; the rule is seated",
        ),
    ];
    said.into_iter()
        .filter(|(_, count, _)| *count > 0)
        .map(|(name, count, what)| Part::new(name, format!("{} {what}", readings(count))))
        .collect()
}

fn readings(count: usize) -> String {
    match count {
        1 => "1 reading".to_owned(),
        _ => format!("{count} readings"),
    }
}
