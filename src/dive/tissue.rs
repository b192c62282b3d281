//! Inert gas in the tissues: the sixteen compartments of ZH-L16C, loaded by Schreiner's equation
//! and held against Bühlmann's limit with a gradient factor.
//!
//! A model of averages, no measure of anybody: it foretells what a plan owes and replaces
//! neither a dive computer nor a table of the local code.

use std::f64::consts::LN_2;

use super::mix::{AIR_NITROGEN, Mix};
use super::plan::Leg;
use super::pressure::Column;

/// Pressure of water vapour in the lungs at 37 °C, bar.
pub const WATER_VAPOUR_BAR: f64 = 0.0627;

/// Compartments of the model.
const COMPARTMENTS: usize = 16;

/// Slack of the limit, bar: rounding, far below what any gauge shows.
const SLACK_BAR: f64 = 1e-9;

/// Half-time in minutes, a in bar and b without unit, of one inert gas in one compartment.
#[derive(Debug, Clone, Copy)]
struct Coefficients {
    half_time_min: f64,
    a: f64,
    b: f64,
}

/// Nitrogen and helium of one compartment.
#[derive(Debug, Clone, Copy)]
struct Compartment {
    n2: Coefficients,
    he: Coefficients,
}

const fn compartment(n2: (f64, f64, f64), he: (f64, f64, f64)) -> Compartment {
    Compartment {
        n2: Coefficients {
            half_time_min: n2.0,
            a: n2.1,
            b: n2.2,
        },
        he: Coefficients {
            half_time_min: he.0,
            a: he.1,
            b: he.2,
        },
    }
}

/// ZH-L16C with compartment 1b (5 min) as the first.
///
/// # Source
/// Bühlmann, Völlm and Nussberger, Tauchmedizin, 5th ed. 2002, table 26; helium as in Baker,
/// Understanding M-values, table 3; read in two transcriptions that agree.
const ZH_L16C: [Compartment; COMPARTMENTS] = [
    compartment((5.0, 1.1696, 0.5578), (1.88, 1.6189, 0.4770)),
    compartment((8.0, 1.0000, 0.6514), (3.02, 1.3830, 0.5747)),
    compartment((12.5, 0.8618, 0.7222), (4.72, 1.1919, 0.6527)),
    compartment((18.5, 0.7562, 0.7825), (6.99, 1.0458, 0.7223)),
    compartment((27.0, 0.6200, 0.8126), (10.21, 0.9220, 0.7582)),
    compartment((38.3, 0.5043, 0.8434), (14.48, 0.8205, 0.7957)),
    compartment((54.3, 0.4410, 0.8693), (20.53, 0.7305, 0.8279)),
    compartment((77.0, 0.4000, 0.8910), (29.11, 0.6502, 0.8553)),
    compartment((109.0, 0.3750, 0.9092), (41.20, 0.5950, 0.8757)),
    compartment((146.0, 0.3500, 0.9222), (55.19, 0.5545, 0.8903)),
    compartment((187.0, 0.3295, 0.9319), (70.69, 0.5333, 0.8997)),
    compartment((239.0, 0.3065, 0.9403), (90.34, 0.5189, 0.9073)),
    compartment((305.0, 0.2835, 0.9477), (115.29, 0.5181, 0.9122)),
    compartment((390.0, 0.2610, 0.9544), (147.42, 0.5176, 0.9171)),
    compartment((498.0, 0.2480, 0.9602), (188.24, 0.5172, 0.9217)),
    compartment((635.0, 0.2327, 0.9653), (240.03, 0.5119, 0.9267)),
];

/// Pressure of the inert gases in one compartment, bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Load {
    /// Nitrogen.
    pub n2_bar: f64,
    /// Helium.
    pub he_bar: f64,
}

impl Load {
    fn sum_bar(self) -> f64 {
        self.n2_bar + self.he_bar
    }

    /// a and b of both gases together, weighted with their pressures in the tissue.
    fn coefficients(self, of: &Compartment) -> (f64, f64) {
        let (n2, he, p) = (self.n2_bar, self.he_bar, self.sum_bar());
        if he <= 0.0 {
            return (of.n2.a, of.n2.b);
        }
        (
            (of.n2.a * n2 + of.he.a * he) / p,
            (of.n2.b * n2 + of.he.b * he) / p,
        )
    }
}

/// Share of the pressure between the ambient line and the M-value line that is used: 0 is the
/// ambient line, 1 the M-value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GradientFactors {
    low: f64,
    high: f64,
}

