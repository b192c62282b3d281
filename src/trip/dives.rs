//! The dives of a day, person by person: what earlier ones leave in each diver, whether a
//! group's plan holds for everybody in it, and when a group that leaves the bottom now is up.
//!
//! Planning aids: they replace no dive computer, training or local code.

use jiff::{SignedDuration, Timestamp};

use super::event::{GroupFormed, Kit, LevelPlan, PersonId, StopPlan, ToldDive};
use super::state::{Group, Logged, Person, State, plus};
use crate::dive::ascent::{self, Breather, Model, StopLength};
use crate::dive::findings::{self, Finding, Limiting, Severity};
use crate::dive::gas::{GasMoment, GasPlan, Supply};
use crate::dive::mix::{Mix, WORKING_PPO2_BAR};
use crate::dive::oxygen::exposure_pct;
use crate::dive::plan::{DivePlan, Level, PlannedStop, Profile, Rates, Stop};
use crate::dive::pressure::Column;
use crate::dive::reckon::{self, EarlierDive, Moment, Reckoned, Reckoning};
use crate::dive::settings::PlanSettings;
use crate::dive::tissue::Tissues;
use crate::units::{Depth, Faults, Minutes, bounds};

/// Surface interval that is reckoned with while nobody knows it, minutes (common practice, no
/// source).
pub const USUAL_INTERVAL_MIN: f64 = 60.0;

/// Longest step of the picture of a plan, minutes.
const STEP_MIN: f64 = 0.5;

/// The model of a dive's plans: the centre's factors, the site's water, stops told in whole
/// minutes.
#[must_use]
pub fn model(state: &State, dive: u32) -> Model {
    let site = state.dives.get(&dive).map(|planned| &planned.site);
    Model {
        column: site.map(|site| site.water).unwrap_or_default(),
        gradient_factors: settings(state).gradient_factors(),
        stop_length: StopLength::WholeMinutes,
    }
}

/// The centre's figures for plans.
#[must_use]
pub fn settings(state: &State) -> PlanSettings {
    let opened = state.opened.as_ref();
    opened.map(|opened| opened.plans).unwrap_or_default()
}

/// When a dive begins that is reckoned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Entry {
    /// Not known yet: an hour after the dive before.
    Planned,
    /// At this instant.
    At(Timestamp),
}

/// A plan out of its parts.
///
/// # Errors
/// Levels out of order, or too short for the way to them.
pub fn dive_plan(levels: &[LevelPlan], stop: &StopPlan) -> Result<DivePlan, Faults> {
    let levels = levels
        .iter()
        .map(|l| Level {
            depth: l.depth_m,
            minutes: l.minutes,
        })
        .collect();
    let stop = Stop::new(stop.depth_m.m(), stop.minutes.min())
        .map_err(|out| Faults::one("safety_stop", out.to_string(), out.bounds.in_words()))?;
    DivePlan::new(levels, stop, Rates::USUAL)
}

/// What a plan is to a group.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// What it is held against.
    pub model: Model,
    /// The plan.
    pub plan: DivePlan,
    /// From leaving the surface to reaching it, the owed stops of the strictest included.
    pub profile: Profile,
    /// What it is to each member.
    pub members: Vec<Member>,
}

/// What a plan is to one member.
#[derive(Debug, Clone, PartialEq)]
pub struct Member {
    /// Who.
    pub id: PersonId,
    /// Load before the dive, and the gas.
    pub before: Breather,
    /// Earlier dives of the day that were reckoned with.
    pub earlier: usize,
    /// Limit, owed stops and load after.
    pub reckoned: Reckoned,
    /// The cylinder; none where no kit is known.
    pub gas: Option<GasPlan>,
    /// What is taken down.
    pub supply: Option<Supply>,
    /// Oxygen at the greatest depth, bar.
    pub ppo2_bar: f64,
    /// Depth at which it reaches the working limit, metres.
    pub mod_m: f64,
    /// Oxygen exposure of the day, percent.
    pub exposure_pct: f64,
    /// Minutes at the last level that the gas would still allow; below zero where it lacks.
    pub gas_spare_min: Option<f64>,
    /// Minutes at the last level until stops are owed; below zero beyond the limit, none where
    /// there is no limit.
    pub no_stop_spare_min: Option<f64>,
    /// What stands against it.
    pub findings: Vec<Finding>,
}

