//! One group: whole names, where each is and who says so, deadlines, every reason, what was
//! seen of it, its plan; and what can be logged about it.

use askama::Template;
use axum::response::Response;
use jiff::Timestamp;

use super::bridge::{Helm, Piece, Tap, choices};
use super::person::said;
use crate::trip::decide;
use crate::trip::dives::ComingUp;
use crate::trip::event::{BuoyColour, GroupId, Mode, PersonId, Signal};
use crate::trip::likely::Basis;
use crate::trip::state::{Group, Place, Seen};
use crate::trip::watch::{Row, deadlines};
use crate::units::{Minutes, bounds};
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::marker::Mark;
use crate::web::page::html;
use crate::web::parts::{Choice, FieldFault, Weight};
use crate::web::view;

struct Member {
    name: String,
    place: String,
    since: String,
    kit: String,
    said: Vec<String>,
    doubt: bool,
    href: String,
}

#[derive(Template)]
#[template(path = "helm/group.html")]
struct GroupPage {
    frame: Frame,
    mast: Vec<(String, String)>,
    title: String,
    mark: Option<Mark>,
    phase: String,
    why: Vec<String>,
    members: Vec<Member>,
    deadlines: Vec<(String, String, String)>,
    stops: Vec<(String, String)>,
    sightings: Vec<String>,
    plan: Vec<(String, String)>,
    ways: Vec<Tap>,
    shelf: Vec<Tap>,
}

fn group(helm: &Helm) -> Result<&Group, Error> {
    let id: GroupId = helm.part("group")?;
    helm.state().groups.get(&id).ok_or(Error::NotFound)
}

fn title(helm: &Helm, group: &Group) -> String {
    let spoken = view::spoken(&group.formed.letter);
    helm.say("helm-group", &[("group", spoken.into())])
}

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    let group = group(&helm)?;
    let watch = helm.trip.watch(helm.now);
    let row = watch.rows.iter().find(|row| row.group == group.id);
    let mut members = Vec::new();
    for person in helm.state().members(group) {
        let kit = group
            .formed
            .kit
            .get(&person.id)
            .map_or_else(String::new, |kit| {
                let args = [
                    ("litres", kit.cylinder_l.l().into()),
                    ("bar", kit.start_bar.bar().into()),
                    ("oxygen", (kit.oxygen.fraction() * 100.0).round().into()),
                ];
                helm.say("helm-kit", &args)
            });
        let doubt = person.place == Place::Unresolved;
        let mut place = helm.t.say(view::place_key(person.place));
        if person.distress {
            place = format!("{place} · {}", helm.t.say("helm-needs-help"));
        }
        members.push(Member {
            name: person.name().to_owned(),
            place,
            since: helm.aged(person.since),
            kit,
            said: if doubt {
                said(&helm, person).await?
            } else {
                Vec::new()
            },
            doubt,
            href: helm.url(&format!("person/{}", person.id)),
        });
    }
    let base = format!("group/{}", group.id);
    let mut ways = Vec::new();
    if group.drop.is_some() && !helm.state().out_of(group).is_empty() {
        ways = vec![
            helm.go(
                "helm-buoy-seen",
                &format!("buoy?group={}", group.id),
                Weight::Plain,
            ),
            helm.go("helm-word-of-diver", &format!("{base}/word"), Weight::Plain),
            helm.go(
                "helm-more-time",
                &format!("{base}/more-time"),
                Weight::Plain,
            ),
        ];
    }
    html(&GroupPage {
        frame: helm.frame(),
        mast: helm.mast(),
        title: title(&helm, group),
        mark: view::mark(&group.formed.letter),
        phase: row.map_or_else(String::new, |row| view::phase(row).word(helm.t)),
        why: row.map_or_else(Vec::new, |row| reasons(&helm, row)),
        members,
        deadlines: times(&helm, group),
        stops: row.map_or_else(Vec::new, |row| stops(&helm, row)),
        sightings: sightings(&helm, group),
        plan: plan(&helm, group),
        ways,
        shelf: vec![
            helm.go("helm-pickup", "pickup", Weight::Primary),
            helm.go("helm-declare-missing", "emergency", Weight::Grave),
        ],
    })
}

fn reasons(helm: &Helm, row: &Row) -> Vec<String> {
    row.why
        .iter()
        .map(|why| view::why_words(why, helm.t))
        .collect()
}

fn times(helm: &Helm, group: &Group) -> Vec<(String, String, String)> {
    let Some((drop, d)) = group.drop.as_ref().zip(deadlines(helm.state(), group)) else {
        return Vec::new();
    };
    let line = |key: &str, at: Timestamp| {
        let minutes = view::watch_minutes(helm.now, at);
        let key_from_now = if minutes < 0 {
            "helm-min-ago"
        } else {
            "helm-in-min"
        };
        let from_now = helm.say(key_from_now, &[("minutes", minutes.abs().into())]);
        (helm.t.say(key), helm.time(at), from_now)
    };
    vec![
        line("helm-left-surface", drop.at),
        line("helm-earliest", d.earliest),
        line("helm-expected", d.expected),
        line("helm-latest", d.latest),
        line("helm-overdue", d.overdue),
        line("helm-gas-endurance", d.endurance),
    ]
}

