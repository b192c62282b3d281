//! Sea and weather as seen from the helm, with the age of what was seen last, and what it brings
//! for zones and order at once.

use axum::response::Response;

use super::bridge::{FormPage, Helm, Piece, choices};
use super::pickup::named;
use crate::trip::decide;
use crate::trip::event::{ConditionsObserved, EventId, Sea};
use crate::trip::forecast::pickup_order;
use crate::trip::likely::likely;
use crate::trip::outlook::conflicts;
use crate::trip::state::State;
use crate::trip::watch::deadlines;
use crate::trip::zones::zones_at;
use crate::units::system::{Measure, System};
use crate::units::{Knots, SetTowards, WindFrom, bounds};
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::form::Fields;
use crate::web::parts::{Choice, FieldFault};
use crate::web::sea::chart::warned;
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

/// Figures to tap; finer ones are typed.
const DRIFTS_KN: [&str; 6] = ["0", "0.3", "0.5", "1", "1.5", "2"];
const WINDS_KN: [&str; 6] = ["0", "5", "10", "15", "20", "25"];
const VISIBILITIES_M: [&str; 5] = ["3", "5", "10", "20", "30"];
const VISIBILITIES_FT: [&str; 5] = ["10", "15", "30", "60", "100"];

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    let brings = brings(&helm, helm.state());
    draw(&helm, &Fields::default(), Vec::new(), brings)
}

fn points(helm: &Helm, fields: &Fields, field: &str) -> Vec<Choice> {
    POINTS
        .iter()
        .map(|(value, key, degrees)| Choice {
            value: (*value).to_owned(),
            label: helm.t.say(key),
            note: view::degrees(*degrees),
            chosen: fields.typed(field) == *value,
        })
        .collect()
}

fn figures(fields: &Fields, field: &str, figures: &[&str], unit: &str) -> Vec<Choice> {
    figures
        .iter()
        .map(|figure| Choice {
            value: (*figure).to_owned(),
            label: format!("{figure}\u{a0}{unit}"),
            note: String::new(),
            chosen: fields.typed(field) == *figure,
        })
        .collect()
}

fn draw(
    helm: &Helm,
    fields: &Fields,
    faults: Vec<FieldFault>,
    brings: Vec<(String, String)>,
) -> Result<Response, Error> {
    let t = helm.t;
    let unit = t.sign(Measure::Length);
    let visibilities = match t.system() {
        System::Metric => &VISIBILITIES_M,
        System::Imperial => &VISIBILITIES_FT,
    };
    let mut page: FormPage =
        helm.form(t.say("way-conditions"), "conditions", "helm-log-it", faults);
    page.said = seen(helm);
    page.check = t.say("conditions-check");
    let seas = [
        ("calm", "helm-sea-calm"),
        ("slight", "helm-sea-slight"),
        ("moderate", "helm-sea-moderate"),
        ("rough", "helm-sea-rough"),
    ];
    let tiles = |field: &str, label: &str, choices| Piece::tiles(field, t.say(label), choices);
    let typed =
        |field: &str, label: &str, unit: &str| Piece::number(field, t.say(label), unit, fields);
    page.pieces = vec![
        tiles("set_deg", "helm-set", points(helm, fields, "set_deg"))
            .hinted(t.say("helm-set-hint")),
        tiles(
            "drift_kn",
            "helm-drift",
            figures(fields, "drift_kn", &DRIFTS_KN, "kn"),
        ),
        tiles(
            "wind_from_deg",
            "helm-wind-from-deg",
            points(helm, fields, "wind_from_deg"),
        ),
        tiles(
            "wind_kn",
            "helm-wind-speed",
            figures(fields, "wind_kn", &WINDS_KN, "kn"),
        ),
        tiles(
            "visibility_m",
            "helm-visibility",
            figures(fields, "visibility_m", visibilities, &unit),
        ),
        tiles("sea", "helm-sea", choices(t, fields, "sea", "", &seas)),
        typed("set_typed", "helm-set-typed", &t.say("degrees-unit")),
        typed("drift_typed", "conditions-drift-typed", "kn"),
        typed(
            "wind_from_typed",
            "conditions-wind-from-typed",
            &t.say("degrees-unit"),
        ),
        typed("wind_typed", "conditions-wind-typed", "kn"),
        typed("visibility_typed", "conditions-visibility-typed", &unit),
        typed("water_c", "helm-water-temperature", "°C"),
    ];
    page.brings = (t.say("conditions-brings"), brings);
    page.brings_note = t.say("conditions-brings-note");
    page.draw()
}

