//! The audit: who did what, when, and on which device; narrowed by kind, person and day, a page at
//! a time, and as a file.

use askama::Template;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use serde::Deserialize;

use crate::store::crew::{AuditAsked, AuditKind, AuditRow};
use crate::trip::event::PersonId;
use crate::web::app::App;
use crate::web::error::Error;
use crate::web::export::plain;
use crate::web::extract::{Crew, Query};
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{Asked, answered};
use crate::web::parts::{Choice, FieldFault};
use crate::words::Words;

use super::form::Shown;

/// Lines of a page.
const PAGE: u32 = 100;
/// Most lines of a file.
const MOST_IN_FILE: u32 = 100_000;

/// What is asked for, as the address has it.
#[derive(Debug, Default, Deserialize)]
pub struct Find {
    #[serde(default)]
    kind: String,
    #[serde(default)]
    person: String,
    #[serde(default)]
    day: String,
    #[serde(default)]
    before: String,
}

/// Kinds with their words in addresses and the keys of what people call them.
const KINDS: [(&str, AuditKind, &str); 11] = [
    (
        "contact-opened",
        AuditKind::ContactOpened,
        "audit-kind-contact-opened",
    ),
    ("exported", AuditKind::Exported, "audit-kind-exported"),
    ("erased", AuditKind::Erased, "audit-kind-erased"),
    ("retention", AuditKind::Retention, "audit-kind-retention"),
    ("refused", AuditKind::Refused, "audit-kind-refused"),
    ("sign-in", AuditKind::SignIn, "audit-kind-sign-in"),
    ("account", AuditKind::Account, "audit-kind-account"),
    ("device", AuditKind::Device, "audit-kind-device"),
    ("merged", AuditKind::Merged, "audit-kind-merged"),
    ("consent", AuditKind::Consent, "audit-kind-consent"),
    ("box", AuditKind::Box, "audit-kind-box"),
];

fn kind_of(kind: AuditKind) -> (&'static str, &'static str) {
    KINDS
        .iter()
        .find(|(_, known, _)| *known == kind)
        .map_or(("box", "audit-kind-box"), |(word, _, key)| (*word, *key))
}

#[derive(Template)]
#[template(path = "desk/audit.html")]
struct AuditPage {
    frame: Frame,
    f: Shown,
    kinds: Vec<Choice>,
    /// The person that is asked for, by name.
    person: String,
    rows: Vec<Row>,
    /// Where the lines before these are; none if there are none.
    older: Option<String>,
}

struct Row {
    at: String,
    kind: String,
    /// Whether it stands out: a sealed contact was opened.
    opened: bool,
    who: String,
    device: String,
    person: String,
    what: String,
}

/// Reads what is asked for; what makes no sense is refused beside its field.
fn read(find: &Find, zone: &TimeZone) -> Result<AuditAsked, Vec<FieldFault>> {
    let fields = Fields::of(vec![
        ("kind".to_owned(), find.kind.clone()),
        ("person".to_owned(), find.person.clone()),
        ("day".to_owned(), find.day.clone()),
        ("before".to_owned(), find.before.clone()),
    ]);
    let mut asked = AuditAsked::default();
    if !find.kind.is_empty() {
        let kinds = KINDS.map(|(word, kind, _)| (word, kind));
        asked.kind = fields.word("kind", &kinds);
    }
    if !find.person.is_empty() {
        asked.person = fields.parsed::<PersonId>("person");
    }
    if !find.before.is_empty() {
        asked.before = fields.parsed::<i64>("before");
    }
    if !find.day.is_empty() {
        let bounds = find.day.trim().parse::<Date>().ok().and_then(|day| {
            let begins = |day: Date| {
                let midnight = day.at(0, 0, 0, 0).to_zoned_datetime(zone.clone());
                midnight.ok().map(|zoned| zoned.timestamp())
            };
            Some((begins(day)?, begins(day.tomorrow().ok()?)?))
        });
        match bounds {
            Some((start, end)) => (asked.from, asked.until) = (Some(start), Some(end)),
            None => fields.fault("day", "fault-audit-day", &[]),
        }
    }
    let faults = fields.faults();
    if faults.is_empty() {
        Ok(asked)
    } else {
        Err(faults)
    }
}

fn local(at: Timestamp, zone: &TimeZone) -> String {
    let zoned = at.to_zoned_datetime(zone.clone());
    format!("{} {}", zoned.date(), zoned.strftime("%H:%M:%S"))
}

fn row(line: AuditRow, zone: &TimeZone, t: &Words) -> Row {
    Row {
        at: local(line.at, zone),
        kind: t.say(kind_of(line.kind).1),
        opened: line.kind == AuditKind::ContactOpened,
        who: line
            .who_name
            .or_else(|| line.who.map(|id| id.to_string()))
            .unwrap_or_else(|| t.say("audit-the-box")),
        device: line
            .device_name
            .or_else(|| line.device.map(|id| id.to_string()))
            .unwrap_or_default(),
        person: line
            .person_name
            .or_else(|| line.person.map(|id| id.to_string()))
            .unwrap_or_default(),
        what: line.what,
    }
}

/// The page.
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Query(find): Query<Find>,
) -> Result<Response, Error> {
    let zone = app.centre_zone().await?;
    let (lines, faults) = match read(&find, &zone) {
        Ok(wanted) => (
            app.store().find_audits(&wanted, PAGE + 1).await?,
            Vec::new(),
        ),
        Err(faults) => (Vec::new(), faults),
    };
    draw(&app, &asked, &crew, &find, lines, faults, &zone).await
}

