//! The whole boat on one thread and one virtual clock: a box, three tablets, links that flap,
//! delay, double and lose, clocks that step, kills, losses, and a crew that goes on regardless.
//! Every seed is one day; nothing but the seed decides.

use std::collections::{BTreeMap, BTreeSet};

use deckwatch::trip::decide::Signing;
use deckwatch::trip::event::*;
use deckwatch::trip::state::{Phase, Place, State};
use deckwatch::trip::watch::{AlertState, Priority, alerts, next_change};
use uuid::Uuid;

use super::check::Checker;
use super::day::{ALL, At, Day, HOUR, MINUTE, Ms, SECOND, What, account, alone, by_form, instant};
use super::device::{BOUND, Device, GONE_AFTER};
use super::ledger::{Ages, Told};
use super::random::Random;
use super::scene::trip;
use super::server::{Fault, Job, Server};

/// The loop of the box and of a tablet looks at the time so often.
pub const LOOK: Ms = 250;
/// Without an answer for so long, it is sent again.
const PATIENCE: Ms = 5 * SECOND;
/// What was missed is asked for after so long.
const RESYNC: Ms = 10 * SECOND;
/// After everything is mended, everybody agrees within this (TRUST 4, 14).
const AGREED: Ms = 30 * SECOND;

#[derive(Debug, Clone)]
pub enum Happening {
    Act(usize),
    Form {
        device: usize,
        form: EventId,
        act: usize,
        knows: Knows,
    },
    FormLate {
        device: usize,
        form: EventId,
        knows: Knows,
        tries: u8,
    },
    FormDone {
        device: usize,
        form: EventId,
    },
    Up {
        device: usize,
        token: u64,
        batch: Vec<(Told, Ages)>,
        sent_at: Ms,
    },
    UpLate {
        device: usize,
        token: u64,
    },
    Refill {
        device: usize,
        entries: Vec<(Told, Receipt)>,
    },
    Written(u64),
    Down {
        device: usize,
        chain: u32,
        from: usize,
        to: usize,
        entries: Vec<(Told, Receipt)>,
        /// Whose question it answers, and the box's time.
        answers: Option<(u64, Ms, Ms)>,
        acked: Vec<EventId>,
        refilled: bool,
        clashed: bool,
        /// The box does not know the time, and asks: at which time since its start.
        asks: Option<(u32, Ms)>,
    },
    /// What a tablet answers to that.
    TellsTime {
        device: usize,
        asked: (u32, Ms),
        trip_now: Ms,
    },
    Resync(usize),
    Link(usize, bool),
    Sleep(usize, Ms, bool),
    Wake(usize),
    TabKilled(usize),
    Overboard(usize),
    Revoked(usize),
    WallStep(Option<usize>, Ms),
    Killed,
    PowerCut,
    Suspended,
    /// Out of the loss of its medium, or back from a copy.
    BoxLost,
    SetBack,
    Starts {
        off: Option<Ms>,
    },
    Look,
    LookAlone(usize),
    Mended,
    Agreed,
}

pub struct World {
    pub seed: u64,
    pub random: Random,
    pub now: Ms,
    pub server: Server,
    pub devices: Vec<Device>,
    pub day: Day,
    pub checker: Checker,
    queue: BTreeMap<(Ms, u64), Happening>,
    nth: u64,
    /// How rough it is: of a hundred messages so many are lost, and as many doubled.
    pub rough: u64,
    pub mended: bool,
    down_until: Ms,
    /// It is killed in the middle of its next write.
    dies_writing: bool,
    pub trace: Option<Vec<String>>,
    next_id: u128,
    looks_at: Option<Ms>,
    /// How often what was met: what never comes is not tested.
    pub met: BTreeMap<&'static str, u64>,
}

/// What the days must bring, so that the checks mean something.
pub const BROUGHT: &[&str] = &[
    "acknowledged",
    "alarm",
    "alarm on a tablet alone",
    "answer lost",
    "box lost",
    "box set back",
    "clock in doubt",
    "closed",
    "delivered twice",
    "distress",
    "extended",
    "form sent twice",
    "gap",
    "gate refused",
    "ill-founded word kept",
    "killed",
    "left over a reason",
    "link back after a day",
    "machine suspended",
    "overboard",
    "power cut",
    "refilled",
    "reopened",
    "revoked",
    "said alone",
    "stated late",
    "tab killed",
    "tablet slept",
    "unread",
    "unresolved",
    "voided",
    "wall clock stepped",
    "write lost",
];

