//! The roll, called by name: each person is marked as seen or not seen, one tap each; nobody is
//! marked with others, and who was not called keeps the roll open.

use std::collections::BTreeSet;

use askama::Template;
use axum::response::Response;

use super::bridge::{Helm, lead_to, point_key};
use crate::trip::decide::{self, RollCall};
use crate::trip::event::{PersonId, Point};
use crate::trip::state::{Person, Place, State};
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::answered;
use crate::web::parts::{Action, FieldFault, Weight};
use crate::web::view;
use crate::words::Arg;

struct Called {
    id: String,
    name: String,
    role: String,
    seen: bool,
    not_seen: bool,
}

/// `5 of 13 seen`, and the sentence that scripts fill in anew with every tap.
struct Tally {
    text: String,
    pattern: String,
}

impl Tally {
    fn of(helm: &Helm, rows: &[Called]) -> Option<Self> {
        let say = |n: Arg, of: Arg| helm.say("helm-roll-tally", &[("n", n), ("of", of)]);
        let seen = rows.iter().filter(|row| row.seen).count();
        let is_shown = !rows.is_empty() && !helm.state().is_counting();
        is_shown.then(|| Self {
            text: say(seen.into(), rows.len().into()),
            pattern: say("%n%".into(), "%of%".into()),
        })
    }
}

#[derive(Template)]
#[template(path = "helm/roll.html")]
struct RollPage {
    frame: Frame,
    title: String,
    last: String,
    out: Vec<String>,
    /// How many of how many are marked as seen; none while a count is open.
    tally: Option<Tally>,
    rows: Vec<Called>,
    send: Action,
    faults: Vec<FieldFault>,
}

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    draw(&helm, &Fields::default(), Vec::new())
}

/// Who is called: whoever may stand on deck. Those in the water are brought aboard first.
fn called(state: &State, point: Point) -> impl Iterator<Item = &Person> {
    state.coming().filter(move |person| match person.place {
        Place::Aboard | Place::Unresolved | Place::Missing => true,
        Place::Ashore => point == Point::Departure,
        Place::OtherVessel | Place::Landed | Place::InWater | Place::AtSurface => false,
    })
}

fn draw(helm: &Helm, fields: &Fields, mut faults: Vec<FieldFault>) -> Result<Response, Error> {
    lead_to(&mut faults, &[]);
    let state = helm.state();
    let point = state.counts_at();
    let title = point.map_or_else(
        || helm.t.say("way-roll"),
        |point| {
            helm.say(
                "helm-roll-title",
                &[("point", helm.t.say(point_key(point)).into())],
            )
        },
    );
    let rows = point.map_or_else(Vec::new, |point| {
        called(state, point)
            .map(|person| {
                let id = person.id.to_string();
                let typed = fields.typed(&format!("p-{id}"));
                Called {
                    seen: typed == "seen",
                    not_seen: typed == "not-seen",
                    name: person.name().to_owned(),
                    role: helm.t.say(activity_key(person)),
                    id,
                }
            })
            .collect()
    });
    let out = state
        .coming()
        .filter(|p| matches!(p.place, Place::InWater | Place::AtSurface))
        .map(|p| format!("{}: {}", p.name(), helm.t.say(view::place_key(p.place))))
        .collect();
    let last = point
        .and_then(|point| {
            let dive = state.dive_of(point);
            state
                .rolls
                .iter()
                .rfind(|r| r.point == point && r.dive == dive)
        })
        .map_or_else(String::new, |roll| {
            let args = [("by", (&roll.by).into()), ("at", helm.aged(roll.at).into())];
            helm.say("helm-roll-last", &args)
        });
    let page = RollPage {
        frame: helm.still_frame(&faults),
        title,
        last,
        out,
        tally: Tally::of(helm, &rows),
        rows,
        send: helm
            .tap("helm-roll-send", "roll", Weight::Primary)
            .with("point", point.map_or("", word))
            .action,
        faults,
    };
    answered(&page, page.faults.is_empty())
}

fn word(point: Point) -> &'static str {
    match point {
        Point::Departure => "departure",
        Point::Leaving => "leaving",
        Point::Return => "return",
    }
}

fn activity_key(person: &Person) -> &'static str {
    use crate::trip::event::Activity;
    match person.card.activity {
        Activity::Diver => "helm-diver",
        Activity::Snorkeller => "helm-snorkeller",
        Activity::Passenger => "helm-passenger",
        Activity::Crew => "helm-crew-member",
    }
}

/// The roll as called.
pub(super) async fn call(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let point = fields.word(
        "point",
        &[
            ("departure", Point::Departure),
            ("leaving", Point::Leaving),
            ("return", Point::Return),
        ],
    );
    let (present, not_seen) = marks(&fields);
    let Some(point) = point.filter(|_| fields.is_sound()) else {
        return draw(&helm, &fields, fields.faults());
    };
    let acted = helm
        .act(&fields, move |state, _, _| {
            let roll = RollCall {
                point,
                present: present.clone(),
                not_seen: not_seen.clone(),
            };
            decide::call_roll(state, roll)
        })
        .await?;
    match acted {
        Acted::Done(_) => Ok(helm.to("gate")),
        Acted::Refused(faults) => draw(&helm.again().await?, &fields, faults),
    }
}

fn marks(fields: &Fields) -> (BTreeSet<PersonId>, BTreeSet<PersonId>) {
    let (mut present, mut not_seen) = (BTreeSet::new(), BTreeSet::new());
    for (name, value) in fields.pairs() {
        let Some(id) = name.strip_prefix("p-") else {
            continue;
        };
        match (id.parse(), value.as_str()) {
            (Ok(id), "seen") => {
                present.insert(id);
            }
            (Ok(id), "not-seen") => {
                not_seen.insert(id);
            }
            _ => fields.fault("main", "fault-choose", &[]),
        }
    }
    if !present.is_disjoint(&not_seen) {
        fields.fault("main", "fault-choose", &[]);
    }
    (present, not_seen)
}
