//! The tissue model: its coefficients, its equation, its limits, against figures that were
//! worked out apart from this program.

use deckwatch::dive::ascent::{Breather, Model, StopLength, no_stop_limit_min};
use deckwatch::dive::mix::Mix;
use deckwatch::dive::plan::{DivePlan, Leg, Level, Part, Rates, Stop};
use deckwatch::dive::pressure::Column;
use deckwatch::dive::tissue::{GradientFactors, Load, Tissues, WATER_VAPOUR_BAR};
use deckwatch::units::{Depth, Minutes, OxygenFraction};

use crate::table::rows;

fn leg(from_m: f64, to_m: f64, minutes: f64) -> Leg {
    Leg {
        part: Part::Level,
        from_m,
        to_m,
        minutes,
    }
}

fn air() -> Breather {
    Breather {
        tissues: Tissues::at_rest(Column::default()),
        mix: Mix::AIR,
    }
}

/// The dives of `zhl16c_tissue_computed.csv` in the order it describes them.
fn dive(name: &str) -> Tissues {
    let column = Column::default();
    let bottom = [
        leg(0.0, 30.0, 30.0 / 18.0),
        leg(30.0, 30.0, 20.0 - 30.0 / 18.0),
    ];
    let up = [
        leg(30.0, 5.0, 25.0 / 9.0),
        leg(5.0, 5.0, 3.0),
        leg(5.0, 0.0, 1.0),
    ];
    let at_bottom = air().after_all(&bottom, column);
    let surfaced = at_bottom.after_all(&up, column).tissues;
    match name {
        "air-30-20" => at_bottom.tissues,
        "air-30-20-surfaced" => surfaced,
        "air-30-20-surface-60" => surfaced.rested(60.0, column),
        "trimix-21-35-40-20" => {
            let oxygen = OxygenFraction::from_fraction(0.21).unwrap();
            let mix = Mix::new(oxygen, 0.35).unwrap();
            let legs = [
                leg(0.0, 40.0, 40.0 / 18.0),
                leg(40.0, 40.0, 20.0 - 40.0 / 18.0),
            ];
            Breather { mix, ..air() }.after_all(&legs, column).tissues
        }
        other => panic!("no such dive: {other}"),
    }
}

/// `zhl16c_tissue_computed.csv`: worked out apart from this program with Schreiner's equation,
/// not published. The file rounds to 1e-6.
#[test]
fn tissue_loads_agree_with_a_separate_reckoning() {
    let names = [
        "1b", "2", "3", "4", "5", "6", "7", "8", "9", "10", "11", "12", "13", "14", "15", "16",
    ];
    for row in rows("zhl16c_tissue_computed.csv") {
        let (profile, compartment) = (row.text("profile"), row.text("compartment"));
        let tissues = dive(profile);
        let nth = names.iter().position(|name| *name == compartment).unwrap();
        let Load { n2_bar, he_bar } = tissues.loads()[nth];
        for (column, ours) in [("p_n2_bar", n2_bar), ("p_he_bar", he_bar)] {
            let theirs = row.number(column);
            assert!(
                (ours - theirs).abs() < 2e-6,
                "{profile} {compartment} {column}: {ours}, not {theirs}"
            );
        }
    }
}

/// The same file: the strictest ceiling at a gradient factor of 0.85 and the greatest share of
/// the gradient at the surface.
#[test]
fn ceilings_and_gradients_agree_with_a_separate_reckoning() {
    for name in [
        "air-30-20",
        "air-30-20-surfaced",
        "air-30-20-surface-60",
        "trimix-21-35-40-20",
    ] {
        let strictest = |column: &str| {
            rows("zhl16c_tissue_computed.csv")
                .iter()
                .filter(|row| row.text("profile") == name)
                .map(|row| row.number(column))
                .fold(f64::NEG_INFINITY, f64::max)
        };
        let tissues = dive(name);
        let ceiling = strictest("ceiling_gf85_bar");
        assert!(
            (tissues.tolerated_bar(0.85) - ceiling).abs() < 3e-6,
            "{name} {ceiling}"
        );
        let gradient = strictest("gf_at_surface");
        assert!(
            (tissues.gradient(1.013_25) - gradient).abs() < 3e-6,
            "{name} {gradient}"
        );
        assert!(tissues.holds(ceiling + 1e-5, 0.85) && !tissues.holds(ceiling - 1e-5, 0.85));
    }
}

