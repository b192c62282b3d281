//! The skipper's pages: what each action does, and what it refuses.

use deckwatch::store::crew::{AuditKind, DeviceKind};
use deckwatch::store::register::{Contact, Person};
use deckwatch::trip::decide;
use deckwatch::trip::event::{About, CommandAccepted, Fact, Fitness, Method, Point, Role, Signal};
use deckwatch::trip::state::{Phase, Place};
use jiff::SignedDuration;

use crate::app::App;
use crate::client::Answer;
use crate::trip::{ROSTER, Trip};

fn minutes(n: i64) -> SignedDuration {
    SignedDuration::from_mins(n)
}

fn at(trip: &Trip, page: &str) -> String {
    if page.is_empty() {
        format!("/helm/{}", trip.id)
    } else {
        format!("/helm/{}/{page}", trip.id)
    }
}

/// The hidden fields of the form that has a button of this label.
fn form_of(answer: &Answer, action: &str, label: &str) -> Vec<(String, String)> {
    let selector = format!("form[action=\"{action}\"]");
    let labels = answer.all(&format!("{selector} button"));
    let nth = labels
        .iter()
        .position(|text| text.starts_with(label))
        .unwrap_or_else(|| panic!("no '{label}' among {labels:?}"));
    let page = scraper::Html::parse_document(answer.text());
    let forms = scraper::Selector::parse(&selector).unwrap();
    let inputs = scraper::Selector::parse("input").unwrap();
    let form = page.select(&forms).nth(nth).unwrap();
    form.select(&inputs)
        .map(|input| {
            (
                input.attr("name").unwrap().to_owned(),
                input.attr("value").unwrap().to_owned(),
            )
        })
        .collect()
}

/// Every page answers, whatever the trip's stage, with one heading and no word missing.
#[tokio::test]
async fn every_page_is_drawn_at_every_stage() {
    let app = App::new().await;
    let quay = app.trip_at_quay().await;
    let under_way = app.trip().await;
    for letter in ["B", "C", "D"] {
        app.drop_group(&under_way, letter).await;
    }
    app.buoy(&under_way, "C").await;
    app.surfaced(&under_way, &["Mara Lind"], Signal::Help).await;
    app.wait(minutes(70));
    for trip in [&quay, &under_way] {
        let group = format!("group/{}", trip.group("B"));
        let mut pages = vec![
            String::new(),
            group.clone(),
            format!("person/{}", trip.person("Mara Lind")),
            format!("devices/{}", app.deck.device),
        ];
        pages.extend(["more-time", "word"].map(|page| format!("{group}/{page}")));
        pages.extend(
            "alerts pickup position count count/names roll gate gate/override recall emergency \
             emergency/end handover handover/contacts conditions chart buoy trip command lookout incident \
             devices crew instruments"
                .split(' ')
                .map(ToOwned::to_owned),
        );
        for page in pages {
            let path = at(trip, &page);
            let answer = app.skipper().get(&path).await;
            answer.is(200);
            assert_eq!(answer.count("h1"), 1, "{path}");
            assert!(!answer.text().contains('{'), "{path}: {}", answer.text());
            assert!(!answer.text().contains(" style="), "{path}");
        }
    }
}

#[tokio::test]
async fn pages_and_people_that_are_not_there_are_not_found() {
    let app = App::new().await;
    let trip = app.trip().await;
    let nobody = uuid::Uuid::from_u128(7);
    for page in [
        format!("/helm/{nobody}"),
        "/helm/nonsense".to_owned(),
        at(&trip, &format!("group/{nobody}")),
        at(&trip, &format!("person/{nobody}")),
        at(&trip, &format!("devices/{nobody}")),
    ] {
        app.skipper().get(&page).await.is(404);
    }
}

#[tokio::test]
async fn the_desk_declares_and_reads_but_does_not_steer() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.desk().get(&at(&trip, "handover")).await.is(200);
    app.desk().get(&at(&trip, "")).await.is(403);
    app.desk()
        .post(&at(&trip, "acknowledge"), &[])
        .await
        .is(403);
    app.divemaster()
        .post(&at(&trip, "pickup/fix"), &[])
        .await
        .is(403);
    let declared = [("what", "distress")];
    let answer = app.desk().post(&at(&trip, "emergency"), &declared).await;
    assert_eq!(answer.location(), at(&trip, "emergency"));
    assert!(app.state(&trip).await.emergency.is_some());
}

