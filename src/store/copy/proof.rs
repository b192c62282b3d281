//! Proofs: what a store holds, as hashes that another store can be held against.

use std::collections::BTreeMap;

use jiff::Timestamp;
use sha2::{Digest, Sha256};

use super::super::row::RowOf;
use super::super::{Store, StoreError};
use crate::trip::TripId;
use crate::trip::event::{APP_VERSION, digest};
use crate::trip::state::fold;

/// What a store holds of one trip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TripProof {
    /// The last entry.
    pub entry: u64,
    /// The events, as [`digest`] has them.
    pub events: [u8; 32],
    /// The state they fold to, receipts included; zeros where an entry cannot be read.
    pub state: [u8; 32],
}

/// What a store holds of all its trips.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Proof(pub BTreeMap<TripId, TripProof>);

/// A proof as it stands in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Written {
    pub(super) proof: Proof,
    pub(super) program: String,
    pub(super) made_at: Timestamp,
}

impl Proof {
    /// One hash for all, in hexadecimal digits.
    #[must_use]
    pub fn hash(&self) -> String {
        let digits = self.digest().map(|byte| format!("{byte:02x}"));
        digits.concat()
    }

    /// Entries in all.
    #[must_use]
    pub fn entries(&self) -> u64 {
        self.0.values().map(|trip| trip.entry).sum()
    }

    fn digest(&self) -> [u8; 32] {
        let mut hash = Sha256::new();
        for (trip, proof) in &self.0 {
            hash.update(trip.uuid().as_bytes());
            hash.update(proof.entry.to_be_bytes());
            hash.update(proof.events);
            hash.update(proof.state);
        }
        hash.finalize().into()
    }
}

impl Store {
    /// What this store holds of its trips. With `ends`: only of these, each up to its entry.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn proof(&self, ends: Option<&Proof>) -> Result<Proof, StoreError> {
        let mut proof = BTreeMap::new();
        let wanted: Vec<(TripId, u64)> = if let Some(ends) = ends {
            ends.0.iter().map(|(trip, p)| (*trip, p.entry)).collect()
        } else {
            let trips = self.trips().await?;
            trips.iter().map(|row| (row.trip, u64::MAX)).collect()
        };
        for (trip, end) in wanted {
            proof.insert(trip, self.trip_proof(trip, end).await?);
        }
        Ok(Proof(proof))
    }

    async fn trip_proof(&self, trip: TripId, end: u64) -> Result<TripProof, StoreError> {
        let mut log = self.log(trip, 0).await?;
        log.retain(|kept| kept.receipt.entry <= end);
        let last = log.last().map_or(0, |kept| kept.receipt.entry);
        let events = digest(
            log.iter()
                .map(|kept| Sha256::digest(kept.content.as_bytes()).into()),
        );
        let state = match self.entries(trip, 0).await {
            Ok(mut entries) => {
                entries.retain(|entry| entry.receipt.entry <= last);
                let hashed = tokio::task::spawn_blocking(move || {
                    // Every field in a fixed order: the state has ordered maps only.
                    Sha256::digest(format!("{:?}", fold(trip, &entries))).into()
                });
                hashed.await.map_err(|cause| StoreError::Copy {
                    why: cause.to_string(),
                })?
            }
            // What cannot be read is told by `verify`; here it must only be the same.
            Err(StoreError::Row { .. }) => [0; 32],
            Err(other) => return Err(other),
        };
        Ok(TripProof {
            entry: last,
            events,
            state,
        })
    }

    /// Writes a proof into this file, in place of the one before.
    pub(super) async fn write_proof(&self, proof: &Proof) -> Result<(), StoreError> {
        let made_at = self.clock().now().as_millisecond();
        let all = TripProof {
            entry: proof.entries(),
            events: proof.digest(),
            state: proof.digest(),
        };
        let rows = proof
            .0
            .iter()
            .map(|(trip, proof)| (trip.to_string(), *proof))
            .chain([(String::new(), all)]);
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        sqlx::query("DELETE FROM proof").execute(write.on()).await?;
        for (trip, proof) in rows {
            let row = RowOf {
                table: "proof",
                key: &trip,
            };
            let entry: i64 = row.figure("entry", proof.entry)?;
            sqlx::query(
                "INSERT INTO proof (trip, entry, events, state, program, made_at) \
                 VALUES ($1, $2, $3, $4, $5, $6)",
            )
            .bind(trip.as_str())
            .bind(entry)
            .bind(proof.events.as_slice())
            .bind(proof.state.as_slice())
            .bind(APP_VERSION)
            .bind(made_at)
            .execute(write.on())
            .await?;
        }
        write.commit(0).await
    }

    /// The proof in this file; none in one that is no backup and comes from none.
    pub(super) async fn written_proof(&self) -> Result<Option<Written>, StoreError> {
        type Row = (String, i64, Vec<u8>, Vec<u8>, String, i64);
        let rows: Vec<Row> = sqlx::query_as(
            "SELECT trip, entry, events, state, program, made_at FROM proof ORDER BY trip",
        )
        .fetch_all(self.readers())
        .await?;
        let mut written = None;
        let mut proof = BTreeMap::new();
        for (trip, entry, events, state, program, made_at) in rows {
            let row = RowOf {
                table: "proof",
                key: &trip,
            };
            if trip.is_empty() {
                written = Some((program, row.instant("made_at", made_at)?));
                continue;
            }
            let held = TripProof {
                entry: row.figure("entry", entry)?,
                events: row.digest("events", &events)?,
                state: row.digest("state", &state)?,
            };
            proof.insert(row.parse("trip", &trip)?, held);
        }
        Ok(written.map(|(program, made_at)| Written {
            proof: Proof(proof),
            program,
            made_at,
        }))
    }
}
