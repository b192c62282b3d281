use proptest::prelude::*;
use serde_json::{Value, json};

use super::*;
use crate::sea::position::{LocalPlane, Metres};

fn plane() -> LocalPlane {
    LocalPlane::round(Position::from_degrees(57.0, -8.0).unwrap())
}

/// A polygon by metres east and north.
fn polygon(rings: &[&[(f64, f64)]]) -> Value {
    let plane = plane();
    let ring = |corners: &[(f64, f64)]| -> Vec<Value> {
        corners
            .iter()
            .chain(corners.first())
            .map(|&(east, north)| json!(plane.position(Metres::new(east, north))))
            .collect()
    };
    json!(
        rings
            .iter()
            .map(|corners| ring(corners))
            .collect::<Vec<_>>()
    )
}

fn ways(polygons: &[Value], stand_off_m: f64) -> Ways {
    let reader = Reader::new();
    let mut left = MOST_POSITIONS;
    let areas: Vec<Area> = polygons
        .iter()
        .map(|value| read_area(&reader, "", value, &mut left).expect("a sound area"))
        .collect();
    Ways::new(KeepClear::new(&plane(), &areas), stand_off_m)
}

const SQUARE: &[(f64, f64)] = &[
    (-100.0, -100.0),
    (100.0, -100.0),
    (100.0, 100.0),
    (-100.0, 100.0),
];
/// A bay that opens to the east.
const BAY: &[(f64, f64)] = &[
    (-200.0, -200.0),
    (200.0, -200.0),
    (200.0, -100.0),
    (-100.0, -100.0),
    (-100.0, 100.0),
    (200.0, 100.0),
    (200.0, 200.0),
    (-200.0, 200.0),
];

/// By hand: from due west to due east of a square with round corners the taut line runs along
/// a tangent to the corner, over its top side, and down again.
#[test]
fn the_way_round_a_square_is_the_taut_line() {
    let ways = ways(&[polygon(&[SQUARE])], 50.0);
    let (from, to) = (Metres::new(-400.0, 0.0), Metres::new(400.0, 0.0));
    let start = ways.start(from);
    // Tangent from (-400, 0) to the circle of 50 m round (-100, 100).
    let (far, r) = (300.0_f64.hypot(100.0), 50.0_f64);
    let tangent = (far * far - r * r).sqrt();
    let arc = 100.0_f64.atan2(300.0) + (r / far).asin();
    let taut = 2.0 * tangent + 2.0 * arc * r + 200.0;
    let run = ways.run(&start, to).length_m;
    assert!(run >= taut && run < taut + 0.2, "{run} for {taut}");
    let way = ways.way(&start, to).unwrap();
    let length: f64 = way.windows(2).map(|leg| leg[0].distance(leg[1])).sum();
    assert!((length - run).abs() < 1e-9);
}

#[test]
fn inside_a_buffer_the_nearest_point_outside_is_at_the_stand_off() {
    let ways = ways(&[polygon(&[SQUARE])], 50.0);
    let out = ways.nearest_outside(Metres::new(120.0, 10.0));
    assert!(out.distance(Metres::new(150.0, 10.0)) < 0.1, "{out:?}");
    let out = ways.nearest_outside(Metres::new(110.0, 110.0));
    let corner = 100.0 + 50.0 / 2.0_f64.sqrt();
    assert!(out.distance(Metres::new(corner, corner)) < 1.0, "{out:?}");
    let open = Metres::new(150.2, 0.0);
    assert_eq!(ways.nearest_outside(open), open);
}

/// A boat deep in a bay 200 m wide with thin arms leaves through the mouth side of its own
/// water, not across the reef, even where that line would be shorter.
#[test]
fn a_boat_in_a_buffer_leaves_without_crossing_the_reef() {
    let arm: &[(f64, f64)] = &[
        (0.0, 0.0),
        (300.0, 0.0),
        (300.0, 4.0),
        (4.0, 4.0),
        (4.0, 60.0),
        (300.0, 60.0),
        (300.0, 64.0),
        (0.0, 64.0),
    ];
    let ways = ways(&[polygon(&[arm])], 40.0);
    let boat = Metres::new(280.0, 10.0);
    let across = ways.nearest_outside(boat);
    assert!(across.north < 0.0, "{across:?}");
    let start = ways.start(boat);
    let out = start.out().unwrap();
    assert!(
        out.east > 300.0 && !ways.areas().lies_between(boat, out),
        "{out:?}"
    );
    assert!(start.lead_m() > across.distance(boat));
}

