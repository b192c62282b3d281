//! The gate: what keeps a boat at the quay or on a site. It opens only when two counts and
//! the log agree, the roll was called by name and nobody is out.

use super::event::Point;
use super::roll::Outcome;
use super::state::{Person, Place, State, Verdict};

/// Something that keeps the gate closed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Block {
    /// These people are in the water, at the surface, missing or unresolved.
    Out(Vec<String>),
    /// These people of the roster are neither aboard nor marked as not coming.
    NotAboard(Vec<String>),
    /// Nobody has finished a count.
    NotCounted,
    /// A count is open: so many are in; figures are not shown.
    CountOpen {
        /// 1, or 2 for the recount.
        round: u32,
    },
    /// Two counts differed twice.
    CountFailed,
    /// The count was taken before people moved.
    CountOld {
        /// On how many it agreed.
        counted: u32,
        /// How many are aboard now.
        aboard: usize,
    },
    /// The roll was not called.
    NoRoll,
    /// These people came or moved after the roll.
    RollOld(Vec<String>),
    /// More people aboard than the boat may carry.
    OverCapacity {
        /// Aboard.
        aboard: usize,
        /// Allowed.
        capacity: u32,
    },
    /// The go/no-go list was begun, and nobody has decided.
    NotDecided,
    /// Something was answered otherwise than go since it was decided.
    ChangedSinceGo,
    /// It was decided: no go.
    NoGo,
}

/// What keeps the gate at this point closed; nothing: it is open.
#[must_use]
pub fn gate(state: &State, point: Point) -> Vec<Block> {
    let mut blocks = Vec::new();
    let names = |is: &dyn Fn(&Person) -> bool| -> Vec<String> {
        state
            .people
            .values()
            .filter(|p| is(p))
            .map(|p| p.card.name.clone())
            .collect()
    };
    let out = names(&|p| !p.place.is_accounted());
    if !out.is_empty() {
        blocks.push(Block::Out(out));
    }
    if point == Point::Departure {
        let ashore = names(&|p| p.coming && p.place == Place::Ashore);
        if !ashore.is_empty() {
            blocks.push(Block::NotAboard(ashore));
        }
        let capacity = state.opened.as_ref().map_or(0, |o| o.boat.capacity);
        if state.aboard() > capacity as usize {
            blocks.push(Block::OverCapacity {
                aboard: state.aboard(),
                capacity,
            });
        }
    }
    // A list that nobody has begun keeps no boat: the gate is about who is aboard. Once begun, it
    // is left behind by a stated reason only.
    if point == Point::Departure {
        match state.go_list.verdict() {
            Verdict::Open => blocks.push(Block::NotDecided),
            Verdict::ChangedSince => blocks.push(Block::ChangedSinceGo),
            Verdict::NoGo => blocks.push(Block::NoGo),
            Verdict::NotBegun | Verdict::Go | Verdict::GoOver => {}
        }
    }
    blocks.extend(count_block(state, point));
    blocks.extend(roll_block(state, point));
    blocks
}

fn moved_at(state: &State) -> Option<jiff::Timestamp> {
    state
        .people
        .values()
        .filter(|p| p.place == Place::Aboard)
        .map(|p| p.since)
        .max()
}

fn count_block(state: &State, point: Point) -> Option<Block> {
    if let (_, Some(open)) = state.current_call(point)
        && let Outcome::Open { round } = open.outcome()
    {
        return Some(Block::CountOpen { round });
    }
    let Some(call) = state.last_call(point) else {
        return Some(Block::NotCounted);
    };
    let Outcome::Agreed { people } = call.outcome() else {
        return Some(Block::CountFailed);
    };
    let aboard = state.aboard();
    // Who came aboard by the very roll that followed the count moved nowhere.
    let rolled = state
        .rolls
        .iter()
        .filter(|r| r.point == point)
        .map(|r| r.at)
        .max();
    let moved = moved_at(state).filter(|at| rolled.is_none_or(|roll| *at != roll));
    let before_moves = call.last_at() < moved;
    if people as usize != aboard || before_moves {
        return Some(Block::CountOld {
            counted: people,
            aboard,
        });
    }
    None
}

fn roll_block(state: &State, point: Point) -> Option<Block> {
    let dive = state.dive_of(point);
    let roll = state
        .rolls
        .iter()
        .rfind(|r| r.point == point && r.dive == dive);
    let Some(roll) = roll else {
        return Some(Block::NoRoll);
    };
    let missed: Vec<String> = state
        .people
        .values()
        .filter(|p| {
            p.place == Place::Aboard && (!roll.present.contains(&p.id) || p.since > roll.at)
        })
        .map(|p| p.card.name.clone())
        .collect();
    if missed.is_empty() {
        None
    } else {
        Some(Block::RollOld(missed))
    }
}
