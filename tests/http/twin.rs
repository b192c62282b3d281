//! The plain twin beside an https address: what it has and what it leaves out, by role and route;
//! its label, its cookies, and that it never leads anybody away.

use std::net::IpAddr;

use axum::body::Body;
use axum::http::{Method, Request, header};
use deckwatch::store::crew::DeviceKind;
use deckwatch::trip::event::Role;
use deckwatch::web::authority::Authority;
use deckwatch::web::basic;
use deckwatch::web::guard::Needs;
use deckwatch::web::router::routes;
use deckwatch::web::transport::{Line, Via};

use crate::app::{App, HOST, HTTPS, ORIGIN};
use crate::client::{Answer, Client};
use crate::trip::Trip;

const TLS_HOST: &str = "boat.deckwatch.test";
const LEFT_OUT: &str = "Not in basic mode";

fn via(line: Line) -> Via {
    let peer: IpAddr = "10.20.0.7".parse().unwrap();
    Via { line, peer }
}

fn filled(path: &str, trip: &Trip) -> String {
    path.replace("{trip}", &trip.id.to_string())
        .replace("{what}", "daylight")
        .split('/')
        .map(|part| match part {
            part if part.starts_with('{') => "00000000-0000-4000-8000-00000000000f",
            part => part,
        })
        .collect::<Vec<_>>()
        .join("/")
}

/// As this client's browser asks over a listener, whatever the host.
async fn ask(client: &Client, line: Line, method: &Method, path: &str) -> Answer {
    let request = client.request(method, path).extension(via(line));
    client.send(request.body(Body::empty()).unwrap()).await
}

/// A form sent over a listener with these cookies.
async fn send(app: &App, line: Line, path: &str, cookie: &str, form: &[(&str, &str)]) -> Answer {
    let (host, origin) = match line {
        Line::Tls => (TLS_HOST, HTTPS),
        Line::Twin | Line::Plain => (HOST, ORIGIN),
    };
    let body = form_urlencoded::Serializer::new(String::new())
        .extend_pairs(form)
        .finish();
    let request = Request::post(path)
        .header(header::HOST, host)
        .header(header::ORIGIN, origin)
        .header(header::COOKIE, cookie)
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
        .extension(via(line));
    app.stranger()
        .send(request.body(Body::from(body)).unwrap())
        .await
}

/// A page asked for over a listener with these cookies.
async fn get(app: &App, line: Line, path: &str, cookie: &str) -> Answer {
    let host = if line == Line::Tls { TLS_HOST } else { HOST };
    let request = Request::get(path)
        .header(header::HOST, host)
        .header(header::COOKIE, cookie)
        .extension(via(line));
    app.stranger()
        .send(request.body(Body::empty()).unwrap())
        .await
}

#[tokio::test]
async fn the_twin_leaves_out_what_it_leaves_out_to_every_role_and_nothing_else() {
    let app = App::new().await.beside_https();
    let trip = app.trip_at_quay().await;
    let clients = [
        (Role::Skipper, app.skipper()),
        (Role::Divemaster, app.divemaster()),
        (Role::Desk, app.desk()),
    ];
    let mut refused = 0;
    for route in routes() {
        // One ends the session, the other never ends.
        if route.path == "/sign-out" || route.path.ends_with("/live") {
            continue;
        }
        let path = filled(route.path, &trip);
        for method in route.methods.iter().map(|name| name.parse().unwrap()) {
            for (role, client) in &clients {
                let may = match route.needs {
                    Needs::Roles(roles) => roles.contains(role),
                    Needs::Owner => *role == Role::Desk,
                    Needs::Trusted => *role != Role::Divemaster,
                    Needs::Nobody | Needs::Looker | Needs::Crew => true,
                };
                let answer = ask(client, Line::Twin, &method, &path).await;
                let told = answer.text().contains(LEFT_OUT);
                let left_out = may && !basic::has(route.path);
                assert_eq!(told, left_out, "{role:?} {method} {path}");
                if told {
                    answer.is(403);
                    assert!(answer.text().contains(HTTPS), "{}", answer.text());
                    refused += 1;
                }
            }
        }
    }
    assert!(refused > 60, "{refused}");
}

