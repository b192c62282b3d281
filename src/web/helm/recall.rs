//! The recall: the signal used and when. Nobody has heard it until they are up, and stops stay
//! owed.

use axum::response::Response;
use jiff::Timestamp;

use super::bridge::{Helm, Piece, choices};
use crate::trip::decide;
use crate::trip::dives::ComingUp;
use crate::trip::watch::{recalled, up_if_recalled};
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::form::Fields;
use crate::web::parts::FieldFault;
use crate::web::view;

/// The signals there are buttons for; local agreements, so another can be written in.
const SIGNALS: [(&str, &str); 4] = [
    ("revs", "helm-recall-revs"),
    ("ladder", "helm-recall-ladder"),
    ("tone", "helm-recall-tone"),
    ("other", "helm-recall-other"),
];

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    draw(&helm, &Fields::default(), Vec::new())
}

fn draw(helm: &Helm, fields: &Fields, faults: Vec<FieldFault>) -> Result<Response, Error> {
    let t = helm.t;
    let mut page = helm.form(t.say("helm-recall"), "recall", "helm-recall-sound", faults);
    page.caution = t.say("helm-recall-caution");
    page.said = helm
        .state()
        .recalls
        .iter()
        .rev()
        .map(|recall| {
            let args = [
                ("at", helm.aged(recall.at).into()),
                ("by", (&recall.by).into()),
            ];
            helm.say("helm-recalled", &args)
        })
        .collect();
    page.pieces = vec![
        Piece::tiles(
            "signal",
            t.say("helm-recall-signal"),
            choices(t, fields, "signal", "", &SIGNALS),
        ),
        Piece::text("other", t.say("helm-recall-which"), fields)
            .hinted(t.say("helm-recall-which-hint")),
    ];
    page.brings = brings(helm);
    page.brings_note = t.say("stops-reckoned");
    page.draw()
}

/// Every group that is down, with the earliest it can be up: since the recall it was under water
/// for, else if it were recalled now.
fn brings(helm: &Helm) -> (String, Vec<(String, String)>) {
    let (state, t) = (helm.state(), helm.t);
    let mut is_since = true;
    let mut each: Vec<_> = state
        .groups_out()
        .filter(|group| !state.down_of(group).is_empty())
        .map(|group| {
            let since = recalled(state, group);
            is_since &= since.is_some();
            let coming = since
                .map(|since| since.coming)
                .or_else(|| up_if_recalled(state, group, helm.now));
            (group.formed.letter.clone(), coming)
        })
        .collect();
    // Whoever is up first stands first; who cannot be reckoned, last.
    each.sort_by_key(|(letter, coming)| {
        let up_at = coming.as_ref().map_or(Timestamp::MAX, |c| c.up_at);
        (up_at, letter.clone())
    });
    let lines = each
        .into_iter()
        .map(|(letter, coming)| {
            let said = coming.map_or_else(
                || t.say("helm-recall-unknown"),
                |coming| earliest(helm, &coming),
            );
            (view::spoken(&letter), said)
        })
        .collect();
    let title = if is_since {
        "helm-recall-each-since"
    } else {
        "helm-recall-each-title"
    };
    (t.say(title), lines)
}

/// `earliest up 10:14, 3 min at 5 m`.
fn earliest(helm: &Helm, coming: &ComingUp) -> String {
    let up = ("up", view::coming_time(coming, &helm.zone()).into());
    let stops = view::held_words(coming, helm.t);
    if stops.is_empty() {
        helm.say("helm-recall-up", &[up])
    } else {
        helm.say("helm-recall-up-with", &[up, ("stops", stops.into())])
    }
}

/// Logs that the recall was sounded.
pub(super) async fn sound(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let keys = SIGNALS.map(|(value, key)| (value, (value, key)));
    let signal = match fields.word("signal", &keys) {
        Some(("other", _)) => fields.text("other", 200),
        Some((_, key)) => Some(helm.t.say(key)),
        None => None,
    };
    let Some(signal) = signal else {
        return draw(&helm, &fields, fields.faults());
    };
    let acted = helm
        .act(&fields, move |state, _, _| decide::recall(state, &signal))
        .await?;
    match acted {
        Acted::Done(_) => Ok(helm.to("recall")),
        Acted::Refused(faults) => draw(&helm.again().await?, &fields, faults),
    }
}
