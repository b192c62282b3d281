//! The store on real files: what is acknowledged is there, what is refused is kept aside, and
//! nobody comes in by guessing.

#[cfg(test)]
mod additive;
#[cfg(test)]
mod consents;
#[cfg(test)]
mod copy;
#[cfg(test)]
mod crew;
#[cfg(test)]
mod cut;
#[cfg(test)]
mod cylinders;
#[cfg(test)]
mod equipment;
#[cfg(test)]
mod kill;
#[cfg(test)]
#[expect(dead_code, reason = "the simulator asks more of it")]
#[path = "../sim/ledger.rs"]
mod ledger;
#[cfg(test)]
mod log;
#[cfg(test)]
mod merged;
#[cfg(test)]
mod migration;
#[cfg(test)]
mod older;
#[cfg(test)]
mod opening;
#[cfg(test)]
mod proof;
#[cfg(test)]
mod rates;
#[cfg(test)]
mod refill;
#[cfg(test)]
mod register;
#[cfg(test)]
mod rules;
#[cfg(test)]
#[path = "../trip/scene.rs"]
#[expect(
    dead_code,
    reason = "the scene serves the tests of trips; here it fills logs"
)]
mod scene;
#[cfg(test)]
mod sealed;
#[cfg(test)]
mod signed;
#[cfg(test)]
mod statements;
#[cfg(test)]
mod world;
