//! Text that would like to be markup, a formula, a line of a head: typed into every field of every
//! form, and brought in a log from elsewhere. Every page, print, file and stream stays inert.

use std::collections::{BTreeMap, BTreeSet};

use axum::http::Method;
use deckwatch::store::Incoming;
use deckwatch::store::crew::DeviceKind;

use deckwatch::trip::TripId;
use deckwatch::trip::event::{Event, EventId, Fact, Knows, Role, Signal, read};
use deckwatch::web::router::routes;
use jiff::SignedDuration;
use scraper::Html;
use serde_json::{Value, json};

use super::forms::{Form, Kind, forms, forms_of, is_page, kind_of, walk};
use super::marked::{
    ADDRESS, ENDING, FORMULAS, MARK, MARKUP, SHORT, TEMPLATE, is_inert, is_inert_as,
};
use crate::app::App;
use crate::client::{Answer, Client};
use crate::trip::Trip;

/// What is typed into the `nth` form, each sent on its own: markup, and one of the others in turn.
fn typed(nth: usize) -> [&'static str; 2] {
    let others = [ENDING, TEMPLATE, ADDRESS].into_iter().chain(FORMULAS);
    [MARKUP, others.cycle().nth(nth).unwrap_or(TEMPLATE)]
}

/// What no field takes: a byte of zero, an escape that colours terminals, what turns the rest of
/// a line round (Unicode Standard Annex 9, explicit directional formatting), far too much.
fn refused() -> Vec<String> {
    vec![
        format!("{MARK}\u{202e}drawkcab"),
        format!("{MARK}\0"),
        format!("{MARK}\u{1b}[31m"),
        format!("{MARK}\u{2066}apart"),
        MARK.repeat(3_500),
    ]
}

/// What a person would type into a field that stands empty and has to be filled.
fn plausible(name: &str, kind: Kind) -> &'static str {
    let is_blank_row = ["corners-", "name-"].iter().any(|of| name.starts_with(of));
    match (name, kind) {
        ("pin", _) => "274917",
        ("passphrase", _) => "seven quiet lanterns at dusk",
        ("day", _) => "2026-06-01",
        ("signed_on", _) => "2026-05-01",
        ("until" | "good_until", _) => "2027-05-01",
        ("position" | "at1", _) => "45.0, -30.0",
        ("at2", _) => "45.001, -30.0",
        ("lat" | "latitude", _) => "45.0",
        ("lon" | "longitude", _) => "-30.0",
        ("limit", _) => "30",
        ("line", _) => "Nils Brand; autonomous; 30",
        ("minutes" | "people", _) => "5",
        ("mmsi" | "at" | "left_at" | "surfaced_at" | "oxygen_from" | "enters", _) => "",
        (_, Kind::Text) if !is_blank_row && !name.starts_with("up-") => "Said plainly",
        _ => "",
    }
}

/// The text as its field wants it: a file's text is a file.
fn shaped(form: &Form, name: &str, text: &str) -> String {
    let is_file = |end: &str| name == "text" && form.action.ends_with(end);
    if is_file("/roster/csv") {
        return format!("name,level,limit\n\"{}\",,30", text.replace('"', "\"\""));
    }
    if name == "line" {
        return {
            let text = text.replace(';', ",");
            format!("{text}; {text}; 30")
        };
    }
    if is_file("/chart/import") {
        let place = json!({"type": "Point", "coordinates": [-30.0, 45.0]});
        let properties = json!({"kind": "mooring", "name": text});
        let feature = json!({"type": "Feature", "properties": properties, "geometry": place});
        return json!({"type": "FeatureCollection", "features": [feature]}).to_string();
    }
    text.to_owned()
}

/// A form with every empty field filled as a person would, and these texts.
fn filled(form: &Form, texts: &[(&str, &str)]) -> Vec<(String, String)> {
    let mut fields = form.with(texts);
    for (name, value) in &mut fields {
        if value.is_empty() && !texts.iter().any(|(given, _)| given == name) {
            let kind = form.fields.iter().find(|one| one.name == *name);
            let kind = kind.map_or(Kind::Hidden, |one| one.kind);
            plausible(name, kind).clone_into(value);
        }
    }
    fields
}

/// What became of what was typed into each field.
#[derive(Default)]
struct Fared {
    /// Why a field was refused last.
    why: BTreeMap<(String, String), Vec<String>>,
    taken: BTreeMap<(String, String), usize>,
    tried: BTreeSet<(String, String)>,
}

