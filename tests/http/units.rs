//! Units by setting: a box that tells feet and psi has no metre or bar on any page, and the other
//! way round; what is typed is kept in metric units; programs are told those.

use std::collections::BTreeSet;

use axum::body::Body;
use axum::http::{Method, header};
use deckwatch::store::register::{CylinderSaved, Person, key};
use deckwatch::trip::PersonId;
use deckwatch::trip::event::{Fitness, Signal};
use deckwatch::trip::state::State;
use deckwatch::units::system::System;
use deckwatch::units::{CylinderLitres, Depth, LitresPerMinute};
use deckwatch::web::router::routes;
use jiff::SignedDuration;
use scraper::{Html, Selector};
use uuid::Uuid;

use crate::app::{App, boat, site};
use crate::client::Client;
use crate::trip::Trip;

const MARA: &str = "Mara Lind";
/// Somebody of the register who is on no trip.
const ASHORE: Uuid = Uuid::from_u128(0x0A5E);
/// A cylinder of the centre.
const CYLINDER: Uuid = Uuid::from_u128(0x0C71);

async fn imperial() -> App {
    let app = App::new().await;
    app.web.set_units(System::Imperial).await.unwrap();
    app
}

/// Words of a page, figures and units apart: everything that is read, seen or spoken.
fn words(page: &str) -> Vec<String> {
    let page = Html::parse_document(page);
    let every = Selector::parse("*").unwrap();
    let mut words = Vec::new();
    let mut take = |text: &str| {
        for word in text.split(|c: char| c.is_whitespace() || "()[]·,;:'\"".contains(c)) {
            let word = word.trim_end_matches('.');
            if !word.is_empty() {
                words.push(word.to_owned());
            }
        }
    };
    for element in page.select(&every) {
        for text in element
            .children()
            .filter_map(|child| child.value().as_text())
        {
            take(text);
        }
        for name in [
            "aria-label",
            "placeholder",
            "title",
            "data-chart-bar",
            "alt",
        ] {
            if let Some(text) = element.value().attr(name) {
                take(text);
            }
        }
    }
    words
}

const METRIC: [&str; 10] = [
    "m", "bar", "Bar", "l", "l/min", "metres", "km", "Metern", "Meter", "litres",
];
const IMPERIAL: [&str; 6] = ["ft", "psi", "Psi", "cu", "ft/min", "nm"];

/// The units told on a page, each with the word before it. A partial pressure is in bar in every
/// system, under a label of its own.
fn units(page: &str, of: &[&str]) -> BTreeSet<String> {
    let words = words(page);
    let before = |nth: usize, by: usize| nth.checked_sub(by).map_or("", |nth| words[nth].as_str());
    let found = words.iter().enumerate().filter(|(nth, word)| {
        of.contains(&word.as_str()) && !(before(*nth, 2) == "ppO2" && *word == "bar")
    });
    found
        .map(|(nth, word)| format!("{} {word}", before(nth, 1)))
        .collect()
}

/// A trip with everything on it that has a quantity.
async fn whole(app: &App) -> Trip {
    let trip = app.trip().await;
    let person = Person {
        id: PersonId::new(ASHORE),
        name: "Iris Wren".to_owned(),
        level: "Autonomous diver".to_owned(),
        depth_limit: Depth::from_m(20.0).ok(),
        fitness: Fitness::Cleared,
        last_dive: None,
        breathing: LitresPerMinute::from_l_min(17.0).ok(),
        born: None,
        archived: false,
    };
    app.store.save_person(&person).await.unwrap();
    let litres = CylinderLitres::from_l(15.0).unwrap();
    let cylinder = app.store.save_cylinder(CYLINDER, "A 12", litres, None);
    assert_eq!(cylinder.await.unwrap(), CylinderSaved::Saved);
    let there = format!("/desk/cylinders/{CYLINDER}");
    let filled = [("oxygen", "32"), ("bar", "200"), ("do", "fill")];
    let fill = format!("{there}/fill");
    app.desk().submit(&there, &fill, &filled).await.location();
    let helm = app.skipper();
    let seen = [
        ("set_deg", "90"),
        ("drift_kn", "0.5"),
        ("wind_from_deg", "180"),
        ("wind_kn", "10"),
        ("visibility_typed", "50"),
    ];
    let page = format!("/helm/{}/conditions", trip.id);
    helm.submit(&page, &page, &seen).await.location();
    app.drop_group(&trip, "B").await;
    app.drop_group(&trip, "C").await;
    app.wait(SignedDuration::from_mins(40));
    app.buoy(&trip, "C").await;
    app.surfaced(&trip, &[MARA, "Tomas Reyl"], Signal::Well)
        .await;
    app.aboard(&trip, &[MARA]).await;
    trip
}

