//! Names of backups: the instant at which each was begun, so that they sort by age.

use std::path::{Path, PathBuf};

use jiff::Timestamp;
use jiff::fmt::strtime;
use jiff::tz::TimeZone;

use super::super::StoreError;
use super::failed;

const START: &str = "deckwatch-";
const END: &str = ".db";
const FORMAT: &str = "%Y%m%dT%H%M%S.%3fZ";
/// Folder in which a backup is made before it has its name.
const MAKING: &str = ".deckwatch-backup";

/// A backup that lies in a folder.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Kept {
    /// When it was begun.
    pub at: Timestamp,
    /// The file.
    pub path: PathBuf,
}

pub(super) fn name_at(at: Timestamp) -> String {
    let told = at.strftime(FORMAT).to_string();
    format!("{START}{told}{END}")
}

fn read(name: &str) -> Option<Timestamp> {
    let told = name.strip_prefix(START)?.strip_suffix(END)?;
    let parsed = strtime::parse(FORMAT, told).ok()?.to_datetime().ok()?;
    let at = TimeZone::UTC.to_timestamp(parsed).ok()?;
    // Only what this program would have written is one of its own.
    (name_at(at) == name).then_some(at)
}

/// Where the key file of a backup lies, if it was put there.
pub(super) fn key_beside(backup: &Path) -> PathBuf {
    backup.with_extension("key")
}

pub(super) fn making_in(folder: &Path) -> PathBuf {
    folder.join(MAKING)
}

/// The backups in a folder, the oldest first; none in a folder that is not there.
///
/// # Errors
/// [`StoreError::File`] if the folder cannot be read.
pub fn kept_in(folder: &Path) -> Result<Vec<Kept>, StoreError> {
    let found = match std::fs::read_dir(folder) {
        Ok(found) => found,
        Err(cause) if cause.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(cause) => return Err(failed("read the folder", folder, cause)),
    };
    let mut kept = Vec::new();
    for entry in found {
        let entry = entry.map_err(|cause| failed("read the folder", folder, cause))?;
        let is_file = entry.file_type().is_ok_and(|kind| kind.is_file());
        let name = entry.file_name();
        if is_file && let Some(at) = name.to_str().and_then(read) {
            kept.push(Kept {
                at,
                path: entry.path(),
            });
        }
    }
    kept.sort();
    Ok(kept)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_tells_its_instant_and_foreign_names_are_left_alone() {
        let at: Timestamp = "2026-06-01T12:30:05.007Z".parse().unwrap();
        let name = name_at(at);
        assert_eq!(name, "deckwatch-20260601T123005.007Z.db");
        assert_eq!(read(&name), Some(at));
        for foreign in [
            "deckwatch.db",
            "deckwatch-old.db",
            "deckwatch-20260601T123005Z.db",
            "deckwatch-20260601T123005.007Z.db.bak",
        ] {
            assert_eq!(read(foreign), None, "{foreign}");
        }
    }
}
