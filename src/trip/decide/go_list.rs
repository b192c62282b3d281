//! The go/no-go list: what is answered before departure, and the skipper's decision.

use super::{Decided, Draft, Refusal, Refused, open, said};
use crate::trip::event::{About, Answer, Condition, ConditionAnswered, Fact, TripDecided};
use crate::trip::state::{Phase, State};

/// Most lines of a centre's own.
pub const MOST_OWN_LINES: usize = 20;
/// Longest of them, characters.
pub const LONGEST_OWN_LINE: usize = 120;

fn at_quay(state: &State) -> Result<(), Refused> {
    open(state)?;
    if state.phase == Phase::AtQuay {
        Ok(())
    } else {
        Err(Refusal::new("", "refused-departed").into())
    }
}

/// Answers conditions of the list, as a page holds them. What stands there already in those words
/// is not said again.
///
/// # Errors
/// After departure, if nothing is answered anew, or if a no go has no note of why.
pub fn answer_conditions(state: &State, answers: &[ConditionAnswered]) -> Decided {
    at_quay(state)?;
    let mut refused = Refused::default();
    let mut drafts = Vec::new();
    for (one, nth) in answers.iter().zip(0_usize..) {
        let note = match one.note.as_deref().map(str::trim) {
            None | Some("") => None,
            Some(note) => match said("note", note) {
                Ok(note) => Some(note),
                Err(why) => {
                    let in_row = why.0.into_iter().map(|refusal| refusal.in_row(nth));
                    refused.0.extend(in_row);
                    continue;
                }
            },
        };
        let standing = state.go_list.answers.get(&one.condition);
        let stands = match standing.map(Vec::as_slice) {
            None => one.answer == Answer::Open && note.is_none(),
            Some([held]) => held.answer == one.answer && held.note == note,
            // Said apart: who leaves it as it stands says nothing.
            Some(_) => one.answer == state.go_list.standing(&one.condition) && note.is_none(),
        };
        if stands {
            continue;
        }
        if one.answer == Answer::NoGo && note.is_none() {
            refused.add(Refusal::new("note", "refused-no-go-why").in_row(nth));
            continue;
        }
        let fact = Fact::ConditionAnswered(ConditionAnswered {
            note,
            ..one.clone()
        });
        drafts.push(Draft::now(About::nobody(), fact));
    }
    if drafts.is_empty() && refused.0.is_empty() {
        refused.add(Refusal::new("", "refused-nothing-said"));
    }
    refused.or(drafts)
}

/// The skipper decides. `own`: the centre's own lines, which are on the list too.
///
/// # Errors
/// After departure, from anybody else, and without a reason where something does not stand at go or
/// it is no go.
pub fn decide_trip(
    state: &State,
    go: bool,
    reason: Option<&str>,
    own: &[String],
    skipper: bool,
) -> Decided {
    at_quay(state)?;
    if !skipper {
        return Err(Refusal::new("", "refused-only-skipper-decides").into());
    }
    let not_go: Vec<Condition> = state.go_list.not_go(own);
    let reason = match reason.map(str::trim) {
        None | Some("") => None,
        Some(reason) => Some(said("reason", reason)?),
    };
    if reason.is_none() && !go {
        return Err(Refusal::new("reason", "refused-no-go-why").into());
    }
    if reason.is_none() && !not_go.is_empty() {
        let refusal = Refusal::new("reason", "refused-go-over");
        return Err(refusal.with("n", not_go.len()).into());
    }
    let decided = TripDecided { go, not_go, reason };
    Ok(vec![Draft::now(
        About::nobody(),
        Fact::TripDecided(decided),
    )])
}
