//! A trip told event by event: invented people, three devices, and what each knew.
//!
//! `scene.by(DECK).aboard(ANNA)` is said in full knowledge of all that was said before;
//! `scene.by(DECK).knowing(&then).aboard(ANNA)` in the knowledge of an earlier moment.

use std::collections::{BTreeMap, BTreeSet};

use deckwatch::trip::event::*;
use deckwatch::trip::state::{Group, Person, Place, State, fold};
use deckwatch::trip::watch::{Alert, Row, Watch, watch};
use deckwatch::trip::{BoatId, SiteId};
use jiff::Timestamp;
use serde_json::{Value, json};
use uuid::Uuid;

pub const ANNA: u128 = 101;
pub const BELA: u128 = 102;
pub const CARO: u128 = 103;
pub const DINO: u128 = 104;
pub const EDDA: u128 = 105;
pub const NAMES: [(u128, &str); 5] = [
    (ANNA, "Anna Berg"),
    (BELA, "Bela Kiss"),
    (CARO, "Caro Lind"),
    (DINO, "Dino Marr"),
    (EDDA, "Edda Noor"),
];
pub const B: u128 = 201;
pub const C: u128 = 202;

#[derive(Debug, Clone, Copy)]
pub struct Crew {
    pub device: u128,
    pub name: &'static str,
    pub role: Role,
}
pub const HELM: Crew = Crew {
    device: 1,
    name: "Ilka Voss",
    role: Role::Skipper,
};
pub const DECK: Crew = Crew {
    device: 2,
    name: "Timo Rast",
    role: Role::Divemaster,
};
pub const BOW: Crew = Crew {
    device: 3,
    name: "Ylva Sund",
    role: Role::Divemaster,
};
pub const DESK: Crew = Crew {
    device: 4,
    name: "Oda Frei",
    role: Role::Desk,
};

pub fn who(n: u128) -> PersonId {
    PersonId::new(Uuid::from_u128(n))
}
pub fn group(n: u128) -> GroupId {
    GroupId::new(Uuid::from_u128(n))
}
pub fn trip() -> TripId {
    TripId::new(Uuid::from_u128(9))
}
pub fn people(of: &[u128]) -> About {
    About::people(of.iter().map(|n| who(*n)))
}

/// A time of the day of the trip: `10:05`, or `10:05:30`.
pub fn clock(time: &str) -> Timestamp {
    let time = if time.len() == 5 {
        format!("{time}:00")
    } else {
        time.to_owned()
    };
    format!("2026-06-01T{time}Z").parse().unwrap()
}

/// Expected after 40 min, late after 45, overdue after 50, out of gas after 90.
pub const WINDOW: Offsets = Offsets {
    earliest_s: 28 * 60,
    expected_s: 40 * 60,
    latest_s: 45 * 60,
    overdue_s: 50 * 60,
    endurance_s: 90 * 60,
};

pub fn payload<T: serde::de::DeserializeOwned>(value: Value) -> T {
    serde_json::from_value(value).unwrap()
}

pub fn card(name: &str, activity: Activity) -> PersonCard {
    let limit = matches!(activity, Activity::Diver | Activity::Crew).then_some(30.0);
    payload(
        json!({"name": name, "activity": activity, "level": "autonomous diver",
        "depth_limit_m": limit, "fitness": "cleared", "last_dive": "2026-05-20"}),
    )
}

pub fn opened(capacity: u32) -> TripOpened {
    TripOpened {
        day: "2026-06-01".parse().unwrap(),
        harbour: "Port Amber".into(),
        time_zone: "Etc/UTC".into(),
        boat: BoatSheet {
            id: BoatId::new(Uuid::from_u128(8)),
            name: "Morning Tern".into(),
            call_sign: "MT4".into(),
            capacity,
            speed_kn: 6.0,
            boarding_s_per_person: 120,
            approach_s: 120,
            boarding: Boarding::Ladder,
            approach_side: ApproachSide::NotSet,
            emergency_plan: vec!["Sound the recall".into(), "Call for help".into()],
            recall_signal: None,
        },
        skipper: HELM.name.into(),
        skipper_account: CrewId::new(Uuid::from_u128(HELM.device)),
        windows: deckwatch::dive::window::WindowSettings::default(),
        plans: deckwatch::dive::settings::PlanSettings::default(),
        drill: false,
    }
}

