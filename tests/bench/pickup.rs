//! How long the pickup order of 12 groups takes among keep-clear areas and drift, over 200
//! random documents from a fixed seed. Prints median and worst, each against its budget.
#![expect(
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::print_stdout,
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
    let plain: Vec<Value> = (0..DOCUMENTS).map(|seed| document(seed, GROUPS)).collect();
    let budget = format!("budget: median {MEDIAN_MS} ms, worst {WORST_MS} ms");
    measure(&format!("{GROUPS} groups ({budget})"), &plain);
    let slow: Vec<Value> = (0..40)
        .map(|seed| {
            let mut document = document(seed, GROUPS);
            document["boat"]["speed_kn"] = json!(1.0);
            document["water"]["drift_kn"] = json!(1.2);
            document
        })
        .collect();
    measure("12 groups, boat slower than the drift", &slow);
    let crawling: Vec<Value> = (0..40)
        .map(|seed| {
            let mut document = document(seed, GROUPS);
            document["water"]["drift_kn"] = json!(0.05);
            document
        })
        .collect();
    measure("12 groups, hardly any drift", &crawling);
    let many: Vec<Value> = (0..3).map(|seed| document(seed, 200)).collect();
    measure("200 groups", &many);
    measure("200 groups, 99 areas, 1,980 positions", &[crowded()]);
}

fn measure(what: &str, documents: &[Value]) {
    let mut times = Vec::new();
    let (mut proven, mut worst_gap) = (0, 0.0_f64);
    for document in documents {
        let instance = pickup::read(document.to_string().as_bytes()).expect("a sound document");
        #[expect(
            clippy::disallowed_methods,
            reason = "a benchmark reads the time it measures"
        )]
        let start = std::time::Instant::now();
        let answer = divan::black_box(pickup::solve(divan::black_box(&instance)));
        times.push(start.elapsed().as_secs_f64() * 1e3);
        proven += usize::from(answer.proven);
        worst_gap = worst_gap.max(answer.gap);
    }
    times.sort_by(f64::total_cmp);
    println!(
        "{what}: {} documents, {proven} proven, greatest gap {worst_gap:.3}, median {:.1} ms, 95 % {:.1} ms, worst {:.1} ms",
        documents.len(),
        times[times.len() / 2],
        times[times.len() * 95 / 100],
        times[times.len() - 1],
    );
}

/// As much of everything as the contract permits.
fn crowded() -> Value {
    let mut document = document(7, 200);
    let at = |east: f64, north: f64| json!([100.0 + east * DEGREE, 5.0 + north * DEGREE]);
    let areas: Vec<Value> = (0..99)
        .map(|nth| {
            let (east, north) = (
                f64::from(nth % 10) * 200.0 - 900.0,
                f64::from(nth / 10) * 200.0 - 900.0,
            );
            let mut ring: Vec<Value> = (0..19)
                .map(|nth| {
                    let turn = std::f64::consts::TAU * f64::from(nth) / 19.0;
                    let radius = if nth % 2 == 0 { 40.0 } else { 25.0 };
                    at(east + radius * turn.cos(), north + radius * turn.sin())
                })
                .collect();
            ring.push(ring[0].clone());
            json!([ring])
        })
        .collect();
    document["keep_clear"] = json!(areas);
    document["stand_off_m"] = json!(20);
    document
}

fn document(seed: u64, count: usize) -> Value {
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
    let groups: Vec<Value> = (0..count)
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
