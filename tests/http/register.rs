//! The register ashore: doubles that somebody merges.

use deckwatch::store::crew::{AuditAsked, AuditKind, DeviceKind};
use deckwatch::store::register::{Contact, Person};
use deckwatch::trip::event::{About, Activity, Fact, Fitness, PersonId, Role, TripClosed};
use deckwatch::units::Depth;

use crate::app::App;
use crate::trip::Trip;

pub fn person(id: PersonId, name: &str) -> Person {
    Person {
        id,
        name: name.to_owned(),
        level: "Autonomous diver".to_owned(),
        depth_limit: Depth::from_m(20.0).ok(),
        last_dive: None,
        fitness: Fitness::Cleared,
        breathing: None,
        born: None,
        archived: false,
    }
}

async fn add(app: &App, name: &str) -> PersonId {
    let id = PersonId::new(app.clock.new_uuid());
    app.store.save_person(&person(id, name)).await.unwrap();
    id
}

async fn close(app: &App, trip: &Trip) {
    let closed = TripClosed {
        override_reason: None,
    };
    app.tell(trip, &app.helm, About::nobody(), Fact::TripClosed(closed))
        .await;
}

fn merge_url(stays: PersonId, gone: PersonId) -> String {
    format!("/desk/people/{stays}/merge/{gone}")
}

#[tokio::test]
async fn a_pair_that_looks_alike_is_shown_and_merged_by_what_a_person_chose() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let old = trip.person("Noor Adan");
    let mut first = person(old, "Noor Adan");
    first.fitness = Fitness::Restricted;
    app.store.save_person(&first).await.unwrap();
    let contact = Contact {
        name: "Lale Adan".to_owned(),
        relation: "sister".to_owned(),
        telephone: "+00 555 0147".to_owned(),
    };
    app.store.save_contact(old, &contact).await.unwrap();
    let mut second = person(PersonId::new(app.clock.new_uuid()), "Noor  ADÁN");
    second.depth_limit = Depth::from_m(40.0).ok();
    app.store.save_person(&second).await.unwrap();
    add(&app, "Wim Haal").await;
    close(&app, &trip).await;

    let desk = app.desk();
    let list = desk.get("/desk/people/doubles").await;
    assert_eq!(list.is(200).count("#doubles tbody tr"), 1);
    assert!(list.one("#doubles tbody").contains("The same name"));
    let page = merge_url(second.id, old);
    let shown = desk.get(&page).await;
    assert_eq!(shown.is(200).count("h1"), 1);
    assert_eq!(
        shown.count("input[type=radio][checked]"),
        0,
        "nothing is chosen beforehand"
    );
    assert!(shown.one("#agreed").contains("Autonomous diver"));
    assert!(shown.one("#trips").contains("Marrow Tern"));
    assert!(
        !shown.text().contains("Lale Adan"),
        "nothing is opened to choose"
    );

    // What was not chosen is asked for, what was stays chosen, and nothing is written.
    let some = [("name", "this"), ("limit", "other")];
    let refused = desk.submit(&page, &page, &some).await;
    assert_eq!(refused.is(422).count("input[type=radio][checked]"), 2);
    for field in ["fitness", "contact", "sure"] {
        assert_eq!(refused.count(&format!("#{field}-fault")), 1, "{field}");
    }
    for nonsense in ["", "both", "this\u{0}"] {
        let fields = [("name", nonsense), ("sure", "yes")];
        desk.submit(&page, &page, &fields).await.is(422);
    }
    assert_eq!(app.store.people().await.unwrap().len(), 3);

    let all = [
        ("name", "other"),
        ("limit", "other"),
        ("fitness", "other"),
        ("contact", "other"),
        ("sure", "yes"),
    ];
    let done = desk.submit(&page, &page, &all).await;
    assert_eq!(done.location(), format!("/desk/people/{}", second.id));
    let one = app.store.person(old).await.unwrap().unwrap();
    let expected = Person {
        id: second.id,
        ..first.clone()
    };
    assert_eq!(one, expected);
    assert_eq!(app.store.contact(second.id).await.unwrap(), Some(contact));
    assert_eq!(
        app.state(&trip).await.name_of(old),
        "Noor Adan",
        "the log keeps its own"
    );

    // Who merged what is told; the old number leads on.
    let shown = desk.get(&format!("/desk/people/{}", second.id)).await;
    let told = shown.one("#merged");
    assert!(
        told.contains("Noor Adan, by Berit Holm, 1 June 2026"),
        "{told}"
    );
    let way = desk.get(&format!("/desk/people/{old}")).await;
    assert_eq!(way.location(), format!("/desk/people/{}", second.id));
    let audit = desk.get("/desk/audit?kind=merged").await;
    assert!(
        audit
            .is(200)
            .text()
            .contains(&format!("merged the entry {old}"))
    );
    assert!(
        desk.get("/desk/people/doubles")
            .await
            .text()
            .contains("No two entries")
    );
    // The pair is one now.
    desk.get(&page).await.is(404);
    desk.post(&page, &all).await.is(404);
}

