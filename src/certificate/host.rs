//! Names and addresses a certificate is made for.

use std::fmt;
use std::net::IpAddr;
use std::str::FromStr;

/// A host as browsers are to reach it.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Host {
    /// A name, in lower case.
    Name(String),
    /// An address.
    Address(IpAddr),
}

/// What is no host to make a certificate for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "'{0}' is no host to certify: give a full name or an address, like boat.example.org or 10.20.0.1"
)]
pub struct NoHost(String);

impl FromStr for Host {
    type Err = NoHost;

    /// A name needs a dot: an authority for a single label would be one for everything below a
    /// top level domain. The machine's own name for itself is let through.
    fn from_str(text: &str) -> Result<Self, NoHost> {
        if let Ok(address) = text.parse::<IpAddr>() {
            return Ok(Self::Address(address));
        }
        let name = text.to_ascii_lowercase();
        // RFC 1035, 2.3.1, with digits first as RFC 1123, 2.1 allows.
        let label = |label: &str| {
            let inner = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
            (1..=63).contains(&label.len())
                && label.chars().all(inner)
                && !label.starts_with('-')
                && !label.ends_with('-')
        };
        let labels = name.split('.').count();
        // What ends in digits alone would be taken for an address.
        let numeric = |label: &str| label.chars().all(|c| c.is_ascii_digit());
        let sound = name.len() <= 253
            && name.split('.').all(label)
            && !name.rsplit('.').next().is_some_and(numeric)
            && (labels > 1 || name == "localhost");
        if sound {
            Ok(Self::Name(name))
        } else {
            Err(NoHost(text.escape_debug().to_string()))
        }
    }
}

impl fmt::Display for Host {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Name(name) => f.write_str(name),
            Self::Address(address) => address.fmt(f),
        }
    }
}

impl Host {
    /// The host as an address of the web writes it: an IPv6 address in brackets.
    #[must_use]
    pub fn in_url(&self) -> String {
        match self {
            Self::Address(IpAddr::V6(address)) => format!("[{address}]"),
            Self::Name(_) | Self::Address(IpAddr::V4(_)) => self.to_string(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_and_addresses_are_told_apart_and_the_rest_is_refused() {
        let name = |text: &str| Ok(Host::Name(text.to_owned()));
        assert_eq!("Boat.Example.org".parse(), name("boat.example.org"));
        assert_eq!("localhost".parse(), name("localhost"));
        let address: Host = "10.20.0.1".parse().unwrap();
        assert_eq!(address, Host::Address("10.20.0.1".parse().unwrap()));
        assert_eq!("fd00::1".parse::<Host>().unwrap().in_url(), "[fd00::1]");
        let bad = [
            "",
            "boat",
            "org",
            "*.example.org",
            "boat.example.org:8443",
            "https://boat.example.org",
            "boat..org",
            "-boat.example.org",
            "boat.example.org.",
            "10.20.0",
            "boat example.org",
            "böat.example.org",
        ];
        for text in bad {
            assert!(text.parse::<Host>().is_err(), "{text}");
        }
    }
}
