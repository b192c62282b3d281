//! The record of a trip: who signs it, what seals it, what it says on the page, as CSV and as JSON,
//! and each diver's own card.

use axum::body::Body;
use axum::http::Method;
use deckwatch::trip::decide;
use deckwatch::trip::event::{
    Answer as Answered, Condition, ConditionAnswered, ForecastNoted, ForecastOf, Point, Role,
    Signal,
};
use deckwatch::units::{CylinderBar, Depth};
use deckwatch::web::transport::{Line, Via};
use jiff::SignedDuration;
use serde_json::Value;

use crate::app::App;
use crate::client::{Answer, Client};
use crate::trip::{Trip, no_detail};

fn at(trip: &Trip, part: &str) -> String {
    format!("/desk/{}{part}", trip.id)
}

/// A day that is over: group D dived and is aboard, counted, called by name, back at the quay.
async fn home(app: &App) -> Trip {
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    // A computer ashore signs out after half an hour unused.
    for minutes in [22, 23] {
        app.wait(SignedDuration::from_mins(minutes));
        app.desk().get("/desk").await.is(200);
    }
    let both = ["Noor Adan", "Pavel Strand"];
    app.surfaced(&trip, &both, Signal::Well).await;
    app.aboard(&trip, &both).await;
    for (name, bar, depth) in [("Noor Adan", 81.0, 17.5), ("Pavel Strand", 63.0, 16.25)] {
        let person = trip.person(name);
        let mut detail = no_detail();
        detail.bar = Some(CylinderBar::from_bar(bar).unwrap());
        detail.greatest_depth_m = Some(Depth::from_m(depth).unwrap());
        detail.stop_done = Some(true);
        detail.problem = (name == "Pavel Strand").then(|| "cramp in the left calf".to_owned());
        app.decide(&trip, &app.deck, |state, now| {
            decide::note_return(state, person, 1, detail, now)
        })
        .await;
    }
    app.wait(SignedDuration::from_mins(1));
    app.call_roll(&trip, Point::Leaving).await;
    app.count(&trip, Point::Leaving, None).await;
    app.decide(&trip, &app.helm, |state, _| {
        decide::leave_site(state, None, true)
    })
    .await;
    app.decide(&trip, &app.helm, |state, _| decide::back_in_harbour(state))
        .await;
    app.call_roll(&trip, Point::Return).await;
    app.count(&trip, Point::Return, None).await;
    trip
}

async fn sign(client: &Client, trip: &Trip) -> Answer {
    client
        .post(&at(trip, "/report/sign"), &[("read", "yes")])
        .await
}

async fn record(app: &App, trip: &Trip) -> Value {
    let path = format!("/api/trips/{}/report.json", trip.id);
    app.skipper().get(&path).await.is(200).json()
}

#[tokio::test]
async fn the_divemaster_and_the_skipper_sign_and_the_record_is_sealed() {
    let app = App::new().await;
    let trip = home(&app).await;
    let page = app.divemaster().get(&at(&trip, "/report")).await;
    let missing = page.is(200).all(".missing-signatures li");
    assert_eq!(
        missing,
        [
            "Missing: the signature of the divemaster.",
            "Missing: the signature of the skipper."
        ]
    );
    assert!(page.text().contains("Sign as divemaster"));
    sign(&app.divemaster(), &trip).await.is(303);
    let page = app.skipper().get(&at(&trip, "/report")).await;
    assert!(
        page.one("#sign-off")
            .contains("One of two signatures is there")
    );
    assert_eq!(
        page.all(".missing-signatures li"),
        ["Missing: the signature of the skipper."]
    );
    assert!(page.text().contains("Sign as skipper"));
    sign(&app.skipper(), &trip).await.is(303);
    let page = app.skipper().get(&at(&trip, "/report")).await;
    assert_eq!(page.count(".sign-off.sealed"), 1);
    assert_eq!(page.count("form[action$='/report/sign']"), 0);
    let told = page.one("#sign-off");
    for part in [
        "Divemaster Jonne Aalto signed",
        "Skipper Ilka Voss signed",
        "Sealed by Ilka Voss",
    ] {
        assert!(told.contains(part), "{part}: {told}");
    }
    // What the page shows is in the log, and the check of the store agrees.
    let state = app.state(&trip).await;
    assert!(state.sign_off.seal().is_some());
    let verdict = app.store.verify().await.unwrap();
    assert!(verdict.flaws.is_empty(), "{:?}", verdict.flaws);
    assert_eq!(verdict.signed, 3);
    let told = record(&app, &trip).await;
    assert_eq!(told["sign_off"]["sealed"], true);
    assert_eq!(told["sign_off"]["signatures"][0]["role"], "divemaster");
    // Signed twice is signed once, and says so.
    let again = sign(&app.skipper(), &trip).await;
    assert!(
        again
            .is(422)
            .one("#problem")
            .contains("Ilka Voss has signed in this role already")
    );
}