/// Three groups up together, one with a distress signal: it ranks first with the reason, and
/// the skipper overrules in one tap.
#[tokio::test]
async fn distress_ranks_first_with_its_reason_and_the_skipper_overrules_in_one_tap() {
    let app = App::new().await;
    let trip = app.trip().await;
    for letter in ["B", "C", "D"] {
        app.drop_group(&trip, letter).await;
    }
    app.wait(minutes(45));
    let of_b = ["Mara Lind", "Tomas Reyl", "Anouk Petri", "Dario Benn"];
    app.surfaced(&trip, &of_b, Signal::Well).await;
    app.surfaced(
        &trip,
        &["Sefa Orun", "Ines Calder", "Wim Haal"],
        Signal::Well,
    )
    .await;
    app.surfaced(&trip, &["Noor Adan", "Pavel Strand"], Signal::Help)
        .await;
    let pickup = at(&trip, "pickup");
    let page = app.skipper().get(&pickup).await;
    assert!(page.one("#next-title").contains("Delta"), "{}", page.text());
    assert!(page.one(".next-why").contains("Needs help"));

    let fix = at(&trip, "pickup/fix");
    let order = page.all(".order > li strong");
    let other = order.first().unwrap().clone();
    let tap = form_of(&page, &fix, "Fetch next");
    assert_eq!(app.skipper().post_raw(&fix, &tap).await.location(), pickup);
    let page = app.skipper().get(&pickup).await;
    assert!(page.one("#next-title").contains(&other), "{}", page.text());
    assert!(page.one(".next-why").contains("You fixed it"));
    assert_eq!(app.state(&trip).await.arranged.fixed.len(), 1);

    // Released, distress is first again.
    let release = form_of(&page, &fix, "Release");
    app.skipper().post_raw(&fix, &release).await.location();
    let page = app.skipper().get(&pickup).await;
    assert!(page.one("#next-title").contains("Delta"));
}

#[tokio::test]
async fn at_a_group_each_person_comes_aboard_by_one_tap_and_undo_takes_it_back() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    app.wait(minutes(40));
    app.surfaced(&trip, &["Noor Adan", "Pavel Strand"], Signal::Well)
        .await;
    let pickup = at(&trip, "pickup");
    let page = app.skipper().get(&pickup).await;
    let here = at(&trip, "pickup/at");
    let tap = form_of(&page, &here, "At this group");
    app.skipper().post_raw(&here, &tap).await.location();
    assert_eq!(
        app.state(&trip).await.arranged.under_way.as_deref(),
        Some("D")
    );
    let page = app.skipper().get(&pickup).await;
    assert!(page.one(".next-why").contains("under way"));
    let aboard = at(&trip, "pickup/aboard");
    let tap = form_of(&page, &aboard, "Aboard");
    app.skipper().post_raw(&aboard, &tap).await.location();
    let state = app.state(&trip).await;
    let back = state
        .people
        .values()
        .filter(|p| p.place == Place::AtSurface);
    assert_eq!(back.count(), 1);
    // The same form sent twice counts once.
    app.skipper().post_raw(&aboard, &tap).await.location();
    assert_eq!(app.state(&trip).await.events, state.events);

    let page = app.skipper().get(&pickup).await;
    let undo = at(&trip, "undo");
    let back = page.form(&undo);
    app.skipper().post_raw(&undo, &back).await.location();
    let state = app.state(&trip).await;
    let out = state
        .people
        .values()
        .filter(|p| p.place == Place::AtSurface);
    assert_eq!(out.count(), 2);
    app.wait(minutes(2));
    assert_eq!(app.skipper().get(&pickup).await.count(".undo"), 0);
    // Somebody who never went in, and somebody who is nobody.
    let ruta = trip.person("Ruta Sol").to_string();
    for person in [ruta.as_str(), "nobody"] {
        app.skipper()
            .post(&aboard, &[("person", person)])
            .await
            .is(422);
    }
    app.skipper().post(&here, &[("id", "Z")]).await.is(422);
    app.skipper()
        .post(&at(&trip, "pickup/fix"), &[("fixed", "Z")])
        .await
        .is(422);
}

