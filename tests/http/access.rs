//! Contacts and who may open them, the audit, what is deleted and when, and one person's data.

use std::collections::BTreeSet;

use deckwatch::store::crew::{AuditAsked, AuditKind, DeviceKind};
use deckwatch::store::register::{Contact, Person, key};
use deckwatch::trip::event::{About, Fact, Fitness, IncidentNoted, PersonId, TripClosed};
use deckwatch::units::Depth;
use deckwatch::web::retention::{Confirmed, Rule, look_at_key, run};
use jiff::SignedDuration;

use crate::app::App;
use crate::client::Client;
use crate::trip::Trip;

const TELEPHONE: &str = "+00 555 0147";

fn days(n: i64) -> SignedDuration {
    SignedDuration::from_hours(24 * n)
}

/// Puts somebody of a trip into the register, with a contact.
async fn register(app: &App, id: PersonId, name: &str) {
    let person = Person {
        id,
        name: name.to_owned(),
        level: "Autonomous diver".to_owned(),
        depth_limit: Some(Depth::from_m(20.0).unwrap()),
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
        telephone: TELEPHONE.to_owned(),
    };
    app.store.save_contact(id, &contact).await.unwrap();
}

/// The desk as it signs in on another day: a session of before has lapsed.
async fn desk_again(app: &App) -> Client {
    let name = format!("Desk of {}", app.clock.now());
    let seat = app.another_owner(&name, DeviceKind::Desk, "318264");
    app.at(&seat.await)
}

async fn close(app: &App, trip: &Trip) {
    let closed = TripClosed {
        override_reason: None,
    };
    app.tell(trip, &app.helm, About::nobody(), Fact::TripClosed(closed))
        .await;
}

async fn lines(app: &App, kind: AuditKind) -> Vec<String> {
    let asked = AuditAsked {
        kind: Some(kind),
        ..AuditAsked::default()
    };
    let found = app.store.find_audits(&asked, 50).await.unwrap();
    found.into_iter().map(|line| line.what).collect()
}

#[tokio::test]
async fn one_tap_opens_the_contacts_of_those_who_are_overdue_and_they_are_ticked_already() {
    let app = App::new().await;
    let trip = app.trip().await;
    let noor = trip.person("Noor Adan");
    register(&app, noor, "Noor Adan").await;
    app.drop_group(&trip, "D").await;
    let path = format!("/helm/{}/handover/contacts", trip.id);
    let page = app.skipper().get(&path).await;
    let ticked = page.count("input[name=persons][checked]");
    assert_eq!(ticked, 0, "under water is nothing to call about");
    app.wait(SignedDuration::from_mins(90));
    let page = app.skipper().get(&path).await;
    let ticked = page.attributes("input[name=persons][checked]", "value");
    let out: BTreeSet<String> = ["Noor Adan", "Pavel Strand"]
        .map(|name| trip.person(name).to_string())
        .into();
    assert_eq!(ticked.into_iter().collect::<BTreeSet<_>>(), out);
    assert!(page.count("button[name=why]") >= 4);
    assert!(!page.text().contains(TELEPHONE));
    let opened = app
        .skipper()
        .submit(&path, &path, &[("why", "missing")])
        .await;
    assert!(opened.is(200).text().contains(TELEPHONE));
    let audited = lines(&app, AuditKind::ContactOpened).await;
    assert_eq!(audited.len(), 2, "a line for each: {audited:?}");
    assert!(audited.iter().all(|what| what.ends_with("Person missing")));
}

