//! Oxygen: depth limits, equivalent air depth and exposure.

use deckwatch::dive::mix::Mix;
use deckwatch::dive::oxygen::exposure_pct;
use deckwatch::dive::plan::{Leg, Part};
use deckwatch::dive::pressure::Column;
use deckwatch::units::OxygenFraction;

use crate::table::rows;

fn nitrox(fraction: f64) -> Mix {
    Mix::nitrox(OxygenFraction::from_fraction(fraction).unwrap())
}

/// How the file marks the rows for our pressure of sea water.
const OURS: &str = "(sea water 1025 kg/m3)";

/// The figures in a case such as `FO2 0.32 at 1.4 bar`.
fn figures(case: &str) -> Vec<f64> {
    case.split_whitespace()
        .filter_map(|word| word.parse().ok())
        .collect()
}

/// `nitrox_formula_examples.csv`, the rows for our pressure of sea water: worked out apart from
/// this program. They round to the last digit they show.
#[test]
fn depths_and_pressures_of_oxygen_agree_with_a_separate_reckoning() {
    let column = Column::default();
    let mut checked = 0;
    for row in rows("nitrox_formula_examples.csv") {
        let (quantity, case) = (row.text("quantity"), row.text("case"));
        let [fraction, other] = figures(case)[..] else {
            continue;
        };
        let ours = match quantity {
            q if q == format!("MOD {OURS}") => nitrox(fraction).operating_depth_m(other, column),
            q if q == format!("EAD {OURS}") => {
                nitrox(fraction).equivalent_air_depth_m(other, column)
            }
            q if q == format!("ppO2 {OURS}") => nitrox(fraction).ppo2_bar(other, column),
            _ => continue,
        };
        let slack = if quantity.starts_with("ppO2") {
            5.1e-5
        } else {
            5.1e-4
        };
        let exact = row.text("exact_value").split(' ').next().unwrap();
        let theirs: f64 = exact.parse().unwrap();
        assert!(
            (ours - theirs).abs() < slack,
            "{quantity} {case}: {ours}, not {theirs}"
        );
        checked += 1;
    }
    assert!(checked >= 15, "only {checked} rows checked");
}

/// The same file, printed examples: Wikipedia (Equivalent air depth) and a training agency's
/// manual for enriched air. They reckon 10 m as 1 bar over 1 bar, so here the depth is that of
/// the same pressure.
#[test]
fn equivalent_air_depth_agrees_with_printed_examples() {
    let column = Column::default();
    let depth_of = |rule_of_ten_m: f64| column.depth_m(1.0 + rule_of_ten_m / 10.0);
    for (fraction, depth, printed) in [(0.36, 27.0, 19.97), (0.36, 17.0, 11.87)] {
        let ead = nitrox(fraction).equivalent_air_depth_m(depth_of(depth), column);
        let rule_of_ten = (column.ambient_bar(ead) - 1.0) * 10.0;
        assert!(
            (rule_of_ten - printed).abs() < 0.005,
            "{rule_of_ten}, not {printed}"
        );
    }
}

/// `oxygen_exposure_noaa.csv`: NOAA Diving Manual, read in two reprints. At each row's pressure
/// its minutes are one whole exposure, and just above it the next row's.
#[test]
fn every_row_of_the_exposure_table_is_met() {
    let column = Column::default();
    let oxygen = Mix::nitrox(OxygenFraction::from_fraction(1.0).unwrap());
    let stay = |ppo2: f64, minutes: f64| {
        let depth_m = column.depth_m(ppo2);
        let leg = Leg {
            part: Part::Level,
            from_m: depth_m,
            to_m: depth_m,
            minutes,
        };
        exposure_pct([&leg], oxygen, column)
    };
    let table = rows("oxygen_exposure_noaa.csv");
    for pair in table.windows(2) {
        let (ppo2, minutes) = (
            pair[0].number("ppo2_ata"),
            pair[0].number("single_exposure_min"),
        );
        assert!((stay(ppo2, minutes) - 100.0).abs() < 1e-6, "{ppo2}");
        let next = pair[1].number("single_exposure_min");
        assert!(
            (stay(ppo2 + 0.01, next) - 100.0).abs() < 1e-6,
            "above {ppo2}"
        );
    }
    // Percent on the same card: 45 min at 1.4 are 30 %, 30 min at 1.4 are 20 %, 45 min at 1.6 are
    // 100 %.
    for (ppo2, minutes, pct) in [(1.4, 45.0, 30.0), (1.4, 30.0, 20.0), (1.6, 45.0, 100.0)] {
        assert!(
            (stay(ppo2, minutes) - pct).abs() < 1e-6,
            "{minutes} min at {ppo2}"
        );
    }
}
