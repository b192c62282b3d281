//! What must hold after every step, whatever befell (numbers are those of the invariants that
//! DEVELOPERS.md lists for the simulator).
#![expect(
    clippy::wildcard_enum_match_arm,
    reason = "names the kinds that a gate writes; the rest leave it alone"
)]

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use deckwatch::trip::event::*;
use deckwatch::trip::state::{Phase, State, fold};
use deckwatch::trip::watch::{Alert, AlertState, Priority, deadlines};

use super::day::{ALL, Day, Ms, SECOND, What, group_of, ms_of};
use super::device::{BOUND, Device};
use super::ledger::{Ages, Told};
use super::random::Random;
use super::reading::{self, Due};
use super::scene::{trip, who};
use super::server::Server;
use super::world::World;

/// From a deadline to its alarm (UX 11, 5 and 6).
const ON_TIME: Ms = SECOND;
/// What is said on a tablet comes to the box or is known to wait within this.
const HEARTBEAT: Ms = 10 * SECOND;

#[derive(Debug)]
struct Last {
    chain: u32,
    hashes: Vec<[u8; 32]>,
    state: Rc<State>,
}

/// When something was truly said.
#[derive(Debug, Clone, Copy)]
struct Made {
    at: Ms,
    /// By a clock that nothing had disturbed; else it may be earlier, never safer.
    sound: bool,
}

#[derive(Debug, Default)]
pub struct Checker {
    /// What the box said it holds.
    pub acked: BTreeSet<EventId>,
    /// What a tablet said is saved on it.
    pub saved: BTreeMap<EventId, usize>,
    pub power_cuts: Ms,
    made: BTreeMap<EventId, Made>,
    in_doubt: BTreeSet<EventId>,
    /// Of whom somebody truly said something false that is safe, or took a true danger back.
    misled: BTreeSet<u128>,
    /// When it was first said of a person that the person went in.
    gone_in: BTreeMap<u128, Ms>,
    last: Option<Last>,
    version: Option<u64>,
    dues: Vec<Due>,
    /// What the box saw when it last looked, and the version of its log then; and before that.
    watch: Option<(Vec<Alert>, u64)>,
    before: Option<(Vec<Alert>, u64)>,
    looked: bool,
    up_since: Option<Ms>,
    alone: Vec<(usize, Vec<Alert>)>,
    wrong: Option<String>,
    random: Option<Random>,
    /// How many steps and states were looked at.
    pub steps: u64,
    pub states: u64,
}

fn sure(holds: bool, what: impl FnOnce() -> String) -> Result<(), String> {
    if holds { Ok(()) } else { Err(what()) }
}

impl Checker {
    /// The alerts that the box has raised by now.
    pub fn seen(&mut self, watch: Vec<Alert>, version: u64) {
        self.before = self.watch.replace((watch, version));
        self.looked = true;
    }

    pub fn alone(&mut self, device: usize, watch: Vec<Alert>) {
        self.alone.push((device, watch));
    }

    /// The box starts anew: what it raised before is not compared.
    pub fn restarted(&mut self) {
        (self.watch, self.before, self.up_since) = (None, None, None);
    }

    /// Notes who is misled by what somebody says.
    pub fn said(
        &mut self,
        told: &Told,
        (now, happened): (Ms, Option<Ms>),
        sound: bool,
        day: &Day,
        server: &Server,
        devices: &[Device],
    ) {
        let event = &told.event;
        let at = happened.unwrap_or(now);
        self.made.insert(event.id, Made { at, sound });
        let taken_back = reading::voids(event).and_then(|of| {
            let copies = devices.iter().map(|d| &d.copy).chain([&server.ledger]);
            let said = copies
                .flat_map(|copy| copy.entries().iter().map(|e| &*e.event))
                .chain(
                    devices
                        .iter()
                        .flat_map(|d| d.outbox.iter().map(|w| &*w.told.event)),
                );
            let mut said = said.filter(|e| e.id == of);
            said.next().cloned()
        });
        for person in ALL {
            let safe = reading::puts(event, who(person)) == Some(true);
            let danger_gone = taken_back
                .as_ref()
                .is_some_and(|of| reading::puts(of, who(person)) == Some(false));
            if (safe && day.is_out(person, now)) || danger_gone {
                self.misled.insert(person);
            }
            if matches!(event.fact, Fact::LeftSurface(_))
                && event.about.persons.contains(&who(person))
            {
                self.gone_in.entry(person).or_insert(now);
            }
        }
    }