/// When overdue reaches 'call', the handover holds every field, and opening the contacts leaves
/// an entry in the trip's log and a line in the box's own record.
#[tokio::test]
async fn overdue_the_handover_holds_every_field_and_opening_contacts_is_logged() {
    let app = App::new().await;
    let trip = app.trip().await;
    let noor = trip.person("Noor Adan");
    let person = Person {
        id: noor,
        name: "Noor Adan".to_owned(),
        level: String::new(),
        depth_limit: None,
        last_dive: None,
        fitness: Fitness::Cleared,
        breathing: None,
        born: None,
        archived: false,
    };
    app.store.save_person(&person).await.unwrap();
    let contact = Contact {
        name: "Lale Adan".to_owned(),
        relation: "sister".to_owned(),
        telephone: "555 0147".to_owned(),
    };
    app.store.save_contact(noor, &contact).await.unwrap();
    let position = [("latitude", "45 0.5 N"), ("longitude", "30 0 W")];
    let answer = app.skipper().post(&at(&trip, "position"), &position).await;
    assert_eq!(answer.location(), at(&trip, "pickup"));
    app.drop_group(&trip, "D").await;
    app.wait(minutes(75));
    app.skipper()
        .post(&at(&trip, "emergency"), &[("what", "missing")])
        .await
        .location();
    let page = app.skipper().get(&at(&trip, "handover")).await;
    let terms = page.all("dt");
    for term in [
        "Name",
        "Call sign",
        "Position of this boat",
        "Missing or in trouble",
        "Aboard",
        "Still under",
        "Left surface",
        "Place of the drop",
        "Last seen",
        "Plan",
        "Latest",
        "Gas at the start",
        "Suit and jacket",
        "Buoy",
        "Lights",
        "Whistle and beacon",
        "Wind from",
        "Current going to",
        "Water",
        "Visibility",
        "Area searched",
        "Casualties",
        "Oxygen",
    ] {
        assert!(terms.iter().any(|found| found == term), "{term}: {terms:?}");
    }
    assert!(page.all("dd").iter().all(|value| !value.is_empty()));
    let text = page.one("main");
    assert!(text.contains("45° 00.500' N, 030° 00.000' W"), "{text}");
    assert!(text.contains("12:00 local, 10:00 UTC"), "{text}");
    // What has not been observed is said to be not known.
    assert!(text.contains("not known"));
    assert!(!text.contains("555 0147"));
    let named = page.all("dt").iter().position(|term| term == "Noor Adan");
    assert_eq!(page.all("dd")[named.unwrap()], "Contact given");
    let spoken = page.all(".said-aloud");
    // Order of call and message: ITU Radio Regulations, Article 32.
    assert!(spoken[0].starts_with("MAYDAY, MAYDAY, MAYDAY"));
    assert!(spoken[1].starts_with("THIS IS Marrow Tern, Marrow Tern, Marrow Tern"));
    assert!(spoken[1].contains("X-ray X-ray one two three four"));
    assert!(spoken[3].starts_with("Position four five degrees"));
    assert_eq!(spoken.last().unwrap(), "OVER.");

    let contacts = at(&trip, "handover/contacts");
    let noor = noor.to_string();
    let before = app.state(&trip).await.events;
    // Without a reason, or for nobody, nothing is opened and nothing logged.
    for fields in [vec![("persons", noor.as_str())], vec![("reason", "call")]] {
        let refused = app.skipper().post(&contacts, &fields).await;
        refused.is(422);
        assert!(!refused.text().contains("555 0147"));
    }
    assert_eq!(app.state(&trip).await.events, before);
    let fields = [("persons", noor.as_str()), ("reason", "family asks")];
    let opened = app.skipper().post(&contacts, &fields).await;
    assert!(
        opened
            .is(200)
            .text()
            .contains("Lale Adan, sister, 555 0147")
    );
    let state = app.state(&trip).await;
    assert_eq!(state.incidents.len(), 1);
    assert!(state.incidents[0].what.text.contains("family asks"));
    let line = &app.store.audits(1).await.unwrap()[0];
    assert_eq!(line.kind, AuditKind::ContactOpened);
    assert_eq!(line.who, Some(app.helm.by.crew));
    assert_eq!(line.device, Some(app.helm.device));
    assert_eq!(line.person.map(|id| id.to_string()), Some(noor));
    assert!(line.what.contains("family asks"), "{}", line.what);
}

async fn count(app: &App, trip: &Trip, skipper: bool, people: &str) -> Answer {
    let client = if skipper {
        app.skipper()
    } else {
        app.divemaster()
    };
    let path = at(trip, "count");
    client.submit(&path, &path, &[("people", people)]).await
}

/// All names ticked, but the physical count is one short: the count wins.
#[tokio::test]
async fn with_all_names_ticked_a_physical_count_one_short_keeps_the_boat() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let everybody: Vec<(String, &str)> = ROSTER
        .iter()
        .map(|(name, _)| (format!("p-{}", trip.person(name)), "seen"))
        .collect();
    let mut fields: Vec<(&str, &str)> = everybody.iter().map(|(n, v)| (n.as_str(), *v)).collect();
    fields.push(("point", "departure"));
    let answer = app.skipper().post(&at(&trip, "roll"), &fields).await;
    assert_eq!(answer.location(), at(&trip, "gate"));
    assert_eq!(app.state(&trip).await.aboard(), 13);

    for round in [1, 2] {
        for skipper in [true, false] {
            count(&app, &trip, skipper, "12").await.location();
            let page = app.skipper().get(&at(&trip, "count")).await;
            // No figure while a count is open, on any page of the helm.
            if round == 1 || skipper {
                assert!(!page.one("main").contains("12"), "{}", page.one("main"));
                assert!(!page.one("main").contains("13"), "{}", page.one("main"));
                let watch = app.skipper().get(&at(&trip, "")).await;
                assert_eq!(watch.count(".count"), 1, "{}", watch.text());
            }
        }
    }
    let page = app.skipper().get(&at(&trip, "count")).await;
    assert!(page.one("main").contains("differ a second time"));
    let gate = app.skipper().get(&at(&trip, "gate")).await;
    assert_eq!(gate.all(".blocks > li").len(), 1, "{}", gate.text());
    let depart = [("act", "depart")];
    let refused = app.skipper().post(&at(&trip, "gate"), &depart).await;
    assert!(refused.is(422).one(".problem").contains("differed twice"));
    assert_eq!(app.state(&trip).await.phase, Phase::AtQuay);

    // A third count that agrees opens the gate.
    for skipper in [true, false] {
        let client = if skipper {
            app.skipper()
        } else {
            app.divemaster()
        };
        let (page, action) = (at(&trip, "count?again=1"), at(&trip, "count"));
        client
            .submit(&page, &action, &[("people", "13")])
            .await
            .location();
    }
    let gate = app.skipper().get(&at(&trip, "gate")).await;
    let tap = form_of(&gate, &at(&trip, "gate"), "Depart");
    app.skipper()
        .post_raw(&at(&trip, "gate"), &tap)
        .await
        .location();
    assert_eq!(app.state(&trip).await.phase, Phase::UnderWay);
}

