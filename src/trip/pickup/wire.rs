//! The `pickup-order` document: one JSON document in, one out.

use std::collections::HashSet;

use jiff::Timestamp;
use serde_json::{Value, json};

use crate::sea::chart::{Area, MOST_AREAS, MOST_POSITIONS, read_area, read_position};
use crate::sea::position::{LocalPlane, Position};
use crate::units::Faults;
use crate::units::bounds::{self, Bounds};
use crate::units::document::{self, Object, Reader};

use super::model::{Approach, Boat, Group, Instance, Urgency, Water, Wind};
use super::{Answer, Row, solve};

/// Most groups of one document.
pub const MOST_GROUPS: usize = 200;
/// Longest id of a group, characters.
const LONGEST_ID: usize = 64;
/// How far from `now` a time may lie, hours: a slipped day is caught.
const HOURS_FROM_NOW: i64 = 48;

const URGENCIES: [(&str, Urgency); 3] = [
    ("routine", Urgency::Routine),
    ("prompt", Urgency::Prompt),
    ("distress", Urgency::Distress),
];

/// Reads the document, finds the order and writes the answer.
///
/// # Errors
/// Every fault of the document with its path.
pub fn answer(document: &[u8]) -> Result<Value, Faults> {
    read(document).map(|instance| solve(&instance).to_json())
}

/// Reads the document.
///
/// # Errors
/// Every fault of the document with its path.
pub fn read(document: &[u8]) -> Result<Instance, Faults> {
    let value = document::parse(document)?;
    let reader = Reader::new();
    let instance = read_instance(&reader, &value);
    reader.finish(instance)
}

impl Answer {
    /// The answer as it goes over the wire.
    #[must_use]
    pub fn to_json(&self) -> Value {
        let unreachable: Vec<Value> = self
            .unreachable
            .iter()
            .map(|(id, why)| json!({"id": id, "why": why.to_string()}))
            .collect();
        json!({
            "order": self.order.iter().map(Row::to_json).collect::<Vec<_>>(),
            "unreachable": unreachable,
            "cost": self.cost,
            "proven": self.proven,
            "gap": self.gap,
        })
    }
}

impl Row {
    fn to_json(&self) -> Value {
        let warnings: Vec<String> = self.warnings.iter().map(ToString::to_string).collect();
        json!({
            "id": self.id,
            "arrive_at": self.arrive_at,
            "start_at": self.start_at,
            "end_at": self.end_at,
            "meet": self.meet,
            "run_m": self.run_m,
            "course_deg": self.course_deg,
            "wait_s": self.wait_s,
            "stand_off_m": self.stand_off_m,
            "stand_off_min": self.stand_off_min,
            "advice": self.advice.to_string(),
            "why": self.why.to_string(),
            "warnings": warnings,
        })
    }
}

fn read_instance(reader: &Reader, value: &Value) -> Option<Instance> {
    let root = reader.object("", value)?;
    let now = root.take("now", Reader::instant);
    let boat = root.take("boat", Reader::object).and_then(read_boat);
    let water = root.take("water", Reader::object).and_then(read_water);
    let wind = root.take_if("wind", |r, path, v| read_wind(r.object(path, v)?));
    let keep_clear = root.take("keep_clear", read_areas);
    let stand_off_m = root.number("stand_off_m", &bounds::STAND_OFF_M);
    let groups = root.take("groups", |r, path, v| read_groups(r, path, v, now));
    let id = |r: &Reader, path: &str, v: &Value| r.text(path, v, LONGEST_ID);
    let under_way = root.take_if("under_way", id);
    let fixed = root.take_if("fixed", |r, path, v| {
        let list = r.list(path, v, MOST_GROUPS)?;
        let ids = list.iter().enumerate();
        ids.map(|(nth, v)| id(r, &format!("{path}[{nth}]"), v))
            .collect::<Option<Vec<_>>>()
    });
    root.close();
    let instance = Instance {
        now: now?,
        boat: boat?,
        water: water?,
        wind: wind?,
        keep_clear: keep_clear?,
        stand_off_m: stand_off_m?,
        groups: groups?,
        under_way: under_way?,
        fixed: fixed?.unwrap_or_default(),
    };
    check_ids(reader, &instance);
    check_reach(reader, &instance);
    Some(instance)
}

fn read_boat(boat: Object<'_>) -> Option<Boat> {
    let position = boat.take("position", read_position);
    let speed_kn = boat.number("speed_kn", &bounds::BOAT_KN);
    let boarding_s_per_person = boat.number("boarding_s_per_person", &bounds::HANDLING_S);
    let approach_s = boat.number("approach_s", &bounds::HANDLING_S);
    boat.close();
    Some(Boat {
        position: position?,
        speed_kn: speed_kn?,
        boarding_s_per_person: boarding_s_per_person?,
        approach_s: approach_s?,
        // A setting of the boat, which this document does not carry.
        approach: Approach::NotSet,
    })
}