pub fn planned() -> DivePlanned {
    DivePlanned {
        site: SiteSheet {
            id: SiteId::new(Uuid::from_u128(7)),
            name: "Lantern Reef".into(),
            position: payload(json!([10.0, 20.0])),
            chart: json!({"type": "FeatureCollection", "features": []}),
            stand_off_m: payload(json!(50.0)),
            water: deckwatch::dive::pressure::Column::default(),
            tides: None,
        },
    }
}

pub fn formed(letter: &str, units: &[&[u128]], depth_m: f64) -> GroupFormed {
    let kit: BTreeMap<String, Value> = units
        .iter()
        .flat_map(|unit| unit.iter())
        .map(|n| {
            let kit = json!({"cylinder_l": 12.0, "oxygen": 0.21, "start_bar": 200.0,
                "breathing_l_min": 16.0});
            (who(*n).to_string(), kit)
        })
        .collect();
    let units: Vec<Vec<PersonId>> = units
        .iter()
        .map(|unit| unit.iter().map(|n| who(*n)).collect())
        .collect();
    payload(json!({
        "letter": letter, "leader": null, "units": units, "mode": {"kind": "drift"},
        "plan": {"levels": [{"depth_m": depth_m, "minutes": 30.0}],
            "safety_stop": {"depth_m": 5.0, "minutes": 3.0}, "run_time_min": 40.0},
        "exit_zone": null, "entry_place": null, "kit": kit, "limit_override": null,
    }))
}

pub fn aboard_own() -> Fact {
    Fact::Aboard(payload(
        json!({"vessel": {"kind": "own"}, "seen_by": "Timo Rast", "detail": {}}),
    ))
}

pub fn at_surface(signal: Signal) -> Fact {
    Fact::AtSurface(AtSurface {
        signal,
        place: None,
        from_boat: None,
    })
}

pub fn unread(kind: &str) -> Fact {
    Fact::Unread(Unread {
        kind: kind.into(),
        version: 1,
        payload: json!({"x": 1}),
    })
}

#[derive(Debug, Clone)]
pub struct Scene {
    pub log: Vec<Entry>,
    pub now: Timestamp,
    last: BTreeMap<u128, u64>,
}

impl Scene {
    /// An opened trip without a roster.
    pub fn opened() -> Self {
        let mut scene = Self {
            log: Vec::new(),
            now: clock("07:00"),
            last: BTreeMap::new(),
        };
        scene
            .by(DESK)
            .says(About::nobody(), Fact::TripOpened(opened(20)));
        scene
    }

    /// Five divers aboard on the site of the first dive, groups B (Anna and Bela, Caro and
    /// Dino) formed and checked.
    pub fn on_site() -> Self {
        let mut s = Self::opened();
        for (n, name) in NAMES {
            let fact = Fact::PersonJoined(PersonJoined {
                card: card(name, Activity::Diver),
            });
            s.by(DESK).says(people(&[n]), fact);
        }
        s.by(DESK)
            .says(About::nobody().on_dive(1), Fact::DivePlanned(planned()));
        let four = formed("B", &[&[ANNA, BELA], &[CARO, DINO]], 18.0);
        s.by(DESK).says(
            About::nobody().in_group(group(B), 1),
            Fact::GroupFormed(four),
        );
        s.until("08:00");
        s.by(HELM)
            .roll(Point::Departure, &NAMES.map(|(n, _)| n), &[]);
        s.by(HELM).says(
            About::nobody(),
            Fact::Departed(Departed {
                override_reason: None,
            }),
        );
        s.by(HELM)
            .says(About::nobody().on_dive(1), Fact::OnSite(OnSite {}));
        s.by(HELM).says(
            About::nobody(),
            Fact::LookoutPosted(LookoutPosted {
                name: "Jo Quist".into(),
            }),
        );
        s.by(HELM).says(
            About::nobody().in_group(group(B), 1),
            Fact::DropChecked(DropChecked {
                engine_neutral: true,
                flag_shown: true,
                lights: None,
            }),
        );
        s.until("09:00");
        s
    }