#[tokio::test]
async fn a_lone_crew_member_counts_the_second_time_by_names() {
    let app = App::new().await;
    let trip = app.trip().await;
    count(&app, &trip, true, "13").await.location();
    // The same way again is no second count.
    let tokens = [
        ("point", "leaving"),
        ("call", "1"),
        ("round", "1"),
        ("people", "13"),
    ];
    app.skipper()
        .post(&at(&trip, "count"), &tokens)
        .await
        .is(422);
    let names = at(&trip, "count/names");
    let page = app.skipper().get(&names).await;
    let mut fields = page.form(&names);
    fields.extend(
        ROSTER
            .iter()
            .map(|(name, _)| ("persons".to_owned(), trip.person(name).to_string())),
    );
    app.skipper().post_raw(&names, &fields).await.location();
    let page = app.skipper().get(&at(&trip, "count")).await;
    assert!(
        page.one("main").contains("agree: 13 aboard"),
        "{}",
        page.text()
    );
}

#[tokio::test]
async fn a_count_that_is_no_number_or_of_another_round_is_refused() {
    let app = App::new().await;
    let trip = app.trip().await;
    let events = app.state(&trip).await.events;
    for people in ["", "-1", "NaN", "1e3", "twelve", "99999"] {
        count(&app, &trip, true, people).await.is(422);
    }
    let other = [
        ("point", "leaving"),
        ("call", "3"),
        ("round", "2"),
        ("people", "13"),
    ];
    app.skipper()
        .post(&at(&trip, "count"), &other)
        .await
        .is(422);
    app.skipper()
        .post(&at(&trip, "count"), &[("people", "13")])
        .await
        .is(409);
    assert_eq!(app.state(&trip).await.events, events);
}

#[tokio::test]
async fn the_roll_is_called_by_name_and_whoever_is_left_out_keeps_it_open() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let roll = at(&trip, "roll");
    let page = app.skipper().get(&roll).await;
    assert_eq!(page.count(".called"), 13);
    assert_eq!(page.count(".called input[checked]"), 0);
    let one = format!("p-{}", trip.person("Ruta Sol"));
    let refused = app
        .skipper()
        .submit(&roll, &roll, &[(one.as_str(), "seen")])
        .await;
    assert!(refused.is(422).one(".problem").contains("Mara Lind"));
    // What was marked stays marked.
    assert_eq!(refused.count(".called input[checked]"), 1);
    let nonsense = [(one.as_str(), "perhaps"), ("point", "departure")];
    app.skipper().post(&roll, &nonsense).await.is(422);
    assert_eq!(app.state(&trip).await.aboard(), 0);
}

#[tokio::test]
async fn a_closed_gate_is_overridden_by_the_skippers_stated_reason_alone() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    let gate = at(&trip, "gate");
    let blocked = app.skipper().get(&gate).await;
    assert!(blocked.one(".blocks").contains("Noor Adan"));
    let path = at(&trip, "gate/override");
    app.divemaster().get(&path).await.is(403);
    app.skipper()
        .submit(&path, &path, &[("override_reason", " ")])
        .await
        .is(422);
    assert_eq!(app.state(&trip).await.phase, Phase::OnSite);
    let reason = [("override_reason", "Fire aboard; tender stays with them")];
    app.skipper().submit(&path, &path, &reason).await.location();
    let state = app.state(&trip).await;
    assert_eq!(state.phase, Phase::UnderWay);
    assert_eq!(state.overrides.len(), 1);
    let page = app.skipper().get(&at(&trip, "trip")).await;
    assert!(page.text().contains("Fire aboard"));
}

#[tokio::test]
async fn an_alert_is_acknowledged_by_name_or_kept_quiet_for_thirty_seconds() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    app.wait(minutes(75));
    let alerts = at(&trip, "alerts");
    let page = app.skipper().get(&alerts).await;
    // Overdue proposes the emergency.
    assert!(
        page.text().contains("Proposed: call early"),
        "{}",
        page.text()
    );
    let quiet = at(&trip, "quiet");
    let tap = form_of(&page, &quiet, "Quiet 30 s");
    app.skipper().post_raw(&quiet, &tap).await.location();
    let page = app.skipper().get(&alerts).await;
    assert!(page.count("[data-alert-state=silenced]") >= 1);
    app.wait(SignedDuration::from_secs(31));
    let page = app.skipper().get(&alerts).await;
    assert_eq!(page.count("[data-alert-state=silenced]"), 0);
    let acknowledge = at(&trip, "acknowledge");
    let watch = app.skipper().get(&at(&trip, "")).await;
    let tap = form_of(&watch, &acknowledge, "Acknowledge");
    app.skipper().post_raw(&acknowledge, &tap).await.location();
    let page = app.skipper().get(&alerts).await;
    assert!(page.text().contains("Acknowledged by Ilka Voss"));
    let gone = [("alert", "group:none"), ("cause", "late")];
    app.skipper().post(&acknowledge, &gone).await.is(422);
}

