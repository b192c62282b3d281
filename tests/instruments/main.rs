//! Instruments over real sockets.

#[cfg(test)]
mod listening;
#[cfg(test)]
mod player;
