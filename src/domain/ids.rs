//! Identifiers: one type per noun, so that a plant's id cannot be passed where
//! a site's is wanted. All are UUIDs made by the program or by the phone.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use uuid::Uuid;

macro_rules! id {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub Uuid);

        impl $name {
            /// The UUID itself, for the database.
            pub fn uuid(self) -> Uuid {
                self.0
            }
        }

        impl From<Uuid> for $name {
            fn from(uuid: Uuid) -> Self {
                Self(uuid)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl FromStr for $name {
            type Err = uuid::Error;
            fn from_str(text: &str) -> Result<Self, Self::Err> {
                Uuid::parse_str(text).map(Self)
            }
        }
    )+};
}

id! {
    /// A person with an account.
    PersonId,
    /// A certification of a person.
    CertificationId,
    /// A session of a signed-in person.
    SessionId,
    /// A customer.
    CustomerId,
    /// A site.
    SiteId,
    /// A parcel of land, to which the cap ledger belongs.
    ParcelId,
    /// A plant record.
    PlantId,
    /// A product.
    ProductId,
    /// One version of a product's label.
    LabelVersionId,
    /// One use on a label version.
    LabelUseId,
    /// A visit.
    VisitId,
    /// A planned dose of a visit.
    PlannedDoseId,
    /// An application record.
    RecordId,
    /// One product applied to one plant in an application record.
    RecordItemId,
    /// An amendment to an application record.
    AmendmentId,
    /// A filing owed to a regulator.
    FilingId,
    /// An invitation to open an account.
    InvitationId,
    /// A row of the audit trail.
    AuditId,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_print_and_read_as_plain_uuids() {
        let text = "01890a5d-ac96-774b-bcce-b302099a8057";
        let id: PlantId = text.parse().unwrap();
        assert_eq!(id.to_string(), text);
        assert_eq!(serde_json::to_string(&id).unwrap(), format!("\"{text}\""));
        assert!("plant-1".parse::<PlantId>().is_err());
    }
}