/// What the group owes, and when it is up: by its plan, if it stays, since a recall.
pub(super) fn stops(helm: &Helm, row: &Row) -> Vec<(String, String)> {
    let t = helm.t;
    let coming = |coming: &ComingUp| {
        let stops = match view::held_words(coming, t) {
            held if held.is_empty() => t.say("helm-stops-none"),
            held => held,
        };
        let up = view::coming_time(coming, &helm.zone());
        helm.say(
            "helm-stops-up",
            &[("up", up.into()), ("stops", stops.into())],
        )
    };
    let owes = view::stops_owed(row, t).map(|owed| (t.say("helm-stops-owed"), owed));
    let longer = row.longer.as_ref();
    let longer = longer.map(|way| (t.say("helm-stops-longer"), coming(way)));
    let recalled = row.recalled.as_ref();
    let recalled = recalled.map(|since| (t.say("helm-stops-recalled"), coming(&since.coming)));
    [recalled, longer, owes].into_iter().flatten().collect()
}

fn sightings(helm: &Helm, group: &Group) -> Vec<String> {
    let mut lines: Vec<String> = group
        .sightings
        .iter()
        .rev()
        .map(|seen| {
            let what = match &seen.what {
                Seen::Buoy(colour) => helm.t.say(colour_key(*colour)),
                Seen::Heads(people, signal) => {
                    let names: Vec<String> = people
                        .iter()
                        .filter_map(|id| helm.state().people.get(id))
                        .map(|p| p.name().to_owned())
                        .collect();
                    let signal = helm.t.say(match signal {
                        Signal::Well => "helm-look-well",
                        Signal::NoSignal => "helm-look-no-signal",
                        Signal::Help => "helm-look-help",
                    });
                    format!("{}: {signal}", view::names(&names, helm.t))
                }
            };
            let mut line = format!("{} · {what} · {}", helm.aged(seen.at), seen.by);
            if let Some(from) = &seen.from_boat {
                let bearing = view::degrees(from.bearing_deg.deg());
                let range = view::metres(from.range_m.m());
                line = format!("{line} · {bearing} · {range}");
            }
            if let Some(place) = seen.place {
                line = format!("{line} · {place}");
            }
            line
        })
        .collect();
    let likely = helm.trip.likely(group, helm.now);
    if let Some(likely) = likely.filter(|l| l.basis == Basis::Reckoned) {
        let args = [
            ("time", helm.time(likely.at).into()),
            ("place", likely.position.to_string().into()),
            ("spread", view::metres(likely.spread_m).into()),
        ];
        lines.push(helm.say("helm-likely-place", &args));
    }
    lines
}

pub(super) fn colour_key(colour: BuoyColour) -> &'static str {
    match colour {
        BuoyColour::Orange => "helm-buoy-orange",
        BuoyColour::Yellow => "helm-buoy-yellow",
        BuoyColour::Other => "helm-buoy-other",
    }
}

/// The plan in lines of term and value.
pub(super) fn plan(helm: &Helm, group: &Group) -> Vec<(String, String)> {
    let formed = &group.formed;
    let stop = &formed.plan.safety_stop;
    let stop_args = [
        ("depth", stop.depth_m.m().into()),
        ("minutes", stop.minutes.min().into()),
    ];
    let run = helm.say(
        "helm-minutes",
        &[("minutes", formed.plan.run_time_min.ceil().into())],
    );
    let mode = match formed.mode {
        Mode::Return => helm.t.say("helm-mode-return"),
        Mode::Drift => helm.t.say("helm-mode-drift"),
        Mode::OneWay { course_deg } => {
            let course = view::degrees(course_deg.deg());
            helm.say("helm-mode-one-way", &[("course", course.into())])
        }
    };
    let leader = formed
        .leader
        .and_then(|id| helm.state().people.get(&id))
        .map_or_else(|| helm.t.say("helm-not-known"), |p| p.name().to_owned());
    let mut lines = vec![
        (helm.t.say("helm-leader"), leader),
        (
            helm.t.say("helm-levels"),
            view::levels(&formed.plan, helm.t),
        ),
        (
            helm.t.say("helm-safety-stop"),
            helm.say("dive-stop", &stop_args),
        ),
        (helm.t.say("helm-run-time"), run),
        (helm.t.say("helm-how-they-come"), mode),
    ];
    if let Some(zone) = &formed.exit_zone {
        lines.push((helm.t.say("helm-exit-zone"), zone.clone()));
    }
    if let Some(drop) = group.drop.as_ref().filter(|drop| drop.granted_min > 0.0) {
        let granted = helm.say("helm-minutes", &[("minutes", drop.granted_min.into())]);
        lines.push((helm.t.say("helm-granted"), granted));
    }
    lines
}