impl World {
    pub fn new(seed: u64, fault: Fault) -> Self {
        let mut random = Random::new(seed);
        let day = Day::drawn(&mut random);
        let server = Server::new(fault);
        let devices = (0..3)
            .map(|nth| Device::new(nth, server.ledger.clone()))
            .collect();
        let mut world = Self {
            seed,
            now: 0,
            server,
            devices,
            checker: Checker::default(),
            queue: BTreeMap::new(),
            nth: 0,
            rough: random.pick(&[0, 0, 5, 15, 40]),
            mended: false,
            down_until: 0,
            dies_writing: false,
            trace: None,
            next_id: 0,
            looks_at: None,
            met: BTreeMap::new(),
            day,
            random,
        };
        world.plan();
        world
    }

    /// The power fails again and again while no tablet may vouch for the time.
    pub fn without_time(&mut self) {
        let first = self.day.acts.first().map_or(0, |act| act.at);
        for minutes in [-2, 8, 20, 35] {
            let at = (first + minutes * MINUTE).max(SECOND);
            for device in 0..3 {
                self.at(at, Happening::TabKilled(device));
            }
            self.at(at, Happening::PowerCut);
        }
    }

    /// Runs the day to its end, with every check after every step.
    pub fn run(&mut self) -> Result<(), String> {
        while let Some(((at, _), what)) = self.queue.pop_first() {
            self.now = at;
            if let Some(trace) = &mut self.trace {
                trace.push(format!("{:>9.3} s  {}", at as f64 / 1_000.0, brief(&what)));
            }
            let ends = matches!(what, Happening::Agreed);
            self.happen(what);
            self.check(ends)?;
            if ends {
                return Ok(());
            }
        }
        Err("the day has no end".into())
    }

    fn check(&mut self, ends: bool) -> Result<(), String> {
        // The checker looks at the whole world, so it is taken out of it meanwhile.
        let mut checker = std::mem::take(&mut self.checker);
        let checked = checker.step(self, ends);
        self.checker = checker;
        checked
    }

    fn meet(&mut self, what: &'static str) {
        *self.met.entry(what).or_default() += 1;
    }

    pub fn at(&mut self, at: Ms, what: Happening) {
        self.nth += 1;
        self.queue.insert((at, self.nth), what);
    }

    fn after(&mut self, ms: Ms, what: Happening) {
        self.at(self.now + ms, what);
    }

    fn new_id(&mut self) -> EventId {
        self.next_id += 1;
        EventId::new(Uuid::from_u128((0xe << 100) + self.next_id))
    }

    /// What befalls this day.
    fn plan(&mut self) {
        let acts: Vec<Ms> = self.day.acts.iter().map(|act| act.at).collect();
        for (nth, at) in acts.iter().enumerate() {
            self.at(*at, Happening::Act(nth));
        }
        let mut ends = acts.last().copied().unwrap_or(0) + 5 * MINUTE;
        let spread = ends / SECOND;
        for device in 0..3 {
            let flaps = self.random.pick(&[0, 0, 1, 2, 4]);
            for _ in 0..flaps {
                let down = self.random.between(1, spread) * SECOND + self.random.between(0, 999);
                // Mostly seconds (a flap), now and then half the dive.
                let long = if self.random.chance(60) {
                    self.random.between(2, 30) * SECOND
                } else {
                    self.random.between(2, 45) * MINUTE
                };
                self.at(down, Happening::Link(device, false));
                self.at(down + long, Happening::Link(device, true));
            }
        }
        let some = |world: &mut Self, percent: u64, of: &mut dyn FnMut(&mut Self, Ms)| {
            if world.random.chance(percent) {
                let at = world.random.between(1, spread) * SECOND;
                of(world, at);
            }
        };
        for _ in 0..2 {
            some(self, 35, &mut |w, at| w.at(at, Happening::Killed));
            some(self, 20, &mut |w, at| {
                let (device, ms) = (w.random.below(3), w.random.between(20, 1_500) * SECOND);
                let stops = w.random.chance(50);
                w.at(at, Happening::Sleep(device, ms, stops));
            });
            some(self, 25, &mut |w, at| {
                let device = w.random.below(3);
                w.at(at, Happening::TabKilled(device));
            });
        }
        some(self, 20, &mut |w, at| w.at(at, Happening::PowerCut));
        some(self, 10, &mut |w, at| w.at(at, Happening::Suspended));
        some(self, 10, &mut |w, at| w.at(at, Happening::BoxLost));
        some(self, 8, &mut |w, at| w.at(at, Happening::SetBack));
        some(self, 12, &mut |w, at| {
            let device = w.random.below(3);
            w.at(at, Happening::Overboard(device));
        });
        some(self, 8, &mut |w, at| {
            let device = w.random.below(3);
            w.at(at, Happening::Revoked(device));
        });
        some(self, 20, &mut |w, at| {
            let ms = w.random.pick(&[-2 * HOUR, 2 * HOUR, -HOUR, 40 * SECOND]);
            w.at(at, Happening::WallStep(None, ms));
        });
        for device in 0..3 {
            some(self, 15, &mut |w, at| {
                let ms = w.random.pick(&[-HOUR, HOUR, -10 * MINUTE, 30 * SECOND]);
                w.at(at, Happening::WallStep(Some(device), ms));
            });
        }
        // A tablet that comes back after days.
        if self.random.chance(4) {
            let device = self.random.below(3);
            let down = self.random.between(1, spread) * SECOND;
            self.at(down, Happening::Link(device, false));
            ends += 50 * HOUR;
            self.meet("link back after a day");
        }
        self.at(ends, Happening::Mended);
        self.at(ends + AGREED, Happening::Agreed);
    }

