//! The pickup order: whom to fetch next, where to meet them, what the hull will do there; each
//! person aboard by name; and the skipper's own order, one tap each.

use std::collections::BTreeSet;

use askama::Template;
use axum::response::Response;

use super::bridge::{Helm, Tap, lead_to};
use super::person::nothing_more;
use super::position::where_it_is;
use super::watch::{LastTap, Lone, last_tap, lone};
use crate::trip::decide::{self, AboardTap};
use crate::trip::event::{PersonId, PickupArranged, Vessel};
use crate::trip::forecast::Entry;
use crate::trip::pickup::{Advice, Approach, Because, Row, Unreachable, Warning, Why};
use crate::trip::state::Place;
use crate::trip::waters::CurrentBasis;
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::marker::Mark;
use crate::web::page::answered;
use crate::web::parts::{FieldFault, Weight};
use crate::web::view;

/// One pickup as the page shows it.
struct Stop {
    mark: Option<Mark>,
    spoken: String,
    people: String,
    bearing: String,
    distance: String,
    times: String,
    meet: String,
    advice: String,
    stand_off: String,
    warnings: Vec<String>,
    why: String,
    boarding: Vec<Boarding>,
    href: String,
    at_group: Tap,
    moves: Vec<Tap>,
}

/// Somebody of the pickup under way: aboard in one tap.
struct Boarding {
    name: String,
    place: String,
    tap: Option<Tap>,
    href: String,
}

#[derive(Template)]
#[template(path = "helm/pickup.html")]
struct PickupPage {
    frame: Frame,
    mast: Vec<(String, String)>,
    last: Option<LastTap>,
    cautions: Vec<String>,
    first: Option<Stop>,
    others: Vec<Stop>,
    unreachable: Vec<String>,
    lone: Vec<Lone>,
    proof: String,
    boat: String,
    set_boat: Tap,
    release: Option<Tap>,
    faults: Vec<FieldFault>,
    shelf: Vec<Tap>,
}

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    draw(&helm, Vec::new())
}

fn draw(helm: &Helm, mut faults: Vec<FieldFault>) -> Result<Response, Error> {
    lead_to(&mut faults, &[]);
    let order = &helm.trip.order;
    let ids: Vec<&str> = order
        .answer
        .order
        .iter()
        .map(|row| row.id.as_str())
        .collect();
    let mut stops = order
        .answer
        .order
        .iter()
        .enumerate()
        .filter_map(|(nth, row)| {
            let entry = order.entries.get(&row.id)?;
            Some(stop(helm, row, entry, nth, &ids))
        });
    let first = stops.next();
    let others: Vec<Stop> = stops.collect();
    let listed: BTreeSet<PersonId> = order
        .entries
        .values()
        .flat_map(|entry| entry.persons.iter().copied())
        .collect();
    let lone = helm
        .state()
        .not_accounted()
        .filter(|person| !listed.contains(&person.id))
        .map(|person| lone(helm, person))
        .collect();
    let arranged = &helm.state().arranged;
    let is_arranged = !arranged.fixed.is_empty() || arranged.under_way.is_some();
    let release = (is_arranged && helm.is_skipper())
        .then(|| helm.tap("helm-release-order", "pickup/fix", Weight::Plain));
    let shelf = match &first {
        Some(first) => vec![
            first.at_group.clone(),
            helm.go("helm-recall", "recall", Weight::Plain),
        ],
        None => vec![helm.go("way-watch", "", Weight::Plain)],
    };
    let page = PickupPage {
        frame: helm.frame(),
        mast: helm.mast(),
        last: last_tap(helm),
        cautions: cautions(helm),
        unreachable: unreachable(helm),
        proof: proof(helm),
        boat: where_it_is(helm),
        set_boat: helm.go("helm-type-position", "position", Weight::Plain),
        first,
        others,
        lone,
        release,
        faults,
        shelf,
    };
    answered(&page, page.faults.is_empty())
}

