//! The chart of the dive under way as the helm and the deck see it: a drawing, and the same as a
//! list of bearings and distances.

use jiff::Timestamp;

use super::drawing::{self, Boat, Scene, Sighted, Spot};
use super::words::{NINE_IN_TEN, Told};
use crate::sea::position::Position;
use crate::trip::GroupId;
use crate::trip::ground::Sea;
use crate::trip::likely::{Basis, Likely};
use crate::trip::outlook::ashore;
use crate::trip::state::{Group, Person, State};
use crate::trip::waters::in_plane;
use crate::web::live::Snapshot;
use crate::web::marker::Mark;
use crate::web::view;

/// A line of the list.
pub struct Row {
    /// The group's marker.
    pub mark: Option<Mark>,
    /// Whom or what it is about.
    pub name: String,
    /// `047° T`, or where it is without a place to take it from.
    pub bearing: String,
    /// `120 m`.
    pub distance: String,
    /// What is known of it.
    pub what: String,
    /// What it drifts to.
    pub warned: Option<String>,
    /// The group.
    pub group: Option<GroupId>,
}

/// The chart of a dive.
#[derive(Default)]
pub struct SeaChart {
    /// The drawing; empty where no dive is planned.
    pub svg: String,
    /// Groups, then what is charted.
    pub groups: Vec<Row>,
    /// Pickup zones and lines.
    pub charted: Vec<Row>,
    /// What the water does, and how it is known.
    pub waters: String,
    /// From where bearings are taken.
    pub from: String,
    /// What to beware of before reading on.
    pub cautions: Vec<String>,
}

/// Where bearings are taken from.
#[derive(Clone, Copy)]
struct From {
    place: Position,
}

impl From {
    fn row(self, place: Position, name: String, what: String) -> Row {
        let distance_m = self.place.distance_m(place);
        Row {
            mark: None,
            name,
            bearing: view::degrees(self.place.bearing_deg(place)),
            distance: view::metres(distance_m),
            what,
            warned: None,
            group: None,
        }
    }
}

/// The chart of the dive under way, or of the first that is planned.
#[must_use]
pub fn chart(snap: &Snapshot, told: Told<'_>) -> SeaChart {
    let state = &snap.state;
    let (t, now) = (told.t, told.now);
    let Some(sea) = snap.grounds.sea(state, state.dive.max(1)) else {
        return SeaChart {
            cautions: vec![t.say("chart-no-dive")],
            ..SeaChart::default()
        };
    };
    let boat = state.boat.as_ref();
    let from = From {
        place: boat.map_or(sea.ground.site.position, |boat| boat.position),
    };
    let mut cautions = Vec::new();
    if sea.ground.chart.is_err() {
        cautions.push(t.say("helm-chart-unread"));
    }
    let from_words = match boat {
        None => t.say("chart-from-site"),
        Some(boat) => {
            let old = boat.is_old(now);
            let args = [
                ("at", view::clock_time(boat.at, told.zone).into()),
                ("minutes", view::watch_minutes(boat.at, now).max(0).into()),
                ("place", boat.position.to_string().into()),
                ("source", t.say(view::source_key(boat.source)).into()),
            ];
            if old {
                cautions.push(t.say_with("chart-boat-is-old", &args));
            }
            t.say_with("chart-from-boat", &args)
        }
    };
    let current = sea.waters.current(now);
    let mut spots = Vec::new();
    let mut groups = Vec::new();
    for group in state.groups_out() {
        let Some(likely) = snap.likely(group, now) else {
            continue;
        };
        spots.push(spot(group, &likely));
        let mut row = from.row(
            likely.position,
            view::spoken(&group.formed.letter),
            told.likely(&likely),
        );
        row.mark = view::mark(&group.formed.letter);
        row.group = Some(group.id);
        row.warned = warned(group, &sea, told);
        groups.push(row);
    }
    for (person, place, at) in alone(state) {
        let label = person.name().to_owned();
        let args = [("at", view::clock_time(at, told.zone).into())];
        groups.push(from.row(place, label.clone(), t.say_with("chart-seen-at", &args)));
        spots.push(bare(label, place));
    }
    for (row, spot) in calling(state, from, told) {
        groups.insert(0, row);
        spots.push(spot);
    }
    let wind = in_plane(sea.waters.wind());
    let wind_words = state.conditions.wind.as_ref().map_or_else(
        || t.say("helm-wind-unknown"),
        |seen| {
            let args = [
                ("from", view::degrees(seen.what.0).into()),
                ("speed", seen.what.1.into()),
                ("at", view::clock_time(seen.at, told.zone).into()),
            ];
            t.say_with("chart-wind", &args)
        },
    );
    let waters = told.current(&current);
    let args = [("at", view::clock_time(now, told.zone).into())];
    let scene = Scene {
        ground: sea.ground,
        boat: boat.map(|boat| Boat {
            place: boat.position,
            old: boat.is_old(now),
        }),
        spots,
        legs: snap
            .order
            .answer
            .order
            .iter()
            .map(|row| row.way.clone())
            .collect(),
        water: (in_plane(current.velocity), told.current_in_short(&current)),
        wind: (wind, wind_words),
        valid: t.say_with("chart-valid", &args),
    };
    SeaChart {
        waters,
        svg: drawing::draw(&scene, t).unwrap_or_default(),
        groups,
        charted: charted(&sea, from, told),
        from: from_words,
        cautions,
    }
}

