//! A day as it truly is, and what the crew says of it: two groups in the water, people who come
//! up and board, and crew who tap late, mistake faces, take words back and contradict each other.
#![expect(
    clippy::too_many_lines,
    reason = "tables: what a form and what a tablet says, one arm for each act"
)]

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, OnceLock};

use deckwatch::trip::decide::{self, AboardTap, Decided, DropTap, HeadCount, RollCall, SurfaceTap};
use deckwatch::trip::event::*;
use deckwatch::trip::state::{Phase, Place, State};
use deckwatch::trip::watch::{Alert, AlertState, alerts};
use deckwatch::units::Minutes;
use jiff::Timestamp;
use serde_json::json;

use super::ledger::Told;
use super::random::Random;
use super::scene::*;

/// Milliseconds of true time since nine in the morning of the trip.
pub type Ms = i64;
pub const SECOND: Ms = 1_000;
pub const MINUTE: Ms = 60 * SECOND;
pub const HOUR: Ms = 60 * MINUTE;

/// 2026-06-01T09:00:00Z.
const NINE_MS: i64 = 1_780_304_400_000;

pub fn instant(ms: Ms) -> Timestamp {
    Timestamp::from_millisecond(NINE_MS + ms).unwrap()
}

pub fn ms_of(at: Timestamp) -> Ms {
    at.as_millisecond() - NINE_MS
}

#[test]
fn the_day_begins_at_nine() {
    assert_eq!(instant(0), clock("09:00"));
}

pub const FYNN: u128 = 106;
pub const ALL: [u128; 6] = [ANNA, BELA, CARO, DINO, EDDA, FYNN];
/// Who dives with whom: two pairs in B, one in C.
pub const PAIRS: [(u128, [u128; 2]); 3] = [(B, [ANNA, BELA]), (B, [CARO, DINO]), (C, [EDDA, FYNN])];
/// Whose tablets they are: helm, deck, bow.
pub const CREW: [Crew; 3] = [HELM, DECK, BOW];

pub fn group_of(person: u128) -> u128 {
    if person == EDDA || person == FYNN {
        C
    } else {
        B
    }
}

pub fn members(of: u128) -> Vec<u128> {
    ALL.into_iter().filter(|p| group_of(*p) == of).collect()
}

/// The log up to nine: everybody aboard on the site, both groups formed and checked.
pub fn prelude() -> &'static [(Told, Receipt)] {
    static PRELUDE: OnceLock<Vec<(Told, Receipt)>> = OnceLock::new();
    PRELUDE.get_or_init(|| {
        let mut s = Scene::on_site();
        let fact = Fact::PersonJoined(PersonJoined {
            card: card("Fynn Holt", Activity::Diver),
        });
        s.until("08:10").by(DESK).says(people(&[FYNN]), fact);
        s.by(HELM).roll(Point::Departure, &[FYNN], &[]);
        let about = About::nobody().in_group(group(C), 1);
        let two = formed("C", &[&[EDDA, FYNN]], 18.0);
        s.by(DESK).says(about.clone(), Fact::GroupFormed(two));
        let check = DropChecked {
            engine_neutral: true,
            flag_shown: true,
            lights: None,
        };
        s.by(HELM).says(about, Fact::DropChecked(check));
        s.log
            .into_iter()
            .map(|mut entry| {
                // Limits of plans are tested elsewhere, and reckoning them takes long.
                if let Fact::GroupFormed(formed) = &mut Arc::make_mut(&mut entry.event).fact {
                    formed.limit_override = Some("Ilka Voss: released".into());
                }
                (Told::new(entry.event), entry.receipt)
            })
            .collect()
    })
}

/// Where one person truly is: in the water between these two instants.
#[derive(Debug, Clone, Copy)]
pub struct Truth {
    pub enters: Ms,
    pub boards: Ms,
}

/// Something that somebody of the crew does.
#[derive(Debug, Clone)]
pub struct Act {
    pub at: Ms,
    /// Which of [`CREW`].
    pub crew: usize,
    /// When it happened, if it is stated late.
    pub happened: Option<Ms>,
    pub what: What,
}

