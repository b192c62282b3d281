//! What came in so far: the last good fix with its age and source, what was refused and why, the
//! beacons heard. However much comes in, it keeps to its size.

use std::collections::BTreeMap;
use std::net::SocketAddr;

use jiff::{SignedDuration, Timestamp};

use super::frame::Piece;
use super::sentence::{Burst, Fixed, Kind, Refused, Said, Talker, read};
use super::source::Source;
use crate::sea::position::Position;
use crate::trip::event::BeaconHeard;

/// Another receiver takes over when the one in use has given no fix for so long (common practice,
/// no source): they report once a second or oftener.
pub const FRESH: SignedDuration = SignedDuration::from_secs(10);
/// Receivers further apart than this do not agree (common practice, no source).
const APART_M: f64 = 100.0;
/// Messages of one burst of a beacon come within about 14 s (from memory).
const ONE_BURST: SignedDuration = SignedDuration::from_secs(15);
/// A beacon that was in earnest stays so for a minute, whatever it says then.
const IN_EARNEST: SignedDuration = SignedDuration::from_secs(60);
/// Beacons kept; a sea full of them is noise.
const MOST_BEACONS: usize = 32;
/// A beacon not heard for so long makes room for another.
const SILENT: SignedDuration = SignedDuration::from_mins(10);
/// Longest sample of a refused line, characters.
const SAMPLE: usize = 90;

/// Where the boat is, by which receiver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fix {
    /// Where.
    pub position: Position,
    /// When it came in, by this box's clock.
    pub at: Timestamp,
    /// On which input.
    pub input: usize,
    /// Who says so.
    pub talker: Talker,
    /// In which sentence.
    pub kind: Kind,
}

/// How often, and when last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tally {
    /// How often.
    pub count: u64,
    /// When last.
    pub last_at: Timestamp,
    /// The last one as it came, what is no text left out.
    pub sample: String,
}

/// Another receiver says that the boat is elsewhere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Differing {
    /// On which input.
    pub input: usize,
    /// Who.
    pub talker: Talker,
    /// How far off, metres.
    pub apart_m: f64,
    /// When.
    pub at: Timestamp,
}

/// A beacon as its bursts add up.
#[derive(Debug, Clone, PartialEq)]
pub struct Beacon {
    /// The last burst, with the last place and text that any gave.
    burst: Burst,
    /// When it gave its place.
    place_at: Option<Timestamp>,
    /// When it was in earnest last.
    in_earnest_at: Option<Timestamp>,
    /// When it was heard last.
    pub heard_at: Timestamp,
}

impl Beacon {
    fn of(burst: Burst, at: Timestamp) -> Self {
        Self {
            place_at: burst.place.map(|_| at),
            in_earnest_at: (!burst.test).then_some(at),
            heard_at: at,
            burst,
        }
    }

    fn hear(&mut self, burst: Burst, at: Timestamp) {
        let before = std::mem::replace(self, Self::of(burst, at));
        self.in_earnest_at = self.in_earnest_at.or(before.in_earnest_at);
        if self.place_at.is_none() {
            self.place_at = before.place_at;
            self.burst.place = before.burst.place;
            self.burst.place_is_last = before.burst.place_is_last;
        }
        self.burst.text = self.burst.text.take().or(before.burst.text);
    }

    /// What there is to be noted of it. A place from an earlier burst is not said again as if it
    /// were new.
    #[must_use]
    pub fn says(&self) -> BeaconHeard {
        let within = |at: Option<Timestamp>, time| {
            at.is_some_and(|at| self.heard_at.duration_since(at) <= time)
        };
        let place = self
            .burst
            .place
            .filter(|_| within(self.place_at, ONE_BURST));
        BeaconHeard {
            identity: self.burst.identity.clone(),
            sort: self.burst.sort,
            place,
            place_is_last: place.is_some() && self.burst.place_is_last,
            test: !within(self.in_earnest_at, IN_EARNEST),
            text: self.burst.text.clone(),
        }
    }
}

/// How an input does.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Link {
    /// Being opened.
    #[default]
    Opening,
    /// Open.
    Open,
    /// Open to whoever sends to it.
    Listening {
        /// At this address.
        at: SocketAddr,
    },
    /// It failed, and is tried again.
    Failed {
        /// Why, in the words of the system.
        why: String,
    },
}

/// One input.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Input {
    /// Its address.
    pub source: String,
    /// How it does.
    pub link: Link,
    /// Since when.
    pub since: Option<Timestamp>,
    /// When anything came in last.
    pub heard_at: Option<Timestamp>,
}

