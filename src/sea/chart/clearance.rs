//! Whether a chart fits its site: pickup zones that lie clear of every area to keep clear of by
//! the stand-off, and nothing farther off than the local plane reaches.

use super::{Area, Chart, KeepClear, NamedArea};
use crate::sea::position::{LocalPlane, Metres, Position};
use crate::sea::typed::{REACH_M, looks_swapped};

/// A pickup zone too near to a keep-clear area.
#[derive(Debug, Clone, PartialEq)]
pub struct TooNear {
    /// Which of the pickup zones, from 0.
    pub zone: usize,
    /// Name of the area.
    pub area: String,
    /// Metres missing to the stand-off.
    pub missing_m: f64,
    /// Whether they have water in common.
    pub overlaps: bool,
}

/// Something of a chart beyond the reach of its site.
#[derive(Debug, Clone, PartialEq)]
pub struct Astray {
    /// Name of the feature.
    pub name: String,
    /// How far off it reaches, metres.
    pub off_m: f64,
    /// Whether latitude and longitude look swapped.
    pub swapped: bool,
}

/// Every pickup zone that overlaps a keep-clear area or comes nearer to it than `stand_off_m`
/// metres, with each area that it does so to.
///
/// # Source
/// Least distance of two polygons, over all corners and sides; held against the geo library.
#[must_use]
pub fn too_near(site: Position, chart: &Chart, stand_off_m: f64) -> Vec<TooNear> {
    let plane = LocalPlane::round(site);
    let areas: Vec<(&NamedArea, KeepClear)> = chart
        .keep_clear
        .iter()
        .map(|named| (named, KeepClear::new(&plane, &named.areas)))
        .collect();
    let mut found = Vec::new();
    for (zone, named) in chart.pickup_zones.iter().enumerate() {
        let own = KeepClear::new(&plane, &named.areas);
        for (area, clear) in &areas {
            let apart_m = apart_m(&plane, (&own, &named.areas), (clear, &area.areas));
            if apart_m < stand_off_m || apart_m == 0.0 {
                found.push(TooNear {
                    zone,
                    area: area.name.clone(),
                    missing_m: stand_off_m - apart_m,
                    overlaps: apart_m == 0.0,
                });
            }
        }
    }
    found
}

/// Least distance between two sets of areas, metres; 0 where they touch or overlap.
fn apart_m(
    plane: &LocalPlane,
    (one, one_areas): (&KeepClear, &[Area]),
    (other, other_areas): (&KeepClear, &[Area]),
) -> f64 {
    if one.sides().any(|side| other.lies_between(side.a, side.b)) {
        return 0.0;
    }
    // The least distance of polygons that do not cross is had at a corner of one of them.
    let least = |from: &[Area], to: &KeepClear| {
        corners(plane, from)
            .filter_map(|corner| to.distance_m(corner))
            .fold(f64::INFINITY, f64::min)
    };
    least(one_areas, other).min(least(other_areas, one))
}

fn corners<'a>(plane: &'a LocalPlane, areas: &'a [Area]) -> impl Iterator<Item = Metres> + 'a {
    areas
        .iter()
        .flat_map(Area::positions)
        .map(|at| plane.metres(at))
}

