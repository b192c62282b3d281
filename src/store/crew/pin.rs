//! PINs, six digits that are not the first guess, and passphrases; hashed slowly, one at a time.

use std::collections::BTreeSet;
use std::fmt;
use std::sync::Arc;

use argon2::password_hash::Error as HashError;
use argon2::password_hash::phc::{Output, ParamsString, PasswordHash, Salt};
use argon2::{Algorithm, Argon2, Block, Params, Version};
use tokio::sync::{Mutex, OnceCell};
use unicode_normalization::UnicodeNormalization as _;
use zeroize::Zeroizing;

use super::super::StoreError;
use crate::clock::Clock;

/// Digits of a PIN.
const DIGITS: usize = 6;
/// Memory in KiB, passes, lanes. Source: OWASP Password Storage Cheat Sheet, Argon2id.
const COST: (u32, u32, u32) = (19 * 1024, 2, 1);
/// Bytes of a hash.
const OUTPUT: usize = Params::DEFAULT_OUTPUT_LEN;

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

/// Fewest and most characters of a passphrase.
const PASSPHRASE: std::ops::RangeInclusive<usize> = 15..=128;
/// Fewest different characters in it.
const DIFFERENT: usize = 6;

/// Several words that open an account at a desk ashore, where nobody watches who types; wiped
/// from memory when dropped.
///
/// # Source
/// NIST SP 800-63B-4, 3.1.1.2 (from memory): at least 15 characters, at least 64 allowed, every
/// character taken, no rules of composition.
#[derive(Clone)]
pub struct Passphrase(Zeroizing<String>);

/// A passphrase that is not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum PassphraseRefused {
    /// Fewer than 15 or more than 128 characters.
    #[error("has fewer than 15 or more than 128 characters")]
    Length,
    /// Hardly any different characters.
    #[error("repeats the same few characters")]
    Trivial,
}

impl Passphrase {
    /// The words, to sign in whoever gave them just now.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.0
    }

    /// Takes a passphrase that somebody chose.
    ///
    /// # Errors
    /// [`PassphraseRefused`].
    pub fn new(text: &str) -> Result<Self, PassphraseRefused> {
        let text = composed(text);
        if !PASSPHRASE.contains(&text.chars().count()) {
            return Err(PassphraseRefused::Length);
        }
        let different: BTreeSet<char> = text.chars().collect();
        if different.len() < DIFFERENT {
            return Err(PassphraseRefused::Trivial);
        }
        Ok(Self(text))
    }
}

/// The same letters typed on two keyboards are the same text.
fn composed(text: &str) -> Zeroizing<String> {
    Zeroizing::new(text.nfc().collect())
}

impl fmt::Debug for Passphrase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Passphrase(..)")
    }
}

/// What can be hashed: a PIN or a passphrase.
pub(in super::super) trait Known {
    /// As it is hashed.
    fn text(&self) -> Zeroizing<String>;
}

impl Known for Pin {
    fn text(&self) -> Zeroizing<String> {
        self.0.clone()
    }
}

impl Known for Passphrase {
    fn text(&self) -> Zeroizing<String> {
        self.0.clone()
    }
}

impl fmt::Debug for Pin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Pin(..)")
    }
}

/// The work of hashing, off the threads that serve.
///
/// One at a time, in memory that is kept: the box never needs more than these 19 MiB for it, and
/// nobody is kept out because they cannot be had just then.
#[derive(Debug)]
pub(in super::super) struct PinWork {
    memory: Arc<Mutex<Memory>>,
    decoy: OnceCell<String>,
}

impl PinWork {
    pub(in super::super) fn new() -> Self {
        Self {
            memory: Arc::default(),
            decoy: OnceCell::new(),
        }
    }

    pub(super) async fn hash(
        &self,
        clock: &Clock,
        known: &impl Known,
    ) -> Result<String, StoreError> {
        let salt: [u8; 16] = clock.secret();
        let pin = known.text();
        self.run(move |memory| Ok(hashed(memory, pin.as_bytes(), &salt)?.to_string()))
            .await
    }

    /// Whether `typed` is the PIN or passphrase of `hash`. Without a hash the same work is done for nothing,
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
        let typed = composed(typed);
        let matches = self
            .run(move |memory| {
                let hash = PasswordHash::new(&hash)?;
                is_of(memory, typed.as_bytes(), &hash)
            })
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
        work: impl FnOnce(&mut Memory) -> Result<T, HashError> + Send + 'static,
    ) -> Result<T, StoreError> {
        // Held by the work itself, which goes on when its asker goes away.
        let mut memory = Arc::clone(&self.memory).lock_owned().await;
        match tokio::task::spawn_blocking(move || work(&mut memory)).await {
            Ok(done) => done.map_err(|why| StoreError::Hashing(why.to_string())),
            Err(ended) => Err(StoreError::Hashing(ended.to_string())),
        }
    }
}

/// What the hash is made in; empty until the first.
#[derive(Default)]
struct Memory(Vec<Block>);

impl fmt::Debug for Memory {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Memory({} blocks)", self.0.len())
    }
}

