//! What the desk and the boat agree on before departure: the go/no-go list, who waits for a place,
//! groups as suggested, what changed after a print, and forecasts.

use deckwatch::trip::event::Activity;

use crate::app::{self, App};

fn on_list<'a>(fields: &'a [(String, String)], value: &str) -> &'a str {
    let (name, _) = fields
        .iter()
        .find(|(name, held)| name.starts_with("condition-") && held == value)
        .unwrap_or_else(|| panic!("no {value} in {fields:?}"));
    name.strip_prefix("condition-").unwrap()
}

#[tokio::test]
async fn the_list_is_answered_decided_shown_at_the_gate_and_kept() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let (desk, helm) = (
        format!("/desk/{}/go-list", trip.id),
        format!("/helm/{}/go-list", trip.id),
    );
    let office = app.desk();
    office
        .submit(
            &desk,
            &format!("{desk}/lines"),
            &[("lines", "Tender fuelled\n\nTender fuelled\nShade up")],
        )
        .await
        .location();
    let page = office.get(&desk).await;
    assert_eq!(page.is(200).count("section.go-line"), 13);
    assert_eq!(
        page.one("#go-verdict"),
        "Go/no-go list: nothing is answered yet."
    );
    // What the program reckons stands beside the answer and is none.
    let hints = page.all(".hints li").join(" | ");
    assert!(hints.contains("Sunset at Anvil Rock, dive 1:"), "{hints}");
    assert!(
        hints.contains("13 on the roster; the boat carries 24"),
        "{hints}"
    );
    assert!(
        page.all(".go-line h2")
            .iter()
            .all(|h| h.ends_with(": Not answered"))
    );

    let held = page.form(&desk);
    let weather = format!("answer-{}", on_list(&held, "\"weather\""));
    let own = on_list(&held, "{\"own\":\"Shade up\"}").to_owned();
    let refused = office
        .submit(
            &desk,
            &desk,
            &[(&weather, "go"), (&format!("answer-{own}"), "no-go")],
        )
        .await;
    refused.is(422);
    assert_eq!(
        refused.one(&format!("#note-{own}-fault")),
        "Say why it is no go."
    );
    assert_eq!(
        app.skipper().get(&helm).await.is(200).count("form .tiles"),
        13
    );
    let answers = [
        (weather.as_str(), "go"),
        (&format!("answer-{own}"), "no-go"),
        (&format!("note-{own}"), "torn"),
    ];
    office.submit(&desk, &desk, &answers).await.location();

    // At the gate the list asks for a reason, beside what the gate asked for before.
    let gate = app.skipper().get(&format!("/helm/{}/gate", trip.id)).await;
    let blocks = gate.is(200).all(".blocks p").join(" | ");
    assert!(
        blocks.contains("The go/no-go list is begun and not decided."),
        "{blocks}"
    );
    assert!(blocks.contains("Call the roll by name."), "{blocks}");

    let decide = format!("{helm}/decide");
    app.divemaster().get(&decide).await.is(403);
    let skipper = app.skipper();
    let open = skipper.submit(&decide, &decide, &[("go", "go")]).await;
    let why = open.is(422).one("#reason-fault");
    assert_eq!(
        why,
        "12 conditions do not stand at go: say why she goes all the same."
    );
    let go = [("go", "go"), ("reason", "short trip in the lee")];
    skipper.submit(&decide, &decide, &go).await.location();
    let gate = skipper.get(&format!("/helm/{}/gate", trip.id)).await;
    let verdict = gate.one("#go-verdict");
    assert!(
        verdict.starts_with("Go: Ilka Voss, 12:00, over what does not stand at go"),
        "{verdict}"
    );
    assert!(
        verdict.ends_with("because: short trip in the lee"),
        "{verdict}"
    );
    assert!(!gate.text().contains("go/no-go list is begun"));

    for place in ["report", "boat-sheet"] {
        let page = office.get(&format!("/desk/{}/{place}", trip.id)).await;
        let text = page.is(200).text();
        assert!(text.contains("short trip in the lee"), "{place}");
        assert!(
            text.contains("Shade up: No go: Berit Holm, 12:00. torn"),
            "{place}"
        );
    }
    let log = office.get(&format!("/desk/{}/log", trip.id)).await;
    assert!(log.text().contains("Go/no-go decided"));
}

