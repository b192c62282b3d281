//! Drift by current and wind.

use deckwatch::sea::drift::flow::between;
use deckwatch::sea::drift::{Adrift, Current, Flow, Leeway, Side, Velocity, Wind};
use deckwatch::units::{Knots, SetTowards, WindFrom};
use jiff::{SignedDuration, Timestamp};

use crate::table::{Row, rows};

fn current(set_deg: f64, kn: f64) -> Velocity {
    let set = SetTowards::from_deg(set_deg).unwrap();
    Current {
        set,
        drift: Knots::from_kn(kn).unwrap(),
    }
    .velocity()
}

fn wind(from_deg: f64, m_s: f64) -> Velocity {
    let from = WindFrom::from_deg(from_deg).unwrap();
    Wind {
        from,
        speed: Knots::from_kn(m_s * 3600.0 / 1852.0).unwrap(),
    }
    .velocity()
}

fn angle_between(a: f64, b: f64) -> f64 {
    let turn = (a - b).rem_euclid(360.0);
    turn.min(360.0 - turn)
}

fn ours(key: &str) -> Option<Adrift> {
    match key {
        "PIW-1" => Some(Adrift::PersonUnknown),
        "PIW-5" => Some(Adrift::Person),
        "SKIFF-1" => Some(Adrift::Boat),
        _ => None,
    }
}

/// `leeway_coefficients.csv`: Allen and Plourde 1999, list of 15 November 2010.
#[test]
fn leeway_coefficients_are_those_of_the_table() {
    let table = rows("leeway_coefficients.csv");
    let known: Vec<(&Row, Leeway)> = table
        .iter()
        .filter_map(|row| Some((row, ours(row.text("key"))?.leeway()?)))
        .collect();
    assert_eq!(known.len(), 3);
    for (row, leeway) in known {
        for (column, ours) in [
            ("dw_slope_pct", leeway.downwind * 100.0),
            ("dw_offset_cms", 0.0),
            ("dw_std_cms", leeway.downwind_scatter_m_s * 100.0),
            ("cwr_slope_pct", leeway.crosswind * 100.0),
            ("cwr_offset_cms", 0.0),
            ("cwr_std_cms", leeway.crosswind_scatter_m_s * 100.0),
            ("cwl_slope_pct", -leeway.crosswind * 100.0),
            ("cwl_offset_cms", 0.0),
            ("cwl_std_cms", leeway.crosswind_scatter_m_s * 100.0),
        ] {
            let theirs = row.number(column);
            assert!((ours - theirs).abs() < 1e-9, "{} {column}", row.text("key"));
        }
    }
}

/// `leeway_drift_computed.csv`: worked out apart from this program, not published; tolerances
/// are those of the file, which rounds to a centimetre. Classes that this program does not
/// carry are passed over.
#[test]
fn mean_drift_agrees_with_a_separate_reckoning() {
    let start: Timestamp = "2026-06-01T09:00:00Z".parse().unwrap();
    let mut checked = 0;
    for row in rows("leeway_drift_computed.csv") {
        let Some(object) = ours(row.text("object")) else {
            continue;
        };
        checked += 1;
        let side = match row.text("side") {
            "left" => Side::Left,
            "right" => Side::Right,
            "none" => Side::None,
            other => panic!("side {other}"),
        };
        let end = start + SignedDuration::from_secs_f64(row.number("minutes") * 60.0);
        let water = Flow::steady(current(row.number("set_deg"), row.number("current_kn")));
        let air = Flow::steady(wind(row.number("wind_from_deg"), row.number("wind_ms")));
        let shift = object.carry(side, &water, Some(&air), start, end);
        for (column, ours) in [
            ("north_m", shift.north_m),
            ("east_m", shift.east_m),
            ("distance_m", shift.distance_m()),
        ] {
            let theirs = row.number(column);
            assert!(
                (ours - theirs).abs() <= 0.1,
                "{column}: {ours}, not {theirs}"
            );
        }
        assert!(angle_between(shift.course_deg(), row.number("course_deg")) <= 0.05);
    }
    assert_eq!(checked, 6);
}

/// `tidal_vector_computed.csv`: worked out apart from this program; the file rounds to the
/// fifth and fourth place.
#[test]
fn a_stream_between_two_hours_is_a_vector() {
    for row in rows("tidal_vector_computed.csv") {
        let first = current(row.number("set1_deg"), row.number("rate1_kn"));
        let second = current(row.number("set2_deg"), row.number("rate2_kn"));
        let ours = between(first, second, row.number("fraction"));
        let (theirs_kn, theirs_deg) = (row.number("rate_kn"), row.number("set_deg"));
        assert!(
            (ours.speed_kn() - theirs_kn).abs() < 1e-5,
            "{}",
            ours.speed_kn()
        );
        assert!(
            angle_between(ours.course_deg(), theirs_deg) < 1e-4,
            "{}",
            ours.course_deg()
        );
        // The same through a flow over an hour.
        let start: Timestamp = "2026-06-01T09:00:00Z".parse().unwrap();
        let hour = SignedDuration::from_hours(1);
        let flow = Flow::of(&[(start, first), (start + hour, second)]).unwrap();
        let part = SignedDuration::from_secs_f64(3600.0 * row.number("fraction"));
        let through = flow.at(start + part);
        assert!((through.speed_kn() - theirs_kn).abs() < 1e-5);
    }
}
