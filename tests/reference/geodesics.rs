//! Geodesics on WGS 84 (Karney; notes and sources in `geodesics.csv`) against the sea room.

use deckwatch::sea::position::{LocalPlane, Position};

struct Case {
    name: String,
    from: Position,
    azimuth_deg: f64,
    to: Position,
    distance_m: f64,
    local: bool,
}

/// The published cases reach the poles and longitudes beyond 180; those that our positions do
/// not admit are counted, so that none is dropped unseen.
fn cases() -> (Vec<Case>, usize) {
    let text = include_str!("geodesics.csv");
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    let mut beyond = 0;
    let mut cases = Vec::new();
    for row in reader.records() {
        let row = row.unwrap();
        let figure = |nth: usize| row[nth].parse::<f64>().unwrap();
        let turn = |lon: f64| (lon + 180.0).rem_euclid(360.0) - 180.0;
        let at = |lat: usize, lon: usize| Position::from_degrees(turn(figure(lon)), figure(lat));
        match (at(1, 2), at(4, 5)) {
            (Ok(from), Ok(to)) => cases.push(Case {
                name: row[0].to_owned(),
                from,
                azimuth_deg: figure(3),
                to,
                distance_m: figure(7),
                local: row[0].starts_with("local"),
            }),
            _ => beyond += 1,
        }
    }
    (cases, beyond)
}

fn turn_between(a: f64, b: f64) -> f64 {
    let turn = (a - b).rem_euclid(360.0);
    turn.min(360.0 - turn)
}

/// The file gives distances to 1e-8 m, but local points to 1e-10 degrees, some 0.02 mm.
#[test]
fn geodesics_agree() {
    let (cases, beyond) = cases();
    assert!(cases.len() >= 30, "{} cases", cases.len());
    assert!(beyond <= 4, "{beyond} beyond our latitudes");
    for case in cases {
        let distance = case.from.distance_m(case.to);
        if case.name == "perth-20000km-sw" {
            // A direct case past the point where its geodesic is the shortest: ours is the
            // shortest.
            assert!(distance < case.distance_m, "{distance}");
            continue;
        }
        // The examples without 'karney' are given to the metre or to the centimetre.
        let tolerance = if case.local { 1e-4 } else { 1e-2 };
        assert!(
            (distance - case.distance_m).abs() < tolerance,
            "{}: {distance} for {}",
            case.name,
            case.distance_m
        );
        let bearing = case.from.bearing_deg(case.to);
        assert!(
            turn_between(bearing, case.azimuth_deg) < if case.local { 1e-4 } else { 1e-2 },
            "{}: {bearing} for {}",
            case.name,
            case.azimuth_deg
        );
    }
}

/// The plane's own bound: short by d³ / 6R² (3.3 cm at 20 km); direction within 0.01 degrees,
/// as a normal section leaves the geodesic by far less at this length.
#[test]
fn the_plane_holds_within_20_km() {
    let (cases, _) = cases();
    let mut seen = 0;
    for case in cases.iter().filter(|case| case.local) {
        let plane = LocalPlane::round(case.from);
        let at = plane.metres(case.to);
        let short = case.distance_m.powi(3) / (6.0 * 6.335e6_f64.powi(2));
        assert!(
            (case.distance_m - at.length()).abs() < short + 1e-4,
            "{}: {} for {}",
            case.name,
            at.length(),
            case.distance_m
        );
        assert!(
            turn_between(at.direction_deg(), case.azimuth_deg) < 0.01,
            "{}: {} for {}",
            case.name,
            at.direction_deg(),
            case.azimuth_deg
        );
        assert!(
            plane.position(at).distance_m(case.to) < 1e-4,
            "{}",
            case.name
        );
        seen += 1;
    }
    assert!(seen >= 10, "{seen} local cases");
}
