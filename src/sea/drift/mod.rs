//! Drift: how a current and the wind carry water, people and boats, and where a group will
//! therefore come up. All in metres north and east on the plane of the site.

use jiff::Timestamp;

use crate::units::{Knots, SetTowards, WindFrom};

pub mod flow;
pub mod leeway;
pub mod wire;

pub use flow::{Flow, FlowError};
pub use leeway::{Adrift, Leeway, Side};

/// Metres a second in a knot: 1852 m an hour.
const M_S_PER_KN: f64 = 1852.0 / 3600.0;

/// One standard deviation by which a group below may stray from its reckoned place, metres for
/// each second since its last known place (no source; a tool's assumption).
pub const SPREAD_M_S: f64 = 0.1;

/// Speed of a diver who swims a course, m/s (common practice, no source).
pub const FIN_M_S: f64 = 0.25;

/// A speed with its direction, metres a second to the north and to the east.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Velocity {
    /// To the north.
    pub north_m_s: f64,
    /// To the east.
    pub east_m_s: f64,
}

impl Velocity {
    /// `speed_m_s` towards `course_deg` degrees true.
    #[must_use]
    pub fn towards(course_deg: f64, speed_m_s: f64) -> Self {
        let (sine, cosine) = course_deg.to_radians().sin_cos();
        Self {
            north_m_s: speed_m_s * cosine,
            east_m_s: speed_m_s * sine,
        }
    }

    /// `speed_kn` knots towards `course_deg` degrees true.
    #[must_use]
    pub fn towards_kn(course_deg: f64, speed_kn: f64) -> Self {
        Self::towards(course_deg, speed_kn * M_S_PER_KN)
    }

    /// Both at once.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self {
            north_m_s: self.north_m_s + other.north_m_s,
            east_m_s: self.east_m_s + other.east_m_s,
        }
    }

    /// `factor` times as fast.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self {
            north_m_s: self.north_m_s * factor,
            east_m_s: self.east_m_s * factor,
        }
    }

    /// Turned by a right angle clockwise.
    #[must_use]
    pub fn to_the_right(self) -> Self {
        Self {
            north_m_s: -self.east_m_s,
            east_m_s: self.north_m_s,
        }
    }

    /// Metres a second.
    #[must_use]
    pub fn speed_m_s(self) -> f64 {
        self.north_m_s.hypot(self.east_m_s)
    }

    /// Knots.
    #[must_use]
    pub fn speed_kn(self) -> f64 {
        self.speed_m_s() / M_S_PER_KN
    }

    /// Degrees true, 0 to below 360; 0 for no speed.
    #[must_use]
    pub fn course_deg(self) -> f64 {
        course_deg(self.north_m_s, self.east_m_s)
    }

    /// What it covers in `seconds`.
    #[must_use]
    pub fn over(self, seconds: f64) -> Shift {
        Shift {
            north_m: self.north_m_s * seconds,
            east_m: self.east_m_s * seconds,
        }
    }
}

/// A way made good, metres to the north and to the east.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Shift {
    /// To the north.
    pub north_m: f64,
    /// To the east.
    pub east_m: f64,
}

impl Shift {
    /// One after the other.
    #[must_use]
    pub fn then(self, other: Self) -> Self {
        Self {
            north_m: self.north_m + other.north_m,
            east_m: self.east_m + other.east_m,
        }
    }

    /// Length, metres.
    #[must_use]
    pub fn distance_m(self) -> f64 {
        self.north_m.hypot(self.east_m)
    }

    /// Degrees true, 0 to below 360; 0 for no way.
    #[must_use]
    pub fn course_deg(self) -> f64 {
        course_deg(self.north_m, self.east_m)
    }
}

fn course_deg(north: f64, east: f64) -> f64 {
    let degrees = east.atan2(north).to_degrees().rem_euclid(360.0);
    // A tiny negative angle rounds up to 360, which is 0.
    if degrees < 360.0 { degrees } else { 0.0 }
}

/// A current: where it sets to, and how fast it carries.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Current {
    /// Where it goes.
    pub set: SetTowards,
    /// How fast.
    pub drift: Knots,
}

impl Current {
    /// As a vector, with the current.
    #[must_use]
    pub fn velocity(self) -> Velocity {
        Velocity::towards_kn(self.set.deg(), self.drift.kn())
    }
}

/// A wind: where it comes from, and how fast, at 10 m above the sea.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wind {
    /// Where it comes from.
    pub from: WindFrom,
    /// How fast.
    pub speed: Knots,
}

