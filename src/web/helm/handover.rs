//! The handover: everything a rescue service asks for on one page that can be read aloud, and
//! the distress message in spoken order. What is not known is said to be not known.

use askama::Template;
use axum::response::Response;
use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::bridge::{Helm, Tap};
use super::contacts;
use super::group::colour_key;
use super::spoken;
use crate::sea::position::Position;
use crate::trip::likely::Basis;
use crate::trip::state::{Group, Person, Place, Seen};
use crate::trip::watch::deadlines;
use crate::units::system::Measure;
use crate::web::error::Error;
use crate::web::frame::Frame;
use crate::web::language;
use crate::web::page::html;
use crate::web::parts::Weight;
use crate::web::view;

/// A part of the page: its heading, and lines of term and value.
struct Part {
    heading: String,
    facts: Vec<(String, String)>,
}

#[derive(Template)]
#[template(path = "helm/handover.html")]
struct HandoverPage {
    frame: Frame,
    made: String,
    spoken: Vec<String>,
    parts: Vec<Part>,
    taps: Vec<Tap>,
}

#[derive(Template)]
#[template(path = "helm/count.html")]
struct HeldBack {
    frame: Frame,
    title: String,
    said: Vec<String>,
    taps: Vec<Tap>,
}

/// Whether the page waits for one tap more: somebody counts blind, nobody is out and no
/// emergency is declared, so that whoever looks in by the way reads no figure.
fn is_held_back(helm: &Helm) -> bool {
    let state = helm.state();
    let calm = state.emergency.is_none() && !state.anybody_out();
    calm && state.is_counting() && !helm.asked.path.contains("figures")
}

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    if is_held_back(&helm) {
        return html(&HeldBack {
            frame: helm.frame(),
            title: helm.t.say("helm-handover"),
            said: vec![helm.t.say("helm-handover-held-back")],
            taps: vec![
                helm.go("way-watch", "", Weight::Plain),
                helm.go("helm-handover-show", "handover?figures=1", Weight::Grave),
            ],
        });
    }
    let mmsi = mmsi(&helm).await?;
    let mut parts = vec![vessel(&helm, mmsi.as_deref()), numbers(&helm)];
    let (asked, others): (Vec<&Group>, Vec<&Group>) = concerned(&helm)
        .into_iter()
        .partition(|group| is_asked(&helm, group));
    parts.extend(asked.into_iter().map(|group| group_part(&helm, group)));
    if !others.is_empty() {
        parts.push(others_part(&helm, &others));
    }
    let missing = missing_in_no_group(&helm);
    if !missing.is_empty() {
        parts.push(lone_part(&helm, &missing));
    }
    parts.push(surroundings(&helm));
    parts.push(done(&helm));
    parts.push(Part {
        heading: helm.t.say("helm-contacts"),
        facts: contacts::given(&helm, &in_question(&helm)).await,
    });
    html(&HandoverPage {
        frame: helm.still_frame(&[]),
        made: helm.say("helm-made-at", &[("at", both(&helm, helm.now).into())]),
        spoken: language::in_english(|| message(&helm.on_the_radio(), mmsi.as_deref())),
        parts,
        taps: vec![
            helm.go("helm-open-contacts", "handover/contacts", Weight::Plain),
            helm.go("helm-emergency", "emergency", Weight::Plain),
        ],
    })
}

fn unknown(helm: &Helm) -> String {
    helm.t.say("helm-not-known")
}

/// `14:05 local, 09:05 UTC`.
fn both(helm: &Helm, at: Timestamp) -> String {
    let utc = view::clock_time(at, &TimeZone::UTC);
    let args = [("local", helm.time(at).into()), ("utc", utc.into())];
    helm.say("helm-both-times", &args)
}

fn or_unknown(helm: &Helm, text: &str) -> String {
    if text.trim().is_empty() {
        unknown(helm)
    } else {
        text.to_owned()
    }
}

