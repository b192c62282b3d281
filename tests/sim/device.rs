//! A tablet as a core without input or output: its copy of the log, what it said and has not
//! delivered, its two clocks, and what it shows and sounds when it is alone.

use std::rc::Rc;

use deckwatch::trip::event::*;
use deckwatch::trip::state::{State, fold};
use uuid::Uuid;

use super::day::{CREW, Ms, SECOND, instant};
use super::ledger::{Ages, Ledger, Told};
use super::scene::{Crew, trip};

/// Nothing heard for so long: the box is gone, and the tablet goes on alone.
pub const GONE_AFTER: Ms = 10 * SECOND;

/// How well a tablet must know the box's time for its word on it to count: half a round trip.
pub const BOUND: Ms = 500;

/// Said, saved here, not delivered.
#[derive(Debug, Clone)]
pub struct Waiting {
    pub told: Told,
    /// By the monotonic clock of the tab it was said in, if that still runs.
    pub mono_at: Option<Ms>,
    pub wall_at: Ms,
    /// Trip time then, as the tablet reckoned it.
    pub trip_at: Ms,
}

#[derive(Debug, Clone)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "what befell a tablet: each by itself"
)]
pub struct Device {
    pub crew: Crew,
    /// The log of its own; one that lost its storage gets a new one.
    pub own: DeviceId,
    pub own_next: u64,
    pub copy: Ledger,
    pub outbox: Vec<Waiting>,
    pub link: bool,
    pub asleep: bool,
    pub lost: bool,
    pub revoked: bool,
    /// Since when nothing is heard of the box, in true time.
    pub silent_since: Option<Ms>,
    /// Which log its cursor counts in, and how far it heard that.
    pub chain: u32,
    pub cursor: usize,
    pub in_flight: Option<u64>,
    /// The form that waits for an answer, and of which act.
    pub awaiting: Option<(EventId, usize)>,
    pub must_refill: bool,
    pub stuck: bool,
    /// How long the monotonic clock stood still.
    pub mono_stopped: Ms,
    pub wall_off: Ms,
    /// Trip time less monotonic time, as heard in this tab.
    offset: Option<Ms>,
    /// Trip time less wall time, as last heard; outlives the tab.
    wall_to_trip: Ms,
    /// The clock it went by was disturbed since it last heard the box: what it says of times is
    /// not to be trusted, and it knows.
    pub doubtful: bool,
    pub last_said: Option<EventId>,
    /// When it next looks at the time while it is alone.
    pub looks_at: Option<Ms>,
    view: Option<Rc<State>>,
}

impl Device {
    pub fn new(nth: usize, copy: Ledger) -> Self {
        let cursor = copy.len();
        Self {
            crew: CREW[nth],
            own: DeviceId::new(Uuid::from_u128(100 + nth as u128)),
            own_next: 1,
            copy,
            outbox: Vec::new(),
            link: true,
            asleep: false,
            lost: false,
            revoked: false,
            silent_since: None,
            chain: 0,
            cursor,
            in_flight: None,
            awaiting: None,
            must_refill: false,
            stuck: false,
            mono_stopped: 0,
            wall_off: 0,
            offset: Some(0),
            wall_to_trip: 0,
            doubtful: false,
            last_said: None,
            looks_at: None,
            view: None,
        }
    }

    pub fn mono(&self, t: Ms) -> Ms {
        t - self.mono_stopped
    }

    pub fn wall(&self, t: Ms) -> Ms {
        t + self.wall_off
    }

    /// Trip time as it reckons it.
    pub fn now(&self, t: Ms) -> Ms {
        match self.offset {
            Some(offset) => self.mono(t) + offset,
            None => self.wall(t) + self.wall_to_trip,
        }
    }

