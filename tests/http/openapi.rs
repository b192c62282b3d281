//! The description of the interface: it names every route of the interface and no other.

use std::collections::BTreeSet;

use deckwatch::web::compute::Computation;
use deckwatch::web::guard::Needs;
use deckwatch::web::router::routes;
use serde_json::Value;

use crate::app::App;

async fn description() -> Value {
    let app = App::new().await;
    let answer = app.stranger().get("/api/openapi.json").await;
    answer.is(200).json()
}

#[tokio::test]
async fn it_names_every_route_of_the_interface_and_no_other() {
    let description = description().await;
    let described: BTreeSet<(String, String)> = description["paths"]
        .as_object()
        .unwrap()
        .iter()
        .flat_map(|(path, item)| {
            let methods = item.as_object().unwrap().keys();
            methods.map(move |method| (path.clone(), method.to_uppercase()))
        })
        .collect();
    let routed: BTreeSet<(String, String)> = routes()
        .iter()
        .filter(|route| route.path.starts_with("/api/"))
        .flat_map(|route| {
            let methods = route.methods.iter();
            methods.map(move |method| (route.path.to_owned(), (*method).to_owned()))
        })
        .collect();
    assert_eq!(described, routed);
    assert_eq!(description["openapi"], "3.1.0");
    assert_eq!(description["info"]["version"], env!("CARGO_PKG_VERSION"));
}

#[tokio::test]
async fn it_says_of_each_route_who_may_and_what_parts_its_path_has() {
    let description = description().await;
    for route in routes() {
        if !route.path.starts_with("/api/") {
            continue;
        }
        let method = route.methods[0].to_lowercase();
        let described = &description["paths"][route.path][&method];
        let open = described["security"] == serde_json::json!([]);
        assert_eq!(open, route.needs == Needs::Nobody, "{}", route.path);
        let parts: BTreeSet<String> = route
            .path
            .split('/')
            .filter_map(|part| Some(part.strip_prefix('{')?.strip_suffix('}')?.to_owned()))
            .collect();
        let none = Vec::new();
        let named: BTreeSet<String> = described["parameters"]
            .as_array()
            .unwrap_or(&none)
            .iter()
            .map(|parameter| resolved(&description, parameter))
            .filter(|parameter| parameter["in"] == "path")
            .map(|parameter| parameter["name"].as_str().unwrap().to_owned())
            .collect();
        assert_eq!(named, parts, "{}", route.path);
    }
    let what = &description["paths"]["/api/compute/{what}"]["post"]["parameters"][0]["schema"];
    let names = Computation::ALL.map(Computation::name);
    assert_eq!(what["enum"], serde_json::json!(names));
}

fn resolved<'a>(document: &'a Value, value: &'a Value) -> &'a Value {
    match value["$ref"].as_str() {
        Some(reference) => document.pointer(&reference[1..]).expect(reference),
        None => value,
    }
}

#[tokio::test]
async fn whatever_it_points_to_is_there() {
    fn walk(document: &Value, value: &Value, seen: &mut usize) {
        match value {
            Value::Object(map) => {
                if let Some(Value::String(reference)) = map.get("$ref") {
                    assert!(document.pointer(&reference[1..]).is_some(), "{reference}");
                    *seen += 1;
                }
                map.values().for_each(|inner| walk(document, inner, seen));
            }
            Value::Array(list) => list.iter().for_each(|inner| walk(document, inner, seen)),
            Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
        }
    }
    let description = description().await;
    let mut seen = 0;
    walk(&description, &description, &mut seen);
    assert!(seen > 10, "{seen} references");
}
