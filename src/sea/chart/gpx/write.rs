//! Writes GPX 1.1.

use quick_xml::escape::escape;

use super::NAMESPACE;
use crate::sea::chart::{Chart, Drawn, Kind, drawn};
use crate::sea::position::Position;

/// The chart of a site as GPX 1.1: places as waypoints, areas as closed tracks.
#[must_use]
pub fn written(site: &str, chart: &Chart) -> String {
    let all = drawn(chart);
    let of_sort = |is_area: bool| {
        all.iter()
            .filter(move |one| one.kind.is_some_and(Kind::is_area) == is_area)
            .map(move |one| if is_area { tracks(one) } else { waypoints(one) })
            .collect::<String>()
    };
    let (places, areas) = (of_sort(false), of_sort(true));
    let title = text(site);
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <gpx version=\"1.1\" creator=\"Deckwatch\" xmlns=\"{NAMESPACE}\">\n\
         <metadata><name>{title}</name><desc>Not for navigation. WGS 84.</desc></metadata>\n\
         {places}{areas}</gpx>\n"
    )
}

/// What a feature is called and of which kind, in the order of the schema.
fn told(one: &Drawn) -> String {
    let kind = one.kind.map_or("", Kind::word);
    format!("<name>{}</name><type>{kind}</type>", text(&one.name))
}

fn waypoints(one: &Drawn) -> String {
    let places = one.areas.iter().flatten().flatten();
    places
        .map(|at| point("wpt", *at, &told(one)) + "\n")
        .collect()
}

/// A track for each area, a segment for each ring.
fn tracks(one: &Drawn) -> String {
    let segment = |ring: &Vec<Position>| {
        let points = ring.iter().chain(ring.first());
        let points: String = points.map(|at| point("trkpt", *at, "")).collect();
        format!("<trkseg>{points}</trkseg>")
    };
    let track = |rings: &Vec<Vec<Position>>| {
        let segments: String = rings.iter().map(segment).collect();
        format!("<trk>{}{segments}</trk>\n", told(one))
    };
    one.areas.iter().map(track).collect()
}

/// Text that XML 1.0 can hold: of control characters only breaks.
fn text(name: &str) -> String {
    let plain: String = name
        .chars()
        .filter(|c| !c.is_control() && !matches!(c, '\u{fffe}' | '\u{ffff}'))
        .collect();
    escape(plain).into_owned()
}

fn point(tag: &str, at: Position, inner: &str) -> String {
    // GPX holds longitudes from -180 to below 180 (longitudeType).
    let lon = if at.lon_deg() >= 179.999_999_95 {
        -180.0
    } else {
        at.lon_deg()
    };
    format!(
        "<{tag} lat=\"{:.7}\" lon=\"{lon:.7}\">{inner}</{tag}>",
        at.lat_deg()
    )
}
