//! A group: everything there is to do with it now, person by person, and what was logged of it.

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use jiff::SignedDuration;

use super::frame::{Deck, Did, Logged, anchored};
use super::history::{self, Line};
use crate::trip::TripId;
use crate::trip::dives::Entry;
use crate::trip::event::{GroupId, PersonId};
use crate::trip::forecast::ends_at_night;
use crate::trip::state::{Group, Person, Phase, Place};
use crate::trip::watch::{Row, Standing, Why};
use crate::web::app::App;
use crate::web::carried::carried;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path, Query};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::marker::Mark;
use crate::web::page::{self, Asked, html};
use crate::web::parts::{Action, Choice, FieldFault, LedgerRow, Weight};
use crate::web::reckoned::{self, Reckoned};
use crate::web::view;
use crate::words::Arg;

/// Fields of the forms that stand on this page.
const ON_PAGE: &[&str] = &[
    "engine_neutral",
    "flag_shown",
    "lights",
    "lookout",
    "members",
    "persons",
    "said_by",
    "at",
    "lat",
    "lon",
    "bearing",
    "range",
    "release",
];

#[derive(Template)]
#[template(path = "deck/group.html")]
struct GroupPage {
    frame: Frame,
    logged: Option<Logged>,
    faults: Vec<FieldFault>,
    mark: Option<Mark>,
    name: String,
    url: String,
    returns: String,
    row: Vec<LedgerRow>,
    /// Reasons beside the one in the row.
    whys: Vec<String>,
    /// A buoy and nobody seen.
    buoy_only: bool,
    /// What the plan is to each, before the drop.
    reckoned: Option<Reckoned>,
    /// Why somebody releases it, as typed.
    release: String,
    step: Step,
    fields: Vec<(String, String)>,
    members: Vec<MemberRow>,
    history: Vec<Line>,
    typed: Typed,
}

/// What there is to do with a group.
enum Step {
    /// The checks before the drop.
    Check {
        engine: bool,
        flag: bool,
        night: bool,
        lights: Vec<Choice>,
        lookout: Option<String>,
        lookout_url: String,
    },
    /// Leaving the surface.
    Drop {
        members: Vec<Choice>,
        checked: String,
        place: String,
    },
    /// In the water, or part of it.
    Water {
        /// Who is not accounted for, to be ticked when seen.
        heads: Vec<Choice>,
        /// Who is up and can say how the others are.
        speakers: Vec<Choice>,
        buoys: Vec<Action>,
        /// Members may still be down, so that its times can be changed.
        down: bool,
        /// Somebody waits at the surface: fetching comes before looking.
        fetch: bool,
    },
    /// Everybody is back.
    Back,
    /// Nothing can be done here now, and why.
    Nothing(String),
}

/// A member once the group has been in.
struct MemberRow {
    name: String,
    place: String,
    distress: bool,
    detail: String,
    href: String,
    /// The tap that logs this person aboard.
    aboard: Option<Action>,
}

/// What was typed into the fields beside the ticks.
#[derive(Default)]
struct Typed {
    at: String,
    lat: String,
    lon: String,
    bearing: String,
    range: String,
}

impl Typed {
    fn of(fields: Option<&Fields>) -> Self {
        let typed = |name: &str| fields.map_or_else(String::new, |f| f.typed(name).to_owned());
        Self {
            at: typed("at"),
            lat: typed("lat"),
            lon: typed("lon"),
            bearing: typed("bearing"),
            range: typed("range"),
        }
    }

    fn is_empty(&self) -> bool {
        [&self.at, &self.lat, &self.lon, &self.bearing, &self.range]
            .into_iter()
            .all(String::is_empty)
    }
}

/// The page.
pub(super) async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, group)): Path<(TripId, GroupId)>,
    Query(did): Query<Did>,
) -> Result<Response, Error> {
    let deck = Deck::open(app, crew, asked, trip).await?;
    html(&draw(&deck, group, &did, None, Vec::new()).await?)
}

/// The page with what is wrong and what was typed.
pub(super) async fn refused(
    deck: &Deck,
    group: GroupId,
    fields: &Fields,
    faults: Vec<FieldFault>,
) -> Result<Response, Error> {
    let faults = anchored(faults, ON_PAGE);
    page::refused(&draw(deck, group, &Did::default(), Some(fields), faults).await?)
}