#[tokio::test]
async fn nobody_signs_for_another_and_the_desk_signs_nothing() {
    let app = App::new().await;
    let trip = home(&app).await;
    let before = app.state(&trip).await.events;
    for path in ["/report/sign", "/report/seal"] {
        let form = [("read", "yes"), ("role", "skipper")];
        app.desk().post(&at(&trip, path), &form).await.is(403);
        app.stranger().post(&at(&trip, path), &form).await.is(401);
    }
    assert_eq!(app.state(&trip).await.events, before);
    assert!(
        !app.desk()
            .get(&at(&trip, "/report"))
            .await
            .text()
            .contains("Sign as")
    );
    // Whatever the form says: a divemaster signs as divemaster.
    let form = [("read", "yes"), ("role", "skipper")];
    app.divemaster()
        .post(&at(&trip, "/report/sign"), &form)
        .await
        .is(303);
    let state = app.state(&trip).await;
    assert!(state.sign_off.signed(Role::Divemaster).is_some());
    assert!(state.sign_off.signed(Role::Skipper).is_none());
    let alone = app.divemaster().post(&at(&trip, "/report/seal"), &[]).await;
    assert!(
        alone
            .is(422)
            .one("#problem")
            .contains("The skipper's signature is missing")
    );
}

#[tokio::test]
async fn a_signature_is_refused_with_every_reason_while_the_day_is_not_over() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    let before = app.state(&trip).await.events;
    let refused = sign(&app.skipper(), &trip).await;
    let said = refused.is(422).one("#problem");
    for part in [
        "The boat is not back in harbour",
        "Not accounted for: ",
        "Noor Adan",
        "The count at the return is not agreed",
        "The roll at the return is not called",
    ] {
        assert!(said.contains(part), "{part}: {said}");
    }
    assert_eq!(app.state(&trip).await.events, before, "nothing was written");
    // The page says the same before anybody tries, and offers no form.
    let page = app.skipper().get(&at(&trip, "/report")).await;
    assert!(page.one("#cannot-sign").contains("Noor Adan"));
    assert_eq!(page.count("form[action$='/report/sign']"), 0);
}

#[tokio::test]
async fn nobody_signs_unread_nor_what_the_page_did_not_show() {
    let app = App::new().await;
    let trip = home(&app).await;
    let unread = app.skipper().post(&at(&trip, "/report/sign"), &[]).await;
    assert!(unread.is(422).one("#problem").contains("Read the report"));
    // The page of before: meanwhile a note came.
    let shown = app.skipper().get(&at(&trip, "/report")).await;
    let mut form = shown.form(&at(&trip, "/report/sign"));
    form.push(("read".to_owned(), "yes".to_owned()));
    app.decide(&trip, &app.deck, |state, _| {
        decide::incident(state, std::collections::BTreeSet::new(), "a mask was lost")
    })
    .await;
    let late = app
        .skipper()
        .post_raw(&at(&trip, "/report/sign"), &form)
        .await;
    let said = late.is(422).one("#problem");
    assert!(
        said.contains("The log has gone on since this page was shown"),
        "{said}"
    );
    assert!(app.state(&trip).await.sign_off.signatures.is_empty());
}

