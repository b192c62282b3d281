//! Every alert, to be acknowledged in one tap or kept quiet for thirty seconds.

use askama::Template;
use axum::response::Response;

use super::bridge::{Helm, Tap, lead_to};
use super::instruments::{beacon_place, dismiss_tap};
use crate::trip::decide;
use crate::trip::event::Role;
use crate::trip::watch::{Alert, AlertState, Cause, Priority};
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::notices::NoticeRow;
use crate::web::page::answered;
use crate::web::parts::{AlertRow, FieldFault, Weight};
use crate::web::view;

struct Listed {
    row: AlertRow,
    answer: Option<(Tap, Option<Tap>)>,
    more: Vec<Tap>,
    seen_by: String,
    /// Where a beacon is.
    place: String,
}

struct ListedNotice {
    row: NoticeRow,
    /// Where something can be done about it; else the row leads to itself.
    href: String,
}

#[derive(Template)]
#[template(path = "helm/alerts.html")]
struct AlertsPage {
    frame: Frame,
    notices: Vec<ListedNotice>,
    mast: Vec<(String, String)>,
    listed: Vec<Listed>,
    faults: Vec<FieldFault>,
    shelf: Vec<Tap>,
}

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    draw(&helm, Vec::new())
}

fn draw(helm: &Helm, mut faults: Vec<FieldFault>) -> Result<Response, Error> {
    lead_to(&mut faults, &[]);
    let watch = helm.trip.watch(helm.now);
    let listed = watch.alerts.iter().map(|alert| list(helm, alert)).collect();
    let mut frame = helm.frame();
    // The strip would say the same twice.
    let notices: Vec<ListedNotice> = std::mem::take(&mut frame.notices)
        .into_iter()
        .map(|row| ListedNotice {
            href: helm.url(way_of(row.about)),
            row,
        })
        .collect();
    if !watch.alerts.is_empty() || !notices.is_empty() {
        frame.alerts = None;
    }
    let page = AlertsPage {
        notices,
        frame,
        mast: helm.mast(),
        listed,
        shelf: vec![helm.go("helm-emergency", "emergency", Weight::Grave)],
        faults,
    };
    answered(&page, page.faults.is_empty())
}

/// The page on which something can be done about a notice.
fn way_of(about: &str) -> &'static str {
    match about {
        "nobody-watching" | "devices-silent" | "devices-hidden" | "device-clocks"
        | "sounder-none" | "sounder-untried" => "arm",
        "sounder-fails" => "instruments",
        "clock-set" | "clock-unconfirmed" | "check-groups" | "box-clock-off" => "clock",
        _ => "alerts",
    }
}

fn list(helm: &Helm, alert: &Alert) -> Listed {
    let here = helm.url("alerts");
    let mut row = view::alert_row(helm.state(), alert, helm.now, &here, helm.t);
    let mut more = Vec::new();
    if let Some(group) = alert.group {
        row.href = helm.url(&format!("group/{group}"));
    } else if let Some(person) = alert.person {
        row.href = helm.url(&format!("person/{person}"));
    }
    if alert.cause.proposes_emergency() && alert.until.is_none() {
        let tap = helm.go("helm-declare-emergency", "emergency", Weight::Grave);
        more.push(tap.noted(helm.t.say("helm-proposed")));
    }
    let mut place = String::new();
    if let Cause::Beacon { identity, .. } = &alert.cause {
        let beacon = helm.state().beacons.get(identity);
        place = beacon.map_or_else(String::new, |beacon| beacon_place(helm, beacon));
        more.extend(dismiss_tap(helm, identity));
    }
    if matches!(alert.cause, Cause::NoLookout | Cause::LookoutRelief { .. }) {
        more.push(helm.go("way-lookout", "lookout", Weight::Plain));
    }
    let on_board = helm.crew.is(Role::Skipper) || helm.crew.is(Role::Divemaster);
    let unseen = alert.state != AlertState::Acknowledged;
    let answer = (on_board && unseen).then(|| {
        let (acknowledge, quiet) = answer_taps(helm, alert);
        (acknowledge, alert.is_audible().then_some(quiet))
    });
    let seen_by = alert
        .acknowledged
        .as_ref()
        .map_or_else(String::new, |seen| {
            let args = [
                ("name", (&seen.by).into()),
                ("at", helm.aged(seen.at).into()),
            ];
            helm.say("helm-acknowledged-by", &args)
        });
    Listed {
        row,
        answer,
        more,
        seen_by,
        place,
    }
}

/// 'Acknowledge' and 'Quiet 30 s' for an alert.
pub(super) fn answer_taps(helm: &Helm, alert: &Alert) -> (Tap, Tap) {
    let title = view::alert_title(helm.state(), alert, helm.t);
    let of = |tap: Tap| {
        tap.with("alert", alert.key.clone())
            .with("cause", alert.cause.word())
    };
    (
        of(helm.tap("helm-acknowledge", "acknowledge", Weight::Primary)).noted(title),
        of(helm.tap("helm-quiet", "quiet", Weight::Plain)),
    )
}

/// Whether an alert waits for an answer that the watch list asks for: above a caution, still
/// true and not acknowledged.
pub(super) fn waits(alert: &Alert) -> bool {
    let unseen = matches!(alert.state, AlertState::Active | AlertState::Silenced);
    unseen && alert.priority < Priority::Caution
}

/// Somebody has seen an alert.
pub(super) async fn acknowledge(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let (alert, cause) = named(&fields);
    let acted = helm
        .act(&fields, move |state, _, now| {
            decide::acknowledge(state, &alert, &cause, now)
        })
        .await?;
    after(helm, acted).await
}

/// Thirty seconds of quiet.
pub(super) async fn quiet(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let (alert, cause) = named(&fields);
    let acted = helm
        .act(&fields, move |state, _, now| {
            decide::quiet(state, &alert, &cause, now)
        })
        .await?;
    after(helm, acted).await
}

fn named(fields: &Fields) -> (String, String) {
    (
        fields.typed("alert").to_owned(),
        fields.typed("cause").to_owned(),
    )
}

async fn after(helm: Helm, acted: Acted) -> Result<Response, Error> {
    match acted {
        Acted::Done(_) => Ok(helm.to("alerts")),
        Acted::Refused(faults) => draw(&helm.again().await?, faults),
    }
}
