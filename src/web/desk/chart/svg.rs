//! The chart of a site as line art, in metres east and south of the site: north up, with a scale
//! bar. Not for navigation.

use std::fmt::Write;

use crate::sea::backdrop::Laid;
use crate::sea::chart::{Area, Chart, NamedArea, NamedPlace};
use crate::sea::position::{LocalPlane, Position};
use crate::store::register::Backdrop;
use crate::trip::SiteId;
use crate::web::svg::escaped;
use crate::words::Words;

/// Width of the drawing as the server scales it, CSS pixels.
const WIDTH_PX: f64 = 600.0;
/// Kept free round what is charted, as a share of its width.
const MARGIN: f64 = 0.12;

/// What a chart is drawn from.
pub(in crate::web::desk) struct Subject<'a> {
    /// Whose it is.
    pub site: SiteId,
    /// Where.
    pub position: Position,
    /// What is charted.
    pub chart: &'a Chart,
    /// The picture under it.
    pub backdrop: Option<&'a Backdrop>,
}

/// Where the bytes of a picture are.
pub(super) fn picture_url(site: SiteId, hash: &[u8; 32]) -> Result<String, std::fmt::Error> {
    let mut url = format!("/desk/sites/{site}/picture/");
    for byte in hash {
        write!(url, "{byte:02x}")?;
    }
    Ok(url)
}

struct Sheet {
    plane: LocalPlane,
    west: f64,
    top: f64,
    across: f64,
}

impl Sheet {
    /// A sheet round all that is charted and the site's own place.
    fn round(site: Position, chart: &Chart) -> Self {
        let plane = LocalPlane::round(site);
        let places = chart
            .keep_clear
            .iter()
            .chain(&chart.pickup_zones)
            .flat_map(|named| &named.areas)
            .flat_map(Area::positions)
            .chain(points(chart).map(|place| place.position));
        // Never less than 200 m across, so that a bare mooring is not blown up to fill the page.
        let (mut west, mut east, mut top, mut bottom) =
            (-100.0_f64, 100.0_f64, -100.0_f64, 100.0_f64);
        for at in places {
            let at = plane.metres(at);
            west = west.min(at.east);
            east = east.max(at.east);
            top = top.min(-at.north);
            bottom = bottom.max(-at.north);
        }
        let across = (east - west).max(bottom - top) * (1.0 + 2.0 * MARGIN);
        Self {
            plane,
            west: (west + east - across) / 2.0,
            top: (top + bottom - across) / 2.0,
            across,
        }
    }

    fn at(&self, place: Position) -> (f64, f64) {
        let at = self.plane.metres(place);
        (at.east, -at.north)
    }

    /// Metres a CSS pixel, as the server scales it.
    fn scale(&self) -> f64 {
        self.across / WIDTH_PX
    }

    /// Begins what keeps its size on the screen, about a place.
    fn pinned(&self, x: f64, y: f64) -> String {
        format!(
            "<g data-chart-at=\"{x:.2} {y:.2}\" transform=\"translate({x:.2} {y:.2}) scale({:.5})\">",
            self.scale()
        )
    }

    /// The name of an area, over its northern edge.
    fn label(&self, named: &NamedArea) -> String {
        let places: Vec<(f64, f64)> = named
            .areas
            .iter()
            .flat_map(Area::positions)
            .map(|place| self.at(place))
            .collect();
        if places.is_empty() {
            return String::new();
        }
        let middle = places.iter().map(|(x, _)| x).sum::<f64>() / places.len() as f64;
        let top = places.iter().map(|(_, y)| *y).fold(f64::INFINITY, f64::min);
        format!(
            "{}<text class=\"chart-name\" y=\"-8\">{}</text></g>",
            self.pinned(middle, top),
            escaped(&named.name)
        )
    }

    fn outline(&self, area: &Area) -> Result<String, std::fmt::Error> {
        let mut path = String::new();
        for ring in area.rings() {
            for (nth, place) in ring.iter().enumerate() {
                let (x, y) = self.at(*place);
                write!(path, "{}{x:.2} {y:.2}", if nth == 0 { 'M' } else { 'L' })?;
            }
            path.push('Z');
        }
        Ok(path)
    }

