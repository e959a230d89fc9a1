//! What stands on the demo's labels. Every figure is an example: rates and caps follow what
//! extension services publish about such products, no label of a real product is copied.
use super::key;

/// One use.
pub struct UseEntry {
    pub code: &'static str,
    pub name: &'static str,
    pub hosts: &'static str,
    pub pests: &'static str,
    pub method: &'static str,
    pub measure: &'static str,
    /// Lowest, highest, unit.
    pub rate: (&'static str, &'static str, &'static str),
    /// For how many feet or inches the rate is stated.
    pub per: &'static str,
    /// Lowest, highest, unit; no unit: no carrier water.
    pub water: (&'static str, &'static str, &'static str),
    pub protection: (i32, &'static str),
    pub uptake: i32,
    pub interval: i32,
    pub per_year: Option<i32>,
    pub season: Option<(&'static str, &'static str)>,
    pub autumn: Option<(&'static str, &'static str)>,
    pub bloom: bool,
    /// Days before bloom that are barred too.
    pub bloom_lead: Option<i32>,
    /// Days without a foliar use of group 4 afterwards.
    pub foliar_rest: Option<i32>,
    /// Days before harvest; none: does not cover food plants.
    pub food: Option<i32>,
}

/// One version of the label.
pub struct Edition {
    pub entered_ago: u32,
    /// None: a draft.
    pub signed_ago: Option<u32>,
    /// What this version's precautions add.
    pub addition: &'static str,
}

/// One product.
pub struct Entry {
    pub key: &'static str,
    pub name: &'static str,
    pub registration: &'static str,
    pub form: &'static str,
    /// States in which it is registered until the end of next year.
    pub states: &'static [&'static str],
    /// States whose registration ended so many days ago.
    pub expired: &'static [(&'static str, u32)],
    pub signal: &'static str,
    pub clothing: &'static str,
    pub precautions: &'static str,
    pub excluded: &'static [&'static str],
    /// Name, group, strength, unit.
    pub ingredient: (&'static str, &'static str, &'static str, &'static str),
    /// What one packet or tablet weighs.
    pub piece: Option<(&'static str, &'static str)>,
    /// Pounds per acre, and what a year is.
    pub cap: Option<(&'static str, &'static str)>,
    /// Amount and unit of a cap on the product itself, in a calendar year.
    pub own_cap: Option<(&'static str, &'static str)>,
    pub uses: &'static [UseEntry],
    pub editions: &'static [Edition],
}

pub const CLOTHING: &str = "Long sleeves, long trousers, shoes with socks, waterproof gloves.";
pub const NO_WATER: (&str, &str, &str) = ("", "", "");

pub const SHRUBS: UseEntry = UseEntry {
    code: "shrubs",
    name: "Shrubs and hedges, by height",
    hosts: "Ornamental shrubs and hedges",
    pests: "Aphids, psyllids, scales, whiteflies",
    method: "basal-drench",
    measure: "height-ft",
    rate: ("3", "6", "mL"),
    per: "1",
    water: ("8", "16", "floz"),
    protection: (12, "month"),
    uptake: 14,
    interval: 330,
    per_year: None,
    season: None,
    autumn: None,
    bloom: true,
    bloom_lead: None,
    foliar_rest: None,
    food: None,
};

pub const TREES: UseEntry = UseEntry {
    code: "trees",
    name: "Trees, by trunk diameter",
    hosts: "Ornamental trees",
    pests: "Aphids, scales, whiteflies",
    measure: "diameter-in",
    rate: ("0.1", "0.2", "floz"),
    water: ("32", "64", "floz"),
    uptake: 28,
    ..SHRUBS
};

const TWO_SIGNED: &[Edition] = &[
    Edition { entered_ago: 1420, signed_ago: Some(1418), addition: "" },
    Edition { entered_ago: 430, signed_ago: Some(426), addition: "Keep runoff on the site." },
];
pub const ONE_SIGNED: &[Edition] = &[Edition { entered_ago: 1400, signed_ago: Some(1398), addition: "" }];

