//! The `dive-plan` document: a plan with the day's earlier dives and the divers in, what it asks
//! of gas and time out.

use std::collections::BTreeSet;

use jiff::SignedDuration;
use serde_json::{Value, json};

use super::{elements, level, mix, model, noted};
use crate::dive::ascent::{Breather, Model};
use crate::dive::findings::{self, Finding};
use crate::dive::gas::{GasPlan, Supply, USUAL_L_MIN, gas_endurance};
use crate::dive::mix::{Mix, WORKING_PPO2_BAR};
use crate::dive::oxygen::exposure_pct;
use crate::dive::plan::{DivePlan, MOST_LEVELS, Profile, Rates, Stop};
use crate::dive::reckon::{EarlierDive, Reckoned, as_planned, load_after, reckon};
use crate::dive::tissue::Tissues;
use crate::dive::window::{Light, Window, WindowSettings, window};
use crate::units::document::{Object, Reader, parse};
use crate::units::{CylinderBar, CylinderLitres, Faults, LitresPerMinute, bounds};
use crate::words::Words;

/// Most earlier dives: more than anybody makes in the two days an interval may last.
const MOST_DIVES: usize = 20;

/// Most divers.
const MOST_DIVERS: usize = 200;

/// Longest name of a diver, characters.
const LONGEST_ID: usize = 80;

/// What is asked.
struct Asked {
    model: Model,
    mix: Mix,
    plan: DivePlan,
    earlier: Vec<Earlier>,
    divers: Vec<Diver>,
    reserve: CylinderBar,
}

/// An earlier dive as it is told.
struct Earlier {
    plan: DivePlan,
    mix: Mix,
    interval_min: f64,
}

struct Diver {
    id: String,
    supply: Supply,
}

/// Answers a plan with its limits, stops, run time, oxygen, each diver's gas, the window by day
/// without current, and what stands against it.
///
/// Depths and stops in metres, times in minutes, pressures in bar, `used_l` in litre-bar;
/// nothing is rounded.
///
/// # Errors
/// Every fault of the document, and a plan that cannot be brought to the surface within days.
pub fn answer(document: &[u8]) -> Result<Value, Faults> {
    let document = parse(document)?;
    let reader = Reader::new();
    let asked = reader.object("", &document).and_then(read);
    let asked = reader.finish(asked)?;
    let column = asked.model.column;
    let rested = Tissues::at_rest(column);
    let earlier = earlier_dives(&asked)?;
    let tissues = load_after(rested, &earlier, &asked.model);
    let diver = Breather {
        tissues,
        mix: asked.mix,
    };
    let reckoning = reckon(&asked.plan, &[diver], &asked.model)?;
    let exposure = exposure_of_day(&asked, &earlier, &reckoning.profile);
    let gases: Vec<GasPlan> = asked
        .divers
        .iter()
        .map(|diver| {
            let supply = &diver.supply;
            GasPlan::of(
                supply,
                &asked.plan,
                &reckoning.profile,
                column,
                asked.reserve,
            )
        })
        .collect();
    let Some(reckoned) = reckoning.each.first() else {
        return Err(Faults::one("", "could not be reckoned", ""));
    };
    let deepest_m = asked.plan.greatest_depth_m();
    Ok(json!({
        "no_stop_limit_min": reckoned.no_stop_limit_min,
        "within_no_stop": reckoned.within_no_stop,
        "stops": stops(&reckoning.profile),
        "run_time_min": reckoning.profile.run_time_min(),
        "ppo2_max_bar": asked.mix.ppo2_bar(deepest_m, column),
        "mod_m": asked.mix.operating_depth_m(WORKING_PPO2_BAR, column),
        "ead_m": asked.mix.equivalent_air_depth_m(deepest_m, column),
        "oxygen_exposure_pct": exposure,
        "divers": divers(&asked, &gases),
        "window_min": window_min(&asked, &reckoning.profile),
        "findings": told(&asked, reckoned, &gases, exposure),
    }))
}

