//! A box that is lost with people in the water: its backup, put into a folder that was not there,
//! is served, and the crew goes on where it was.

use std::sync::Arc;

use deckwatch::clock::Clock;
use deckwatch::store::{Incoming, Store};
use serde_json::Value;

use crate::commands::{at, good};
use crate::copies::{Served, word};
use crate::scene::{Scene, trip};

/// The cookies that an answer sets, as a browser sends them back.
fn cookies(answer: &str) -> String {
    let set = answer.lines().filter_map(|line| {
        let (name, value) = line.split_once(": ")?;
        let is_cookie = name.eq_ignore_ascii_case("set-cookie");
        is_cookie.then(|| value.split(';').next().unwrap().to_owned())
    });
    set.collect::<Vec<_>>().join("; ")
}

/// A hidden field of a page.
fn hidden(page: &str, name: &str) -> String {
    let field = page.split(&format!("name=\"{name}\"")).nth(1);
    let value = field.and_then(|rest| rest.split("value=\"").nth(1));
    let value = value.and_then(|rest| rest.split('"').next());
    value.unwrap_or_else(|| panic!("{name}: {page}")).to_owned()
}

fn body(answer: &str) -> &str {
    let (head, body) = answer.split_once("\r\n\r\n").unwrap();
    assert!(head.starts_with("HTTP/1.1 200"), "{answer}");
    body
}

/// Says what the current is, as the page's form does; the answer.
fn observes(served: &Served, cookies: &str, drift: &str) -> String {
    let path = format!("/helm/{}/conditions", trip());
    let page = served.ask(&path, cookies, &[]);
    let (knows, form) = (hidden(&page, "knows"), hidden(&page, "form"));
    let fields = [("knows", knows.as_str()), ("form", form.as_str())];
    let typed = [("set_deg", "285"), ("drift_kn", drift)];
    served.ask(&path, cookies, &[fields, typed].concat())
}

fn signed_in(served: &Served, device: &str) -> String {
    let form = [("name", "Ilka Voss"), ("pin", "274913"), ("to", "/")];
    let answer = served.ask("/sign-in", device, &form);
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
    format!("{device}; {}", cookies(&answer))
}

#[tokio::test]
async fn the_crew_goes_on_out_of_a_backup_where_it_was_with_people_in_the_water() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(folder.path(), Clock::system()).await.unwrap();
    let log = Scene::four_down().log;
    let events = log
        .into_iter()
        .map(|entry| Incoming::from(Arc::unwrap_or_clone(entry.event)));
    let _appended = store.append(trip(), events.collect()).await.unwrap();
    store.close().await.unwrap();
    let add = ["crew", "add", "Ilka Voss", "--role", "skipper"];
    let made = at(folder.path(), &add, "274913\n");
    let code = good(&made).lines().last().unwrap();
    let code: String = code.chars().take(24).filter(char::is_ascii_digit).collect();

    // The box at work: a tablet let in, the skipper signed in, an act taken.
    let served = Served::of(folder.path());
    let form = [("code", code.as_str()), ("name", "Helm"), ("kind", "helm")];
    let device = cookies(&served.ask("/enrol", "", &form));
    let skipper = signed_in(&served, &device);
    let taken = observes(&served, &skipper, "0.4");
    assert!(taken.starts_with("HTTP/1.1 303"), "{taken}");
    let to = tempfile::tempdir().unwrap();
    let backed = at(folder.path(), &["backup", to.path().to_str().unwrap()], "");
    let (backup, proof) = (
        word(good(&backed), "backup "),
        word(good(&backed), "proof "),
    );
    let asked = format!("/api/trips/{}/log", trip());
    let log = served.ask(&asked, &skipper, &[]);
    let digest = format!("/api/trips/{}/digest", trip());
    let held: Value = serde_json::from_str(body(&served.ask(&digest, &skipper, &[]))).unwrap();
    drop(served);
    drop(folder);

    // Another box, in a folder that is not there yet.
    let place = tempfile::tempdir().unwrap();
    let fresh = place.path().join("another").join("box");
    let restored = at(&fresh, &["restore", &backup], "");
    // The proof is over events and the states they fold to.
    assert_eq!(word(good(&restored), "proof "), proof);
    let checked = at(&fresh, &["check"], "");
    assert!(good(&checked).contains(" 0 flaws"), "{checked:?}");
    let served = Served::of(&fresh);
    let skipper = signed_in(&served, &device);
    assert_eq!(body(&served.ask(&asked, &skipper, &[])), body(&log));
    let again: Value = serde_json::from_str(body(&served.ask(&digest, &skipper, &[]))).unwrap();
    assert_eq!(again, held);
    let watch = served.ask(&format!("/helm/{}", trip()), &skipper, &[]);
    for name in ["Berg", "Kiss", "Lind", "Marr"] {
        assert!(body(&watch).contains(name), "{name} is down: {watch}");
    }
    let picture = format!("/api/trips/{}/picture", trip());
    let picture: Value = serde_json::from_str(body(&served.ask(&picture, &skipper, &[]))).unwrap();
    assert_eq!(picture["picture"]["out"], 4, "{picture}");

    // The next act, on a log that is one entry longer and whole.
    let taken = observes(&served, &skipper, "0.7");
    assert!(taken.starts_with("HTTP/1.1 303"), "{taken}");
    let longer = served.ask(&asked, &skipper, &[]);
    let lines = |answer: &str| body(answer).lines().count();
    assert_eq!(lines(&longer), lines(&log) + 1);
    assert!(
        body(&longer).starts_with(body(&log)),
        "what was there stands"
    );
    drop(served);
    let checked = at(&fresh, &["check"], "");
    assert!(good(&checked).contains(" 0 flaws"), "{checked:?}");
    let again = at(&fresh, &["backup", to.path().to_str().unwrap()], "");
    assert_ne!(
        word(good(&again), "proof "),
        proof,
        "it tells more than before"
    );
}
