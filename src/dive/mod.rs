//! Dive: what a plan asks of gas and time, and when its group should be at the surface.
//!
//! Planning aids: they check a plan and foretell a time. They do not replace a dive computer,
//! training or a local code.

pub mod analysed;
pub mod ascent;
pub mod cylinder;
pub mod findings;
pub mod gas;
pub mod mix;
pub mod oxygen;
pub mod plan;
pub mod pressure;
pub mod reckon;
pub mod settings;
pub mod tissue;
pub mod window;
pub mod wire;

use jiff::SignedDuration;

/// A length of time from minutes, to the millisecond.
///
/// What is no finite number of minutes, or more than a year of them, cannot come from checked
/// quantities; it becomes zero, so that a deadline made of it falls at once and not never.
fn length_of(minutes: f64) -> SignedDuration {
    const YEAR_MIN: f64 = 366.0 * 24.0 * 60.0;
    if !minutes.is_finite() || minutes.abs() > YEAR_MIN {
        return SignedDuration::ZERO;
    }
    #[expect(
        clippy::cast_possible_truncation,
        reason = "finite and below a year, as checked above"
    )]
    SignedDuration::from_millis((minutes * 60_000.0).round() as i64)
}
