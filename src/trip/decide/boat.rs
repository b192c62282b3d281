//! The boat's forms: counts and roll, departure, sites, conditions, lookout, recall, pickup.

use std::collections::BTreeSet;

use jiff::{SignedDuration, Timestamp};

use super::{Decided, Draft, Refusal, Refused, names, open, person, said};
use crate::sea::position::Position;
use crate::trip::event::{
    About, BackInHarbour, BoatPositioned, ConditionsObserved, CrewId, Departed, Fact,
    ForecastNoted, HeadCounted, LeftSite, LookoutPosted, LookoutRelieved, Method, OnSite, PersonId,
    PickupArranged, Point, PositionSource, RecallSounded, RollCalled, TripClosed,
};
use crate::trip::gate::{Block, gate};
use crate::trip::state::{Phase, Place, State};

/// One blind count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HeadCount {
    /// Where.
    pub point: Point,
    /// The count the page showed.
    pub call: u32,
    /// The round the page showed.
    pub round: u32,
    /// How.
    pub method: Method,
    /// How many.
    pub people: u32,
}

/// One blind count by one crew member.
///
/// # Errors
/// If this count is over, or this member counted already in this way.
pub fn count(state: &State, counted: HeadCount, crew: CrewId) -> Decided {
    use crate::trip::roll::Outcome;
    open(state)?;
    here(state, counted.point)?;
    let (number, call) = state.current_call(counted.point);
    let round = match call.map(crate::trip::roll::Call::outcome) {
        Some(Outcome::Open { round }) => round,
        _ => 1,
    };
    if number != counted.call || round != counted.round {
        return Err(Refusal::new("people", "refused-count-moved-on").into());
    }
    if call.is_some_and(|call| !call.may_count(crew, counted.method)) {
        return Err(Refusal::new("people", "refused-counted").into());
    }
    if counted.people > 1_000 {
        return Err(Refusal::new("people", "refused-absurd").into());
    }
    let fact = Fact::HeadCounted(HeadCounted {
        point: counted.point,
        call: counted.call,
        round: counted.round,
        method: counted.method,
        people: counted.people,
        log_aboard: u32::try_from(state.aboard()).unwrap_or(u32::MAX),
    });
    Ok(vec![Draft::now(about_point(state, counted.point), fact)])
}

fn about_point(state: &State, point: Point) -> About {
    match state.dive_of(point) {
        0 => About::nobody(),
        dive => About::nobody().on_dive(dive),
    }
}

/// Counts and rolls are taken where they belong.
fn here(state: &State, point: Point) -> Result<(), Refused> {
    let right = match point {
        Point::Departure => state.phase == Phase::AtQuay,
        Point::Leaving => state.phase == Phase::OnSite,
        Point::Return => matches!(state.phase, Phase::Back | Phase::UnderWay),
    };
    if right {
        Ok(())
    } else {
        Err(Refusal::new("point", "refused-not-here").into())
    }
}

/// A roll by name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RollCall {
    /// Where.
    pub point: Point,
    /// Seen: each named.
    pub present: BTreeSet<PersonId>,
    /// Called and not seen.
    pub not_seen: BTreeSet<PersonId>,
}

/// The roll, called by name. Nobody is ticked without being named, nobody in the water is
/// present.
///
/// # Errors
/// If somebody of the roster was not called, or somebody ticked is in the water.
pub fn call_roll(state: &State, roll: RollCall) -> Decided {
    open(state)?;
    here(state, roll.point)?;
    let mut refused = Refused::default();
    for id in roll.present.intersection(&roll.not_seen) {
        let who = person(state, "present", *id)?;
        refused.add(Refusal::new("present", "refused-seen-and-not-seen").with("name", who.name()));
    }
    for id in &roll.not_seen {
        person(state, "not_seen", *id)?;
    }
    if roll.present.is_empty() {
        refused.add(Refusal::new("present", "refused-nobody"));
    }
    for id in &roll.present {
        let who = person(state, "present", *id)?;
        if matches!(who.place, Place::InWater | Place::AtSurface) {
            refused.add(Refusal::new("present", "refused-roll-in-water").with("name", who.name()));
        }
    }
    let missed: Vec<_> = state
        .coming()
        .filter(|p| {
            matches!(
                p.place,
                Place::Aboard | Place::Ashore | Place::Unresolved | Place::Missing
            )
        })
        .filter(|p| roll.point == Point::Departure || p.place != Place::Ashore)
        .filter(|p| !roll.present.contains(&p.id) && !roll.not_seen.contains(&p.id))
        .collect();
    if !missed.is_empty() {
        refused.add(Refusal::new("present", "refused-not-called").with("names", names(missed)));
    }
    let mut about = about_point(state, roll.point);
    about.persons = roll.present;
    let not_seen = roll.not_seen.into_iter().collect();
    let fact = Fact::RollCalled(RollCalled {
        point: roll.point,
        not_seen,
    });
    refused.or(vec![Draft::now(about, fact)])
}

