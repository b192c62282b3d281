//! Every route there is: it refuses strangers and wrong roles, other hosts and other origins,
//! and each answer carries what keeps a browser safe.

use std::collections::BTreeMap;

use axum::body::Body;
use axum::http::{Method, header};
use deckwatch::store::crew::DeviceKind;
use deckwatch::trip::event::Role;
use deckwatch::web::guard::Needs;
use deckwatch::web::router::{Route, routes};

use crate::app::{App, HOST};
use crate::client::{Answer, Client};
use crate::trip::Trip;

/// A path of a route with its parts filled in: this trip, and something for the others.
fn filled(path: &str, trip: &Trip) -> String {
    path.split('/')
        .map(|part| match part {
            "{trip}" => trip.id.to_string(),
            "{what}" => "daylight".to_owned(),
            part if part.starts_with('{') => "00000000-0000-4000-8000-00000000000f".to_owned(),
            part => part.to_owned(),
        })
        .collect::<Vec<_>>()
        .join("/")
}

fn methods(route: &Route) -> impl Iterator<Item = Method> {
    route.methods.iter().map(|name| name.parse().unwrap())
}

async fn ask(client: &Client, method: &Method, path: &str) -> Answer {
    let request = client.request(method, path);
    client.send(request.body(Body::empty()).unwrap()).await
}

fn is_api(path: &str) -> bool {
    path.starts_with("/api/")
}

#[tokio::test]
async fn strangers_are_refused_everywhere_but_at_the_door() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    for client in [app.stranger(), app.enrolled().await] {
        for route in routes() {
            if route.needs == Needs::Nobody {
                continue;
            }
            let path = filled(route.path, &trip);
            for method in methods(&route) {
                let answer = ask(&client, &method, &path).await;
                if method == Method::GET && !is_api(&path) {
                    let to = answer.location();
                    assert!(to.starts_with("/sign-in?to=%2F"), "{path} leads to {to}");
                } else {
                    assert_eq!(answer.status, 401, "{method} {path}");
                }
            }
        }
    }
}

#[tokio::test]
async fn what_is_open_to_everybody_is_a_list_that_somebody_thought_about() {
    let open: Vec<&str> = routes()
        .iter()
        .filter(|route| route.needs == Needs::Nobody)
        .map(|route| route.path)
        .collect();
    for path in open {
        assert!(
            [
                "/enrol",
                "/sign-in",
                // Not there once anybody can sign in.
                "/set-up",
                "/palette",
                "/language",
                // What a device keeps to go on alone: no trip and no name stands in it.
                "/alone",
                "/sw.js",
                "/deckwatch.webmanifest",
                "/authority",
                "/authority.crt",
                "/static/{hash}/{*path}",
                "/api/health",
                "/api/openapi.json",
                "/api/compute/{what}",
            ]
            .contains(&path),
            "{path} asks for nobody"
        );
    }
}

#[tokio::test]
async fn the_wrong_role_is_refused_and_the_right_one_is_not() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let clerk = app.another("Pia Lund", Role::Desk, DeviceKind::Desk, "385016");
    let clerk = app.at(&clerk.await);
    // What each does on trips, and whether they answer for the whole box.
    let clients = [
        (Some(Role::Skipper), false, app.skipper()),
        (Some(Role::Divemaster), false, app.divemaster()),
        (Some(Role::Desk), true, app.desk()),
        (Some(Role::Desk), false, clerk),
        (None, false, app.display().await),
    ];
    let mut refusals = BTreeMap::new();
    for route in routes() {
        let path = filled(route.path, &trip);
        for method in methods(&route) {
            for (role, owns, client) in &clients {
                // Signing out and letting a device in change who asks the next time.
                // A stream never ends.
                let not_here = ["/sign-out", "/enrol", "/sign-in"].contains(&route.path);
                if not_here || route.path.ends_with("/live") {
                    continue;
                }
                let may = match route.needs {
                    Needs::Nobody | Needs::Looker => true,
                    Needs::Crew => role.is_some() || *owns,
                    Needs::Roles(roles) => role.is_some_and(|role| roles.contains(&role)),
                    Needs::Owner => *owns,
                    Needs::Trusted => *owns || *role == Some(Role::Skipper),
                };
                let answer = ask(client, &method, &path).await;
                let who = format!("{role:?}, owner {owns}: {method} {path}");
                // A handler refuses some acts of some people by itself.
                if !may {
                    assert_eq!(answer.status, 403, "{who}");
                    *refusals.entry((*role, *owns)).or_insert(0) += 1;
                } else if matches!(route.needs, Needs::Roles(_) | Needs::Owner | Needs::Trusted) {
                    assert_ne!(answer.status, 403, "{who}");
                }
            }
        }
    }
    let refused_most = refusals.iter().max_by_key(|(_, count)| **count);
    assert_eq!(refused_most.unwrap().0, &(None, false), "{refusals:?}");
    assert_eq!(
        refusals.len(),
        clients.len(),
        "everybody is refused something"
    );
}

