//! The first start of an empty box, what owners and displays may, and the language of a page.

use axum::http::header;
use deckwatch::clock::Clock;
use deckwatch::store::Store;
use deckwatch::store::crew::{Allowed, DeviceKind};
use deckwatch::store::register::key;
use deckwatch::trip::event::Role;
use deckwatch::web::app::{App as Web, Reached};
use deckwatch::web::router::router;
use tempfile::TempDir;
use tokio_util::sync::CancellationToken;

use crate::app::{App, ORIGIN, noon};
use crate::client::{Answer, Client};

/// A box at its first start.
struct Empty {
    _folder: TempDir,
    store: Store,
    client: Client,
}

impl Empty {
    async fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(folder.path(), Clock::fixed(noon()))
            .await
            .unwrap();
        let reached = Reached {
            origins: vec![ORIGIN.to_owned()],
            drill_speed: None,
            lets_devices_in: false,
        };
        let web = Web::new(store.clone(), reached, CancellationToken::new());
        let client = Client::new(router(web.clone()), web, String::new());
        Self {
            _folder: folder,
            store,
            client,
        }
    }

    async fn submit(&self, changed: &[(&str, &str)]) -> Answer {
        let whole = [
            ("centre", "North Pier Diving"),
            ("place", "North Pier"),
            ("time_zone", "Europe/Athens"),
            ("jurisdiction", "Callow Islands"),
            ("boat", "Marrow Tern"),
            ("call_sign", "SVXY"),
            ("capacity", "18"),
            ("plan", "Mark the datum"),
            ("owner", "Oda Frei"),
            ("pin", "385016"),
            ("passphrase", ""),
            ("device", "Computer in the shop"),
            ("kind", "desk"),
        ];
        let fields: Vec<(&str, &str)> = whole
            .iter()
            .filter(|(name, _)| !changed.iter().any(|(other, _)| other == name))
            .chain(changed)
            .copied()
            .collect();
        self.client.submit("/set-up", "/set-up", &fields).await
    }

    async fn code(&self) -> String {
        self.store.set_up_code().await.unwrap().digits
    }

    /// Whether nothing at all was made.
    async fn is_untouched(&self) -> bool {
        let centre: Option<String> = self.store.setting(key::CENTRE).await.unwrap();
        centre.is_none()
            && self.store.list_crew().await.unwrap().is_empty()
            && self.store.boats().await.unwrap().is_empty()
            && self.store.devices().await.unwrap().is_empty()
    }
}

#[tokio::test]
async fn a_new_box_leads_to_its_one_page_and_makes_centre_boat_and_owner() {
    let empty = Empty::new().await;
    assert!(
        empty
            .client
            .get("/")
            .await
            .location()
            .starts_with("/sign-in")
    );
    assert_eq!(empty.client.get("/sign-in").await.location(), "/enrol");
    assert_eq!(empty.client.get("/enrol").await.location(), "/set-up");
    let code = empty.code().await;
    let done = empty.submit(&[("code", &code), ("roles", "skipper")]).await;
    assert_eq!(done.location(), "/", "{}", done.text());

    let cookies: Vec<&str> = done
        .headers
        .get_all(header::SET_COOKIE)
        .iter()
        .map(|cookie| cookie.to_str().unwrap().split(';').next().unwrap())
        .collect();
    let owner = empty.client.with(cookies.join("; "));
    let start = owner.get("/").await;
    assert!(
        start.is(200).text().contains("Oda Frei"),
        "signed in at once"
    );
    let crew = empty.store.list_crew().await.unwrap();
    assert_eq!(crew[0].name, "Oda Frei");
    assert!(crew[0].allowed.owner && crew[0].allowed.roles.contains(&Role::Skipper));
    let boats = empty.store.boats().await.unwrap();
    assert_eq!(
        (boats[0].sheet.name.as_str(), boats[0].sheet.capacity),
        ("Marrow Tern", 18)
    );
    let zone: Option<String> = empty.store.setting(key::TIME_ZONE).await.unwrap();
    assert_eq!(zone.as_deref(), Some("Europe/Athens"));
    let devices = empty.store.devices().await.unwrap();
    assert_eq!((devices.len(), devices[0].kind), (1, DeviceKind::Desk));
    owner.get("/desk/audit").await.is(200);
    let new = owner.get("/desk/new").await;
    assert_eq!(new.attributes("#harbour", "value"), ["North Pier"]);
    let kept = owner.get("/desk/retention").await;
    assert!(
        kept.text().contains("Callow Islands"),
        "still to be confirmed"
    );

    // There is no second first start.
    owner.get("/set-up").await.is(404);
    owner.post("/set-up", &[("code", "1")]).await.is(404);
    assert_eq!(empty.store.list_crew().await.unwrap().len(), 1);
}

