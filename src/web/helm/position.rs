//! Own position of the boat: by its instruments, by the device's own, or typed; each with its age
//! and where it comes from.

use askama::Template;
use axum::response::Response;

use super::bridge::{Helm, Tap, lead_to};
use crate::instruments::Fix;
use crate::sea::position::Position;
use crate::trip::decide;
use crate::trip::event::PositionSource;
use crate::units::bounds;
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::answered;
use crate::web::parts::{Action, FieldFault, Weight};
use crate::web::view;

#[derive(Template)]
#[template(path = "helm/position.html")]
struct PositionPage {
    frame: Frame,
    /// Where the boat is by the log, its source and age; empty if it is not known.
    known: String,
    /// What to beware of.
    caution: String,
    /// What the instruments say this moment.
    live: String,
    instruments: Tap,
    device: Action,
    typed: Action,
    latitude: String,
    longitude: String,
    back: String,
    faults: Vec<FieldFault>,
}

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    draw(&helm, &Fields::default(), Vec::new())
}

fn draw(helm: &Helm, fields: &Fields, mut faults: Vec<FieldFault>) -> Result<Response, Error> {
    let by_device = fields.typed("source") == "device";
    // Nobody typed what a device sent.
    let on_page: &[&str] = if by_device {
        &[]
    } else {
        &["latitude", "longitude"]
    };
    lead_to(&mut faults, on_page);
    let typed = |name| {
        let text = if by_device { "" } else { fields.typed(name) };
        text.to_owned()
    };
    let boat = helm.state().boat.as_ref();
    let page = PositionPage {
        frame: helm.still_frame(&faults),
        known: boat.map_or_else(String::new, |_| where_it_is(helm)),
        caution: caution(helm),
        live: live(helm),
        instruments: helm.go("helm-instruments", "instruments", Weight::Plain),
        device: helm
            .tap("helm-use-device", "position", Weight::Plain)
            .with("source", "device")
            .action,
        typed: helm.tap("helm-log-it", "position", Weight::Primary).action,
        latitude: typed("latitude"),
        longitude: typed("longitude"),
        back: helm.url("pickup"),
        faults,
    };
    answered(&page, page.faults.is_empty())
}

/// `04° 10.500' N, 073° 30.200' E · by the instruments · 14:05, 2 min ago`.
pub(super) fn where_it_is(helm: &Helm) -> String {
    helm.state().boat.as_ref().map_or_else(
        || helm.t.say("helm-boat-not-known"),
        |boat| {
            let args = [
                ("place", boat.position.to_string().into()),
                ("source", helm.t.say(view::source_key(boat.source)).into()),
                ("at", helm.aged(boat.at).into()),
            ];
            helm.say("helm-boat-at", &args)
        },
    )
}

/// That the position is not known, or so old that the boat may have gone on; else empty.
pub(super) fn caution(helm: &Helm) -> String {
    match &helm.state().boat {
        None => helm.t.say("helm-boat-not-known"),
        Some(boat) if boat.is_old(helm.now) => helm.t.say("helm-boat-old"),
        Some(_) => String::new(),
    }
}

/// What the instruments say this moment; that none are connected.
pub(super) fn live(helm: &Helm) -> String {
    let received = helm.app.instruments().look();
    match received.fix() {
        Some(fix) => fixed(helm, fix),
        None if received.inputs().is_empty() => helm.t.say("helm-no-instruments"),
        None => helm.t.say("helm-no-fix"),
    }
}

/// A fix with its receiver and age in seconds.
pub(super) fn fixed(helm: &Helm, fix: &Fix) -> String {
    let args = [
        ("place", fix.position.to_string().into()),
        ("talker", fix.talker.to_string().into()),
        ("seconds", seconds_ago(helm, fix.at).into()),
    ];
    helm.say("helm-fix-now", &args)
}

/// Whole seconds since then.
pub(super) fn seconds_ago(helm: &Helm, at: jiff::Timestamp) -> i64 {
    helm.now.duration_since(at).as_secs().max(0)
}

/// Logs where the boat is: as typed, or as the device says.
pub(super) async fn log(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let by_device = fields.typed("source") == "device";
    let (read, source) = if by_device {
        (of_device(&fields), PositionSource::Device)
    } else {
        (typed(&fields), PositionSource::Typed)
    };
    let Some(position) = read else {
        return draw(&helm, &fields, fields.faults());
    };
    let acted = helm
        .act(&fields, move |state, _, _| {
            decide::boat_at(state, position, source)
        })
        .await?;
    match acted {
        Acted::Done(_) if by_device => Ok(helm.to("position")),
        Acted::Done(_) => Ok(helm.to("pickup")),
        Acted::Refused(faults) => draw(&helm.again().await?, &fields, faults),
    }
}

fn typed(fields: &Fields) -> Option<Position> {
    let typed = fields.position("latitude", "longitude");
    if typed == Some(None) {
        fields.fault("latitude", "fault-degrees", &[]);
    }
    typed.flatten()
}

/// Degrees with their decimals, and how far the place may be off.
fn of_device(fields: &Fields) -> Option<Position> {
    let degrees = |name, bounds| fields.quantity(name, bounds, Ok);
    let lat = degrees("latitude", &bounds::LATITUDE_DEG);
    let lon = degrees("longitude", &bounds::LONGITUDE_DEG);
    let accuracy = degrees("accuracy", &bounds::ACCURACY_M)?;
    if accuracy > bounds::USEFUL_ACCURACY_M {
        let args = [
            ("metres", accuracy.ceil().into()),
            ("most", bounds::USEFUL_ACCURACY_M.into()),
        ];
        fields.fault("accuracy", "fault-inexact", &args);
        return None;
    }
    Position::from_degrees(lon?, lat?).ok()
}