/// Those for whom help is called: missing, in distress, unresolved, or of a group that is
/// overdue.
pub(super) fn in_question(helm: &Helm) -> Vec<&Person> {
    let state = helm.state();
    let named = state.emergency.as_ref().map(|e| &e.persons);
    state
        .people
        .values()
        .filter(|p| {
            let late = p
                .group
                .and_then(|id| state.groups.get(&id))
                .and_then(|group| deadlines(state, group))
                .is_some_and(|d| d.overdue <= helm.now);
            p.distress
                || matches!(p.place, Place::Missing | Place::Unresolved)
                || (p.place == Place::InWater && late)
                || (!p.place.is_accounted() && named.is_some_and(|n| n.contains(&p.id)))
        })
        .collect()
}

/// Whether help is called for somebody of this group.
fn is_asked(helm: &Helm, group: &Group) -> bool {
    in_question(helm)
        .iter()
        .any(|person| group.members().contains(&person.id))
}

/// Groups that are out, those in question first, the worst of them at the top.
fn concerned(helm: &Helm) -> Vec<&Group> {
    let rows = helm.trip.watch(helm.now).rows;
    let mut groups: Vec<&Group> = helm.state().groups_out().collect();
    groups.sort_by_key(|group| {
        let rank = rows.iter().position(|row| row.group == group.id);
        (!is_asked(helm, group), rank.unwrap_or(usize::MAX))
    });
    groups
}

/// The others that are out: a line each, so that the page can be read aloud.
fn others_part(helm: &Helm, groups: &[&Group]) -> Part {
    let facts = groups
        .iter()
        .map(|group| {
            let out = helm.state().out_of(group);
            let names: Vec<String> = out.iter().map(|p| p.name().to_owned()).collect();
            let latest = deadlines(helm.state(), group)
                .map_or_else(|| unknown(helm), |d| both(helm, d.latest));
            let args = [
                ("names", view::names(&names, helm.t).into()),
                ("latest", latest.into()),
            ];
            let spoken = view::spoken(&group.formed.letter);
            (spoken, helm.say("helm-also-out", &args))
        })
        .collect();
    Part {
        heading: helm.t.say("helm-others-out"),
        facts,
    }
}

fn missing_in_no_group(helm: &Helm) -> Vec<&Person> {
    let groups = concerned(helm);
    helm.state()
        .not_accounted()
        .filter(|p| !groups.iter().any(|g| g.members().contains(&p.id)))
        .collect()
}

fn boat_name(helm: &Helm) -> String {
    helm.state()
        .opened
        .as_ref()
        .map_or_else(|| unknown(helm), |opened| opened.boat.name.clone())
}

/// The radio's identity as the register has it; the log does not carry it.
async fn mmsi(helm: &Helm) -> Result<Option<String>, Error> {
    let Some(opened) = &helm.state().opened else {
        return Ok(None);
    };
    let boat = helm.app.store().boat(opened.boat.id).await?;
    Ok(boat.and_then(|boat| boat.mmsi))
}

fn call_sign(helm: &Helm) -> String {
    let sign = helm
        .state()
        .opened
        .as_ref()
        .map(|o| o.boat.call_sign.as_str());
    or_unknown(helm, sign.unwrap_or_default())
}

/// The place to steer for: the datum, or the last word on whoever is in question.
fn place_of_trouble(helm: &Helm) -> Option<(Position, Timestamp, String)> {
    let state = helm.state();
    if let Some((datum, at)) = state
        .emergency
        .as_ref()
        .and_then(|e| e.datum.map(|datum| (datum, e.declared.at)))
    {
        return Some((datum, at, helm.t.say("helm-basis-datum")));
    }
    concerned(helm).into_iter().find_map(|group| {
        let likely = helm.trip.likely(group, helm.now)?;
        let basis = helm.t.say(match likely.basis {
            Basis::Seen => "helm-basis-seen",
            Basis::Buoy => "helm-basis-buoy",
            Basis::Reckoned => "helm-basis-reckoned",
        });
        let (place, at) = likely.last_known();
        Some((place, at, basis))
    })
}

