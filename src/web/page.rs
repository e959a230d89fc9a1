//! What every page carries besides its own matter.
use super::{session::Actor, statics};
use crate::{domain::user::Role, texts::Language};

/// A line of the navigation.
#[derive(Debug, Clone)]
pub struct NavItem {
    pub label: String,
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
    /// Doors behind the last one, which opens them.
    pub more: Vec<NavItem>,
    pub notice: Option<String>,
    pub company: String,
    /// What the page's frame is written in: the office's pages are English.
    pub language: Language,
}

/// The doors of the office, then those of the field.
const OFFICE: [(&str, &str); 6] = [
    ("Due", "/due"),
    ("Weeks", "/plans"),
    ("Visits", "/visits"),
    ("Customers", "/customers"),
    ("Sites", "/sites"),
    ("Records", "/records"),
];
/// What is needed less often, so that all doors stand in one line.
const OFFICE_MORE: [(&str, &str); 4] =
    [("Reminders", "/reminders"), ("Products", "/products"), ("Filings", "/filings"), ("People", "/people")];
/// By the names of their texts.
const FIELD: [(&str, &str); 3] =
    [("nav-visits", "/visits"), ("nav-products", "/products"), ("nav-account", "/account")];

impl Page {
    /// A page of this title in the part of the house that `at` names (an address of the navigation).
    #[must_use]
    pub fn of(actor: &Actor, title: impl Into<String>, at: &str) -> Self {
        let field = actor.role == Role::Technician;
        let language = actor.reads();
        let doors: &[(&'static str, &'static str)] = if field { &FIELD } else { &OFFICE };
        let behind: &[(&'static str, &'static str)] = if field { &[] } else { &OFFICE_MORE };
        let words = |name: &str| if field { language.say(name) } else { name.to_owned() };
        let door = |&(name, href): &(&'static str, &'static str)| NavItem {
            label: words(name),
            href,
            current: href == at,
        };
        Self {
            title: language.said(&title.into()),
            csrf: actor.csrf.clone(),
            css: statics::css(),
            nav: doors.iter().map(door).collect(),
            more: behind.iter().map(door).collect(),
            notice: actor.notice.as_deref().map(|words| language.said(words)),
            company: actor.company.clone(),
            language,
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
            more: vec![],
            notice: None,
            company: "Plantward".into(),
            language: Language::English,
        }
    }

    /// A page without a person, in the language that their browser asks for.
    #[must_use]
    pub fn open(title: &str, language: Language) -> Self {
        Self { language, ..Self::new(&language.say(title)) }
    }

    /// Whether it is read on a technician's phone.
    #[must_use]
    pub fn is_field(&self) -> bool {
        self.actor.as_ref().is_some_and(|a| a.role == Role::Technician)
    }

    /// Whether its reader is the owner.
    #[must_use]
    pub fn is_owner(&self) -> bool {
        self.actor.as_ref().is_some_and(|a| a.role == Role::Owner)
    }

    /// The time zone in which its times are written.
    #[must_use]
    pub fn zone(&self) -> &chrono_tz::Tz {
        self.actor.as_ref().map_or(&chrono_tz::UTC, |a| &a.time_zone)
    }

    /// What marks label texts in a page of another language: they stay as the signed label gives them.
    #[must_use]
    pub fn label_tongue(&self) -> &'static str {
        if self.language == Language::English { "" } else { " lang=\"en\"" }
    }

    /// The person's role in words.
    #[must_use]
    pub fn role(&self) -> String {
        match &self.actor {
            Some(actor) if self.is_field() => self.say(&format!("role-{}", actor.role.code())),
            Some(actor) => actor.role_label().to_owned(),
            None => String::new(),
        }
    }

    /// A text of the page's frame.
    #[must_use]
    pub fn say(&self, name: &str) -> String {
        self.language.say(name)
    }

    /// The address of the script beside a technician's pages; they work without it.
    #[must_use]
    pub fn door(&self) -> String {
        statics::field("door.js")
    }

    /// The address of the icon.
    #[must_use]
    pub fn icon(&self) -> &'static str {
        statics::icon()
    }
}