#[tokio::test]
async fn another_host_is_misdirected() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let client = app.skipper();
    for route in routes() {
        let path = filled(route.path, &trip);
        for method in methods(&route) {
            for host in [
                "evil.test",
                "deckwatch.test.evil.test",
                "deckwatch.test:81",
                "",
            ] {
                let mut request = client.request(&method, &path).body(Body::empty()).unwrap();
                request
                    .headers_mut()
                    .insert(header::HOST, host.parse().unwrap());
                // RFC 9110, 15.5.20.
                assert_eq!(
                    client.send(request).await.status,
                    421,
                    "{method} {path} {host}"
                );
            }
        }
    }
}

#[tokio::test]
async fn nothing_acts_for_another_origin_nor_without_one() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let client = app.skipper();
    let before = app.store.head(trip.id).await.unwrap();
    for route in routes() {
        let path = filled(route.path, &trip);
        for method in methods(&route).filter(|method| *method != Method::GET) {
            for origin in [
                Some("http://evil.test"),
                Some("https://deckwatch.test"),
                Some("http://deckwatch.test:81"),
                Some("null"),
                None,
            ] {
                let mut request = client.request(&method, &path).body(Body::empty()).unwrap();
                request.headers_mut().remove(header::ORIGIN);
                if let Some(origin) = origin {
                    let value = origin.parse().unwrap();
                    request.headers_mut().insert(header::ORIGIN, value);
                }
                let answer = client.send(request).await;
                if origin.is_none() && path.starts_with("/api/compute/") {
                    // A computation changes nothing; programs send no origin.
                    assert_eq!(answer.status, 422, "{path}");
                } else {
                    assert_eq!(answer.status, 403, "{method} {path} {origin:?}");
                }
            }
        }
    }
    assert_eq!(app.store.head(trip.id).await.unwrap(), before);
}

#[tokio::test]
async fn every_answer_carries_what_keeps_a_browser_safe() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let client = app.desk();
    let paths = routes()
        .into_iter()
        .filter(|route| route.methods == ["GET"] && !route.path.ends_with("/live"))
        .map(|route| filled(route.path, &trip))
        .chain(["/nothing-here".to_owned(), "/api/nothing-here".to_owned()]);
    for path in paths {
        let answer = client.get(&path).await;
        let policy = answer.header("content-security-policy");
        assert!(policy.contains("default-src 'none'"), "{path}: {policy}");
        assert!(!policy.contains("unsafe"), "{path}: {policy}");
        assert!(policy.contains("frame-ancestors 'none'"), "{path}");
        assert_eq!(answer.header("x-content-type-options"), "nosniff", "{path}");
        assert_eq!(answer.header("referrer-policy"), "same-origin", "{path}");
        assert_eq!(
            answer.header("cross-origin-resource-policy"),
            "same-origin",
            "{path}"
        );
        if !path.starts_with("/static/") {
            assert_eq!(answer.header("cache-control"), "no-store", "{path}");
        }
        assert!(answer.status.as_u16() < 500, "{path}: {}", answer.status);
        let inline = ["[style]", "style", "script:not([src])", "[onclick]"];
        if answer.header("content-type").starts_with("text/html") {
            for selector in inline {
                assert_eq!(answer.count(selector), 0, "{selector} in {path}");
            }
        }
    }
}

#[tokio::test]
async fn the_host_can_come_in_the_request_line() {
    let app = App::new().await;
    let client = app.skipper();
    let request = axum::http::Request::builder()
        .uri(format!("http://{HOST}/api/health"))
        .body(Body::empty())
        .unwrap();
    client.send(request).await.is(200);
}
