//! Properties of the model over random dives.

use deckwatch::dive::ascent::{Breather, Model, StopLength, first_stop_m};
use deckwatch::dive::findings::{self, Finding};
use deckwatch::dive::gas::{GasPlan, Supply};
use deckwatch::dive::mix::Mix;
use deckwatch::dive::plan::{DivePlan, Leg, Level, Profile, Rates, Stop};
use deckwatch::dive::pressure::Column;
use deckwatch::dive::reckon::{EarlierDive, Reckoning, as_planned, load_after, reckon};
use deckwatch::dive::tissue::{GradientFactors, Tissues, WATER_VAPOUR_BAR};
use deckwatch::units::{
    CylinderBar, CylinderLitres, Depth, LitresPerMinute, Minutes, OxygenFraction,
};
use proptest::prelude::*;

/// Slack for times that are found by halving, minutes.
const SLACK_MIN: f64 = 1e-4;

fn level(depth_m: f64, minutes: f64) -> Level {
    Level {
        depth: Depth::from_m(depth_m).unwrap(),
        minutes: Minutes::from_min(minutes).unwrap(),
    }
}

fn dive(levels: &[(f64, f64)]) -> DivePlan {
    let levels = levels.iter().map(|(m, min)| level(*m, *min)).collect();
    DivePlan::new(levels, Stop::USUAL, Rates::USUAL).unwrap()
}

fn square(depth_m: f64, minutes: f64) -> DivePlan {
    dive(&[(depth_m, minutes)])
}

fn model(low: f64, high: f64) -> Model {
    Model {
        column: Column::default(),
        gradient_factors: GradientFactors::new(low, high).unwrap(),
        stop_length: StopLength::Exact,
    }
}

fn rested() -> Tissues {
    Tissues::at_rest(Column::default())
}

fn alone(plan: &DivePlan, tissues: Tissues, mix: Mix, model: &Model) -> Reckoning {
    reckon(plan, &[Breather { tissues, mix }], model).unwrap()
}

/// Bottom time that is left before stops are owed; ten hours where none is.
fn limit(reckoning: &Reckoning) -> f64 {
    reckoning.each[0].no_stop_limit_min.unwrap_or(600.0)
}

/// Minutes of stops owed.
fn owed(reckoning: &Reckoning) -> f64 {
    reckoning.each[0]
        .owed
        .iter()
        .map(|stop| stop.minutes())
        .sum()
}

/// Minutes from leaving the bottom to the surface.
fn way_up(profile: &Profile) -> f64 {
    profile.run_time_min() - profile.bottom_time_min()
}

/// Nothing about the first is safer than about the second.
///
/// The stops owed are allowed 2 min and 2 %: where the first stop moves one step deeper, the line
/// between the gradient factors starts deeper too and lets a little more pass at the stops
/// between. That is how the factors are defined; a scan of first dives from 15 to 50 m and 10 to
/// 60 min found 4.3 min of 238 at most. The run time may besides lose the safety stop, as a required
/// one that is as long takes its place.
fn is_no_safer(worse: &Reckoning, better: &Reckoning) -> bool {
    let slack_min = SLACK_MIN + 2.0 + 0.02 * owed(better);
    limit(worse) <= limit(better) + SLACK_MIN
        && (better.each[0].within_no_stop || !worse.each[0].within_no_stop)
        && owed(worse) >= owed(better) - slack_min
        && way_up(&worse.profile) >= way_up(&better.profile) - slack_min - 3.0
}

prop_compose! {
    fn earlier()(
        depth_m in 9.0..40.0_f64, minutes in 5.0..45.0_f64, interval_min in 10.0..300.0_f64,
    ) -> EarlierDive {
        EarlierDive { profile: dived(depth_m, minutes), mix: Mix::AIR, interval_min }
    }
}

fn dived(depth_m: f64, minutes: f64) -> Profile {
    as_planned(&square(depth_m, minutes), Mix::AIR, &model(0.40, 0.80)).unwrap()
}