#[tokio::test]
async fn more_time_is_given_with_a_reason_and_in_sight_of_what_was_given() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    let group = trip.group("D");
    let path = at(&trip, &format!("group/{group}/more-time"));
    for (minutes, reason) in [("", "why"), ("5", ""), ("soon", "why"), ("-3", "why")] {
        let fields = [("minutes", minutes), ("reason", reason)];
        app.skipper().submit(&path, &path, &fields).await.is(422);
    }
    let fields = [("minutes", "5"), ("reason", "asked at the buoy")];
    app.skipper().submit(&path, &path, &fields).await.location();
    let drop = app.state(&trip).await.groups[&group].drop.clone().unwrap();
    assert!((drop.granted_min - 5.0).abs() < 1e-9);
    // A page that showed another sum is told so.
    let stale = [("minutes", "5"), ("reason", "again"), ("granted", "0")];
    app.skipper().post(&path, &stale).await.is(422);
}

#[tokio::test]
async fn a_person_is_settled_by_what_is_seen() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    app.wait(minutes(40));
    let noor = trip.person("Noor Adan");
    let path = at(&trip, &format!("person/{noor}"));
    app.skipper().submit(&path, &path, &[]).await.is(422);
    app.skipper()
        .submit(&path, &path, &[("look", "other-vessel")])
        .await
        .is(422);
    app.skipper()
        .submit(&path, &path, &[("look", "missing")])
        .await
        .location();
    let place = |state: &deckwatch::trip::state::State| state.people[&noor].place;
    assert_eq!(place(&app.state(&trip).await), Place::Missing);
    let found = [
        ("look", "other-vessel"),
        ("whither", "Grey Dunlin"),
        ("seen_by", ""),
    ];
    app.skipper().submit(&path, &path, &found).await.is(422);
    let found = [
        ("look", "other-vessel"),
        ("whither", "Grey Dunlin"),
        ("seen_by", "Odd Hale"),
    ];
    app.skipper().submit(&path, &path, &found).await.location();
    assert_eq!(place(&app.state(&trip).await), Place::OtherVessel);
    // Back already: nothing more to log.
    app.skipper()
        .submit(&path, &path, &[("look", "aboard")])
        .await
        .is(422);
}

#[tokio::test]
async fn a_divers_word_and_a_buoy_are_logged_of_those_who_can_give_them() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    app.wait(minutes(40));
    let group = trip.group("D");
    let word = at(&trip, &format!("group/{group}/word"));
    let noor = trip.person("Noor Adan").to_string();
    let lost = [("said_by", noor.as_str()), ("word", "lost")];
    app.skipper().post(&word, &lost).await.is(422);
    app.surfaced(&trip, &["Noor Adan"], Signal::Well).await;
    app.skipper().post(&word, &lost).await.location();
    let buoy = at(&trip, "buoy");
    let of = group.to_string();
    let of = ("group", of.as_str());
    app.skipper().post(&buoy, &[of]).await.is(422);
    let half = [of, ("colour", "yellow"), ("bearing", "90")];
    app.skipper().post(&buoy, &half).await.is(422);
    let seen = [
        of,
        ("colour", "yellow"),
        ("bearing", "90"),
        ("range", "200"),
    ];
    app.skipper().post(&buoy, &seen).await.location();
    let state = app.state(&trip).await;
    assert_eq!(state.groups[&group].lost_contact.len(), 1);
    assert_eq!(state.groups[&group].sightings.len(), 2);
    // A buoy counts nobody.
    let pavel = &state.people[&trip.person("Pavel Strand")];
    assert_eq!(pavel.place, Place::InWater);
}

#[tokio::test]
async fn conditions_are_logged_in_pairs_and_within_reason() {
    let app = App::new().await;
    let trip = app.trip().await;
    let path = at(&trip, "conditions");
    for fields in [
        vec![],
        vec![("set_deg", "45")],
        vec![("wind_kn", "12")],
        vec![("set_deg", "361"), ("drift_kn", "1")],
        vec![("water_c", "NaN")],
        vec![("sea", "wet")],
    ] {
        app.skipper().post(&path, &fields).await.is(422);
    }
    let seen = [
        ("set_deg", "45"),
        ("set_typed", "62"),
        ("drift_kn", "0,8"),
        ("sea", "slight"),
        ("water_c", "27"),
    ];
    app.skipper().post(&path, &seen).await.location();
    let c = app.state(&trip).await.conditions;
    // Degrees typed are finer than the point tapped.
    assert_eq!(c.current().unwrap().what, (62.0, 0.8));
    let page = app.skipper().get(&path).await;
    assert!(page.text().contains("0 min ago"));
}

#[tokio::test]
async fn the_recall_is_logged_with_its_signal_while_somebody_is_out() {
    let app = App::new().await;
    let trip = app.trip().await;
    let path = at(&trip, "recall");
    app.skipper()
        .post(&path, &[("signal", "revs")])
        .await
        .is(422);
    app.drop_group(&trip, "D").await;
    app.skipper().post(&path, &[]).await.is(422);
    app.skipper()
        .post(&path, &[("signal", "other")])
        .await
        .is(422);
    let other = [("signal", "other"), ("other", "three bangs")];
    app.desk().post(&path, &other).await.location();
    assert_eq!(app.state(&trip).await.recalls.len(), 1);
    let page = app.skipper().get(&path).await;
    assert!(page.text().contains("Receipt not proven"));
}

