//! How the gas that a diver analysed stands to the gas that the plan reckons with.

use super::mix::Mix;
use crate::units::{CylinderBar, OxygenFraction};

/// How far an analysis may lie from the plan, parts of the gas: one percent of oxygen (common
/// practice, no source; analysers are read to about as much).
pub const TOLERANCE: f64 = 0.01;

/// Slack for fractions that are typed to a few digits.
const SLACK: f64 = 1e-9;

/// How a plan's gas stands to what was analysed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Analysed {
    /// Air is planned and nothing was analysed: nobody asks for it.
    Air,
    /// Another gas is planned, and nobody analysed it.
    Not,
    /// An analysis agrees with the plan, with the pressure that is planned or more.
    Agrees(usize),
    /// An analysis agrees with the plan's oxygen, but its cylinder holds less than is planned.
    Short(usize),
    /// No analysis agrees; this one comes nearest.
    Differs(usize),
}

impl Analysed {
    /// Whether the plan can stand as far as its gas goes.
    #[must_use]
    pub fn is_settled(self) -> bool {
        matches!(self, Self::Air | Self::Agrees(_))
    }
}

/// Holds a plan's gas to the analyses of its diver: oxygen and pressure of each.
#[must_use]
pub fn held_to(
    (planned, start): (OxygenFraction, CylinderBar),
    analyses: &[(OxygenFraction, CylinderBar)],
) -> Analysed {
    let apart = |oxygen: OxygenFraction| (oxygen.fraction() - planned.fraction()).abs();
    let agreeing = |(_, (oxygen, _)): &(usize, &(OxygenFraction, CylinderBar))| {
        apart(*oxygen) <= TOLERANCE + SLACK
    };
    let fullest = analyses
        .iter()
        .enumerate()
        .filter(agreeing)
        .max_by(|(_, (_, a)), (_, (_, b))| a.bar().total_cmp(&b.bar()));
    if let Some((nth, (_, bar))) = fullest {
        return if *bar < start {
            Analysed::Short(nth)
        } else {
            Analysed::Agrees(nth)
        };
    }
    let nearest = analyses
        .iter()
        .enumerate()
        .min_by(|(_, (a, _)), (_, (b, _))| apart(*a).total_cmp(&apart(*b)));
    match nearest {
        Some((nth, _)) => Analysed::Differs(nth),
        None if apart_from_air(planned) <= TOLERANCE + SLACK => Analysed::Air,
        None => Analysed::Not,
    }
}

fn apart_from_air(oxygen: OxygenFraction) -> f64 {
    (oxygen.fraction() - Mix::AIR.oxygen()).abs()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn oxygen(pct: f64) -> OxygenFraction {
        OxygenFraction::from_fraction(pct / 100.0).unwrap()
    }

    fn gas(pct: f64, bar: f64) -> (OxygenFraction, CylinderBar) {
        (oxygen(pct), CylinderBar::from_bar(bar).unwrap())
    }

    #[test]
    fn a_plan_is_held_to_what_was_analysed() {
        for (planned, analyses, held) in [
            (gas(21.0, 200.0), vec![], Analysed::Air),
            (gas(20.9, 200.0), vec![], Analysed::Air),
            (gas(32.0, 200.0), vec![], Analysed::Not),
            // Richer than air by more than the tolerance, and less: neither is air.
            (gas(22.5, 200.0), vec![], Analysed::Not),
            (gas(18.0, 200.0), vec![], Analysed::Not),
            (
                gas(32.0, 200.0),
                vec![gas(31.0, 200.0)],
                Analysed::Agrees(0),
            ),
            (
                gas(32.0, 200.0),
                vec![gas(33.0, 210.0)],
                Analysed::Agrees(0),
            ),
            (
                gas(32.0, 200.0),
                vec![gas(33.1, 210.0)],
                Analysed::Differs(0),
            ),
            (
                gas(32.0, 200.0),
                vec![gas(30.9, 210.0)],
                Analysed::Differs(0),
            ),
            (gas(32.0, 200.0), vec![gas(32.0, 199.0)], Analysed::Short(0)),
            // Of two that agree the fuller counts; of none that agree the nearest is told.
            (
                gas(32.0, 200.0),
                vec![gas(32.0, 60.0), gas(31.5, 205.0)],
                Analysed::Agrees(1),
            ),
            (
                gas(32.0, 200.0),
                vec![gas(21.0, 200.0), gas(36.0, 200.0)],
                Analysed::Differs(1),
            ),
            // Air is planned and something else was analysed.
            (
                gas(21.0, 200.0),
                vec![gas(32.0, 200.0)],
                Analysed::Differs(0),
            ),
        ] {
            assert_eq!(
                held_to(planned, &analyses),
                held,
                "{planned:?} {analyses:?}"
            );
            let settled = matches!(held, Analysed::Air | Analysed::Agrees(_));
            assert_eq!(held.is_settled(), settled);
        }
    }
}
