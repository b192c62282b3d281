//! The briefing card of a group: where it goes in and how it comes back, its stops, the zone it
//! swims to meanwhile and why, what the boat does, and the recall.

use jiff::{SignedDuration, Timestamp};

use super::drawing::{self, Scene, Spot};
use super::words::{NINE_IN_TEN, Told};
use crate::sea::position::Position;
use crate::trip::dives::{self, Entry};
use crate::trip::event::{ApproachSide, BoatSheet, GroupFormed, Mode};
use crate::trip::forecast::window_at_drop;
use crate::trip::ground::Sea;
use crate::trip::likely::{self, Likely};
use crate::trip::outlook::conflicts;
use crate::trip::state::{Group, State, plus};
use crate::trip::waters::in_plane;
use crate::trip::zones::zones_for;
use crate::web::live::Snapshot;
use crate::web::marker::Mark;
use crate::web::view;
use crate::words::Arg;

/// A card.
pub struct Card {
    /// The group's marker.
    pub mark: Option<Mark>,
    /// `Briefing: group Bravo`.
    pub title: String,
    /// Pairs and threes, and who leads.
    pub people: String,
    /// What to do, in the order of the dive: term and words.
    pub lines: Vec<(String, String)>,
    /// What to mind: sunset, the turn of the stream.
    pub mind: Vec<String>,
    /// The zones as they stand when the group comes up, best first: name and why.
    pub zones: Vec<(String, String)>,
    /// A drawing of the way.
    pub svg: String,
}

/// What a card is written from.
struct Briefed<'s> {
    state: &'s State,
    group: &'s Group,
    sea: &'s Sea<'s>,
    boat: &'s BoatSheet,
    told: Told<'s>,
    enters: Timestamp,
    expected_s: u32,
    latest_s: u32,
}

/// The card of a group that goes in at the time it means to, or now; of one in the water, as it
/// went in. `None` where its dive has no site, or its plan does not hold.
#[must_use]
pub fn card(snap: &Snapshot, group: &Group, told: Told<'_>) -> Option<Card> {
    let state = &snap.state;
    let sea = snap.grounds.sea(state, group.dive)?;
    let boat = &state.opened.as_ref()?.boat;
    let enters = match &group.drop {
        Some(drop) => drop.at,
        None => group.formed.enters_at.unwrap_or(told.now).max(told.now),
    };
    let frozen = window_at_drop(state, group, group.members(), enters).ok()?;
    let briefed = Briefed {
        state,
        group,
        sea: &sea,
        boat,
        told,
        enters,
        expected_s: frozen.window.expected_s,
        latest_s: frozen.window.latest_s,
    };
    Some(briefed.card())
}