impl GradientFactors {
    /// 40/80, this tool's own choice (no source): a centre may set others.
    pub const USUAL: Self = Self {
        low: 0.40,
        high: 0.80,
    };

    /// `low` holds at the first stop, `high` at the surface.
    ///
    /// # Errors
    /// A fault at `low` or `high` for each that is out of range, and for a low one above the
    /// high one.
    pub fn new(low: f64, high: f64) -> Result<Self, crate::units::Faults> {
        use crate::units::{Faults, bounds};
        let mut faults = Faults::new();
        let allowed = || format!("a number {}", bounds::GRADIENT_FACTOR.in_words());
        for (path, value) in [("low", low), ("high", high)] {
            if !bounds::GRADIENT_FACTOR.holds(value) {
                faults.add(path, format!("is {value}"), allowed());
            }
        }
        if low > high {
            let what = format!("is {low}, above the {high} of the surface");
            faults.add("low", what, format!("at most {high}"));
        }
        faults.or(Self { low, high })
    }

    /// Holds at the first stop.
    #[must_use]
    pub fn low(self) -> f64 {
        self.low
    }

    /// Holds at the surface.
    #[must_use]
    pub fn high(self) -> f64 {
        self.high
    }

    /// At a depth, on the line from `low` at the first stop to `high` at the surface.
    ///
    /// The first stop is an argument and kept nowhere: a dive must not inherit that of the one
    /// before it.
    #[must_use]
    pub fn at(self, depth_m: f64, first_stop_m: f64) -> f64 {
        if first_stop_m <= 0.0 {
            return self.high;
        }
        let share = (depth_m / first_stop_m).clamp(0.0, 1.0);
        self.high + (self.low - self.high) * share
    }
}

/// Inert gas in the sixteen compartments.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tissues([Load; COMPARTMENTS]);

impl Tissues {
    /// Of somebody who has breathed air at this surface pressure for a day or more.
    #[must_use]
    pub fn at_rest(column: Column) -> Self {
        let n2_bar = AIR_NITROGEN * (column.surface_bar() - WATER_VAPOUR_BAR);
        Self(
            [Load {
                n2_bar,
                he_bar: 0.0,
            }; COMPARTMENTS],
        )
    }

    /// The compartments, fastest first.
    #[must_use]
    pub fn loads(&self) -> &[Load; COMPARTMENTS] {
        &self.0
    }

    /// After a leg breathed on `mix`: Schreiner's equation, which at a constant depth is
    /// Haldane's.
    #[must_use]
    pub fn after(&self, leg: &Leg, mix: Mix, column: Column) -> Self {
        let ambient = (column.ambient_bar(leg.from_m), column.ambient_bar(leg.to_m));
        self.under(ambient, leg.minutes, mix)
    }

    /// After several legs.
    #[must_use]
    pub fn after_all<'a>(
        &self,
        legs: impl IntoIterator<Item = &'a Leg>,
        mix: Mix,
        column: Column,
    ) -> Self {
        legs.into_iter()
            .fold(*self, |tissues, leg| tissues.after(leg, mix, column))
    }

    /// After `minutes` at the surface on air.
    #[must_use]
    pub fn rested(&self, minutes: f64, column: Column) -> Self {
        let surface = column.surface_bar();
        self.under((surface, surface), minutes, Mix::AIR)
    }

    /// After `minutes` in which the ambient pressure went steadily from the first to the second.
    fn under(&self, ambient_bar: (f64, f64), minutes: f64, mix: Mix) -> Self {
        self.passed(&Passage::under(
            ambient_bar,
            minutes,
            mix,
            self.has_helium(),
        ))
    }

    /// After a passage that was reckoned before.
    pub(super) fn passed(&self, passage: &Passage) -> Self {
        let mut loads = self.0;
        for (load, step) in loads.iter_mut().zip(&passage.0) {
            load.n2_bar = step.n2.of(load.n2_bar);
            load.he_bar = step.he.of(load.he_bar);
        }
        Self(loads)
    }

    pub(super) fn has_helium(&self) -> bool {
        self.0.iter().any(|load| load.he_bar > 0.0)
    }

    /// Greatest pressure that each compartment may hold at an ambient pressure, bar:
    /// `M = a + Pamb / b`, fastest first.
    pub fn m_values_bar(&self, ambient_bar: f64) -> impl Iterator<Item = f64> + '_ {
        self.0.iter().zip(&ZH_L16C).map(move |(load, of)| {
            let (a, b) = load.coefficients(of);
            a + ambient_bar / b
        })
    }

    /// Whether every compartment is within the limit at an ambient pressure:
    /// `P <= Pamb + GF (M - Pamb)`.
    #[must_use]
    pub fn holds(&self, ambient_bar: f64, gradient_factor: f64) -> bool {
        let m_values = self.m_values_bar(ambient_bar);
        self.0.iter().zip(m_values).all(|(load, m_value)| {
            load.sum_bar() <= ambient_bar + gradient_factor * (m_value - ambient_bar) + SLACK_BAR
        })
    }

    /// Least ambient pressure that every compartment tolerates, bar:
    /// `(P - a GF) / (GF / b - GF + 1)`.
    #[must_use]
    pub fn tolerated_bar(&self, gradient_factor: f64) -> f64 {
        let gf = gradient_factor;
        self.0
            .iter()
            .zip(&ZH_L16C)
            .map(|(load, of)| {
                let (a, b) = load.coefficients(of);
                (load.sum_bar() - a * gf) / (gf / b - gf + 1.0)
            })
            .fold(0.0, f64::max)
    }

    /// Greatest share of the gradient to the M-value that any compartment uses at an ambient
    /// pressure; 1 is the M-value itself.
    #[must_use]
    pub fn gradient(&self, ambient_bar: f64) -> f64 {
        self.0
            .iter()
            .zip(self.m_values_bar(ambient_bar))
            .map(|(load, m_value)| (load.sum_bar() - ambient_bar) / (m_value - ambient_bar))
            .fold(f64::NEG_INFINITY, f64::max)
    }
}

