//! What the box does by itself: the sounder with every browser closed, and its clock in doubt.

use std::path::{Path, PathBuf};
use std::time::Duration;

use deckwatch::clock::Clock;
use deckwatch::sounder::{Output, Sounder};
use deckwatch::store::clock::{ClockEvent, ClockSource};
use deckwatch::web::duties::settle;
use jiff::{SignedDuration, Timestamp};
use serde_json::Value;

use crate::app::App;
use crate::trip::Trip;

/// A horn of one line of shell: it writes down what it is told.
fn horn(folder: &Path) -> (Output, PathBuf) {
    let log = folder.join("horn");
    let line = format!(
        "echo \"$DECKWATCH_SOUNDER $DECKWATCH_PRIORITY $DECKWATCH_ALERTS\" >> {}",
        log.display()
    );
    let words = ["sh", "-c", &line].map(str::to_owned);
    (Output::Command(words.to_vec()), log)
}

/// Real time until something holds; fails if it does not come to be.
async fn until<T>(what: &str, mut look: impl AsyncFnMut() -> Option<T>) -> (T, Duration) {
    let clock = Clock::system();
    let begun_ms = clock.uptime_ms();
    loop {
        let elapsed = Duration::from_millis(clock.uptime_ms() - begun_ms);
        if let Some(found) = look().await {
            return (found, elapsed);
        }
        assert!(elapsed < Duration::from_secs(10), "never: {what}");
        tokio::time::sleep(Duration::from_millis(10)).await;
    }
}

async fn heard(log: &Path, word: &str, times: usize) -> Duration {
    let what = format!("'{word}' {times} times");
    let count = async || {
        let text = std::fs::read_to_string(log).unwrap_or_default();
        let found = text.lines().filter(|line| line.starts_with(word)).count();
        assert!(found <= times, "{text}");
        (found == times).then_some(())
    };
    until(&what, count).await.1
}

async fn picture(app: &App, trip: &Trip) -> Value {
    let path = format!("/api/trips/{}/picture", trip.id);
    app.skipper().get(&path).await.json()["picture"].clone()
}

async fn instant(app: &App, trip: &Trip, letter: &str, name: &str) -> Timestamp {
    let group = trip.group(letter).to_string();
    let picture = picture(app, trip).await;
    let text = picture["groups"][&group]["deadlines"][name].clone();
    text.as_str().unwrap().parse().unwrap()
}

async fn notice(app: &App, about: &str) -> Value {
    let look = async || {
        let told = app.skipper().get("/api/notices").await.json();
        told["notices"].get(about).cloned()
    };
    until(about, look).await.0
}

async fn no_notice(app: &App, about: &str) {
    let look = async || {
        let told = app.skipper().get("/api/notices").await.json();
        let held = told["notices"].as_object().unwrap();
        (!held.contains_key(about)).then_some(())
    };
    until(&format!("the end of {about}"), look).await;
}

fn wait_for(app: &App, at: Timestamp) {
    app.wait(at.duration_since(app.clock.now()));
}

