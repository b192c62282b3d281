//! A chart as a file for others: RFC 7946 to the letter, for programs that insist on it.

use geo::{BooleanOps as _, Coord, LineString, MultiPolygon, Polygon, Rect};
use serde_json::{Value, json};

use super::{Area, Chart, Kind, feature};
use crate::sea::position::{LocalPlane, Position};

/// Decimals of a degree in files: a centimetre (RFC 7946, 11.2, thinks six enough).
const DECIMALS: f64 = 1e7;

impl Chart {
    /// The chart as RFC 7946 wants it: longitude first, rings closed, outer ones anticlockwise
    /// and holes clockwise (3.1.6), areas cut at the 180th meridian (3.1.9), seven decimals.
    /// Rings that lie within that centimetre of each other may touch there, and are refused when
    /// the file is read again.
    #[must_use]
    pub fn to_rfc7946(&self) -> Value {
        let areas = [
            (Kind::KeepClear, &self.keep_clear),
            (Kind::PickupZone, &self.pickup_zones),
        ];
        let places = [
            (Kind::Mooring, &self.moorings),
            (Kind::ShotLine, &self.shot_lines),
            (Kind::EntryPoint, &self.entry_points),
        ];
        let areas = areas.into_iter().flat_map(|(kind, list)| {
            list.iter().map(move |named| {
                let parts: Vec<Value> = named.areas.iter().flat_map(parts).collect();
                let geometry = match parts.as_slice() {
                    [one] => json!({"type": "Polygon", "coordinates": one}),
                    several => json!({"type": "MultiPolygon", "coordinates": several}),
                };
                feature(kind.word(), &named.name, &geometry)
            })
        });
        let places = places.into_iter().flat_map(|(kind, list)| {
            list.iter().map(move |named| {
                let at = rounded(named.position.lon_deg(), named.position.lat_deg());
                let geometry = json!({"type": "Point", "coordinates": at});
                feature(kind.word(), &named.name, &geometry)
            })
        });
        json!({"type": "FeatureCollection", "features": areas.chain(places).collect::<Vec<_>>()})
    }
}

fn rounded(lon_deg: f64, lat_deg: f64) -> [f64; 2] {
    [lon_deg, lat_deg].map(|deg| (deg * DECIMALS).round() / DECIMALS)
}

/// The polygons of an area: one, or more where it was cut at the 180th meridian.
fn parts(area: &Area) -> Vec<Value> {
    let turned = turned(area);
    if !is_across(area) {
        return vec![json!(
            turned
                .iter()
                .map(|ring| ring
                    .iter()
                    .map(|at| rounded(at.lon_deg(), at.lat_deg()))
                    .collect::<Vec<_>>())
                .collect::<Vec<_>>()
        )];
    }
    // Reckoned from 0 to 360 degrees, cut at 180, the eastern part turned back.
    let mut lines = turned.iter().map(|ring| {
        ring.iter()
            .map(|at| Coord {
                x: at.lon_deg().rem_euclid(360.0),
                y: at.lat_deg(),
            })
            .collect::<LineString>()
    });
    let outline = lines.next().unwrap_or_else(|| LineString::new(Vec::new()));
    let whole = Polygon::new(outline, lines.collect());
    let half = |west: f64| {
        let low = Coord { x: west, y: -90.0 };
        let high = Coord {
            x: west + 180.0,
            y: 90.0,
        };
        Rect::new(low, high).to_polygon()
    };
    let told = |polygons: MultiPolygon, by: f64| {
        polygons.into_iter().map(move |polygon| told(&polygon, by))
    };
    told(whole.intersection(&half(0.0)), 0.0)
        .chain(told(whole.intersection(&half(180.0)), -360.0))
        .collect()
}

fn told(polygon: &Polygon, by: f64) -> Value {
    let ring = |line: &LineString, anticlockwise: bool| {
        let mut ring: Vec<[f64; 2]> = line.coords().map(|at| rounded(at.x + by, at.y)).collect();
        if (twice_area(&ring) > 0.0) != anticlockwise {
            ring.reverse();
        }
        ring
    };
    let mut rings = vec![ring(polygon.exterior(), true)];
    rings.extend(polygon.interiors().iter().map(|line| ring(line, false)));
    json!(rings)
}