/// `zhl16c_coefficients.csv`, Tauchmedizin table 26 as two transcriptions have it, compartment
/// 1b and not 1: each coefficient is read back out of what the model does. Helium half-times
/// show on a stay on heliox, its a and b on tissues that hold nearly nothing else.
#[test]
fn the_coefficients_are_those_of_the_published_table() {
    let published: Vec<_> = rows("zhl16c_coefficients.csv")
        .into_iter()
        .filter(|row| row.text("compartment") != "1")
        .collect();
    assert_eq!(published.len(), 16, "1b to 16");
    let column = Column::default();
    let ambient = column.ambient_bar(40.0);
    let rested = Tissues::at_rest(column);
    let heliox = Mix::new(OxygenFraction::from_fraction(0.2).unwrap(), 0.8).unwrap();
    let stay = |minutes| leg(40.0, 40.0, minutes);
    let on_air = rested.after(&stay(30.0), Mix::AIR, column);
    let on_heliox = rested.after(&stay(30.0), heliox, column);
    let saturated = rested.after(&stay(1e6), heliox, column);
    let a_and_b = |tissues: &Tissues| -> Vec<(f64, f64)> {
        tissues
            .m_values_bar(1.0)
            .zip(tissues.m_values_bar(3.0))
            .map(|(at_1, at_3)| {
                let b = 2.0 / (at_3 - at_1);
                (at_1 - 1.0 / b, b)
            })
            .collect()
    };
    let half_time = |inspired: f64, before: f64, after: f64| {
        -30.0 / ((inspired - after) / (inspired - before)).log2()
    };
    for (nth, row) in published.iter().enumerate() {
        let (before, air, helium) = (
            rested.loads()[nth],
            on_air.loads()[nth],
            on_heliox.loads()[nth],
        );
        let n2 = half_time(
            0.79 * (ambient - WATER_VAPOUR_BAR),
            before.n2_bar,
            air.n2_bar,
        );
        let he = half_time(0.8 * (ambient - WATER_VAPOUR_BAR), 0.0, helium.he_bar);
        let (n2_a, n2_b) = a_and_b(&on_air)[nth];
        let (he_a, he_b) = a_and_b(&saturated)[nth];
        for (column, ours) in [
            ("n2_half_time_min", n2),
            ("n2_a_bar", n2_a),
            ("n2_b", n2_b),
            ("he_half_time_min", he),
            ("he_a_bar", he_a),
            ("he_b", he_b),
        ] {
            let (name, theirs) = (row.text("compartment"), row.number(column));
            assert!(
                (ours - theirs).abs() < 1e-6,
                "{name} {column}: {ours}, not {theirs}"
            );
        }
    }
}

fn limit(depth_m: f64, mix: Mix, gradient_factor: f64, rates: Rates) -> Option<f64> {
    let level = Level {
        depth: Depth::from_m(depth_m).unwrap(),
        minutes: Minutes::from_min(10.0).unwrap(),
    };
    let plan = DivePlan::new(vec![level], Stop::USUAL, rates).unwrap();
    let model = Model {
        column: Column::default(),
        gradient_factors: GradientFactors::new(gradient_factor, gradient_factor).unwrap(),
        stop_length: StopLength::Exact,
    };
    no_stop_limit_min(&plan, &Breather { mix, ..air() }, &model)
}

/// `zhl16c_no_stop_computed.csv`: worked out apart from this program, not published; it expects
/// agreement within 0.02 min. Its ascent is at 9 m/min all the way.
#[test]
fn no_stop_limits_agree_with_a_separate_reckoning() {
    let steady = Rates::new(18.0, 9.0, 9.0).unwrap();
    for row in rows("zhl16c_no_stop_computed.csv") {
        let (depth, oxygen, gf) = (
            row.number("depth_m"),
            row.number("gas_o2"),
            row.number("gf"),
        );
        let mix = Mix::nitrox(OxygenFraction::from_fraction(oxygen).unwrap());
        let theirs = row.number("ascent_no_stop_min");
        let ours = limit(depth, mix, gf, steady);
        // Ours looks no further than ten hours.
        if theirs > 600.0 {
            assert_eq!(ours, None, "{depth} m");
            continue;
        }
        let ours = ours.unwrap();
        assert!(
            (ours - theirs).abs() <= 0.02,
            "{depth} m, {oxygen} oxygen, {gf}: {ours}, not {theirs}"
        );
    }
}

/// Going up slowly for the last 5 m gives gas more time to leave than to come in.
#[test]
fn a_slow_last_leg_never_shortens_the_limit_by_much() {
    let (steady, usual) = (Rates::new(18.0, 9.0, 9.0).unwrap(), Rates::USUAL);
    for depth_m in [12.0, 18.0, 24.0, 30.0, 39.0] {
        let at = |rates| limit(depth_m, Mix::AIR, 0.8, rates).unwrap();
        assert!(at(usual) >= at(steady), "{depth_m} m");
    }
}
