//! The simulator's ledger (`tests/sim/ledger.rs`) gives the same answers as the store on a real
//! file, batch by batch: what the simulated days show of the rules holds for the box.

use deckwatch::store::{AppendError, Appended, Incoming};
use deckwatch::trip::event::Event;
use proptest::prelude::*;

use crate::ledger::{self, Ledger, Told};
use crate::world::{World, device, event, id, noon, trip};

/// One event out of few, so that ids and numbers meet: id, device, number, content.
type Drawn = (u128, u128, u64, bool);

fn batches() -> impl Strategy<Value = Vec<Vec<Drawn>>> {
    let drawn = (1..7_u128, 1..3_u128, 1..5_u64, any::<bool>());
    prop::collection::vec(prop::collection::vec(drawn, 1..4), 1..10)
}

fn made((of, by, seq, other): Drawn) -> Event {
    Event {
        id: id(of),
        ..event(
            trip(1),
            device(by),
            seq,
            if other { "other" } else { "one" },
        )
    }
}

/// What came of a batch: an entry and whether it is new; or clashes.
type Answer = Result<Vec<(u64, bool)>, Vec<(usize, u64)>>;

async fn by_store(world: &World, batch: &[Event]) -> Answer {
    let sent = batch.iter().cloned().map(Incoming::from).collect();
    match world.store.append(trip(1), sent).await {
        Ok(done) => Ok(done
            .into_iter()
            .map(|one| match one {
                Appended::New { entry } => (entry, true),
                Appended::Repeat { entry } => (entry, false),
            })
            .collect()),
        Err(AppendError::Clash(clashes)) => {
            Err(clashes.iter().map(|c| (c.index, c.stands_at)).collect())
        }
        Err(other) => panic!("{other}"),
    }
}

fn by_ledger(ledger: &mut Ledger, batch: &[Event]) -> Answer {
    let told: Vec<_> = batch
        .iter()
        .map(|event| (Told::new(event.clone()), (None, None)))
        .collect();
    match ledger.append(&told, noon()) {
        Ok(done) => Ok(done
            .into_iter()
            .map(|one| match one {
                ledger::Appended::New(entry) => (entry, true),
                ledger::Appended::Repeat(entry) => (entry, false),
            })
            .collect()),
        Err(clashes) => Err(clashes.iter().map(|c| (c.index, c.stands_at)).collect()),
    }
}

proptest! {
    // Each case opens a file.
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn the_simulators_ledger_answers_as_the_store_does(batches in batches()) {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
        runtime.block_on(async {
            let world = World::new().await;
            let mut ledger = Ledger::default();
            for batch in batches {
                let batch: Vec<Event> = batch.into_iter().map(made).collect();
                let (stored, simulated) = (by_store(&world, &batch).await, by_ledger(&mut ledger, &batch));
                prop_assert_eq!(stored, simulated, "{:?}", batch);
                let held = world.store.entries(trip(1), 0).await.unwrap();
                prop_assert_eq!(&held, ledger.entries());
            }
            let head = world.store.head(trip(1)).await.unwrap();
            prop_assert_eq!(head.map_or(0, |head| head.entry), ledger.len() as u64);
            Ok(())
        })?;
    }
}