#[tokio::test]
async fn an_answer_to_what_stands_on_no_list_writes_nothing() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let path = format!("/desk/{}/go-list", trip.id);
    for condition in [
        "",
        "weather",
        "\"moon\"",
        "{\"own\":\"nobody asked\"}",
        "null",
    ] {
        let fields = [("condition-0", condition), ("answer-0", "go")];
        app.desk().post(&path, &fields).await.is(422);
    }
    let fields = [("condition-0", "\"weather\""), ("answer-0", "perhaps")];
    app.desk().post(&path, &fields).await.is(422);
    let long = "x".repeat(121);
    let lines = format!("{path}/lines");
    app.desk().post(&lines, &[("lines", &long)]).await.is(422);
    let page = app.desk().get(&path).await;
    assert_eq!(
        page.one("#go-verdict"),
        "Go/no-go list: nothing is answered yet."
    );
    assert_eq!(page.count("section.go-line"), 11);
}

#[tokio::test]
async fn a_full_boat_has_a_waiting_list_that_counts_nowhere() {
    let app = App::new().await;
    let mut trip = app.trip_at_quay().await;
    let roster = format!("/desk/{}/roster", trip.id);
    let desk = app.desk();
    let early = [
        ("line", "Gero Falk; autonomous diver; 20"),
        ("activity", "diver"),
        ("do", "wait"),
    ];
    let refused = desk.submit(&roster, &roster, &early).await;
    refused.is(422);
    assert_eq!(
        refused.one("#line-fault"),
        "11 places are free: add to the roster."
    );
    for n in 0..11 {
        app.join(&mut trip, &format!("Guest {n}"), Activity::Passenger)
            .await;
    }
    let full = desk
        .submit(
            &roster,
            &roster,
            &[
                ("line", "Gero Falk; autonomous diver; 20"),
                ("activity", "diver"),
            ],
        )
        .await;
    let why = full.is(422).one("#line-fault");
    assert_eq!(why, "The boat carries 24 people, and all places are taken.");
    let wish = [("wish", "with Mara Lind")];
    let gero: Vec<_> = early.iter().chain(&wish).copied().collect();
    desk.submit(&roster, &roster, &gero).await.location();
    let hanne = [
        ("line", "Hanne Ost; autonomous diver; 20"),
        ("activity", "diver"),
        ("do", "wait"),
    ];
    desk.submit(&roster, &roster, &hanne).await.location();

    let page = desk.get(&roster).await;
    let list = page.is(200).all("#waiting li strong");
    assert_eq!(list, ["Gero Falk", "Hanne Ost"]);
    assert!(
        page.one("#waiting")
            .contains("The boat is full: it carries 24")
    );
    assert!(page.text().contains("24 of 24 places taken"));
    for place in ["passenger-list", "boat-sheet"] {
        let print = desk.get(&format!("/desk/{}/{place}", trip.id)).await;
        assert!(!print.text().contains("Gero Falk"), "{place}");
    }
    let picture = desk.get(&format!("/api/trips/{}/picture", trip.id)).await;
    assert!(!picture.is(200).text().contains("Gero Falk"));

    let up = page.attributes("#waiting form[action$='/up']", "action");
    let off = page.attributes("#waiting form[action$='/off']", "action");
    let refused = desk.submit(&roster, &up[0], &[]).await;
    assert!(
        refused.is(422).one("#problem").contains("carries 24"),
        "{}",
        refused.text()
    );
    let guest = trip.person("Guest 3");
    let stays = format!("/desk/{}/roster/{guest}/not-coming", trip.id);
    desk.post(&stays, &[("reason", "cold")]).await.location();
    let todo = desk.get(&format!("/desk/{}", trip.id)).await;
    assert!(
        todo.one(".tasks")
            .contains("first on the waiting list is Gero Falk")
    );
    desk.submit(&roster, &up[0], &[]).await.location();
    let reason = off[1].split('/').nth(5).unwrap();
    let empty = desk.submit(&roster, &off[1], &[]).await;
    empty.is(422).one(&format!("#reason-{reason}-fault"));
    let why = [(format!("reason-{reason}"), "found another boat")];
    let why: Vec<_> = why
        .iter()
        .map(|(name, value)| (name.as_str(), *value))
        .collect();
    desk.submit(&roster, &off[1], &why).await.location();
    let page = desk.get(&roster).await;
    assert_eq!(page.count("#waiting"), 0);
    assert!(page.one("#roster").contains("Gero Falk"));
    let register = desk.get("/desk/people?find=Hanne").await;
    assert!(
        register.text().contains("Hanne Ost"),
        "kept in the register"
    );
}

