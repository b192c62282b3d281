//! The drill's story: what the crew logged before it opens, and what happens after if nobody
//! taps first. Every step goes through the same rules as a form.

use std::collections::{BTreeMap, BTreeSet};

use anyhow::Context as _;
use jiff::{SignedDuration, Timestamp};
use uuid::Uuid;

use super::cast::{Cast, Hand, ZONE};
use crate::sea::position::Position;
use crate::store::{Incoming, Store};
use crate::trip::decide::{
    self, AboardTap, Decided, DropTap, FormGroup, OpenTrip, Signing, SurfaceTap,
};
use crate::trip::event::{
    BuoyColour, ConditionsObserved, DivePlanned, DropChecked, Entry, EventId, GroupFormed, GroupId,
    Kit, Knows, LevelPlan, Method, Mode, PersonId, Point, PositionSource, Return, Sea, Signal,
    StopPlan, TripOpened, Vessel,
};
use crate::trip::forecast::{plan_sheet, window_at_drop};
use crate::trip::state::{State, fold};
use crate::trip::{TripId, watch};
use crate::units::{
    CylinderBar, CylinderLitres, Depth, Knots, LitresPerMinute, Minutes, OxygenFraction,
    SetTowards, WindFrom,
};

/// Letters of the drill's groups, in the order of the cast.
const LETTERS: &str = "BCDEFGHJKLM";

/// The group, counted from 0, whose plan owes stops: of dive leaders, certified to 40 m.
const OWES_STOPS: usize = 1;

fn minutes(minutes: i64) -> SignedDuration {
    SignedDuration::from_mins(minutes)
}

fn seconds(seconds: f64) -> SignedDuration {
    SignedDuration::try_from_secs_f64(seconds).unwrap_or(SignedDuration::ZERO)
}

/// The log of the drill as its crew writes it.
struct Scribe<'a> {
    store: &'a Store,
    trip: TripId,
    entries: Vec<Entry>,
}

impl Scribe<'_> {
    fn state(&self) -> State {
        fold(self.trip, &self.entries)
    }

    /// What is logged by `hand` at `at`, knowing everything so far.
    async fn log(
        &mut self,
        hand: &Hand,
        at: Timestamp,
        decide: impl FnOnce(&State) -> Decided,
    ) -> anyhow::Result<()> {
        let state = self.state();
        let knows = state.head.clone();
        self.log_knowing(hand, at, knows, &state, decide).await
    }

    async fn log_knowing(
        &mut self,
        hand: &Hand,
        at: Timestamp,
        knows: Knows,
        state: &State,
        decide: impl FnOnce(&State) -> Decided,
    ) -> anyhow::Result<()> {
        let drafts = decide(state)?;
        let id = self.store.clock().new_uuid().as_u128() & !0xff;
        let signing = Signing {
            id: EventId::new(Uuid::from_u128(id)),
            trip: self.trip,
            device: hand.device,
            knows,
            by: hand.by(),
            now: at,
        };
        let next_seq = state.head.0.get(&hand.device).copied().unwrap_or(0) + 1;
        let events = signing
            .sign(next_seq, drafts)
            .into_iter()
            .map(Incoming::from)
            .collect();
        // New or repeated, it is in the log.
        let _appended: Vec<_> = self.store.append(self.trip, events).await?;
        let after = self.entries.last().map_or(0, |last| last.receipt.entry);
        self.entries
            .extend(self.store.entries(self.trip, after).await?);
        Ok(())
    }

    /// A group drops with its checks at `at`.
    async fn drop_group(
        &mut self,
        hand: &Hand,
        group: GroupId,
        place: (f64, f64),
        at: Timestamp,
    ) -> anyhow::Result<()> {
        let check = DropChecked {
            engine_neutral: true,
            flag_shown: true,
            lights: None,
        };
        self.log(hand, at - minutes(2), |s| {
            decide::check_drop(s, group, check, false, at)
        })
        .await?;
        self.log(hand, at, |s| drop_tap(s, group, place, at)).await
    }

    async fn surface(
        &mut self,
        hand: &Hand,
        persons: &[PersonId],
        signal: Signal,
        place: (f64, f64),
        at: Timestamp,
    ) -> anyhow::Result<()> {
        let state = self.state();
        let tap = surface_tap(&state, persons, signal, place);
        self.log(hand, at, |s| decide::surfaced(s, tap, at)).await
    }

    async fn aboard(
        &mut self,
        hand: &Hand,
        person: PersonId,
        bar: f64,
        depth: f64,
        at: Timestamp,
    ) -> anyhow::Result<()> {
        let tap = aboard_tap(hand, person, bar, depth)?;
        self.log(hand, at, |s| decide::aboard(s, tap, at)).await
    }
}

