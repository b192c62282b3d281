//! The documents of the dive computations: `dive-plan` and `no-stop-limits`.

mod limits;
mod plan;

pub use limits::answer as no_stop_limits;
pub use plan::answer as dive_plan;

use serde_json::Value;

use super::ascent::{Model, StopLength};
use super::mix::Mix;
use super::plan::Level;
use super::pressure::{Column, SEA_LEVEL_BAR, Water};
use super::tissue::GradientFactors;
use crate::units::document::{Object, Reader};
use crate::units::{AmbientBar, Depth, Faults, Minutes, OxygenFraction, bounds};

/// `surface_bar?`, `water?` and `gradient_factors?` of either document.
fn model(root: &Object<'_>) -> Option<Model> {
    let surface_bar = root.number_or("surface_bar", &bounds::SURFACE_BAR, SEA_LEVEL_BAR);
    let words = [("salt", Water::Salt), ("fresh", Water::Fresh)];
    let water = root.take_if("water", |r, path, v| r.word(path, v, &words));
    let factors = root.take_if("gradient_factors", gradient_factors);
    let surface = AmbientBar::from_bar(surface_bar?).ok()?;
    Some(Model {
        column: Column::new(surface, water?.unwrap_or_default()),
        gradient_factors: factors?.unwrap_or(GradientFactors::USUAL),
        stop_length: StopLength::Exact,
    })
}

fn gradient_factors(reader: &Reader, path: &str, value: &Value) -> Option<GradientFactors> {
    let object = reader.object(path, value)?;
    let low = object.number("low", &bounds::GRADIENT_FACTOR);
    let high = object.number("high", &bounds::GRADIENT_FACTOR);
    object.close();
    noted(reader, path, GradientFactors::new(low?, high?))
}

fn mix(reader: &Reader, path: &str, value: &Value) -> Option<Mix> {
    let object = reader.object(path, value)?;
    let oxygen = object.quantity("oxygen", &bounds::OXYGEN, OxygenFraction::from_fraction);
    let helium = object.number_or("helium", &bounds::HELIUM, 0.0);
    object.close();
    noted(reader, path, Mix::new(oxygen?, helium?))
}

fn level(reader: &Reader, path: &str, value: &Value) -> Option<Level> {
    let object = reader.object(path, value)?;
    let depth = object.quantity("depth_m", &bounds::DEPTH_M, Depth::from_m);
    let minutes = object.quantity("minutes", &bounds::LEVEL_MIN, Minutes::from_min);
    object.close();
    Some(Level {
        depth: depth?,
        minutes: minutes?,
    })
}

/// Every element of a list, read before any is missed, so that each fault is noted.
fn elements<T>(
    reader: &Reader,
    path: &str,
    value: &Value,
    most: usize,
    read: impl Fn(&Reader, &str, &Value) -> Option<T>,
) -> Option<Vec<T>> {
    let list = reader.list(path, value, most)?;
    let all: Vec<Option<T>> = list
        .iter()
        .enumerate()
        .map(|(nth, value)| read(reader, &format!("{path}[{nth}]"), value))
        .collect();
    all.into_iter().collect()
}

/// The value, or its faults noted below `path`.
fn noted<T>(reader: &Reader, path: &str, made: Result<T, Faults>) -> Option<T> {
    match made {
        Ok(value) => Some(value),
        Err(faults) => {
            for fault in faults.below(path) {
                reader.fault(fault.path, fault.what, fault.allowed);
            }
            None
        }
    }
}

#[cfg(test)]
mod tests;