    #[expect(clippy::too_many_lines, reason = "a table: one arm for each happening")]
    fn happen(&mut self, what: Happening) {
        match what {
            Happening::Act(act) => self.act(act),
            Happening::Form {
                device,
                form,
                act,
                knows,
            } => {
                let job = Job::Form {
                    device,
                    form,
                    act,
                    knows,
                };
                self.arrives(device, job);
            }
            Happening::FormLate {
                device,
                form,
                knows,
                tries,
            } => self.form_late(device, form, knows, tries),
            Happening::FormDone { device, form } => {
                let d = &mut self.devices[device];
                if d.link && d.awaiting.is_some_and(|(id, _)| id == form) {
                    d.awaiting = None;
                }
            }
            Happening::Up {
                device,
                token,
                batch,
                sent_at,
            } => {
                let job = Job::Delivered {
                    device,
                    token,
                    batch,
                    sent_at,
                };
                self.arrives(device, job);
            }
            Happening::UpLate { device, token } => {
                if self.devices[device].in_flight == Some(token) {
                    self.devices[device].in_flight = None;
                    self.send(device);
                }
            }
            Happening::Refill { device, entries } => {
                self.arrives(device, Job::Refill { device, entries });
            }
            Happening::Written(job) => {
                if let Some(job) = self.server.pending.remove(&job) {
                    self.written(job);
                }
            }
            down @ Happening::Down { .. } => self.down(down),
            Happening::TellsTime {
                device,
                asked,
                trip_now,
            } => self.told_time(device, asked, trip_now),
            Happening::Resync(device) => self.send(device),
            Happening::Link(device, up) => {
                if !self.mended {
                    self.devices[device].link = up;
                    self.links();
                }
            }
            Happening::Sleep(device, ms, stops) => {
                if !self.mended && !self.devices[device].asleep {
                    self.meet("tablet slept");
                    let d = &mut self.devices[device];
                    d.asleep = true;
                    if stops {
                        // Its monotonic clock stands still, and it can tell by the wall clock.
                        d.mono_stopped += ms;
                        d.doubtful = true;
                    }
                    self.links();
                    self.after(ms, Happening::Wake(device));
                }
            }
            Happening::Wake(device) => {
                self.devices[device].asleep = false;
                self.links();
            }
            Happening::TabKilled(device) => {
                self.meet("tab killed");
                let forgets = self.server.fault == Fault::OutboxForgotten;
                self.devices[device].killed(forgets);
                self.links();
                self.send(device);
            }
            Happening::Overboard(device) => {
                if self.devices.iter().filter(|d| d.is_there()).count() > 1 {
                    self.devices[device].lost = true;
                    self.meet("overboard");
                    self.links();
                }
            }
            Happening::Revoked(device) => {
                if self.devices.iter().filter(|d| d.is_there()).count() > 1 {
                    self.server.revoked[device] = true;
                    self.devices[device].revoked = true;
                    self.meet("revoked");
                    self.links();
                }
            }
            Happening::WallStep(None, ms) => {
                self.meet("wall clock stepped");
                self.server.clock.wall_off += ms;
            }
            Happening::WallStep(Some(device), ms) => {
                let d = &mut self.devices[device];
                d.wall_off += ms;
                d.doubtful |= d.vouches(self.now).is_none();
            }
            Happening::Killed => {
                if self.random.chance(70) && self.server.pending.is_empty() {
                    self.dies_writing = true;
                } else {
                    self.stops(None);
                }
            }
            Happening::PowerCut => {
                let off = self.random.pick(&[
                    0,
                    0,
                    -2 * HOUR,
                    2 * HOUR,
                    -26 * HOUR,
                    -1_780_000_000 * SECOND,
                ]);
                self.stops(Some(off));
            }
            Happening::Suspended => self.suspended(),
            Happening::BoxLost if self.server.up && !self.mended => {
                self.meet("box lost");
                self.stops(Some(self.server.clock.wall_off));
                self.server.set_back(0);
            }
            Happening::SetBack if self.server.up && !self.mended => {
                self.meet("box set back");
                let length = self.server.ledger.len();
                let back = self.random.below(8).min(length);
                self.stops(Some(self.server.clock.wall_off));
                self.server.set_back(length - back);
            }
            Happening::Starts { off } => {
                if !self.server.up && self.now >= self.down_until {
                    self.server.starts(self.now, off);
                    self.links();
                    self.look();
                }
            }
            Happening::Look => {
                if self.looks_at.is_some_and(|at| at <= self.now) {
                    self.look();
                }
            }
            Happening::LookAlone(device) => {
                if self.devices[device]
                    .looks_at
                    .is_some_and(|at| at <= self.now)
                {
                    self.look_alone(device);
                }
            }
            Happening::Mended => self.mend(),
            Happening::BoxLost | Happening::SetBack | Happening::Agreed => {}
        }
    }

