//! Problems: a document to programs, a page to people, always with what to do.

use axum::body::Body;
use axum::http::{Method, header};
use serde_json::{Value, json};

use crate::app::App;
use crate::client::Answer;

/// The members that RFC 9457, section 3.1, names, and nothing of ours that leaks.
#[track_caller]
fn is_problem(answer: &Answer, status: u16, kind: &str) -> Value {
    assert_eq!(answer.status, status, "{}", answer.text());
    assert_eq!(answer.header("content-type"), "application/problem+json");
    let problem = answer.json();
    assert_eq!(problem["type"], format!("/problems/{kind}"));
    assert_eq!(problem["status"], status);
    for member in ["title", "detail"] {
        let text = problem[member].as_str().unwrap();
        assert!(!text.is_empty() && !text.starts_with("problem-"), "{text}");
    }
    let known = ["type", "title", "status", "detail", "faults"];
    for member in problem.as_object().unwrap().keys() {
        assert!(known.contains(&member.as_str()), "{member}");
    }
    problem
}

#[tokio::test]
async fn each_problem_of_the_interface_is_a_document() {
    let app = App::new().await;
    let trip = app.empty_trip().await;
    let events = format!("/api/trips/{}/events", trip.id);
    let none = "/api/trips/00000000-0000-4000-8000-000000000001";
    let skipper = app.skipper();
    is_problem(&skipper.get("/api/nothing").await, 404, "not-found");
    is_problem(
        &skipper.get("/api/trips/no-id/picture").await,
        404,
        "not-found",
    );
    for part in ["picture", "chart", "log", "returns.csv", "live"] {
        let answer = skipper.get(&format!("{none}/{part}")).await;
        is_problem(&answer, 404, "no-such-trip");
    }
    let answer = app.stranger().get("/api/trips").await;
    is_problem(&answer, 401, "not-signed-in");
    let problem = is_problem(&skipper.post_text(&events, "{").await, 422, "faulty");
    assert_eq!(problem["faults"][0]["path"], "");
    let answer = skipper
        .get(&format!("/api/trips/{}/log?after=x", trip.id))
        .await;
    is_problem(&answer, 422, "faulty");
    let answer = skipper
        .get(&format!("/api/trips/{}/log?odd=1", trip.id))
        .await;
    is_problem(&answer, 422, "faulty");
}

#[tokio::test]
async fn a_body_that_is_too_large_is_refused_wherever_it_goes() {
    let app = App::new().await;
    let trip = app.empty_trip().await;
    let large = "x".repeat(9 * 1024 * 1024);
    let client = app.skipper();
    for path in [
        format!("/api/trips/{}/events", trip.id),
        "/api/compute/drift".to_owned(),
    ] {
        is_problem(&client.post_text(&path, &large).await, 413, "too-large");
    }
    let page = client.post("/sign-in", &[("name", large.as_str())]).await;
    assert_eq!(page.is(413).count("h1"), 1);
}

#[tokio::test]
async fn people_get_a_page_with_the_same_words() {
    let app = App::new().await;
    let page = app.skipper().get("/nothing-here").await;
    assert!(page.header("content-type").starts_with("text/html"));
    let document = app.skipper().get("/api/nothing-here").await.json();
    assert_eq!(page.is(404).one("h1"), document["title"]);
    assert!(page.text().contains(document["detail"].as_str().unwrap()));
}

#[tokio::test]
async fn a_path_with_markup_in_it_is_told_as_text() {
    let app = App::new().await;
    let page = app
        .skipper()
        .get("/%3Cscript%3Ealert(1)%3C/script%3E")
        .await;
    page.is(404);
    assert!(!page.text().contains("<script>alert"), "{}", page.text());
}

#[tokio::test]
async fn other_methods_are_not_here() {
    let app = App::new().await;
    let client = app.skipper();
    for method in [Method::PUT, Method::DELETE, Method::PATCH] {
        let request = client.request(&method, "/api/trips");
        let answer = client.send(request.body(Body::empty()).unwrap()).await;
        is_problem(&answer, 404, "not-found");
    }
}

#[tokio::test]
async fn the_box_says_whether_it_saves_and_nothing_else() {
    let app = App::new().await;
    let told = app.stranger().get("/api/health").await;
    assert_eq!(
        told.is(200).json(),
        json!({"ok": true, "storing": true, "now": app.clock.now()})
    );
    // A file that is not the one that was opened can no longer be relied on.
    let file = app.folder.path().join("deckwatch.db");
    std::fs::rename(&file, app.folder.path().join("taken-away.db")).unwrap();
    std::fs::write(&file, b"").unwrap();
    let failed = app.desk().post("/sign-out", &[]).await;
    assert!(failed.status.is_server_error(), "{}", failed.status);
    assert!(!failed.text().contains("deckwatch.db"), "{}", failed.text());
    let told = app.stranger().get("/api/health").await;
    assert_eq!(told.is(503).json()["storing"], false);
    assert_eq!(
        told.header(header::CONTENT_TYPE.as_str()),
        "application/json"
    );
}
