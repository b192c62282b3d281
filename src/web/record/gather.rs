//! Gathers the record of a trip out of its log.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;

use super::{
    Actual, AfterLine, AlertLine, Alerts, BeforeLine, ConditionLine, CountLine, DiveLine,
    IncidentLine, OneCount, Out, OverrideLine, Planned, Record, RollLine, SealLine, SignOffLine,
    SignatureLine, lack,
};
use crate::store::Reckoned;
use crate::trip::TripId;
use crate::trip::after;
use crate::trip::decide::cannot_sign;
use crate::trip::event::{Entry, EventId, Fact, PersonId, Point, Role};
use crate::trip::gate::gate;
use crate::trip::roll::{Call, Outcome};
use crate::trip::state::{Logged, Person, Phase, State, effective};
use crate::trip::watch::{Alert, AlertState, Episode, history};
use crate::units::LitresPerMinute;
use crate::web::form::sentence;
use crate::web::view;
use crate::words::Words;

/// A trip's log with what it folds to.
#[derive(Debug, Clone, Copy)]
pub struct Source<'a> {
    /// The trip.
    pub trip: TripId,
    /// The last entry.
    pub entry: u64,
    /// What the log folds to.
    pub state: &'a State,
    /// The log.
    pub entries: &'a [Entry],
}

/// The record of a trip at `now`. `relayed`: the entries that came from another box.
///
/// Reads the log once for each instant of it, for its alerts: some tenths of a second for a long
/// day, so not on a thread that others wait for.
#[must_use]
pub fn gather(of: Source<'_>, relayed: &BTreeSet<u64>, now: Timestamp) -> Record {
    let (state, t) = (of.state, crate::web::language::words());
    let opened = state.opened.as_ref();
    let text =
        |of: fn(&crate::trip::event::TripOpened) -> String| opened.map_or_else(String::new, of);
    let is_ended = matches!(state.phase, Phase::Back | Phase::Closed);
    let out: Vec<Out> = state
        .not_accounted()
        .map(|person| Out {
            name: person.name().to_owned(),
            place: person.place,
        })
        .collect();
    Record {
        trip: of.trip,
        entry: of.entry,
        made_at: now,
        drill: opened.is_some_and(|o| o.drill),
        day: text(|o| o.day.to_string()),
        time_zone: text(|o| o.time_zone.clone()),
        boat: text(|o| o.boat.name.clone()),
        call_sign: text(|o| o.boat.call_sign.clone()),
        harbour: text(|o| o.harbour.clone()),
        in_command: state.command.name.clone(),
        phase: state.phase,
        everybody_accounted_for: is_ended
            && out.is_empty()
            && gate(state, Point::Return).is_empty(),
        out,
        dives: dives(state),
        counts: state.calls.iter().map(|call| count(state, call)).collect(),
        rolls: rolls(state),
        alerts: alerts(of, now, t),
        overrides: state
            .overrides
            .iter()
            .map(|one| OverrideLine {
                what: one.what.0,
                reason: one.what.1.clone(),
                by: one.by.clone(),
                at: one.at,
            })
            .collect(),
        incidents: state
            .incidents
            .iter()
            .map(|one| IncidentLine {
                text: one.what.text.clone(),
                persons: named(state, &one.what.persons),
                by: one.by.clone(),
                at: one.at,
                record: one.what.record.clone(),
            })
            .collect(),
        before_departure: before_departure(of.entries),
        conditions: conditions(of.entries),
        sign_off: sign_off(of, relayed, t),
    }
}

fn named<'a>(state: &State, persons: impl IntoIterator<Item = &'a PersonId>) -> Vec<String> {
    persons
        .into_iter()
        .map(|id| state.name_of(*id).to_owned())
        .collect()
}

fn dives(state: &State) -> Vec<DiveLine> {
    let mut lines: Vec<DiveLine> = state
        .people
        .values()
        .flat_map(|person| {
            person
                .dives
                .iter()
                .filter(|(_, logged)| logged.entered_at.is_some())
                .map(move |(dive, logged)| dive_line(state, person, *dive, logged))
        })
        .collect();
    lines.sort_by(|a, b| (a.dive, &a.group, &a.name).cmp(&(b.dive, &b.group, &b.name)));
    lines
}

