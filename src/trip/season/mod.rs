//! A season: what many trips' logs say together of run times, lateness, alarms and gas. Figures to
//! look at and to talk about; nothing here changes a setting or a window by itself.

mod quantile;
mod trip;

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;

use super::watch::Told;
use super::{SiteId, TripId};
use crate::dive::window::Light;

pub use quantile::{LEAST_FOR_MIDDLE, LEAST_FOR_TAILS, Spread, quantile};
pub use trip::{At, GroupDive, Return, TripFigures, Up, read};

/// Upper ends of the bands of current, knots; the last band has none (this tool's own, no source).
pub const BANDS_KN: [f64; 3] = [0.5, 1.0, 1.5];

/// Trips of some days, in order of day.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Season {
    /// The trips.
    pub trips: Vec<TripFigures>,
}

/// Figures that belong together, by what they are told apart by.
#[derive(Debug, Clone, PartialEq)]
pub struct By<K> {
    /// What.
    pub key: K,
    /// The figures themselves, in the order of the trips.
    pub figures: Vec<f64>,
}

impl<K> By<K> {
    /// How they spread.
    #[must_use]
    pub fn spread(&self) -> Option<Spread> {
        Spread::of(self.figures.iter().copied())
    }
}

/// A band of current at the drop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Band {
    /// The band of this number, from 0: up to [`BANDS_KN`] of it, the last without an end.
    Of(usize),
    /// Neither observed within the hour nor in a stream table.
    NotKnown,
}

/// Why dives of groups are left out of run times and lateness.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LeftOut {
    /// Only coming aboard is on the log.
    pub only_aboard: usize,
    /// Not on the log, or in doubt.
    pub not_known: usize,
}

/// Alarms of a trip.
#[derive(Debug, Clone, PartialEq)]
pub struct TripAlarms {
    /// The trip.
    pub trip: TripId,
    /// Its day.
    pub day: Date,
    /// Its boat.
    pub boat: String,
    /// Hours under way, if both ends are on its log.
    pub hours: Option<f64>,
    /// How they were answered.
    pub answered: Answered,
}

/// How alarms were answered.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Answered {
    /// How many there were.
    pub alarms: usize,
    /// How many of them are over.
    pub over: usize,
    /// How many of those were over before anybody acknowledged them.
    pub unanswered: usize,
    /// How many sounded only because a word came late.
    pub by_late_word: usize,
    /// Minutes to the acknowledgement, of those that were acknowledged.
    pub to_acknowledge_min: Vec<f64>,
}

impl Answered {
    fn add(&mut self, one: &Told) {
        let episode = &one.episode;
        self.alarms += 1;
        self.over += usize::from(episode.until.is_some());
        self.unanswered += usize::from(episode.ended_unseen());
        self.by_late_word += usize::from(one.by_late_word);
        let after = episode.answered_after();
        self.to_acknowledge_min
            .extend(after.map(|after| after.as_secs_f64() / 60.0));
    }

    /// Percent of those that are over that were over before anybody acknowledged them.
    #[must_use]
    pub fn unanswered_pct(&self) -> Option<f64> {
        (self.over > 0).then(|| self.unanswered as f64 / self.over as f64 * 100.0)
    }

    /// How the minutes to the acknowledgement spread.
    #[must_use]
    pub fn to_acknowledge(&self) -> Option<Spread> {
        Spread::of(self.to_acknowledge_min.iter().copied())
    }
}

/// Alarms in one hour under way of all trips.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HourUnderWay {
    /// Which hour after leaving the quay, from 1.
    pub hour: usize,
    /// Alarms that began in it.
    pub alarms: usize,
    /// Hours of it that the trips were under way together.
    pub hours: f64,
}

impl HourUnderWay {
    /// Alarms an hour under way.
    #[must_use]
    pub fn rate(&self) -> f64 {
        self.alarms as f64 / self.hours
    }
}

/// What the season's dives say of how far surfacing spreads about the plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observed {
    /// Run time as a share of the planned one.
    pub share: Spread,
    /// Minutes after the planned run time.
    pub after_min: Spread,
}