fn cautions(helm: &Helm) -> Vec<String> {
    let order = &helm.trip.order;
    let mut cautions = Vec::new();
    if order.boat_assumed {
        cautions.push(helm.t.say("helm-boat-assumed"));
    }
    if let Some(boat) = helm.state().boat.as_ref().filter(|b| b.is_old(helm.now)) {
        let args = [
            ("at", helm.time(boat.at).into()),
            (
                "minutes",
                view::watch_minutes(boat.at, helm.now).max(0).into(),
            ),
        ];
        cautions.push(helm.say("chart-boat-is-old", &args));
    }
    if let Some(sunset) = order.sunset {
        let args = [("at", helm.time(sunset).into())];
        cautions.push(helm.say("pickup-after-sunset", &args));
    }
    if order.chart_unread {
        cautions.push(helm.t.say("helm-chart-unread"));
    }
    let sea = helm.trip.grounds.sea(helm.state(), helm.state().dive);
    let current = sea.map(|sea| sea.waters.current(helm.now));
    if let Some(current) = current.filter(|current| current.basis != CurrentBasis::Observed) {
        let zone = helm.zone();
        cautions.push(helm.told(&zone).current(&current));
    }
    cautions
}

fn proof(helm: &Helm) -> String {
    let answer = &helm.trip.order.answer;
    if answer.order.is_empty() {
        String::new()
    } else if answer.proven {
        helm.t.say("helm-proven")
    } else {
        let gap = (answer.gap * 100.0).ceil();
        helm.say("helm-not-proven", &[("gap", gap.into())])
    }
}

fn unreachable(helm: &Helm) -> Vec<String> {
    helm.trip
        .order
        .answer
        .unreachable
        .iter()
        .map(|(id, why)| {
            let why = helm.t.say(match why {
                Unreachable::BoatHemmedIn => "helm-unreachable-hemmed-in",
                Unreachable::ClosedIn => "helm-unreachable-closed-in",
                Unreachable::OutrunByDrift => "helm-unreachable-drift",
                Unreachable::LeftBehind => "helm-unreachable-left",
            });
            format!("{}: {why}", named(helm, id))
        })
        .collect()
}

/// `3 people · Lind, Okoro and Sato`; while others count blind, the names alone.
fn how_many(helm: &Helm, names: &[String]) -> String {
    let by_name = view::names(names, helm.t);
    if helm.state().is_counting() {
        return by_name;
    }
    let count = helm.say("count-people", &[("n", names.len().into())]);
    format!("{count} · {by_name}")
}

/// `Delta 2` for the second entry of group D; a snorkeller's own name.
pub(super) fn named(helm: &Helm, id: &str) -> String {
    if let Some(entry) = helm.trip.order.entries.get(id)
        && entry.group.is_none()
    {
        let people = &helm.state().people;
        let names: Vec<String> = entry
            .persons
            .iter()
            .filter_map(|id| people.get(id))
            .map(|p| p.name().to_owned())
            .collect();
        return view::names(&names, helm.t);
    }
    let (letter, number) = id.split_at(id.chars().next().map_or(0, char::len_utf8));
    if number.is_empty() {
        view::spoken(letter)
    } else {
        format!("{} {number}", view::spoken(letter))
    }
}

