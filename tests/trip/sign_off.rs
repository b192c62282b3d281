//! Signing the report and sealing the record: who may, when, in which order, and what came after.

use std::collections::BTreeSet;

use deckwatch::trip::decide::{self, Sign};
use deckwatch::trip::event::*;
use deckwatch::trip::state::{Lack, SignOff, State, fold};
use deckwatch::web::record::{Source, gather};
use proptest::prelude::*;
use uuid::Uuid;

use super::scene::*;

/// The four back in harbour, counted twice and called by name.
fn home() -> Scene {
    let mut s = Scene::four_down();
    s.until("09:40");
    for person in [ANNA, BELA, CARO, DINO] {
        s.by(DECK).aboard(person);
    }
    s.until("10:30");
    s.by(HELM).says(
        About::nobody(),
        Fact::LeftSite(LeftSite {
            override_reason: None,
        }),
    );
    s.by(HELM)
        .says(About::nobody(), Fact::BackInHarbour(BackInHarbour {}));
    s.by(HELM).count(Point::Return, 1, Method::Heads, (5, 5));
    s.by(DECK).count(Point::Return, 1, Method::Heads, (5, 5));
    s.by(DECK).roll(Point::Return, &NAMES.map(|(n, _)| n), &[]);
    s.until("11:00");
    s
}

/// What somebody signs who sees the whole log.
fn over(s: &Scene) -> SignedOver {
    SignedOver {
        entry: s.log.len() as u64,
        chain: "0a".repeat(32),
        digest: "0b".repeat(32),
    }
}

fn by(s: &Scene, crew: Crew) -> Sign {
    Sign {
        over: over(s),
        by: By {
            crew: CrewId::new(Uuid::from_u128(crew.device)),
            name: crew.name.to_owned(),
            role: crew.role,
        },
        id: next_id(s, crew),
    }
}

/// The identity that the scene gives the next event of this crew member.
fn next_id(s: &Scene, crew: Crew) -> EventId {
    let device = DeviceId::new(Uuid::from_u128(crew.device));
    let seq = s.knowledge().0.get(&device).copied().unwrap_or(0) + 1;
    EventId::new(Uuid::from_u128(crew.device * 1_000_000 + u128::from(seq)))
}

/// Signs as a form does: by the rules, and what they give is appended.
fn sign(s: &mut Scene, crew: Crew) -> Result<usize, Vec<&'static str>> {
    act(s, crew, decide::sign)
}

fn seal(s: &mut Scene, crew: Crew) -> Result<usize, Vec<&'static str>> {
    act(s, crew, decide::seal)
}

fn act(
    s: &mut Scene,
    crew: Crew,
    rule: fn(&State, &[Entry], &Sign) -> decide::Decided,
) -> Result<usize, Vec<&'static str>> {
    let drafts = rule(&s.state(), &s.log, &by(s, crew))
        .map_err(|refused| refused.0.iter().map(|r| r.key).collect::<Vec<_>>())?;
    let knows = s.knowledge();
    for draft in &drafts {
        s.by(crew)
            .knowing(&knows)
            .says(draft.about.clone(), draft.fact.clone());
    }
    Ok(drafts.len())
}

fn note(s: &mut Scene, crew: Crew, text: &str) -> EventId {
    let fact = Fact::IncidentNoted(IncidentNoted {
        text: text.into(),
        record: None,
    });
    s.by(crew).says(About::nobody(), fact)
}

fn sign_off(s: &Scene) -> SignOff {
    s.state().sign_off
}

#[test]
fn the_second_of_two_signatures_seals_the_record_whoever_comes_first() {
    for [first, second] in [[DECK, HELM], [HELM, DECK]] {
        let mut s = home();
        assert_eq!(sign(&mut s, first), Ok(1));
        let half = sign_off(&s);
        assert!(half.signed(first.role).is_some() && half.signed(second.role).is_none());
        assert_eq!(half.seal(), None);
        assert_eq!(sign(&mut s, second), Ok(2));
        let done = sign_off(&s);
        let seal = done.seal().expect("sealed");
        assert_eq!(seal.by, second.name);
        assert_eq!(seal.signatures.len(), 2);
        assert!(done.after.is_empty());
        // Closing the trip is no word about the day, nor is the boat's own track.
        s.by(HELM).says(
            About::nobody(),
            Fact::TripClosed(TripClosed {
                override_reason: None,
            }),
        );
        let track = payload(serde_json::json!({"position": [10.0, 20.0], "source": "instruments"}));
        s.by(HELM)
            .says(About::nobody(), Fact::BoatPositioned(track));
        assert!(sign_off(&s).seal().is_some());
    }
}