    /// The same, with the group of four in the water since nine.
    pub fn four_down() -> Self {
        let mut s = Self::on_site();
        s.by(DECK).left_surface(B, 1, &[ANNA, BELA, CARO, DINO]);
        s
    }

    pub fn until(&mut self, time: &str) -> &mut Self {
        self.now = clock(time);
        self
    }

    /// What an author knows who has seen everything so far.
    pub fn knowledge(&self) -> Knows {
        Knows(
            self.last
                .iter()
                .map(|(d, seq)| (DeviceId::new(Uuid::from_u128(*d)), *seq))
                .collect(),
        )
    }

    pub fn by(&mut self, crew: Crew) -> Saying<'_> {
        let knows = self.knowledge();
        let now = self.now;
        Saying {
            scene: self,
            crew,
            knows,
            at: now,
            recorded: now,
            corrects: None,
        }
    }

    pub fn state(&self) -> State {
        fold(trip(), &self.log)
    }

    pub fn person(&self, n: u128) -> Person {
        self.state().people[&who(n)].clone()
    }

    pub fn place(&self, n: u128) -> Place {
        self.person(n).place
    }

    pub fn group(&self, n: u128) -> Group {
        self.state().groups[&group(n)].clone()
    }

    pub fn watch(&self, time: &str) -> Watch {
        watch(&self.state(), clock(time))
    }

    /// How far the latest time of a group lies behind what was frozen at the drop, seconds.
    pub fn granted_s(&self, n: u128) -> i64 {
        let drop = self.group(n).drop.unwrap();
        let frozen = i64::from(drop.window.latest_s);
        drop.deadlines().latest.duration_since(drop.at).as_secs() - frozen
    }

    pub fn row(&self, n: u128, time: &str) -> Row {
        self.watch(time)
            .rows
            .into_iter()
            .find(|r| r.group == group(n))
            .unwrap()
    }

    pub fn alert(&self, key: &str, time: &str) -> Option<Alert> {
        self.watch(time).alerts.into_iter().find(|a| a.key == key)
    }

    pub fn group_alert(&self, n: u128, time: &str) -> Option<Alert> {
        self.alert(&format!("group:{}", group(n)), time)
    }
}

/// One event being said.
pub struct Saying<'a> {
    scene: &'a mut Scene,
    crew: Crew,
    knows: Knows,
    at: Timestamp,
    recorded: Timestamp,
    corrects: Option<EventId>,
}

