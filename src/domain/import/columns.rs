//! The columns of each kind of table.
use super::{Kind, What};

/// A column that a kind of table takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Its name in templates, forms and the database.
    pub code: &'static str,
    /// For people.
    pub words: &'static str,
    /// A cell as it may be written.
    pub example: &'static str,
    /// Whether a line without it is none.
    pub required: bool,
    /// What its cells say.
    pub what: What,
    /// Other heads under which it is found, in lower case, words divided by single blanks.
    pub heads: &'static [&'static str],
}

const fn must(
    code: &'static str,
    words: &'static str,
    example: &'static str,
    what: What,
    heads: &'static [&'static str],
) -> Column {
    Column { code, words, example, required: true, what, heads }
}

const fn may(
    code: &'static str,
    words: &'static str,
    example: &'static str,
    what: What,
    heads: &'static [&'static str],
) -> Column {
    Column { code, words, example, required: false, what, heads }
}

pub(super) fn of(kind: Kind) -> &'static [Column] {
    match kind {
        Kind::Customers => CUSTOMERS,
        Kind::Sites => SITES,
        Kind::Plants => PLANTS,
        Kind::Products => PRODUCTS,
        Kind::Applications => APPLICATIONS,
    }
}

const CUSTOMERS: &[Column] = &[
    may(
        "number",
        "Number in the old books",
        "K-117",
        What::Line,
        &["customer number", "customer no", "customer id", "id", "no"],
    ),
    must("name", "Name", "Odile Farrant", What::Line, &["customer", "customer name", "full name", "company"]),
    may("email", "E-mail", "odile@farrant.test", What::Email, &["mail", "e mail", "email address"]),
    may("phone", "Telephone", "805-555-0123", What::Line, &["telephone", "tel", "phone number", "mobile"]),
    may("street", "Street", "14 Tamber Lane", What::Line, &["address", "street address", "mailing address"]),
    may("city", "City", "Quillan Springs", What::Line, &["town"]),
    may("state", "State", "CA", What::State, &["st"]),
    may("zip", "ZIP code", "93499", What::Zip, &["zip code", "postal code", "postcode"]),
    may("note", "Note", "Calls back in the evening", What::Text, &["notes", "remark", "remarks", "comment"]),
];

const SITES: &[Column] = &[
    may(
        "number",
        "Number in the old books",
        "S-204",
        What::Line,
        &["site number", "site no", "site id", "property id", "id"],
    ),
    may(
        "customer_number",
        "Customer's number in the old books",
        "K-117",
        What::Line,
        &["customer no", "customer id"],
    ),
    may("customer", "Customer's name", "Odile Farrant", What::Line, &["customer name", "owner", "client"]),
    may("name", "Name of the site", "Farrant garden", What::Line, &["site name", "site", "property"]),
    must("street", "Street", "14 Tamber Lane", What::Line, &["address", "street address", "site address"]),
    must("city", "City", "Quillan Springs", What::Line, &["town"]),
    must("state", "State", "CA", What::State, &["st"]),
    must("zip", "ZIP code", "93499", What::Zip, &["zip code", "postal code", "postcode"]),
    must("county", "County", "San Luis Obispo", What::Line, &["parish"]),
    may("municipality", "Municipality", "Quillan Springs", What::Line, &["township"]),
    may("latitude", "Latitude in degrees", "35.4812", What::Latitude, &["lat"]),
    may("longitude", "Longitude in degrees", "-120.6804", What::Longitude, &["lon", "lng", "long"]),
    may("agricultural", "Agricultural", "no", What::YesNo, &["farm", "farmland", "ag"]),
    may(
        "water_distance_ft",
        "Feet to the nearest water",
        "120",
        What::NotNegative,
        &["distance to water", "water distance"],
    ),
    may("lot_sqft", "Lot in square feet", "10,890", What::Positive, &["lot", "lot size", "lot sq ft"]),
    may(
        "landscaped_sqft",
        "Landscaped area in square feet",
        "6,200",
        What::Positive,
        &["landscaped", "landscaped area", "landscaped sq ft"],
    ),
    may(
        "treated_bed_sqft",
        "Treated bed in square feet",
        "800",
        What::Positive,
        &["treated bed", "bed", "bed sq ft"],
    ),
    may("access_note", "Access", "Gate on the left", What::Text, &["access notes", "gate", "entry"]),
    may("service_area", "Service area", "North", What::Line, &["area", "zone", "route"]),
];

/// By these a row names the site it belongs to.
const SITE_NUMBER: Column = may(
    "site_number",
    "Site's number in the old books",
    "S-204",
    What::Line,
    &["site no", "site id", "property id"],
);
const SITE_STREET: Column = may(
    "street",
    "Street of the site",
    "14 Tamber Lane",
    What::Line,
    &["address", "site", "site address", "site street"],
);
const SITE_CITY: Column =
    may("city", "City of the site", "Quillan Springs", What::Line, &["town", "site city"]);

