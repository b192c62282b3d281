//! An invented trip, driven by the same rules as the forms, up to the stage a test wants.

use std::collections::{BTreeMap, BTreeSet};

use deckwatch::dive::window::WindowSettings;
use deckwatch::store::{Appended, Incoming};
use deckwatch::trip::decide::{self, Decided, Draft, Signing};
use deckwatch::trip::event::{
    About, Activity, BuoyColour, DivePlanned, DropChecked, Event, EventId, Fact, Fitness,
    GroupFormed, Kit, LevelPlan, Method, Mode, PersonCard, Point, Return, Signal, SiteSheet,
    StopPlan, TripOpened, Vessel,
};
use deckwatch::trip::forecast::{plan_sheet, window_at_drop};
use deckwatch::trip::state::{State, fold};
use deckwatch::trip::{GroupId, PersonId, TripId};
use deckwatch::units::{
    CylinderBar, CylinderLitres, Depth, LitresPerMinute, Minutes, OxygenFraction,
};
use jiff::Timestamp;

use crate::app::{App, Seat, boat, chart, site};

/// A trip of the tests.
#[derive(Debug, Clone)]
pub struct Trip {
    pub id: TripId,
    people: BTreeMap<String, PersonId>,
    groups: BTreeMap<String, GroupId>,
}

impl Trip {
    /// A person of the roster by name.
    #[track_caller]
    pub fn person(&self, name: &str) -> PersonId {
        self.people[name]
    }

    /// A group by letter.
    #[track_caller]
    pub fn group(&self, letter: &str) -> GroupId {
        self.groups[letter]
    }
}

/// The roster: two crew, nine divers, a snorkeller, a passenger.
pub const ROSTER: [(&str, Activity); 13] = [
    ("Ilka Voss", Activity::Crew),
    ("Jonne Aalto", Activity::Crew),
    ("Mara Lind", Activity::Diver),
    ("Tomas Reyl", Activity::Diver),
    ("Anouk Petri", Activity::Diver),
    ("Dario Benn", Activity::Diver),
    ("Sefa Orun", Activity::Diver),
    ("Ines Calder", Activity::Diver),
    ("Wim Haal", Activity::Diver),
    ("Noor Adan", Activity::Diver),
    ("Pavel Strand", Activity::Diver),
    ("Keno Marsh", Activity::Snorkeller),
    ("Ruta Sol", Activity::Passenger),
];

/// Its groups: two pairs, a three, a pair.
pub const GROUPS: [(&str, &[&[&str]]); 3] = [
    (
        "B",
        &[&["Mara Lind", "Tomas Reyl"], &["Anouk Petri", "Dario Benn"]],
    ),
    ("C", &[&["Sefa Orun", "Ines Calder", "Wim Haal"]]),
    ("D", &[&["Noor Adan", "Pavel Strand"]]),
];

impl App {
    /// A trip on its site, everybody counted, lookout posted, nobody in the water yet.
    pub async fn trip(&self) -> Trip {
        let trip = self.trip_at_quay().await;
        self.sail(&trip).await;
        trip
    }

    /// A trip with roster, dive and groups, still at the quay, nobody called.
    pub async fn trip_at_quay(&self) -> Trip {
        let mut trip = self.empty_trip().await;
        for (name, activity) in ROSTER {
            self.join(&mut trip, name, activity).await;
        }
        let planned = DivePlanned { site: site_sheet() };
        self.decide(&trip, &self.desk, move |state, _| {
            decide::plan_dive(state, 1, planned)
        })
        .await;
        for (letter, units) in GROUPS {
            self.form(&mut trip, letter, units).await;
        }
        trip
    }

    /// A trip that was opened, and nothing more.
    pub async fn empty_trip(&self) -> Trip {
        let trip = Trip {
            id: TripId::new(self.clock.new_uuid()),
            people: BTreeMap::new(),
            groups: BTreeMap::new(),
        };
        let opened = TripOpened {
            day: "2026-06-01".parse().unwrap(),
            harbour: "Old Quay".to_owned(),
            time_zone: "Etc/GMT-2".to_owned(),
            boat: boat().sheet,
            skipper: self.helm.by.name.clone(),
            skipper_account: self.helm.by.crew,
            windows: WindowSettings::default(),
            plans: deckwatch::dive::settings::PlanSettings::default(),
            drill: false,
        };
        let command = decide::OpenTrip { opened };
        self.decide(&trip, &self.desk, |state, _| {
            decide::open_trip(state, command)
        })
        .await;
        trip
    }

    /// Puts a person on the roster.
    pub async fn join(&self, trip: &mut Trip, name: &str, activity: Activity) -> PersonId {
        let id = PersonId::new(self.clock.new_uuid());
        self.join_known(trip, name, activity, id).await
    }

