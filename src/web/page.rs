//! What every page carries besides its own matter.
use super::{session::Actor, statics};
use crate::domain::user::Role;

/// A line of the navigation.
#[derive(Debug, Clone)]
pub struct NavItem {
    pub label: &'static str,
    pub href: &'static str,
    pub current: bool,
}

/// The frame of a page for somebody who is signed in.
#[derive(Debug)]
pub struct Page {
    pub title: String,
    pub actor: Option<Actor>,
    pub csrf: String,
    pub css: &'static str,
    pub nav: Vec<NavItem>,
    pub notice: Option<String>,
    pub company: String,
}

/// The doors of the office, then those of the field.
const OFFICE: [(&str, &str); 9] = [
    ("Due", "/due"),
    ("Weeks", "/plans"),
    ("Visits", "/visits"),
    ("Customers", "/customers"),
    ("Sites", "/sites"),
    ("Products", "/products"),
    ("Records", "/records"),
    ("Reports", "/reports"),
    ("People", "/people"),
];
const FIELD: [(&str, &str); 3] =
    [("My visits", "/visits"), ("Products", "/products"), ("My account", "/account")];

impl Page {
    /// A page of this title in the part of the house that `at` names (an address of the navigation).
    #[must_use]
    pub fn of(actor: &Actor, title: impl Into<String>, at: &str) -> Self {
        let doors: &[(&'static str, &'static str)] =
            if actor.role == Role::Technician { &FIELD } else { &OFFICE };
        Self {
            title: title.into(),
            csrf: actor.csrf.clone(),
            css: statics::css(),
            nav: doors.iter().map(|&(label, href)| NavItem { label, href, current: href == at }).collect(),
            notice: actor.notice.clone(),
            company: actor.company.clone(),
            actor: Some(actor.clone()),
        }
    }

    /// A page without a person.
    #[must_use]
    pub fn new(title: &str) -> Self {
        Self {
            title: title.to_owned(),
            actor: None,
            csrf: String::new(),
            css: statics::css(),
            nav: vec![],
            notice: None,
            company: "Plantward".into(),
        }
    }
    /// Whether it is read on a technician's phone.
    #[must_use]
    pub fn is_field(&self) -> bool {
        self.actor.as_ref().is_some_and(|a| a.role == Role::Technician)
    }

    /// The time zone in which its times are written.
    #[must_use]
    pub fn zone(&self) -> &chrono_tz::Tz {
        self.actor.as_ref().map_or(&chrono_tz::UTC, |a| &a.time_zone)
    }

    /// The address of the icon.
    #[must_use]
    pub fn icon(&self) -> &'static str {
        statics::icon()
    }
}
