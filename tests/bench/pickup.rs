//! How long the pickup order of 12 groups takes among keep-clear areas and drift, over 200
//! random documents from a fixed seed. Prints median and worst, each against its budget.
#![expect(
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::print_stdout,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a benchmark prints its figures and stops where its own input is unsound"
)]

use deckwatch::trip::pickup;
use rand::rngs::StdRng;
use rand::{RngExt as _, SeedableRng as _};
use serde_json::{Value, json};

const DOCUMENTS: u64 = 200;
const GROUPS: usize = 12;
const MEDIAN_MS: f64 = 20.0;
const WORST_MS: f64 = 250.0;

/// Degrees a metre, near the equator.
const DEGREE: f64 = 1.0 / 111_000.0;

fn main() {
    let solved: Vec<(f64, bool, u64)> = (0..DOCUMENTS)
        .map(|seed| {
            let text = document(seed).to_string();
            let instance = pickup::read(text.as_bytes()).expect("a sound document");
            #[expect(
                clippy::disallowed_methods,
                reason = "a benchmark reads the time it measures"
            )]
            let start = std::time::Instant::now();
            let answer = divan::black_box(pickup::solve(divan::black_box(&instance)));
            (start.elapsed().as_secs_f64() * 1e3, answer.proven, seed)
        })
        .collect();
    let mut times: Vec<f64> = solved.iter().map(|(ms, _, _)| *ms).collect();
    times.sort_by(f64::total_cmp);
    let median = times[times.len() / 2];
    let worst = times[times.len() - 1];
    let slow = solved
        .iter()
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|s| s.2);
    let proven = solved.iter().filter(|(_, proven, _)| *proven).count();
    println!("pickup order, {GROUPS} groups, {DOCUMENTS} documents, {proven} proven");
    println!(
        "median {median:.1} ms (budget {MEDIAN_MS}), worst {worst:.1} ms (budget {WORST_MS}, seed {slow:?})"
    );
    for part in [0.25, 0.75, 0.9, 0.95, 0.99] {
        println!(
            "{part}: {:.1} ms",
            times[(part * times.len() as f64) as usize]
        );
    }
    for (ms, _, seed) in solved.iter().filter(|(_, proven, _)| !proven) {
        println!("not proven: seed {seed}, {ms:.1} ms");
    }
}

fn document(seed: u64) -> Value {
    let mut random = StdRng::seed_from_u64(seed);
    let at = |east: f64, north: f64| json!([100.0 + east * DEGREE, 5.0 + north * DEGREE]);
    let areas: Vec<Value> = (0..random.random_range(1..=3))
        .map(|_| {
            let east = random.random_range(-700.0..700.0);
            let north = random.random_range(-700.0..700.0);
            let corners = random.random_range(6..=14);
            let mut ring: Vec<Value> = (0..corners)
                .map(|nth| {
                    let turn = std::f64::consts::TAU * f64::from(nth) / f64::from(corners);
                    // Uneven radii: most rings are concave somewhere.
                    let radius = random.random_range(60.0..220.0);
                    at(east + radius * turn.cos(), north + radius * turn.sin())
                })
                .collect();
            ring.push(ring[0].clone());
            json!([ring])
        })
        .collect();
    let groups: Vec<Value> = (0..GROUPS)
        .map(|nth| {
            let minutes: i32 = random.random_range(-6..30);
            let expected = time(minutes);
            let mut group = json!({
                "id": format!("G{nth}"),
                "people": random.random_range(1..=8),
                "position": at(random.random_range(-1_000.0..1_000.0), random.random_range(-1_000.0..1_000.0)),
                "position_at": time(minutes.max(0)),
                "expected_at": expected,
                "drifts": random.random_bool(0.75),
                "urgency": if random.random_bool(0.05) { "distress" } else if random.random_bool(0.25) { "prompt" } else { "routine" },
            });
            if minutes < 0 {
                group["surfaced_at"] = expected.into();
            }
            group
        })
        .collect();
    json!({
        "now": time(0),
        "boat": {
            "position": at(random.random_range(-900.0..900.0), random.random_range(-900.0..900.0)),
            "speed_kn": random.random_range(4.0..12.0),
            "boarding_s_per_person": random.random_range(40..=120),
            "approach_s": random.random_range(60..=120),
        },
        "water": {"set_deg": random.random_range(0.0..360.0), "drift_kn": random.random_range(0.0..1.6)},
        "keep_clear": areas,
        "stand_off_m": random.random_range(20..=80),
        "groups": groups,
    })
}

fn time(minutes: i32) -> String {
    let from = 10 * 60 + minutes;
    format!("2026-06-01T{:02}:{:02}:00Z", from / 60, from % 60)
}
