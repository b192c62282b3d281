//! Opening sealed contacts on board: people ticked, one reason tapped. Those for whom
//! help would be called are ticked already.

use askama::Template;
use axum::response::Response;

use super::bridge::{Helm, Tap};
use super::handover::in_question;
use crate::store::StoreError;
use crate::store::crew::{AuditKind, Doer};
use crate::trip::decide;
use crate::trip::event::PersonId;
use crate::trip::state::Person;
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::form::Fields;
use crate::web::frame::Frame;
use crate::web::page::{self, html};
use crate::web::parts::{Action, Choice, FieldFault, Weight};
use crate::web::reason;

#[derive(Template)]
#[template(path = "helm/open-contacts.html")]
struct OpenPage {
    frame: Frame,
    key: String,
    /// Whom one tap opens, by name.
    ticked: String,
    persons: Vec<Choice>,
    reasons: Vec<Choice>,
    typed: String,
    send: Action,
    back: Tap,
    faults: Vec<FieldFault>,
}

#[derive(Template)]
#[template(path = "helm/contacts.html")]
struct ContactsPage {
    frame: Frame,
    people: Vec<(String, String)>,
    back: Tap,
}

/// Whether a contact is on record for each of these people: all that stands anywhere before it is
/// opened. Whatever is wrong with the store is said, and keeps the rest of a page from nothing.
pub(super) async fn given(helm: &Helm, people: &[&Person]) -> Vec<(String, String)> {
    let found = match helm.app.store().contacts_given().await {
        Ok(found) => Some(found),
        Err(error) => {
            tracing::error!(error = ?error, "it could not be read who gave a contact");
            None
        }
    };
    let mut facts: Vec<(String, String)> = people
        .iter()
        .map(|person| {
            let key = match &found {
                None => "helm-not-known",
                Some(found) if found.contains(&person.id) => "contact-given",
                Some(_) => "contact-none",
            };
            (person.name().to_owned(), helm.t.say(key))
        })
        .collect();
    if let Some(why) = cannot_open(helm).await {
        facts.push((helm.t.say("contact-key-term"), why));
    }
    facts
}

/// What to do about a key file that opens nothing; none if it does.
async fn cannot_open(helm: &Helm) -> Option<String> {
    match helm.app.store().can_open_contacts().await {
        Ok(()) => None,
        Err(error) => Some(told(helm, &error)),
    }
}

fn told(helm: &Helm, error: &StoreError) -> String {
    tracing::error!(error = ?error, "contacts cannot be opened");
    let state = if let StoreError::Sealed(error) = error {
        error.word()
    } else {
        "store"
    };
    helm.say("contact-cannot-open", &[("state", state.into())])
}

/// The form.
pub(super) async fn form(helm: Helm) -> Result<Response, Error> {
    draw(&helm, &Fields::default(), Vec::new()).await
}

async fn draw(helm: &Helm, fields: &Fields, faults: Vec<FieldFault>) -> Result<Response, Error> {
    // Not all who are under: on most days that is everybody, and nobody asks for their contacts.
    let asked = in_question(helm);
    let is_asked = |p: &&Person| asked.iter().any(|asked| asked.id == p.id);
    let rest = helm.state().people.values().filter(|p| !is_asked(p));
    let mut persons = helm.people_choices(asked.iter().copied().chain(rest), "persons", fields);
    if fields.pairs().is_empty() {
        // Nobody has to look for the names of those who are being called about.
        for choice in persons.iter_mut().take(asked.len()) {
            choice.chosen = true;
        }
    }
    let names: Vec<&str> = persons
        .iter()
        .filter(|choice| choice.chosen)
        .map(|choice| choice.label.as_str())
        .collect();
    let ticked = if names.is_empty() {
        helm.t.say("helm-contacts-nobody")
    } else {
        helm.say("helm-contacts-tap", &[("names", names.join(", ").into())])
    };
    let mut faults = faults;
    super::bridge::lead_to(&mut faults, &["persons", reason::TYPED]);
    let sound = faults.is_empty();
    page::answered(
        &OpenPage {
            frame: helm.still_frame(&faults),
            key: cannot_open(helm).await.unwrap_or_default(),
            ticked,
            persons,
            reasons: reason::choices(fields, helm.t),
            typed: fields.typed(reason::TYPED).to_owned(),
            send: helm
                .tap("helm-open-contacts", "handover/contacts", Weight::Primary)
                .action,
            back: helm.go("helm-handover", "handover", Weight::Plain),
            faults,
        },
        sound,
    )
}

/// Opens the contacts of people ticked by name. That it was done, by whom and why stands in the
/// trip's log and in the box's own record before anything is shown.
pub(super) async fn open(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let persons = fields.parsed_all::<PersonId>("persons");
    if let Some(ids) = &persons {
        if ids.is_empty() {
            fields.fault("persons", "refused-nobody", &[]);
        }
        if !ids.iter().all(|id| helm.state().people.contains_key(id)) {
            fields.fault("persons", "refused-not-on-roster", &[]);
        }
    }
    let reason = reason::read(&fields, helm.t);
    let (Some(persons), Some(reason), true) = (persons, reason, fields.is_sound()) else {
        return draw(&helm, &fields, fields.faults()).await;
    };
    let note = helm.say("helm-contacts-opened", &[("reason", (&reason).into())]);
    let about = persons.clone();
    let acted = helm
        .act(&fields, move |state, _, _| {
            decide::incident(state, about.clone(), &note)
        })
        .await?;
    if let Acted::Refused(faults) = acted {
        return draw(&helm.again().await?, &fields, faults).await;
    }
    let store = helm.app.store();
    let by = Doer {
        who: Some(helm.crew.0.crew),
        device: Some(helm.crew.0.device),
    };
    let what = format!("opened the contact on trip {}: {reason}", helm.trip.trip);
    store
        .audit_people(by, AuditKind::ContactOpened, persons.clone(), &what)
        .await?;
    let mut people = Vec::new();
    for id in persons {
        let name = helm
            .state()
            .people
            .get(&id)
            .map_or_else(|| helm.t.say("helm-not-known"), |p| p.name().to_owned());
        let contact = match store.contact(id).await {
            Ok(Some(contact)) => {
                let args = [
                    ("name", contact.name.into()),
                    ("relation", contact.relation.into()),
                    ("telephone", contact.telephone.into()),
                ];
                helm.say("helm-contact", &args)
            }
            Ok(None) => helm.t.say("contact-none"),
            // The others are shown all the same.
            Err(error) => told(&helm, &error),
        };
        people.push((name, contact));
    }
    html(&ContactsPage {
        frame: helm.still_frame(&[]),
        people,
        back: helm.go("helm-handover", "handover", Weight::Plain),
    })
}