impl Member {
    /// Whether a limit is broken.
    #[must_use]
    pub fn breaks_limit(&self) -> bool {
        self.findings
            .iter()
            .any(|finding| finding.severity() == Severity::Limit)
    }

    /// What limits this member: what is broken, else what would be reached first.
    #[must_use]
    pub fn limiting(&self) -> Option<Limiting> {
        let broken = self
            .findings
            .iter()
            .find(|finding| finding.severity() == Severity::Limit)
            .map(Finding::limiting);
        broken.or(match (self.gas_spare_min, self.no_stop_spare_min) {
            (Some(gas), Some(no_stop)) if no_stop < gas => Some(Limiting::NoStop),
            (Some(_), _) => Some(Limiting::Gas),
            (None, Some(_)) => Some(Limiting::NoStop),
            (None, None) => None,
        })
    }
}

impl Answer {
    /// Stops that are owed, deepest first; the safety stop is not.
    #[must_use]
    pub fn owed(&self) -> Vec<Stop> {
        owed(&self.profile)
    }

    /// Whether a limit is broken for anybody.
    #[must_use]
    pub fn breaks_limit(&self) -> bool {
        self.members.iter().any(Member::breaks_limit)
    }

    /// The member with the least gas over what has to be left.
    #[must_use]
    pub fn strictest_by_gas(&self) -> Option<&Member> {
        let spare = |member: &Member| member.gas.map(|gas| gas.leaving_bar - gas.turn_bar);
        self.members
            .iter()
            .filter(|member| member.gas.is_some())
            .min_by(|a, b| {
                let order = spare(a).partial_cmp(&spare(b));
                order.unwrap_or(std::cmp::Ordering::Equal)
            })
    }

    /// The member with the shortest time without stops.
    #[must_use]
    pub fn strictest_by_load(&self) -> Option<&Member> {
        let limit = |member: &Member| member.reckoned.no_stop_limit_min.unwrap_or(f64::MAX);
        self.members
            .iter()
            .min_by(|a, b| limit(a).total_cmp(&limit(b)))
    }

    /// Gas over time of the member with the least of it over what has to be left; empty where no
    /// supply is known.
    #[must_use]
    pub fn gas_moments(&self) -> Vec<GasMoment> {
        self.strictest_by_gas()
            .and_then(|member| member.supply)
            .map_or_else(Vec::new, |supply| {
                supply.along(&self.profile, self.model.column, STEP_MIN)
            })
    }

    /// Depth and ceiling over time, for the member with the shortest time without stops.
    #[must_use]
    pub fn moments(&self) -> Vec<Moment> {
        self.strictest_by_load().map_or_else(Vec::new, |member| {
            reckon::moments(&self.profile, &member.before, &self.model, STEP_MIN)
        })
    }
}

/// Required stops of a profile.
fn owed(profile: &Profile) -> Vec<Stop> {
    let required = profile.stops().iter().filter(|held| held.required);
    required.map(|held| held.stop).collect()
}

/// Reckons a group's plan for each of its members, with the dives they make before it that day.
///
/// # Errors
/// If the plan does not hold in itself.
pub fn answer(
    state: &State,
    dive: u32,
    formed: &GroupFormed,
    entry: Entry,
) -> Result<Answer, Faults> {
    let members: Vec<PersonId> = formed.units.iter().flatten().copied().collect();
    answer_for(state, dive, formed, &members, entry)
}

/// The same for those who go.
///
/// # Errors
/// If the plan does not hold in itself.
pub fn answer_for(
    state: &State,
    dive: u32,
    formed: &GroupFormed,
    going: &[PersonId],
    entry: Entry,
) -> Result<Answer, Faults> {
    let plan = dive_plan(&formed.plan.levels, &formed.plan.safety_stop)?;
    let model = model(state, dive);
    let day: Vec<Before> = going
        .iter()
        .map(|id| {
            let earlier = dives_before(state, *id, dive, entry);
            let diver = breather(formed.kit.get(id), &earlier, &model);
            Before {
                id: *id,
                earlier,
                diver,
            }
        })
        .collect();
    let divers: Vec<Breather> = day.iter().map(|before| before.diver).collect();
    let Reckoning { profile, each } = reckon::reckon(&plan, &divers, &model)?;
    let of_group = OfGroup {
        state,
        formed,
        plan: &plan,
        profile: &profile,
        column: model.column,
    };
    let members = day
        .into_iter()
        .zip(each)
        .map(|(before, reckoned)| of_group.member(before, reckoned))
        .collect();
    Ok(Answer {
        model,
        plan,
        profile,
        members,
    })
}

