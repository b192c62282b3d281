//! What programs read of a trip: list, picture, chart, log, returns; and names that would do harm
//! if anybody took them for more than names.

use std::fmt::Write as _;

use deckwatch::store::Head;
use deckwatch::trip::event::{Activity, Signal};
use serde_json::{Value, json};
use sha2::{Digest, Sha256};

use crate::app::{App, chart};
use crate::trip::Trip;

fn path(trip: &Trip, part: &str) -> String {
    format!("/api/trips/{}/{part}", trip.id)
}

#[tokio::test]
async fn the_list_names_each_trip() {
    let app = App::new().await;
    let trip = app.trip().await;
    // Lists are noted when the trip is first looked at.
    app.desk().get(&path(&trip, "picture")).await.is(200);
    let told = app.desk().get("/api/trips").await;
    let told = told.is(200).json();
    let [row] = told["trips"].as_array().unwrap().as_slice() else {
        panic!("{told}");
    };
    assert_eq!(row["trip"], trip.id.to_string());
    assert_eq!(row["boat"], "Marrow Tern");
    assert_eq!(row["closed"], false);
}

#[tokio::test]
async fn the_picture_is_that_of_the_stream_and_carries_the_clock() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    let told = app.skipper().get(&path(&trip, "picture")).await;
    let told = told.is(200).json();
    assert_eq!(told["now"], app.clock.now().to_string());
    let mut stream = app.skipper().listen(&path(&trip, "live"), None).await;
    let streamed = stream.next_named("picture").await;
    assert_eq!(streamed.data["picture"], told["picture"]);
    let group = &told["picture"]["groups"][trip.group("D").to_string()];
    assert!(group["deadlines"]["overdue"].is_string(), "{group}");
    assert!(group["offsets"]["overdue_s"].is_number(), "{group}");
}

#[tokio::test]
async fn the_chart_is_served_under_the_hash_the_picture_names_and_kept() {
    let app = App::new().await;
    let trip = app.trip().await;
    let client = app.skipper();
    let picture = client.get(&path(&trip, "picture")).await.json();
    let hash = picture["picture"]["site"]["chart"]
        .as_str()
        .unwrap()
        .to_owned();
    let served = client.get(&path(&trip, &format!("chart/{hash}"))).await;
    assert_eq!(served.is(200).json(), chart());
    assert_eq!(served.header("content-type"), "application/geo+json");
    assert!(served.header("cache-control").ends_with("immutable"));
    assert!(served.header("cache-control").starts_with("private"));
    let now = client.get(&path(&trip, "chart")).await;
    assert_eq!(now.is(200).json(), chart());
    assert_eq!(now.header("cache-control"), "no-store");
    client
        .get(&path(&trip, "chart/0000000000000000"))
        .await
        .is(404);
    let empty = app.empty_trip().await;
    client.get(&path(&empty, "chart")).await.is(404);
}

/// Whoever holds the lines can prove them with SHA-256 (FIPS 180-4) alone.
#[tokio::test]
async fn the_log_can_be_proved_from_its_lines_alone() {
    let app = App::new().await;
    let trip = app.trip().await;
    let answer = app.desk().get(&path(&trip, "log")).await;
    assert_eq!(answer.is(200).header("content-type"), "application/jsonl");
    let mut chain: [u8; 32] = Sha256::digest(trip.id.uuid().as_bytes()).into();
    let mut count = 0_u64;
    for line in answer.text().lines() {
        let read: Value = serde_json::from_str(line).unwrap();
        let start = line.find("\"event\":").unwrap() + "\"event\":".len();
        let end = line.find(",\"hash\":").unwrap();
        let hash = Sha256::digest(&line.as_bytes()[start..end]);
        assert_eq!(read["hash"], hex(&hash));
        let mut next = Sha256::new();
        next.update(chain);
        next.update(hash);
        chain = next.finalize().into();
        assert_eq!(read["chain"], hex(&chain));
        count += 1;
        assert_eq!(read["receipt"]["entry"], count);
    }
    let head: Head = app.store.head(trip.id).await.unwrap().unwrap();
    assert_eq!((head.entry, head.chain), (count, chain));
    let rest = app
        .desk()
        .get(&path(&trip, &format!("log?after={}", count - 1)))
        .await;
    assert_eq!(rest.is(200).text().lines().count(), 1);
    let none = app.desk().get(&path(&trip, "log?after=100000")).await;
    assert_eq!(none.is(200).text(), "");
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        write!(text, "{byte:02x}").unwrap();
        text
    })
}

