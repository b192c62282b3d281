//! The `no-stop-limits` document: a gas in, the no-stop limit at each depth out.

use serde_json::{Value, json};

use super::{elements, mix, model};
use crate::dive::ascent::{Breather, Model, no_stop_limit_min};
use crate::dive::mix::Mix;
use crate::dive::plan::{DivePlan, Level, Rates, Stop};
use crate::dive::tissue::Tissues;
use crate::units::document::{Object, Reader, parse};
use crate::units::{Depth, Faults, Minutes, bounds};

/// Most depths.
const MOST_DEPTHS: usize = 120;

/// Depths where none are asked for, metres: the steps of most tables.
const USUAL_DEPTHS_M: [f64; 12] = [
    9.0, 12.0, 15.0, 18.0, 21.0, 24.0, 27.0, 30.0, 33.0, 36.0, 39.0, 42.0,
];

/// Answers `{gas, water?, surface_bar?, gradient_factors?, depths_m?}` with
/// `{limits: [{depth_m, minutes}]}`: the longest bottom time of a rested diver after which the
/// ascent at the usual rates straight to the surface holds the high gradient factor; `null`
/// where ten hours do.
///
/// # Errors
/// Every fault of the document.
pub fn answer(document: &[u8]) -> Result<Value, Faults> {
    let document = parse(document)?;
    let reader = Reader::new();
    let asked = reader.object("", &document).and_then(read);
    let (mix, model, depths) = reader.finish(asked)?;
    let rested = Breather {
        tissues: Tissues::at_rest(model.column),
        mix,
    };
    let mut limits = Vec::new();
    for depth in depths {
        let minutes = no_stop_limit_min(&dive_to(depth)?, &rested, &model);
        limits.push(json!({"depth_m": depth.m(), "minutes": minutes}));
    }
    Ok(json!({ "limits": limits }))
}

/// A square dive of any length that reaches its depth: the limit stretches or cuts it.
fn dive_to(depth: Depth) -> Result<DivePlan, Faults> {
    let minutes = Minutes::from_min(depth.m() / 18.0 + 1.0)
        .map_err(|out| Faults::one("depths_m", out.to_string(), out.bounds.in_words()))?;
    DivePlan::new(vec![Level { depth, minutes }], Stop::USUAL, Rates::USUAL)
}

fn read(root: Object<'_>) -> Option<(Mix, Model, Vec<Depth>)> {
    let mix = root.take("gas", mix);
    let model = model(&root);
    let depths = root.take_if("depths_m", |reader, path, value| {
        elements(reader, path, value, MOST_DEPTHS, |r, path, v| {
            // The range of the quantity is the one checked here.
            Depth::from_m(r.number(path, v, &bounds::DEPTH_M)?).ok()
        })
    });
    root.close();
    let usual = || {
        USUAL_DEPTHS_M
            .iter()
            .filter_map(|m| Depth::from_m(*m).ok())
            .collect()
    };
    Some((mix?, model?, depths?.unwrap_or_else(usual)))
}
