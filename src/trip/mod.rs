//! The trip: who is where, what is due, and whom to fetch next.

pub mod pickup;
