//! Who watches: what follows from the reports of the devices. A pure function of reports and time.

use std::collections::BTreeSet;

use crate::trip::TripId;
use crate::web::presence::{Post, SILENT_MS, Watcher};

/// Without an armed screen before somebody's eyes for so long nobody watches.
const UNWATCHED_MS: f64 = 30_000.0;
/// A page that is hidden for a moment only was left for another one of ours.
const HIDDEN_MS: f64 = 5_000.0;
/// A device's clock may be so far off before it is said (the box's page says the same).
const DEVICE_OFF_MS: f64 = 30_000.0;
/// The box may be so far from the middle of its devices: then a caution, and then a warning.
const BOX_OFF_MS: f64 = 5_000.0;
const BOX_FAR_OFF_MS: f64 = 60_000.0;

/// What follows from the reports.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Findings {
    /// People are in the water and no armed screen is before anybody's eyes.
    pub nobody: bool,
    /// Devices that reported on a trip with people out and fell silent.
    pub silent: BTreeSet<String>,
    /// Armed devices whose page is hidden while people are out.
    pub hidden: BTreeSet<String>,
    /// Devices whose clocks are off, beyond what their measuring may be wrong by.
    pub off: BTreeSet<String>,
    /// How far the devices are ahead of the box in the middle, milliseconds, with how many; none
    /// from fewer than two.
    pub median: Option<(f64, usize)>,
    /// How much the box is off by that.
    pub box_off: BoxOff,
}

/// How much the box is off from its devices.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum BoxOff {
    /// Not worth saying, or not known.
    #[default]
    No,
    /// Over five seconds.
    Some,
    /// Over a minute.
    Far,
}

/// What the reports say at `up_ms`. `out`: the trips with people out. `started_ms`: the uptime
/// when the server started: before the first half minute is over nobody can have reported.
/// `speed`: how fast the box's uptime runs; devices report by real seconds.
#[must_use]
pub fn find(
    watchers: &[Watcher],
    out: &BTreeSet<TripId>,
    up_ms: u64,
    started_ms: u64,
    speed: f64,
) -> Findings {
    // An uptime stays far below 2^53 ms.
    let ago = |at_ms: u64| up_ms.saturating_sub(at_ms) as f64 / speed.max(1.0);
    let mut found = Findings::default();
    let on_board = watchers
        .iter()
        .filter(|watcher| watcher.report.post != Post::Desk)
        .filter(|watcher| out.contains(&watcher.report.trip));
    let mut watched = BTreeSet::new();
    for watcher in on_board {
        let age_ms = ago(watcher.at_ms);
        let report = &watcher.report;
        if age_ms > SILENT_MS {
            found.silent.insert(watcher.name.clone());
        } else if report.armed && !report.visible && age_ms > HIDDEN_MS {
            found.hidden.insert(watcher.name.clone());
        }
        if report.armed && report.visible && age_ms <= UNWATCHED_MS {
            watched.insert(report.trip);
        }
    }
    found.nobody = out.iter().any(|trip| !watched.contains(trip)) && ago(started_ms) > UNWATCHED_MS;

    let offsets = watchers
        .iter()
        .filter(|watcher| ago(watcher.at_ms) <= SILENT_MS)
        .filter_map(|watcher| Some((watcher, watcher.report.offset?)));
    let mut middle: Vec<f64> = Vec::new();
    for (watcher, offset) in offsets {
        if offset.ms.abs() - offset.bound_ms > DEVICE_OFF_MS {
            found.off.insert(watcher.name.clone());
        }
        middle.push(offset.ms);
    }
    found.median = median(&mut middle);
    found.box_off = match found.median {
        Some((ms, _)) if ms.abs() > BOX_FAR_OFF_MS => BoxOff::Far,
        Some((ms, _)) if ms.abs() > BOX_OFF_MS => BoxOff::Some,
        Some(_) | None => BoxOff::No,
    };
    found
}

