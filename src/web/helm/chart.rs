//! The helm's chart: where the boat, the groups and the keep-clear areas are, as a drawing and as
//! bearings and distances.

use askama::Template;
use axum::response::Response;

use super::bridge::{Helm, Tap};
use crate::web::error::Error;
use crate::web::frame::Frame;
use crate::web::page::html;
use crate::web::parts::Weight;
use crate::web::sea::chart::{SeaChart, chart};
use crate::web::sea::words::Told;

#[derive(Template)]
#[template(path = "helm/chart.html")]
struct ChartPage {
    frame: Frame,
    mast: Vec<(String, String)>,
    chart: SeaChart,
    base: String,
    buoy: String,
    shelf: Vec<Tap>,
}

impl Helm {
    /// What words for the sea need.
    pub(super) fn told<'z>(&self, zone: &'z jiff::tz::TimeZone) -> Told<'z> {
        Told {
            t: self.t,
            zone,
            now: self.now,
        }
    }
}

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    let zone = helm.zone();
    html(&ChartPage {
        frame: helm.frame(),
        mast: helm.mast(),
        chart: chart(&helm.trip, helm.told(&zone)),
        base: helm.url("group"),
        buoy: helm.url("buoy"),
        shelf: vec![
            helm.go("helm-buoy-seen", "buoy", Weight::Primary),
            helm.go("way-conditions", "conditions", Weight::Plain),
        ],
    })
}
