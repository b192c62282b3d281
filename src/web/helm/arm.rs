//! Arming a screen: one page, one tap. It plays the tone and asks whether it was heard, keeps the
//! screen from sleeping, asks the browser to keep what is stored, and lists what passed.

use askama::Template;
use axum::response::Response;

use super::bridge::{Helm, Tap};
use crate::store::register::key;
use crate::web::duties::Trial;
use crate::web::error::Error;
use crate::web::form::Fields;
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
    /// What is known of the sounder.
    sounder: Vec<(String, String)>,
    try_sounder: Option<Tap>,
    /// It was just tried: whether that was heard.
    was_heard: Option<(Tap, Tap)>,
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
    let can_try = helm.is_skipper() && helm.app.sounder().is_there();
    let page = ArmPage {
        // Somebody answers a question here: it does not load itself anew.
        frame: helm.still_frame(&[]),
        mast: helm.mast(),
        checks: checks(&helm),
        screens,
        sounder: sounder(&helm),
        try_sounder: can_try.then(|| helm.tap("arm-sounder-try", "arm/sounder", Weight::Plain)),
        was_heard: (can_try && helm.asked.path.ends_with("?tried")).then(|| {
            let answer = |key: &str, word: &str, weight: Weight| {
                helm.tap(key, "arm/heard", weight).with("heard", word)
            };
            (
                answer("arm-sounder-yes", "yes", Weight::Primary),
                answer("arm-sounder-no", "no", Weight::Plain),
            )
        }),
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

fn sounder(helm: &Helm) -> Vec<(String, String)> {
    let mut facts = sounder_facts(helm);
    if facts.is_empty() {
        let none = helm.t.say("arm-sounder-none");
        return vec![(helm.t.say("arm-sounder"), none)];
    }
    let trial = helm.app.trial().map_or_else(
        || helm.t.say("arm-sounder-untried"),
        |trial| {
            let args = [("who", trial.by.into()), ("at", helm.aged(trial.at).into())];
            helm.say("arm-sounder-tried", &args)
        },
    );
    facts.push((helm.t.say("arm-last-trial"), trial));
    facts
}

/// What is remembered of each output of the sounder.
pub(super) fn sounder_facts(helm: &Helm) -> Vec<(String, String)> {
    let records = helm.app.sounder().records().into_iter();
    let facts = records.map(|record| {
        let mut says = Vec::new();
        if record.fails()
            && let Some((at, why)) = &record.failed
        {
            let args = [("at", helm.aged(*at).into()), ("why", why.into())];
            says.push(helm.say("sounder-failed", &args));
        }
        says.push(record.succeeded_at.map_or_else(
            || helm.t.say("sounder-never"),
            |at| helm.say("sounder-told", &[("at", helm.aged(at).into())]),
        ));
        (record.name, says.join(". "))
    });
    facts.collect()
}

/// Tries the sounder: every output once, however it goes; the page then asks whether it was heard.
pub(super) async fn try_sounder(helm: Helm) -> Result<Response, Error> {
    let outcomes = helm.app.sounder().try_out().await;
    let sounded = outcomes.iter().any(|(_, told)| told.is_ok());
    Ok(helm.to(if sounded { "arm?tried" } else { "arm" }))
}

/// Whether the sounder was heard: only then it counts as tried.
pub(super) async fn heard(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let answers = [("yes", true), ("no", false)];
    let Some(heard) = fields.word("heard", &answers) else {
        return Ok(helm.to("arm?tried"));
    };
    let (who, store) = (helm.crew.by(), helm.app.store());
    let what = if heard {
        "sounder tried and heard"
    } else {
        "sounder tried and not heard"
    };
    store
        .audit(Some(who.crew), Some(helm.crew.0.device), what)
        .await?;
    let trial = heard.then_some(Trial {
        at: helm.now,
        by: who.name,
    });
    store.set_setting(key::SOUNDER_TRIAL, &trial).await?;
    helm.app.set_trial(trial);
    Ok(helm.to("arm"))
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