#[derive(Debug, Clone)]
pub enum What {
    Drop(u128),
    Buoy(u128, BuoyColour),
    Seen(Vec<u128>, Signal),
    Aboard(u128),
    /// Takes back the last word of this tablet.
    TakeBack,
    /// Takes back some word of the log, counted from its end.
    Void(usize),
    MoreTime(u128),
    Recall,
    Current(f64),
    Acknowledge,
    Quiet,
    Missing(u128),
    Found(u128),
    OthersWell(u128),
    LostContact(u128),
    /// Who is truly aboard is present but for one whom the caller overlooks, or mistakes.
    Roll(Point, Option<u128>),
    Count(Point, i64),
    Leave {
        reason: bool,
    },
    Harbour,
    Close {
        reason: bool,
    },
    Emergency,
    EndEmergency,
    /// A kind of a newer program.
    Dreamt(u128),
}

#[derive(Debug, Clone)]
pub struct Day {
    pub truth: BTreeMap<u128, Truth>,
    pub acts: Vec<Act>,
}

impl Day {
    /// Whether somebody is truly out: in the water, under or at the surface.
    pub fn is_out(&self, person: u128, at: Ms) -> bool {
        self.truth
            .get(&person)
            .is_some_and(|t| t.enters <= at && at < t.boards)
    }

    pub fn drawn(random: &mut Random) -> Self {
        let mut day = Self {
            truth: BTreeMap::new(),
            acts: Vec::new(),
        };
        for of in [B, C] {
            if of == B || random.chance(80) {
                day.dive(random, of);
            }
        }
        for _ in 0..random.between(1, 5) {
            day.extra(random);
        }
        if random.chance(60) {
            day.going_home(random);
        }
        day.acts.sort_by_key(|act| act.at);
        day
    }

    fn act(&mut self, at: Ms, crew: usize, what: What) {
        self.acts.push(Act {
            at,
            crew,
            happened: None,
            what,
        });
    }

    fn dive(&mut self, random: &mut Random, of: u128) {
        let enters = random.between(1, 12) * MINUTE + random.between(0, 59) * SECOND;
        // A tap that comes late says when it was.
        let late = if random.chance(15) {
            random.between(1, 6) * MINUTE
        } else {
            0
        };
        self.acts.push(Act {
            at: enters + late,
            crew: random.below(3),
            happened: (late > 0).then_some(enters),
            what: What::Drop(of),
        });
        for (_, pair) in PAIRS.iter().filter(|(pair_of, _)| *pair_of == of) {
            self.pair(random, enters, *pair);
        }
        if random.chance(25) {
            let colour = random.pick(&[BuoyColour::Orange, BuoyColour::Yellow]);
            let at = enters + random.between(20, 45) * MINUTE;
            self.act(at, random.below(3), What::Buoy(of, colour));
        }
    }

    fn pair(&mut self, random: &mut Random, enters: Ms, pair: [u128; 2]) {
        let run = (40.0 + random.normal() * 5.0).clamp(5.0, 120.0);
        #[expect(clippy::cast_possible_truncation, reason = "two hours at most")]
        let up = enters + (run * MINUTE as f64) as Ms;
        if random.chance(60) {
            let signal = random.pick(&[
                Signal::Well,
                Signal::Well,
                Signal::NoSignal,
                Signal::NoSignal,
                Signal::Help,
            ]);
            let seen = up + random.between(0, 180) * SECOND;
            let who = if random.chance(80) {
                pair.to_vec()
            } else {
                vec![pair[0]]
            };
            self.act(seen, random.below(3), What::Seen(who, signal));
        }
        for (person, nth) in pair.into_iter().zip(0..) {
            let apart = if nth == 1 && random.chance(10) {
                random.between(1, 9) * MINUTE
            } else {
                0
            };
            let boards = up + apart + random.between(120, 700) * SECOND;
            self.truth.insert(person, Truth { enters, boards });
            self.return_of(random, person, boards);
            if random.chance(12) {
                // The wrong face: somebody is ticked who is still down.
                let at = random.between(enters / SECOND + 60, boards / SECOND) * SECOND;
                let crew = random.below(3);
                self.act(at, crew, What::Aboard(person));
                if random.chance(70) {
                    let notices = at + random.between(5, 120) * SECOND;
                    self.act(notices, crew, What::TakeBack);
                }
            }
        }
    }

    fn return_of(&mut self, random: &mut Random, person: u128, boards: Ms) {
        if random.chance(8) {
            // Nobody taps; the roll will tell.
            return;
        }
        let late = if random.chance(20) {
            random.between(1, 15) * MINUTE
        } else {
            random.between(0, 20) * SECOND
        };
        self.acts.push(Act {
            at: boards + late,
            crew: random.below(3),
            happened: (late > MINUTE && random.chance(70)).then_some(boards),
            what: What::Aboard(person),
        });
        if random.chance(15) {
            let at = boards + random.between(-60, 60) * SECOND;
            let word = match random.below(3) {
                0 => What::Seen(vec![person], Signal::NoSignal),
                1 => What::Missing(person),
                _ => What::Roll(Point::Leaving, Some(person)),
            };
            self.act(at, random.below(3), word);
        }
    }

