//! A chart as it is drawn and typed: features with their corners, which need not be sound yet,
//! and the way from there to the document that is checked, and back.

use serde_json::{Value, json};

use super::{Chart, Kind, NamedArea, NamedPlace};
use crate::sea::position::Position;
use crate::sea::typed::{self, Flaw};

/// Line that begins a hole in the area above it.
const HOLE: &str = "hole";
/// Line that begins a further area of the same feature.
const AND: &str = "and";

/// One feature as it is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// What it is, once that is said.
    pub kind: Option<Kind>,
    /// Its name.
    pub name: String,
    /// Areas, their rings, the corners of each, not closed. A place is one corner of one ring.
    pub areas: Vec<Vec<Vec<Position>>>,
}

/// A line of typed corners that does not hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LineFault {
    /// Its number, from 1.
    pub line: usize,
    /// Why.
    pub flaw: Flaw,
}

/// Reads corners, one a line; `hole` begins a hole, `and` a further area.
///
/// # Errors
/// Every line that does not hold.
pub fn corners(site: Position, text: &str) -> Result<Vec<Vec<Vec<Position>>>, Vec<LineFault>> {
    let mut areas = vec![vec![Vec::new()]];
    let mut faults = Vec::new();
    for (nth, line) in text.lines().enumerate() {
        let line = line.trim();
        if line.is_empty() {
            continue;
        }
        if line.eq_ignore_ascii_case(AND) {
            areas.push(vec![Vec::new()]);
        } else if line.eq_ignore_ascii_case(HOLE) {
            if let Some(rings) = areas.last_mut() {
                rings.push(Vec::new());
            }
        } else {
            match typed::place(site, line) {
                Ok(at) => areas
                    .last_mut()
                    .and_then(|rings| rings.last_mut())
                    .map_or((), |ring| ring.push(at)),
                Err(flaw) => faults.push(LineFault {
                    line: nth + 1,
                    flaw,
                }),
            }
        }
    }
    if faults.is_empty() {
        Ok(areas)
    } else {
        Err(faults)
    }
}

/// Corners as they are typed, one a line.
#[must_use]
pub fn corners_written(areas: &[Vec<Vec<Position>>]) -> String {
    let mut lines = Vec::new();
    for (nth_area, rings) in areas.iter().enumerate() {
        for (nth_ring, ring) in rings.iter().enumerate() {
            match (nth_area, nth_ring) {
                (0, 0) => {}
                (_, 0) => lines.push(AND.to_owned()),
                _ => lines.push(HOLE.to_owned()),
            }
            lines.extend(ring.iter().map(|at| typed::written(*at)));
        }
    }
    lines.join("\n")
}

/// The features of a chart, in the order of its lists.
#[must_use]
pub fn drawn(chart: &Chart) -> Vec<Drawn> {
    let area = |kind: Kind| {
        move |named: &NamedArea| Drawn {
            kind: Some(kind),
            name: named.name.clone(),
            areas: named.areas.iter().map(|one| open(one.rings())).collect(),
        }
    };
    let place = |kind: Kind| {
        move |named: &NamedPlace| Drawn {
            kind: Some(kind),
            name: named.name.clone(),
            areas: vec![vec![vec![named.position]]],
        }
    };
    let mut all: Vec<Drawn> = Vec::new();
    all.extend(chart.keep_clear.iter().map(area(Kind::KeepClear)));
    all.extend(chart.pickup_zones.iter().map(area(Kind::PickupZone)));
    all.extend(chart.moorings.iter().map(place(Kind::Mooring)));
    all.extend(chart.shot_lines.iter().map(place(Kind::ShotLine)));
    all.extend(chart.entry_points.iter().map(place(Kind::EntryPoint)));
    all
}

fn open(rings: &[Vec<Position>]) -> Vec<Vec<Position>> {
    rings
        .iter()
        .map(|ring| match ring.split_last() {
            Some((last, rest)) if rest.first() == Some(last) => rest.to_vec(),
            _ => ring.clone(),
        })
        .collect()
}

