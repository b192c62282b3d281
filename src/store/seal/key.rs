//! The key file of the box: beside the database, for its owner alone, in no backup unless asked
//! for. It is made when the first thing is sealed.

use std::fs::{File, OpenOptions};
use std::io::{Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use sha2::{Digest, Sha256};
use zeroize::Zeroizing;

use super::SealError;
use super::aead::Bits;
use crate::clock::Clock;

/// What a key file begins with; 64 hexadecimal digits follow.
const START: &str = "deckwatch-key-1 ";
/// More than a key file holds.
const LONGEST: u64 = 200;

/// The key file of a database.
pub(in super::super) fn path_of(database: &Path) -> PathBuf {
    database.with_extension("key")
}

pub(super) fn failed(path: &Path, cause: std::io::Error) -> SealError {
    SealError::File {
        path: path.to_owned(),
        cause: Arc::new(cause),
    }
}

/// The key that wraps all others.
#[derive(Debug)]
pub(super) struct BoxKey(Bits);

impl BoxKey {
    pub(super) fn bits(&self) -> &Bits {
        &self.0
    }

    /// Tells key files apart; nothing of the key follows from it.
    pub(super) fn id(&self) -> [u8; 8] {
        let mut hash = Sha256::new();
        hash.update(b"deckwatch key file\0");
        hash.update(self.0.bytes());
        let [a, b, c, d, e, f, g, h, ..]: [u8; 32] = hash.finalize().into();
        [a, b, c, d, e, f, g, h]
    }

    /// The key beside a database.
    pub(super) fn read(database: &Path) -> Result<Self, SealError> {
        Self::read_file(&path_of(database))
    }

    pub(super) fn read_file(path: &Path) -> Result<Self, SealError> {
        let file = match File::open(path) {
            Ok(file) => file,
            Err(cause) if cause.kind() == std::io::ErrorKind::NotFound => {
                return Err(SealError::NoKey {
                    path: path.to_owned(),
                });
            }
            Err(cause) => return Err(failed(path, cause)),
        };
        close_to_others(path, &file);
        let mut text = Zeroizing::new(String::new());
        match file.take(LONGEST).read_to_string(&mut text) {
            Ok(_) => {}
            Err(cause) if cause.kind() == std::io::ErrorKind::InvalidData => {
                return Err(SealError::NotAKey {
                    path: path.to_owned(),
                });
            }
            Err(cause) => return Err(failed(path, cause)),
        }
        read_key(text.trim_end()).ok_or_else(|| SealError::NotAKey {
            path: path.to_owned(),
        })
    }

    /// The key beside a database, or a new one. `may_make`: nothing is sealed by another.
    pub(super) fn read_or_make(
        database: &Path,
        clock: &Clock,
        may_make: bool,
    ) -> Result<Self, SealError> {
        match Self::read(database) {
            Err(SealError::NoKey { .. }) if may_make => {
                let key = Self(Bits::new(clock.secret()));
                key.write_new(&path_of(database))?;
                Ok(key)
            }
            read => read,
        }
    }

    /// Writes it to a file that is not there yet, whole or not at all.
    pub(super) fn write_new(&self, path: &Path) -> Result<(), SealError> {
        let mut making = path.as_os_str().to_owned();
        making.push(".new");
        let making = PathBuf::from(making);
        let written = self.write(&making).and_then(|()| {
            // A second name and not a renaming: that would take the place of a key that is there.
            std::fs::hard_link(&making, path)?;
            let folder = path.parent().filter(|folder| *folder != Path::new(""));
            File::open(folder.unwrap_or_else(|| Path::new(".")))?.sync_all()
        });
        let removed = std::fs::remove_file(&making);
        written.and(removed).map_err(|cause| failed(path, cause))
    }

    fn write(&self, path: &Path) -> std::io::Result<()> {
        match std::fs::remove_file(path) {
            Err(cause) if cause.kind() != std::io::ErrorKind::NotFound => return Err(cause),
            Ok(()) | Err(_) => {}
        }
        let mut options = OpenOptions::new();
        options.write(true).create_new(true);
        #[cfg(unix)]
        {
            use std::os::unix::fs::OpenOptionsExt as _;
            options.mode(0o600);
        }
        let mut file = options.open(path)?;
        let mut text = Zeroizing::new(String::with_capacity(START.len() + 65));
        text.push_str(START);
        for digit in self.0.bytes().iter().flat_map(|b| [b >> 4, b & 0x0f]) {
            text.extend(char::from_digit(u32::from(digit), 16));
        }
        text.push('\n');
        file.write_all(text.as_bytes())?;
        file.sync_all()
    }
}

fn read_key(text: &str) -> Option<BoxKey> {
    let digits = text.strip_prefix(START)?;
    if digits.len() != 64 || !digits.is_ascii() {
        return None;
    }
    let mut bits = Zeroizing::new([0_u8; 32]);
    for (byte, pair) in bits.iter_mut().zip(digits.as_bytes().chunks_exact(2)) {
        let [high, low] = pair else {
            return None;
        };
        let value = char::from(*high).to_digit(16)? * 16 + char::from(*low).to_digit(16)?;
        *byte = u8::try_from(value).ok()?;
    }
    Some(BoxKey(Bits::new(*bits)))
}

/// A key file that was brought back by hand may have become readable for others. It is closed to
/// them and used all the same: whoever needs a contact now must not wait for that.
fn close_to_others(path: &Path, file: &File) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        let open = file
            .metadata()
            .is_ok_and(|seen| seen.is_file() && seen.permissions().mode() & 0o077 != 0);
        if !open {
            return;
        }
        let path = path.display();
        match file.set_permissions(std::fs::Permissions::from_mode(0o600)) {
            Ok(()) => tracing::warn!(%path, "others could read the key file: it is closed to them"),
            Err(cause) => tracing::warn!(%path, %cause, "others can read the key file"),
        }
    }
    #[cfg(not(unix))]
    let _ = (path, file);
}
