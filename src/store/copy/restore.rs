//! The way back: a backup becomes the database of a folder, after it was proven once more. What
//! was there stays as it was until the very last step, and is kept aside then.

use std::fs::{File, OpenOptions};
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use sqlx::Connection as _;

use super::super::file::{database_in, lock_beside};
use super::super::seal;
use super::super::{Store, StoreError};
use super::backup::remove;
use super::names::name_at;
use super::{Proof, failed, off, sync};
use crate::clock::Clock;
use crate::trip::event::APP_VERSION;

/// What a restore came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Restored {
    /// The database now.
    pub path: PathBuf,
    /// When the backup was made.
    pub made_at: Timestamp,
    /// What it holds.
    pub proof: Proof,
    /// Whether its states could be held against its proof: only by the program of the version
    /// that made it. Its events always are.
    pub states_compared: bool,
    /// The database that was there before, if one was.
    pub aside: Option<PathBuf>,
}

fn refused(why: impl Into<String>) -> StoreError {
    StoreError::NotRestored { why: why.into() }
}

/// Makes the backup `from` the database in the folder `place`.
///
/// The backup is copied first and the copy proven: the database against itself, every hash and
/// chain, and its trips against the proof that was written when it was made.
///
/// # Errors
/// [`StoreError::NotRestored`] with the reason, [`StoreError::InUse`] while a program works on
/// the folder; then all is as it was.
pub async fn restore(
    from: &Path,
    place: &Path,
    replace: bool,
    clock: &Clock,
) -> Result<Restored, StoreError> {
    let source = open_regular(from)?;
    let path = database_in(place)?;
    let lock = lock_beside(&path)?;
    let is_there = is_there(&path);
    if is_there && !replace {
        return Err(refused(format!(
            "{} is there already; --replace puts it aside",
            path.display()
        )));
    }
    let making = path.with_extension("restoring");
    let copied = {
        let making = making.clone();
        off(move || copy(source, &making)).await
    };
    let proven = match copied {
        Ok(()) => prove(&making.join("deckwatch.db"), clock).await,
        Err(error) => Err(error),
    };
    let installed = match proven {
        Ok(proven) => match put_in_place(&making, &path, is_there, clock).await {
            Ok(aside) => Ok((proven, aside)),
            Err(error) => Err(error),
        },
        Err(error) => Err(error),
    };
    remove(&making)?;
    drop(lock);
    let (proven, aside) = installed?;
    Ok(Restored {
        path,
        made_at: proven.made_at,
        proof: proven.proof,
        states_compared: proven.states_compared,
        aside,
    })
}

/// Makes the key in the file `from` that of the database in the folder `place`, so that contacts
/// in a backup of another box can be opened here. A different key that was there is kept aside
/// under the name that is returned.
///
/// # Errors
/// [`StoreError::Sealed`] if `from` is no key file, [`StoreError::InUse`] while a program works on
/// the folder; then all is as it was.
pub async fn put_key(
    from: &Path,
    place: &Path,
    clock: &Clock,
) -> Result<Option<PathBuf>, StoreError> {
    let path = database_in(place)?;
    let lock = lock_beside(&path)?;
    let name = format!("before-{}", name_at(clock.now()));
    let aside = path.with_file_name(name).with_extension("key");
    let from = from.to_owned();
    let put = off(move || Ok(seal::put_key(&from, &path, &aside)?)).await;
    drop(lock);
    put
}

/// The files that make up a database.
fn parts(path: &Path) -> [PathBuf; 4] {
    ["", "-wal", "-shm", "-journal"].map(|end| {
        let mut name = path.as_os_str().to_owned();
        name.push(end);
        PathBuf::from(name)
    })
}

fn is_there(path: &Path) -> bool {
    let [database, log, _, journal] = parts(path);
    [database, log, journal]
        .iter()
        .any(|part| part.symlink_metadata().is_ok())
}

