//! Products as the engine sees them: the label in force, with the uses of older versions that past
//! applications followed.
//!
//! A version whose ingredients, density or mass of a piece differ from those in force becomes an engine
//! product of its own, so that what was applied under it counts with its own strengths. Its name carries
//! the version.
use super::{rows::ProductRow, unknown};
use crate::{
    db::{
        self,
        label::{self, Label, Version},
    },
    domain::{
        calendar::{MonthDay, YearlySpan},
        label::{
            BloomRule, Cap, CapOf, CapYear, FoodCover, Ingredient, MeasureBasis, PeriodUnit, Pieces, Product,
            Protection, RateBand, Registration, Strength, Use, WaterBand,
        },
        product_kind::ProductKind,
        quantity::{AmountUnit, AreaUnit, Exact, MassUnit, PieceUnit, VolumeUnit, from_decimal},
    },
};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use uuid::Uuid;

/// The engine's products and where each label version went.
pub struct Catalogue {
    /// By product: what it became in the engine, older versions first.
    products: BTreeMap<Uuid, Vec<Product>>,
    /// By version: the key of its engine product.
    keys: HashMap<Uuid, String>,
    /// By product: the label that plans follow.
    current: HashMap<Uuid, Label>,
}

impl Catalogue {
    /// Registrations are by product; where none is entered for a state, none is there.
    pub fn new(
        rows: &[ProductRow],
        labels: Vec<Label>,
        registrations: &[(Uuid, Registration)],
    ) -> sqlx::Result<Self> {
        let mut by_product: HashMap<Uuid, Vec<Label>> = HashMap::new();
        for label in labels {
            by_product.entry(label.version.product_id).or_default().push(label);
        }
        let mut all = Self { products: BTreeMap::new(), keys: HashMap::new(), current: HashMap::new() };
        for row in rows {
            // Newest first: without a label in force the newest draft shows what is meant.
            let versions = by_product.remove(&row.id).unwrap_or_default();
            let Some(position) =
                versions.iter().position(|l| l.version.in_force).or((!versions.is_empty()).then_some(0))
            else {
                continue;
            };
            all.add(row, versions, position)?;
        }
        for (id, product) in
            all.products.iter_mut().flat_map(|(id, own)| own.iter_mut().map(move |p| (id, p)))
        {
            let own = registrations.iter().filter(|(of, _)| of == id);
            product.registrations = Some(own.map(|(_, one)| one.clone()).collect());
        }
        Ok(all)
    }

    fn add(&mut self, row: &ProductRow, mut versions: Vec<Label>, position: usize) -> sqlx::Result<()> {
        let current = versions.remove(position);
        let mut main = product(row, row.id.to_string(), &current)?;
        main.caps = current.caps.iter().map(cap).collect::<sqlx::Result<_>>()?;
        self.keys.insert(current.version.id, main.id.clone());
        let mut apart = vec![];
        for older in &versions {
            let mut one = product(row, format!("{} label {}", row.id, older.version.number), older)?;
            let same = (&one.ingredients, &one.density, &one.pieces)
                == (&main.ingredients, &main.density, &main.pieces);
            if same {
                main.uses.append(&mut one.uses);
                self.keys.insert(older.version.id, main.id.clone());
            } else {
                self.keys.insert(older.version.id, one.id.clone());
                apart.push(one);
            }
        }
        apart.push(main);
        self.products.insert(row.id, apart);
        self.current.insert(row.id, current);
        Ok(())
    }

    /// The use that plans follow, by the code that stays from label to label.
    pub fn use_of_code(&self, product: Uuid, code: &str) -> Option<&label::Use> {
        self.current.get(&product)?.use_of(code)
    }

    /// The engine product that a label version went into.
    pub fn key_of_version(&self, product: Uuid, version: Uuid) -> String {
        self.keys.get(&version).cloned().unwrap_or_else(|| product.to_string())
    }

    /// The engine's products of these, in their order.
    pub fn products_of(&self, named: &BTreeSet<Uuid>) -> Vec<Product> {
        named.iter().filter_map(|id| self.products.get(id)).flatten().cloned().collect()
    }
}

/// A product as this one version of its label describes it.
///
/// # Errors
/// When a row holds a code that the engine does not know.
pub fn described(of: &db::product::Product, label: &Label) -> sqlx::Result<Product> {
    let row = ProductRow { id: of.id, name: of.name.clone(), form: of.form.clone() };
    let mut whole = product(&row, of.id.to_string(), label)?;
    whole.caps = label.caps.iter().map(cap).collect::<sqlx::Result<_>>()?;
    Ok(whole)
}

fn product(row: &ProductRow, id: String, label: &Label) -> sqlx::Result<Product> {
    let kind = ProductKind::from_code(&row.form).ok_or_else(|| unknown("form", &row.form))?;
    Ok(Product {
        id,
        name: Some(row.name.clone()),
        form: kind.form(),
        density: density(&label.version)?,
        pieces: pieces(kind, &label.version)?,
        registrations: None,
        ingredients: label.ingredients.iter().map(ingredient).collect::<sqlx::Result<_>>()?,
        caps: vec![],
        uses: label
            .uses
            .iter()
            .map(|u| usage(u, &label.version.excluded_hosts))
            .collect::<sqlx::Result<_>>()?,
        signed: !label.version.is_draft(),
    })
}

fn ingredient(row: &label::Ingredient) -> sqlx::Result<Ingredient> {
    let value = from_decimal(row.strength);
    let strength = strength(value, &row.strength_unit)?;
    let group = (!row.irac_group.is_empty()).then(|| row.irac_group.clone());
    Ok(Ingredient { name: row.name.clone(), group, strength })
}