    fn extra(&mut self, random: &mut Random) {
        let at = random.between(3, 75) * MINUTE + random.between(0, 59) * SECOND;
        let person = random.pick(&ALL);
        let what = match random.below(18) {
            0 | 1 => What::MoreTime(random.pick(&[B, C])),
            2 => What::Recall,
            3 => What::Current(random.pick(&[0.2, 0.8, 1.5])),
            4..=6 => What::Acknowledge,
            7 => What::Quiet,
            8 => What::Missing(person),
            9 => What::Found(person),
            10 => What::OthersWell(person),
            11 => What::LostContact(person),
            12 => What::Roll(Point::Leaving, random.chance(50).then_some(person)),
            13 => What::Leave {
                reason: random.chance(40),
            },
            14 => What::Emergency,
            15 => What::EndEmergency,
            16 => What::Void(random.below(12)),
            _ => What::Dreamt(person),
        };
        self.act(at, random.below(3), what);
    }

    fn going_home(&mut self, random: &mut Random) {
        let back = self.truth.values().map(|t| t.boards).max().unwrap_or(0);
        let mut at = back + random.between(1, 20) * MINUTE;
        let wrong = if random.chance(10) { -1 } else { 0 };
        for what in [
            What::Roll(Point::Leaving, None),
            What::Count(Point::Leaving, 0),
            What::Count(Point::Leaving, wrong),
            What::Leave {
                reason: random.chance(30),
            },
            What::Harbour,
            What::Close {
                reason: random.chance(40),
            },
        ] {
            let crew = if matches!(what, What::Count(_, 0)) {
                1
            } else if matches!(what, What::Roll(..) | What::Count(..)) {
                2
            } else {
                0
            };
            self.act(at, crew, what);
            at += random.between(5, 240) * SECOND;
        }
        if random.chance(30) {
            // Somebody looks round once more.
            let person = random.pick(&ALL);
            self.act(at, 1, What::Missing(person));
        }
    }
}

/// What a form needs beside the state.
pub struct At<'a> {
    pub state: &'a State,
    pub log: &'a [Entry],
    pub crew: Crew,
    pub now: Timestamp,
    pub happened: Option<Timestamp>,
    /// The last word of this tablet.
    pub last: Option<EventId>,
    /// Who is truly aboard, as somebody sees who looks round.
    pub aboard: BTreeSet<u128>,
}

pub fn account(crew: Crew) -> CrewId {
    CrewId::new(uuid::Uuid::from_u128(crew.device))
}

pub fn detail() -> Return {
    payload(json!({}))
}

/// Whom the caller of a roll sees. Who is overlooked is not seen; who is out and named all the
/// same is mistaken for somebody.
fn roll(at: &At<'_>, point: Point, except: Option<u128>) -> RollCall {
    let mut present = at.aboard.clone();
    if let Some(person) = except
        && !present.remove(&person)
    {
        present.insert(person);
    }
    let present: BTreeSet<PersonId> = present.into_iter().map(who).collect();
    let not_seen = ALL
        .map(who)
        .into_iter()
        .filter(|p| !present.contains(p))
        .filter(|p| {
            let place = at.state.people.get(p).map(|p| p.place);
            // Who is known to be out is not called.
            !matches!(place, Some(Place::InWater | Place::AtSurface) | None)
        })
        .collect();
    RollCall {
        point,
        present,
        not_seen,
    }
}

fn loudest(at: &At<'_>) -> Option<Alert> {
    alerts(at.state, at.now)
        .into_iter()
        .find(|alert| alert.state == AlertState::Active)
}

