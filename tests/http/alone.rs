//! What a device needs to go on alone, as the box gives it: the shell, the worker, the manifest; and
//! the meeting of a form with the events that a device made of it because no answer came.

use axum::body::Body;
use axum::http::{Method, header};
use deckwatch::trip::decide;
use deckwatch::trip::event::{About, Event, EventId, Fact, IncidentNoted};
use serde_json::{Value, json};

use crate::app::App;

#[tokio::test]
async fn the_shell_the_worker_and_the_manifest_hold_nothing_of_a_trip_and_need_nobody_signed_in() {
    let app = App::new().await;
    let trip = app.trip().await;
    let nobody = app.stranger();
    let shell = nobody.get("/alone").await;
    shell.is(200);
    assert!(!shell.text().contains("Mara Lind"), "no name of anybody");
    assert!(!shell.text().contains(&trip.id.to_string()));
    let words: Value =
        serde_json::from_str(&shell.attributes("#alone-words", "data-json")[0]).unwrap();
    assert_eq!(words["alone-waiting"], "Saved here, %n% waiting");
    assert_eq!(words["helm-reason-missing"], "Person missing");
    let marks: Value =
        serde_json::from_str(&shell.attributes("#alone-marks", "data-json")[0]).unwrap();
    assert_eq!(marks.as_object().unwrap().len(), 22);

    let worker = nobody.get("/sw.js").await;
    assert!(
        worker
            .is(200)
            .header("content-type")
            .starts_with("text/javascript")
    );
    assert_eq!(worker.header("cache-control"), "no-store");
    let (first, _) = worker.text().split_once(";\n").unwrap();
    let kept: Value = serde_json::from_str(first.trim_start_matches("const KEPT = ")).unwrap();
    for file in kept["files"].as_array().unwrap() {
        nobody.get(file.as_str().unwrap()).await.is(200);
    }
    // Every file the shell page names is kept, or it would not open.
    for (selector, name) in [("script[src]", "src"), ("link[rel=stylesheet]", "href")] {
        for file in shell.attributes(selector, name) {
            assert!(
                kept["files"].as_array().unwrap().contains(&json!(file)),
                "{file}"
            );
        }
    }

    let manifest = nobody.get("/deckwatch.webmanifest").await;
    assert_eq!(
        manifest.is(200).header("content-type"),
        "application/manifest+json"
    );
    // W3C Web Application Manifest: what browsers ask for before they offer to install.
    let told = manifest.json();
    assert_eq!(told["start_url"], "/");
    assert_eq!(told["display"], "standalone");
    nobody
        .get(told["icons"][0]["src"].as_str().unwrap())
        .await
        .is(200);
}

#[tokio::test]
async fn a_script_that_posts_a_form_is_told_where_the_answer_is() {
    let app = App::new().await;
    let trip = app.trip().await;
    let divemaster = app.divemaster();
    let page = divemaster.get(&format!("/deck/{}/lookout", trip.id)).await;
    let action = format!("/deck/{}/lookout", trip.id);
    let mut fields = page.form(&action);
    fields.retain(|(name, _)| name != "lookout");
    fields.push(("lookout".to_owned(), "Jo Quist".to_owned()));
    let body = form_urlencoded::Serializer::new(String::new())
        .extend_pairs(&fields)
        .finish();
    let request = divemaster
        .request(&Method::POST, &action)
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
        .header("deckwatch-form", "1")
        .body(Body::from(body))
        .unwrap();
    let answer = divemaster.send(request).await;
    assert!(
        answer
            .is(204)
            .header("deckwatch-location")
            .starts_with("/deck/")
    );
    assert!(answer.header("location").is_empty());
}

/// The first event that a form made, and the same act as a device sends it that heard no answer:
/// under the form's identity, numbered and timed by itself.
async fn act_and_form(app: &App) -> (crate::trip::Trip, Event, Event) {
    let trip = app.trip().await;
    let text = [("text", "said by the form")];
    let page = format!("/helm/{}/incident", trip.id);
    app.skipper().submit(&page, &page, &text).await.is(303);
    let log = app.store.entries(trip.id, 0).await.unwrap();
    let form = Event::clone(&log.last().unwrap().event);
    assert_eq!(form.id.uuid().get_version_num(), 8, "RFC 9562, version 8");
    let draft = decide::Draft {
        about: About::nobody(),
        fact: form.fact.clone(),
        at: None,
        corrects: None,
    };
    let mut own = app.sign(&trip, &app.helm, vec![draft]).await;
    let mut own = own.remove(0);
    own.id = form.id;
    (trip, form, own)
}

fn document(events: &[&Event]) -> Value {
    let events: Vec<Value> = events
        .iter()
        .map(|e| serde_json::from_str(&e.content().text).unwrap())
        .collect();
    json!({ "events": events })
}

#[tokio::test]
async fn an_act_that_its_form_has_done_already_is_answered_and_not_written_again() {
    let app = App::new().await;
    let (trip, form, own) = act_and_form(&app).await;
    let before = app.store.entries(trip.id, 0).await.unwrap();
    let path = format!("/api/trips/{}/events", trip.id);
    let answer = app.skipper().post_json(&path, &document(&[&own])).await;
    let told = answer.is(200).json();
    assert_eq!(told["events"][0]["id"], form.id.to_string());
    assert_eq!(
        told["events"][0]["entry"],
        before.last().unwrap().receipt.entry
    );
    assert_eq!(
        app.store.entries(trip.id, 0).await.unwrap().len(),
        before.len()
    );
    assert!(app.store.clashes(trip.id).await.unwrap().is_empty());
    // Another device has no part in it.
    let foreign = app.divemaster().post_json(&path, &document(&[&own])).await;
    foreign.is(403);
}

#[tokio::test]
async fn a_form_that_arrives_after_the_act_it_became_is_answered_and_not_decided() {
    let app = App::new().await;
    let trip = app.trip().await;
    let page = format!("/helm/{}/incident", trip.id);
    let mut fields = app.skipper().get(&page).await.form(&page);
    fields.retain(|(name, _)| name != "text" && name != "persons");
    fields.push(("text".to_owned(), "sent, and no answer heard".to_owned()));
    let id: EventId =
        deckwatch::web::act::identity(&deckwatch::web::form::Fields::of(fields.clone())).unwrap();
    let fact = Fact::IncidentNoted(IncidentNoted {
        text: "sent, and no answer heard".to_owned(),
        record: None,
    });
    let draft = decide::Draft {
        about: About::nobody(),
        fact,
        at: None,
        corrects: None,
    };
    let mut own = app.sign(&trip, &app.helm, vec![draft]).await.remove(0);
    own.id = id;
    let path = format!("/api/trips/{}/events", trip.id);
    app.skipper()
        .post_json(&path, &document(&[&own]))
        .await
        .is(200);
    let before = app.store.head(trip.id).await.unwrap().unwrap().entry;
    app.skipper().post_raw(&page, &fields).await.is(303);
    assert_eq!(
        app.store.head(trip.id).await.unwrap().unwrap().entry,
        before,
        "once"
    );
}