#[test]
fn what_is_closed_in_has_no_run() {
    let hole: &[(f64, f64)] = &[(-60.0, -60.0), (-60.0, 60.0), (60.0, 60.0), (60.0, -60.0)];
    let ways = ways(&[polygon(&[SQUARE, hole])], 20.0);
    let lagoon = Metres::new(0.0, 0.0);
    assert!(!ways.is_inside(lagoon));
    let start = ways.start(Metres::new(-400.0, 0.0));
    assert!(ways.run(&start, lagoon).length_m.is_infinite());
    assert!(ways.way(&start, lagoon).is_none());
    let within = ways.start(Metres::new(30.0, 30.0));
    assert!(ways.run(&within, lagoon).length_m < 50.0);
}

#[test]
fn a_hull_adrift_touches_the_reef_when_distance_over_drift_says() {
    let ways = ways(&[polygon(&[SQUARE])], 50.0);
    let drift = hull_drift(Metres::new(0.5, 0.0), Metres::default());
    let minutes = stand_off_min(ways.areas(), Metres::new(-400.0, 0.0), &drift).unwrap();
    assert!((minutes - 10.0).abs() < 1e-3, "{minutes}");
    let away = hull_drift(Metres::new(-0.5, 0.0), Metres::default());
    assert_eq!(
        stand_off_min(ways.areas(), Metres::new(-400.0, 0.0), &away),
        None
    );
    // Allen and Plourde: 5.55 % of 10 m/s downwind, 2.27 % across.
    let wind = hull_drift(Metres::default(), Metres::new(0.0, 10.0));
    assert!((wind.mean.north - 0.555).abs() < 1e-12);
    assert!((wind.branches[0].east - 0.227).abs() < 1e-12);
}

#[test]
fn a_chart_reads_back_as_it_was_written() {
    let text = json!({"type": "FeatureCollection", "features": [
        {"type": "Feature", "properties": {"kind": "keep-clear", "name": "Long Reef"},
            "geometry": {"type": "MultiPolygon", "coordinates": [polygon(&[SQUARE]), polygon(&[&[(300.0, 0.0), (400.0, 0.0), (350.0, 80.0)]])]}},
        {"type": "Feature", "properties": {"kind": "pickup-zone", "name": "East zone"},
            "geometry": {"type": "Polygon", "coordinates": polygon(&[BAY])}},
        {"type": "Feature", "properties": {"kind": "mooring", "name": "M1"},
            "geometry": {"type": "Point", "coordinates": [57.01, -8.01]}},
        {"type": "Feature", "properties": {"kind": "shot-line", "name": "Shot"},
            "geometry": {"type": "Point", "coordinates": [57.02, -8.01]}},
        {"type": "Feature", "properties": {"kind": "entry-point", "name": "Drop"},
            "geometry": {"type": "Point", "coordinates": [57.03, -8.01]}},
    ]});
    let chart = Chart::from_geojson(text.to_string().as_bytes()).unwrap();
    assert_eq!(chart.keep_clear_areas().count(), 2);
    assert_eq!(
        (
            chart.moorings.len(),
            chart.shot_lines.len(),
            chart.entry_points.len()
        ),
        (1, 1, 1)
    );
    let again = Chart::from_geojson(chart.to_geojson().to_string().as_bytes()).unwrap();
    assert_eq!(again, chart);
}

