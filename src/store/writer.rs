//! The one writer: a single connection behind a lock, explicit checkpoints, and the rule that
//! after an error of the medium nothing is acknowledged any more.

use std::fs::File;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use sqlx::sqlite::SqliteConnection;
use sqlx::{Connection, Sqlite, Transaction};
use tokio::sync::{Mutex, MutexGuard, watch};

use super::error::{Gravity, StoreError, gravity};
use super::file::Identity;
use super::space::Room;

/// Bytes of write-ahead log after which it is folded into the database.
const CHECKPOINT_AT: u64 = 4 << 20;
/// What a commit writes: about four to five pages of 4 KiB.
const COMMIT_BYTES: u64 = 5 * 4096;

/// Why nothing is acknowledged, if so, and whether there is room.
#[derive(Debug, Clone)]
pub(super) struct Health(Arc<Told>);

#[derive(Debug)]
struct Told {
    stopped: watch::Sender<Option<Arc<str>>>,
    room: Room,
}

/// Why a store that was closed takes nothing more.
const CLOSED: &str = "the store is closed";

impl Health {
    pub(super) fn sound(room: Room) -> Self {
        let (stopped, _) = watch::channel(None);
        Self(Arc::new(Told { stopped, room }))
    }

    pub(super) fn room(&self) -> &Room {
        &self.0.room
    }

    pub(super) fn check(&self) -> Result<(), StoreError> {
        match self.0.stopped.borrow().as_ref() {
            None => Ok(()),
            Some(why) => Err(StoreError::Stopped { why: why.clone() }),
        }
    }

    pub(super) fn watch(&self) -> watch::Receiver<Option<Arc<str>>> {
        self.0.stopped.subscribe()
    }

    /// Takes nothing more, in good order.
    fn close(&self) {
        self.0.stopped.send_if_modified(|stopped| {
            let first = stopped.is_none();
            if first {
                *stopped = Some(CLOSED.into());
            }
            first
        });
    }

    /// The first cause stands; what follows from it does not replace it.
    pub(super) fn stop(&self, why: &str) {
        self.0.stopped.send_if_modified(|stopped| {
            let first = stopped.is_none();
            if first {
                tracing::error!(why, "the store takes nothing more");
                *stopped = Some(why.into());
            }
            first
        });
    }

    /// Takes note of an error of the database.
    pub(super) fn note(&self, doing: &str, error: sqlx::Error) -> StoreError {
        if gravity(&error) == Gravity::Unsound {
            self.stop(&format!("{doing} failed: {error}"));
        }
        let error = error.into();
        self.note_room(&error);
        error
    }

    fn note_room(&self, error: &StoreError) {
        if matches!(error, StoreError::Full) {
            self.room().is_full();
        }
    }

    fn note_store(&self, doing: &str, error: &StoreError) {
        if let StoreError::Database(cause) = error
            && gravity(cause) == Gravity::Unsound
        {
            self.stop(&format!("{doing} failed: {cause}"));
        }
        self.note_room(error);
    }
}

/// The connection that writes, the lock file that keeps others out, and the file both stand for.
#[derive(Debug)]
pub(super) struct Writer {
    connection: Mutex<Option<SqliteConnection>>,
    health: Health,
    path: PathBuf,
    identity: Identity,
    unfolded: AtomicU64,
    lock: Mutex<Option<File>>,
}

impl Writer {
    pub(super) fn new(
        connection: Option<SqliteConnection>,
        health: Health,
        path: PathBuf,
        identity: Identity,
        lock: Option<File>,
    ) -> Self {
        Self {
            connection: Mutex::new(connection),
            health,
            path,
            identity,
            unfolded: AtomicU64::new(0),
            lock: Mutex::new(lock),
        }
    }

    /// The writer's turn. Fails when the store has stopped or its file is no longer there.
    pub(super) async fn turn(&self) -> Result<Turn<'_>, StoreError> {
        let guard = self.connection.lock().await;
        self.health.check()?;
        if let Err(why) = self.identity.check(&self.path) {
            self.health.stop(&why);
            self.health.check()?;
        }
        if guard.is_none() {
            return Err(closed());
        }
        let mut turn = Turn {
            guard,
            writer: self,
        };
        turn.settle().await?;
        turn.tidy().await?;
        Ok(turn)
    }

    /// Whether the path still leads to the file that was opened.
    pub(super) fn is_same_file(&self) -> Result<(), StoreError> {
        let same = self.identity.check(&self.path);
        same.map_err(|why| StoreError::Stopped { why: why.into() })
    }

    fn count(&self, bytes: u64) {
        self.health.room().was_written();
        // Content stands once in a table's page, and its keys in the indexes.
        let written = COMMIT_BYTES.saturating_add(bytes.saturating_mul(2));
        self.unfolded.fetch_add(written, Ordering::Relaxed);
    }

    /// Folds the log in for the last time and lets the file go.
    pub(super) async fn close(&self) -> Result<(), StoreError> {
        let mut guard = self.connection.lock().await;
        let Some(mut connection) = guard.take() else {
            return Ok(());
        };
        // After an error of the medium a checkpoint could spoil the database: recovery from
        // the log at the next start is the safe way.
        let folded = match self.health.check() {
            Ok(()) => self.fold_whole(&mut connection).await,
            Err(stopped) => Err(stopped),
        };
        let shut = connection.close().await;
        self.health.close();
        drop(self.lock.lock().await.take());
        folded?;
        shut.map_err(|error| self.health.note("closing the database", error))
    }

    /// The last checkpoint; it may take the reserve.
    async fn fold_whole(&self, connection: &mut SqliteConnection) -> Result<(), StoreError> {
        match checkpoint(connection, Fold::Whole).await {
            Err(StoreError::Full) => {
                self.health.room().give_up();
                checkpoint(connection, Fold::Whole).await
            }
            folded => folded,
        }
    }
}