impl Saying<'_> {
    /// Said in this knowledge, not in that of everything so far.
    pub fn knowing(mut self, knows: &Knows) -> Self {
        self.knows = knows.clone();
        self
    }

    /// Stated to have happened then.
    pub fn at(mut self, time: &str) -> Self {
        self.at = clock(time);
        self
    }

    pub fn correcting(mut self, of: EventId) -> Self {
        self.corrects = Some(of);
        self
    }

    pub fn says(self, about: About, fact: Fact) -> EventId {
        let Self {
            scene,
            crew,
            knows,
            at,
            recorded,
            corrects,
        } = self;
        let device = DeviceId::new(Uuid::from_u128(crew.device));
        let seq = scene.last.entry(crew.device).or_default();
        *seq += 1;
        let id = EventId::new(Uuid::from_u128(crew.device * 1_000_000 + u128::from(*seq)));
        let event = Event {
            id,
            trip: trip(),
            about,
            device,
            device_seq: *seq,
            knows,
            by: By {
                crew: CrewId::new(Uuid::from_u128(crew.device)),
                name: crew.name.into(),
                role: crew.role,
            },
            at,
            app: "0.1.0".into(),
            corrects,
            fact,
        };
        let receipt = Receipt {
            entry: scene.log.len() as u64 + 1,
            recorded_at: recorded,
            wall_age_ms: Some(0),
            mono_age_ms: None,
        };
        scene.log.push(Entry::new(event, receipt));
        id
    }

    pub fn left_surface(self, of: u128, dive: u32, persons: &[u128]) -> EventId {
        let fact = Fact::LeftSurface(LeftSurface {
            window: WINDOW,
            place: None,
            owes: Vec::new(),
        });
        self.says(people(persons).in_group(group(of), dive), fact)
    }

    pub fn seen(self, persons: &[u128], signal: Signal) -> EventId {
        self.says(people(persons).in_group(group(B), 1), at_surface(signal))
    }

    pub fn aboard(self, person: u128) -> EventId {
        self.says(people(&[person]).in_group(group(B), 1), aboard_own())
    }

    pub fn missing(self, person: u128) -> EventId {
        let fact = Fact::PersonMissing(PersonMissing {
            note: String::new(),
        });
        self.says(people(&[person]).in_group(group(B), 1), fact)
    }

    pub fn roll(self, point: Point, present: &[u128], not_seen: &[u128]) -> EventId {
        let dive = if point == Point::Leaving {
            Some(1)
        } else {
            None
        };
        let mut about = people(present);
        about.dive = dive;
        let not_seen = not_seen.iter().map(|n| who(*n)).collect();
        self.says(about, Fact::RollCalled(RollCalled { point, not_seen }))
    }

    pub fn count(self, point: Point, round: u32, method: Method, heads: (u32, u32)) -> EventId {
        let mut about = About::nobody();
        about.dive = (point == Point::Leaving).then_some(1);
        let (people, log_aboard) = heads;
        let counted = HeadCounted {
            point,
            call: 1,
            round,
            method,
            people,
            log_aboard,
        };
        self.says(about, Fact::HeadCounted(counted))
    }

    pub fn more_time(self, minutes: f64, before: f64) -> EventId {
        let more = payload(json!({"minutes": minutes, "granted_before_min": before,
            "reason": "slack water"}));
        self.says(About::nobody().in_group(group(B), 1), Fact::MoreTime(more))
    }

    pub fn recall(self) -> EventId {
        let fact = Fact::RecallSounded(RecallSounded {
            signal: "engine revs".into(),
        });
        self.says(About::nobody().on_dive(1), fact)
    }

    pub fn voids(self, of: EventId) -> EventId {
        self.void(of, false)
    }

    /// Takes it back while nobody else is in touch.
    pub fn voids_alone(self, of: EventId) -> EventId {
        self.void(of, true)
    }

    fn void(self, of: EventId, alone: bool) -> EventId {
        let about = self
            .scene
            .log
            .iter()
            .find(|e| e.event.id == of)
            .map(|e| e.event.about.clone());
        let fact = Fact::Voided(Voided {
            of,
            reason: "wrong face".into(),
            alone,
        });
        self.says(about.unwrap_or_default(), fact)
    }

    pub fn acknowledges(self, alert: &Alert) -> EventId {
        let (alert, cause) = (alert.key.clone(), alert.cause.word());
        self.says(
            About::nobody(),
            Fact::AlertAcknowledged(AlertAcknowledged { alert, cause }),
        )
    }

    pub fn current(self, drift_kn: f64) -> EventId {
        let seen = payload(
            json!({"set_deg": 90.0, "drift_kn": drift_kn, "wind_from_deg": null,
            "wind_kn": null, "visibility_m": null, "sea": null, "water_c": null}),
        );
        self.says(About::nobody(), Fact::ConditionsObserved(seen))
    }
}

/// Everybody's place, to compare.
pub fn places(state: &State) -> BTreeMap<PersonId, Place> {
    state.people.iter().map(|(id, p)| (*id, p.place)).collect()
}

pub fn set(of: &[u128]) -> BTreeSet<PersonId> {
    of.iter().map(|n| who(*n)).collect()
}
