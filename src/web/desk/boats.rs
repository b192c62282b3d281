//! Boats of the register: how many they carry, how they fetch, and their emergency plan.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use crate::store::register::{Boat, MOST_CARRIED};
use crate::trip::BoatId;
use crate::trip::event::{ApproachSide, Boarding, BoatSheet};
use crate::units::bounds;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, html, refused};
use crate::web::parts::Choice;

use super::figure;
use super::form::Shown;

/// Most steps of an emergency plan.
const MOST_STEPS: usize = 30;

const BOARDINGS: [(&str, Boarding, &str); 2] = [
    ("ladder", Boarding::Ladder, "boarding-ladder"),
    ("lift", Boarding::Lift, "boarding-lift"),
];
const SIDES: [(&str, ApproachSide, &str); 4] = [
    ("not-set", ApproachSide::NotSet, "side-not-set"),
    ("up-wind", ApproachSide::UpWind, "side-up-wind"),
    ("down-wind", ApproachSide::DownWind, "side-down-wind"),
    ("lee", ApproachSide::Lee, "side-lee"),
];

#[derive(Template)]
#[template(path = "desk/boats.html")]
struct BoatsPage {
    frame: Frame,
    heading: String,
    rows: Vec<Row>,
    /// Checks of equipment that are due: of which boat, and what.
    checks: Vec<(String, String)>,
    new_id: String,
}

struct Row {
    id: String,
    name: String,
    call_sign: String,
    capacity: u32,
    speed: String,
}

/// The boats there are.
pub async fn page(State(app): State<App>, asked: Asked, crew: Crew) -> Result<Response, Error> {
    let boats = app.store().boats().await?;
    let checks = super::equipment::of_all(&app, &boats).await?;
    let rows = boats
        .into_iter()
        .map(|boat| Row {
            id: boat.sheet.id.to_string(),
            name: boat.sheet.name,
            call_sign: boat.sheet.call_sign,
            capacity: boat.sheet.capacity,
            speed: figure(boat.sheet.speed_kn),
        })
        .collect();
    let frame = super::frame(&app, &asked, &crew);
    html(&BoatsPage {
        heading: frame.t.say("way-boats"),
        frame,
        rows,
        checks,
        new_id: app.clock().new_uuid().to_string(),
    })
}

#[derive(Template)]
#[template(path = "desk/boat.html")]
struct BoatPage {
    frame: Frame,
    id: String,
    heading: String,
    /// Whether the boat is in the register.
    known: bool,
    f: Shown,
    boardings: Vec<Choice>,
    sides: Vec<Choice>,
}

fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    id: BoatId,
    name: Option<String>,
    f: Shown,
) -> BoatPage {
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    let boardings = BOARDINGS.map(|(word, _, key)| (word.to_owned(), frame.t.say(key)));
    let sides = SIDES.map(|(word, _, key)| (word.to_owned(), frame.t.say(key)));
    BoatPage {
        id: id.to_string(),
        known: name.is_some(),
        heading: name.unwrap_or_else(|| frame.t.say("boat-new")),
        boardings: f.choose("boarding", &boardings),
        sides: f.choose("approach_side", &sides),
        frame,
        f,
    }
}

/// One boat, or the form of a new one.
pub async fn one(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<BoatId>,
) -> Result<Response, Error> {
    let held = app.store().boat(id).await?;
    let name = held.as_ref().map(|boat| boat.sheet.name.clone());
    let boat = held.unwrap_or_else(|| Boat::usual(id));
    let f = filled(Shown::plain(&app), &boat);
    html(&draw(&app, &asked, &crew, id, name, f))
}