#[tokio::test]
async fn groups_are_suggested_as_a_draft_and_written_only_when_saved() {
    let app = App::new().await;
    let mut trip = app.empty_trip().await;
    for name in ["Mara Lind", "Tomas Reyl", "Anouk Petri", "Dario Benn"] {
        app.join(&mut trip, name, Activity::Diver).await;
    }
    let guide = app.join(&mut trip, "Jonne Aalto", Activity::Crew).await;
    app.join(&mut trip, "Ruta Sol", Activity::Passenger).await;
    let dives = format!("/desk/{}/dives", trip.id);
    let site = app::site().id.to_string();
    let desk = app.desk();
    desk.post(&dives, &[("site", &site), ("dive", "1")])
        .await
        .location();
    let path = format!("/desk/{}/groups/1", trip.id);
    let before = app.store.entries(trip.id, 0).await.unwrap().len();
    let mara = format!("wish-{}", trip.person("Mara Lind"));
    let dario = trip.person("Dario Benn").to_string();
    let tomas = trip.person("Tomas Reyl").to_string();
    let asked = [
        (mara.as_str(), dario.as_str()),
        ("minor", &tomas),
        ("to_depth", "35"),
        ("do", "suggest"),
    ];
    let made = desk.submit(&path, &path, &asked).await;
    let told = made.is(200).one("#suggested");
    assert!(
        told.contains("Mara Lind wished to dive with Dario Benn"),
        "{told}"
    );
    assert!(
        told.contains("Tomas Reyl, under age, dives with Anouk Petri"),
        "{told}"
    );
    assert!(
        told.contains("Tomas Reyl needs a leader, and none is left"),
        "{told}"
    );
    assert!(
        told.contains("Mara Lind may dive to 30 m: less than the planned depth"),
        "{told}"
    );
    assert!(!told.contains("Jonne Aalto"), "crew goes in only if ticked");
    assert_eq!(made.count(".team"), 2);
    assert!(made.text().contains("Nothing is written before you save"));
    assert_eq!(app.store.entries(trip.id, 0).await.unwrap().len(), before);

    // The draft is like any other: it is changed and saved by a person.
    let mut fields = made.form(&path);
    fields.retain(|(name, _)| !["depth", "minutes", "do"].contains(&name.as_str()));
    let save = [("depth", "18"), ("minutes", "40"), ("do", "save")];
    fields.extend(save.map(|(n, v)| (n.to_owned(), v.to_owned())));
    desk.post_raw(&path, &fields).await.location();
    assert_eq!(desk.get(&path).await.count(".team"), 2);
    assert!(app.store.entries(trip.id, 0).await.unwrap().len() > before);

    // Ticked, the guide is asked too; a figure that is none is refused beside its field.
    let none = desk.submit(&path, &path, &[("do", "suggest")]).await;
    assert!(
        none.is(422).one("#problem").contains("nobody to suggest"),
        "{}",
        none.text()
    );
    let guide = guide.to_string();
    let alone = desk
        .submit(&path, &path, &[("who", &guide), ("do", "suggest")])
        .await;
    assert!(
        alone
            .is(200)
            .one("#suggested")
            .contains("nobody is left to make a pair with")
    );
    for ratio in ["0", "many", "13"] {
        let fields = [("who", guide.as_str()), ("ratio", ratio), ("do", "suggest")];
        desk.submit(&path, &path, &fields)
            .await
            .is(422)
            .one("#ratio-fault");
    }
}