/// A closed gate opens only by a stated reason of the skipper.
fn through(
    state: &State,
    point: Point,
    reason: Option<&str>,
    skipper: bool,
) -> Result<Option<String>, Refused> {
    let blocks = gate(state, point);
    if blocks.is_empty() {
        return Ok(None);
    }
    match reason.map(str::trim).filter(|r| !r.is_empty()) {
        Some(reason) if skipper => Ok(Some(said("override_reason", reason)?)),
        Some(_) => Err(Refusal::new("override_reason", "refused-only-skipper").into()),
        None => Err(Refused(blocks.iter().map(refusal).collect())),
    }
}

/// A block of the gate as a sentence.
#[must_use]
pub fn refusal(block: &Block) -> Refusal {
    match block {
        Block::Out(names) => Refusal::new("", "refused-out").with("names", names.join(", ")),
        Block::NotAboard(names) => {
            Refusal::new("", "refused-not-boarded").with("names", names.join(", "))
        }
        Block::NotCounted => Refusal::new("", "refused-not-counted"),
        Block::CountOpen { round } => Refusal::new("", "refused-count-open").with("round", round),
        Block::CountFailed => Refusal::new("", "refused-count-failed"),
        Block::CountOld { .. } => Refusal::new("", "refused-count-old"),
        Block::NoRoll => Refusal::new("", "refused-no-roll"),
        Block::RollOld(names) => {
            Refusal::new("", "refused-roll-old").with("names", names.join(", "))
        }
        Block::OverCapacity { aboard, capacity } => Refusal::new("", "refused-over-capacity")
            .with("aboard", aboard)
            .with("capacity", capacity),
        Block::NotDecided => Refusal::new("", "refused-go-not-decided"),
        Block::ChangedSinceGo => Refusal::new("", "refused-go-changed"),
        Block::NoGo => Refusal::new("", "refused-go-no-go"),
    }
}

/// Leaves the quay.
///
/// # Errors
/// While the gate is closed and no reason is stated by the skipper.
pub fn depart(state: &State, reason: Option<&str>, skipper: bool) -> Decided {
    open(state)?;
    if state.phase != Phase::AtQuay {
        return Err(Refusal::new("", "refused-departed").into());
    }
    let override_reason = through(state, Point::Departure, reason, skipper)?;
    Ok(vec![Draft::now(
        About::nobody(),
        Fact::Departed(Departed { override_reason }),
    )])
}

/// Arrives on the site of a dive.
///
/// # Errors
/// If the boat is at the quay or on a site, or the dive is not planned.
pub fn on_site(state: &State, dive: u32) -> Decided {
    open(state)?;
    if state.phase != Phase::UnderWay {
        return Err(Refusal::new("", "refused-not-under-way").into());
    }
    if !state.dives.contains_key(&dive) || dive < state.dive {
        return Err(Refusal::new("dive", "refused-no-dive").into());
    }
    Ok(vec![Draft::now(
        About::nobody().on_dive(dive),
        Fact::OnSite(OnSite {}),
    )])
}

/// Leaves the site.
///
/// # Errors
/// While the gate is closed and no reason is stated by the skipper.
pub fn leave_site(state: &State, reason: Option<&str>, skipper: bool) -> Decided {
    open(state)?;
    if state.phase != Phase::OnSite {
        return Err(Refusal::new("", "refused-not-on-a-site").into());
    }
    let override_reason = through(state, Point::Leaving, reason, skipper)?;
    let about = About::nobody().on_dive(state.dive);
    Ok(vec![Draft::now(
        about,
        Fact::LeftSite(LeftSite { override_reason }),
    )])
}

/// Back at the quay.
///
/// # Errors
/// If the boat is not under way.
pub fn back_in_harbour(state: &State) -> Decided {
    open(state)?;
    if state.phase != Phase::UnderWay {
        return Err(Refusal::new("", "refused-not-under-way").into());
    }
    Ok(vec![Draft::now(
        About::nobody(),
        Fact::BackInHarbour(BackInHarbour {}),
    )])
}

/// Closes the trip.
///
/// # Errors
/// While the gate is closed and no reason is stated by the skipper; at sea in any case.
pub fn close(state: &State, reason: Option<&str>, skipper: bool) -> Decided {
    open(state)?;
    // A trip that never left is closed at the quay.
    if !matches!(state.phase, Phase::Back | Phase::AtQuay) {
        return Err(Refusal::new("", "refused-at-sea").into());
    }
    let nobody_left = state.aboard() == 0 && !state.anybody_out();
    let override_reason = if state.phase == Phase::AtQuay && nobody_left {
        None
    } else {
        through(state, Point::Return, reason, skipper)?
    };
    Ok(vec![Draft::now(
        About::nobody(),
        Fact::TripClosed(TripClosed { override_reason }),
    )])
}