/// The form with what is known of a boat in it.
fn filled(f: Shown, boat: &Boat) -> Shown {
    let sheet = &boat.sheet;
    let boarding = BOARDINGS.iter().find(|(_, b, _)| *b == sheet.boarding);
    let side = SIDES.iter().find(|(_, s, _)| *s == sheet.approach_side);
    let capacity = (sheet.capacity > 0).then(|| sheet.capacity.to_string());
    f.with("name", sheet.name.as_str())
        .with("call_sign", sheet.call_sign.as_str())
        .with("capacity", capacity.unwrap_or_default())
        .with("speed_kn", figure(sheet.speed_kn))
        .with("boarding_s", sheet.boarding_s_per_person.to_string())
        .with("approach_s", sheet.approach_s.to_string())
        .with("boarding", boarding.map_or("", |(word, _, _)| *word))
        .with("approach_side", side.map_or("", |(word, _, _)| *word))
        .with("mmsi", boat.mmsi.clone().unwrap_or_default())
        .with("radio", boat.radio.clone().unwrap_or_default())
        .with("recall", sheet.recall_signal.clone().unwrap_or_default())
        .with("plan", sheet.emergency_plan.join("\n"))
}

fn typed(fields: &Fields, id: BoatId) -> Option<Boat> {
    let name = fields.text("name", 60);
    let call_sign = fields.optional_text("call_sign", 20);
    let capacity = fields.whole("capacity", MOST_CARRIED).filter(|n| {
        if *n == 0 {
            fields.fault("capacity", "fault-capacity", &[]);
        }
        *n > 0
    });
    let speed_kn = fields.number("speed_kn", &bounds::BOAT_KN);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "0 to 3600 by the bounds"
    )]
    let seconds = |name: &str| {
        fields
            .number(name, &bounds::HANDLING_S)
            .map(|s| s.round() as u32)
    };
    let boarding_s = seconds("boarding_s");
    let approach_s = seconds("approach_s");
    let boarding = fields.word("boarding", &BOARDINGS.map(|(word, b, _)| (word, b)));
    let side = fields.word("approach_side", &SIDES.map(|(word, s, _)| (word, s)));
    let mmsi = fields.optional_text("mmsi", 9).filter(|mmsi| {
        let is_sound = mmsi
            .as_ref()
            .is_none_or(|m| m.len() == 9 && m.chars().all(|c| c.is_ascii_digit()));
        if !is_sound {
            fields.fault("mmsi", "fault-mmsi", &[]);
        }
        is_sound
    });
    let radio = fields.optional_text("radio", 100);
    let recall = fields.optional_text("recall", 100);
    let plan = fields.optional_text("plan", 5_000).and_then(|plan| {
        let steps: Vec<String> = plan
            .unwrap_or_default()
            .lines()
            .map(str::trim)
            .filter(|step| !step.is_empty())
            .map(str::to_owned)
            .collect();
        if steps.is_empty() || steps.len() > MOST_STEPS {
            fields.fault("plan", "fault-plan", &[("most", MOST_STEPS.into())]);
            return None;
        }
        Some(steps)
    });
    Some(Boat {
        sheet: BoatSheet {
            id,
            name: name?,
            call_sign: call_sign?.unwrap_or_default(),
            capacity: capacity?,
            speed_kn: speed_kn?,
            boarding_s_per_person: boarding_s?,
            approach_s: approach_s?,
            boarding: boarding?,
            approach_side: side?,
            emergency_plan: plan?,
            recall_signal: recall?,
        },
        mmsi: mmsi?,
        radio: radio?,
    })
}

/// Writes a boat, new or changed. Trips that are open keep what they sailed with.
pub async fn save(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(id): Path<BoatId>,
    fields: Fields,
) -> Result<Response, Error> {
    let boat = typed(&fields, id);
    if let Some(boat) = boat.filter(|_| fields.is_sound()) {
        app.store().save_boat(&boat).await?;
        return Ok(Redirect::to("/desk/boats").into_response());
    }
    let name = app.store().boat(id).await?.map(|boat| boat.sheet.name);
    let f = Shown::plain(&app).refused(&fields, fields.faults());
    refused(&draw(&app, &asked, &crew, id, name, f))
}
