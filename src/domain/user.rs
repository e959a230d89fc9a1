//! People, what they may do, and the certifications that some acts need.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// What a person is in the company.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// Runs the company.
    Owner,
    /// Plans, files and speaks with customers.
    Office,
    /// Treats plants.
    Technician,
}

impl Role {
    /// Every role.
    pub const ALL: [Self; 3] = [Self::Owner, Self::Office, Self::Technician];

    /// The code used in the database and in forms.
    pub fn code(self) -> &'static str {
        match self {
            Self::Owner => "owner",
            Self::Office => "office",
            Self::Technician => "technician",
        }
    }

    /// The role of that code.
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.code() == code)
    }

    /// Invite people, set roles, close accounts.
    pub fn may_manage_people(self) -> bool {
        self == Self::Owner
    }

    /// Change the company's own data and settings.
    pub fn may_manage_company(self) -> bool {
        self == Self::Owner
    }

    /// See and set prices.
    pub fn may_see_prices(self) -> bool {
        self != Self::Technician
    }

    /// Create, change and retire customers and sites.
    pub fn may_manage_customers(self) -> bool {
        self != Self::Technician
    }

    /// Add and measure plants; a technician does so on the spot.
    pub fn may_manage_plants(self) -> bool {
        true
    }

    /// Enter products and label versions (signing them is another matter).
    pub fn may_enter_products(self) -> bool {
        self != Self::Technician
    }

    /// Book and move visits.
    pub fn may_plan(self) -> bool {
        self != Self::Technician
    }

    /// Record an application. A fact may come from anybody who was there.
    pub fn may_record(self) -> bool {
        true
    }

    /// Amend an application record: the applicator their own, others any.
    pub fn may_amend(self, own: bool) -> bool {
        own || self != Self::Technician
    }

    /// See the application log of the whole company and export it.
    pub fn may_see_log(self) -> bool {
        self != Self::Technician
    }

    /// Prepare filings and mark them as filed.
    pub fn may_file(self) -> bool {
        self != Self::Technician
    }

    /// Read the audit trail.
    pub fn may_see_audit(self) -> bool {
        self == Self::Owner
    }
}

/// A certification of a person by a state.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Certification {
    /// Category, such as `landscape maintenance`, compared without case.
    pub category: String,
    /// Two-letter code of the state.
    pub state: String,
    /// Number of the certificate.
    pub number: String,
    /// First day.
    pub valid_from: NaiveDate,
    /// Last day.
    pub expires_on: NaiveDate,
}

impl Certification {
    /// Does it hold on that day? First and last day count.
    pub fn current_on(&self, day: NaiveDate) -> bool {
        self.valid_from <= day && day <= self.expires_on
    }

    /// Does it hold in that category on that day?
    pub fn covers(&self, category: &str, day: NaiveDate) -> bool {
        self.current_on(day) && self.category.trim().eq_ignore_ascii_case(category.trim())
    }
}

/// May a person with these certifications check a label entry against the
/// label in hand and sign it? Whatever their role, it takes a certification in
/// the category that is current that day. Gives back the one that allows it.
pub fn may_sign_label<'a>(
    certifications: &'a [Certification],
    category: &str,
    day: NaiveDate,
) -> Option<&'a Certification> {
    certifications.iter().find(|one| one.covers(category, day))
}

/// May a person with these certifications answer a flag, or choose the area
/// that caps are counted on? That takes any certification that is current.
pub fn may_answer(certifications: &[Certification], day: NaiveDate) -> Option<&Certification> {
    certifications.iter().find(|one| one.current_on(day))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn certification() -> Certification {
        Certification {
            category: "Landscape maintenance".into(),
            state: "CA".into(),
            number: "QA-000".into(),
            valid_from: day("2025-01-01"),
            expires_on: day("2026-12-31"),
        }
    }

    #[test]
    fn signing_takes_the_category_and_the_day_whatever_the_role() {
        let held = [certification()];
        assert!(may_sign_label(&held, "landscape maintenance", day("2026-12-31")).is_some());
        assert!(may_sign_label(&held, "landscape maintenance", day("2027-01-01")).is_none());
        assert!(may_sign_label(&held, "landscape maintenance", day("2024-12-31")).is_none());
        assert!(may_sign_label(&held, "structural", day("2026-01-01")).is_none());
        assert!(may_answer(&held, day("2025-01-01")).is_some());
        assert!(may_answer(&[], day("2025-01-01")).is_none());
    }

    #[test]
    fn a_technician_records_but_neither_plans_nor_manages() {
        let technician = Role::Technician;
        assert!(technician.may_record() && technician.may_manage_plants());
        assert!(technician.may_amend(true) && !technician.may_amend(false));
        assert!(!technician.may_plan() && !technician.may_see_prices());
        assert!(!technician.may_see_log() && !technician.may_file());
        assert!(!technician.may_manage_customers() && !technician.may_enter_products());
    }

    #[test]
    fn only_the_owner_manages_people() {
        let may: Vec<_> = Role::ALL.into_iter().filter(|r| r.may_manage_people()).collect();
        assert_eq!(may, [Role::Owner]);
        assert!(Role::Owner.may_see_audit() && !Role::Office.may_see_audit());
        assert!(Role::Owner.may_manage_company() && !Role::Office.may_manage_company());
    }

    #[test]
    fn role_codes_read_back() {
        for role in Role::ALL {
            assert_eq!(Role::from_code(role.code()), Some(role));
        }
        assert_eq!(Role::from_code("boss"), None);
    }
}
