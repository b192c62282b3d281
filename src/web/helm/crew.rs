//! Who and what is let in: codes for new devices, shutting lost ones out, new crew accounts.

use std::collections::BTreeSet;

use askama::Template;
use axum::response::Response;

use super::bridge::{Helm, Piece, Tap};
use crate::store::crew::{CrewError, Device, DeviceKind};
use crate::trip::DeviceId;
use crate::trip::event::Role;
use crate::web::accounts::{self, ROLES};
use crate::web::error::Error;
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::html;
use crate::web::parts::{Choice, FieldFault, Weight};

struct Known {
    name: String,
    kind: String,
    note: String,
    revoke: Option<Tap>,
}

#[derive(Template)]
#[template(path = "helm/devices.html")]
struct DevicesPage {
    frame: Frame,
    code: String,
    until: String,
    new: Tap,
    devices: Vec<Known>,
}

/// The devices.
pub(super) async fn devices_page(helm: Helm) -> Result<Response, Error> {
    draw(&helm, String::new(), String::new()).await
}

async fn draw(helm: &Helm, code: String, until: String) -> Result<Response, Error> {
    let devices = helm.app.store().devices().await?;
    let mut frame = helm.still_frame(&[]);
    if !code.is_empty() {
        // A code is shown once: nothing fetches this page again by itself.
        frame.live = None;
    }
    html(&DevicesPage {
        frame,
        code,
        until,
        new: helm.tap("helm-new-device", "devices/code", Weight::Primary),
        devices: devices.iter().map(|device| known(helm, device)).collect(),
    })
}

fn known(helm: &Helm, device: &Device) -> Known {
    let kind = helm.t.say(match device.kind {
        DeviceKind::Helm => "way-helm",
        DeviceKind::Deck => "way-deck",
        DeviceKind::Desk => "way-desk",
    });
    let own = device.id == helm.crew.0.device;
    let note = match device.revoked_at {
        Some(at) => helm.say("helm-shut-out-since", &[("at", helm.aged(at).into())]),
        None if own => helm.t.say("helm-this-device"),
        None => String::new(),
    };
    let page = format!("devices/{}", device.id);
    Known {
        name: device.name.clone(),
        kind,
        note,
        revoke: (device.revoked_at.is_none() && !own).then(|| {
            helm.go("helm-shut-out", &page, Weight::Plain)
                .noted(&device.name)
        }),
    }
}

/// Makes a code that lets one device in.
pub(super) async fn code(helm: Helm) -> Result<Response, Error> {
    let made = helm
        .app
        .store()
        .enrolment_code(Some(helm.crew.0.crew))
        .await?;
    let until = helm.time(made.expires);
    let (first, second) = made.digits.split_at(4);
    draw(&helm, format!("{first} {second}"), until).await
}

async fn device(helm: &Helm) -> Result<Device, Error> {
    let id: DeviceId = helm.part("device")?;
    let devices = helm.app.store().devices().await?;
    devices
        .into_iter()
        .find(|device| device.id == id)
        .ok_or(Error::NotFound)
}

/// Shutting a device out: asked again.
pub(super) async fn revoke_page(helm: Helm) -> Result<Response, Error> {
    let device = device(&helm).await?;
    let title = helm.say("helm-shut-out-title", &[("device", (&device.name).into())]);
    let mut page = helm.form(
        title,
        &format!("devices/{}", device.id),
        "helm-shut-out",
        Vec::new(),
    );
    page.said = vec![helm.t.say("helm-shut-out-how")];
    page.send.weight = Weight::Grave;
    page.back = helm.url("devices");
    page.draw()
}

/// Shuts a device out.
pub(super) async fn revoke(helm: Helm) -> Result<Response, Error> {
    let device = device(&helm).await?;
    helm.app
        .store()
        .revoke_device(device.id, Some(helm.crew.0.crew))
        .await?;
    helm.app.presence().write_off(device.id);
    Ok(helm.to("devices"))
}

/// Crew accounts: who there is, and the form for a new one.
pub(super) async fn crew_page(helm: Helm) -> Result<Response, Error> {
    draw_crew(&helm, &Fields::default(), Vec::new()).await
}

async fn draw_crew(
    helm: &Helm,
    fields: &Fields,
    faults: Vec<FieldFault>,
) -> Result<Response, Error> {
    let t = helm.t;
    let mut page = helm.form(t.say("helm-accounts"), "crew", "helm-add-account", faults);
    page.said = helm
        .app
        .store()
        .list_crew()
        .await?
        .into_iter()
        .filter(|one| one.active)
        .map(|one| {
            let mut roles: Vec<String> = ROLES
                .iter()
                .filter(|(_, role, _)| one.allowed.roles.contains(role))
                .map(|(_, _, key)| t.say(key))
                .collect();
            roles.extend(one.allowed.owner.then(|| t.say("role-owner")));
            roles.extend(one.allowed.is_display().then(|| t.say("role-display")));
            format!("{}: {}", one.name, roles.join(", "))
        })
        .collect();
    let roles = ROLES
        .iter()
        .map(|(value, _, key)| Choice {
            value: (*value).to_owned(),
            label: t.say(key),
            note: String::new(),
            chosen: fields.all("role").any(|typed| typed == *value),
        })
        .collect();
    page.pieces = vec![
        Piece::text("name", t.say("helm-account-name"), fields),
        Piece::checks("role", t.say("helm-account-roles"), roles),
        Piece::secret("pin", t.say("helm-account-pin")).hinted(t.say("helm-account-pin-hint")),
    ];
    page.back = helm.url("trip");
    page.draw()
}

/// Adds an account.
pub(super) async fn add(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let name = fields.text("name", 80);
    let roles: Option<BTreeSet<Role>> = fields
        .all("role")
        .map(|typed| ROLES.iter().find(|(word, _, _)| *word == typed))
        .map(|found| found.map(|(_, role, _)| *role))
        .collect();
    let roles = roles.filter(|roles| !roles.is_empty());
    if roles.is_none() {
        fields.fault("role", "fault-choose", &[]);
    }
    let pin = accounts::pin(&fields, "pin");
    if let (Some(name), Some(roles), Some(pin)) = (name, roles, pin) {
        match helm.app.store().add_crew(&name, &roles, &pin).await {
            Ok(_) => return Ok(helm.to("crew")),
            Err(CrewError::NameTaken) => fields.fault("name", "fault-name-taken", &[]),
            Err(CrewError::NoName) => fields.fault("name", "fault-empty", &[]),
            Err(CrewError::NoSuchCrew) => fields.fault("main", "fault-choose", &[]),
            Err(CrewError::Store(error)) => return Err(error.into()),
        }
    }
    let faults = fields.faults();
    draw_crew(&helm, &fields, faults).await
}
