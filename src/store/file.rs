//! The file under the store: where it lies, who may open it, and whether it is still the one
//! that was opened.

use std::fs::{File, OpenOptions, TryLockError};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::error::StoreError;

/// The name of the database in a folder.
const NAME: &str = "deckwatch.db";

fn failed(doing: &'static str, path: &Path, cause: std::io::Error) -> StoreError {
    StoreError::File {
        doing,
        path: path.to_owned(),
        cause: Arc::new(cause),
    }
}

/// The database's file: `place` itself when it has an extension or is a file, else
/// `deckwatch.db` in the folder `place`, which is made where it is missing.
pub(super) fn database_in(place: &Path) -> Result<PathBuf, StoreError> {
    let is_file = !place.is_dir() && (place.extension().is_some() || place.is_file());
    let (folder, file) = if is_file {
        let parent = place.parent().filter(|parent| *parent != Path::new(""));
        (parent.map(Path::to_owned), place.to_owned())
    } else {
        (Some(place.to_owned()), place.join(NAME))
    };
    if let Some(folder) = folder {
        std::fs::create_dir_all(&folder).map_err(|e| failed("make the folder", &folder, e))?;
    }
    Ok(file)
}

/// Takes the lock file beside the database; it is held until the file is dropped, or the
/// process ends in whatever way.
pub(super) fn lock_beside(database: &Path) -> Result<File, StoreError> {
    let path = database.with_extension("lock");
    let file = OpenOptions::new()
        .create(true)
        .write(true)
        .truncate(false)
        .open(&path)
        .map_err(|e| failed("open the lock file", &path, e))?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => Err(StoreError::InUse {
            path: database.to_owned(),
        }),
        Err(TryLockError::Error(e)) => Err(failed("lock", &path, e)),
    }
}

/// Which file a path led to when it was opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Identity {
    device: u64,
    file: u64,
}

impl Identity {
    pub(super) fn of(path: &Path) -> Result<Self, StoreError> {
        let seen = std::fs::metadata(path).map_err(|e| failed("look at", path, e))?;
        Ok(Self::read(&seen))
    }

    #[cfg(unix)]
    fn read(seen: &std::fs::Metadata) -> Self {
        use std::os::unix::fs::MetadataExt;
        Self {
            device: seen.dev(),
            file: seen.ino(),
        }
    }

    /// Elsewhere an open file cannot be replaced.
    #[cfg(not(unix))]
    fn read(_: &std::fs::Metadata) -> Self {
        Self { device: 0, file: 0 }
    }

    /// Whether `path` still leads to this file: writes to a file that was replaced go nowhere.
    pub(super) fn check(self, path: &Path) -> Result<(), String> {
        match std::fs::metadata(path) {
            Ok(seen) if Self::read(&seen) == self => Ok(()),
            Ok(_) => Err(format!("{} was replaced by another file", path.display())),
            Err(cause) => Err(format!("{} is gone: {cause}", path.display())),
        }
    }
}
