//! The second copy: a box that lost its log takes it in from the devices, through the programs'
//! door and by the page that needs no scripts.

use axum::body::Body;
use axum::http::{Method, header};
use deckwatch::store::crew::DeviceKind;
use deckwatch::trip::event::{About, Event, Fact, IncidentNoted, Role, Signal, TripClosed};
use deckwatch::trip::state::Phase;
use jiff::SignedDuration;
use serde_json::{Value, json};

use crate::app::{App, Seat};
use crate::client::{Answer, Client};
use crate::trip::Trip;

fn path(trip: &Trip, part: &str) -> String {
    format!("/api/trips/{}/{part}", trip.id)
}

async fn copy(client: &Client, trip: &Trip) -> String {
    let answer = client.get(&path(trip, "log")).await;
    answer.is(200).text().to_owned()
}

async fn digest(client: &Client, trip: &Trip) -> Value {
    let answer = client.get(&path(trip, "digest")).await;
    answer.is(200).json()
}

/// The lines that devices kept of a trip with people in the water, and the box that is lost.
async fn lost() -> (App, Trip, String) {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    app.wait(SignedDuration::from_mins(41));
    app.surfaced(&trip, &["Noor Adan"], Signal::Well).await;
    let text = copy(&app.divemaster(), &trip).await;
    (app, trip, text)
}

async fn note(app: &App, trip: &Trip, seat: &Seat, text: &str) -> Event {
    let draft = deckwatch::trip::decide::Draft {
        about: About::nobody(),
        fact: Fact::IncidentNoted(IncidentNoted {
            text: text.to_owned(),
            record: None,
        }),
        at: None,
        corrects: None,
    };
    app.sign(trip, seat, vec![draft]).await.remove(0)
}

fn bare(event: &Event) -> String {
    format!("{{\"event\":{}}}", event.content().text)
}

fn paths(answer: &Answer) -> Vec<String> {
    let problem = answer.json();
    let faults = problem["faults"].as_array().unwrap().iter();
    faults
        .map(|fault| fault["path"].as_str().unwrap().to_owned())
        .collect()
}

#[tokio::test]
async fn a_new_box_comes_to_the_same_state_from_two_devices_copies() {
    let (old, trip, text) = lost().await;
    let new = App::new().await;
    let client = new.divemaster();
    assert_eq!(client.get(&path(&trip, "digest")).await.status, 404);
    let lines: Vec<&str> = text.lines().collect();
    let odd = lines
        .iter()
        .step_by(2)
        .copied()
        .collect::<Vec<_>>()
        .join("\n");
    let answer = client.post_text(&path(&trip, "refill"), &odd).await;
    let told = answer.is(200).json();
    assert_eq!(told["new"], lines.len().div_ceil(2));
    assert_eq!(told["lines"][0]["outcome"], "new");
    assert_eq!(told["lines"][0]["entry"], 1);
    // The other device sees what is missing, and hands over all it has.
    let held = digest(&client, &trip).await;
    let missing: u64 = held["devices"]
        .as_object()
        .unwrap()
        .values()
        .flat_map(|of| of["missing"].as_array().unwrap())
        .map(|run| run[1].as_u64().unwrap() - run[0].as_u64().unwrap() + 1)
        .sum();
    let rest = lines.len() - odd.lines().count();
    assert_eq!(missing, rest as u64, "{held}");
    let answer = new.skipper().post_text(&path(&trip, "refill"), &text).await;
    let told = answer.is(200).json();
    assert_eq!(
        (told["new"].as_u64(), told["clashes"].as_u64()),
        (Some(rest as u64), Some(0))
    );

    let (was, is) = (
        digest(&old.skipper(), &trip).await,
        digest(&client, &trip).await,
    );
    for same in ["entries", "digest", "devices", "entry"] {
        assert_eq!(was[same], is[same], "{same}");
    }
    assert_eq!(told["digest"], is["digest"]);
    assert_eq!(old.state(&trip).await, new.state(&trip).await);
    let pictures = [&old, &new].map(|app| async {
        let picture = app.skipper().get(&path(&trip, "picture")).await.json();
        picture["picture"]["people"].clone()
    });
    let [was, is] = pictures;
    assert_eq!(was.await, is.await);
    // The chain is of each box's own order.
    assert_ne!(
        digest(&old.skipper(), &trip).await["chain"],
        is_chain(&new, &trip).await
    );
    let log = new.desk().get(&format!("/desk/{}/log", trip.id)).await;
    assert!(log.is(200).text().contains("brought by Jonne Aalto"));
    // A copy of the copy still names who was relayed by whom, and can be taken in again.
    let again = copy(&client, &trip).await;
    assert!(again.contains("\"relayed_by\":\"Jonne Aalto\""));
    let third = App::new().await;
    let answer = third
        .skipper()
        .post_text(&path(&trip, "refill"), &again)
        .await;
    answer.is(200);
    assert_eq!(old.state(&trip).await, third.state(&trip).await);
}

