//! The lookout: who keeps it and for how long, whom to look out for, and what is seen.

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use jiff::SignedDuration;

use super::frame::{Deck, Did, Logged, anchored, done};
use crate::trip::TripId;
use crate::trip::decide;
use crate::trip::event::Activity;
use crate::web::act::Acted;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path, Query};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{self, Asked, html};
use crate::web::parts::{Action, FieldFault, Figure, LedgerRow, Weight};
use crate::web::view;
use crate::words::Arg;

/// A lookout is relieved after an hour (Queensland regulator's guidance on lookouts).
const WATCH_LENGTH: SignedDuration = SignedDuration::from_mins(60);
/// Longest name, characters.
const LONGEST: usize = 80;

#[derive(Template)]
#[template(path = "deck/lookout.html")]
struct LookoutPage {
    frame: Frame,
    faults: Vec<FieldFault>,
    logged: Option<Logged>,
    keeper: Option<String>,
    relief: Option<Figure>,
    due: Vec<LedgerRow>,
    buoy_url: String,
    heads_url: String,
    help: Action,
    crew: Vec<Action>,
    url: String,
    fields: Vec<(String, String)>,
    relieve: Option<Action>,
    typed: String,
}

/// The page.
pub(super) async fn page(deck: Deck, Query(did): Query<Did>) -> Result<Response, Error> {
    html(&draw(&deck, &did, &Fields::default(), Vec::new()))
}

/// A lookout is posted, relieving whoever stood there.
pub(super) async fn post(deck: Deck, fields: Fields) -> Result<Response, Error> {
    let Some(name) = fields.text("lookout", LONGEST) else {
        let faults = fields.faults();
        return page::refused(&draw(&deck, &Did::default(), &fields, faults));
    };
    let acted = deck
        .act(&fields, move |state, _, _| {
            decide::post_lookout(state, &name)
        })
        .await?;
    answer(&deck, &fields, acted)
}

/// The lookout is relieved and nobody takes the watch.
pub(super) async fn relieve(deck: Deck, fields: Fields) -> Result<Response, Error> {
    let acted = deck
        .act(&fields, |state, _, _| decide::relieve_lookout(state))
        .await?;
    answer(&deck, &fields, acted)
}

/// A signal for help is seen and it is not clear whose: alarms at once, names follow.
pub(super) async fn help(deck: Deck, fields: Fields) -> Result<Response, Error> {
    let reason = deck.t.say("deck-help-seen");
    let acted = deck
        .act(&fields, move |state, _, _| {
            decide::declare_emergency(state, std::collections::BTreeSet::new(), &reason, None)
        })
        .await?;
    match acted {
        Acted::Done(event) => Ok(done(&deck.path("/seen/help"), event)),
        Acted::Refused(_) => answer(&deck, &fields, acted),
    }
}

fn answer(deck: &Deck, fields: &Fields, acted: Acted) -> Result<Response, Error> {
    match acted {
        Acted::Done(event) => Ok(done(&deck.path("/lookout"), event)),
        Acted::Refused(faults) => page::refused(&draw(deck, &Did::default(), fields, faults)),
    }
}

fn draw(deck: &Deck, did: &Did, fields: &Fields, faults: Vec<FieldFault>) -> LookoutPage {
    let state = deck.state();
    let t = deck.t;
    let faults = anchored(faults, &["lookout"]);
    let url = deck.path("/lookout");
    let keeper = state.lookout.as_ref().map(|l| {
        let args = [
            ("name", Arg::from(&l.name)),
            ("since", deck.clock(l.since).into()),
        ];
        t.say_with("deck-lookout-is", &args)
    });
    let crew = state
        .coming()
        .filter(|p| p.card.activity == Activity::Crew)
        .filter(|p| state.lookout.as_ref().is_none_or(|l| l.name != p.name()))
        .map(|p| {
            deck.action(p.name().to_owned(), url.clone(), Weight::Plain)
                .with("lookout", p.name())
        })
        .collect();
    let relieve = state.lookout.as_ref().map(|_| {
        deck.action(
            t.say("deck-relieve"),
            deck.path("/lookout/relieve"),
            Weight::Plain,
        )
    });
    let mut help = deck.action(
        t.say("deck-see-help"),
        deck.path("/lookout/help"),
        Weight::Grave,
    );
    help.note = t.say("deck-see-help-note");
    LookoutPage {
        frame: deck.frame_of(&faults),
        faults,
        logged: deck.logged(did),
        keeper,
        relief: relief(deck),
        due: out(deck, ""),
        buoy_url: deck.path("/seen/buoy"),
        heads_url: deck.path("/seen/heads"),
        help,
        crew,
        url,
        fields: deck.tokens(),
        relieve,
        typed: fields.typed("lookout").to_owned(),
    }
}

/// How long until the lookout is to be relieved, or since when.
fn relief(deck: &Deck) -> Option<Figure> {
    let since = deck.state().lookout.as_ref()?.since;
    let until = since.saturating_add(WATCH_LENGTH).ok()?;
    let caption = if until > deck.now {
        deck.t.say("deck-relief-in")
    } else {
        deck.t.say("deck-relief-over")
    };
    Some(Figure {
        caption,
        value: view::watch_minutes(deck.now, until).abs().to_string(),
        unit: deck.t.say("minutes-short"),
        counts_to: Some(until.to_string()),
    })
}

/// Groups with anybody out, each leading to its page; `anchor` is the form on it.
fn out(deck: &Deck, anchor: &str) -> Vec<LedgerRow> {
    let watch = deck.trip.watch(deck.now);
    let outside: Vec<String> = deck
        .state()
        .groups_out()
        .map(|group| group.id.to_string())
        .collect();
    let mut rows = view::ledger(deck.state(), &watch, &deck.path("/group"), deck.t);
    view::doubt(&mut rows, deck.app.clock());
    rows.into_iter()
        .filter(|row| outside.contains(&row.id))
        .map(|mut row| {
            row.href.push_str(anchor);
            row
        })
        .collect()
}

#[derive(Template)]
#[template(path = "deck/seen.html")]
struct SeenPage {
    frame: Frame,
    logged: Option<Logged>,
    title: String,
    rows: Vec<LedgerRow>,
    swim_url: Option<String>,
    back: String,
}

/// Whose is it? The groups that are out, each leading to what is to be logged of it.
pub(super) async fn seen(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path((trip, what)): Path<(TripId, String)>,
    Query(did): Query<Did>,
) -> Result<Response, Error> {
    let deck = Deck::open(app, crew, asked, trip).await?;
    let (title, anchor) = match what.as_str() {
        "buoy" => (deck.t.say("deck-whose-buoy"), "/buoy"),
        "heads" => (deck.t.say("deck-whose-heads"), "#heads"),
        "help" => (deck.t.say("deck-whose-help"), "#heads"),
        _ => return Err(Error::NotFound),
    };
    let swims = deck.state().swimmers().next().is_some() && what != "buoy";
    html(&SeenPage {
        logged: deck.logged(&did),
        title,
        rows: out(&deck, anchor),
        swim_url: swims.then(|| deck.path("/swim")),
        back: deck.path("/lookout"),
        frame: deck.frame(),
    })
}