fn twice_area(ring: &[[f64; 2]]) -> f64 {
    ring.iter()
        .zip(ring.iter().skip(1))
        .map(|([ax, ay], [bx, by])| ax * by - bx * ay)
        .sum()
}

/// The closed rings, the outer one anticlockwise, holes clockwise.
fn turned(area: &Area) -> Vec<Vec<Position>> {
    let Some(first) = area.positions().next() else {
        return Vec::new();
    };
    let plane = LocalPlane::round(first);
    area.rings()
        .iter()
        .enumerate()
        .map(|(nth, ring)| {
            let twice: f64 = ring
                .iter()
                .zip(ring.iter().skip(1))
                .map(|(a, b)| plane.metres(*a).cross(plane.metres(*b)))
                .sum();
            let mut ring = ring.clone();
            if (twice > 0.0) != (nth == 0) {
                ring.reverse();
            }
            ring
        })
        .collect()
}

/// Whether a side of the area runs across the 180th meridian: no chart is half a globe wide.
fn is_across(area: &Area) -> bool {
    area.rings().iter().any(|ring| {
        ring.iter()
            .zip(ring.iter().skip(1))
            .any(|(a, b)| (a.lon_deg() - b.lon_deg()).abs() > 180.0)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(rings: &Value) -> (Chart, Value) {
        let document = json!({"type": "FeatureCollection", "features": [
            {"type": "Feature", "properties": {"kind": "keep-clear", "name": "Reef"},
             "geometry": {"type": "Polygon", "coordinates": rings}}]});
        let chart = Chart::from_geojson(document.to_string().as_bytes()).unwrap();
        let out = chart.to_rfc7946();
        (chart, out)
    }

    fn rings(value: &Value) -> Vec<Vec<[f64; 2]>> {
        serde_json::from_value(value.clone()).unwrap()
    }

    /// RFC 7946, 3.1.6: exterior rings anticlockwise, interior clockwise, first and last alike;
    /// read by the geojson library, which is not ours.
    #[test]
    fn rings_are_turned_as_the_standard_wants() {
        let (chart, out) = written(&json!([
            [
                [0.123_456_789_1, 0.0],
                [0.0, 0.01],
                [0.02, 0.02],
                [0.123_456_789_1, 0.0]
            ],
            [[0.02, 0.009], [0.02, 0.012], [0.015, 0.010], [0.02, 0.009]]
        ]));
        let rings = rings(&out["features"][0]["geometry"]["coordinates"]);
        assert!(twice_area(&rings[0]) > 0.0 && twice_area(&rings[1]) < 0.0);
        for ring in &rings {
            assert_eq!(ring.first(), ring.last());
        }
        assert!(rings[0].contains(&[0.123_456_8, 0.0]), "seven decimals");
        let read: geojson::GeoJson = out.to_string().parse().unwrap();
        assert!(
            matches!(read, geojson::GeoJson::FeatureCollection(all) if all.features.len() == 1)
        );
        let again = Chart::from_geojson(out.to_string().as_bytes()).unwrap();
        assert_eq!(again.keep_clear.len(), chart.keep_clear.len());
    }

    /// RFC 7946, 3.1.9: cut in two, neither part across the antimeridian; nothing is lost.
    #[test]
    fn an_area_across_the_180th_meridian_is_cut() {
        let (_, out) = written(&json!([[
            [179.99, -17.0],
            [-179.98, -17.0],
            [-179.98, -16.98],
            [179.99, -16.98],
            [179.99, -17.0]
        ]]));
        let geometry = &out["features"][0]["geometry"];
        assert_eq!(geometry["type"], "MultiPolygon");
        let parts: Vec<Vec<Vec<[f64; 2]>>> =
            serde_json::from_value(geometry["coordinates"].clone()).unwrap();
        assert_eq!(parts.len(), 2);
        let area: f64 = parts.iter().map(|rings| twice_area(&rings[0]) / 2.0).sum();
        assert!((area - 0.03 * 0.02).abs() < 1e-6, "{area}");
        for rings in &parts {
            let lons: Vec<f64> = rings[0].iter().map(|at| at[0]).collect();
            let wide = lons.iter().fold(f64::MIN, |a, b| a.max(*b))
                - lons.iter().fold(f64::MAX, |a, b| a.min(*b));
            assert!(wide < 0.03, "{lons:?}");
        }
        assert!(Chart::from_geojson(out.to_string().as_bytes()).is_ok());
    }
}
