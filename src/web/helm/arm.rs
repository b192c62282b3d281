//! Arming a screen: one page, one tap. It plays the tone and asks whether it was heard, keeps the
//! screen from sleeping, asks the browser to keep what is stored, and lists what passed.

use askama::Template;
use axum::response::Response;

use super::bridge::{Helm, Tap};
use crate::web::error::Error;
use crate::web::frame::Frame;
use crate::web::page::html;
use crate::web::parts::Weight;
use crate::web::presence::Watcher;

/// What is checked, with the words for each outcome.
struct Check {
    name: &'static str,
    open: String,
    passed: String,
    failed: String,
}

struct Screen {
    name: String,
    says: String,
}

#[derive(Template)]
#[template(path = "helm/arm.html")]
struct ArmPage {
    frame: Frame,
    mast: Vec<(String, String)>,
    checks: Vec<Check>,
    screens: Vec<Screen>,
    shelf: Vec<Tap>,
}

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    let trip = helm.trip.trip;
    let screens = helm
        .app
        .presence()
        .watchers()
        .into_iter()
        .filter(|watcher| watcher.report.trip == trip)
        .map(|watcher| screen(&helm, watcher))
        .collect();
    let page = ArmPage {
        // Somebody answers a question here: it does not load itself anew.
        frame: helm.still_frame(&[]),
        mast: helm.mast(),
        checks: checks(&helm),
        screens,
        shelf: vec![helm.go("go-back", "", Weight::Plain)],
    };
    html(&page)
}

fn checks(helm: &Helm) -> Vec<Check> {
    let say = |key: &str| helm.t.say(key);
    vec![
        Check {
            name: "sound",
            open: say("arm-sound-open"),
            passed: say("arm-sound-passed"),
            failed: say("arm-sound-failed"),
        },
        Check {
            name: "heard",
            open: say("arm-heard-open"),
            passed: say("arm-heard-passed"),
            failed: say("arm-heard-failed"),
        },
        Check {
            name: "awake",
            open: say("arm-awake-open"),
            passed: say("arm-awake-passed"),
            failed: say("arm-awake-failed"),
        },
        Check {
            name: "kept",
            open: say("arm-kept-open"),
            passed: say("arm-kept-passed"),
            failed: say("arm-kept-failed"),
        },
        Check {
            name: "clock",
            open: say("arm-clock-open"),
            passed: say("arm-clock-passed"),
            failed: say("arm-clock-failed"),
        },
        Check {
            name: "told",
            open: say("arm-told-open"),
            passed: say("arm-told-passed"),
            failed: say("arm-told-failed"),
        },
    ]
}

fn screen(helm: &Helm, watcher: Watcher) -> Screen {
    let ms = helm.app.clock().uptime_ms().saturating_sub(watcher.at_ms);
    let report = watcher.report;
    let key = match (report.armed, report.visible) {
        (true, true) => "arm-screen-watches",
        (true, false) => "arm-screen-hidden",
        (false, _) => "arm-screen-unarmed",
    };
    let seconds = i64::try_from(ms / 1_000).unwrap_or(i64::MAX);
    let args = [("who", watcher.who.into()), ("seconds", seconds.into())];
    Screen {
        name: watcher.name,
        says: helm.say(key, &args),
    }
}
