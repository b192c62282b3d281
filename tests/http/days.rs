//! Days: a month with its trips, all boats of a day, and a trip copied to another day.

use std::collections::BTreeSet;

use deckwatch::store::register::Person;
use deckwatch::trip::TripId;
use deckwatch::trip::decide;
use deckwatch::trip::event::{Fitness, Method, Point};
use deckwatch::trip::state::{Phase, Place, State, fold};
use deckwatch::units::Depth;
use jiff::SignedDuration;

use crate::app::{App, boat};
use crate::client::Answer;
use crate::trip::{ROSTER, Trip};

#[tokio::test]
async fn a_month_shows_each_trip_with_who_is_booked_and_leads_to_its_day() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let desk = app.desk();
    assert_eq!(
        desk.get("/desk/month").await.location(),
        "/desk/month/2026-06"
    );
    let month = desk.get("/desk/month/2026-06").await;
    assert_eq!(month.is(200).one("h1"), "June 2026");
    assert_eq!(month.count("td.month-day"), 30);
    // 1 June 2026 is a Monday: no blank before it, five after the 30th, a Tuesday.
    assert_eq!(month.count("td.month-blank"), 5);
    let booked = month.one(".month-day li");
    assert!(
        booked.contains("Marrow Tern At the quay 13 of 24 places taken"),
        "{booked}"
    );
    let links = month.attributes(".month-day[data-today] a", "href");
    assert_eq!(
        links,
        [
            "/desk/day/2026-06-01".to_owned(),
            format!("/desk/{}", trip.id)
        ]
    );
    assert_eq!(
        month.attributes(".between a", "href"),
        ["/desk/month/2026-05", "/desk/month/2026-07"]
    );
    for wrong in ["2026-13", "2026-6", "now", "2026-06-01"] {
        desk.get(&format!("/desk/month/{wrong}")).await.is(404);
    }
    desk.get("/desk/day/2026-06-31").await.is(404);
}

#[tokio::test]
async fn figures_of_a_boat_that_counts_blind_are_hidden() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    app.call_roll(&trip, Point::Departure).await;
    let crew = app.helm.by.crew;
    app.decide(&trip, &app.helm, |state, _| {
        let counted = decide::HeadCount {
            point: Point::Departure,
            call: state.current_call(Point::Departure).0,
            round: 1,
            method: Method::Heads,
            people: 13,
        };
        decide::count(state, counted, crew)
    })
    .await;
    let desk = app.desk();
    let copy = format!("/desk/{}/copy", trip.id);
    for page in ["/desk/month/2026-06", "/desk/day/2026-06-01", &copy] {
        let shown = desk.get(page).await;
        assert!(
            shown.is(200).text().contains("Figures are hidden"),
            "{page}"
        );
        assert!(!shown.text().contains("13 of 24"), "{page}");
    }
}

#[tokio::test]
async fn all_boats_of_a_day_stand_on_one_page_with_their_alerts_on_top() {
    let app = App::new().await;
    let calm = app.empty_trip().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "B").await;
    // A session at the desk ends while they dive.
    let desk = app.skipper();
    let day = "/desk/day/2026-06-01";
    let before = desk.get(day).await;
    assert_eq!(before.is(200).count(".boat-of-day"), 2);
    assert_eq!(before.count("#boats .alert"), 0);
    app.wait(SignedDuration::from_mins(70));
    let after = desk.get(day).await;
    let heads = after.is(200).attributes(".boat-of-day h2 a", "href");
    // Whose people are late stands first.
    assert_eq!(
        heads,
        [format!("/desk/{}", trip.id), format!("/desk/{}", calm.id)]
    );
    assert!(after.count(".boat-of-day:first-of-type > .alert-list .alert") > 0);
    assert!(after.all("#strip .alert")[0].contains("Marrow Tern:"));
    let streams = after.attributes("#boats", "data-streams");
    assert!(
        streams[0].contains(&format!("/api/trips/{}/live", trip.id)),
        "{streams:?}"
    );
    assert!(after.count(".ledger .row") > 0);
    let ids = after.attributes("[id]", "id");
    let once: BTreeSet<_> = ids.iter().collect();
    assert_eq!(once.len(), ids.len(), "an id twice: {ids:?}");
    // Without scripts it renews itself, unless that is switched off.
    assert!(after.text().contains("http-equiv=\"refresh\""));
    let still = desk.get(&format!("{day}?still")).await;
    assert!(!still.is(200).text().contains("http-equiv=\"refresh\""));
    let none = desk.get("/desk/day/2026-06-02").await;
    assert!(none.is(200).text().contains("No trip on this day."));
}

async fn copied(app: &App, trip: &Trip, fields: &[(&str, &str)]) -> Answer {
    let page = format!("/desk/{}/copy", trip.id);
    app.desk().submit(&page, &page, fields).await
}

async fn new_trip(app: &App, answer: &Answer) -> State {
    let to = answer.is(303).location().to_owned();
    let id: TripId = to.rsplit('/').next().unwrap().parse().unwrap();
    fold(id, &app.store.entries(id, 0).await.unwrap())
}

