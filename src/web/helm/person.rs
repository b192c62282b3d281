//! One person: where the log has them, who says so, and what is seen of them now.

use axum::response::Response;

use super::bridge::{FormPage, Helm, Piece, choices};
use crate::trip::decide::{self, AboardTap, SurfaceTap};
use crate::trip::event::{PersonId, Return, Signal, Vessel};
use crate::trip::state::{Person, Place};
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::form::Fields;
use crate::web::parts::FieldFault;
use crate::web::view;

/// What a look at a person can say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Look {
    Aboard,
    OtherVessel,
    Shore,
    Well,
    NoSignal,
    Help,
    Missing,
}

const LOOKS: [(&str, Look); 7] = [
    ("aboard", Look::Aboard),
    ("well", Look::Well),
    ("no-signal", Look::NoSignal),
    ("help", Look::Help),
    ("other-vessel", Look::OtherVessel),
    ("shore", Look::Shore),
    ("missing", Look::Missing),
];

const LOOK_WORDS: [(&str, &str); 7] = [
    ("aboard", "helm-look-aboard"),
    ("well", "helm-look-well"),
    ("no-signal", "helm-look-no-signal"),
    ("help", "helm-look-help"),
    ("other-vessel", "helm-look-other-vessel"),
    ("shore", "helm-look-shore"),
    ("missing", "helm-look-missing"),
];

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    draw(&helm, &Fields::default(), Vec::new()).await
}

async fn draw(helm: &Helm, fields: &Fields, faults: Vec<FieldFault>) -> Result<Response, Error> {
    let id: PersonId = helm.part("person")?;
    let person = helm.state().people.get(&id).ok_or(Error::NotFound)?;
    let mut page: FormPage = helm.form(
        person.name().to_owned(),
        &format!("person/{id}"),
        "helm-log-it",
        faults,
    );
    page.said = said(helm, person).await?;
    page.caution = if person.place == Place::Unresolved {
        helm.t.say("helm-settle")
    } else {
        String::new()
    };
    page.pieces = vec![
        Piece::tiles(
            "look",
            helm.t.say("helm-what-do-you-see"),
            choices(helm.t, fields, "look", "", &LOOK_WORDS),
        ),
        Piece::text("seen_by", helm.t.say("helm-seen-by"), fields)
            .or(&helm.crew.0.name)
            .hinted(helm.t.say("helm-seen-by-hint")),
        Piece::text("whither", helm.t.say("helm-whither"), fields)
            .hinted(helm.t.say("helm-whither-hint")),
    ];
    page.pieces.extend(helm.bearing_pieces(fields));
    if let Some(group) = person.group {
        page.back = helm.url(&format!("group/{group}"));
    }
    page.draw()
}

/// What stands about a person: each statement with name, device and age.
pub(super) async fn said(helm: &Helm, person: &Person) -> Result<Vec<String>, Error> {
    let devices = helm.app.store().devices().await?;
    Ok(person
        .statements
        .iter()
        .map(|statement| {
            let device = devices
                .iter()
                .find(|device| device.id == statement.device)
                .map_or_else(|| helm.t.say("helm-unknown-device"), |d| d.name.clone());
            let mut place = helm.t.say(view::place_key(statement.place));
            if let Some(whither) = &statement.whither {
                place = format!("{place} ({whither})");
            }
            let args = [
                ("place", place.into()),
                ("by", (&statement.by).into()),
                ("device", device.into()),
                ("at", helm.aged(statement.at).into()),
            ];
            helm.say("helm-statement", &args)
        })
        .collect())
}

/// Logs what is seen of a person.
pub(super) async fn seen(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let id: PersonId = helm.part("person")?;
    let look = fields.word("look", &LOOKS);
    let bearing = helm.bearing(&fields);
    let whither = match look {
        Some(Look::OtherVessel | Look::Shore) => fields.text("whither", 120),
        Some(_) | None => Some(String::new()),
    };
    let (Some(look), Some((from_boat, place)), Some(whither)) = (look, bearing, whither) else {
        let faults = fields.faults();
        return draw(&helm, &fields, faults).await;
    };
    let seen_by = fields.typed("seen_by").to_owned();
    let acted = helm
        .act(&fields, move |state, _, now| {
            let doubted = state
                .people
                .get(&id)
                .is_some_and(|p| matches!(p.place, Place::Missing | Place::Unresolved));
            let out_of_water = |vessel: Vessel| {
                if doubted {
                    return decide::found(state, id, Some(vessel), &seen_by, place);
                }
                let tap = AboardTap {
                    person: id,
                    vessel,
                    seen_by: seen_by.clone(),
                    detail: nothing_more(),
                    at: None,
                };
                decide::aboard(state, tap, now)
            };
            let at_surface = |signal: Signal| {
                let tap = SurfaceTap {
                    persons: [id].into(),
                    signal,
                    place,
                    from_boat: from_boat.clone(),
                    at: None,
                };
                decide::surfaced(state, tap, now)
            };
            match look {
                Look::Aboard => out_of_water(Vessel::Own),
                Look::OtherVessel => out_of_water(Vessel::Other {
                    name: whither.clone(),
                }),
                Look::Shore => out_of_water(Vessel::Shore {
                    place: whither.clone(),
                }),
                Look::Well => at_surface(Signal::Well),
                Look::NoSignal => at_surface(Signal::NoSignal),
                Look::Help => at_surface(Signal::Help),
                Look::Missing => decide::missing(state, &[id].into(), ""),
            }
        })
        .await?;
    match acted {
        Acted::Done(_) => Ok(helm.to("")),
        Acted::Refused(faults) => draw(&helm.again().await?, &fields, faults).await,
    }
}

/// A return of which only the seeing is logged; bar and depth come from deck.
pub(super) fn nothing_more() -> Return {
    Return {
        surfaced_at: None,
        bar: None,
        greatest_depth_m: None,
        stop_done: None,
        problem: None,
    }
}
