//! The picture of a trip: what a device needs to go on alone. Every group with its people and
//! deadlines as instants and as offsets, the alerts with the instant from which each holds, the
//! pickup order, and what the picture knows.
//!
//! It is an object of maps by identity, so that a change is told as a JSON Merge Patch
//! (RFC 7396): only what changed travels.

mod alone;
mod pickup;

use jiff::Timestamp;
use serde_json::{Map, Value, json};

use super::dives::ComingUp;
use super::forecast::Order;
use super::ground::{Grounds, Sea};
use super::likely::likely;
use super::state::{Beacon, Drop, Group, Person, Place, State};
use super::watch::{Alert, Recalled, Row, Watch};
use crate::dive::plan::Stop;
use crate::sea::position::Position;

/// The picture of `state` as seen at `watch.at`. `entry`: the box's last entry in it. `chart`:
/// hash under which the chart of the dive is served.
#[must_use]
pub fn picture(
    state: &State,
    watch: &Watch,
    order: &Order,
    grounds: &Grounds,
    entry: u64,
    chart: &str,
) -> Value {
    json!({
        "trip": state.trip,
        "entry": entry,
        "knows": state.head,
        "phase": state.phase,
        "reopened": state.reopened,
        "dive": state.dive,
        "boat": boat(state),
        "site": site(state, chart),
        "out": watch.out,
        "under": watch.under,
        "aboard": watch.aboard,
        "roster": state.people.len(),
        "people": by(state.people.values(), |p| (p.id.to_string(), person(p))),
        "groups": groups(state, watch, grounds),
        "alerts": by(&watch.alerts, |a| (a.key.clone(), alert(a))),
        "ahead": ahead(watch),
        "pickup": pickup::order(order),
        "conditions": conditions(state),
        "beacons": by(&state.beacons, |(identity, b)| (identity.clone(), beacon(b))),
        "lookout": state.lookout.as_ref().map(|l| json!({"name": l.name, "since": l.since})),
        "command": state.command.name,
        "emergency": state.emergency.as_ref().map(|e| json!({
            "reason": e.declared.what, "by": e.declared.by, "at": e.declared.at,
            "datum": e.datum, "steps": e.steps.iter().map(|s| s.step).collect::<Vec<_>>(),
        })),
        "next_change": watch.next_change,
        "alone": alone::trip(state),
    })
}

fn by<T>(things: impl IntoIterator<Item = T>, pair: impl Fn(T) -> (String, Value)) -> Value {
    Value::Object(things.into_iter().map(pair).collect::<Map<_, _>>())
}

fn boat(state: &State) -> Value {
    let Some(opened) = &state.opened else {
        return Value::Null;
    };
    json!({
        "name": opened.boat.name,
        "harbour": opened.harbour,
        "skipper": opened.skipper,
        "day": opened.day,
        "time_zone": opened.time_zone,
        "drill": opened.drill,
        "position": state.boat.as_ref().map(|b| b.position),
        "position_at": state.boat.as_ref().map(|b| b.at),
        "position_source": state.boat.as_ref().map(|b| b.source),
    })
}

fn site(state: &State, chart: &str) -> Value {
    let Some(planned) = state.dives.get(&state.dive.max(1)) else {
        return Value::Null;
    };
    json!({
        "name": planned.site.name,
        "position": planned.site.position,
        "stand_off_m": planned.site.stand_off_m,
        "chart": chart,
    })
}

fn person(person: &Person) -> Value {
    let unresolved = person.place == Place::Unresolved;
    let mut value = json!({
        "name": person.card.name,
        "activity": person.card.activity,
        "place": person.place,
        "since": person.since,
    });
    if let Value::Object(map) = &mut value {
        if person.distress {
            map.insert("distress".into(), json!(true));
        }
        if let Some(dive) = person.dive {
            map.insert("dive".into(), json!(dive));
        }
        if let Some(group) = person.group {
            map.insert("group".into(), json!(group));
        }
        if !person.coming {
            map.insert("coming".into(), json!(false));
        }
        if unresolved {
            map.insert("statements".into(), json!(person.statements));
        }
    }
    value
}

