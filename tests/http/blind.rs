//! While two crew count blind, no page they could open tells the figure.

use std::collections::BTreeSet;

use axum::http::StatusCode;
use deckwatch::trip::decide::{HeadCount, count};
use deckwatch::trip::event::{Method, Point, Signal};
use deckwatch::web::router::routes;
use jiff::SignedDuration;

use crate::app::App;
use crate::client::Answer;
use crate::trip::Trip;

/// Addresses of a route: this trip, and each group, person and entry in turn.
async fn addresses(app: &App, route: &str, trip: &Trip) -> Vec<String> {
    let state = app.state(trip).await;
    let base = route
        .replace("{trip}", &trip.id.to_string())
        .replace("{dive}", "1");
    let ids: Vec<String> = if base.contains("{group}") {
        state.groups.keys().map(ToString::to_string).collect()
    } else if base.contains("{person}") {
        state.people.keys().map(ToString::to_string).collect()
    } else if base.contains("{event}") {
        let log = app.store.entries(trip.id, 0).await.unwrap();
        log.iter().map(|e| e.event.id.to_string()).collect()
    } else {
        return vec![base];
    };
    ids.iter()
        .map(|id| {
            ["{group}", "{person}", "{event}"]
                .iter()
                .fold(base.clone(), |path, part| path.replace(part, id))
        })
        .collect()
}

/// What a page says that counts people: a figure beside a word for people or for where they are,
/// or `n of m`.
fn figures(page: &Answer) -> Vec<String> {
    const WORDS: [&str; 18] = [
        "by",
        "people",
        "person",
        "persons",
        "aboard",
        "out",
        "seen",
        "counted",
        "divers",
        "crew",
        "in all",
        "not seen up",
        "safe",
        "safe aboard",
        "are aboard",
        "passengers",
        "snorkellers",
        "staying dry",
    ];
    let text = page.all("body").join(" ");
    let words: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || c == '·')
        .filter(|w| !w.is_empty())
        .collect();
    let is_figure = |word: &str| !word.is_empty() && word.chars().all(|c| c.is_ascii_digit());
    words
        .windows(4)
        // How many a roster may be typed with at once.
        .filter(|w| is_figure(w[0]) && w[..2] != ["200", "people"])
        .filter(|w| {
            let next = w[1..].join(" ");
            WORDS.iter().any(|word| {
                next.strip_prefix(word)
                    .is_some_and(|rest| !rest.starts_with(char::is_alphabetic))
            }) || (w[1] == "of" && is_figure(w[2]))
        })
        .map(|w| w.join(" "))
        .chain(text.find("agreed on").map(|_| "agreed on".to_owned()))
        .collect()
}

#[tokio::test]
async fn no_page_tells_how_many_there_are_while_a_count_is_open() {
    let app = App::new().await;
    let trip = app.trip().await;
    for letter in ["C", "D"] {
        app.drop_group(&trip, letter).await;
    }
    app.wait(SignedDuration::from_mins(44));
    let all_of_c = ["Sefa Orun", "Ines Calder", "Wim Haal"];
    app.surfaced(&trip, &all_of_c, Signal::Well).await;
    app.aboard(&trip, &all_of_c).await;
    app.surfaced(&trip, &["Noor Adan", "Pavel Strand"], Signal::Well)
        .await;
    app.aboard(&trip, &["Noor Adan", "Pavel Strand"]).await;
    let first = app.helm.by.crew;
    app.call_roll(&trip, Point::Leaving).await;
    app.decide(&trip, &app.helm, |state, _| {
        let counted = HeadCount {
            point: Point::Leaving,
            call: 1,
            round: 1,
            method: Method::Heads,
            people: 13,
        };
        count(state, counted, first)
    })
    .await;
    let mut told = BTreeSet::new();
    let mut pages = 0;
    for route in routes() {
        let is_page = !route.path.starts_with("/api/") && !route.path.starts_with("/static/");
        if !route.methods.contains(&"GET") || !is_page {
            continue;
        }
        for path in addresses(&app, route.path, &trip).await {
            for client in [app.skipper(), app.divemaster(), app.desk()] {
                let page = client.get(&path).await;
                if page.status != StatusCode::OK {
                    continue;
                }
                pages += 1;
                told.extend(
                    figures(&page)
                        .into_iter()
                        .map(|said| format!("{}: {said}", route.path)),
                );
            }
        }
    }
    assert!(pages > 150, "only {pages} pages were read");
    assert!(told.is_empty(), "{told:#?}");
}
