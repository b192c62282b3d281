//! The two files of a pair, as an outside client leaves them.

use std::io;
use std::path::PathBuf;

use super::pair::{Facts, Pair, PairError};

/// Largest file of a chain or a key, bytes; a chain of four takes about 8,000.
const LARGEST: u64 = 256 * 1024;

/// Where certificate and key lie.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Files {
    /// PEM: the leaf's certificate, then those above it.
    pub certificate: PathBuf,
    /// PEM: its key.
    pub key: PathBuf,
}

/// Files that give no pair.
#[derive(Debug, thiserror::Error)]
pub enum FileError {
    /// A file cannot be read.
    #[error("{} cannot be read: {cause}", path.display())]
    Unread {
        /// Which.
        path: PathBuf,
        /// Why.
        cause: io::Error,
    },
    /// What they hold is no pair.
    #[error("{}: {cause}", certificate.display())]
    NoPair {
        /// The file of the certificate.
        certificate: PathBuf,
        /// Why.
        cause: PairError,
    },
}

impl Files {
    /// Reads both as they lie.
    ///
    /// # Errors
    /// [`FileError::Unread`].
    pub fn bytes(&self) -> Result<(Vec<u8>, Vec<u8>), FileError> {
        Ok((read(&self.certificate)?, read(&self.key)?))
    }

    /// Makes a pair of what was read.
    ///
    /// # Errors
    /// [`FileError::NoPair`].
    pub fn pair(&self, certificate: &[u8], key: &[u8]) -> Result<Pair, FileError> {
        Pair::from_pem(certificate, key).map_err(|cause| FileError::NoPair {
            certificate: self.certificate.clone(),
            cause,
        })
    }

    /// What a file of certificates says, without its key.
    ///
    /// # Errors
    /// [`FileError`].
    pub fn facts(certificate: &std::path::Path) -> Result<Facts, FileError> {
        let path = certificate.to_owned();
        let bytes = read(&path)?;
        Facts::from_pem(&bytes).map_err(|cause| FileError::NoPair {
            certificate: path,
            cause,
        })
    }
}

fn read(path: &PathBuf) -> Result<Vec<u8>, FileError> {
    use std::io::Read as _;
    let mut bytes = Vec::new();
    std::fs::File::open(path)
        .and_then(|file| file.take(LARGEST + 1).read_to_end(&mut bytes))
        .and_then(|read| {
            if read as u64 > LARGEST {
                let what = format!("it has more than {} KiB", LARGEST / 1024);
                return Err(io::Error::new(io::ErrorKind::FileTooLarge, what));
            }
            Ok(bytes)
        })
        .map_err(|cause| FileError::Unread {
            path: path.clone(),
            cause,
        })
}