/// What stands for itself on a page of its own, or is a page that is metric whatever is set.
fn is_apart(path: &str) -> bool {
    // The choice of units names both.
    path == "/desk/units" || path == "/set-up"
}

fn is_always_metric(route: &str) -> bool {
    let of_site = route.starts_with("/desk/sites/{site}/");
    // What a column of a file is in stands in its name.
    of_site || route.ends_with("/roster/csv")
}

fn filled(path: &str, trip: &Trip, person: PersonId) -> String {
    path.replace("{trip}", &trip.id.to_string())
        .replace("{group}", &trip.group("B").to_string())
        .replace("{person}", &person.to_string())
        .replace("{dive}", "1")
        .replace("{site}", &site().id.to_string())
        .replace("{boat}", &boat().sheet.id.to_string())
        .replace("{cylinder}", &CYLINDER.to_string())
        .replace("{day}", "2026-06-01")
        .replace("{month}", "2026-06")
}

async fn read(client: &Client, path: &str, language: &str) -> Option<String> {
    let request = client
        .request(&Method::GET, path)
        .header(header::ACCEPT_LANGUAGE, language);
    let answer = client.send(request.body(Body::empty()).unwrap()).await;
    let is_page = answer.header("content-type").starts_with("text/html");
    (answer.status == 200 && is_page).then(|| answer.text().to_owned())
}

/// Every page there is, as whoever may read it, with what it tells in each kind of unit.
async fn walk(
    app: &App,
    language: &str,
) -> Vec<(&'static str, BTreeSet<String>, BTreeSet<String>)> {
    let trip = whole(app).await;
    let clients = [app.skipper(), app.divemaster(), app.desk()];
    let mut told = Vec::new();
    for route in routes() {
        if route.methods != ["GET"] || route.path.ends_with("/live") {
            continue;
        }
        let of_register = route.path.starts_with("/desk/people/");
        let person = if of_register {
            PersonId::new(ASHORE)
        } else {
            trip.person(MARA)
        };
        let mut path = filled(route.path, &trip, person);
        if route.path == "/desk/season" {
            path.push_str("?from=2026-05-01&to=2026-07-01");
        }
        for client in &clients {
            if let Some(page) = read(client, &path, language).await {
                if !is_apart(route.path) {
                    told.push((route.path, units(&page, &METRIC), units(&page, &IMPERIAL)));
                }
                break;
            }
        }
    }
    told
}

/// Pages that this must have reached: a walk that sees nothing proves nothing.
const MUST: [&str; 16] = [
    "/helm/{trip}/group/{group}",
    "/helm/{trip}/chart",
    "/helm/{trip}/pickup",
    "/helm/{trip}/conditions",
    "/deck/{trip}/group/{group}",
    "/deck/{trip}/returns",
    "/desk/{trip}/roster",
    "/desk/{trip}/groups/{dive}",
    "/desk/{trip}/plan/{group}",
    "/desk/{trip}/passenger-list",
    "/desk/{trip}/boat-sheet",
    "/desk/{trip}/report",
    "/desk/sites/{site}",
    "/desk/people/{person}",
    "/desk/cylinders/{cylinder}",
    "/desk/{trip}/gas",
];

#[tokio::test]
async fn a_box_in_feet_and_psi_tells_nothing_in_metres_and_bar() {
    for language in ["en", "de"] {
        let app = imperial().await;
        let told = walk(&app, language).await;
        // All of them at once: one mixed page is seldom alone.
        let wrong: Vec<_> = told
            .iter()
            .map(|(path, metric, imperial)| {
                let alien = if is_always_metric(path) {
                    imperial
                } else {
                    metric
                };
                (path, alien)
            })
            .filter(|(_, alien)| !alien.is_empty())
            .collect();
        assert!(wrong.is_empty(), "{language}: {wrong:?}");
        for path in MUST {
            let of_page = told.iter().find(|(of, _, _)| *of == path);
            let (_, _, imperial) = of_page.unwrap_or_else(|| panic!("{path} was not reached"));
            assert!(!imperial.is_empty(), "{language} {path} tells no quantity");
        }
    }
}

#[tokio::test]
async fn a_metric_box_tells_nothing_in_feet_and_psi() {
    for language in ["en", "de"] {
        let app = App::new().await;
        let told = walk(&app, language).await;
        for (path, _, imperial) in &told {
            assert_eq!(*imperial, BTreeSet::new(), "{language} {path}");
        }
        for path in MUST {
            let of_page = told.iter().find(|(of, _, _)| *of == path);
            let (_, metric, _) = of_page.unwrap_or_else(|| panic!("{path} was not reached"));
            assert!(!metric.is_empty(), "{language} {path} tells no quantity");
        }
    }
}

fn formed(state: &State, trip: &Trip, letter: &str) -> deckwatch::trip::event::GroupFormed {
    state.groups[&trip.group(letter)].formed.clone()
}

