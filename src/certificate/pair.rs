//! A certificate chain with the key that belongs to it, and what it says about itself.

use std::net::IpAddr;
use std::sync::Arc;

use jiff::Timestamp;
use sha2::{Digest, Sha256};
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::pem::{self, PemObject as _};
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};
use tokio_rustls::rustls::sign::CertifiedKey;
use tokio_rustls::rustls::{Error as TlsError, InconsistentKeys};
use x509_parser::certificate::X509Certificate;
use x509_parser::extensions::GeneralName;
use x509_parser::prelude::FromDer as _;

use super::host::Host;

/// What a certificate says about itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Facts {
    /// The hosts it is for; names with a star are left out.
    pub hosts: Vec<Host>,
    /// From when it holds.
    pub begins: Timestamp,
    /// Until when it holds: the earliest end in its chain.
    pub ends: Timestamp,
    /// SHA-256 of the leaf, as browsers and phones show it.
    pub fingerprint: String,
}

impl Facts {
    /// Whether it holds at an instant.
    #[must_use]
    pub fn hold(&self, now: Timestamp) -> bool {
        self.begins <= now && now <= self.ends
    }

    /// What the certificates of a PEM file say, without their key.
    ///
    /// # Errors
    /// [`PairError`].
    pub fn from_pem(certificate: &[u8]) -> Result<Self, PairError> {
        Self::of(&chain(certificate)?)
    }

    fn of(chain: &[CertificateDer<'_>]) -> Result<Self, PairError> {
        let leaf = chain.first().ok_or(PairError::NoCertificate)?;
        let read = parsed(leaf)?;
        let mut ends = instant(read.validity().not_after.timestamp())?;
        for above in chain.iter().skip(1) {
            let end = parsed(above)?.validity().not_after.timestamp();
            ends = ends.min(instant(end)?);
        }
        Ok(Self {
            hosts: hosts(&read)?,
            begins: instant(read.validity().not_before.timestamp())?,
            ends,
            fingerprint: fingerprint(leaf),
        })
    }
}

/// A chain with its key, ready to be served.
#[derive(Debug, Clone)]
pub struct Pair {
    pub(super) certified: Arc<CertifiedKey>,
    /// What the certificate says.
    pub facts: Facts,
}

/// A pair that cannot be served.
#[derive(Debug, thiserror::Error)]
pub enum PairError {
    /// No certificate in the file.
    #[error(
        "the file of the certificate holds none: give a PEM file that begins with the certificate of this box"
    )]
    NoCertificate,
    /// The certificate cannot be read.
    #[error("the certificate cannot be read ({0}): give a PEM file")]
    Certificate(String),
    /// No key in the file.
    #[error("the file of the key holds none that can be read ({0}): give an unencrypted PEM file")]
    NoKey(#[source] pem::Error),
    /// Key and certificate do not belong together.
    #[error(
        "certificate and key do not belong together: give the key that the certificate was made for"
    )]
    Mismatch,
    /// The key is of a kind that is not spoken.
    #[error(
        "key and certificate cannot be used ({0}): P-256, P-384, RSA from 2048 bits and Ed25519 can"
    )]
    Unusable(#[source] TlsError),
}

impl Pair {
    /// Reads a pair from PEM: the leaf's certificate first, then those above it.
    ///
    /// # Errors
    /// [`PairError`].
    pub fn from_pem(certificate: &[u8], key: &[u8]) -> Result<Self, PairError> {
        let chain = chain(certificate)?;
        let facts = Facts::of(&chain)?;
        let key = PrivateKeyDer::from_pem_slice(key).map_err(PairError::NoKey)?;
        let certified =
            CertifiedKey::from_der(chain, key, &ring::default_provider()).map_err(|error| {
                if error == TlsError::InconsistentKeys(InconsistentKeys::KeyMismatch) {
                    PairError::Mismatch
                } else {
                    PairError::Unusable(error)
                }
            })?;
        Ok(Self {
            certified: Arc::new(certified),
            facts,
        })
    }
}

fn chain(certificate: &[u8]) -> Result<Vec<CertificateDer<'static>>, PairError> {
    let chain = CertificateDer::pem_slice_iter(certificate)
        .collect::<Result<Vec<_>, _>>()
        .map_err(|error| PairError::Certificate(error.to_string()))?;
    if chain.is_empty() {
        return Err(PairError::NoCertificate);
    }
    Ok(chain)
}

pub(super) fn parsed<'a>(der: &'a CertificateDer<'_>) -> Result<X509Certificate<'a>, PairError> {
    X509Certificate::from_der(der)
        .map(|(_, read)| read)
        .map_err(|error| PairError::Certificate(error.to_string()))
}

fn instant(seconds: i64) -> Result<Timestamp, PairError> {
    Timestamp::from_second(seconds).map_err(|error| PairError::Certificate(error.to_string()))
}

fn hosts(read: &X509Certificate<'_>) -> Result<Vec<Host>, PairError> {
    let names = read
        .subject_alternative_name()
        .map_err(|error| PairError::Certificate(error.to_string()))?;
    Ok(names
        .into_iter()
        .flat_map(|names| &names.value.general_names)
        .filter_map(host)
        .collect())
}

#[expect(
    clippy::wildcard_enum_match_arm,
    reason = "the other kinds of names are of no use to a browser"
)]
fn host(name: &GeneralName<'_>) -> Option<Host> {
    match name {
        // A name with a star is none that could be typed.
        GeneralName::DNSName(name) => (*name).parse().ok(),
        GeneralName::IPAddress(bytes) => address(bytes).map(Host::Address),
        _ => None,
    }
}

/// An address as a certificate writes it: its 4 or 16 bytes.
pub(super) fn address(bytes: &[u8]) -> Option<IpAddr> {
    <[u8; 4]>::try_from(bytes)
        .map(IpAddr::from)
        .or_else(|_| <[u8; 16]>::try_from(bytes).map(IpAddr::from))
        .ok()
}

/// SHA-256 of a certificate, in pairs of digits with colons, as browsers and phones show it.
#[must_use]
pub fn fingerprint(der: &[u8]) -> String {
    let pairs: Vec<String> = Sha256::digest(der)
        .iter()
        .map(|byte| format!("{byte:02X}"))
        .collect();
    pairs.join(":")
}