/// What a stretch of a dive does to every compartment, whatever it holds at the start: the
/// equation is linear in that, so a stretch that is tried often is reckoned once.
#[derive(Debug, Clone, Copy)]
pub(super) struct Passage([Step; COMPARTMENTS]);

#[derive(Debug, Clone, Copy)]
struct Step {
    n2: Change,
    he: Change,
}

/// `P(t) = added + kept P0`.
#[derive(Debug, Clone, Copy)]
struct Change {
    added_bar: f64,
    kept: f64,
}

impl Change {
    const NONE: Self = Self {
        added_bar: 0.0,
        kept: 1.0,
    };

    /// `P(t) = Palv0 + R (t - 1/k) - (Palv0 - P0 - R/k) exp(-k t)`, bar.
    ///
    /// # Source
    /// Schreiner and Kelley 1971; at a constant depth it is Haldane's equation.
    fn schreiner(
        fraction: f64,
        (from_bar, to_bar): (f64, f64),
        t: f64,
        half_time_min: f64,
    ) -> Self {
        let k = LN_2 / half_time_min;
        let palv0 = fraction * (from_bar - WATER_VAPOUR_BAR);
        let r = fraction * (to_bar - from_bar) / t;
        let kept = (-k * t).exp();
        Self {
            added_bar: palv0 + r * (t - 1.0 / k) - (palv0 - r / k) * kept,
            kept,
        }
    }

    fn of(self, p0_bar: f64) -> f64 {
        self.added_bar + self.kept * p0_bar
    }

    fn then(self, next: Self) -> Self {
        Self {
            added_bar: next.of(self.added_bar),
            kept: next.kept * self.kept,
        }
    }
}

impl Passage {
    /// Of a leg breathed on `mix`; `helium`: whether there may be some in the tissues.
    pub(super) fn of(leg: &Leg, mix: Mix, column: Column, helium: bool) -> Self {
        let ambient = (column.ambient_bar(leg.from_m), column.ambient_bar(leg.to_m));
        Self::under(ambient, leg.minutes, mix, helium)
    }

    fn under(ambient_bar: (f64, f64), minutes: f64, mix: Mix, helium: bool) -> Self {
        let none = Step {
            n2: Change::NONE,
            he: Change::NONE,
        };
        let mut steps = [none; COMPARTMENTS];
        if minutes <= 0.0 {
            return Self(steps);
        }
        let helium = helium || mix.helium() > 0.0;
        for (step, of) in steps.iter_mut().zip(&ZH_L16C) {
            let half = of.n2.half_time_min;
            step.n2 = Change::schreiner(mix.nitrogen(), ambient_bar, minutes, half);
            // Without helium in gas and tissue there is nothing to reckon.
            if helium {
                let half = of.he.half_time_min;
                step.he = Change::schreiner(mix.helium(), ambient_bar, minutes, half);
            }
        }
        Self(steps)
    }

    /// This one and then another.
    pub(super) fn then(mut self, next: &Self) -> Self {
        for (step, next) in self.0.iter_mut().zip(&next.0) {
            step.n2 = step.n2.then(next.n2);
            step.he = step.he.then(next.he);
        }
        self
    }
}
