//! The folder of an authority made here: what is served, and, apart from it, the authority's key.

use std::fs::{self, OpenOptions};
use std::io::{self, Write as _};
use std::os::unix::fs::{DirBuilderExt as _, OpenOptionsExt as _};
use std::path::{Path, PathBuf};

use super::authority::{Authority, Made};
use super::files::Files;

/// Where everything lies.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Folder(PathBuf);

/// A file could not be written or read.
#[derive(Debug, thiserror::Error)]
#[error("{} cannot be {done}: {cause}", path.display())]
pub struct WriteError {
    path: PathBuf,
    done: &'static str,
    cause: io::Error,
}

impl Folder {
    /// A folder, which need not be there yet.
    #[must_use]
    pub fn new(path: impl Into<PathBuf>) -> Self {
        Self(path.into())
    }

    /// What is served.
    #[must_use]
    pub fn served(&self) -> Files {
        Files {
            certificate: self.0.join("certificate.pem"),
            key: self.0.join("key.pem"),
        }
    }

    /// The authority's certificate, which devices install.
    #[must_use]
    pub fn authority(&self) -> PathBuf {
        self.0.join("authority.pem")
    }

    /// The authority's key, in a folder of its own that can be taken off the box.
    #[must_use]
    pub fn authority_key(&self) -> PathBuf {
        self.0.join("authority-key").join("authority-key.pem")
    }

    /// The code that leads devices to the authority, to be printed.
    #[must_use]
    pub fn code(&self) -> PathBuf {
        self.0.join("authority-qr.svg")
    }

    /// Writes a new authority. One that is there is never overwritten.
    ///
    /// # Errors
    /// [`WriteError`].
    pub fn keep_authority(&self, authority: &Authority) -> Result<(), WriteError> {
        private_folder(&self.0)?;
        let key = self.authority_key();
        if let Some(apart) = key.parent() {
            private_folder(apart)?;
        }
        write_new(&key, authority.key_pem().as_bytes())?;
        write_new(&self.authority(), authority.certificate.as_bytes())
    }

    /// Writes a leaf in place of the one before: each file is there whole or not at all, and a
    /// box that serves the folder takes both once they belong together.
    ///
    /// # Errors
    /// [`WriteError`].
    pub fn keep_leaf(&self, made: &Made) -> Result<(), WriteError> {
        let served = self.served();
        replace(&served.key, made.key.as_bytes())?;
        replace(&served.certificate, made.certificate.as_bytes())
    }

    /// Writes the code.
    ///
    /// # Errors
    /// [`WriteError`].
    pub fn keep_code(&self, svg: &str) -> Result<(), WriteError> {
        replace(&self.code(), svg.as_bytes())
    }
}

/// Reads a text file.
///
/// # Errors
/// [`WriteError`].
pub fn read_text(path: &Path) -> Result<String, WriteError> {
    fs::read_to_string(path).map_err(|cause| failed(path, "read", cause))
}

fn failed(path: &Path, done: &'static str, cause: io::Error) -> WriteError {
    WriteError {
        path: path.to_owned(),
        done,
        cause,
    }
}

/// Only who runs the box looks in.
fn private_folder(path: &Path) -> Result<(), WriteError> {
    fs::DirBuilder::new()
        .recursive(true)
        .mode(0o700)
        .create(path)
        .map_err(|cause| failed(path, "made", cause))
}

fn write_new(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    let written = OpenOptions::new()
        .write(true)
        .create_new(true)
        .mode(0o600)
        .open(path)
        .and_then(|mut file| {
            file.write_all(bytes)?;
            file.sync_all()
        });
    written.map_err(|cause| failed(path, "written", cause))
}

fn replace(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    let beside = path.with_extension("new");
    if let Err(cause) = fs::remove_file(&beside)
        && cause.kind() != io::ErrorKind::NotFound
    {
        return Err(failed(&beside, "removed", cause));
    }
    write_new(&beside, bytes)?;
    fs::rename(&beside, path).map_err(|cause| failed(path, "written", cause))
}