/// Read back by a general-purpose CSV reader.
#[tokio::test]
async fn the_returns_name_everybody_with_what_was_logged() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    app.wait(jiff::SignedDuration::from_mins(45));
    app.surfaced(&trip, &["Noor Adan"], Signal::Well).await;
    app.aboard(&trip, &["Noor Adan"]).await;
    let answer = app.skipper().get(&path(&trip, "returns.csv")).await;
    assert_eq!(
        answer.is(200).header("content-type"),
        "text/csv; charset=utf-8; header=present"
    );
    assert!(
        answer
            .header("content-disposition")
            .starts_with("attachment")
    );
    let mut reader = csv::Reader::from_reader(answer.text().as_bytes());
    let head = reader.headers().unwrap().clone();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), crate::trip::ROSTER.len());
    let cell = |name: &str, column: &str| {
        let at = |column: &str| head.iter().position(|c| c == column).unwrap();
        let row = rows.iter().find(|row| &row[at("name")] == name).unwrap();
        row[at(column)].to_owned()
    };
    assert_eq!(cell("Noor Adan", "place_now"), "aboard");
    assert_eq!(cell("Noor Adan", "group"), "D");
    assert_eq!(cell("Noor Adan", "seen_by"), "Jonne Aalto");
    assert_eq!(cell("Noor Adan", "entered_at"), "2026-06-01T12:00:00+02:00");
    assert_eq!(cell("Pavel Strand", "place_now"), "in-water");
    assert_eq!(cell("Pavel Strand", "aboard_at"), "");
    assert_eq!(cell("Ruta Sol", "dive"), "");
    // RFC 4180, section 2: lines end with CR LF.
    assert!(answer.text().lines().count() == rows.len() + 1 && answer.text().ends_with("\r\n"));
}

/// OWASP ASVS 5.0, 1.2.10: text beginning with one of = + - @ or a tab gets an apostrophe.
#[tokio::test]
async fn a_name_is_no_formula_in_a_spreadsheet() {
    let app = App::new().await;
    let mut trip = app.empty_trip().await;
    let names = [
        "=HYPERLINK(\"http://evil.test\",\"x\")",
        "+1+1",
        "-2",
        "@SUM(A1)",
        "Quote \" and, comma",
    ];
    for name in names {
        app.join(&mut trip, name, Activity::Passenger).await;
    }
    let answer = app.desk().get(&path(&trip, "returns.csv")).await;
    let mut reader = csv::Reader::from_reader(answer.is(200).text().as_bytes());
    let written: Vec<String> = reader
        .records()
        .flat_map(|row| row.unwrap().iter().map(str::to_owned).collect::<Vec<_>>())
        .collect();
    for cell in &written {
        assert!(!cell.starts_with(['=', '+', '-', '@', '\t']), "{cell}");
    }
    for name in &names[..4] {
        assert!(written.contains(&format!("'{name}")), "{name}");
    }
    assert!(written.contains(&names[4].to_owned()));
}

#[tokio::test]
async fn a_name_is_text_on_every_page_and_in_every_document() {
    const NAME: &str = "<img src=x onerror=alert(1)>\"'&amp;";
    let app = App::new().await;
    let mut trip = app.trip_at_quay().await;
    let id = app.join(&mut trip, NAME, Activity::Passenger).await;
    app.sail(&trip).await;
    for (client, place) in [
        (app.skipper(), "helm"),
        (app.divemaster(), "deck"),
        (app.desk(), "desk"),
    ] {
        for part in [
            "",
            "/roll",
            "/roster",
            "/passenger-list",
            "/returns",
            "/log",
            "/trip",
        ] {
            let page = client.get(&format!("/{place}/{}{part}", trip.id)).await;
            if page.status != 200 {
                continue;
            }
            assert!(!page.text().contains("<img src=x"), "/{place}{part}");
            assert_eq!(page.count("[onerror]"), 0, "/{place}{part}");
        }
    }
    let picture = app.skipper().get(&path(&trip, "picture")).await.json();
    assert_eq!(
        picture["picture"]["people"][id.to_string()]["name"],
        json!(NAME)
    );
}
