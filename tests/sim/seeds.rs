//! The seeds. `SEEDS` sets how many are run in all (5,000 unless it is set), `SEED` runs one and
//! tells what happened: `SEED=17 cargo nextest run --test sim replay --no-capture`.
#![expect(
    clippy::disallowed_methods,
    reason = "how many seeds, and which, is asked of whoever runs the tests"
)]

use std::collections::BTreeMap;

use super::server::Fault;
use super::world::{BROUGHT, World};

const SHARDS: u64 = 8;

fn asked(name: &str) -> Option<u64> {
    std::env::var(name).ok()?.parse().ok()
}

/// Runs every `SHARDS`th seed from `nth`.
fn shard(nth: u64) {
    let seeds = asked("SEEDS").unwrap_or(5_000);
    let (mut steps, mut states, mut failed) = (0, 0, Vec::new());
    let mut met: BTreeMap<&str, u64> = BTreeMap::new();
    for seed in (nth..seeds).step_by(usize::try_from(SHARDS).unwrap()) {
        let mut world = World::new(seed, Fault::None);
        if let Err(what) = world.run() {
            failed.push(format!(
                "SEED={seed} cargo nextest run --test sim replay --no-capture   # {what}"
            ));
        }
        steps += world.checker.steps;
        states += world.checker.states;
        for (what, times) in world.met {
            *met.entry(what).or_default() += times;
        }
    }
    println!("{steps} steps, {states} states; {met:?}");
    assert!(
        failed.is_empty(),
        "{} seeds failed:\n{}",
        failed.len(),
        failed.join("\n")
    );
    let never: Vec<_> = BROUGHT
        .iter()
        .filter(|what| !met.contains_key(*what))
        .collect();
    assert!(
        seeds < 4_000 || never.is_empty(),
        "no day brought {never:?}"
    );
}

macro_rules! shards {
    ($($name:ident = $nth:literal),*) => {
        $(#[test] fn $name() { shard($nth); })*
    };
}
shards!(
    every_invariant_holds_0 = 0,
    every_invariant_holds_1 = 1,
    every_invariant_holds_2 = 2,
    every_invariant_holds_3 = 3,
    every_invariant_holds_4 = 4,
    every_invariant_holds_5 = 5,
    every_invariant_holds_6 = 6,
    every_invariant_holds_7 = 7
);

/// Runs one seed step by step.
#[test]
fn replay() {
    let Some(seed) = asked("SEED") else {
        return;
    };
    let mut world = World::new(seed, Fault::None);
    world.trace = Some(Vec::new());
    let done = world.run();
    for line in world.trace.iter().flatten() {
        println!("{line}");
    }
    assert_eq!(done, Ok(()));
}
