//! Nobody who chose Spanish meets English: every page that a technician can open is opened over the demo company, and
//! no word of it may be one that the English texts have and the Spanish ones do not.
//!
//! What people typed, what labels say and how rules of law are cited stays in its own tongue: the first is read out of
//! the tables, the second is marked `lang="en"` on the page.
use crate::support::{Visitor, World};
use axum::http::{Method, StatusCode};
use fluent_syntax::{ast, parser};
use plantward::{demo, texts::Language, web::router};
use sqlx::AssertSqlSafe;
use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::Path,
};

/// Lines that show a technician no page of their own, and why.
const UNOPENED: [(&str, &str); 16] = [
    ("/", "goes on to another page"),
    ("/healthz", "for machines"),
    ("/readyz", "for machines"),
    ("/static/{hash}/{name}", "files of the program itself"),
    ("/field", "its texts come from the files by its own script"),
    ("/field-worker.js", "a script"),
    ("/manifest.webmanifest", "what the field page is called"),
    ("/documents/{id}", "a label or a data sheet as it was brought"),
    ("/field/documents/{id}", "the same for a phone"),
    ("/calendars/{secret}", "an address for calendars"),
    ("/c/{link}", "the customer's page, in the customer's language"),
    ("/u/{link}", "the customer's page, in the customer's language"),
    ("/inspection/{secret}", "the inspector's"),
    ("/inspection/{secret}/records/{id}", "the inspector's"),
    ("/inspection/{secret}/records/{id}/proof", "the inspector's"),
    ("/inspection/{secret}/files/{name}", "the inspector's"),
];

/// Where the demo company has nothing to open or the line gives a file.
const ELSEWHERE: [(&str, &str); 6] = [
    ("/records/{id}/photos/{photo}", "a picture"),
    ("/records/{id}/proof", "a file for whoever checks it"),
    ("/visits/{id}/signs", "the demo company's state asks for no sign"),
    ("/invitation/{secret}", "opened below with a secret"),
    ("/setup/{secret}", "the first owner's, before anybody chose a language"),
    ("/sites/{id}/earlier-uses", "the demo company has answered for every site"),
];

/// What fills the parts of a line, as SQL over the demo company; `$1` is the technician.
const ADDRESSES: &[(&str, &str)] = &[
    ("/sites/{id}", "select site_id from visit where technician_id = $1 order by on_date desc, id"),
    (
        "/plants/{id}",
        "select d.plant_id from planned_dose d join visit v on v.id = d.visit_id where v.technician_id = $1 order by v.on_date desc, d.plant_id",
    ),
    ("/products/{id}", "select id from product where retired_at is null order by id"),
    ("/label-versions/{id}", "select id from label_version order by signed_at is null desc, id"),
    ("/state-rules/{code}", "select * from unnest(array['ca-certified-person', 'me-landscapes', 'ct-turf'])"),
    (
        "/visits/{id}/records",
        "select id from visit where technician_id = $1 and status = 'booked' order by on_date, id",
    ),
    (
        "/visits/{id}",
        "select id from visit where technician_id = $1 order by status = 'booked' desc, on_date, id",
    ),
    (
        "/route-sheets/{technician}/{day}",
        "select technician_id || '/' || on_date from visit where technician_id = $1 and status = 'booked' order by on_date",
    ),
    (
        "/records/{id}",
        "select r.id from application_now r where r.applicator_id = $1 order by exists (select from record_flag f where f.record_id = r.id) desc, r.applied_on desc",
    ),
    ("/incidents/{id}", "select id from incident where entered_by = $1"),
];

/// So many of each line are opened: pages differ with what they show.
const EACH: usize = 4;

/// Columns whose words people typed or labels gave.
const TYPED: [(&str, &[&str]); 25] = [
    ("company", &["name", "street", "city", "emergency_place"]),
    ("customer", &["name", "street", "city", "note"]),
    (
        "site",
        &[
            "name",
            "street",
            "city",
            "county",
            "access_note",
            "emergency_place",
            "notice_reason",
            "service_area",
        ],
    ),
    ("site_neighbour", &["name", "address", "note"]),
    ("plant", &["place", "host_plant", "target_pest"]),
    ("plant_look", &["words", "pest"]),
    ("person", &["name"]),
    ("certification", &["category", "number"]),
    ("product", &["name"]),
    ("label_version", &["category", "signal_word", "clothing", "precautions", "first_aid"]),
    ("label_use", &["name", "hosts", "pests"]),
    ("label_ingredient", &["name"]),
    ("document", &["file_name"]),
    ("kit", &["name"]),
    ("vehicle", &["name"]),
    ("visit", &["note"]),
    ("visit_duty", &["how"]),
    ("application_now", &["note", "amend_reason", "customer_name", "site_address"]),
    ("application_item", &["plant_words", "lot"]),
    ("record_flag", &["answer"]),
    ("record_signature", &["name", "certification"]),
    ("parcel", &["cap_area_reason"]),
    ("incident", &["place", "what", "people", "done", "amount"]),
    ("incident_entry", &["words", "reported_to"]),
    ("listed_pest", &["pest", "source"]),
];

