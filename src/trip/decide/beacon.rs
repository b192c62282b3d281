//! Locator beacons: what the box notes of those it hears, and the skipper's word that one is
//! nobody's here.

use jiff::{SignedDuration, Timestamp};

use super::{Decided, Draft, Refusal, open, said};
use crate::trip::event::{About, BeaconDismissed, BeaconHeard, Fact, Role};
use crate::trip::state::{Phase, State};

/// A beacon that moved less is where it was: twice the error of a common fix (common practice,
/// no source).
const SAME_PLACE_M: f64 = 50.0;
/// One that goes on sending is noted again so often: it sends a burst a minute.
const NOTED_EVERY: SignedDuration = SignedDuration::from_secs(60);
/// Noise on the air, or somebody who plays with it, must not fill the log.
const MOST_BEACONS: usize = 32;
/// However fast a beacon moves, this long lies between two notes.
const NOT_BEFORE: SignedDuration = SignedDuration::from_secs(5);

/// A beacon is heard by the box: nothing is said where nothing is new. It concerns a trip that is
/// under way or has anybody aboard.
///
/// # Errors
/// On a closed trip.
pub fn beacon_heard(state: &State, heard: BeaconHeard, at: Timestamp) -> Decided {
    open(state)?;
    let concerned = matches!(state.phase, Phase::UnderWay | Phase::OnSite)
        || state.aboard() > 0
        || state.anybody_out();
    if !concerned || !is_news(state, &heard, at) {
        return Ok(Vec::new());
    }
    let draft = Draft::now(About::nobody(), Fact::BeaconHeard(heard));
    Ok(vec![draft.at(Some(at))])
}

fn is_news(state: &State, heard: &BeaconHeard, at: Timestamp) -> bool {
    let Some(known) = state.beacons.get(&heard.identity) else {
        return state.beacons.len() < MOST_BEACONS;
    };
    let since = at.duration_since(known.heard_at);
    if !heard.test && !known.is_active {
        return true;
    }
    let moved = match (heard.place, known.place) {
        (Some(_), None) => return true,
        (Some(now), Some(before)) => before.position.distance_m(now) > SAME_PLACE_M,
        (None, _) => false,
    };
    since >= NOTED_EVERY || (moved && since >= NOT_BEFORE)
}

/// The skipper says that a beacon is nobody's here, or a test: the same who may end an emergency.
///
/// # Errors
/// If no such beacon is heard or it is dismissed already, the author is no skipper, or no reason
/// is given.
pub fn dismiss_beacon(state: &State, identity: &str, reason: &str, role: Role) -> Decided {
    open(state)?;
    if role != Role::Skipper {
        return Err(Refusal::new("", "refused-dismiss-beacon").into());
    }
    let beacon = state.beacons.get(identity);
    if beacon.is_none_or(|beacon| beacon.dismissed.is_some()) {
        return Err(Refusal::new("", "refused-no-beacon").into());
    }
    let reason = said("reason", reason)?;
    let identity = identity.to_owned();
    let fact = Fact::BeaconDismissed(BeaconDismissed { identity, reason });
    Ok(vec![Draft::now(About::nobody(), fact)])
}
