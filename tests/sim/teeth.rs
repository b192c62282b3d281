//! Faults planted in the simulator's own cores: each must be caught within the seeds that CI runs,
//! and by the check that it is there for.

use super::server::Fault;
use super::world::World;

/// The first seed in which this check finds the fault.
fn is_caught(fault: Fault, by: &str) {
    is_caught_in(fault, by, |_| {});
}

fn is_caught_in(fault: Fault, by: &str, day: impl Fn(&mut World)) {
    let caught = (0..1_000).find_map(|seed| {
        let mut world = World::new(seed, fault);
        day(&mut world);
        let what = world.run().err()?;
        what.starts_with(by).then_some((seed, what))
    });
    let (seed, what) = caught.expect("the planted fault was not caught");
    println!("{fault:?}: seed {seed}, {what}");
    // The same days pass without it.
    for seed in 0..=seed.min(40) {
        let mut world = World::new(seed, Fault::None);
        day(&mut world);
        assert_eq!(world.run(), Ok(()), "seed {seed}");
    }
}

#[test]
fn an_acknowledgement_before_the_write_is_caught() {
    is_caught(Fault::AckBeforeDurable, "3: acknowledged and not there");
}

#[test]
fn the_last_word_taken_for_the_truth_is_caught() {
    is_caught(Fault::LastWriteWins, "5: ");
}

#[test]
fn a_deadline_by_the_wall_clock_is_caught() {
    is_caught(Fault::WallClockDeadline, "8: ");
}

#[test]
fn an_outbox_that_is_forgotten_is_caught() {
    is_caught(Fault::OutboxForgotten, "14: ");
}

#[test]
fn a_delivery_that_counts_twice_is_caught() {
    is_caught(Fault::AppendedTwice, "3: an event stands twice");
}

#[test]
fn a_new_box_that_asks_nobody_is_caught() {
    is_caught(Fault::NotRefilled, "14: ");
}

#[test]
fn forms_signed_by_a_box_that_lost_the_time_are_caught() {
    is_caught_in(Fault::SignsInDoubt, "7: a drop counts", |world| {
        world.without_time();
    });
}