#[test]
fn a_late_note_is_kept_after_the_seal_and_needs_both_again() {
    let mut s = home();
    sign(&mut s, DECK).unwrap();
    sign(&mut s, HELM).unwrap();
    let late = note(&mut s, DESK, "a fin was left behind");
    let after = sign_off(&s);
    assert_eq!(after.seal(), None);
    assert_eq!(after.last_seal().map(|seal| &*seal.by), Some(HELM.name));
    assert_eq!(after.after, [late]);
    assert!(after.signed(Role::Divemaster).is_none() && after.signed(Role::Skipper).is_none());
    sign(&mut s, HELM).unwrap();
    assert_eq!(sign_off(&s).seal(), None, "one signature is not two");
    assert_eq!(sign(&mut s, DECK), Ok(2));
    let again = sign_off(&s);
    assert!(again.seal().is_some() && again.after.is_empty());
    assert_eq!(again.seals.len(), 2, "the first seal stays on record");
}

#[test]
fn a_signature_taken_back_takes_the_seal_with_it() {
    let mut s = home();
    sign(&mut s, DECK).unwrap();
    let signature = s.log.last().unwrap().event.id;
    sign(&mut s, HELM).unwrap();
    s.by(DECK).voids(signature);
    let taken = sign_off(&s);
    assert_eq!(taken.seal(), None);
    assert!(
        taken.seals[0].lacks.contains(&Lack::Divemaster),
        "{:?}",
        taken.seals
    );
}

#[test]
fn each_signs_once_and_as_what_they_are() {
    let mut s = home();
    assert_eq!(sign(&mut s, DESK), Err(vec!["refused-sign-role"]));
    assert_eq!(seal(&mut s, DESK), Err(vec!["refused-sign-role"]));
    let nobody = Err(vec!["refused-seal-divemaster", "refused-seal-skipper"]);
    assert_eq!(seal(&mut s, HELM), nobody);
    sign(&mut s, DECK).unwrap();
    assert_eq!(sign(&mut s, DECK), Err(vec!["refused-signed"]));
    assert_eq!(
        sign(&mut s, BOW),
        Err(vec!["refused-signed"]),
        "another divemaster"
    );
    assert_eq!(seal(&mut s, DECK), Err(vec!["refused-seal-skipper"]));
    // The divemaster's own account, made a skipper's since.
    let twice = Crew {
        role: Role::Skipper,
        ..DECK
    };
    assert_eq!(sign(&mut s, twice), Err(vec!["refused-sign-twice"]));
    sign(&mut s, HELM).unwrap();
    assert_eq!(seal(&mut s, HELM), Err(vec!["refused-sealed"]));
}

#[test]
fn nobody_signs_a_record_that_is_not_ready_and_every_reason_is_named() {
    let keys = |s: &Scene| -> Vec<&'static str> {
        decide::cannot_sign(&s.state())
            .iter()
            .map(|r| r.key)
            .collect()
    };
    assert!(keys(&home()).is_empty());
    let under_way = [
        "refused-sign-under-way",
        "refused-sign-out",
        "refused-sign-count",
    ];
    assert_eq!(keys(&Scene::four_down())[..3], under_way);
    assert!(keys(&Scene::four_down()).contains(&"refused-sign-roll"));
    let mut s = home();
    sign(&mut s, DECK).unwrap();
    s.by(DECK).missing(BELA);
    assert!(keys(&s).contains(&"refused-sign-out"), "{:?}", keys(&s));
    let mut s = home();
    let before = s.knowledge();
    s.by(BOW).knowing(&before).aboard(CARO);
    s.by(DECK).knowing(&before).missing(CARO);
    let doubt = keys(&s);
    assert!(doubt.contains(&"refused-sign-out") || doubt.contains(&"refused-sign-unresolved"));
    let mut s = home();
    s.by(HELM)
        .roll(Point::Return, &[ANNA, BELA, CARO, EDDA], &[DINO]);
    assert!(
        keys(&s).contains(&"refused-sign-unresolved"),
        "{:?}",
        keys(&s)
    );
    let mut s = home();
    s.by(HELM).says(About::nobody(), unread("hull-scraped"));
    assert_eq!(keys(&s), ["refused-sign-unread"]);
    let mut s = home();
    s.by(HELM).says(
        About::nobody(),
        Fact::EmergencyDeclared(EmergencyDeclared {
            reason: "fire".into(),
            datum: None,
        }),
    );
    assert_eq!(keys(&s), ["refused-sign-emergency"]);
    let mut s = home();
    let mut held = s.log.pop().unwrap();
    std::sync::Arc::make_mut(&mut held.event).device_seq += 1;
    s.log.push(held);
    assert!(keys(&s).contains(&"refused-sign-gap"), "{:?}", keys(&s));
    let refused = decide::sign(&s.state(), &s.log, &by(&s, HELM)).unwrap_err();
    assert!(refused.0.iter().any(|r| r.key == "refused-sign-gap"));
}

#[test]
fn nobody_signs_what_his_page_did_not_show() {
    let mut s = home();
    let page = by(&s, HELM);
    sign(&mut s, DECK).unwrap();
    let refused = decide::sign(&s.state(), &s.log, &page).unwrap_err();
    assert_eq!(refused.0[0].key, "refused-sign-moved-on");
    let page = by(&s, HELM);
    let track = payload(serde_json::json!({"position": [10.0, 20.0], "source": "instruments"}));
    s.by(BOW).says(About::nobody(), Fact::BoatPositioned(track));
    assert!(
        decide::sign(&s.state(), &s.log, &page).is_ok(),
        "the boat's own track"
    );
}