fn earlier_dives(asked: &Asked) -> Result<Vec<EarlierDive>, Faults> {
    asked
        .earlier
        .iter()
        .enumerate()
        .map(|(nth, dive)| {
            let profile = as_planned(&dive.plan, dive.mix, &asked.model)
                .map_err(|faults| faults.below(&format!("earlier_dives[{nth}]")))?;
            Ok(EarlierDive {
                profile,
                mix: dive.mix,
                interval_min: dive.interval_min,
            })
        })
        .collect()
}

/// Of the plan and all earlier dives: nothing of an exposure is taken as gone within the day.
fn exposure_of_day(asked: &Asked, earlier: &[EarlierDive], profile: &Profile) -> f64 {
    let column = asked.model.column;
    let before: f64 = earlier
        .iter()
        .map(|dive| exposure_pct(dive.profile.legs(), dive.mix, column))
        .sum();
    before + exposure_pct(profile.legs(), asked.mix, column)
}

fn stops(profile: &Profile) -> Vec<Value> {
    profile
        .stops()
        .iter()
        .map(|held| {
            json!({
                "depth_m": held.stop.depth_m(),
                "minutes": held.stop.minutes(),
                "required": held.required,
            })
        })
        .collect()
}

fn divers(asked: &Asked, gases: &[GasPlan]) -> Vec<Value> {
    asked
        .divers
        .iter()
        .zip(gases)
        .map(|(diver, gas)| {
            json!({
                "id": diver.id,
                "end_bar": gas.end_bar,
                "turn_bar": gas.turn_bar,
                "minimum_gas_bar": gas.minimum_bar,
                "used_l": gas.used_litre_bar,
                "enough": gas.is_enough(),
            })
        })
        .collect()
}

fn window_min(asked: &Asked, profile: &Profile) -> Value {
    let supplies: Vec<Supply> = asked.divers.iter().map(|diver| diver.supply).collect();
    let endurance = gas_endurance(profile, asked.model.column, &supplies);
    let settings = WindowSettings::default();
    let Window {
        earliest,
        expected,
        latest,
        overdue,
        gas_endurance,
    } = window(profile.run_time(), settings, Light::Day, None, endurance);
    let min = |length: SignedDuration| length.as_secs_f64() / 60.0;
    json!({
        "earliest": min(earliest),
        "expected": min(expected),
        "latest": min(latest),
        "overdue": min(overdue),
        "gas_endurance": gas_endurance.map(min),
    })
}

fn told(asked: &Asked, reckoned: &Reckoned, gases: &[GasPlan], exposure: f64) -> Vec<Value> {
    let t = Words::english();
    let column = asked.model.column;
    let told = |field: String, finding: &Finding| {
        json!({
            "severity": finding.severity().word(),
            "field": field,
            "text": finding.say(t),
        })
    };
    let mut all = findings::of_gas(&asked.plan, asked.mix, exposure, column);
    all.extend(findings::of_load(&asked.plan, reckoned));
    let mut out: Vec<Value> = all
        .iter()
        .map(|finding| told(finding.field(&asked.plan), finding))
        .collect();
    for (nth, (diver, gas)) in asked.divers.iter().zip(gases).enumerate() {
        let found = findings::of_supply(&diver.supply, gas, &asked.plan, column, asked.reserve);
        out.extend(found.iter().map(|finding| {
            let field = finding.field(&asked.plan);
            told(format!("divers[{nth}].{field}"), finding)
        }));
    }
    out
}

fn read(root: Object<'_>) -> Option<Asked> {
    let reader = root.reader();
    let model = model(&root);
    let mix = root.take("gas", mix);
    let levels = root.take("levels", levels);
    let rates = rates(&root);
    let safety_stop = root.take_if("safety_stop", stop);
    let reserve = root
        .number_or(
            "reserve_bar",
            &bounds::CYLINDER_BAR,
            CylinderBar::USUAL_RESERVE.bar(),
        )
        .and_then(|bar| CylinderBar::from_bar(bar).ok());
    let earlier = root.take_if("earlier_dives", |reader, path, value| {
        let rates = rates.unwrap_or(Rates::USUAL);
        elements(reader, path, value, MOST_DIVES, |r, path, v| {
            earlier_dive(r, path, v, rates)
        })
    });
    let divers = root.take_if("divers", |reader, path, value| {
        divers_in(reader, path, value, reserve)
    });
    root.close();
    let stop = safety_stop?.unwrap_or(Stop::USUAL);
    let plan = noted(reader, "", DivePlan::new(levels?, stop, rates?))?;
    Some(Asked {
        model: model?,
        mix: mix?,
        plan,
        earlier: earlier?.unwrap_or_default(),
        divers: divers?.unwrap_or_default(),
        reserve: reserve?,
    })
}

