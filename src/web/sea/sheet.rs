//! The sheet that every chart is drawn on: metres east and south of the site, north up, with what
//! is charted, a scale bar and the arrow of north. For a figure that pans and zooms
//! (`static/js/chart-view.js`). Not for navigation.

use std::fmt::{self, Write};

use crate::sea::chart::{Area, Chart, NamedArea, NamedPlace};
use crate::sea::position::{LocalPlane, Metres, Position};
use crate::units::system::{FOOT_M, Measure, System};
use crate::web::svg::escaped;
use crate::words::Words;

/// Width of a drawing as the server scales it, CSS pixels.
const WIDTH_PX: f64 = 600.0;
/// Kept free round what is shown, as a share of its width.
const MARGIN: f64 = 0.12;
/// Never less than this across, metres, so that a bare mooring does not fill the page.
const LEAST_M: f64 = 200.0;

/// A drawing under way.
pub struct Sheet {
    /// The plane round the site.
    pub plane: LocalPlane,
    west: f64,
    top: f64,
    across: f64,
    /// What is drawn so far.
    pub svg: String,
}

/// The places of a chart: moorings, shot lines, entry points.
pub fn places(chart: &Chart) -> impl Iterator<Item = &NamedPlace> {
    chart
        .moorings
        .iter()
        .chain(&chart.shot_lines)
        .chain(&chart.entry_points)
}

/// Everything that is charted.
pub fn charted(chart: &Chart) -> impl Iterator<Item = Position> {
    let areas = chart.keep_clear.iter().chain(&chart.pickup_zones);
    let corners = areas
        .flat_map(|named| &named.areas)
        .flat_map(Area::positions);
    corners.chain(places(chart).map(|place| place.position))
}

impl Sheet {
    /// A sheet round the site and `shown`: places with so many metres about each.
    #[must_use]
    pub fn round(plane: LocalPlane, shown: impl Iterator<Item = (Metres, f64)>) -> Self {
        let half = LEAST_M / 2.0;
        let (mut low, mut high) = (Metres::new(-half, -half), Metres::new(half, half));
        for (at, about) in shown {
            low = Metres::new(
                low.east.min(at.east - about),
                low.north.min(at.north - about),
            );
            high = Metres::new(
                high.east.max(at.east + about),
                high.north.max(at.north + about),
            );
        }
        let widest = (high.east - low.east).max(high.north - low.north);
        let across = widest * (1.0 + 2.0 * MARGIN);
        Self {
            plane,
            west: (low.east + high.east - across) / 2.0,
            top: -(low.north + high.north + across) / 2.0,
            across,
            svg: String::new(),
        }
    }

    /// Metres a CSS pixel, as the server scales it.
    #[must_use]
    pub fn scale(&self) -> f64 {
        self.across / WIDTH_PX
    }

    /// Where a place is drawn.
    #[must_use]
    pub fn on(&self, place: Position) -> (f64, f64) {
        at(self.plane.metres(place))
    }

    /// Begins the drawing.
    ///
    /// # Errors
    /// If the text cannot grow.
    pub fn open(&mut self, t: &Words) -> fmt::Result {
        let Self {
            west, top, across, ..
        } = *self;
        let (scale, site) = (self.scale(), self.plane.origin());
        write!(
            self.svg,
            "<svg class=\"sea-chart\" viewBox=\"{west:.1} {top:.1} {across:.1} {across:.1}\" \
             tabindex=\"0\" role=\"group\" aria-label=\"{}\" data-lat=\"{}\" data-lon=\"{}\"><defs>\
             <pattern id=\"keep-clear\" width=\"12\" height=\"12\" patternUnits=\"userSpaceOnUse\" \
             patternTransform=\"rotate(45) scale({scale:.4})\"><path class=\"hatch\" d=\"M0 0V12\"/></pattern>\
             <pattern id=\"likely\" width=\"14\" height=\"14\" patternUnits=\"userSpaceOnUse\" \
             patternTransform=\"rotate(-45) scale({scale:.4})\"><path class=\"hatch thin\" d=\"M0 0V14\"/>\
             </pattern></defs>",
            escaped(&t.say("chart-label")),
            site.lat_deg(),
            site.lon_deg()
        )
    }

    /// Something that keeps its size on the screen, drawn in CSS pixels about its own middle.
    ///
    /// # Errors
    /// If the text cannot grow.
    pub fn keep(&mut self, (x, y): (f64, f64), class: &str, drawn: &str) -> fmt::Result {
        let scale = self.scale();
        write!(
            self.svg,
            "<g class=\"{class}\" data-chart-at=\"{x:.2} {y:.2}\" \
             transform=\"translate({x:.2} {y:.2}) scale({scale:.5})\">{drawn}</g>"
        )
    }