#[test]
fn two_who_signed_apart_are_sealed_by_either() {
    let mut s = home();
    let (apart, page) = (s.knowledge(), over(&s));
    for crew in [DECK, HELM] {
        let fact = Fact::ReportSigned(ReportSigned { over: page.clone() });
        s.by(crew).knowing(&apart).says(About::nobody(), fact);
    }
    let both = sign_off(&s);
    assert!(both.signed(Role::Divemaster).is_some() && both.signed(Role::Skipper).is_some());
    assert_eq!(both.seal(), None);
    assert_eq!(seal(&mut s, DECK), Ok(1));
    assert!(sign_off(&s).seal().is_some());
}

/// What a device may append without any rule: the fold says what it lacks.
#[test]
fn a_seal_without_what_it_needs_is_none() {
    let lacks = |signers: &[Crew], author: Crew| {
        let mut s = home();
        let page = over(&s);
        let signatures: Vec<EventId> = signers
            .iter()
            .map(|crew| {
                let fact = Fact::ReportSigned(ReportSigned { over: page.clone() });
                s.by(*crew).says(About::nobody(), fact)
            })
            .collect();
        let fact = Fact::RecordSealed(RecordSealed {
            over: page.clone(),
            signatures,
        });
        s.by(author).says(About::nobody(), fact);
        let told = sign_off(&s);
        assert_eq!(told.seal().is_some(), told.seals[0].lacks.is_empty());
        told.seals[0].lacks.iter().copied().collect::<Vec<_>>()
    };
    let other = |role| Crew { role, ..DECK };
    assert_eq!(lacks(&[DECK, HELM], HELM), []);
    assert_eq!(lacks(&[DECK, BOW], HELM), [Lack::Skipper]);
    assert_eq!(lacks(&[DESK, HELM], HELM), [Lack::Divemaster]);
    assert_eq!(lacks(&[DECK, HELM], DESK), [Lack::Author]);
    assert_eq!(
        lacks(&[other(Role::Skipper), other(Role::Divemaster)], HELM),
        [Lack::TwoPeople]
    );
}

proptest! {
    /// In whatever order the entries came, and whoever signed first: the same sign-off; and a word
    /// that no signer knew always stands after the seal.
    #[test]
    fn the_order_of_signing_and_of_arrival_does_not_matter(
        helm_first in any::<bool>(),
        late in prop::option::of(0_usize..3),
        seed in any::<u64>(),
    ) {
        let mut s = home();
        let [first, second] = if helm_first { [HELM, DECK] } else { [DECK, HELM] };
        sign(&mut s, first).unwrap();
        sign(&mut s, second).unwrap();
        // Said by somebody else in the knowledge of before, and come in late.
        let said = late.map(|nth| note(&mut s, [DESK, BOW, HELM][nth], "late"));
        let mut arrived = s.log.clone();
        let mut turn = seed | 1;
        for at in (1..arrived.len()).rev() {
            turn = turn.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            arrived.swap(at, usize::try_from(turn >> 33).unwrap() % (at + 1));
        }
        let told = fold(trip(), &arrived).sign_off;
        prop_assert_eq!(&told, &sign_off(&s));
        prop_assert_eq!(told.seal().is_some(), said.is_none());
        prop_assert!(told.last_seal().is_some());
        prop_assert_eq!(told.after, said.into_iter().collect::<Vec<_>>());
    }

    /// Whatever a signer did not know when he signed leaves his signature not standing.
    #[test]
    fn a_signature_covers_what_its_author_knew_and_no_more(unknown in 1_usize..5) {
        let mut s = home();
        let then = s.knowledge();
        let page = over(&s);
        for nth in 0..unknown {
            note(&mut s, BOW, &format!("note {nth}"));
        }
        let fact = Fact::ReportSigned(ReportSigned { over: page });
        s.by(HELM).knowing(&then).says(About::nobody(), fact);
        let told = sign_off(&s);
        prop_assert_eq!(told.signatures.len(), 1);
        prop_assert!(!told.signatures[0].stands);
        prop_assert!(told.signed(Role::Skipper).is_none());
    }
}

/// A correction that was taken back itself leaves what it corrected as it was, in the record as in
/// the fold.
#[test]
fn the_record_tells_the_conditions_that_stand() {
    let mut s = Scene::on_site();
    let first = s.by(HELM).current(1.0);
    s.until("09:01");
    let wrong = s.by(HELM).correcting(first).current(2.0);
    let told = |s: &Scene| {
        let state = s.state();
        let source = Source {
            trip: trip(),
            entry: s.log.len() as u64,
            state: &state,
            entries: &s.log,
        };
        let record = gather(source, &BTreeSet::new(), clock("09:10"));
        let seen = record.conditions.iter();
        seen.map(|one| one.seen.drift_kn.map(deckwatch::units::Knots::kn))
            .collect::<Vec<_>>()
    };
    assert_eq!(told(&s), [Some(2.0)]);
    s.until("09:02");
    s.by(HELM).voids(wrong);
    assert_eq!(told(&s), [Some(1.0)]);
}