async fn draw(
    deck: &Deck,
    id: GroupId,
    did: &Did,
    typed: Option<&Fields>,
    faults: Vec<FieldFault>,
) -> Result<GroupPage, Error> {
    let group = deck.group(id)?;
    let devices = history::devices(deck).await?;
    let watch = deck.trip.watch(deck.now);
    let row = watch.rows.iter().find(|row| row.group == id);
    let mut rows = view::ledger(deck.state(), &watch, &deck.path("/group"), deck.t);
    view::doubt(&mut rows, deck.app.clock());
    let shown = rows
        .into_iter()
        .filter(|row| row.id == id.to_string())
        .collect();
    let whys = row.map_or_else(Vec::new, |row| {
        row.why
            .iter()
            .skip(1)
            // What a buoy alone means is said at length.
            .filter(|why| !matches!(why, Why::BuoyOnly { .. }))
            .map(|why| view::why_words(why, deck.t))
            .collect()
    });
    // A tick or a word must not vanish under a page that loads itself again.
    let frame = deck.frame_of(&faults);
    Ok(GroupPage {
        frame,
        logged: deck.logged(did),
        faults,
        mark: view::mark(&group.formed.letter),
        name: view::spoken(&group.formed.letter),
        url: deck.group_path(id),
        returns: deck.path("/returns"),
        row: shown,
        whys,
        buoy_only: row.is_some_and(buoy_only),
        reckoned: reckon(deck, group).await?,
        release: typed.map_or_else(String::new, |fields| fields.typed("release").to_owned()),
        step: step(deck, group, typed),
        fields: deck.tokens(),
        members: members(deck, group),
        history: history::of_group(deck, id, &devices),
        typed: Typed::of(typed),
    })
}

/// What the plan is to each if the group dropped now; nothing once it has.
async fn reckon(deck: &Deck, group: &Group) -> Result<Option<Reckoned>, Error> {
    if group.drop.is_some() || group.stood_down.is_some() {
        return Ok(None);
    }
    let carried = carried(&deck.app, &deck.trip, deck.now).await?;
    let state = carried.with(deck.state());
    let going = reckoned::in_order(group);
    let entry = Entry::At(deck.now);
    Ok(Reckoned::of(
        &state,
        group.dive,
        &group.formed,
        &going,
        entry,
        deck.t,
    ))
}

fn buoy_only(row: &Row) -> bool {
    row.standing == Standing::BuoyUp
        || row
            .why
            .iter()
            .any(|why| matches!(why, Why::BuoyOnly { .. }))
}

fn step(deck: &Deck, group: &Group, typed: Option<&Fields>) -> Step {
    let state = deck.state();
    if let Some(reason) = &group.stood_down {
        let args = [("reason", Arg::from(reason))];
        return Step::Nothing(deck.t.say_with("deck-stood-down", &args));
    }
    if group.drop.is_some() {
        return if state.out_of(group).is_empty() {
            Step::Back
        } else {
            water(deck, group, typed)
        };
    }
    if state.phase != Phase::OnSite || group.dive != state.dive {
        return Step::Nothing(deck.t.say("refused-not-on-site"));
    }
    match &group.checked {
        Some(checked) => {
            let args = [
                ("by", Arg::from(&checked.by)),
                ("at", deck.clock(checked.at).into()),
            ];
            Step::Drop {
                members: going(deck, group, typed),
                checked: deck.t.say_with("deck-checked-by", &args),
                place: deck.t.say_with(
                    "deck-place-hint",
                    &[("site", Arg::from(site_name(deck, group)))],
                ),
            }
        }
        None => check(deck, group, typed),
    }
}

fn site_name(deck: &Deck, group: &Group) -> String {
    deck.state()
        .dives
        .get(&group.dive)
        .map_or_else(String::new, |d| d.site.name.clone())
}

/// Whether the dive of a group that goes in now ends by night.
pub(super) fn is_night(deck: &Deck, group: &Group) -> bool {
    ends_at_night(deck.state(), group.dive, deck_end(deck, group))
}

fn deck_end(deck: &Deck, group: &Group) -> jiff::Timestamp {
    let run = run_time(group);
    deck.now.saturating_add(run).unwrap_or(jiff::Timestamp::MAX)
}

/// The run time of a group's plan; it was bounded when it was planned.
pub(super) fn run_time(group: &Group) -> SignedDuration {
    SignedDuration::try_from_secs_f64(group.formed.plan.run_time_min * 60.0)
        .unwrap_or(SignedDuration::MAX)
}

fn check(deck: &Deck, group: &Group, typed: Option<&Fields>) -> Step {
    let lights = deck
        .state()
        .members(group)
        .map(|p| choice(p, "", ticked(typed, "lights", p.id)))
        .collect();
    let lookout = deck.state().lookout.as_ref().map(|l| {
        let args = [
            ("name", Arg::from(&l.name)),
            ("since", deck.clock(l.since).into()),
        ];
        deck.t.say_with("deck-lookout-is", &args)
    });
    let on = |name: &str| typed.is_some_and(|f| f.ticked(name));
    Step::Check {
        engine: on("engine_neutral"),
        flag: on("flag_shown"),
        night: is_night(deck, group),
        lights,
        lookout,
        lookout_url: deck.path("/lookout"),
    }
}