impl Fared {
    fn note(&mut self, form: &Form, names: &[&str], answer: &Answer) {
        for name in names {
            let field = (kind_of(&form.action), (*name).to_owned());
            // What is taken leads on, or is answered with a page; a refusal is a 422.
            let is_taken = answer.status == 303 || answer.status == 200;
            *self.taken.entry(field.clone()).or_default() += usize::from(is_taken);
            if !is_taken && is_page(answer) {
                self.why.insert(field.clone(), answer.all("#problem li"));
            }
            self.tried.insert(field);
        }
    }

    fn is_taken(&self, form: &Form, name: &str) -> bool {
        let field = (kind_of(&form.action), name.to_owned());
        self.taken.get(&field).is_some_and(|count| *count > 0)
    }

    fn never_taken(&self) -> BTreeSet<String> {
        let none = self.taken.iter().filter(|(_, count)| **count == 0);
        none.map(|((action, name), _)| format!("{action} {name}"))
            .collect()
    }
}

/// The same form as its page shows it now: the page knew less a moment ago.
async fn again(client: &Client, form: &Form) -> Option<Form> {
    let page = client.get(&form.page).await;
    let found = forms_of(&form.page, &Html::parse_document(page.text()));
    found.into_iter().find(|one| one.action == form.action)
}

/// Types into every text field of a form, all at once, then one by one where that was refused.
async fn type_into(client: &Client, form: &Form, nth: usize, fared: &mut Fared) {
    let texts: Vec<&str> = form
        .fields
        .iter()
        .filter(|field| field.kind == Kind::Text)
        .map(|field| field.name.as_str())
        .collect();
    let mut form = form.clone();
    // What a trip's log takes of the others is tried in a log of its own.
    let is_of_trip = kind_of(&form.action).split('/').nth(2) == Some("{}");
    for text in typed(nth).into_iter().take(if is_of_trip { 1 } else { 2 }) {
        let all: Vec<(&str, String)> = texts
            .iter()
            .map(|name| (*name, shaped(&form, name, text)))
            .collect();
        let all: Vec<(&str, &str)> = all.iter().map(|(n, text)| (*n, text.as_str())).collect();
        let answer = form.send(client, &filled(&form, &all)).await;
        is_inert(&form.action, &answer);
        fared.note(&form, &texts, &answer);
        if matches!(answer.status.as_u16(), 200 | 303) {
            continue;
        }
        // Of several one may have a shape; a short one takes little.
        for name in &texts {
            for text in [text, SHORT] {
                if fared.is_taken(&form, name) {
                    continue;
                }
                let text = shaped(&form, name, text);
                let answer = form.send(client, &filled(&form, &[(name, &text)])).await;
                is_inert(&form.action, &answer);
                fared.note(&form, &[name], &answer);
                if answer.status == 303
                    && let Some(fresh) = again(client, &form).await
                {
                    form = fresh;
                }
            }
        }
    }
}

/// Who sees everything between them, and who only looks: a divemaster has no page that a skipper has
/// not. Signed in anew, as accounts may have been changed.
async fn clients(app: &App) -> [Client; 3] {
    let helm = app.another("Vera Lund", Role::Skipper, DeviceKind::Helm, "640283");
    let desk = app.another_owner("Pia Hedd", DeviceKind::Desk, "729415");
    let (helm, desk) = (helm.await, desk.await);
    [app.at(&helm), app.at(&desk), app.display().await]
}

/// Every page and file that links and the table of routes lead to must be inert: the skipper looks
/// at the first trip, the desk at the other.
async fn all_is_inert(app: &App, trips: [TripId; 2]) -> usize {
    let [skipper, desk, display] = clients(app).await;
    let mut seen = 0;
    let mut marked = 0;
    for (client, trip) in [
        (&skipper, trips[0]),
        (&desk, trips[1]),
        (&display, trips[1]),
    ] {
        let mut from: Vec<String> = ["/", "/desk"].map(ToOwned::to_owned).into();
        for route in routes() {
            let of_trip = usize::from(route.path.contains("{trip}"));
            let is_read = route.methods == ["GET"] && !route.path.ends_with("/live");
            if is_read && route.path.matches('{').count() == of_trip {
                from.push(route.path.replace("{trip}", &trip.to_string()));
            }
        }
        walk(client, &from, 1, |path, answer, page| {
            is_inert_as(path, answer, page);
            seen += 1;
            marked += usize::from(String::from_utf8_lossy(&answer.body).contains(MARK));
        })
        .await;
    }
    for trip in trips {
        // JSON in the data of an event, or this fails.
        let path = format!("/api/trips/{trip}/live");
        assert!(skipper.listen(&path, None).await.next().await.is_some());
    }
    assert!(marked > 50, "the texts stand on {marked} of {seen} pages");
    seen
}