fn drop_tap(state: &State, id: GroupId, place: (f64, f64), at: Timestamp) -> Decided {
    let group = state
        .groups
        .get(&id)
        .ok_or_else(|| decide::Refusal::new("group", "refused-no-group"))?;
    let members: BTreeSet<PersonId> = group.planned.clone();
    let frozen = window_at_drop(state, group, &members, at)
        .map_err(|_| decide::Refusal::new("group", "refused-no-dive"))?;
    decide::left_surface(
        state,
        DropTap {
            group: id,
            members,
            window: frozen.window,
            owes: frozen.owes,
            place: placed(state, place),
            at: None,
            night: false,
        },
        at,
    )
}

/// A place by metres east and north of the site.
fn placed(state: &State, (east, north): (f64, f64)) -> Option<Position> {
    let site = state.dives.get(&1).map(|dive| dive.site.position)?;
    let (course, length) = (east.atan2(north).to_degrees(), east.hypot(north));
    site.along(course, length).ok()
}

fn surface_tap(
    state: &State,
    persons: &[PersonId],
    signal: Signal,
    place: (f64, f64),
) -> SurfaceTap {
    SurfaceTap {
        persons: persons.iter().copied().collect(),
        signal,
        place: placed(state, place),
        from_boat: None,
        at: None,
    }
}

fn aboard_tap(hand: &Hand, person: PersonId, bar: f64, depth: f64) -> anyhow::Result<AboardTap> {
    Ok(AboardTap {
        person,
        vessel: Vessel::Own,
        seen_by: hand.name.clone(),
        detail: Return {
            surfaced_at: None,
            bar: Some(CylinderBar::from_bar(bar)?),
            greatest_depth_m: Some(Depth::from_m(depth)?),
            stop_done: Some(true),
            problem: None,
        },
        at: None,
    })
}

fn formed(cast: &Cast, nth: usize, letter: char) -> anyhow::Result<GroupFormed> {
    let members = cast.group(nth);
    let (depth, bottom, mode) = match nth % 3 {
        _ if nth == OWES_STOPS => (27.0, 28.0, Mode::Return),
        0 => (18.0, 40.0, Mode::Drift),
        1 => (20.0, 30.0, Mode::Return),
        _ => (
            16.0,
            42.0,
            Mode::OneWay {
                course_deg: SetTowards::from_deg(290.0)?,
            },
        ),
    };
    let kit = members
        .iter()
        .map(|id| {
            Ok((
                *id,
                Kit {
                    cylinder_l: CylinderLitres::from_l(if nth == OWES_STOPS {
                        20.0
                    } else {
                        15.0
                    })?,
                    oxygen: OxygenFraction::from_fraction(0.21)?,
                    start_bar: CylinderBar::from_bar(200.0)?,
                    breathing_l_min: LitresPerMinute::from_l_min(18.0)?,
                },
            ))
        })
        .collect::<anyhow::Result<BTreeMap<_, _>>>()?;
    let levels = vec![LevelPlan {
        depth_m: Depth::from_m(depth)?,
        minutes: Minutes::from_min(bottom)?,
    }];
    let stop = StopPlan {
        depth_m: Depth::from_m(5.0)?,
        minutes: Minutes::from_min(3.0)?,
    };
    Ok(GroupFormed {
        letter: letter.to_string(),
        leader: members.first().copied(),
        units: members.chunks(2).map(<[PersonId]>::to_vec).collect(),
        plan: plan_sheet(levels, stop)?,
        mode,
        exit_zone: Some("North zone".into()),
        entry_place: None,
        kit,
        limit_override: (nth == OWES_STOPS).then(|| {
            format!(
                "{}: dive leaders on 20 l, stops briefed and held on the line",
                cast.desk.name
            )
        }),
        enters_at: None,
    })
}

/// Logs everything up to the opening.
pub async fn open(store: &Store, cast: &Cast, opens_at: Timestamp) -> anyhow::Result<TripId> {
    let trip = TripId::new(store.clock().new_uuid());
    let mut scribe = Scribe {
        store,
        trip,
        entries: Vec::new(),
    };
    let morning = opens_at - minutes(180);
    let groups = plan(&mut scribe, cast, morning).await?;
    depart(&mut scribe, cast, opens_at - minutes(110)).await?;
    dive(&mut scribe, cast, &groups, opens_at).await?;
    lie_to(&mut scribe, cast, opens_at).await?;
    Ok(trip)
}

