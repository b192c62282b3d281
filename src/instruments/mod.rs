//! Instruments: what the boat's own receivers say, over a network or a serial line. Nothing that
//! comes in is trusted: sentences are bounded, checked and refused with a reason that the
//! skipper can see.
//!
//! `frame`, `sentence`, `six_bit`, `source` and `received` are pure; `read` alone listens.

mod frame;
mod read;
mod received;
mod sentence;
mod six_bit;
mod source;

use std::sync::{Arc, Mutex};

use tokio::sync::watch;
use tokio_util::sync::CancellationToken;

use crate::clock::Clock;

pub use frame::{Framer, LONGEST, Piece};
pub use received::{Beacon, Differing, FRESH, Fix, Input, Link, Received, Tally};
pub use sentence::{Burst, Fixed, Kind, Refused, Said, Talker, read};
pub use six_bit::{Report, report};
pub use source::{NoSource, Source};

/// What the instruments said so far, shared by who listens and who looks; cheap to clone.
#[derive(Clone)]
pub struct Instruments(Arc<Inner>);

struct Inner {
    clock: Clock,
    received: Mutex<Received>,
    /// Goes up with whatever comes in, and with each change of an input.
    told: watch::Sender<u64>,
}

impl Instruments {
    /// Nothing connected.
    #[must_use]
    pub fn new(clock: Clock) -> Self {
        Self(Arc::new(Inner {
            clock,
            received: Mutex::default(),
            told: watch::channel(0).0,
        }))
    }

    /// Listens to a source until `closing`; what fails is tried again, ever more seldom.
    pub fn listen(&self, source: Source, closing: CancellationToken) {
        let input = self.change(|received| received.add(&source));
        let own = self.clone();
        tokio::spawn(read::listen(own, input, source, closing));
    }

    /// Everything that is known, as it stands.
    #[must_use]
    pub fn look(&self) -> Received {
        self.change(|received| received.clone())
    }

    /// How many messages of beacons there were.
    #[must_use]
    pub fn bursts(&self) -> u64 {
        self.change(|received| received.bursts())
    }

    /// Tells of whatever comes in and of each change of an input, after it is there to be looked at.
    #[must_use]
    pub fn told(&self) -> watch::Receiver<u64> {
        self.0.told.subscribe()
    }

    /// Takes in bytes of an input.
    fn take_in(&self, input: usize, framer: &mut Framer, bytes: &[u8]) {
        let now = self.0.clock.now();
        self.change(|received| {
            received.bytes(input, now);
            for piece in framer.feed(bytes) {
                received.piece(input, &piece, now);
            }
        });
        self.tell();
    }

    fn tell(&self) {
        self.0
            .told
            .send_modify(|count| *count = count.wrapping_add(1));
    }

    fn link(&self, input: usize, link: Link) {
        let now = self.0.clock.now();
        self.change(|received| received.link(input, link, now));
        self.tell();
    }

    fn change<T>(&self, change: impl FnOnce(&mut Received) -> T) -> T {
        // A panic while it was held leaves counts at worst one behind.
        let mut received = match self.0.received.lock() {
            Ok(received) => received,
            Err(poisoned) => poisoned.into_inner(),
        };
        change(&mut received)
    }
}
