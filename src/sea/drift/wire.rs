//! The `drift` document: a start, a current and a wind over time in; the mean track out.

use jiff::{SignedDuration, Timestamp};
use serde_json::{Value, json};

use super::{Adrift, Current, Flow, SPREAD_M_S, Shift, Side, Velocity, Wind};
use crate::sea::chart::read_position;
use crate::sea::position::Position;
use crate::units::document::{Object, Reader, parse};
use crate::units::{Faults, Knots, SetTowards, WindFrom, bounds};

/// Most rows of a current or a wind: three days by the quarter of an hour.
const MOST_ROWS: usize = 300;

/// Longest drift that is reckoned; a mean without scatter says nothing after days.
const LONGEST: SignedDuration = SignedDuration::from_hours(72);

/// Time between two points of the track.
const STEP: SignedDuration = SignedDuration::from_mins(10);

struct Asked {
    place: Position,
    at: Timestamp,
    until: Timestamp,
    stream: Flow,
    wind: Option<Flow>,
    object: Adrift,
    side: Side,
}

/// Answers `{start: {position, at}, until, stream, wind?, object?, side?}` with
/// `{track: [{at, position, spread_m}], north_m, east_m, distance_m, course_deg}`.
///
/// # Errors
/// Every fault of the document; rows must be in order of time, the first not after the start.
pub fn answer(document: &[u8]) -> Result<Value, Faults> {
    let document = parse(document)?;
    let reader = Reader::new();
    let asked = reader.object("", &document).and_then(read);
    let asked = reader.finish(asked)?;
    let carried = |to| {
        asked
            .object
            .carry(asked.side, &asked.stream, asked.wind.as_ref(), asked.at, to)
    };
    let mut track = Vec::new();
    let mut at = asked.at;
    loop {
        track.push(json!({
            "at": at.to_string(),
            "position": led(asked.place, carried(at)),
            "spread_m": SPREAD_M_S * at.duration_since(asked.at).as_secs_f64(),
        }));
        if at >= asked.until {
            break;
        }
        // Out of the library's years: the end will do.
        at = at
            .checked_add(STEP)
            .map_or(asked.until, |next| next.min(asked.until));
    }
    let whole = carried(asked.until);
    Ok(json!({
        "track": track,
        "north_m": whole.north_m,
        "east_m": whole.east_m,
        "distance_m": whole.distance_m(),
        "course_deg": whole.course_deg(),
    }))
}

fn read(root: Object<'_>) -> Option<Asked> {
    let start = root.take("start", Reader::object).and_then(|start| {
        let place = start.take("position", read_position);
        let at = start.take("at", Reader::instant);
        start.close();
        Some((place?, at?))
    });
    let until = root.take("until", Reader::instant);
    let from = start.map(|(_, at)| at);
    let stream = root.take("stream", |r, path, v| flow(r, path, v, from, current));
    let wind = root.take_if("wind", |r, path, v| flow(r, path, v, from, wind));
    let object = root.take_if("object", |r, path, v| {
        let words = [
            ("water", Adrift::Water),
            ("person", Adrift::Person),
            ("person-unknown", Adrift::PersonUnknown),
            ("boat", Adrift::Boat),
        ];
        r.word(path, v, &words)
    });
    let side = root.take_if("side", |r, path, v| {
        let words = [
            ("left", Side::Left),
            ("right", Side::Right),
            ("none", Side::None),
        ];
        r.word(path, v, &words)
    });
    if let (Some(from), Some(until)) = (from, until) {
        let length = until.duration_since(from);
        if length < SignedDuration::ZERO || length > LONGEST {
            let allowed = format!(
                "an instant from the start to {} h after it",
                LONGEST.as_hours()
            );
            root.reader()
                .fault(root.path_of("until"), format!("is {until}"), allowed);
        }
    }
    root.close();
    let (place, at) = start?;
    Some(Asked {
        place,
        at,
        until: until?,
        stream: stream?,
        wind: wind?,
        object: object?.unwrap_or(Adrift::Water),
        side: side?.unwrap_or_default(),
    })
}