#[tokio::test]
async fn forms_saved_unchanged_change_nothing_that_is_kept() {
    let app = imperial().await;
    let trip = app.trip_at_quay().await;
    let desk = app.desk();
    let before = app.state(&trip).await;
    for letter in ["B", "C", "D"] {
        let plan = format!("/desk/{}/plan/{}", trip.id, trip.group(letter));
        desk.submit(&plan, &plan, &[("do", "save")])
            .await
            .location();
    }
    let one = format!("/desk/{}/roster/{}", trip.id, trip.person(MARA));
    desk.submit(&one, &one, &[]).await.location();
    let there = format!("/desk/sites/{}", site().id);
    desk.submit(&there, &there, &[]).await.location();
    let after = app.state(&trip).await;
    for letter in ["B", "C", "D"] {
        let (was, is) = (
            formed(&before, &trip, letter),
            formed(&after, &trip, letter),
        );
        assert_eq!((was.kit, was.plan), (is.kit, is.plan), "{letter}");
    }
    let limit = |state: &State| state.people[&trip.person(MARA)].card.depth_limit_m;
    assert_eq!(limit(&before), limit(&after));
    let kept = app.store.site(site().id).await.unwrap().unwrap();
    assert_eq!(kept.stand_off, site().stand_off);
    let surface = |site: &deckwatch::store::register::Site| site.water.surface_bar();
    assert!((surface(&kept) - surface(&site())).abs() < 1e-9);
}

#[tokio::test]
async fn what_is_typed_in_feet_and_psi_is_kept_in_metres_and_bar() {
    let app = imperial().await;
    let trip = app.trip_at_quay().await;
    let desk = app.desk();
    let mara = trip.person(MARA);
    let plan = format!("/desk/{}/plan/{}", trip.id, trip.group("B"));
    let [cylinder, bar, breathing] =
        ["cylinder", "bar", "breathing"].map(|name| format!("{name}-{mara}"));
    let typed = [
        ("depth-0", "60"),
        ("minutes-0", "20"),
        ("stop_depth", "20"),
        (cylinder.as_str(), "100 @ 3442"),
        (bar.as_str(), "3000"),
        (breathing.as_str(), "0.75"),
        ("do", "save"),
    ];
    desk.submit(&plan, &plan, &typed).await.location();
    let formed = formed(&app.state(&trip).await, &trip, "B");
    let near = |a: f64, b: f64, within: f64| assert!((a - b).abs() < within, "{a}, not {b}");
    // By the exact foot; the rest are well-known pairs (common practice, no source).
    near(formed.plan.levels[0].depth_m.m(), 60.0 * 0.3048, 1e-9);
    near(formed.plan.safety_stop.depth_m.m(), 6.0, 1e-9);
    let kit = &formed.kit[&mara];
    near(kit.start_bar.bar(), 206.8, 0.05);
    near(kit.cylinder_l.l(), 12.1, 0.05);
    near(kit.breathing_l_min.l_min(), 21.2, 0.05);
    // As it was typed it stands there again.
    let shown = desk.get(&plan).await;
    assert_eq!(shown.attributes("#depth-0", "value"), ["60"]);
    assert_eq!(shown.attributes(&format!("#{bar}"), "value"), ["3000"]);
    assert!(shown.text().contains("60 ft"), "{}", shown.text());

    let one = format!("/desk/{}/roster/{mara}", trip.id);
    desk.submit(&one, &one, &[("limit", "60")]).await.location();
    let limit = app.state(&trip).await.people[&mara].card.depth_limit_m;
    near(limit.unwrap().m(), 18.288, 1e-9);
    let page = desk.get(&format!("/desk/{}/roster", trip.id)).await;
    assert!(page.text().contains("60\u{a0}ft"));
    // The line of the roster says what it is read in, and so does its example.
    assert_eq!(
        page.one("label[for=line]"),
        "Name; level; depth limit in ft"
    );
    assert!(page.text().contains("autonomous diver; 60"));
}

#[tokio::test]
async fn what_lies_outside_is_told_in_the_units_it_was_typed_in_and_stays_in_its_field() {
    let app = imperial().await;
    let trip = app.trip_at_quay().await;
    let desk = app.desk();
    let mara = trip.person(MARA);
    let plan = format!("/desk/{}/plan/{}", trip.id, trip.group("B"));
    let (bar, cylinder) = (format!("bar-{mara}"), format!("cylinder-{mara}"));
    let typed = [
        ("depth-0", "500"),
        (bar.as_str(), "600"),
        (cylinder.as_str(), "80"),
        ("do", "save"),
    ];
    let refused = desk.submit(&plan, &plan, &typed).await;
    refused.is(422);
    assert_eq!(refused.attributes("#depth-0", "value"), ["500"]);
    assert_eq!(
        refused.one("#depth-0-fault"),
        "Give a number from 3.3 to 393.7 ft."
    );
    // 50 bar have to come back, which is 725.2 psi.
    let below = refused.one(&format!("#{bar}-fault"));
    assert!(
        below.contains("600 psi") && below.contains("726 psi"),
        "{below}"
    );
    let size = refused.one(&format!("#{cylinder}-fault"));
    assert!(size.contains("80 @ 3000"), "{size}");
    assert_eq!(units(refused.text(), &METRIC), BTreeSet::new());
}