impl Season {
    /// The trips of these that are no drills, in order of day; with a site, only dives there, and
    /// only trips that dived there.
    #[must_use]
    pub fn of(trips: Vec<TripFigures>, site: Option<SiteId>) -> Self {
        let is_there =
            |at: &Option<At>| site.is_none_or(|site| at.as_ref().is_some_and(|at| at.site == site));
        let mut trips: Vec<TripFigures> = trips
            .into_iter()
            .filter(|trip| !trip.drill)
            .map(|mut trip| {
                trip.dives.retain(|dive| is_there(&dive.at));
                trip.returns.retain(|one| is_there(&one.at));
                trip
            })
            .filter(|trip| site.is_none() || !trip.dives.is_empty())
            .collect();
        trips.sort_by(|a, b| (a.day, &a.boat, a.trip).cmp(&(b.day, &b.boat, b.trip)));
        Self { trips }
    }

    /// Every dive of a group.
    pub fn dives(&self) -> impl Iterator<Item = &GroupDive> {
        self.trips.iter().flat_map(|trip| &trip.dives)
    }

    /// Minutes planned and dived, of the dives whose end is known.
    #[must_use]
    pub fn run_times(&self) -> Vec<(f64, f64)> {
        let known = self.dives().filter_map(|dive| match dive.up {
            Up::Seen { actual_min, .. } => Some((dive.planned_min, actual_min)),
            Up::OnlyAboard | Up::NotKnown => None,
        });
        known.collect()
    }

    /// How many dives are left out of that, and why.
    #[must_use]
    pub fn left_out(&self) -> LeftOut {
        let mut left = LeftOut::default();
        for dive in self.dives() {
            match dive.up {
                Up::Seen { .. } => {}
                Up::OnlyAboard => left.only_aboard += 1,
                Up::NotKnown => left.not_known += 1,
            }
        }
        left
    }

    /// Minutes of surfacing after the latest time, by what a dive is told apart by.
    fn lateness<K: Ord + Clone>(&self, key: impl Fn(&GroupDive) -> K) -> Vec<By<K>> {
        let known = self.dives().filter_map(|dive| match dive.up {
            Up::Seen { late_min, .. } => Some((key(dive), late_min)),
            Up::OnlyAboard | Up::NotKnown => None,
        });
        by(known)
    }

    /// Minutes of surfacing after the latest time, by name of the site; none where no site is on
    /// the log.
    #[must_use]
    pub fn lateness_by_site(&self) -> Vec<By<Option<String>>> {
        self.lateness(|dive| dive.at.as_ref().map(|at| at.name.clone()))
    }

    /// The same by the current at the drop.
    #[must_use]
    pub fn lateness_by_current(&self) -> Vec<By<Band>> {
        self.lateness(|dive| band(dive.current_kn))
    }

    /// Bar above the reserve that the trip planned with, by name of the site.
    #[must_use]
    pub fn gas_by_site(&self) -> Vec<By<Option<String>>> {
        let returns = self.trips.iter().flat_map(|trip| &trip.returns);
        by(returns.filter_map(|one| {
            let above = one.bar? - one.reserve_bar;
            Some((one.at.as_ref().map(|at| at.name.clone()), above))
        }))
    }

    /// Bar left of every dive of a person that was written down.
    #[must_use]
    pub fn gas_back(&self) -> Vec<f64> {
        let returns = self.trips.iter().flat_map(|trip| &trip.returns);
        returns.filter_map(|one| one.bar).collect()
    }

    /// Dives of people whose bar left nobody wrote down.
    #[must_use]
    pub fn gas_not_written(&self) -> usize {
        let returns = self.trips.iter().flat_map(|trip| &trip.returns);
        returns.filter(|one| one.bar.is_none()).count()
    }

    /// Alarms by trip.
    #[must_use]
    pub fn alarms_by_trip(&self) -> Vec<TripAlarms> {
        let of = |trip: &TripFigures| {
            let mut answered = Answered::default();
            for one in &trip.alarms {
                answered.add(one);
            }
            TripAlarms {
                trip: trip.trip,
                day: trip.day,
                boat: trip.boat.clone(),
                hours: trip.hours,
                answered,
            }
        };
        self.trips.iter().map(of).collect()
    }