/// Opens a plain file and nothing else: no link, folder, pipe or device.
fn open_regular(from: &Path) -> Result<File, StoreError> {
    let named = std::fs::symlink_metadata(from);
    let named = named.map_err(|cause| failed("read", from, cause))?;
    if !named.is_file() {
        let why = format!(
            "{} is no plain file: name the backup itself",
            from.display()
        );
        return Err(refused(why));
    }
    let mut options = OpenOptions::new();
    options.read(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt as _;
        // Whatever was put there since: links are not followed, pipes not waited for.
        let flags = rustix::fs::OFlags::NOFOLLOW | rustix::fs::OFlags::NONBLOCK;
        options.custom_flags(flags.bits().cast_signed());
    }
    let file = options
        .open(from)
        .map_err(|cause| failed("read", from, cause))?;
    let seen = file
        .metadata()
        .map_err(|cause| failed("read", from, cause))?;
    if seen.is_file() {
        Ok(file)
    } else {
        Err(refused(format!("{} is no plain file", from.display())))
    }
}

fn copy(mut source: File, making: &Path) -> Result<(), StoreError> {
    remove(making)?;
    std::fs::create_dir(making).map_err(|cause| failed("make the folder", making, cause))?;
    let path = making.join("deckwatch.db");
    let copied = File::create_new(&path).and_then(|mut copy| {
        std::io::copy(&mut source, &mut copy)?;
        copy.sync_all()
    });
    copied.map_err(|cause| failed("write", &path, cause))
}

struct Proven {
    proof: Proof,
    made_at: Timestamp,
    states_compared: bool,
}

async fn prove(path: &Path, clock: &Clock) -> Result<Proven, StoreError> {
    has_backups_name_for_it(path)?;
    // Nothing of the file is believed before its schema is.
    let strange = strange_parts(path).await?;
    if let Some(name) = strange.first() {
        return Err(refused(format!("it holds '{name}', which no backup has")));
    }
    let store = match Store::open_copy(path, clock.clone()).await {
        Ok(store) => store,
        Err(error @ StoreError::Newer { .. }) => return Err(error),
        Err(error) => {
            tracing::error!(%error, "the backup cannot be opened");
            return Err(refused("it is no backup of Deckwatch, or it is damaged"));
        }
    };
    let proven = prove_open(&store).await;
    let closed = store.close().await;
    let proven = proven?;
    closed?;
    Ok(proven)
}

/// The first bytes of every database. Source: sqlite.org/fileformat.html, 1.3.
fn has_backups_name_for_it(path: &Path) -> Result<(), StoreError> {
    use std::io::Read as _;
    let mut start = [0; 16];
    let read = File::open(path).and_then(|mut file| file.read_exact(&mut start));
    if read.is_ok() && &start == b"SQLite format 3\0" {
        Ok(())
    } else {
        Err(refused("it is no backup of Deckwatch"))
    }
}

/// Triggers and views that no file of this program has: they would act when it is written to.
async fn strange_parts(path: &Path) -> Result<Vec<String>, StoreError> {
    let mut connection = super::super::open::connect_to_read(path)
        .await
        .map_err(|error| {
            tracing::error!(%error, "the backup cannot be read");
            refused("it is no backup of Deckwatch, or it is damaged")
        })?;
    let names: Result<Vec<String>, _> =
        sqlx::query_scalar("SELECT name FROM sqlite_schema WHERE type IN ('trigger', 'view')")
            .fetch_all(&mut connection)
            .await;
    connection.close().await?;
    let names = names.map_err(|error| {
        tracing::error!(%error, "the backup cannot be read");
        refused("it is no backup of Deckwatch, or it is damaged")
    })?;
    Ok(names
        .into_iter()
        .filter(|name| !super::super::open::is_of_a_migration(name))
        .collect())
}