    /// Written by a box that does not know the time: it may count from too early, never too late.
    pub fn stamped_in_doubt(&mut self, batch: &[(Told, Ages)]) {
        self.in_doubt
            .extend(batch.iter().map(|(told, _)| told.event.id));
    }

    /// 6: what a form lets through.
    pub fn decided(&mut self, what: &What, batch: &[(Told, Ages)], state: &State) {
        let gate = matches!(what, What::Leave { .. } | What::Close { .. });
        let reasoned = batch.iter().any(|(told, _)| match &told.event.fact {
            Fact::LeftSite(left) => left.override_reason.is_some(),
            Fact::TripClosed(closed) => closed.override_reason.is_some(),
            _ => false,
        });
        let out = state.people.values().any(|p| !p.place.is_accounted());
        if gate && out && !reasoned {
            self.wrong = Some(format!("6: {what:?} went through with somebody out"));
        }
    }

    pub fn step(&mut self, world: &mut World, ends: bool) -> Result<(), String> {
        self.steps += 1;
        if let Some(wrong) = self.wrong.take() {
            return Err(wrong);
        }
        if world.server.up {
            self.up_since.get_or_insert(world.now);
            if self.version != Some(world.server.version) {
                self.version = Some(world.server.version);
                self.changed(world)?;
            }
            self.on_time(world)?;
        }
        for (device, watch) in std::mem::take(&mut self.alone) {
            self.alone_on_time(world, device, &watch)?;
        }
        if ends {
            self.agreed(world)?;
        }
        Ok(())
    }

    /// How far what a tablet or the box says of the time may be out: a tablet by its bound; after
    /// each power cut the box by the tablet's, and what the tablet's word took to come.
    fn slack(&self) -> Ms {
        BOUND * (1 + 2 * self.power_cuts)
    }

    fn changed(&mut self, world: &mut World) -> Result<(), String> {
        self.states += 1;
        let state = world.server.state();
        let ledger = &world.server.ledger;
        let log = ledger.entries();
        // 1
        let counted: usize = state.counts().values().sum();
        sure(counted == state.people.len(), || {
            format!(
                "1: {counted} in places, {} on the roster",
                state.people.len()
            )
        })?;
        // 3
        if world.server.chain == 0 {
            let lost = self.acked.iter().find(|id| !ledger.holds(**id));
            sure(lost.is_none(), || {
                format!("3: acknowledged and not there: {lost:?}")
            })?;
        }
        let once: BTreeSet<EventId> = log.iter().map(|e| e.event.id).collect();
        sure(once.len() == log.len(), || {
            "3: an event stands twice".into()
        })?;
        let in_number = log.iter().zip(1..).all(|(e, n)| e.receipt.entry == n);
        sure(in_number, || {
            "3: entries are not numbered without a gap".into()
        })?;
        // 4
        let last = self.last.take().filter(|l| l.chain == world.server.chain);
        if let Some(last) = &last {
            sure(
                ledger
                    .hashes()
                    .take(last.hashes.len())
                    .eq(last.hashes.iter().copied()),
                || "4: something that was in the log is not as it was".into(),
            )?;
        }
        self.nobody_safer(world, &state)?;
        if let Some(last) = &last {
            not_later(&last.state, &state, &log[last.hashes.len()..])?;
        }
        // 6
        if state.phase == Phase::Closed && state.anybody_out() {
            let reasoned = log.iter().any(|e| {
                matches!(&e.event.fact, Fact::TripClosed(c) if c.override_reason.is_some())
                    && e.event.by.role == Role::Skipper
            });
            sure(reasoned, || {
                "6: closed with somebody out, and no reason".into()
            })?;
        }
        // 11
        for (device, gone) in reading::missing(log) {
            let named: BTreeSet<u64> = state
                .gaps
                .get(&device)
                .into_iter()
                .flatten()
                .copied()
                .collect();
            sure(named == gone, || {
                format!("11: of {device} {gone:?} are missing, {named:?} named")
            })?;
        }
        // 2
        let random = self
            .random
            .get_or_insert_with(|| Random::new(world.seed ^ 0x5a5a));
        if random.chance(6) {
            shuffled(random, log, &state)?;
        }
        self.dues = reading::dues(log);
        self.last = Some(Last {
            chain: world.server.chain,
            hashes: ledger.hashes().collect(),
            state,
        });
        Ok(())
    }

