//! Crew: nobody signs in by guessing, from a device that is shut out, or on a used-up code.

use std::collections::BTreeSet;

use deckwatch::store::Store;
use deckwatch::store::crew::{
    Allowed, CrewError, DeviceKind, EnrolRefused, Passphrase, Pin, Secret, SignInRefused,
};
use deckwatch::trip::CrewId;
use deckwatch::trip::event::{DeviceId, Role};
use jiff::SignedDuration;

use crate::world::World;

const RIGHT: &str = "835192";
const WRONG: &str = "835193";

pub fn roles(all: &[Role]) -> BTreeSet<Role> {
    all.iter().copied().collect()
}

pub async fn tablet(store: &Store, kind: DeviceKind) -> DeviceId {
    let code = store.enrolment_code(None).await.unwrap();
    let given = store.enrol_device(&code.digits, "A tablet", kind).await;
    given.unwrap().device
}

async fn ilka(store: &Store) -> CrewId {
    store
        .add_crew(
            "Ilka Voss",
            &roles(&[Role::Skipper, Role::Divemaster]),
            &Pin::new(RIGHT).unwrap(),
        )
        .await
        .unwrap()
}

fn secs(n: i64) -> SignedDuration {
    SignedDuration::from_secs(n)
}

#[tokio::test]
async fn a_crew_member_signs_in_is_known_and_signs_out() {
    let mut world = World::new().await;
    let crew = ilka(&world.store).await;
    let device = tablet(&world.store, DeviceKind::Helm).await;
    // A name is a name in whatever case.
    let secret = world
        .store
        .sign_in(device, " ILKA voss", RIGHT)
        .await
        .unwrap();
    world.reopen().await;
    let store = &world.store;
    let signed = store.session(&secret).await.unwrap().unwrap();
    assert_eq!((signed.crew, signed.device), (crew, device));
    assert_eq!(signed.name, "Ilka Voss");
    assert_eq!(
        signed.allowed.roles,
        roles(&[Role::Divemaster, Role::Skipper])
    );
    assert_eq!(signed.kind, DeviceKind::Helm);
    assert_eq!(
        store.session_by_text(&secret.text()).await.unwrap(),
        Some(signed)
    );
    assert_eq!(store.session_by_text("rubbish").await.unwrap(), None);

    store
        .set_allowed(crew, &roles(&[Role::Desk]))
        .await
        .unwrap();
    let signed = store.session(&secret).await.unwrap().unwrap();
    assert_eq!(signed.allowed.roles, roles(&[Role::Desk]), "at once");

    assert!(store.sign_out(&secret).await.unwrap());
    assert_eq!(store.session(&secret).await.unwrap(), None);
    assert!(!store.sign_out(&secret).await.unwrap());
    let said: Vec<_> = store.audits(2).await.unwrap();
    assert_eq!(said[0].what, "signed out");
    assert_eq!(said[1].what, "signed in");
    let again = store.prove_again(device, crew, WRONG).await;
    assert!(
        matches!(again, Err(SignInRefused::Wrong { .. })),
        "{again:?}"
    );
    store.prove_again(device, crew, RIGHT).await.unwrap();
    assert_eq!((said[0].who, said[0].device), (Some(crew), Some(device)));
}

