//! Tidal streams between neaps and springs.

use deckwatch::sea::stream::wire;
use serde_json::json;

use crate::table::rows;

/// `tidal_stream_computed.csv`: worked out apart from this program by the rule of a sea-kayak
/// navigation text (R. Brown, ch. 2.10), ranges beyond springs on the same line; the file rounds
/// to the fourth place.
#[test]
fn rates_go_with_the_range_of_the_tide() {
    for row in rows("tidal_stream_computed.csv") {
        let document = json!({
            "table": [{
                "hour": 0, "set_deg": 45,
                "spring_kn": row.number("spring_kn"), "neap_kn": row.number("neap_kn"),
            }],
            "high_water": [{"at": "2026-06-01T12:00:00Z", "range_m": row.number("range_m")}],
            "spring_range_m": row.number("spring_range_m"),
            "neap_range_m": row.number("neap_range_m"),
            "at": "2026-06-01T12:00:00Z",
        });
        let answer = wire::answer(document.to_string().as_bytes()).unwrap();
        let theirs = row.number("rate_kn");
        let ours = answer["drift_kn"].as_f64().unwrap();
        assert!((ours - theirs).abs() <= 5.1e-5, "{ours}, not {theirs}");
        assert!((answer["set_deg"].as_f64().unwrap() - 45.0).abs() < 1e-9);
    }
}