#[tokio::test]
async fn with_every_browser_closed_the_sounder_is_told_when_a_deadline_passes() {
    let app = App::new().await;
    let (horn, log) = horn(app.folder.path());
    let trip = app.trip().await;
    app.web
        .connect_sounder(Sounder::new(app.clock.clone(), vec![horn]));
    app.drop_group(&trip, "D").await;
    let latest = instant(&app, &trip, "D", "latest").await;
    let overdue = instant(&app, &trip, "D", "overdue").await;
    // An armed screen that reports, so that what sounds is the group and nothing else.
    let watch = async || {
        let report = serde_json::json!({"trip": trip.id, "place": "helm", "visible": true,
            "armed": true, "wake_lock": true});
        let told = app.skipper().post_json("/api/watching", &report).await;
        told.is(204);
    };
    let until = async |at: Timestamp| {
        while app.clock.now() < at {
            let left = at.duration_since(app.clock.now());
            app.wait(left.min(SignedDuration::from_secs(10)));
            watch().await;
        }
    };
    until(latest - SignedDuration::from_millis(1)).await;
    app.web.go_on_duty();
    tokio::time::sleep(Duration::from_millis(200)).await;
    assert!(!log.exists(), "nothing sounds before its time");
    app.wait(SignedDuration::from_millis(1));
    let took = heard(&log, "once warning Late", 1).await;
    assert!(took < Duration::from_secs(1), "late after {took:?}");

    until(overdue).await;
    let took = heard(&log, "on alarm Overdue", 1).await;
    assert!(took < Duration::from_secs(1), "overdue after {took:?}");
    for times in 2..4 {
        app.wait(SignedDuration::from_secs(10));
        watch().await;
        heard(&log, "on alarm Overdue", times).await;
    }
    let page = format!("/helm/{}/alerts", trip.id);
    let acknowledge = format!("/helm/{}/acknowledge", trip.id);
    app.skipper().submit(&page, &acknowledge, &[]).await;
    heard(&log, "off", 1).await;
}

#[tokio::test]
async fn a_sounder_that_fails_or_is_missing_or_untried_is_told() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    app.web.go_on_duty();
    notice(&app, "sounder-none").await;

    let app = App::new().await;
    let trip = app.trip().await;
    let broken = Output::Command(vec!["/nowhere/horn".to_owned()]);
    app.web
        .connect_sounder(Sounder::new(app.clock.clone(), vec![broken]));
    app.web.go_on_duty();
    notice(&app, "sounder-untried").await;
    let arm = format!("/helm/{}/arm", trip.id);
    let tried = app
        .skipper()
        .submit(&arm, &format!("{arm}/sounder"), &[])
        .await;
    assert_eq!(tried.location(), arm, "nothing sounded, nothing is asked");
    let fails = notice(&app, "sounder-fails").await;
    assert_eq!(fails["priority"], "warning");
    let shown = app.skipper().get(&arm).await.one("#sounder");
    assert!(
        shown.contains("Failed") && shown.contains("could not be started"),
        "{shown}"
    );
    let instruments = app
        .skipper()
        .get(&format!("/helm/{}/instruments", trip.id))
        .await;
    assert!(instruments.one("dl.facts").contains("/nowhere/horn"));
}

#[tokio::test]
async fn a_trial_counts_once_somebody_heard_it_and_survives_a_restart() {
    let app = App::new().await;
    let (output, log) = horn(app.folder.path());
    let trip = app.trip().await;
    app.web
        .connect_sounder(Sounder::new(app.clock.clone(), vec![output]));
    app.web.go_on_duty();
    notice(&app, "sounder-untried").await;
    let arm = format!("/helm/{}/arm", trip.id);
    assert_eq!(
        app.divemaster()
            .get(&arm)
            .await
            .count("form[action$=sounder]"),
        0
    );
    app.divemaster()
        .post(&format!("{arm}/sounder"), &[])
        .await
        .is(403);
    let tried = app
        .skipper()
        .submit(&arm, &format!("{arm}/sounder"), &[])
        .await;
    assert_eq!(tried.location(), format!("{arm}?tried"));
    heard(&log, "test", 1).await;
    let asked = app.skipper().get(&format!("{arm}?tried")).await;
    assert_eq!(asked.count("form[action$=heard]"), 2);
    app.skipper()
        .post(&format!("{arm}/heard"), &[("heard", "no")])
        .await;
    notice(&app, "sounder-untried").await;
    app.skipper()
        .post(&format!("{arm}/heard"), &[("heard", "yes")])
        .await;
    no_notice(&app, "sounder-untried").await;
    let audit = app.store.audits(2).await.unwrap();
    assert_eq!(audit[0].what, "sounder tried and heard");

    let again = app.after_power_cut(SignedDuration::from_mins(1)).await;
    let (output, _) = horn(again.folder.path());
    again
        .web
        .connect_sounder(Sounder::new(again.clock.clone(), vec![output]));
    again.web.go_on_duty();
    let kept = until("the trial is read", async || again.web.trial()).await;
    assert_eq!(kept.0.by, "Ilka Voss");
    no_notice(&again, "sounder-untried").await;
}