fn load(dives: &[EarlierDive], model: &Model) -> Tissues {
    load_after(rested(), dives, model)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn deeper_is_never_safer(
        depth_m in 9.0..45.0_f64, more_m in 0.0..10.0_f64, minutes in 8.0..60.0_f64,
        dives in prop::collection::vec(earlier(), 0..3),
    ) {
        let model = model(0.40, 0.80);
        let tissues = load(&dives, &model);
        let at = |m| alone(&square(m, minutes), tissues, Mix::AIR, &model);
        let (deeper, shallower) = (at(depth_m + more_m), at(depth_m));
        prop_assert!(
            is_no_safer(&deeper, &shallower),
            "{deeper:?}\n{shallower:?}"
        );
    }

    #[test]
    fn longer_is_never_safer(
        depth_m in 9.0..45.0_f64, minutes in 8.0..60.0_f64, more_min in 0.0..30.0_f64,
        dives in prop::collection::vec(earlier(), 0..3),
    ) {
        let model = model(0.40, 0.80);
        let tissues = load(&dives, &model);
        let at = |min| alone(&square(depth_m, min), tissues, Mix::AIR, &model);
        prop_assert!(is_no_safer(&at(minutes + more_min), &at(minutes)));
    }

    /// A dive that is not within the no-stop limit always says so in words, and only such a dive:
    /// also one whose last shallow level is short while the dives before it are what owes stops.
    #[test]
    fn what_needs_stops_is_always_found(
        depth_m in 9.0..45.0_f64, minutes in 8.0..40.0_f64,
        shallow_m in 3.0..9.0_f64, shallow_min in 1.0..20.0_f64,
        dives in prop::collection::vec(earlier(), 0..3),
    ) {
        let model = model(0.40, 0.80);
        let plan = dive(&[(depth_m, minutes), (shallow_m, minutes.min(shallow_min) + 4.0)]);
        let tissues = load(&dives, &model);
        for plan in [plan, square(shallow_m, shallow_min)] {
            let reckoned = &alone(&plan, tissues, Mix::AIR, &model).each[0];
            prop_assert_eq!(
                reckoned.within_no_stop,
                findings::of_load(&plan, reckoned).is_empty()
            );
        }
    }

    #[test]
    fn one_more_dive_before_is_never_safer(
        depth_m in 9.0..45.0_f64, minutes in 8.0..60.0_f64,
        dives in prop::collection::vec(earlier(), 1..4),
    ) {
        let model = model(0.40, 0.80);
        let after = |dives: &[EarlierDive]| {
            alone(&square(depth_m, minutes), load(dives, &model), Mix::AIR, &model)
        };
        prop_assert!(is_no_safer(&after(&dives), &after(&dives[1..])));
    }

    #[test]
    fn a_shorter_interval_is_never_safer(
        depth_m in 9.0..45.0_f64, minutes in 8.0..60.0_f64, before in earlier(),
        shorter in 0.0..1.0_f64,
    ) {
        let model = model(0.40, 0.80);
        let after = |interval_min| {
            let dives = [EarlierDive { interval_min, ..before.clone() }];
            alone(&square(depth_m, minutes), load(&dives, &model), Mix::AIR, &model)
        };
        let interval_min = before.interval_min;
        prop_assert!(is_no_safer(&after(interval_min * shorter), &after(interval_min)));
    }

    #[test]
    fn less_gas_is_never_safer(
        depth_m in 6.0..45.0_f64, minutes in 8.0..60.0_f64, start_bar in 50.0..300.0_f64,
        less_bar in 0.0..100.0_f64, cylinder_l in 7.0..20.0_f64, l_min in 8.0..40.0_f64,
    ) {
        let model = model(0.40, 0.80);
        let plan = square(depth_m, minutes);
        let profile = alone(&plan, rested(), Mix::AIR, &model).profile;
        let gas = |bar: f64| {
            let supply = Supply {
                cylinder: CylinderLitres::from_l(cylinder_l).unwrap(),
                start: CylinderBar::from_bar(bar).unwrap(),
                breathing: LitresPerMinute::from_l_min(l_min).unwrap(),
            };
            let reserve = CylinderBar::from_bar(50.0).unwrap();
            GasPlan::of(&supply, &plan, &profile, model.column, reserve)
        };
        let (less, more) = (gas((start_bar - less_bar).max(0.0)), gas(start_bar));
        prop_assert!(less.end_bar <= more.end_bar + 1e-9);
        prop_assert!(more.is_enough() || !less.is_enough());
        prop_assert!(more.turn_bar >= more.minimum_bar);
        // What is enough by the turn is enough back on the boat.
        prop_assert!(!more.is_enough() || more.end_bar >= 50.0 - 1e-6);
    }

    #[test]
    fn a_load_stays_between_what_was_breathed_and_what_was_there(
        levels in prop::collection::vec((1.0..60.0_f64, 15.0..60.0_f64), 1..5),
        oxygen in 0.21..0.40_f64, dives in prop::collection::vec(earlier(), 0..3),
    ) {
        let model = model(0.40, 0.80);
        let before = load(&dives, &model);
        let mix = Mix::nitrox(OxygenFraction::from_fraction(oxygen).unwrap());
        let plan = dive(&levels);
        let profile = alone(&plan, before, mix, &model).profile;
        let inspired = |depth_m: f64| {
            mix.nitrogen() * (model.column.ambient_bar(depth_m) - WATER_VAPOUR_BAR)
        };
        let deepest = profile.legs().iter().map(|leg| leg.to_m).fold(0.0, f64::max);
        let after = before.after_all(profile.legs(), mix, model.column);
        for (before, after) in before.loads().iter().zip(after.loads()) {
            let least = before.n2_bar.min(inspired(0.0));
            let most = before.n2_bar.max(inspired(deepest));
            prop_assert!((least - 1e-9..=most + 1e-9).contains(&after.n2_bar));
        }
    }

    #[test]
    fn a_dive_in_two_legs_at_one_depth_equals_the_whole(
        depth_m in 9.0..45.0_f64, first in 5.0..40.0_f64, second in 1.0..40.0_f64,
        low in 0.2..0.8_f64, dives in prop::collection::vec(earlier(), 0..3),
    ) {
        let model = model(low, 0.85);
        let tissues = load(&dives, &model);
        let whole = alone(&square(depth_m, first + second), tissues, Mix::AIR, &model);
        let parts = dive(&[(depth_m, first), (depth_m, second)]);
        let parts = alone(&parts, tissues, Mix::AIR, &model);
        prop_assert!((limit(&whole) - limit(&parts)).abs() < SLACK_MIN);
        prop_assert!((owed(&whole) - owed(&parts)).abs() < SLACK_MIN);
        let run = |one: &Reckoning| one.profile.run_time_min();
        prop_assert!((run(&whole) - run(&parts)).abs() < SLACK_MIN);
        prop_assert_eq!(whole.each[0].within_no_stop, parts.each[0].within_no_stop);
    }

    /// On the way up no compartment ever passes the line between the two factors.
    #[test]
    fn the_stops_that_are_owed_keep_the_limit(
        depth_m in 15.0..55.0_f64, minutes in 10.0..60.0_f64, low in 0.2..0.8_f64,
        dives in prop::collection::vec(earlier(), 0..3),
    ) {
        let model = model(low, 0.85);
        let tissues = load(&dives, &model);
        let reckoning = alone(&square(depth_m, minutes), tissues, Mix::AIR, &model);
        let stops = &reckoning.each[0].owed;
        let leaving = Breather { tissues, mix: Mix::AIR }
            .after_all(&square(depth_m, minutes).bottom_legs(), model.column);
        let first_m = first_stop_m(&leaving, depth_m, Rates::USUAL, &model);
        let mut now = tissues;
        for leg in reckoning.profile.legs() {
            now = now.after(leg, Mix::AIR, model.column);
            if !leg.is_before_ascent() {
                let factor = model.gradient_factors.at(leg.to_m, first_m);
                let ambient = model.column.ambient_bar(leg.to_m) + 1e-6;
                prop_assert!(now.holds(ambient, factor), "{leg:?} {stops:?}");
            }
        }
        prop_assert_eq!(stops.is_empty(), reckoning.each[0].within_no_stop);
    }

    #[test]
    fn a_group_holds_its_strictest_member(
        depth_m in 15.0..45.0_f64, minutes in 10.0..60.0_f64,
        loads in prop::collection::vec(prop::collection::vec(earlier(), 0..3), 1..5),
    ) {
        let model = model(0.40, 0.80);
        let plan = square(depth_m, minutes);
        let group: Vec<Breather> = loads
            .iter()
            .map(|dives| Breather { tissues: load(dives, &model), mix: Mix::AIR })
            .collect();
        let together = reckon(&plan, &group, &model).unwrap();
        for (diver, reckoned) in group.iter().zip(&together.each) {
            let alone = reckon(&plan, std::slice::from_ref(diver), &model).unwrap();
            prop_assert_eq!(&alone.each[0].owed, &reckoned.owed);
            let surface = model.column.surface_bar();
            prop_assert!(reckoned.after.holds(surface + 1e-6, model.gradient_factors.high()));
        }
    }
}