#[tokio::test]
async fn the_emergency_is_declared_worked_through_and_ended() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    let path = at(&trip, "emergency");
    app.skipper()
        .post(&path, &[("what", "boredom")])
        .await
        .is(422);
    let missing = at(&trip, "emergency/missing");
    app.skipper().post(&missing, &[]).await.is(422);
    let noor = trip.person("Noor Adan").to_string();
    app.desk()
        .post(&missing, &[("persons", noor.as_str())])
        .await
        .location();
    app.skipper()
        .post(&path, &[("what", "missing")])
        .await
        .location();
    let step = at(&trip, "emergency/step");
    app.skipper().post(&step, &[("step", "9")]).await.is(422);
    app.skipper().post(&step, &[("step", "1")]).await.location();
    let page = app.skipper().get(&path).await;
    assert!(page.one(".steps").contains("Done by Ilka Voss"));
    let end = at(&trip, "emergency/end");
    app.skipper().post(&end, &[("reason", "")]).await.is(422);
    app.skipper()
        .post(&end, &[("reason", "Both aboard")])
        .await
        .location();
    let state = app.state(&trip).await;
    assert!(state.emergency.is_none());
    let declared = app.store.entries(trip.id, 0).await.unwrap();
    let with_noor = declared.iter().any(|e| {
        matches!(e.event.fact, Fact::EmergencyDeclared(_))
            && e.event.about.persons.contains(&trip.person("Noor Adan"))
    });
    assert!(with_noor);
}

#[tokio::test]
async fn command_passes_only_when_the_other_accepts_within_thirty_seconds() {
    let app = App::new().await;
    let trip = app.trip().await;
    let mate = app
        .another("Edda Brun", Role::Skipper, DeviceKind::Helm, "719352")
        .await;
    let path = at(&trip, "command");
    let to = mate.by.crew.to_string();
    let nobody = [("to", "nobody")];
    app.skipper().post(&path, &nobody).await.is(422);
    app.skipper()
        .post(&path, &[("to", to.as_str())])
        .await
        .location();
    app.wait(SignedDuration::from_secs(31));
    let accept = at(&trip, "command/accept");
    app.at(&mate).post(&accept, &[]).await.is(422);
    // A tablet that was cut off says so all the same: the log keeps it, and command stays.
    app.tell(
        &trip,
        &mate,
        About::nobody(),
        Fact::CommandAccepted(CommandAccepted {}),
    )
    .await;
    assert_eq!(app.state(&trip).await.command.name, "Ilka Voss");
    app.wait(SignedDuration::from_secs(1));
    app.skipper()
        .post(&path, &[("to", to.as_str())])
        .await
        .location();
    let page = app.at(&mate).get(&at(&trip, "")).await;
    let tap = page.form(&accept);
    app.wait(SignedDuration::from_secs(1));
    app.at(&mate).post_raw(&accept, &tap).await.location();
    assert_eq!(app.state(&trip).await.command.name, "Edda Brun");
    // Who gave command away has none to give.
    app.skipper()
        .post(&path, &[("to", to.as_str())])
        .await
        .is(422);
}

/// Loaded again by itself it would not be at its address, or would not say why it was refused.
#[tokio::test]
async fn a_page_that_answers_a_form_says_so_and_does_not_load_itself_again() {
    let app = App::new().await;
    let trip = app.trip().await;
    let refused = app.skipper().post(&at(&trip, "in-harbour"), &[]).await;
    let watch = app.skipper().get(&at(&trip, "")).await;
    assert_eq!(refused.is(422).count("#frame[data-answer]"), 1);
    assert!(!refused.text().contains("http-equiv=\"refresh\""));
    assert_eq!(watch.is(200).count("#frame[data-answer]"), 0);
    assert!(watch.text().contains("http-equiv=\"refresh\""));
}

#[tokio::test]
async fn the_trip_goes_from_site_to_harbour_and_lookout_and_notes_are_kept() {
    let app = App::new().await;
    let trip = app.trip().await;
    for page in ["on-site", "in-harbour"] {
        app.skipper()
            .post(&at(&trip, page), &[("dive", "1")])
            .await
            .is(422);
    }
    let lookout = at(&trip, "lookout");
    app.skipper().post(&lookout, &[]).await.is(422);
    app.skipper()
        .post(&lookout, &[("who", "Ilka Voss")])
        .await
        .location();
    assert_eq!(app.state(&trip).await.lookout.unwrap().name, "Ilka Voss");
    let incident = at(&trip, "incident");
    app.skipper().post(&incident, &[]).await.is(422);
    let note = [("text", "Lost a weight belt")];
    app.skipper().post(&incident, &note).await.location();
    app.call_roll(&trip, Point::Leaving).await;
    app.count(&trip, Point::Leaving, None).await;
    let gate = at(&trip, "gate");
    let wrong = [("act", "depart")];
    app.skipper().post(&gate, &wrong).await.is(422);
    app.skipper()
        .post(&gate, &[("act", "leave-site")])
        .await
        .location();
    app.skipper()
        .post(&at(&trip, "in-harbour"), &[])
        .await
        .location();
    assert_eq!(app.state(&trip).await.phase, Phase::Back);
    let refused = app.skipper().post(&gate, &[("act", "close")]).await;
    assert!(refused.is(422).text().contains("Two crew count"));
}