const PLANTS: &[Column] = &[
    SITE_NUMBER,
    SITE_STREET,
    SITE_CITY,
    must("place", "Where on the site", "front hedge", What::Line, &["location", "position", "spot"]),
    must("host_plant", "Host plant", "Podocarpus", What::Line, &["plant", "species", "host", "plant name"]),
    must("kind", "Kind", "hedge", What::PlantKind, &["type", "plant type", "habit"]),
    may("count", "How many plants", "40", What::Count, &["quantity", "qty", "number of plants", "plants"]),
    may("height_ft", "Height in feet", "8", What::Positive, &["height", "height feet", "ht"]),
    may(
        "stems_in",
        "Trunk diameters in inches",
        "5, 6, 8",
        What::Stems,
        &["dbh", "diameter", "trunk diameter", "stems", "diameter in"],
    ),
    may("stem_rule", "How several stems count", "sum", What::StemRule, &["stem rule"]),
    may("girth_in", "Girth in inches", "31.4", What::Positive, &["girth", "circumference"]),
    may(
        "ground_sqft",
        "Treated ground in square feet",
        "1,200",
        What::Positive,
        &["ground", "treated ground", "sq ft"],
    ),
    may("target_pest", "Target pest", "aphids", What::Line, &["pest", "problem"]),
    may("eaten", "Is any of it eaten?", "no", What::Answer, &["edible", "food plant"]),
    may("food_in_root_zone", "Food plants in its root zone", "unknown", What::Answer, &["food in root zone"]),
    may(
        "product",
        "Product, by name or registration number",
        "99999-12",
        What::Line,
        &["treatment", "registration number", "epa reg no"],
    ),
    may("use", "Use of the label, by name or code", "shrub-drench", What::Line, &["label use", "use code"]),
    may("planned_rate", "Planned rate", "3", What::Positive, &["rate"]),
    may("first_wanted", "First wanted on", "2026-05-15", What::Date, &["wanted", "due", "next due"]),
];

const PRODUCTS: &[Column] = &[
    must("name", "Name", "Rootward 2F", What::Line, &["product", "product name", "brand", "trade name"]),
    must(
        "registration_number",
        "Registration number",
        "99999-12",
        What::RegistrationNumber,
        &["epa reg no", "reg no", "epa registration number", "epa number"],
    ),
    must("form", "Liquid, dry, packet or tablet", "liquid", What::ProductForm, &["formulation", "type"]),
    may("price", "Price of one unit", "1.85", What::Positive, &["cost", "unit price"]),
    may("price_unit", "Unit of the price", "floz", What::Unit, &["unit", "price per"]),
    may("registered_in", "State that registered it", "CA", What::State, &["state", "registered state"]),
    may(
        "registered_until",
        "Last day of that registration",
        "2027-12-31",
        What::Date,
        &["registration expires", "expires", "expires on"],
    ),
];

const APPLICATIONS: &[Column] = &[
    may(
        "record",
        "Number of the record in the old books",
        "2024-0113",
        What::Line,
        &["record number", "record no", "job", "invoice", "id"],
    ),
    must("on", "Day", "2024-05-15", What::Date, &["date", "applied on", "application date", "service date"]),
    may("started_at", "Began at", "09:30", What::Time, &["start", "start time", "time", "began"]),
    may("finished_at", "Ended at", "10:15", What::Time, &["end", "end time", "finish", "finished"]),
    SITE_NUMBER,
    SITE_STREET,
    SITE_CITY,
    may(
        "place",
        "Plant, by its place on the site",
        "front hedge",
        What::Line,
        &["plant", "location", "position"],
    ),
    may(
        "ground",
        "Other ground, in words",
        "back lawn",
        What::Line,
        &["target area", "other ground", "crop"],
    ),
    must(
        "product",
        "Product, by name or registration number",
        "99999-12",
        What::Line,
        &["product name", "registration number", "epa reg no", "material"],
    ),
    may("use", "Use of the label, by name or code", "shrub-drench", What::Line, &["label use", "use code"]),
    may("measure", "Measure, as the use asks for it", "8", What::Positive, &["height", "dbh", "size"]),
    may("count", "How many plants", "40", What::Count, &["quantity", "qty", "number of plants"]),
    must(
        "amount",
        "Amount of product",
        "120",
        What::Positive,
        &["amount used", "total product", "product amount", "quantity used"],
    ),
    must("unit", "Unit of the amount", "mL", What::Unit, &["units", "amount unit"]),
    may("water", "Carrier water", "10", What::NotNegative, &["carrier", "mixture", "water amount"]),
    may("water_unit", "Unit of the water", "gal", What::Unit, &["carrier unit"]),
    may("applicator", "Who applied", "Ines Caldera", What::Line, &["technician", "applied by", "employee"]),
    may(
        "certification",
        "Certification of somebody who is none of us",
        "QA-1138",
        What::Line,
        &["license", "license number", "certification number"],
    ),
    may("supervisor", "Who supervised", "Maren Quist", What::Line, &["supervised by"]),
    may("other_company", "Another company's work", "no", What::YesNo, &["by others"]),
    may("wind_direction", "Wind from", "NW", What::Wind, &["wind dir"]),
    may("wind_mph", "Wind in miles an hour", "4", What::NotNegative, &["wind", "wind speed"]),
    may(
        "temperature_f",
        "Temperature in degrees Fahrenheit",
        "64",
        What::Number,
        &["temperature", "temp", "air temperature"],
    ),
    may(
        "area_treated_sqft",
        "Area treated in square feet",
        "1,200",
        What::Positive,
        &["area treated", "area", "treated area"],
    ),
    may("lot", "Lot of the container", "A-0419", What::Line, &["lot number", "batch", "product lot"]),
    may("note", "Note", "From the old books", What::Text, &["notes", "remarks", "comment"]),
];
