//! The surfacing window: when a group is due, late and overdue, counted from its entry.

use jiff::SignedDuration;

use super::length_of;
use crate::units::bounds::{self, Bounds};
use crate::units::{Faults, Knots, Minutes};

/// Daylight or darkness at the end of a dive: at night heads are lost sooner.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Light {
    /// Between sunrise and sunset.
    Day,
    /// Between sunset and sunrise.
    Night,
}

/// The figures of [`WindowSettings`], as typed in; not yet checked.
///
/// No published code fixes these minutes: all defaults are this tool's own, and a centre, a
/// site or a plan may set tighter ones.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct WindowFigures {
    /// Earliest surfacing as a share of the run time.
    pub earliest_share: f64,
    /// Minutes from expected to latest by day.
    pub latest_after_min: f64,
    /// Minutes from latest to overdue by day.
    pub grace_min: f64,
    /// Minutes from expected to latest at night.
    pub night_latest_after_min: f64,
    /// Minutes from latest to overdue at night.
    pub night_grace_min: f64,
    /// Distance at which a head is lost to sight, nautical miles. IMO guidance on equipment
    /// asks that a marked person be visible from a ship at 0.2 nm by day (read in a summary).
    pub sight_nm: f64,
}

impl Default for WindowFigures {
    fn default() -> Self {
        Self {
            earliest_share: 0.70,
            latest_after_min: 5.0,
            grace_min: 5.0,
            night_latest_after_min: 3.0,
            night_grace_min: 3.0,
            sight_nm: 0.2,
        }
    }
}

/// Settings of a centre, a site or a plan, each within its range, the night never looser than
/// the day.
#[derive(Debug, Clone, Copy, Default, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(try_from = "WindowFigures", into = "WindowFigures")]
pub struct WindowSettings(WindowFigures);

impl From<WindowSettings> for WindowFigures {
    fn from(settings: WindowSettings) -> Self {
        settings.0
    }
}

impl TryFrom<WindowFigures> for WindowSettings {
    type Error = Faults;

    fn try_from(figures: WindowFigures) -> Result<Self, Faults> {
        let mut faults = Faults::new();
        let rows: [(&str, f64, Bounds); 6] = [
            (
                "earliest_share",
                figures.earliest_share,
                bounds::EARLIEST_SHARE,
            ),
            (
                "latest_after_min",
                figures.latest_after_min,
                bounds::WINDOW_MIN,
            ),
            ("grace_min", figures.grace_min, bounds::WINDOW_MIN),
            (
                "night_latest_after_min",
                figures.night_latest_after_min,
                bounds::WINDOW_MIN,
            ),
            (
                "night_grace_min",
                figures.night_grace_min,
                bounds::WINDOW_MIN,
            ),
            ("sight_nm", figures.sight_nm, bounds::SIGHT_NM),
        ];
        for (path, value, bounds) in rows {
            if !bounds.holds(value) {
                faults.add(
                    path,
                    format!("is {value}"),
                    format!("a number {}", bounds.in_words()),
                );
            }
        }
        for (path, night, day) in [
            (
                "night_latest_after_min",
                figures.night_latest_after_min,
                figures.latest_after_min,
            ),
            (
                "night_grace_min",
                figures.night_grace_min,
                figures.grace_min,
            ),
        ] {
            if night > day {
                faults.add(
                    path,
                    format!("is {night}, more than by day"),
                    format!("at most the {day} min of the day"),
                );
            }
        }
        faults.or(Self(figures))
    }
}

impl WindowSettings {
    /// The tighter figure of each pair: what a site or a plan adds can only bring forward.
    #[must_use]
    pub fn tightened_by(self, other: Self) -> Self {
        let (a, b) = (self.0, other.0);
        Self(WindowFigures {
            earliest_share: a.earliest_share.min(b.earliest_share),
            latest_after_min: a.latest_after_min.min(b.latest_after_min),
            grace_min: a.grace_min.min(b.grace_min),
            night_latest_after_min: a.night_latest_after_min.min(b.night_latest_after_min),
            night_grace_min: a.night_grace_min.min(b.night_grace_min),
            sight_nm: a.sight_nm.min(b.sight_nm),
        })
    }
}

/// When a group should come up, each as an offset from its entry:
/// `earliest <= expected <= latest <= overdue <= gas_endurance`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Window {
    /// From here on the group may well come up; coming up before is always possible.
    pub earliest: SignedDuration,
    /// The planned run time; from here on the group is due.
    pub expected: SignedDuration,
    /// From here on the group is late.
    pub latest: SignedDuration,
    /// From here on the group is overdue.
    pub overdue: SignedDuration,
    /// From here on treat all as out of gas; `None` where no member's supply is stated.
    pub gas_endurance: Option<SignedDuration>,
}

