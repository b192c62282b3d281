//! Pickup zones ranked for a group: how far off, whether the set carries from there towards a
//! keep-clear area, how long a hull without engine has there, and what lies up-wind.

use std::cmp::Ordering;

use super::chart::{KeepClear, Ways, hull_drift, stand_off_min};
use super::position::Metres;

/// Least stand-off, minutes, whatever the pickup takes (common practice, no source).
pub const LEAST_STAND_OFF_MIN: f64 = 5.0;
/// On top of approach and boarding, minutes (common practice, no source).
pub const SPARE_MIN: f64 = 2.0;
/// A keep-clear area so far up-wind still takes the sea off, metres (common practice, no source).
const LEE_M: f64 = 1_000.0;
/// Distances that differ by less count as the same, metres.
const ALIKE_M: f64 = 50.0;
/// Water or wind slower than this carries nowhere, m/s.
const STILL_M_S: f64 = 0.03;

/// The least minutes a hull should have at a pickup that takes `pickup_min` with its approach.
#[must_use]
pub fn least_stand_off_min(pickup_min: f64) -> f64 {
    LEAST_STAND_OFF_MIN.max(pickup_min + SPARE_MIN)
}

/// A pickup zone in the plane of its site.
#[derive(Debug, Clone)]
pub struct Zone {
    /// Name as spoken on board.
    pub name: String,
    /// Its area.
    pub area: KeepClear,
}

/// What moves water and hull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moving {
    /// The water, m/s.
    pub water: Metres,
    /// The wind, m/s, towards where it blows.
    pub wind: Metres,
}

/// Where the set carries from a zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sets {
    /// Nowhere.
    Slack,
    /// Into no keep-clear area within six hours.
    Clear,
    /// Into one.
    Towards,
}

/// Why a zone is not to be used now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Unfit {
    /// Its meeting point is nearer to a keep-clear area than the stand-off.
    TooNear {
        /// Metres that are missing.
        missing_m: f64,
    },
    /// A hull without engine would touch a keep-clear area too soon.
    TooSoon {
        /// Minutes it has.
        minutes: f64,
        /// Minutes wanted.
        least: f64,
    },
}

/// A zone as it stands for a group.
#[derive(Debug, Clone, PartialEq)]
pub struct Ranked {
    /// Its name.
    pub name: String,
    /// The point of it nearest to the group.
    pub meet: Metres,
    /// From the group to there, metres.
    pub distance_m: f64,
    /// Where the set carries from there.
    pub sets: Sets,
    /// Metres to the nearest keep-clear area; `None` without any.
    pub stand_off_m: Option<f64>,
    /// Minutes until a hull without engine would touch one, by the worst of its drifts; `None`:
    /// not within six hours.
    pub stand_off_min: Option<f64>,
    /// A keep-clear area lies up-wind within a kilometre.
    pub in_lee: bool,
    /// Why it is not to be used now.
    pub unfit: Option<Unfit>,
}

/// The zones for a group at `place`, best first: those unfit last; from which the set carries
/// clear before those from which it carries towards a keep-clear area; the nearer before the
/// farther; in the lee before exposed; more time before less.
///
/// `least_min`: what [`least_stand_off_min`] asks for this group.
///
/// # Source
/// Which consideration outweighs which: common practice, no source; the skipper decides.
#[must_use]
pub fn rank(
    zones: &[Zone],
    place: Metres,
    moving: Moving,
    ways: &Ways,
    least_min: f64,
) -> Vec<Ranked> {
    let mut ranked: Vec<Ranked> = zones
        .iter()
        .filter_map(|zone| judge(zone, place, moving, ways, least_min))
        .collect();
    ranked.sort_by(better);
    ranked
}

fn judge(
    zone: &Zone,
    place: Metres,
    moving: Moving,
    ways: &Ways,
    least_min: f64,
) -> Option<Ranked> {
    let meet = zone.area.nearest(place)?;
    let areas = ways.areas();
    let drift = hull_drift(moving.water, moving.wind);
    let stand_off_m = areas.distance_m(meet);
    let stand_off_min = stand_off_min(areas, meet, &drift);
    let missing_m = ways.stand_off_m() - stand_off_m.unwrap_or(f64::INFINITY);
    // A centimetre is what drawing a corner about its arc may cost.
    let unfit = if missing_m > 0.01 {
        Some(Unfit::TooNear { missing_m })
    } else {
        stand_off_min
            .filter(|minutes| *minutes < least_min)
            .map(|minutes| Unfit::TooSoon {
                minutes,
                least: least_min,
            })
    };
    let sets = if moving.water.length() < STILL_M_S {
        Sets::Slack
    } else if areas
        .touched_after_s(meet, moving.water)
        .is_some_and(|s| s <= 6.0 * 3_600.0)
    {
        Sets::Towards
    } else {
        Sets::Clear
    };
    let wind_m_s = moving.wind.length();
    let in_lee = wind_m_s >= STILL_M_S && {
        let up_wind = moving.wind * (-LEE_M / wind_m_s);
        areas.lies_between(meet, meet + up_wind)
    };
    Some(Ranked {
        name: zone.name.clone(),
        meet,
        distance_m: meet.distance(place),
        sets,
        stand_off_m,
        stand_off_min,
        in_lee,
        unfit,
    })
}

fn better(one: &Ranked, other: &Ranked) -> Ordering {
    let towards = |zone: &Ranked| zone.sets == Sets::Towards;
    let steps = |zone: &Ranked| (zone.distance_m / ALIKE_M).floor();
    let time = |zone: &Ranked| zone.stand_off_min.unwrap_or(f64::INFINITY);
    one.unfit
        .is_some()
        .cmp(&other.unfit.is_some())
        .then(towards(one).cmp(&towards(other)))
        .then(steps(one).total_cmp(&steps(other)))
        .then(other.in_lee.cmp(&one.in_lee))
        .then(time(other).total_cmp(&time(one)))
        .then(one.distance_m.total_cmp(&other.distance_m))
        .then_with(|| one.name.cmp(&other.name))
}
