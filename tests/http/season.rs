//! The season: what the logs of trips say together, by role, checked, as a page and as files.

use deckwatch::trip::event::{About, Activity, DivePlanned, Fact, Signal, TripOpened};
use jiff::SignedDuration;

use crate::app::App;
use crate::trip::{Trip, site_sheet};

/// A pair down for so many minutes, seen up, then brought aboard.
async fn dive(app: &App, trip: &Trip, letter: &str, names: &[&str], minutes: i64) {
    app.drop_group(trip, letter).await;
    app.wait(SignedDuration::from_mins(minutes));
    app.surfaced(trip, names, Signal::Well).await;
    app.wait(SignedDuration::from_mins(5));
    app.aboard(trip, names).await;
}

const PAIR: [&str; 2] = ["Noor Adan", "Pavel Strand"];
const FILE: &str = "/desk/season/2026-05-01/2026-06-30/all";

#[tokio::test]
async fn a_season_says_what_its_dives_say_and_how_few_they_are() {
    let app = App::new().await;
    let trip = app.trip().await;
    dive(&app, &trip, "D", &PAIR, 43).await;
    // A session at the desk ends while they dive.
    let desk = app.skipper();
    let page = desk.get("/desk/season").await;
    let said = page.is(200).text();
    assert!(said.contains("1 trip, 1 group dive"), "{said}");
    assert_eq!(page.count(".plot circle.plot-mark"), 1);
    // One dive has no median, and no box is drawn of it.
    assert!(page.one("#run-spread tbody tr").contains("too few"));
    assert_eq!(page.count(".plot-half"), 0);
    // What counts now stands beside what the dives would give, with where it comes from.
    let windows = page.all("#windows tbody tr");
    assert_eq!(windows.len(), 4, "{windows:?}");
    assert!(windows[0].contains("0.70 of the run time"), "{windows:?}");
    assert!(windows[0].ends_with("too few1"), "{windows:?}");
    assert!(page.text().contains("an assumption without a source"));
    // Each plot has its table: run times, lateness by site and by current. Nobody wrote a bar down
    // and no trip is back, so that there is nothing to draw of those.
    assert_eq!(page.count("figure.plot-figure"), 3);
    for table in ["run-spread", "dives", "late-by-site", "late-by-current"] {
        assert_eq!(page.count(&format!("#{table} tbody tr")), 1, "{table}");
    }
    assert!(page.text().contains("Not written down: 2 dives"));

    let table = desk.get(&format!("{FILE}/dives.csv")).await;
    let lines: Vec<&str> = table.is(200).text().lines().collect();
    assert_eq!(lines.len(), 2, "{lines:?}");
    assert!(lines[1].contains("\"43.00\""), "{}", lines[1]);
    assert!(table.header("content-type").starts_with("text/csv"));
    let gas = desk.get(&format!("{FILE}/gas.csv")).await;
    // Two divers, nobody wrote their bar down: empty is not nought.
    assert_eq!(gas.is(200).text().lines().count(), 3);
    assert!(
        gas.text().contains("\"Anvil Rock\",\"\",\"50.00\""),
        "{}",
        gas.text()
    );
    desk.get(&format!("{FILE}/alarms.csv")).await.is(200);
    desk.get(&format!("{FILE}/people.csv")).await.is(404);
}

#[tokio::test]
async fn from_ten_dives_on_a_middle_is_told() {
    let app = App::new().await;
    let mut trip = app.empty_trip().await;
    app.join(&mut trip, "Ilka Voss", Activity::Crew).await;
    let planned = DivePlanned { site: site_sheet() };
    app.decide(&trip, &app.desk, |state, _| {
        deckwatch::trip::decide::plan_dive(state, 1, planned)
    })
    .await;
    let letters = ["B", "C", "D", "E", "F", "G", "H", "J", "K", "L"];
    let pairs = letters.map(|letter| [format!("Left {letter}"), format!("Right {letter}")]);
    for (letter, pair) in letters.iter().zip(&pairs) {
        for name in pair {
            app.join(&mut trip, name, Activity::Diver).await;
        }
        app.form(&mut trip, letter, &[&[&pair[0], &pair[1]]]).await;
    }
    app.sail(&trip).await;
    for ((letter, pair), minutes) in letters.iter().zip(&pairs).zip(40..) {
        dive(&app, &trip, letter, &[&pair[0], &pair[1]], minutes).await;
    }
    let page = app.skipper().get("/desk/season").await;
    let row = page.is(200).one("#run-spread tbody tr");
    assert_eq!(row.matches("too few").count(), 2, "the tails alone: {row}");
    assert_eq!(
        page.count(".plot-figure .plot-half"),
        2,
        "by site and by current"
    );
}

#[tokio::test]
async fn what_is_asked_for_unsoundly_is_named_and_nothing_is_read() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let desk = app.desk();
    for (query, says) in [
        ("from=soon", "Give a day, as"),
        ("from=2026-06-02&to=2026-06-01", "not before the first"),
        ("from=1999-01-01&to=2026-06-01", "Give at most 1098 days"),
        ("site=reef", "Choose"),
    ] {
        let page = desk.get(&format!("/desk/season?{query}")).await;
        assert!(
            page.is(422).one("#problem").contains(says),
            "{query}: {}",
            page.one("#problem")
        );
        assert_eq!(page.count(".season-part"), 0, "{query}");
    }
    desk.get("/desk/season/soon/2026-06-30/all/dives.csv")
        .await
        .is(404);
    // A day on which nothing was, and a site nobody dived at.
    let empty = desk.get("/desk/season?from=2020-01-01&to=2020-01-31").await;
    assert!(empty.is(200).text().contains("0 trips"));
    assert_eq!(empty.count("svg.plot"), 0);
    drop(trip);
}

#[tokio::test]
async fn a_site_is_chosen_a_formula_stays_text_and_a_drill_is_left_out() {
    let app = App::new().await;
    let trip = app.trip().await;
    let mut site = site_sheet();
    site.name = "=SUM(A1)".to_owned();
    let renamed = Fact::DivePlanned(DivePlanned { site });
    app.tell(&trip, &app.desk, About::nobody().on_dive(1), renamed)
        .await;
    dive(&app, &trip, "D", &PAIR, 40).await;
    let desk = app.skipper();
    let table = desk.get(&format!("{FILE}/dives.csv")).await;
    assert!(
        table.is(200).text().contains("\"'=SUM(A1)\""),
        "{}",
        table.text()
    );
    let other = "00000000-0000-4000-8000-00000000000f";
    let elsewhere = desk.get(&format!("/desk/season?site={other}")).await;
    assert!(elsewhere.is(200).text().contains("0 trips"));

    let opened = app.state(&trip).await.opened.unwrap();
    let drill = Fact::TripOpened(TripOpened {
        drill: true,
        ..opened
    });
    let quay = app.empty_trip().await;
    app.tell(&quay, &app.desk, About::nobody(), drill).await;
    let page = desk.get("/desk/season").await;
    assert!(
        page.is(200).text().contains("1 trip, 1 group dive"),
        "{}",
        page.text()
    );
}