fn groups(state: &State, watch: &Watch, grounds: &Grounds) -> Value {
    let seas = grounds.seas(state);
    by(watch.rows.iter().zip(1_u32..), |(row, rank)| {
        let group = state.groups.get(&row.group);
        (
            row.group.to_string(),
            row_value(state, row, rank, group, seas.get(&row.dive), watch.at),
        )
    })
}

fn row_value(
    state: &State,
    row: &Row,
    rank: u32,
    group: Option<&Group>,
    sea: Option<&Sea<'_>>,
    at: Timestamp,
) -> Value {
    json!({
        "letter": row.letter,
        "dive": row.dive,
        "rank": rank,
        "standing": row.standing,
        "entered_at": row.entered_at,
        "deadlines": row.deadlines,
        "offsets": group.and_then(|g| g.drop.as_ref()).map(offsets),
        "run_time_min": row.run_time_min,
        "granted_min": row.granted_min,
        "partner_until": row.partner_until,
        "owes": row.owes,
        "longer": row.longer.as_ref().map(|coming| longer(coming, at)),
        "recalled": row.recalled.as_ref().map(recall),
        "members": row.members.iter().map(|m| m.id).collect::<Vec<_>>(),
        "up": row.up,
        "at_surface": row.at_surface,
        "accounted": row.accounted,
        // What the deadlines say is not said again: its minutes would be wrong a minute later.
        "why": row.why.iter().filter(|why| !why.follows_from_deadlines()).collect::<Vec<_>>(),
        "alone": group.map(|g| alone::group(state, g, at)),
        "likely": group.zip(sea).and_then(|(g, sea)| likely(state, g, sea, at)).map(|l| json!({
            "position": place(l.position), "spread_m": l.spread_m.round(), "at": second(l.at), "basis": l.basis,
        })),
    })
}

/// The way up since a recall: stops as pairs of metres and minutes, those owed apart from the one
/// that is not, and when it ends, to the whole minute after: the figures behind it are no finer.
fn recall(since: &Recalled) -> Value {
    let coming = &since.coming;
    let safety = coming.stops.iter().filter(|held| !held.required);
    json!({
        "at": since.at,
        "owes": coming.owed().iter().map(pair).collect::<Vec<_>>(),
        "safety": safety.map(|held| pair(&held.stop)).collect::<Vec<_>>(),
        "up_at": coming.up_by_minute(),
    })
}

/// The way up from now on. How long it takes changes seldom, when it ends with every minute.
fn longer(coming: &ComingUp, at: Timestamp) -> Value {
    let takes = coming.up_by_minute().duration_since(at);
    json!({
        "owes": coming.owed().iter().map(pair).collect::<Vec<_>>(),
        "takes_min": (takes.as_secs() + 59) / 60,
    })
}

fn pair(stop: &Stop) -> [f64; 2] {
    [stop.depth_m(), stop.minutes()]
}

fn offsets(drop: &Drop) -> Value {
    json!(drop.window)
}

fn alert(alert: &Alert) -> Value {
    json!({
        "cause": alert.cause,
        "word": alert.cause.word(),
        "priority": alert.priority,
        "state": alert.state,
        "since": alert.since,
        "until": alert.until,
        "deck_from": alert.deck_from(),
        "desk_from": alert.desk_from(),
        "quiet_until": alert.quiet_until,
        "acknowledged": alert.acknowledged,
        "group": alert.group,
        "person": alert.person,
    })
}

/// Alerts that will hold if nothing is logged before: a device alone raises them itself. By the
/// alert, which instant of its group it holds from; the instants move, their names do not.
fn ahead(watch: &Watch) -> Value {
    let waited_for = watch
        .rows
        .iter()
        .filter(|row| row.entered_at.is_some() && row.up < row.members.len())
        .filter(|row| row.deadlines.is_some());
    by(waited_for, |row| {
        let names = json!({
            "late": "deadlines.latest", "overdue": "deadlines.overdue",
            "out-of-gas": "deadlines.endurance", "partner-overdue": "partner_until",
        });
        (super::watch::group_key(row.group), names)
    })
}

fn beacon(beacon: &Beacon) -> Value {
    json!({
        "sort": beacon.sort,
        "position": beacon.place.map(|p| p.position),
        "position_at": beacon.place.map(|p| p.at),
        "position_is_last": beacon.place.map(|p| p.is_last),
        "text": beacon.text,
        "active": beacon.is_active,
        "since": beacon.since,
        "heard_at": beacon.heard_at,
        "dismissed": beacon.dismissed.as_ref().map(|why| json!({
            "reason": why.what, "by": why.by, "at": why.at,
        })),
    })
}