#[tokio::test]
async fn where_there_is_no_https_plain_http_has_everything() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let (skipper, desk) = (app.skipper(), app.desk());
    for path in [
        format!("/helm/{}/devices", trip.id),
        format!("/helm/{}/crew", trip.id),
        format!("/api/trips/{}/log", trip.id),
    ] {
        ask(&skipper, Line::Plain, &Method::GET, &path)
            .await
            .is(200);
        ask(&skipper, Line::Twin, &Method::GET, &path).await.is(403);
    }
    ask(&desk, Line::Plain, &Method::GET, "/desk/people")
        .await
        .is(200);
    ask(&desk, Line::Twin, &Method::GET, "/desk/people")
        .await
        .is(403);
}

/// A trip's page is there in basic mode; who is a minor and who agreed is the register's.
#[tokio::test]
async fn what_a_guardian_said_is_not_told_over_plain_http() {
    let app = App::new().await.beside_https();
    let trip = app.trip_at_quay().await;
    crate::consents::minor(&app, &trip).await;
    let path = format!("/desk/{}", trip.id);
    let shown = ask(&app.desk(), Line::Twin, &Method::GET, &path).await;
    let main = shown.is(200).one("main");
    assert!(main.contains("A minor is on this trip"), "{main}");
    assert!(
        !main.contains("14 years") && !main.contains("guardian"),
        "{main}"
    );
}

#[tokio::test]
async fn a_stranger_is_asked_to_sign_in_before_anything_is_said() {
    let app = App::new().await.beside_https();
    let answer = ask(&app.stranger(), Line::Twin, &Method::GET, "/desk/people").await;
    assert_eq!(answer.location(), "/sign-in?to=%2Fdesk%2Fpeople");
}

#[tokio::test]
async fn the_label_stands_on_every_page_over_plain_http_and_on_none_over_https() {
    let app = App::new().await.beside_https();
    let trip = app.trip().await;
    let words = "Basic mode: keep this page open";
    let pages = ["", "/pickup", "/chart", "/not-here"].map(|end| format!("/helm/{}{end}", trip.id));
    for path in &pages {
        for line in [Line::Twin, Line::Plain] {
            let answer = ask(&app.skipper(), line, &Method::GET, path).await;
            assert_eq!(answer.one(".basic-word"), words, "{path}");
        }
    }
    let door = get(&app, Line::Tls, "/enrol", "").await;
    assert_eq!(door.is(200).count(".basic-word"), 0);
    let lost = get(&app, Line::Tls, "/not-here", "").await;
    assert_eq!(lost.is(404).count(".basic-word"), 0);
}

#[tokio::test]
async fn nobody_is_led_to_https_nor_held_there() {
    let app = App::new().await.beside_https();
    let trip = app.trip().await;
    for path in [
        "/",
        "/sign-in",
        "/enrol",
        "/not-here",
        "/api/health",
        "/authority",
    ] {
        for line in [Line::Twin, Line::Tls] {
            let answer = get(&app, line, path, "").await;
            assert_eq!(answer.header("strict-transport-security"), "", "{path}");
            let to = answer.header("location");
            assert!(
                to.is_empty() || to.starts_with("/sign-in") || to == "/enrol",
                "{path}: {to}"
            );
        }
    }
    let board = format!("/helm/{}", trip.id);
    ask(&app.skipper(), Line::Twin, &Method::GET, &board)
        .await
        .is(200);
}

/// The cookies an answer sets, as the next request sends them.
fn kept(answer: &Answer) -> (String, String) {
    let set = answer.header("set-cookie").to_owned();
    let pair = set.split(';').next().unwrap().to_owned();
    (pair, set)
}

