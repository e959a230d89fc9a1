//! The route sheet and the load sheet as a file to print.
use super::{Day, LoadLine, StopLine};
use crate::{
    output::pdf::{self, Block, Cell, Column, Part, Sheet, Table, Tongue, plain, strong},
    texts::Language,
    web::visits::field::Label,
};

/// Spanish, as in the United States.
const SPANISH: Tongue = Tongue {
    tag: "es-US",
    folio: |page, of| {
        let (page, of) = (page.to_string(), of.to_string());
        Language::Spanish.filled("sheet-folio", &[("page", &page), ("of", &of)])
    },
};

/// The file's bytes.
pub(super) fn write(day: &Day) -> anyhow::Result<Vec<u8>> {
    let (title, language) = (day.title(), day.language);
    let mut blocks = vec![Block::Title(title.clone()), Block::Words(opening(day))];
    if day.stops.is_empty() {
        blocks.push(Block::Words(plain(language.say("sheet-none-booked"))));
    } else {
        blocks.push(Block::Sketch { sketch: day.sketch(), words: day.sketch_words() });
        blocks.push(Block::Heading(language.say("sheet-the-stops")));
        blocks.push(Block::Table(stops(language, &day.stops)));
        blocks.push(Block::NewPage);
        blocks.push(Block::Heading(day.named("sheet-load-title")));
        blocks.push(Block::Words(plain(reserve(day))));
        blocks.push(Block::Table(loads(language, &day.loads)));
        blocks.push(Block::Heading(language.say("sheet-clothing")));
        blocks.extend(day.labels.iter().map(|of| label(language, of)));
    }
    let sheet = Sheet { title, owner: day.company.clone(), foot: language.say("foot"), blocks };
    match language {
        Language::English => pdf::write(&sheet),
        Language::Spanish => pdf::write_in(SPANISH, &sheet),
    }
}

/// What a label says, in its own words.
fn label(language: Language, label: &Label) -> Block {
    let mut said = vec![Part::Strong(format!("{}: {}", label.product, label.signal_word))];
    let line = language.label_line(&label.registration, &label.number);
    let restricted =
        if label.restricted { format!(", {}", language.say("restricted-use")) } else { String::new() };
    said.push(Part::Small(line + &restricted));
    for (head, words) in [
        ("wear", &label.clothing),
        ("precautions", &label.precautions),
        ("sheet-first-aid", &label.first_aid),
    ] {
        if !words.is_empty() {
            said.push(Part::Plain(format!("{} {words}", language.say(head))));
        }
    }
    Block::Words(said)
}

fn opening(day: &Day) -> Vec<Part> {
    let vehicle = day.vehicle.clone().unwrap_or_else(|| day.language.say("sheet-no-vehicle"));
    vec![Part::Plain(day.language.filled("sheet-opening", &[("stops", &day.count()), ("vehicle", &vehicle)]))]
}

/// What the load sheet's figures are.
pub(super) fn reserve(day: &Day) -> String {
    let said = day.language.say_of("sheet-reserve", "percent", day.reserve.to_string());
    match day.vehicle {
        Some(_) => said,
        None => format!("{said} {}", day.language.say("sheet-no-tanks")),
    }
}

fn stops(language: Language, stops: &[StopLine]) -> Table {
    let columns = vec![
        Column::number(&language.say("sheet-stop"), 0.6),
        Column::of(&language.say("sheet-when"), 3.4),
        Column::of(&language.say("sheet-plants"), 4.4),
        Column::of(&language.say("sheet-page"), 1.3),
    ];
    Table { columns, rows: stops.iter().map(|stop| row(language, stop)).collect() }
}

fn row(language: Language, stop: &StopLine) -> Vec<Cell> {
    let mut plants: Cell = vec![];
    for dose in &stop.doses {
        let water = match &dose.water {
            Some(water) => language.say_of("water-beside", "said", water.as_str()),
            None => language.say("sheet-no-water"),
        };
        let each = dose.each.as_ref().map(|each| format!(" ({each})")).unwrap_or_default();
        plants.push(Part::Strong(format!("{}, {}", dose.host, dose.place)));
        let of = language.filled("sheet-dose", &[("amount", &dose.pour), ("product", &dose.product)]);
        plants.push(Part::Plain(format!("{of}{each}; {water}")));
        let note = if dose.note.is_empty() { String::new() } else { format!(". {}", dose.note) };
        plants.push(Part::Small(format!("{}; {}{note}", dose.about, dose.method)));
    }
    let code = vec![Part::Code(stop.code.clone())];
    vec![strong(stop.number.to_string()), place(language, stop), plants, code]
}

fn place(language: Language, stop: &StopLine) -> Cell {
    let mut place: Cell = vec![];
    let time = stop.time.clone().unwrap_or_else(|| language.say("sheet-no-hour"));
    let promised =
        if stop.promised { format!(" ({})", language.say("sheet-promised")) } else { String::new() };
    place.push(Part::Plain(format!("{time}{promised}")));
    place.push(Part::Strong(stop.street.clone()));
    place.push(Part::Plain(stop.city.clone()));
    let phone = if stop.phone.is_empty() { String::new() } else { format!(", {}", stop.phone) };
    place.push(Part::Plain(format!("{}{phone}", stop.customer)));
    for (head, words) in [
        ("sheet-access", stop.access.as_str()),
        ("hours", &stop.hours),
        ("sheet-tell", stop.tell.as_deref().unwrap_or_default()),
        ("sheet-law", &stop.laws.join("; ")),
        ("water", &stop.water),
        ("note", &stop.note),
    ] {
        if !words.is_empty() {
            place.push(Part::Plain(format!("{}: {words}", language.say(head))));
        }
    }
    if stop.state.0 != "soon" {
        place.push(Part::Strong(stop.state.1.clone()));
    }
    place
}

fn loads(language: Language, loads: &[LoadLine]) -> Table {
    let columns = vec![
        Column::of(&language.say("record-use"), 3.2),
        Column::number(&language.say("sheet-needed"), 1.4),
        Column::number(&language.say("sheet-carried"), 1.2),
        Column::number(&language.say("sheet-water-carried"), 1.7),
        Column::of(&language.say("sheet-tank"), 2.6),
    ];
    let row = |l: &LoadLine| {
        let product = vec![
            Part::Strong(l.product.clone()),
            Part::Small(format!("{} {}", language.say("record-registration"), l.registration)),
            Part::Small(l.used_for.clone()),
        ];
        let water = l.water.clone().unwrap_or_else(|| language.say("sheet-none-stated"));
        let tanks = l.tanks.clone().unwrap_or_else(|| language.say("sheet-not-worked-out"));
        vec![product, plain(l.needed.clone()), strong(l.carried.clone()), plain(water), plain(tanks)]
    };
    Table { columns, rows: loads.iter().map(row).collect() }
}