    /// 5, by the log and by the truth; and 12.
    fn nobody_safer(&self, world: &World, state: &State) -> Result<(), String> {
        let (now, log) = (world.now, world.server.ledger.entries());
        for (person, by) in reading::in_danger(log) {
            let is = &state.people[&who(person)];
            sure(!is.place.is_accounted(), || {
                format!("5: {} is {:?} against {by}", is.name(), is.place)
            })?;
        }
        let green = !state.anybody_out()
            && world.server.clock.doubt_since.is_none()
            && state.opened.is_some()
            && world.devices.iter().all(|d| {
                d.silent_since.is_none()
                    && d.chain == world.server.chain
                    && !d.must_refill
                    && d.outbox.iter().all(|w| {
                        self.made
                            .get(&w.told.event.id)
                            .is_some_and(|m| now - m.at < HEARTBEAT)
                    })
            });
        for person in ALL {
            if self.misled.contains(&person) || !world.day.is_out(person, now) {
                continue;
            }
            let dropped = log.iter().any(|e| {
                matches!(e.event.fact, Fact::LeftSurface(_))
                    && e.event.about.persons.contains(&who(person))
            });
            if let Some(is) = state.people.get(&who(person)) {
                sure(!dropped || !is.place.is_accounted(), || {
                    format!("5: {} is truly out and counts as {:?}", is.name(), is.place)
                })?;
            }
            let known = self
                .gone_in
                .get(&person)
                .is_some_and(|at| now - at >= HEARTBEAT);
            sure(!(green && known), || {
                format!(
                    "12: all aboard, and {person} of {} is out",
                    group_of(person)
                )
            })?;
        }
        Ok(())
    }

    /// 8 and 9, and that no deadline passes without its alarm.
    fn on_time(&mut self, world: &World) -> Result<(), String> {
        let (now, clock) = (world.now, &world.server.clock);
        if clock.doubt_since.is_some() {
            // Nobody knows the time: after half a minute all who are down are to be checked.
            self.before = None;
            return sure(
                clock.doubt_since.is_none_or(|since| {
                    now < since + super::server::PATIENCE || clock.check_now(now)
                }),
                || "8: the time is in doubt, and nobody is asked to check".into(),
            );
        }
        let Some((watch, version)) = &self.watch else {
            return Ok(());
        };
        let up_for = self.up_since.map_or(0, |since| now - since);
        for due in &self.dues {
            let key = &due.key;
            let alert = watch.iter().find(|a| a.key == *key && a.until.is_none());
            let late_by = ON_TIME + self.slack();
            if due.surely_down && up_for > ON_TIME {
                sure(now <= due.latest + late_by || alert.is_some(), || {
                    format!(
                        "8: {key} is late since {} ms and nothing sounds",
                        now - due.latest
                    )
                })?;
                let grave = alert.is_some_and(|a| a.priority <= Priority::Alarm);
                sure(now <= due.overdue + late_by || grave, || {
                    format!(
                        "8: {key} is overdue since {} ms, no alarm",
                        now - due.overdue
                    )
                })?;
            }
            let by_time = alert.is_some_and(|a| {
                matches!(a.cause.word().as_str(), "late" | "overdue" | "out-of-gas")
            });
            sure(now + self.slack() >= due.latest || !by_time, || {
                format!("8: {key} sounds {} ms too early", due.latest - now)
            })?;
        }
        if std::mem::take(&mut self.looked) {
            if let Some((before, of)) = &self.before
                && of == version
            {
                steady(before, watch)?;
            }
            for alert in watch.iter().filter(|a| a.state == AlertState::Acknowledged) {
                heard(alert, world.server.ledger.entries(), self.last.as_ref())?;
            }
        }
        Ok(())
    }