#[tokio::test]
async fn a_copy_has_the_plan_and_the_crew_and_nothing_that_happened() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "B").await;
    let old = app.state(&trip).await;
    let answer = copied(&app, &trip, &[("day", "2026-06-08")]).await;
    let new = new_trip(&app, &answer).await;
    let opened = new.opened.as_ref().unwrap();
    assert_eq!(
        (opened.day.to_string().as_str(), opened.harbour.as_str()),
        ("2026-06-08", "Old Quay")
    );
    assert_eq!(new.phase, Phase::AtQuay);
    assert_eq!(
        new.people
            .values()
            .map(|p| p.card.name.as_str())
            .collect::<BTreeSet<_>>(),
        BTreeSet::from(["Ilka Voss", "Jonne Aalto"])
    );
    assert!(
        new.people
            .values()
            .all(|p| p.place == Place::Ashore && p.dives.is_empty())
    );
    assert_eq!(
        (new.dives.len(), new.dive, new.boat.is_none()),
        (1, 0, true)
    );
    assert_eq!(
        (new.calls.len(), new.rolls.len(), new.lookout.is_none()),
        (0, 0, true)
    );
    // The log holds no group that nobody is in.
    assert_eq!(new.groups.len(), 0);
    assert_eq!(new.dives[&1].site.name, old.dives[&1].site.name);
    let desk = app.desk();
    for page in ["", "/groups/1", "/boat-sheet", "/report", "/copy"] {
        desk.get(&format!("/desk/{}{page}", new.trip)).await.is(200);
    }
}

#[tokio::test]
async fn with_people_the_groups_come_along_as_they_are_planned_and_as_the_register_has_them_now() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let restricted = Person {
        id: trip.person("Mara Lind"),
        name: "Mara Lind".to_owned(),
        level: "Autonomous diver".to_owned(),
        depth_limit: Some(Depth::from_m(12.0).unwrap()),
        last_dive: None,
        fitness: Fitness::Restricted,
        breathing: None,
        born: None,
        archived: false,
    };
    app.store.save_person(&restricted).await.unwrap();
    app.decide(&trip, &app.desk, |state, _| {
        decide::not_coming(state, trip.person("Noor Adan"), "Stays at home")
    })
    .await;
    let answer = copied(&app, &trip, &[("day", "2026-06-09"), ("people", "yes")]).await;
    let new = new_trip(&app, &answer).await;
    assert_eq!(new.coming().count(), ROSTER.len() - 1);
    let mara = &new.people[&trip.person("Mara Lind")];
    assert_eq!(
        (mara.card.fitness, mara.card.depth_limit_m.map(Depth::m)),
        (Fitness::Restricted, Some(12.0))
    );
    let groups = new.groups_of(1);
    assert_eq!(groups[0].members().len(), 4);
    assert_eq!(groups[0].formed.kit.len(), 4);
    // Of the pair one stays at home: nobody is paired anew by a copy.
    assert_eq!(groups.len(), 2);
    for group in groups {
        assert!(group.drop.is_none() && group.checked.is_none());
        assert_eq!(
            (group.formed.enters_at, &group.formed.limit_override),
            (None, &None)
        );
        assert_ne!(group.id, trip.group(&group.formed.letter));
    }
}

#[tokio::test]
async fn a_copy_that_does_not_hold_is_refused_whole_and_one_sent_twice_counts_once() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let mut small = boat();
    small.sheet.id = deckwatch::trip::BoatId::new(uuid::Uuid::from_u128(0x5A11));
    "Sprat".clone_into(&mut small.sheet.name);
    small.sheet.capacity = 6;
    app.store.save_boat(&small).await.unwrap();
    let trips = async || app.store.trips().await.unwrap().len();
    let id = small.sheet.id.to_string();
    let before = trips().await;
    for (fields, says) in [
        (
            &[
                ("day", "2026-06-09"),
                ("people", "yes"),
                ("boat", id.as_str()),
            ][..],
            "6",
        ),
        (&[("day", "yesterday")][..], "Give a day from"),
        (
            &[("day", "2026-06-09"), ("skipper", "nobody")][..],
            "Choose",
        ),
        (&[("day", "2026-06-09"), ("harbour", "")][..], ""),
    ] {
        let answer = copied(&app, &trip, fields).await;
        assert!(
            answer.is(422).one("#problem").contains(says),
            "{fields:?}: {}",
            answer.one("#problem")
        );
    }
    assert_eq!(
        trips().await,
        before,
        "nothing is written of what is refused"
    );
    let page = format!("/desk/{}/copy", trip.id);
    let desk = app.desk();
    let form = desk.get(&page).await.form(&page);
    let first = desk.post_raw(&page, &form).await;
    let again = desk.post_raw(&page, &form).await;
    assert_eq!(first.is(303).location(), again.is(303).location());
    assert_eq!(trips().await, before + 1);
    let new = new_trip(&app, &first).await;
    assert_eq!(new.coming().count(), 2);
}
