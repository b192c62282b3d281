//! What can go wrong with the store, in its own words.

use std::fmt;
use std::path::PathBuf;
use std::sync::Arc;

use super::seal::SealError;

/// The store could not do what was asked.
///
/// Cheap to clone: one failed commit answers everybody whose events were in it.
#[derive(Debug, Clone, thiserror::Error)]
pub enum StoreError {
    /// A second process, or a second opening in this one.
    #[error("{path} is open already: another Deckwatch is running on this box; stop it first")]
    InUse {
        /// The database.
        path: PathBuf,
    },
    /// A file or folder that cannot be used.
    #[error("cannot {doing} {path}")]
    File {
        /// What was tried, as a verb.
        doing: &'static str,
        /// On which file.
        path: PathBuf,
        /// Why not.
        #[source]
        cause: Arc<std::io::Error>,
    },
    /// The SQLite library may lose the write-ahead log.
    #[error(
        "SQLite {found} is too old: its write-ahead log can be lost; 3.51.3 or newer is needed"
    )]
    TooOld {
        /// The library's version.
        found: String,
    },
    /// The database does not keep a setting that durability rests on.
    #[error("the database answers {found} for {name} where {wanted} was asked")]
    Pragma {
        /// The setting.
        name: &'static str,
        /// What it is.
        found: String,
        /// What it must be.
        wanted: &'static str,
    },
    /// A newer program has changed the file in a way that this one would misread.
    #[error(
        "{path} was written by a newer Deckwatch (format {found}; this one knows {known}): \
         start the newer one again; nothing was changed"
    )]
    Newer {
        /// The database.
        path: PathBuf,
        /// Its format.
        found: i64,
        /// The last format that this program knows.
        known: i64,
    },
    /// Tables of an older program, where none may be changed.
    #[error(
        "{path} is of an older Deckwatch: start this one once, so that it is brought up to date"
    )]
    Older {
        /// The database.
        path: PathBuf,
    },
    /// A backup was not made.
    #[error("no backup was made: {why}")]
    Copy {
        /// Why not.
        why: String,
    },
    /// A backup was not restored.
    #[error("nothing was restored: {why}")]
    NotRestored {
        /// Why not.
        why: String,
    },
    /// The tables cannot be brought up to date.
    #[error("the tables cannot be brought up to date")]
    Migration(#[source] Arc<sqlx::migrate::MigrateError>),
    /// The disk is full; nothing was written.
    #[error("the disk is full: nothing was saved")]
    Full,
    /// The store takes nothing more, since what it says could not be relied on.
    #[error("not saving: {why}; restart the program")]
    Stopped {
        /// What happened.
        why: Arc<str>,
    },
    /// The database refused a statement.
    #[error("the database failed")]
    Database(#[source] Arc<sqlx::Error>),
    /// A stored row does not make sense.
    #[error("table {table}, column {column}, row {row}: {why}")]
    Row {
        /// The table.
        table: &'static str,
        /// The column.
        column: &'static str,
        /// Which row, by its key.
        row: String,
        /// What is wrong with it.
        why: String,
    },
    /// A value that cannot be put into words of JSON.
    #[error("the setting '{key}' cannot be written or read")]
    Setting {
        /// Its key.
        key: String,
        /// Why.
        #[source]
        cause: Arc<serde_json::Error>,
    },
    /// Something sealed cannot be opened, or nothing can be sealed.
    #[error(transparent)]
    Sealed(#[from] SealError),
    /// A PIN could not be hashed.
    #[error("the PIN could not be hashed: {0}")]
    Hashing(String),
}

/// What an error says of the medium.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Gravity {
    /// The statement is at fault, or another time will do.
    Passing,
    /// What the medium says can no longer be relied on.
    Unsound,
}

/// The primary result code of SQLite, if it is an error of SQLite's.
/// Source: sqlite.org/rescode.html, "the least significant 8 bits".
fn primary_code(error: &sqlx::Error) -> Option<i32> {
    let code = error.as_database_error()?.code()?;
    code.parse::<i32>().map(|code| code & 0xff).ok()
}

impl StoreError {
    /// Whether asking again cannot help before somebody mends something.
    #[must_use]
    pub fn is_permanent(&self) -> bool {
        match self {
            Self::InUse { .. } | Self::Full | Self::Copy { .. } => false,
            Self::File { .. }
            | Self::TooOld { .. }
            | Self::Pragma { .. }
            | Self::Newer { .. }
            | Self::Older { .. }
            | Self::NotRestored { .. }
            | Self::Migration(_)
            | Self::Stopped { .. }
            | Self::Row { .. }
            | Self::Setting { .. }
            | Self::Sealed(_)
            | Self::Hashing(_) => true,
            Self::Database(error) => gravity(error) == Gravity::Unsound,
        }
    }

    pub(super) fn row(
        table: &'static str,
        column: &'static str,
        row: &dyn fmt::Display,
        why: &dyn fmt::Display,
    ) -> Self {
        Self::Row {
            table,
            column,
            row: row.to_string(),
            why: why.to_string(),
        }
    }
}

/// Result codes (sqlite.org/rescode.html): 8 read-only, 10 I/O error, 11 malformed, 14 cannot
/// open, 26 not a database. A failed sync may have marked pages clean that were never written,
/// so a second try proves nothing.
pub(super) fn gravity(error: &sqlx::Error) -> Gravity {
    if matches!(error, sqlx::Error::WorkerCrashed | sqlx::Error::Io(_)) {
        return Gravity::Unsound;
    }
    match primary_code(error) {
        Some(8 | 10 | 11 | 14 | 26) => Gravity::Unsound,
        Some(_) | None => Gravity::Passing,
    }
}

/// 13: the disk is full.
fn is_full(error: &sqlx::Error) -> bool {
    primary_code(error) == Some(13)
}

impl From<sqlx::Error> for StoreError {
    fn from(error: sqlx::Error) -> Self {
        if is_full(&error) {
            Self::Full
        } else {
            Self::Database(Arc::new(error))
        }
    }
}

impl From<sqlx::migrate::MigrateError> for StoreError {
    fn from(error: sqlx::migrate::MigrateError) -> Self {
        let cause = std::error::Error::source(&error);
        let cause = cause.and_then(|cause| cause.downcast_ref::<sqlx::Error>());
        if cause.is_some_and(is_full) {
            Self::Full
        } else {
            Self::Migration(Arc::new(error))
        }
    }
}