#[tokio::test]
async fn a_late_note_stands_after_the_seal_and_asks_for_both_again() {
    let app = App::new().await;
    let trip = home(&app).await;
    sign(&app.divemaster(), &trip).await.is(303);
    sign(&app.skipper(), &trip).await.is(303);
    app.decide(&trip, &app.helm, |state, _| {
        decide::close(state, None, true)
    })
    .await;
    let closed = app.skipper().get(&at(&trip, "/report")).await;
    assert_eq!(
        closed.count(".sign-off.sealed"),
        1,
        "closing says nothing of the day"
    );
    let note = [
        ("text", "A fin was left on the ladder"),
        ("sort", "equipment"),
    ];
    app.desk()
        .post(&at(&trip, "/incident"), &note)
        .await
        .is(303);
    let page = app.divemaster().get(&at(&trip, "/report")).await;
    assert_eq!(page.count(".sign-off.sealed"), 0);
    assert!(
        page.one("#after-seal").contains("Incident"),
        "{}",
        page.one("#after-seal")
    );
    assert!(page.one("#after-seal").contains("Berit Holm"));
    assert_eq!(page.all(".missing-signatures li").len(), 2);
    sign(&app.skipper(), &trip).await.is(303);
    sign(&app.divemaster(), &trip).await.is(303);
    let again = app.skipper().get(&at(&trip, "/report")).await;
    assert_eq!(again.count(".sign-off.sealed"), 1);
    assert_eq!(again.count("#after-seal"), 0);
    let verdict = app.store.verify().await.unwrap();
    assert!(
        verdict.flaws.is_empty() && verdict.signed == 6,
        "{verdict:?}"
    );
}

const EVIL: [&str; 5] = [
    "=HYPERLINK(\"http://evil.test\")",
    "+1+1",
    "-2 bar",
    "@SUM(A1)",
    "<script>alert(1)</script><img src=x onerror=alert(1)>",
];

/// OWASP ASVS 5.0, 1.2.10 (formulas) and 1.2.1 (HTML).
#[tokio::test]
async fn what_is_typed_into_an_incident_is_text_everywhere() {
    let app = App::new().await;
    let trip = home(&app).await;
    let noor = trip.person("Noor Adan").to_string();
    for evil in EVIL {
        let form = [
            ("text", evil),
            ("sort", "after-dive"),
            ("persons", &*noor),
            ("at", "12:30"),
            ("whereabouts", evil),
            ("lat", "45 0.5 N"),
            ("lon", "30 0.25 W"),
            ("depth", "17.5"),
            ("under", "45"),
            ("stops_missed", "no"),
            ("oxygen_from", "12:40"),
            ("signs", evil),
            ("done", evil),
            ("called", evil),
            ("witnesses", evil),
            ("outcome", evil),
        ];
        app.desk()
            .post(&at(&trip, "/incident"), &form)
            .await
            .is(303);
    }
    for (client, path) in [
        (app.desk(), at(&trip, "/report")),
        (app.desk(), at(&trip, "/log")),
        (app.desk(), at(&trip, "/own-dives")),
        (app.skipper(), format!("/helm/{}/trip", trip.id)),
        (app.skipper(), format!("/helm/{}/handover", trip.id)),
    ] {
        let page = client.get(&path).await;
        assert!(!page.is(200).text().contains("<script>alert"), "{path}");
        assert!(!page.text().contains("<img src=x"), "{path}");
        assert_eq!(page.count("[onerror]"), 0, "{path}");
    }
    let report = app.desk().get(&at(&trip, "/report")).await;
    let incidents = report.one("#incidents");
    // Times are the boat's: 12:40 typed is 12:40 shown.
    for part in ["signs after a dive", "17.5", "Noor Adan", EVIL[4], "12:40"] {
        assert!(incidents.contains(part), "{part}: {incidents}");
    }
    let sheet = app
        .desk()
        .get(&format!("/api/trips/{}/report.csv", trip.id))
        .await;
    let sheet = sheet.is(200);
    assert!(
        sheet
            .header("content-disposition")
            .starts_with("attachment")
    );
    let mut reader = csv::Reader::from_reader(sheet.text().as_bytes());
    let head = reader.headers().unwrap().clone();
    assert_eq!(&head[0], "part");
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    for cell in rows.iter().flat_map(csv::StringRecord::iter) {
        assert!(!cell.starts_with(['=', '+', '-', '@', '\t']), "{cell}");
    }
    let incidents: Vec<&str> = rows
        .iter()
        .filter(|row| &row[0] == "incident")
        .map(|row| &row[4])
        .collect();
    for evil in &EVIL[..4] {
        assert!(
            incidents.contains(&&*format!("'{evil}")),
            "{evil}: {incidents:?}"
        );
    }
}

