//! SpO2 scale 2: for whom a saturation of 88 to 92 % was prescribed, and what is too much.
//!
//! Source: RCP, *NEWS2* (2017), chart 1: on scale 2 a saturation of 93 % and over scores only
//! on oxygen, since there it is above the target.

use super::Set;
use crate::record::observed::Spo2Scale;

/// The lowest saturation, per cent, that scores on oxygen as too high.
const ABOVE_TARGET: i32 = 93;

/// Scale 2 with its target and who prescribed it; also who did not.
#[must_use]
pub fn scale_2_in_words(prescribed_by: Option<&str>) -> String {
    let by = prescribed_by.unwrap_or("NOBODY RECORDED");
    format!("SpO2 scale 2, target 88 to 92 %, prescribed by {by}")
}

/// On scale 2, on oxygen, and above the target. Unknown oxygen is not oxygen.
#[must_use]
pub fn is_above_target_on_oxygen(set: &Set) -> bool {
    set.scale == Some(Spo2Scale::Scale2)
        && set.oxygen == Some(true)
        && set.spo2.is_some_and(|percent| percent >= ABOVE_TARGET)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RCP NEWS2 (2017), chart 1, scale 2: 93 and over on oxygen scores 1 to 3, on air 0; 88 to
    /// 92 scores 0 on either.
    #[test]
    fn above_target_is_93_and_over_on_oxygen_on_scale_2() {
        let set = |percent, oxygen, scale| Set {
            spo2: Some(percent),
            oxygen,
            scale: Some(scale),
            ..Set::default()
        };
        for percent in 40..=100 {
            let two = |oxygen| is_above_target_on_oxygen(&set(percent, oxygen, Spo2Scale::Scale2));
            assert_eq!(two(Some(true)), percent >= 93, "{percent}");
            assert!(!two(Some(false)) && !two(None), "{percent}");
            let one = set(percent, Some(true), Spo2Scale::Scale1);
            assert!(!is_above_target_on_oxygen(&one), "{percent}");
        }
    }
}
