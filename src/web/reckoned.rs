//! What a plan is to a group, as pages show it: for each member what comes back, what has to be
//! left, what limits, and what would mend it; what it owes; and a picture of the dive.

use std::collections::BTreeSet;

use super::dive_svg;
use crate::dive::findings::{Finding, Limiting, Severity, say_stops};
use crate::trip::dives::{self, Answer, Entry, Member, USUAL_INTERVAL_MIN};
use crate::trip::event::{Fitness, GroupFormed, PersonId};
use crate::trip::state::{Group, State};
use crate::units::rounding;
use crate::units::system::Measure;
use crate::words::{Arg, Words};

/// A plan reckoned for its group.
pub struct Reckoned {
    /// Whether it holds, in one sentence.
    pub verdict: String,
    /// A limit is broken.
    pub breaks: bool,
    /// Who released it all the same, and why.
    pub released: Option<String>,
    /// What the group owes; none within the limit.
    pub owes: Option<String>,
    /// Run time and leaving the bottom.
    pub times: String,
    /// Each member.
    pub members: Vec<MemberRow>,
    /// What it rests on.
    pub basis: Vec<String>,
    /// Depth, ceiling and gas over time, as SVG.
    pub picture: Option<String>,
}

/// A member of it.
pub struct MemberRow {
    /// Who.
    pub name: String,
    /// Back on the boat with so much, or what is lacking.
    pub end: String,
    /// Gas that brings two up.
    pub minimum: String,
    /// The bottom is left with this at the latest.
    pub leave: String,
    /// Time without stops.
    pub no_stop: String,
    /// Minutes to spare, or too many, by the gas.
    pub gas_spare: String,
    /// Minutes to spare, or too many, until stops are owed.
    pub no_stop_spare: String,
    /// Oxygen exposure of the day.
    pub exposure: String,
    /// What limits.
    pub limits: String,
    /// Has the least gas to spare of all.
    pub least_gas: bool,
    /// Has the least time without stops of all.
    pub least_time: bool,
    /// A limit is broken.
    pub breaks: bool,
    /// What stands against it and what would mend it.
    pub findings: Vec<Said>,
}

/// A finding in words.
pub struct Said {
    /// The sentence.
    pub text: String,
    /// It breaks a limit.
    pub is_limit: bool,
}

impl Reckoned {
    /// Reckons a group's plan; none if the plan does not hold in itself, which a form refuses
    /// with the reason.
    #[must_use]
    pub fn of(
        state: &State,
        dive: u32,
        formed: &GroupFormed,
        going: &[PersonId],
        entry: Entry,
        t: &Words,
    ) -> Option<Self> {
        let answer = dives::answer_for(state, dive, formed, going, entry).ok()?;
        let least_gas = answer.strictest_by_gas().map(|member| member.id);
        let least_time = answer.strictest_by_load().map(|member| member.id);
        let members: Vec<MemberRow> = answer
            .members
            .iter()
            .map(|member| MemberRow {
                least_gas: least_gas == Some(member.id),
                least_time: least_time == Some(member.id),
                ..row(state, member, t)
            })
            .collect();
        let broken = members.iter().filter(|member| member.breaks);
        let broken: Vec<String> = broken.map(|member| member.name.clone()).collect();
        let verdict = if broken.is_empty() {
            strictest(state, &answer, t)
        } else {
            let names = super::view::names(&broken, t);
            t.say_with("reckoned-breaks", &[("names", names.into())])
        };
        let owed = answer.owed();
        Some(Self {
            verdict,
            breaks: !broken.is_empty(),
            released: formed.limit_override.clone(),
            owes: (!owed.is_empty())
                .then(|| t.say_with("reckoned-owes", &[("stops", say_stops(&owed, t).into())])),
            times: t.say_with(
                "reckoned-times",
                &[
                    ("leaving", whole(answer.profile.bottom_time_min()).into()),
                    ("run", whole(answer.profile.run_time_min()).into()),
                ],
            ),
            basis: basis(state, &answer, entry, t),
            picture: dive_svg::draw(state, &answer, t),
            members,
        })
    }
}

/// The members of a group who go, or went, as they stand in its pairs and threes.
#[must_use]
pub fn in_order(group: &Group) -> Vec<PersonId> {
    let members = group.members();
    let formed = group.formed.units.iter().flatten().copied();
    let mut order: Vec<PersonId> = formed.filter(|id| members.contains(id)).collect();
    // Who is in the water with a group that was formed without them is reckoned all the same.
    let others = members
        .iter()
        .filter(|id| !group.formed.units.iter().flatten().any(|f| f == *id));
    order.extend(others.copied());
    order
}

/// What would be reached first by anybody, where nothing is broken.
fn strictest(state: &State, answer: &Answer, t: &Words) -> String {
    let spare = |member: &Member| {
        let gas = member.gas_spare_min.unwrap_or(f64::MAX);
        gas.min(member.no_stop_spare_min.unwrap_or(f64::MAX))
    };
    let first = answer
        .members
        .iter()
        .min_by(|a, b| spare(a).total_cmp(&spare(b)));
    let Some((member, limiting)) = first.and_then(|m| Some((m, m.limiting()?))) else {
        return t.say("reckoned-holds");
    };
    let args = [
        ("what", t.say(limiting_key(limiting)).into()),
        ("name", state.name_of(member.id).into()),
    ];
    t.say_with("reckoned-holds-first", &args)
}

