//! Cylinders, and gas that divers analysed and signed: held to the plan, told before the boat leaves.

use deckwatch::store::register::Analysis;
use deckwatch::trip::event::PersonId;

use crate::app::App;
use crate::client::Client;
use crate::register::person;
use crate::trip::Trip;

/// Writes the plan of group D anew with this oxygen and pressure for Noor Adan.
async fn plan(app: &App, trip: &Trip, noor: PersonId, oxygen: &str, bar: &str) {
    let page = format!("/desk/{}/plan/{}", trip.id, trip.group("D"));
    let desk = app.desk();
    let mut fields = desk.get(&page).await.is(200).form(&page);
    let (of_oxygen, of_bar) = (format!("oxygen-{noor}"), format!("bar-{noor}"));
    for (name, value) in &mut fields {
        if *name == of_oxygen {
            oxygen.clone_into(value);
        } else if *name == of_bar {
            bar.clone_into(value);
        }
    }
    fields.retain(|(name, _)| name != "do");
    fields.push(("do".to_owned(), "save".to_owned()));
    desk.post_raw(&page, &fields).await.location();
}

fn noors(tasks: &[String]) -> Vec<&String> {
    let told = tasks.iter().filter(|task| task.contains("Noor Adan"));
    told.filter(|task| task.contains("gas") || task.contains("Gas"))
        .chain(tasks.iter().filter(|task| task.contains("planned")))
        .collect()
}

const LIST: &str = "/desk/cylinders";

async fn refuses_what_makes_no_sense(desk: &Client, page: &str, good: &[(&str, &str)]) {
    for (field, wrong) in [
        ("diver", ""),
        ("diver", "00000000-0000-8000-8000-000000000001"),
        ("cylinder", "x"),
        ("cylinder", "00000000-0000-8000-8000-000000000001"),
        ("marking", ""),
        ("litres", "0"),
        ("litres", "nan"),
        ("oxygen", "15"),
        ("oxygen", "101"),
        ("bar", "-1"),
        ("bar", "1000"),
        ("signature", ""),
        ("signature", "Noor"),
        ("signature", "Pavel Strand"),
    ] {
        let mut fields = good.to_vec();
        fields.retain(|(name, _)| *name != field);
        fields.push((field, wrong));
        let refused = desk.submit(page, page, &fields).await;
        let faults = refused.is(422).count(".problem li");
        assert!(faults >= 1, "{field} {wrong}");
    }
}

async fn refuses_what_is_no_cylinder(desk: &Client) {
    for (marking, litres, due) in [
        ("", "12", ""),
        ("7", "0", ""),
        ("7", "x", ""),
        ("7", "41", ""),
        ("7", "12", "soon"),
        ("7", "12", "2099-01-01"),
        ("a\u{7}", "12", ""),
    ] {
        let fields = [("marking", marking), ("litres", litres), ("test_due", due)];
        let refused = desk.submit(LIST, LIST, &fields).await;
        assert!(
            refused.is(422).count(".problem li") >= 1,
            "{marking} {litres} {due}"
        );
    }
}

#[tokio::test]
async fn a_signed_analysis_is_held_to_the_plan() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let noor = trip.person("Noor Adan");
    let (desk, at) = (app.desk(), format!("/desk/{}", trip.id));
    let page = format!("{at}/gas");
    let tasks = || async { app.desk().get(&at).await.all(".tasks li") };
    assert!(noors(&tasks().await).is_empty(), "air asks for nothing");
    plan(&app, &trip, noor, "32", "200").await;
    let told = tasks().await;
    assert!(
        told.contains(&"Dive 1, gas that nobody analysed: Noor Adan".to_owned()),
        "{told:?}"
    );
    let gate = app.skipper().get(&format!("/helm/{}/gate", trip.id)).await;
    assert!(gate.one("#register").contains("nobody analysed: Noor Adan"));

    let id = noor.to_string();
    let good = [
        ("diver", id.as_str()),
        ("cylinder", ""),
        ("marking", "<img src=x onerror=x()>"),
        ("litres", "12"),
        ("oxygen", "36"),
        ("bar", "205"),
        ("signature", "noor  adán"),
    ];
    // Who is in no register cannot sign; nothing is written.
    let refused = desk.submit(&page, &page, &good).await;
    assert!(
        refused
            .is(422)
            .one("#problem")
            .contains("not in the register")
    );
    app.store
        .save_person(&person(noor, "Noor Adan"))
        .await
        .unwrap();
    refuses_what_makes_no_sense(&desk, &page, &good).await;
    let all = || async {
        app.store
            .analyses_since(jiff::Timestamp::MIN)
            .await
            .unwrap()
    };
    assert!(all().await.is_empty());

    desk.submit(&page, &page, &good).await.location();
    let shown = desk.get(&page).await;
    assert_eq!(shown.count("#analyses li"), 1);
    // At 1.4 bar oxygen 36 % reaches to 28.5 m, at 1.6 to 34 m: reckoned by hand from 1.4 / 0.36 =
    // 3.889 bar, less 1.013 bar of air, over 0.1005 bar a metre of sea water.
    let text = shown.one("#analyses");
    assert!(text.contains("not below 28 m at ppO2 1.4 bar"), "{text}");
    assert!(text.contains("34 m at 1.6"), "{text}");
    // What is typed stays text.
    assert!(text.contains("cylinder <img src=x onerror=x()>"), "{text}");
    assert_eq!(shown.count("main img"), 0);
    assert_eq!(shown.count("#gas td.caution"), 1);
    let told = tasks().await;
    let differs = told
        .iter()
        .find(|task| task.contains("Not the gas planned"));
    assert!(
        differs.is_some_and(|task| task.contains("Noor Adan") && task.contains("36.0 %")),
        "{told:?}"
    );
    let plan_page = format!("{at}/plan/{}", trip.group("D"));
    let groups = desk.get(&format!("{at}/groups/1")).await;
    assert!(groups.is(200).text().contains("Not the gas planned"));

    // The plan takes it over by a form that is looked at and sent.
    let filled = desk.get(&format!("{plan_page}?gas=analysed")).await;
    let fields = filled.is(200).form(&plan_page);
    let value = |name: String| {
        let mut found = fields.iter().filter(|(field, _)| *field == name);
        found.next().map(|(_, value)| value.clone())
    };
    assert_eq!(value(format!("oxygen-{noor}")).as_deref(), Some("36"));
    assert_eq!(value(format!("bar-{noor}")).as_deref(), Some("205"));
    assert!(filled.text().contains("Nothing is saved yet"));
    plan(&app, &trip, noor, "36", "205").await;
    let told = tasks().await;
    assert!(noors(&told).is_empty(), "{told:?}");
    assert_eq!(desk.get(&page).await.count("#gas td.caution"), 0);
    // The same oxygen, and less of it than planned.
    plan(&app, &trip, noor, "36", "206").await;
    let told = tasks().await;
    assert!(
        told.iter()
            .any(|task| task.contains("Less gas than planned")),
        "{told:?}"
    );
    // The day after, it is a word of yesterday: no more than one day back counts.
    app.wait(jiff::SignedDuration::from_hours(1));
    let skipper = app.skipper().get(&page).await;
    assert_eq!(skipper.count("#analyses li"), 1);
    app.stranger().post(&page, &good).await.is(401);
    app.display().await.post(&page, &good).await.is(403);
}

