//! Backups: made while others write, under another name, and proven to fold to the same state
//! before they get their own.

use std::path::{Path, PathBuf};

use super::super::seal::copy_key;
use super::super::{Store, StoreError};
use super::names::{kept_in, key_beside, making_in, name_at};
use super::{Proof, failed, off, sync};

/// A backup that was made and proven.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Backup {
    /// The file.
    pub path: PathBuf,
    /// What it holds.
    pub proof: Proof,
    /// Flaws that the log itself has, and so the copy.
    pub flaws: usize,
    /// Older backups that were removed.
    pub removed: Vec<PathBuf>,
}

impl Store {
    /// Makes a backup in the folder `to`, and keeps it and the ones before it, `keep` in all
    /// (at least one).
    ///
    /// It is the store as at one instant; others read and write meanwhile. It gets its name when
    /// it is on the medium and was proven: the database against itself, every hash and chain,
    /// and for each trip the events and the state that they fold to against this store's.
    ///
    /// # Errors
    /// [`StoreError`]; then there is no new backup, and none was removed.
    pub async fn back_up(&self, to: &Path, keep: usize) -> Result<Backup, StoreError> {
        let making = making_in(to);
        {
            let making = making.clone();
            off(move || make_empty(&making)).await?;
        }
        let made = self.make_and_prove(&making).await;
        let (to, at) = (to.to_owned(), self.clock().now());
        let named = off(move || {
            let named = made.and_then(|(copy, proof, flaws)| {
                let path = to.join(name_at(at));
                if path.symlink_metadata().is_ok() {
                    let why = format!("{} is there already", path.display());
                    return Err(StoreError::Copy { why });
                }
                sync(&copy)?;
                std::fs::rename(&copy, &path).map_err(|cause| failed("name", &path, cause))?;
                sync(&to)?;
                Ok((path, proof, flaws))
            });
            // Whatever was made and has no name is worth nothing.
            remove(&making)?;
            let (path, proof, flaws) = named?;
            let removed = remove_old(&to, keep, &path)?;
            Ok(Backup {
                path,
                proof,
                flaws,
                removed,
            })
        });
        named.await
    }

    /// Puts the key file of this box beside a backup, for its owner alone: whoever has both can
    /// open every contact in it. Returns its name.
    ///
    /// # Errors
    /// [`StoreError::Sealed`] if there is no key file, as nothing was sealed yet, or no such copy
    /// can be made.
    pub async fn put_key_beside(&self, backup: &Path) -> Result<PathBuf, StoreError> {
        let (database, to) = (self.path().to_owned(), key_beside(backup));
        off(move || {
            copy_key(&database, &to)?;
            Ok(to)
        })
        .await
    }

    async fn make_and_prove(&self, making: &Path) -> Result<(PathBuf, Proof, usize), StoreError> {
        let path = making.join("deckwatch.db");
        let mut source = super::super::open::connect_to_read(self.path()).await?;
        let target = path.to_string_lossy().into_owned();
        let copied = sqlx::query("VACUUM INTO $1")
            .bind(target)
            .execute(&mut source)
            .await;
        sqlx::Connection::close(source).await?;
        copied?;
        let copy = Store::open_copy(&path, self.clock().clone()).await?;
        let proven = self.prove(&copy).await;
        let closed = copy.close().await;
        let (proof, flaws) = proven?;
        closed?;
        Ok((path, proof, flaws))
    }

    /// Proves a copy against this store, and writes the proof into it.
    async fn prove(&self, copy: &Store) -> Result<(Proof, usize), StoreError> {
        let verdict = copy.verify().await?;
        let mut flaws = verdict.flaws;
        let count = flaws.len();
        if count > 0 {
            let own = self.verify().await?.flaws;
            flaws.retain(|flaw| !own.contains(flaw));
        }
        if let Some(flaw) = flaws.first() {
            let why = format!("{} entry {}: {}", flaw.trip, flaw.entry, flaw.what);
            return Err(StoreError::Copy { why });
        }
        let held = copy.proof(None).await?;
        if self.proof(Some(&held)).await? != held {
            let why = "it does not fold to the same state as this box".to_owned();
            return Err(StoreError::Copy { why });
        }
        copy.write_proof(&held).await?;
        Ok((held, count))
    }
}

/// An empty folder to make a backup in; what a backup that was cut short left there goes.
fn make_empty(making: &Path) -> Result<(), StoreError> {
    remove(making)?;
    std::fs::create_dir_all(making).map_err(|cause| failed("make the folder", making, cause))
}

pub(super) fn remove(folder: &Path) -> Result<(), StoreError> {
    match std::fs::remove_dir_all(folder) {
        Err(cause) if cause.kind() != std::io::ErrorKind::NotFound => {
            Err(failed("remove", folder, cause))
        }
        Ok(()) | Err(_) => Ok(()),
    }
}

/// Removes all but the last `keep`, and never the one just `made`.
fn remove_old(folder: &Path, keep: usize, made: &Path) -> Result<Vec<PathBuf>, StoreError> {
    let kept = kept_in(folder)?;
    let surplus = kept.len().saturating_sub(keep.max(1));
    let mut removed = Vec::new();
    // One that was named while the clock was ahead sorts behind the one just made, which stays.
    let old = kept.into_iter().filter(|kept| kept.path != made);
    for old in old.take(surplus) {
        let key = key_beside(&old.path);
        match std::fs::remove_file(&key) {
            Err(cause) if cause.kind() != std::io::ErrorKind::NotFound => {
                return Err(failed("remove", &key, cause));
            }
            Ok(()) | Err(_) => {}
        }
        std::fs::remove_file(&old.path).map_err(|cause| failed("remove", &old.path, cause))?;
        removed.push(old.path);
    }
    Ok(removed)
}