fn levels(reader: &Reader, path: &str, value: &Value) -> Option<Vec<crate::dive::plan::Level>> {
    elements(reader, path, value, MOST_LEVELS, level)
}

fn rates(root: &Object<'_>) -> Option<Rates> {
    let rate = |name, usual| root.number_or(name, &bounds::VERTICAL_M_MIN, usual);
    let descent = rate("descent_m_min", 18.0);
    let ascent = rate("ascent_m_min", 9.0);
    let last = rate("last_ascent_m_min", 5.0);
    noted(root.reader(), "", Rates::new(descent?, ascent?, last?))
}

fn stop(reader: &Reader, path: &str, value: &Value) -> Option<Stop> {
    let object = reader.object(path, value)?;
    let depth_m = object.number("depth_m", &bounds::STOP_DEPTH_M);
    let minutes = object.number("minutes", &bounds::STOP_MIN);
    object.close();
    // The ranges of a stop are the ones checked here.
    Stop::new(depth_m?, minutes?).ok()
}

fn earlier_dive(reader: &Reader, path: &str, value: &Value, rates: Rates) -> Option<Earlier> {
    let object = reader.object(path, value)?;
    let mix = object.take("gas", mix);
    let levels = object.take("levels", levels);
    let safety_stop = object.take_if("safety_stop", stop);
    let interval_min = object.number("interval_min", &bounds::INTERVAL_MIN);
    object.close();
    let stop = safety_stop?.unwrap_or(Stop::USUAL);
    let plan = noted(reader, path, DivePlan::new(levels?, stop, rates))?;
    Some(Earlier {
        plan,
        mix: mix?,
        interval_min: interval_min?,
    })
}

fn divers_in(
    reader: &Reader,
    path: &str,
    value: &Value,
    reserve: Option<CylinderBar>,
) -> Option<Vec<Diver>> {
    let divers = elements(reader, path, value, MOST_DIVERS, |r, path, v| {
        diver(r, path, v, reserve)
    })?;
    let mut names = BTreeSet::new();
    for (nth, diver) in divers.iter().enumerate() {
        if !names.insert(diver.id.as_str()) {
            let path = format!("{path}[{nth}].id");
            reader.fault(path, format!("is '{}' again", diver.id), "each diver once");
        }
    }
    Some(divers)
}

fn diver(
    reader: &Reader,
    path: &str,
    value: &Value,
    reserve: Option<CylinderBar>,
) -> Option<Diver> {
    let object = reader.object(path, value)?;
    let id = object.take("id", |r, path, v| r.text(path, v, LONGEST_ID));
    let cylinder = object.quantity("cylinder_l", &bounds::CYLINDER_L, CylinderLitres::from_l);
    let start = object.quantity("start_bar", &bounds::CYLINDER_BAR, CylinderBar::from_bar);
    let breathing = object
        .number_or("breathing_l_min", &bounds::BREATHING_L_MIN, USUAL_L_MIN)
        .and_then(|l_min| LitresPerMinute::from_l_min(l_min).ok());
    if let (Some(start), Some(reserve)) = (start, reserve)
        && start < reserve
    {
        reader.fault(
            object.path_of("start_bar"),
            format!("is {}, below the reserve of {}", start.bar(), reserve.bar()),
            "more than what has to come back",
        );
    }
    object.close();
    Some(Diver {
        id: id?,
        supply: Supply {
            cylinder: cylinder?,
            start: start?,
            breathing: breathing?,
        },
    })
}
