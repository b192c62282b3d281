//! How a request came: over https, over the plain twin beside it, or over plain HTTP where
//! there is nothing else. It is told for each request, by the listener that took it and the host
//! it names: it decides cookies, which hosts and origins are ours, and what basic mode leaves out.

use std::convert::Infallible;
use std::net::IpAddr;

use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use axum::http::{HeaderMap, Uri, header};

use super::app::Reached;
use crate::store::crew::Carried;

/// A listener.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Line {
    /// Plain HTTP, and no https of our own beside it. Somebody else may speak TLS before it.
    #[default]
    Plain,
    /// Plain HTTP beside https: basic mode.
    Twin,
    /// TLS.
    Tls,
}

/// Which listener took a connection, and from whom; the accept loop puts it beside each request.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Via {
    /// The listener.
    pub line: Line,
    /// The address at the other end.
    pub peer: IpAddr,
}

/// How a request came.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Transport {
    line: Line,
    secure: bool,
    on_this_machine: bool,
}

impl Transport {
    /// How a request came. `via`: what the accept loop said; none counts as plain HTTP from
    /// anywhere.
    #[must_use]
    pub fn of(reached: &Reached, via: Option<&Via>, host: Option<&str>) -> Self {
        let line = via.map_or(Line::Plain, |via| via.line);
        let host = host.unwrap_or_default();
        let ours = |scheme: &str| {
            let mut named = reached
                .origins
                .iter()
                .filter_map(|origin| origin.strip_prefix(scheme));
            named.any(|ours| ours.eq_ignore_ascii_case(host))
        };
        let secure = match line {
            Line::Tls => true,
            Line::Twin => false,
            // Where somebody else speaks TLS before us, the host says which address was asked.
            Line::Plain => ours("https://") && !ours("http://"),
        };
        // A host is only what the request says; where it came from is known.
        let near = via.is_none_or(|via| via.peer.to_canonical().is_loopback());
        Self {
            line,
            secure,
            on_this_machine: near && is_loopback(host),
        }
    }

    /// Whether it came over https: cookies are `Secure` and bound to the host.
    #[must_use]
    pub fn is_secure(self) -> bool {
        self.secure
    }

    /// Whether its page has to be kept open: a browser gives plain HTTP neither a service worker
    /// nor a wake lock, save on the machine itself.
    #[must_use]
    pub fn is_basic(self) -> bool {
        !self.secure && !self.on_this_machine
    }

    /// Whether only what basic mode has is answered: it is the plain twin of an https address.
    #[must_use]
    pub fn is_limited(self) -> bool {
        self.line == Line::Twin && !self.on_this_machine
    }

    /// How secrets travel on it.
    #[must_use]
    pub fn carried(self) -> Carried {
        if self.secure {
            Carried::Encrypted
        } else {
            Carried::Plain
        }
    }

    /// Whether an origin of ours is one of the listener that took the request.
    #[must_use]
    pub fn serves(self, origin: &str) -> bool {
        match self.line {
            Line::Plain => true,
            Line::Twin => origin.starts_with("http://"),
            Line::Tls => origin.starts_with("https://"),
        }
    }
}

impl<S: Send + Sync> FromRequestParts<S> for Transport {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Infallible> {
        Ok(parts.extensions.get::<Self>().copied().unwrap_or_default())
    }
}

/// The host that a request names.
#[must_use]
pub fn host_of<'a>(headers: &'a HeaderMap, uri: &'a Uri) -> Option<&'a str> {
    headers
        .get(header::HOST)
        .and_then(|host| host.to_str().ok())
        .or_else(|| uri.authority().map(axum::http::uri::Authority::as_str))
}

/// Whether a host, with or without a port, is the machine's own name for itself.
fn is_loopback(host: &str) -> bool {
    let bare = match host.strip_prefix('[') {
        Some(rest) => rest.split(']').next().unwrap_or(rest),
        None => host.split(':').next().unwrap_or(host),
    };
    bare.eq_ignore_ascii_case("localhost")
        || bare
            .parse::<IpAddr>()
            .is_ok_and(|address| address.is_loopback())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reached() -> Reached {
        let origins = [
            "http://10.20.0.1:8080",
            "http://127.0.0.1:8080",
            "https://boat.example.org:8443",
        ];
        Reached {
            origins: origins.map(str::to_owned).to_vec(),
            drill_speed: None,
            lets_devices_in: false,
        }
    }

    fn transport(line: Line, peer: &str, host: &str) -> Transport {
        let peer = peer.parse().unwrap();
        Transport::of(&reached(), Some(&Via { line, peer }), Some(host))
    }

    #[test]
    fn the_twin_is_basic_and_limited_but_not_on_the_machine_itself() {
        let far = transport(Line::Twin, "10.20.0.7", "10.20.0.1:8080");
        assert!(far.is_basic() && far.is_limited() && !far.is_secure());
        let near = transport(Line::Twin, "127.0.0.1", "127.0.0.1:8080");
        assert!(!near.is_basic() && !near.is_limited());
        let mapped = transport(Line::Twin, "::ffff:127.0.0.1", "localhost:8080");
        assert!(!mapped.is_limited());
        // Whoever only says to be the machine itself is not.
        let liar = transport(Line::Twin, "10.20.0.7", "127.0.0.1:8080");
        assert!(liar.is_basic() && liar.is_limited());
        let tls = transport(Line::Tls, "10.20.0.7", "boat.example.org:8443");
        assert!(tls.is_secure() && !tls.is_basic() && !tls.is_limited());
    }

    #[test]
    fn plain_http_alone_is_labelled_and_lacks_nothing() {
        let alone = transport(Line::Plain, "10.20.0.7", "10.20.0.1:8080");
        assert!(alone.is_basic() && !alone.is_limited());
        assert_eq!(alone.carried(), Carried::Plain);
        // TLS spoken by somebody else before us.
        let behind = transport(Line::Plain, "127.0.0.1", "boat.example.org:8443");
        assert!(behind.is_secure() && !behind.is_basic());
        assert_eq!(behind.carried(), Carried::Encrypted);
    }

    #[test]
    fn each_listener_has_its_own_origins() {
        let (twin, tls) = (
            transport(Line::Twin, "10.20.0.7", "10.20.0.1:8080"),
            transport(Line::Tls, "10.20.0.7", "boat.example.org:8443"),
        );
        assert!(twin.serves("http://10.20.0.1:8080") && !twin.serves("https://boat.example.org"));
        assert!(tls.serves("https://boat.example.org") && !tls.serves("http://10.20.0.1:8080"));
    }

    #[test]
    fn loopback_is_told_by_name_and_address() {
        for host in [
            "localhost",
            "LOCALHOST:80",
            "127.0.0.1:8080",
            "[::1]:8080",
            "127.9.9.9",
        ] {
            assert!(is_loopback(host), "{host}");
        }
        for host in [
            "",
            "10.20.0.1",
            "localhost.evil.test",
            "127.0.0.1.evil.test",
            "[fd00::1]",
        ] {
            assert!(!is_loopback(host), "{host}");
        }
    }
}
