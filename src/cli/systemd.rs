//! Telling systemd that the box is ready, alive or stopping: one datagram each, as
//! `sd_notify(3)` describes; nothing where systemd does not ask.

use std::os::linux::net::SocketAddrExt as _;
use std::os::unix::net::{SocketAddr, UnixDatagram};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Where systemd listens, if it does.
#[derive(Debug, Clone, Default)]
pub(super) struct Systemd(Option<Arc<(UnixDatagram, SocketAddr)>>);

impl Systemd {
    /// `socket`: the variable `NOTIFY_SOCKET`; a name that starts with `@` is an abstract one.
    pub(super) fn new(socket: Option<PathBuf>) -> Self {
        let Some(path) = socket.filter(|path| !path.as_os_str().is_empty()) else {
            return Self(None);
        };
        match reach(&path) {
            Ok(reached) => Self(Some(Arc::new(reached))),
            Err(cause) => {
                tracing::error!(%cause, socket = %path.display(), "systemd cannot be told that the box is alive");
                Self(None)
            }
        }
    }

    /// The box answers.
    pub(super) fn ready(&self) {
        self.tell("READY=1");
    }

    /// The deadline loop has made its turn.
    pub(super) fn alive(&self) {
        self.tell("WATCHDOG=1");
    }

    /// The box stops in order.
    pub(super) fn stopping(&self) {
        self.tell("STOPPING=1");
    }

    fn tell(&self, what: &str) {
        let Some(reached) = &self.0 else {
            return;
        };
        let (socket, address) = reached.as_ref();
        if let Err(cause) = socket.send_to_addr(what.as_bytes(), address) {
            tracing::warn!(%cause, what, "systemd could not be told");
        }
    }
}

fn reach(path: &Path) -> std::io::Result<(UnixDatagram, SocketAddr)> {
    let name = path.as_os_str().as_encoded_bytes();
    let address = match name.strip_prefix(b"@") {
        Some(name) => SocketAddr::from_abstract_name(name)?,
        None => SocketAddr::from_pathname(path)?,
    };
    let socket = UnixDatagram::unbound()?;
    // The loop of the deadlines waits for nobody.
    socket.set_nonblocking(true)?;
    Ok((socket, address))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_word_is_one_datagram() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("notify");
        let listens = UnixDatagram::bind(&path).unwrap();
        let systemd = Systemd::new(Some(path));
        systemd.ready();
        systemd.alive();
        systemd.stopping();
        for word in ["READY=1", "WATCHDOG=1", "STOPPING=1"] {
            let mut taken = [0; 64];
            let count = listens.recv(&mut taken).unwrap();
            assert_eq!(&taken[..count], word.as_bytes());
        }
    }

    #[test]
    fn without_systemd_nothing_is_told() {
        for socket in [
            None,
            Some(PathBuf::new()),
            Some(PathBuf::from("/nowhere/at/all")),
        ] {
            Systemd::new(socket).alive();
        }
    }
}