/// A member before the dive.
struct Before {
    id: PersonId,
    earlier: Vec<EarlierDive>,
    diver: Breather,
}

/// A plan as one group dives it.
struct OfGroup<'a> {
    state: &'a State,
    formed: &'a GroupFormed,
    plan: &'a DivePlan,
    profile: &'a Profile,
    column: Column,
}

impl OfGroup<'_> {
    fn member(&self, before: Before, reckoned: Reckoned) -> Member {
        let Before { id, earlier, diver } = before;
        let (plan, profile, column) = (self.plan, self.profile, self.column);
        let mix = diver.mix;
        let exposure_pct = exposure_pct(profile.legs(), mix, column)
            + earlier
                .iter()
                .map(|dive| exposure_pct(dive.profile.legs(), dive.mix, column))
                .sum::<f64>();
        let supply = self.formed.kit.get(&id).map(supply);
        let reserve = settings(self.state).reserve();
        let gas = supply
            .as_ref()
            .map(|supply| GasPlan::of(supply, plan, profile, column, reserve));
        let mut found = findings::of_gas(plan, mix, exposure_pct, column);
        found.extend(findings::of_load(plan, &reckoned));
        if let (Some(supply), Some(gas)) = (&supply, &gas) {
            found.extend(findings::of_supply(supply, gas, plan, column, reserve));
        }
        let limit_m = self
            .state
            .people
            .get(&id)
            .map(|who| who.card.depth_limit_m.map_or(0.0, Depth::m));
        found.extend(findings::of_certification(plan, limit_m));
        found.sort_by_key(|finding| std::cmp::Reverse(finding.severity()));
        let last_m = plan.levels().last().map_or(0.0, |level| level.depth.m());
        let gas_spare_min = supply.as_ref().zip(gas.as_ref()).map(|(supply, gas)| {
            let spare_bar =
                (gas.leaving_bar - gas.turn_bar).min(gas.leaving_deepest_bar - gas.minimum_bar);
            spare_bar * supply.cylinder.l()
                / (supply.breathing.l_min() * column.ambient_bar(last_m))
        });
        let no_stop_spare_min = reckoned
            .no_stop_limit_min
            .map(|limit| limit - plan.bottom_time_min());
        let deepest_m = plan.greatest_depth_m();
        Member {
            id,
            before: diver,
            earlier: earlier.len(),
            reckoned,
            gas,
            supply,
            ppo2_bar: mix.ppo2_bar(deepest_m, column),
            mod_m: mix.operating_depth_m(WORKING_PPO2_BAR, column),
            exposure_pct,
            gas_spare_min,
            no_stop_spare_min,
            findings: found,
        }
    }
}

/// What a member takes down.
#[must_use]
pub fn supply(kit: &Kit) -> Supply {
    Supply {
        cylinder: kit.cylinder_l,
        start: kit.start_bar,
        breathing: kit.breathing_l_min,
    }
}

/// Somebody before a dive. Where no kit is known the gas is air, which loads more than any
/// nitrox.
fn breather(kit: Option<&Kit>, earlier: &[EarlierDive], model: &Model) -> Breather {
    Breather {
        tissues: reckon::load_after(Tissues::at_rest(model.column), earlier, model),
        mix: kit.map_or(Mix::AIR, |kit| Mix::nitrox(kit.oxygen)),
    }
}

/// A dive of the day: as logged, as told, or as planned where it has not been made.
pub(super) struct OfDay {
    /// As it was dived, or as planned.
    pub profile: Profile,
    /// The gas.
    pub mix: Mix,
    /// Left the surface and reached it; not known of a plan.
    pub times: Option<(Timestamp, Timestamp)>,
}

