//! Sea and weather as seen from the helm, with the age of what was seen last.

use axum::response::Response;

use super::bridge::{FormPage, Helm, Piece, choices};
use crate::trip::decide;
use crate::trip::event::{ConditionsObserved, Sea};
use crate::units::{Knots, SetTowards, WindFrom, bounds};
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::form::Fields;
use crate::web::parts::{Choice, FieldFault};
use crate::web::view;

/// The eight points and their degrees.
const POINTS: [(&str, &str, f64); 8] = [
    ("0", "helm-north", 0.0),
    ("45", "helm-north-east", 45.0),
    ("90", "helm-east", 90.0),
    ("135", "helm-south-east", 135.0),
    ("180", "helm-south", 180.0),
    ("225", "helm-south-west", 225.0),
    ("270", "helm-west", 270.0),
    ("315", "helm-north-west", 315.0),
];

const SEAS: [(&str, Sea); 4] = [
    ("calm", Sea::Calm),
    ("slight", Sea::Slight),
    ("moderate", Sea::Moderate),
    ("rough", Sea::Rough),
];

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    draw(&helm, &Fields::default(), Vec::new())
}

fn draw(helm: &Helm, fields: &Fields, faults: Vec<FieldFault>) -> Result<Response, Error> {
    let mut page: FormPage = helm.form(
        helm.t.say("way-conditions"),
        "conditions",
        "helm-log-it",
        faults,
    );
    page.said = seen(helm);
    let t = helm.t;
    let towards: Vec<Choice> = POINTS
        .iter()
        .map(|(value, key, degrees)| Choice {
            value: (*value).to_owned(),
            label: t.say(key),
            note: view::degrees(*degrees),
            chosen: fields.typed("set_deg") == *value,
        })
        .collect();
    let seas = [
        ("calm", "helm-sea-calm"),
        ("slight", "helm-sea-slight"),
        ("moderate", "helm-sea-moderate"),
        ("rough", "helm-sea-rough"),
    ];
    page.pieces = vec![
        Piece::tiles("set_deg", t.say("helm-set"), towards).hinted(t.say("helm-set-hint")),
        Piece::number("set_typed", t.say("helm-set-typed"), "°T", fields),
        Piece::number("drift_kn", t.say("helm-drift"), "kn", fields),
        Piece::number("wind_from_deg", t.say("helm-wind-from-deg"), "°T", fields),
        Piece::number("wind_kn", t.say("helm-wind-speed"), "kn", fields),
        Piece::number("visibility_m", t.say("helm-visibility"), "m", fields),
        Piece::number("water_c", t.say("helm-water-temperature"), "°C", fields),
        Piece::tiles(
            "sea",
            t.say("helm-sea"),
            choices(t, fields, "sea", "", &seas),
        ),
    ];
    page.draw()
}

/// What was seen last, each with its own age.
fn seen(helm: &Helm) -> Vec<String> {
    let c = &helm.state().conditions;
    let mut lines = Vec::new();
    let mut line = |key: &str, value: String, by: &str, at: jiff::Timestamp| {
        let args = [
            ("what", value.into()),
            ("by", by.into()),
            ("at", helm.aged(at).into()),
        ];
        lines.push(helm.say(key, &args));
    };
    if let Some(known) = &c.current {
        let value = format!("{}, {} kn", view::degrees(known.what.0), known.what.1);
        line("helm-seen-current", value, &known.by, known.at);
    }
    if let Some(known) = &c.wind {
        let value = format!("{}, {} kn", view::degrees(known.what.0), known.what.1);
        line("helm-seen-wind", value, &known.by, known.at);
    }
    if let Some(known) = &c.visibility_m {
        line(
            "helm-seen-visibility",
            format!("{} m", known.what),
            &known.by,
            known.at,
        );
    }
    if let Some(known) = &c.sea {
        line(
            "helm-seen-sea",
            helm.t.say(sea_key(known.what)),
            &known.by,
            known.at,
        );
    }
    if let Some(known) = &c.water_c {
        line(
            "helm-seen-water",
            format!("{} °C", known.what),
            &known.by,
            known.at,
        );
    }
    if lines.is_empty() {
        lines.push(helm.t.say("helm-seen-nothing"));
    }
    lines
}

pub(super) fn sea_key(sea: Sea) -> &'static str {
    match sea {
        Sea::Calm => "helm-sea-calm",
        Sea::Slight => "helm-sea-slight",
        Sea::Moderate => "helm-sea-moderate",
        Sea::Rough => "helm-sea-rough",
    }
}

/// Logs what is seen.
pub(super) async fn observe(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let Some(seen) = read(&fields) else {
        return draw(&helm, &fields, fields.faults());
    };
    let acted = helm
        .act(&fields, move |state, _, _| {
            decide::conditions(state, seen.clone())
        })
        .await?;
    match acted {
        Acted::Done(_) => Ok(helm.to("")),
        Acted::Refused(faults) => draw(&helm.again().await?, &fields, faults),
    }
}

fn read(fields: &Fields) -> Option<ConditionsObserved> {
    // Degrees typed are finer than a point tapped.
    let typed = if fields.typed("set_typed").is_empty() {
        "set_deg"
    } else {
        "set_typed"
    };
    let deg = &bounds::DIRECTION_DEG;
    let set_deg = fields.optional_quantity(typed, deg, SetTowards::from_deg);
    let drift_kn = fields.optional_quantity("drift_kn", &bounds::DRIFT_KN, Knots::from_kn);
    let wind_from_deg = fields.optional_quantity("wind_from_deg", deg, WindFrom::from_deg);
    let wind_kn = fields.optional_quantity("wind_kn", &bounds::WIND_KN, Knots::from_kn);
    let visibility_m = fields.optional_number("visibility_m", &bounds::VISIBILITY_M);
    let water_c = fields.optional_number("water_c", &bounds::WATER_C);
    let sea = if fields.typed("sea").is_empty() {
        Some(None)
    } else {
        fields.word("sea", &SEAS).map(Some)
    };
    Some(ConditionsObserved {
        set_deg: set_deg?,
        drift_kn: drift_kn?,
        wind_from_deg: wind_from_deg?,
        wind_kn: wind_kn?,
        visibility_m: visibility_m?,
        sea: sea?,
        water_c: water_c?,
    })
}
