//! Counts and rolls of a trip: who counted when, and what came of it.

use crate::trip::roll::{Call, Outcome};
use crate::web::desk::{Here, tell};

/// A count at a point.
pub(super) struct CountRow {
    pub point: String,
    pub number: u32,
    pub counts: Vec<String>,
    pub outcome: String,
}

/// One count, with everybody who counted.
pub(super) fn count(here: &Here, call: &Call) -> CountRow {
    let outcome = call.outcome();
    // While one is open, an earlier count's figure would be read as this one's.
    let is_hidden = here.is_counting() || matches!(outcome, Outcome::Open { .. });
    CountRow {
        point: tell::point(here, call.point),
        number: call.number,
        counts: call
            .rounds
            .iter()
            .flatten()
            .map(|count| {
                let by = [
                    ("by", (&count.by).into()),
                    ("at", here.time(count.at).into()),
                    ("n", i64::from(count.people).into()),
                ];
                let key = if is_hidden {
                    "report-count-hidden"
                } else {
                    "report-count"
                };
                here.t.say_with(key, &by)
            })
            .collect(),
        outcome: match outcome {
            Outcome::Open { round } => here
                .t
                .say_with("report-open", &[("round", i64::from(round).into())]),
            Outcome::Agreed { .. } if is_hidden => here.t.say("report-agreed-hidden"),
            Outcome::Agreed { people } => here
                .t
                .say_with("report-agreed", &[("n", i64::from(people).into())]),
            Outcome::Failed => here.t.say("report-failed"),
        },
    }
}

/// Every roll, in a line.
pub(super) fn rolls(here: &Here) -> Vec<String> {
    let is_counting = here.is_counting();
    here.snap
        .state
        .rolls
        .iter()
        .map(|roll| {
            let args = [
                ("point", tell::point(here, roll.point).into()),
                ("by", (&roll.by).into()),
                ("at", here.time(roll.at).into()),
                ("n", roll.present.len().into()),
                ("absent", roll.not_seen.len().into()),
            ];
            let key = if is_counting {
                "report-roll-hidden"
            } else {
                "report-roll"
            };
            here.t.say_with(key, &args)
        })
        .collect()
}