/// The dives that a person makes before a dive of the trip, in order of time, with the
/// intervals up to it.
///
/// What was logged or told replaces what was planned. A dive whose plan does not hold cannot
/// have been written by a form; if a device sent one, it is passed over here and its group is
/// marked by its own plan.
#[must_use]
pub fn dives_before(state: &State, id: PersonId, dive: u32, entry: Entry) -> Vec<EarlierDive> {
    let Some(person) = state.people.get(&id) else {
        return Vec::new();
    };
    let mut of_day: Vec<OfDay> = told(person)
        .chain((1..dive).filter_map(|nth| of_trip(state, person, nth)))
        .collect();
    // Told dives may have been made between those of the trip; planned ones come last.
    of_day.sort_by_key(|one| one.times.map_or(Timestamp::MAX, |(entered, _)| entered));
    let next: Vec<Option<Timestamp>> = of_day
        .iter()
        .skip(1)
        .map(|one| one.times.map(|(entered, _)| entered))
        .chain(std::iter::once(match entry {
            Entry::Planned => None,
            Entry::At(at) => Some(at),
        }))
        .collect();
    of_day
        .into_iter()
        .zip(next)
        .map(|(one, next)| {
            let interval_min = match (one.times, next) {
                // Statements that contradict each other leave no time at the surface.
                (Some((_, up)), Some(next)) => minutes_from(up, next).max(0.0),
                _ => USUAL_INTERVAL_MIN,
            };
            EarlierDive {
                profile: one.profile,
                mix: one.mix,
                interval_min,
            }
        })
        .collect()
}

fn minutes_from(from: Timestamp, to: Timestamp) -> f64 {
    to.duration_since(from).as_secs_f64() / 60.0
}

/// Dives of the day before the trip.
fn told(person: &Person) -> impl Iterator<Item = OfDay> + '_ {
    person.earlier.iter().filter_map(|told| {
        let profile = as_told(told.depth_m, told.minutes).ok()?;
        let entered = plus(told.surfaced_at, -profile.run_time());
        Some(OfDay {
            profile,
            mix: Mix::nitrox(told.oxygen),
            times: Some((entered, told.surfaced_at)),
        })
    })
}

/// The profile of a dive of which a depth and a bottom time are told: all of it at that depth.
///
/// # Errors
/// If the minutes do not suffice for the way down.
pub fn as_told(depth: Depth, minutes: Minutes) -> Result<Profile, Faults> {
    let levels = vec![Level { depth, minutes }];
    DivePlan::new(levels, Stop::USUAL, Rates::USUAL)?.profile(&[])
}

fn of_trip(state: &State, person: &Person, dive: u32) -> Option<OfDay> {
    if let Some(logged) = person.dives.get(&dive)
        && logged.entered_at.is_some()
    {
        return of_log(state, person.id, dive, logged);
    }
    let mut groups = state.groups_of(dive).into_iter();
    let group = groups.find(|group| group.members().contains(&person.id))?;
    let plan = dive_plan(&group.formed.plan.levels, &group.formed.plan.safety_stop).ok()?;
    let mix = mix_of(group, person.id);
    Some(OfDay {
        profile: reckon::as_planned(&plan, mix, &model(state, dive)).ok()?,
        mix,
        times: None,
    })
}

fn mix_of(group: &Group, id: PersonId) -> Mix {
    let kit = group.formed.kit.get(&id);
    kit.map_or(Mix::AIR, |kit| Mix::nitrox(kit.oxygen))
}

/// A dive as it was logged: the group's plan with the times and the depth that were stated.
pub(super) fn of_log(state: &State, id: PersonId, dive: u32, logged: &Logged) -> Option<OfDay> {
    let entered = logged.entered_at?;
    let group = state.groups.get(&logged.group?)?;
    let plan = dive_plan(&group.formed.plan.levels, &group.formed.plan.safety_stop).ok()?;
    // Not seen coming up means that the time aboard counts: a longer dive and less rest.
    let up = logged.surfaced_at.or(logged.aboard_at);
    let mix = mix_of(group, id);
    let Some(up) = up else {
        let profile = reckon::as_planned(&plan, mix, &model(state, dive)).ok()?;
        let up = plus(entered, profile.run_time());
        return Some(OfDay {
            profile,
            mix,
            times: Some((entered, up)),
        });
    };
    let profile = as_dived(&plan, minutes_from(entered, up), logged.greatest_depth_m)?;
    Some(OfDay {
        profile,
        mix,
        times: Some((entered, up)),
    })
}