pub fn words(text: &str) -> impl Iterator<Item = String> + '_ {
    // What has digits within is a number or a hash, whose letters are no words.
    let parts = text.split(|c: char| !c.is_alphanumeric());
    parts.filter(|w| w.chars().count() > 2 && w.chars().all(char::is_alphabetic)).map(str::to_lowercase)
}

/// Every word of the texts of a language; those that a value stands for are not among them.
pub fn vocabulary(language: &str) -> BTreeSet<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("templates/texts").join(language);
    let mut all = BTreeSet::new();
    for entry in fs::read_dir(folder).unwrap() {
        let source = fs::read_to_string(entry.unwrap().path()).unwrap();
        for item in parser::parse(source.as_str()).unwrap().body {
            let ast::Entry::Message(ast::Message { value: Some(value), .. }) = item else { continue };
            spoken(&value, &mut all);
        }
    }
    // Each language calls itself by its own name.
    all.retain(|word| Language::ALL.iter().all(|one| one.name().to_lowercase() != *word));
    all
}

fn spoken(pattern: &ast::Pattern<&str>, all: &mut BTreeSet<String>) {
    for element in &pattern.elements {
        match element {
            ast::PatternElement::TextElement { value } => all.extend(words(value)),
            ast::PatternElement::Placeable { expression: ast::Expression::Select { variants, .. } } => {
                variants.iter().for_each(|variant| spoken(&variant.value, all));
            }
            ast::PatternElement::Placeable { .. } => {}
        }
    }
}

/// What a reader sees or hears of the page, without what is marked as English.
pub fn visible(page: &str) -> String {
    let body =
        page.split_once("<body").and_then(|(_, body)| body.split_once('>')).map_or(page, |(_, body)| body);
    let (mut out, mut rest, mut inside) = (String::new(), body, Vec::<String>::new());
    while let Some((text, tag)) = rest.split_once('<') {
        if inside.is_empty() {
            out.push_str(text);
        }
        let (tag, after) = tag.split_once('>').unwrap_or((tag, ""));
        rest = after;
        let name: String = tag.chars().take_while(|c| c.is_alphanumeric() || *c == '/').collect();
        let void = ["input", "br", "hr", "img", "meta", "link", "col"].contains(&name.as_str())
            || tag.ends_with('/');
        if let Some(end) = name.strip_prefix('/') {
            if inside.last().is_some_and(|open| open == end) {
                inside.pop();
            }
        } else if !inside.is_empty()
            || tag.contains("lang=\"en\"")
            || ["script", "style"].contains(&name.as_str())
        {
            if !void {
                inside.push(name);
            }
        } else {
            for attribute in [" title=\"", " aria-label=\"", " placeholder=\""] {
                out.extend(
                    tag.split(attribute)
                        .skip(1)
                        .filter_map(|value| value.split('"').next())
                        .flat_map(|v| [" ", v]),
                );
            }
        }
        out.push(' ');
    }
    out.replace("&#39;", "'").replace("&#38;", "&").replace("&#34;", "\"")
}

struct Reader {
    world: World,
    visitor: Visitor,
    english: BTreeSet<String>,
}

impl Reader {
    async fn begin() -> Self {
        let world = World::empty().await;
        demo::fill(&world.pool, "2026-11-25".parse().unwrap()).await.unwrap();
        let busiest = "select technician_id from visit where status = 'booked' group by 1 order by count(*) desc limit 1";
        let id = sqlx::query_scalar(busiest).fetch_one(&world.pool).await.unwrap();
        let visitor = world.sign_in_as(id).await;
        visitor.post("/account/languages", &[("language", "es")]).await;
        let spanish = vocabulary("es");
        let typed = typed(&world).await;
        let english = vocabulary("en")
            .into_iter()
            .filter(|word| !spanish.contains(word) && !typed.contains(word))
            .collect();
        Self { world, visitor, english }
    }

    /// English words on the page.
    fn left(&self, page: &str) -> BTreeMap<String, String> {
        let text = visible(page);
        let lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
        let found = lines.flat_map(|line| words(line).map(move |word| (word, line.to_owned())));
        found.filter(|(word, _)| self.english.contains(word)).collect()
    }

