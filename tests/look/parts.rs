//! The shared parts of every page, rendered with small stand-ins for a page and a form.

use askama::Template;
use plantward::texts::Language;

struct FieldError {
    name: String,
    message: String,
    link: Option<String>,
}

#[derive(Default)]
struct Form {
    values: Vec<(String, String)>,
    errors: Vec<FieldError>,
}

impl Form {
    fn say(&self, name: &str) -> String {
        plantward::texts::Language::English.say(name)
    }

    fn with(pairs: &[(&str, &str)]) -> Self {
        let values = pairs.iter().map(|(n, v)| (n.to_string(), v.to_string())).collect();
        Self { values, errors: Vec::new() }
    }

    fn wrong(mut self, name: &str, message: &str) -> Self {
        self.errors.push(FieldError { name: name.into(), message: message.into(), link: None });
        self
    }

    fn value(&self, name: &str) -> &str {
        self.values.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v)
    }

    fn values(&self, name: &str) -> Vec<&str> {
        self.values.iter().filter(|(n, _)| n == name).map(|(_, v)| v.as_str()).collect()
    }

    fn error(&self, name: &str) -> Option<&str> {
        self.errors.iter().find(|e| e.name == name).map(|e| e.message.as_str())
    }
}

struct Actor {
    name: String,
}

impl Actor {
    fn role_label(&self) -> &'static str {
        "owner"
    }
}

struct NavItem {
    label: String,
    href: String,
    current: bool,
}

struct Page {
    title: String,
    company: String,
    actor: Option<Actor>,
    csrf: String,
    css: &'static str,
    nav: Vec<NavItem>,
    more: Vec<NavItem>,
    notice: Option<String>,
    language: Language,
}

impl Page {
    fn is_field(&self) -> bool {
        false
    }

    fn door(&self) -> &'static str {
        "/static/0000/door.js"
    }

    fn say(&self, name: &str) -> String {
        self.language.say(name)
    }

    fn role(&self) -> &'static str {
        self.actor.as_ref().map_or("", Actor::role_label)
    }

    fn icon(&self) -> &'static str {
        "/static/0000/icon.svg"
    }
}

struct Pager {
    prev: Option<String>,
    next: Option<String>,
    from: usize,
    to: usize,
}

fn page(title: &str) -> Page {
    let item = |label: &str, current| NavItem {
        label: label.into(),
        href: format!("/{}", label.to_lowercase()),
        current,
    };
    Page {
        title: title.into(),
        company: "Bellwether Plant Care".into(),
        actor: Some(Actor { name: "Ida <Marrow>".into() }),
        csrf: "tok\"en".into(),
        css: "/static/app-0000.css",
        nav: vec![item("Due", true), item("Customers", false)],
        more: vec![item("Filings", false), item("People", false)],
        notice: None,
        language: Language::English,
    }
}

fn options() -> Vec<(String, String)> {
    vec![("shrub".into(), "Shrub".into()), ("tree".into(), "Tree".into())]
}

#[derive(Template)]
#[template(
    ext = "html",
    source = r#"{% extends "layout.html" %}{% import "macros.html" as m %}
{% block main %}<form method="post">{{ m::error_summary(form) }}{{ m::keys(page, form) }}
{{ m::input(form, "street", "Street", hint = "As on the letterbox") }}
{{ m::number(form, "height", "Height", "ft") }}
{{ m::date(form, "planted", "Planted", required = false) }}
{{ m::textarea(form, "access", "Access") }}
{{ m::select(form, "shape", "Shape", options) }}
{{ m::radios(form, "eaten", "Eaten", [("yes", "Yes"), ("unknown", "Not known")]) }}
{{ m::checks(form, "pest", "Pests", options) }}
{{ m::checkbox(form, "bloom", "In bloom", hint = "Look today") }}
{{ m::password(form, "secret", "Password") }}
{{ m::hidden(form, "back") }}{{ m::fixed("step", 2) }}
</form>{{ m::paging(pager) }}{{ m::badge("late", "Overdue 3 days") }}
{{ m::empty("No plants yet", "Plants of this site stand here.", "/plants/new", "Add a plant") }}{% endblock %}"#
)]
struct FormPage {
    page: Page,
    form: Form,
    options: Vec<(String, String)>,
    pager: Pager,
}

fn form_page(form: Form) -> String {
    let pager = Pager { prev: None, next: Some("?after=9".into()), from: 1, to: 50 };
    FormPage { page: page("Add a plant"), form, options: options(), pager }
        .render()
        .expect("the sample renders")
}

#[derive(Template)]
#[template(
    ext = "html",
    source = r#"{% extends "field.html" %}{% block main %}<h1>Today</h1>{% endblock %}"#
)]
struct FieldPage {
    page: Page,
}

#[derive(Template)]
#[template(
    ext = "html",
    source = r#"{% extends "plain.html" %}{% block main %}<h1>Sign in</h1>{% endblock %}"#
)]
struct PlainPage {
    page: Page,
}