#[tokio::test]
async fn a_new_fill_puts_an_end_to_what_was_analysed() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let noor = trip.person("Noor Adan");
    app.store
        .save_person(&person(noor, "Noor Adan"))
        .await
        .unwrap();
    let (desk, list) = (app.desk(), LIST);
    refuses_what_is_no_cylinder(&desk).await;
    let seven = [
        ("marking", "7"),
        ("litres", "12"),
        ("test_due", "2026-05-31"),
    ];
    desk.submit(list, list, &seven).await.location();
    let again = desk.submit(list, list, &seven).await;
    assert_eq!(again.is(422).count("#marking-fault"), 1);
    let held = app.store.cylinders().await.unwrap();
    assert_eq!(held.len(), 1);
    let row = desk.get(list).await.one("#cylinders");
    assert!(
        row.contains("test due") && row.contains("Not told"),
        "{row}"
    );
    let one = format!("{list}/{}", held[0].id);
    let fill = format!("{one}/fill");
    for (oxygen, bar) in [("", "200"), ("32", ""), ("10", "200"), ("32", "900")] {
        let fields = [("oxygen", oxygen), ("bar", bar), ("do", "fill")];
        let refused = desk.submit(&one, &fill, &fields).await;
        assert!(refused.is(422).count(".problem li") >= 1, "{oxygen} {bar}");
    }
    let fields = [("oxygen", "32"), ("bar", "210"), ("do", "fill")];
    desk.submit(&one, &fill, &fields).await.location();
    let told = desk.get(&one).await.one("#content");
    assert!(
        told.contains("32.0 % oxygen, 210 bar, by Berit Holm"),
        "{told}"
    );

    let page = format!("/desk/{}/gas", trip.id);
    let (id, cylinder) = (noor.to_string(), held[0].id.to_string());
    let signing = [
        ("diver", id.as_str()),
        ("cylinder", cylinder.as_str()),
        ("oxygen", "31.6"),
        ("bar", "208"),
        ("signature", "Noor Adan"),
    ];
    app.wait(jiff::SignedDuration::from_mins(1));
    desk.submit(&page, &page, &signing).await.location();
    plan(&app, &trip, noor, "32", "200").await;
    assert_eq!(desk.get(&page).await.count("#gas td.caution"), 0);
    let past = |all: &[Analysis]| all.iter().map(|one| one.is_past).collect::<Vec<_>>();
    let all = || async {
        app.store
            .analyses_since(jiff::Timestamp::MIN)
            .await
            .unwrap()
    };
    assert_eq!(past(&all().await), [false]);
    assert!(
        desk.get(list)
            .await
            .one("#cylinders")
            .contains("31.6 % oxygen")
    );
    app.wait(jiff::SignedDuration::from_mins(1));
    desk.submit(&one, &fill, &[("do", "empty")])
        .await
        .location();
    assert!(desk.get(&one).await.one("#content").contains("Empty"));
    assert_eq!(past(&all().await), [true]);
    assert_eq!(desk.get(&page).await.count("#gas td.caution"), 1);

    // Out of the register; the analysis stays on record, and the data of its diver holds it.
    app.skipper()
        .post(&format!("{one}/remove"), &[])
        .await
        .is(403);
    desk.submit(&one, &format!("{one}/remove"), &[])
        .await
        .location();
    desk.get(&one).await.is(404);
    desk.post(&fill, &[("do", "empty")]).await.is(404);
    assert_eq!(all().await.len(), 1);
    let (data, reason) = (
        format!("/desk/people/{noor}"),
        [
            ("export-reason", "by letter"),
            ("export-pin", app.desk.pin.as_str()),
        ],
    );
    let taken = desk
        .submit(&format!("{data}/data"), &format!("{data}/export"), &reason)
        .await;
    let kept = &taken.is(200).json()["gas_analyses"];
    assert_eq!(kept[0]["cylinder"], "7");
    assert_eq!(kept[0]["signed_as"], "Noor Adan");
}