    async fn addresses(&self, path: &str) -> Vec<String> {
        if !path.contains('{') {
            return vec![path.to_owned()];
        }
        let found = ADDRESSES.iter().find(|(line, _)| {
            path == *line
                || path.strip_prefix(line).is_some_and(|rest| rest.starts_with('/') || rest.starts_with('.'))
        });
        let (line, sql) = found.unwrap_or_else(|| panic!("a new line: say here what fills {path}"));
        let text = format!(
            "select distinct x from (select x::text from ({sql}) as found(x) limit 40) y(x) limit {EACH}"
        );
        let text = if sql.contains("$1") { text } else { text + " offset 0 * length($1::text)" };
        let values: Vec<String> = sqlx::query_scalar(AssertSqlSafe(text))
            .bind(self.visitor.id)
            .fetch_all(&self.world.pool)
            .await
            .unwrap();
        let stem = line.split('{').next().unwrap();
        values.into_iter().map(|value| format!("{stem}{value}{}", &path[line.len()..])).collect()
    }
}

async fn typed(world: &World) -> BTreeSet<String> {
    let mut all = BTreeSet::new();
    for (table, columns) in TYPED {
        for column in columns {
            let text = format!("select distinct {column}::text from {table} where {column} is not null");
            let found = sqlx::query_scalar::<_, String>(AssertSqlSafe(text)).fetch_all(&world.pool).await;
            found
                .unwrap_or_else(|e| panic!("{table}.{column}: {e}"))
                .iter()
                .for_each(|text| all.extend(words(text)));
        }
    }
    all
}

#[tokio::test]
async fn no_page_of_a_technician_says_english_to_whoever_chose_spanish() {
    let reader = Reader::begin().await;
    let incident = [
        ("id", "01890a5d-ac96-774b-bcce-b302099a8057"),
        ("kind", "spill"),
        ("on", "2026-11-24"),
        ("hour", "10:30"),
        ("place", "45 Heron Street"),
        ("state", "CA"),
        ("what", "Heron"),
    ];
    let answer = reader.visitor.post("/incidents", &incident).await;
    assert!(answer.status.is_redirection(), "{}", answer.body);
    let (mut faults, mut opened) = (BTreeMap::<String, BTreeMap<String, String>>::new(), 0);
    for line in router::table() {
        let theirs =
            line.method == Method::GET && line.who.admits(Some(plantward::domain::user::Role::Technician));
        if !theirs
            || UNOPENED.iter().chain(&ELSEWHERE).any(|(path, _)| *path == line.path)
            || line.path.ends_with(".pdf")
        {
            continue;
        }
        let addresses = reader.addresses(line.path).await;
        assert!(!addresses.is_empty(), "the demo company has nothing for {}", line.path);
        for address in addresses {
            let answer = reader.visitor.get(&address).await;
            if answer.status.is_redirection() {
                continue;
            }
            let kind = answer.headers.get("content-type").map_or("", |v| v.to_str().unwrap());
            if !kind.starts_with("text/html") {
                continue;
            }
            opened += 1;
            assert_ne!(answer.status, StatusCode::NOT_FOUND, "{address}");
            faults.entry(line.path.to_owned()).or_default().extend(reader.left(&answer.body));
        }
    }
    faults.retain(|_, left| !left.is_empty());
    let told = |(path, left): (&String, &BTreeMap<String, String>)| {
        let mut lines = BTreeMap::<&str, Vec<&str>>::new();
        left.iter().for_each(|(word, line)| lines.entry(line).or_default().push(word));
        let lines = lines.into_iter().map(|(line, words)| format!("    {line}  <- {}", words.join(" ")));
        format!("{path}\n{}", lines.collect::<Vec<_>>().join("\n"))
    };
    assert!(faults.is_empty(), "{}", faults.iter().map(told).collect::<Vec<_>>().join("\n"));
    assert!(opened > 40, "most lines were opened: {opened}");
    println!("{opened} pages, {} English words looked for", reader.english.len());
}

/// The check itself: it must see an English word, in the text and in what is read aloud, and pass over what is marked.
#[tokio::test]
async fn the_check_finds_english() {
    let reader = Reader::begin().await;
    let found = |body: &str| {
        reader.left(&format!("<html><body>{body}</body></html>")).into_keys().collect::<Vec<_>>()
    };
    assert_eq!(found("<p>Sign out</p>"), ["sign"]);
    assert_eq!(found("<p title=\"Sign\">Cerrar sesión</p>"), ["sign"]);
    assert!(found("<p lang=\"en\">Sign <b>out</b><br></p><p>Cerrar sesión</p>").is_empty());
    assert_eq!(found("<p lang=\"en\">Wear gloves</p><p>Sign</p>"), ["sign"]);
}