impl Memory {
    /// Hashes in it, and leaves nothing of the PIN behind.
    fn work(
        &mut self,
        hasher: &Argon2<'_>,
        pin: &[u8],
        salt: &[u8],
        out: &mut [u8],
    ) -> Result<(), HashError> {
        let blocks = hasher.params().block_count();
        if self.0.len() < blocks {
            self.0.resize(blocks, Block::new());
        }
        let done = hasher.hash_password_into_with_memory(pin, salt, out, &mut self.0);
        self.0.fill(Block::new());
        Ok(done?)
    }
}

fn hashed(memory: &mut Memory, pin: &[u8], salt: &[u8]) -> Result<PasswordHash, HashError> {
    let (kib, passes, lanes) = COST;
    let params = Params::new(kib, passes, lanes, Some(OUTPUT))?;
    let stated = ParamsString::try_from(&params)?;
    let hasher = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
    let mut out = Zeroizing::new([0; OUTPUT]);
    memory.work(&hasher, pin, salt, out.as_mut_slice())?;
    Ok(PasswordHash {
        algorithm: Algorithm::Argon2id.ident(),
        version: Some(Version::V0x13.into()),
        params: stated,
        salt: Some(Salt::new(salt)?),
        hash: Some(Output::new(out.as_slice())?),
    })
}

/// Whether `pin` is the PIN of `kept`, by the cost that stands in it. Compares in constant time.
fn is_of(memory: &mut Memory, pin: &[u8], kept: &PasswordHash) -> Result<bool, HashError> {
    let (Some(salt), Some(expected)) = (&kept.salt, &kept.hash) else {
        return Err(HashError::EncodingInvalid);
    };
    let algorithm = Algorithm::try_from(kept.algorithm.as_str())?;
    let version = kept.version.map_or(Ok(Version::V0x13), Version::try_from)?;
    let hasher = Argon2::new(algorithm, version, Params::try_from(kept)?);
    let mut out = Zeroizing::new(vec![0; expected.len()]);
    memory.work(&hasher, pin, salt, &mut out)?;
    Ok(Output::new(&out)? == *expected)
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

    #[test]
    fn a_passphrase_is_long_and_not_one_letter_over_and_over() {
        for (text, why) in [
            ("lantern reef", PassphraseRefused::Length),
            ("", PassphraseRefused::Length),
            ("ababababababababab", PassphraseRefused::Trivial),
        ] {
            assert_eq!(Passphrase::new(text).unwrap_err(), why, "{text}");
        }
        let long = "x".repeat(129);
        assert_eq!(
            Passphrase::new(&long).unwrap_err(),
            PassphraseRefused::Length
        );
        assert!(Passphrase::new("three gulls at noon").is_ok());
        assert!(Passphrase::new("ανεμώνη στο βυθό").is_ok());
    }

    #[tokio::test]
    async fn a_passphrase_typed_on_another_keyboard_is_the_same() {
        let clock = Clock::fixed(Timestamp::UNIX_EPOCH);
        let work = PinWork::new();
        let one = Passphrase::new("drei M\u{f6}wen am Kai").unwrap();
        let hash = work.hash(&clock, &one).await.unwrap();
        let other = "drei Mo\u{308}wen am Kai";
        assert!(work.matches(&clock, other, Some(&hash)).await.unwrap());
        let wrong = "drei Mowen am Kai";
        assert!(!work.matches(&clock, wrong, Some(&hash)).await.unwrap());
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

    /// The library's own way, in memory of its own, is the other opinion.
    #[tokio::test]
    async fn memory_used_before_makes_no_difference_and_keeps_nothing() {
        use argon2::password_hash::{PasswordHasher as _, PasswordVerifier as _};
        let (kib, passes, lanes) = COST;
        let params = Params::new(kib, passes, lanes, None).unwrap();
        let library = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
        let mut memory = Memory::default();
        for pin in ["835192", "294817", "835192"] {
            let ours = hashed(&mut memory, pin.as_bytes(), b"sixteen bytes ok").unwrap();
            let theirs = library
                .hash_password_with_salt(pin.as_bytes(), b"sixteen bytes ok")
                .unwrap();
            assert_eq!(ours.to_string(), theirs.to_string());
            library.verify_password(pin.as_bytes(), &ours).unwrap();
            assert!(
                memory
                    .0
                    .iter()
                    .flat_map(AsRef::as_ref)
                    .all(|word| *word == 0_u64)
            );
        }
        assert_eq!(memory.0.len(), 19 * 1024);
    }

    #[tokio::test]
    async fn a_hash_of_another_cost_is_read_by_its_own() {
        // Source: phc-winner-argon2, test.c, Argon2id version 0x13, t=2, m=2^8, p=1,
        // password "password", salt "somesalt".
        let kept = "$argon2id$v=19$m=256,t=2,p=1$c29tZXNhbHQ\
                    $nf65EOgLrQMR/uIPnA4rEsF5h7TKyQwu9U1bMCHGi/4";
        let mut memory = Memory::default();
        let kept = PasswordHash::new(kept).unwrap();
        assert!(is_of(&mut memory, b"password", &kept).unwrap());
        assert!(!is_of(&mut memory, b"passwore", &kept).unwrap());
        let bare = PasswordHash::new("$argon2id$v=19$m=256,t=2,p=1").unwrap();
        assert!(
            is_of(&mut memory, b"password", &bare).is_err(),
            "no verdict"
        );
    }
}