/// Reads rows that must be in order of time and reach back to the start: what the water did
/// before the first row is not known.
fn flow(
    reader: &Reader,
    path: &str,
    value: &Value,
    start: Option<Timestamp>,
    velocity: impl Fn(&Object<'_>) -> Option<Velocity>,
) -> Option<Flow> {
    let list = reader.list(path, value, MOST_ROWS)?;
    let rows: Vec<Option<(Timestamp, Velocity)>> = list
        .iter()
        .enumerate()
        .map(|(nth, row)| {
            let row = reader.object(&format!("{path}[{nth}]"), row)?;
            let at = row.take("at", Reader::instant);
            let velocity = velocity(&row);
            row.close();
            Some((at?, velocity?))
        })
        .collect();
    let rows: Vec<_> = rows.into_iter().collect::<Option<_>>()?;
    if let (Some((first, _)), Some(start)) = (rows.first(), start)
        && *first > start
    {
        let allowed = "a row that holds at the start";
        reader.fault(format!("{path}[0].at"), "is after the start", allowed);
    }
    match Flow::of(&rows) {
        Ok(flow) => Some(flow),
        Err(cause) => {
            reader.fault(
                path,
                cause.to_string(),
                "at least one row, in order of time",
            );
            None
        }
    }
}

fn current(row: &Object<'_>) -> Option<Velocity> {
    let set = row.quantity("set_deg", &bounds::DIRECTION_DEG, SetTowards::from_deg);
    let drift = row.quantity("drift_kn", &bounds::DRIFT_KN, Knots::from_kn);
    Some(
        Current {
            set: set?,
            drift: drift?,
        }
        .velocity(),
    )
}

fn wind(row: &Object<'_>) -> Option<Velocity> {
    let from = row.quantity("from_deg", &bounds::DIRECTION_DEG, WindFrom::from_deg);
    let speed = row.quantity("speed_kn", &bounds::WIND_KN, Knots::from_kn);
    Some(
        Wind {
            from: from?,
            speed: speed?,
        }
        .velocity(),
    )
}

fn led(from: Position, way: Shift) -> [f64; 2] {
    from.led(way.course_deg(), way.distance_m())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn paths(document: &str) -> Vec<String> {
        let faults = answer(document.as_bytes()).unwrap_err();
        faults.into_iter().map(|fault| fault.path).collect()
    }

    /// A knot to the north for an hour: 1852 m. A minute of latitude there is 1843 m long
    /// (WGS 84 at 0 degrees), so the latitude grows by 1.0049 minutes.
    #[test]
    fn a_knot_carries_a_mile_an_hour() {
        let answer = answer(
            br#"{"start": {"position": [10, 0], "at": "2026-06-01T09:00:00Z"},
                "until": "2026-06-01T12:00:00+02:00",
                "stream": [{"at": "2026-06-01T08:00:00Z", "set_deg": 360, "drift_kn": 1}]}"#,
        )
        .unwrap();
        assert!((answer["north_m"].as_f64().unwrap() - 1852.0).abs() < 1e-6);
        let track = answer["track"].as_array().unwrap();
        assert_eq!(track.len(), 7);
        let last = track.last().unwrap();
        assert_eq!(last["at"], "2026-06-01T10:00:00Z");
        assert!((last["spread_m"].as_f64().unwrap() - 360.0).abs() < 1e-9);
        let minutes = last["position"][1].as_f64().unwrap() * 60.0;
        assert!((minutes - 1852.0 / 1842.9).abs() < 1e-4, "{minutes}");
        assert!((last["position"][0].as_f64().unwrap() - 10.0).abs() < 1e-9);
    }

    #[test]
    fn every_fault_is_named() {
        assert_eq!(
            paths(
                r#"{"start": {"position": [10, 0], "at": "2026-06-01T09:00:00Z", "x": 1},
                    "until": "2026-06-01T08:00:00Z", "object": "raft", "side": "up", "y": 1,
                    "stream": [{"at": "2026-06-01T08:00:00Z", "set_deg": 361, "drift_kn": -1}],
                    "wind": [{"at": "2026-06-01T09:30:00Z", "from_deg": 0, "speed_kn": 5}]}"#
            ),
            [
                "start.x",
                "stream[0].set_deg",
                "stream[0].drift_kn",
                "wind[0].at",
                "object",
                "side",
                "until",
                "y"
            ]
        );
        assert_eq!(paths("{}"), ["start", "until", "stream"]);
        assert_eq!(
            paths(
                r#"{"start": {"position": [10, 0], "at": "2026-06-01T09:00:00Z"},
                    "until": "2026-06-05T09:00:00Z", "stream": []}"#
            ),
            ["stream", "until"]
        );
    }
}
