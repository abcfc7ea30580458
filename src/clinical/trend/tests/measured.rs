//! How late, and how often wrong, everything is that asks for a look: on generated series with
//! known change points. `docs/clinical.md` states it and this fails if that stops being true.

use super::{LONDON, hour};
use crate::clinical::news2::{self, Set};
use crate::clinical::trend::{Sample, Sign, assess, median};
use crate::record::observed::{Acvpu, Spo2Scale};

const DOCUMENTED: &str = include_str!("../../../../docs/clinical.md");
const PATIENTS: u64 = 100;

/// Numbers that look random and are the same everywhere (SplitMix64, public domain).
struct Seeded(u64);

impl Seeded {
    #[expect(clippy::cast_precision_loss, reason = "53 bits")]
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Nearly normal: the sum of twelve uniform numbers less six.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }
}

/// How one sign of a made-up patient behaves, in steps: spread between patients, between
/// readings, and over the day, and what the illness adds an hour up to its most.
struct Model {
    sign: Sign,
    mean: f64,
    between: f64,
    noise: f64,
    daily: f64,
    per_hour: f64,
    most: f64,
}

/// A chest infection that comes on over a day and a half.
const MODELS: [Model; 5] = [
    Model {
        sign: Sign::Rr,
        mean: 16.0,
        between: 1.0,
        noise: 1.2,
        daily: 0.5,
        per_hour: 0.17,
        most: 7.0,
    },
    Model {
        sign: Sign::Spo2,
        mean: 96.5,
        between: 0.6,
        noise: 0.9,
        daily: 0.2,
        per_hour: -0.1,
        most: -4.0,
    },
    Model {
        sign: Sign::Sbp,
        mean: 128.0,
        between: 7.0,
        noise: 8.0,
        daily: 4.0,
        per_hour: -0.4,
        most: -18.0,
    },
    Model {
        sign: Sign::Hr,
        mean: 76.0,
        between: 5.0,
        noise: 5.0,
        daily: 3.0,
        per_hour: 0.6,
        most: 24.0,
    },
    Model {
        sign: Sign::Temp,
        mean: 368.0,
        between: 2.0,
        noise: 2.5,
        daily: 2.0,
        per_hour: 0.35,
        most: 14.0,
    },
];

/// Who is made up.
#[derive(Clone, Copy)]
struct Course {
    seed: u64,
    days: i64,
    /// The hour a new illness begins.
    onset: Option<i64>,
    /// Comes in as ill as the illness makes, and is well again after four days.
    starts_ill: bool,
}

impl Course {
    /// What illness adds to a sign after so many hours.
    fn illness(&self, model: &Model, hours: i64) -> f64 {
        let float = |hours: i64| f64::from(i32::try_from(hours).expect("small"));
        let grown = self
            .onset
            .map_or(0.0, |onset| float((hours - onset).max(0)) * model.per_hour);
        let left = match self.starts_ill {
            true => model.most * float((96 - hours).max(0)) / 96.0,
            false => 0.0,
        };
        let new = match model.most > 0.0 {
            true => grown.min(model.most),
            false => grown.max(model.most),
        };
        left + new
    }

    /// Readings of each sign every four hours, noise correlated by 0.3 from one to the next.
    #[expect(clippy::cast_possible_truncation, reason = "vital signs")]
    fn readings(&self) -> Vec<Vec<Sample>> {
        let mut random = Seeded(self.seed);
        let mut of_sign = |model: &Model| {
            let mean = model.mean + model.between * random.normal();
            let mut noise = 0.0;
            let mut reading = |n: i64| {
                noise = 0.3 * noise + (1.0_f64 - 0.09).sqrt() * model.noise * random.normal();
                let hour_of_day = f64::from((4 * n % 24) as i32 - 11);
                let day = model.daily * (std::f64::consts::TAU * hour_of_day / 24.0).sin();
                let value = mean + noise + day + self.illness(model, 4 * n);
                let (low, high) = model.sign.measure().hard;
                Sample {
                    at: hour(4 * n),
                    value: (value.round() as i32).clamp(low, high),
                }
            };
            (0..self.days * 6).map(&mut reading).collect()
        };
        MODELS.iter().map(&mut of_sign).collect()
    }
}

/// Which signs ask for a look after each reading: what the sheet of that moment shows.
fn looks(patient: &[Vec<Sample>]) -> Vec<[bool; 5]> {
    let of_sign = |at: usize, sign: usize| {
        let samples = &patient[sign][..=at];
        assess(MODELS[sign].sign, samples, samples[at].at, LONDON)
            .is_some_and(|trend| trend.asks_for_a_look())
    };
    (0..patient[0].len())
        .map(|at| std::array::from_fn(|sign| of_sign(at, sign)))
        .collect()
}

