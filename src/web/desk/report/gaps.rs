//! What the record still lacks.

use crate::trip::event::Point;
use crate::trip::gate::gate;
use crate::web::desk::{Here, trip};

use super::known;

/// What the record still lacks.
pub(super) fn gaps(here: &Here, is_ended: bool) -> Vec<String> {
    let state = &here.snap.state;
    let t = here.t;
    let mut gaps = Vec::new();
    for person in state.people.values() {
        for (dive, logged) in &person.dives {
            if logged.entered_at.is_none() {
                continue;
            }
            let missing: Vec<String> = [
                ("report-lacks-up", logged.surfaced_at.is_none()),
                ("report-lacks-aboard", logged.aboard_at.is_none()),
                ("report-lacks-bar", logged.bar.is_none()),
                ("report-lacks-depth", logged.greatest_depth_m.is_none()),
                ("report-lacks-stop", logged.stop_done.is_none()),
            ]
            .into_iter()
            .filter(|(_, lacks)| *lacks)
            .map(|(key, _)| t.say(key))
            .collect();
            if !missing.is_empty() {
                let args = [
                    ("name", person.name().into()),
                    ("dive", i64::from(*dive).into()),
                    ("what", missing.join(", ").into()),
                ];
                gaps.push(t.say_with("report-lacks", &args));
            }
        }
    }
    for unread in &state.unread {
        gaps.push(known(here, &t.say("log-unread"), unread));
    }
    for missing in state.gaps.values() {
        gaps.push(t.say_with("report-gap", &[("n", missing.len().into())]));
    }
    if is_ended {
        gaps.extend(
            gate(state, Point::Return)
                .iter()
                .map(|block| trip::block_words(here, block)),
        );
    }
    gaps
}