#[tokio::test]
async fn the_lookout_is_relieved_from_its_page_once_nobody_is_out() {
    let app = App::new().await;
    let trip = app.trip().await;
    let (page, relieve) = (at(&trip, "lookout"), at(&trip, "lookout/relieve"));
    app.drop_group(&trip, "D").await;
    let shown = app.skipper().get(&page).await;
    assert!(!shown.text().contains(&relieve), "somebody is in the water");
    app.wait(minutes(45));
    app.surfaced(&trip, &["Noor Adan", "Pavel Strand"], Signal::Well)
        .await;
    app.aboard(&trip, &["Noor Adan", "Pavel Strand"]).await;
    let trip_page = app.skipper().get(&at(&trip, "trip")).await;
    assert_eq!(trip_page.count(&format!("a[href='{page}']")), 1);
    app.skipper().submit(&page, &relieve, &[]).await.location();
    assert!(app.state(&trip).await.lookout.is_none());
    let shown = app.skipper().get(&page).await;
    assert!(!shown.text().contains(&relieve), "nobody looks any more");
}

#[tokio::test]
async fn the_roll_says_how_many_are_seen_unless_somebody_counts_blind() {
    let app = App::new().await;
    let trip = app.trip().await;
    let roll = at(&trip, "roll");
    let shown = app.skipper().get(&roll).await;
    assert_eq!(shown.one("[data-tally]"), "0 of 13 seen");
    let mara = format!("p-{}", trip.person("Mara Lind"));
    let one = [(mara.as_str(), "seen"), ("point", "leaving")];
    let refused = app.skipper().post(&roll, &one).await;
    assert_eq!(refused.is(422).one("[data-tally]"), "1 of 13 seen");
    begin_count(&app, &trip).await;
    let shown = app.skipper().get(&roll).await;
    assert_eq!(
        (shown.count("[data-tally]"), shown.count(".called")),
        (0, 13)
    );
}

/// The skipper has counted, the divemaster has not.
async fn begin_count(app: &App, trip: &Trip) {
    let crew = app.helm.by.crew;
    app.decide(trip, &app.helm, |state, _| {
        let counted = decide::HeadCount {
            point: Point::Leaving,
            call: 1,
            round: 1,
            method: Method::Heads,
            people: 13,
        };
        decide::count(state, counted, crew)
    })
    .await;
}

#[tokio::test]
async fn the_handover_is_one_tap_away_while_a_count_is_open_and_at_once_in_an_emergency() {
    let app = App::new().await;
    let trip = app.trip().await;
    begin_count(&app, &trip).await;
    let page = at(&trip, "handover");
    let held = app.skipper().get(&page).await;
    assert_eq!(held.count(".said-aloud"), 0);
    let to = held.attributes("main a.grave", "href");
    let shown = app.skipper().get(&to[0]).await;
    assert!(shown.count(".said-aloud") > 3);
    let what = [("what", "injury")];
    app.skipper()
        .post(&at(&trip, "emergency"), &what)
        .await
        .location();
    assert!(app.skipper().get(&page).await.count(".said-aloud") > 3);
}

#[tokio::test]
async fn an_emergency_is_declared_by_anybody_and_ended_by_the_skipper() {
    let app = App::new().await;
    let trip = app.trip().await;
    let page = at(&trip, "emergency");
    let what = [("what", "missing")];
    app.divemaster().post(&page, &what).await.location();
    let end = at(&trip, "emergency/end");
    let links = |answer: &Answer| answer.count(&format!("a[href='{end}']"));
    assert_eq!(links(&app.divemaster().get(&page).await), 0);
    assert_eq!(links(&app.skipper().get(&page).await), 1);
    let how = [("reason", "All are well")];
    app.divemaster().post(&end, &how).await.is(403);
    assert!(app.state(&trip).await.emergency.is_some());
    app.skipper().post(&end, &how).await.location();
    assert!(app.state(&trip).await.emergency.is_none());
}

#[tokio::test]
async fn devices_and_accounts_are_let_in_and_shut_out_by_the_skipper() {
    let app = App::new().await;
    let trip = app.trip().await;
    let code = app.skipper().post(&at(&trip, "devices/code"), &[]).await;
    let digits = code.is(200).one(".code").replace(' ', "");
    assert_eq!(digits.len(), 8);
    app.divemaster().get(&at(&trip, "devices")).await.is(403);
    let deck = at(&trip, &format!("devices/{}", app.deck.device));
    app.skipper().post(&deck, &[]).await.location();
    // Shut out at once.
    let gone = app.divemaster().get(&at(&trip, "")).await;
    assert!(gone.location().starts_with("/sign-in"));
    let crew = at(&trip, "crew");
    for (name, role, pin) in [
        ("", "skipper", "719352"),
        ("Edda Brun", "", "719352"),
        ("Edda Brun", "skipper", "123456"),
        ("Edda Brun", "skipper", "12"),
        ("Ilka Voss", "skipper", "719352"),
    ] {
        let fields = [("name", name), ("role", role), ("pin", pin)];
        app.skipper().post(&crew, &fields).await.is(422);
    }
    let fields = [
        ("name", "Edda Brun"),
        ("role", "divemaster"),
        ("pin", "719352"),
    ];
    app.skipper().post(&crew, &fields).await.location();
    assert_eq!(app.store.list_crew().await.unwrap().len(), 4);
}

