//! What changed since a sheet was printed: by what its author knew, whatever order it came in.

use deckwatch::trip::decide;
use deckwatch::trip::event::*;
use deckwatch::trip::printed::{changed_since, last_print, touched};
use deckwatch::trip::state::needs_signing;

use super::scene::*;

fn prints(s: &mut Scene, sheet: Sheet, dive: Option<u32>) -> EventId {
    let drafts = decide::note_print(&s.state(), sheet, dive).unwrap();
    let draft = drafts[0].clone();
    s.by(DESK).says(draft.about, draft.fact)
}

fn changed(s: &Scene, sheet: Sheet, dive: Option<u32>) -> Vec<&str> {
    let print = last_print(&s.log, sheet, dive).unwrap();
    changed_since(&s.log, sheet, dive, &print)
        .iter()
        .map(|entry| entry.event.fact.kind())
        .collect()
}

fn change(s: &mut Scene, n: u128) -> EventId {
    let card = card("Anna Berg-Lind", Activity::Diver);
    let fact = Fact::PersonChanged(PersonChanged { card });
    s.by(DESK).says(people(&[n]), fact)
}

#[test]
fn each_sheet_is_changed_by_what_stands_on_it() {
    let mut s = Scene::on_site();
    assert_eq!(last_print(&s.log, Sheet::BoatSheet, None), None);
    prints(&mut s, Sheet::BoatSheet, None);
    prints(&mut s, Sheet::PassengerList, None);
    prints(&mut s, Sheet::Briefings, Some(1));
    assert!(changed(&s, Sheet::BoatSheet, None).is_empty());
    change(&mut s, ANNA);
    let formed = formed("B", &[&[ANNA, BELA], &[CARO, DINO]], 16.0);
    s.by(DESK).says(
        About::nobody().in_group(group(B), 1),
        Fact::GroupFormed(formed),
    );
    s.by(DECK).current(0.4);
    assert_eq!(
        changed(&s, Sheet::BoatSheet, None),
        ["person-changed", "group-formed"]
    );
    assert_eq!(changed(&s, Sheet::PassengerList, None), ["person-changed"]);
    assert_eq!(
        changed(&s, Sheet::Briefings, Some(1)),
        ["person-changed", "group-formed", "conditions-observed"]
    );
    let print = last_print(&s.log, Sheet::BoatSheet, None).unwrap();
    let (persons, groups) = touched(&changed_since(&s.log, Sheet::BoatSheet, None, &print));
    assert_eq!(persons, set(&[ANNA]));
    assert_eq!(groups.into_iter().collect::<Vec<_>>(), [group(B)]);
    // Printed anew, nothing has changed.
    prints(&mut s, Sheet::BoatSheet, None);
    assert!(changed(&s, Sheet::BoatSheet, None).is_empty());
}

#[test]
fn what_is_taken_back_after_the_print_is_a_change_too() {
    let mut s = Scene::on_site();
    let before = change(&mut s, ANNA);
    prints(&mut s, Sheet::PassengerList, None);
    s.by(DESK).voids(before);
    assert_eq!(changed(&s, Sheet::PassengerList, None), ["voided"]);
    let lookout = s.by(HELM).says(
        About::nobody(),
        Fact::LookoutPosted(LookoutPosted { name: "Jo".into() }),
    );
    s.by(HELM).voids(lookout);
    assert_eq!(changed(&s, Sheet::PassengerList, None), ["voided"]);
}

#[test]
fn what_came_earlier_and_was_not_seen_by_who_printed_is_a_change() {
    let mut s = Scene::on_site();
    let before = s.knowledge();
    let fact = Fact::PersonNotComing(PersonNotComing {
        reason: "cold".into(),
    });
    s.by(DECK).says(people(&[EDDA]), fact);
    let printed = Fact::SheetPrinted(SheetPrinted {
        sheet: Sheet::PassengerList,
    });
    s.by(DESK).knowing(&before).says(About::nobody(), printed);
    assert_eq!(
        changed(&s, Sheet::PassengerList, None),
        ["person-not-coming"]
    );
    s.log.reverse();
    assert_eq!(
        changed(&s, Sheet::PassengerList, None),
        ["person-not-coming"]
    );
}

#[test]
fn a_print_is_of_a_dive_that_is_planned_and_needs_no_signature() {
    let mut s = Scene::on_site();
    assert!(decide::note_print(&s.state(), Sheet::Briefings, Some(7)).is_err());
    assert!(decide::note_print(&s.state(), Sheet::Briefings, None).is_err());
    prints(&mut s, Sheet::BoatSheet, None);
    assert!(!needs_signing(&s.log.last().unwrap().event));
}

#[test]
fn a_forecast_has_words_and_keeps_its_source() {
    let mut s = Scene::opened();
    let note = |text: &str, source: Option<&str>| ForecastNoted {
        of: ForecastOf::Tide,
        text: text.into(),
        source: source.map(ToOwned::to_owned),
    };
    assert!(decide::forecast(&s.state(), &note("  ", None)).is_err());
    let drafts = decide::forecast(&s.state(), &note(" springs ", Some(" "))).unwrap();
    s.by(DESK).says(About::nobody(), drafts[0].fact.clone());
    let state = s.state();
    assert_eq!(state.forecasts[0].what, note("springs", None));
    assert_eq!(state.forecasts[0].by, "Oda Frei");
}