/// Sea and weather as seen.
///
/// # Errors
/// If nothing is said, or half of a pair that belongs together.
pub fn conditions(state: &State, seen: ConditionsObserved) -> Decided {
    open(state)?;
    let mut refused = Refused::default();
    if seen.set_deg.is_some() != seen.drift_kn.is_some() {
        refused.add(Refusal::new("set_deg", "refused-set-and-drift"));
    }
    if seen.wind_from_deg.is_some() != seen.wind_kn.is_some() {
        refused.add(Refusal::new("wind_from_deg", "refused-wind-pair"));
    }
    let nothing = seen.set_deg.is_none()
        && seen.wind_from_deg.is_none()
        && seen.visibility_m.is_none()
        && seen.sea.is_none()
        && seen.water_c.is_none();
    if nothing && refused.0.is_empty() {
        refused.add(Refusal::new("", "refused-nothing-said"));
    }
    refused.or(vec![Draft::now(
        About::nobody(),
        Fact::ConditionsObserved(seen),
    )])
}

/// A forecast of weather, sea or tide, as somebody read it.
///
/// # Errors
/// On a closed trip, or if it says nothing.
pub fn forecast(state: &State, note: &ForecastNoted) -> Decided {
    open(state)?;
    let text = said("text", &note.text)?;
    let source = match note.source.as_deref().map(str::trim) {
        None | Some("") => None,
        Some(source) => Some(said("source", source)?),
    };
    let of = note.of;
    let note = ForecastNoted { of, text, source };
    Ok(vec![Draft::now(About::nobody(), Fact::ForecastNoted(note))])
}

/// Where the boat is.
///
/// # Errors
/// On a closed trip.
pub fn boat_at(state: &State, position: Position, source: PositionSource) -> Decided {
    open(state)?;
    let fact = Fact::BoatPositioned(BoatPositioned { position, source });
    Ok(vec![Draft::now(About::nobody(), fact)])
}

/// Where the boat is by its instruments, as far as the log wants to know: after 15 m, not more
/// than every 15 s; without going so far, as often as keeps the last one from growing old while
/// anybody is out, else every five minutes. Nothing before departure or in harbour.
///
/// # Errors
/// On a closed trip.
pub fn boat_fix(state: &State, position: Position, at: Timestamp) -> Decided {
    /// Less is noise of the fix or a swing at the mooring (common practice, no source).
    const MOVED_M: f64 = 15.0;
    const NOT_BEFORE: SignedDuration = SignedDuration::from_secs(15);
    /// Under the minute for which a fix counts.
    const KEPT_FRESH: SignedDuration = SignedDuration::from_secs(45);
    const AT_LEAST: SignedDuration = SignedDuration::from_mins(5);
    open(state)?;
    let anybody_out = state.anybody_out();
    if !anybody_out && !matches!(state.phase, Phase::UnderWay | Phase::OnSite) {
        return Ok(Vec::new());
    }
    let due = state.boat.as_ref().is_none_or(|last| {
        let since = at.duration_since(last.at);
        let moved = last.position.distance_m(position) >= MOVED_M;
        let patience = if anybody_out { KEPT_FRESH } else { AT_LEAST };
        // What somebody typed is mended as soon as the instruments know better.
        let typed = last.source != PositionSource::Instruments;
        since >= NOT_BEFORE && (moved || typed || since >= patience)
    });
    if !due {
        return Ok(Vec::new());
    }
    let source = PositionSource::Instruments;
    let fact = Fact::BoatPositioned(BoatPositioned { position, source });
    Ok(vec![Draft::now(About::nobody(), fact).at(Some(at))])
}

/// Posts a lookout, relieving whoever stood there.
///
/// # Errors
/// If no name is given.
pub fn post_lookout(state: &State, name: &str) -> Decided {
    open(state)?;
    let name = said("lookout", name)?;
    Ok(vec![Draft::now(
        About::nobody(),
        Fact::LookoutPosted(LookoutPosted { name }),
    )])
}

/// Relieves the lookout without another taking the watch.
///
/// # Errors
/// If nobody is posted, or people are in the water.
pub fn relieve_lookout(state: &State) -> Decided {
    open(state)?;
    let Some(lookout) = &state.lookout else {
        return Err(Refusal::new("lookout", "refused-no-lookout").into());
    };
    if state.anybody_out() {
        return Err(Refusal::new("lookout", "refused-lookout-needed").into());
    }
    let name = lookout.name.clone();
    Ok(vec![Draft::now(
        About::nobody(),
        Fact::LookoutRelieved(LookoutRelieved { name }),
    )])
}

/// Sounds the recall.
///
/// # Errors
/// If nobody is out, or no signal is named.
pub fn recall(state: &State, signal: &str) -> Decided {
    open(state)?;
    if !state.anybody_out() {
        return Err(Refusal::new("", "refused-nobody-out").into());
    }
    let signal = said("signal", signal)?;
    let about = About::nobody().on_dive(state.dive);
    Ok(vec![Draft::now(
        about,
        Fact::RecallSounded(RecallSounded { signal }),
    )])
}

/// What the skipper fixes of the pickup order.
///
/// # Errors
/// If an entry stands twice.
pub fn arrange_pickup(state: &State, arranged: PickupArranged) -> Decided {
    open(state)?;
    let once: BTreeSet<&String> = arranged.fixed.iter().collect();
    if once.len() != arranged.fixed.len() || arranged.fixed.len() > 100 {
        return Err(Refusal::new("fixed", "refused-twice-in-order").into());
    }
    Ok(vec![Draft::now(
        About::nobody(),
        Fact::PickupArranged(arranged),
    )])
}