#[tokio::test]
async fn five_misses_lock_for_thirty_seconds_then_twice_as_long_each_time() {
    let mut world = World::new().await;
    ilka(&world.store).await;
    let device = tablet(&world.store, DeviceKind::Deck).await;
    let other = tablet(&world.store, DeviceKind::Deck).await;
    // A name that there is and one that there is not behave alike.
    for name in ["Ilka Voss", "Nobody At All"] {
        for miss in 1..=5 {
            let refused = world.store.sign_in(device, name, WRONG).await.unwrap_err();
            let SignInRefused::Wrong { wait_until } = refused else {
                panic!("{refused}")
            };
            assert_eq!(wait_until.is_some(), miss == 5, "{name}, miss {miss}");
        }
        for wait in [30, 60, 120, 240, 480, 900, 900] {
            let now = world.clock.now();
            // The right PIN is of no use while it is locked, and a restart forgives nothing.
            world.reopen().await;
            let locked = world.store.sign_in(device, name, RIGHT).await.unwrap_err();
            let SignInRefused::Wait { until } = locked else {
                panic!("{locked}")
            };
            assert_eq!(until.duration_since(now), secs(wait), "{name}");
            world.clock.advance(secs(wait - 1));
            let still = world.store.sign_in(device, name, RIGHT).await;
            assert!(matches!(still, Err(SignInRefused::Wait { .. })));
            world.clock.advance(secs(1));
            let wrong = world.store.sign_in(device, name, WRONG).await;
            assert!(matches!(wrong, Err(SignInRefused::Wrong { .. })));
        }
    }
    // Another device is not locked by that.
    assert!(world.store.sign_in(other, "Ilka Voss", RIGHT).await.is_ok());
    // After the wait the right PIN is let in, and the count starts anew.
    world.clock.advance(secs(900));
    assert!(
        world
            .store
            .sign_in(device, "Ilka Voss", RIGHT)
            .await
            .is_ok()
    );
    for _ in 0..4 {
        let wrong = world.store.sign_in(device, "Ilka Voss", WRONG).await;
        assert!(matches!(
            wrong,
            Err(SignInRefused::Wrong { wait_until: None })
        ));
    }
}

#[tokio::test]
async fn guesses_at_the_same_time_are_all_counted() {
    let world = World::new().await;
    ilka(&world.store).await;
    let device = tablet(&world.store, DeviceKind::Deck).await;
    let mut tasks = Vec::new();
    for _ in 0..12 {
        let store = world.store.clone();
        tasks.push(tokio::spawn(async move {
            store.sign_in(device, "Ilka Voss", WRONG).await.unwrap_err()
        }));
    }
    let mut looked_at = 0;
    for task in tasks {
        if matches!(task.await.unwrap(), SignInRefused::Wrong { .. }) {
            looked_at += 1;
        }
    }
    assert_eq!(looked_at, 5);
}

#[tokio::test]
async fn a_clock_set_back_does_not_lock_for_years() {
    let world = World::new().await;
    let crew = ilka(&world.store).await;
    let device = tablet(&world.store, DeviceKind::Deck).await;
    for _ in 0..5 {
        let wrong = world.store.sign_in(device, "Ilka Voss", WRONG).await;
        assert!(wrong.is_err());
    }
    world
        .clock
        .tie("1970-01-01T00:10:00Z".parse().unwrap(), false);
    let wrong = world.store.sign_in(device, "Ilka Voss", WRONG).await;
    assert!(
        matches!(
            wrong,
            Err(SignInRefused::Wrong {
                wait_until: Some(_)
            })
        ),
        "the misses still count"
    );
    world.store.forgive("ilka voss", crew).await.unwrap();
    assert!(
        world
            .store
            .sign_in(device, "Ilka Voss", RIGHT)
            .await
            .is_ok()
    );
}

#[tokio::test]
async fn a_revoked_device_is_out_with_its_sessions() {
    let world = World::new().await;
    let store = &world.store;
    let crew = ilka(store).await;
    let code = store.enrolment_code(Some(crew)).await.unwrap();
    let given = store
        .enrol_device(&code.digits, "Helm", DeviceKind::Helm)
        .await
        .unwrap();
    let known = store
        .device_by_secret(&given.secret)
        .await
        .unwrap()
        .unwrap();
    assert_eq!(known.id, given.device);
    assert_eq!(known.enrolled_by, crew.to_string());
    let text = given.secret.text();
    assert_eq!(store.device_by_text(&text).await.unwrap(), Some(known));
    assert_eq!(store.device_by_text("").await.unwrap(), None);
    let secret = store
        .sign_in(given.device, "Ilka Voss", RIGHT)
        .await
        .unwrap();

    assert!(store.revoke_device(given.device, Some(crew)).await.unwrap());
    assert!(!store.revoke_device(given.device, Some(crew)).await.unwrap());
    assert_eq!(store.device_by_secret(&given.secret).await.unwrap(), None);
    assert_eq!(store.session(&secret).await.unwrap(), None);
    let again = store.sign_in(given.device, "Ilka Voss", RIGHT).await;
    assert!(matches!(again, Err(SignInRefused::NoSuchDevice)));
    assert!(store.devices().await.unwrap()[0].revoked_at.is_some());
}

