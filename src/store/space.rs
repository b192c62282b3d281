//! Room on the disk: how much is left, and a reserve that is given up when nothing is, so that
//! a boat that is out can go on saving, and closing still works.

use std::fs::{File, OpenOptions};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use tokio::sync::watch;

use super::StoreError;

/// The reserve, bytes.
pub const RESERVE: u64 = 8 << 20;
/// What of it is kept until the store closes: folding the write-ahead log in takes room.
const FOR_CLOSING: u64 = 4 << 20;
/// The reserve is made only where this much is free besides, bytes.
const BESIDES: u64 = 4 << 20;
/// Under this much free the disk is nearly full, bytes: a season's logs of a boat.
const LOW: u64 = 256 << 20;

/// Whether there is room to save.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Space {
    /// There is, or nobody looked yet.
    Enough,
    /// Not much any more.
    Low {
        /// Free on the disk, bytes.
        free: u64,
    },
    /// The disk is full; what is saved goes where the reserve was.
    Reserve,
    /// The last write found no room: nothing was saved.
    Full,
}

/// The reserve beside the database, and what is known of the room.
#[derive(Debug)]
pub(super) struct Room {
    path: PathBuf,
    told: watch::Sender<Space>,
}

impl Room {
    pub(super) fn beside(database: &Path) -> Self {
        Self {
            path: database.with_extension("reserve"),
            told: watch::channel(Space::Enough).0,
        }
    }

    pub(super) fn watch(&self) -> watch::Receiver<Space> {
        self.told.subscribe()
    }

    /// The disk is full: a part of the reserve is given up, so that the next write finds room.
    pub(super) fn is_full(&self) {
        if self.told.send_replace(Space::Full) != Space::Full {
            tracing::error!("the disk is full: nothing is saved until there is room");
        }
        let held = std::fs::metadata(&self.path).map_or(0, |held| held.len());
        if held > FOR_CLOSING {
            self.cut(FOR_CLOSING);
        }
    }

    /// A write found room.
    pub(super) fn was_written(&self) {
        if *self.told.borrow() == Space::Full {
            self.told.send_replace(Space::Reserve);
        }
    }

    /// Gives up what is left of the reserve.
    pub(super) fn give_up(&self) {
        give_up(&self.path);
    }

    fn cut(&self, to: u64) {
        let cut = OpenOptions::new().write(true).open(&self.path);
        match cut.and_then(|file| file.set_len(to)) {
            Ok(()) => tracing::warn!(kept = to, "a part of the reserve was given up"),
            Err(cause) => tracing::error!(%cause, "the reserve could not be given up"),
        }
    }

    /// Looks how much room there is, and makes the reserve where it is missing and there is room
    /// for it. Touches the disk.
    pub(super) fn look(&self) {
        let free = match free_beside(&self.path) {
            Ok(free) => free,
            Err(cause) => {
                tracing::warn!(%cause, "how much room the disk has cannot be told");
                return;
            }
        };
        let held = std::fs::metadata(&self.path).map_or(0, |held| held.len());
        let is_whole = held >= RESERVE;
        let fits = free >= RESERVE + BESIDES;
        if !is_whole && fits {
            match make(&self.path) {
                Ok(()) => tracing::info!(bytes = RESERVE, "the reserve was made"),
                Err(cause) => tracing::warn!(%cause, "the reserve could not be made"),
            }
        }
        self.told.send_if_modified(|space| {
            let now = match *space {
                // Until a write or the reserve has found room, that there is some is hearsay.
                Space::Full | Space::Reserve if !fits => *space,
                Space::Enough | Space::Low { .. } | Space::Reserve | Space::Full => {
                    if free < LOW {
                        Space::Low { free }
                    } else {
                        Space::Enough
                    }
                }
            };
            let is_news = now != *space && !is_same_low(now, *space);
            if is_news {
                *space = now;
            }
            is_news
        });
    }
}

/// Free room wavers: only what differs by a tenth is news.
fn is_same_low(now: Space, before: Space) -> bool {
    match (now, before) {
        (Space::Low { free: now }, Space::Low { free: before }) => {
            now.abs_diff(before) < before / 10
        }
        _ => false,
    }
}

/// Removes the reserve of a database, whoever made it.
pub(super) fn give_up(path: &Path) {
    match std::fs::remove_file(path) {
        Ok(()) => tracing::warn!("the reserve was given up"),
        Err(cause) if cause.kind() == std::io::ErrorKind::NotFound => {}
        Err(cause) => tracing::error!(%cause, "the reserve could not be given up"),
    }
}

/// The reserve's file beside a database.
pub(super) fn reserve_of(database: &Path) -> PathBuf {
    database.with_extension("reserve")
}

/// Bytes free for this process where `path` lies.
fn free_beside(path: &Path) -> std::io::Result<u64> {
    let folder = path.parent().filter(|folder| *folder != Path::new(""));
    let told = rustix::fs::statvfs(folder.unwrap_or_else(|| Path::new(".")))?;
    Ok(told.f_bavail.saturating_mul(told.f_frsize))
}

/// Makes the reserve of real blocks: a hole would hold nothing free. Zeros are written, as not
/// every file system can be asked for blocks, and in pieces, so that what is made is what is
/// there when the disk fills meanwhile.
fn make(path: &Path) -> std::io::Result<()> {
    let mut file = File::create(path)?;
    let piece = vec![0_u8; 1 << 20];
    for _ in 0..RESERVE / (1 << 20) {
        if let Err(cause) = file.write_all(&piece) {
            drop(file);
            std::fs::remove_file(path)?;
            return Err(cause);
        }
    }
    file.sync_all()
}

/// Whether the folder of a database takes a file that is written and synced; the error says why
/// not. For telling whether a program that stopped saving would do better when started anew.
pub(super) fn probe(database: &Path) -> Result<(), StoreError> {
    let path = database.with_extension("probe");
    let tried = (|| {
        let mut file = File::create(&path)?;
        file.write_all(&[0; 4096])?;
        file.sync_all()?;
        drop(file);
        std::fs::remove_file(&path)
    })();
    tried.map_err(|cause| StoreError::File {
        doing: "write",
        path,
        cause: Arc::new(cause),
    })
}