async fn is_chain(app: &App, trip: &Trip) -> Value {
    digest(&app.skipper(), trip).await["chain"].clone()
}

#[tokio::test]
async fn the_digest_tells_whose_log_an_entry_is_of() {
    let (old, trip, text) = lost().await;
    let client = old.skipper();
    let last: Value = serde_json::from_str(text.lines().nth(4).unwrap()).unwrap();
    let asked = client.get(&path(&trip, "digest?entry=5")).await;
    assert_eq!(asked.is(200).json()["chain_at"], last["chain"]);
    let past = client.get(&path(&trip, "digest?entry=100000")).await;
    assert_eq!(past.is(200).json()["chain_at"], Value::Null);
    client.get(&path(&trip, "digest?entry=x")).await.is(422);
}

#[tokio::test]
async fn every_fault_is_named_by_line_and_nothing_is_written() {
    let (_, trip, text) = lost().await;
    let new = App::new().await;
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    lines[1] = lines[1].replace("\"hash\":\"", "\"hash\":\"0");
    lines[2] = "not a line".to_owned();
    let mut odd: Value = serde_json::from_str(&lines[3]).unwrap();
    odd["event"]["device_seq"] = json!(0);
    odd["receipt"]["entry"] = json!("4");
    lines[3] = odd.to_string();
    let answer = new
        .skipper()
        .post_text(&path(&trip, "refill"), &lines.join("\n"))
        .await;
    let found = paths(answer.is(422));
    assert_eq!(
        found,
        [
            "line 2.hash",
            "line 3",
            "line 4.event.device_seq",
            "line 4.receipt.entry"
        ]
    );
    assert!(new.store.trips().await.unwrap().is_empty());
    // Of another trip.
    let other = new.empty_trip().await;
    let answer = new
        .skipper()
        .post_text(&path(&other, "refill"), &text)
        .await;
    assert!(paths(answer.is(422))[0].ends_with(".event.trip"));
    assert!(new.store.refills(other.id).await.unwrap().is_empty());
    for text in ["", "\n\n", "[]", "null"] {
        let answer = new.skipper().post_text(&path(&trip, "refill"), text).await;
        answer.is(422);
    }
    let large = "x".repeat(9 * 1024 * 1024);
    let answer = new
        .skipper()
        .post_text(&path(&trip, "refill"), &large)
        .await;
    assert_eq!(answer.is(413).json()["type"], "/problems/too-large");
}