fn vessel(helm: &Helm, mmsi: Option<&str>) -> Part {
    let t = helm.t;
    let state = helm.state();
    let position = state.boat.as_ref().map_or_else(
        || unknown(helm),
        |boat| format!("{} ({})", boat.position, both(helm, boat.at)),
    );
    let trouble = place_of_trouble(helm).map_or_else(
        || unknown(helm),
        |(place, at, basis)| format!("{place} ({}; {basis})", both(helm, at)),
    );
    let command = or_unknown(helm, &state.command.name);
    Part {
        heading: t.say("helm-vessel"),
        facts: vec![
            (t.say("helm-name"), boat_name(helm)),
            (t.say("helm-call-sign"), call_sign(helm)),
            (
                t.say("helm-mmsi"),
                or_unknown(helm, mmsi.unwrap_or_default()),
            ),
            (t.say("helm-skipper"), command),
            (t.say("helm-position-now"), position),
            (t.say("helm-place-of-trouble"), trouble),
        ],
    }
}

fn numbers(helm: &Helm) -> Part {
    let t = helm.t;
    let state = helm.state();
    let in_question = in_question(helm);
    let names: Vec<String> = in_question.iter().map(|p| p.name().to_owned()).collect();
    let under = state.not_accounted().filter(|p| !p.place.is_up()).count();
    let surface = state
        .not_accounted()
        .filter(|p| p.place == Place::AtSurface)
        .count();
    let since = in_question.iter().map(|p| p.since).min();
    Part {
        heading: t.say("helm-numbers"),
        facts: vec![
            (
                t.say("helm-missing-or-in-trouble"),
                in_question.len().to_string(),
            ),
            (
                t.say("helm-names"),
                or_unknown(helm, &view::names(&names, t)),
            ),
            (
                t.say("helm-last-certain"),
                since.map_or_else(|| unknown(helm), |at| both(helm, at)),
            ),
            (t.say("helm-total-aboard"), state.aboard().to_string()),
            (t.say("helm-still-under"), under.to_string()),
            (t.say("helm-at-surface-still"), surface.to_string()),
        ],
    }
}

fn group_part(helm: &Helm, group: &Group) -> Part {
    let t = helm.t;
    let state = helm.state();
    let names: Vec<String> = state
        .members(group)
        .map(|p| format!("{} ({})", p.name(), t.say(view::place_key(p.place))))
        .collect();
    let drop = group.drop.as_ref();
    let site = state.dives.get(&group.dive).map(|d| d.site.position);
    let entered = drop.map_or_else(|| unknown(helm), |drop| both(helm, drop.at));
    let drop_place = drop
        .and_then(|drop| drop.place)
        .map(|place| place.to_string())
        .or_else(|| {
            site.map(|place| helm.say("helm-site-position", &[("place", place.to_string().into())]))
        })
        .unwrap_or_else(|| unknown(helm));
    let last_seen = group
        .sightings
        .iter()
        .max_by_key(|seen| seen.at)
        .map_or_else(
            || t.say("helm-not-seen-since"),
            |seen| {
                let place = seen.place.map_or_else(|| unknown(helm), |p| p.to_string());
                format!("{place} ({}, {})", both(helm, seen.at), seen.by)
            },
        );
    let latest = deadlines(state, group).map_or_else(|| unknown(helm), |d| both(helm, d.latest));
    let endurance =
        deadlines(state, group).map_or_else(|| unknown(helm), |d| both(helm, d.endurance));
    let plan: Vec<String> = super::group::plan(helm, group)
        .into_iter()
        .map(|(term, value)| format!("{term}: {value}"))
        .collect();
    let rows = helm.trip.watch(helm.now).rows;
    let row = rows.iter().find(|row| row.group == group.id);
    let stops = row.map_or_else(Vec::new, |row| super::group::stops(helm, row));
    let spoken = view::spoken(&group.formed.letter);
    let mut facts = vec![
        (t.say("helm-names"), names.join(", ")),
        (t.say("helm-left-surface"), entered),
        (t.say("helm-drop-place"), drop_place),
        (t.say("helm-last-seen"), last_seen),
        (t.say("helm-plan"), plan.join(". ")),
        (t.say("helm-latest"), latest),
        (t.say("helm-starting-gas"), gas(helm, group)),
        (t.say("helm-gas-endurance"), endurance),
    ];
    // Which stops may still hold them below.
    facts.extend(stops);
    facts.extend([
        (t.say("helm-buoy"), buoy(helm, group)),
        (t.say("helm-lights"), lights(helm, group)),
        (t.say("helm-suit-and-jacket"), unknown(helm)),
        (t.say("helm-whistle-and-beacon"), unknown(helm)),
    ]);
    Part {
        heading: helm.say("helm-group", &[("group", spoken.into())]),
        facts,
    }
}

