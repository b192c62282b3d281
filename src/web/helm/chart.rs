//! The helm's chart: where the boat, the groups and the keep-clear areas are, as a drawing and as
//! bearings and distances; and a buoy seen, by a tap on it or by bearing and range.

use std::collections::BTreeMap;

use askama::Template;
use axum::response::Response;

use super::bridge::{Helm, Piece, Tap};
use super::group::{BUOY_COLOURS, colour_choices};
use crate::sea::position::{Metres, Position};
use crate::trip::GroupId;
use crate::trip::decide;
use crate::trip::state::Group;
use crate::units::bounds;
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::extract::Query;
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::html;
use crate::web::parts::{Choice, FieldFault, Weight};
use crate::web::sea::chart::{SeaChart, chart};
use crate::web::sea::words::Told;
use crate::web::view;

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
            helm.go("chart-mark-buoy", "buoy", Weight::Primary),
            helm.go("way-conditions", "conditions", Weight::Plain),
        ],
    })
}

/// A place that was tapped, as metres of the site's plane; none if it is none.
fn tapped(helm: &Helm, asked: &BTreeMap<String, String>) -> Option<Position> {
    let metres = |name: &str| {
        let metres: f64 = asked.get(name)?.parse().ok()?;
        (metres.abs() <= bounds::DISTANCE_M.max).then_some(metres)
    };
    let place = Metres::new(metres("east")?, metres("north")?);
    let ground = helm.trip.grounds.get(helm.state().dive.max(1))?;
    Some(ground.plane.position(place))
}

/// A buoy that was seen: the form, with the place that was tapped.
pub(super) async fn buoy_page(
    helm: Helm,
    Query(asked): Query<BTreeMap<String, String>>,
) -> Result<Response, Error> {
    let mut fields = Fields::default();
    if let Some(place) = tapped(&helm, &asked) {
        fields = Fields::of(vec![
            ("lat".to_owned(), format!("{:.6}", place.lat_deg())),
            ("lon".to_owned(), format!("{:.6}", place.lon_deg())),
        ]);
    }
    draw_buoy(&helm, &fields, Vec::new())
}

/// Groups of whom somebody is out, the one whose likely area lies nearest to `place` first.
fn out_near(helm: &Helm, place: Option<Position>) -> Vec<&Group> {
    let mut groups: Vec<&Group> = helm.state().groups_out().collect();
    let off_m = |group: &Group| {
        let likely = helm.trip.likely(group, helm.now);
        let likely = likely.map_or(f64::INFINITY, |likely| {
            place.map_or(0.0, |place| likely.position.distance_m(place))
        });
        likely.floor()
    };
    groups.sort_by(|a, b| off_m(a).total_cmp(&off_m(b)));
    groups
}

fn draw_buoy(helm: &Helm, fields: &Fields, faults: Vec<FieldFault>) -> Result<Response, Error> {
    let t = helm.t;
    let place = fields.position("lat", "lon").flatten();
    let groups = out_near(helm, place);
    let zone = helm.zone();
    let told = helm.told(&zone);
    let choices: Vec<Choice> = groups
        .iter()
        .enumerate()
        .map(|(nth, group)| Choice {
            value: group.id.to_string(),
            label: view::spoken(&group.formed.letter),
            note: helm
                .trip
                .likely(group, helm.now)
                .map_or_else(String::new, |likely| told.likely(&likely)),
            chosen: match fields.typed("group") {
                // One group is the only one it can be; of several the skipper says which.
                "" => groups.len() == 1 && nth == 0,
                typed => typed == group.id.to_string(),
            },
        })
        .collect();
    let mut page = helm.form(t.say("chart-mark-buoy"), "buoy", "helm-log-it", faults);
    page.caution = t.say("helm-buoy-caution");
    if groups.is_empty() {
        page.said.push(t.say("chart-nobody"));
    }
    page.pieces = vec![
        Piece::tiles("group", t.say("chart-whose-buoy"), choices),
        colour_choices(helm, fields),
    ];
    if place.is_some() || !fields.typed("lat").is_empty() {
        page.pieces
            .push(Piece::text("lat", t.say("helm-latitude"), fields));
        page.pieces
            .push(Piece::text("lon", t.say("helm-longitude"), fields));
    } else {
        page.pieces.extend(helm.bearing_pieces(fields));
    }
    page.back = helm.url("chart");
    page.draw()
}

/// Logs the buoy; it counts nobody.
pub(super) async fn buoy(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let id = fields.parsed::<GroupId>("group");
    let colour = fields.word("colour", &BUOY_COLOURS);
    let tapped = fields.position("lat", "lon");
    let seen = helm.bearing(&fields);
    let (Some(id), Some(colour), Some(tapped), Some((from_boat, place))) =
        (id, colour, tapped, seen)
    else {
        return draw_buoy(&helm, &fields, fields.faults());
    };
    let place = tapped.or(place);
    let acted = helm
        .act(&fields, move |state, _, now| {
            decide::buoy(state, id, (colour, place, from_boat.clone()), None, now)
        })
        .await?;
    match acted {
        Acted::Done(_) => Ok(helm.to("chart")),
        Acted::Refused(faults) => {
            let again = helm.again().await?;
            draw_buoy(&again, &fields, faults)
        }
    }
}