fn spot(group: &Group, likely: &Likely) -> Spot {
    Spot {
        mark: view::mark(&group.formed.letter),
        label: view::spoken(&group.formed.letter),
        place: likely.position,
        within_m: likely.spread_m * NINE_IN_TEN,
        from: Some(likely.from),
        sighted: match likely.basis {
            Basis::Seen => Some(Sighted::Heads),
            Basis::Buoy => Some(Sighted::Buoy),
            Basis::Reckoned => None,
        },
    }
}

/// A place without a marker and an area.
fn bare(label: String, place: Position) -> Spot {
    Spot {
        mark: None,
        label,
        place,
        within_m: 0.0,
        from: None,
        sighted: None,
    }
}

/// What a group drifts to, in words.
pub fn warned(group: &Group, sea: &Sea<'_>, told: Told<'_>) -> Option<String> {
    ashore(group, sea, told.now).map(|ashore| told.ashore(&ashore))
}

/// People out in no group of whom a place is known.
fn alone(state: &State) -> impl Iterator<Item = (&Person, Position, Timestamp)> {
    state.swimmers().filter_map(|person| {
        person
            .surface_position()
            .map(|(place, at)| (person, place, at))
    })
}

/// Locator beacons that call for help and say where they are.
fn calling(state: &State, from: From, told: Told<'_>) -> Vec<(Row, Spot)> {
    let calling = state.beacons.iter().filter(|(_, b)| b.calls_for_help());
    calling
        .filter_map(|(identity, beacon)| {
            let place = beacon.place?;
            let key = if place.is_last {
                "chart-beacon-was"
            } else {
                "chart-beacon-at"
            };
            let minutes = view::watch_minutes(place.at, told.now).max(0);
            let args = [
                ("at", view::clock_time(place.at, told.zone).into()),
                ("minutes", minutes.into()),
            ];
            let label = view::beacon_name(beacon.sort, identity, told.t);
            let what = told.t.say_with(key, &args);
            let mut row = from.row(place.position, label.clone(), what);
            row.warned.clone_from(&beacon.text);
            Some((row, bare(label, place.position)))
        })
        .collect()
}

/// Pickup zones by their nearest point, moorings, lines and entry points.
fn charted(sea: &Sea<'_>, from: From, told: Told<'_>) -> Vec<Row> {
    let ground = sea.ground;
    let here = ground.plane.metres(from.place);
    let zones = ground.zones.iter().filter_map(|zone| {
        let nearest = ground.plane.position(zone.area.nearest(here)?);
        Some(from.row(nearest, zone.name.clone(), told.t.say("chart-zone-nearest")))
    });
    let mut rows: Vec<Row> = zones.collect();
    if let Ok(chart) = &ground.chart {
        for (list, key) in [
            (&chart.moorings, "chart-mooring"),
            (&chart.shot_lines, "chart-shot-line"),
            (&chart.entry_points, "chart-entry-point"),
        ] {
            let row = |place: &crate::sea::chart::NamedPlace| {
                from.row(place.position, place.name.clone(), told.t.say(key))
            };
            rows.extend(list.iter().map(row));
        }
    }
    rows
}