    /// Puts somebody on the roster who is known already, from another trip.
    pub async fn join_known(
        &self,
        trip: &mut Trip,
        name: &str,
        activity: Activity,
        id: PersonId,
    ) -> PersonId {
        let dives = matches!(activity, Activity::Diver | Activity::Crew);
        let card = PersonCard {
            name: name.to_owned(),
            activity,
            level: if dives { "Autonomous diver" } else { "" }.to_owned(),
            depth_limit_m: dives.then(|| Depth::from_m(30.0).unwrap()),
            fitness: Fitness::Cleared,
            last_dive: None,
        };
        self.decide(trip, &self.desk, |state, _| {
            decide::join(state, id, card, false)
        })
        .await;
        trip.people.insert(name.to_owned(), id);
        id
    }

    /// Forms a group with a plan of 18 m for 40 minutes.
    pub async fn form(&self, trip: &mut Trip, letter: &str, units: &[&[&str]]) -> GroupId {
        let id = GroupId::new(self.clock.new_uuid());
        let units: Vec<Vec<PersonId>> = units
            .iter()
            .map(|unit| unit.iter().map(|name| trip.person(name)).collect())
            .collect();
        let formed = group_formed(letter, units);
        let command = decide::FormGroup {
            id,
            dive: 1,
            formed,
        };
        self.decide(trip, &self.desk, |state, _| {
            decide::form_group(state, command)
        })
        .await;
        trip.groups.insert(letter.to_owned(), id);
        id
    }

    /// Calls the roll, counts twice, departs, arrives on site, posts the lookout.
    pub async fn sail(&self, trip: &Trip) {
        self.call_roll(trip, Point::Departure).await;
        self.count(trip, Point::Departure, None).await;
        self.decide(trip, &self.helm, |state, _| {
            decide::depart(state, None, true)
        })
        .await;
        self.decide(trip, &self.helm, |state, _| decide::on_site(state, 1))
            .await;
        self.decide(trip, &self.deck, |state, _| {
            decide::post_lookout(state, "Jonne Aalto")
        })
        .await;
    }

    /// Calls everybody who is not in the water by name; all are seen.
    pub async fn call_roll(&self, trip: &Trip, point: Point) {
        let present = trip.people.values().copied().collect();
        self.decide(trip, &self.deck, |state, _| {
            let roll = decide::RollCall {
                point,
                present,
                not_seen: BTreeSet::new(),
            };
            decide::call_roll(state, roll)
        })
        .await;
    }

    /// Both blind counts; `people`: what both find, else everybody of the roster.
    pub async fn count(&self, trip: &Trip, point: Point, people: Option<u32>) {
        let people = people.unwrap_or(u32::try_from(trip.people.len()).unwrap());
        for seat in [&self.helm, &self.deck] {
            let crew = seat.by.crew;
            self.decide(trip, seat, |state, _| {
                let counted = decide::HeadCount {
                    point,
                    call: state.current_call(point).0,
                    round: 1,
                    method: Method::Heads,
                    people,
                };
                decide::count(state, counted, crew)
            })
            .await;
        }
    }

    /// The checks before a group's drop.
    pub async fn check_drop(&self, trip: &Trip, letter: &str) {
        let group = trip.group(letter);
        let check = DropChecked {
            engine_neutral: true,
            flag_shown: true,
            lights: None,
        };
        self.decide(trip, &self.deck, |state, now| {
            decide::check_drop(state, group, check, false, now)
        })
        .await;
    }

    /// Checks, and a whole group leaves the surface now.
    pub async fn drop_group(&self, trip: &Trip, letter: &str) {
        self.check_drop(trip, letter).await;
        let id = trip.group(letter);
        self.decide(trip, &self.deck, |state, now| {
            let group = &state.groups[&id];
            let members = group.members().clone();
            let frozen = window_at_drop(state, group, &members, now).unwrap();
            let tap = decide::DropTap {
                group: id,
                window: frozen.window,
                owes: frozen.owes,
                members,
                place: None,
                at: None,
                night: false,
            };
            decide::left_surface(state, tap, now)
        })
        .await;
    }

    /// A group's buoy is seen.
    pub async fn buoy(&self, trip: &Trip, letter: &str) {
        let id = trip.group(letter);
        self.decide(trip, &self.deck, |state, now| {
            decide::buoy(state, id, (BuoyColour::Orange, None, None), None, now)
        })
        .await;
    }

    /// These people are seen at the surface.
    pub async fn surfaced(&self, trip: &Trip, names: &[&str], signal: Signal) {
        let persons = names.iter().map(|name| trip.person(name)).collect();
        self.decide(trip, &self.deck, |state, now| {
            let tap = decide::SurfaceTap {
                persons,
                signal,
                place: None,
                from_boat: None,
                at: None,
            };
            decide::surfaced(state, tap, now)
        })
        .await;
    }