fn read_water(water: Object<'_>) -> Option<Water> {
    let set_deg = water.number("set_deg", &bounds::DIRECTION_DEG);
    let drift_kn = water.number("drift_kn", &bounds::DRIFT_KN);
    water.close();
    Some(Water {
        set_deg: set_deg?,
        drift_kn: drift_kn?,
    })
}

fn read_wind(wind: Object<'_>) -> Option<Wind> {
    let from_deg = wind.number("from_deg", &bounds::DIRECTION_DEG);
    let speed_kn = wind.number("speed_kn", &bounds::WIND_KN);
    wind.close();
    Some(Wind {
        from_deg: from_deg?,
        speed_kn: speed_kn?,
    })
}

fn read_areas(reader: &Reader, path: &str, value: &Value) -> Option<Vec<Area>> {
    let list = reader.list(path, value, MOST_AREAS)?;
    let mut left = MOST_POSITIONS;
    let areas: Vec<Area> = list
        .iter()
        .enumerate()
        .filter_map(|(nth, area)| read_area(reader, &format!("{path}[{nth}]"), area, &mut left))
        .collect();
    (areas.len() == list.len()).then_some(areas)
}

fn read_groups(
    reader: &Reader,
    path: &str,
    value: &Value,
    now: Option<Timestamp>,
) -> Option<Vec<Group>> {
    let list = reader.list(path, value, MOST_GROUPS)?;
    let groups: Vec<Group> = list
        .iter()
        .enumerate()
        .filter_map(|(nth, group)| {
            read_group(reader.object(&format!("{path}[{nth}]"), group)?, now)
        })
        .collect();
    (groups.len() == list.len()).then_some(groups)
}

fn read_group(group: Object<'_>, now: Option<Timestamp>) -> Option<Group> {
    let near = |r: &Reader, path: &str, v: &Value| {
        let at = r.instant(path, v)?;
        let hours = now.map_or(0, |now| at.duration_since(now).as_hours().abs());
        if hours < HOURS_FROM_NOW {
            return Some(at);
        }
        r.fault(
            path,
            format!("is {hours} h from now"),
            format!("a time within {HOURS_FROM_NOW} h of now"),
        );
        None
    };
    let id = group.take("id", |r, path, v| r.text(path, v, LONGEST_ID));
    let people = group.take("people", |r, path, v| r.whole(path, v, &bounds::PEOPLE));
    let position = group.take("position", read_position);
    let position_at = group.take("position_at", near);
    let expected_at = group.take("expected_at", near);
    let surfaced_at = group.take_if("surfaced_at", near);
    let drifts = group.take_if("drifts", Reader::flag);
    let urgency = group.take_if("urgency", |r, path, v| r.word(path, v, &URGENCIES));
    group.close();
    Some(Group {
        id: id?,
        people: people?,
        position: position?,
        position_at: position_at?,
        expected_at: expected_at?,
        surfaced_at: surfaced_at?,
        drifts: drifts?.unwrap_or(true),
        urgency: urgency?.unwrap_or(Urgency::Routine),
    })
}

/// Ids must be unique; those fixed or under way must be there, each once.
fn check_ids(reader: &Reader, instance: &Instance) {
    let mut known = HashSet::new();
    for (nth, group) in instance.groups.iter().enumerate() {
        if !known.insert(group.id.as_str()) {
            let what = format!("is '{}' again", group.id);
            reader.fault(format!("groups[{nth}].id"), what, "ids that are unique");
        }
    }
    if let Some(id) = instance
        .under_way
        .as_deref()
        .filter(|id| !known.contains(id))
    {
        reader.fault("under_way", format!("is '{id}'"), "the id of a group");
    }
    let mut fixed = HashSet::new();
    for (nth, id) in instance.fixed.iter().enumerate() {
        let path = format!("fixed[{nth}]");
        if !known.contains(id.as_str()) {
            reader.fault(path, format!("is '{id}'"), "the id of a group");
        } else if !fixed.insert(id.as_str()) {
            reader.fault(path, format!("is '{id}' again"), "each id once");
        }
    }
}

/// The plane round the boat holds within 20 km.
fn check_reach(reader: &Reader, instance: &Instance) {
    const REACH: Bounds = bounds::DISTANCE_M;
    let plane = LocalPlane::round(instance.boat.position);
    let check = |path: String, position: Position| {
        // Off the near half of the globe the plane says little: ask the geodesic.
        let far = instance.boat.position.distance_m(position);
        if far > REACH.max {
            let what = format!("lies {:.1} km from the boat", far / 1e3);
            reader.fault(path, what, format!("a place within {} km", REACH.max / 1e3));
            return false;
        }
        plane.metres(position).length().is_finite()
    };
    for (nth, group) in instance.groups.iter().enumerate() {
        check(format!("groups[{nth}].position"), group.position);
    }
    for (nth, area) in instance.keep_clear.iter().enumerate() {
        // One fault an area is enough.
        let mut positions = area.positions();
        while positions
            .next()
            .is_some_and(|at| check(format!("keep_clear[{nth}]"), at))
        {}
    }
}