/// The window of a dive.
///
/// Overdue is latest plus grace, but with a drift no later than the time in which it carries a
/// head out of sight after the expected time, though not before latest. `drift`: of the water,
/// `None` where none is known. Nothing is later than the gas endurance.
#[must_use]
pub fn window(
    run_time: SignedDuration,
    settings: WindowSettings,
    light: Light,
    drift: Option<Knots>,
    gas_endurance: Option<SignedDuration>,
) -> Window {
    let figures = settings.0;
    let (latest_after_min, grace_min) = match light {
        Light::Day => (figures.latest_after_min, figures.grace_min),
        Light::Night => (figures.night_latest_after_min, figures.night_grace_min),
    };
    let run_min = run_time.as_secs_f64().max(0.0) / 60.0;
    let latest_min = run_min + latest_after_min;
    let mut overdue_min = latest_min + grace_min;
    if let Some(kn) = drift.map(Knots::kn).filter(|kn| *kn > 0.0) {
        // t = s / v: nautical miles over knots are hours.
        let out_of_sight_min = run_min + figures.sight_nm / kn * 60.0;
        overdue_min = overdue_min.min(out_of_sight_min.max(latest_min));
    }
    Window {
        earliest: length_of(run_min * figures.earliest_share),
        expected: length_of(run_min),
        latest: length_of(latest_min),
        overdue: length_of(overdue_min),
        gas_endurance,
    }
    .within_gas()
}