fn stop(helm: &Helm, row: &Row, entry: &Entry, nth: usize, ids: &[&str]) -> Stop {
    let state = helm.state();
    let people: Vec<_> = entry
        .persons
        .iter()
        .filter_map(|id| state.people.get(id))
        .collect();
    let names: Vec<String> = people.iter().map(|p| p.name().to_owned()).collect();
    let under_way = state.arranged.under_way.as_ref() == Some(&row.id);
    let times = helm.say(
        "helm-arrive-start",
        &[
            ("arrive", helm.time(row.arrive_at).into()),
            ("start", helm.time(row.start_at).into()),
            ("end", helm.time(row.end_at).into()),
        ],
    );
    let boarding = if nth == 0 || under_way {
        people
            .iter()
            .map(|person| Boarding {
                name: person.name().to_owned(),
                place: helm.t.say(view::place_key(person.place)),
                // Nobody boards who was not seen: that is settled on the person's own page.
                tap: (person.place == Place::AtSurface).then(|| {
                    helm.tap("helm-aboard-now", "pickup/aboard", Weight::Plain)
                        .with("person", person.id.to_string())
                        .noted(person.name())
                }),
                href: helm.url(&format!("person/{}", person.id)),
            })
            .collect()
    } else {
        Vec::new()
    };
    let letter = row.id.chars().take(1).collect::<String>();
    Stop {
        mark: entry.group.and_then(|_| view::mark(&letter)),
        spoken: named(helm, &row.id),
        people: how_many(helm, &names),
        bearing: row
            .course_deg
            .map_or_else(|| helm.t.say("helm-here"), view::degrees),
        distance: view::metres(row.run_m),
        times,
        meet: row.meet.to_string(),
        advice: advice(helm, &row.advice),
        stand_off: stand_off(helm, row),
        warnings: row.warnings.iter().map(|w| warning(helm, w)).collect(),
        why: why(helm, &row.why),
        boarding,
        href: match (entry.group, entry.persons.first()) {
            (Some(group), _) => helm.url(&format!("group/{group}")),
            (None, Some(person)) => helm.url(&format!("person/{person}")),
            (None, None) => helm.url("pickup"),
        },
        at_group: helm
            .tap("helm-at-this-group", "pickup/at", Weight::Primary)
            .with("id", row.id.clone())
            .noted(named(helm, &row.id)),
        moves: if helm.is_skipper() {
            moves(helm, nth, ids, under_way)
        } else {
            Vec::new()
        },
    }
}

/// 'Next', 'Earlier', 'Later': each fixes the order down to where it matters.
fn moves(helm: &Helm, nth: usize, ids: &[&str], under_way: bool) -> Vec<Tap> {
    if under_way {
        return Vec::new();
    }
    let Some(id) = ids.get(nth).copied() else {
        return Vec::new();
    };
    let fixing = |label: &str, order: Vec<&str>| {
        order
            .into_iter()
            .fold(helm.tap(label, "pickup/fix", Weight::Plain), |tap, id| {
                tap.with("fixed", id)
            })
            .noted(named(helm, id))
    };
    let swapped = |a: usize, b: usize, upto: usize| {
        let mut order: Vec<&str> = ids.to_vec();
        order.swap(a, b);
        order.truncate(upto);
        order
    };
    let mut taps = Vec::new();
    if nth > 0 {
        let mut order = vec![id];
        order.extend(ids.iter().filter(|other| **other != id));
        order.truncate(1);
        taps.push(fixing("helm-fetch-next", order));
    }
    if nth > 1 {
        taps.push(fixing("helm-earlier", swapped(nth - 1, nth, nth + 1)));
    }
    if nth + 1 < ids.len() {
        taps.push(fixing("helm-later", swapped(nth, nth + 1, nth + 2)));
    }
    taps
}

fn advice(helm: &Helm, advice: &Advice) -> String {
    let hull = match advice.hull.towards_deg {
        Some(towards) => {
            let speed = (advice.hull.speed_kn * 10.0).round() / 10.0;
            let args = [
                ("towards", view::degrees(towards).into()),
                ("speed", speed.into()),
            ];
            helm.say("helm-hull-goes", &args)
        }
        None => helm.t.say("helm-hull-still"),
    };
    let side = helm.t.say(match advice.approach {
        Approach::NotSet => "helm-side-not-set",
        Approach::FromUpWind => "helm-side-up-wind",
        Approach::FromDownWind => "helm-side-down-wind",
        Approach::InTheLee => "helm-side-lee",
    });
    let wind = match advice.wind_from_deg {
        Some(from) => helm.say("helm-wind-from", &[("from", view::degrees(from).into())]),
        None => helm.t.say("helm-wind-unknown"),
    };
    format!("{hull} {side} {wind}")
}

fn stand_off(helm: &Helm, row: &Row) -> String {
    match (row.stand_off_m, row.stand_off_min) {
        (None, _) => helm.t.say("helm-no-keep-clear"),
        (Some(m), Some(minutes)) => {
            let args = [
                ("metres", view::metres(m).into()),
                ("minutes", minutes.floor().into()),
            ];
            helm.say("helm-stand-off", &args)
        }
        (Some(m), None) => helm.say(
            "helm-stand-off-clear",
            &[("metres", view::metres(m).into())],
        ),
    }
}