    /// Whether what a tablet sends now comes to a box that listens.
    fn reaches(&self, device: usize) -> bool {
        let d = &self.devices[device];
        self.server.up && d.link && !d.asleep && d.is_there() && !self.server.revoked[device]
    }

    fn delay(&mut self) -> Ms {
        if !self.mended && self.random.chance(self.rough / 4) {
            self.random.between(900, 4_000)
        } else {
            self.random.between(15, 400)
        }
    }

    fn is_lost(&mut self) -> bool {
        !self.mended && self.random.chance(self.rough)
    }

    /// After anything that may have cut or mended a link.
    fn links(&mut self) {
        for device in 0..self.devices.len() {
            let heard = self.reaches(device);
            let d = &mut self.devices[device];
            match (heard, d.silent_since) {
                (true, Some(_)) => {
                    d.silent_since = None;
                    d.in_flight = None;
                    self.send(device);
                }
                (false, None) => {
                    d.silent_since = Some(self.now);
                    d.looks_at = Some(self.now + GONE_AFTER);
                    self.after(GONE_AFTER, Happening::LookAlone(device));
                }
                _ => {}
            }
        }
    }

    /// A tablet sends what waits, or asks for what it has not heard.
    fn send(&mut self, device: usize) {
        let now = self.now;
        if self.mended && !self.devices[device].is_there() {
            return;
        }
        let d = &self.devices[device];
        if d.in_flight.is_some() || d.asleep || !d.link || !d.is_there() {
            return;
        }
        let most = if d.stuck { 1 } else { 8 };
        let batch = d.batch(now, most);
        let sent_at = d.mono(now);
        self.nth += 1;
        let token = self.nth;
        self.devices[device].in_flight = Some(token);
        self.after(PATIENCE, Happening::UpLate { device, token });
        let up = Happening::Up {
            device,
            token,
            batch,
            sent_at,
        };
        if !self.mended && self.random.chance(self.rough) {
            let again = self.delay() + self.random.between(0, 20) * SECOND;
            self.after(again, up.clone());
        }
        if !self.is_lost() {
            let delay = self.delay();
            self.after(delay, up);
        }
    }

    fn refill(&mut self, device: usize) {
        let d = &self.devices[device];
        let entries = (0..d.copy.len()).map(|at| d.copy.told(at)).collect();
        if !self.is_lost() {
            let delay = self.delay();
            self.after(delay, Happening::Refill { device, entries });
        }
    }

