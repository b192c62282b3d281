//! Proving the log: every content against its hash, every hash against the chain, every number
//! against its neighbours, and the database against itself.

use sha2::{Digest, Sha256};

use super::{Head, Store, StoreError};
use crate::trip::event::read;

/// Entries read at a time.
const PAGE: i64 = 500;

/// Something in the log that is not as it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flaw {
    /// The trip, as its row says; empty for the database as a whole.
    pub trip: String,
    /// The entry; 0 for the trip as a whole.
    pub entry: i64,
    /// What is wrong.
    pub what: String,
}

/// What proving the log came to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Verdict {
    /// Trips looked at.
    pub trips: u64,
    /// Entries looked at.
    pub entries: u64,
    /// What is wrong; empty is good.
    pub flaws: Vec<Flaw>,
}

impl Verdict {
    fn add(&mut self, trip: &str, entry: i64, what: impl Into<String>) {
        self.flaws.push(Flaw {
            trip: trip.to_owned(),
            entry,
            what: what.into(),
        });
    }
}

#[derive(sqlx::FromRow)]
struct Kept {
    entry: i64,
    event: String,
    device: String,
    device_seq: i64,
    content: String,
    hash: Vec<u8>,
    chain: Vec<u8>,
}

impl Store {
    /// Proves every trip's log. Takes long on a long log; others read and write meanwhile.
    ///
    /// # Errors
    /// [`StoreError`] when the database cannot be read at all; what is wrong with what it says
    /// is in the verdict.
    pub async fn verify(&self) -> Result<Verdict, StoreError> {
        let mut verdict = Verdict::default();
        let told: Vec<String> = sqlx::query_scalar("PRAGMA integrity_check")
            .fetch_all(self.readers())
            .await?;
        for what in told {
            if what != "ok" {
                verdict.add("", 0, what);
            }
        }
        let orphans: Vec<String> = sqlx::query_scalar(
            "SELECT DISTINCT trip FROM entry WHERE trip NOT IN (SELECT id FROM trip)",
        )
        .fetch_all(self.readers())
        .await?;
        for trip in orphans {
            verdict.add(&trip, 0, "has entries and is in no list");
        }
        let trips: Vec<String> = sqlx::query_scalar("SELECT id FROM trip ORDER BY id")
            .fetch_all(self.readers())
            .await?;
        for trip in trips {
            verdict.trips += 1;
            self.verify_trip(&trip, &mut verdict).await?;
        }
        Ok(verdict)
    }

    async fn verify_trip(&self, trip: &str, verdict: &mut Verdict) -> Result<(), StoreError> {
        let Ok(id) = trip.parse() else {
            verdict.add(trip, 0, "has an id that is none");
            return Ok(());
        };
        // The end first: what is appended meanwhile comes after it and is not looked at.
        let (last_entry, last_chain, greatest): (i64, Vec<u8>, i64) = sqlx::query_as(
            "SELECT last_entry, chain, \
             (SELECT coalesce(max(entry), 0) FROM entry WHERE trip = trip.id) \
             FROM trip WHERE id = $1",
        )
        .bind(trip)
        .fetch_one(self.readers())
        .await?;
        if greatest > last_entry {
            let what = format!("is past the end of the log, which is {last_entry}");
            verdict.add(trip, greatest, what);
        }
        let mut head = Head::start(id);
        let mut expected = 1;
        while expected <= last_entry {
            let page: Vec<Kept> = sqlx::query_as(
                "SELECT entry, event, device, device_seq, content, hash, chain FROM entry \
                 WHERE trip = $1 AND entry >= $2 AND entry <= $3 ORDER BY entry LIMIT $4",
            )
            .bind(trip)
            .bind(expected)
            .bind(last_entry)
            .bind(PAGE)
            .fetch_all(self.readers())
            .await?;
            let Some(end) = page.last().map(|kept| kept.entry) else {
                break;
            };
            for kept in page {
                verdict.entries += 1;
                if kept.entry != expected {
                    verdict.add(
                        trip,
                        kept.entry,
                        format!("follows a gap: {expected} is missing"),
                    );
                }
                head = verify_entry(trip, head, &kept, verdict);
                expected = kept.entry + 1;
            }
            expected = expected.max(end + 1);
        }
        if expected <= last_entry {
            verdict.add(
                trip,
                expected,
                format!("is missing: the log goes to {last_entry}"),
            );
        } else if head.chain.as_slice() != last_chain.as_slice() {
            verdict.add(trip, 0, "ends with another chain than its list says");
        }
        Ok(())
    }
}

/// The head after `kept`, on the chain as it is written, so that one flaw is told once.
fn verify_entry(trip: &str, head: Head, kept: &Kept, verdict: &mut Verdict) -> Head {
    let digest: [u8; 32] = Sha256::digest(kept.content.as_bytes()).into();
    if digest.as_slice() != kept.hash.as_slice() {
        verdict.add(trip, kept.entry, "has content that is not of its hash");
    }
    match <[u8; 32]>::try_from(kept.hash.as_slice()) {
        Ok(hash) if head.then(&hash).chain.as_slice() == kept.chain.as_slice() => {}
        Ok(_) | Err(_) => verdict.add(trip, kept.entry, "is not of its chain"),
    }
    match read(kept.content.as_bytes()) {
        Err(faults) => verdict.add(trip, kept.entry, format!("cannot be read: {faults}")),
        Ok((event, _)) => {
            let columns = (&kept.event, &kept.device, Ok(kept.device_seq));
            let says = (
                &event.id.to_string(),
                &event.device.to_string(),
                i64::try_from(event.device_seq),
            );
            if columns != says || event.trip.to_string() != trip {
                verdict.add(
                    trip,
                    kept.entry,
                    "stands under another name than its content's",
                );
            }
        }
    }
    Head {
        entry: head.entry + 1,
        chain: <[u8; 32]>::try_from(kept.chain.as_slice()).unwrap_or(head.chain),
    }
}