#[tokio::test]
async fn without_its_key_file_the_handover_stands_and_says_what_to_do() {
    let app = App::new().await;
    let trip = app.trip().await;
    let noor = trip.person("Noor Adan");
    register(&app, noor, "Noor Adan").await;
    app.drop_group(&trip, "D").await;
    app.wait(SignedDuration::from_mins(90));
    let key = app.store.path().with_extension("key");
    let kept = std::fs::read(&key).unwrap();
    let (handover, contacts) = (
        format!("/helm/{}/handover", trip.id),
        format!("/helm/{}/handover/contacts", trip.id),
    );
    for (content, says) in [
        (None, "key file of this box is missing"),
        (Some("nonsense"), "is no key file"),
        (
            Some(
                "deckwatch-key-1 0000000000000000000000000000000000000000000000000000000000000000",
            ),
            "not the one these contacts were sealed by",
        ),
    ] {
        match content {
            None => std::fs::remove_file(&key).unwrap(),
            Some(text) => std::fs::write(&key, text).unwrap(),
        }
        look_at_key(&app.web).await;
        assert!(app.web.notices().all().contains_key("contacts-key"));
        let page = app.skipper().get(&handover).await;
        let main = page.is(200).one("main");
        assert!(
            main.contains("MAYDAY") && main.contains("Contact given"),
            "{main}"
        );
        assert!(main.contains(says), "{main}");
        let form = app.skipper().get(&contacts).await;
        assert!(form.is(200).one("#key").contains(says));
        let opened = app
            .skipper()
            .submit(&contacts, &contacts, &[("why", "missing")])
            .await;
        let main = opened.is(200).one("main");
        assert!(main.contains(says) && main.contains("Noor Adan"), "{main}");
        assert!(!main.contains(TELEPHONE));
    }
    std::fs::write(&key, kept).unwrap();
    look_at_key(&app.web).await;
    assert!(!app.web.notices().all().contains_key("contacts-key"));
    let opened = app
        .skipper()
        .submit(&contacts, &contacts, &[("why", "missing")])
        .await;
    assert!(opened.text().contains(TELEPHONE), "back without a restart");
}

#[tokio::test]
async fn a_contact_that_cannot_be_sealed_is_refused_before_anything_is_written() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    register(&app, trip.person("Noor Adan"), "Noor Adan").await;
    std::fs::remove_file(app.store.path().with_extension("key")).unwrap();
    let before = app.state(&trip).await.events;
    let people = app.store.people().await.unwrap().len();
    let roster = format!("/desk/{}/roster", trip.id);
    let typed = [
        ("line", "Ola Ferring; Autonomous diver; 18"),
        ("activity", "diver"),
        ("contact-name", "Sten Ferring"),
        ("contact-telephone", "1"),
    ];
    let refused = app.desk().submit(&roster, &roster, &typed).await;
    assert!(
        refused
            .is(422)
            .one("#contact-name-fault")
            .contains("key file")
    );
    let csv = "name,limit,contact,phone\nOla Ferring,18,Sten Ferring,1\n";
    let confirm = format!("{roster}/csv/confirm");
    let refused = app.desk().post(&confirm, &[("text", csv)]).await;
    assert!(refused.is(422).text().contains("key file"));
    assert_eq!(app.state(&trip).await.events, before);
    assert_eq!(app.store.people().await.unwrap().len(), people);
}

#[tokio::test]
async fn what_is_typed_as_a_reason_is_inert_wherever_it_stands() {
    let app = App::new().await;
    let id = PersonId::new(app.clock.new_uuid());
    register(&app, id, "=HYPERLINK(\"x\")").await;
    let open = format!("/desk/people/{id}/contact/open");
    let evil = "=cmd|'/c x'!A0 <script>alert(1)</script>\r\n'; DROP TABLE audit; --";
    let opened = app.desk().post(&open, &[("reason", evil)]).await;
    assert!(opened.is(200).text().contains(TELEPHONE));
    let page = app.desk().get("/desk/audit").await;
    assert_eq!(page.is(200).count("main script"), 0);
    assert_eq!(page.count("tr.opened"), 1, "it stands out");
    let row = page.one("tr.opened");
    assert!(
        row.contains("<script>alert(1)</script> '; DROP TABLE audit; --"),
        "{row}"
    );
    assert!(
        row.contains("Berit Holm") && row.contains("Desk of Berit Holm"),
        "{row}"
    );
    let file = app.desk().get("/desk/audit.csv?kind=contact-opened").await;
    assert!(file.is(200).header("content-type").starts_with("text/csv"));
    let mut read = csv::Reader::from_reader(file.text().as_bytes());
    let rows: Vec<_> = read.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 1, "one line in the file, whatever was typed");
    assert_eq!(&rows[0][5], "'=HYPERLINK(\"x\")");
    assert!(rows[0][7].starts_with("opened the contact at the desk: =cmd"));
    assert_eq!(lines(&app, AuditKind::Exported).await.len(), 1);
}