fn gas(helm: &Helm, group: &Group) -> String {
    let lines: Vec<String> = helm
        .state()
        .members(group)
        .map(|person| {
            let kit = group.formed.kit.get(&person.id).map_or_else(
                || unknown(helm),
                |kit| {
                    let args = [
                        ("litres", kit.cylinder_l.l().into()),
                        ("bar", kit.start_bar.bar().into()),
                        ("oxygen", (kit.oxygen.fraction() * 100.0).round().into()),
                    ];
                    helm.say("helm-kit", &args)
                },
            );
            format!("{}: {kit}", person.name())
        })
        .collect();
    or_unknown(helm, &lines.join("; "))
}

fn buoy(helm: &Helm, group: &Group) -> String {
    let colour = group
        .sightings
        .iter()
        .rev()
        .find_map(|seen| match seen.what {
            Seen::Buoy(colour) => Some(colour),
            Seen::Heads(..) => None,
        });
    colour.map_or_else(|| unknown(helm), |colour| helm.t.say(colour_key(colour)))
}

fn lights(helm: &Helm, group: &Group) -> String {
    match group.checked.as_ref().and_then(|checked| checked.lights) {
        Some(true) => helm.t.say("helm-lights-recorded"),
        Some(false) => helm.t.say("helm-no-lights"),
        None => unknown(helm),
    }
}

fn lone_part(helm: &Helm, people: &[&Person]) -> Part {
    let facts = people
        .iter()
        .map(|p| {
            let place = helm.t.say(view::place_key(p.place));
            let seen = p
                .surface_position()
                .map_or_else(|| unknown(helm), |(place, _)| place.to_string());
            let said = format!("{place}, {} ({seen})", both(helm, p.since));
            (p.name().to_owned(), said)
        })
        .collect();
    Part {
        heading: helm.t.say("helm-out-in-no-group"),
        facts,
    }
}

fn surroundings(helm: &Helm) -> Part {
    let t = helm.t;
    let c = &helm.state().conditions;
    let known = |what: Option<(String, Timestamp)>| {
        what.map_or_else(
            || unknown(helm),
            |(text, at)| format!("{text} ({})", both(helm, at)),
        )
    };
    let flow = |pair: &(f64, f64)| format!("{}, {} kn", view::degrees(pair.0), pair.1);
    Part {
        heading: t.say("way-conditions"),
        facts: vec![
            (
                t.say("helm-current-goes"),
                known(c.current().map(|k| (flow(&k.what), k.at))),
            ),
            (
                t.say("helm-wind-comes"),
                known(c.wind.as_ref().map(|k| (flow(&k.what), k.at))),
            ),
            (
                t.say("helm-sea"),
                known(
                    c.sea
                        .as_ref()
                        .map(|k| (t.say(super::conditions::sea_key(k.what)), k.at)),
                ),
            ),
            (
                t.say("helm-visibility"),
                known(
                    c.visibility_m
                        .as_ref()
                        .map(|k| (t.told(Measure::Length, k.what), k.at)),
                ),
            ),
            (
                t.say("helm-water-temperature"),
                known(c.water_c.as_ref().map(|k| (format!("{} °C", k.what), k.at))),
            ),
        ],
    }
}

/// What has been done, what was searched, who is hurt.
fn done(helm: &Helm) -> Part {
    let t = helm.t;
    let state = helm.state();
    let recall = state
        .recalls
        .last()
        .map_or_else(|| t.say("helm-not-sounded"), |recall| both(helm, recall.at));
    let steps: Vec<String> = state
        .emergency
        .iter()
        .flat_map(|e| &e.steps)
        .map(|step| format!("{} ({})", step.taken.what, both(helm, step.taken.at)))
        .collect();
    let hurt: Vec<String> = state
        .people
        .values()
        .flat_map(|p| p.dives.values().map(move |dive| (p, dive)))
        .filter_map(|(p, dive)| Some(format!("{}: {}", p.name(), dive.problem.as_ref()?)))
        .collect();
    let notes: Vec<String> = state
        .incidents
        .iter()
        .map(|note| format!("{} ({})", note.what.text, both(helm, note.at)))
        .collect();
    Part {
        heading: t.say("helm-done-so-far"),
        facts: vec![
            (t.say("helm-recall"), recall),
            (
                t.say("helm-steps-taken"),
                or_unknown(helm, &steps.join("; ")),
            ),
            (t.say("helm-area-searched"), unknown(helm)),
            (t.say("helm-casualties"), or_unknown(helm, &hurt.join("; "))),
            (t.say("helm-oxygen-given"), unknown(helm)),
            (t.say("helm-notes"), or_unknown(helm, &notes.join("; "))),
        ],
    }
}