/// A reckoned instant to the second: what follows is noise, and travels with every change.
fn second(at: Timestamp) -> Timestamp {
    Timestamp::from_second(at.as_second()).unwrap_or(at)
}

/// A reckoned place to six decimals, about 0.1 m, as RFC 7946 (11.2) advises.
fn place(position: Position) -> [f64; 2] {
    <[f64; 2]>::from(position).map(|degrees| (degrees * 1e6).round() / 1e6)
}

fn conditions(state: &State) -> Value {
    let c = &state.conditions;
    json!({
        "set_deg": c.current().map(|k| k.what.0),
        "drift_kn": c.current().map(|k| k.what.1),
        "current_at": c.current().map(|k| k.at),
        "wind_from_deg": c.wind.as_ref().map(|k| k.what.0),
        "wind_kn": c.wind.as_ref().map(|k| k.what.1),
        "wind_at": c.wind.as_ref().map(|k| k.at),
        "visibility_m": c.visibility_m.as_ref().map(|k| k.what),
        "sea": c.sea.as_ref().map(|k| k.what),
        "water_c": c.water_c.as_ref().map(|k| k.what),
    })
}

/// What turns `old` into `new`, as a JSON Merge Patch (RFC 7396). `None`: nothing changed.
///
/// RFC 7396 cannot set a member to null; such members are removed, which readers of a picture
/// take as the same.
#[must_use]
pub fn patch(old: &Value, new: &Value) -> Option<Value> {
    if old == new {
        return None;
    }
    let (Value::Object(before), Value::Object(after)) = (old, new) else {
        return Some(new.clone());
    };
    let mut patch = Map::new();
    for key in before.keys().filter(|key| !after.contains_key(*key)) {
        patch.insert(key.clone(), Value::Null);
    }
    for (key, value) in after {
        match before.get(key) {
            Some(known) => {
                if let Some(change) = self::patch(known, value) {
                    patch.insert(key.clone(), change);
                }
            }
            None if value.is_null() => {}
            None => {
                patch.insert(key.clone(), value.clone());
            }
        }
    }
    Some(Value::Object(patch))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// RFC 7396, section 2: the algorithm that applies a patch.
    fn apply(target: Value, patch: Value) -> Value {
        let Value::Object(patch) = patch else {
            return patch;
        };
        let mut target = if let Value::Object(map) = target {
            map
        } else {
            Map::new()
        };
        for (name, value) in patch {
            if value.is_null() {
                target.remove(&name);
            } else {
                let inner = target.remove(&name).unwrap_or(Value::Null);
                target.insert(name, apply(inner, value));
            }
        }
        Value::Object(target)
    }

    fn without_nulls(value: Value) -> Value {
        let Value::Object(map) = value else {
            return value;
        };
        map.into_iter()
            .filter(|(_, v)| !v.is_null())
            .map(|(k, v)| (k, without_nulls(v)))
            .collect()
    }

    fn json_value() -> impl Strategy<Value = Value> {
        let leaf = prop_oneof![
            Just(Value::Null),
            any::<bool>().prop_map(Value::from),
            any::<i32>().prop_map(Value::from),
            "[a-c]{0,3}".prop_map(Value::from),
            proptest::collection::vec(any::<u8>(), 0..3).prop_map(Value::from),
        ];
        leaf.prop_recursive(3, 24, 4, |inner| {
            proptest::collection::btree_map("[a-d]", inner, 0..4)
                .prop_map(|map| Value::Object(map.into_iter().collect()))
        })
    }

    fn object() -> impl Strategy<Value = Value> {
        proptest::collection::btree_map("[a-d]", json_value(), 0..5)
            .prop_map(|map| Value::Object(map.into_iter().collect()))
    }

    proptest! {
        #[test]
        fn a_patch_turns_the_old_picture_into_the_new(old in object(), new in object()) {
            let changed = match patch(&old, &new) {
                Some(patch) => apply(old, patch),
                None => old,
            };
            prop_assert_eq!(without_nulls(changed), without_nulls(new));
        }
    }
}