    /// Alarms of all trips together.
    #[must_use]
    pub fn alarms(&self) -> Answered {
        let mut answered = Answered::default();
        for one in self.trips.iter().flat_map(|trip| &trip.alarms) {
            answered.add(one);
        }
        answered
    }

    /// Alarms an hour under way, with the hours, of the trips whose hours are known; `None`
    /// without any.
    #[must_use]
    pub fn alarms_an_hour(&self) -> Option<(f64, f64)> {
        let known = self
            .trips
            .iter()
            .filter_map(|t| Some((t.alarms.len(), t.hours?)));
        let (alarms, hours) = known.fold((0, 0.0), |(a, h), (n, hours)| (a + n, h + hours));
        (hours > 0.0).then(|| (alarms as f64 / hours, hours))
    }

    /// Alarms by the hour under way in which they began, of the trips whose hours are known. What
    /// began at the quay or after the return stands in none.
    #[must_use]
    pub fn alarms_by_hour(&self) -> Vec<HourUnderWay> {
        let mut hours: Vec<HourUnderWay> = Vec::new();
        for trip in &self.trips {
            let (Some(departed), Some(under_way)) = (trip.departed, trip.hours) else {
                continue;
            };
            for nth in 0..hours_in(under_way) {
                if hours.len() <= nth {
                    hours.push(HourUnderWay {
                        hour: nth + 1,
                        alarms: 0,
                        hours: 0.0,
                    });
                }
                if let Some(hour) = hours.get_mut(nth) {
                    hour.hours += (under_way - nth as f64).min(1.0);
                    hour.alarms += began_in(&trip.alarms, departed, under_way, nth);
                }
            }
        }
        hours
    }

    /// How far surfacing spread about the plan, by day or night: of the dives whose end is known
    /// and which were given no more time, as that follows no plan. `None` without any.
    #[must_use]
    pub fn observed(&self, light: Light) -> Option<Observed> {
        let dives = self
            .dives()
            .filter(|dive| dive.light == light && dive.given_min <= 0.0 && dive.planned_min > 0.0);
        let known: Vec<(f64, f64)> = dives
            .filter_map(|dive| match dive.up {
                Up::Seen { actual_min, .. } => Some((dive.planned_min, actual_min)),
                Up::OnlyAboard | Up::NotKnown => None,
            })
            .collect();
        Some(Observed {
            share: Spread::of(known.iter().map(|(planned, actual)| actual / planned))?,
            after_min: Spread::of(known.iter().map(|(planned, actual)| actual - planned))?,
        })
    }
}

/// Longest time under way that is told hour by hour.
const MOST_HOURS: f64 = 24.0;

/// How many hours, begun or whole, a time under way has.
fn hours_in(under_way: f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "0 to 24"
    )]
    let hours = under_way.clamp(0.0, MOST_HOURS).ceil() as usize;
    hours
}

fn began_in(alarms: &[Told], departed: Timestamp, under_way: f64, nth: usize) -> usize {
    let nth = nth as f64;
    alarms
        .iter()
        .map(|one| one.episode.since.duration_since(departed).as_secs_f64() / 3600.0)
        .filter(|hours| *hours >= nth && *hours < (nth + 1.0).min(under_way))
        .count()
}

fn band(current_kn: Option<f64>) -> Band {
    current_kn.map_or(Band::NotKnown, |kn| {
        let nth = BANDS_KN.iter().take_while(|end| kn >= **end).count();
        Band::Of(nth)
    })
}

fn by<K: Ord>(figures: impl Iterator<Item = (K, f64)>) -> Vec<By<K>> {
    let mut all: BTreeMap<K, Vec<f64>> = BTreeMap::new();
    for (key, figure) in figures {
        all.entry(key).or_default().push(figure);
    }
    all.into_iter()
        .map(|(key, figures)| By { key, figures })
        .collect()
}