/// Grams of product in a millilitre, from whatever the label states.
fn density(of: &Version) -> sqlx::Result<Option<Exact>> {
    let Some((value, code)) = of.density.zip(of.density_unit.as_deref()) else { return Ok(None) };
    let bad = || unknown("density", code);
    let (mass, volume) = code.split_once('/').ok_or_else(bad)?;
    let mass = MassUnit::from_code(mass).map_err(|_| bad())?;
    let volume = VolumeUnit::from_code(volume).map_err(|_| bad())?;
    Ok(Some(from_decimal(value) * mass.grams() / volume.millilitres()))
}

/// The piece that the product comes in, and what it weighs where the label states it.
fn pieces(kind: ProductKind, of: &Version) -> sqlx::Result<Option<Pieces>> {
    let Some(unit) = kind.piece() else { return Ok(None) };
    let grams = of.piece_mass.zip(of.piece_unit.as_deref()).map(|(value, code)| {
        let mass = MassUnit::from_code(code).map_err(|_| unknown("unit of mass", code))?;
        Ok::<_, sqlx::Error>(from_decimal(value) * mass.grams())
    });
    Ok(Some(Pieces { unit, grams: grams.transpose()? }))
}

fn strength(value: Exact, code: &str) -> sqlx::Result<Strength> {
    let bad = || unknown("strength unit", code);
    let Some((mass, held)) = code.split_once('/') else {
        return if code == "percent" { Ok(Strength::Percent(value)) } else { Err(bad()) };
    };
    let mass = MassUnit::from_code(mass).map_err(|_| bad())?;
    match (VolumeUnit::from_code(held), PieceUnit::from_code(held)) {
        (Ok(volume), _) => Ok(Strength::PerVolume { value, mass, volume }),
        (_, Ok(piece)) => Ok(Strength::PerPiece { value, mass, piece }),
        _ => Err(bad()),
    }
}

fn cap(row: &label::Cap) -> sqlx::Result<Cap> {
    let bad = || unknown("cap unit", &row.unit);
    let (unit, area) = row.unit.split_once('/').ok_or_else(bad)?;
    Ok(Cap {
        of: row.ingredient.clone().map_or(CapOf::Product, CapOf::Ingredient),
        amount: from_decimal(row.amount),
        unit: AmountUnit::from_code(unit).map_err(|_| bad())?,
        area: AreaUnit::from_code(area).map_err(|_| bad())?,
        year: CapYear::from_code(&row.year).ok_or_else(|| unknown("year", &row.year))?,
    })
}

fn usage(row: &label::Use, excluded_hosts: &[String]) -> sqlx::Result<Use> {
    let per = from_decimal(row.rate_per);
    let whole = |value: i32, what: &str| u32::try_from(value).map_err(|_| unknown(what, &value.to_string()));
    let water = row.water_low.zip(row.water_high).zip(row.water_unit.as_deref());
    let water = water.map(|((low, high), unit)| {
        let unit = VolumeUnit::from_code(unit).map_err(|_| unknown("water unit", unit))?;
        Ok::<_, sqlx::Error>(WaterBand {
            low: from_decimal(low) / &per,
            high: from_decimal(high) / &per,
            unit,
        })
    });
    let protection = Protection {
        value: whole(row.protection_value, "protection")?,
        unit: PeriodUnit::from_code(&row.protection_unit)
            .ok_or_else(|| unknown("period", &row.protection_unit))?,
    };
    let food = match row.covers_food {
        false => FoodCover::NotCovered,
        true => FoodCover::Covered { pre_harvest_days: whole(row.preharvest_days.unwrap_or(0), "days")? },
    };
    let bloom = match (row.barred_in_bloom, row.bloom_lead_days.unwrap_or(0)) {
        (false, _) => BloomRule::None,
        (true, 0) => BloomRule::NotInBloom,
        (true, days) => BloomRule::NotBeforeBloom { lead_days: whole(days, "days")? },
    };
    Ok(Use {
        id: row.id.to_string(),
        method: row.method.clone(),
        measure: MeasureBasis::from_code(&row.measure).ok_or_else(|| unknown("measure", &row.measure))?,
        rate: RateBand {
            low: from_decimal(row.rate_low) / &per,
            high: from_decimal(row.rate_high) / &per,
            unit: AmountUnit::from_code(&row.rate_unit).map_err(|_| unknown("unit", &row.rate_unit))?,
        },
        water: water.transpose()?,
        protection,
        uptake_days: whole(row.uptake_days, "days")?,
        min_interval_days: whole(row.min_interval_days, "days")?,
        max_per_year: row.max_per_year.map(|times| whole(times, "times")).transpose()?,
        season: seasons(row),
        bloom,
        food,
        excluded_hosts: excluded_hosts.to_vec(),
        foliar_rest_days: row.foliar_rest_days.map(|days| whole(days, "days")).transpose()?,
        no_group_repeat: row.no_group_repeat,
    })
}

/// The parts of the year that the label names, at most two; none: the whole year.
fn seasons(row: &label::Use) -> Vec<YearlySpan> {
    let span = |from: &Option<String>, to: &Option<String>| {
        Some(YearlySpan { from: MonthDay::parse(from.as_deref()?)?, to: MonthDay::parse(to.as_deref()?)? })
    };
    let both = [span(&row.season_from, &row.season_to), span(&row.season2_from, &row.season2_to)];
    both.into_iter().flatten().collect()
}
