//! What a device that goes on alone needs besides what is shown: the pairs of each group, the
//! window it would get at its drop, when each member came up, what was said of it, and who has
//! heard which alert. `static/js/overlay.js` reads it; shared vectors hold the two together.

use jiff::Timestamp;
use serde_json::{Map, Value, json};

use crate::dive::window::WindowFigures;
use crate::trip::event::{BuoyColour, Point};
use crate::trip::forecast::window_at_drop;
use crate::trip::state::{Group, Person, Seen, State, Word};
use crate::trip::watch::{Alert, causes, concerned, surfaced_at};

/// A window of a group on deck is reckoned for an instant that moves in steps of so many seconds,
/// so that the picture does not change with every look at it. The step begins before the drop:
/// less time at the surface is the stricter reckoning.
const STEP_S: i64 = 600;

/// What holds for the whole trip.
pub(super) fn trip(state: &State) -> Value {
    let opened = state.opened.as_ref();
    json!({
        "sight_nm": opened.map_or(0.2, |o| WindowFigures::from(o.windows).sight_nm),
        "emergency_plan": opened.map(|o| &o.boat.emergency_plan),
        "recall_signal": opened.and_then(|o| o.boat.recall_signal.as_ref()),
        "count": state.counts_at().map(|point| count(state, point)),
    })
}

/// The count that is asked for: which, and its round; never a figure.
fn count(state: &State, point: Point) -> Value {
    use crate::trip::roll::{Call, Outcome};
    let (call, held) = state.current_call(point);
    let round = match held.map(Call::outcome) {
        Some(Outcome::Open { round }) => round,
        Some(Outcome::Agreed { .. } | Outcome::Failed) | None => 1,
    };
    json!({"point": point, "call": call, "round": round, "dive": state.dive_of(point)})
}

/// What holds for a group; nothing for one whose people are all back and whose alerts are gone.
pub(super) fn group(state: &State, group: &Group, at: Timestamp) -> Value {
    if group.stood_down.is_some() {
        return Value::Null;
    }
    let Some(drop) = &group.drop else {
        return on_deck(state, group, at);
    };
    let raised = causes(state, group, at);
    if state.out_of(group).is_empty() && raised.is_empty() {
        return Value::Null;
    }
    let surfaced = state.members(group).filter(|p| is_up_from(state, group, p));
    let words = |said: &[Word]| -> Vec<Value> {
        let word =
            |w: &Word| json!({"at": w.at, "said_by": w.said_by, "about": concerned(group, w)});
        said.iter().map(word).collect()
    };
    let buoys = group.sightings.iter().filter_map(|s| match &s.what {
        Seen::Buoy(colour) => Some((s.at, *colour)),
        Seen::Heads(..) => None,
    });
    let last_is_buoy = group.sightings.iter().max_by_key(|s| s.at);
    let last_is_buoy = last_is_buoy.is_some_and(|s| matches!(s.what, Seen::Buoy(_)));
    json!({
        "units": group.units(),
        "window": drop.window,
        "strongest_kn": drop.strongest_drift_kn,
        "surfaced": surfaced.map(|p| (p.id.to_string(), json!(surfaced_at(p, group)))).collect::<Map<_, _>>(),
        "well": words(&group.others_well),
        "lost": words(&group.lost_contact),
        "yellow": buoys.filter(|(_, colour)| *colour == BuoyColour::Yellow).map(|(at, _)| at).max(),
        "buoy_last": last_is_buoy,
        // A cause that stands alone is the alert itself.
        "causes": (raised.len() > 1).then(|| raised.iter().map(cause).collect::<Vec<_>>()),
    })
}

/// Whether somebody is up from the dive of a group.
fn is_up_from(state: &State, group: &Group, person: &Person) -> bool {
    !state.down_of(group).iter().any(|p| p.id == person.id)
}

/// A group that has not gone in: who is meant to, and the deadlines it would get.
fn on_deck(state: &State, group: &Group, at: Timestamp) -> Value {
    let stepped = at.as_second() - at.as_second().rem_euclid(STEP_S);
    let from = Timestamp::from_second(stepped).unwrap_or(at);
    let members = group.members();
    // A plan that does not hold has no window; nobody is let in on it without the box.
    let frozen = window_at_drop(state, group, members, from).ok();
    json!({
        "units": group.units(),
        "window": frozen.as_ref().map(|f| f.window.clone()),
        "owes": frozen.map(|f| f.owes).unwrap_or_default(),
        "checked": group.checked.is_some(),

    })
}

/// One cause of a group's alert, with what became of it: the strip shows only the gravest.
fn cause(alert: &Alert) -> Value {
    json!({
        "word": alert.cause.word(),
        "priority": alert.priority,
        "since": alert.since,
        "until": alert.until,
        "acknowledged": alert.acknowledged,
        "quiet_until": alert.quiet_until,
    })
}
