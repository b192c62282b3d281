//! Proving the log: every content against its hash, every hash against the chain, every number
//! against its neighbours, every signature and seal against what it was set over, and the database
//! against itself.

use sha2::{Digest, Sha256};

use super::{Head, Reckoned, Store, StoreError};
use crate::trip::TripId;
use crate::trip::event::{Event, Fact, Knows, SignedOver, read};

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
    /// Signatures and seals looked at.
    pub signed: u64,
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
    /// What stands under the entry's number of its device.
    witnessed_entry: Option<i64>,
    witnessed_chain: Option<Vec<u8>>,
    /// It came with a log from elsewhere.
    relayed: bool,
}

/// A signature or a seal, to be proven when the whole log is read.
struct Signed {
    entry: i64,
    what: String,
    over: SignedOver,
    knows: Knows,
    relayed: bool,
}

impl Signed {
    fn of(event: &Event, kept: &Kept) -> Option<Self> {
        #[expect(
            clippy::wildcard_enum_match_arm,
            reason = "these two are set over the log; no other kind is"
        )]
        let (what, over) = match &event.fact {
            Fact::ReportSigned(signed) => ("signature", &signed.over),
            Fact::RecordSealed(sealed) => ("seal", &sealed.over),
            _ => return None,
        };
        Some(Self {
            entry: kept.entry,
            what: format!("the {what} of {}", event.by.name.escape_debug()),
            over: over.clone(),
            knows: event.knows.clone(),
            relayed: kept.relayed,
        })
    }
}

/// A trip as it is being proven.
struct Proving {
    /// On the chain as it is written, so that one flaw is told once.
    head: Head,
    /// On the contents as they are, whatever is written beside them.
    reckoned: Reckoned,
    signed: Vec<Signed>,
}

impl Proving {
    fn start(trip: TripId) -> Self {
        Self {
            head: Head::start(trip),
            reckoned: Reckoned::start(trip),
            signed: Vec::new(),
        }
    }

    /// Tells every signature and seal that does not hold over the log as it is.
    fn prove_signed(&self, trip: &str, verdict: &mut Verdict) {
        for one in &self.signed {
            verdict.signed += 1;
            if let Err(broken) = self.reckoned.holds(&one.over, &one.knows, one.relayed) {
                let over = format!("over entries 1 to {}", one.over.entry);
                verdict.add(
                    trip,
                    one.entry,
                    format!("{} {over} does not hold: it {broken}", one.what),
                );
            }
        }
    }
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
            "SELECT DISTINCT CAST(trip AS TEXT) FROM entry WHERE trip NOT IN (SELECT nth FROM trip)",
        )
        .fetch_all(self.readers())
        .await?;
        for nth in orphans {
            let what = format!("has entries of a trip in no list, the {nth} of this file");
            verdict.add("", 0, what);
        }
        let trips: Vec<(String, i64)> = sqlx::query_as("SELECT id, nth FROM trip ORDER BY id")
            .fetch_all(self.readers())
            .await?;
        for (trip, nth) in trips {
            verdict.trips += 1;
            self.verify_trip(&trip, nth, &mut verdict).await?;
        }
        verdict.flaws.extend(self.lost().await?);
        Ok(verdict)
    }

    async fn verify_trip(
        &self,
        trip: &str,
        nth: i64,
        verdict: &mut Verdict,
    ) -> Result<(), StoreError> {
        let Ok(id) = trip.parse() else {
            verdict.add(trip, 0, "has an id that is none");
            return Ok(());
        };
        // The end first: what is appended meanwhile comes after it and is not looked at.
        let (last_entry, last_lost): (i64, i64) = sqlx::query_as(
            "SELECT coalesce((SELECT max(line) & 4294967295 FROM entry \
             WHERE line BETWEEN $1 << 32 AND ($1 << 32) + 4294967295), 0), \
             coalesce((SELECT max(entry) FROM lost WHERE trip = $1), 0)",
        )
        .bind(nth)
        .fetch_one(self.readers())
        .await?;
        if last_entry == 0 && last_lost == 0 {
            verdict.add(trip, 0, "is listed and has no entries");
        }
        let mut proving = Proving::start(id);
        let mut expected = 1;
        while expected <= last_entry {
            let page: Vec<Kept> = sqlx::query_as(
                "SELECT entry.entry, event, entry.device, entry.device_seq, content, hash, \
                 entry.chain, number.entry AS witnessed_entry, number.chain AS witnessed_chain, \
                 EXISTS (SELECT 1 FROM relayed WHERE relayed.line = entry.line) AS relayed \
                 FROM entry LEFT JOIN number ON number.trip = $1 \
                 AND number.device = entry.device AND number.device_seq = entry.device_seq \
                 WHERE line >= ($1 << 32) + $2 AND line <= ($1 << 32) + $3 ORDER BY line LIMIT $4",
            )
            .bind(nth)
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
                verify_entry(trip, &mut proving, &kept, verdict);
                expected = kept.entry + 1;
            }
            expected = expected.max(end + 1);
        }
        proving.prove_signed(trip, verdict);
        // Cut off since the store was opened; what was found then is on record as lost.
        let alone: Vec<i64> = sqlx::query_scalar(
            "SELECT entry FROM number WHERE trip = $1 AND NOT EXISTS \
             (SELECT 1 FROM entry WHERE line = ($1 << 32) + number.entry) ORDER BY entry",
        )
        .bind(nth)
        .fetch_all(self.readers())
        .await?;
        for entry in alone {
            verdict.add(trip, entry, "is missing, and its number stands");
        }
        Ok(())
    }
}

fn verify_entry(trip: &str, proving: &mut Proving, kept: &Kept, verdict: &mut Verdict) {
    let head = proving.head;
    let digest: [u8; 32] = Sha256::digest(kept.content.as_bytes()).into();
    if digest.as_slice() != kept.hash.as_slice() {
        verdict.add(trip, kept.entry, "has content that is not of its hash");
    }
    match <[u8; 32]>::try_from(kept.hash.as_slice()) {
        Ok(hash) if head.then(&hash).chain.as_slice() == kept.chain.as_slice() => {}
        Ok(_) | Err(_) => verdict.add(trip, kept.entry, "is not of its chain"),
    }
    let witnessed = (kept.witnessed_entry, kept.witnessed_chain.as_deref());
    if witnessed != (Some(kept.entry), Some(kept.chain.as_slice())) {
        let what = "is not what stands under its number of its device";
        verdict.add(trip, kept.entry, what);
    }
    match read(kept.content.as_bytes()) {
        Err(faults) => {
            proving.reckoned.add(digest, None);
            verdict.add(trip, kept.entry, format!("cannot be read: {faults}"));
        }
        Ok((event, _)) => {
            let of = (event.device, event.device_seq);
            proving.reckoned.add(digest, Some(of));
            proving.signed.extend(Signed::of(&event, kept));
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
    proving.head = Head {
        entry: head.entry + 1,
        chain: <[u8; 32]>::try_from(kept.chain.as_slice()).unwrap_or(head.chain),
    };
}