#[tokio::test]
async fn the_audit_is_narrowed_paged_and_refuses_what_makes_no_sense() {
    let app = App::new().await;
    let id = PersonId::new(app.clock.new_uuid());
    register(&app, id, "Noor Adan").await;
    for n in 0..120 {
        app.store
            .audit(None, None, &format!("note {n}"))
            .await
            .unwrap();
    }
    let open = format!("/desk/people/{id}/contact/open");
    app.desk().post(&open, &[("why", "rescue")]).await.is(200);
    let desk = app.desk();
    let page = desk.get("/desk/audit").await;
    assert_eq!(page.count("#audit tbody tr"), 100);
    let older = page
        .attributes("main a.button", "href")
        .into_iter()
        .find(|href| href.contains("before="))
        .unwrap();
    let rest = desk.get(&older).await;
    let all = 100 + rest.is(200).count("#audit tbody tr");
    assert_eq!(all, app.store.audits(1_000).await.unwrap().len());
    let about = desk.get(&format!("/desk/audit?person={id}")).await;
    assert_eq!(about.count("#audit tbody tr"), 1);
    assert!(about.one("#person").contains("Noor Adan"));
    let of_kind = desk.get("/desk/audit?kind=sign-in").await;
    assert!(
        of_kind
            .all("#audit tbody tr")
            .iter()
            .all(|row| row.contains("signed in"))
    );
    for (day, found) in [("2026-06-01", true), ("2026-06-02", false)] {
        let page = desk.get(&format!("/desk/audit?day={day}")).await;
        assert_eq!(page.count("#audit tbody tr") > 0, found, "{day}");
    }
    for (query, field) in [
        ("kind=all", "kind"),
        ("day=soon", "day"),
        ("person=x", "person"),
        ("before=x", "before"),
    ] {
        for path in ["/desk/audit", "/desk/audit.csv"] {
            let refused = desk.get(&format!("{path}?{query}")).await;
            let links = refused.is(422).attributes("#problem a", "href");
            assert_eq!(links, [format!("#{field}")], "{path}?{query}");
        }
    }
    for client in [app.skipper(), app.divemaster()] {
        client.get("/desk/audit").await.is(403);
        client.get("/desk/audit.csv").await.is(403);
        client.get("/desk/retention").await.is(403);
        client.get(&format!("/desk/people/{id}/data")).await.is(403);
        for act in ["export", "erase"] {
            let path = format!("/desk/people/{id}/{act}");
            client.post(&path, &[("export-reason", "x")]).await.is(403);
        }
        assert_eq!(
            client
                .get("/desk/people")
                .await
                .count("nav a[href='/desk/audit']"),
            0
        );
    }
}

#[tokio::test]
async fn nobody_on_a_trip_that_is_not_over_loses_anything_whatever_the_rule() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let noor = trip.person("Noor Adan");
    register(&app, noor, "Noor Adan").await;
    let rule = Rule {
        contact_days: 0,
        fitness_days: 0,
        entry_days: 0,
        notice_days: 1,
        confirmed: Some(Confirmed {
            by: "x".to_owned(),
            on: "2026-06-01".parse().unwrap(),
        }),
        ..Rule::default()
    };
    app.store.set_setting(key::RETENTION, &rule).await.unwrap();
    for _ in 0..4 {
        run(&app.web).await.unwrap();
        app.wait(days(400));
    }
    assert!(app.store.has_contact(noor).await.unwrap());
    assert!(app.store.listed().await.unwrap().is_empty());
    assert!(lines(&app, AuditKind::Retention).await.is_empty());
    let page = desk_again(&app).await.get("/desk/retention").await;
    assert!(
        page.is(200)
            .one("main")
            .contains("On a trip that is not over: Marrow Tern")
    );
}