    fn alone_on_time(&self, world: &World, device: usize, watch: &[Alert]) -> Result<(), String> {
        let d = &world.devices[device];
        if d.doubtful {
            return Ok(());
        }
        for due in reading::dues(&d.log()) {
            let key = &due.key;
            let alert = watch.iter().find(|a| a.key == *key && a.until.is_none());
            let late_by = ON_TIME + self.slack();
            sure(
                !due.surely_down || world.now <= due.latest + late_by || alert.is_some(),
                || format!("8: tablet {device} is alone, {key} is late, and it is silent"),
            )?;
        }
        Ok(())
    }

    /// 10, 14: everything is mended for half a minute.
    fn agreed(&mut self, world: &mut World) -> Result<(), String> {
        let state = world.server.state();
        let digest = world.server.ledger.digest();
        sure(world.server.ledger.aside().is_empty(), || {
            "20: two contents stand under one number".into()
        })?;
        let slack = self.slack();
        for entry in world.server.ledger.entries() {
            self.stated_in_time(world, entry, slack)?;
        }
        for (nth, device) in world.devices.iter_mut().enumerate() {
            if !device.is_there() {
                continue;
            }
            sure(device.outbox.is_empty(), || {
                format!(
                    "14: tablet {nth} still has {} to deliver",
                    device.outbox.len()
                )
            })?;
            sure(device.copy.digest() == digest, || {
                let (has, box_has) = (device.copy.len(), world.server.ledger.len());
                format!("14: tablet {nth} holds {has} entries, the box {box_has}, not the same")
            })?;
            sure(*device.view() == *state, || {
                format!("10: tablet {nth} makes another state of the same events")
            })?;
        }
        for (id, device) in &self.saved {
            let there = world.devices[*device].is_there();
            sure(!there || world.server.ledger.holds(*id), || {
                format!("14: {id} was saved on tablet {device} and never came")
            })?;
        }
        let random = self.random.get_or_insert_with(|| Random::new(world.seed));
        shuffled(random, world.server.ledger.entries(), &state)
    }

    /// 7: no drop counts from later than it was, whatever the clocks.
    fn stated_in_time(&self, world: &World, entry: &Entry, slack: Ms) -> Result<(), String> {
        let event = &entry.event;
        let (Fact::LeftSurface(_), Some(made)) = (&event.fact, self.made.get(&event.id)) else {
            return Ok(());
        };
        let at = ms_of(entry.time());
        sure(!made.sound || at <= made.at + slack, || {
            format!(
                "7: a drop counts from {} ms later than it was",
                at - made.at
            )
        })?;
        let steady = !self.in_doubt.contains(&event.id)
            && world
                .devices
                .iter()
                .all(|d| d.own != event.device || (d.wall_off == 0 && d.mono_stopped == 0));
        sure(!(made.sound && steady) || at + slack >= made.at, || {
            format!(
                "7: a drop counts from {} ms sooner than it was",
                made.at - at
            )
        })
    }
}