#[tokio::test]
async fn a_page_of_another_log_is_too_old_to_act_from() {
    let app = App::new().await;
    let trip = app.trip().await;
    let fields = [("knows", "1-00000000"), ("text", "note")];
    app.skipper()
        .post(&at(&trip, "incident"), &fields)
        .await
        .is(409);
}

/// What a recall brings stands on the watch list, the group's page, the recall page and in the
/// handover, each with the caution that it is reckoned; no deadline moves.
#[tokio::test]
async fn after_a_recall_every_page_says_when_each_group_is_up_at_the_earliest_and_no_deadline_moves()
 {
    let app = App::new().await;
    let trip = app.trip().await;
    let desk = "Jonne Aalto: dive leaders, stops briefed";
    let deep = trip.group("B");
    app.decide(&trip, &app.desk, |state, _| {
        let mut formed = state.groups[&deep].formed.clone();
        let level = serde_json::json!([{"depth_m": 27.0, "minutes": 28.0}]);
        formed.plan.levels = serde_json::from_value(level).unwrap();
        for kit in formed.kit.values_mut() {
            kit.cylinder_l = deckwatch::units::CylinderLitres::from_l(20.0).unwrap();
        }
        formed.limit_override = Some(desk.to_owned());
        let id = deep;
        decide::form_group(
            state,
            decide::FormGroup {
                id,
                dive: 1,
                formed,
            },
        )
    })
    .await;
    app.drop_group(&trip, "B").await;
    app.wait(minutes(4));
    app.drop_group(&trip, "C").await;
    app.wait(minutes(1));
    let skipper = app.skipper();
    let lines = |page: &Answer| page.all(".row-stops");
    let page = skipper.get(&at(&trip, "")).await;
    let owes = lines(&page);
    assert_eq!(owes.len(), 1, "{owes:?}");
    assert!(
        owes[0].starts_with("owes ") && owes[0].contains(" min at 3 m"),
        "{owes:?}"
    );
    assert!(page.one(".reckoned").contains("computers rule"));
    let windows = |state: &deckwatch::trip::state::State| -> Vec<_> {
        let groups = state.groups.values();
        groups
            .filter_map(|g| deckwatch::trip::watch::deadlines(state, g))
            .collect()
    };
    let before = windows(&app.state(&trip).await);

    app.wait(minutes(20));
    let recall = at(&trip, "recall");
    let page = skipper.get(&recall).await;
    assert_eq!(page.all("#brings"), ["Earliest up, if recalled now"]);
    skipper
        .submit(&recall, &recall, &[("signal", "revs")])
        .await
        .location();
    let page = skipper.get(&recall).await;
    assert_eq!(page.all("#brings"), ["Earliest up since the recall"]);
    assert_eq!(page.all("main dt").len(), 2);
    let said = page.all("main dd");
    // 12:25; 18 m and 20 minutes: some two minutes up to 5 m, three there, one to the surface.
    assert_eq!(said[0], "earliest up 12:31, 3 min at 5 m");
    assert!(said[1].starts_with("earliest up 12:3"), "{said:?}");
    assert!(page.one("main").contains("computers rule"));

    let page = skipper.get(&at(&trip, "")).await;
    let rows = lines(&page);
    assert_eq!(rows.len(), 2);
    assert!(
        rows.contains(&"recalled 12:25: earliest up 12:31, 3 min at 5 m".to_owned()),
        "{rows:?}"
    );
    assert_eq!(windows(&app.state(&trip).await), before);
    let group = skipper.get(&at(&trip, &format!("group/{deep}"))).await;
    let terms = group.all("dt");
    for term in ["Stops owed by the plan", "Earliest up since the recall"] {
        assert!(terms.iter().any(|found| found == term), "{term}: {terms:?}");
    }
    assert!(group.one("main").contains("computers rule"));

    // Past its time a group is told what it would owe by now, and its deadlines stay.
    app.wait(minutes(25));
    let page = skipper.get(&at(&trip, "")).await;
    let rows = lines(&page);
    assert!(
        rows.iter()
            .any(|row| row.starts_with("if still down: owes ")),
        "{rows:?}"
    );
    assert_eq!(windows(&app.state(&trip).await), before);
    let page = skipper.get(&at(&trip, "handover")).await;
    assert!(
        page.all("dt")
            .contains(&"If left the bottom only now".to_owned())
    );
    let deck = app
        .divemaster()
        .get(&format!("/deck/{}/group/{deep}", trip.id))
        .await;
    assert_eq!(deck.is(200).count(".row-stops"), 1);
    assert_eq!(deck.count(".reckoned"), 1);
}
