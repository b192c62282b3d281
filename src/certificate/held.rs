//! The pair that is served now. Its files are looked at again and again; a sound new pair takes
//! its place without a restart, a broken one is refused and the old one stays.

use std::sync::{Arc, Mutex, PoisonError, RwLock};

use jiff::Timestamp;
use sha2::{Digest, Sha256};
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::server::{ClientHello, ResolvesServerCert};
use tokio_rustls::rustls::sign::CertifiedKey;
use tokio_rustls::rustls::{Error as TlsError, ServerConfig};

use super::files::{FileError, Files};
use super::pair::{Facts, Pair};

/// What was seen in the files.
type Seen = [u8; 32];

/// The pair that is served; cheap to clone, every clone serves the same.
#[derive(Debug, Clone)]
pub struct Held(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    files: Files,
    pair: RwLock<Option<Arc<Pair>>>,
    looks: Mutex<Looks>,
}

#[derive(Debug, Default)]
struct Looks {
    last: Seen,
    tried: Seen,
}

/// What a look at the files found.
#[derive(Debug)]
pub enum Looked {
    /// Nothing that was not seen before.
    Same,
    /// A new pair, which is served from now on.
    Taken,
    /// A new pair that is not served; the one before stays.
    Refused(Refusal),
}

/// Why a pair is not taken.
#[derive(Debug, thiserror::Error)]
pub enum Refusal {
    /// The files give none.
    #[error(transparent)]
    Broken(#[from] FileError),
    /// It does not hold now, and the one that is served does.
    #[error("the new certificate holds from {} to {}, which is not now: the one before stays", .0.begins, .0.ends)]
    NotNow(Facts),
}

impl Held {
    /// Takes the pair that lies in the files. If there is none yet, https waits for it: a box
    /// must start, as its plain twin keeps watch all the same.
    #[must_use]
    pub fn open(files: Files, now: Timestamp) -> (Self, Looked) {
        let held = Self(Arc::new(Inner {
            files,
            pair: RwLock::default(),
            looks: Mutex::default(),
        }));
        let read = held.0.files.bytes();
        let seen = seen(&read);
        *held.looks() = Looks {
            last: seen,
            tried: seen,
        };
        let looked = held.take(read, now);
        (held, looked)
    }

    /// Looks at the files. What is new is tried once it was seen twice alike: an outside client
    /// writes two files, one after the other.
    #[must_use]
    pub fn look(&self, now: Timestamp) -> Looked {
        let read = self.0.files.bytes();
        let seen = seen(&read);
        {
            let mut looks = self.looks();
            let settled = looks.last == seen;
            looks.last = seen;
            if looks.tried == seen || !settled {
                return Looked::Same;
            }
            looks.tried = seen;
        }
        let looked = self.take(read, now);
        if let Looked::Refused(Refusal::NotNow(_)) = &looked {
            // Not yet, or by a clock that is wrong: it may hold another time.
            self.looks().tried = [0; 32];
        }
        looked
    }

    fn take(&self, read: Result<(Vec<u8>, Vec<u8>), FileError>, now: Timestamp) -> Looked {
        let pair = read.and_then(|(certificate, key)| self.0.files.pair(&certificate, &key));
        let pair = match pair {
            Ok(pair) => pair,
            Err(error) => return Looked::Refused(error.into()),
        };
        let served_holds = self.facts().is_some_and(|served| served.hold(now));
        if served_holds && !pair.facts.hold(now) {
            return Looked::Refused(Refusal::NotNow(pair.facts));
        }
        let mut held = self.0.pair.write().unwrap_or_else(PoisonError::into_inner);
        *held = Some(Arc::new(pair));
        Looked::Taken
    }

    /// What the served certificate says; none if there is none yet.
    #[must_use]
    pub fn facts(&self) -> Option<Facts> {
        self.pair().map(|pair| pair.facts.clone())
    }

    /// How TLS is spoken with whatever pair is held at the moment: HTTP/1.1, by TLS 1.2 and 1.3.
    ///
    /// # Errors
    /// If the library cannot be set up.
    pub fn tls(&self) -> Result<Arc<ServerConfig>, TlsError> {
        let provider = Arc::new(ring::default_provider());
        let mut config = ServerConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()?
            .with_no_client_auth()
            .with_cert_resolver(Arc::new(self.clone()));
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        // A tablet that comes back resumes, and the box keeps nothing for it.
        config.ticketer = ring::Ticketer::new()?;
        Ok(Arc::new(config))
    }

    fn pair(&self) -> Option<Arc<Pair>> {
        let held = self.0.pair.read().unwrap_or_else(PoisonError::into_inner);
        held.clone()
    }

    fn looks(&self) -> std::sync::MutexGuard<'_, Looks> {
        self.0.looks.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl ResolvesServerCert for Held {
    fn resolve(&self, _: ClientHello<'_>) -> Option<Arc<CertifiedKey>> {
        self.pair().map(|pair| pair.certified.clone())
    }
}

fn seen(read: &Result<(Vec<u8>, Vec<u8>), FileError>) -> Seen {
    let mut hasher = Sha256::new();
    match read {
        Ok((certificate, key)) => {
            hasher.update(Sha256::digest(certificate));
            hasher.update(Sha256::digest(key));
        }
        Err(error) => hasher.update(error.to_string()),
    }
    hasher.finalize().into()
}
