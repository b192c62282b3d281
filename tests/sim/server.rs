//! The box as a core without input or output: its log on the medium, what it is about to write,
//! its clocks, and the alarms it raised.

use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::Arc;

use deckwatch::trip::event::*;
use deckwatch::trip::state::{State, fold};
use uuid::Uuid;

use super::day::{CREW, Ms, SECOND, instant, ms_of, prelude};
use super::ledger::{Ages, Ledger, Told};
use super::scene::trip;

/// A fault planted in a core on purpose: the checks must find it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    None,
    /// The box acknowledges before the write is on the medium.
    AckBeforeDurable,
    /// The box takes the last word for the truth, whatever its author knew.
    LastWriteWins,
    /// Deadlines are judged by the wall clock.
    WallClockDeadline,
    /// A tablet forgets its outbox when its tab is killed.
    OutboxForgotten,
    /// What is delivered twice is appended twice.
    AppendedTwice,
    /// A box that lost the time signs forms with what its wall clock says.
    SignsInDoubt,
    /// A new box asks no tablet for what it holds.
    NotRefilled,
}

/// The clock that the trip runs by: time since boot, which counts through suspend and is never
/// set, and an anchor that is kept. The wall clock is asked only where the machine was off.
#[derive(Debug, Clone)]
pub struct TripClock {
    booted: Ms,
    anchor: Ms,
    /// Which start of the machine this is.
    pub start: u32,
    /// How far the wall clock is from true time.
    pub wall_off: Ms,
    /// Since when nobody vouches for the time, in true time.
    pub doubt_since: Option<Ms>,
    judged_by_wall: bool,
}

/// Without a tablet's word for so long, every group that is down is to be checked.
pub const PATIENCE: Ms = 30 * SECOND;

impl TripClock {
    pub fn now(&self, t: Ms) -> Ms {
        if self.judged_by_wall {
            t + self.wall_off
        } else {
            t - self.booted + self.anchor
        }
    }

    /// The machine was off; all it has is the wall clock, and that it is later than its last
    /// entry.
    fn boot(&mut self, t: Ms, last_recorded: Ms) {
        self.start += 1;
        self.booted = t;
        self.anchor = (t + self.wall_off).max(last_recorded);
        self.doubt_since = Some(t);
    }

    pub fn since_boot(&self, t: Ms) -> Ms {
        t - self.booted
    }

    /// A tablet that counted on says what time it is now.
    pub fn told(&mut self, t: Ms, trip_now: Ms) {
        self.doubt_since = None;
        self.anchor = trip_now - self.since_boot(t);
    }

    pub fn check_now(&self, t: Ms) -> bool {
        self.doubt_since.is_some_and(|since| t >= since + PATIENCE)
    }
}

/// What waits for the medium.
#[derive(Debug, Clone)]
pub enum Job {
    Delivered {
        device: usize,
        token: u64,
        batch: Vec<(Told, Ages)>,
        sent_at: Ms,
    },
    Form {
        device: usize,
        form: EventId,
        act: usize,
        knows: Knows,
    },
    Refill {
        device: usize,
        entries: Vec<(Told, Receipt)>,
    },
}

#[derive(Debug)]
pub struct Server {
    pub ledger: Ledger,
    /// Which log this is: another box, or one set back to an older copy, is another.
    pub chain: u32,
    pub up: bool,
    pub clock: TripClock,
    pub pending: BTreeMap<u64, Job>,
    /// In whose name forms of each tablet are numbered.
    pub seats: [DeviceId; 3],
    pub revoked: [bool; 3],
    pub fault: Fault,
    state: Option<Rc<State>>,
    pub version: u64,
}

fn device(n: u128) -> DeviceId {
    DeviceId::new(Uuid::from_u128(n))
}

impl Server {
    pub fn new(fault: Fault) -> Self {
        let mut ledger = Ledger::default();
        for (told, receipt) in prelude() {
            ledger.take_in(told, *receipt);
        }
        Self {
            ledger,
            chain: 0,
            up: true,
            clock: TripClock {
                booted: 0,
                anchor: 0,
                start: 0,
                wall_off: 0,
                doubt_since: None,
                judged_by_wall: fault == Fault::WallClockDeadline,
            },
            pending: BTreeMap::new(),
            seats: CREW.map(|crew| device(crew.device)),
            revoked: [false; 3],
            fault,
            state: None,
            version: 0,
        }
    }

    pub fn changed(&mut self) {
        self.state = None;
        self.version += 1;
    }

    pub fn state(&mut self) -> Rc<State> {
        if let Some(state) = &self.state {
            return Rc::clone(state);
        }
        let state = Rc::new(if self.fault == Fault::LastWriteWins {
            let mut known = Knows::default();
            let mut log = self.ledger.entries().to_vec();
            for entry in &mut log {
                Arc::make_mut(&mut entry.event).knows = known.clone();
                let seq = known.0.entry(entry.event.device).or_insert(0);
                *seq = entry.event.device_seq.max(*seq);
            }
            fold(trip(), &log)
        } else {
            fold(trip(), self.ledger.entries())
        });
        self.state = Some(Rc::clone(&state));
        state
    }

    /// Loses what is not on the medium. Of what was being written, `written` may be there all
    /// the same: its answer is lost.
    pub fn killed(&mut self, mut written: impl FnMut() -> bool, now: Ms) {
        self.up = false;
        for (_, job) in std::mem::take(&mut self.pending) {
            if let Job::Delivered { batch, .. } = job
                && written()
            {
                let now = instant(self.clock.now(now));
                // A clash is kept aside; nobody hears the answer either way.
                drop(self.append(&batch, now));
            }
        }
    }

    /// `off`: the machine was off, and where its wall clock stands now.
    pub fn starts(&mut self, t: Ms, off: Option<Ms>) {
        self.up = true;
        if let Some(wall_off) = off {
            self.clock.wall_off = wall_off;
            let last = self.ledger.entries().iter().map(|e| e.receipt.recorded_at);
            let last = last.max().map_or(-24 * 3_600 * SECOND, ms_of);
            self.clock.boot(t, last);
        }
        self.changed();
    }

    /// Another box, or this one with an older copy of its log.
    pub fn set_back(&mut self, length: usize) {
        self.ledger.cut(length);
        self.chain += 1;
        // Numbers that were given after the copy are not given again.
        for (seat, nth) in self.seats.iter_mut().zip(0_u128..) {
            *seat = device(1_000 * u128::from(self.chain) + nth);
        }
        self.changed();
    }

    pub fn append(
        &mut self,
        batch: &[(Told, Ages)],
        now: jiff::Timestamp,
    ) -> Result<Vec<super::ledger::Appended>, Vec<super::ledger::Clash>> {
        let before = self.ledger.len();
        let done = self.ledger.append(batch, now);
        if self.fault == Fault::AppendedTwice && done.is_ok() && self.ledger.len() == before {
            for (told, (wall_age_ms, mono_age_ms)) in batch {
                let receipt = Receipt {
                    entry: self.ledger.len() as u64 + 1,
                    recorded_at: now,
                    wall_age_ms: *wall_age_ms,
                    mono_age_ms: *mono_age_ms,
                };
                self.ledger.double(told, receipt);
            }
        }
        if self.ledger.len() > before {
            self.changed();
        }
        done
    }
}
