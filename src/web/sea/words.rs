//! Words for currents, likely places, pickup zones and what lies ahead of a group.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::sea::zones::{Ranked, Sets, Unfit};
use crate::trip::likely::{Basis, Likely};
use crate::trip::outlook::{Ashore, Conflict};
use crate::trip::waters::{CurrentAt, CurrentBasis};
use crate::web::view;
use crate::words::Words;

/// What a page needs to say a time: its words, zone and instant.
#[derive(Debug, Clone, Copy)]
pub struct Told<'p> {
    /// The words.
    pub t: &'static Words,
    /// The zone of the trip.
    pub zone: &'p TimeZone,
    /// Now.
    pub now: Timestamp,
}

impl Told<'_> {
    fn clock(&self, at: Timestamp) -> String {
        view::clock_time(at, self.zone)
    }

    /// `going to 225° T, 0.6 kn, seen 13:50, 12 min ago`.
    #[must_use]
    pub fn current(&self, current: &CurrentAt) -> String {
        let drift_kn = tenths(current.velocity.speed_kn());
        let flow = if drift_kn > 0.0 {
            let args = [
                ("set", view::degrees(current.velocity.course_deg()).into()),
                ("drift", drift_kn.into()),
            ];
            self.t.say_with("sea-current", &args)
        } else {
            self.t.say("sea-slack")
        };
        let seen = current.seen_at.unwrap_or(self.now);
        let args = [
            ("current", flow.into()),
            ("at", self.clock(seen).into()),
            ("minutes", view::watch_minutes(seen, self.now).max(0).into()),
        ];
        self.t.say_with(
            match current.basis {
                CurrentBasis::Observed => "sea-current-observed",
                CurrentBasis::Table => "sea-current-table",
                CurrentBasis::Old => "sea-current-old",
                CurrentBasis::Unknown => "sea-current-unknown",
            },
            &args,
        )
    }

    /// `Water to 225° T, 0.6 kn`, for a corner of a drawing.
    #[must_use]
    pub fn current_in_short(&self, current: &CurrentAt) -> String {
        let args = [
            ("set", view::degrees(current.velocity.course_deg()).into()),
            ("drift", tenths(current.velocity.speed_kn()).into()),
            ("at", self.clock(current.seen_at.unwrap_or(self.now)).into()),
        ];
        self.t.say_with(
            match current.basis {
                CurrentBasis::Observed => "sea-short-observed",
                CurrentBasis::Table => "sea-short-table",
                CurrentBasis::Old => "sea-short-old",
                CurrentBasis::Unknown => "sea-short-unknown",
            },
            &args,
        )
    }

    /// `likely area, valid 14:35, within 120 m`.
    #[must_use]
    pub fn likely(&self, likely: &Likely) -> String {
        let args = [
            ("at", self.clock(likely.at).into()),
            ("spread", view::metres(likely.spread_m * NINE_IN_TEN).into()),
            ("seen", self.clock(likely.since).into()),
        ];
        self.t.say_with(
            match likely.basis {
                Basis::Seen => "sea-likely-seen",
                Basis::Buoy => "sea-likely-buoy",
                Basis::Reckoned => "sea-likely-reckoned",
            },
            &args,
        )
    }

    /// Where a group drifts to, and when.
    #[must_use]
    pub fn ashore(&self, ashore: &Ashore) -> String {
        let args = [
            ("area", ashore.area.as_str().into()),
            ("near", self.clock(ashore.near_at).into()),
            (
                "touches",
                ashore
                    .touches_at
                    .map_or_else(String::new, |at| self.clock(at))
                    .into(),
            ),
        ];
        let key = match (ashore.near_at <= self.now, ashore.touches_at) {
            (true, Some(_)) => "sea-ashore-near-now",
            (true, None) => "sea-ashore-near-clear",
            (false, Some(_)) => "sea-ashore",
            (false, None) => "sea-ashore-near",
        };
        let line = self.t.say_with(key, &args);
        if ashore.if_adrift {
            self.t
                .say_with("sea-ashore-if-adrift", &[("what", line.into())])
        } else {
            line
        }
    }

    /// What a window runs into.
    #[must_use]
    pub fn conflict(&self, conflict: &Conflict) -> String {
        match conflict {
            Conflict::AfterSunset { sunset: None } => self.t.say("sea-conflict-night"),
            Conflict::AfterSunset { sunset: Some(at) } => {
                let args = [("at", self.clock(*at).into())];
                self.t.say_with("sea-conflict-sunset", &args)
            }
            Conflict::Turns {
                at,
                set_deg,
                drift_kn,
            } => {
                let args = [
                    ("at", self.clock(*at).into()),
                    ("set", view::degrees(*set_deg).into()),
                    ("drift", tenths(*drift_kn).into()),
                ];
                self.t.say_with("sea-conflict-turns", &args)
            }
            Conflict::Outgrows { at, drift_kn } => {
                let args = [
                    ("at", self.clock(*at).into()),
                    ("drift", tenths(*drift_kn).into()),
                ];
                self.t.say_with("sea-conflict-outgrows", &args)
            }
        }
    }

    /// Why a zone stands where it does.
    #[must_use]
    pub fn zone(&self, zone: &Ranked) -> String {
        let t = self.t;
        let mut parts = vec![t.say_with(
            "sea-zone-distance",
            &[("metres", view::metres(zone.distance_m).into())],
        )];
        match zone.unfit {
            Some(Unfit::TooNear { missing_m }) => {
                let missing = view::metres_to_keep(missing_m.ceil());
                parts.insert(
                    0,
                    t.say_with("sea-zone-too-near", &[("metres", missing.into())]),
                );
            }
            Some(Unfit::TooSoon { minutes, least }) => {
                let args = [
                    ("minutes", minutes.floor().into()),
                    ("least", least.ceil().into()),
                ];
                parts.insert(0, t.say_with("sea-zone-too-soon", &args));
            }
            None => {}
        }
        parts.push(t.say(match zone.sets {
            Sets::Slack => "sea-zone-slack",
            Sets::Clear => "sea-zone-clear",
            Sets::Towards => "sea-zone-towards",
        }));
        if let Some(m) = zone.stand_off_m {
            let metres = ("metres", view::metres(m).into());
            parts.push(match zone.stand_off_min {
                Some(minutes) => {
                    let args = [metres, ("minutes", minutes.floor().into())];
                    t.say_with("sea-zone-stand-off", &args)
                }
                None => t.say_with("sea-zone-stand-off-clear", &[metres]),
            });
        }
        if zone.in_lee {
            parts.push(t.say("sea-zone-lee"));
        }
        parts.join("; ")
    }
}

/// So many standard deviations about the middle hold nine in ten of a round spread:
/// sqrt(-2 ln 0.1).
pub const NINE_IN_TEN: f64 = 2.145_966;

fn tenths(figure: f64) -> f64 {
    (figure * 10.0).round() / 10.0
}
