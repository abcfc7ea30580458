//! Fluid balance over a window, and urine output by weight.
//!
//! Source: common practice. The limit of 0.5 mL/kg/h is that of the AKI guidance (KDIGO 2012,
//! from memory). Only what was recorded is counted: a balance of an incomplete chart is
//! wrong, so what was counted is always shown with it.

use crate::record::time::Timestamp;

/// Of the sums, and of the limit for urine.
pub const SOURCE: &str = "common practice; 0.5 mL/kg/h: KDIGO 2012, from memory";
/// To be shown beside a balance.
pub const CAUTION: &str =
    "Only what was written down is counted: the balance of an incomplete chart is wrong.";

/// One recorded amount.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fluid {
    /// When.
    pub at: Timestamp,
    /// In or out.
    pub way: Way,
    /// Millilitres, 0 or more.
    pub ml: u32,
}

/// Which way it went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Way {
    /// Drunk, fed or infused.
    In,
    /// Urine.
    Urine,
    /// Any other loss: stoma, drain, vomit.
    OtherOut,
}

/// What was recorded in a window.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Balance {
    /// In, mL.
    pub in_ml: i64,
    /// Out, urine included, mL.
    pub out_ml: i64,
    /// Urine alone, mL; `None` if none was recorded, which is not the same as none passed.
    pub urine_ml: Option<i64>,
    /// How many amounts were counted.
    pub counted: usize,
}

impl Balance {
    /// In less out, mL; positive if more went in.
    #[must_use]
    pub const fn net_ml(&self) -> i64 {
        self.in_ml - self.out_ml
    }
}

/// A window that ends before it begins, or without a length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the window must end after it begins")]
pub struct NoWindow;

/// The balance of what was recorded from `from` up to but not including `to`, so that
/// adjoining windows count nothing twice. Any order.
///
/// # Errors
/// [`NoWindow`].
pub fn balance(fluids: &[Fluid], from: Timestamp, to: Timestamp) -> Result<Balance, NoWindow> {
    if to <= from {
        return Err(NoWindow);
    }
    let mut balance = Balance {
        in_ml: 0,
        out_ml: 0,
        urine_ml: None,
        counted: 0,
    };
    for fluid in fluids
        .iter()
        .filter(|fluid| fluid.at >= from && fluid.at < to)
    {
        let ml = i64::from(fluid.ml);
        balance.counted += 1;
        match fluid.way {
            Way::In => balance.in_ml += ml,
            Way::OtherOut => balance.out_ml += ml,
            Way::Urine => {
                balance.out_ml += ml;
                balance.urine_ml = Some(balance.urine_ml.unwrap_or(0) + ml);
            }
        }
    }
    Ok(balance)
}

/// Whether urine fell short of 0.5 mL/kg/h; `None` if none was recorded. `weight_deci_kg` in
/// tenths of a kilogram, more than 0.
///
/// # Errors
/// [`NoWindow`].
pub fn urine_is_low(
    balance: &Balance,
    weight_deci_kg: u32,
    from: Timestamp,
    to: Timestamp,
) -> Result<Option<bool>, NoWindow> {
    let minutes = to.since(from).whole_minutes();
    if minutes <= 0 {
        return Err(NoWindow);
    }
    // urine < 0.5 · kg · h, in whole numbers: urine · 1200 < deci-kg · minutes.
    let wanted = i64::from(weight_deci_kg).saturating_mul(minutes);
    Ok(balance
        .urine_ml
        .map(|urine| urine.saturating_mul(1200) < wanted))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::time::Span;

    fn at(hours: i64) -> Timestamp {
        Timestamp::EARLIEST.plus(Span::hours(hours))
    }

    #[test]
    fn counts_each_amount_once_and_unknown_urine_as_unknown() {
        let fluids = [
            Fluid {
                at: at(0),
                way: Way::In,
                ml: 500,
            },
            Fluid {
                at: at(5),
                way: Way::OtherOut,
                ml: 200,
            },
            Fluid {
                at: at(6),
                way: Way::Urine,
                ml: 239,
            },
            Fluid {
                at: at(12),
                way: Way::In,
                ml: 100,
            },
        ];
        let morning = balance(&fluids, at(0), at(6)).expect("a window");
        assert_eq!(
            morning,
            Balance {
                in_ml: 500,
                out_ml: 200,
                urine_ml: None,
                counted: 2
            }
        );
        assert_eq!(urine_is_low(&morning, 800, at(0), at(6)), Ok(None));
        let noon = balance(&fluids, at(6), at(12)).expect("a window");
        assert_eq!(
            (noon.net_ml(), noon.urine_ml, noon.counted),
            (-239, Some(239), 1)
        );
        // 80.0 kg for 6 h: 240 mL is 0.5 mL/kg/h exactly, and 239 is under.
        assert_eq!(urine_is_low(&noon, 800, at(6), at(12)), Ok(Some(true)));
        let enough = Balance {
            urine_ml: Some(240),
            ..noon
        };
        assert_eq!(urine_is_low(&enough, 800, at(6), at(12)), Ok(Some(false)));
        assert_eq!(balance(&fluids, at(6), at(6)), Err(NoWindow));
        assert_eq!(urine_is_low(&noon, 800, at(6), at(5)), Err(NoWindow));
    }
}