fn closed() -> StoreError {
    StoreError::Stopped { why: CLOSED.into() }
}

/// The writer's turn: nobody else writes until it is dropped.
#[derive(Debug)]
pub(super) struct Turn<'w> {
    guard: MutexGuard<'w, Option<SqliteConnection>>,
    writer: &'w Writer,
}

impl Turn<'_> {
    /// Begins a transaction that writes; it is undone unless it is committed.
    pub(super) async fn begin(&mut self) -> Result<Write<'_>, StoreError> {
        let connection = self.guard.as_mut().ok_or_else(closed)?;
        let begun = connection.begin_with("BEGIN IMMEDIATE").await;
        let tx = begun.map_err(|error| self.writer.health.note("beginning", error))?;
        Ok(Write {
            tx,
            writer: self.writer,
        })
    }

    /// The connection outside a transaction: for reading, and for a single statement, which
    /// SQLite commits by itself. Who writes says so by [`Turn::wrote`].
    pub(super) fn on(&mut self) -> Result<&mut SqliteConnection, StoreError> {
        self.guard.as_mut().ok_or_else(closed)
    }

    /// Counts `bytes` of content that a single statement committed.
    pub(super) fn wrote(&self, bytes: u64) {
        self.writer.count(bytes);
    }

    /// Takes note of what went wrong outside a transaction.
    pub(super) fn note(&self, error: StoreError) -> StoreError {
        self.writer.health.note_store("writing", &error);
        error
    }

    /// Makes sure that no transaction is under way. SQLite may have undone one by itself when the
    /// disk was full (`sqlite.org/lang_transaction.html`), which the driver does not notice: it
    /// would take the next for a part of that one. Then another connection takes over.
    async fn settle(&mut self) -> Result<(), StoreError> {
        let connection = self.guard.as_mut().ok_or_else(closed)?;
        if !connection.is_in_transaction() {
            return Ok(());
        }
        // One that was dropped is undone before this is answered.
        let answered = connection.ping().await;
        answered.map_err(|error| self.writer.health.note("asking the database", error))?;
        if !connection.is_in_transaction() {
            return Ok(());
        }
        let fresh = match super::open::connect(&self.writer.path).await {
            Ok(fresh) => fresh,
            Err(error) => {
                self.writer.health.note_store("connecting anew", &error);
                return Err(error);
            }
        };
        // Only now, so that the last one never leaves and folds in what nobody hears of.
        if let Some(old) = self.guard.replace(fresh)
            && let Err(cause) = old.close().await
        {
            tracing::warn!(%cause, "the connection before was not closed in order");
        }
        Ok(())
    }

    /// Folds the write-ahead log into the database when it has grown long.
    pub(super) async fn tidy(&mut self) -> Result<(), StoreError> {
        if self.writer.unfolded.load(Ordering::Relaxed) < CHECKPOINT_AT {
            return Ok(());
        }
        let connection = self.guard.as_mut().ok_or_else(closed)?;
        let folded = checkpoint(connection, Fold::Passing).await;
        match &folded {
            // Nothing is lost by that: the log has it all. Tried again after as much more.
            Err(StoreError::Full) => self.writer.health.room().is_full(),
            Err(error) => {
                let why = format!("folding the write-ahead log in failed: {error:?}");
                self.writer.health.stop(&why);
                return folded;
            }
            Ok(()) => {}
        }
        self.writer.unfolded.store(0, Ordering::Relaxed);
        Ok(())
    }
}

/// A transaction of the writer.
#[derive(Debug)]
pub(super) struct Write<'t> {
    tx: Transaction<'t, Sqlite>,
    writer: &'t Writer,
}

impl Write<'_> {
    /// The connection inside the transaction.
    pub(super) fn on(&mut self) -> &mut SqliteConnection {
        &mut self.tx
    }

    /// Commits `bytes` of content; when this returns they are on the medium.
    pub(super) async fn commit(self, bytes: u64) -> Result<(), StoreError> {
        self.tx
            .commit()
            .await
            .map_err(|error| self.writer.health.note("committing", error))?;
        self.writer.count(bytes);
        Ok(())
    }

    /// Undoes everything, taking note of what went wrong.
    pub(super) async fn give_up(self, error: StoreError) -> StoreError {
        self.writer.health.note_store("writing", &error);
        match self.tx.rollback().await {
            Ok(()) => error,
            Err(second) => {
                self.writer.health.note("undoing", second);
                error
            }
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fold {
    /// As much as the readers allow.
    Passing,
    /// All of it, and the log emptied.
    Whole,
}

/// An explicit checkpoint: SQLite's automatic one keeps its errors to itself.
pub(super) async fn checkpoint(
    connection: &mut SqliteConnection,
    fold: Fold,
) -> Result<(), StoreError> {
    let statement = match fold {
        Fold::Passing => "PRAGMA wal_checkpoint(PASSIVE)",
        Fold::Whole => "PRAGMA wal_checkpoint(TRUNCATE)",
    };
    let (busy, in_log, folded): (i64, i64, i64) =
        sqlx::query_as(statement).fetch_one(connection).await?;
    tracing::debug!(busy, in_log, folded, "write-ahead log folded in");
    Ok(())
}
