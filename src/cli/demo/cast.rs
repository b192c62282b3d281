//! The drill's cast: an invented boat, place and people.

use std::collections::BTreeSet;

use anyhow::Context as _;
use jiff::ToSpan as _;
use jiff::tz::TimeZone;
use serde_json::{Value, json};

use crate::dive::pressure::Column;
use crate::sea::position::Position;
use crate::store::Store;
use crate::store::crew::{Allowed, DeviceKind, Pin};
use crate::store::register::{Boat, Contact, EmergencyCard, Equipment, Person, Site, key};
use crate::trip::event::{
    Activity, ApproachSide, Boarding, BoatSheet, By, CrewId, DeviceId, Fitness, PersonCard,
    PersonId, Role, SiteSheet,
};
use crate::trip::{BoatId, SiteId};
use crate::units::{Depth, Distance};

/// Reference position of the site, in open ocean where no such place is.
const BANK: (f64, f64) = (-127.45, 3.2);
/// The zone of the drill.
pub const ZONE: &str = "Etc/GMT+8";

/// Divers in the order of the groups, four to a group.
const DIVERS: &[&str] = &[
    "Ada Lindqvar",
    "Mirel Tanaq",
    "Joss Ferrow",
    "Ondine Sael",
    "Pell Marrin",
    "Ivo Castrane",
    "Noor Vashti",
    "Tilda Brekke",
    "Rafe Olumide",
    "Sanna Koivu",
    "Dario Pellucid",
    "Wren Achterberg",
    "Kei Morinaga",
    "Lotte Vanderzee",
    "Amadou Sarr",
    "Brisa Quell",
    "Hana Ilves",
    "Corin Dray",
    "Petra Novakova",
    "Yusuf Demirel",
    "Zola Mbatha",
    "Erik Halvard",
    "Mina Jovane",
    "Otis Crane",
    "Freya Lunde",
    "Santo Varga",
    "Leila Amari",
    "Bram Teller",
    "Ines Caldeira",
    "Tomas Rehn",
    "Ruth Abara",
    "Felix Oduya",
    "Greta Solheim",
    "Nils Ekman",
    "Carys Penhale",
    "Matteo Rusk",
    "Dana Whitlock",
    "Suri Patwa",
    "Gabe Lorne",
    "Elin Strand",
    "Yara Haddam",
    "Piet Lomas",
    "Vera Antonova",
    "Luca Ferrante",
];
/// Who stays at the surface or dry.
const OTHERS: &[(&str, Activity)] = &[
    ("Moss Hartigan", Activity::Snorkeller),
    ("Juno Hartigan", Activity::Snorkeller),
    ("Agnes Thorne", Activity::Passenger),
];

/// A crew member of the drill with a device.
#[derive(Debug, Clone)]
pub struct Hand {
    /// The account.
    pub crew: CrewId,
    /// The name.
    pub name: String,
    /// The role acted in.
    pub role: Role,
    /// The device used.
    pub device: DeviceId,
}

impl Hand {
    /// The signature under an event.
    pub fn by(&self) -> By {
        By {
            crew: self.crew,
            name: self.name.clone(),
            role: self.role,
        }
    }
}

/// Everybody and everything of the drill.
#[derive(Debug, Clone)]
pub struct Cast {
    /// At the helm.
    pub skipper: Hand,
    /// On deck.
    pub divemaster: Hand,
    /// On deck, with a second phone.
    pub second: Hand,
    /// Ashore.
    pub desk: Hand,
    /// The boat.
    pub boat: BoatSheet,
    /// The site.
    pub site: SiteSheet,
    /// The roster.
    pub roster: Vec<(PersonId, PersonCard)>,
}