/// A general-purpose library kept the depth that anchors the gradient factors from one dive to
/// the next: after a dive with stops and three days ashore it let a dive of 30 m for 40 min come
/// up in 36 min where a rested diver needed 45. Nothing of that may live here.
#[test]
fn three_days_ashore_leave_no_trace_of_a_dive_with_stops() {
    let model = model(0.30, 0.85);
    let second = square(30.0, 40.0);
    let first = alone(&square(50.0, 30.0), rested(), Mix::AIR, &model);
    let with_stops = EarlierDive {
        profile: first.profile.clone(),
        mix: Mix::AIR,
        interval_min: 3.0 * 24.0 * 60.0,
    };
    assert!(owed(&first) > 10.0, "the first dive owes stops");
    let repeated = alone(&second, load(&[with_stops], &model), Mix::AIR, &model);
    let fresh = alone(&second, rested(), Mix::AIR, &model);
    assert!(owed(&fresh) > 5.0, "the second dive owes stops by itself");
    let (repeated, fresh) = (way_up(&repeated.profile), way_up(&fresh.profile));
    // The slowest compartment has a hundredth of its load left after three days.
    assert!(
        repeated >= fresh && repeated < fresh + 1.0,
        "{repeated} against {fresh}"
    );
}

/// A dive that came up past its stops and a minute later one of 6 m for a minute: no bottom time is
/// left to take off, yet stops are owed from the dive before.
#[test]
fn stops_owed_from_the_dive_before_are_found() {
    let model = model(0.40, 0.80);
    let first = EarlierDive {
        profile: square(40.0, 45.0).profile(&[]).unwrap(),
        mix: Mix::AIR,
        interval_min: 1.0,
    };
    let second = square(6.0, 1.0);
    let reckoned = &alone(&second, load(&[first], &model), Mix::AIR, &model).each[0];
    assert!(!reckoned.within_no_stop);
    assert_eq!(findings::of_load(&second, reckoned), [Finding::OwesStops]);
}

/// Helium goes in and out faster than nitrogen: the same dive owes more on a mix of both.
#[test]
fn helium_is_reckoned_with() {
    let model = model(0.40, 0.80);
    let oxygen = OxygenFraction::from_fraction(0.21).unwrap();
    let trimix = Mix::new(oxygen, 0.35).unwrap();
    let at = |mix| alone(&square(40.0, 20.0), rested(), mix, &model);
    assert!(owed(&at(trimix)) > owed(&at(Mix::AIR)));
    let leg = Leg {
        part: deckwatch::dive::plan::Part::Level,
        from_m: 40.0,
        to_m: 40.0,
        minutes: 20.0,
    };
    let loaded = rested().after(&leg, trimix, model.column);
    let (fast, slow) = (loaded.loads()[0].he_bar, loaded.loads()[15].he_bar);
    assert!(fast > slow && slow > 0.0);
}
