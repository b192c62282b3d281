//! The ground of a dive: its chart laid into the plane of the site, with the ways a boat may use.
//! It is laid once for a site; what moves over it changes with every fact.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::sea::chart::{Chart, KeepClear, NamedArea, NamedPlace, Ways};
use crate::sea::position::{LocalPlane, Metres, Position};
use crate::sea::zones::Zone;
use crate::units::Faults;

use super::event::SiteSheet;
use super::state::State;
use super::waters::Waters;

/// A line that a group comes back to lies within this of where it went in, metres (common
/// practice, no source).
const NEAR_LINE_M: f64 = 200.0;

/// A chart in the plane of its site.
#[derive(Debug)]
pub struct Ground {
    /// What it was laid from.
    pub site: SiteSheet,
    /// The plane round the site's reference position.
    pub plane: LocalPlane,
    /// The chart; what is wrong with it where it cannot be read, as only a log from elsewhere
    /// can hold such a one.
    pub chart: Result<Chart, Faults>,
    /// The waters outside the keep-clear areas by the stand-off.
    pub ways: Ways,
    /// Pickup zones.
    pub zones: Vec<Zone>,
    /// Keep-clear areas one by one, by name.
    named: Vec<(String, KeepClear)>,
}

impl Ground {
    /// The ground of a site.
    #[must_use]
    pub fn of(site: &SiteSheet) -> Self {
        let plane = LocalPlane::round(site.position);
        let chart = Chart::from_geojson(site.chart.to_string().as_bytes());
        let areas: Vec<_> = chart
            .iter()
            .flat_map(|chart| chart.keep_clear_areas().cloned())
            .collect();
        let in_plane =
            |named: &NamedArea| (named.name.clone(), KeepClear::new(&plane, &named.areas));
        let named = chart
            .iter()
            .flat_map(|chart| chart.keep_clear.iter().map(in_plane))
            .collect();
        let zones = chart
            .iter()
            .flat_map(|chart| chart.pickup_zones.iter().map(in_plane))
            .map(|(name, area)| Zone { name, area })
            .collect();
        Self {
            ways: Ways::new(KeepClear::new(&plane, &areas), site.stand_off_m.m()),
            site: site.clone(),
            plane,
            chart,
            zones,
            named,
        }
    }

    /// This ground with the waters over it.
    #[must_use]
    pub fn sea(&self, state: &State) -> Sea<'_> {
        Sea {
            ground: self,
            waters: Waters::of(&self.site, &state.conditions),
        }
    }

    /// Whether it is the ground of this site as planned.
    #[must_use]
    pub fn is_of(&self, site: &SiteSheet) -> bool {
        self.site == *site
    }

    /// The mooring or shot line nearest to `place`, where one is near.
    #[must_use]
    pub fn line_near(&self, place: Position) -> Option<Position> {
        let chart = self.chart.as_ref().ok()?;
        let off_m = |line: &&NamedPlace| line.position.distance_m(place);
        chart
            .moorings
            .iter()
            .chain(&chart.shot_lines)
            .min_by(|a, b| off_m(a).total_cmp(&off_m(b)))
            .filter(|line| off_m(line) <= NEAR_LINE_M)
            .map(|line| line.position)
    }

    /// The keep-clear area nearest to `place`, by name.
    #[must_use]
    pub fn nearest_area(&self, place: Metres) -> Option<&str> {
        let off_m = |areas: &KeepClear| areas.distance_m(place).unwrap_or(f64::INFINITY);
        self.named
            .iter()
            .min_by(|a, b| off_m(&a.1).total_cmp(&off_m(&b.1)))
            .map(|(name, _)| name.as_str())
    }

    /// A pickup zone by name.
    #[must_use]
    pub fn zone(&self, name: &str) -> Option<&Zone> {
        self.zones.iter().find(|zone| zone.name == name)
    }
}

/// The grounds of a trip, by dive.
#[derive(Debug, Clone, Default)]
pub struct Grounds(BTreeMap<u32, Arc<Ground>>);

impl Grounds {
    /// The grounds of every dive that is planned; those of `old` that are still the same are
    /// taken over, as laying one takes long.
    #[must_use]
    pub fn of(state: &State, old: Option<&Self>) -> Self {
        let mut laid: BTreeMap<u32, Arc<Ground>> = BTreeMap::new();
        for (dive, planned) in &state.dives {
            let known = old.into_iter().flat_map(|old| old.0.values());
            let same = laid.values().chain(known);
            let same = same.into_iter().find(|ground| ground.is_of(&planned.site));
            let ground = same
                .cloned()
                .unwrap_or_else(|| Arc::new(Ground::of(&planned.site)));
            laid.insert(*dive, ground);
        }
        Self(laid)
    }

    /// The ground of a dive.
    #[must_use]
    pub fn get(&self, dive: u32) -> Option<&Ground> {
        self.0.get(&dive).map(AsRef::as_ref)
    }

    /// The sea of each dive: its ground with the waters over it.
    #[must_use]
    pub fn seas(&self, state: &State) -> BTreeMap<u32, Sea<'_>> {
        self.0
            .iter()
            .map(|(dive, ground)| (*dive, ground.sea(state)))
            .collect()
    }

    /// The sea of one dive.
    #[must_use]
    pub fn sea(&self, state: &State, dive: u32) -> Option<Sea<'_>> {
        self.get(dive).map(|ground| ground.sea(state))
    }
}

/// The ground of a dive with what moves over it.
#[derive(Debug, Clone)]
pub struct Sea<'g> {
    /// Chart and ways.
    pub ground: &'g Ground,
    /// Current and wind.
    pub waters: Waters,
}