/// A dive of a person, planned and actual.
pub(in crate::web) fn dive_line(
    state: &State,
    person: &Person,
    dive: u32,
    logged: &Logged,
) -> DiveLine {
    let group = logged.group.and_then(|id| state.groups.get(&id));
    let kit = group.and_then(|group| group.formed.kit.get(&person.id));
    let plan = group.map(|group| &group.formed.plan);
    let deepest = |levels: &[crate::trip::event::LevelPlan]| {
        levels
            .iter()
            .map(|level| level.depth_m.m())
            .reduce(f64::max)
    };
    let owed = group
        .and_then(|group| group.drop.as_ref())
        .map(|drop| drop.owes.iter().map(|stop| stop.minutes.min()).sum::<f64>())
        .filter(|minutes| *minutes > 0.0);
    let minutes = logged.entered_at.zip(logged.surfaced_at);
    DiveLine {
        dive,
        site: state
            .dives
            .get(&dive)
            .map_or_else(String::new, |planned| planned.site.name.clone()),
        group: group.map_or_else(String::new, |group| group.formed.letter.clone()),
        name: person.name().to_owned(),
        cylinder_l: kit.map(|kit| kit.cylinder_l.l()),
        oxygen: kit.map(|kit| kit.oxygen.fraction()),
        planned: Planned {
            entry_at: group.and_then(|group| group.formed.enters_at),
            run_time_min: plan.map(|plan| plan.run_time_min),
            greatest_depth_m: plan.and_then(|plan| deepest(&plan.levels)),
            start_bar: kit.map(|kit| kit.start_bar.bar()),
            stop_min: owed.or(plan.map(|plan| plan.safety_stop.minutes.min())),
        },
        actual: Actual {
            entered_at: logged.entered_at,
            surfaced_at: logged.surfaced_at,
            aboard_at: logged.aboard_at,
            run_time_min: minutes.map(|(entered, up)| view::watch_minutes(entered, up)),
            greatest_depth_m: logged.greatest_depth_m,
            end_bar: logged.bar,
            stop_done: logged.stop_done,
            breathing_l_min: after::surface_rate(state, person, dive).map(LitresPerMinute::l_min),
        },
        seen_by: logged.seen_by.clone(),
        noted: logged.problem.clone(),
    }
}

fn count(state: &State, call: &Call) -> CountLine {
    let outcome = call.outcome();
    // While one is open, an earlier count's figure would be read as this one's.
    let is_hidden = state.is_counting() || matches!(outcome, Outcome::Open { .. });
    let (word, agreed_on) = match outcome {
        Outcome::Open { .. } => ("open", None),
        Outcome::Agreed { people } => ("agreed", Some(people)),
        Outcome::Failed => ("failed", None),
    };
    let counts = (1_u32..)
        .zip(&call.rounds)
        .flat_map(|(round, counts)| counts.iter().map(move |count| (round, count)))
        .map(|(round, count)| OneCount {
            round,
            by: count.by.clone(),
            at: count.at,
            method: count.method,
            people: (!is_hidden).then_some(count.people),
            log_aboard: (!is_hidden).then_some(count.log_aboard),
        })
        .collect();
    CountLine {
        point: call.point,
        dive: call.dive,
        number: call.number,
        outcome: word,
        agreed_on: agreed_on.filter(|_| !is_hidden),
        counts,
    }
}

fn rolls(state: &State) -> Vec<RollLine> {
    let is_hidden = state.is_counting();
    let shown = |persons: &BTreeSet<PersonId>| {
        if is_hidden {
            Vec::new()
        } else {
            named(state, persons)
        }
    };
    state
        .rolls
        .iter()
        .map(|roll| RollLine {
            point: roll.point,
            dive: roll.dive,
            by: roll.by.clone(),
            at: roll.at,
            seen: shown(&roll.present),
            not_seen: shown(&roll.not_seen),
        })
        .collect()
}

fn alerts(of: Source<'_>, now: Timestamp, t: &Words) -> Alerts {
    let told = history(of.trip, of.entries, now);
    let asking: Vec<&Episode> = told.iter().filter(|one| one.asks_for_an_act()).collect();
    let dealt: Vec<&&Episode> = asking
        .iter()
        .filter(|one| !one.went_over && (one.until.is_some() || one.acknowledged.is_some()))
        .collect();
    let ended_unseen = dealt.iter().filter(|one| one.ended_unseen()).count();
    let mut answers: Vec<i64> = asking
        .iter()
        .filter_map(|one| one.answered_after())
        .map(|after| after.as_secs())
        .collect();
    answers.sort_unstable();
    let share = |part: usize, of: usize| (of > 0).then(|| part as f64 / of as f64);
    Alerts {
        asking_for_an_act: asking.len(),
        dealt_with: dealt.len(),
        ended_unseen,
        share_ended_unseen: share(ended_unseen, dealt.len()),
        // Of an even number the longer of the two in the middle.
        median_answer_s: answers.get(answers.len() / 2).copied(),
        longest_answer_s: answers.last().copied(),
        all: told
            .into_iter()
            .map(|one| alert_line(of.state, one, t))
            .collect(),
    }
}

fn alert_line(state: &State, one: Episode, t: &Words) -> AlertLine {
    let (ended_unseen, answered) = (one.ended_unseen(), one.answered_after());
    let alert = Alert {
        key: one.key,
        cause: one.cause,
        priority: one.priority,
        state: AlertState::Acknowledged,
        since: one.since,
        until: one.until,
        acknowledged: None,
        quiet_until: None,
        group: one.group,
        person: None,
    };
    AlertLine {
        what: view::alert_title(state, &alert, t),
        priority: one.priority,
        since: one.since,
        acknowledged_at: one.acknowledged.as_ref().map(|seen| seen.at),
        acknowledged_by: one.acknowledged.map(|seen| seen.by),
        answered_after_s: answered.map(|after| after.as_secs()),
        until: one.until,
        ended_unseen,
        went_over: one.went_over,
    }
}