#[tokio::test]
async fn a_code_lets_one_device_in_for_ten_minutes() {
    let world = World::new().await;
    let store = &world.store;
    let enrol =
        |code: String| async move { store.enrol_device(&code, "A phone", DeviceKind::Deck).await };
    let code = store.enrolment_code(None).await.unwrap().digits;
    assert_eq!(code.len(), 8);
    assert!(code.bytes().all(|b| b.is_ascii_digit()));
    // As people read it out.
    let (left, right) = code.split_at(4);
    assert!(enrol(format!("{left} {right}")).await.is_ok());
    assert!(matches!(enrol(code).await, Err(EnrolRefused::NoSuchCode)));

    let old = store.enrolment_code(None).await.unwrap();
    world.clock.advance(secs(600));
    assert!(old.expires <= world.clock.now());
    assert!(enrol(old.digits).await.is_err());

    let guessed = store.enrolment_code(None).await.unwrap().digits;
    for _ in 0..5 {
        assert!(enrol("not it".to_owned()).await.is_err());
    }
    assert!(enrol(guessed).await.is_err(), "burnt by five guesses");

    let nameless = store.enrol_device("1", "  ", DeviceKind::Deck).await;
    assert!(matches!(nameless, Err(EnrolRefused::NoName)));
}

#[tokio::test]
async fn sessions_lapse_when_they_lie_unused() {
    let world = World::new().await;
    let store = &world.store;
    ilka(store).await;
    for (kind, minutes) in [
        (DeviceKind::Helm, 720),
        (DeviceKind::Deck, 720),
        (DeviceKind::Desk, 30),
    ] {
        let device = tablet(store, kind).await;
        let secret = store.sign_in(device, "Ilka Voss", RIGHT).await.unwrap();
        // Kept alive by use, well beyond one span.
        for _ in 0..3 {
            world.clock.advance(SignedDuration::from_mins(minutes - 1));
            assert!(store.session(&secret).await.unwrap().is_some(), "{kind:?}");
        }
        world.clock.advance(SignedDuration::from_mins(minutes));
        assert_eq!(store.session(&secret).await.unwrap(), None, "{kind:?}");
    }
}

#[tokio::test]
async fn accounts_are_one_a_name_and_end_their_sessions() {
    let world = World::new().await;
    let store = &world.store;
    let crew = ilka(store).await;
    let pin = Pin::new("402817").unwrap();
    let desk = roles(&[Role::Desk]);
    let twice = store.add_crew("ilka  VOSS", &desk, &pin).await;
    assert!(matches!(twice, Err(CrewError::NameTaken)));
    let nameless = store.add_crew(" ", &desk, &pin).await;
    assert!(matches!(nameless, Err(CrewError::NoName)));
    // An account with no work is a display.
    let wall = store.add_crew("Bo", &roles(&[]), &pin).await.unwrap();
    let all = store.list_crew().await.unwrap();
    let wall = all.iter().find(|one| one.id == wall).unwrap();
    assert!(wall.allowed.is_display());

    let device = tablet(store, DeviceKind::Desk).await;
    let secret = store.sign_in(device, "Ilka Voss", RIGHT).await.unwrap();
    store.set_pin(crew, &pin).await.unwrap();
    assert_eq!(store.session(&secret).await.unwrap(), None);
    assert!(store.sign_in(device, "Ilka Voss", RIGHT).await.is_err());
    let secret = store.sign_in(device, "Ilka Voss", "402817").await.unwrap();

    store.remove_crew(crew).await.unwrap();
    assert_eq!(store.session(&secret).await.unwrap(), None);
    assert!(store.sign_in(device, "Ilka Voss", "402817").await.is_err());
    for gone in [
        store.remove_crew(crew).await,
        store.set_pin(crew, &pin).await,
        store.set_allowed(crew, &desk).await,
    ] {
        assert!(matches!(gone, Err(CrewError::NoSuchCrew)));
    }
    // The name is free again; the old account stays for the logs.
    let new = store.add_crew("Ilka Voss", &desk, &pin).await.unwrap();
    let all = store.list_crew().await.unwrap();
    assert_eq!(all.len(), 3);
    assert!(all.iter().any(|one| one.id == crew && !one.active));
    assert!(all.iter().any(|one| one.id == new && one.active));
}