    fn arrives(&mut self, device: usize, job: Job) {
        if !self.reaches(device) {
            return;
        }
        let doubt = &self.server.clock;
        if doubt.doubt_since.is_some() && self.server.fault != Fault::SignsInDoubt {
            match job {
                // A box that does not know the time signs nothing with it: the tablet does.
                Job::Form { form, act, .. } => {
                    if self.devices[device]
                        .awaiting
                        .is_some_and(|(id, _)| id == form)
                    {
                        self.devices[device].awaiting = None;
                        self.say_alone(device, act);
                    }
                    return;
                }
                // Nor does it reckon when something was made, as long as somebody may tell it.
                Job::Delivered { ref batch, .. }
                    if !batch.is_empty() && !doubt.check_now(self.now) =>
                {
                    self.push(device, self.server.ledger.len());
                    return;
                }
                Job::Delivered { .. } | Job::Refill { .. } => {}
            }
        }
        if self.server.fault == Fault::AckBeforeDurable
            && let Job::Delivered {
                device,
                token,
                batch,
                sent_at,
            } = &job
        {
            let ids = batch.iter().map(|(told, _)| told.event.id).collect();
            self.answer(*device, Some((*token, *sent_at)), ids, false, false);
        }
        let sync = self.random.between(2, 120);
        self.nth += 1;
        let nth = self.nth;
        self.server.pending.insert(nth, job);
        if std::mem::take(&mut self.dies_writing) {
            self.after(1, Happening::Killed);
        }
        self.after(sync, Happening::Written(nth));
    }

    /// A word on the time counts only as far as the box's own clock says how old it is: one that
    /// was long under way, or came twice, would set the box back.
    fn told_time(&mut self, device: usize, (start, asked_at): (u32, Ms), trip_now: Ms) {
        let clock = &mut self.server.clock;
        if !self.server.up || start != clock.start || clock.doubt_since.is_none() {
            return;
        }
        let bound = (clock.since_boot(self.now) - asked_at) / 2;
        if bound <= BOUND {
            clock.told(self.now, trip_now + bound);
            self.checker.restarted();
            self.look();
        } else {
            self.push(device, self.server.ledger.len());
        }
    }

    /// On the medium: now it may be answered.
    fn written(&mut self, job: Job) {
        let before = (self.server.ledger.len(), self.server.version);
        let now = instant(self.server.clock.now(self.now));
        match job {
            Job::Delivered {
                device,
                token,
                batch,
                sent_at,
            } => {
                if batch
                    .iter()
                    .any(|(told, _)| self.server.ledger.holds(told.event.id))
                {
                    self.meet("delivered twice");
                }
                if self.server.clock.doubt_since.is_some() {
                    self.checker.stamped_in_doubt(&batch);
                }
                let done = self.server.append(&batch, now);
                let clashed = done.is_err();
                let ids = if clashed {
                    Vec::new()
                } else {
                    batch.iter().map(|(told, _)| told.event.id).collect()
                };
                self.answer(device, Some((token, sent_at)), ids, false, clashed);
            }
            Job::Form {
                device,
                form,
                act,
                knows,
            } => self.form(device, form, act, knows),
            Job::Refill { device, entries } => {
                let mut changed = false;
                for (told, receipt) in &entries {
                    changed |= self.server.ledger.take_in(told, *receipt);
                }
                if changed {
                    self.meet("refilled");
                    self.server.changed();
                    // Receipts may have become better: everybody hears all of it.
                    for other in 0..self.devices.len() {
                        self.push(other, 0);
                    }
                }
                self.answer(device, None, Vec::new(), true, false);
            }
        }
        if self.server.version != before.1 {
            for device in 0..self.devices.len() {
                self.push(device, before.0);
            }
            self.look();
        }
    }