/// Whether a dive that was told owed stops, by somebody rested.
#[must_use]
pub fn told_owes_stops(told: &ToldDive, model: &Model) -> bool {
    let levels = vec![Level {
        depth: told.depth_m,
        minutes: told.minutes,
    }];
    let mix = Mix::nitrox(told.oxygen);
    let profile = DivePlan::new(levels, Stop::USUAL, Rates::USUAL)
        .and_then(|plan| reckon::as_planned(&plan, mix, model));
    // What cannot be reckoned is no dive without stops.
    profile.map_or(true, |profile| !owed(&profile).is_empty())
}

/// Whether a dive as it was made owed stops, with what the diver carried into it. `made`: when
/// it began, its minutes, the greatest depth if known.
#[must_use]
pub fn owed_as_dived(
    state: &State,
    id: PersonId,
    dive: u32,
    group: &Group,
    made: (Timestamp, f64, Option<f64>),
) -> bool {
    let (entered, run_min, greatest_m) = made;
    let formed = &group.formed;
    let Some(plan) = dive_plan(&formed.plan.levels, &formed.plan.safety_stop)
        .ok()
        .and_then(|plan| plan_as_dived(&plan, run_min, greatest_m))
    else {
        return false;
    };
    let model = model(state, dive);
    let earlier = dives_before(state, id, dive, Entry::At(entered));
    let before = breather(formed.kit.get(&id), &earlier, &model);
    !ascent::is_within_no_stop(&plan, &before, &model)
}

/// The profile of a dive as it was made, see [`plan_as_dived`].
#[must_use]
pub fn as_dived(plan: &DivePlan, run_min: f64, greatest_m: Option<f64>) -> Option<Profile> {
    plan_as_dived(plan, run_min, greatest_m)?.profile(&[]).ok()
}

/// The plan that a dive amounts to of which the run time and perhaps the greatest depth are
/// known: the levels planned, the deepest as deep as stated, longer there or shorter at the end
/// by what the run time differs. More than was planned is taken to have been spent at the
/// deepest.
#[must_use]
pub fn plan_as_dived(plan: &DivePlan, run_min: f64, greatest_m: Option<f64>) -> Option<DivePlan> {
    let planned_m = plan.greatest_depth_m();
    let greatest_m = greatest_m.unwrap_or(planned_m);
    let mut levels: Vec<(f64, f64)> = plan
        .levels()
        .iter()
        .map(|level| {
            let m = level.depth.m();
            let m = if m >= planned_m {
                greatest_m
            } else {
                m.min(greatest_m)
            };
            (m.max(bounds::DEPTH_M.min), level.minutes.min())
        })
        .collect();
    let plan_of = |levels: &[(f64, f64)]| -> Option<DivePlan> {
        let levels = levels
            .iter()
            .map(|(m, min)| {
                Some(Level {
                    depth: Depth::from_m(*m).ok()?,
                    minutes: Minutes::from_min(min.min(bounds::LEVEL_MIN.max)).ok()?,
                })
            })
            .collect::<Option<Vec<_>>>()?;
        DivePlan::new(levels, plan.safety_stop(), plan.rates()).ok()
    };
    let run_time = |plan: &DivePlan| plan.profile(&[]).ok().map(|made| made.run_time_min());
    let square = || {
        let down_min = greatest_m / plan.rates().descent();
        // The way up of a square dive does not hang on its bottom time.
        let shortest = down_min.max(bounds::LEVEL_MIN.min);
        let up_min = run_time(&plan_of(&[(greatest_m, shortest)])?)? - shortest;
        plan_of(&[(greatest_m, (run_min - up_min).max(shortest))])
    };
    let Some(planned_min) = plan_of(&levels).as_ref().and_then(run_time) else {
        return square();
    };
    let mut more_min = run_min - planned_min;
    if more_min >= 0.0 {
        let deepest = levels.iter_mut().find(|(m, _)| *m >= greatest_m);
        if let Some((_, minutes)) = deepest {
            *minutes += more_min;
        }
        return plan_of(&levels).or_else(square);
    }
    while more_min < 0.0
        && let Some((m, minutes)) = levels.pop()
    {
        if minutes + more_min > 1.0 {
            levels.push((m, minutes + more_min));
            break;
        }
        more_min += minutes;
    }
    plan_of(&levels).or_else(square)
}