#[tokio::test]
async fn a_record_with_faults_comes_back_with_each_named_and_nothing_written() {
    let app = App::new().await;
    let trip = home(&app).await;
    let before = app.state(&trip).await.events;
    let form = [
        ("text", " "),
        ("sort", ""),
        ("at", "soon"),
        ("depth", "-3"),
        ("under", "NaN"),
        ("lat", "95"),
        ("lon", "30 W"),
        ("witnesses", "Timo Rast"),
    ];
    let page = app.desk().post(&at(&trip, "/incident"), &form).await;
    let named = page.is(422).attributes("#problem a", "href");
    for field in [
        "#text",
        "#sort",
        "#at",
        "#depth",
        "#under",
        "#lat",
        "#stops_missed",
    ] {
        // Stops are not known where nobody says: that is no fault.
        assert_eq!(
            named.contains(&field.to_owned()),
            field != "#stops_missed",
            "{field} {named:?}"
        );
    }
    assert_eq!(page.attributes("#witnesses", "value"), ["Timo Rast"]);
    let ahead = [("text", "x"), ("sort", "boat"), ("at", "2027-01-01 10:00")];
    let page = app.desk().post(&at(&trip, "/incident"), &ahead).await;
    assert!(page.is(422).one("#problem").contains("lies ahead"));
    assert_eq!(app.state(&trip).await.events, before);
}

#[tokio::test]
async fn the_record_says_all_of_the_day_and_keeps_to_its_description() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    // Late, and over before anybody acknowledged it.
    app.wait(SignedDuration::from_mins(62));
    app.surfaced(&trip, &["Noor Adan", "Pavel Strand"], Signal::Well)
        .await;
    app.aboard(&trip, &["Noor Adan", "Pavel Strand"]).await;
    app.decide(&trip, &app.helm, |state, _| {
        let seen = serde_json::from_value(serde_json::json!({"set_deg": 90.0, "drift_kn": 0.4,
            "wind_from_deg": null, "wind_kn": null, "visibility_m": 12.0, "sea": "slight",
            "water_c": null}))
        .unwrap();
        decide::conditions(state, seen)
    })
    .await;
    let told = record(&app, &trip).await;
    let description = app.stranger().get("/api/openapi.json").await.json();
    fits(
        &description,
        &description["components"]["schemas"]["Record"],
        &told,
        "record",
    );
    let dive = &told["dives"][0];
    assert_eq!(
        (&dive["name"], &dive["group"]),
        (&"Noor Adan".into(), &"D".into())
    );
    assert_eq!(dive["planned"]["greatest_depth_m"], 18.0);
    assert_eq!(dive["planned"]["start_bar"], 200.0);
    assert_eq!(dive["actual"]["run_time_min"], 62);
    let counted: Vec<&str> = told["counts"][0]["counts"]
        .as_array()
        .unwrap()
        .iter()
        .map(|count| count["by"].as_str().unwrap())
        .collect();
    // Both at one instant: in either order.
    assert!(counted.contains(&"Ilka Voss") && counted.contains(&"Jonne Aalto"));
    assert_eq!(told["counts"][0]["outcome"], "agreed");
    assert_eq!(told["conditions"][0]["set_deg"], 90.0);
    assert_eq!(told["everybody_accounted_for"], false);
    let alerts = &told["alerts"];
    assert!(alerts["ended_unseen"].as_u64().unwrap() >= 1, "{alerts}");
    assert_eq!(alerts["share_ended_unseen"], 1.0);
    let page = app.skipper().get(&at(&trip, "/report")).await;
    let summary = page.is(200).one("#alerts-summary");
    assert!(
        summary.contains("(100 %)") && summary.contains("nobody acknowledged"),
        "{summary}"
    );
    assert!(page.count("#alerts-of-trip tbody tr") >= 1);
    assert!(page.one("#conditions").contains("visibility 12 m"));
    // While somebody counts, no figure of a count goes out.
    let crew = app.helm.by.crew;
    app.decide(&trip, &app.helm, |state, _| {
        let counted = decide::HeadCount {
            point: Point::Leaving,
            call: 1,
            round: 1,
            method: deckwatch::trip::event::Method::Heads,
            people: 13,
        };
        decide::count(state, counted, crew)
    })
    .await;
    let told = record(&app, &trip).await;
    for call in told["counts"].as_array().unwrap() {
        assert!(call["agreed_on"].is_null());
        for count in call["counts"].as_array().unwrap() {
            assert!(count["people"].is_null() && count["log_aboard"].is_null());
        }
    }
}

