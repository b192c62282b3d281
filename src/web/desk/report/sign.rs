//! The sign-off: who signed the report, what seals the record, what came after; and the two forms
//! of the divemaster and the skipper.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use crate::trip::TripId;
use crate::trip::decide::{self, Decided, Sign};
use crate::trip::event::{Entry, Fact, Role, SignedOver};
use crate::trip::state::State as TripState;
use crate::web::act::{Acted, act, identity};
use crate::web::app::App;
use crate::web::desk::Here;
use crate::web::error::Error;
use crate::web::extract::{Crew, Path};
use crate::web::form::Fields;
use crate::web::page::Asked;
use crate::web::record::{Record, SealLine, SignatureLine, reckoned};

/// The sign-off as the page shows it.
pub(super) struct Block {
    /// How it stands, in a sentence.
    pub state: String,
    pub sealed: bool,
    /// Signatures and seals, a line each.
    pub lines: Vec<String>,
    /// Whose signatures are missing.
    pub missing: Vec<String>,
    /// What came after the last seal.
    pub after: Vec<String>,
    /// Why nobody can sign yet.
    pub cannot: Vec<String>,
    /// The name of the button, where the viewer can sign.
    pub sign: Option<String>,
    /// Whether the viewer can seal what both have signed.
    pub seal: bool,
    /// The chain of the seal that stands.
    pub chain: String,
    /// Lines to sign on paper.
    pub paper: Vec<String>,
}

impl Block {
    /// Whether the viewer has a form to fill.
    pub(super) fn can_act(&self) -> bool {
        self.sign.is_some() || self.seal
    }
}

fn role_key(role: Role) -> &'static str {
    match role {
        Role::Desk => "role-desk",
        Role::Divemaster => "role-divemaster",
        Role::Skipper => "role-skipper",
    }
}

/// The sign-off for this viewer.
pub(super) fn block(here: &Here, crew: &Crew, record: &Record) -> Block {
    let (t, of) = (here.t, &record.sign_off);
    let signed = &here.snap.state.sign_off;
    let key = if of.sealed {
        "record-sealed"
    } else if signed.seal().is_some() {
        // A seal stands, and the log is not what was sealed, or the record is not ready.
        "record-does-not-hold"
    } else if signed.last_seal().is_some() {
        "record-after-seal"
    } else if of.missing.len() < 2 {
        "record-half-signed"
    } else {
        "record-not-signed"
    };
    let by = crew.by();
    let works = matches!(by.role, Role::Divemaster | Role::Skipper);
    let ready = works && of.cannot_sign.is_empty() && signed.seal().is_none();
    let role = t.say(role_key(by.role));
    let may_sign = ready && of.missing.contains(&by.role);
    let lines = of
        .signatures
        .iter()
        .map(|one| signature_line(here, one))
        .chain(of.seals.iter().map(|one| seal_line(here, one)))
        .collect();
    Block {
        state: t.say(key),
        sealed: of.sealed,
        lines,
        missing: of
            .missing
            .iter()
            .map(|role| t.say_with("record-missing", &[("role", t.say(role_key(*role)).into())]))
            .collect(),
        after: of
            .after
            .iter()
            .map(|one| {
                let what = if Fact::KINDS.contains(&one.kind.as_str()) {
                    t.say(&format!("told-{}", one.kind))
                } else {
                    t.say("log-unread")
                };
                let args = [
                    ("what", what.into()),
                    ("n", i64::try_from(one.entry).unwrap_or(0).into()),
                    ("by", (&one.by).into()),
                    ("at", here.time(one.at).into()),
                ];
                t.say_with("record-after-line", &args)
            })
            .collect(),
        cannot: of.cannot_sign.clone(),
        sign: may_sign.then(|| t.say_with("record-sign-send", &[("role", role.into())])),
        seal: ready && of.missing.is_empty(),
        chain: signed
            .seal()
            .map_or_else(String::new, |seal| seal.over.chain.clone()),
        paper: of
            .missing
            .iter()
            .map(|role| t.say_with("record-paper", &[("role", t.say(role_key(*role)).into())]))
            .collect(),
    }
}

fn signature_line(here: &Here, one: &SignatureLine) -> String {
    let t = here.t;
    let key = match (one.holds, one.stands) {
        (false, _) => "record-signature-broken",
        (true, true) => "record-signature",
        (true, false) => "record-signature-past",
    };
    let args = [
        ("role", t.say(role_key(one.role)).into()),
        ("by", (&one.by).into()),
        ("at", here.day_and_time(one.at).into()),
        ("n", i64::try_from(one.over_entry).unwrap_or(0).into()),
    ];
    t.say_with(key, &args)
}

fn seal_line(here: &Here, one: &SealLine) -> String {
    let key = match (one.holds, one.lacks.is_empty()) {
        (false, _) => "record-seal-broken",
        (true, true) => "record-seal",
        (true, false) => "record-seal-lacks",
    };
    let args = [
        ("by", (&one.by).into()),
        ("at", here.day_and_time(one.at).into()),
        ("n", i64::try_from(one.over_entry).unwrap_or(0).into()),
        (
            "chain",
            one.chain.chars().take(8).collect::<String>().into(),
        ),
    ];
    here.t.say_with(key, &args)
}

/// What the author of a form has before him: the log up to the entry that his page showed.
async fn over(app: &App, here: &Here, fields: &Fields) -> Result<SignedOver, Error> {
    let token = fields.typed("knows");
    let entry: u64 = token
        .split_once('-')
        .and_then(|(entry, _)| entry.parse().ok())
        .ok_or(Error::StalePage)?;
    let knows = app.store().vector_at(here.trip, entry).await?;
    reckoned(here.trip, &here.snap.entries)
        .over(entry, &knows)
        .ok_or(Error::StalePage)
}

type Rule = fn(&TripState, &[Entry], &Sign) -> Decided;

/// Signs the report in the author's own role.
pub async fn sign(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
    fields: Fields,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    if !fields.ticked("read") {
        fields.fault("read", "record-read-first", &[]);
        let faults = fields.faults();
        return super::draw(&app, &asked, &crew, &here, &fields, faults).await;
    }
    put(&app, &asked, &crew, here, &fields, decide::sign).await
}

/// Seals what both have signed.
pub async fn seal(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Path(trip): Path<TripId>,
    fields: Fields,
) -> Result<Response, Error> {
    let here = Here::load(&app, trip).await?;
    put(&app, &asked, &crew, here, &fields, decide::seal).await
}

async fn put(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    here: Here,
    fields: &Fields,
    rule: Rule,
) -> Result<Response, Error> {
    let sign = Sign {
        over: over(app, &here, fields).await?,
        by: crew.by(),
        id: identity(fields)?,
    };
    let trip = here.trip;
    let decided = move |state: &TripState, log: &[Entry], _| rule(state, log, &sign);
    match act(app, crew, trip, fields, decided).await? {
        Acted::Done(_) => {
            Ok(Redirect::to(&format!("/desk/{trip}/report#sign-off")).into_response())
        }
        Acted::Refused(why) => {
            let here = Here::load(app, trip).await?;
            super::draw(app, asked, crew, &here, fields, why).await
        }
    }
}
