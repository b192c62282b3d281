//! How good the alarms are: a thousand simulated days, told as figures in `tests/sim/quality.md`.
//!
//! To write it anew: `QUALITY=write cargo nextest run --test sim quality`, then look at it. What is
//! drawn rests on assumptions without a source, which the report names; nothing here is measured
//! at sea, and no threshold is set by it.
#![expect(
    clippy::disallowed_methods,
    reason = "whether to write the report is asked of whoever runs the tests"
)]

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::Path;
use std::sync::Arc;

use deckwatch::trip::event::*;
use deckwatch::trip::watch::{Alert, AlertState, Priority, alerts, next_change};

use super::day::{HOUR, MINUTE, Ms, SECOND, instant, ms_of};
use super::random::Random;
use super::scene::*;

const DAYS: u64 = 1_000;
const LOOK: Ms = 250;
/// Standards of alarm management as UX.md tells them: HSE CHIS6 and EEMUA 191 (one in ten minutes
/// on average, ten in the first ten of an upset), ISA-18.2 (six an hour acceptable, twelve most).
const TEN: Ms = 10 * MINUTE;
/// Pairs of the day and how long after each other they drop.
const GROUPS: u128 = 4;

#[derive(Debug, Clone)]
enum Tap {
    Drop(u128, Option<Ms>),
    Seen(Vec<u128>),
    Aboard(u128),
    Acknowledge(String, String),
}

#[derive(Debug, Default)]
struct Tally {
    watched: Ms,
    sounded: Vec<(u64, Ms)>,
    by_cause: BTreeMap<String, (u64, u64)>,
    late: Vec<Ms>,
    acknowledged: Vec<Ms>,
    rectified: u64,
    worst: usize,
    latest_look: Ms,
}

fn share(random: &mut Random, mean: Ms) -> Ms {
    // The square of a share has many short ones and a few long ones, and the mean of a third. No
    // function of a mathematical library is asked, so that the report is the same everywhere.
    let share = random.share();
    #[expect(clippy::cast_possible_truncation, reason = "minutes")]
    let drawn = (mean as f64 * 3.0 * share * share) as Ms;
    drawn
}

struct Day {
    scene: Scene,
    taps: BTreeMap<(Ms, usize), Tap>,
    /// When each truly came up, and when the group truly went in.
    up: BTreeMap<u128, Ms>,
    entered: BTreeMap<u128, Ms>,
    ends: Ms,
}

fn pair_of(nth: u128) -> [u128; 2] {
    [500 + 2 * nth, 501 + 2 * nth]
}

fn drawn(random: &mut Random) -> Day {
    let mut s = Scene::opened();
    let persons: Vec<u128> = (0..GROUPS).flat_map(pair_of).collect();
    for n in &persons {
        let card = card(&format!("Diver {n}"), Activity::Diver);
        s.by(DESK)
            .says(people(&[*n]), Fact::PersonJoined(PersonJoined { card }));
    }
    s.by(DESK)
        .says(About::nobody().on_dive(1), Fact::DivePlanned(planned()));
    for nth in 0..GROUPS {
        let letter = ["B", "C", "D", "E"][usize::try_from(nth).unwrap()];
        let about = About::nobody().in_group(group(300 + nth), 1);
        s.by(DESK).says(
            about,
            Fact::GroupFormed(formed(letter, &[&pair_of(nth)], 18.0)),
        );
    }
    s.until("08:00")
        .by(HELM)
        .roll(Point::Departure, &persons, &[]);
    s.by(HELM)
        .says(About::nobody().on_dive(1), Fact::OnSite(OnSite {}));
    let lookout = LookoutPosted {
        name: "Jo Quist".into(),
    };
    s.until("08:59")
        .by(HELM)
        .says(About::nobody(), Fact::LookoutPosted(lookout));
    let mut day = Day {
        scene: s,
        taps: BTreeMap::new(),
        up: BTreeMap::new(),
        entered: BTreeMap::new(),
        ends: 0,
    };
    // On one day in five the phone on deck is lost: until another is at hand taps wait.
    let lost = random.chance(20).then(|| random.between(0, 70) * MINUTE);
    let mut enters = 0;
    for nth in 0..GROUPS {
        enters += random.between(3 * 60, 8 * 60) * SECOND;
        day.group(random, nth, enters, lost);
    }
    day
}

