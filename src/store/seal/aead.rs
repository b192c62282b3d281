//! Sealing and opening bytes: `XChaCha20-Poly1305`, a random nonce each time, and what the bytes
//! are bound to as associated data.
//!
//! Source: draft-irtf-cfrg-xchacha-03, on the construction of RFC 8439. Its nonce of 192 bits can
//! be drawn at random for every message.

use chacha20poly1305::aead::{Aead, KeyInit, Payload};
use chacha20poly1305::{Key, XChaCha20Poly1305, XNonce};
use zeroize::{ZeroizeOnDrop, Zeroizing};

use crate::clock::Clock;

/// The first byte of everything sealed: which construction it is.
const VERSION: u8 = 1;
/// Bytes of a nonce.
const NONCE: usize = 24;

/// 256 bits of a key; wiped from memory when dropped, never shown by `{:?}`.
#[derive(Clone, PartialEq, Eq, ZeroizeOnDrop)]
pub(super) struct Bits([u8; 32]);

impl std::fmt::Debug for Bits {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Bits(..)")
    }
}

impl Bits {
    pub(super) fn new(bits: [u8; 32]) -> Self {
        Self(bits)
    }

    pub(super) fn of(bytes: &[u8]) -> Option<Self> {
        bytes.try_into().map(Self).ok()
    }

    pub(super) fn bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

/// Seals `text`, bound to `to`: version, nonce, text and tag. None if the text is longer than the
/// construction takes, 256 GiB.
pub(super) fn seal(key: &Bits, clock: &Clock, to: &[u8], text: &[u8]) -> Option<Vec<u8>> {
    let nonce: [u8; NONCE] = clock.secret();
    let cipher = XChaCha20Poly1305::new(&Key::from(key.0));
    let payload = Payload { msg: text, aad: to };
    let sealed = cipher.encrypt(&XNonce::from(nonce), payload).ok()?;
    let mut all = Vec::with_capacity(1 + NONCE + sealed.len());
    all.push(VERSION);
    all.extend_from_slice(&nonce);
    all.extend_from_slice(&sealed);
    Some(all)
}

/// Opens what was sealed by this key and bound to `to`; none for anything else.
pub(super) fn open(key: &Bits, to: &[u8], sealed: &[u8]) -> Option<Zeroizing<Vec<u8>>> {
    let (version, rest) = sealed.split_first()?;
    let (nonce, sealed) = rest.split_at_checked(NONCE)?;
    if *version != VERSION {
        return None;
    }
    let nonce: [u8; NONCE] = nonce.try_into().ok()?;
    let cipher = XChaCha20Poly1305::new(&Key::from(key.0));
    let payload = Payload {
        msg: sealed,
        aad: to,
    };
    let text = cipher.decrypt(&XNonce::from(nonce), payload).ok()?;
    Some(Zeroizing::new(text))
}
