//! The computations that are offered to programs, on the command line and over HTTP alike: one
//! JSON document in, one out.

use serde_json::Value;

use crate::dive;
use crate::sea::{daylight, drift, stream};
use crate::trip::pickup;
use crate::units::Faults;

/// Reads a document and answers it, or names every fault.
type Answer = fn(&[u8]) -> Result<Value, Faults>;

/// A computation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Computation {
    /// What a dive asks of gas and time.
    DivePlan,
    /// How long a dive may last without stops.
    NoStopLimits,
    /// Which group next, where to meet it, how to come in.
    PickupOrder,
    /// Where water and wind take what drifts.
    Drift,
    /// The tidal stream at an instant, from a table.
    Stream,
    /// Sunrise, sunset and civil twilight.
    Daylight,
}

impl Computation {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::DivePlan,
        Self::NoStopLimits,
        Self::PickupOrder,
        Self::Drift,
        Self::Stream,
        Self::Daylight,
    ];

    /// Its name on the command line and in the address.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::DivePlan => "dive-plan",
            Self::NoStopLimits => "no-stop-limits",
            Self::PickupOrder => "pickup-order",
            Self::Drift => "drift",
            Self::Stream => "stream",
            Self::Daylight => "daylight",
        }
    }

    /// The computation of this name.
    #[must_use]
    pub fn by_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|one| one.name() == name)
    }

    /// Answers a document. Can take seconds for a large pickup order.
    ///
    /// # Errors
    /// Every fault of the document with its path.
    pub fn answer(self, document: &[u8]) -> Result<Value, Faults> {
        let answer: Answer = match self {
            Self::DivePlan => dive::wire::dive_plan,
            Self::NoStopLimits => dive::wire::no_stop_limits,
            Self::PickupOrder => pickup::wire::answer,
            Self::Drift => drift::wire::answer,
            Self::Stream => stream::wire::answer,
            Self::Daylight => daylight::wire::answer,
        };
        answer(document)
    }
}