impl Day {
    fn tap(&mut self, at: Ms, lost: Option<Ms>, tap: Tap) {
        let waits = lost.is_some_and(|from| (from..from + 5 * MINUTE).contains(&at));
        let at = if waits {
            at.max(lost.unwrap_or(0) + 5 * MINUTE)
        } else {
            at
        };
        let nth = self.taps.len();
        self.taps.insert((at, nth), tap);
        self.ends = self.ends.max(at);
    }

    fn group(&mut self, random: &mut Random, nth: u128, enters: Ms, lost: Option<Ms>) {
        self.entered.insert(nth, enters);
        let (late, stated) = if random.chance(15) {
            (
                random.between(60, 240) * SECOND,
                random.chance(50).then_some(enters),
            )
        } else {
            (random.between(0, 20) * SECOND, None)
        };
        self.tap(enters + late, lost, Tap::Drop(nth, stated));
        // Log-normal about the plan, deviation a tenth: the exponential to the third power of it.
        let z = random.normal() * 0.1;
        let run = 40.0 * (1.0 + z + z * z / 2.0 + z * z * z / 6.0);
        #[expect(clippy::cast_possible_truncation, reason = "two hours at most")]
        let up = enters + (run * MINUTE as f64) as Ms;
        let apart = if random.chance(8) {
            random.between(60, 360) * SECOND
        } else {
            0
        };
        let [one, other] = pair_of(nth);
        self.up.extend([(one, up), (other, up + apart)]);
        let waits = |random: &mut Random| {
            if random.chance(20) {
                share(random, 4 * MINUTE)
            } else {
                share(random, 30 * SECOND)
            }
        };
        if random.chance(70) {
            if apart == 0 {
                let at = up + waits(random);
                self.tap(at, lost, Tap::Seen(vec![one, other]));
            } else {
                let at = up + waits(random);
                self.tap(at, lost, Tap::Seen(vec![one]));
                let at = up + apart + waits(random);
                self.tap(at, lost, Tap::Seen(vec![other]));
            }
        }
        for (person, up) in [(one, up), (other, up + apart)] {
            let at = up + random.between(120, 480) * SECOND + waits(random);
            self.tap(at, lost, Tap::Aboard(person));
        }
    }

    fn take(&mut self, at: Ms, tap: &Tap) {
        self.scene.now = instant(at);
        let of = |person: u128| (person - 500) / 2;
        match tap {
            Tap::Drop(nth, stated) => {
                let about = people(&pair_of(*nth)).in_group(group(300 + nth), 1);
                let window = WINDOW;
                let (place, owes) = (None, Vec::new());
                let fact = Fact::LeftSurface(LeftSurface {
                    window,
                    place,
                    owes,
                });
                self.scene.by(DECK).says(about, fact);
                if let (Some(stated), Some(last)) = (stated, self.scene.log.last_mut()) {
                    Arc::make_mut(&mut last.event).at = instant(*stated);
                }
            }
            Tap::Seen(persons) => {
                let about = people(persons).in_group(group(300 + of(persons[0])), 1);
                self.scene.by(DECK).says(about, at_surface(Signal::Well));
            }
            Tap::Aboard(person) => {
                let about = people(&[*person]).in_group(group(300 + of(*person)), 1);
                self.scene.by(DECK).says(about, aboard_own());
            }
            Tap::Acknowledge(alert, cause) => {
                let (alert, cause) = (alert.clone(), cause.clone());
                let fact = Fact::AlertAcknowledged(AlertAcknowledged { alert, cause });
                self.scene.by(HELM).says(About::nobody(), fact);
            }
        }
    }

    /// Whether everybody of an alert's group was truly up and well when it sounded.
    fn is_false(&self, alert: &Alert, at: Ms) -> bool {
        (0..GROUPS)
            .filter(|nth| alert.group == Some(group(300 + nth)))
            .all(|nth| pair_of(nth).iter().all(|person| self.up[person] <= at))
    }
}