/// What a form says now, by the rules of the house.
pub fn by_form(what: &What, at: &At<'_>) -> Decided {
    let (state, now) = (at.state, at.now);
    let skipper = at.crew.role == Role::Skipper;
    let no = || Err(decide::Refusal::new("", "refused-nothing-said").into());
    match what {
        What::Drop(of) => decide::left_surface(
            state,
            DropTap {
                group: group(*of),
                members: set(&members(*of)),
                window: WINDOW,
                owes: Vec::new(),
                place: None,
                at: at.happened,
                night: false,
            },
            now,
        ),
        What::Buoy(of, colour) => {
            decide::buoy(state, group(*of), (*colour, None, None), at.happened, now)
        }
        What::Seen(persons, signal) => decide::surfaced(
            state,
            SurfaceTap {
                persons: set(persons),
                signal: *signal,
                place: None,
                from_boat: None,
                at: at.happened,
            },
            now,
        ),
        What::Aboard(person) => decide::aboard(
            state,
            AboardTap {
                person: who(*person),
                vessel: Vessel::Own,
                seen_by: at.crew.name.into(),
                detail: detail(),
                at: at.happened,
            },
            now,
        ),
        What::TakeBack => match at.last.and_then(|id| find(at.log, id)) {
            Some(entry) => decide::undo(at.log, entry.event.id, entry.event.device, now)
                .or_else(|_| voided(entry, at)),
            None => no(),
        },
        What::Void(nth) => match at.log.iter().rev().nth(*nth) {
            Some(entry) => voided(entry, at),
            None => no(),
        },
        What::MoreTime(of) => {
            let granted = state.groups.get(&group(*of)).and_then(|g| g.drop.as_ref());
            let granted = granted.map_or(0.0, |drop| drop.granted_min);
            let minutes = Minutes::from_min(10.0).unwrap();
            decide::more_time(state, group(*of), minutes, granted, "slack water")
        }
        What::Recall => decide::recall(state, "engine revs"),
        What::Current(kn) => decide::conditions(state, current(*kn)),
        What::Acknowledge => match loudest(at) {
            Some(alert) => decide::acknowledge(state, &alert.key, &alert.cause.word(), now),
            None => no(),
        },
        What::Quiet => match loudest(at) {
            Some(alert) => decide::quiet(state, &alert.key, &alert.cause.word(), now),
            None => no(),
        },
        What::Missing(person) => decide::missing(state, &set(&[*person]), ""),
        What::Found(person) => {
            let vessel = at.aboard.contains(person).then_some(Vessel::Own);
            decide::found(state, who(*person), vessel, at.crew.name, None)
        }
        What::OthersWell(person) => {
            decide::others_well(state, group(group_of(*person)), who(*person))
        }
        What::LostContact(person) => {
            decide::lost_contact(state, group(group_of(*person)), who(*person))
        }
        What::Roll(point, except) => decide::call_roll(state, roll(at, *point, *except)),
        What::Count(point, off) => {
            let (call, open) = state.current_call(*point);
            let round = match open.map(deckwatch::trip::roll::Call::outcome) {
                Some(deckwatch::trip::roll::Outcome::Open { round }) => round,
                _ => 1,
            };
            let heads = i64::try_from(at.aboard.len()).unwrap() + off;
            let count = HeadCount {
                point: *point,
                call,
                round,
                method: Method::Heads,
                people: u32::try_from(heads.max(0)).unwrap(),
            };
            decide::count(state, count, account(at.crew))
        }
        What::Leave { reason } => decide::leave_site(state, reason.then_some("weather"), skipper),
        What::Harbour => decide::back_in_harbour(state),
        What::Close { reason } => decide::close(state, reason.then_some("handed over"), skipper),
        What::Emergency => decide::declare_emergency(state, BTreeSet::new(), "diver lost", None),
        What::EndEmergency => decide::end_emergency(state, "found well", at.crew.role),
        What::Dreamt(_) => no(),
    }
}

fn find(log: &[Entry], id: EventId) -> Option<&Entry> {
    log.iter().find(|entry| entry.event.id == id)
}

fn voided(entry: &Entry, at: &At<'_>) -> Decided {
    let by = decide::Voiding {
        role: at.crew.role,
        crew: account(at.crew),
        device: DeviceId::new(uuid::Uuid::from_u128(at.crew.device)),
        alone: false,
    };
    decide::void(at.log, entry.event.id, "wrong face", by)
}

fn current(kn: f64) -> ConditionsObserved {
    payload(
        json!({"set_deg": 90.0, "drift_kn": kn, "wind_from_deg": null, "wind_kn": null,
        "visibility_m": null, "sea": null, "water_c": null}),
    )
}