impl Window {
    /// A reckoning made after the drop: each time is the earlier of the frozen one and the
    /// new one, so that nothing moves back by itself.
    #[must_use]
    pub fn brought_forward_by(self, newer: Self) -> Self {
        let gas_endurance = match (self.gas_endurance, newer.gas_endurance) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (known, None) | (None, known) => known,
        };
        Self {
            earliest: self.earliest.min(newer.earliest),
            expected: self.expected.min(newer.expected),
            latest: self.latest.min(newer.latest),
            overdue: self.overdue.min(newer.overdue),
            gas_endurance,
        }
        .within_gas()
    }

    /// More time, given by somebody and logged: expected, latest and overdue move back, never
    /// past gas endurance.
    #[must_use]
    pub fn given(self, more: Minutes) -> Self {
        let more = length_of(more.min());
        Self {
            expected: self.expected.saturating_add(more),
            latest: self.latest.saturating_add(more),
            overdue: self.overdue.saturating_add(more),
            ..self
        }
        .within_gas()
    }

    fn within_gas(self) -> Self {
        let Some(end) = self.gas_endurance else {
            return self;
        };
        Self {
            earliest: self.earliest.min(end),
            expected: self.expected.min(end),
            latest: self.latest.min(end),
            overdue: self.overdue.min(end),
            ..self
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn minutes(count: i64) -> SignedDuration {
        SignedDuration::from_mins(count)
    }

    fn usual(run_min: i64, light: Light, drift_kn: Option<f64>, gas_min: Option<i64>) -> Window {
        window(
            minutes(run_min),
            WindowSettings::default(),
            light,
            drift_kn.map(|kn| Knots::from_kn(kn).unwrap()),
            gas_min.map(minutes),
        )
    }

    #[test]
    fn by_day_and_by_night() {
        let day = usual(50, Light::Day, None, Some(90));
        assert_eq!(
            (day.earliest, day.expected, day.latest, day.overdue),
            (minutes(35), minutes(50), minutes(55), minutes(60))
        );
        let night = usual(50, Light::Night, None, Some(90));
        assert_eq!((night.latest, night.overdue), (minutes(53), minutes(56)));
    }

    /// 0.2 nm at 1 kn are 12 minutes, at 2 kn 6, by division; at 4 kn 3, but latest holds.
    #[test]
    fn a_drift_brings_overdue_forward_but_not_before_latest() {
        let at = |kn| usual(50, Light::Day, Some(kn), Some(120)).overdue;
        assert_eq!(at(0.0), minutes(60));
        assert_eq!(at(1.0), minutes(60), "12 min would be later than the grace");
        assert_eq!(at(1.5), minutes(58));
        assert_eq!(at(2.0), minutes(56));
        assert_eq!(at(4.0), minutes(55));
    }

    #[test]
    fn nothing_is_later_than_the_gas() {
        let short = usual(50, Light::Day, None, Some(30));
        assert_eq!(
            (short.earliest, short.expected, short.latest, short.overdue),
            (minutes(30), minutes(30), minutes(30), minutes(30))
        );
        let given = usual(50, Light::Day, None, Some(70)).given(Minutes::from_min(30.0).unwrap());
        assert_eq!((given.expected, given.latest), (minutes(70), minutes(70)));
        assert_eq!(given.overdue, minutes(70));
    }

    #[test]
    fn more_time_moves_what_is_due_and_not_the_earliest() {
        let given = usual(50, Light::Day, None, None).given(Minutes::from_min(10.0).unwrap());
        assert_eq!(
            (given.earliest, given.expected, given.latest, given.overdue),
            (minutes(35), minutes(60), minutes(65), minutes(70))
        );
    }

    #[test]
    fn settings_out_of_range_are_all_named() {
        let figures = WindowFigures {
            earliest_share: 0.0,
            latest_after_min: f64::NAN,
            grace_min: 2.0,
            night_grace_min: 3.0,
            sight_nm: 5.0,
            ..WindowFigures::default()
        };
        let faults = WindowSettings::try_from(figures).unwrap_err();
        let paths: Vec<_> = faults.iter().map(|fault| fault.path.as_str()).collect();
        assert_eq!(
            paths,
            [
                "earliest_share",
                "latest_after_min",
                "sight_nm",
                "night_grace_min"
            ]
        );
    }

    #[test]
    fn settings_survive_their_own_text_and_refuse_unknown_fields() {
        let text = serde_json::to_string(&WindowSettings::default()).unwrap();
        let back: WindowSettings = serde_json::from_str(&text).unwrap();
        assert_eq!(back, WindowSettings::default());
        for refused in [r#"{"grace": 5}"#, r#"{"grace_min": 11}"#] {
            assert!(
                serde_json::from_str::<WindowSettings>(refused).is_err(),
                "{refused}"
            );
        }
    }

    prop_compose! {
        fn settings()(
            share in 0.1..=1.0_f64, latest in 0.0..=10.0_f64, grace in 0.0..=10.0_f64,
            night_latest in 0.0..=1.0_f64, night_grace in 0.0..=1.0_f64, sight in 0.05..=1.0_f64,
        ) -> WindowSettings {
            WindowSettings::try_from(WindowFigures {
                earliest_share: share,
                latest_after_min: latest,
                grace_min: grace,
                night_latest_after_min: latest * night_latest,
                night_grace_min: grace * night_grace,
                sight_nm: sight,
            })
            .unwrap()
        }
    }

    prop_compose! {
        fn windows()(
            run_s in 60..20_000_i64, settings in settings(), night in any::<bool>(),
            drift in prop::option::of(0.0..15.0_f64), gas_s in prop::option::of(0..30_000_i64),
        ) -> (SignedDuration, WindowSettings, Light, Option<f64>, Option<i64>) {
            let light = if night { Light::Night } else { Light::Day };
            (SignedDuration::from_secs(run_s), settings, light, drift, gas_s)
        }
    }

    fn reckon(
        (run, settings, light, drift, gas_s): (
            SignedDuration,
            WindowSettings,
            Light,
            Option<f64>,
            Option<i64>,
        ),
    ) -> Window {
        let drift = drift.map(|kn| Knots::from_kn(kn).unwrap());
        window(
            run,
            settings,
            light,
            drift,
            gas_s.map(SignedDuration::from_secs),
        )
    }

    fn is_ordered(w: &Window) -> bool {
        w.earliest <= w.expected
            && w.expected <= w.latest
            && w.latest <= w.overdue
            && w.gas_endurance.is_none_or(|end| w.overdue <= end)
    }

    fn is_no_later(a: &Window, b: &Window) -> bool {
        a.earliest <= b.earliest
            && a.expected <= b.expected
            && a.latest <= b.latest
            && a.overdue <= b.overdue
    }

    proptest! {
        #[test]
        fn the_times_of_a_window_are_in_order(
            one in windows(), two in windows(), more in 0.5..300.0_f64,
        ) {
            let (a, b) = (reckon(one), reckon(two));
            prop_assert!(is_ordered(&a));
            prop_assert!(is_ordered(&a.brought_forward_by(b)));
            prop_assert!(is_ordered(&a.given(Minutes::from_min(more).unwrap())));
        }

        #[test]
        fn a_new_reckoning_never_moves_a_deadline_back(one in windows(), two in windows()) {
            let (frozen, newer) = (reckon(one), reckon(two));
            let forward = frozen.brought_forward_by(newer);
            prop_assert!(is_no_later(&forward, &frozen) && is_no_later(&forward, &newer));
        }

        #[test]
        fn more_drift_is_never_later(one in windows(), stronger in 0.0..15.0_f64) {
            let (run, settings, light, drift, gas) = one;
            let stronger = drift.unwrap_or(0.0) + stronger;
            let strong = reckon((run, settings, light, Some(stronger), gas));
            prop_assert!(is_no_later(&strong, &reckon(one)));
        }

        #[test]
        fn less_gas_is_never_later(one in windows(), less in 0..30_000_i64) {
            let (run, settings, light, drift, gas) = one;
            let less = gas.map_or(less, |gas_s| gas_s.min(less));
            let short = reckon((run, settings, light, drift, Some(less)));
            prop_assert!(is_no_later(&short, &reckon(one)));
        }

        #[test]
        fn night_and_tighter_settings_are_never_later(one in windows(), other in settings()) {
            let (run, settings, _, drift, gas) = one;
            let day = reckon((run, settings, Light::Day, drift, gas));
            let night = reckon((run, settings, Light::Night, drift, gas));
            prop_assert!(is_no_later(&night, &day));
            let tight = reckon((run, settings.tightened_by(other), Light::Day, drift, gas));
            prop_assert!(is_no_later(&tight, &day));
        }
    }
}
