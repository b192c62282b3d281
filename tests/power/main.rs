//! The power programme: the store is killed at random (`kill`), its recorded writes become the
//! disks that power cuts could leave (`cut`), every call to its disk fails once (`fault`), and
//! planted faults show that the programme would find them (`teeth`).
//!
//! `DECKWATCH_POWER_TIMES` makes it so many times as long, `DECKWATCH_POWER_SEED` another one.

#[cfg(test)]
mod chance;
#[cfg(test)]
mod child;
#[cfg(test)]
mod cut;
#[cfg(test)]
mod disk;
#[cfg(test)]
mod fault;
#[cfg(test)]
mod judge;
#[cfg(test)]
mod kill;
#[cfg(test)]
#[path = "../store/older.rs"]
mod older;
#[cfg(test)]
mod teeth;
#[cfg(test)]
mod trace;
#[cfg(test)]
#[expect(
    dead_code,
    reason = "its store that is not killed is for the store's own tests"
)]
#[path = "../store/world.rs"]
mod world;
