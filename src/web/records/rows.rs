//! The rows of a record's form: each a plant (or other ground), a product's use, and what was applied.
use crate::{
    actions::record::Applied,
    db::record::{Choice, Item, Planted},
    domain::quantity::{AmountUnit, MassUnit, PieceUnit, VolumeUnit},
    texts::Language,
    web::{band, form::Form, pour},
};
use rust_decimal::Decimal;
use uuid::Uuid;

/// No form has more rows.
const MOST: usize = 60;

/// Names of a row's fields.
pub struct Row {
    pub number: usize,
    pub plant: String,
    pub words: String,
    pub label_use: String,
    pub measure: String,
    pub count: String,
    pub amount: String,
    pub unit: String,
    pub water: String,
    pub water_unit: String,
    pub lot: String,
    pub drop: String,
    /// What was asked about its amount.
    pub band: String,
}

impl Row {
    fn new(index: usize) -> Self {
        let name = |what: &str| format!("{what}-{index}");
        Self {
            number: index + 1,
            plant: name("plant"),
            words: name("words"),
            label_use: name("use"),
            measure: name("measure"),
            count: name("count"),
            amount: name("amount"),
            unit: name("unit"),
            water: name("water"),
            water_unit: name("water_unit"),
            lot: name("lot"),
            drop: name("drop"),
            band: name("band"),
        }
    }

    fn is_blank(&self, form: &Form) -> bool {
        let typed = [&self.plant, &self.words, &self.label_use, &self.measure, &self.amount];
        typed.into_iter().all(|name| form.value(name).is_empty()) || form.value(&self.drop) == "yes"
    }
}

/// As many rows as the form says, at least one.
pub fn rows(form: &Form) -> Vec<Row> {
    let count = form.value("rows").parse().unwrap_or(1usize).clamp(1, MOST);
    (0..count).map(Row::new).collect()
}

/// Fills a form with what a record says, and one blank row after it.
pub fn fill(form: &mut Form, items: &[Item]) {
    form.set("rows", (items.len() + 1).to_string());
    for (row, item) in (0..).map(Row::new).zip(items) {
        let number = |value: Option<Decimal>| value.map(pour::number).unwrap_or_default();
        form.set(&row.plant, item.plant_id.map(|id| id.to_string()).unwrap_or_default());
        form.set(&row.words, if item.plant_id.is_none() { item.plant_words.as_str() } else { "" });
        form.set(&row.label_use, item.label_use_id.map(|id| id.to_string()).unwrap_or_default());
        form.set(&row.measure, number(item.measure));
        form.set(&row.count, item.count.to_string());
        form.set(&row.amount, pour::number(item.amount));
        form.set(&row.unit, item.unit.as_str());
        form.set(&row.water, number(item.water));
        form.set(&row.water_unit, item.water_unit.as_deref().unwrap_or("cup"));
        form.set(&row.lot, item.lot.as_str());
        // It stands in the record already: nobody is asked about it anew.
        if let Some(label_use) = item.label_use_id {
            let measured = (item.measure, item.count);
            form.set(&row.band, band::about(label_use, item.amount, &item.unit, measured));
        }
    }
}

/// The fields of the rows that say anything, in the order of what [`read`] gives of a good form.
pub fn asked(form: &Form) -> Vec<band::Fields> {
    let filled = rows(form).into_iter().filter(|row| !row.is_blank(form));
    filled.map(|row| band::Fields { amount: row.amount, asked: row.band }).collect()
}

/// Reads the rows that say anything.
pub fn read(form: &mut Form, plants: &[Planted]) -> Vec<Applied> {
    let mut applied = vec![];
    for row in rows(form) {
        if !row.is_blank(form) {
            applied.extend(read_row(form, &row, plants));
        }
    }
    if applied.is_empty() && form.is_good() {
        form.fail("form", "Enter at least one plant or place with its product and amount.");
    }
    applied
}

