//! Whether a log still is what somebody signed: the chain of the entries up to where he signed,
//! reckoned anew from their contents, and the digest of all that he knew.
//!
//! The chain is of the box that wrote the seal. A seal that came with a log from another box, where
//! the entries have other numbers, is proven by the digest alone, which hangs on no order.

use crate::trip::TripId;
use crate::trip::event::{DeviceId, Knows, SignedOver, digest};

use super::Head;

/// Why a log is not what was signed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Broken {
    /// The log ends before the entry signed over.
    #[error("is over an entry that is not there")]
    Ended,
    /// The entries up to it are not those that were signed, or not in their order.
    #[error("is over another chain than these entries make")]
    Chain,
    /// What its author knew is not here as it was.
    #[error("is over other contents than stand here")]
    Contents,
}

/// A log read from its first entry on.
#[derive(Debug, Clone)]
pub struct Reckoned {
    head: Head,
    /// The chain after each entry.
    chains: Vec<[u8; 32]>,
    /// What each device made, by the hash of its content.
    held: Vec<(DeviceId, u64, [u8; 32])>,
}

impl Reckoned {
    /// Before the first entry.
    #[must_use]
    pub fn start(trip: TripId) -> Self {
        Self {
            head: Head::start(trip),
            chains: Vec::new(),
            held: Vec::new(),
        }
    }

    /// Goes on with the next entry: the hash of its content, reckoned from its bytes, and whose it
    /// is, if it can be read.
    pub fn add(&mut self, hash: [u8; 32], of: Option<(DeviceId, u64)>) {
        self.head = self.head.then(&hash);
        self.chains.push(self.head.chain);
        self.held
            .extend(of.map(|(device, seq)| (device, seq, hash)));
    }

    /// What somebody signs who has this much before him: up to this entry, knowing this.
    #[must_use]
    pub fn over(&self, entry: u64, knows: &Knows) -> Option<SignedOver> {
        Some(SignedOver {
            entry,
            chain: hex(self.chain(entry)?),
            digest: hex(&self.digest(knows)),
        })
    }

    /// Whether this log is what was signed. `relayed`: the signature came from another box.
    ///
    /// # Errors
    /// What is not as it was.
    pub fn holds(&self, over: &SignedOver, knows: &Knows, relayed: bool) -> Result<(), Broken> {
        if !relayed {
            let chain = self.chain(over.entry).ok_or(Broken::Ended)?;
            if hex(chain) != over.chain {
                return Err(Broken::Chain);
            }
        }
        if hex(&self.digest(knows)) != over.digest {
            return Err(Broken::Contents);
        }
        Ok(())
    }

    fn chain(&self, entry: u64) -> Option<&[u8; 32]> {
        self.chains
            .get(usize::try_from(entry).ok()?.checked_sub(1)?)
    }

    fn digest(&self, knows: &Knows) -> [u8; 32] {
        let known = |(device, seq, hash): &(DeviceId, u64, [u8; 32])| {
            knows.covers(*device, *seq).then_some(*hash)
        };
        digest(self.held.iter().filter_map(known))
    }
}

fn hex(bytes: &[u8; 32]) -> String {
    use std::fmt::Write as _;
    bytes.iter().fold(String::new(), |mut text, byte| {
        // Writing into a String cannot fail; a digit short would be seen by whoever compares.
        let _ = write!(text, "{byte:02x}");
        text
    })
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use proptest::prelude::*;
    use uuid::Uuid;

    use super::*;

    type Row = ([u8; 32], DeviceId, u64);

    /// A log of three devices, each numbering from 1, of these contents.
    fn log(contents: &[(u8, u8)]) -> Vec<Row> {
        let mut last: BTreeMap<u8, u64> = BTreeMap::new();
        contents
            .iter()
            .map(|(device, content)| {
                let seq = last.entry(device % 3).or_default();
                *seq += 1;
                let mut hash = [*content; 32];
                hash[0] = device % 3;
                hash[1] = u8::try_from(*seq).unwrap();
                (
                    hash,
                    DeviceId::new(Uuid::from_u128(u128::from(device % 3))),
                    *seq,
                )
            })
            .collect()
    }

    fn reckon(rows: &[Row]) -> Reckoned {
        let mut reckoned = Reckoned::start(TripId::new(Uuid::from_u128(9)));
        for (hash, device, seq) in rows {
            reckoned.add(*hash, Some((*device, *seq)));
        }
        reckoned
    }

    fn knows(rows: &[Row]) -> Knows {
        let mut most = BTreeMap::new();
        for (_, device, seq) in rows {
            most.insert(*device, *seq);
        }
        Knows(most)
    }

    proptest! {
        /// What comes after is no change; a byte, a missing entry, another order or a word put in
        /// before the place that was signed always is.
        #[test]
        fn a_signature_never_holds_over_a_changed_log(
            contents in prop::collection::vec((0_u8..3, 0_u8..4), 2..30),
            cut in any::<prop::sample::Index>(),
            at in any::<prop::sample::Index>(),
            byte in 2_usize..32, flip in 1_u8..=255,
        ) {
            let rows = log(&contents);
            let signed = cut.index(rows.len()) + 1;
            let before = &rows[..signed];
            let (over, knew) = (
                reckon(before).over(signed as u64, &knows(before)).unwrap(),
                knows(before),
            );
            for relayed in [false, true] {
                prop_assert_eq!(reckon(&rows).holds(&over, &knew, relayed), Ok(()));
            }
            let at = at.index(signed);
            let mut changed = rows.clone();
            changed[at].0[byte] ^= flip;
            let mut shorter = rows.clone();
            shorter.remove(at);
            for (which, other) in [("a byte", &changed), ("missing", &shorter)] {
                for relayed in [false, true] {
                    let broken = reckon(other).holds(&over, &knew, relayed);
                    prop_assert!(broken.is_err(), "{which}, relayed {relayed}");
                }
            }
            let mut put_in = rows.clone();
            put_in.insert(at, ([0xEE; 32], DeviceId::new(Uuid::from_u128(77)), 1));
            prop_assert_eq!(reckon(&put_in).holds(&over, &knew, false), Err(Broken::Chain));
            if signed > 1 {
                let mut turned = rows.clone();
                turned.swap(signed - 1, signed - 2);
                prop_assert_eq!(reckon(&turned).holds(&over, &knew, false), Err(Broken::Chain));
                // On another box they came in another order, and are the same.
                prop_assert_eq!(reckon(&turned).holds(&over, &knew, true), Ok(()));
            }
        }
    }

    #[test]
    fn a_signature_over_more_than_there_is_does_not_hold() {
        let rows = log(&[(0, 1), (1, 2), (2, 3)]);
        let over = reckon(&rows).over(3, &knows(&rows)).unwrap();
        let cut = reckon(&rows[..2]).holds(&over, &knows(&rows), false);
        assert_eq!(cut, Err(Broken::Ended));
        assert_eq!(reckon(&rows).over(4, &knows(&rows)), None);
        assert_eq!(reckon(&rows).over(0, &knows(&rows)), None);
    }
}