/// What these conditions bring: the pickup order, and for each group that is out where it drifts,
/// what its window meets and the zone that fits best.
fn brings(helm: &Helm, state: &State) -> Vec<(String, String)> {
    let (t, grounds) = (helm.t, &helm.trip.grounds);
    let zone = helm.zone();
    let told = helm.told(&zone);
    let mut lines = Vec::new();
    let order = pickup_order(state, grounds, helm.now).answer.order;
    let stops: Vec<String> = order
        .iter()
        .map(|row| format!("{} {}", named(helm, &row.id), helm.time(row.start_at)))
        .collect();
    if !stops.is_empty() {
        lines.push((t.say("way-pickup"), stops.join(" · ")));
    }
    let boat = state.opened.as_ref().map(|opened| &opened.boat);
    for group in state.groups_of(state.dive) {
        let (Some(sea), Some(boat)) = (grounds.sea(state, group.dive), boat) else {
            continue;
        };
        let gone = group.drop.is_some() && state.out_of(group).is_empty();
        if gone || group.stood_down.is_some() {
            continue;
        }
        let mut said = Vec::new();
        let mut place = sea.ground.site.position;
        let mut at = helm.now;
        if let Some((drop, until)) = group.drop.as_ref().zip(deadlines(state, group)) {
            said.extend(warned(group, &sea, told));
            let met = conflicts(group.formed.mode, &sea, drop.at, until.latest);
            said.extend(met.iter().map(|conflict| told.conflict(conflict)));
            if let Some(likely) = likely(state, group, &sea, helm.now) {
                said.push(told.likely(&likely));
                (place, at) = (likely.position, likely.at);
            }
        }
        let zones = zones_at(&sea, boat, group.members().len(), place, at);
        if let Some(best) = zones.first() {
            let args = [
                ("zone", best.name.as_str().into()),
                ("why", told.zone(best).into()),
            ];
            said.push(helm.say("conditions-best-zone", &args));
        }
        if !said.is_empty() {
            lines.push((view::spoken(&group.formed.letter), said.join(". ")));
        }
    }
    lines
}

/// The trip as it would be with what was seen just now.
fn as_if(helm: &Helm, seen: &ConditionsObserved) -> State {
    let mut state = helm.state().clone();
    let said = (
        &*helm.crew.0.name,
        helm.now,
        EventId::new(uuid::Uuid::nil()),
    );
    state.conditions.observe(seen, said);
    state
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
    if let Some(known) = c.current() {
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
            helm.t.told(Measure::Length, known.what),
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

/// Logs what is seen, or says what it would bring.
pub(super) async fn observe(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let Some(seen) = read(&fields) else {
        return draw(&helm, &fields, fields.faults(), Vec::new());
    };
    if fields.typed("do") == "check" {
        let brings = brings(&helm, &as_if(&helm, &seen));
        return draw(&helm, &fields, Vec::new(), brings);
    }
    let acted = helm
        .act(&fields, move |state, _, _| {
            decide::conditions(state, seen.clone())
        })
        .await?;
    match acted {
        Acted::Done(_) => Ok(helm.to("conditions#brings")),
        Acted::Refused(faults) => {
            let helm = helm.again().await?;
            draw(&helm, &fields, faults, Vec::new())
        }
    }
}

fn read(fields: &Fields) -> Option<ConditionsObserved> {
    // What is typed is finer than what is tapped.
    let finer = |typed: &'static str, tapped: &'static str| {
        if fields.typed(typed).is_empty() {
            tapped
        } else {
            typed
        }
    };
    let deg = &bounds::DIRECTION_DEG;
    let set = finer("set_typed", "set_deg");
    let set_deg = fields.optional_quantity(set, deg, SetTowards::from_deg);
    let drift = finer("drift_typed", "drift_kn");
    let drift_kn = fields.optional_quantity(drift, &bounds::DRIFT_KN, Knots::from_kn);
    let from = finer("wind_from_typed", "wind_from_deg");
    let wind_from_deg = fields.optional_quantity(from, deg, WindFrom::from_deg);
    let wind = finer("wind_typed", "wind_kn");
    let wind_kn = fields.optional_quantity(wind, &bounds::WIND_KN, Knots::from_kn);
    let visibility = finer("visibility_typed", "visibility_m");
    let visibility_m = fields.optional_number(visibility, &bounds::VISIBILITY_M);
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
