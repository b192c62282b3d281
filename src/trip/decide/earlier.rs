//! Dives of the day before a trip: told at the desk, or carried over from other trips.

use jiff::{SignedDuration, Timestamp};

use super::{Decided, Draft, Refusal, Refused, open, person, said};
use crate::trip::carried::{self, Carried};
use crate::trip::dives::told_plan;
use crate::trip::event::{About, DivedEarlier, Fact, PersonId, ToldDive};
use crate::trip::state::{State, plus};

/// Most dives that are told of one person before one trip.
pub const MOST_EARLIER: usize = 8;

/// How far before the beginning of the trip's day a dive may lie that is told.
const BEFORE_THE_DAY: SignedDuration = SignedDuration::from_hours(24);

/// All dives that a person made before this trip, as somebody tells them now, each with its row
/// in the form; none takes back what was told. `day_begins`: midnight of the trip's day.
///
/// # Errors
/// Every reason why not, with the row: a time that lies ahead or
/// more than a day before the trip's day, minutes too few for the way down, two dives at one
/// time, no source; or too many dives.
pub fn tell_earlier(
    state: &State,
    id: PersonId,
    dives: Vec<(usize, ToldDive)>,
    day_begins: Timestamp,
    now: Timestamp,
) -> Decided {
    open(state)?;
    person(state, "person", id)?;
    let mut refused = Refused::default();
    if dives.len() > MOST_EARLIER {
        refused.add(Refusal::new("dives", "refused-many-dives").with("most", MOST_EARLIER));
    }
    for (nth, (row, dive)) in dives.iter().enumerate() {
        for why in against(dive, day_begins, now) {
            refused.add(why.in_row(row));
        }
        let mut before = dives.iter().take(nth);
        if before.any(|(_, other)| carried::overlap(other, dive)) {
            refused.add(Refusal::new("up", "refused-two-at-once").in_row(row));
        }
    }
    let dives = dives.into_iter().map(|(_, dive)| dive).collect();
    let fact = Fact::DivedEarlier(DivedEarlier { dives });
    refused.or(vec![Draft::now(About::person(id), fact)])
}

fn against(dive: &ToldDive, day_begins: Timestamp, now: Timestamp) -> Vec<Refusal> {
    let mut against = Vec::new();
    if dive.surfaced_at > now {
        against.push(Refusal::new("up", "refused-future"));
    }
    if dive.surfaced_at < plus(day_begins, -BEFORE_THE_DAY) {
        against.push(Refusal::new("up", "refused-long-ago"));
    }
    // What cannot be reckoned would be passed over, as if nobody had dived.
    if told_plan(dive.depth_m, dive.minutes).is_err() {
        against.push(Refusal::new("minutes", "refused-short-of-depth"));
    }
    if said("source", &dive.source).is_err() {
        against.push(Refusal::new("source", "refused-empty"));
    }
    against
}

/// Decides with the dives of other trips reckoned in, and tells those that this trip's log does
/// not tell yet after what was decided.
///
/// # Errors
/// As `decide`.
pub fn carrying(
    state: &State,
    carried: &Carried,
    decide: impl FnOnce(&State) -> Decided,
) -> Decided {
    let mut drafts = decide(&carried.with(state))?;
    let untold = carried.untold(state).into_iter();
    drafts.extend(untold.map(|(id, dives)| {
        let fact = Fact::DivedEarlier(DivedEarlier { dives });
        Draft::now(About::person(id), fact)
    }));
    Ok(drafts)
}