#[tokio::test]
async fn no_secret_pin_or_code_lies_in_the_file_as_it_is() {
    let world = World::new().await;
    let store = &world.store;
    ilka(store).await;
    let code = store.enrolment_code(None).await.unwrap();
    let open = store.enrolment_code(None).await.unwrap();
    let given = store
        .enrol_device(&code.digits, "Helm", DeviceKind::Helm)
        .await
        .unwrap();
    let session = store
        .sign_in(given.device, "Ilka Voss", RIGHT)
        .await
        .unwrap();
    store.close().await.unwrap();
    let file = std::fs::read(store.path()).unwrap();
    let bytes = |secret: &Secret| -> Vec<u8> {
        let text = secret.text();
        (0..32)
            .map(|n| u8::from_str_radix(&text[2 * n..2 * n + 2], 16).unwrap())
            .collect()
    };
    for needle in [
        RIGHT.as_bytes().to_vec(),
        open.digits.into_bytes(),
        given.secret.text().into_bytes(),
        bytes(&given.secret),
        session.text().into_bytes(),
        bytes(&session),
    ] {
        assert!(!file.windows(needle.len()).any(|part| part == needle));
    }
    // The search itself works.
    assert!(file.windows(9).any(|part| part == b"Ilka Voss"));
}

#[tokio::test]
async fn what_an_account_may_do_is_kept_as_it_was_given() {
    let mut world = World::new().await;
    let pin = Pin::new(RIGHT).unwrap();
    let given = [
        Allowed::display(),
        Allowed::from(&roles(&[Role::Desk])),
        Allowed {
            roles: roles(&[]),
            owner: true,
        },
        Allowed {
            roles: roles(&[Role::Divemaster, Role::Skipper]),
            owner: true,
        },
    ];
    for (nth, allowed) in given.iter().enumerate() {
        let name = format!("Crew {nth}");
        let crew = world.store.add_crew(&name, allowed.clone(), &pin).await;
        crew.unwrap();
    }
    world.reopen().await;
    let kept = world.store.list_crew().await.unwrap();
    let kept: Vec<_> = kept.into_iter().map(|one| one.allowed).collect();
    assert_eq!(kept, given);
}

#[tokio::test]
async fn at_a_desk_a_passphrase_takes_the_place_of_the_pin_and_at_sea_it_does_not() {
    const WORDS: &str = "three gulls at noon";
    let world = World::new().await;
    let store = &world.store;
    let crew = ilka(store).await;
    let desk = tablet(store, DeviceKind::Desk).await;
    let helm = tablet(store, DeviceKind::Helm).await;
    let before = store.sign_in(desk, "Ilka Voss", RIGHT).await.unwrap();
    let passphrase = Passphrase::new(WORDS).unwrap();
    store.set_passphrase(crew, Some(&passphrase)).await.unwrap();
    assert_eq!(store.session(&before).await.unwrap(), None, "it has ended");
    assert!(store.sign_in(desk, "Ilka Voss", RIGHT).await.is_err());
    assert!(store.sign_in(helm, "Ilka Voss", WORDS).await.is_err());
    let ashore = store.sign_in(desk, "Ilka Voss", WORDS).await.unwrap();
    let at_sea = store.sign_in(helm, "Ilka Voss", RIGHT).await.unwrap();
    for secret in [ashore, at_sea] {
        let signed = store.session(&secret).await.unwrap();
        assert_eq!(signed.map(|signed| signed.crew), Some(crew));
    }
    assert!(store.list_crew().await.unwrap()[0].has_passphrase);
    store.set_passphrase(crew, None).await.unwrap();
    store.sign_in(desk, "Ilka Voss", RIGHT).await.unwrap();
    assert!(store.sign_in(desk, "Ilka Voss", WORDS).await.is_err());
}
