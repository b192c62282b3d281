//! Doubles of the register: pairs that look alike, two entries side by side, and making them one
//! with the values that a person chose. Nothing is merged by itself.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;

use crate::store::register::{Alike, Merge, Person, doubles};
use crate::trip::PersonId;
use crate::trip::event::Fitness;
use crate::units::system::Measure;
use crate::units::{Depth, LitresPerMinute};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path, Query};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, answered, html};
use crate::web::parts::Choice;
use crate::web::retention::{Outlook, outlook};
use crate::words::Words;

use super::form::Shown;
use super::people::{can_seal, held};
use super::retention::titled;

/// Most pairs, and most people of one search, shown at once.
const MOST_SHOWN: usize = 100;

#[derive(Template)]
#[template(path = "desk/doubles.html")]
struct DoublesPage {
    frame: Frame,
    f: Shown,
    rows: Vec<Row>,
    /// That there are more pairs; empty if all are shown.
    more: String,
    /// Whose double is looked for by name: identity and name.
    of: Option<(String, String)>,
    find: String,
    found: Option<Vec<(String, String)>>,
}

struct Row {
    href: String,
    names: String,
    why: String,
    born_apart: bool,
}

/// What is looked for.
#[derive(Debug, Default, Deserialize)]
pub struct Find {
    #[serde(default)]
    of: Option<PersonId>,
    #[serde(default)]
    find: String,
}

fn why_key(why: Alike) -> &'static str {
    match why {
        Alike::Name => "double-name",
        Alike::Order => "double-order",
        Alike::Born => "double-born",
        Alike::Part => "double-part",
        Alike::Slip => "double-slip",
    }
}

/// Pairs that look alike; for one person, a search for the other entry.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Query(find): Query<Find>,
) -> Result<Response, Error> {
    let store = app.store();
    let apart = store.kept_apart().await?;
    let people = store.people().await?;
    let reckoned = tokio::task::spawn_blocking(move || {
        let found = doubles(&people, &apart);
        (people, found)
    });
    let reckoned = reckoned.await;
    let (people, found) = reckoned.map_err(|_| Error::Internal("doubles were not looked for"))?;
    let name = |id: PersonId| {
        let one = people.iter().find(|person| person.id == id);
        one.map_or("", |person| person.name.as_str())
    };
    let frame = super::frame(&app, &asked, &crew);
    let t = frame.t;
    let rows = found.iter().take(MOST_SHOWN).map(|double| Row {
        href: merge_url(double.one, double.other),
        names: format!("{} · {}", name(double.one), name(double.other)),
        why: t.say(why_key(double.why)),
        born_apart: double.born_apart,
    });
    let rows = rows.collect();
    let more = match found.len().saturating_sub(MOST_SHOWN) {
        0 => String::new(),
        n => t.say_with("doubles-more", &[("n", n.into())]),
    };
    let of = match find.of {
        Some(id) => Some(held(&app, id).await?),
        None => None,
    };
    let typed = find.find.trim();
    let others = match &of {
        Some(of) if !typed.is_empty() => {
            let most = u32::try_from(MOST_SHOWN).unwrap_or(u32::MAX);
            let found = store.find_people(typed, most).await?;
            let others = found.into_iter().filter(|person| person.id != of.id);
            let way = |other: Person| (merge_url(of.id, other.id), other.name);
            Some(others.map(way).collect())
        }
        Some(_) | None => None,
    };
    html(&DoublesPage {
        f: Shown::plain(&app),
        rows,
        more,
        of: of.map(|person| (person.id.to_string(), person.name)),
        find: typed.to_owned(),
        found: others,
        frame,
    })
}

fn merge_url(stays: PersonId, gone: PersonId) -> String {
    format!("/desk/people/{stays}/merge/{gone}")
}

#[derive(Template)]
#[template(path = "desk/merge.html")]
struct MergePage {
    frame: Frame,
    f: Shown,
    id: String,
    url: String,
    /// The same pair with the other one remaining.
    turned: String,
    name: String,
    other: String,
    rows: Vec<Side>,
    /// What is the same in both, told once.
    agreed: Vec<(String, String)>,
    trips: Vec<(String, String, String)>,
    together: Vec<String>,
    /// Why they cannot be merged now; empty if they can.
    held: String,
}

/// A value that differs, one of which is to stand.
struct Side {
    field: &'static str,
    label: String,
    choices: Vec<Choice>,
}

impl Side {
    /// For the template, which takes a list whole.
    fn choices(&self) -> Vec<Choice> {
        self.choices.clone()
    }
}

/// A value of an entry: the field, the key of what people call it, and how it reads.
type Value = (&'static str, &'static str, fn(&Person, &Words) -> String);