pub const ENTRIES: &[Entry] = &[
    Entry {
        key: key::DRENCH,
        name: "Tarnwell 2 Drench",
        registration: "99999-101",
        form: "liquid",
        states: &["CA"],
        expired: &[("NV", 120)],
        signal: "CAUTION",
        clothing: CLOTHING,
        precautions: "Not on plants in bloom, not on saturated or frozen soil, not near open water. \
            Keep people and pets off until the soil is dry.",
        excluded: &["linden"],
        ingredient: ("imidacloprid", "4A", "2", "lb/gal"),
        piece: None,
        cap: Some(("0.4", "unstated")),
        own_cap: None,
        uses: &[SHRUBS, TREES],
        editions: TWO_SIGNED,
    },
    Entry {
        key: key::POWDER,
        name: "Tarnwell 75 Packets",
        registration: "99999-102",
        form: "dry",
        states: &["CA"],
        expired: &[],
        signal: "CAUTION",
        clothing: CLOTHING,
        precautions: "Stir the powder into water first. Not on plants in bloom. Once in twelve months.",
        excluded: &["linden"],
        ingredient: ("imidacloprid", "4A", "75", "percent"),
        piece: None,
        cap: Some(("0.4", "unstated")),
        own_cap: None,
        uses: &[UseEntry {
            code: "trees",
            name: "Trees, by trunk diameter",
            method: "soil-drench",
            rate: ("1", "1.9", "g"),
            per_year: Some(1),
            ..TREES
        }],
        editions: ONE_SIGNED,
    },
    Entry {
        key: key::GRANULES,
        name: "Brindle 20 SG",
        registration: "99999-110",
        form: "dry",
        states: &["CA"],
        expired: &[],
        signal: "CAUTION",
        clothing: CLOTHING,
        precautions: "Dissolves fast and moves with water: not on sand over shallow groundwater.",
        excluded: &[],
        ingredient: ("dinotefuran", "4A", "20", "percent"),
        piece: None,
        cap: Some(("0.54", "calendar")),
        own_cap: None,
        uses: &[UseEntry {
            code: "shrubs",
            name: "Shrubs and hedges, by height",
            rate: ("1", "2", "g"),
            protection: (10, "month"),
            uptake: 7,
            interval: 180,
            per_year: Some(2),
            ..SHRUBS
        }],
        // The newer version waits for its signature: the older one stays in force.
        editions: &[
            Edition { entered_ago: 1400, signed_ago: Some(1397), addition: "" },
            Edition { entered_ago: 9, signed_ago: None, addition: "Wider distance from drains than before." },
        ],
    },
    Entry {
        key: key::INJECTION,
        name: "Vessel 4 Trunk",
        registration: "99999-120",
        form: "liquid",
        states: &["CA"],
        expired: &[],
        signal: "WARNING",
        clothing: "Long sleeves, long trousers, shoes with socks, waterproof gloves, protective eyewear.",
        precautions: "Into the trunk only. Close the holes as the makers of the tool say.",
        excluded: &[],
        ingredient: ("emamectin benzoate", "6", "40", "g/L"),
        piece: None,
        cap: None,
        own_cap: None,
        uses: &[UseEntry {
            code: "trunk",
            name: "Injection, by trunk diameter",
            hosts: "Ornamental trees",
            pests: "Borers, scales",
            method: "trunk-injection",
            measure: "diameter-in",
            rate: ("2.5", "5", "mL"),
            water: NO_WATER,
            protection: (24, "month"),
            interval: 330,
            per_year: Some(1),
            bloom: false,
            ..TREES
        }],
        editions: ONE_SIGNED,
    },
    Entry {
        key: key::OIL,
        name: "Palewater Spray Oil",
        registration: "99999-130",
        form: "liquid",
        states: &["CA"],
        expired: &[],
        signal: "CAUTION",
        clothing: CLOTHING,
        precautions: "Not above 90 F and not on plants short of water.",
        excluded: &[],
        ingredient: ("mineral oil", "", "7", "lb/gal"),
        piece: None,
        cap: None,
        own_cap: None,
        uses: &[UseEntry {
            code: "spray",
            name: "Foliar spray, by height",
            hosts: "Shrubs and small trees, bearing food plants included",
            pests: "Aphids, scales, whiteflies",
            method: "foliar-spray",
            rate: ("10", "20", "mL"),
            water: ("0.25", "0.5", "gal"),
            protection: (8, "week"),
            uptake: 0,
            interval: 14,
            bloom: false,
            food: Some(0),
            ..SHRUBS
        }],
        editions: ONE_SIGNED,
    },
    Entry {
        key: key::UNSIGNED,
        name: "Sedgemoor 17",
        registration: "99999-140",
        form: "liquid",
        states: &["CA"],
        expired: &[],
        signal: "CAUTION",
        clothing: CLOTHING,
        precautions: "Entered from the label in hand; nobody has compared it yet.",
        excluded: &[],
        ingredient: ("flupyradifurone", "4D", "1.67", "lb/gal"),
        piece: None,
        cap: Some(("0.4", "calendar")),
        own_cap: None,
        uses: &[UseEntry { rate: ("4", "8", "mL"), protection: (6, "month"), interval: 90, ..SHRUBS }],
        editions: &[Edition { entered_ago: 12, signed_ago: None, addition: "" }],
    },
    Entry {
        key: key::LAWN,
        name: "Swardline Grub Granules",
        registration: "99999-150",
        form: "dry",
        states: &["CA"],
        expired: &[],
        signal: "CAUTION",
        clothing: CLOTHING,
        precautions: "For lawns. Water in after spreading.",
        excluded: &[],
        ingredient: ("imidacloprid", "4A", "0.5", "percent"),
        piece: None,
        cap: Some(("0.4", "unstated")),
        own_cap: None,
        uses: &[],
        editions: ONE_SIGNED,
    },
    Entry {
        key: key::SOAP,
        name: "Hollow Elm Soap",
        registration: "99999-160",
        form: "liquid",
        states: &[],
        expired: &[("CA", 75)],
        signal: "WARNING",
        clothing: "Long sleeves, long trousers, shoes with socks, waterproof gloves, protective eyewear.",
        precautions: "Not in full sun.",
        excluded: &[],
        ingredient: ("potassium salts of fatty acids", "", "4", "lb/gal"),
        piece: None,
        cap: None,
        own_cap: None,
        uses: &[UseEntry {
            code: "spray",
            name: "Foliar spray, by height",
            method: "foliar-spray",
            rate: ("15", "30", "mL"),
            water: ("0.25", "0.5", "gal"),
            protection: (2, "week"),
            uptake: 0,
            interval: 7,
            bloom: false,
            food: Some(0),
            ..SHRUBS
        }],
        editions: ONE_SIGNED,
    },
];
