//! A sheet was printed: noted, so that the next look can say what changed since.

use super::{Decided, Draft, Refusal, open};
use crate::trip::event::{About, Fact, Sheet, SheetPrinted};
use crate::trip::state::State;

/// Notes that a sheet was printed as its page showed it. `dive`: which, where the sheet is of one.
///
/// # Errors
/// On a closed trip, and for briefings of a dive that is not planned.
pub fn note_print(state: &State, sheet: Sheet, dive: Option<u32>) -> Decided {
    open(state)?;
    let about = match (sheet, dive) {
        (Sheet::Briefings, Some(dive)) if state.dives.contains_key(&dive) => {
            About::nobody().on_dive(dive)
        }
        (Sheet::Briefings, _) => return Err(Refusal::new("", "refused-no-dive").into()),
        (Sheet::BoatSheet | Sheet::PassengerList, _) => About::nobody(),
    };
    let printed = SheetPrinted { sheet };
    Ok(vec![Draft::now(about, Fact::SheetPrinted(printed))])
}
