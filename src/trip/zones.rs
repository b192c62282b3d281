//! Pickup zones for a group: which to brief it to, at the current of the moment it comes up.

use jiff::Timestamp;

use super::event::{BoatSheet, GroupFormed};
use super::ground::Sea;
use super::likely;
use crate::sea::position::Position;
use crate::sea::zones::{Ranked, least_stand_off_min, rank};

/// Minutes to set up at so many people and board them.
#[must_use]
pub fn pickup_min(boat: &BoatSheet, people: usize) -> f64 {
    let boarding_s = f64::from(boat.boarding_s_per_person) * people as f64;
    (f64::from(boat.approach_s) + boarding_s) / 60.0
}

/// The zones of the site for so many people who are at `place` at `at`, best first.
#[must_use]
pub fn zones_at(
    sea: &Sea<'_>,
    boat: &BoatSheet,
    people: usize,
    place: Position,
    at: Timestamp,
) -> Vec<Ranked> {
    let ground = sea.ground;
    rank(
        &ground.zones,
        ground.plane.metres(place),
        sea.waters.moving(at),
        &ground.ways,
        least_stand_off_min(pickup_min(boat, people)),
    )
}

/// The zones for a group that leaves the surface at `enters` and comes up at `up`, as if it were
/// briefed to none of them.
#[must_use]
pub fn zones_for(
    formed: &GroupFormed,
    sea: &Sea<'_>,
    boat: &BoatSheet,
    enters: Timestamp,
    up: Timestamp,
) -> Vec<Ranked> {
    let unbriefed = GroupFormed {
        exit_zone: None,
        ..formed.clone()
    };
    let people = formed.units.iter().map(Vec::len).sum();
    likely::reckoned(&unbriefed, sea, (enters, None), up).map_or_else(Vec::new, |likely| {
        zones_at(sea, boat, people, likely.position, up)
    })
}
