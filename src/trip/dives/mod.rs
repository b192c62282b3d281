//! The dives of a day, person by person: what earlier ones leave in each diver, whether a
//! group's plan holds for everybody in it, and when a group that leaves the bottom now is up.
//!
//! Planning aids: they replace no dive computer, training or local code.

mod day;
mod way_up;

pub use day::{Before, USUAL_INTERVAL_MIN, dives_before, has_owed_stops, told_plan};
pub(super) use day::{DayDive, of_log};
pub use way_up::{ComingUp, coming_up};

use jiff::Timestamp;

use self::day::breather;
use super::event::{GroupFormed, Kit, PersonId, PlanSheet};
use super::state::State;
use crate::dive::ascent::{Breather, Model, StopLength};
use crate::dive::findings::{self, Finding, Limiting, Severity};
use crate::dive::gas::{GasMoment, GasPlan, Supply};
use crate::dive::mix::WORKING_PPO2_BAR;
use crate::dive::oxygen::exposure_pct;
use crate::dive::plan::{DivePlan, Level, PlannedStop, Profile, Rates, Stop};
use crate::dive::pressure::Column;
use crate::dive::reckon::{self, Moment, Reckoned, Reckoning};
use crate::dive::settings::PlanSettings;
use crate::units::Faults;

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

/// A plan out of what was written down of it.
///
/// # Errors
/// Levels out of order, or too short for the way to them.
pub fn dive_plan(sheet: &PlanSheet) -> Result<DivePlan, Faults> {
    let (stop, levels) = (&sheet.safety_stop, &sheet.levels);
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
        required(self.profile.stops())
    }

    /// Whether a limit is broken for anybody.
    #[must_use]
    pub fn breaks_limit(&self) -> bool {
        self.members.iter().any(Member::breaks_limit)
    }

    /// The member with the least gas over what has to be left.
    #[must_use]
    pub fn strictest_by_gas(&self) -> Option<&Member> {
        let spare_bar = |member: &Member| member.gas.map_or(f64::MAX, |gas| gas.spare_bar());
        self.members
            .iter()
            .filter(|member| member.gas.is_some())
            .min_by(|a, b| spare_bar(a).total_cmp(&spare_bar(b)))
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

/// The stops that are owed of those that are held.
fn required(stops: &[PlannedStop]) -> Vec<Stop> {
    let required = stops.iter().filter(|held| held.required);
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
    let plan = dive_plan(&formed.plan)?;
    let model = model(state, dive);
    let day: Vec<(PersonId, Before, Breather)> = going
        .iter()
        .map(|id| {
            let before = dives_before(state, *id, dive, entry);
            let diver = breather(formed.kit.get(id), &before, &model);
            (*id, before, diver)
        })
        .collect();
    let divers: Vec<Breather> = day.iter().map(|(_, _, diver)| *diver).collect();
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
        .map(|((id, before, diver), reckoned)| of_group.member(id, &before, &diver, reckoned))
        .collect();
    Ok(Answer {
        model,
        plan,
        profile,
        members,
    })
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
    fn member(
        &self,
        id: PersonId,
        before: &Before,
        diver: &Breather,
        reckoned: Reckoned,
    ) -> Member {
        let (plan, column) = (self.plan, self.column);
        let mix = diver.mix;
        let of_day = before.dives.iter().map(|dive| (&dive.profile, dive.mix));
        let of_day = of_day.chain(std::iter::once((self.profile, mix)));
        let exposure_pct = of_day
            .map(|(profile, mix)| exposure_pct(profile.legs(), mix, column))
            .sum();
        let supply = self.formed.kit.get(&id).map(supply);
        let reserve = settings(self.state).reserve();
        let gas = supply.map(|supply| GasPlan::of(&supply, plan, self.profile, column, reserve));
        let certified = self
            .state
            .people
            .get(&id)
            .and_then(|who| who.card.depth_limit_m);
        let mut found = Vec::from_iter(findings::of_earlier(before.unknown));
        found.extend(findings::of_gas(plan, mix, exposure_pct, column));
        found.extend(findings::of_load(plan, &reckoned));
        let supplied = supply.zip(gas);
        found.extend(
            supplied.and_then(|(supply, gas)| {
                findings::of_supply(&supply, &gas, plan, column, reserve)
            }),
        );
        found.extend(findings::of_certification(plan, certified));
        found.sort_by_key(|finding| std::cmp::Reverse(finding.severity()));
        let no_stop_limit_min = reckoned.no_stop_limit_min;
        let deepest_m = plan.greatest_depth_m();
        Member {
            id,
            before: *diver,
            earlier: before.dives.len(),
            reckoned,
            gas,
            supply,
            ppo2_bar: mix.ppo2_bar(deepest_m, column),
            mod_m: mix.operating_depth_m(WORKING_PPO2_BAR, column),
            exposure_pct,
            gas_spare_min: supplied.map(|(supply, gas)| gas.spare_min(&supply, plan, column)),
            no_stop_spare_min: no_stop_limit_min.map(|limit| limit - plan.bottom_time_min()),
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

fn minutes_from(from: Timestamp, to: Timestamp) -> f64 {
    to.duration_since(from).as_secs_f64() / 60.0
}
