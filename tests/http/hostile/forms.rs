//! Pages and their forms, found as a guest finds them: by following every link, and by reading
//! what a form asks for.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use axum::body::Body;
use axum::http::{Method, header};
use scraper::{ElementRef, Html, Selector};
use uuid::Uuid;

use crate::client::{Answer, Client};

/// What a field of a form takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Text of one or more lines.
    Text,
    /// A figure, a day, a time: whatever has a narrower shape.
    Shaped,
    /// What the page fills in.
    Hidden,
    /// Ticked, chosen, or pressed.
    Chosen,
    /// A file.
    File,
}

/// A field as it stands on its page.
#[derive(Debug, Clone)]
pub struct Field {
    pub name: String,
    pub kind: Kind,
    pub value: String,
}

/// A form as it stands on its page.
#[derive(Debug, Clone)]
pub struct Form {
    pub page: String,
    pub action: String,
    pub method: Method,
    pub multipart: bool,
    pub fields: Vec<Field>,
}

impl Form {
    /// What a browser sends if nothing is touched, with these in place of what stands there.
    pub fn with(&self, fields: &[(&str, &str)]) -> Vec<(String, String)> {
        let own = |name: &str| (name.to_owned(), String::new());
        let mut all: Vec<(String, String)> = self
            .fields
            .iter()
            .filter(|field| !fields.iter().any(|(name, _)| *name == field.name))
            .map(|field| (field.name.clone(), field.value.clone()))
            .collect();
        all.extend(fields.iter().map(|(name, value)| {
            let mut pair = own(name);
            (*value).clone_into(&mut pair.1);
            pair
        }));
        all
    }

    /// The request that carries these fields; nothing is signed for by it yet.
    pub fn request(
        &self,
        client: &Client,
        fields: &[(String, String)],
    ) -> axum::http::Request<Body> {
        let encoded = || {
            form_urlencoded::Serializer::new(String::new())
                .extend_pairs(fields)
                .finish()
        };
        if self.method == Method::GET {
            let bare = self.action.split('?').next().unwrap();
            let path = format!("{bare}?{}", encoded());
            let request = client.request(&Method::GET, &path);
            return request.body(Body::empty()).unwrap();
        }
        let request = client.request(&Method::POST, &self.action);
        if !self.multipart {
            let kind = "application/x-www-form-urlencoded";
            let request = request.header(header::CONTENT_TYPE, kind);
            return request.body(Body::from(encoded())).unwrap();
        }
        let mut body = String::new();
        for (name, value) in fields {
            body.push_str("--sea\r\nContent-Disposition: form-data; name=\"");
            body.push_str(name);
            body.push_str("\"\r\n\r\n");
            body.push_str(value);
            body.push_str("\r\n");
        }
        body.push_str("--sea--\r\n");
        let kind = "multipart/form-data; boundary=sea";
        let request = request.header(header::CONTENT_TYPE, kind);
        request.body(Body::from(body)).unwrap()
    }

    /// Sends these fields as the page would.
    pub async fn send(&self, client: &Client, fields: &[(String, String)]) -> Answer {
        client.send(self.request(client, fields)).await
    }
}

fn select(selector: &str) -> Selector {
    Selector::parse(selector).unwrap()
}

/// Whether an answer is a page.
pub fn is_page(answer: &Answer) -> bool {
    answer.header("content-type").starts_with("text/html")
}

/// The forms of a page.
pub fn forms_of(path: &str, page: &Html) -> Vec<Form> {
    let all = select("input, select, textarea, button");
    let mut forms = Vec::new();
    for form in page.select(&select("form")) {
        let Some(action) = form.attr("action") else {
            continue;
        };
        let id = form.attr("id").unwrap_or_default();
        let within = form.select(&all);
        // Buttons of the shelf stand outside of the form that they send.
        let beside = page
            .select(&all)
            .filter(|one| !id.is_empty() && one.attr("form") == Some(id));
        let elements: Vec<ElementRef<'_>> = within.chain(beside).collect();
        let mut actions = vec![action];
        actions.extend(elements.iter().filter_map(|one| one.attr("formaction")));
        for action in actions.into_iter().collect::<BTreeSet<_>>() {
            let is_get = form.attr("method") != Some("post");
            forms.push(Form {
                page: path.to_owned(),
                action: action.to_owned(),
                method: if is_get { Method::GET } else { Method::POST },
                multipart: form.attr("enctype") == Some("multipart/form-data"),
                fields: fields_of(&elements),
            });
        }
    }
    forms
}

