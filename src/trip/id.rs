//! Identities: which trip, person, group, device, crew member, event. None says an order.

use std::fmt;

use serde::{Deserialize, Serialize};
use uuid::Uuid;

macro_rules! identity {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(Uuid);

        impl $name {
            /// Names an identity made elsewhere.
            #[must_use]
            pub const fn new(id: Uuid) -> Self {
                Self(id)
            }

            /// The plain number.
            #[must_use]
            pub const fn uuid(self) -> Uuid {
                self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl std::str::FromStr for $name {
            type Err = uuid::Error;
            fn from_str(text: &str) -> Result<Self, uuid::Error> {
                Uuid::parse_str(text).map(Self)
            }
        }
    };
}

identity!(/** One trip, quay to quay. */ TripId);
identity!(/** One event of a log. */ EventId);
identity!(/** One person of a roster; the same in the register. */ PersonId);
identity!(/** One group of one dive. */ GroupId);
identity!(/** One device that writes; a device that lost its storage gets a new one. */ DeviceId);
identity!(/** One crew account. */ CrewId);
identity!(/** One boat. */ BoatId);
identity!(/** One site. */ SiteId);