    /// What is charted, each kind by its outline: areas, their names, places.
    ///
    /// # Errors
    /// If the text cannot grow.
    pub fn charted(&mut self, chart: &Chart) -> fmt::Result {
        self.svg.push_str("<g data-chart-features>");
        for named in &chart.keep_clear {
            self.area("class=\"chart-clear\" fill=\"url(#keep-clear)\"", named)?;
        }
        for named in &chart.pickup_zones {
            self.area("class=\"chart-zone\"", named)?;
        }
        for named in chart.keep_clear.iter().chain(&chart.pickup_zones) {
            self.name(named)?;
        }
        for place in places(chart) {
            let drawn = format!(
                "<circle class=\"chart-place\" r=\"6\"/><text x=\"10\" y=\"5\">{}</text>",
                escaped(&place.name)
            );
            self.keep(self.on(place.position), "", &drawn)?;
        }
        self.svg.push_str("</g>");
        Ok(())
    }

    fn area(&mut self, attributes: &str, named: &NamedArea) -> fmt::Result {
        let rings = named.areas.iter().flat_map(Area::rings);
        let rings = rings.map(|ring| ring.iter().map(|place| self.plane.metres(*place)));
        let path = path(rings)?;
        write!(self.svg, "<path {attributes} d=\"{path}\"/>")
    }

    /// The name of an area, over its northern edge.
    fn name(&mut self, named: &NamedArea) -> fmt::Result {
        let corners = named.areas.iter().flat_map(Area::positions);
        let corners: Vec<(f64, f64)> = corners.map(|place| self.on(place)).collect();
        if corners.is_empty() {
            return Ok(());
        }
        let middle = corners.iter().map(|(x, _)| x).sum::<f64>() / corners.len() as f64;
        let top = corners
            .iter()
            .map(|(_, y)| *y)
            .fold(f64::INFINITY, f64::min);
        let text = format!(
            "<text class=\"chart-name\" y=\"-8\">{}</text>",
            escaped(&named.name)
        );
        self.keep((middle, top), "", &text)
    }

    /// Begins what stands in a corner of the window: `left top`, `right bottom` and the like.
    ///
    /// # Errors
    /// If the text cannot grow.
    pub fn corner(&mut self, which: &str) -> fmt::Result {
        let x = if which.contains("right") {
            self.west + self.across
        } else {
            self.west
        };
        let y = if which.contains("bottom") {
            self.top + self.across
        } else {
            self.top
        };
        let scale = self.scale();
        write!(
            self.svg,
            "<g data-chart-corner=\"{which}\" transform=\"translate({x:.1} {y:.1}) scale({scale:.5})\">"
        )
    }

    /// The arrow of north, and a bar of a round length with `lines` over it; ends the drawing.
    ///
    /// # Errors
    /// If the text cannot grow.
    pub fn close(&mut self, lines: &[String]) -> fmt::Result {
        self.corner("right top")?;
        self.svg.push_str(
            "<path class=\"chart-bar\" d=\"M-32 56V18M-40 30L-32 18L-24 30\"/>\
             <text x=\"-41\" y=\"82\">N</text></g>",
        );
        self.corner("left bottom")?;
        for (line, nth) in lines.iter().rev().zip(0_u8..) {
            let y = -42.0 - 26.0 * f64::from(nth);
            write!(
                self.svg,
                "<text x=\"16\" y=\"{y}\">{}</text>",
                escaped(line)
            )?;
        }
        let t = crate::web::language::words();
        let (sign, per) = match t.system() {
            System::Metric => (t.sign(Measure::Length), 1.0),
            System::Imperial => (t.sign(Measure::Length), FOOT_M),
        };
        let length = round_length(160.0 * self.scale() / per);
        let right = 16.0 + length * per / self.scale();
        write!(
            self.svg,
            "<g data-chart-bar=\"{sign}\" data-chart-unit=\"{per}\"><path class=\"chart-bar\" d=\"M16 -22V-14H{right:.1}V-22\"/>\
             <text x=\"{:.1}\" y=\"-14\">{length:.0}\u{a0}{sign}</text></g></g></svg>",
            right + 8.0
        )
    }
}

/// Where a place of the plane is drawn.
#[must_use]
pub fn at(place: Metres) -> (f64, f64) {
    (place.east, -place.north)
}

/// Rings as one closed path.
///
/// # Errors
/// If the text cannot grow.
pub fn path<R: IntoIterator<Item = Metres>>(
    rings: impl IntoIterator<Item = R>,
) -> Result<String, fmt::Error> {
    let mut path = String::new();
    for ring in rings {
        line(&mut path, ring)?;
        path.push('Z');
    }
    Ok(path)
}

/// Adds a line through places to a path.
///
/// # Errors
/// If the text cannot grow.
pub fn line(path: &mut String, places: impl IntoIterator<Item = Metres>) -> fmt::Result {
    for (nth, place) in places.into_iter().enumerate() {
        let (x, y) = at(place);
        write!(path, "{}{x:.2} {y:.2}", if nth == 0 { 'M' } else { 'L' })?;
    }
    Ok(())
}

fn round_length(most: f64) -> f64 {
    [5_000.0, 2_000.0, 1_000.0, 500.0, 200.0, 100.0, 50.0, 20.0]
        .into_iter()
        .find(|length| *length <= most)
        .unwrap_or(10.0)
}