/// What a tablet that is alone says without asking any rule: it was seen, so it is kept.
pub fn alone(what: &What, at: &At<'_>) -> Option<(About, Fact)> {
    let of = |n: u128| About::nobody().in_group(group(n), 1);
    let with = |persons: &[u128]| people(persons).in_group(group(group_of(persons[0])), 1);
    let skippers =
        |reason: bool| (reason && at.crew.role == Role::Skipper).then(|| "weather".to_owned());
    Some(match what {
        What::Drop(n) => (
            people(&members(*n)).in_group(group(*n), 1),
            Fact::LeftSurface(LeftSurface {
                window: WINDOW,
                place: None,
                owes: Vec::new(),
            }),
        ),
        What::Buoy(n, colour) => (
            of(*n),
            Fact::BuoySeen(BuoySeen {
                colour: *colour,
                place: None,
                from_boat: None,
            }),
        ),
        What::Seen(persons, signal) => (with(persons), at_surface(*signal)),
        What::Aboard(person) => (with(&[*person]), aboard_own()),
        What::TakeBack => return taking_back(find(at.log, at.last?)?),
        What::Void(nth) => return taking_back(at.log.iter().rev().nth(*nth)?),
        What::MoreTime(n) => {
            let drop = at.state.groups.get(&group(*n))?.drop.as_ref()?;
            let more = payload(
                json!({"minutes": 10.0, "granted_before_min": drop.granted_min,
                "reason": "slack water"}),
            );
            (of(*n), Fact::MoreTime(more))
        }
        What::Recall => (
            About::nobody().on_dive(1),
            Fact::RecallSounded(RecallSounded {
                signal: "engine revs".into(),
            }),
        ),
        What::Current(kn) => (About::nobody(), Fact::ConditionsObserved(current(*kn))),
        What::Acknowledge => {
            let alert = loudest(at)?;
            let (alert, cause) = (alert.key, alert.cause.word());
            let fact = Fact::AlertAcknowledged(AlertAcknowledged { alert, cause });
            (About::nobody(), fact)
        }
        What::Quiet => {
            let alert = loudest(at)?;
            let (alert, cause) = (alert.key, alert.cause.word());
            let fact = Fact::AlertSilenced(AlertSilenced { alert, cause });
            (About::nobody(), fact)
        }
        What::Missing(person) => (
            with(&[*person]),
            Fact::PersonMissing(PersonMissing {
                note: String::new(),
            }),
        ),
        What::Found(person) => {
            let vessel = at.aboard.contains(person).then_some(Vessel::Own);
            let seen_by = at.crew.name.to_owned();
            let found = PersonFound {
                vessel,
                seen_by,
                place: None,
            };
            (with(&[*person]), Fact::PersonFound(found))
        }
        What::OthersWell(person) => {
            let said_by = who(*person);
            (
                of(group_of(*person)),
                Fact::OthersWell(OthersWell { said_by }),
            )
        }
        What::LostContact(person) => {
            let said_by = who(*person);
            (
                of(group_of(*person)),
                Fact::LostContact(LostContact { said_by }),
            )
        }
        What::Roll(point, except) => {
            let roll = roll(at, *point, *except);
            let mut about = About::people(roll.present);
            about.dive = (*point == Point::Leaving).then_some(1);
            let not_seen = roll.not_seen.into_iter().collect();
            (
                about,
                Fact::RollCalled(RollCalled {
                    point: *point,
                    not_seen,
                }),
            )
        }
        // A gate asks for the figures of the log: without the box nobody counts.
        What::Count(..) | What::Close { .. } => return None,
        What::Leave { reason } => {
            // Nobody leaves whom the own tablet shows as out, but with a reason.
            let override_reason = skippers(*reason);
            let out = at.state.anybody_out();
            if at.state.phase != Phase::OnSite || (out && override_reason.is_none()) {
                return None;
            }
            (
                About::nobody().on_dive(1),
                Fact::LeftSite(LeftSite { override_reason }),
            )
        }
        What::Harbour => {
            if at.state.phase != Phase::UnderWay {
                return None;
            }
            (About::nobody(), Fact::BackInHarbour(BackInHarbour {}))
        }
        What::Emergency => (
            About::nobody(),
            Fact::EmergencyDeclared(EmergencyDeclared {
                reason: "diver lost".into(),
                datum: None,
            }),
        ),
        What::EndEmergency => (
            About::nobody(),
            Fact::EmergencyEnded(EmergencyEnded {
                reason: "found well".into(),
            }),
        ),
        What::Dreamt(person) => (with(&[*person]), unread("dreamt")),
    })
}

fn taking_back(entry: &Entry) -> Option<(About, Fact)> {
    if matches!(entry.event.fact, Fact::Voided(_)) || entry.event.at < clock("09:00") {
        return None;
    }
    let voided = Voided {
        of: entry.event.id,
        reason: "wrong face".into(),
        alone: false,
    };
    Some((entry.event.about.clone(), Fact::Voided(voided)))
}
