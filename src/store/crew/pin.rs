//! PINs: six digits that are not the first guess, hashed slowly, two at a time.

use std::fmt;

use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{Error as HashError, PasswordHasher, PasswordVerifier};
use argon2::{Algorithm, Argon2, Params, Version};
use tokio::sync::{OnceCell, Semaphore};
use zeroize::Zeroizing;

use super::super::StoreError;
use crate::clock::Clock;

/// Digits of a PIN.
const DIGITS: usize = 6;
/// Memory in KiB, passes, lanes. Source: OWASP Password Storage Cheat Sheet, Argon2id.
const COST: (u32, u32, u32) = (19 * 1024, 2, 1);
/// Hashings at a time: each takes 19 MiB and one core.
const AT_ONCE: usize = 2;

/// Six digits, wiped from memory when dropped.
#[derive(Clone)]
pub struct Pin(Zeroizing<String>);

/// A PIN that is not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum PinRefused {
    /// Not six digits.
    #[error("is not six digits")]
    NotSixDigits,
    /// One of the first that anybody would try.
    #[error("is one of the first that anybody would try: no runs, no repeats")]
    Trivial,
}

impl Pin {
    /// The digits, to be shown once to whoever it is made for.
    #[must_use]
    pub fn digits(&self) -> &str {
        &self.0
    }

    /// Takes a PIN that somebody chose.
    ///
    /// # Errors
    /// [`PinRefused`].
    pub fn new(text: &str) -> Result<Self, PinRefused> {
        let digits: Vec<u32> = text.chars().filter_map(|c| c.to_digit(10)).collect();
        if text.len() != DIGITS || digits.len() != DIGITS {
            return Err(PinRefused::NotSixDigits);
        }
        let step = |by: u32| {
            digits
                .iter()
                .zip(digits.iter().skip(1))
                .all(|(a, b)| (a + by) % 10 == *b)
        };
        let repeats = |every: usize| {
            digits
                .iter()
                .zip(digits.iter().skip(every))
                .all(|(a, b)| a == b)
        };
        let pairs = digits
            .chunks_exact(2)
            .all(|pair| pair.first() == pair.last());
        // The same digit, a run up or down, a repeated pair or three, three doubles.
        if step(0) || step(1) || step(9) || repeats(2) || repeats(3) || pairs {
            return Err(PinRefused::Trivial);
        }
        Ok(Self(Zeroizing::new(text.to_owned())))
    }
}

impl fmt::Debug for Pin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Pin(..)")
    }
}

/// The work of hashing, off the threads that serve.
#[derive(Debug)]
pub(in super::super) struct PinWork {
    places: Semaphore,
    decoy: OnceCell<String>,
}

impl PinWork {
    pub(in super::super) fn new() -> Self {
        Self {
            places: Semaphore::new(AT_ONCE),
            decoy: OnceCell::new(),
        }
    }

    pub(super) async fn hash(&self, clock: &Clock, pin: &Pin) -> Result<String, StoreError> {
        let salt: [u8; 16] = clock.secret();
        let pin = pin.0.clone();
        self.run(move || {
            let hash: PasswordHash = hasher()?.hash_password_with_salt(pin.as_bytes(), &salt)?;
            Ok(hash.to_string())
        })
        .await
    }

    /// Whether `typed` is the PIN of `hash`. Without a hash the same work is done for nothing,
    /// so that time does not tell which names there are.
    pub(super) async fn matches(
        &self,
        clock: &Clock,
        typed: &str,
        hash: Option<&str>,
    ) -> Result<bool, StoreError> {
        let known = hash.is_some();
        let hash = match hash {
            Some(hash) => hash.to_owned(),
            None => self.decoy(clock).await?,
        };
        let typed = Zeroizing::new(typed.to_owned());
        let matches = self
            .run(
                move || match hasher()?.verify_password(typed.as_bytes(), hash.as_str()) {
                    Ok(()) => Ok(true),
                    Err(HashError::PasswordInvalid) => Ok(false),
                    Err(error) => Err(error.into()),
                },
            )
            .await?;
        Ok(matches && known)
    }

    /// Makes the hash that unknown names are compared with, before the first of them comes.
    pub(super) async fn decoy(&self, clock: &Clock) -> Result<String, StoreError> {
        let decoy = self
            .decoy
            .get_or_try_init(|| async {
                let nobody = Pin(Zeroizing::new(clock.new_uuid().to_string()));
                self.hash(clock, &nobody).await
            })
            .await?;
        Ok(decoy.clone())
    }

    async fn run<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> Result<T, Trouble> + Send + 'static,
    ) -> Result<T, StoreError> {
        let failed = |why: String| StoreError::Hashing(why);
        let place = self.places.acquire().await;
        let _place = place.map_err(|e| failed(e.to_string()))?;
        match tokio::task::spawn_blocking(work).await {
            Ok(done) => done.map_err(|trouble| failed(trouble.0)),
            Err(ended) => Err(failed(ended.to_string())),
        }
    }
}

struct Trouble(String);

impl From<HashError> for Trouble {
    fn from(error: HashError) -> Self {
        Self(error.to_string())
    }
}

fn hasher() -> Result<Argon2<'static>, Trouble> {
    let (memory, passes, lanes) = COST;
    let params = Params::new(memory, passes, lanes, None).map_err(|e| Trouble(e.to_string()))?;
    Ok(Argon2::new(Algorithm::Argon2id, Version::V0x13, params))
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::Timestamp;

    #[test]
    fn the_first_guesses_are_refused() {
        for trivial in [
            "000000", "777777", "123456", "012345", "567890", "654321", "098765", "121212",
            "123123", "112233", "998877",
        ] {
            assert_eq!(
                Pin::new(trivial).unwrap_err(),
                PinRefused::Trivial,
                "{trivial}"
            );
        }
        for wrong in ["", "12345", "1234567", "12a456", "١٢٣٤٥٦", " 83519"] {
            assert_eq!(
                Pin::new(wrong).unwrap_err(),
                PinRefused::NotSixDigits,
                "{wrong}"
            );
        }
        for fine in ["835192", "100000", "123455"] {
            assert!(Pin::new(fine).is_ok(), "{fine}");
        }
    }

    #[tokio::test]
    async fn a_pin_is_hashed_as_owasp_asks() {
        let clock = Clock::fixed(Timestamp::UNIX_EPOCH);
        let work = PinWork::new();
        let pin = Pin::new("835192").unwrap();
        let hash = work.hash(&clock, &pin).await.unwrap();
        assert!(
            hash.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"),
            "{hash}"
        );
        assert!(work.matches(&clock, "835192", Some(&hash)).await.unwrap());
        assert!(!work.matches(&clock, "835193", Some(&hash)).await.unwrap());
        assert!(!work.matches(&clock, "835192", None).await.unwrap());
        assert_ne!(work.hash(&clock, &pin).await.unwrap(), hash, "salted");
    }
}
