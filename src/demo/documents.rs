//! Label files and safety data sheets of the demo's products: small PDFs that say that they are invented.
use super::{
    chance::Chance,
    days::{ago, at},
    people::People,
    product::{Held, Shelf, key},
};
use crate::{
    db::{
        Conn,
        document::{self, Document},
        label::{self, Label},
    },
    domain::document::Kind,
    output::pdf::{self, Block, Sheet, plain},
};
use chrono::NaiveDate;
use sha2::{Digest, Sha256};
use uuid::Uuid;

/// Where their ids start, so that everything else falls as it fell without them.
const OWN: u64 = 0x646f_6375_6d65_6e74;

const INVENTED: &str = "Invented text of a demo company's product. It is no label and no data sheet of anything that is sold. \
    The label on the container and local rules decide, and a licensed person answers.";

/// Products whose label files were brought, and whether a data sheet was.
const BROUGHT: [(&str, bool); 8] = [
    (key::DRENCH, true),
    (key::POWDER, true),
    (key::GRANULES, true),
    (key::INJECTION, true),
    (key::OIL, true),
    (key::PACKETS, true),
    (key::TABLETS, true),
    // Its data sheet is still to be asked for.
    (key::GIRTH, false),
];

/// Enters them; of one product a newer data sheet has taken the place of an older.
pub async fn enter(tx: &mut Conn, people: &People, shelf: &Shelf, today: NaiveDate) -> anyhow::Result<()> {
    let mut chance = Chance::new(OWN);
    for (key, with_sheet) in BROUGHT {
        let held = shelf.get(key)?;
        let mut newest = None;
        for version in held.versions.iter().filter(|v| v.signed_on.is_some()) {
            let Some(label) = label::load(tx, version.id).await? else { continue };
            let name = format!("label-{key}-{}.pdf", label.version.number);
            let bytes = pdf::write(&of_label(held, &label))?;
            let brought = version.signed_on.unwrap_or(today);
            keep(tx, people, file(&mut chance, held, Kind::Label, Some(version.id), name, brought), &bytes)
                .await?;
            newest = Some(label);
        }
        let (Some(label), true) = (newest, with_sheet) else { continue };
        let editions: &[(&str, u32)] =
            if key == key::DRENCH { &[("2024", 700), ("2026", 120)] } else { &[("2025", 400)] };
        for (edition, days) in editions {
            let bytes = pdf::write(&of_safety(held, &label, edition))?;
            let name = format!("data-sheet-{key}-{edition}.pdf");
            let row = file(&mut chance, held, Kind::SafetyDataSheet, None, name, ago(today, *days));
            keep(tx, people, row, &bytes).await?;
        }
    }
    Ok(())
}

fn file(
    chance: &mut Chance,
    held: &Held,
    kind: Kind,
    version: Option<Uuid>,
    name: String,
    on: NaiveDate,
) -> Document {
    Document {
        id: chance.id(),
        kind: kind.code().to_owned(),
        product_id: held.product.id,
        label_version_id: version,
        file_name: name,
        hash: vec![],
        bytes: 0,
        brought_by: Uuid::nil(),
        brought_by_name: String::new(),
        brought_at: at(on, 9, 10),
    }
}

async fn keep(tx: &mut Conn, people: &People, row: Document, bytes: &[u8]) -> sqlx::Result<()> {
    let row = Document { hash: Sha256::digest(bytes).to_vec(), brought_by: people.office, ..row };
    document::insert(tx, &row, bytes).await
}

fn sheet(held: &Held, title: String, blocks: Vec<Block>) -> Sheet {
    let mut all = vec![Block::Title(title.clone()), Block::Words(plain(INVENTED))];
    all.push(Block::Words(plain(format!("EPA Reg. No. {}", held.product.registration_number))));
    all.extend(blocks);
    Sheet { title, owner: held.product.name.clone(), foot: "Invented text".to_owned(), blocks: all }
}

fn part(heading: &str, words: impl Into<String>) -> [Block; 2] {
    [Block::Heading(heading.to_owned()), Block::Words(plain(words))]
}

fn of_label(held: &Held, label: &Label) -> Sheet {
    let v = &label.version;
    let mut blocks = vec![];
    if !v.signal_word.is_empty() {
        blocks.extend(part("Signal word", v.signal_word.clone()));
    }
    blocks.extend(part("Protective clothing", v.clothing.clone()));
    blocks.extend(part("Precautions", v.precautions.clone()));
    blocks.extend(part("First aid", v.first_aid.clone()));
    for one in &label.uses {
        let words = format!(
            "{}. Against: {}. {} to {} {} of product for each measure of the plant.",
            one.hosts, one.pests, one.rate_low, one.rate_high, one.rate_unit
        );
        blocks.extend(part(&one.name, words));
    }
    sheet(held, format!("{}, label version {}", held.product.name, v.number), blocks)
}

/// Headings in the order of 29 CFR 1910.1200, Appendix D, of which a demo needs only some.
fn of_safety(held: &Held, label: &Label, edition: &str) -> Sheet {
    let v = &label.version;
    let mut blocks = vec![];
    blocks.extend(part("1. Identification", format!("{}, edition of {edition}.", held.product.name)));
    let signal = if v.signal_word.is_empty() { "None." } else { &v.signal_word };
    blocks.extend(part("2. Hazards", format!("Signal word: {signal}")));
    let held_in = |i: &label::Ingredient| format!("{}, {} {}", i.name, i.strength, i.strength_unit);
    let ingredients: Vec<String> = label.ingredients.iter().map(held_in).collect();
    blocks.extend(part("3. Ingredients", ingredients.join("; ")));
    blocks.extend(part("4. First-aid measures", v.first_aid.clone()));
    blocks.extend(part("6. Accidental release", "Keep it from drains and water; take it up with dry sand."));
    blocks
        .extend(part("7. Handling and storage", "In its own container, locked away from food and children."));
    blocks.extend(part("8. Personal protection", v.clothing.clone()));
    sheet(held, format!("{}, safety data sheet", held.product.name), blocks)
}
