//! A client: what a browser or a program of a crew member sends, and how the answer is read.

use std::time::Duration;

use axum::Router;
use axum::body::{Body, Bytes};
use axum::http::{HeaderMap, Method, Request, StatusCode, header};
use deckwatch::trip::TripId;
use deckwatch::web::app::App as Web;
use deckwatch::web::page::tokens;
use http_body_util::BodyExt;
use scraper::{Html, Selector};
use serde_json::Value;
use tokio::time::timeout;
use tower::ServiceExt;

use crate::app::{HOST, ORIGIN};

/// Longest that a test waits for what should come at once.
const LONGEST: Duration = Duration::from_secs(20);

/// Somebody with a browser.
#[derive(Clone)]
pub struct Client {
    router: Router,
    web: Web,
    cookie: String,
}

impl Client {
    pub fn new(router: Router, web: Web, cookie: String) -> Self {
        Self {
            router,
            web,
            cookie,
        }
    }

    /// The same browser with other cookies.
    pub fn with(&self, cookie: String) -> Self {
        Self {
            cookie,
            ..self.clone()
        }
    }

    /// A request of ours, with host, origin and cookies, still to be changed.
    pub fn request(&self, method: &Method, path: &str) -> axum::http::request::Builder {
        let mut builder = Request::builder()
            .method(method)
            .uri(path)
            .header(header::HOST, HOST);
        if *method != Method::GET {
            builder = builder.header(header::ORIGIN, ORIGIN);
        }
        if !self.cookie.is_empty() {
            builder = builder.header(header::COOKIE, &self.cookie);
        }
        builder
    }

    /// Sends a request, whatever it is, and reads the whole answer.
    pub async fn send(&self, request: Request<Body>) -> Answer {
        let response = self.router.clone().oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        Answer {
            status: parts.status,
            headers: parts.headers,
            body: body.collect().await.unwrap().to_bytes(),
        }
    }

    /// Reads a page or a document.
    pub async fn get(&self, path: &str) -> Answer {
        let request = self.request(&Method::GET, path);
        self.send(request.body(Body::empty()).unwrap()).await
    }

    /// Sends a form. On a path of a trip it gets fresh tokens, unless it brings its own.
    pub async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let mut all: Vec<(String, String)> = fields
            .iter()
            .map(|(name, value)| ((*name).to_owned(), (*value).to_owned()))
            .collect();
        for (name, value) in self.fresh_tokens(path).await {
            if !all.iter().any(|(held, _)| *held == name) {
                all.push((name, value));
            }
        }
        self.post_raw(path, &all).await
    }

    async fn fresh_tokens(&self, path: &str) -> Vec<(String, String)> {
        let trip = path
            .split(['/', '?'])
            .find_map(|part| part.parse::<TripId>().ok());
        let snapshot = match trip {
            Some(trip) => self.web.live().snapshot(trip).await.unwrap(),
            None => None,
        };
        match snapshot {
            Some(snapshot) => tokens(&self.web, &snapshot),
            None => vec![("form".to_owned(), self.web.clock().new_uuid().to_string())],
        }
    }

    /// Sends exactly these fields.
    pub async fn post_raw(&self, path: &str, fields: &[(String, String)]) -> Answer {
        let body = form_urlencoded::Serializer::new(String::new())
            .extend_pairs(fields)
            .finish();
        let request = self
            .request(&Method::POST, path)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        self.send(request.body(Body::from(body)).unwrap()).await
    }

    /// Opens `page`, fills the form that is sent to `action` and sends it as a browser would:
    /// with its hidden fields and everything that stood in it already, save what `fields` name.
    pub async fn submit(&self, page: &str, action: &str, fields: &[(&str, &str)]) -> Answer {
        let shown = self.get(page).await;
        assert_eq!(shown.status, StatusCode::OK, "{page}: {}", shown.text());
        let mut all: Vec<(String, String)> = shown
            .form(action)
            .into_iter()
            .filter(|(name, _)| !fields.iter().any(|(given, _)| given == name))
            .collect();
        all.extend(
            fields
                .iter()
                .map(|(name, value)| ((*name).to_owned(), (*value).to_owned())),
        );
        self.post_raw(action, &all).await
    }

    /// Sends a JSON document.
    pub async fn post_json(&self, path: &str, document: &Value) -> Answer {
        self.post_text(path, &document.to_string()).await
    }

    /// Sends text as if it were JSON.
    pub async fn post_text(&self, path: &str, text: &str) -> Answer {
        let request = self
            .request(&Method::POST, path)
            .header(header::CONTENT_TYPE, "application/json");
        let body = Body::from(text.to_owned());
        self.send(request.body(body).unwrap()).await
    }

    /// Listens to server-sent events. `last`: the id of the last one that was heard.
    pub async fn listen(&self, path: &str, last: Option<&str>) -> Listening {
        let mut request = self.request(&Method::GET, path);
        if let Some(last) = last {
            request = request.header("last-event-id", last);
        }
        let request = request.body(Body::empty()).unwrap();
        let response = self.router.clone().oneshot(request).await.unwrap();
        assert_eq!(response.status(), StatusCode::OK);
        assert_eq!(
            response.headers()[header::CONTENT_TYPE],
            "text/event-stream"
        );
        Listening {
            body: response.into_body(),
            text: String::new(),
        }
    }
}

/// An answer, read to its end.
#[derive(Debug)]
pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub body: Bytes,
}

