//! Minors of a trip: a guardian's consent, or a stated reason to go without, never silence.

use deckwatch::store::crew::{AuditAsked, AuditKind};
use deckwatch::trip::event::PersonId;

use crate::app::App;
use crate::desk::{press, upload};
use crate::register::person;
use crate::trip::Trip;

/// Puts Noor Adan of the trip into the register, fourteen on its day, 1 June 2026.
pub async fn minor(app: &App, trip: &Trip) -> PersonId {
    let id = trip.person("Noor Adan");
    let mut noor = person(id, "Noor Adan");
    noor.born = Some("2011-06-02".parse().unwrap());
    app.store.save_person(&noor).await.unwrap();
    id
}

#[tokio::test]
async fn a_minor_without_consent_is_a_named_finding_until_a_guardian_agrees() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let desk = app.desk();
    let at = format!("/desk/{}", trip.id);
    let before = desk.get(&at).await;
    assert_eq!(before.is(200).count("#minors"), 0);
    assert!(
        before.one("#not-known").contains("no date of birth"),
        "doubt is told"
    );
    let noor = minor(&app, &trip).await;
    let finding = "Noor Adan: 14 years old. No guardian's consent for this day.";
    let tasks = desk.get(&at).await.all(".tasks li");
    assert!(tasks.iter().any(|task| task == finding), "{tasks:?}");
    let roster = desk.get(&format!("{at}/roster")).await;
    assert!(roster.one("#roster").contains("No guardian's consent"));

    let page = format!("/desk/people/{noor}");
    let add = format!("{page}/consents");
    let good = [
        ("guardian", "Lale Adan"),
        ("given_on", "2026-05-30"),
        ("until", "2026-06-01"),
        ("trip", ""),
    ];
    assert!(desk.get(&page).await.one("main").contains("a minor"));
    for (field, wrong) in [
        ("guardian", ""),
        ("guardian", "x\u{7}y"),
        ("given_on", ""),
        ("given_on", "2026-06-02"),
        ("given_on", "30.5.2026"),
        ("until", ""),
        ("until", "2026-05-31"),
        ("until", "2146-01-01"),
        ("trip", "no trip"),
        ("trip", "00000000-0000-8000-8000-000000000001"),
        ("seen_by", ""),
    ] {
        let mut fields = good.to_vec();
        fields.retain(|(name, _)| *name != field);
        fields.push((field, wrong));
        let refused = desk.submit(&page, &add, &fields).await;
        let faults = refused.is(422).count(".problem li");
        assert!(faults >= 1, "{field} {wrong}");
    }
    // Both at once would leave open which holds.
    let id = trip.id.to_string();
    let mut both = good.to_vec();
    both.retain(|(name, _)| *name != "trip");
    both.push(("trip", &id));
    let refused = desk.submit(&page, &add, &both).await;
    assert_eq!(refused.is(422).count("#until-fault"), 1);
    assert_eq!(refused.attributes("#guardian", "value"), ["Lale Adan"]);
    assert!(app.store.consents().await.unwrap().is_empty());

    let done = desk.submit(&page, &add, &good).await;
    assert_eq!(done.location(), format!("{page}#consent"));
    let told = desk.get(&page).await.one("#consents");
    assert!(
        told.contains("Lale Adan, 30 May 2026, until 1 June 2026."),
        "{told}"
    );
    assert!(told.contains("Paper seen by Berit Holm"), "{told}");
    let shown = desk.get(&at).await;
    assert!(!shown.all(".tasks li").iter().any(|task| task == finding));
    assert!(
        shown
            .one("#minors")
            .contains("14 years old. Consent of Lale Adan.")
    );

    // Withdrawn, it is a finding again.
    let consent = app.store.consents().await.unwrap()[&noor][0].id;
    let withdraw = format!("{add}/{consent}/withdraw");
    desk.submit(&page, &withdraw, &[]).await.location();
    assert!(
        desk.get(&at)
            .await
            .all(".tasks li")
            .iter()
            .any(|task| task == finding)
    );
}

