//! The chart of a site as line art, over the centre's own picture. Not for navigation.

use std::fmt::Write;

use crate::sea::backdrop::Laid;
use crate::sea::chart::Chart;
use crate::sea::position::{LocalPlane, Position};
use crate::store::register::Backdrop;
use crate::trip::SiteId;
use crate::web::sea::sheet::{self, Sheet};
use crate::words::Words;

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

/// The picture in the plane of the sheet; nothing where it is not placed yet.
fn picture(
    plane: &LocalPlane,
    site: SiteId,
    backdrop: &Backdrop,
) -> Result<String, std::fmt::Error> {
    let laid = backdrop.ties.and_then(|ties| Laid::by(plane, ties).ok());
    let Some(laid) = laid else {
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

/// The drawing, for a figure that pans and zooms (`static/js/chart-view.js`).
///
/// # Errors
/// If the text cannot grow.
pub(in crate::web::desk) fn draw(
    subject: &Subject<'_>,
    t: &Words,
) -> Result<String, std::fmt::Error> {
    let plane = LocalPlane::round(subject.position);
    let charted = sheet::charted(subject.chart).map(|place| (plane.metres(place), 0.0));
    let mut sheet = Sheet::round(plane, charted);
    sheet.open(t)?;
    if let Some(backdrop) = subject.backdrop {
        let picture = picture(&plane, subject.site, backdrop)?;
        sheet.svg.push_str(&picture);
    }
    sheet.charted(subject.chart)?;
    sheet.keep((0.0, 0.0), "chart-site", "<path d=\"M-10 0H10M0-10V10\"/>")?;
    sheet.close(&[])?;
    Ok(sheet.svg)
}
