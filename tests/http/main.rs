//! The pages and the programming interface, through the router: a store on a real file, a clock
//! that stands until it is moved, an enrolled device and a signed-in crew member at each place of
//! work.

#[cfg(test)]
mod access;
#[cfg(test)]
mod alone;
#[cfg(test)]
mod app;
#[cfg(test)]
mod arm;
#[cfg(test)]
mod blind;
#[cfg(test)]
#[path = "../power/chance.rs"]
#[expect(dead_code, reason = "a coin is for the power programme")]
mod chance;
#[cfg(test)]
mod chart;
#[cfg(test)]
mod client;
#[cfg(test)]
mod compute;
#[cfg(test)]
mod consents;
#[cfg(test)]
mod days;
#[cfg(test)]
mod deck;
#[cfg(test)]
mod desk;
#[cfg(test)]
mod duties;
#[cfg(test)]
mod equipment;
#[cfg(test)]
mod events;
#[cfg(test)]
mod exports;
#[cfg(test)]
mod gas;
#[cfg(test)]
mod harness;
#[cfg(test)]
mod helm;
#[cfg(test)]
mod hostile;
#[cfg(test)]
mod instruments;
#[cfg(test)]
mod killed;
#[cfg(test)]
mod live;
#[cfg(test)]
mod openapi;
#[cfg(test)]
mod planning;
#[cfg(test)]
#[path = "../instruments/player.rs"]
mod player;
#[cfg(test)]
mod power;
#[cfg(test)]
mod problems;
#[cfg(test)]
mod records;
#[cfg(test)]
mod refill;
#[cfg(test)]
mod register;
#[cfg(test)]
mod routes;
#[cfg(test)]
mod sea;
#[cfg(test)]
mod season;
#[cfg(test)]
mod sentry;
#[cfg(test)]
mod set_up;
#[cfg(test)]
mod sockets;
#[cfg(test)]
mod storage;
#[cfg(test)]
mod trip;
#[cfg(test)]
mod twin;
#[cfg(test)]
mod units;
#[cfg(test)]
mod watching;
