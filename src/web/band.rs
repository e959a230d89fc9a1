//! An amount outside its label's band comes back once with the band and the question, everything typed kept, and is
//! recorded when the same is sent again: a fact is never refused.
use super::{Result, form::Form, pour, session::Actor};
use crate::{
    actions::record::{Applied, outside_band},
    domain::quantity::{kept, to_decimal},
    texts::Language,
};
use chrono::NaiveDate;
use fluent_bundle::FluentArgs;
use rust_decimal::Decimal;
use uuid::Uuid;

/// Fields of an item on its form: the amount, and what was asked about already.
#[derive(Debug, Clone)]
pub struct Fields {
    pub amount: String,
    pub asked: String,
}

/// What the question was about: another amount, measure or use is asked about anew.
#[must_use]
pub fn about(
    label_use: Uuid,
    amount: Decimal,
    unit: &str,
    (measure, count): (Option<Decimal>, i32),
) -> String {
    let measure = measure.map(pour::number).unwrap_or_default();
    format!("{} {unit} / {measure} x {count} / {label_use}", pour::number(amount))
}

/// Asks about every item that leaves its band and was not asked about yet: its amount's field fails with the
/// question. `fields` are those of the items, in their order.
///
/// # Errors
/// When a use is not there.
pub async fn ask(
    actor: &Actor,
    (site, on): (Uuid, NaiveDate),
    applied: &[Applied],
    fields: &[Fields],
    form: &mut Form,
) -> Result<()> {
    for outside in outside_band(&actor.doer(), actor.today, site, on, applied).await? {
        let (Some(one), Some(names)) = (applied.get(outside.at), fields.get(outside.at)) else { continue };
        let now = about(one.label_use, one.amount, &one.unit, (one.measure, one.count));
        if form.value(&names.asked) == now {
            continue;
        }
        form.set(&names.asked, now);
        let said = |language: Language, value| {
            to_decimal(&kept(value))
                .map_or_else(String::new, |v| pour::written_in(language, v, &outside.unit))
        };
        let mut args = FluentArgs::new();
        args.set("amount", pour::written_in(form.language, one.amount, &one.unit));
        args.set("low", said(form.language, &outside.low));
        args.set("high", said(form.language, &outside.high));
        form.fail(&names.amount, form.language.fill("band-left", &args));
    }
    Ok(())
}
