//! What a cylinder holds: ideal up to 200 bar, above that as air really fills it.
//!
//! Rich nitrox is denser than air at the same pressure, so that its cylinder holds a little more
//! than told here; helium mixes hold less, which is not reckoned.

use crate::units::CylinderLitres;

/// Up to here a cylinder is reckoned as ideal: it holds its volume times its pressure, bar.
const IDEAL_UP_TO_BAR: f64 = 200.0;

/// Rounds of the way back from content to pressure; each brings it nearer more than threefold.
const ROUNDS: u32 = 40;

/// Compression factor `Z = p V / (n R T)` of dry air at 20 °C, from 150 to 350 bar.
///
/// # Source
/// A cubic through the values of the equation of state of Lemmon, Jacobsen, Penoncello and
/// Friend 2000 as reckoned by `CoolProp` 8.0.0, within 0.004 % of them.
fn compression_factor(bar: f64) -> f64 {
    let x = (bar - 200.0) / 100.0;
    1.026_03 + x * (0.061_00 + x * (0.020_30 - x * 0.003_05))
}

/// Litre-bar in a cylinder at a gauge pressure in bar.
///
/// Between 200 and some 206 bar it stays at what 200 bar hold, so that more pressure never
/// counts as less gas where the real reckoning takes over from the ideal one.
#[must_use]
pub fn content_litre_bar(cylinder: CylinderLitres, bar: f64) -> f64 {
    if bar <= IDEAL_UP_TO_BAR {
        return cylinder.l() * bar;
    }
    cylinder.l() * (bar / compression_factor(bar)).max(IDEAL_UP_TO_BAR)
}

/// Gauge pressure of a cylinder that holds so many litre-bar, bar; below zero where they are
/// lacking.
#[must_use]
pub fn gauge_bar(cylinder: CylinderLitres, litre_bar: f64) -> f64 {
    let ideal = litre_bar / cylinder.l();
    if ideal <= IDEAL_UP_TO_BAR {
        return ideal;
    }
    (0..ROUNDS).fold(ideal, |bar, _| ideal * compression_factor(bar))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn litres(l: f64) -> CylinderLitres {
        CylinderLitres::from_l(l).unwrap()
    }

    #[test]
    fn twelve_litres_at_200_bar_hold_2400_litre_bar() {
        assert!((content_litre_bar(litres(12.0), 200.0) - 2400.0).abs() < 1e-9);
        assert!((gauge_bar(litres(12.0), -120.0) + 10.0).abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn more_pressure_is_never_less_gas(bar in 0.0..349.0_f64, more in 0.0..1.0_f64) {
            let at = |bar| content_litre_bar(litres(12.0), bar);
            prop_assert!(at(bar) <= at(bar + more));
            prop_assert!(at(bar) <= 12.0 * bar, "never more than an ideal one");
        }

        #[test]
        fn pressure_and_content_lead_back_to_each_other(bar in 207.0..350.0_f64) {
            let back = gauge_bar(litres(10.0), content_litre_bar(litres(10.0), bar));
            prop_assert!((back - bar).abs() < 1e-6, "{} for {}", back, bar);
        }
    }
}
