//! A player of sentences: what instruments do on a network, from a track made for these tests.

use std::time::Duration;

use deckwatch::instruments::{Instruments, Received, Source};
use tokio::io::AsyncWriteExt;
use tokio::net::{TcpListener, TcpStream};
use tokio::time::timeout;

/// Longest that a test waits for what should come at once.
const LONGEST: Duration = Duration::from_secs(20);

/// A body as a sentence with its checksum and end.
pub fn sealed(body: &str) -> String {
    let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
    let open = if body.contains("VDM") { '!' } else { '$' };
    format!("{open}{body}*{sum:02X}\r\n")
}

/// A good fix at this latitude, on the meridian of 30° W, as a whole sentence: the minutes of
/// latitude beyond 45° N.
pub fn fix(minutes: f64) -> String {
    sealed(&format!(
        "GPGGA,100000.00,45{minutes:07.4},N,03000.0000,W,1,09,0.9,1.2,M,48.0,M,,"
    ))
}

/// A server that instruments are read from.
pub struct Player(TcpListener);

impl Player {
    pub async fn start() -> Self {
        Self(TcpListener::bind("127.0.0.1:0").await.unwrap())
    }

    pub fn source(&self) -> Source {
        let address = self.0.local_addr().unwrap();
        format!("tcp://{address}").parse().unwrap()
    }

    /// The next who connects.
    pub async fn listener(&self) -> TcpStream {
        let (stream, _) = timeout(LONGEST, self.0.accept()).await.unwrap().unwrap();
        stream
    }
}

/// Sends bytes as they are.
pub async fn play(to: &mut TcpStream, bytes: impl AsRef<[u8]>) {
    to.write_all(bytes.as_ref()).await.unwrap();
}

/// Waits until what was received is as wanted.
pub async fn until(instruments: &Instruments, wanted: impl Fn(&Received) -> bool) -> Received {
    let mut told = instruments.told();
    timeout(LONGEST, async {
        loop {
            let received = instruments.look();
            if wanted(&received) {
                return received;
            }
            told.changed().await.unwrap();
        }
    })
    .await
    .unwrap_or_else(|_| panic!("still {:?}", instruments.look()))
}