fn ticked(typed: Option<&Fields>, name: &str, id: PersonId) -> bool {
    typed.is_some_and(|f| f.all(name).any(|v| v == id.to_string()))
}

fn choice(person: &Person, note: &str, chosen: bool) -> Choice {
    Choice {
        value: person.id.to_string(),
        label: person.name().to_owned(),
        note: note.to_owned(),
        chosen,
    }
}

/// Everybody of the group by name, ticked unless somebody is not aboard.
fn going(deck: &Deck, group: &Group, typed: Option<&Fields>) -> Vec<Choice> {
    let leader = group.formed.leader;
    deck.state()
        .members(group)
        .map(|p| {
            let aboard = p.place == Place::Aboard;
            let chosen = typed.map_or(aboard, |_| ticked(typed, "members", p.id));
            let note = if !aboard {
                deck.t.say(view::place_key(p.place))
            } else if leader == Some(p.id) {
                deck.t.say("deck-leader")
            } else {
                String::new()
            };
            choice(p, &note, chosen)
        })
        .collect()
}

fn water(deck: &Deck, group: &Group, typed: Option<&Fields>) -> Step {
    let state = deck.state();
    let mut out = state.out_of(group);
    out.sort_by_key(|p| p.place.is_up());
    let heads = out
        .iter()
        .map(|p| {
            let note = deck.t.say(view::place_key(p.place));
            choice(p, &note, ticked(typed, "persons", p.id))
        })
        .collect();
    let down = !state.down_of(group).is_empty();
    let up: Vec<&Person> = state.members(group).filter(|p| p.place.is_up()).collect();
    let speakers = if down {
        let only = up.len() == 1;
        up.iter()
            .map(|p| choice(p, "", only || ticked(typed, "said_by", p.id)))
            .collect()
    } else {
        Vec::new()
    };
    let buoy = |label: String, note: String, colour: &str, weight: Weight| {
        let url = format!("{}/buoy", deck.group_path(group.id));
        let mut action = deck.action(label, url, weight).with("colour", colour);
        action.note = note;
        action
    };
    let t = deck.t;
    let buoys = vec![
        buoy(t.say("deck-orange"), String::new(), "orange", Weight::Plain),
        buoy(
            t.say("deck-other-colour"),
            String::new(),
            "other",
            Weight::Plain,
        ),
        buoy(
            t.say("deck-yellow"),
            t.say("deck-yellow-note"),
            "yellow",
            Weight::Plain,
        ),
    ];
    Step::Water {
        heads,
        speakers,
        buoys,
        down,
        fetch: out.iter().any(|p| p.place == Place::AtSurface),
    }
}

/// Members with what to do about each: who waits at the surface first.
fn members(deck: &Deck, group: &Group) -> Vec<MemberRow> {
    if group.drop.is_none() {
        return Vec::new();
    }
    let rank = |p: &Person| match p.place {
        _ if p.distress => 0,
        Place::AtSurface => 1,
        Place::Missing | Place::Unresolved => 2,
        Place::InWater => 3,
        Place::Ashore | Place::Aboard | Place::OtherVessel | Place::Landed => 4,
    };
    let mut people: Vec<&Person> = deck.state().members(group).collect();
    people.sort_by_key(|p| rank(p));
    people.into_iter().map(|p| member(deck, group, p)).collect()
}

fn member(deck: &Deck, group: &Group, person: &Person) -> MemberRow {
    let t = deck.t;
    let logged = person.dives.get(&group.dive);
    let bar = logged.and_then(|d| d.bar);
    let depth = logged.and_then(|d| d.greatest_depth_m);
    let since = [
        ("place", Arg::from(t.say(view::place_key(person.place)))),
        ("since", deck.clock(person.since).into()),
    ];
    let place = t.say_with("deck-since", &since);
    let detail = match (person.place.is_accounted(), bar, depth) {
        (false, ..) => String::new(),
        (true, Some(bar), Some(depth)) => [
            t.say_with("deck-bar", &[("bar", bar.into())]),
            t.say_with("deck-depth", &[("depth", depth.into())]),
        ]
        .join(", "),
        (true, ..) => t.say("deck-details-missing"),
    };
    let aboard = (!person.place.is_accounted()).then(|| {
        deck.action(
            t.say("deck-aboard-now"),
            deck.path("/aboard"),
            Weight::Plain,
        )
        .with("person", person.id.to_string())
    });
    MemberRow {
        name: person.name().to_owned(),
        place,
        distress: person.distress,
        detail,
        href: deck.path(&format!("/return/{}", person.id)),
        aboard,
    }
}