/// Morning at the desk: roster, dive, groups.
async fn plan(scribe: &mut Scribe<'_>, cast: &Cast, at: Timestamp) -> anyhow::Result<Vec<GroupId>> {
    let opened = TripOpened {
        day: at.to_zoned_datetime(jiff::tz::TimeZone::get(ZONE)?).date(),
        harbour: "Tamsin Quay".into(),
        time_zone: ZONE.into(),
        boat: cast.boat.clone(),
        skipper: cast.skipper.name.clone(),
        skipper_account: cast.skipper.crew,
        windows: crate::dive::window::WindowSettings::default(),
        plans: crate::dive::settings::PlanSettings::default(),
        drill: true,
    };
    scribe
        .log(&cast.desk, at, |s| {
            decide::open_trip(s, OpenTrip { opened })
        })
        .await?;
    for (id, card) in &cast.roster {
        scribe
            .log(&cast.desk, at, |s| {
                decide::join(s, *id, card.clone(), false)
            })
            .await?;
    }
    let planned = DivePlanned {
        site: cast.site.clone(),
    };
    scribe
        .log(&cast.desk, at, |s| decide::plan_dive(s, 1, planned))
        .await?;
    let mut groups = Vec::new();
    for (nth, letter) in LETTERS.chars().enumerate() {
        let id = GroupId::new(scribe.store.clock().new_uuid());
        let formed = formed(cast, nth, letter)?;
        let command = FormGroup {
            id,
            dive: 1,
            formed,
        };
        scribe
            .log(&cast.desk, at, |s| decide::form_group(s, command))
            .await?;
        groups.push(id);
    }
    Ok(groups)
}

/// Roll by name, two blind counts, off the quay, on site, conditions, lookout.
async fn depart(scribe: &mut Scribe<'_>, cast: &Cast, at: Timestamp) -> anyhow::Result<()> {
    let (skipper, divemaster) = (&cast.skipper, &cast.divemaster);
    let roll = decide::RollCall {
        point: Point::Departure,
        present: cast.roster.iter().map(|(id, _)| *id).collect(),
        not_seen: BTreeSet::new(),
    };
    scribe
        .log(divemaster, at, |s| decide::call_roll(s, roll))
        .await?;
    let people = u32::try_from(cast.roster.len())?;
    for (hand, later) in [(skipper, 3), (divemaster, 4)] {
        let count = decide::HeadCount {
            point: Point::Departure,
            call: 1,
            round: 1,
            method: Method::Heads,
            people,
        };
        scribe
            .log(hand, at + minutes(later), |s| {
                decide::count(s, count, hand.crew)
            })
            .await?;
    }
    scribe
        .log(skipper, at + minutes(6), |s| decide::depart(s, None, true))
        .await?;
    let there = at + minutes(36);
    scribe
        .log(skipper, there, |s| decide::on_site(s, 1))
        .await?;
    let position = cast.site.position.along(330.0, 420.0)?;
    scribe
        .log(skipper, there, |s| {
            decide::boat_at(s, position, PositionSource::Typed)
        })
        .await?;
    let seen = ConditionsObserved {
        set_deg: Some(SetTowards::from_deg(285.0)?),
        drift_kn: Some(Knots::from_kn(0.4)?),
        wind_from_deg: Some(WindFrom::from_deg(70.0)?),
        wind_kn: Some(Knots::from_kn(9.0)?),
        visibility_m: Some(25.0),
        sea: Some(Sea::Slight),
        water_c: Some(27.0),
    };
    scribe
        .log(skipper, there + minutes(30), |s| {
            decide::conditions(s, seen)
        })
        .await?;
    scribe
        .log(divemaster, there, |s| decide::post_lookout(s, "Bryn Sable"))
        .await
}

