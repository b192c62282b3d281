//! Teeth: with a fault planted, the programme fails. A programme that no fault fails proves
//! nothing. The faults exist in builds with debug assertions only.

use crate::chance::seed;
use crate::child::{WRONG, command, data};
use crate::cut::{cuts, run};
use crate::judge::{disagreements, look};
use crate::kill::kills;

#[test]
fn commits_that_are_not_synced_are_found_by_power_cuts() {
    let planted = run("planted", "send", 12, Some("normal"), |_| Vec::new());
    let (wrong, first) = cuts(&planted, 300, seed());
    eprintln!("TEETH: not synced: {wrong} of 300 power cuts lost what was acknowledged");
    assert!(
        first.is_some_and(|why| why.contains("acknowledged and lost")),
        "{wrong}"
    );
}

#[test]
fn an_acknowledgement_before_the_write_is_found_by_kills_and_by_power_cuts() {
    let planted = run("planted", "send", 12, Some("early-ack"), |_| Vec::new());
    let (wrong, first) = cuts(&planted, 300, seed());
    eprintln!("TEETH: acknowledged early: {wrong} of 300 power cuts lost what was acknowledged");
    assert!(
        first.is_some_and(|why| why.contains("acknowledged and lost")),
        "{wrong}"
    );

    let found = kills("send", 400, 90, seed(), Some("early-ack"));
    eprintln!("TEETH: acknowledged early: kills: {found:?}");
    assert!(found.is_err_and(|why| why.contains("acknowledged and lost")));
}

#[tokio::test]
async fn a_last_write_that_wins_is_found_by_the_judge() {
    let folder = tempfile::tempdir().unwrap();
    let sent = command(&[], "send", folder.path(), 8).status().unwrap();
    assert!(sent.success());
    look(&data(folder.path()), &[]).await.unwrap();
    let clock = deckwatch::clock::Clock::fixed(crate::world::noon());
    let store = deckwatch::store::Store::open(&data(folder.path()), clock)
        .await
        .unwrap();
    assert_eq!(disagreements(&store).await, 4);
    store.close().await.unwrap();

    let mut planted = command(&[], "look", folder.path(), 1);
    let looked = planted
        .env("DECKWATCH_PLANT", "last-write")
        .output()
        .unwrap();
    let told = String::from_utf8(looked.stdout).unwrap();
    eprintln!("TEETH: last write wins: {}", told.lines().last().unwrap());
    assert_eq!(looked.status.code(), Some(WRONG), "{told}");
    assert!(told.contains("two devices disagree"), "{told}");
}