/// Every field of `value` is described, and everything described is there: only what the schema
/// language of this description uses.
fn fits(document: &Value, schema: &Value, value: &Value, path: &str) {
    if let Some(reference) = schema["$ref"].as_str() {
        return fits(
            document,
            document.pointer(&reference[1..]).unwrap(),
            value,
            path,
        );
    }
    let kinds: Vec<&str> = match schema["type"].as_array() {
        Some(kinds) => kinds.iter().filter_map(Value::as_str).collect(),
        None => schema["type"].as_str().into_iter().collect(),
    };
    let kind = match value {
        Value::Null => "null",
        Value::Bool(_) => "boolean",
        Value::Number(number) if number.is_f64() => "number",
        Value::Number(_) => "integer",
        Value::String(_) => "string",
        Value::Array(_) => "array",
        Value::Object(_) => "object",
    };
    let known = kinds.contains(&kind) || (kind == "integer" && kinds.contains(&"number"));
    assert!(known, "{path} is {kind}, described as {kinds:?}");
    if let Some(words) = schema["enum"].as_array() {
        assert!(words.contains(value), "{path}: {value} of {words:?}");
    }
    match value {
        Value::Array(list) => {
            for (nth, one) in list.iter().enumerate() {
                fits(document, &schema["items"], one, &format!("{path}[{nth}]"));
            }
        }
        Value::Object(map) => {
            for (name, one) in map {
                let described = &schema["properties"][name];
                assert!(described.is_object(), "{path}.{name} is not described");
                fits(document, described, one, &format!("{path}.{name}"));
            }
            for name in schema["required"].as_array().into_iter().flatten() {
                assert!(
                    map.contains_key(name.as_str().unwrap()),
                    "{path} lacks {name}"
                );
            }
        }
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

#[tokio::test]
async fn a_divers_card_holds_that_divers_dive_and_of_others_only_the_names() {
    let app = App::new().await;
    let trip = home(&app).await;
    let (noor, pavel) = (trip.person("Noor Adan"), trip.person("Pavel Strand"));
    for (persons, text) in [
        (vec![noor], "lost a fin"),
        (vec![noor, pavel], "argued at the ladder"),
    ] {
        app.decide(&trip, &app.deck, |state, _| {
            decide::incident(state, persons.into_iter().collect(), text)
        })
        .await;
    }
    let card = app
        .desk()
        .get(&at(&trip, &format!("/own-dives/{noor}")))
        .await;
    let text = card.is(200).one(".own-card");
    for part in [
        "Noor Adan",
        "Anvil Rock",
        "Group D with Pavel Strand",
        "81",
        "17.5",
        "200 bar",
        "12:00",
        "12:45",
        "lost a fin",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
    for part in ["63", "16.25", "16.3", "cramp", "argued"] {
        assert!(!text.contains(part), "{part}: {text}");
    }
    assert!(text.contains("1 incident note names this diver with others"));
    let all = app.desk().get(&at(&trip, "/own-dives")).await;
    assert_eq!(all.is(200).count(".own-card"), 2);
    let passenger = trip.person("Ruta Sol");
    app.desk()
        .get(&at(&trip, &format!("/own-dives/{passenger}")))
        .await
        .is(404);
}

#[tokio::test]
async fn what_was_seen_of_people_stays_off_the_plain_twin() {
    let app = App::new().await.beside_https();
    let trip = home(&app).await;
    let form = [
        ("text", "unwell after the dive"),
        ("sort", "after-dive"),
        ("signs", "tingling in one arm"),
        ("done", "oxygen by mask"),
    ];
    let client = app.desk();
    let line = |line| Via {
        line,
        peer: "10.20.0.7".parse().unwrap(),
    };
    let made = app
        .decide(&trip, &app.desk, |state, now| {
            let record = serde_json::from_value(serde_json::json!({"sort": "after-dive",
                "signs": form[2].1, "done": form[3].1}))
            .unwrap();
            decide::incident_record(
                state,
                std::collections::BTreeSet::new(),
                form[0].1,
                record,
                (None, now),
            )
        })
        .await;
    assert!(!made.to_string().is_empty());
    let ask = |path: String| {
        let request = client
            .request(&Method::GET, &path)
            .extension(line(Line::Twin));
        let client = client.clone();
        async move { client.send(request.body(Body::empty()).unwrap()).await }
    };
    let report = ask(at(&trip, "/report")).await;
    let text = report.is(200).one("#incidents");
    assert!(
        text.contains("unwell after the dive")
            && text.contains("left out on this plain connection")
    );
    assert!(!report.text().contains("tingling") && !report.text().contains("by mask"));
    for path in [
        at(&trip, "/incident"),
        at(&trip, "/own-dives"),
        format!("/api/trips/{}/report.json", trip.id),
        format!("/api/trips/{}/report.csv", trip.id),
    ] {
        assert!(ask(path.clone()).await.status.is_client_error(), "{path}");
    }
    // The log as people read it has neither, on any way here.
    let log = ask(at(&trip, "/log")).await;
    assert!(log.is(200).text().contains("with an incident record"));
    assert!(!log.text().contains("tingling"));
}

#[tokio::test]
async fn what_was_answered_decided_and_forecast_before_departure_is_in_the_record() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let said = |condition, answer: Answered| ConditionAnswered {
        condition,
        answer,
        note: Some("looked at the mast".to_owned()),
    };
    let answers = [
        said(Condition::Weather, Answered::Go),
        said(Condition::Own("=Crane free".to_owned()), Answered::NoGo),
    ];
    app.decide(&trip, &app.helm, move |state, _| {
        decide::answer_conditions(state, &answers)
    })
    .await;
    app.decide(&trip, &app.desk, |state, _| {
        let note = ForecastNoted {
            of: ForecastOf::Tide,
            text: "High water 06:20".to_owned(),
            source: Some("harbour office".to_owned()),
        };
        decide::forecast(state, &note)
    })
    .await;
    let told = record(&app, &trip).await;
    let description = app.stranger().get("/api/openapi.json").await.json();
    let schema = &description["components"]["schemas"]["Record"];
    fits(&description, schema, &told, "record");
    let lines = told["before_departure"].as_array().unwrap();
    assert_eq!(lines.len(), 3, "{lines:?}");
    let of = |key: &str, value: serde_json::Value| {
        let mut found = lines.iter().filter(|line| line[key] == value);
        found.next().cloned().unwrap_or_default()
    };
    assert_eq!(of("condition", "weather".into())["answer"], "go");
    assert_eq!(
        of("answer", "no-go".into())["condition"]["own"],
        "=Crane free"
    );
    assert_eq!(of("forecast_of", "tide".into())["source"], "harbour office");
    let csv = app
        .skipper()
        .get(&format!("/api/trips/{}/report.csv", trip.id))
        .await;
    let csv = csv.is(200).text();
    assert!(csv.contains("\"before departure\""), "{csv}");
    assert!(
        csv.contains("\"'=Crane free\"") && !csv.contains("\"=Crane"),
        "no formula"
    );
    assert!(csv.contains("High water 06:20 / harbour office"), "{csv}");
}