fn total(patient: &[Vec<Sample>], at: usize) -> u8 {
    let value = |sign: usize| Some(patient[sign][at].value);
    let set = Set {
        rr: value(0),
        spo2: value(1),
        scale: Some(Spo2Scale::Scale1),
        oxygen: Some(false),
        sbp: value(2),
        hr: value(3),
        acvpu: Some(Acvpu::Alert),
        temp_deci_c: value(4),
    };
    news2::score(&set)
        .expect("possible")
        .score
        .expect("complete")
        .total
}

/// Looks while nothing new is wrong.
#[derive(Default)]
struct Calm {
    begun: usize,
    with_one: usize,
    sets: usize,
}

impl Calm {
    fn add(&mut self, looks: &[[bool; 5]]) {
        let begins = |pair: &[[bool; 5]]| (0..5).filter(|s| !pair[0][*s] && pair[1][*s]).count();
        self.begun += looks.windows(2).map(begins).sum::<usize>();
        self.with_one += looks.iter().filter(|look| look.contains(&true)).count();
        self.sets += looks.len();
    }

    fn said(&self) -> String {
        let weeks = count(self.sets) / 42.0;
        format!(
            "{:.2} new looks a patient-week, {:.1} % of sets with one",
            count(self.begun) / weeks,
            100.0 * count(self.with_one) / count(self.sets)
        )
    }
}

/// How soon a new illness is said: hours after its onset, and before the first total of 5.
#[derive(Default)]
struct Caught {
    delays: Vec<f64>,
    leads: Vec<f64>,
    missed: usize,
}

impl Caught {
    fn add(&mut self, patient: &[Vec<Sample>], looks: &[[bool; 5]], onset: i64) {
        let first = usize::try_from(onset / 4 + 1).expect("small");
        let after = |at: usize| 4.0 * count(at) - f64::from(i32::try_from(onset).expect("small"));
        let Some(at) = (first..looks.len()).find(|at| looks[*at].contains(&true)) else {
            self.missed += 1;
            return;
        };
        self.delays.push(after(at));
        if let Some(scored) = (first..looks.len()).find(|at| total(patient, *at) >= 5) {
            self.leads.push(after(scored) - after(at));
        }
    }

    fn said(&self) -> String {
        let before = self.leads.iter().filter(|lead| **lead > 0.0).count();
        format!(
            "look {:.0} h after onset (median), {} of {PATIENTS} missed; {:.0} h before NEWS2 5 (median), before it in {:.0} %",
            median(&self.delays).expect("delays"),
            self.missed,
            median(&self.leads).expect("leads"),
            100.0 * count(before) / count(self.leads.len())
        )
    }
}

fn count(count: usize) -> f64 {
    f64::from(u32::try_from(count).expect("few"))
}

/// A patient's looks until the onset of a new illness, and how soon that is said.
fn measure(days: i64, onset_day: Option<i64>, starts_ill: bool) -> (Calm, Caught) {
    let (mut calm, mut caught) = (Calm::default(), Caught::default());
    for n in 0..PATIENTS {
        let hour = i64::try_from(n % 24).expect("small");
        let onset = onset_day.map(|day| day * 24 + hour);
        let course = Course {
            seed: 1000 + n,
            days,
            onset,
            starts_ill,
        };
        let patient = course.readings();
        let looks = looks(&patient);
        let until = onset.map_or(looks.len(), |onset| {
            usize::try_from(onset / 4 + 1).expect("small")
        });
        calm.add(&looks[..until]);
        if let Some(onset) = onset {
            caught.add(&patient, &looks, onset);
        }
    }
    (calm, caught)
}

/// Everything the sheet shows of a trend, five signs together.
#[test]
fn delay_and_false_alarms_are_as_documented() {
    let (stable, _) = measure(14, None, false);
    let (well, later) = measure(8, Some(5), false);
    let (recovering, again) = measure(13, Some(10), true);
    let measured = [
        format!("stable: {}", stable.said()),
        format!("well, then ill: {}; {}", well.said(), later.said()),
        format!(
            "ill, well, ill again: {}; {}",
            recovering.said(),
            again.said()
        ),
    ];
    for line in &measured {
        assert!(
            DOCUMENTED.contains(line),
            "docs/clinical.md should say: {measured:#?}"
        );
    }
}
