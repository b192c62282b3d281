//! The gas of a trip: what each diver's plan reckons with, beside what the diver analysed and
//! signed. An analysis is signed here, on a device of the crew, by typing one's name.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use uuid::Uuid;

use crate::dive::mix::{LIMIT_PPO2_BAR, Mix, WORKING_PPO2_BAR};
use crate::dive::pressure::Column;
use crate::store::register::{Analysis, Cylinder, fold_name};
use crate::trip::TripId;
use crate::trip::event::{Activity, PersonId};
use crate::trip::state::Phase;
use crate::units::{CylinderBar, CylinderLitres, OxygenFraction, bounds, rounding};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::gas::{self, standing};
use crate::web::page::{Asked, html, refused};
use crate::web::parts::Choice;

use super::Here;
use super::csv::LONGEST_NAME;
use super::form::Shown;

#[derive(Template)]
#[template(path = "desk/gas.html")]
struct GasPage {
    frame: Frame,
    title: String,
    url: String,
    rows: Vec<Row>,
    signed: Vec<Signed>,
    may_sign: bool,
    divers: Vec<Choice>,
    cylinders: Vec<Choice>,
    f: Shown,
}

struct Row {
    name: String,
    dive: u32,
    letter: String,
    planned: String,
    standing: String,
    settled: bool,
}

struct Signed {
    name: String,
    gas: String,
    depths: String,
    when: String,
    is_past: bool,
}

/// An analysis as a list tells it.
fn signed(one: &Analysis, here: &Here) -> Signed {
    let t = here.t;
    let mix = Mix::nitrox(one.oxygen);
    // Of the sea at sea level: in fresh water and higher up the depth would be greater.
    let depth = |ppo2| rounding::down(mix.operating_depth_m(ppo2, Column::default()).max(0.0));
    let mut args = gas::args(one.litres, one.oxygen, one.bar).to_vec();
    args.push(("marking", one.marking.as_str().into()));
    let depths = [
        ("working", depth(WORKING_PPO2_BAR).into()),
        ("limit", depth(LIMIT_PPO2_BAR).into()),
    ];
    let when = [
        ("name", one.signed_as.as_str().into()),
        ("at", here.day_and_time(one.at).into()),
    ];
    Signed {
        name: here.snap.state.name_of(one.person).to_owned(),
        gas: t.say_with("gas-analysed", &args),
        depths: t.say_with("gas-depths", &depths),
        when: t.say_with("gas-signed", &when),
        is_past: one.is_past,
    }
}

async fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    here: &Here,
    f: Shown,
) -> Result<GasPage, Error> {
    let (t, state) = (here.t, &here.snap.state);
    let mut frame = here.frame_to_fill(app, asked, crew);
    f.mark(&mut frame);
    let gas = gas::on_trip(app, state).await?;
    let rows = gas.planned.iter().map(|one| Row {
        name: state.name_of(one.person).to_owned(),
        dive: one.dive,
        letter: one.letter.clone(),
        planned: gas::planned(one, t),
        standing: standing(one, t),
        settled: one.held.is_settled(),
    });
    let mut divers = vec![(String::new(), t.say("gas-choose-diver"))];
    divers.extend(
        state
            .coming()
            .filter(|person| person.card.activity != Activity::Passenger)
            .map(|person| (person.id.to_string(), person.name().to_owned())),
    );
    let mut cylinders = vec![(String::new(), t.say("gas-own-cylinder"))];
    let held = app.store().cylinders().await?;
    cylinders.extend(held.iter().map(|one| {
        let args = [
            ("marking", one.marking.as_str().into()),
            ("litres", one.litres.l().into()),
        ];
        (one.id.to_string(), t.say_with("gas-cylinder", &args))
    }));
    Ok(GasPage {
        title: here.title(),
        url: format!("/desk/{}", here.trip),
        rows: rows.collect(),
        signed: gas.analyses.iter().map(|one| signed(one, here)).collect(),
        may_sign: state.phase != Phase::Closed,
        divers: f.choose("diver", &divers),
        cylinders: f.choose("cylinder", &cylinders),
        frame,
        f,
    })
}

/// The gas of a trip.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let f = Shown::of_trip(&app, &here.snap);
    html(&draw(&app, &asked, &crew, &here, f).await?)
}

/// Which cylinder was analysed: its number, if it is the centre's, its marking and its volume.
async fn cylinder(
    app: &App,
    fields: &Fields,
) -> Result<Option<(Option<Uuid>, String, CylinderLitres)>, Error> {
    let typed = fields.typed("cylinder");
    if typed.is_empty() {
        let marking = fields.text("marking", LONGEST_NAME);
        let litres = fields.quantity("litres", &bounds::CYLINDER_L, CylinderLitres::from_l);
        return Ok(marking
            .zip(litres)
            .map(|(marking, litres)| (None, marking, litres)));
    }
    let held: Option<Cylinder> = match typed.parse() {
        Ok(id) => app.store().cylinder(id).await?,
        Err(_) => None,
    };
    if held.is_none() {
        fields.fault("cylinder", "fault-choose", &[]);
    }
    Ok(held.map(|one| (Some(one.id), one.marking, one.litres)))
}

/// A diver signs what they analysed.
pub async fn sign(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
    fields: Fields,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let state = &here.snap.state;
    if state.phase == Phase::Closed {
        fields.fault("main", "refused-closed", &[]);
    }
    let diver = fields.parsed::<PersonId>("diver").and_then(|id| {
        let found = state.coming().find(|person| person.id == id);
        if found.is_none() {
            fields.fault("diver", "fault-choose", &[]);
        }
        found
    });
    let cylinder = cylinder(&app, &fields).await?;
    let oxygen = fields.quantity("oxygen", &bounds::OXYGEN_PCT, |pct| {
        OxygenFraction::from_fraction(pct / 100.0)
    });
    let bar = fields.quantity("bar", &bounds::CYLINDER_BAR, CylinderBar::from_bar);
    let signed_as = fields.text("signature", LONGEST_NAME);
    if let (Some(diver), Some(name)) = (diver, &signed_as)
        && fold_name(name) != fold_name(diver.name())
    {
        let args = [("name", diver.name().into())];
        fields.fault("signature", "fault-signature", &args);
    }
    if let (
        Some(diver),
        Some((cylinder, marking, litres)),
        Some(oxygen),
        Some(bar),
        Some(signed_as),
        true,
    ) = (diver, cylinder, oxygen, bar, signed_as, fields.is_sound())
    {
        let analysis = Analysis {
            id: super::numbered(&fields, 0)?,
            cylinder,
            marking,
            litres,
            person: diver.id,
            signed_as,
            oxygen,
            bar,
            at: app.clock().now(),
            is_past: false,
        };
        if app
            .store()
            .keep_analysis(&analysis, super::doer(&crew))
            .await?
        {
            return Ok(Redirect::to(&format!("/desk/{trip}/gas#signed")).into_response());
        }
        fields.fault("diver", "fault-analysis-unknown", &[]);
    }
    let f = Shown::of_trip(&app, &here.snap).refused(&fields, fields.faults());
    refused(&draw(&app, &asked, &crew, &here, f).await?)
}
