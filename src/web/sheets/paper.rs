//! The route sheet and the load sheet as a file to print.
use super::{Day, LoadLine, StopLine};
use crate::output::{
    pdf::{self, Block, Cell, Column, Part, Sheet, Table, plain, strong},
    sketch::sketch,
};

/// The file's bytes.
pub(super) fn write(day: &Day) -> anyhow::Result<Vec<u8>> {
    let title = day.title();
    let mut blocks = vec![Block::Title(title.clone()), Block::Words(opening(day))];
    if day.stops.is_empty() {
        blocks.push(Block::Words(plain("No visit is booked for this day.")));
    } else {
        let drawn = sketch(day.start, &day.places());
        blocks.push(Block::Sketch { sketch: drawn, words: day.sketch_words() });
        blocks.push(Block::Heading("Stops".to_owned()));
        blocks.push(Block::Table(stops(&day.stops)));
        blocks.push(Block::NewPage);
        blocks.push(Block::Heading(format!("Load sheet, {}, {}", day.technician.name, day.words())));
        blocks.push(Block::Words(plain(reserve(day))));
        blocks.push(Block::Table(loads(&day.loads)));
        blocks.push(Block::Heading("Protective clothing and precautions".to_owned()));
        blocks.extend(day.labels.iter().map(|label| {
            let mut said = vec![Part::Strong(format!("{}: {}", label.product, label.signal_word))];
            let restricted = if label.restricted { ", restricted use" } else { "" };
            said.push(Part::Small(format!(
                "EPA Reg. No. {}, label version {}{restricted}",
                label.registration, label.number
            )));
            for (head, words) in [
                ("Wear", &label.clothing),
                ("Precautions", &label.precautions),
                ("First aid", &label.first_aid),
            ] {
                if !words.is_empty() {
                    said.push(Part::Plain(format!("{head}: {words}")));
                }
            }
            Block::Words(said)
        }));
    }
    pdf::write(&Sheet {
        title,
        owner: day.company.clone(),
        foot: "The label and local rules decide; a licensed person answers.".to_owned(),
        blocks,
    })
}

fn opening(day: &Day) -> Vec<Part> {
    let count = day.stops.len();
    let stops = if count == 1 { "1 stop".to_owned() } else { format!("{count} stops") };
    let vehicle = day.vehicle.clone().unwrap_or_else(|| "no vehicle is entered".to_owned());
    vec![Part::Plain(format!("{stops}. Vehicle: {vehicle}."))]
}

/// What the load sheet's figures are.
pub(super) fn reserve(day: &Day) -> String {
    let tanks = if day.vehicle.is_some() {
        ""
    } else {
        " No vehicle is entered, so tank loads cannot be worked out."
    };
    format!(
        "Needed is the exact sum of the planned doses. Carried is that and {} per cent of reserve, rounded up; \
         what is poured stays the dose at each plant.{tanks}",
        day.reserve
    )
}

fn stops(stops: &[StopLine]) -> Table {
    let columns = vec![
        Column::number("Stop", 0.6),
        Column::of("When and where", 3.4),
        Column::of("Plants, dose and water", 4.4),
        Column::of("Visit's page", 1.3),
    ];
    Table { columns, rows: stops.iter().map(row).collect() }
}

fn row(stop: &StopLine) -> Vec<Cell> {
    let mut place: Cell = vec![];
    let time = stop.time.clone().unwrap_or_else(|| "No hour is planned".to_owned());
    let promised = if stop.promised { " (promised to the customer)" } else { "" };
    place.push(Part::Plain(format!("{time}{promised}")));
    place.push(Part::Strong(stop.street.clone()));
    place.push(Part::Plain(stop.city.clone()));
    let phone = if stop.phone.is_empty() { String::new() } else { format!(", {}", stop.phone) };
    place.push(Part::Plain(format!("{}{phone}", stop.customer)));
    let mut say = |head: &str, words: &str| {
        if !words.is_empty() {
            place.push(Part::Plain(format!("{head}: {words}")));
        }
    };
    say("Access", &stop.access);
    say("Hours", &stop.hours);
    say("Tell the neighbours", stop.tell.as_deref().unwrap_or_default());
    say("Law", &stop.laws.join("; "));
    say("Water", &stop.water);
    say("Note", &stop.note);
    if stop.state.0 != "soon" {
        place.push(Part::Strong(stop.state.1.clone()));
    }
    let mut plants: Cell = vec![];
    for dose in &stop.doses {
        let water = dose.water.as_ref().map_or("no water stated".to_owned(), |w| format!("water {w}"));
        let each = dose.each.as_ref().map(|each| format!(" ({each})")).unwrap_or_default();
        plants.push(Part::Strong(format!("{}, {}", dose.host, dose.place)));
        plants.push(Part::Plain(format!("{} of {}{each}; {water}", dose.pour, dose.product)));
        let note = if dose.note.is_empty() { String::new() } else { format!(". {}", dose.note) };
        plants.push(Part::Small(format!("{}; {}{note}", dose.about, dose.method)));
    }
    vec![strong(stop.number.to_string()), place, plants, vec![Part::Code(stop.code.clone())]]
}

fn loads(loads: &[LoadLine]) -> Table {
    let columns = vec![
        Column::of("Product and use", 3.2),
        Column::number("Needed", 1.4),
        Column::number("Carried", 1.2),
        Column::number("Water carried", 1.7),
        Column::of("Tank", 2.6),
    ];
    let row = |l: &LoadLine| {
        let product = vec![
            Part::Strong(l.product.clone()),
            Part::Small(format!("EPA Reg. No. {}", l.registration)),
            Part::Small(l.used_for.clone()),
        ];
        let water = l.water.clone().unwrap_or_else(|| "none stated".to_owned());
        let tanks = l.tanks.clone().unwrap_or_else(|| "not worked out".to_owned());
        vec![product, plain(l.needed.clone()), strong(l.carried.clone()), plain(water), plain(tanks)]
    };
    Table { columns, rows: loads.iter().map(row).collect() }
}
