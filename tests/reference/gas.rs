//! Pressure and gas.

use deckwatch::dive::gas::{MinimumGas, Supply, used_litre_bar};
use deckwatch::dive::plan::{DivePlan, Leg, Level, Part, Profile, Rates, Stop};
use deckwatch::dive::pressure::{Column, Water};
use deckwatch::units::{AmbientBar, CylinderBar, CylinderLitres, Depth, LitresPerMinute, Minutes};

use crate::table::rows;

fn square(depth_m: f64, minutes: f64) -> (DivePlan, Profile) {
    let level = Level {
        depth: Depth::from_m(depth_m).unwrap(),
        minutes: Minutes::from_min(minutes).unwrap(),
    };
    let plan = DivePlan::new(vec![level], Stop::USUAL, Rates::USUAL).unwrap();
    let profile = plan.profile(&[]).unwrap();
    (plan, profile)
}

fn stay(depth_m: f64, minutes: f64) -> Leg {
    Leg {
        part: Part::Level,
        from_m: depth_m,
        to_m: depth_m,
        minutes,
    }
}

/// `minimum_gas_computed.csv`: worked out apart from this program for the same rule, not
/// published. The file rounds to a hundredth.
#[test]
fn minimum_gas_agrees_with_a_separate_reckoning() {
    for row in rows("minimum_gas_computed.csv") {
        let (plan, profile) = square(row.number("depth_m"), 30.0);
        let gas = MinimumGas::of(&plan, &profile, Column::default());
        let litres = |l: f64| gas.bar_in(CylinderLitres::from_l(l).unwrap());
        for (column, ours) in [
            ("at_depth_lbar", gas.at_depth),
            ("ascent_lbar", gas.ascent),
            ("stop_lbar", gas.stops),
            ("last_leg_lbar", gas.last_leg),
            ("total_lbar", gas.litre_bar()),
            ("bar_in_10l", litres(10.0)),
            ("bar_in_12l", litres(12.0)),
            ("bar_in_15l", litres(15.0)),
        ] {
            let theirs = row.number(column);
            let depth = row.text("depth_m");
            assert!(
                (ours - theirs).abs() <= 0.006,
                "{depth} m {column}: {ours}, not {theirs}"
            );
        }
    }
}

/// `gas_consumption_examples.csv`: worked examples found in print, whose inputs stand in prose
/// and are therefore repeated here. They count 10 m for 1 bar over a surface of 1 bar, so the
/// pressures they name are made here from the depth at which fresh water gives just these.
#[test]
fn consumption_agrees_with_printed_examples() {
    let examples = rows("gas_consumption_examples.csv");
    let case = |part: &str| {
        examples
            .iter()
            .find(|row| row.text("case").contains(part))
            .unwrap_or_else(|| panic!("no example with '{part}'"))
    };
    let column = Column::new(AmbientBar::from_bar(1.0).unwrap(), Water::Fresh);
    let metres_per_bar = 1.0 / Water::Fresh.bar_per_m();
    let used = |bar: f64, minutes: f64, l_min: f64| {
        column.used_litre_bar(&stay((bar - 1.0) * metres_per_bar, minutes), l_min)
    };

    // NAUI, Master Scuba Diver, ch. 10: 100 bar of a 12 l cylinder in 20 min at 2 ata, which is
    // 2.5 bar a minute at the surface, that is 30 l/min.
    assert!(
        case("100 bar in 20 min at 10 m")
            .text("result")
            .contains("2.5 bar/min at the surface")
    );
    assert!((used(2.0, 20.0, 30.0) / 12.0 - 100.0).abs() < 1e-9);

    // The same: 24 m = 3.4 ata, 165 bar usable, about 19 min.
    assert!(
        case("24 m = 3.4 ata")
            .text("result")
            .contains("exact 19.41")
    );
    assert!((165.0 * 12.0 / used(3.4, 1.0, 30.0) - 19.41).abs() < 0.005);

    // UK gas-planning note: 10 l cylinder, 20 bar in 2.5 min at 4 bar is 20 l/min.
    assert!(
        case("20 bar used in 2.5 min at 30 m")
            .text("result")
            .contains("20 l/min")
    );
    assert!((used(4.0, 2.5, 20.0) / 10.0 - 20.0).abs() < 1e-9);

    // UK gas-planning note: 20 l/min at 2.8 bar for 30 min.
    assert!(case("20 l/min at 18 m").text("result").contains("1680 l"));
    assert!((used(2.8, 30.0, 20.0) - 1680.0).abs() < 1e-9);

    // Open-water study guide: 11.1 l at 200 bar, 50 kept, 25 l/min at 2.5 bar: 26.64 min.
    assert!(
        case("11.1 l at 200 bar")
            .text("result")
            .contains("26.64 min")
    );
    assert!((11.1 * 150.0 / used(2.5, 1.0, 25.0) - 26.64).abs() < 1e-9);
}

/// The dive as a whole, by its legs: what is used and what is left make up what was taken down.
#[test]
fn what_is_left_is_what_was_taken_less_what_was_breathed() {
    let (_, profile) = square(18.0, 40.0);
    let supply = Supply {
        cylinder: CylinderLitres::from_l(12.0).unwrap(),
        start: CylinderBar::from_bar(200.0).unwrap(),
        breathing: LitresPerMinute::from_l_min(15.0).unwrap(),
    };
    let column = Column::default();
    let left = supply.left_bar(&profile, column);
    let used = used_litre_bar(&profile, column, supply.breathing);
    assert!((left * 12.0 + used - 2400.0).abs() < 1e-9);
    // 15 l/min x (1 min at 9 m + 39 at 18 m + 13/9 at 11.5 m + 3 at 5 m + 1 at 2.5 m).
    let ambient = |m: f64| 1.013_25 + 0.100_518_162_5 * m;
    let by_hand = 15.0
        * (ambient(9.0)
            + 39.0 * ambient(18.0)
            + 13.0 / 9.0 * ambient(11.5)
            + 3.0 * ambient(5.0)
            + ambient(2.5));
    assert!((used - by_hand).abs() < 1e-9, "{used} against {by_hand}");
}

/// `air_compressibility.csv`: the equation of state of Lemmon et al. 2000 as CoolProp 8.0.0 gives
/// it. Above 200 bar a cylinder at 20 °C holds what that says; up to there it counts as ideal,
/// which is at most 2.6 % too much.
#[test]
fn a_full_cylinder_holds_what_the_equation_of_state_says() {
    let mut checked = 0;
    for row in rows("air_compressibility.csv") {
        let (kelvin, bar) = (row.number("temperature_k"), row.number("pressure_bar"));
        if (kelvin - 293.15).abs() > 0.01 || !(100.0..=350.0).contains(&bar) {
            continue;
        }
        let supply = Supply {
            cylinder: CylinderLitres::from_l(1.0).unwrap(),
            start: CylinderBar::from_bar(bar).unwrap(),
            breathing: LitresPerMinute::from_l_min(20.0).unwrap(),
        };
        let theirs = row.number("free_ratio_real") * 1.013_25;
        let share = supply.litre_bar() / theirs - 1.0;
        let slack = if bar > 200.0 { 5e-4 } else { 0.027 };
        assert!(share.abs() < slack, "{bar} bar: {share:+.4} of {theirs}");
        checked += 1;
    }
    assert!(checked >= 4, "only {checked} rows");
}