#[tokio::test]
async fn what_is_over_is_listed_first_and_deleted_a_notice_later_with_a_line_and_no_name() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let noor = trip.person("Noor Adan");
    register(&app, noor, "Noor Adan").await;
    close(&app, &trip).await;
    app.wait(days(8));
    // Over, but nobody could read it: listed, not deleted.
    run(&app.web).await.unwrap();
    run(&app.web).await.unwrap();
    assert!(app.store.has_contact(noor).await.unwrap());
    let desk = desk_again(&app).await;
    let page = desk.get("/desk/retention").await;
    let rows = page.is(200).all("#going tbody tr");
    assert_eq!(rows.len(), 2, "{rows:?}");
    // Cell by cell: the time is over a week after the trip, the notice two days after the list.
    let expected = "Noor AdanEmergency contact8 June 2026, 10:0011 June 2026, 10:00";
    assert!(rows.iter().any(|row| row == expected), "{rows:?}");
    app.wait(days(1));
    run(&app.web).await.unwrap();
    assert!(
        app.store.has_contact(noor).await.unwrap(),
        "the notice is two days"
    );
    app.wait(days(1));
    run(&app.web).await.unwrap();
    assert!(!app.store.has_contact(noor).await.unwrap());
    let person = app.store.person(noor).await.unwrap().unwrap();
    assert_eq!(
        person.fitness,
        Fitness::Restricted,
        "asked anew, never cleared"
    );
    let told = lines(&app, AuditKind::Retention).await;
    assert_eq!(told.len(), 2, "{told:?}");
    assert!(
        told.iter()
            .any(|what| what.starts_with("deleted contact of 1 people: 7 days"))
    );
    for what in &told {
        assert!(
            !what.contains("Noor") && !what.contains(&noor.to_string()),
            "{what}"
        );
    }
    // The entry goes only by a rule that somebody checked.
    app.wait(days(400));
    run(&app.web).await.unwrap();
    app.wait(days(3));
    run(&app.web).await.unwrap();
    assert!(app.store.person(noor).await.unwrap().is_some());
    let desk = desk_again(&app).await;
    let checked = [("named", "Island Diving Code 12"), ("checked", "yes")];
    desk.submit("/desk/retention", "/desk/retention", &checked)
        .await
        .location();
    run(&app.web).await.unwrap();
    assert!(app.store.person(noor).await.unwrap().is_none());
    assert_eq!(
        app.state(&trip).await.name_of(noor),
        "Noor Adan",
        "the log keeps the name"
    );
    assert_eq!(app.store.verify().await.unwrap().flaws, []);
}

#[tokio::test]
async fn a_trip_with_an_incident_holds_its_people_until_the_desk_settles_it() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let noor = trip.person("Noor Adan");
    register(&app, noor, "Noor Adan").await;
    let note = IncidentNoted {
        record: None,
        text: "cut hand".to_owned(),
    };
    app.tell(&trip, &app.deck, About::nobody(), Fact::IncidentNoted(note))
        .await;
    close(&app, &trip).await;
    for _ in 0..4 {
        app.wait(days(30));
        run(&app.web).await.unwrap();
    }
    assert!(app.store.has_contact(noor).await.unwrap());
    let desk = desk_again(&app).await;
    let settle = format!("/desk/retention/{}", trip.id);
    let page = desk.get("/desk/retention").await;
    assert!(
        page.is(200)
            .one("main")
            .contains("Something is open about a trip")
    );
    desk.post(&settle, &[("reason", " ")]).await.is(422);
    desk.post(&settle, &[("reason", "healed, nothing claimed")])
        .await
        .location();
    run(&app.web).await.unwrap();
    assert!(app.store.has_contact(noor).await.unwrap(), "listed first");
    app.wait(days(2));
    run(&app.web).await.unwrap();
    assert!(!app.store.has_contact(noor).await.unwrap());
}

#[tokio::test]
async fn a_rule_that_makes_no_sense_is_refused_whole() {
    let app = App::new().await;
    let desk = app.desk();
    for (fields, field) in [
        (vec![("contact", "-1")], "contact"),
        (vec![("contact", "99999")], "contact"),
        (vec![("notice", "0")], "notice"),
        (vec![("entry", "3")], "entry"),
        (vec![("checked", "yes")], "named"),
        (vec![("records", "soon")], "records"),
    ] {
        let refused = desk
            .submit("/desk/retention", "/desk/retention", &fields)
            .await;
        let links = refused.is(422).attributes("#problem a", "href");
        assert_eq!(links, [format!("#{field}")], "{fields:?}");
    }
    let none: Option<Rule> = app.store.setting(key::RETENTION).await.unwrap();
    assert_eq!(none, None);
    let page = desk.get("/desk/retention").await;
    assert!(page.one("main").contains("Check your local code"));
    let fields = [("named", "Code\n12"), ("checked", "yes"), ("contact", "3")];
    desk.submit("/desk/retention", "/desk/retention", &fields)
        .await
        .location();
    let rule: Rule = app.store.setting(key::RETENTION).await.unwrap().unwrap();
    assert_eq!((rule.named.as_str(), rule.contact_days), ("Code 12", 3));
    assert_eq!(rule.confirmed.unwrap().by, "Berit Holm");
    assert!(lines(&app, AuditKind::Retention).await[0].contains("contacts 3 days"));
}