/// The features as the document that [`Chart::from_geojson`] checks; rings are closed here. A
/// feature without a kind is left without one, which is then a fault of its own.
#[must_use]
pub fn collection(features: &[Drawn]) -> Value {
    let features: Vec<Value> = features.iter().map(feature).collect();
    json!({"type": "FeatureCollection", "features": features})
}

fn feature(drawn: &Drawn) -> Value {
    let closed: Vec<Vec<Vec<Position>>> = drawn
        .areas
        .iter()
        .map(|rings| rings.iter().map(|ring| closed(ring)).collect())
        .collect();
    let first = || drawn.areas.first().and_then(|rings| rings.first());
    let is_place = drawn.kind.is_some_and(|kind| !kind.is_area());
    let geometry = match (closed.as_slice(), first().map(Vec::as_slice)) {
        (_, Some([only])) if is_place => json!({"type": "Point", "coordinates": only}),
        // More corners than a place has: told as what it is, and refused as no point.
        (_, Some(several)) if is_place => json!({"type": "MultiPoint", "coordinates": several}),
        ([rings], _) => json!({"type": "Polygon", "coordinates": rings}),
        (several, _) => json!({"type": "MultiPolygon", "coordinates": several}),
    };
    json!({
        "type": "Feature",
        "properties": {"kind": drawn.kind.map(Kind::word), "name": drawn.name},
        "geometry": geometry,
    })
}

fn closed(ring: &[Position]) -> Vec<Position> {
    let mut ring = ring.to_vec();
    if ring.len() > 1 && ring.first() != ring.last() {
        ring.extend(ring.first().copied());
    }
    ring
}

#[cfg(test)]
mod tests {
    use super::*;

    fn site() -> Position {
        Position::from_degrees(-30.0, 45.0).unwrap()
    }

    #[test]
    fn typed_corners_make_areas_with_holes() {
        let text = "45.0 N 30.0 W\n45.0 N 29.99 W\n\n45.01 N 29.99 W\nhole\n45.002 -29.993\n45.002 -29.992\n\
                    45.004 -29.992\nAND\n45.05 -30\n45.05 -29.99\n45.06 -29.99";
        let areas = corners(site(), text).unwrap();
        let counts: Vec<Vec<usize>> = areas
            .iter()
            .map(|rings| rings.iter().map(Vec::len).collect())
            .collect();
        assert_eq!(counts, [vec![3, 3], vec![3]]);
        assert_eq!(corners(site(), &corners_written(&areas)).unwrap(), areas);
        let reef = Drawn {
            kind: Some(Kind::KeepClear),
            name: "Reef".to_owned(),
            areas,
        };
        let document = collection(std::slice::from_ref(&reef)).to_string();
        let chart = Chart::from_geojson(document.as_bytes()).unwrap();
        assert_eq!(drawn(&chart), [reef]);
    }

    #[test]
    fn each_line_that_does_not_hold_is_named() {
        let faults = corners(site(), "45 -30\nreef\n\n-30 45\n45 30").unwrap_err();
        let told: Vec<(usize, Flaw)> = faults.iter().map(|f| (f.line, f.flaw)).collect();
        assert_eq!(
            told,
            [(2, Flaw::Unread), (4, Flaw::Swapped), (5, Flaw::Far)]
        );
    }

    #[test]
    fn what_is_not_whole_is_refused_by_the_chart() {
        let at = site();
        for (kind, ring) in [
            (None, vec![at]),
            (Some(Kind::Mooring), vec![at, at]),
            (Some(Kind::Mooring), vec![]),
            (Some(Kind::KeepClear), vec![at]),
            (Some(Kind::PickupZone), vec![]),
        ] {
            let one = Drawn {
                kind,
                name: "X".to_owned(),
                areas: vec![vec![ring]],
            };
            let document = collection(&[one]).to_string();
            assert!(
                Chart::from_geojson(document.as_bytes()).is_err(),
                "{document}"
            );
        }
    }
}