/// 2: any order, any doubling.
fn shuffled(random: &mut Random, log: &[Entry], state: &State) -> Result<(), String> {
    let mut other = log.to_vec();
    for entry in log {
        if random.chance(30) {
            let mut again = entry.clone();
            again.receipt.entry += 1_000;
            again.receipt.recorded_at += jiff::SignedDuration::from_mins(7);
            other.push(again);
        }
    }
    random.shuffle(&mut other);
    let mut folded = fold(trip(), &other);
    // When the last came in is of the delivery, not of what is said.
    folded.last_recorded = state.last_recorded;
    sure(folded == *state, || {
        "2: another order makes another state".into()
    })
}

/// 7: later only by an explicit act.
fn not_later(before: &State, after: &State, new: &[Entry]) -> Result<(), String> {
    let explicit = new.iter().any(|e| {
        matches!(e.event.fact, Fact::MoreTime(_) | Fact::Voided(_)) || e.event.corrects.is_some()
    });
    if explicit {
        return Ok(());
    }
    for (id, group) in &before.groups {
        let Some(was) = deadlines(before, group) else {
            continue;
        };
        let is = after
            .groups
            .get(id)
            .and_then(|group| deadlines(after, group));
        let kept = is.is_some_and(|is| {
            is.expected <= was.expected
                && is.latest <= was.latest
                && is.overdue <= was.overdue
                && is.endurance <= was.endurance
        });
        sure(kept, || {
            format!(
                "7: a deadline of {} moved later: {new:?}",
                group.formed.letter
            )
        })?;
    }
    Ok(())
}

/// 8: without a new entry nothing that sounds goes silent, and nothing sounds from another instant.
fn steady(before: &[Alert], after: &[Alert]) -> Result<(), String> {
    for was in before {
        let is = after.iter().find(|a| a.key == was.key);
        sure(is.is_some(), || {
            format!("8: {} is gone without a word", was.key)
        })?;
        let same = is.is_none_or(|is| is.cause.word() != was.cause.word() || is.since == was.since);
        sure(same, || {
            format!("8: {} holds from another instant", was.key)
        })?;
    }
    Ok(())
}

/// 9: who acknowledged had seen it.
fn heard(alert: &Alert, log: &[Entry], last: Option<&Last>) -> Result<(), String> {
    let acks: Vec<&Entry> = log
        .iter()
        .filter(|e| matches!(&e.event.fact, Fact::AlertAcknowledged(a) if a.alert == alert.key))
        .collect();
    let word = alert.cause.word();
    let by_word = ["distress", "missing", "unresolved"]
        .into_iter()
        .find(|kind| word.starts_with(kind));
    let fits = if by_word.is_some() {
        let standing: Vec<Mark> = last
            .into_iter()
            .flat_map(|l| l.state.people.values())
            .filter(|p| {
                alert.key.ends_with(&p.id.to_string())
                    || p.dives.values().rev().find_map(|d| d.group) == alert.group
                        && alert.group.is_some()
            })
            .flat_map(|p| &p.statements)
            .filter(|s| match by_word {
                Some("distress") => s.signal == Some(Signal::Help),
                Some("missing") => s.place == deckwatch::trip::state::Place::Missing,
                _ => alert.key.ends_with("unresolved"),
            })
            .map(|s| s.mark)
            .collect();
        acks.iter()
            .any(|e| standing.iter().all(|m| e.event.author().saw(*m)))
    } else if word == "late" || word == "overdue" || word == "out-of-gas" {
        acks.iter().any(|e| {
            matches!(&e.event.fact, Fact::AlertAcknowledged(a) if a.cause == word)
                && e.receipt.made_at() >= alert.since
        })
    } else {
        !acks.is_empty()
    };
    sure(fits, || {
        format!(
            "9: {} counts as seen by somebody who had not seen it",
            alert.key
        )
    })
}