async fn draw(
    app: &App,
    asked: &Asked,
    crew: &Crew,
    find: &Find,
    mut lines: Vec<AuditRow>,
    faults: Vec<FieldFault>,
    zone: &TimeZone,
) -> Result<Response, Error> {
    let page = usize::try_from(PAGE).unwrap_or(usize::MAX);
    let more = lines.len() > page;
    lines.truncate(page);
    let last = lines.last().map(|line| line.id);
    let mut f = Shown::default()
        .with("kind", find.kind.as_str())
        .with("person", find.person.as_str())
        .with("day", find.day.as_str());
    f.faults = faults;
    let mut frame = super::frame(app, asked, crew);
    f.mark(&mut frame);
    let t = frame.t;
    let mut kinds = vec![(String::new(), t.say("audit-kind-any"))];
    kinds.extend(KINDS.map(|(word, _, key)| (word.to_owned(), t.say(key))));
    let person = match find.person.parse::<PersonId>() {
        Ok(id) => app
            .store()
            .person(id)
            .await?
            .map_or_else(|| id.to_string(), |person| person.name),
        Err(_) => String::new(),
    };
    let sound = f.faults.is_empty();
    let page = AuditPage {
        kinds: f.choose("kind", &kinds),
        person,
        rows: lines.into_iter().map(|line| row(line, zone, t)).collect(),
        older: last.filter(|_| more).map(|last| older(find, last)),
        frame,
        f,
    };
    answered(&page, sound)
}

/// The address of the lines before `last`, asked for in the same way.
fn older(find: &Find, last: i64) -> String {
    let query = form_urlencoded::Serializer::new(String::new())
        .append_pair("kind", &find.kind)
        .append_pair("person", &find.person)
        .append_pair("day", &find.day)
        .append_pair("before", &last.to_string())
        .finish();
    format!("/desk/audit?{query}")
}

/// The same lines as a file (RFC 4180). That it was taken is a line of its own.
pub async fn csv(
    State(app): State<App>,
    asked: Asked,
    crew: Crew,
    Query(find): Query<Find>,
) -> Result<Response, Error> {
    let zone = app.centre_zone().await?;
    let wanted = match read(&find, &zone) {
        Ok(wanted) => wanted,
        Err(faults) => return draw(&app, &asked, &crew, &find, Vec::new(), faults, &zone).await,
    };
    let lines = app.store().find_audits(&wanted, MOST_IN_FILE + 1).await?;
    if lines.len() > usize::try_from(MOST_IN_FILE).unwrap_or(usize::MAX) {
        let fault = FieldFault {
            field: "day".to_owned(),
            text: crate::web::language::words().say("fault-audit-much"),
        };
        return draw(&app, &asked, &crew, &find, Vec::new(), vec![fault], &zone).await;
    }
    let what = format!("took {} lines of the audit as a file", lines.len());
    app.store()
        .audit_of(super::doer(&crew), AuditKind::Exported, &what)
        .await?;
    let body = file(lines).map_err(|_| Error::Internal("the file was not written"))?;
    Ok((
        [
            (header::CONTENT_TYPE, "text/csv; charset=utf-8"),
            (
                header::CONTENT_DISPOSITION,
                "attachment; filename=\"audit.csv\"",
            ),
        ],
        body,
    )
        .into_response())
}

/// Every field is quoted, and text that a spreadsheet would take for a formula gets an apostrophe
/// before it, as in the returns.
fn file(lines: Vec<AuditRow>) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::WriterBuilder::new()
        .quote_style(csv::QuoteStyle::Always)
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    writer.write_record([
        "at",
        "kind",
        "who",
        "account",
        "device",
        "person",
        "person_id",
        "what",
    ])?;
    for line in lines {
        writer.write_record([
            line.at.to_string(),
            kind_of(line.kind).0.to_owned(),
            plain(&line.who_name.unwrap_or_default()),
            line.who.map_or_else(String::new, |id| id.to_string()),
            plain(&line.device_name.unwrap_or_default()),
            plain(&line.person_name.unwrap_or_default()),
            line.person.map_or_else(String::new, |id| id.to_string()),
            plain(&line.what),
        ])?;
    }
    writer
        .into_inner()
        .map_err(|failed| csv::Error::from(failed.into_error()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_has_a_word_that_is_its_own() {
        for kind in AuditKind::ALL {
            let word = serde_json::to_value(kind).unwrap();
            assert_eq!(word, kind_of(kind).0);
        }
    }

    #[test]
    fn a_day_is_the_centres_and_what_makes_no_sense_is_named() {
        let zone = TimeZone::get("Pacific/Tahiti").unwrap();
        let find = Find {
            day: "2026-06-01".to_owned(),
            ..Find::default()
        };
        let asked = read(&find, &zone).unwrap();
        // Ten hours west of Greenwich.
        assert_eq!(asked.from.unwrap().to_string(), "2026-06-01T10:00:00Z");
        assert_eq!(asked.until.unwrap().to_string(), "2026-06-02T10:00:00Z");
        let find = Find {
            kind: "' OR 1=1".to_owned(),
            person: "nobody".to_owned(),
            day: "yesterday".to_owned(),
            before: "x".to_owned(),
        };
        let faults = read(&find, &zone).unwrap_err();
        let named: Vec<_> = faults.iter().map(|fault| fault.field.as_str()).collect();
        assert_eq!(named, ["kind", "person", "before", "day"]);
    }
}