    /// The box's time, as its answer told it, with half the round trip.
    pub fn hear_clock(&mut self, t: Ms, box_now: Ms, sent_at_mono: Ms) {
        let here = self.mono(t);
        let bound = (here - sent_at_mono) / 2;
        if bound > BOUND && self.offset.is_some() && !self.doubtful {
            // What it knows already is better.
            return;
        }
        let there = box_now + bound;
        self.offset = Some(there - here);
        self.wall_to_trip = there - self.wall(t);
        self.doubtful = bound > BOUND;
    }

    /// What it says to a box that lost the time.
    pub fn vouches(&self, t: Ms) -> Option<Ms> {
        (!self.doubtful && self.offset.is_some()).then(|| self.now(t))
    }

    pub fn is_alone(&self, t: Ms) -> bool {
        self.silent_since
            .is_some_and(|since| t >= since + GONE_AFTER)
    }

    pub fn is_there(&self) -> bool {
        !self.lost && !self.revoked
    }

    /// Says something by itself: saved here, in the knowledge of what it holds.
    pub fn say(
        &mut self,
        t: Ms,
        id: EventId,
        about: About,
        fact: Fact,
        happened: Option<Ms>,
    ) -> Told {
        let event = Event {
            id,
            trip: trip(),
            about,
            device: self.own,
            device_seq: self.own_next,
            knows: self.copy.head(),
            by: By {
                crew: super::day::account(self.crew),
                name: self.crew.name.into(),
                role: self.crew.role,
            },
            at: instant(happened.unwrap_or_else(|| self.now(t))),
            app: "0.1.0".into(),
            corrects: None,
            fact,
        };
        self.own_next += 1;
        self.last_said = Some(id);
        let told = Told::new(event);
        self.outbox.push(Waiting {
            told: told.clone(),
            mono_at: Some(self.mono(t)),
            wall_at: self.wall(t),
            trip_at: self.now(t),
        });
        self.view = None;
        told
    }

    /// What is sent now, each with its ages.
    pub fn batch(&self, t: Ms, most: usize) -> Vec<(Told, Ages)> {
        self.outbox
            .iter()
            .take(most)
            .map(|waiting| {
                let wall = self.wall(t) - waiting.wall_at;
                let mono = waiting.mono_at.map(|at| self.mono(t) - at);
                (waiting.told.clone(), (Some(wall.max(0)), mono))
            })
            .collect()
    }

    /// Entries of the box's log; what of the outbox is among them is delivered.
    pub fn take_in(&mut self, entries: &[(Told, Receipt)]) {
        for (told, receipt) in entries {
            if self.copy.take_in(told, *receipt) {
                self.view = None;
            }
            let before = self.outbox.len();
            self.outbox.retain(|w| w.told.event.id != told.event.id);
            if self.outbox.len() < before {
                self.view = None;
            }
        }
    }

    /// The tab is killed: what was saved is there again, the monotonic clock starts anew.
    pub fn killed(&mut self, forgets: bool) {
        self.in_flight = None;
        self.awaiting = None;
        self.offset = None;
        self.doubtful = true;
        self.last_said = None;
        for waiting in &mut self.outbox {
            waiting.mono_at = None;
        }
        if forgets {
            self.outbox.clear();
            self.view = None;
        }
    }

    /// What it shows: the log it heard and its own undelivered words.
    pub fn view(&mut self) -> Rc<State> {
        if let Some(view) = &self.view {
            return Rc::clone(view);
        }
        let view = Rc::new(if self.outbox.is_empty() {
            fold(trip(), self.copy.entries())
        } else {
            fold(trip(), &self.log())
        });
        self.view = Some(Rc::clone(&view));
        view
    }

    pub fn log(&self) -> Vec<Entry> {
        let mut log = self.copy.entries().to_vec();
        log.extend(self.outbox.iter().map(|waiting| {
            let event = Event::clone(&waiting.told.event);
            let receipt = Receipt {
                entry: 1_000_000 + event.device_seq,
                recorded_at: instant(waiting.trip_at),
                wall_age_ms: None,
                mono_age_ms: None,
            };
            Entry::new(event, receipt)
        }));
        log
    }
}
