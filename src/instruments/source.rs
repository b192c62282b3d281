//! Where sentences come from, as it is configured.

use std::fmt;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::str::FromStr;

/// The rate of NMEA 0183 on a serial line.
const USUAL_BAUD: u32 = 4_800;

/// A source of sentences.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Source {
    /// A server that is connected to, `host:port`.
    Tcp(String),
    /// Datagrams that are sent to this address.
    Udp(SocketAddr),
    /// A serial line.
    Serial {
        /// The device.
        path: PathBuf,
        /// Bits a second.
        baud: u32,
    },
}

/// It is no address of a source.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "'{0}' is no address of instruments: give it like tcp://host:10110, udp://0.0.0.0:10110 or \
     serial:///dev/ttyUSB0?baud=4800"
)]
pub struct NoSource(String);

impl FromStr for Source {
    type Err = NoSource;

    fn from_str(text: &str) -> Result<Self, NoSource> {
        let none = || NoSource(text.to_owned());
        let (scheme, rest) = text.split_once("://").ok_or_else(none)?;
        match scheme {
            "tcp" => {
                let (host, port) = rest.rsplit_once(':').ok_or_else(none)?;
                let is_port = port.parse::<u16>().is_ok_and(|port| port > 0);
                let is_host = !host.is_empty() && !host.contains(['/', '?', '@', ' ']);
                (is_host && is_port)
                    .then(|| Self::Tcp(rest.to_owned()))
                    .ok_or_else(none)
            }
            "udp" => rest.parse().map(Self::Udp).map_err(|_| none()),
            "serial" => {
                let (path, asked) = rest.split_once('?').unwrap_or((rest, ""));
                let baud = match asked.split_once('=') {
                    None if asked.is_empty() => USUAL_BAUD,
                    Some(("baud", rate)) => rate.parse().map_err(|_| none())?,
                    _ => return Err(none()),
                };
                let sound = path.starts_with('/') && (300..=4_000_000).contains(&baud);
                let path = PathBuf::from(path);
                sound
                    .then_some(Self::Serial { path, baud })
                    .ok_or_else(none)
            }
            _ => Err(none()),
        }
    }
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Tcp(address) => write!(f, "tcp://{address}"),
            Self::Udp(address) => write!(f, "udp://{address}"),
            Self::Serial { path, baud } => write!(f, "serial://{}?baud={baud}", path.display()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_source_is_written_as_it_is_read() {
        for text in [
            "tcp://10.0.0.5:10110",
            "tcp://[::1]:10110",
            "tcp://plotter.local:2000",
            "udp://0.0.0.0:10110",
            "udp://[::]:10110",
            "serial:///dev/ttyUSB0?baud=38400",
        ] {
            let source: Source = text.parse().unwrap();
            assert_eq!(source.to_string(), text);
        }
        let usual: Source = "serial:///dev/ttyS1".parse().unwrap();
        assert_eq!(usual.to_string(), "serial:///dev/ttyS1?baud=4800");
    }

    #[test]
    fn what_is_none_is_refused_with_what_is_expected() {
        for text in [
            "",
            "tcp://",
            "tcp://host",
            "tcp://:10110",
            "tcp://host:0",
            "tcp://host:99999",
            "tcp://host:10110/x",
            "udp://host:10110",
            "udp://1.2.3.4",
            "http://host:80",
            "serial://ttyUSB0",
            "serial:///dev/ttyUSB0?baud=fast",
            "serial:///dev/ttyUSB0?baud=0",
            "serial:///dev/ttyUSB0?parity=even",
            "/dev/ttyUSB0",
        ] {
            let refused = text.parse::<Source>().unwrap_err().to_string();
            assert!(refused.contains("tcp://host:10110"), "{refused}");
        }
    }
}
