//! Chart 1 of the published report, cell by cell. Values are inside their hard limits.

use super::{Parts, Set};
use crate::record::observed::{Acvpu, Spo2Scale};

pub(super) fn points(set: &Set) -> Parts {
    Parts {
        rr: set.rr.map(rr),
        spo2: set
            .spo2
            .zip(set.scale)
            .and_then(|(spo2, scale)| match scale {
                Spo2Scale::Scale1 => Some(spo2_scale_1(spo2)),
                Spo2Scale::Scale2 => spo2_scale_2(spo2, set.oxygen),
            }),
        oxygen: set.oxygen.map(|oxygen| if oxygen { 2 } else { 0 }),
        sbp: set.sbp.map(sbp),
        hr: set.hr.map(hr),
        acvpu: set
            .acvpu
            .map(|acvpu| if acvpu == Acvpu::Alert { 0 } else { 3 }),
        temp: set.temp_deci_c.map(temp_deci_c),
    }
}

const fn rr(per_min: i32) -> u8 {
    match per_min {
        ..=8 => 3,
        9..=11 => 1,
        12..=20 => 0,
        21..=24 => 2,
        25.. => 3,
    }
}

const fn spo2_scale_1(percent: i32) -> u8 {
    match percent {
        ..=91 => 3,
        92 | 93 => 2,
        94 | 95 => 1,
        96.. => 0,
    }
}

/// From 93 % up the points depend on the oxygen, so without that they are unknown.
const fn spo2_scale_2(percent: i32, oxygen: Option<bool>) -> Option<u8> {
    match (percent, oxygen) {
        (..=83, _) => Some(3),
        (84 | 85, _) => Some(2),
        (86 | 87, _) => Some(1),
        (88..=92, _) | (93.., Some(false)) => Some(0),
        (93 | 94, Some(true)) => Some(1),
        (95 | 96, Some(true)) => Some(2),
        (97.., Some(true)) => Some(3),
        (93.., None) => None,
    }
}

const fn sbp(mm_hg: i32) -> u8 {
    match mm_hg {
        ..=90 => 3,
        91..=100 => 2,
        101..=110 => 1,
        111..=219 => 0,
        220.. => 3,
    }
}

const fn hr(per_min: i32) -> u8 {
    match per_min {
        ..=40 => 3,
        41..=50 => 1,
        51..=90 => 0,
        91..=110 => 1,
        111..=130 => 2,
        131.. => 3,
    }
}

const fn temp_deci_c(tenths: i32) -> u8 {
    match tenths {
        ..=350 => 3,
        351..=360 => 1,
        361..=380 => 0,
        381..=390 => 1,
        391.. => 2,
    }
}