#[tokio::test]
async fn a_minor_comes_along_without_consent_by_a_name_and_a_reason_that_stay() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let noor = minor(&app, &trip).await;
    let desk = app.desk();
    let one = format!("/desk/{}/roster/{noor}", trip.id);
    let without = format!("{one}/without-consent");
    let refused = desk.submit(&one, &without, &[("without", " ")]).await;
    assert_eq!(refused.is(422).count("#without-fault"), 1);
    assert_eq!(refused.attributes("#name", "value"), ["Noor Adan"]);
    let reason = [("without", "her father is aboard")];
    desk.submit(&one, &without, &reason).await.location();
    let at = format!("/desk/{}", trip.id);
    let told = "14 years old. Without consent, by Berit Holm: her father is aboard";
    for page in [&at, &one, &format!("{at}/roster")] {
        assert!(desk.get(page).await.one("main").contains(told), "{page}");
    }
    assert!(
        !desk
            .get(&at)
            .await
            .one(".tasks")
            .contains("No guardian's consent")
    );
    // The first word stands; nobody else of the trip is gone without.
    desk.post(&without, &[("without", "another")])
        .await
        .location();
    assert!(desk.get(&one).await.one("main").contains(told));
    let asked = AuditAsked {
        kind: Some(AuditKind::Consent),
        person: Some(noor),
        ..AuditAsked::default()
    };
    let lines = app.store.find_audits(&asked, 9).await.unwrap();
    assert_eq!(lines.len(), 1);
    assert!(lines[0].what.ends_with("her father is aboard"));
    assert_eq!(lines[0].who_name.as_deref(), Some("Berit Holm"));
    let other = trip.person("Pavel Strand");
    let way = format!("/desk/{}/roster/{other}/without-consent", trip.id);
    desk.post(&way, &[("without", "no minor")]).await.location();
    assert_eq!(app.store.consent_overrides(trip.id).await.unwrap().len(), 1);
}

#[tokio::test]
async fn the_age_is_a_setting_and_a_date_of_birth_can_come_from_a_file() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    minor(&app, &trip).await;
    let page = "/desk/people/minors";
    let list = app.desk().get(page).await;
    assert!(list.is(200).one("#minors").contains("Noor Adan"));
    assert!(list.one(".caution").contains("local law"));
    for wrong in ["", "0", "31", "-1", "18.5", "many"] {
        let refused = app.desk().submit(page, page, &[("under", wrong)]).await;
        assert_eq!(refused.is(422).count("#under-fault"), 1, "{wrong}");
    }
    app.divemaster()
        .post(page, &[("under", "12")])
        .await
        .is(403);
    app.desk()
        .submit(page, page, &[("under", "14")])
        .await
        .location();
    assert_eq!(app.desk().get(page).await.count("#minors"), 0);
    let at = format!("/desk/{}", trip.id);
    assert_eq!(app.desk().get(&at).await.count("#minors"), 0);

    let desk = app.desk();
    for wrong in ["2026-06-02", "1899-12-31", "soon"] {
        let text = format!("name,limit,date of birth\nLiv Aas,12,{wrong}\n");
        let refused = upload(&desk, &trip, &text).await;
        let told = refused.is(422).one(".problem");
        assert!(told.contains("Date of birth"), "{wrong}: {told}");
    }
    let text = "name,limit,date of birth\nLiv Aas,12,2014-01-31\n";
    let shown = upload(&desk, &trip, text).await;
    let confirm = format!("/desk/{}/roster/csv/confirm", trip.id);
    press(&desk, shown.is(200), &confirm, &[]).await.location();
    let liv = app.store.find_people("Liv", 5).await.unwrap();
    assert_eq!(liv[0].born, Some("2014-01-31".parse().unwrap()));
    assert!(
        app.desk()
            .get(&at)
            .await
            .one("#minors")
            .contains("Liv Aas: 12 years old")
    );
    // What the log holds of her has no date of birth.
    let log = app.store.log(trip.id, 0).await.unwrap();
    assert!(
        log.iter()
            .all(|entry| !entry.content.contains("2014-01-31"))
    );
}