fn row(state: &State, member: &Member, t: &Words) -> MemberRow {
    let bar = |bar: f64| t.say_with("reckoned-bar", &[("bar", bar.into())]);
    let gas = member.gas.as_ref();
    let unknown = || t.say("reckoned-no-gas");
    let start_bar = member.supply.map_or(0.0, |supply| supply.start.bar());
    let at_least = |needed: f64| {
        if needed < start_bar {
            bar(Measure::Needed.gauge(needed, t.system()))
        } else {
            t.say("reckoned-no-cylinder-does")
        }
    };
    let mut findings: Vec<Said> = member.findings.iter().map(|f| said(f, t)).collect();
    let who = state.people.get(&member.id);
    if who.is_some_and(|who| who.card.fitness == Fitness::Restricted) {
        let args = [("name", state.name_of(member.id).into())];
        findings.insert(
            0,
            Said {
                text: t.say_with("refused-restricted", &args),
                is_limit: true,
            },
        );
    }
    MemberRow {
        name: state.name_of(member.id).to_owned(),
        end: gas.map_or_else(unknown, |gas| {
            if gas.end_bar < 0.0 {
                let lacking = Measure::Needed.gauge(-gas.end_bar, t.system());
                t.say_with("reckoned-lacks", &[("bar", lacking.into())])
            } else {
                bar(Measure::Pressure.gauge(gas.end_bar, t.system()))
            }
        }),
        minimum: gas.map_or_else(unknown, |gas| at_least(gas.minimum_bar)),
        leave: gas.map_or_else(unknown, |gas| at_least(gas.turn_bar)),
        no_stop: member.reckoned.no_stop_limit_min.map_or_else(
            || t.say("reckoned-no-limit"),
            |limit| t.say_with("minutes", &[("n", rounding::down(limit).into())]),
        ),
        gas_spare: member
            .gas_spare_min
            .map_or_else(unknown, |min| spare(min, t)),
        no_stop_spare: member
            .no_stop_spare_min
            .map_or_else(|| t.say("reckoned-no-limit"), |min| spare(min, t)),
        exposure: t.say_with(
            "reckoned-percent",
            &[("pct", rounding::up(member.exposure_pct).into())],
        ),
        limits: limits(member, t),
        least_gas: false,
        least_time: false,
        breaks: findings.iter().any(|said| said.is_limit),
        findings,
    }
}

/// Every limit that is broken, else what would be reached first.
fn limits(member: &Member, t: &Words) -> String {
    let broken = member.findings.iter();
    let broken: BTreeSet<Limiting> = broken
        .filter(|finding| finding.severity() == Severity::Limit)
        .map(Finding::limiting)
        .collect();
    let all: Vec<Limiting> = if broken.is_empty() {
        member.limiting().into_iter().collect()
    } else {
        broken.into_iter().collect()
    };
    let words = all.into_iter().map(|one| t.say(limiting_key(one)));
    words.collect::<Vec<_>>().join(", ")
}

fn said(finding: &Finding, t: &Words) -> Said {
    Said {
        text: finding.say(t),
        is_limit: finding.severity() == Severity::Limit,
    }
}

/// `11 min to spare`, or `5 min too long`: to the unsafe side of neither.
fn spare(minutes: f64, t: &Words) -> String {
    if minutes < -1e-6 {
        t.say_with("reckoned-over", &[("n", rounding::up(-minutes).into())])
    } else {
        t.say_with(
            "reckoned-spare",
            &[("n", rounding::down(minutes).max(0.0).into())],
        )
    }
}

fn limiting_key(limiting: Limiting) -> &'static str {
    match limiting {
        Limiting::Gas => "limits-gas",
        Limiting::NoStop => "limits-no-stop",
        Limiting::Certification => "limits-certification",
        Limiting::Oxygen => "limits-oxygen",
        Limiting::Exposure => "limits-exposure",
        Limiting::Height => "limits-height",
    }
}

fn basis(state: &State, answer: &Answer, entry: Entry, t: &Words) -> Vec<String> {
    let factors = answer.model.gradient_factors;
    let per_cent = |factor: f64| Arg::from((factor * 100.0).round());
    let model = [
        ("low", per_cent(factors.low())),
        ("high", per_cent(factors.high())),
        ("reserve", dives::settings(state).reserve().bar().into()),
    ];
    let earlier = answer.members.iter().map(|m| m.earlier).max().unwrap_or(0);
    let mut basis = vec![t.say_with("reckoned-model", &model)];
    if earlier == 0 {
        basis.push(t.say("reckoned-no-earlier"));
    } else {
        basis.push(t.say_with("reckoned-earlier", &[("n", earlier.into())]));
        if entry == Entry::Planned {
            let args = [("min", USUAL_INTERVAL_MIN.into())];
            basis.push(t.say_with("reckoned-interval", &args));
        }
    }
    basis
}

fn whole(minutes: f64) -> f64 {
    minutes.round()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn minutes_are_rounded_to_the_safe_side() {
        let t = Words::english();
        assert!(spare(11.9, t).starts_with("11"), "{}", spare(11.9, t));
        assert!(spare(-4.1, t).starts_with('5'), "{}", spare(-4.1, t));
    }
}
