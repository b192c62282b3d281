//! A dive plan with six divers and three earlier dives, document in and document out. Budget:
//! under 200 microseconds. And the day of 200 people, three dives each, planned anew: under
//! 50 ms.
#![expect(
    clippy::unwrap_used,
    reason = "a bench stops where its own data are wrong"
)]

use deckwatch::dive::ascent::{Breather, Model};
use deckwatch::dive::mix::Mix;
use deckwatch::dive::plan::{DivePlan, Level, Rates, Stop};
use deckwatch::dive::reckon::{Reckoning, reckon};
use deckwatch::dive::tissue::Tissues;
use deckwatch::dive::wire::{dive_plan, no_stop_limits};
use deckwatch::units::{Depth, Minutes};
use serde_json::json;

fn main() {
    divan::main();
}

fn document(last_min: f64) -> Vec<u8> {
    let dive = |depth_m: f64, minutes: f64| {
        json!({"gas": {"oxygen": 0.32}, "levels": [{"depth_m": depth_m, "minutes": minutes}],
            "interval_min": 60})
    };
    let divers: Vec<_> = (0..6)
        .map(|nth| json!({"id": format!("diver {nth}"), "cylinder_l": 12, "start_bar": 200 + nth}))
        .collect();
    json!({
        "gas": {"oxygen": 0.32},
        "levels": [{"depth_m": 24, "minutes": 20}, {"depth_m": 14, "minutes": last_min}],
        "earlier_dives": [dive(28.0, 25.0), dive(20.0, 35.0), dive(16.0, 40.0)],
        "divers": divers,
    })
    .to_string()
    .into_bytes()
}

#[divan::bench]
fn plan_within_its_limit(bencher: divan::Bencher<'_, '_>) {
    let document = document(15.0);
    bencher.bench(|| dive_plan(&document).unwrap());
}

#[divan::bench]
fn plan_that_owes_stops(bencher: divan::Bencher<'_, '_>) {
    let document = document(90.0);
    let answer = dive_plan(&document).unwrap();
    assert_eq!(answer.pointer("/within_no_stop"), Some(&json!(false)));
    bencher.bench(|| dive_plan(&document).unwrap());
}

#[divan::bench]
fn limits_of_twelve_depths(bencher: divan::Bencher<'_, '_>) {
    let document = json!({"gas": {"oxygen": 0.21}}).to_string();
    bencher.bench(|| no_stop_limits(document.as_bytes()).unwrap());
}

fn square(depth_m: f64, minutes: f64) -> DivePlan {
    let level = Level {
        depth: Depth::from_m(depth_m).unwrap(),
        minutes: Minutes::from_min(minutes).unwrap(),
    };
    DivePlan::new(vec![level], Stop::USUAL, Rates::USUAL).unwrap()
}

/// Everybody dives alone here: no two loads are the same, none is reckoned for another.
#[divan::bench]
fn day_of_two_hundred_people(bencher: divan::Bencher<'_, '_>) {
    let model = Model::default();
    let days: Vec<Vec<DivePlan>> = (0..200)
        .map(|nth| {
            let deeper_m = f64::from(nth % 12);
            vec![
                square(18.0 + deeper_m, 25.0),
                square(14.0 + deeper_m, 35.0),
                square(10.0 + deeper_m, 40.0),
            ]
        })
        .collect();
    bencher.bench(|| {
        let mut last = Vec::new();
        for day in &days {
            let mut tissues = Tissues::at_rest(model.column);
            for plan in day {
                let diver = Breather {
                    tissues,
                    mix: Mix::AIR,
                };
                let reckoning: Reckoning = reckon(plan, &[diver], &model).unwrap();
                tissues = reckoning
                    .each
                    .first()
                    .unwrap()
                    .after
                    .rested(75.0, model.column);
            }
            last.push(tissues);
        }
        last
    });
}