    fn form(&mut self, device: usize, form: EventId, nth: usize, knows: Knows) {
        let crew = self.devices[device].crew;
        let seat = self.server.seats[device];
        if self.server.ledger.holds(form) {
            self.meet("form sent twice");
        } else {
            let now = instant(self.server.clock.now(self.now));
            let state = self.server.state();
            let act = self.day.acts[nth].clone();
            let last = self.server.ledger.entries().iter().rev();
            let last = last.map(|e| &e.event).find(|e| e.device == seat);
            let at = At {
                state: &state,
                log: self.server.ledger.entries(),
                crew,
                now,
                happened: act.happened.map(instant),
                last: last.map(|e| e.id),
                aboard: self.aboard(),
            };
            let stated_late = act.happened.is_some();
            let gate = matches!(act.what, What::Leave { .. } | What::Close { .. });
            let Ok(drafts) = by_form(&act.what, &at) else {
                if gate {
                    self.meet("gate refused");
                }
                let delay = self.delay();
                self.after(delay, Happening::FormDone { device, form });
                return;
            };
            if stated_late {
                self.meet("stated late");
            }
            let signing = Signing {
                id: form,
                trip: trip(),
                device: seat,
                knows,
                by: By {
                    crew: account(crew),
                    name: crew.name.into(),
                    role: crew.role,
                },
                now,
            };
            let next = self.server.ledger.next_seq(seat);
            let batch: Vec<_> = signing
                .sign(next, drafts)
                .into_iter()
                .map(|event| (Told::new(event), (None, None)))
                .collect();
            self.checker.decided(&act.what, &batch, &state);
            let ids: Vec<EventId> = batch.iter().map(|(told, _)| told.event.id).collect();
            for (told, _) in &batch {
                self.said(told, act.happened, true);
            }
            if self.server.append(&batch, now).is_ok() {
                self.checker.acked.extend(ids);
            }
        }
        if !self.is_lost() {
            let delay = self.delay();
            self.after(delay, Happening::FormDone { device, form });
        }
    }

    /// Somebody said something: whom it may truly mislead.
    fn said(&mut self, told: &Told, happened: Option<Ms>, sound_clock: bool) {
        let now = (self.now, happened);
        self.checker.said(
            told,
            now,
            sound_clock,
            &self.day,
            &self.server,
            &self.devices,
        );
    }

    fn aboard(&self) -> BTreeSet<u128> {
        let now = self.now;
        ALL.into_iter()
            .filter(|person| !self.day.is_out(*person, now))
            .collect()
    }

    fn answer(
        &mut self,
        device: usize,
        asked: Option<(u64, Ms)>,
        acked: Vec<EventId>,
        refilled: bool,
        clashed: bool,
    ) {
        self.checker.acked.extend(acked.iter().copied());
        if self.is_lost() {
            self.meet("answer lost");
            return;
        }
        let d = &self.devices[device];
        let from = if d.chain == self.server.chain {
            d.cursor
        } else {
            0
        };
        let box_now = self.server.clock.now(self.now);
        let answers = asked.map(|(token, sent_at)| (token, sent_at, box_now));
        self.tell(device, from, answers, acked, refilled, clashed);
    }

    fn push(&mut self, device: usize, from: usize) {
        if !self.reaches(device) {
            return;
        }
        if self.is_lost() {
            self.after(RESYNC, Happening::Resync(device));
            return;
        }
        self.tell(device, from, None, Vec::new(), false, false);
    }

    fn tell(
        &mut self,
        device: usize,
        from: usize,
        answers: Option<(u64, Ms, Ms)>,
        acked: Vec<EventId>,
        refilled: bool,
        clashed: bool,
    ) {
        let clock = &self.server.clock;
        let to = self.server.ledger.len();
        let entries = (from.min(to)..to)
            .map(|at| self.server.ledger.told(at))
            .collect();
        let down = Happening::Down {
            device,
            chain: self.server.chain,
            from,
            to,
            entries,
            answers,
            acked,
            refilled,
            clashed,
            asks: clock
                .doubt_since
                .map(|_| (clock.start, clock.since_boot(self.now))),
        };
        let delay = self.delay();
        self.after(delay, down);
    }