/// The middle of two or more figures.
fn median(figures: &mut [f64]) -> Option<(f64, usize)> {
    figures.sort_by(f64::total_cmp);
    let count = figures.len();
    if count < 2 {
        return None;
    }
    let upper = *figures.get(count / 2)?;
    let lower = *figures.get((count - 1) / 2)?;
    Some((f64::midpoint(lower, upper), count))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::web::presence::{Offset, Report};
    use uuid::Uuid;

    const START: u64 = 1_000_000;

    fn trip() -> TripId {
        TripId::new(Uuid::from_u128(7))
    }

    fn watcher(name: &str, at_ms: u64, change: impl FnOnce(&mut Report)) -> Watcher {
        let mut report = Report {
            trip: trip(),
            post: Post::Helm,
            visible: true,
            armed: true,
            wake_lock: true,
            heard_ago_ms: None,
            offset: None,
        };
        change(&mut report);
        Watcher {
            name: name.to_owned(),
            who: "Ilka Voss".to_owned(),
            report,
            at_ms,
        }
    }

    fn off(ms: f64) -> impl FnOnce(&mut Report) {
        move |report| report.offset = Some(Offset { ms, bound_ms: 40.0 })
    }

    fn found(watchers: &[Watcher], now_ms: u64) -> Findings {
        find(watchers, &BTreeSet::from([trip()]), now_ms, START, 1.0)
    }

    #[test]
    fn after_half_a_minute_without_an_armed_visible_screen_nobody_watches() {
        assert!(!found(&[], START + 30_000).nobody, "the first grace");
        assert!(found(&[], START + 30_001).nobody);
        let late = START + 600_000;
        let armed = watcher("Helm", late - 30_000, |_| ());
        assert!(!found(&[armed], late).nobody);
        for change in [
            (|r| r.visible = false) as fn(&mut Report),
            |r| r.armed = false,
            |r| r.post = Post::Desk,
            |r| r.trip = TripId::new(Uuid::from_u128(8)),
        ] {
            assert!(found(&[watcher("Helm", late, change)], late).nobody);
        }
        let stale = watcher("Helm", late - 30_001, |_| ());
        assert!(found(&[stale], late).nobody);
        let none = find(&[], &BTreeSet::new(), late, START, 1.0);
        assert_eq!(none, Findings::default(), "with nobody out nothing is said");
    }

    #[test]
    fn a_device_that_fell_silent_is_named_and_a_hidden_one_too() {
        let late = START + 600_000;
        let held = [
            watcher("Helm", late, |_| ()),
            watcher("Deck 1", late - 60_001, |_| ()),
            watcher("Deck 2", late - 59_999, |r| r.visible = false),
            watcher("Deck 3", late - 4_000, |r| r.visible = false),
            watcher("Deck 4", late - 59_999, |r| {
                r.visible = false;
                r.armed = false;
            }),
        ];
        let found = found(&held, late);
        assert_eq!(found.silent, BTreeSet::from(["Deck 1".to_owned()]));
        assert_eq!(found.hidden, BTreeSet::from(["Deck 2".to_owned()]));
        assert!(!found.nobody);
    }

    #[test]
    fn the_box_is_compared_with_the_middle_of_two_or_more_devices() {
        let late = START + 600_000;
        let one = [watcher("A", late, off(90_000.0))];
        let alone = found(&one, late);
        assert_eq!(
            (alone.median, alone.box_off),
            (None, BoxOff::No),
            "one says nothing"
        );
        assert_eq!(alone.off.len(), 1);
        let by = |all: [f64; 3]| {
            let held = all.map(|ms| watcher("A", late, off(ms)));
            found(&held, late)
        };
        assert_eq!(by([0.0, 5_001.0, 600_000.0]).box_off, BoxOff::Some);
        assert_eq!(by([-60_001.0, -60_001.0, 0.0]).box_off, BoxOff::Far);
        assert_eq!(by([100.0, -200.0, 600_000.0]).box_off, BoxOff::No);
        assert_eq!(by([1.0, 2.0, 3.0]).median, Some((2.0, 3)));
    }

    #[test]
    fn what_the_measuring_may_be_wrong_by_is_not_held_against_a_device() {
        let late = START + 600_000;
        let slow = watcher("A", late, |report| {
            report.offset = Some(Offset {
                ms: 31_000.0,
                bound_ms: 1_500.0,
            });
        });
        assert!(found(&[slow], late).off.is_empty());
        let sure = watcher("A", late, off(-30_100.0));
        assert_eq!(found(&[sure], late).off.len(), 1);
    }

    #[test]
    fn in_a_drill_devices_still_report_by_real_seconds() {
        let late = START + 60_000_000;
        let armed = watcher("Helm", late - 2_000_000, |_| ());
        let out = BTreeSet::from([trip()]);
        assert!(!find(std::slice::from_ref(&armed), &out, late, START, 100.0).nobody);
        assert!(find(&[armed], &out, late, START, 10.0).nobody);
    }
}
