//! The chart of a site as line art: north up, a scale in metres. Not for navigation.

use std::fmt::Write;

use crate::sea::chart::{Area, Chart, NamedArea, NamedPlace};
use crate::sea::position::{LocalPlane, Position};
use crate::web::svg::escaped;
use crate::words::Words;

/// Width and height of the drawing, in its own units.
const SIZE: f64 = 600.0;
/// Kept free round what is charted.
const MARGIN: f64 = 60.0;

struct Frame {
    plane: LocalPlane,
    west: f64,
    north: f64,
    scale: f64,
}

impl Frame {
    /// A frame round all that is charted and the site's own place.
    fn round(site: Position, chart: &Chart) -> Self {
        let plane = LocalPlane::round(site);
        let places = chart
            .keep_clear
            .iter()
            .chain(&chart.pickup_zones)
            .flat_map(|named| &named.areas)
            .flat_map(Area::positions)
            .chain(points(chart).map(|place| place.position))
            .chain([site]);
        // Never less than 200 m across, so that a bare mooring is not blown up to fill the page.
        let (mut west, mut east, mut south, mut north) =
            (-100.0_f64, 100.0_f64, -100.0_f64, 100.0_f64);
        for at in places {
            let at = plane.metres(at);
            west = west.min(at.east);
            east = east.max(at.east);
            south = south.min(at.north);
            north = north.max(at.north);
        }
        let across = (east - west).max(north - south);
        Self {
            plane,
            west: (west + east - across) / 2.0,
            north: (north + south + across) / 2.0,
            scale: (SIZE - 2.0 * MARGIN) / across,
        }
    }

    fn at(&self, place: Position) -> (f64, f64) {
        let at = self.plane.metres(place);
        (
            MARGIN + (at.east - self.west) * self.scale,
            MARGIN + (self.north - at.north) * self.scale,
        )
    }

    /// The name of an area, over its northern edge.
    fn label(&self, named: &NamedArea) -> Result<String, std::fmt::Error> {
        let places: Vec<(f64, f64)> = named
            .areas
            .iter()
            .flat_map(Area::positions)
            .map(|place| self.at(place))
            .collect();
        let mut text = String::new();
        if places.is_empty() {
            return Ok(text);
        }
        let middle = places.iter().map(|(x, _)| x).sum::<f64>() / places.len() as f64;
        let top = places.iter().map(|(_, y)| *y).fold(SIZE, f64::min);
        write!(
            text,
            "<text class=\"chart-name\" x=\"{middle:.1}\" y=\"{:.1}\">{}</text>",
            top - 8.0,
            escaped(&named.name)
        )?;
        Ok(text)
    }

    fn outline(&self, area: &Area) -> Result<String, std::fmt::Error> {
        let mut path = String::new();
        for ring in area.rings() {
            for (nth, place) in ring.iter().enumerate() {
                let (x, y) = self.at(*place);
                write!(path, "{}{x:.1} {y:.1}", if nth == 0 { 'M' } else { 'L' })?;
            }
            path.push('Z');
        }
        Ok(path)
    }
}

fn points(chart: &Chart) -> impl Iterator<Item = &NamedPlace> {
    chart
        .moorings
        .iter()
        .chain(&chart.shot_lines)
        .chain(&chart.entry_points)
}

/// The drawing, or nothing if it cannot be written.
#[must_use]
pub(super) fn draw(site: Position, chart: &Chart, t: &Words) -> Option<String> {
    write_svg(site, chart, t).ok()
}

fn write_svg(site: Position, chart: &Chart, t: &Words) -> Result<String, std::fmt::Error> {
    let frame = Frame::round(site, chart);
    let mut svg = format!(
        "<svg class=\"site-chart\" viewBox=\"0 0 {SIZE} {SIZE}\" role=\"img\" aria-label=\"{}\">",
        escaped(&t.say("chart-label"))
    );
    for (class, named) in chart
        .keep_clear
        .iter()
        .map(|named| ("chart-clear", named))
        .chain(chart.pickup_zones.iter().map(|named| ("chart-zone", named)))
    {
        for area in &named.areas {
            write!(
                svg,
                "<path class=\"{class}\" d=\"{}\"/>",
                frame.outline(area)?
            )?;
        }
        write!(svg, "{}", frame.label(named)?)?;
    }
    for place in points(chart) {
        let (x, y) = frame.at(place.position);
        write!(
            svg,
            "<circle class=\"chart-place\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"6\"/>\
             <text x=\"{:.1}\" y=\"{:.1}\">{}</text>",
            x + 10.0,
            y + 5.0,
            escaped(&place.name)
        )?;
    }
    let (x, y) = frame.at(site);
    write!(
        svg,
        "<path class=\"chart-site\" d=\"M{:.1} {y:.1}H{:.1}M{x:.1} {:.1}V{:.1}\"/>",
        x - 10.0,
        x + 10.0,
        y - 10.0,
        y + 10.0
    )?;
    // A bar of a round length, at most a third of the width, and the arrow of north.
    let metres = round_length(SIZE / 3.0 / frame.scale);
    let right = MARGIN + metres * frame.scale;
    let base = SIZE - 22.0;
    let (top, shaft) = (base - 8.0, SIZE - 40.0);
    write!(
        svg,
        "<path class=\"chart-bar\" d=\"M{MARGIN} {top}V{base}H{right:.1}V{top}\"/>\
         <text x=\"{:.1}\" y=\"{base}\">{metres:.0} m</text>\
         <path class=\"chart-bar\" d=\"M{shaft} 52V14M{} 26L{shaft} 14L{} 26\"/>\
         <text x=\"{}\" y=\"52\">N</text></svg>",
        right + 8.0,
        shaft - 7.0,
        shaft + 7.0,
        shaft + 7.0
    )?;
    Ok(svg)
}

fn round_length(most: f64) -> f64 {
    [5_000.0, 2_000.0, 1_000.0, 500.0, 200.0, 100.0, 50.0, 20.0]
        .into_iter()
        .find(|length| *length <= most)
        .unwrap_or(10.0)
}