async fn prove_open(store: &Store) -> Result<Proven, StoreError> {
    let Some(written) = store.written_proof().await? else {
        return Err(refused(
            "it has no proof of a backup: only what `deckwatch backup` made is restored",
        ));
    };
    let verdict = store.verify().await?;
    // What the box had lost already when the backup was made is on record and stays so.
    let known = store.lost().await?;
    if let Some(flaw) = verdict.flaws.iter().find(|flaw| !known.contains(flaw)) {
        let why = format!("entry {} of trip {} {}", flaw.entry, flaw.trip, flaw.what);
        return Err(refused(format!("it is damaged: {why}")));
    }
    let held = store.proof(None).await?;
    let states_compared = written.program == APP_VERSION;
    let is_same = held.0.len() == written.proof.0.len()
        && held.0.iter().zip(&written.proof.0).all(|(a, b)| {
            a.0 == b.0
                && (a.1.entry, a.1.events) == (b.1.entry, b.1.events)
                && (!states_compared || a.1.state == b.1.state)
        });
    if !is_same {
        return Err(refused(
            "it is not what it was proven to be when it was made",
        ));
    }
    Ok(Proven {
        proof: held,
        made_at: written.made_at,
        states_compared,
    })
}

/// The steps that a power cut may come between: before the last rename the old database is what
/// opens, after it the new one.
async fn put_in_place(
    making: &Path,
    path: &Path,
    is_there: bool,
    clock: &Clock,
) -> Result<Option<PathBuf>, StoreError> {
    if is_there {
        fold_old(path).await?;
    }
    let (new, path) = (making.join("deckwatch.db"), path.to_owned());
    let aside = is_there.then(|| path.with_file_name(format!("before-{}", name_at(clock.now()))));
    off(move || {
        let folder = path.parent().filter(|folder| *folder != Path::new(""));
        let folder = folder.unwrap_or_else(|| Path::new(".")).to_owned();
        sync(&new)?;
        if let Some(aside) = &aside {
            // A second name for it, so that it is never without one.
            std::fs::hard_link(&path, aside)
                .map_err(|cause| failed("put aside as", aside, cause))?;
            for part in parts(&path).iter().skip(1) {
                match std::fs::remove_file(part) {
                    Err(cause) if cause.kind() != std::io::ErrorKind::NotFound => {
                        return Err(failed("remove", part, cause));
                    }
                    Ok(()) | Err(_) => {}
                }
            }
            sync(&folder)?;
        }
        std::fs::rename(&new, &path).map_err(|cause| failed("put in place", &path, cause))?;
        sync(&folder)?;
        Ok(aside)
    })
    .await
}

/// Folds the old database's write-ahead log in, so that the file alone is all of it: its log
/// must never be taken for the new one's.
async fn fold_old(path: &Path) -> Result<(), StoreError> {
    let cannot = |cause: &dyn std::fmt::Display| {
        tracing::error!(%cause, "the database that is there cannot be put aside");
        refused(format!(
            "{} cannot be put aside whole: move its folder away by hand, and restore into a new one",
            path.display()
        ))
    };
    if !path.is_file() {
        return Err(cannot(&"its file is missing, and a part of it is there"));
    }
    let mut old = super::super::open::connect_plainly(path)
        .await
        .map_err(|cause| cannot(&cause))?;
    let folded: Result<(i64, i64, i64), _> = sqlx::query_as("PRAGMA wal_checkpoint(TRUNCATE)")
        .fetch_one(&mut old)
        .await;
    let closed = old.close().await;
    match (folded, closed) {
        (Ok((0, _, _)), Ok(())) => {}
        (Ok(_), Ok(())) => return Err(cannot(&"somebody reads it")),
        (Err(cause), _) | (Ok(_), Err(cause)) => return Err(cannot(&cause)),
    }
    let [_, log, _, journal] = parts(path);
    for part in [log, journal] {
        if std::fs::metadata(&part).is_ok_and(|left| left.len() > 0) {
            return Err(cannot(&format_args!("{} is left", part.display())));
        }
    }
    Ok(())
}