#[tokio::test]
async fn with_a_passphrase_the_desk_asks_for_it_from_the_first_day() {
    let empty = Empty::new().await;
    let words = "three gulls at noon";
    let code = empty.code().await;
    let done = empty
        .submit(&[("code", &code), ("passphrase", words), ("roles", "desk")])
        .await;
    assert_eq!(done.location(), "/", "{}", done.text());
    let device = empty.store.devices().await.unwrap()[0].id;
    assert!(
        empty
            .store
            .sign_in(device, "Oda Frei", "385016")
            .await
            .is_err()
    );
    empty
        .store
        .sign_in(device, "Oda Frei", words)
        .await
        .unwrap();
}

#[tokio::test]
async fn without_the_printed_code_nothing_is_made() {
    let empty = Empty::new().await;
    let code = empty.code().await;
    for wrong in ["", "00000000", "' OR 1=1 --"] {
        let refused = empty.submit(&[("code", wrong)]).await;
        assert!(refused.is(422).text().contains("not the code"), "{wrong}");
        assert!(empty.is_untouched().await);
    }
    // Guessing burns it: five in all.
    for _ in 0..2 {
        empty.submit(&[("code", "11111111")]).await.is(422);
    }
    empty.submit(&[("code", &code)]).await.is(422);
    assert!(empty.is_untouched().await);
}

#[tokio::test]
async fn what_makes_no_sense_is_told_by_its_field_and_the_code_stays_good() {
    let empty = Empty::new().await;
    let code = empty.code().await;
    for (field, value) in [
        ("centre", ""),
        ("place", " "),
        ("time_zone", "Sea/Nowhere"),
        ("jurisdiction", ""),
        ("boat", ""),
        ("capacity", "0"),
        ("capacity", "-3"),
        ("capacity", "many"),
        ("plan", ""),
        ("owner", ""),
        ("pin", "123456"),
        ("pin", "12"),
        ("passphrase", "short"),
        ("passphrase", "aaaaaaaaaaaaaaaaaaaa"),
        ("device", ""),
        ("kind", "bridge"),
    ] {
        let refused = empty.submit(&[("code", &code), (field, value)]).await;
        refused.is(422);
        assert_eq!(
            refused.count(&format!("#{field}-fault")),
            1,
            "{field} = {value}"
        );
        for secret in ["385016", "short", "aaaaaaaaaaaaaaaaaaaa"] {
            let shown = refused.attributes("input[type=password]", "value");
            assert!(
                shown.iter().all(|value| value != secret),
                "never shown again"
            );
        }
        assert!(empty.is_untouched().await, "{field} = {value}");
    }
    let done = empty.submit(&[("code", &code)]).await;
    assert_eq!(done.location(), "/", "{}", done.text());
}

#[tokio::test]
async fn a_display_sees_the_boats_of_the_day_and_is_led_nowhere() {
    let app = App::new().await;
    let trip = app.trip().await;
    let wall = app.display().await;
    let to = wall.get("/").await;
    assert_eq!(to.location(), "/desk/day/2026-06-01");
    let page = wall.get(to.location()).await;
    assert!(page.is(200).text().contains("Marrow Tern"));
    assert_eq!(page.count("#boats[data-streams]"), 0, "it asks for itself");
    let links = page.attributes("main a", "href");
    assert!(links.iter().all(|link| link.starts_with('#')), "{links:?}");
    assert_eq!(page.count("nav.ways a"), 0);
    for path in [
        format!("/helm/{}", trip.id),
        format!("/desk/{}", trip.id),
        format!("/api/trips/{}/log", trip.id),
        format!("/api/trips/{}/picture", trip.id),
        "/desk/people".to_owned(),
        "/desk/month".to_owned(),
    ] {
        wall.get(&path).await.is(403);
    }
    let events = format!("/api/trips/{}/events", trip.id);
    wall.post_json(&events, &serde_json::json!({"events": []}))
        .await
        .is(403);
}

