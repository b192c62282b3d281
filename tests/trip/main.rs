//! The trip room from outside: what the log says, what follows from it, what is refused.

#[cfg(test)]
mod after;
#[cfg(test)]
mod beacons;
#[cfg(test)]
mod carried;
#[cfg(test)]
mod conflicts;
#[cfg(test)]
mod dives;
#[cfg(test)]
mod fixtures;
#[cfg(test)]
mod go_list;
#[cfg(test)]
mod history;
#[cfg(test)]
mod incidents;
#[cfg(test)]
mod picture;
#[cfg(test)]
mod printed;
#[cfg(test)]
mod properties;
#[cfg(test)]
mod refusals;
#[cfg(test)]
mod scenarios;
#[cfg(test)]
mod scene;
#[cfg(test)]
mod sea;
#[cfg(test)]
mod season;
#[cfg(test)]
mod sign_off;
#[cfg(test)]
mod stops;
#[cfg(test)]
mod suggest;
#[cfg(test)]
mod vectors;
#[cfg(test)]
mod waiting;