#[tokio::test]
async fn what_clashes_is_kept_aside_and_warned_of_and_the_rest_goes_in() {
    let (app, trip, _) = lost().await;
    let here = note(&app, &trip, &app.deck, "Fins lost").await;
    app.append(&trip, vec![here.clone()]).await;
    let there = Event {
        fact: Fact::IncidentNoted(IncidentNoted {
            text: "Mask lost".to_owned(),
            record: None,
        }),
        ..here.clone()
    };
    let sound = note(&app, &trip, &app.helm, "Ladder loose").await;
    let text = [bare(&there), bare(&sound), bare(&here)].join("\n");
    let before = app.store.head(trip.id).await.unwrap().unwrap().entry;
    let answer = app
        .divemaster()
        .post_text(&path(&trip, "refill"), &text)
        .await;
    let told = answer.is(200).json();
    let outcomes: Vec<&str> = told["lines"]
        .as_array()
        .unwrap()
        .iter()
        .map(|line| line["outcome"].as_str().unwrap())
        .collect();
    assert_eq!(outcomes, ["clash", "new", "repeat"]);
    assert_eq!(told["lines"][0]["stands_at"], before);
    assert_eq!(told["lines"][1]["entry"], before + 1);
    let notice = &app.web.notices().all()["log-clash"];
    assert_eq!(notice.args["count"], "1");
    let page = app
        .divemaster()
        .get(&format!("/deck/{}/logs", trip.id))
        .await;
    assert!(
        page.is(200)
            .text()
            .contains("Jonne Aalto, 2026-06-01T10:41:00Z: incident-noted")
    );
    let shown = page.text();
    assert!(
        shown.contains("12:41 · Jonne Aalto: 1 new, 1 kept aside"),
        "{shown}"
    );
    // Only the skipper says that it is settled.
    let settled = format!("/helm/{}/logs/settled", trip.id);
    app.divemaster().post(&settled, &[]).await.is(403);
    let helm = app.skipper().get(&format!("/helm/{}/logs", trip.id)).await;
    assert_eq!(helm.count(&format!("form[action='{settled}']")), 1);
    app.skipper().post(&settled, &[]).await.is(303);
    assert!(app.web.notices().all().is_empty());
    let helm = app.skipper().get(&format!("/helm/{}/logs", trip.id)).await;
    assert_eq!(helm.count(&format!("form[action='{settled}']")), 0);
    let audit = app.store.audits(5).await.unwrap();
    assert!(
        audit
            .iter()
            .any(|row| row.what.contains("1 new, 1 there, 1 kept aside")
                && row.who == Some(app.deck.by.crew))
    );
}

#[tokio::test]
async fn a_skipper_takes_in_what_comes_to_a_closed_trip_and_the_desk_nothing() {
    let (app, trip, text) = lost().await;
    let new = App::new().await;
    new.desk()
        .post_text(&path(&trip, "refill"), &text)
        .await
        .is(403);
    assert!(new.store.trips().await.unwrap().is_empty());

    let quay = app.empty_trip().await;
    let closed = Fact::TripClosed(TripClosed {
        override_reason: None,
    });
    app.tell(&quay, &app.helm, About::nobody(), closed).await;
    assert_eq!(app.state(&quay).await.phase, Phase::Closed);
    let late = note(&app, &quay, &app.deck, "Found a fin").await;
    let refused = app
        .divemaster()
        .post_text(&path(&quay, "refill"), &bare(&late))
        .await;
    assert_eq!(refused.is(403).json()["type"], "/problems/closed-trip");
    let taken = app
        .skipper()
        .post_text(&path(&quay, "refill"), &bare(&late))
        .await;
    assert_eq!(taken.is(200).json()["new"], 1);
}