    fn down(&mut self, down: Happening) {
        let Happening::Down {
            device,
            chain,
            from,
            to,
            entries,
            answers,
            acked,
            refilled,
            clashed,
            asks,
        } = down
        else {
            return;
        };
        let now = self.now;
        let not_refilled = self.server.fault == Fault::NotRefilled;
        let d = &mut self.devices[device];
        if !d.link || d.asleep || !d.is_there() || chain < d.chain {
            return;
        }
        if chain > d.chain {
            // Another box, or an older copy: it gets what this tablet holds.
            (d.chain, d.cursor) = (chain, 0);
            d.must_refill = !not_refilled;
        }
        d.take_in(&entries);
        if from <= d.cursor {
            d.cursor = d.cursor.max(to);
        }
        // What is acknowledged and did not come along is asked for again with the log.
        d.outbox
            .retain(|w| !acked.contains(&w.told.event.id) || !d.copy.holds(w.told.event.id));
        d.stuck = clashed;
        if refilled {
            d.must_refill = false;
        }
        if let Some((token, sent_at, box_now)) = answers
            && d.in_flight == Some(token)
        {
            d.in_flight = None;
            // The time of a box that asks for it is nobody's guide.
            if asks.is_none() {
                d.hear_clock(now, box_now, sent_at);
            }
        }
        if let Some(asked) = asks
            && let Some(trip_now) = self.devices[device].vouches(now)
        {
            let delay = self.delay();
            let tells = Happening::TellsTime {
                device,
                asked,
                trip_now,
            };
            self.after(delay, tells);
        }
        let d = &self.devices[device];
        let (more, must_refill, gap) = (!d.outbox.is_empty(), d.must_refill, from > d.cursor);
        if must_refill {
            self.refill(device);
            self.after(PATIENCE, Happening::Resync(device));
        }
        if (more && !clashed) || gap {
            self.send(device);
        }
    }

    fn act(&mut self, nth: usize) {
        let crew = self.day.acts[nth].crew;
        let d = &self.devices[crew];
        if !d.is_there() || d.asleep {
            return;
        }
        if d.silent_since.is_none() && d.awaiting.is_none() && d.outbox.is_empty() {
            let form = self.new_id();
            self.devices[crew].awaiting = Some((form, nth));
            let knows = self.devices[crew].copy.head();
            self.send_form(crew, form, nth, knows, 0);
        } else {
            self.say_alone(crew, nth);
        }
    }

    /// `knows`: what the page showed; sent again, it still says what it said.
    fn send_form(&mut self, device: usize, form: EventId, act: usize, knows: Knows, tries: u8) {
        let late = Happening::FormLate {
            device,
            form,
            knows: knows.clone(),
            tries,
        };
        self.after(PATIENCE, late);
        if self.is_lost() {
            return;
        }
        let sent = Happening::Form {
            device,
            form,
            act,
            knows,
        };
        if !self.mended && self.random.chance(self.rough) {
            let again = self.delay() + SECOND;
            self.after(again, sent.clone());
        }
        let delay = self.delay();
        self.after(delay, sent);
    }

    fn form_late(&mut self, device: usize, form: EventId, knows: Knows, tries: u8) {
        let d = &mut self.devices[device];
        let Some((_, act)) = d.awaiting.filter(|(id, _)| *id == form) else {
            return;
        };
        if d.silent_since.is_none() && tries < 3 {
            self.send_form(device, form, act, knows, tries + 1);
        } else {
            // The answer never came: it is said again, alone.
            d.awaiting = None;
            if d.is_there() && !d.asleep {
                self.say_alone(device, act);
            }
        }
    }

    fn say_alone(&mut self, device: usize, nth: usize) {
        let (now, aboard) = (self.now, self.aboard());
        let id = self.new_id();
        let act = &self.day.acts[nth];
        let d = &mut self.devices[device];
        let view = d.view();
        let log = d.log();
        let at = At {
            state: &view,
            log: &log,
            crew: d.crew,
            now: instant(d.now(now)),
            happened: act.happened.map(instant),
            last: d.last_said,
            aboard,
        };
        let Some((about, fact)) = alone(&act.what, &at) else {
            return;
        };
        let sound_clock = !d.doubtful;
        let ill_founded = by_form(&act.what, &at).is_err();
        let happened = act.happened;
        let told = d.say(now, id, about, fact, happened);
        self.said(&told, happened, sound_clock);
        self.checker.saved.insert(id, device);
        self.meet("said alone");
        if ill_founded {
            self.meet("ill-founded word kept");
        }
        self.send(device);
        if self.devices[device].is_alone(now) {
            self.look_alone(device);
        }
    }