/// The distress call and message, line by line.
///
/// # Source
/// Order of the parts: ITU Radio Regulations, distress call and message by radiotelephony
/// (Article 32 and its forerunners), worded anew.
fn message(helm: &Helm, mmsi: Option<&str>) -> Vec<String> {
    let state = helm.state();
    let name = boat_name(helm);
    let sign = state
        .opened
        .as_ref()
        .map(|o| spoken::spelled(&o.boat.call_sign))
        .filter(|sign| !sign.is_empty())
        .unwrap_or_else(|| unknown(helm));
    let place = place_of_trouble(helm)
        .map(|(place, at, _)| (place, at))
        .or(state.boat.as_ref().map(|boat| (boat.position, boat.at)));
    let position = place.map_or_else(
        || helm.t.say("helm-say-position-unknown"),
        |(place, at)| {
            let args = [
                ("place", spoken::position(place).into()),
                ("utc", spoken::utc(at).into()),
            ];
            helm.say("helm-say-position", &args)
        },
    );
    let in_question = in_question(helm);
    let reason = state.emergency.as_ref().map_or_else(
        || helm.t.say("helm-reason-missing"),
        |e| e.declared.what.clone(),
    );
    let since = in_question.iter().map(|p| p.since).min();
    let since = since.map_or_else(|| unknown(helm), |at| format!("{} UTC", spoken::utc(at)));
    let missing = [
        ("n", in_question.len().into()),
        ("aboard", state.aboard().into()),
        ("since", since.into()),
    ];
    let mmsi = mmsi.map_or_else(|| unknown(helm), spoken::spelled);
    let vessel = [
        ("name", name.into()),
        ("sign", sign.into()),
        ("mmsi", mmsi.into()),
    ];
    let mut lines = vec![
        helm.t.say("helm-say-mayday-thrice"),
        helm.say("helm-say-this-is", &vessel),
        helm.say("helm-say-again", &vessel),
        position,
        helm.say("helm-say-nature", &[("reason", reason.into())]),
        helm.t.say("helm-say-assistance"),
        helm.say("helm-say-persons", &missing),
    ];
    lines.extend(
        concerned(helm)
            .into_iter()
            .filter(|group| is_asked(helm, group))
            .map(|group| group_said(helm, group)),
    );
    lines.push(conditions_said(helm));
    lines.push(helm.t.say("helm-say-over"));
    lines
}

/// A group in question as it is said.
fn group_said(helm: &Helm, group: &Group) -> String {
    let utc = |at: Option<Timestamp>| {
        at.map_or_else(|| unknown(helm), |at| format!("{} UTC", spoken::utc(at)))
    };
    let latest = deadlines(helm.state(), group).map(|d| d.latest);
    let args = [
        ("group", view::spoken(&group.formed.letter).into()),
        ("n", helm.state().out_of(group).len().into()),
        ("left", utc(group.drop.as_ref().map(|drop| drop.at)).into()),
        ("latest", utc(latest).into()),
        ("buoy", buoy(helm, group).into()),
        ("lights", lights(helm, group).into()),
        ("unknown", unknown(helm).into()),
    ];
    helm.say("helm-say-group", &args)
}

/// Sea and weather as they are said: without who saw them.
fn conditions_said(helm: &Helm) -> String {
    let lines: Vec<String> = surroundings(helm)
        .facts
        .into_iter()
        .map(|(term, value)| format!("{term}: {value}."))
        .collect();
    lines.join(" ")
}