impl Wind {
    /// As a vector, downwind.
    #[must_use]
    pub fn velocity(self) -> Velocity {
        Velocity::towards_kn(self.from.deg() + 180.0, self.speed.kn())
    }
}

/// How a group dives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Mode {
    /// Back to a mooring or a shot line.
    Return {
        /// Where that is.
        place: Shift,
    },
    /// Carried by the current.
    Drift {
        /// Where it was dropped.
        drop: Shift,
    },
    /// On one course, carried by the current as well.
    OneWay {
        /// Where it was dropped.
        drop: Shift,
        /// The course swum, degrees true.
        course_deg: f64,
        /// Speed through the water, m/s; [`FIN_M_S`] where none is known.
        fin_m_s: f64,
    },
}

/// Where a group probably is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LikelyArea {
    /// The middle of it.
    pub centre: Shift,
    /// One standard deviation about it, metres.
    pub spread_m: f64,
}

/// Where a group that left the surface at `from` probably is at `to`.
///
/// `spread_m_s`: growth of the spread, [`SPREAD_M_S`] unless the site says otherwise. Before
/// `from` it is where it was dropped. A group that returns may lose its line, so its spread
/// grows like the others'. A sighting replaces this.
#[must_use]
pub fn likely_place(
    mode: Mode,
    current: &Flow,
    from: Timestamp,
    to: Timestamp,
    spread_m_s: f64,
) -> LikelyArea {
    let to = to.max(from);
    let seconds = to.duration_since(from).as_secs_f64();
    let centre = match mode {
        Mode::Return { place } => place,
        Mode::Drift { drop } => drop.then(current.carry(from, to)),
        Mode::OneWay {
            drop,
            course_deg,
            fin_m_s,
        } => drop
            .then(current.carry(from, to))
            .then(Velocity::towards(course_deg, fin_m_s).over(seconds)),
    };
    LikelyArea {
        centre,
        spread_m: spread_m_s * seconds,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn current(set_deg: f64, drift_kn: f64) -> Current {
        Current {
            set: SetTowards::from_deg(set_deg).unwrap(),
            drift: Knots::from_kn(drift_kn).unwrap(),
        }
    }

    fn instant(minutes: i64) -> Timestamp {
        Timestamp::from_second(1_780_000_000 + minutes * 60).unwrap()
    }

    fn close(a: Shift, north_m: f64, east_m: f64) -> bool {
        (a.north_m - north_m).abs() < 1e-6 && (a.east_m - east_m).abs() < 1e-6
    }

    /// A knot carries a nautical mile in an hour, to where it sets; a wind blows from.
    #[test]
    fn a_current_is_named_by_where_it_goes_and_a_wind_by_where_it_comes_from() {
        assert!(close(
            current(90.0, 1.0).velocity().over(3600.0),
            0.0,
            1852.0
        ));
        let wind = Wind {
            from: WindFrom::from_deg(270.0).unwrap(),
            speed: Knots::from_kn(10.0).unwrap(),
        };
        assert!((wind.velocity().course_deg() - 90.0).abs() < 1e-9);
        assert!((wind.velocity().speed_kn() - 10.0).abs() < 1e-9);
    }

    #[test]
    fn a_group_comes_up_where_its_mode_says() {
        let drop = Shift {
            north_m: 100.0,
            east_m: -50.0,
        };
        let flow = Flow::steady(current(0.0, 1.0).velocity());
        let at = |mode| likely_place(mode, &flow, instant(0), instant(30), SPREAD_M_S);
        assert!(close(at(Mode::Return { place: drop }).centre, 100.0, -50.0));
        assert!(
            close(at(Mode::Drift { drop }).centre, 1026.0, -50.0),
            "half a mile north"
        );
        let one_way = at(Mode::OneWay {
            drop,
            course_deg: 90.0,
            fin_m_s: FIN_M_S,
        });
        assert!(
            close(one_way.centre, 1026.0, 400.0),
            "and 450 m east by fin"
        );
        assert!(
            (one_way.spread_m - 180.0).abs() < 1e-9,
            "0.1 m/s for 30 min"
        );
    }

    #[test]
    fn before_the_drop_a_group_has_gone_nowhere() {
        let flow = Flow::steady(current(0.0, 1.0).velocity());
        let drop = Shift::default();
        let area = likely_place(
            Mode::Drift { drop },
            &flow,
            instant(30),
            instant(0),
            SPREAD_M_S,
        );
        assert_eq!(
            area,
            LikelyArea {
                centre: drop,
                spread_m: 0.0
            }
        );
    }
}