#[tokio::test]
async fn a_skipper_changes_accounts_but_no_owners() {
    let app = App::new().await;
    let skipper = app.skipper();
    let berit = app.desk.by.crew;
    for (act, field, value) in [
        ("pin", "pin", "385016"),
        ("roles", "roles", "desk"),
        ("remove", "sure", "yes"),
        ("passphrase", "passphrase", "three gulls at noon"),
    ] {
        let path = format!("/desk/crew/{berit}/{act}");
        skipper.post(&path, &[(field, value)]).await.is(403);
    }
    let jonne = app.deck.by.crew;
    // An owner is made by owners only: what a skipper's form does not offer is not taken.
    let path = format!("/desk/crew/{jonne}/roles");
    skipper
        .post(&path, &[("roles", "divemaster"), ("roles", "owner")])
        .await;
    let owner = async |id| {
        let crew = app.store.list_crew().await.unwrap();
        crew.iter().find(|one| one.id == id).unwrap().allowed.owner
    };
    assert!(!owner(jonne).await);
    app.desk()
        .post(&path, &[("roles", "divemaster"), ("roles", "owner")])
        .await;
    assert!(owner(jonne).await);
    // Nobody gives up what only they have.
    let own = format!("/desk/crew/{berit}/roles");
    app.desk().post(&own, &[("roles", "desk")]).await.is(422);
    assert!(owner(berit).await);
    let both = [("roles", "display"), ("roles", "desk")];
    app.desk().post(&path, &both).await.is(422);
    app.desk().post(&path, &[("roles", "display")]).await;
    let crew = app.store.list_crew().await.unwrap();
    let now = &crew.iter().find(|one| one.id == jonne).unwrap().allowed;
    assert_eq!(now, &Allowed::display());
}

#[tokio::test]
async fn a_passphrase_is_ones_own_or_given_by_an_owner_and_is_never_shown() {
    let app = App::new().await;
    let jonne = app.deck.by.crew;
    let path = format!("/desk/crew/{jonne}/passphrase");
    let page = app.divemaster().get("/desk/crew").await;
    let forms = page.attributes("form[action^='/desk/crew/']", "action");
    assert_eq!(
        forms,
        std::slice::from_ref(&path),
        "one's own passphrase, and nothing else"
    );
    let short = app
        .divemaster()
        .post(&path, &[("passphrase", "too short")])
        .await;
    assert!(!short.is(422).text().contains("too short"));
    let words = "three gulls at noon";
    let kept = app.divemaster().post(&path, &[("passphrase", words)]).await;
    assert_eq!(kept.location(), "/desk/crew");
    let listed = app.desk().get("/desk/crew").await;
    assert!(!listed.text().contains(words));
    let crew = app.store.list_crew().await.unwrap();
    assert!(
        crew.iter()
            .find(|one| one.id == jonne)
            .unwrap()
            .has_passphrase
    );
    app.desk().post(&path, &[("passphrase", "")]).await;
    let crew = app.store.list_crew().await.unwrap();
    assert!(
        !crew
            .iter()
            .find(|one| one.id == jonne)
            .unwrap()
            .has_passphrase
    );
}

#[tokio::test]
async fn a_page_is_in_the_language_that_its_device_chose_to_the_last_fault() {
    let app = App::new().await;
    let trip = app.trip().await;
    let chosen = app
        .skipper()
        .post("/language", &[("language", "de"), ("back", "/")])
        .await;
    assert_eq!(chosen.location(), "/");
    let cookie = chosen
        .header("set-cookie")
        .split(';')
        .next()
        .unwrap()
        .to_owned();
    assert_eq!(cookie, "deckwatch-language=de");
    let german = app.skipper().with(format!("{}; {cookie}", app.helm.cookie));
    for path in [
        "/".to_owned(),
        format!("/helm/{}", trip.id),
        format!("/deck/{}", trip.id),
        format!("/helm/{}/conditions", trip.id),
        "/helm/nowhere".to_owned(),
    ] {
        let page = german.get(&path).await;
        assert_eq!(page.attributes("html", "lang"), ["de"], "{path}");
    }
    let watch = german.get(&format!("/helm/{}", trip.id)).await;
    assert!(watch.text().contains("Aufnahme"), "{}", watch.text());
    let day = german.get(&format!("/desk/{}", trip.id)).await;
    assert!(day.text().contains("1. Juni 2026"), "{}", day.text());
    // A fault of a form, with its range.
    let conditions = format!("/helm/{}/conditions", trip.id);
    let refused = german
        .submit(&conditions, &conditions, &[("drift_typed", "400")])
        .await;
    assert!(
        refused.is(422).text().contains(" bis "),
        "{}",
        refused.text()
    );
    // What goes over the radio stays as it is said there.
    let handover = german.get(&format!("/helm/{}/handover", trip.id)).await;
    let said = handover.is(200).all(".said-aloud").join(" ");
    assert!(said.contains("MAYDAY"), "{}", handover.text());
    for german in [" rw", "unbekannt", "Strömung", "vermisst"] {
        assert!(!said.contains(german), "{german} in {said}");
    }
    // Without a choice the page is in what the browser asks for, and else in English.
    let plain = app.skipper().get("/").await;
    assert_eq!(plain.attributes("html", "lang"), ["en"]);
}
