//! The recall: the signal used and when. Nobody has heard it until they are up, and stops stay
//! owed.

use axum::response::Response;

use super::bridge::{Helm, Piece, choices};
use crate::trip::decide;
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::form::Fields;
use crate::web::parts::FieldFault;

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
    page.draw()
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
