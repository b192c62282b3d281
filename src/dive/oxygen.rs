//! Oxygen exposure: how much of the time that a day allows at a pressure of oxygen is used.

use super::mix::Mix;
use super::plan::Leg;
use super::pressure::Column;

/// Pressure of oxygen, in ata, up to which a row holds, and the minutes that a single exposure
/// may last there.
///
/// # Source
/// NOAA Diving Manual, oxygen partial pressure and exposure time limits for working divers,
/// single exposure; read in two reprints that agree.
const SINGLE_EXPOSURE: [(f64, f64); 11] = [
    (0.6, 720.0),
    (0.7, 570.0),
    (0.8, 450.0),
    (0.9, 360.0),
    (1.0, 300.0),
    (1.1, 240.0),
    (1.2, 210.0),
    (1.3, 180.0),
    (1.4, 150.0),
    (1.5, 120.0),
    (1.6, 45.0),
];

/// Below this pressure oxygen is not counted, bar (common practice, no source); the table
/// begins at 0.6.
const COUNTED_FROM_BAR: f64 = 0.5;

/// Slack when a pressure is held against a row, bar: 1.4 must find its own row whatever the
/// last digit of a product is.
const SLACK_BAR: f64 = 1e-9;

/// Share of a single exposure that is used by the minute, at a pressure of oxygen in bar.
///
/// Between two rows the next higher one counts. Bar are read as ata, which errs on the safe
/// side by 1.3 %. Past the table its last row goes on: whoever shows the figure has to mark such
/// a plan.
fn share_per_min(ppo2_bar: f64) -> f64 {
    if ppo2_bar <= COUNTED_FROM_BAR {
        return 0.0;
    }
    let row = SINGLE_EXPOSURE
        .iter()
        .find(|(up_to, _)| ppo2_bar <= up_to + SLACK_BAR);
    let (_, minutes) = row.unwrap_or(&(1.6, 45.0));
    1.0 / minutes
}

/// Percent of a single exposure that the legs use, summed over the rows they pass through.
#[must_use]
pub fn exposure_pct<'a>(legs: impl IntoIterator<Item = &'a Leg>, mix: Mix, column: Column) -> f64 {
    legs.into_iter()
        .map(|leg| 100.0 * leg_share(leg, mix, column))
        .sum()
}

fn leg_share(leg: &Leg, mix: Mix, column: Column) -> f64 {
    let from = mix.ppo2_bar(leg.from_m, column);
    let to = mix.ppo2_bar(leg.to_m, column);
    let (least, most) = (from.min(to), from.max(to));
    if most - least < SLACK_BAR {
        return leg.minutes * share_per_min(most);
    }
    // The leg keeps its rate, so its minutes between two rows are as their pressures apart.
    let edges = std::iter::once(COUNTED_FROM_BAR).chain(SINGLE_EXPOSURE.iter().map(|(up, _)| *up));
    let mut below = least;
    let mut share = 0.0;
    for edge in edges.filter(|edge| *edge > least && *edge < most) {
        share += (edge - below) * share_per_min(edge);
        below = edge;
    }
    share += (most - below) * share_per_min(most);
    share * leg.minutes / (most - least)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dive::plan::Part;
    use crate::units::OxygenFraction;

    fn leg(from_m: f64, to_m: f64, minutes: f64) -> Leg {
        Leg {
            part: Part::Level,
            from_m,
            to_m,
            minutes,
        }
    }

    fn nitrox(fraction: f64) -> Mix {
        Mix::nitrox(OxygenFraction::from_fraction(fraction).unwrap())
    }

    /// A slope cut into ten thousand steps, each at the pressure of its middle.
    #[test]
    fn a_slope_counts_as_its_small_steps_do() {
        let (column, mix) = (Column::default(), nitrox(0.4));
        let whole = exposure_pct([&leg(0.0, 30.0, 10.0)], mix, column);
        let steps: Vec<_> = (0..10_000)
            .map(|nth| {
                let middle_m = (f64::from(nth) + 0.5) * 30.0 / 10_000.0;
                leg(middle_m, middle_m, 10.0 / 10_000.0)
            })
            .collect();
        let summed = exposure_pct(&steps, mix, column);
        assert!((whole - summed).abs() < 1e-3, "{whole} against {summed}");
        let up = exposure_pct([&leg(30.0, 0.0, 10.0)], mix, column);
        assert!((whole - up).abs() < 1e-12);
    }

    #[test]
    fn air_near_the_surface_counts_nothing() {
        let exposed = exposure_pct([&leg(10.0, 10.0, 60.0)], Mix::AIR, Column::default());
        assert!(exposed.abs() < f64::EPSILON);
    }
}
