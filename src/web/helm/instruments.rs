//! The instruments: what comes in, the last fix with its age, what was refused and why, the
//! beacons heard; and the skipper's word that a beacon is nobody's here.

use askama::Template;
use axum::response::Response;
use jiff::Timestamp;

use super::bridge::{Helm, Piece, Tap};
use super::position::{caution, fixed, live, seconds_ago};
use crate::instruments::{Kind, Link, Received, Refused};
use crate::trip::decide;
use crate::trip::state::Beacon;
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::answered;
use crate::web::parts::{FieldFault, Weight};
use crate::web::view;

struct Heard {
    name: String,
    lines: Vec<String>,
    dismiss: Option<Tap>,
}

struct Row {
    what: String,
    /// How often, and when last.
    count: String,
    sample: String,
}

#[derive(Template)]
#[template(path = "helm/instruments.html")]
struct InstrumentsPage {
    frame: Frame,
    mast: Vec<(String, String)>,
    cautions: Vec<String>,
    facts: Vec<(String, String)>,
    beacons: Vec<Heard>,
    refused: Vec<Row>,
    heard: Vec<Row>,
    shelf: Vec<Tap>,
}

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    let received = helm.app.instruments().look();
    let mut facts: Vec<(String, String)> = received
        .inputs()
        .iter()
        .map(|input| {
            let link = match &input.link {
                Link::Opening => helm.t.say("helm-input-opening"),
                Link::Open => helm.t.say("helm-input-open"),
                Link::Listening { at } => {
                    helm.say("helm-input-listening", &[("at", at.to_string().into())])
                }
                Link::Failed { why } => {
                    helm.say("helm-input-failed", &[("why", why.as_str().into())])
                }
            };
            let heard = input.heard_at.map_or_else(
                || helm.t.say("helm-input-silent"),
                |at| {
                    helm.say(
                        "helm-input-heard",
                        &[("seconds", seconds_ago(&helm, at).into())],
                    )
                },
            );
            (input.source.clone(), format!("{link} {heard}"))
        })
        .collect();
    let fix = received
        .fix()
        .map_or_else(|| live(&helm), |fix| fixed(&helm, fix));
    facts.insert(0, (helm.t.say("helm-fix"), fix));
    facts.extend(super::arm::sounder_facts(&helm));
    let page = InstrumentsPage {
        frame: helm.frame(),
        mast: helm.mast(),
        cautions: cautions(&helm, &received),
        facts,
        beacons: beacons(&helm),
        refused: received
            .refused()
            .map(|(why, tally)| row(&helm, refused(&helm, why), tally))
            .collect(),
        heard: received
            .heard()
            .map(|(kind, tally)| row(&helm, helm.t.say(kind_key(kind)), tally))
            .collect(),
        shelf: vec![
            helm.go("helm-look-again", "instruments", Weight::Plain),
            helm.go("helm-own-position", "position", Weight::Plain),
        ],
    };
    answered(&page, true)
}

fn cautions(helm: &Helm, received: &Received) -> Vec<String> {
    let mut cautions: Vec<String> = Some(caution(helm)).into_iter().collect();
    if let Some(other) = received.differing() {
        let args = [
            ("talker", other.talker.to_string().into()),
            ("metres", view::metres(other.apart_m).into()),
            ("at", helm.aged(other.at).into()),
        ];
        cautions.push(helm.say("helm-receivers-differ", &args));
    }
    cautions.retain(|line| !line.is_empty());
    cautions
}

fn row(helm: &Helm, what: String, tally: &crate::instruments::Tally) -> Row {
    let count = i64::try_from(tally.count).unwrap_or(i64::MAX);
    let args = [
        ("n", count.into()),
        ("seconds", seconds_ago(helm, tally.last_at).into()),
    ];
    Row {
        what,
        count: helm.say("helm-tally", &args),
        sample: tally.sample.clone(),
    }
}

fn kind_key(kind: Kind) -> &'static str {
    match kind {
        Kind::Rmc => "helm-kind-rmc",
        Kind::Gga => "helm-kind-gga",
        Kind::Gll => "helm-kind-gll",
        Kind::Ais => "helm-kind-ais",
        Kind::Other => "helm-kind-other",
    }
}

fn refused(helm: &Helm, why: Refused) -> String {
    let key = match why {
        Refused::NotText => "helm-refused-not-text",
        Refused::TooLong => "helm-refused-too-long",
        Refused::CutShort => "helm-refused-cut-short",
        Refused::Checksum => "helm-refused-checksum",
        Refused::Unsound => "helm-refused-unsound",
        Refused::NoFix => "helm-refused-no-fix",
        Refused::NotMeasured => "helm-refused-not-measured",
        Refused::OutOfRange => "helm-refused-out-of-range",
        Refused::DateOff { said } => {
            let day = |at: Timestamp| view::day(at.to_zoned_datetime(helm.zone()).date());
            let args = [("said", day(said).into()), ("now", day(helm.now).into())];
            return helm.say("helm-refused-date-off", &args);
        }
    };
    helm.t.say(key)
}