    fn picture(&self, site: SiteId, backdrop: &Backdrop) -> Result<String, std::fmt::Error> {
        let Some(laid) = backdrop
            .ties
            .and_then(|ties| Laid::by(&self.plane, ties).ok())
        else {
            return Ok(String::new());
        };
        let matrix = laid.matrix().map(|figure| format!("{figure:.6}")).join(" ");
        Ok(format!(
            "<image class=\"chart-picture\" href=\"{}\" width=\"{}\" height=\"{}\" transform=\"matrix({matrix})\"/>",
            picture_url(site, &backdrop.hash)?,
            backdrop.width_px,
            backdrop.height_px
        ))
    }
}

fn points(chart: &Chart) -> impl Iterator<Item = &NamedPlace> {
    chart
        .moorings
        .iter()
        .chain(&chart.shot_lines)
        .chain(&chart.entry_points)
}

/// The drawing, for a figure that pans and zooms (`static/js/chart-view.js`).
///
/// # Errors
/// If the text cannot grow.
pub(in crate::web::desk) fn draw(
    subject: &Subject<'_>,
    t: &Words,
) -> Result<String, std::fmt::Error> {
    let Subject {
        site,
        position,
        chart,
        backdrop,
    } = subject;
    let sheet = Sheet::round(*position, chart);
    let (west, top, across) = (sheet.west, sheet.top, sheet.across);
    let mut svg = format!(
        "<svg class=\"site-chart\" viewBox=\"{west:.1} {top:.1} {across:.1} {across:.1}\" tabindex=\"0\" role=\"group\" \
         aria-label=\"{}\" data-lat=\"{}\" data-lon=\"{}\">",
        escaped(&t.say("chart-label")),
        position.lat_deg(),
        position.lon_deg()
    );
    if let Some(backdrop) = backdrop {
        svg.push_str(&sheet.picture(*site, backdrop)?);
    }
    svg.push_str("<g data-chart-features>");
    for (class, named) in chart
        .keep_clear
        .iter()
        .map(|named| ("chart-clear", named))
        .chain(chart.pickup_zones.iter().map(|named| ("chart-zone", named)))
    {
        for area in &named.areas {
            let outline = sheet.outline(area)?;
            write!(svg, "<path class=\"{class}\" d=\"{outline}\"/>")?;
        }
        svg.push_str(&sheet.label(named));
    }
    for place in points(chart) {
        let (x, y) = sheet.at(place.position);
        write!(
            svg,
            "{}<circle class=\"chart-place\" r=\"6\"/><text x=\"10\" y=\"5\">{}</text></g>",
            sheet.pinned(x, y),
            escaped(&place.name)
        )?;
    }
    svg.push_str("</g>");
    write!(
        svg,
        "{}<path class=\"chart-site\" d=\"M-10 0H10M0-10V10\"/></g>",
        sheet.pinned(0.0, 0.0)
    )?;
    let scale = sheet.scale();
    let metres = round_length(160.0 * scale);
    let right = 16.0 + metres / scale;
    let bottom = top + across;
    write!(
        svg,
        "<g data-chart-corner=\"left bottom\" transform=\"translate({west:.1} {bottom:.1}) scale({scale:.5})\">\
         <g data-chart-bar=\"m\"><path d=\"M16 -22V-14H{right:.1}V-22\"/><text x=\"{:.1}\" y=\"-14\">{metres:.0}\u{a0}m</text></g></g>\
         <g data-chart-corner=\"right top\" transform=\"translate({:.1} {top:.1}) scale({scale:.5})\">\
         <path d=\"M-32 56V18M-39 30L-32 18L-25 30\"/><text x=\"-20\" y=\"56\">N</text></g></svg>",
        right + 8.0,
        west + across
    )?;
    Ok(svg)
}

fn round_length(most: f64) -> f64 {
    [5_000.0, 2_000.0, 1_000.0, 500.0, 200.0, 100.0, 50.0, 20.0]
        .into_iter()
        .find(|length| *length <= most)
        .unwrap_or(10.0)
}