/// Lives through one day: box and tablets look every 250 ms.
fn live(seed: u64, tally: &mut Tally) {
    let mut random = Random::new(seed);
    let mut day = drawn(&mut random);
    let phase = random.between(0, LOOK - 1);
    let look_at = |at: Ms| {
        (at - phase).div_euclid(LOOK) * LOOK
            + phase
            + if (at - phase).rem_euclid(LOOK) == 0 {
                0
            } else {
                LOOK
            }
    };
    let mut sounded: BTreeMap<(String, String), Ms> = BTreeMap::new();
    let mut due: BTreeSet<(Ms, String, String)> = BTreeSet::new();
    let mut at = 0;
    let mut state = day.scene.state();
    let mut times: Vec<Ms> = Vec::new();
    loop {
        let found = alerts(&state, instant(at));
        for alert in found
            .iter()
            .filter(|a| a.priority < Priority::Caution && a.until.is_none())
        {
            let key = (alert.key.clone(), alert.cause.word());
            if alert.state != AlertState::Active || sounded.contains_key(&key) {
                continue;
            }
            // What is said late of an earlier time cannot sound before it is said.
            let missed = at - ms_of(alert.since);
            let known = at - ms_of(state.last_recorded.unwrap_or(alert.since));
            let late = missed.min(known.max(0));
            assert!(
                late <= SECOND,
                "seed {seed}: {} sounds {late} ms late",
                alert.key
            );
            tally.latest_look = tally.latest_look.max(late);
            sounded.insert(key.clone(), at);
            times.push(at);
            let wrong = day.is_false(alert, at);
            let kind = key.1.split(' ').next().unwrap_or_default().to_owned();
            let count = tally.by_cause.entry(kind.clone()).or_default();
            count.0 += 1;
            count.1 += u64::from(wrong);
            if kind == "late" && !wrong {
                let nth = (0..GROUPS)
                    .find(|nth| alert.group == Some(group(300 + nth)))
                    .unwrap();
                let truly = day.entered[&nth] + Ms::from(WINDOW.latest_s) * SECOND;
                tally.late.push(at - truly);
            }
            let delay = 5 * SECOND + share(&mut random, 25 * SECOND);
            due.insert((at + delay, key.0, key.1));
        }
        let changes = next_change(&state, &found, instant(at)).map(|next| look_at(ms_of(next)));
        let tap = day.taps.first_key_value().map(|((at, _), _)| *at);
        let hears = due.first().map(|(at, ..)| *at);
        let Some(next) = [tap, hears, changes.filter(|at| *at <= day.ends)]
            .into_iter()
            .flatten()
            .min()
        else {
            break;
        };
        at = at.max(next);
        let mut changed = false;
        if hears == Some(next) {
            let (when, key, cause) = due.pop_first().unwrap();
            let stands = alerts(&state, instant(at))
                .iter()
                .any(|a| a.key == key && a.cause.word() == cause && a.until.is_none());
            if stands {
                tally
                    .acknowledged
                    .push(when - sounded[&(key.clone(), cause.clone())]);
            } else {
                tally.rectified += 1;
            }
            day.take(at, &Tap::Acknowledge(key, cause));
            changed = true;
        } else if tap == Some(next) {
            let (_, tap) = day.taps.pop_first().unwrap();
            day.take(at, &tap);
            changed = true;
        }
        if changed {
            state = day.scene.state();
            at = look_at(at);
        }
    }
    tally.watched += day.ends - day.entered.values().min().unwrap();
    for from in &times {
        let within = times
            .iter()
            .filter(|t| (*from..from + TEN).contains(t))
            .count();
        tally.worst = tally.worst.max(within);
    }
    tally.sounded.extend(times.into_iter().map(|at| (seed, at)));
}

fn quantile(of: &mut [Ms], percent: usize) -> f64 {
    of.sort_unstable();
    of.get(of.len().saturating_sub(1) * percent / 100)
        .copied()
        .unwrap_or(0) as f64
        / 1_000.0
}

