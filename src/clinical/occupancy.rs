//! How full a ward is, and how many places a population has.
//!
//! Source: NHS England virtual-ward guidance counts capacity for 100,000 people of 16 and over
//! registered with a general practice, and asks for occupancy above 80 per cent (clinical
//! reference, section 15). That occupancy may pass 100 per cent is common practice.

/// A share kept as its two counts, so that no limit meets a rounded value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Occupancy {
    /// Patients at the moment of counting.
    pub patients: u32,
    /// Places that were open then.
    pub capacity: u32,
}

impl Occupancy {
    /// Tenths of a per cent, half up, for showing; `None` without an open place, where it is
    /// not defined.
    #[must_use]
    pub fn tenths_of_percent(self) -> Option<u64> {
        let capacity = u64::from(self.capacity);
        (capacity > 0).then(|| (2000 * u64::from(self.patients) + capacity) / (2 * capacity))
    }

    /// Above 80 per cent, compared exactly; `None` where occupancy is not defined.
    #[must_use]
    pub fn is_above_80_percent(self) -> Option<bool> {
        (self.capacity > 0).then(|| 100 * u64::from(self.patients) > 80 * u64::from(self.capacity))
    }
}

/// Places for 100,000 people, in hundredths, half up, for showing; `None` for a population of 0.
#[must_use]
pub fn hundredths_per_100_000(capacity: u32, population: u32) -> Option<u64> {
    let population = u64::from(population);
    (population > 0).then(|| (20_000_000 * u64::from(capacity) + population) / (2 * population))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Clinical reference W10: patients, capacity, tenths of a per cent, population, hundredths
    /// of a place for 100,000.
    #[test]
    fn w10_occupancy_and_capacity() {
        for (patients, capacity, share, population, places) in [
            (33, 40, Some(825), 412_000, 971),
            (32, 40, Some(800), 200_000, 2000),
            (31, 40, Some(775), 160_000, 2500),
            (40, 40, Some(1000), 80_000, 5000),
            (41, 40, Some(1025), 100_000, 4000),
            (0, 12, Some(0), 95_000, 1263),
            (9, 12, Some(750), 24_000, 5000),
            (5, 0, None, 50_000, 0),
        ] {
            let occupancy = Occupancy { patients, capacity };
            assert_eq!(
                occupancy.tenths_of_percent(),
                share,
                "{patients}/{capacity}"
            );
            assert_eq!(
                hundredths_per_100_000(capacity, population),
                Some(places),
                "{capacity} for {population}"
            );
        }
        assert_eq!(hundredths_per_100_000(40, 0), None);
    }

    #[test]
    fn exactly_80_percent_is_not_above_it() {
        let above = |patients, capacity| Occupancy { patients, capacity }.is_above_80_percent();
        assert_eq!(above(32, 40), Some(false));
        assert_eq!(above(33, 40), Some(true));
        assert_eq!(above(u32::MAX, u32::MAX), Some(true));
        assert_eq!(above(1, 0), None);
    }
}
