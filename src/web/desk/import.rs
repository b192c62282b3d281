//! A roster from a file: read and shown first, every bad line named, and written in one go or
//! not at all.

use std::collections::BTreeSet;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use crate::store::register::{Person, fold_name};
use crate::trip::TripId;
use crate::trip::decide::{self, Refused};
use crate::trip::event::{Fitness, PersonCard, PersonId};
use crate::units::system::Measure;
use crate::web::act::{Acted, act};
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, html, refused};
use crate::web::parts::FieldFault;

use super::Here;
use super::csv::{self, Bad, Line};
use super::form::Shown;
use super::roster::{activity_key, as_registered};
use crate::web::upload::{Sent, Upload};

/// Largest file, bytes: 200 people need a tenth of it.
const LARGEST: usize = 512 * 1024;

#[derive(Template)]
#[template(path = "desk/roster-csv.html")]
struct CsvPage {
    frame: Frame,
    title: String,
    url: String,
    f: Shown,
    rows: Option<Vec<Row>>,
    text: String,
    ready: bool,
}

#[expect(
    clippy::struct_excessive_bools,
    reason = "what is ticked and offered beside one line"
)]
struct Row {
    number: u64,
    name: String,
    activity: String,
    level: String,
    limit: String,
    contact: bool,
    known: bool,
    same: bool,
    namesake: bool,
    both: bool,
}

/// The page with nothing on it yet.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    let f = Shown::of_trip(&app, &here.snap);
    html(&CsvPage {
        frame: here.frame_to_fill(&app, &asked, &crew),
        title: here.title(),
        url: format!("/desk/{trip}/roster"),
        f,
        rows: None,
        text: String::new(),
        ready: false,
    })
}

/// Shows what would be written.
pub async fn preview(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
    form: Sent,
) -> Result<Response, Error> {
    let sent = Upload::read(form, LARGEST).await?;
    let text = Upload::text_of(sent.file_or("file", "text"))?;
    let here = Here::load(&app, trip).await?;
    let ticks = Ticks::default();
    show(&app, &asked, &crew, &here, text, &ticks, Vec::new(), true).await
}

/// What was ticked beside the lines.
#[derive(Default)]
struct Ticks {
    same: BTreeSet<u64>,
    both: BTreeSet<u64>,
}

struct Read {
    line: Line,
    known: Option<Person>,
}

async fn read(app: &App, text: &str, here: &Here) -> Result<Result<Vec<Read>, Vec<Bad>>, Error> {
    let lines = match csv::read(text, here.t) {
        Ok(lines) => lines,
        Err(bad) => return Ok(Err(bad)),
    };
    let today = super::today(app).await?;
    let unborn = lines.iter().filter(|line| line.born > Some(today));
    let bad: Vec<Bad> = unborn
        .map(|line| Bad {
            number: line.number,
            why: here.t.say("csv-born"),
        })
        .collect();
    if !bad.is_empty() {
        return Ok(Err(bad));
    }
    let people = app.store().people().await?;
    let read = lines.into_iter().map(|line| {
        let folded = fold_name(&line.card.name);
        let mut known = people
            .iter()
            .filter(|p| !p.archived && fold_name(&p.name) == folded);
        let known = match (known.next(), known.next()) {
            (Some(one), None) => Some(one.clone()),
            _ => None,
        };
        Read { line, known }
    });
    Ok(Ok(read.collect()))
}

/// Whom a line means: somebody of the register if that is ticked, else somebody new.
fn joining(reads: &[Read], ticks: &Ticks, new: &[PersonId]) -> Vec<(PersonId, PersonCard, bool)> {
    reads
        .iter()
        .zip(new)
        .map(|(read, new)| {
            let number = read.line.number;
            let both = ticks.both.contains(&number);
            match &read.known {
                Some(known) if ticks.same.contains(&number) => {
                    (known.id, stricter(read.line.card.clone(), known), both)
                }
                _ => (*new, read.line.card.clone(), both),
            }
        })
        .collect()
}

/// A file may know less of somebody than the register: the stricter word stands, and is loosened
/// on the person's own page only.
fn stricter(mut card: PersonCard, known: &Person) -> PersonCard {
    if known.fitness == Fitness::Restricted {
        card.fitness = Fitness::Restricted;
    }
    if let (Some(said), Some(held)) = (card.depth_limit_m, known.depth_limit)
        && held < said
    {
        card.depth_limit_m = Some(held);
    }
    card.last_dive = card.last_dive.or(known.last_dive);
    card
}