#[tokio::test]
async fn what_changed_after_a_print_is_marked_on_page_and_next_print() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let desk = app.desk();
    let printed = format!("/desk/{}/printed", trip.id);
    let sheet = format!("/desk/{}/boat-sheet", trip.id);
    let list = format!("/desk/{}/passenger-list", trip.id);
    let briefings = format!("/desk/{}/briefings/1", trip.id);
    assert!(
        desk.get(&sheet)
            .await
            .is(200)
            .one("#changes")
            .contains("No print is noted yet.")
    );
    for page in [&sheet, &list, &briefings] {
        assert_eq!(desk.submit(page, &printed, &[]).await.location(), page);
        let again = desk.get(page).await;
        assert!(
            again.one("#changes").contains("Nothing has changed since."),
            "{page}"
        );
        assert!(
            !again.text().contains("changed since the last print<"),
            "{page}"
        );
    }
    let guest = trip.person("Ruta Sol");
    let stays = format!("/desk/{}/roster/{guest}/not-coming", trip.id);
    desk.post(&stays, &[("reason", "cold")]).await.location();
    let mara = trip.person("Mara Lind");
    let path = format!("/desk/{}/roster/{mara}", trip.id);
    desk.submit(&path, &path, &[("limit", "18")])
        .await
        .location();
    for page in [&sheet, &list] {
        let changed = desk.get(page).await;
        let told = changed.one("#changes");
        assert!(told.contains("2 things have changed since"), "{told}");
        assert!(
            told.contains("Not coming · Ruta Sol · because: cold (Berit Holm, 12:00)"),
            "{told}"
        );
        let rows = changed.all("tr").join(" | ");
        assert!(
            rows.contains("Mara Lind (changed since the last print)")
                || rows.contains("Mara Lind (leads) changed since the last print"),
            "{rows}"
        );
        assert!(!rows.contains("Tomas Reyl changed"), "{rows}");
    }
    assert!(
        desk.get(&briefings)
            .await
            .one("#changes")
            .contains("1 thing has changed since")
    );
    desk.post(&printed, &[("sheet", "poster")]).await.is(404);
    desk.post(&printed, &[("sheet", "briefings"), ("dive", "9")])
        .await
        .is(409);
}

#[tokio::test]
async fn weather_and_tide_notes_are_shown_with_who_and_when() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let desk = app.desk();
    let path = format!("/desk/{}/forecast", trip.id);
    desk.submit(&path, &path, &[("of", "tide"), ("text", " ")])
        .await
        .is(422)
        .one("#text-fault");
    desk.post(&path, &[("of", "moon"), ("text", "full")])
        .await
        .is(422);
    let note = [
        ("of", "tide"),
        ("text", "high water 06:20, springs"),
        ("source", "harbour office"),
    ];
    desk.submit(&path, &path, &note).await.location();
    let line = "Tide and stream: high water 06:20, springs (harbour office)";
    let shown = format!("{line} (Berit Holm, 12:00)");
    for page in [
        path.clone(),
        format!("/desk/{}/boat-sheet", trip.id),
        format!("/desk/{}/report", trip.id),
    ] {
        assert!(
            desk.get(&page).await.is(200).text().contains(&shown),
            "{page}"
        );
    }
    let list = desk.get(&format!("/desk/{}/go-list", trip.id)).await;
    assert!(list.all(".hints li").contains(&shown));
    let helm = app.skipper().get(&format!("/helm/{}/trip", trip.id)).await;
    assert!(helm.is(200).one("#forecasts").contains(line));
}