#[tokio::test]
async fn setting_the_wall_clock_moves_no_deadline_and_is_told() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    app.web.go_on_duty();
    let overdue = instant(&app, &trip, "D", "overdue").await;
    let now = app.clock.now();
    for (hours, words) in [(2, "+2 h"), (-2, "−2 h")] {
        // Seen once as it was, then set.
        tokio::time::sleep(Duration::from_millis(100)).await;
        let step = SignedDuration::from_hours(hours);
        app.clock.set(app.clock.wall() + step);
        let told = notice(&app, "clock-set").await;
        let look = async || {
            let told = notice(&app, "clock-set").await;
            (told["args"]["by"] == words).then_some(told)
        };
        let (told, _) = until(&format!("{words} after {told}"), look).await;
        assert!(told["text"].as_str().unwrap().contains("did not move"));
        assert_eq!(app.clock.now(), now, "the trip clock stands");
        assert_eq!(instant(&app, &trip, "D", "overdue").await, overdue);
        let alerts = app
            .skipper()
            .get(&format!("/helm/{}/alerts", trip.id))
            .await;
        assert_eq!(alerts.count("main .alert[id^=alert-group]"), 0);
    }
    let steps = async || {
        let notes = app.store.clock_notes(10).await.unwrap();
        let steps = notes.iter().filter(|note| note.event == ClockEvent::Step);
        (steps.count() == 2).then_some(())
    };
    until("both steps are kept", steps).await;
    // What is due comes when it is due by the clock that ran on.
    wait_for(&app, overdue);
    let alerts = app
        .skipper()
        .get(&format!("/helm/{}/alerts", trip.id))
        .await;
    assert_eq!(
        alerts.count("main .alert[id^=alert-group][data-alert-priority=alarm]"),
        1
    );
}

#[tokio::test]
async fn with_nobody_out_the_wall_clock_is_taken_for_right_unless_it_is_behind_the_log() {
    let app = App::new().await;
    app.trip().await;
    app.web.go_on_duty();
    tokio::time::sleep(Duration::from_millis(100)).await;
    let later = app.clock.wall() + SignedDuration::from_mins(50);
    app.clock.set(later);
    until("it is taken", async || {
        (app.clock.now() == later).then_some(())
    })
    .await;
    assert!(app.clock.is_confirmed());
    app.clock.set(later - SignedDuration::from_hours(3));
    notice(&app, "clock-set").await;
    tokio::time::sleep(Duration::from_millis(200)).await;
    assert_eq!(
        app.clock.now(),
        later,
        "entries were received after that time"
    );
}

/// A box that lost its power with a group down, and came back.
async fn back_after(later: SignedDuration) -> (App, App, Trip) {
    let app = App::new().await;
    let trip = app.trip().await;
    app.wait(SignedDuration::from_mins(5));
    app.drop_group(&trip, "D").await;
    let again = app.after_power_cut(later).await;
    settle(&again.web).await.unwrap();
    again.web.go_on_duty();
    (app, again, trip)
}

