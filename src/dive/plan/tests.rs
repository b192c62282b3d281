//! By table and by property; the figures follow from the rates by hand.

use proptest::prelude::*;

use super::*;

fn level(depth_m: f64, minutes: f64) -> Level {
    Level {
        depth: Depth::from_m(depth_m).unwrap(),
        minutes: Minutes::from_min(minutes).unwrap(),
    }
}

fn square(depth_m: f64, minutes: f64) -> DivePlan {
    DivePlan::new(vec![level(depth_m, minutes)], Stop::USUAL, Rates::USUAL).unwrap()
}

fn stop(depth_m: f64, minutes: f64) -> Stop {
    Stop::new(depth_m, minutes).unwrap()
}

/// 18 m: 45 min, 13 m at 9 m/min, 3 min, 5 m at 5 m/min.
#[test]
fn a_square_dive_runs_its_bottom_time_ascent_and_stop() {
    let profile = square(18.0, 45.0).profile(&[]).unwrap();
    let expected = 45.0 + 13.0 / 9.0 + 3.0 + 1.0;
    assert!((profile.run_time_min() - expected).abs() < 1e-9);
    assert!((profile.bottom_time_min() - 45.0).abs() < 1e-12);
    assert!((profile.greatest_depth_m() - 18.0).abs() < 1e-12);
    let parts: Vec<_> = profile.legs().iter().map(|leg| leg.part).collect();
    assert_eq!(
        parts,
        [
            Part::Way,
            Part::Level,
            Part::Ascent,
            Part::Stop,
            Part::LastAscent
        ]
    );
    assert!(
        (profile.legs()[0].minutes - 1.0).abs() < 1e-12,
        "18 m at 18 m/min"
    );
}

#[test]
fn without_a_stop_the_last_five_metres_are_slow() {
    let plan = DivePlan::new(vec![level(14.0, 20.0)], stop(5.0, 0.0), Rates::USUAL).unwrap();
    let profile = plan.profile(&[]).unwrap();
    assert!((profile.run_time_min() - (20.0 + 1.0 + 1.0)).abs() < 1e-9);
    assert!(profile.stops().is_empty());
}

#[test]
fn a_level_shallower_than_the_stop_holds_it_where_it_is() {
    let profile = square(3.0, 20.0).profile(&[]).unwrap();
    assert!((profile.run_time_min() - (20.0 + 3.0 + 3.0 / 5.0)).abs() < 1e-9);
    assert!(profile.legs().iter().all(|leg| leg.to_m <= 3.0));
}

#[test]
fn every_level_too_short_for_its_way_is_named() {
    let faults = DivePlan::new(
        vec![level(40.0, 2.0), level(20.0, 5.0), level(10.0, 1.0)],
        Stop::USUAL,
        Rates::USUAL,
    )
    .unwrap_err();
    let paths: Vec<_> = faults.iter().map(|fault| fault.path.as_str()).collect();
    assert_eq!(paths, ["levels[0].minutes", "levels[2].minutes"]);
    assert!(
        DivePlan::new(vec![level(36.0, 2.0)], Stop::USUAL, Rates::USUAL).is_ok(),
        "just"
    );
}

#[test]
fn a_plan_needs_a_level_and_has_no_endless_list() {
    assert!(DivePlan::new(vec![], Stop::USUAL, Rates::USUAL).is_err());
    let many = vec![level(10.0, 5.0); MOST_LEVELS + 1];
    assert!(DivePlan::new(many, Stop::USUAL, Rates::USUAL).is_err());
}