#[expect(
    clippy::too_many_arguments,
    reason = "two handlers draw the same page from what each has at hand"
)]
async fn show(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    here: &Here,
    text: String,
    ticks: &Ticks,
    mut faults: Vec<FieldFault>,
    is_first: bool,
) -> Result<Response, Error> {
    let reads = read(app, &text, here).await?;
    let mut frame = here.frame_to_fill(app, asked, crew);
    let mut rows = None;
    let mut bad = Vec::new();
    let mut ready = false;
    match reads {
        Err(found) => bad = found,
        Ok(reads) => {
            let mut first = Ticks::default();
            if is_first {
                first.same = reads
                    .iter()
                    .filter(|r| r.known.is_some())
                    .map(|r| r.line.number)
                    .collect();
            }
            let ticks = if is_first { &first } else { ticks };
            // Numbers that cannot meet: this only asks the rules what they would say.
            let ids: Vec<PersonId> = reads
                .iter()
                .map(|_| PersonId::new(app.clock().new_uuid()))
                .collect();
            let people = joining(&reads, ticks, &ids);
            let mut namesakes = BTreeSet::new();
            if let Err(Refused(why)) = decide::join_all(&here.snap.state, &people) {
                for refusal in why {
                    let row = refusal.row.as_ref();
                    let nth = row.and_then(|nth| nth.parse::<usize>().ok());
                    let number = nth.and_then(|n| reads.get(n)).map_or(0, |r| r.line.number);
                    if refusal.key == "refused-same-name" {
                        namesakes.insert(number);
                    }
                    let why = crate::web::form::sentence(&refusal, here.t).text;
                    bad.push(Bad { number, why });
                }
            }
            // Somebody to be ticked can still be ticked; anything else must be mended first.
            ready = bad.iter().all(|b| namesakes.contains(&b.number));
            rows = Some(
                reads
                    .iter()
                    .map(|read| row(here, read, ticks, &namesakes))
                    .collect(),
            );
        }
    }
    for one in &bad {
        let args = [
            ("line", (i64::try_from(one.number).unwrap_or(0)).into()),
            ("why", one.why.as_str().into()),
        ];
        let key = if one.number == 0 {
            "csv-whole"
        } else {
            "csv-line"
        };
        let field = if ready { "rows" } else { "text" };
        faults.push(FieldFault {
            field: field.to_owned(),
            text: here.t.say_with(key, &args),
        });
    }
    if !faults.is_empty() {
        frame.title_prefix = here.t.say("error-prefix");
    }
    let is_refused = !faults.is_empty();
    let mut f = Shown::of_trip(app, &here.snap).with("text", text.as_str());
    f.faults = faults;
    let page = CsvPage {
        frame,
        title: here.title(),
        url: format!("/desk/{}/roster", here.trip),
        rows,
        text,
        ready,
        f,
    };
    if is_refused {
        refused(&page)
    } else {
        html(&page)
    }
}

fn row(here: &Here, read: &Read, ticks: &Ticks, namesakes: &BTreeSet<u64>) -> Row {
    let card = &read.line.card;
    let number = read.line.number;
    Row {
        number,
        name: card.name.clone(),
        activity: here.t.say(activity_key(card.activity)),
        level: card.level.clone(),
        limit: card
            .depth_limit_m
            .map_or_else(String::new, |d| here.t.told(Measure::Limit, d.m())),
        contact: read.line.contact.is_some(),
        known: read.known.is_some(),
        same: ticks.same.contains(&number),
        namesake: namesakes.contains(&number) || ticks.both.contains(&number),
        both: ticks.both.contains(&number),
    }
}

/// Writes what was shown: everybody, or nobody.
pub async fn confirm(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
    fields: Fields,
) -> Result<Response, Error> {
    let text = fields.typed("text").to_owned();
    let here = Here::load(&app, trip).await?;
    let numbers = |name: &str| fields.all(name).filter_map(|n| n.parse().ok()).collect();
    let ticks = Ticks {
        same: numbers("same"),
        both: numbers("both"),
    };
    let Ok(reads) = read(&app, &text, &here).await? else {
        return show(&app, &asked, &crew, &here, text, &ticks, Vec::new(), false).await;
    };
    if reads.iter().any(|read| read.line.contact.is_some()) {
        super::people::can_seal(&app, &fields, "text").await?;
        if !fields.is_sound() {
            let faults = fields.faults();
            return show(&app, &asked, &crew, &here, text, &ticks, faults, false).await;
        }
    }
    let ids = (0..reads.len())
        .map(|nth| super::numbered(&fields, nth).map(PersonId::new))
        .collect::<Result<Vec<_>, _>>()?;
    let people = joining(&reads, &ticks, &ids);
    let joined = people.clone();
    let decided = move |state: &_, _: &[_], _| decide::join_all(state, &joined);
    match act(&app, &crew, trip, &fields, decided).await? {
        Acted::Done(_) => {
            for (read, (id, card, _)) in reads.iter().zip(&people) {
                let known = read.known.as_ref().filter(|known| known.id == *id);
                save(&app, *id, card, known, &read.line).await?;
            }
            Ok(Redirect::to(&format!("/desk/{trip}/roster")).into_response())
        }
        // The preview asks the rules again and names each line.
        Acted::Refused(_) => {
            let here = Here::load(&app, trip).await?;
            show(&app, &asked, &crew, &here, text, &ticks, Vec::new(), false).await
        }
    }
}

async fn save(
    app: &App,
    id: PersonId,
    card: &PersonCard,
    known: Option<&Person>,
    line: &Line,
) -> Result<(), Error> {
    let mut person = as_registered(id, card);
    person.born = line.born;
    if let Some(known) = known {
        person.breathing = known.breathing;
        // A file adds a date of birth; it is changed on the person's own page only.
        person.born = known.born.or(line.born);
        person.last_dive = card.last_dive.or(known.last_dive);
    }
    app.store().save_person(&person).await?;
    if let Some(contact) = &line.contact {
        app.store().save_contact(id, contact).await?;
    }
    Ok(())
}