#[tokio::test]
async fn after_an_outage_with_people_out_the_groups_are_to_be_checked_until_somebody_confirms() {
    let (_before, app, trip) = back_after(SignedDuration::from_mins(7)).await;
    let told = notice(&app, "check-groups").await;
    assert_eq!(told["priority"], "alarm");
    assert_eq!(told["args"]["groups"], "D");
    let page = format!("/helm/{}", trip.id);
    let shown = app.skipper().get(&page).await;
    let row = format!("#group-{}[data-check-now]", trip.group("D"));
    assert!(shown.one(&row).contains("Check now"), "{}", shown.text());
    assert_eq!(picture(&app, &trip).await["clock"]["confirmed"], false);

    let clock = format!("{page}/clock");
    app.desk().get(&clock).await.is(403);

    // A deadline that the clock reaches still alarms.
    let overdue = instant(&app, &trip, "D", "overdue").await;
    wait_for(&app, overdue);
    let alerts = app.skipper().get(&format!("{page}/alerts")).await;
    assert_eq!(
        alerts.count("main .alert[id^=alert-group][data-alert-priority=alarm]"),
        1
    );

    app.stranger()
        .post(&format!("{clock}/right"), &[])
        .await
        .is(401);
    let asked = app.divemaster().get(&clock).await;
    assert!(asked.text().contains("not confirmed"));
    let said = app
        .divemaster()
        .submit(&clock, &format!("{clock}/right"), &[])
        .await;
    assert_eq!(said.location(), clock);
    no_notice(&app, "check-groups").await;
    let notes = app.store.clock_notes(1).await.unwrap();
    assert_eq!(notes[0].source, ClockSource::Confirmed);
    assert_eq!(notes[0].who.as_ref().unwrap().1, "Jonne Aalto");
    let confirmed =
        async || (picture(&app, &trip).await["clock"]["confirmed"] == true).then_some(());
    until("the picture says so", confirmed).await;
}

#[tokio::test]
async fn a_clock_behind_the_log_goes_on_from_its_last_entry_until_it_is_set_by_a_watch() {
    let (before, app, trip) = back_after(SignedDuration::from_hours(-3)).await;
    assert_eq!(app.clock.now(), before.clock.now(), "never back");
    notice(&app, "check-groups").await;
    let clock = format!("/helm/{}/clock", trip.id);
    let shown = app.skipper().get(&clock).await;
    let day = shown.attributes("#day", "value").remove(0);
    let set = async |time: &str| {
        let fields = [("day", day.as_str()), ("time", time)];
        app.skipper().submit(&clock, &clock, &fields).await
    };
    set("25:00").await.is(422);
    // Noon and a little is when the group went in; the boat's time is UTC+2.
    let early = set("11:59:00").await;
    assert!(early.is(422).text().contains("cannot be before it"));
    let done = set("12:40:30").await;
    assert_eq!(done.location(), clock, "{}", done.text());
    assert_eq!(app.clock.now(), "2026-06-01T10:40:30Z".parse().unwrap());
    no_notice(&app, "check-groups").await;
    let notes = app.store.clock_notes(1).await.unwrap();
    assert_eq!(notes[0].uncertainty_ms, Some(2_000));
    let back = set("12:35:00").await;
    assert!(back.is(422).text().contains("deadlines would come later"));
}

#[tokio::test]
async fn a_restart_within_a_boot_goes_on_whatever_the_wall_clock_did() {
    let app = App::new().await;
    app.trip().await;
    settle(&app.web).await.unwrap();
    app.wait(SignedDuration::from_mins(3));
    let now = app.clock.now();
    app.clock.set(now + SignedDuration::from_hours(5));
    // Another start of the program: what is kept in memory is gone, the boot is the same.
    app.clock.tie(app.clock.wall(), true);
    settle(&app.web).await.unwrap();
    assert_eq!(app.clock.now(), now);
    let notes = app.store.clock_notes(1).await.unwrap();
    assert_eq!(notes[0].source, ClockSource::SameBoot);
}

/// Four times a second for twelve groups: what one idle turn costs. Measured in a debug build, so
/// the bound is far above what a release needs.
#[tokio::test]
async fn an_idle_turn_folds_nothing() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    app.web.go_on_duty();
    tokio::time::sleep(Duration::from_millis(300)).await;
    let before = app.web.live().snapshot(trip.id).await.unwrap().unwrap();
    app.wait(SignedDuration::from_secs(5));
    tokio::time::sleep(Duration::from_millis(300)).await;
    let after = app.web.live().snapshot(trip.id).await.unwrap().unwrap();
    assert!(
        std::sync::Arc::ptr_eq(&before, &after),
        "nothing fell due: the picture is the same one"
    );
}