    /// Each of these is seen aboard by the divemaster.
    pub async fn aboard(&self, trip: &Trip, names: &[&str]) {
        for name in names {
            let person = trip.person(name);
            self.decide(trip, &self.deck, |state, now| {
                let tap = decide::AboardTap {
                    person,
                    vessel: Vessel::Own,
                    seen_by: "Jonne Aalto".to_owned(),
                    detail: no_detail(),
                    at: None,
                };
                decide::aboard(state, tap, now)
            })
            .await;
        }
    }

    /// The trip as its log folds now.
    pub async fn state(&self, trip: &Trip) -> State {
        fold(trip.id, &self.store.entries(trip.id, 0).await.unwrap())
    }

    /// Does what a form would: decides on the state as it is and appends. A refusal fails.
    pub async fn decide<D>(&self, trip: &Trip, seat: &Seat, decide: D) -> EventId
    where
        D: FnOnce(&State, Timestamp) -> Decided,
    {
        let state = self.state(trip).await;
        let drafts = decide(&state, self.clock.now()).unwrap();
        let events = self.sign(trip, seat, drafts).await;
        let id = events[0].id;
        self.append(trip, events).await;
        id
    }

    /// Appends one fact as a device would deliver it, whatever the rules say.
    pub async fn tell(&self, trip: &Trip, seat: &Seat, about: About, fact: Fact) -> Event {
        let draft = Draft {
            about,
            fact,
            at: None,
            corrects: None,
        };
        let events = self.sign(trip, seat, vec![draft]).await;
        self.append(trip, events.clone()).await;
        events.into_iter().next().unwrap()
    }

    /// Events of a device as the next in the log, not yet appended.
    pub async fn sign(&self, trip: &Trip, seat: &Seat, drafts: Vec<Draft>) -> Vec<Event> {
        let head = self.store.head(trip.id).await.unwrap();
        let entry = head.map_or(0, |head| head.entry);
        let log = self.store.entries(trip.id, 0).await.unwrap();
        let own = log.iter().filter(|e| e.event.device == seat.device);
        let signing = Signing {
            id: EventId::new(self.clock.new_uuid()),
            trip: trip.id,
            device: seat.device,
            knows: self.store.vector_at(trip.id, entry).await.unwrap(),
            by: seat.by.clone(),
            now: self.clock.now(),
        };
        signing.sign(own.count() as u64 + 1, drafts)
    }

    /// Appends events as they are.
    pub async fn append(&self, trip: &Trip, events: Vec<Event>) -> Vec<Appended> {
        let events = events.into_iter().map(Incoming::from).collect();
        self.store.append(trip.id, events).await.unwrap()
    }
}

/// The site as a dive carries it.
pub fn site_sheet() -> SiteSheet {
    let site = site();
    SiteSheet {
        id: site.id,
        name: site.name,
        position: site.position,
        chart: chart(),
        stand_off_m: site.stand_off,
        water: deckwatch::dive::pressure::Column::default(),
        tides: None,
    }
}

/// A return of which nothing is said.
pub fn no_detail() -> Return {
    Return {
        surfaced_at: None,
        bar: None,
        greatest_depth_m: None,
        stop_done: None,
        problem: None,
    }
}

/// A group with a plan of 18 m for 40 minutes on 12 l of air at 200 bar.
pub fn group_formed(letter: &str, units: Vec<Vec<PersonId>>) -> GroupFormed {
    let kit = Kit {
        cylinder_l: CylinderLitres::from_l(15.0).unwrap(),
        oxygen: OxygenFraction::from_fraction(0.21).unwrap(),
        start_bar: CylinderBar::from_bar(200.0).unwrap(),
        breathing_l_min: LitresPerMinute::from_l_min(15.0).unwrap(),
    };
    let level = LevelPlan {
        depth_m: Depth::from_m(18.0).unwrap(),
        minutes: Minutes::from_min(40.0).unwrap(),
    };
    let stop = StopPlan {
        depth_m: Depth::from_m(5.0).unwrap(),
        minutes: Minutes::from_min(3.0).unwrap(),
    };
    GroupFormed {
        letter: letter.to_owned(),
        leader: units.first().and_then(|unit| unit.first()).copied(),
        kit: units
            .iter()
            .flatten()
            .map(|id| (*id, kit.clone()))
            .collect(),
        units,
        plan: plan_sheet(vec![level], stop).unwrap(),
        mode: Mode::Return,
        exit_zone: Some("South sand".to_owned()),
        entry_place: None,
        limit_override: None,
        enters_at: None,
    }
}
