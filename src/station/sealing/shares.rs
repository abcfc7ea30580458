//! The recovery key in three shares, of which two are enough and one says nothing.
//!
//! The secret is the XOR of three random parts. Share 1 holds parts 2 and 3, share 2 holds 3 and
//! 1, share 3 holds 1 and 2. So each lacks one part, without which the others are random bytes,
//! and any two hold all three. No arithmetic, no library; anybody can check it with a pencil.

use std::fmt;
use std::str::FromStr;

use zeroize::Zeroizing;

use super::SealingError;
use super::wrap::random;
use crate::record::ids::{from_hex, to_hex};

const CHECK_CONTEXT: &str = "handfast recovery share v1 check";
const BEGINS: &str = "handfast-share";

/// One of three. Shown only by [`Share::text`], and never by accident: there is no `Debug`.
pub struct Share {
    number: u8,
    /// The parts after its own number, going round.
    parts: [Zeroizing<[u8; 32]>; 2],
}

/// A text that is no share.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error(
    "this is no recovery share, or it was not copied right: accepted is {BEGINS}-1, -2 or -3, a colon, and 136 hexadecimal digits, in groups or not"
)]
pub struct NotAShare;

impl Share {
    /// Splits a secret.
    ///
    /// # Errors
    /// When there is no randomness.
    pub fn split(secret: &Zeroizing<[u8; 32]>) -> Result<[Share; 3], SealingError> {
        let (one, two) = (random()?, random()?);
        let mut three = secret.clone();
        for part in [&one, &two] {
            for (byte, other) in three.iter_mut().zip(part.iter()) {
                *byte ^= other;
            }
        }
        let share = |number, first: &Zeroizing<[u8; 32]>, second: &Zeroizing<[u8; 32]>| Share {
            number,
            parts: [first.clone(), second.clone()],
        };
        Ok([
            share(1, &two, &three),
            share(2, &three, &one),
            share(3, &one, &two),
        ])
    }

    /// Puts two together; `None` if they are the same share or of different secrets.
    #[must_use]
    pub fn join(&self, other: &Share) -> Option<Zeroizing<[u8; 32]>> {
        let mut parts: [Option<&Zeroizing<[u8; 32]>>; 3] = [None; 3];
        for share in [self, other] {
            for (after, part) in share.parts.iter().enumerate() {
                let place = parts.get_mut((usize::from(share.number) + after) % 3)?;
                if place.is_some_and(|known| **known != **part) {
                    return None;
                }
                *place = Some(part);
            }
        }
        let mut secret = Zeroizing::new([0; 32]);
        for part in parts {
            for (byte, other) in secret.iter_mut().zip(part?.iter()) {
                *byte ^= other;
            }
        }
        Some(secret)
    }

    /// To be written down: groups of eight digits after the number; the last eight are a check.
    #[must_use]
    pub fn text(&self) -> Zeroizing<String> {
        let mut bytes = self.bytes();
        let check = check(self.number, &bytes);
        bytes.extend_from_slice(&check);
        let digits = Zeroizing::new(to_hex(&bytes));
        let mut text = Zeroizing::new(format!("{BEGINS}-{}:", self.number));
        for (index, digit) in digits.chars().enumerate() {
            if index % 8 == 0 {
                text.push(' ');
            }
            text.push(digit);
        }
        text
    }

    fn bytes(&self) -> Zeroizing<Vec<u8>> {
        Zeroizing::new(
            self.parts
                .iter()
                .flat_map(|part| part.iter().copied())
                .collect(),
        )
    }
}

impl fmt::Display for Share {
    /// Which one it is, and nothing of what it holds.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "recovery share {} of 3", self.number)
    }
}

impl FromStr for Share {
    type Err = NotAShare;

    fn from_str(text: &str) -> Result<Share, NotAShare> {
        let (name, digits) = text.trim().split_once(':').ok_or(NotAShare)?;
        let number = name
            .trim()
            .strip_prefix(BEGINS)
            .and_then(|rest| rest.strip_prefix('-'));
        let number: u8 = number
            .and_then(|digit| digit.parse().ok())
            .ok_or(NotAShare)?;
        let digits: Zeroizing<String> = Zeroizing::new(
            digits
                .chars()
                .filter(|c| !c.is_whitespace() && *c != '-')
                .collect(),
        );
        let bytes = Zeroizing::new(from_hex(&digits).ok_or(NotAShare)?);
        let parts = bytes
            .get(..64)
            .filter(|_| bytes.len() == 68 && (1..=3).contains(&number));
        let parts = parts.ok_or(NotAShare)?;
        if bytes[64..] != check(number, parts) {
            return Err(NotAShare);
        }
        let part = |from: usize| {
            let mut part = Zeroizing::new([0; 32]);
            part.copy_from_slice(&parts[from..from + 32]);
            part
        };
        Ok(Share {
            number,
            parts: [part(0), part(32)],
        })
    }
}

/// Tells a slip of the pen.
fn check(number: u8, parts: &[u8]) -> [u8; 4] {
    let mut hasher = blake3::Hasher::new_derive_key(CHECK_CONTEXT);
    hasher.update(&[number]);
    hasher.update(parts);
    let mut four = [0; 4];
    four.copy_from_slice(&hasher.finalize().as_bytes()[..4]);
    four
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_two_shares_are_enough_in_either_order_and_one_twice_is_not() {
        let secret = Zeroizing::new(std::array::from_fn(|index| u8::try_from(index).unwrap()));
        let shares = Share::split(&secret).unwrap();
        for (a, b) in [(0, 1), (1, 0), (0, 2), (2, 0), (1, 2), (2, 1)] {
            let joined = shares[a].join(&shares[b]);
            assert_eq!(joined.as_deref(), Some(&*secret), "{a} and {b}");
        }
        assert!(shares[0].join(&shares[0]).is_none());
        let others = Share::split(&Zeroizing::new([9; 32])).unwrap();
        assert!(shares[0].join(&others[1]).is_none());
    }

    #[test]
    fn a_share_is_written_down_and_read_back_and_a_slip_is_noticed() {
        let shares = Share::split(&Zeroizing::new([7; 32])).unwrap();
        for share in &shares {
            let text = share.text();
            let back: Share = text.parse().unwrap_or_else(|_| panic!("not read back"));
            assert!(*back.text() == *text);
            let at = text.len() - 3;
            let other = if &text[at..=at] == "0" { "1" } else { "0" };
            let slip = format!("{}{other}{}", &text[..at], &text[at + 1..]);
            assert!(slip.parse::<Share>().is_err());
            assert!(text[..text.len() - 1].parse::<Share>().is_err());
        }
        let renumbered = shares[0].text().replace("share-1", "share-2");
        assert!(renumbered.parse::<Share>().is_err());
        assert!("handfast-share-9: 00".parse::<Share>().is_err());
    }
}
