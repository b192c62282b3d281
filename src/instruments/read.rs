//! Listening: connects, reads into a buffer of fixed size, and when a source fails tries it again,
//! ever more seldom.

use std::path::Path;
use std::time::Duration;

use serial2_tokio::SerialPort;
use tokio::io::{AsyncRead, AsyncReadExt as _};
use tokio::net::{TcpStream, UdpSocket};
use tokio::time::{sleep, timeout};
use tokio_util::sync::CancellationToken;

use super::Instruments;
use super::frame::Framer;
use super::received::Link;
use super::source::Source;

/// Bytes taken at once.
const TAKEN: usize = 2_048;
/// Largest datagram.
const DATAGRAM: usize = 65_536;
/// A connection that is not there by then is tried anew.
const CONNECT: Duration = Duration::from_secs(10);
/// Instruments speak every second: a connection that is silent for so long is dead, even if
/// nobody closed it.
const SILENT: Duration = Duration::from_mins(1);
/// Pauses before the next try: the first, and the longest.
const FIRST_PAUSE: Duration = Duration::from_millis(500);
const LONGEST_PAUSE: Duration = Duration::from_secs(30);

/// Listens until `closing`.
pub(super) async fn listen(
    instruments: Instruments,
    input: usize,
    source: Source,
    closing: CancellationToken,
) {
    let mut pause = FIRST_PAUSE;
    loop {
        instruments.link(input, Link::Opening);
        let mut heard = Heard {
            instruments: &instruments,
            input,
            framer: Framer::default(),
            anything: false,
        };
        let failed = tokio::select! {
            () = closing.cancelled() => return,
            failed = once(&mut heard, &source) => failed,
        };
        let why = match failed {
            Ok(()) => "closed by the other side".to_owned(),
            Err(cause) => cause.to_string(),
        };
        if heard.anything {
            pause = FIRST_PAUSE;
        }
        tracing::warn!(instruments.source = %source, cause = %why, "instruments are not heard");
        instruments.link(input, Link::Failed { why });
        tokio::select! {
            () = closing.cancelled() => return,
            () = sleep(pause) => {}
        }
        pause = (pause * 2).min(LONGEST_PAUSE);
    }
}

/// Where what is read goes.
struct Heard<'a> {
    instruments: &'a Instruments,
    input: usize,
    framer: Framer,
    /// The source has said something since it was opened.
    anything: bool,
}

impl Heard<'_> {
    fn take_in(&mut self, bytes: &[u8]) {
        self.anything = true;
        self.instruments
            .take_in(self.input, &mut self.framer, bytes);
    }
}

async fn once(heard: &mut Heard<'_>, source: &Source) -> std::io::Result<()> {
    match source {
        Source::Tcp(address) => {
            let stream = timeout(CONNECT, TcpStream::connect(address)).await??;
            stream_of(heard, stream).await
        }
        Source::Udp(address) => datagrams(heard, UdpSocket::bind(address).await?).await,
        Source::Serial { path, baud } => stream_of(heard, open(path, *baud)?).await,
    }
}

fn open(path: &Path, baud: u32) -> std::io::Result<SerialPort> {
    SerialPort::open(path, baud)
}

async fn stream_of(heard: &mut Heard<'_>, mut from: impl AsyncRead + Unpin) -> std::io::Result<()> {
    heard.instruments.link(heard.input, Link::Open);
    let mut taken = [0; TAKEN];
    loop {
        let count = timeout(SILENT, from.read(&mut taken)).await??;
        if count == 0 {
            return Ok(());
        }
        heard.take_in(taken.get(..count).unwrap_or_default());
    }
}

/// A datagram holds whole sentences: one that is cut off at its end is not made whole by the
/// next, which may be another's.
async fn datagrams(heard: &mut Heard<'_>, socket: UdpSocket) -> std::io::Result<()> {
    let at = socket.local_addr()?;
    heard.instruments.link(heard.input, Link::Listening { at });
    let mut taken = vec![0; DATAGRAM];
    loop {
        let (count, _) = socket.recv_from(&mut taken).await?;
        heard.take_in(taken.get(..count).unwrap_or_default());
        heard.take_in(b"\n");
    }
}
