//! The store: everything the box keeps, in one SQLite file with one writer.
//!
//! What is acknowledged is on the medium. After an error of the medium nothing more is
//! acknowledged: the program ends and recovers from the write-ahead log at the next start.

pub mod clock;
pub mod copy;
pub mod crew;
mod error;
mod file;
mod log;
mod open;
mod plant;
pub mod register;
mod row;
mod seal;
mod signed;
mod space;
mod verify;
mod writer;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use sqlx::SqlitePool;
use tokio::sync::{broadcast, mpsc, watch};

use crate::clock::Clock;

pub use error::StoreError;
pub use log::{
    AppendError, Appended, Bringer, Clash, FormError, Head, Holds, Incoming, LogEntry, News,
    Numbers, Place, RefillRow, Refilled, Refused, Taken, TripNote, TripRow, read_entries,
};
pub use seal::SealError;
pub use signed::{Broken, Reckoned};
pub use space::{RESERVE, Space};
pub use verify::{Flaw, Verdict};

use writer::{Turn, Writer};

/// The box's store. Cheap to clone; every clone is the same store.
#[derive(Debug, Clone)]
pub struct Store(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    clock: Clock,
    path: PathBuf,
    readers: SqlitePool,
    writer: Arc<Writer>,
    jobs: mpsc::Sender<log::Job>,
    news: broadcast::Sender<News>,
    health: writer::Health,
    pins: crew::PinWork,
}

impl Store {
    /// Opens the store in the folder `place`, or in the file `place` if that has an
    /// extension, bringing its tables up to date.
    ///
    /// # Errors
    /// [`StoreError::InUse`] while another has it open; everything else that keeps the store
    /// from being relied on.
    pub async fn open(place: &Path, clock: Clock) -> Result<Self, StoreError> {
        open::open(place, clock).await
    }

    /// The same for a copy that is only being proven: contacts stay as they are, since the key
    /// file that seals them belongs beside the database that the copy is to be, not here.
    async fn open_copy(place: &Path, clock: Clock) -> Result<Self, StoreError> {
        open::open_copy(place, clock).await
    }

    /// Opens the store in `place`, which another program may have open, to read and to back it
    /// up: whatever would write is refused.
    ///
    /// # Errors
    /// [`StoreError`]; [`StoreError::Older`] for a file whose tables are not up to date.
    pub async fn open_to_read(place: &Path, clock: Clock) -> Result<Self, StoreError> {
        open::open_to_read(place, clock).await
    }

    /// Ends the store: what is under way is finished, the write-ahead log folded in, the lock
    /// given free. Whatever is asked of it afterwards is refused.
    ///
    /// # Errors
    /// If the last checkpoint fails; nothing acknowledged is lost by that.
    pub async fn close(&self) -> Result<(), StoreError> {
        self.0.readers.close().await;
        self.0.writer.close().await
    }

    /// The file.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.0.path
    }

    /// The clock it stamps with.
    #[must_use]
    pub fn clock(&self) -> &Clock {
        &self.0.clock
    }

    /// Whether events can be acknowledged.
    ///
    /// # Errors
    /// [`StoreError::Stopped`] with the reason.
    pub fn check(&self) -> Result<(), StoreError> {
        self.0.health.check()
    }

    /// Tells when and why the store stops; the program should end then and start anew.
    #[must_use]
    pub fn health(&self) -> watch::Receiver<Option<Arc<str>>> {
        self.0.health.watch()
    }

    /// Tells of every change of the room that is left on the disk.
    #[must_use]
    pub fn space(&self) -> watch::Receiver<Space> {
        self.0.health.room().watch()
    }

    /// Looks how much room the disk has, and makes the reserve anew where it was given up and
    /// there is room. To be called now and then by whoever serves.
    pub async fn look_after_space(&self) {
        let health = self.0.health.clone();
        let looked = tokio::task::spawn_blocking(move || health.room().look());
        if let Err(cause) = looked.await {
            tracing::error!(%cause, "the room on the disk could not be looked at");
        }
    }

    /// Whether a store that stopped would do better when opened anew: its file is the one it
    /// was, and its folder takes and keeps a file.
    ///
    /// # Errors
    /// [`StoreError`] with what stands against it. Somebody must see to that first.
    pub async fn would_open_anew(&self) -> Result<(), StoreError> {
        self.0.writer.is_same_file()?;
        let path = self.0.path.clone();
        let tried = tokio::task::spawn_blocking(move || space::probe(&path));
        match tried.await {
            Ok(told) => told,
            Err(cause) => Err(StoreError::Stopped {
                why: cause.to_string().into(),
            }),
        }
    }

    /// The settings durability rests on, as the writing connection answers: for the boot
    /// report and tests.
    ///
    /// # Errors
    /// If the database does not answer as it must.
    pub async fn durability(&self) -> Result<Durability, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let read = open::read_back(write.on()).await;
        write.commit(0).await?;
        read
    }

    async fn turn(&self) -> Result<Turn<'_>, StoreError> {
        self.0.writer.turn().await
    }

    fn readers(&self) -> &SqlitePool {
        &self.0.readers
    }
}

/// What the durability of an acknowledged event rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Durability {
    /// `wal`.
    pub journal_mode: String,
    /// 2: every commit is synced.
    pub synchronous: i64,
    /// 1: references are enforced.
    pub foreign_keys: i64,
    /// 0: the writer folds the log in, and sees the errors.
    pub wal_autocheckpoint: i64,
    /// Version of the SQLite library.
    pub library: String,
}