#[tokio::test]
async fn what_an_old_identity_did_is_exported_and_erased_with_the_person() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let old = trip.person("Noor Adan");
    let second = person(PersonId::new(app.clock.new_uuid()), "Noor Adan");
    for one in [&person(old, "Noor Adan"), &second] {
        app.store.save_person(one).await.unwrap();
    }
    close(&app, &trip).await;
    let desk = app.desk();
    let page = merge_url(second.id, old);
    desk.submit(&page, &page, &[("sure", "yes")])
        .await
        .location();
    // The trip of the old identity is the person's: in the export, and before an erasure.
    let data = format!("/desk/people/{}/data", second.id);
    assert!(desk.get(&data).await.one("#stays").contains("Marrow Tern"));
    let export = format!("/desk/people/{old}/export");
    let file = desk
        .post(
            &export,
            &[
                ("export-reason", "she asked"),
                ("export-pin", &app.desk.pin),
            ],
        )
        .await;
    let file = file.is(200).json();
    assert_eq!(file["person"]["id"], second.id.to_string());
    assert_eq!(file["merged"][0]["id"], old.to_string());
    assert_eq!(file["trips"].as_array().unwrap().len(), 1);
    assert!(!file["trips"][0]["entries"].as_array().unwrap().is_empty());
    let erase = format!("/desk/people/{old}/erase");
    let fields = [
        ("erase-reason", "she asked"),
        ("sure", "yes"),
        ("erase-pin", &app.desk.pin),
    ];
    assert_eq!(desk.post(&erase, &fields).await.location(), "/desk/people");
    for id in [old, second.id] {
        assert_eq!(app.store.person(id).await.unwrap(), None);
        assert_eq!(app.store.contact(id).await.unwrap(), None);
    }
}

#[tokio::test]
async fn nobody_on_a_trip_that_is_not_over_is_merged_and_the_rest_stands() {
    let app = App::new().await;
    let mut trip = app.trip_at_quay().await;
    let (old, new) = (trip.person("Noor Adan"), add(&app, "Noor Adan").await);
    app.store
        .save_person(&person(old, "Noor Adan"))
        .await
        .unwrap();
    let desk = app.desk();
    for (stays, gone) in [(old, new), (new, old)] {
        let page = merge_url(stays, gone);
        let shown = desk.get(&page).await;
        assert!(shown.is(200).one("#held").contains("which is not over"));
        let refused = desk.submit(&page, &page, &[("sure", "yes")]).await;
        assert!(
            refused
                .is(422)
                .one("#sure-fault")
                .contains("Take them off its roster")
        );
    }
    assert_eq!(app.store.people().await.unwrap().len(), 2);
    // Off the roster nothing is in the way, though the log names her.
    let stay = format!("/desk/{}/roster/{old}/not-coming", trip.id);
    let one = format!("/desk/{}/roster/{old}", trip.id);
    desk.submit(&one, &stay, &[("reason", "entered twice")])
        .await
        .location();
    let page = merge_url(new, old);
    desk.submit(&page, &page, &[("sure", "yes")])
        .await
        .location();
    assert_eq!(app.store.people().await.unwrap().len(), 1);
    // Back under the old identity she is found on the roster, not added beside herself.
    app.join_known(&mut trip, "Noor Adan", Activity::Diver, old)
        .await;
    let roster = format!("/desk/{}/roster", trip.id);
    let found = desk.get(&format!("{roster}?find=noor")).await;
    assert!(found.is(200).one(".found").contains("On the roster"));
    let fields = [
        ("person", &*new.to_string()),
        ("activity", "diver"),
        ("both", "yes"),
    ];
    desk.submit(&roster, &roster, &fields).await.is(422);
    let state = app.state(&trip).await;
    assert_eq!(
        state.coming().filter(|p| p.name() == "Noor Adan").count(),
        1
    );
    // And the trip holds her entry, under whichever identity.
    let data = desk.get(&format!("/desk/people/{new}/data")).await;
    assert!(data.is(200).one("#held").contains("Marrow Tern"));
}

#[tokio::test]
async fn two_people_are_said_to_be_two_and_only_the_desk_merges() {
    let app = App::new().await;
    let (a, b) = (add(&app, "Liv Aas").await, add(&app, "Liv Aas").await);
    let page = merge_url(a, b);
    let seat = app
        .another("Odd Lunde", Role::Divemaster, DeviceKind::Desk, "730518")
        .await;
    for client in [app.divemaster(), app.skipper(), app.at(&seat)] {
        client.get(&page).await.is(403);
        client.post(&page, &[("sure", "yes")]).await.is(403);
        client.post(&format!("{page}/two"), &[]).await.is(403);
        client.get("/desk/people/doubles").await.is(403);
    }
    let desk = app.desk();
    let two = format!("{page}/two");
    let said = desk.submit(&page, &two, &[]).await;
    assert_eq!(said.location(), "/desk/people/doubles");
    let list = desk.get("/desk/people/doubles").await;
    assert_eq!(list.is(200).count("#doubles tbody tr"), 0);
    // Still to be merged by hand, by who finds that it was wrong.
    let find = desk
        .get(&format!("/desk/people/doubles?of={a}&find=liv"))
        .await;
    let ways = find.is(200).attributes("#found a", "href");
    assert_eq!(ways, [merge_url(a, b)]);
    let asked = AuditAsked {
        kind: Some(AuditKind::Merged),
        ..AuditAsked::default()
    };
    let lines = app.store.find_audits(&asked, 9).await.unwrap();
    assert_eq!(lines.len(), 1);
    assert_eq!(lines[0].person, Some(a));
    for strange in ["/desk/people/doubles?of=x", &merge_url(a, a)] {
        let status = desk.get(strange).await.status.as_u16();
        assert!(matches!(status, 400 | 404 | 422), "{strange}: {status}");
    }
}