/// Every feature that reaches farther from the site than the local plane does.
#[must_use]
pub fn astray(site: Position, chart: &Chart) -> Vec<Astray> {
    let areas = chart.keep_clear.iter().chain(&chart.pickup_zones);
    let areas = areas.map(|named| {
        let places: Vec<Position> = named.areas.iter().flat_map(Area::positions).collect();
        (&named.name, places)
    });
    let places = chart
        .moorings
        .iter()
        .chain(&chart.shot_lines)
        .chain(&chart.entry_points)
        .map(|named| (&named.name, vec![named.position]));
    areas
        .chain(places)
        .filter_map(|(name, places)| {
            let off_m = |at: &Position| site.distance_m(*at);
            let farthest = places.iter().max_by(|a, b| off_m(a).total_cmp(&off_m(b)))?;
            (off_m(farthest) > REACH_M).then(|| Astray {
                name: name.clone(),
                off_m: off_m(farthest),
                swapped: looks_swapped(site, farthest.lat_deg(), farthest.lon_deg()),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use geo::{Distance as _, Euclidean, Intersects as _};
    use proptest::prelude::*;
    use serde_json::json;

    use super::*;

    fn site() -> Position {
        Position::from_degrees(-30.0, 45.0).unwrap()
    }

    fn area(kind: &str, name: &str, ring: &[(f64, f64)]) -> serde_json::Value {
        let plane = LocalPlane::round(site());
        let mut ring: Vec<Position> = ring
            .iter()
            .map(|(e, n)| plane.position(Metres::new(*e, *n)))
            .collect();
        ring.push(ring[0]);
        json!({"type": "Feature", "properties": {"kind": kind, "name": name},
               "geometry": {"type": "Polygon", "coordinates": [ring]}})
    }

    fn chart(features: &[serde_json::Value]) -> Chart {
        let document = json!({"type": "FeatureCollection", "features": features});
        Chart::from_geojson(document.to_string().as_bytes()).unwrap()
    }

    fn square(east: f64, north: f64, half: f64) -> Vec<(f64, f64)> {
        [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
            .map(|(e, n)| (east + e * half, north + n * half))
            .to_vec()
    }

    #[test]
    fn the_metres_that_are_missing_are_told() {
        // Sides at 100 m and 132 m: 32 m apart, 18 m short of 50 m.
        let chart = chart(&[
            area("keep-clear", "Reef", &square(0.0, 0.0, 100.0)),
            area("keep-clear", "Far", &square(0.0, -3000.0, 100.0)),
            area("pickup-zone", "North", &square(0.0, 182.0, 50.0)),
            area("pickup-zone", "Well clear", &square(0.0, 400.0, 50.0)),
        ]);
        let near = too_near(site(), &chart, 50.0);
        assert_eq!(near.len(), 1);
        assert_eq!((near[0].zone, near[0].area.as_str()), (0, "Reef"));
        assert!((near[0].missing_m - 18.0).abs() < 0.01, "{near:?}");
        assert!(!near[0].overlaps);
        assert!(too_near(site(), &chart, 31.9).is_empty());
    }

    #[test]
    fn a_zone_in_an_area_or_round_it_overlaps_it() {
        for (zone, reef) in [(10.0, 100.0), (100.0, 10.0), (50.0, 50.0)] {
            let chart = chart(&[
                area("keep-clear", "Reef", &square(0.0, 0.0, reef)),
                area("pickup-zone", "Zone", &square(0.0, 0.0, zone)),
            ]);
            let near = too_near(site(), &chart, 0.0);
            assert!(near.len() == 1 && near[0].overlaps, "{zone} in {reef}");
        }
    }

    #[test]
    fn what_lies_elsewhere_is_told() {
        let swapped = json!({"type": "Feature", "properties": {"kind": "mooring", "name": "Buoy"},
            "geometry": {"type": "Point", "coordinates": [45.0, -30.0]}});
        let near = json!({"type": "Feature", "properties": {"kind": "mooring", "name": "Here"},
            "geometry": {"type": "Point", "coordinates": [-30.001, 45.0]}});
        let found = astray(site(), &chart(&[swapped, near]));
        assert_eq!(found.len(), 1);
        assert!(found[0].swapped && found[0].name == "Buoy");
    }

    fn star() -> impl Strategy<Value = Vec<(f64, f64)>> {
        let centre = (-800.0..800.0_f64, -800.0..800.0_f64);
        (centre, prop::collection::vec(30.0..300.0_f64, 3..9)).prop_map(|((e, n), reach)| {
            let turn = std::f64::consts::TAU / reach.len() as f64;
            reach
                .iter()
                .enumerate()
                .map(|(nth, r)| {
                    let (sin, cos) = (turn * nth as f64).sin_cos();
                    (e + r * cos, n + r * sin)
                })
                .collect()
        })
    }

    fn polygon(ring: &[(f64, f64)]) -> geo::Polygon {
        geo::Polygon::new(geo::LineString::from(ring.to_vec()), Vec::new())
    }

    proptest! {
        /// Against the distances and crossings of the geo library.
        #[test]
        fn distances_are_those_of_another_library(reef in star(), zone in star(), stand_off in 0.0..500.0_f64) {
            let chart = chart(&[area("keep-clear", "R", &reef), area("pickup-zone", "Z", &zone)]);
            let near = too_near(site(), &chart, stand_off);
            let (reef, zone) = (polygon(&reef), polygon(&zone));
            let apart = Euclidean.distance(&reef, &zone);
            match near.first() {
                // A hair's breadth either way may be told either way.
                None => prop_assert!(apart > stand_off - 1e-3, "{apart}"),
                Some(one) => {
                    prop_assert!((one.missing_m - (stand_off - apart)).abs() < 1e-3);
                    prop_assert_eq!(one.overlaps, reef.intersects(&zone));
                }
            }
        }
    }
}
