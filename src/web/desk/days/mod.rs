//! Days: a month of them with its trips, and all boats of one.

pub(super) mod glance;
pub(super) mod month;
pub(super) mod one;