#[tokio::test]
async fn each_way_has_its_own_cookies_and_what_was_sent_in_the_clear_opens_nothing_over_https() {
    let app = App::new().await.beside_https();
    for (line, prefix) in [(Line::Tls, "__Host-"), (Line::Twin, "")] {
        let code = app.store.enrolment_code(None).await.unwrap().digits;
        let form = [
            ("code", code.as_str()),
            ("name", "Tablet"),
            ("kind", "helm"),
        ];
        let (device, set) = kept(&send(&app, line, "/enrol", "", &form).await);
        assert!(
            device.starts_with(&format!("{prefix}deckwatch-device=")),
            "{set}"
        );
        let form = [("name", "Ilka Voss"), ("pin", app.helm.pin.as_str())];
        let (session, set) = kept(&send(&app, line, "/sign-in", &device, &form).await);
        assert!(
            session.starts_with(&format!("{prefix}deckwatch-session=")),
            "{set}"
        );
        assert_eq!(set.contains("; Secure"), line == Line::Tls, "{set}");
        for attribute in ["HttpOnly", "SameSite=Strict", "Path=/"] {
            assert!(set.contains(attribute), "{set}");
        }
        get(&app, line, "/", &session).await.is(200);

        // The same secret put under the other name, by somebody who overheard it.
        let other = if line == Line::Tls {
            Line::Twin
        } else {
            Line::Tls
        };
        let overheard = |cookie: &str| {
            let bare = cookie.trim_start_matches("__Host-");
            if other == Line::Tls {
                format!("__Host-{bare}")
            } else {
                bare.to_owned()
            }
        };
        let shut = get(&app, other, "/", &overheard(&session)).await;
        assert!(shut.location().starts_with("/sign-in"));
        let shut = get(&app, other, "/sign-in", &overheard(&device)).await;
        assert_eq!(shut.location(), "/enrol");
        // And the cookie of the one way is not looked at by the other.
        assert!(
            get(&app, other, "/", &session)
                .await
                .location()
                .starts_with("/sign-in")
        );

        let out = send(&app, line, "/sign-out", &session, &[]).await;
        assert!(kept(&out).1.contains("Max-Age=0"));
        assert!(
            get(&app, line, "/", &session)
                .await
                .location()
                .starts_with("/sign-in")
        );
    }
    let known = app.store.devices().await.unwrap();
    assert_eq!(
        known
            .iter()
            .filter(|device| device.kind == DeviceKind::Helm)
            .count(),
        3
    );
}

#[tokio::test]
async fn each_listener_answers_to_its_own_host_and_takes_forms_of_its_own_origin_only() {
    let app = App::new().await.beside_https();
    let cases = [
        (Line::Tls, TLS_HOST, HTTPS, 303),
        (Line::Twin, HOST, ORIGIN, 303),
        (Line::Tls, HOST, HTTPS, 421),
        (Line::Twin, TLS_HOST, ORIGIN, 421),
        (Line::Tls, TLS_HOST, ORIGIN, 403),
        (Line::Twin, HOST, HTTPS, 403),
    ];
    for (line, host, origin, status) in cases {
        let request = Request::post("/palette")
            .header(header::HOST, host)
            .header(header::ORIGIN, origin)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .extension(via(line))
            .body(Body::from("palette=night&back=%2F"))
            .unwrap();
        let answer = app.stranger().send(request).await;
        assert_eq!(answer.status.as_u16(), status, "{line:?} {host} {origin}");
    }
}

#[tokio::test]
async fn a_device_gets_the_authority_at_the_twin_and_is_told_what_to_compare() {
    let app = App::new().await.beside_https();
    get(&app, Line::Twin, "/authority", "").await.is(404);
    get(&app, Line::Twin, "/authority.crt", "").await.is(404);
    app.web.offer(Authority {
        der: vec![0x30, 0x03, 1, 2, 3],
        fingerprint: "AA:BB".to_owned(),
    });
    let page = get(&app, Line::Twin, "/authority", "").await;
    assert_eq!(page.is(200).one(".fingerprint"), "AA:BB");
    assert!(page.text().contains("Certificate Trust Settings"));
    assert!(page.attributes("a", "href").contains(&format!("{HTTPS}/")));
    assert!(
        page.attributes("a", "href")
            .contains(&"/authority.crt".to_owned())
    );
    let file = get(&app, Line::Twin, "/authority.crt", "").await;
    assert_eq!(
        file.is(200).header("content-type"),
        "application/x-x509-ca-cert"
    );
    assert_eq!(file.body.as_ref(), [0x30, 0x03, 1, 2, 3]);
}