const VALUES: [Value; 7] = [
    ("name", "person-name", |p, _| p.name.clone()),
    ("level", "person-level", |p, _| p.level.clone()),
    ("limit", "person-limit", |p, t| {
        let limit = p.depth_limit.map(Depth::m);
        limit.map_or_else(String::new, |m| t.told(Measure::Limit, m))
    }),
    ("last_dive", "person-last-dive", |p, _| {
        p.last_dive.map_or_else(String::new, |day| day.to_string())
    }),
    ("fitness", "person-fitness", |p, t| {
        t.say(match p.fitness {
            Fitness::Cleared => "fitness-cleared",
            Fitness::Restricted => "fitness-restricted",
        })
    }),
    ("breathing", "kit-breathing", |p, t| {
        let rate = p.breathing.map(LitresPerMinute::l_min);
        rate.map_or_else(String::new, |rate| t.told(Measure::Rate, rate))
    }),
    ("born", "person-born", |p, _| {
        p.born.map_or_else(String::new, |day| day.to_string())
    }),
];

/// Values of the form that chooses between two.
const THIS: &str = "this";
const OTHER: &str = "other";
const NEITHER: &str = "neither";

async fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    (stays, gone): (&Person, &Person),
    found: &Outlook,
    f: Shown,
) -> Result<Response, Error> {
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    let t = frame.t;
    let known = |text: String| {
        if text.is_empty() {
            t.say("helm-not-known")
        } else {
            text
        }
    };
    let choice = |field: &str, value: &str, label: String, note: String| Choice {
        value: value.to_owned(),
        label,
        note,
        chosen: f.is(field, value),
    };
    let (mut rows, mut agreed) = (Vec::new(), Vec::new());
    for (field, label, read) in VALUES {
        let (this, other) = (read(stays, t), read(gone, t));
        if this == other {
            agreed.push((t.say(label), known(this)));
            continue;
        }
        rows.push(Side {
            field,
            label: t.say(label),
            choices: vec![
                choice(field, THIS, known(this), t.say("merge-of-this")),
                choice(field, OTHER, known(other), t.say("merge-of-other")),
            ],
        });
    }
    // Nothing is opened to choose: whose it is has to do.
    let given = app.store().contacts_given().await?;
    let (this, other) = (given.contains(&stays.id), given.contains(&gone.id));
    if this || other {
        let of = |held: bool, value: &str, key: &str| {
            held.then(|| choice("contact", value, t.say(key), String::new()))
        };
        let choices = [
            of(this, THIS, "merge-contact-this"),
            of(other, OTHER, "merge-contact-other"),
            of(true, NEITHER, "merge-contact-neither"),
        ];
        rows.push(Side {
            field: "contact",
            label: t.say("contact-title"),
            choices: choices.into_iter().flatten().collect(),
        });
    }
    let (mut trips, mut together) = (Vec::new(), Vec::new());
    for trip in &found.attendance.trips {
        let of = [stays.id, gone.id].map(|id| trip.persons.contains(&id));
        let mark = |held: bool| {
            if held {
                t.say("merge-on-it")
            } else {
                String::new()
            }
        };
        if of.contains(&true) {
            let title = titled(found, trip.trip);
            if of == [true, true] {
                together.push(title.clone());
            }
            trips.push((title, mark(of[0]), mark(of[1])));
        }
    }
    let sound = f.faults.is_empty();
    let page = MergePage {
        id: stays.id.to_string(),
        url: merge_url(stays.id, gone.id),
        turned: merge_url(gone.id, stays.id),
        name: stays.name.clone(),
        other: gone.name.clone(),
        rows,
        agreed,
        trips,
        together,
        held: under_way(found, &[stays.id, gone.id], t).unwrap_or_default(),
        frame,
        f,
    };
    answered(&page, sound)
}

/// Which trip keeps these people's entries as they are: one that is not over and has one of them
/// along, or one of which nobody knows who is on it.
fn under_way(found: &Outlook, of: &[PersonId], t: &Words) -> Option<String> {
    let said = |key: &str, trip| t.say_with(key, &[("trip", titled(found, trip).into())]);
    let all = found.attendance.trips.iter();
    let mut holding = all.filter(|trip| of.iter().any(|id| trip.engaged.contains(id)));
    if let Some(trip) = holding.next() {
        return Some(said("merge-held", trip.trip));
    }
    let unread = found.attendance.unread.first();
    unread.map(|trip| said("held-unread", *trip))
}

/// Both entries; two identities of one person are no pair.
async fn pair(app: &App, stays: PersonId, gone: PersonId) -> Result<(Person, Person), Error> {
    let (stays, gone) = (held(app, stays).await?, held(app, gone).await?);
    if stays.id == gone.id {
        return Err(Error::NotFound);
    }
    Ok((stays, gone))
}