impl Answer {
    pub fn text(&self) -> &str {
        std::str::from_utf8(&self.body).unwrap()
    }

    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|cause| {
            panic!("{} {cause}: {}", self.status, self.text());
        })
    }

    pub fn header(&self, name: &str) -> &str {
        self.headers
            .get(name)
            .map_or("", |value| value.to_str().unwrap())
    }

    /// Where a redirect leads; fails for another answer.
    pub fn location(&self) -> &str {
        assert_eq!(self.status, StatusCode::SEE_OTHER, "{}", self.text());
        self.header("location")
    }

    /// The answer, which must be this status.
    #[track_caller]
    pub fn is(&self, status: u16) -> &Self {
        assert_eq!(self.status.as_u16(), status, "{}", self.text());
        self
    }

    /// The text of every element that a CSS selector finds, spaces folded.
    #[track_caller]
    pub fn all(&self, selector: &str) -> Vec<String> {
        let page = Html::parse_document(self.text());
        page.select(&selector_of(selector))
            .map(|element| fold(&element.text().collect::<String>()))
            .collect()
    }

    /// The text of the one element that a CSS selector finds.
    #[track_caller]
    pub fn one(&self, selector: &str) -> String {
        let all = self.all(selector);
        assert_eq!(all.len(), 1, "{selector} in {}", self.text());
        all.into_iter().next().unwrap()
    }

    /// How many elements a CSS selector finds.
    #[track_caller]
    pub fn count(&self, selector: &str) -> usize {
        self.all(selector).len()
    }

    /// An attribute of every element that a CSS selector finds.
    #[track_caller]
    pub fn attributes(&self, selector: &str, name: &str) -> Vec<String> {
        let page = Html::parse_document(self.text());
        page.select(&selector_of(selector))
            .filter_map(|element| element.attr(name).map(ToOwned::to_owned))
            .collect()
    }

    /// What the form that is sent to `action` holds: hidden fields, typed ones, what is ticked
    /// and chosen.
    #[track_caller]
    pub fn form(&self, action: &str) -> Vec<(String, String)> {
        let page = Html::parse_document(self.text());
        let form = page
            .select(&selector_of("form"))
            .find(|form| form.attr("action") == Some(action))
            .unwrap_or_else(|| panic!("no form to {action} in {}", self.text()));
        let mut fields = Vec::new();
        for element in form.select(&selector_of("input, select, textarea")) {
            let Some(name) = element.attr("name") else {
                continue;
            };
            let kind = element.attr("type").unwrap_or("text");
            let ticks = matches!(kind, "checkbox" | "radio");
            let value = match element.value().name() {
                "select" => element
                    .select(&selector_of("option[selected]"))
                    .next()
                    .or_else(|| element.select(&selector_of("option")).next())
                    .map(|option| {
                        let text = || fold(&option.text().collect::<String>());
                        option.attr("value").map_or_else(text, ToOwned::to_owned)
                    }),
                "textarea" => Some(element.text().collect()),
                _ if kind == "submit" || (ticks && element.attr("checked").is_none()) => None,
                _ => Some(
                    element
                        .attr("value")
                        .unwrap_or(if ticks { "on" } else { "" })
                        .to_owned(),
                ),
            };
            fields.extend(value.map(|value| (name.to_owned(), value)));
        }
        fields
    }
}

#[track_caller]
fn selector_of(text: &str) -> Selector {
    Selector::parse(text).unwrap_or_else(|cause| panic!("{text}: {cause}"))
}

fn fold(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// One server-sent event.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    pub name: String,
    pub id: Option<String>,
    pub data: Value,
}

/// A stream of server-sent events that is being listened to.
pub struct Listening {
    body: Body,
    text: String,
}

impl Listening {
    /// The next event, comments passed over; none at the stream's end. Waiting in vain fails.
    pub async fn next(&mut self) -> Option<Told> {
        const LONGEST: Duration = Duration::from_secs(20);
        timeout(LONGEST, self.read())
            .await
            .expect("nothing was told")
    }

    async fn read(&mut self) -> Option<Told> {
        loop {
            while let Some(end) = self.text.find("\n\n") {
                let block: String = self.text.drain(..end + 2).collect();
                if let Some(told) = read_event(&block) {
                    return Some(told);
                }
            }
            let frame = self.body.frame().await?.unwrap();
            if let Ok(data) = frame.into_data() {
                self.text.push_str(std::str::from_utf8(&data).unwrap());
            }
        }
    }

    /// The next event of this name, others passed over. Waiting in vain fails.
    pub async fn next_named(&mut self, name: &str) -> Told {
        let named = async {
            loop {
                let told = self.read().await.expect("the stream ended");
                if told.name == name {
                    return told;
                }
            }
        };
        let told = timeout(LONGEST, named).await;
        told.unwrap_or_else(|_| panic!("no event '{name}' was told"))
    }
}

/// Reads one event. Source: WHATWG HTML, 9.2.6, interpreting an event stream.
fn read_event(block: &str) -> Option<Told> {
    let (mut name, mut id, mut data) = ("message".to_owned(), None, Vec::new());
    for line in block.lines() {
        let (field, value) = line.split_once(':').unwrap_or((line, ""));
        let value = value.strip_prefix(' ').unwrap_or(value);
        match field {
            "event" => value.clone_into(&mut name),
            "id" => id = Some(value.to_owned()),
            "data" => data.push(value),
            _ => {}
        }
    }
    (!data.is_empty()).then(|| Told {
        name,
        id,
        data: serde_json::from_str(&data.join("\n")).unwrap(),
    })
}