/// The way up of a group that leaves the bottom at some time.
#[derive(Debug, Clone, PartialEq)]
pub struct ComingUp {
    /// Stops to be held, deepest first, the safety stop among them.
    pub stops: Vec<PlannedStop>,
    /// Reaches the surface.
    pub up_at: Timestamp,
}

impl ComingUp {
    /// When it is up, to the whole minute that has then begun: never earlier than reckoned.
    #[must_use]
    pub fn up_by_minute(&self) -> Timestamp {
        let seconds = self.up_at.as_second();
        let is_whole = seconds % 60 == 0 && self.up_at.subsec_nanosecond() == 0;
        let minute = seconds.div_euclid(60) + i64::from(!is_whole);
        Timestamp::from_second(minute * 60).unwrap_or(self.up_at)
    }

    /// Stops that are owed.
    #[must_use]
    pub fn owed(&self) -> Vec<Stop> {
        let required = self.stops.iter().filter(|held| held.required);
        required.map(|held| held.stop).collect()
    }
}

/// When a group in the water is up, and what it owes, if it leaves the bottom at `leaving`:
/// the plan cut at that time, or its last level stretched to it.
///
/// `None` for a group that is not in the water or whose plan is not known.
#[must_use]
pub fn coming_up(state: &State, group: &Group, leaving: Timestamp) -> Option<ComingUp> {
    let drop = group.drop.as_ref()?;
    let formed = &group.formed;
    let bottom_min = minutes_from(drop.at, leaving).max(0.0);
    let levels = cut_at(&formed.plan.levels, bottom_min)?;
    let plan = dive_plan(&levels, &formed.plan.safety_stop).ok()?;
    let model = model(state, group.dive);
    let legs = plan.bottom_legs();
    let mut leaving_divers: Vec<Breather> = Vec::new();
    for id in &drop.members {
        let earlier = dives_before(state, *id, group.dive, Entry::At(drop.at));
        let diver = breather(formed.kit.get(id), &earlier, &model).after_all(&legs, model.column);
        // Most groups are alike; one reckoning does for all who carry the same.
        if !leaving_divers.contains(&diver) {
            leaving_divers.push(diver);
        }
    }
    let from_m = plan.levels().last().map_or(0.0, |level| level.depth.m());
    let required = ascent::required_stops(&leaving_divers, from_m, plan.rates(), &model).ok()?;
    let profile = plan.profile(&required).ok()?;
    let way_up_min = profile.run_time_min() - profile.bottom_time_min();
    let way_up = SignedDuration::try_from_secs_f64(way_up_min * 60.0).ok()?;
    Some(ComingUp {
        stops: profile.stops().to_vec(),
        up_at: plus(leaving, way_up),
    })
}

/// Levels of a plan that is left after `bottom_min` minutes.
fn cut_at(levels: &[LevelPlan], bottom_min: f64) -> Option<Vec<LevelPlan>> {
    let mut cut: Vec<LevelPlan> = Vec::new();
    let mut left_min = bottom_min;
    let mut at_m = 0.0;
    for (nth, level) in levels.iter().enumerate() {
        let is_last = nth + 1 == levels.len();
        let way_min = Rates::USUAL.travel_min(at_m, level.depth_m.m());
        let planned_min = level.minutes.min();
        let minutes = if is_last {
            left_min
        } else {
            left_min.min(planned_min)
        };
        // Who has only just started for a level is taken to have reached it.
        let least_min = way_min.max(bounds::LEVEL_MIN.min);
        let minutes = minutes.max(least_min).min(bounds::LEVEL_MIN.max);
        cut.push(LevelPlan {
            depth_m: level.depth_m,
            minutes: Minutes::from_min(minutes).ok()?,
        });
        left_min -= planned_min;
        at_m = level.depth_m.m();
        if left_min <= 0.0 {
            break;
        }
    }
    (!cut.is_empty()).then_some(cut)
}