impl Briefed<'_> {
    fn formed(&self) -> &GroupFormed {
        &self.group.formed
    }

    fn after(&self, seconds: u32) -> Timestamp {
        plus(self.enters, SignedDuration::from_secs(i64::from(seconds)))
    }

    fn place_dropped(&self) -> Option<Position> {
        self.group.drop.as_ref().and_then(|drop| drop.place)
    }

    fn likely(&self) -> Option<Likely> {
        let dropped = (self.enters, self.place_dropped());
        likely::reckoned(
            self.formed(),
            self.sea,
            dropped,
            self.after(self.expected_s),
        )
    }

    fn card(&self) -> Card {
        let t = self.told.t;
        let likely = self.likely();
        let zones = zones_for(
            self.formed(),
            self.sea,
            self.boat,
            self.enters,
            self.after(self.expected_s),
        );
        let said: Vec<(String, String)> = zones
            .iter()
            .map(|zone| (zone.name.clone(), self.told.zone(zone)))
            .collect();
        let mut lines = vec![
            (t.say("briefing-enter"), self.entry()),
            (t.say("briefing-course"), self.course()),
        ];
        lines.extend(self.plan());
        let unfit = |name: &str| {
            let zone = zones.iter().find(|zone| zone.name == name);
            zone.is_some_and(|zone| zone.unfit.is_some())
        };
        lines.push((t.say("briefing-swim"), self.swim(&said, unfit)));
        lines.push((t.say("briefing-up"), self.up(likely.as_ref())));
        lines.push((t.say("briefing-boat"), self.boat()));
        lines.push((t.say("briefing-recall"), self.recall()));
        let found = conflicts(
            self.formed().mode,
            self.sea,
            self.enters,
            self.after(self.latest_s),
        );
        let letter = &self.formed().letter;
        Card {
            mark: view::mark(letter),
            title: self.say("briefing-title", &[("group", view::spoken(letter).into())]),
            people: self.people(),
            lines,
            mind: found
                .iter()
                .map(|conflict| self.told.conflict(conflict))
                .collect(),
            zones: said,
            svg: self.drawn(likely.as_ref()),
        }
    }

    fn say(&self, key: &str, args: &[(&str, Arg)]) -> String {
        self.told.t.say_with(key, args)
    }

    fn clock(&self, at: Timestamp) -> String {
        view::clock_time(at, self.told.zone)
    }

    fn people(&self) -> String {
        let name = |id| self.state.name_of(id).to_owned();
        let units: Vec<String> = self
            .formed()
            .units
            .iter()
            .map(|unit| {
                let names: Vec<String> = unit.iter().map(|id| name(*id)).collect();
                view::names(&names, self.told.t)
            })
            .collect();
        let units = units.join(" · ");
        match self.formed().leader {
            Some(leader) => {
                let led = self.say("briefing-led-by", &[("name", name(leader).into())]);
                format!("{units}; {led}")
            }
            None => units,
        }
    }

    fn entry(&self) -> String {
        let formed = self.formed();
        let place = self.place_dropped().or(formed.entry_place);
        let chart = self.sea.ground.chart.as_ref().ok();
        let charted = place.and_then(|place| {
            let mut points = chart?.entry_points.iter();
            points.find(|point| point.position.distance_m(place) < 30.0)
        });
        let place = match (charted, place) {
            (Some(point), _) => point.name.clone(),
            (None, Some(place)) => place.to_string(),
            (None, None) => self.sea.ground.site.name.clone(),
        };
        let is_timed = self.group.drop.is_some() || formed.enters_at.is_some();
        if !is_timed {
            return self.say("briefing-enters", &[("place", place.into())]);
        }
        let args = [
            ("place", place.into()),
            ("at", self.clock(self.enters).into()),
        ];
        self.say("briefing-enters-at", &args)
    }

    fn course(&self) -> String {
        match self.formed().mode {
            Mode::Drift => self.told.t.say("briefing-course-drift"),
            Mode::OneWay { course_deg } => {
                let course = view::degrees(course_deg.deg());
                self.say("briefing-course-one-way", &[("course", course.into())])
            }
            Mode::Return => match self.line() {
                Some(line) => self.say("briefing-course-return", &[("line", line.into())]),
                None => self.told.t.say("briefing-course-return-here"),
            },
        }
    }

    /// Name of the line that the group comes back to.
    fn line(&self) -> Option<String> {
        let ground = self.sea.ground;
        let start = self.place_dropped().or(self.formed().entry_place);
        let line = ground.line_near(start.unwrap_or(ground.site.position))?;
        let chart = ground.chart.as_ref().ok()?;
        let mut lines = chart.moorings.iter().chain(&chart.shot_lines);
        lines
            .find(|place| place.position == line)
            .map(|place| place.name.clone())
    }

    fn plan(&self) -> Vec<(String, String)> {
        let t = self.told.t;
        let plan = &self.formed().plan;
        let args = [
            ("levels", view::levels(plan, t).into()),
            ("minutes", (plan.run_time_min).ceil().into()),
        ];
        let stop = [
            ("minutes", plan.safety_stop.minutes.min().into()),
            ("depth", plan.safety_stop.depth_m.m().into()),
        ];
        let mut stops = self.say("dive-stop", &stop);
        let (state, group) = (self.state, self.group);
        let answer = dives::answer(state, group.dive, &group.formed, Entry::At(self.enters));
        let owed = answer.map(|answer| crate::dive::findings::say_stops(&answer.owed(), t));
        if let Some(owed) = owed.ok().filter(|owed| !owed.is_empty()) {
            let owed = self.say("briefing-stop-owed", &[("stops", owed.into())]);
            stops = format!("{owed}. {stops}");
        }
        vec![
            (t.say("briefing-plan"), self.say("briefing-run", &args)),
            (t.say("briefing-stops"), stops),
        ]
    }

    fn swim(&self, zones: &[(String, String)], unfit: impl Fn(&str) -> bool) -> String {
        let said = |key: &str, (zone, why): &(String, String)| {
            self.say(key, &[("zone", zone.into()), ("why", why.into())])
        };
        let own = self.formed().exit_zone.as_ref();
        let own = own.and_then(|name| zones.iter().find(|(zone, _)| zone == name));
        match own {
            Some(zone) if unfit(&zone.0) => said("briefing-swim-unfit", zone),
            Some(zone) if matches!(self.formed().mode, Mode::Return) => {
                said("briefing-swim-line", zone)
            }
            Some(zone) => said("briefing-swim-to", zone),
            None => {
                let metres = view::metres_to_keep(self.sea.ground.site.stand_off_m.m());
                self.say("briefing-swim-none", &[("metres", metres.into())])
            }
        }
    }

    fn up(&self, likely: Option<&Likely>) -> String {
        let minutes = |seconds: u32| Arg::from(f64::from(seconds.div_ceil(60)));
        let after = self.say(
            "briefing-up-after",
            &[
                ("minutes", minutes(self.expected_s)),
                ("latest", minutes(self.latest_s)),
            ],
        );
        let known = self.group.drop.is_some() || self.formed().enters_at.is_some();
        match likely.filter(|_| known) {
            Some(likely) => {
                let args = [
                    ("at", self.clock(likely.at).into()),
                    ("likely", self.told.likely(likely).into()),
                ];
                format!("{}; {after}", self.say("briefing-up-about", &args))
            }
            None => after,
        }
    }

    fn boat(&self) -> String {
        let metres = view::metres_to_keep(self.sea.ground.site.stand_off_m.m());
        let does = self.say("briefing-boat-does", &[("metres", metres.into())]);
        let side = match self.boat.approach_side {
            ApproachSide::NotSet => return does,
            ApproachSide::UpWind => "briefing-boat-side-up-wind",
            ApproachSide::DownWind => "briefing-boat-side-down-wind",
            ApproachSide::Lee => "briefing-boat-side-lee",
        };
        format!("{does} {}", self.told.t.say(side))
    }

    fn recall(&self) -> String {
        match &self.boat.recall_signal {
            Some(signal) => self.say("briefing-recall-signal", &[("signal", signal.into())]),
            None => self.told.t.say("briefing-recall-none"),
        }
    }

    fn drawn(&self, likely: Option<&Likely>) -> String {
        let (t, sea) = (self.told.t, self.sea);
        let current = sea.waters.current(self.enters);
        let spot = |likely: &Likely| Spot {
            mark: view::mark(&self.formed().letter),
            label: view::spoken(&self.formed().letter),
            place: likely.position,
            within_m: likely.spread_m * NINE_IN_TEN,
            from: Some(likely.from),
            sighted: None,
        };
        let at = likely.map_or(self.enters, |likely| likely.at);
        let scene = Scene {
            ground: sea.ground,
            boat: None,
            spots: likely.map(spot).into_iter().collect(),
            legs: Vec::new(),
            water: (
                in_plane(current.velocity),
                self.told.current_in_short(&current),
            ),
            wind: (in_plane(sea.waters.wind()), String::new()),
            valid: self.say("chart-valid", &[("at", self.clock(at).into())]),
        };
        drawing::draw(&scene, t).unwrap_or_default()
    }
}
