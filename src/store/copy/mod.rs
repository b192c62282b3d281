//! Copies of the store: backups that are proven before they count as made, and their way back.

mod backup;
mod names;
mod proof;
mod restore;

pub use backup::Backup;
pub use names::{Kept, kept_in};
pub use proof::{Proof, TripProof};
pub use restore::{Restored, put_key, restore};

use std::fs::File;
use std::path::Path;
use std::sync::Arc;

use super::StoreError;

fn failed(doing: &'static str, path: &Path, cause: std::io::Error) -> StoreError {
    StoreError::File {
        doing,
        path: path.to_owned(),
        cause: Arc::new(cause),
    }
}

/// Brings a file's content, or a folder's names, onto the medium.
fn sync(path: &Path) -> Result<(), StoreError> {
    let opened = File::open(path).and_then(|file| file.sync_all());
    opened.map_err(|cause| failed("sync", path, cause))
}

/// Work with files that may wait for the medium, off the runtime's threads.
async fn off<T, W>(work: W) -> Result<T, StoreError>
where
    T: Send + 'static,
    W: FnOnce() -> Result<T, StoreError> + Send + 'static,
{
    match tokio::task::spawn_blocking(work).await {
        Ok(done) => done,
        Err(cause) => Err(StoreError::Copy {
            why: cause.to_string(),
        }),
    }
}
