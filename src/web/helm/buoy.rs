//! A marker buoy seen from the boat: whose, of which colour, where by a tap on the chart or by
//! bearing and range. It counts nobody.

use std::collections::BTreeMap;

use axum::response::Response;

use super::bridge::{Helm, Piece, choices};
use super::group::colour_key;
use crate::sea::position::{Metres, Position};
use crate::trip::GroupId;
use crate::trip::decide;
use crate::trip::event::BuoyColour;
use crate::trip::state::Group;
use crate::units::bounds;
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::extract::Query;
use crate::web::form::Fields;
use crate::web::parts::{Choice, FieldFault};
use crate::web::view;

/// Colours of a marker buoy by the word of the form.
const BUOY_COLOURS: [(&str, BuoyColour); 3] = [
    ("orange", BuoyColour::Orange),
    ("yellow", BuoyColour::Yellow),
    ("other", BuoyColour::Other),
];

/// The colours to choose from.
fn colour_choices(helm: &Helm, fields: &Fields) -> Piece {
    let colours = BUOY_COLOURS.map(|(word, colour)| (word, colour_key(colour)));
    Piece::tiles(
        "colour",
        helm.t.say("helm-colour"),
        choices(helm.t, fields, "colour", "", &colours),
    )
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

/// The form, with the group or the place that is known.
pub(super) async fn page(
    helm: Helm,
    Query(asked): Query<BTreeMap<String, String>>,
) -> Result<Response, Error> {
    let mut known = Vec::new();
    if let Some(place) = tapped(&helm, &asked) {
        known.push(("lat".to_owned(), format!("{:.6}", place.lat_deg())));
        known.push(("lon".to_owned(), format!("{:.6}", place.lon_deg())));
    }
    let group = asked.get("group");
    known.extend(group.map(|group| ("group".to_owned(), group.clone())));
    draw(&helm, &Fields::of(known), Vec::new())
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

fn draw(helm: &Helm, fields: &Fields, faults: Vec<FieldFault>) -> Result<Response, Error> {
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
    let mut page = helm.form(t.say("helm-buoy-seen"), "buoy", "helm-log-it", faults);
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
pub(super) async fn log(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let id = fields.parsed::<GroupId>("group");
    let colour = fields.word("colour", &BUOY_COLOURS);
    let tapped = fields.position("lat", "lon");
    let seen = helm.bearing(&fields);
    let (Some(id), Some(colour), Some(tapped), Some((from_boat, place))) =
        (id, colour, tapped, seen)
    else {
        return draw(&helm, &fields, fields.faults());
    };
    let back = if tapped.is_some() {
        "chart".to_owned()
    } else {
        format!("group/{id}")
    };
    let place = tapped.or(place);
    let acted = helm
        .act(&fields, move |state, _, now| {
            decide::buoy(state, id, (colour, place, from_boat.clone()), None, now)
        })
        .await?;
    match acted {
        Acted::Done(_) => Ok(helm.to(&back)),
        Acted::Refused(faults) => {
            let again = helm.again().await?;
            draw(&again, &fields, faults)
        }
    }
}
