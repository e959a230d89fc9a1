//! What the demo company measures with and mixes in. Common practice, no published source: a measuring cup of
//! 32 fl oz, a small cup marked in millilitres, a syringe of 12 mL, and a scale for powders.
use super::{chance::Chance, days::at};
use crate::db::{
    Conn,
    kit::{self, Item},
};
use chrono::NaiveDate;
use rust_decimal::Decimal;

/// Where its ids start.
const OWN: u64 = 0x6b69_7421;

/// Kind, name, from mark to mark and what it holds (in thousandths), unit.
type Piece = (&'static str, &'static str, Option<i64>, Option<i64>, &'static str);

const KIT: [Piece; 5] = [
    ("vessel", "Syringe", Some(500), Some(12_000), "mL"),
    ("vessel", "Small cup", Some(5_000), Some(120_000), "mL"),
    ("vessel", "Measuring cup", Some(1_000), Some(32_000), "floz"),
    ("vessel", "Scale", Some(100), Some(500_000), "g"),
    ("tank", "Truck tank", None, Some(50_000), "gal"),
];

/// Enters it all, with ids of its own, so that everything else falls as it fell without it.
pub async fn enter(tx: &mut Conn, today: NaiveDate) -> sqlx::Result<()> {
    let mut chance = Chance::new(OWN);
    let figure = |thousandths: i64| Decimal::new(thousandths, 3).normalize();
    for (kind, name, mark, holds, unit) in KIT {
        let item = Item {
            id: chance.id(),
            kind: kind.into(),
            name: name.into(),
            mark: mark.map(figure),
            holds: holds.map(figure),
            unit: unit.into(),
        };
        kit::insert(tx, &item, at(today, 9, 0)).await?;
    }
    Ok(())
}