#[tokio::test]
async fn a_return_is_kept_in_metric_units_and_told_in_those_of_the_box() {
    let app = imperial().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "B").await;
    app.wait(SignedDuration::from_mins(45));
    let deck = app.divemaster();
    let path = format!("/deck/{}/return/{}", trip.id, trip.person(MARA));
    let typed = [
        ("bar", "1000"),
        ("depth", "59"),
        ("stop", "done"),
        ("at", "12:40"),
    ];
    deck.submit(&path, &path, &typed).await.location();
    let logged = app.state(&trip).await.people[&trip.person(MARA)].dives[&1].clone();
    assert!((logged.bar.unwrap() - 68.9476).abs() < 1e-3);
    assert!((logged.greatest_depth_m.unwrap() - 17.9832).abs() < 1e-9);
    let shown = deck.get(&path).await;
    assert!(shown.text().contains("1000 psi"), "{}", shown.text());
    assert!(shown.text().contains("59 ft"));

    // Programs and files are metric.
    let live = format!("/api/trips/{}/picture", trip.id);
    let picture = deck.get(&live).await;
    assert!(!picture.is(200).text().contains("psi"));
    let returns = format!("/api/trips/{}/returns.csv", trip.id);
    let csv = deck.get(&returns).await;
    let csv = csv.is(200).text();
    assert!(
        csv.contains("greatest_depth_m") && csv.contains("17.98"),
        "{csv}"
    );
}

#[tokio::test]
async fn a_page_from_before_the_change_is_read_as_what_it_was() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let desk = app.desk();
    let mara = trip.person(MARA);
    let one = format!("/desk/{}/roster/{mara}", trip.id);
    let metric = desk.get(&one).await.form(&one);
    let units = "/desk/units";
    let chosen = [("units", "imperial")];
    assert_eq!(desk.submit(units, units, &chosen).await.location(), units);
    assert!(desk.get(&one).await.text().contains(">ft<"));
    // It says nothing of its units: 30 might be of either.
    let refused = desk.post_raw(&one, &metric).await;
    assert_eq!(refused.is(422).count("#limit-fault"), 1);
    // One that says so is read by it, whatever was set since.
    let imperial = desk.get(&one).await.form(&one);
    let chosen = [("units", "metric")];
    desk.submit(units, units, &chosen).await.location();
    let mut typed = imperial;
    for (name, value) in &mut typed {
        if name == "limit" {
            "60".clone_into(value);
        }
    }
    desk.post_raw(&one, &typed).await.location();
    let limit = app.state(&trip).await.people[&mara].card.depth_limit_m;
    assert!((limit.unwrap().m() - 18.288).abs() < 1e-9);
}

#[tokio::test]
async fn the_owner_sets_the_units_and_the_audit_says_so() {
    let app = App::new().await;
    let desk = app.desk();
    let page = "/desk/units";
    assert_eq!(app.web.units(), System::Metric);
    let refused = desk.submit(page, page, &[("units", "leagues")]).await;
    refused.is(422);
    desk.submit(page, page, &[("units", "imperial")])
        .await
        .location();
    assert_eq!(app.web.units(), System::Imperial);
    let kept: Option<System> = app.store.setting(key::UNITS).await.unwrap();
    assert_eq!(kept, Some(System::Imperial));
    let again = app.after_power_cut(SignedDuration::from_secs(60)).await;
    assert_eq!(again.web.units(), System::Imperial);
    let lines = app.store.audits(10).await.unwrap();
    assert!(
        lines
            .iter()
            .any(|line| line.what.contains("units") && line.what.contains("imperial"))
    );
}

#[tokio::test]
async fn what_a_device_alone_needs_comes_in_both_units() {
    let app = imperial().await;
    let trip = app.trip().await;
    let deck = app.divemaster();
    let page = deck.get(&format!("/deck/{}", trip.id)).await;
    assert_eq!(page.attributes("#frame", "data-units"), ["imperial"]);
    let shell = deck.get("/alone").await;
    let words = shell.attributes("#alone-words", "data-json").concat();
    for key in [
        "measure-feet",
        "measure-metres",
        "measure-psi",
        "measure-bar",
    ] {
        assert!(words.contains(key), "{key}");
    }
}