fn report(tally: &mut Tally) -> String {
    let count = tally.sounded.len() as f64;
    let hours = tally.watched as f64 / HOUR as f64;
    let wrong: u64 = tally.by_cause.values().map(|(_, wrong)| wrong).sum();
    let mut text = String::from(HEAD);
    let mut line = |what: &str, figure: String| {
        writeln!(text, "| {what} | {figure} |").unwrap();
    };
    line(
        "days, hours with people in the water or at the surface",
        format!("{DAYS}, {hours:.0}"),
    );
    line(
        "alarms that sounded (late, overdue, partner's clock)",
        format!("{count}"),
    );
    line(
        "alarms an hour (ISA-18.2: 6 acceptable, 12 most)",
        format!("{:.2}", count / hours),
    );
    line(
        "alarms in ten minutes on average (EEMUA 191: 1)",
        format!("{:.2}", count / hours / 6.0),
    );
    line(
        "worst ten minutes of any day (EEMUA 191: 10 in an upset)",
        format!("{}", tally.worst),
    );
    line(
        "false share: everybody of the group was up when it sounded",
        format!("{:.0} %", 100.0 * wrong as f64 / count),
    );
    line(
        "from true lateness to the alarm, median and 95 %",
        format!(
            "{:.1} s, {:.1} s",
            quantile(&mut tally.late, 50),
            quantile(&mut tally.late, 95)
        ),
    );
    line(
        "from the alarm to its acknowledgement, median and 95 % (drawn)",
        format!(
            "{:.0} s, {:.0} s",
            quantile(&mut tally.acknowledged, 50),
            quantile(&mut tally.acknowledged, 95)
        ),
    );
    line(
        "rectified before anybody acknowledged",
        format!("{:.0} %", 100.0 * tally.rectified as f64 / count),
    );
    line(
        "latest look after a deadline that was known",
        format!("{} ms", tally.latest_look),
    );
    text.push_str("\n| cause | sounded | of them false |\n| --- | --- | --- |\n");
    for (cause, (all, wrong)) in &tally.by_cause {
        writeln!(text, "| {cause} | {all} | {wrong} |").unwrap();
    }
    text.push_str(DRILL);
    text
}

/// Held by a test beside the drill's story, which nothing outside the program can tell.
const DRILL: &str = "
## Over the drill's day

Held by `src/cli/demo/day.rs`: a day made to show everything at once, ten groups of four, taps at the
instant of what happens, nobody at a screen and so nobody who acknowledges.

| what | figure |
| --- | --- |
| hours with people out | 2.08 |
| sounded: emergency, alarm, warning | 1, 6, 5 |
| an hour (ISA-18.2: 6 acceptable, 12 most) | 5.8 |
| worst ten minutes (EEMUA 191: 10 in an upset) | 6 |
| everybody of the group was up when it sounded | 1, of whom two phones say different things |
| latest look after a deadline that was known | under 1 s |
";

const HEAD: &str = "# Alarm quality, simulated\n\n\
Written by `tests/sim/quality.rs`; not measured at sea. Assumptions, none with a source: four pairs a\n\
day, three to eight minutes apart; run time log-normal about the plan of 40 minutes, deviation a\n\
tenth, so that half come up after the expected time; 8 % of pairs come up one to six minutes apart;\n\
15 % of drops are tapped one to four minutes late, half of these with the true time; 70 % are tapped\n\
at the surface, all when aboard, two to eight minutes after; a fifth of the taps wait about four\n\
minutes, the rest half a minute; on a fifth of the days a deck phone is lost and taps wait up to five\n\
minutes; nobody is truly in trouble. Acknowledged after 5 s and about 25 s more. Deadlines: late five\n\
minutes after the expected time, overdue ten. A restart of the box changes no figure, as tablets\n\
count on; that they do is what the simulator checks.\n\n\
| what | figure |\n| --- | --- |\n";

#[test]
fn quality_of_the_alarms_is_as_reported() {
    let mut tally = Tally::default();
    for seed in 0..DAYS {
        live(seed, &mut tally);
    }
    let found = report(&mut tally);
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/sim/quality.md");
    if std::env::var("QUALITY").is_ok_and(|what| what == "write") {
        std::fs::write(&path, &found).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        kept == found,
        "the report is another now; look at it, then write it anew:\n{found}"
    );
}
