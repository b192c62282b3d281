//! What a boat has aboard, cautioned about before she leaves; and whom to call, on her sheet.

use deckwatch::store::crew::DeviceKind;
use deckwatch::trip::event::Role;

use crate::app::{App, boat};

#[tokio::test]
async fn a_check_that_is_due_is_a_caution_until_somebody_looked() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let id = boat().sheet.id;
    let (desk, page) = (app.desk(), format!("/desk/boats/{id}/equipment"));
    let at = format!("/desk/{}", trip.id);
    let shown = desk.get(&at).await;
    assert!(
        shown.is(200).one("#equipment").contains("not known"),
        "no list is no word for it"
    );
    for (count, name, place) in [
        ("0", "Radio", ""),
        ("1001", "Radio", ""),
        ("x", "Radio", ""),
        ("1", "", "x"),
        ("1", "a\u{7}", ""),
    ] {
        let fields = [("name", name), ("count", count), ("place", place)];
        let refused = desk.submit(&page, &page, &fields).await;
        assert!(
            refused.is(422).count(".problem li") >= 1,
            "{count} {name:?}"
        );
    }
    assert!(app.store.equipment(id).await.unwrap().is_empty());
    desk.submit(&page, &page, &[("usual", "yes")])
        .await
        .location();
    desk.submit(&page, &page, &[("usual", "yes")])
        .await
        .location();
    let things = app.store.equipment(id).await.unwrap();
    assert_eq!(things.len(), 9, "what is there is not added again");
    let kit = things
        .iter()
        .find(|thing| thing.name == "Oxygen kit")
        .unwrap();
    let due = |shown: &crate::client::Answer| {
        let tasks = shown.all(".tasks li");
        tasks
            .into_iter()
            .filter(|task| task.starts_with("Oxygen kit"))
            .collect::<Vec<_>>()
    };
    let shown = desk.get(&at).await;
    assert_eq!(
        due(&shown),
        ["Oxygen kit: nobody wrote that it was looked at"]
    );
    assert!(
        desk.get("/desk/boats")
            .await
            .one("#checks")
            .contains("Oxygen kit")
    );
    assert!(
        desk.get("/desk")
            .await
            .one("#checks")
            .contains("Oxygen kit")
    );

    let check = format!("{page}/{}/checked", kit.id);
    let field = format!("due-{}", kit.id);
    for wrong in ["", "soon", "2026-05-31", "2046-06-02"] {
        let refused = desk.submit(&page, &check, &[(&field, wrong)]).await;
        assert_eq!(
            refused.is(422).count(&format!("#{field}-fault")),
            1,
            "{wrong}"
        );
    }
    // Good through the day of the trip, and a caution the day after.
    desk.submit(&page, &check, &[(&field, "2026-06-01")])
        .await
        .location();
    let row = desk.get(&page).await.one("#equipment");
    assert!(row.contains("2026-06-01, Berit Holm"), "{row}");
    assert!(due(&desk.get(&at).await).is_empty());
    app.wait(jiff::SignedDuration::from_hours(24));
    // Yesterday's sessions are over.
    let seat = app.another("Odd Lunde", Role::Desk, DeviceKind::Desk, "730518");
    let desk = app.at(&seat.await);
    let told = desk.get("/desk/boats").await.one("#checks");
    assert!(
        told.contains("Oxygen kit: the check was due by 1 June 2026"),
        "{told}"
    );
    let remove = format!("{page}/{}/remove", kit.id);
    desk.submit(&page, &remove, &[]).await.location();
    assert_eq!(app.store.equipment(id).await.unwrap().len(), 8);
    let strange = format!("/desk/boats/{}/equipment", app.clock.new_uuid());
    desk.get(&strange).await.is(404);
    desk.post(&check, &[(&field, "2026-08-01")]).await.is(404);
}

#[tokio::test]
async fn whom_to_call_and_where_to_go_is_printed_with_the_sheet() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let id = boat().sheet.id;
    let (desk, page) = (app.desk(), format!("/desk/boats/{id}/emergency"));
    let sheet = format!("/desk/{}/boat-sheet", trip.id);
    let before = desk.get(&sheet).await;
    assert!(
        before
            .is(200)
            .one(".emergency-plan")
            .contains("Nobody has written down")
    );
    let good = [
        ("channel", "16"),
        ("numbers", "Coastguard +00 555 0100\r\nHarbour +00 555 0101"),
        ("chamber", "Island hospital, +00 555 0102"),
        ("evacuation", "Old Quay, north steps"),
    ];
    for (field, _) in good {
        let refused = desk.submit(&page, &page, &[(field, " ")]).await;
        assert_eq!(refused.is(422).count(&format!("#{field}-fault")), 1);
    }
    let long = "x".repeat(601);
    let mut fields = good.to_vec();
    fields[2].1 = &long;
    let refused = desk.submit(&page, &page, &fields).await;
    assert_eq!(refused.is(422).attributes("#channel", "value"), ["16"]);
    assert_eq!(app.store.emergency_card(id).await.unwrap(), None);
    desk.submit(&page, &page, &good).await.location();
    let printed = desk.get(&sheet).await.one(".emergency-plan");
    let call_sign = boat().sheet.call_sign;
    for part in [
        "16",
        "Coastguard +00 555 0100",
        "Harbour +00 555 0101",
        "Island hospital",
        "north steps",
        "Gone through on 1 June 2026 by Berit Holm",
        &call_sign,
        &boat().sheet.emergency_plan[0],
    ] {
        assert!(printed.contains(part), "{part}: {printed}");
    }
    assert!(desk.get(&page).await.one("#told").contains("1 June 2026"));
}