/// Everything that is known of the instruments.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Received {
    inputs: Vec<Input>,
    fix: Option<Fix>,
    differing: Option<Differing>,
    heard: BTreeMap<Kind, Tally>,
    refused: BTreeMap<&'static str, (Refused, Tally)>,
    /// Inputs whose receiver has a wrong date: its other sentences are not believed either.
    date_off: BTreeMap<usize, Timestamp>,
    beacons: BTreeMap<String, Beacon>,
    /// How many messages of beacons there were.
    bursts: u64,
}

impl Received {
    /// Adds an input; its number.
    pub fn add(&mut self, source: &Source) -> usize {
        self.inputs.push(Input {
            source: source.to_string(),
            link: Link::Opening,
            since: None,
            heard_at: None,
        });
        self.inputs.len() - 1
    }

    /// How an input does now.
    pub fn link(&mut self, input: usize, link: Link, now: Timestamp) {
        if let Some(input) = self.inputs.get_mut(input) {
            input.link = link;
            input.since = Some(now);
        }
    }

    /// Something came in.
    pub(super) fn bytes(&mut self, input: usize, now: Timestamp) {
        if let Some(input) = self.inputs.get_mut(input) {
            input.heard_at = Some(now);
        }
    }

    /// Takes in a line. Whether there is a new fix, or a burst of a beacon.
    pub fn piece(&mut self, input: usize, piece: &Piece, now: Timestamp) -> bool {
        let Piece::Line(line) = piece else {
            self.refuse(Refused::TooLong, &[], now);
            return false;
        };
        match read(line, now) {
            Ok(Said::Fixed(fixed)) => self.fixed(input, fixed, line, now),
            Ok(Said::Beacon(burst)) => {
                self.hear(Kind::Ais, line, now);
                self.beacon(burst, now);
                true
            }
            Ok(Said::Nothing(kind)) => {
                self.hear(kind, line, now);
                false
            }
            Err(why) => {
                if let Refused::DateOff { said } = why {
                    self.date_off.insert(input, said);
                }
                self.refuse(why, line, now);
                false
            }
        }
    }

    fn fixed(&mut self, input: usize, fixed: Fixed, line: &[u8], now: Timestamp) -> bool {
        if fixed.measured_at.is_some() {
            self.date_off.remove(&input);
        } else if let Some(said) = self.date_off.get(&input).copied() {
            self.refuse(Refused::DateOff { said }, line, now);
            return false;
        }
        self.hear(fixed.kind, line, now);
        let Fixed {
            talker,
            kind,
            position,
            ..
        } = fixed;
        let held = self.fix.filter(|fix| {
            (fix.input, fix.talker) != (input, talker) && now.duration_since(fix.at) <= FRESH
        });
        if let Some(held) = held {
            let apart_m = held.position.distance_m(position);
            if apart_m > APART_M {
                self.differing = Some(Differing {
                    input,
                    talker,
                    apart_m,
                    at: now,
                });
            }
            return false;
        }
        self.fix = Some(Fix {
            position,
            at: now,
            input,
            talker,
            kind,
        });
        true
    }

    fn beacon(&mut self, burst: Burst, now: Timestamp) {
        self.bursts = self.bursts.wrapping_add(1);
        if let Some(known) = self.beacons.get_mut(&burst.identity) {
            known.hear(burst, now);
            return;
        }
        if self.beacons.len() >= MOST_BEACONS {
            self.beacons
                .retain(|_, beacon| now.duration_since(beacon.heard_at) < SILENT);
        }
        if self.beacons.len() < MOST_BEACONS {
            let identity = burst.identity.clone();
            self.beacons.insert(identity, Beacon::of(burst, now));
        }
    }

    fn hear(&mut self, kind: Kind, line: &[u8], now: Timestamp) {
        let tally = self.heard.entry(kind).or_insert_with(|| Tally::new(now));
        tally.add(line, now);
    }

    fn refuse(&mut self, why: Refused, line: &[u8], now: Timestamp) {
        let (last, tally) = self
            .refused
            .entry(why.word())
            .or_insert_with(|| (why, Tally::new(now)));
        *last = why;
        tally.add(line, now);
    }

    /// The inputs, in the order they were added.
    #[must_use]
    pub fn inputs(&self) -> &[Input] {
        &self.inputs
    }

    /// The last good fix, however old.
    #[must_use]
    pub fn fix(&self) -> Option<&Fix> {
        self.fix.as_ref()
    }

    /// A receiver that disagreed last, if any did.
    #[must_use]
    pub fn differing(&self) -> Option<&Differing> {
        self.differing.as_ref()
    }

    /// Sentences that were understood, by kind.
    pub fn heard(&self) -> impl Iterator<Item = (Kind, &Tally)> {
        self.heard.iter().map(|(kind, tally)| (*kind, tally))
    }

