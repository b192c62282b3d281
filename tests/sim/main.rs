//! Server and devices without input or output under one seeded scheduler and one virtual clock:
//! links that flap, kills, clocks that step, boxes and tablets that are lost, and a crew that goes
//! on regardless. After every step the invariants are checked.

#[cfg(test)]
mod check;
#[cfg(test)]
mod day;
#[cfg(test)]
mod device;
#[cfg(test)]
mod ledger;
#[cfg(test)]
mod quality;
#[cfg(test)]
mod random;
#[cfg(test)]
mod reading;
#[cfg(test)]
#[expect(dead_code, reason = "told here with a few of its words only")]
#[path = "../trip/scene.rs"]
mod scene;
#[cfg(test)]
mod seeds;
#[cfg(test)]
mod server;
#[cfg(test)]
mod teeth;
#[cfg(test)]
mod world;