/// Two entries side by side.
pub async fn side_by_side(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((stays, gone)): Path<(PersonId, PersonId)>,
) -> Result<Response, Error> {
    let (stays, gone) = pair(&app, stays, gone).await?;
    let found = outlook(&app).await?;
    let f = Shown::plain(&app);
    draw(&app, &asked, &crew, (&stays, &gone), &found, f).await
}

/// The entry that remains, with what was chosen; faults where nothing was.
fn chosen(fields: &Fields, stays: &Person, gone: &Person) -> Option<Person> {
    const WORDS: [(&str, bool); 2] = [(THIS, false), (OTHER, true)];
    let t = crate::web::language::words();
    let mut one = stays.clone();
    // Somebody who comes is in no archive.
    one.archived = stays.archived && gone.archived;
    for (field, _, read) in VALUES {
        if read(stays, t) == read(gone, t) {
            continue;
        }
        if fields.word(field, &WORDS) != Some(true) {
            continue;
        }
        match field {
            "name" => one.name.clone_from(&gone.name),
            "level" => one.level.clone_from(&gone.level),
            "limit" => one.depth_limit = gone.depth_limit,
            "last_dive" => one.last_dive = gone.last_dive,
            "fitness" => one.fitness = gone.fitness,
            "breathing" => one.breathing = gone.breathing,
            _ => one.born = gone.born,
        }
    }
    fields.is_sound().then_some(one)
}

/// Makes one of the two.
pub async fn merge(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((stays, gone)): Path<(PersonId, PersonId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let (stays, gone) = pair(&app, stays, gone).await?;
    let found = outlook(&app).await?;
    let one = chosen(&fields, &stays, &gone);
    let given = app.store().contacts_given().await?;
    let held =
        [(THIS, stays.id), (OTHER, gone.id)].map(|(word, id)| (word, given.contains(&id), id));
    let contact_of = if held.iter().any(|(_, given, _)| *given) {
        let words: Vec<(&str, Option<PersonId>)> = held
            .iter()
            .filter(|(_, given, _)| *given)
            .map(|(word, _, id)| (*word, Some(*id)))
            .chain([(NEITHER, None)])
            .collect();
        fields.word("contact", &words).flatten()
    } else {
        None
    };
    if contact_of == Some(gone.id) {
        // It is sealed anew for the one that remains.
        can_seal(&app, &fields, "contact").await?;
    }
    if !fields.ticked("sure") {
        fields.fault("sure", "fault-merge-sure", &[]);
    }
    if let Some(why) = under_way(&found, &[stays.id, gone.id], crate::web::language::words()) {
        fields.fault("sure", "fault-said", &[("why", why.into())]);
    }
    if let (Some(one), true) = (one, fields.is_sound()) {
        let merge = Merge {
            stays: one,
            gone: gone.id,
            contact_of,
            entries: found.entries,
        };
        if app.store().merge(&merge, super::doer(&crew)).await? {
            return Ok(Redirect::to(&format!("/desk/people/{}", stays.id)).into_response());
        }
        fields.fault("sure", "fault-merged-meanwhile", &[]);
    }
    let f = Shown::plain(&app).refused(&fields, fields.faults());
    draw(&app, &asked, &crew, (&stays, &gone), &found, f).await
}

/// Says that they are two people.
pub async fn two(
    State(app): State<App>,
    crew: Crew,
    Path((stays, gone)): Path<(PersonId, PersonId)>,
) -> Result<Response, Error> {
    let (stays, gone) = pair(&app, stays, gone).await?;
    let by = super::doer(&crew);
    if !app.store().keep_apart(stays.id, gone.id, by).await? {
        return Err(Error::NotFound);
    }
    Ok(Redirect::to("/desk/people/doubles").into_response())
}

/// Who merged what into an entry, a sentence each.
pub(super) async fn told(app: &App, person: &Person, t: &Words) -> Result<Vec<String>, Error> {
    let zone = app.centre_zone().await?;
    let merged = app.store().merged_into(person.id).await?;
    let told = merged.into_iter().map(|one| {
        let day = one.at.to_zoned_datetime(zone.clone()).date();
        let at = format!(
            "{}, {}",
            crate::web::view::day(day),
            crate::web::view::clock_time(one.at, &zone)
        );
        let who = one.who_name.unwrap_or_else(|| t.say("helm-not-known"));
        let args = [
            ("name", one.name.into()),
            ("who", who.into()),
            ("at", at.into()),
        ];
        t.say_with("merged-told", &args)
    });
    Ok(told.collect())
}