/// The start tag of the control with this name, white space made single.
fn control(html: &str, name: &str) -> String {
    let at = html.find(&format!("name=\"{name}\"")).expect("the control is there");
    let start = html[..at].rfind('<').expect("a tag starts before its attribute");
    let end = at + html[at..].find('>').expect("the tag ends");
    html[start..=end].split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_form_comes_back_as_typed() {
    let typed = [
        ("id", "0190"),
        ("street", "14 \"Tamber\" Lane"),
        ("height", "8.5"),
        ("planted", "2020-03-01"),
        ("access", "Gate <left>"),
        ("shape", "tree"),
        ("eaten", "unknown"),
        ("pest", "tree"),
        ("bloom", "yes"),
        ("back", "/due"),
        ("secret", "hush"),
    ];
    let html = form_page(Form::with(&typed));
    assert!(control(&html, "street").contains(r#"value="14 &#34;Tamber&#34; Lane""#));
    assert!(control(&html, "height").contains(r#"value="8.5""#));
    assert!(control(&html, "planted").contains(r#"value="2020-03-01""#));
    assert!(html.contains("Gate &#60;left&#62;</textarea>"));
    assert!(html.contains(r#"<option value="tree" selected>"#));
    assert!(!html.contains(r#"<option value="shrub" selected>"#));
    assert!(html.contains(r#"value="unknown" checked>"#));
    assert!(html.contains(r#"type="checkbox" value="tree" checked>"#));
    assert!(control(&html, "bloom").contains(" checked"));
    assert!(control(&html, "back").contains(r#"value="/due""#));
    assert!(!html.contains("hush"), "a password is never given back");
}

#[test]
fn a_write_carries_its_token_and_its_name() {
    let html = form_page(Form::with(&[("id", "0190-aa")]));
    assert!(html.contains(r#"<input type="hidden" name="csrf" value="tok&#34;en">"#));
    assert!(html.contains(r#"<input type="hidden" name="id" value="0190-aa">"#));
}

#[test]
fn a_sound_form_shows_no_mistakes() {
    let html = form_page(Form::default());
    assert!(!html.contains("aria-invalid") && !html.contains("role=\"alert\""));
    assert!(control(&html, "street").contains(r#"aria-describedby="f-street-hint""#));
    assert!(!control(&html, "planted").contains("aria-required"));
    assert!(html.contains(r#"Planted <span class="soft">(optional)</span>"#));
}

#[test]
fn a_mistake_is_said_above_and_at_its_field() {
    let form = Form::default()
        .wrong("street", "Write the street.")
        .wrong("eaten", "Say whether it is eaten.")
        .wrong("", "Someone changed this meanwhile.");
    let html = form_page(form);
    assert!(html.contains(r##"<a href="#f-street">Write the street.</a>"##));
    assert!(html.contains("<li>Someone changed this meanwhile.</li>"));
    let street = control(&html, "street");
    assert!(street.contains(r#"aria-invalid="true" aria-describedby="f-street-hint f-street-wrong""#));
    assert!(html.contains(r#"id="f-street-wrong">Write the street.</span>"#));
    assert!(html.contains(r#"aria-invalid="true" aria-describedby="f-eaten-wrong""#));
    for target in ["f-street", "f-eaten"] {
        assert_eq!(html.matches(&format!("id=\"{target}\"")).count(), 1, "{target} can be jumped to");
    }
}

#[test]
fn every_label_and_description_points_at_one_element() {
    let html = form_page(Form::default().wrong("shape", "Choose the shape."));
    let pointers = html.split(['<', '>']).flat_map(|tag| {
        let ids = ["for=\"", "aria-describedby=\"", "aria-labelledby=\"", "href=\"#"];
        ids.into_iter().filter_map(move |start| {
            let rest = &tag[tag.find(start)? + start.len()..];
            Some(rest[..rest.find('"')?].to_owned())
        })
    });
    let mut seen = 0;
    for id in pointers.flat_map(|p| p.split(' ').map(str::to_owned).collect::<Vec<_>>()) {
        seen += 1;
        assert_eq!(html.matches(&format!(" id=\"{id}\"")).count(), 1, "{id}");
    }
    assert!(seen > 12, "the page has pointers to follow");
}

#[test]
fn the_frame_says_who_and_where_and_escapes() {
    let html = form_page(Form::default());
    assert!(html.contains(r#"<link rel="icon" href="/static/0000/icon.svg""#));
    assert!(html.contains("<title>Add a plant | Bellwether Plant Care</title>"));
    assert!(html.contains(r#"<a href="/due" aria-current="page">Due</a>"#));
    assert_eq!(html.matches("aria-current").count(), 1);
    // The doors behind the last one are links too, and open without script.
    assert!(html.contains("<details class=\"doors\"><summary>More</summary>"));
    assert!(html.contains(r#"<a href="/people">People</a>"#));
    assert!(html.contains("Ida &#60;Marrow&#62;, owner"));
    assert!(html.contains(r#"method="post" action="/sign-out""#));
    assert!(html.contains("The label and local rules decide; a licensed person answers."));
    assert!(html.contains(r#"href="?after=9" rel="next""#) && !html.contains("rel=\"prev\""));
}

#[test]
fn signed_out_pages_offer_no_way_in_and_field_pages_their_own_look() {
    let mut signed_out = page("Sign in");
    signed_out.notice = Some("You are signed out.".into());
    let html = PlainPage { page: signed_out }.render().expect("renders");
    assert!(!html.contains("<nav") && !html.contains("/sign-out"));
    assert!(html.contains(r#"role="status"><p>You are signed out.</p>"#));
    let html = FieldPage { page: page("Today") }.render().expect("renders");
    assert!(html.contains(r#"<body class="field">"#) && html.contains("<h1>Today</h1>"));
}

#[test]
fn pages_need_no_inline_style_or_script() {
    let field = FieldPage { page: page("Today") }.render().expect("renders");
    let plain = PlainPage { page: page("Sign in") }.render().expect("renders");
    for html in [form_page(Form::default()), field, plain] {
        assert!(!html.contains("style=") && !html.contains("<style") && !html.contains("<script"));
    }
}