/// Every beacon of the log, those that call for help first.
fn beacons(helm: &Helm) -> Vec<Heard> {
    let mut beacons: Vec<(&String, &Beacon)> = helm.state().beacons.iter().collect();
    beacons.sort_by_key(|(_, beacon)| (!beacon.calls_for_help(), beacon.since));
    beacons
        .into_iter()
        .map(|(identity, beacon)| {
            let mut lines = vec![beacon_place(helm, beacon)];
            if !beacon.is_active {
                lines.push(helm.t.say("beacon-in-test"));
            }
            lines.extend(beacon.text.clone());
            let heard = [("at", helm.aged(beacon.heard_at).into())];
            lines.push(helm.say("helm-beacon-heard", &heard));
            if let Some(why) = &beacon.dismissed {
                let args = [
                    ("by", (&why.by).into()),
                    ("reason", (&why.what).into()),
                    ("at", helm.aged(why.at).into()),
                ];
                lines.push(helm.say("helm-beacon-dismissed", &args));
            }
            Heard {
                name: view::beacon_name(beacon.sort, identity, helm.t),
                lines,
                dismiss: dismiss_tap(helm, identity),
            }
        })
        .collect()
}

/// The way to dismiss a beacon, for the skipper while it counts.
pub(super) fn dismiss_tap(helm: &Helm, identity: &str) -> Option<Tap> {
    let beacon = helm.state().beacons.get(identity)?;
    (helm.is_skipper() && beacon.dismissed.is_none()).then(|| {
        let page = format!("beacon/{identity}");
        helm.go("helm-dismiss-beacon", &page, Weight::Plain)
    })
}

/// Where a beacon is, how old that is, and the way there from a position that is not old.
pub(super) fn beacon_place(helm: &Helm, beacon: &Beacon) -> String {
    let Some(place) = &beacon.place else {
        return helm.t.say("helm-beacon-no-place");
    };
    let args = [
        ("place", place.position.to_string().into()),
        ("at", helm.aged(place.at).into()),
    ];
    let key = if place.is_last {
        "helm-beacon-last-at"
    } else {
        "helm-beacon-at"
    };
    let mut said = helm.say(key, &args);
    let boat = helm.state().boat.as_ref();
    if let Some(boat) = boat.filter(|boat| !boat.is_old(helm.now)) {
        let (bearing, metres) = (
            boat.position.bearing_deg(place.position),
            boat.position.distance_m(place.position),
        );
        let args = [
            ("bearing", view::degrees(bearing).into()),
            ("metres", view::metres(metres).into()),
        ];
        said.push(' ');
        said.push_str(&helm.say("helm-beacon-from-boat", &args));
    }
    said
}

/// Dismissing a beacon: the form.
pub(super) async fn dismiss_page(helm: Helm) -> Result<Response, Error> {
    draw_dismiss(&helm, &Fields::default(), Vec::new())
}

fn draw_dismiss(helm: &Helm, fields: &Fields, faults: Vec<FieldFault>) -> Result<Response, Error> {
    let identity: String = helm.part("identity")?;
    let beacon = helm.state().beacons.get(&identity).ok_or(Error::NotFound)?;
    let mut page = helm.form(
        helm.t.say("helm-dismiss-beacon"),
        &format!("beacon/{identity}"),
        "helm-dismiss-beacon",
        faults,
    );
    page.said = vec![
        view::beacon_name(beacon.sort, &identity, helm.t),
        beacon_place(helm, beacon),
    ];
    page.caution = helm.t.say("helm-dismiss-caution");
    page.pieces = vec![
        Piece::lines("reason", helm.t.say("helm-why-not-ours"), fields)
            .hinted(helm.t.say("helm-why-not-ours-hint")),
    ];
    page.back = helm.url("alerts");
    page.draw()
}

/// The skipper's word that a beacon is nobody's here.
pub(super) async fn dismiss(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let Some(reason) = fields.text("reason", 2_000) else {
        return draw_dismiss(&helm, &fields, fields.faults());
    };
    let (identity, role) = (helm.part::<String>("identity")?, helm.crew.by().role);
    let acted = helm
        .act(&fields, move |state, _, _| {
            decide::dismiss_beacon(state, &identity, &reason, role)
        })
        .await?;
    match acted {
        Acted::Done(_) => Ok(helm.to("alerts")),
        Acted::Refused(faults) => draw_dismiss(&helm.again().await?, &fields, faults),
    }
}