/// Names of fields that take only what has their shape: times, places, figures, a zone, a PIN,
/// rows of a table, lines of a log.
const SHAPED: [&str; 18] = [
    "at",
    "lat",
    "lon",
    "latitude",
    "longitude",
    "left_at",
    "surfaced_at",
    "oxygen_from",
    "enters",
    "mmsi",
    "count",
    "time_zone",
    "pin",
    "high_waters",
    "table",
    "corners-",
    "name-4",
    "up-",
];

/// Fields whose form is refused for what it is about, as the trip stands by then or as nothing is
/// ticked; their texts are typed by the tests of those pages, and stand in the log of the next test.
const NOT_NOW: [&str; 20] = [
    "/desk/{}/gas marking",
    "/desk/{}/gas signature",
    "/desk/{}/go-list note-",
    "/desk/{}/roster contact-name",
    "/desk/{}/roster contact-relation",
    "/desk/{}/roster contact-telephone",
    "/deck/{}/group/{}/more reason",
    "/helm/{}/recall other",
    "/deck/{}/logs text",
    "/helm/{}/logs text",
    "/deck/{}/group/{}/restate why",
    "/deck/{}/return/{} seen_by",
    "/deck/{}/return/{} trouble",
    "/deck/{}/return/{} vessel_name",
    "/helm/{}/person/{} seen_by",
    "/helm/{}/person/{} whither",
    "/helm/{}/group/{}/more-time reason",
    "/desk/{}/groups/{} override",
    "/desk/crew name",
    "/helm/{}/crew name",
];

#[tokio::test]
async fn whatever_is_typed_into_a_form_stays_text_everywhere() {
    let app = App::new().await;
    let quay = app.trip_at_quay().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "B").await;
    app.surfaced(&trip, &["Mara Lind"], Signal::NoSignal).await;
    app.drop_group(&trip, "D").await;
    app.aboard(&trip, &["Noor Adan"]).await;
    app.wait(SignedDuration::from_mins(90));
    let mut fared = Fared::default();
    for (client, from) in [
        (
            app.desk(),
            vec![format!("/desk/{}", quay.id), "/desk".to_owned()],
        ),
        (
            app.skipper(),
            vec![
                format!("/helm/{}/go-list", quay.id),
                format!("/helm/{}", trip.id),
                format!("/deck/{}", trip.id),
            ],
        ),
    ] {
        let mut all = forms(&client, &from, 2).await;
        // What changes accounts comes last: it may end the session that types.
        all.sort_by_key(|form| form.action.contains("/crew") || form.action.contains("/devices"));
        for (nth, form) in all.iter().enumerate() {
            let ends_it = ["/sign-out", "/sign-in", "/enrol"].contains(&form.action.as_str());
            if !ends_it && form.fields.iter().any(|field| field.kind == Kind::Text) {
                type_into(&client, form, nth, &mut fared).await;
            }
        }
    }
    let mut never = fared.never_taken();
    // For whoever adds a field: what its form said.
    for ((action, name), why) in &fared.why {
        if never.contains(&format!("{action} {name}")) {
            println!("{action} {name}: {why:?}");
        }
    }
    never.retain(|field| {
        let name = field.rsplit(' ').next().unwrap_or_default();
        let has_shape = |of: &&str| name == *of || (of.ends_with('-') && name.starts_with(*of));
        !SHAPED.iter().any(has_shape)
            && !NOT_NOW
                .iter()
                .any(|of| field == of || (of.ends_with('-') && field.starts_with(of)))
    });
    assert_eq!(never, BTreeSet::new(), "took none of the texts");
    assert!(fared.tried.len() > 100, "{} fields", fared.tried.len());
    // Names of people and devices at work are typed elsewhere than on a page, too.
    app.another(MARKUP, Role::Divemaster, DeviceKind::Deck, "385016")
        .await;
    let seen = all_is_inert(&app, [trip.id, quay.id]).await;
    assert!(seen > 150, "{seen} pages");
}

/// An event with this text in place of each that its kind takes as free text.
fn told(event: &Value, text: &str) -> Option<Event> {
    let known = |value: &Value| {
        let (event, _) = read(value.to_string().as_bytes()).ok()?;
        (!matches!(event.fact, Fact::Unread(_))).then_some(event)
    };
    let mut told = event.clone();
    for path in texts_of("/payload", &event["payload"]) {
        let mut changed = told.clone();
        *changed.pointer_mut(&path).unwrap() = json!(text);
        // Identities, instants and words of a list refuse it.
        if known(&changed).is_some() {
            told = changed;
        }
    }
    told["by"]["name"] = json!(text);
    known(&told)
}