/// An entry that counts from an earlier time is seen at once, and without a restart.
#[tokio::test]
async fn an_earlier_receipt_moves_the_live_picture() {
    let (app, trip, _) = lost().await;
    let deadline = |picture: &Value| {
        let group = &picture["picture"]["groups"][trip.group("D").to_string()];
        group["deadlines"]["overdue"]
            .as_str()
            .unwrap()
            .parse::<jiff::Timestamp>()
            .unwrap()
    };
    let before = app.skipper().get(&path(&trip, "picture")).await.json();
    let text = copy(&app.skipper(), &trip).await;
    let drop = text
        .lines()
        .find(|line| line.contains("\"kind\":\"left-surface\""))
        .unwrap();
    let mut line: Value = serde_json::from_str(drop).unwrap();
    line["receipt"]["mono_age_ms"] = json!(180_000);
    let answer = app
        .skipper()
        .post_text(&path(&trip, "refill"), &line.to_string())
        .await;
    let told = answer.is(200).json();
    assert_eq!(
        (told["repeats"].as_u64(), told["earlier"].as_u64()),
        (Some(1), Some(1))
    );
    let after = app.skipper().get(&path(&trip, "picture")).await.json();
    assert_eq!(
        deadline(&before) - deadline(&after),
        SignedDuration::from_secs(180)
    );
}

const MARK: &str = "----deckwatch-test";

async fn send_form(client: &Client, path: &str, parts: &[(&str, &str)]) -> Answer {
    let mut body = String::new();
    for (name, value) in parts {
        let file = if *name == "file" {
            "; filename=\"trip.jsonl\""
        } else {
            ""
        };
        body.extend([
            format!("--{MARK}\r\nContent-Disposition: form-data; name=\"{name}\"{file}\r\n\r\n"),
            format!("{value}\r\n"),
        ]);
    }
    body.push_str("--");
    body.push_str(MARK);
    body.push_str("--\r\n");
    let request = client.request(&Method::POST, path).header(
        header::CONTENT_TYPE,
        format!("multipart/form-data; boundary={MARK}"),
    );
    client.send(request.body(Body::from(body)).unwrap()).await
}

#[tokio::test]
async fn a_page_without_scripts_takes_in_a_file_or_pasted_lines_also_of_a_lost_trip() {
    let (old, trip, text) = lost().await;
    let new = App::new().await;
    let client = new.divemaster();
    let page = client.get("/logs").await;
    assert_eq!(
        page.is(200).count("form[action='/logs'] input[type=file]"),
        1
    );
    let lines: Vec<&str> = text.lines().collect();
    let (first, rest) = (lines[..3].join("\r\n"), lines.join("\n"));
    let taken = send_form(&client, "/logs", &[("file", ""), ("text", &first)]).await;
    assert!(taken.is(200).text().contains("3 new, 0 were here already."));
    let url = format!("/deck/{}/logs", trip.id);
    let taken = send_form(&client, &url, &[("file", &rest), ("text", "")]).await;
    let says = format!("{} new, 3 were here already.", lines.len() - 3);
    assert!(taken.is(200).text().contains(&says));
    assert!(
        taken
            .text()
            .contains(&format!("This box holds {} entries", lines.len()))
    );
    assert_eq!(old.state(&trip).await, new.state(&trip).await);

    let broken = rest.replacen("\"device_seq\":1,", "\"device_seq\":0,", 1);
    for (text, says) in [
        ("", "the document: is empty"),
        ("no lines", "line 1"),
        (broken.as_str(), "event.device_seq"),
    ] {
        let refused = send_form(&client, &url, &[("text", text)]).await;
        let told = refused.is(422).all(".problem li").join(" / ");
        assert!(told.contains(says), "{says}: {told}");
    }
    send_form(&client, "/logs", &[("text", "{\"event\":{}}")])
        .await
        .is(422);
    send_form(&new.desk(), "/logs", &[("text", &first)])
        .await
        .is(403);
    // The start leads there, and the pages of the trip do.
    assert_eq!(client.get("/").await.count("a[href='/logs']"), 1);
    let deck = client.get(&format!("/deck/{}", trip.id)).await;
    assert_eq!(deck.count(&format!("a[href='{url}']")), 1);
    let another = new
        .another("Nils Ahrens", Role::Skipper, DeviceKind::Helm, "118203")
        .await;
    let helm = new
        .at(&another)
        .get(&format!("/helm/{}/trip", trip.id))
        .await;
    assert_eq!(helm.count(&format!("a[href='/helm/{}/logs']", trip.id)), 1);
}
