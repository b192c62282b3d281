//! Secrets handed out once and kept only as hashes.

use std::fmt;
use std::str::FromStr;

use sha2::{Digest, Sha256};
use zeroize::ZeroizeOnDrop;

use crate::clock::Clock;

/// 256 bits that nobody can guess; wiped from memory when dropped, never shown by `{:?}`.
#[derive(Clone, PartialEq, Eq, ZeroizeOnDrop)]
pub struct Secret {
    bits: [u8; 32],
    #[zeroize(skip)]
    carried: Carried,
}

/// How a secret travels. One that was ever sent in the clear may have been overheard, so it opens
/// nothing over https, whatever cookie it is put into; nor the other way round.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Carried {
    /// In the clear: plain HTTP.
    #[default]
    Plain,
    /// Over https.
    Encrypted,
}

/// Text that is no secret of ours.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("is no secret: 64 hexadecimal digits are")]
pub struct NoSecret;

impl Secret {
    pub(super) fn new(clock: &Clock, carried: Carried) -> Self {
        Self {
            bits: clock.secret(),
            carried,
        }
    }

    /// The same bits as they count by that way.
    #[must_use]
    pub fn over(mut self, carried: Carried) -> Self {
        self.carried = carried;
        self
    }

    /// What the holder keeps: 64 hexadecimal digits, fit for a cookie.
    #[must_use]
    pub fn text(&self) -> String {
        self.bits
            .iter()
            .flat_map(|byte| [byte >> 4, byte & 0x0f])
            .filter_map(|digit| char::from_digit(u32::from(digit), 16))
            .collect()
    }

    /// What the store keeps, another for each way. A plain digest is enough for 256 random bits.
    pub(super) fn digest(&self) -> [u8; 32] {
        let mut hasher = Sha256::new();
        if self.carried == Carried::Encrypted {
            hasher.update(b"over https");
        }
        hasher.update(self.bits);
        hasher.finalize().into()
    }
}

impl FromStr for Secret {
    type Err = NoSecret;
    fn from_str(text: &str) -> Result<Self, NoSecret> {
        let mut bytes = [0; 32];
        if text.len() != 64 || !text.is_ascii() {
            return Err(NoSecret);
        }
        for (byte, pair) in bytes.iter_mut().zip(text.as_bytes().chunks_exact(2)) {
            let digit = |c: &u8| char::from(*c).to_digit(16).ok_or(NoSecret);
            let [high, low] = pair else {
                return Err(NoSecret);
            };
            let value = digit(high)? * 16 + digit(low)?;
            *byte = u8::try_from(value).map_err(|_| NoSecret)?;
        }
        Ok(Self {
            bits: bytes,
            carried: Carried::Plain,
        })
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Secret(..)")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::Timestamp;

    #[test]
    fn a_secret_survives_its_text_and_is_never_printed() {
        let secret = Secret::new(&Clock::fixed(Timestamp::UNIX_EPOCH), Carried::Plain);
        assert_eq!(secret.text().parse::<Secret>().unwrap(), secret);
        assert_eq!(format!("{secret:?}"), "Secret(..)");
        for bad in ["", "00", &"g".repeat(64), &"é".repeat(32), &"0".repeat(65)] {
            assert_eq!(bad.parse::<Secret>(), Err(NoSecret), "{bad}");
        }
    }

    #[test]
    fn the_digest_is_sha_256() {
        // FIPS 180-4 digest of 32 zero bytes, as coreutils' sha256sum prints it.
        let expected = "66687aadf862bd776c8fc18b8e9f8e20089714856ee233b3902a591d0d5f2925";
        let zeros: Secret = "00".repeat(32).parse().unwrap();
        let printed = |bits| Secret {
            bits,
            carried: Carried::Plain,
        };
        assert_eq!(printed(zeros.digest()).text(), expected);
    }

    #[test]
    fn a_secret_counts_only_by_the_way_it_was_given() {
        let plain = Secret::new(&Clock::system(), Carried::Plain);
        let sealed = plain.clone().over(Carried::Encrypted);
        assert_eq!(sealed.text(), plain.text());
        assert_ne!(sealed.digest(), plain.digest());
    }
}