#[test]
fn every_unsound_feature_is_named_with_its_reason() {
    let bow_tie = polygon(&[&[(0.0, 0.0), (100.0, 100.0), (100.0, 0.0), (0.0, 100.0)]]);
    let mut open = polygon(&[SQUARE]);
    open[0].as_array_mut().unwrap().pop();
    let line = polygon(&[&[(0.0, 0.0), (100.0, 0.0), (200.0, 0.0)]]);
    let short = json!([[[57.0, -8.0], [57.1, -8.0], [57.0, -8.0]]]);
    let beyond = json!([[[57.0, -8.0], [190.0, -8.0], [57.1, -8.1], [57.0, -8.0]]]);
    let far = json!([[[57.0, -8.0], [58.0, -8.0], [58.0, -7.0], [57.0, -8.0]]]);
    let word = json!([[[57.0, "x"], [57.01, -8.0], [57.01, -8.01], [57.0, "x"]]]);
    let pinched = polygon(&[&[
        (0.0, 0.0),
        (100.0, 0.0),
        (50.0, 50.0),
        (100.0, 100.0),
        (0.0, 100.0),
        (50.0, 50.0),
    ]]);
    let outside = polygon(&[SQUARE, &[(500.0, 0.0), (520.0, 0.0), (510.0, 20.0)]]);
    let crossing = polygon(&[SQUARE, &[(50.0, 0.0), (150.0, 0.0), (100.0, 50.0)]]);
    let many: Vec<(f64, f64)> = (0..2_001)
        .map(|n| {
            let turn = std::f64::consts::TAU * f64::from(n) / 2_001.0;
            (500.0 * turn.cos(), 500.0 * turn.sin())
        })
        .collect();
    let many = polygon(&[&many]);
    for (coordinates, reason) in [
        (bow_tie, "crosses or touches itself"),
        (open, "is not closed"),
        (line, "crosses or touches itself"),
        (short, "has 3 positions"),
        (beyond, "is 190"),
        (far, "reaches too far"),
        (word, "is text"),
        (pinched, "crosses or touches itself"),
        (outside, "lies outside the outline"),
        (crossing, "crosses another ring"),
        (many, "has 2002 elements"),
        (json!([]), "has no ring"),
        (json!("reef"), "is text"),
    ] {
        let text = json!({"type": "FeatureCollection", "features": [
            {"type": "Feature", "properties": {"kind": "keep-clear", "name": "Rock"},
                "geometry": {"type": "Polygon", "coordinates": coordinates}}]});
        let faults = Chart::from_geojson(text.to_string().as_bytes()).unwrap_err();
        let told = faults.to_string();
        assert!(
            told.contains("features[0] (Rock)") && told.contains(reason),
            "{reason}: {told}"
        );
    }
    let text = json!({"type": "FeatureCollection", "crs": {"name": "EPSG:3857"}, "features": [
        {"type": "Feature", "properties": {"kind": "wreck", "name": "W"},
            "geometry": {"type": "Point", "coordinates": [57.0, -8.0]}},
        {"type": "Feature", "properties": {"kind": "mooring"},
            "geometry": {"type": "Polygon", "coordinates": []}}]});
    let told = Chart::from_geojson(text.to_string().as_bytes())
        .unwrap_err()
        .to_string();
    for part in [
        "crs",
        "'wreck'",
        "features[1].properties.name",
        "features[1].geometry.type",
    ] {
        assert!(told.contains(part), "{part}: {told}");
    }
}

proptest! {
    /// Any leg of any way, and any meeting point, keeps the stand-off from the area itself.
    #[test]
    fn nothing_comes_nearer_than_the_stand_off(
        a in (-500.0..500.0, -500.0..500.0), b in (-500.0..500.0, -500.0..500.0), stand_off in 0.0..120.0,
    ) {
        let ways = ways(&[polygon(&[BAY])], stand_off);
        let from = ways.nearest_outside(Metres::new(a.0, a.1));
        let to = ways.nearest_outside(Metres::new(b.0, b.1));
        let start = ways.start(from);
        prop_assert!(start.lead_m() <= 0.0);
        if let Some(way) = ways.way(&start, to) {
            let mut length = 0.0;
            for leg in way.windows(2) {
                length += leg[0].distance(leg[1]);
                for part in 0..=40 {
                    let at = leg[0] + (leg[1] - leg[0]) * (f64::from(part) / 40.0);
                    prop_assert!(ways.areas().distance_m(at).unwrap() >= stand_off - 1e-6);
                }
            }
            prop_assert!((length - ways.run(&start, to).length_m).abs() < 1e-6);
            prop_assert!(length >= from.distance(to) - 1e-9);
            // There and back are as long.
            let back = ways.run(&ways.start(to), from).length_m;
            prop_assert!((back - length).abs() < 0.05, "{} {}", length, back);
        }
    }

    /// The pieces of a track give the meeting point that the buffer gives, at any instant.
    #[test]
    fn a_track_is_the_nearest_point_outside_at_every_instant(
        at in (-400.0..400.0, -400.0..400.0), set in 0.0..360.0, speed in 0.0..1.0, from_s in -100.0..600.0,
        looks in prop::collection::vec(0.0..2_000.0, 20),
    ) {
        let ways = ways(&[polygon(&[BAY])], 40.0);
        let thing = Adrift { at: Metres::new(at.0, at.1), from_s, velocity: Metres::towards(set, speed) };
        let pieces = track(&ways, thing, 0.0);
        for look in looks {
            let piece = pieces.iter().rfind(|piece| piece.from_s <= look).unwrap();
            let wanted = ways.nearest_outside(thing.place(look));
            let apart = piece.meet(look).distance(wanted);
            let place = thing.place(look);
            // On the edge between two sides the nearest point may be either of two.
            let tie = (place.distance(piece.meet(look)) - place.distance(wanted)).abs();
            prop_assert!(apart < 0.01 || tie < 0.02, "{} at {}: {:?} {:?}", apart, look, piece, wanted);
        }
    }
}