/// Drops and sightings, so that at the opening every state is there.
async fn dive(
    scribe: &mut Scribe<'_>,
    cast: &Cast,
    groups: &[GroupId],
    now: Timestamp,
) -> anyhow::Result<()> {
    let (tam, bryn) = (&cast.divemaster, &cast.second);
    let run = |scribe: &Scribe<'_>, nth: usize| -> anyhow::Result<SignedDuration> {
        let state = scribe.state();
        let group = groups
            .get(nth)
            .and_then(|id| state.groups.get(id))
            .context("a group of the drill")?;
        Ok(seconds(group.formed.plan.run_time_min * 60.0))
    };
    // Minutes past the expected time at the opening, in the order of the letters; the last
    // group has not gone in.
    let past = [-38, -9, 2, 7, 14, -3, -6, -2, 1, -12];
    let mut drops: Vec<(Timestamp, usize)> = Vec::new();
    for (nth, past) in past.into_iter().enumerate() {
        drops.push((now - run(scribe, nth)? - minutes(past), nth));
    }
    drops.sort_unstable();
    for (at, nth) in drops {
        let group = *groups.get(nth).context("a group of the drill")?;
        let hand = if nth % 2 == 0 { tam } else { bryn };
        // Along the edge, from the east to the west of it.
        let place = (360.0 - 55.0 * nth as f64, 40.0 + 12.0 * (nth % 3) as f64);
        scribe.drop_group(hand, group, place, at).await?;
    }
    // G: a buoy, nobody seen.
    let buoy = scribe.state();
    let place = surface_tap(&buoy, &[], Signal::NoSignal, (-150.0, 260.0)).place;
    let seen = (BuoyColour::Orange, place, None);
    let golf = *groups.get(5).context("group G")?;
    scribe
        .log(bryn, now - minutes(2), |s| {
            decide::buoy(s, golf, seen, None, now)
        })
        .await?;
    // H: split: one of a pair up with the other pair of the group, far apart.
    let hotel = cast.group(6);
    if let [one, _, third, fourth] = hotel.as_slice() {
        scribe
            .surface(
                tam,
                &[*one],
                Signal::Well,
                (-420.0, 180.0),
                now - minutes(3),
            )
            .await?;
        scribe
            .surface(
                bryn,
                &[*third, *fourth],
                Signal::Well,
                (120.0, 320.0),
                now - minutes(1),
            )
            .await?;
    }
    // J: needs help.
    scribe
        .surface(
            bryn,
            &cast.group(7),
            Signal::Help,
            (-640.0, 120.0),
            now - minutes(1),
        )
        .await?;
    // K: all well at the surface.
    scribe
        .surface(
            tam,
            &cast.group(8),
            Signal::Well,
            (-310.0, 390.0),
            now - minutes(5),
        )
        .await?;
    // L: back, three seen by one phone; of the fourth two phones say different things.
    let lima = cast.group(9);
    scribe
        .surface(tam, &lima, Signal::Well, (-80.0, 240.0), now - minutes(24))
        .await?;
    for (person, bar) in lima.iter().zip([70.0, 60.0, 85.0]) {
        scribe
            .aboard(tam, *person, bar, 17.5, now - minutes(18))
            .await?;
    }
    let fourth = *lima.last().context("a diver of group L")?;
    let before = scribe.state();
    let knew = before.head.clone();
    let tap = aboard_tap(tam, fourth, 55.0, 17.0)?;
    scribe
        .log_knowing(tam, now - minutes(17), knew.clone(), &before, |s| {
            decide::aboard(s, tap, now)
        })
        .await?;
    let tap = surface_tap(&before, &[fourth], Signal::NoSignal, (-260.0, 300.0));
    scribe
        .log_knowing(bryn, now - minutes(16), knew, &before, |s| {
            decide::surfaced(s, tap, now)
        })
        .await?;
    Ok(())
}

/// Where the boat waits, off the edge.
async fn lie_to(scribe: &mut Scribe<'_>, cast: &Cast, now: Timestamp) -> anyhow::Result<()> {
    let boat = placed(&scribe.state(), (-70.0, 330.0)).context("a place for the boat")?;
    scribe
        .log(&cast.skipper, now - minutes(2), |s| {
            decide::boat_at(s, boat, PositionSource::Typed)
        })
        .await
}

/// What happens after the opening, minute by minute, unless somebody logged it before.
pub async fn go_on(store: Store, cast: Cast, trip: TripId, opens_at: Timestamp) {
    // A step that makes no sense any more, since somebody at a screen was quicker, is left out.
    for (after, step) in [
        (4, Step::Surface(2, Signal::Well, (-380.0, 330.0))),
        (7, Step::Aboard(8)),
        (9, Step::Surface(5, Signal::Well, (-170.0, 280.0))),
        (11, Step::Surface(1, Signal::Well, (-60.0, 310.0))),
        (14, Step::Surface(3, Signal::Well, (-520.0, 400.0))),
        (17, Step::Aboard(2)),
        (40, Step::Surface(0, Signal::Well, (-250.0, 350.0))),
    ] {
        let at = opens_at + minutes(after);
        store.clock().sleep_until(at).await;
        if let Err(why) = step.take(&store, &cast, trip).await {
            tracing::debug!(%why, "a step of the drill was left out");
        }
    }
}

enum Step {
    Surface(usize, Signal, (f64, f64)),
    Aboard(usize),
}

impl Step {
    async fn take(self, store: &Store, cast: &Cast, trip: TripId) -> anyhow::Result<()> {
        let entries = store.entries(trip, 0).await?;
        let mut scribe = Scribe {
            store,
            trip,
            entries,
        };
        let now = store.clock().now();
        match self {
            Self::Surface(nth, signal, place) => {
                scribe
                    .surface(&cast.second, &cast.group(nth), signal, place, now)
                    .await
            }
            Self::Aboard(nth) => {
                for person in cast.group(nth) {
                    scribe
                        .aboard(&cast.second, person, 65.0, 18.0, store.clock().now())
                        .await?;
                    store
                        .clock()
                        .sleep_until(store.clock().now() + minutes(1))
                        .await;
                }
                let rows = watch::watch(&scribe.state(), now).rows.len();
                tracing::debug!(rows, "a group of the drill is back");
                Ok(())
            }
        }
    }
}