fn warning(helm: &Helm, warning: &Warning) -> String {
    match warning {
        Warning::StandOffBelowMinimum { minutes, minimum } => {
            let args = [
                ("minutes", minutes.floor().into()),
                ("minimum", minimum.ceil().into()),
            ];
            helm.say("helm-warn-stand-off", &args)
        }
        Warning::GroupsNearRun { ids } => {
            let groups: Vec<String> = ids.iter().map(|id| named(helm, id)).collect();
            let args = [("groups", view::names(&groups, helm.t).into())];
            helm.say("helm-warn-near-run", &args)
        }
        Warning::CannotSwimClear { .. } => helm.t.say("helm-warn-cannot-swim"),
        Warning::NotSeen => helm.t.say("helm-warn-not-seen"),
    }
}

fn why(helm: &Helm, why: &Why) -> String {
    match why {
        Why::UnderWay => helm.t.say("helm-why-under-way"),
        Why::Fixed => helm.t.say("helm-why-fixed"),
        Why::Distress => helm.t.say("helm-why-distress"),
        Why::Last => helm.t.say("helm-why-last"),
        Why::Ahead { because, next, .. } => {
            let because = match because {
                Because::DriftsAshore { minutes } if *minutes > 0.0 => helm.say(
                    "helm-because-drifts",
                    &[("minutes", minutes.floor().into())],
                ),
                Because::DriftsAshore { .. } => helm.t.say("helm-because-drifted"),
                Because::Prompt => helm.t.say("helm-because-prompt"),
                Because::UpFirst => helm.t.say("helm-because-up-first"),
                Because::Nearest => helm.t.say("helm-because-nearest"),
                Because::LeastWaiting => helm.t.say("helm-because-least-waiting"),
            };
            let args = [
                ("because", because.into()),
                ("next", named(helm, next).into()),
            ];
            helm.say("helm-why-ahead", &args)
        }
    }
}

/// The boat is at a group: its pickup is under way and no longer reshuffled.
pub(super) async fn at_group(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let id = fields.typed("id").to_owned();
    if !helm.trip.order.entries.contains_key(&id) {
        fields.fault("main", "fault-choose", &[]);
        return draw(&helm, fields.faults());
    }
    let acted = helm
        .act(&fields, move |state, _, _| {
            let fixed = state.arranged.fixed.iter().filter(|f| **f != id);
            let arranged = PickupArranged {
                fixed: fixed.cloned().collect(),
                under_way: Some(id.clone()),
                reason: None,
            };
            decide::arrange_pickup(state, arranged)
        })
        .await?;
    after(helm, acted).await
}

/// The skipper fixes the first of the order, or releases all.
pub(super) async fn fix(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let fixed: Vec<String> = fields.all("fixed").map(ToOwned::to_owned).collect();
    if fixed
        .iter()
        .any(|id| !helm.trip.order.entries.contains_key(id))
    {
        fields.fault("main", "fault-choose", &[]);
        return draw(&helm, fields.faults());
    }
    let acted = helm
        .act(&fields, move |state, _, _| {
            let under_way = state.arranged.under_way.clone();
            let arranged = PickupArranged {
                under_way: under_way.filter(|id| !fixed.is_empty() && !fixed.contains(id)),
                fixed: fixed.clone(),
                reason: None,
            };
            decide::arrange_pickup(state, arranged)
        })
        .await?;
    after(helm, acted).await
}

/// One person aboard, seen by whoever is signed in.
pub(super) async fn aboard(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let Some(person) = fields.parsed::<PersonId>("person") else {
        return draw(&helm, fields.faults());
    };
    let seen_by = helm.crew.0.name.clone();
    let acted = helm
        .act(&fields, move |state, _, now| {
            let tap = AboardTap {
                person,
                vessel: Vessel::Own,
                seen_by: seen_by.clone(),
                detail: nothing_more(),
                at: None,
            };
            decide::aboard(state, tap, now)
        })
        .await?;
    after(helm, acted).await
}

async fn after(helm: Helm, acted: Acted) -> Result<Response, Error> {
    match acted {
        Acted::Done(_) => Ok(helm.to("pickup")),
        Acted::Refused(faults) => draw(&helm.again().await?, faults),
    }
}