    /// Sentences that were refused, by reason: the last of each, and how many.
    pub fn refused(&self) -> impl Iterator<Item = (Refused, &Tally)> {
        self.refused.values().map(|(why, tally)| (*why, tally))
    }

    /// How many messages of beacons there were.
    #[must_use]
    pub fn bursts(&self) -> u64 {
        self.bursts
    }

    /// Beacons heard, by identity.
    pub fn beacons(&self) -> impl Iterator<Item = &Beacon> {
        self.beacons.values()
    }
}

impl Tally {
    fn new(now: Timestamp) -> Self {
        Self {
            count: 0,
            last_at: now,
            sample: String::new(),
        }
    }

    fn add(&mut self, line: &[u8], now: Timestamp) {
        self.count = self.count.saturating_add(1);
        self.last_at = now;
        self.sample = line
            .iter()
            .take(SAMPLE)
            .map(|byte| match byte {
                b' '..=b'~' => char::from(*byte),
                _ => '·',
            })
            .collect();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn noon() -> Timestamp {
        "2026-06-01T10:00:00Z".parse().unwrap()
    }

    fn at(s: i64) -> Timestamp {
        noon() + SignedDuration::from_secs(s)
    }

    /// A sentence with its checksum, by the rule of the standard.
    fn line(body: &str) -> Piece {
        let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
        let open = if body.contains("VDM") { '!' } else { '$' };
        Piece::Line(format!("{open}{body}*{sum:02X}").into_bytes())
    }

    fn refused(received: &Received) -> Vec<(&'static str, u64)> {
        received
            .refused()
            .map(|(why, t)| (why.word(), t.count))
            .collect()
    }

    const GGA: &str = "GPGGA,100000,4500.000,N,03000.000,W,1,08,1.0,1.0,M,0.0,M,,";

    #[test]
    fn a_receiver_with_a_wrong_date_is_not_believed_in_its_other_sentences() {
        let mut received = Received::default();
        assert!(received.piece(0, &line(GGA), at(0)));
        let off = "GPRMC,100001,A,4500.000,N,03000.000,W,0.0,0.0,200407,,";
        assert!(!received.piece(0, &line(off), at(1)));
        assert!(!received.piece(0, &line(GGA), at(1)));
        assert!(!received.piece(0, &line("GPGLL,4500.000,N,03000.000,W,100001,A"), at(1)));
        assert_eq!(refused(&received), [("date-off", 3)]);
        assert_eq!(received.fix().unwrap().at, at(0));
        let right = "GPRMC,100002,A,4500.000,N,03000.000,W,0.0,0.0,010626,,";
        assert!(received.piece(0, &line(right), at(2)));
        assert!(received.piece(0, &line(GGA), at(3)));
    }

    #[test]
    fn one_receiver_is_followed_while_it_speaks_and_another_that_disagrees_is_told() {
        let mut received = Received::default();
        let other = GGA
            .replace("GPGGA", "GNGGA")
            .replace("4500.000", "4500.100");
        assert!(received.piece(0, &line(GGA), at(0)));
        assert!(!received.piece(0, &line(&other), at(5)));
        // By hand: a tenth of a minute of latitude is about 185 m.
        let apart = received.differing().unwrap().apart_m;
        assert!((180.0..190.0).contains(&apart), "{apart}");
        assert_eq!(received.fix().unwrap().talker.to_string(), "GP");
        assert!(
            received.piece(0, &line(&other), at(11)),
            "the first fell silent"
        );
        assert_eq!(received.fix().unwrap().talker.to_string(), "GN");
    }

    #[test]
    fn a_flood_of_identities_keeps_to_its_size() {
        let mut received = Received::default();
        for nth in 0..1_000 {
            let burst = Burst {
                identity: format!("97{nth:07}"),
                sort: crate::trip::event::BeaconSort::Locator,
                place: None,
                place_is_last: false,
                test: false,
                text: None,
            };
            received.beacon(burst, at(nth));
        }
        assert!(received.beacons().count() <= MOST_BEACONS);
    }

    proptest! {
        #[test]
        fn whatever_comes_in_is_counted_and_nothing_of_it_is_a_place(
            lines in proptest::collection::vec(proptest::collection::vec(any::<u8>(), 1..120), 0..40),
        ) {
            let mut received = Received::default();
            for (nth, line) in lines.iter().enumerate() {
                received.piece(0, &Piece::Line(line.clone()), at(nth.try_into().unwrap()));
            }
            let heard: u64 = received.heard().map(|(_, tally)| tally.count).sum();
            let refused: u64 = received.refused().map(|(_, tally)| tally.count).sum();
            prop_assert_eq!(heard + refused, lines.len() as u64);
            prop_assert_eq!(received.fix(), None);
        }
    }
}