/// What was answered, decided and forecast, in the order in which it happened; what somebody took
/// back is left out.
fn before_departure(log: &[Entry]) -> Vec<BeforeLine> {
    let log: Vec<&Entry> = log.iter().collect();
    let lines = effective(&log).into_iter().filter_map(|entry| {
        let said = BeforeLine {
            at: entry.time(),
            by: entry.event.by.name.clone(),
            condition: None,
            answer: None,
            go: None,
            not_go: Vec::new(),
            forecast_of: None,
            text: None,
            source: None,
        };
        if let Fact::ConditionAnswered(of) = &entry.event.fact {
            return Some(BeforeLine {
                condition: Some(of.condition.clone()),
                answer: Some(of.answer),
                text: of.note.clone(),
                ..said
            });
        }
        if let Fact::TripDecided(of) = &entry.event.fact {
            return Some(BeforeLine {
                go: Some(of.go),
                not_go: of.not_go.clone(),
                text: of.reason.clone(),
                ..said
            });
        }
        let Fact::ForecastNoted(of) = &entry.event.fact else {
            return None;
        };
        Some(BeforeLine {
            forecast_of: Some(of.of),
            text: Some(of.text.clone()),
            source: of.source.clone(),
            ..said
        })
    });
    lines.collect()
}

/// What was observed and nobody took back, in the order in which it happened.
fn conditions(log: &[Entry]) -> Vec<ConditionLine> {
    let log: Vec<&Entry> = log.iter().collect();
    effective(&log)
        .into_iter()
        .filter_map(|entry| {
            let Fact::ConditionsObserved(seen) = &entry.event.fact else {
                return None;
            };
            Some(ConditionLine {
                at: entry.time(),
                by: entry.event.by.name.clone(),
                seen: seen.clone(),
            })
        })
        .collect()
}

/// A log as it is signed and proven.
#[must_use]
pub fn reckoned(trip: TripId, log: &[Entry]) -> Reckoned {
    let mut entries: Vec<&Entry> = log.iter().collect();
    entries.sort_by_key(|entry| entry.receipt.entry);
    let mut reckoned = Reckoned::start(trip);
    for entry in entries {
        let event = &entry.event;
        reckoned.add(event.content().hash, Some((event.device, event.device_seq)));
    }
    reckoned
}

fn sign_off(source: Source<'_>, relayed: &BTreeSet<u64>, t: &Words) -> SignOffLine {
    let (state, of) = (source.state, &source.state.sign_off);
    let log = (!of.signatures.is_empty() || !of.seals.is_empty())
        .then(|| reckoned(source.trip, source.entries));
    let entries: BTreeMap<EventId, &Entry> = source
        .entries
        .iter()
        .map(|entry| (entry.event.id, entry))
        .collect();
    let came = |event: EventId| {
        entries
            .get(&event)
            .is_some_and(|entry| relayed.contains(&entry.receipt.entry))
    };
    let mut signatures: Vec<SignatureLine> = of
        .signatures
        .iter()
        .map(|one| SignatureLine {
            role: one.role,
            by: one.by.clone(),
            at: one.at,
            over_entry: one.over.entry,
            chain: one.over.chain.clone(),
            stands: one.stands,
            holds: log
                .as_ref()
                .is_some_and(|log| log.holds(&one.over, &one.knows, came(one.event)).is_ok()),
        })
        .collect();
    signatures.sort_by_key(|one| (one.at, one.role));
    let seals: Vec<SealLine> = of
        .seals
        .iter()
        .map(|one| SealLine {
            by: one.by.clone(),
            at: one.at,
            over_entry: one.over.entry,
            chain: one.over.chain.clone(),
            lacks: one.lacks.iter().map(|one| lack(*one)).collect(),
            holds: log
                .as_ref()
                .is_some_and(|log| log.holds(&one.over, &one.knows, came(one.event)).is_ok()),
        })
        .collect();
    let cannot = cannot_sign(state);
    let stands = of.seal().is_some() && cannot.is_empty();
    let last_holds = seals
        .iter()
        .rfind(|seal| seal.lacks.is_empty())
        .is_some_and(|seal| seal.holds);
    let all_hold = signatures
        .iter()
        .filter(|one| one.stands)
        .all(|one| one.holds);
    SignOffLine {
        sealed: stands && last_holds && all_hold,
        missing: [Role::Divemaster, Role::Skipper]
            .into_iter()
            .filter(|role| of.signed(*role).is_none())
            .collect(),
        cannot_sign: cannot.iter().map(|why| sentence(why, t).text).collect(),
        signatures,
        seals,
        after: of
            .after
            .iter()
            .filter_map(|id| entries.get(id))
            .map(|entry| AfterLine {
                entry: entry.receipt.entry,
                kind: entry.event.fact.kind().to_owned(),
                by: entry.event.by.name.clone(),
                at: entry.time(),
            })
            .collect(),
    }
}