#[tokio::test]
async fn one_persons_data_is_taken_out_whole_and_tells_nothing_of_others() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let noor = trip.person("Noor Adan");
    register(&app, noor, "Noor Adan").await;
    let page = format!("/desk/people/{noor}/data");
    let export = format!("/desk/people/{noor}/export");
    app.desk().submit(&page, &export, &[]).await.is(422);
    let taken = app
        .desk()
        .submit(
            &page,
            &export,
            &[
                ("export-reason", "by letter, passport seen"),
                ("export-pin", &app.desk.pin),
            ],
        )
        .await;
    let document = taken.is(200).json();
    assert!(
        taken
            .header("content-disposition")
            .starts_with("attachment")
    );
    assert_eq!(document["person"]["name"], "Noor Adan");
    assert_eq!(document["contact"]["telephone"], TELEPHONE);
    let entries = document["trips"][0]["entries"].as_array().unwrap();
    assert!(
        entries
            .iter()
            .any(|e| e["kind"] == "person-joined" && e["content"].is_object())
    );
    assert!(
        entries
            .iter()
            .any(|e| e["also_about_others"] == true && e["content"].is_null())
    );
    for (name, _) in crate::trip::ROSTER {
        // Who signed an entry acted for the centre and stays named.
        if !["Noor Adan", "Ilka Voss", "Jonne Aalto"].contains(&name) {
            assert!(!taken.text().contains(name), "{name}");
        }
    }
    assert!(lines(&app, AuditKind::Exported).await[0].contains("passport seen"));
}

#[tokio::test]
async fn somebody_on_a_trip_is_not_erased_and_afterwards_the_log_keeps_the_name() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let noor = trip.person("Noor Adan");
    register(&app, noor, "Noor Adan").await;
    let page = format!("/desk/people/{noor}/data");
    let erase = format!("/desk/people/{noor}/erase");
    let fields = [
        ("erase-reason", "asked by letter"),
        ("sure", "yes"),
        ("erase-pin", app.desk.pin.as_str()),
    ];
    let shown = app.desk().get(&page).await;
    assert!(
        shown
            .is(200)
            .one("#held")
            .contains("On a trip that is not over")
    );
    app.desk().submit(&page, &erase, &fields).await.is(422);
    assert!(app.store.has_contact(noor).await.unwrap());
    close(&app, &trip).await;
    let shown = app.desk().get(&page).await;
    assert_eq!(shown.count("#held"), 0);
    // Ten years after 1 June 2026, by the default rule.
    assert!(
        shown.one("#stays").contains("at least until 1 June 2036"),
        "{}",
        shown.one("#stays")
    );
    let refused = app.desk().submit(&page, &erase, &fields[..1]).await;
    assert_eq!(refused.is(422).count("#sure-fault"), 1);
    // What cannot be taken back asks for the PIN again, and guesses of it are counted.
    for pin in ["", "000000", &app.helm.pin] {
        let fields = [fields[0], fields[1], ("erase-pin", pin)];
        let refused = app.desk().submit(&page, &erase, &fields).await;
        assert_eq!(refused.is(422).count("#erase-pin-fault"), 1, "{pin}");
        assert_eq!(refused.attributes("#erase-pin", "value"), [""]);
    }
    assert!(app.store.person(noor).await.unwrap().is_some());
    app.desk().submit(&page, &erase, &fields).await.location();
    app.desk().get(&page).await.is(404);
    assert!(app.store.person(noor).await.unwrap().is_none());
    assert!(!app.store.has_contact(noor).await.unwrap());
    assert_eq!(app.state(&trip).await.name_of(noor), "Noor Adan");
    assert_eq!(app.store.verify().await.unwrap().flaws, []);
    let line = &app.store.audits(1).await.unwrap()[0];
    assert_eq!((line.kind, line.person), (AuditKind::Erased, Some(noor)));
    assert_eq!(line.person_name, None, "a number is left");
}
