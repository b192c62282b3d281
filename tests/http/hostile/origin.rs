//! What a page of another origin can make a browser of ours send: refused before anything is
//! written, whatever the request says.

use axum::body::Body;
use axum::http::{HeaderName, HeaderValue, Method, Request, header};
use deckwatch::web::router::routes;

use super::forms::forms;
use super::kept;
use crate::app::{App, HOST, ORIGIN};
use crate::client::Client;
use crate::trip::Trip;

const SITE: HeaderName = HeaderName::from_static("sec-fetch-site");
const EVIL: &str = "http://evil.test";

/// How a request betrays that it is not ours: its host, its origin, what the browser says of
/// where it comes from, and the status it gets.
const FOREIGN: [(&str, Option<&str>, Option<&str>, u16); 14] = [
    (HOST, Some(EVIL), None, 403),
    (HOST, Some(EVIL), Some("cross-site"), 403),
    // A browser that is lied to, or lies: the origin counts.
    (HOST, Some(EVIL), Some("same-origin"), 403),
    (HOST, Some("null"), None, 403),
    (HOST, Some("null"), Some("none"), 403),
    (HOST, Some(""), None, 403),
    (HOST, Some("http://deckwatch.test.evil.test"), None, 403),
    (HOST, Some("http://deckwatch.test/"), None, 403),
    (HOST, Some("https://deckwatch.test"), None, 403),
    // Our origin, but the browser says that another page or a neighbour asked.
    (HOST, Some(ORIGIN), Some("cross-site"), 403),
    (HOST, Some(ORIGIN), Some("same-site"), 403),
    // DNS rebinding: host and origin agree, and are not ours (RFC 9110, 15.5.20).
    ("evil.test", Some(EVIL), Some("same-origin"), 421),
    ("deckwatch.test:81", Some(ORIGIN), None, 421),
    ("deckwatch.test.", Some(ORIGIN), None, 421),
];

fn made_foreign(
    mut request: Request<Body>,
    (host, origin, site, _): (
        &'static str,
        Option<&'static str>,
        Option<&'static str>,
        u16,
    ),
) -> Request<Body> {
    let headers = request.headers_mut();
    headers.insert(header::HOST, HeaderValue::from_static(host));
    headers.remove(header::ORIGIN);
    if let Some(origin) = origin {
        headers.insert(header::ORIGIN, HeaderValue::from_static(origin));
    }
    if let Some(site) = site {
        headers.insert(SITE, HeaderValue::from_static(site));
    }
    request
}

/// The path with this trip and its people in it.
fn filled(path: &str, trip: &Trip) -> String {
    path.replace("{trip}", &trip.id.to_string())
        .replace("{group}", &trip.group("B").to_string())
        .replace("{person}", &trip.person("Mara Lind").to_string())
        .replace("{dive}", "1")
        .replace("{what}", "daylight")
        .split('/')
        .map(|part| match part {
            part if part.starts_with('{') => "00000000-0000-4000-8000-00000000000f",
            part => part,
        })
        .collect::<Vec<_>>()
        .join("/")
}

#[tokio::test]
async fn what_acts_is_refused_to_foreign_pages_before_anything_is_written() {
    let app = App::new().await;
    let trip = app.trip().await;
    let clients: [Client; 2] = [app.skipper(), app.desk()];
    // So that the sessions stand as they will.
    for client in &clients {
        client.get("/").await;
    }
    let before = kept(&app).await;
    let mut acting = 0;
    for route in routes() {
        let path = filled(route.path, &trip);
        for method in route.methods.iter().filter(|method| **method != "GET") {
            let method: Method = method.parse().unwrap();
            acting += 1;
            for client in &clients {
                for foreign in FOREIGN {
                    let form = "form=6ba7b810-9dad-41d1-80b4-00c04fd430c8&name=x&reason=because";
                    let request = client
                        .request(&method, &path)
                        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
                    let request = made_foreign(request.body(Body::from(form)).unwrap(), foreign);
                    let answer = client.send(request).await;
                    assert_eq!(answer.status, foreign.3, "{method} {path} {foreign:?}");
                }
            }
        }
    }
    assert!(acting > 100, "the table names what acts: {acting}");
    assert_eq!(kept(&app).await, before);
}

#[tokio::test]
async fn a_form_that_would_be_taken_from_our_page_is_not_from_another() {
    let app = App::new().await;
    let trip = app.trip().await;
    let before = kept(&app).await;
    let mut sent = 0;
    let mut would_act = 0;
    for client in [app.skipper(), app.desk()] {
        let from = ["/", "/desk"].map(ToOwned::to_owned);
        let foreign = FOREIGN.iter().cycle();
        let acting = forms(&client, &from, 1)
            .await
            .into_iter()
            .filter(|f| f.method == Method::POST);
        for (form, foreign) in acting.zip(foreign) {
            let fields = form.with(&[]);
            let request = made_foreign(form.request(&client, &fields), *foreign);
            let answer = client.send(request).await;
            assert_eq!(answer.status, foreign.3, "{} {foreign:?}", form.action);
            sent += 1;
        }
        assert_eq!(kept(&app).await, before);
    }
    assert!(sent > 80, "{sent} forms were found");
    // The same forms do act from our own page, or this would prove nothing.
    let client = app.skipper();
    let helm = [format!("/helm/{}", trip.id)];
    for form in forms(&client, &helm, 1).await {
        if form.method == Method::POST && form.action.contains("/helm/") {
            would_act += u32::from(form.send(&client, &form.with(&[])).await.status == 303);
        }
    }
    assert!(would_act >= 3, "{would_act} of them acted");
    assert_ne!(kept(&app).await, before);
}
