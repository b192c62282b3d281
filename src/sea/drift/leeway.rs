//! Leeway: what the wind alone does to something that floats.

use jiff::Timestamp;

use super::flow::{Flow, carry};
use super::{Shift, Velocity};

/// Mean leeway of a class of objects: components along and across the wind, each straight in
/// the wind speed and zero without wind.
///
/// # Source
/// Allen and Plourde 1999 (CG-D-08-99) as tabulated in the object list of 15 November 2010,
/// read through the table that an open drift library carries; the report itself was not seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leeway {
    /// Downwind, as a part of the wind speed at 10 m.
    pub downwind: f64,
    /// Across the wind to either side, as a part of the wind speed at 10 m.
    pub crosswind: f64,
    /// Scatter downwind, one standard deviation, m/s.
    pub downwind_scatter_m_s: f64,
    /// Scatter across, one standard deviation, m/s.
    pub crosswind_scatter_m_s: f64,
}

/// The side of downwind an object drifts to. Both are as likely; it seldom changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Side {
    /// Left of downwind.
    Left,
    /// Right of downwind.
    Right,
    /// The middle between both.
    #[default]
    None,
}

/// What is adrift.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Adrift {
    /// The water itself, and what is below its surface.
    Water,
    /// A diver at the surface: the scuba-suit class (PIW-5).
    Person,
    /// A person in the water of whom nothing is known (PIW-1).
    PersonUnknown,
    /// A small open boat with its outboard stopped (SKIFF-1).
    Boat,
}

impl Adrift {
    /// Its mean leeway; `None` for the water.
    #[must_use]
    pub fn leeway(self) -> Option<Leeway> {
        let row = |downwind, crosswind, downwind_scatter_m_s, crosswind_scatter_m_s| Leeway {
            downwind,
            crosswind,
            downwind_scatter_m_s,
            crosswind_scatter_m_s,
        };
        match self {
            Self::Water => None,
            Self::Person => Some(row(0.0063, 0.0031, 0.053, 0.045)),
            Self::PersonUnknown => Some(row(0.0096, 0.0054, 0.120, 0.094)),
            Self::Boat => Some(row(0.0315, 0.0129, 0.022, 0.022)),
        }
    }

    /// Its mean velocity in a current and a wind (given as it blows, downwind).
    #[must_use]
    pub fn velocity(self, side: Side, current: Velocity, wind: Velocity) -> Velocity {
        self.leeway()
            .map_or(current, |leeway| current.and(leeway.velocity(side, wind)))
    }

    /// Its mean way from one instant to a later one, without scatter.
    #[must_use]
    pub fn carry(
        self,
        side: Side,
        current: &Flow,
        wind: Option<&Flow>,
        from: Timestamp,
        to: Timestamp,
    ) -> Shift {
        let bends = current
            .instants()
            .chain(wind.into_iter().flat_map(Flow::instants));
        carry(from, to, bends, |at| {
            let wind = wind.map_or_else(Velocity::default, |wind| wind.at(at));
            self.velocity(side, current.at(at), wind)
        })
    }
}

impl Leeway {
    /// Mean leeway in a wind given as it blows, downwind.
    #[must_use]
    pub fn velocity(self, side: Side, wind: Velocity) -> Velocity {
        let across = match side {
            Side::Right => self.crosswind,
            Side::Left => -self.crosswind,
            Side::None => 0.0,
        };
        wind.times(self.downwind)
            .and(wind.to_the_right().times(across))
    }
}