fn fields_of(elements: &[ElementRef<'_>]) -> Vec<Field> {
    let mut fields: Vec<Field> = Vec::new();
    let chosen: BTreeSet<&str> = elements
        .iter()
        .filter(|one| one.attr("type") == Some("radio") && one.attr("checked").is_some())
        .filter_map(|one| one.attr("name"))
        .collect();
    for element in elements {
        let Some(name) = element.attr("name") else {
            continue;
        };
        let kind = element.attr("type").unwrap_or("text");
        let is_first = !fields.iter().any(|held| held.name == name);
        let value = || element.attr("value").unwrap_or_default().to_owned();
        let of = |kind, value| {
            Some(Field {
                name: name.to_owned(),
                kind,
                value,
            })
        };
        let field = match (element.value().name(), kind) {
            ("textarea", _) => of(Kind::Text, element.text().collect()),
            ("select", _) => {
                let options = select("option");
                let options = || element.select(&options);
                let option = options()
                    .find(|one| one.attr("selected").is_some())
                    .or_else(|| options().find(|one| one.attr("value") != Some("")));
                let text = |one: ElementRef<'_>| {
                    let own = || one.text().collect::<String>().trim().to_owned();
                    one.attr("value").map_or_else(own, ToOwned::to_owned)
                };
                of(Kind::Chosen, option.map(text).unwrap_or_default())
            }
            ("button", _) | (_, "submit") => is_first.then(|| of(Kind::Chosen, value())).flatten(),
            (_, "checkbox") => (element.attr("checked").is_some())
                .then(|| of(Kind::Chosen, value()))
                .flatten(),
            (_, "radio") => {
                let is_this = element.attr("checked").is_some();
                (is_this || (is_first && !chosen.contains(name)))
                    .then(|| of(Kind::Chosen, value()))
                    .flatten()
            }
            (_, "hidden") => of(Kind::Hidden, value()),
            (_, "file") => of(Kind::File, String::new()),
            (_, "text" | "search" | "email" | "tel" | "url" | "password") => {
                let shaped = ["decimal", "numeric"];
                let is_shaped = element
                    .attr("inputmode")
                    .is_some_and(|m| shaped.contains(&m));
                of(if is_shaped { Kind::Shaped } else { Kind::Text }, value())
            }
            _ => of(Kind::Shaped, value()),
        };
        fields.extend(field);
    }
    fields
}

/// A path without what differs from page to page of its kind.
pub fn kind_of(path: &str) -> String {
    let (path, query) = path.split_once('?').unwrap_or((path, ""));
    let part = |part: &str| {
        let is_id = part.parse::<Uuid>().is_ok()
            || part.len() >= 40
            || (part.chars().any(|c| c.is_ascii_digit()) && !part.contains('.'));
        if is_id {
            "{}".to_owned()
        } else {
            part.to_owned()
        }
    };
    let parts: Vec<String> = path.split('/').map(part).collect();
    let names: Vec<&str> = query
        .split('&')
        .filter_map(|pair| pair.split('=').next())
        .filter(|name| !name.is_empty())
        .collect();
    format!("{}?{}", parts.join("/"), names.join("&"))
        .trim_end_matches('?')
        .to_owned()
}

/// Looks at every page that links lead to, from these on, in the order in which they are found;
/// `of_a_kind` of those that differ in an identity or a number alone.
pub async fn walk(
    client: &Client,
    from: &[String],
    of_a_kind: usize,
    mut look: impl FnMut(&str, &Answer, Option<&Html>),
) {
    let links = select("a[href]");
    let mut waiting: VecDeque<String> = from.iter().cloned().collect();
    let mut of_kind: BTreeMap<String, usize> = BTreeMap::new();
    let mut seen = BTreeSet::new();
    while let Some(path) = waiting.pop_front() {
        let count = of_kind.entry(kind_of(&path)).or_default();
        if *count >= of_a_kind || !seen.insert(path.clone()) {
            continue;
        }
        *count += 1;
        let answer = client.get(&path).await;
        if answer.status == 303 {
            waiting.push_back(answer.header("location").to_owned());
        }
        if !is_page(&answer) {
            look(&path, &answer, None);
            continue;
        }
        let page = Html::parse_document(answer.text());
        for link in page.select(&links) {
            let href = link.attr("href").unwrap();
            let bare = href.split('#').next().unwrap();
            if bare.starts_with('/') && !bare.starts_with("//") && !bare.ends_with("/live") {
                waiting.push_back(bare.to_owned());
            }
        }
        look(&path, &answer, Some(&page));
    }
}

/// Every form that stands on the pages from these on, the same one of a kind once.
pub async fn forms(client: &Client, from: &[String], of_a_kind: usize) -> Vec<Form> {
    let mut kinds = BTreeSet::new();
    let mut all = Vec::new();
    walk(client, from, of_a_kind, |path, _, page| {
        for form in page.into_iter().flat_map(|page| forms_of(path, page)) {
            let names: Vec<String> = form.fields.iter().map(|one| one.name.clone()).collect();
            if kinds.insert((kind_of(&form.action), form.method.clone(), names)) {
                all.push(form);
            }
        }
    })
    .await;
    all
}