fn granted(group: &Group) -> f64 {
    group.drop.as_ref().map_or(0.0, |drop| drop.granted_min)
}

/// More time: the form.
pub(super) async fn more_time_page(helm: Helm) -> Result<Response, Error> {
    draw_more_time(&helm, &Fields::default(), Vec::new())
}

fn draw_more_time(
    helm: &Helm,
    fields: &Fields,
    faults: Vec<FieldFault>,
) -> Result<Response, Error> {
    let group = group(helm)?;
    let base = format!("group/{}", group.id);
    let mut page = helm.form(
        format!("{}: {}", helm.t.say("helm-more-time"), title(helm, group)),
        &format!("{base}/more-time"),
        "helm-give-more-time",
        faults,
    );
    page.send = super::bridge::Tap {
        action: page.send,
        leads: false,
    }
    .with("granted", granted(group).to_string())
    .action;
    page.said = vec![helm.say("helm-granted-so-far", &[("minutes", granted(group).into())])];
    page.said.extend(
        times(helm, group)
            .into_iter()
            .map(|(what, at, from_now)| format!("{what} {at}, {from_now}")),
    );
    page.caution = helm.t.say("helm-more-time-caution");
    page.pieces = vec![
        Piece::number(
            "minutes",
            helm.t.say("helm-minutes-more"),
            &helm.t.say("minutes-short"),
            fields,
        ),
        Piece::text("reason", helm.t.say("helm-reason"), fields),
    ];
    page.back = helm.url(&base);
    page.draw()
}

/// Gives more time.
pub(super) async fn more_time(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let id: GroupId = helm.part("group")?;
    let minutes = fields.quantity("minutes", &bounds::LEVEL_MIN, Minutes::from_min);
    let before = fields.number("granted", &bounds::GRACE_MIN);
    let reason = fields.text("reason", 500);
    let (Some(minutes), Some(before), Some(reason)) = (minutes, before, reason) else {
        return draw_more_time(&helm, &fields, fields.faults());
    };
    let acted = helm
        .act(&fields, move |state, _, _| {
            decide::more_time(state, id, minutes, before, &reason)
        })
        .await?;
    match acted {
        Acted::Done(_) => Ok(helm.to(&format!("group/{id}"))),
        Acted::Refused(faults) => draw_more_time(&helm.again().await?, &fields, faults),
    }
}

/// A diver's word about the others: the form.
pub(super) async fn word_page(helm: Helm) -> Result<Response, Error> {
    draw_word(&helm, &Fields::default(), Vec::new())
}

fn draw_word(helm: &Helm, fields: &Fields, faults: Vec<FieldFault>) -> Result<Response, Error> {
    let group = group(helm)?;
    let base = format!("group/{}", group.id);
    let mut page = helm.form(
        format!(
            "{}: {}",
            helm.t.say("helm-word-of-diver"),
            title(helm, group)
        ),
        &format!("{base}/word"),
        "helm-log-it",
        faults,
    );
    let up: Vec<Choice> = helm.people_choices(
        helm.state().members(group).filter(|p| p.place.is_up()),
        "said_by",
        fields,
    );
    page.said = vec![helm.t.say("helm-ask-first-up")];
    if up.is_empty() {
        page.said.push(helm.t.say("helm-nobody-up"));
    }
    let words = [("lost", "helm-lost-contact"), ("well", "helm-others-well")];
    page.pieces = vec![
        Piece::tiles("said_by", helm.t.say("helm-who-says"), up),
        Piece::tiles(
            "word",
            helm.t.say("helm-says-what"),
            choices(helm.t, fields, "word", "", &words),
        ),
    ];
    page.back = helm.url(&base);
    page.draw()
}

/// Logs a diver's word: contact lost alarms at once, others well stops the partner's clock.
pub(super) async fn word(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let id: GroupId = helm.part("group")?;
    let said_by = fields.parsed::<PersonId>("said_by");
    let lost = fields.word("word", &[("lost", true), ("well", false)]);
    let (Some(said_by), Some(lost)) = (said_by, lost) else {
        return draw_word(&helm, &fields, fields.faults());
    };
    let acted = helm
        .act(&fields, move |state, _, _| {
            if lost {
                decide::lost_contact(state, id, said_by)
            } else {
                decide::others_well(state, id, said_by)
            }
        })
        .await?;
    match acted {
        Acted::Done(_) => Ok(helm.to(&format!("group/{id}"))),
        Acted::Refused(faults) => draw_word(&helm.again().await?, &fields, faults),
    }
}