#[test]
fn a_required_stop_takes_the_place_of_the_safety_stop_if_it_is_as_long() {
    let held = |required: &[Stop]| {
        let profile = square(30.0, 30.0).profile(required).unwrap();
        profile
            .stops()
            .iter()
            .map(|held| (held.stop.depth_m(), held.stop.minutes(), held.required))
            .collect::<Vec<_>>()
    };
    assert_eq!(held(&[stop(3.0, 3.0)]), [(3.0, 3.0, true)], "as long");
    assert_eq!(
        held(&[stop(3.0, 2.0)]),
        [(5.0, 3.0, false), (3.0, 2.0, true)],
        "shorter"
    );
    assert_eq!(
        held(&[stop(5.0, 1.0)]),
        [(5.0, 3.0, true)],
        "at the same depth, the longer"
    );
    assert_eq!(
        held(&[stop(9.0, 5.0)]),
        [(9.0, 5.0, true), (5.0, 3.0, false)],
        "too deep"
    );
    assert_eq!(
        held(&[stop(3.0, 8.0), stop(6.0, 2.0)]),
        [(6.0, 2.0, true), (3.0, 8.0, true)],
        "deepest first"
    );
}

/// 40 m, stops at 6 and 3 m: 34 m at 9 m/min, 2, 3 m at 9 m/min, 8, 3 m at 5 m/min.
#[test]
fn required_stops_enter_the_run_time() {
    let profile = square(40.0, 25.0)
        .profile(&[stop(6.0, 2.0), stop(3.0, 8.0)])
        .unwrap();
    let expected = 25.0 + 34.0 / 9.0 + 2.0 + 3.0 / 9.0 + 8.0 + 3.0 / 5.0;
    assert!((profile.run_time_min() - expected).abs() < 1e-9);
}

#[test]
fn a_required_stop_below_the_last_level_is_refused() {
    let faults = square(12.0, 30.0).profile(&[stop(15.0, 2.0)]).unwrap_err();
    assert_eq!(faults.iter().next().unwrap().path, "stops[0].depth_m");
}

#[test]
fn rates_and_stops_that_are_no_figures_are_refused() {
    let faults = Rates::new(f64::NAN, 0.0, 5.0).unwrap_err();
    let paths: Vec<_> = faults.iter().map(|fault| fault.path.as_str()).collect();
    assert_eq!(paths, ["descent_m_min", "ascent_m_min"]);
    assert!(Stop::new(f64::INFINITY, 3.0).is_err());
    assert!(Stop::new(5.0, -1.0).is_err());
}

prop_compose! {
    fn plans()(
        levels in prop::collection::vec((1.0..120.0_f64, 15.0..60.0_f64), 1..6),
        stop_m in 1.0..12.0_f64,
        stop_min in 0.0..10.0_f64,
    ) -> DivePlan {
        let levels = levels.into_iter().map(|(depth_m, minutes)| level(depth_m, minutes)).collect();
        DivePlan::new(levels, stop(stop_m, stop_min), Rates::USUAL).unwrap()
    }
}

proptest! {
    /// The legs join, start and end at the surface, and sum up to bottom time and run time.
    #[test]
    fn a_profile_is_one_unbroken_line(plan in plans()) {
        let profile = plan.profile(&[]).unwrap();
        let mut at_m = 0.0;
        for leg in profile.legs() {
            prop_assert!((leg.from_m - at_m).abs() < 1e-9);
            prop_assert!(leg.minutes > 0.0);
            at_m = leg.to_m;
        }
        prop_assert!(at_m.abs() < 1e-9);
        let bottom: f64 =
            profile.legs().iter().filter(|leg| leg.is_before_ascent()).map(|leg| leg.minutes).sum();
        prop_assert!((bottom - profile.bottom_time_min()).abs() < 1e-6);
        prop_assert!(profile.run_time_min() > profile.bottom_time_min());
    }

    /// A further required stop never shortens the dive, but for the way from the safety stop
    /// to a shallower one, which is then gone at the ascent rate: 12 m x (1/5 - 1/9) at most.
    #[test]
    fn a_required_stop_never_shortens_the_run(
        plan in plans(), depth_m in 1.0..60.0_f64, minutes in 0.0..30.0_f64,
    ) {
        let without = plan.profile(&[]).unwrap().run_time_min();
        if let Ok(with) = plan.profile(&[stop(depth_m, minutes)]) {
            let saved_at_most = 12.0 * (1.0 / 5.0 - 1.0 / 9.0) + 1e-9;
            prop_assert!(with.run_time_min() >= without - saved_at_most);
        }
    }
}