/// Where texts stand in a document, as JSON pointers (RFC 6901).
fn texts_of(at: &str, value: &Value) -> Vec<String> {
    match value {
        Value::String(_) => vec![at.to_owned()],
        Value::Array(list) => list
            .iter()
            .enumerate()
            .flat_map(|(nth, one)| texts_of(&format!("{at}/{nth}"), one))
            .collect(),
        Value::Object(map) => map
            .iter()
            .flat_map(|(key, one)| texts_of(&format!("{at}/{key}"), one))
            .collect(),
        Value::Null | Value::Bool(_) | Value::Number(_) => Vec::new(),
    }
}

/// A trip with one event of each kind there is, each full of one of these texts.
async fn brought(app: &App, nth: u128, texts: &[&str]) -> TripId {
    let trip = TripId::new(uuid::Uuid::from_u128(nth));
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/log");
    let mut events = Vec::new();
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().collect();
    files.sort_by_key(|file| file.as_ref().unwrap().file_name());
    for (file, text) in files.into_iter().zip(texts.iter().cycle()) {
        let file = std::fs::read(file.unwrap().path()).unwrap();
        let mut event = serde_json::from_slice::<Value>(&file).unwrap()["event"].take();
        event["trip"] = json!(trip);
        events.push(told(&event, text).unwrap_or_else(|| panic!("{event}")));
    }
    events.sort_by_key(|event| event.at);
    // The fixtures were made apart: here each is the next of its device, which knew all before.
    let mut knows = Knows::default();
    for (event, of_log) in events.iter_mut().zip(1..) {
        event.id = EventId::new(uuid::Uuid::from_u128((nth << 64) + of_log));
        event.knows = knows.clone();
        let made = knows.0.entry(event.device).or_default();
        *made += 1;
        event.device_seq = *made;
    }
    let said = events
        .iter()
        .filter(|event| event.content().text.contains(MARK));
    assert!(
        said.count() > 40,
        "each kind says it, or its author's name does"
    );
    let events = events.into_iter().map(Incoming::from).collect();
    let appended = app.store.append(trip, events).await.unwrap();
    assert!(appended.len() > 40);
    trip
}

#[tokio::test]
async fn a_log_from_elsewhere_stays_text_everywhere() {
    let app = App::new().await;
    let turning = format!("{MARK}\u{202e}drawkcab\u{2066}");
    let mut texts = vec![MARKUP, ENDING, ADDRESS, TEMPLATE, &turning];
    texts.extend(FORMULAS);
    let trips = [
        brought(&app, 1_000, &[MARKUP]).await,
        brought(&app, 1_001, &texts).await,
        brought(&app, 1_002, &[&turning]).await,
    ];
    let seen = all_is_inert(&app, [trips[1], trips[0]]).await;
    assert!(seen > 80, "{seen} pages");
    // What turns a line round is on no page, though the log has it as it came.
    let last = trips.last().unwrap();
    let client = app.skipper();
    for path in [
        format!("/helm/{last}"),
        format!("/desk/{last}/report"),
        format!("/desk/{last}/log"),
    ] {
        let page = client.get(&path).await;
        let turned = page
            .is(200)
            .text()
            .matches(['\u{202e}', '\u{2066}'])
            .count();
        assert_eq!(turned, 0, "{path}");
    }
    let log = client.get(&format!("/api/trips/{last}/log")).await;
    assert!(log.text().contains(&turning), "kept byte for byte");
}

#[tokio::test]
async fn what_no_field_takes_is_refused_with_its_fault() {
    let app = App::new().await;
    let trip: Trip = app.trip_at_quay().await;
    let client = app.desk();
    let from = ["/desk".to_owned(), format!("/desk/{}", trip.id)];
    let mut took = BTreeSet::new();
    let mut tried = 0;
    for form in forms(&client, &from, 2).await {
        let texts: Vec<&str> = form
            .fields
            .iter()
            .filter(|field| field.kind == Kind::Text && form.method == Method::POST)
            .map(|field| field.name.as_str())
            .collect();
        for name in texts {
            // What turns a line round, and one of the others in turn.
            let all = refused();
            for text in [&all[0], &all[1 + tried % (all.len() - 1)]] {
                let answer = form.send(&client, &filled(&form, &[(name, text)])).await;
                is_inert(&form.action, &answer);
                if answer.status == 303 {
                    took.insert(format!("{} {name} {text:.20?}", kind_of(&form.action)));
                }
                tried += 1;
            }
        }
    }
    assert_eq!(took, BTreeSet::new(), "of {tried}");
    assert!(tried > 100, "{tried} were tried");
}
