//! Where `serve` listens: plain HTTP always, https where there is a certificate.

use std::net::SocketAddr;
use std::path::Path;

use anyhow::Context as _;
use jiff::Timestamp;
use tokio::net::TcpListener;

use crate::certificate::{Files, Held, Looked, der_of};
use crate::web::authority::Authority;

/// The listeners, and what devices are given there.
pub(super) struct Doors {
    /// Plain HTTP.
    pub plain: TcpListener,
    /// Https, if there is a certificate.
    pub https: Option<Https>,
    /// The authority that devices can take in.
    pub authority: Option<Authority>,
}

impl Doors {
    /// Plain HTTP and nothing else.
    pub fn plain(plain: TcpListener) -> Self {
        Self {
            plain,
            https: None,
            authority: None,
        }
    }
}

/// The https listener.
pub(super) struct Https {
    /// Where connections come in.
    pub listener: TcpListener,
    /// The pair that is served.
    pub held: Held,
    /// What the first look at its files found.
    pub looked: Looked,
}

impl Https {
    /// Listens. A pair that cannot be used is told in the log and among the notices and does not
    /// keep the box from starting: basic mode keeps watch, and a mended pair is taken.
    pub async fn open(bind: SocketAddr, files: Files, now: Timestamp) -> anyhow::Result<Self> {
        let listener = TcpListener::bind(bind).await.with_context(|| {
            format!("cannot listen on {bind}: choose another with --https-bind")
        })?;
        let (held, looked) = Held::open(files, now);
        Ok(Self {
            listener,
            held,
            looked,
        })
    }

    /// The origins that the certificate is good for, as browsers write them.
    pub fn origins(&self) -> anyhow::Result<Vec<String>> {
        let port = match self.listener.local_addr()?.port() {
            443 => String::new(),
            port => format!(":{port}"),
        };
        let hosts = self.held.facts().map(|facts| facts.hosts);
        let hosts = hosts.into_iter().flatten();
        Ok(hosts
            .map(|host| format!("https://{}{port}", host.in_url()))
            .collect())
    }
}

/// The authority in a file.
pub(super) fn authority(path: &Path) -> anyhow::Result<Authority> {
    let shown = path.display();
    let bytes = std::fs::read(path).with_context(|| format!("{shown} cannot be read"))?;
    let (der, fingerprint) =
        der_of(&bytes).with_context(|| format!("{shown} is no certificate of an authority"))?;
    Ok(Authority { der, fingerprint })
}