fn read_row(form: &mut Form, row: &Row, plants: &[Planted]) -> Option<Applied> {
    let plant: Option<Uuid> = form.optional(&row.plant, "Choose one of these plants.");
    let words = form.text(&row.words);
    if plant.is_none() && words.is_empty() {
        form.fail(&row.plant, "Choose a plant, or name the other ground.");
    }
    let label_use = form.choice(&row.label_use, |text| text.parse::<Uuid>().ok());
    if form.value(&row.amount).is_empty() {
        form.fail(&row.amount, "Write how much product was applied.");
    }
    let amount = form.positive(&row.amount);
    let unit = form.choice(&row.unit, |text| AmountUnit::from_code(text).ok());
    let measure = form.positive(&row.measure);
    let count = match form.optional::<i32>(&row.count, "This is not a count; write for example 3.") {
        Some(count) if count < 1 => {
            form.fail(&row.count, "This must be at least 1.");
            None
        }
        Some(count) => Some(count),
        None => Some(plants.iter().find(|p| Some(p.id) == plant).map_or(1, |p| p.count)),
    };
    let water = form.not_negative(&row.water);
    let water_unit = water.map(|_| form.value(&row.water_unit).to_owned());
    if water_unit.as_deref().is_some_and(|unit| VolumeUnit::from_code(unit).is_err()) {
        form.fail(&row.water_unit, "Choose one of these.");
    }
    let lot = form.text(&row.lot);
    Some(Applied {
        plant,
        words: if plant.is_some() { String::new() } else { words },
        label_use: label_use?,
        measure,
        count: count?,
        amount: amount?,
        unit: unit?.code().to_owned(),
        water,
        water_unit,
        lot,
    })
}

/// Units of product, those of pouring first.
pub fn units(language: Language) -> Vec<(&'static str, String)> {
    let poured = VolumeUnit::ALL.iter().map(|u| u.code());
    let weighed = MassUnit::ALL.iter().map(|u| u.code());
    let counted = PieceUnit::ALL.iter().map(|u| u.code());
    poured.chain(weighed).chain(counted).map(|code| (code, pour::unit_in(language, code, false))).collect()
}

/// Units of water.
pub fn water_units(language: Language) -> Vec<(&'static str, String)> {
    VolumeUnit::ALL.iter().map(|u| (u.code(), pour::unit_in(language, u.code(), false))).collect()
}

/// A plant as the form offers it.
pub fn plant_choice(language: Language, plant: &Planted) -> (String, String) {
    let name = format!("{}, {}", plant.host_plant, plant.place);
    let words = if plant.retired { language.filled("record-retired", &[("plant", &name)]) } else { name };
    (plant.id.to_string(), words)
}

/// A use as the form offers it.
pub fn use_choice(language: Language, choice: &Choice) -> (String, String) {
    let name = format!("{}: {}", choice.product_name, choice.use_name);
    let words = if choice.signed { name } else { language.filled("record-use-unsigned", &[("use", &name)]) };
    (choice.label_use_id.to_string(), words)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blank_and_dropped_rows_are_left_out_and_mistakes_stay_typed() {
        let id = Uuid::nil().to_string();
        let mut form = Form::filled([
            ("rows", "4"),
            ("words-0", "front lawn"),
            ("use-0", id.as_str()),
            ("amount-0", "2.5"),
            ("unit-0", "floz"),
            ("words-1", "back lawn"),
            ("drop-1", "yes"),
            ("unit-2", "mL"),
        ]);
        let applied = read(&mut form, &[]);
        assert!(form.is_good(), "{:?}", form.errors);
        assert_eq!(applied.len(), 1);
        assert_eq!((applied[0].words.as_str(), applied[0].count), ("front lawn", 1));
        form.set("amount-0", "a cup or so");
        form.set("unit-0", "bucket");
        assert!(read(&mut form, &[]).is_empty());
        let wrong: Vec<&str> = form.errors.iter().map(|e| e.name.as_str()).collect();
        assert_eq!(wrong, ["amount-0", "unit-0"]);
        assert_eq!(form.value("amount-0"), "a cup or so");
    }

    #[test]
    fn nobody_asks_for_a_million_rows() {
        assert_eq!(rows(&Form::filled([("rows", "1000000")])).len(), MOST);
        assert_eq!(rows(&Form::filled([("rows", "none")])).len(), 1);
    }
}