impl Cast {
    /// Puts everybody into the register.
    pub async fn enter(store: &Store, pin: &Pin) -> anyhow::Result<Self> {
        store
            .set_setting(key::CENTRE, &"Callow Islands Diving")
            .await?;
        store.set_setting(key::TIME_ZONE, &ZONE).await?;
        let skipper = hand(
            store,
            "Ilka Voss",
            Role::Skipper,
            DeviceKind::Helm,
            "Helm tablet",
            pin,
        )
        .await?;
        let divemaster = hand(
            store,
            "Tam Orrin",
            Role::Divemaster,
            DeviceKind::Deck,
            "Deck phone 1",
            pin,
        )
        .await?;
        let second = hand(
            store,
            "Bryn Sable",
            Role::Divemaster,
            DeviceKind::Deck,
            "Deck phone 2",
            pin,
        )
        .await?;
        let desk = hand(
            store,
            "Ressa Vane",
            Role::Desk,
            DeviceKind::Desk,
            "Desk",
            pin,
        )
        .await?;
        let boat = boat(store);
        store
            .save_boat(&Boat {
                sheet: boat.clone(),
                mmsi: None,
                radio: Some("VHF 16 and 72".into()),
            })
            .await?;
        equip(store, boat.id).await?;
        let site = enter_site(store).await?;
        let mut roster = Vec::new();
        for (nth, name) in DIVERS.iter().enumerate() {
            let (level, limit) = if nth % 8 < 4 {
                ("Autonomous diver", 20.0)
            } else {
                ("Dive leader", 40.0)
            };
            roster.push(card(store, name, Activity::Diver, level, Some(limit)).await?);
        }
        for (name, activity) in OTHERS {
            roster.push(card(store, name, *activity, "", None).await?);
        }
        for (name, level) in [
            ("Ilka Voss", ""),
            ("Tam Orrin", "Dive leader"),
            ("Bryn Sable", "Dive leader"),
        ] {
            let limit = (!level.is_empty()).then_some(40.0);
            roster.push(card(store, name, Activity::Crew, level, limit).await?);
        }
        Ok(Self {
            skipper,
            divemaster,
            second,
            desk,
            boat,
            site,
            roster,
        })
    }

    /// The members of the nth group.
    pub fn group(&self, nth: usize) -> Vec<PersonId> {
        self.roster
            .iter()
            .skip(nth * 4)
            .take(4)
            .map(|(id, _)| *id)
            .collect()
    }
}

async fn hand(
    store: &Store,
    name: &str,
    role: Role,
    kind: DeviceKind,
    device: &str,
    pin: &Pin,
) -> anyhow::Result<Hand> {
    let mut roles = BTreeSet::from([role]);
    if role == Role::Skipper {
        roles.extend([Role::Divemaster, Role::Desk]);
    }
    let allowed = Allowed {
        roles,
        // A small centre: its skipper and its desk answer for it.
        owner: role != Role::Divemaster,
    };
    let crew = store.add_crew(name, allowed, pin).await?;
    let code = store.enrolment_code(None).await?;
    let device = store.enrol_device(&code.digits, device, kind).await?;
    Ok(Hand {
        crew,
        name: name.to_owned(),
        role,
        device: device.device,
    })
}

fn boat(store: &Store) -> BoatSheet {
    BoatSheet {
        id: BoatId::new(store.clock().new_uuid()),
        name: "Brisk Petrel".into(),
        call_sign: "ZZ4BP".into(),
        capacity: 60,
        speed_kn: 6.0,
        boarding_s_per_person: 120,
        approach_s: 120,
        boarding: Boarding::Ladder,
        approach_side: ApproachSide::DownWind,
        emergency_plan: [
            "Sound the recall and count who is up",
            "Mark the datum: last known place and time",
            "Drop a drift marker at the datum",
            "Lookout aloft, search down-current",
            "Call for help by radio, early",
            "Ask other boats to look and to keep clear",
            "Keep oxygen and first aid ready",
            "Tell the desk ashore",
        ]
        .map(String::from)
        .to_vec(),
        recall_signal: Some("Engine revs three times, then a bang on the ladder".into()),
    }
}

async fn enter_site(store: &Store) -> anyhow::Result<SiteSheet> {
    let (lon, lat) = BANK;
    let position = Position::from_degrees(lon, lat)?;
    let chart = chart(position)?;
    let site = Site {
        id: SiteId::new(store.clock().new_uuid()),
        name: "Sorrel Bank, north edge".into(),
        position,
        chart: chart.to_string(),
        stand_off: Distance::from_m(60.0)?,
        time_zone: ZONE.into(),
        notes: "Invented for the drill. Current runs along the edge.".into(),
        water: Column::default(),
        tides: None,
    };
    store.save_site(&site).await?;
    let now = store.clock().now();
    Ok(site.sheet(now, now)?)
}