    /// `how`: killed with its machine running, or with its machine off and the wall clock there.
    fn stops(&mut self, off: Option<Ms>) {
        if !self.server.up || self.mended {
            return;
        }
        let now = self.now;
        let mut random = self.random.clone();
        self.meet(if off.is_some() { "power cut" } else { "killed" });
        if !self.server.pending.is_empty() {
            self.meet("write lost");
        }
        self.server.killed(|| random.chance(50), now);
        self.random = random;
        self.checker.restarted();
        self.links();
        let away = self.random.between(1, 200) * SECOND;
        self.down_until = now + away;
        if off.is_some() {
            self.checker.power_cuts += 1;
        }
        self.after(away, Happening::Starts { off });
    }

    /// The lid is closed for a while: nothing is lost but time.
    fn suspended(&mut self) {
        if !self.server.up || self.mended {
            return;
        }
        self.meet("machine suspended");
        self.server.up = false;
        self.links();
        let away = self.random.between(60, 1_200) * SECOND;
        self.down_until = self.now + away;
        self.after(away, Happening::Starts { off: None });
    }

    fn mend(&mut self) {
        self.mended = true;
        for device in 0..self.devices.len() {
            let d = &mut self.devices[device];
            d.link = true;
            d.asleep = false;
            d.in_flight = None;
            d.awaiting = None;
        }
        if !self.server.up {
            self.server.starts(self.now, None);
            self.look();
        }
        self.links();
        for device in 0..self.devices.len() {
            self.send(device);
        }
    }

    /// The deadline loop of the box: it looks now, and again when the picture next changes.
    fn look(&mut self) {
        if !self.server.up {
            return;
        }
        let (now, trip_now) = (self.now, self.server.clock.now(self.now));
        let state = self.server.state();
        let at = instant(trip_now);
        let alerts = alerts(&state, at);
        if alerts.iter().any(|alert| alert.priority <= Priority::Alarm) {
            self.meet("alarm");
        }
        if alerts
            .iter()
            .any(|alert| alert.state == AlertState::Acknowledged)
        {
            self.meet("acknowledged");
        }
        if self.server.clock.doubt_since.is_some() {
            self.meet("clock in doubt");
        }
        self.meet_state(&state);
        self.looks_at = next_change(&state, &alerts, at).map(|next| {
            let left = super::day::ms_of(next) - trip_now;
            next_look(now + left.max(1))
        });
        self.checker.seen(alerts, self.server.version);
        if let Some(at) = self.looks_at {
            self.at(at, Happening::Look);
        }
    }

    fn meet_state(&mut self, state: &State) {
        let voided = self.server.ledger.entries().last();
        let voided = voided.is_some_and(|e| matches!(e.event.fact, Fact::Voided(_)));
        let people = || state.people.values();
        let met = [
            ("unresolved", people().any(|p| p.place == Place::Unresolved)),
            ("distress", people().any(|p| p.distress)),
            ("unread", !state.unread.is_empty()),
            ("gap", !state.gaps.is_empty()),
            ("reopened", state.reopened),
            ("closed", state.phase == Phase::Closed),
            (
                "left over a reason",
                !state.overrides.iter().all(|o| o.what.0 == "group-limit"),
            ),
            ("voided", voided),
            (
                "extended",
                state
                    .groups
                    .values()
                    .filter_map(|g| g.drop.as_ref())
                    .any(|d| d.granted_min > 0.0),
            ),
        ];
        for (what, _) in met.into_iter().filter(|(_, is)| *is) {
            self.meet(what);
        }
    }

    /// A tablet alone looks at its own view.
    fn look_alone(&mut self, device: usize) {
        let now = self.now;
        let d = &mut self.devices[device];
        if !d.is_alone(now) || d.asleep || d.lost {
            return;
        }
        let trip_now = d.now(now);
        let (view, at) = (d.view(), instant(trip_now));
        let alerts = alerts(&view, at);
        d.looks_at = next_change(&view, &alerts, at).map(|next| {
            let left = super::day::ms_of(next) - trip_now;
            next_look(now + left.max(1))
        });
        if let Some(at) = d.looks_at {
            self.at(at, Happening::LookAlone(device));
        }
        if alerts.iter().any(|alert| alert.priority <= Priority::Alarm) {
            self.meet("alarm on a tablet alone");
        }
        self.checker.alone(device, alerts);
    }
}

/// The first look at or after an instant.
fn next_look(at: Ms) -> Ms {
    at.div_euclid(LOOK) * LOOK + if at.rem_euclid(LOOK) == 0 { 0 } else { LOOK }
}

fn brief(what: &Happening) -> String {
    let mut text = format!("{what:?}");
    text.truncate(160);
    text
}