/// A reef to the south, a rock to the east, two zones off the edge, one mooring.
fn chart(centre: Position) -> anyhow::Result<Value> {
    let at = |east: f64, north: f64| -> anyhow::Result<[f64; 2]> {
        let (course, length) = (east.atan2(north).to_degrees(), east.hypot(north));
        Ok(centre.along(course, length)?.into())
    };
    let ring = |places: &[(f64, f64)]| -> anyhow::Result<Value> {
        let mut ring = places
            .iter()
            .map(|(e, n)| at(*e, *n))
            .collect::<anyhow::Result<Vec<_>>>()?;
        ring.extend(ring.first().copied());
        Ok(json!({"type": "Polygon", "coordinates": [ring]}))
    };
    let area = |kind: &str, name: &str, places: &[(f64, f64)]| -> anyhow::Result<Value> {
        Ok(
            json!({"type": "Feature", "properties": {"kind": kind, "name": name}, "geometry": ring(places)?}),
        )
    };
    let mooring = at(0.0, 0.0).context("the mooring")?;
    Ok(json!({"type": "FeatureCollection", "features": [
        area("keep-clear", "Sorrel reef", &[
            (-700.0, -420.0), (650.0, -400.0), (520.0, -170.0), (120.0, -120.0), (-240.0, -190.0), (-610.0, -150.0),
        ])?,
        area("keep-clear", "The Tooth", &[(760.0, 60.0), (830.0, 60.0), (840.0, 140.0), (770.0, 150.0)])?,
        area("pickup-zone", "North zone", &[(-200.0, 220.0), (200.0, 220.0), (200.0, 420.0), (-200.0, 420.0)])?,
        area("pickup-zone", "West zone", &[(-900.0, 100.0), (-650.0, 100.0), (-650.0, 300.0), (-900.0, 300.0)])?,
        {"type": "Feature", "properties": {"kind": "mooring", "name": "Edge mooring"},
         "geometry": {"type": "Point", "coordinates": mooring}},
    ]}))
}

/// What the invented boat has aboard, all of it looked at, and whom to call from her.
async fn equip(store: &Store, boat: BoatId) -> anyhow::Result<()> {
    let today = store.clock().now().to_zoned_datetime(TimeZone::UTC).date();
    let checked = today.saturating_sub(30_i64.days());
    let things = [
        ("Oxygen kit", 1, "Locker by the helm", 150),
        ("First aid kit", 2, "Locker by the helm", 150),
        ("Throw line", 2, "Transom", 60),
        ("Flag A", 1, "Mast", 150),
        ("Spare cylinder on a line", 1, "Port rack", 25_i64),
    ];
    let things = things.map(|(name, count, place, days)| Equipment {
        id: store.clock().new_uuid(),
        boat,
        name: name.to_owned(),
        count,
        place: place.to_owned(),
        due: Some(today.saturating_add(days.days())),
        checked: Some((checked, "Ressa Vane".to_owned())),
    });
    store.add_equipment(boat, &things).await?;
    let card = EmergencyCard {
        channel: "VHF 16".to_owned(),
        numbers: "Rescue centre +00 555 0100\nHarbour +00 555 0101".to_owned(),
        chamber: "Invented Island Hospital, +00 555 0102, asked before".to_owned(),
        evacuation: "Harbour steps, north side".to_owned(),
        told_on: checked,
        told_by: "Ressa Vane".to_owned(),
    };
    store.save_emergency_card(boat, &card).await?;
    Ok(())
}

async fn card(
    store: &Store,
    name: &str,
    activity: Activity,
    level: &str,
    limit: Option<f64>,
) -> anyhow::Result<(PersonId, PersonCard)> {
    let id = PersonId::new(store.clock().new_uuid());
    let depth_limit = limit.map(Depth::from_m).transpose()?;
    store
        .save_person(&Person {
            id,
            name: name.to_owned(),
            level: level.to_owned(),
            depth_limit,
            last_dive: None,
            fitness: Fitness::Cleared,
            breathing: None,
            born: None,
            archived: false,
        })
        .await?;
    let contact = Contact {
        name: format!("Next of kin of {name}"),
        relation: "family".into(),
        telephone: "+000 555 0100".into(),
    };
    store.save_contact(id, &contact).await?;
    let card = PersonCard {
        name: name.to_owned(),
        activity,
        level: level.to_owned(),
        depth_limit_m: depth_limit,
        fitness: Fitness::Cleared,
        last_dive: None,
    };
    Ok((id, card))
}
