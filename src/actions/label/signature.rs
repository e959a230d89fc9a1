//! The signature: a licensed person has compared the entry with the label in hand.
use super::in_words;
use crate::actions::{Doer, Error, Result, due};
use crate::db::{
    Conn, fact,
    label::{self, Label},
    person::{self, Certification},
    product::{self, Product},
};
use crate::domain::{
    label_check::{self, Words},
    user::{self, may_sign_label},
};
use chrono::NaiveDate;
use serde_json::json;
use sha2::{Digest, Sha256};
use uuid::Uuid;

/// Why somebody cannot sign.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Refusal {
    /// No certification at all.
    Uncertified,
    /// Certified in this category once, or not yet: the days of the one that ends last.
    NotThatDay { from: NaiveDate, until: NaiveDate },
    /// Certified, but in these other categories.
    OtherCategory(Vec<String>),
}

impl Refusal {
    /// For the page, with the category that it takes.
    #[must_use]
    pub fn words(&self, category: &str) -> String {
        let takes = format!("Signing this label takes a certification in “{category}” that holds today.");
        match self {
            Self::Uncertified => format!("{takes} None is entered for you."),
            Self::NotThatDay { from, until } => format!(
                "{takes} Yours holds from {} to {}.",
                from.format("%b %-d, %Y"),
                until.format("%b %-d, %Y")
            ),
            Self::OtherCategory(held) => format!("{takes} You are certified in {}.", held.join(", ")),
        }
    }
}

/// The certification under which somebody may sign a label of this category on this day.
///
/// # Errors
/// The refusal, when none of theirs does.
pub fn may_sign<'a>(
    held: &'a [Certification],
    category: &str,
    day: NaiveDate,
) -> Result<&'a Certification, Refusal> {
    let allows = |c: &&Certification| may_sign_label(&[c.facts()], category, day).is_some();
    if let Some(found) = held.iter().find(allows) {
        return Ok(found);
    }
    let same = |c: &&Certification| c.category.trim().eq_ignore_ascii_case(category.trim());
    if let Some(c) = held.iter().filter(same).max_by_key(|c| c.expires_on) {
        return Err(Refusal::NotThatDay { from: c.valid_from, until: c.expires_on });
    }
    if held.is_empty() {
        return Err(Refusal::Uncertified);
    }
    let mut others: Vec<String> = held.iter().map(|c| c.category.clone()).collect();
    others.sort_unstable();
    others.dedup();
    Err(Refusal::OtherCategory(others))
}

/// What the entry lacks before it can be signed.
///
/// # Errors
/// When a stored code is unknown.
pub fn gaps(of: &Product, label: &Label) -> Result<Vec<String>> {
    let v = &label.version;
    let words = Words {
        category: &v.category,
        clothing: &v.clothing,
        precautions: &v.precautions,
        first_aid: &v.first_aid,
    };
    Ok(label_check::missing(&fact::described(of, label)?, words))
}

/// A fingerprint of all that a signer compares: the product's name, number and form, and every part of the
/// entry. SHA-256 in hexadecimal.
#[must_use]
pub fn fingerprint(of: &Product, label: &Label) -> String {
    let v = &label.version;
    let whole = json!({
        "product": [of.name, of.registration_number, of.form],
        "version": [v.id.to_string(), v.number.to_string(), v.label_date.to_string()],
        "category": v.category, "restricted_use": v.restricted_use, "signal_word": v.signal_word,
        "clothing": v.clothing, "precautions": v.precautions, "first_aid": v.first_aid,
        "excluded_hosts": v.excluded_hosts,
        "density": [json!(v.density), json!(v.density_unit)],
        "piece": [json!(v.piece_mass), json!(v.piece_unit)],
        "ingredients": label.ingredients, "caps": label.caps, "uses": label.uses,
    });
    // Keys come out in one order, for the map is sorted.
    let digest = Sha256::digest(whole.to_string().as_bytes());
    digest.iter().fold(String::new(), |out, byte| format!("{out}{byte:02x}"))
}

/// Signs a draft; from then on it stays as it is and is the version in force. `seen` is the
/// [`fingerprint`] of the entry that the signer compared.
///
/// # Errors
/// When the person acting may not sign it that day, when the entry has gaps, when it is no longer the one
/// that was compared, when somebody else signed it, or when a newer version is in force.
pub async fn sign(doer: &Doer, id: Uuid, seen: &str, today: NaiveDate) -> Result<()> {
    let signer = doer.person.ok_or_else(|| Error::refused("A label is signed by a person."))?;
    let mut tx = doer.pool.begin().await?;
    let (of, draft) = hold(&mut tx, id).await?;
    match draft.version.signed_by {
        Some(before) if before == signer => return Ok(()), // sent twice
        Some(_) => return Err(Error::refused("Somebody else has signed this version already.")),
        None => {}
    }
    let held = person::certifications(&mut tx, signer).await?;
    let under = may_sign(&held, &draft.version.category, today)
        .map_err(|why| Error::refused(why.words(&draft.version.category)))?;
    let gaps = gaps(&of, &draft)?;
    if !gaps.is_empty() {
        return Err(Error::refused(format!("The entry still lacks {}.", gaps.join(", "))));
    }
    if seen != fingerprint(&of, &draft) {
        return Err(Error::refused(
            "The entry was changed meanwhile, and is not the one that you compared. Compare it again.",
        ));
    }
    let newer = label::versions_of(&mut tx, of.id).await?.into_iter().find(|v| v.in_force);
    if newer.is_some_and(|v| v.number > draft.version.number) {
        return Err(Error::refused(
            "A newer version is in force. Make a new version from this one to use it.",
        ));
    }
    label::sign(&mut tx, id, signer, under.id, doer.clock.now()).await.map_err(in_words)?;
    let detail = json!({ "certification": under.number, "number": draft.version.number, "product": of.id });
    doer.note(&mut tx, "signed", "label version", id, detail).await?;
    due::recompute_product(&mut tx, doer, of.id).await?;
    tx.commit().await?;
    Ok(())
}

/// The product first, then the version: the order in which new versions take them.
async fn hold(tx: &mut Conn, id: Uuid) -> Result<(Product, Label)> {
    let product_id = label::load(tx, id).await?.ok_or(Error::NotFound)?.version.product_id;
    let of = product::lock(tx, product_id).await?.ok_or(Error::NotFound)?;
    label::lock_version(tx, id).await?;
    // Read again under the lock: it may have changed between the two reads.
    Ok((of, label::load(tx, id).await?.ok_or(Error::NotFound)?))
}

impl Certification {
    /// As the rules read it.
    fn facts(&self) -> user::Certification {
        user::Certification {
            category: self.category.clone(),
            state: self.state.clone(),
            number: self.number.clone(),
            valid_from: self.valid_from,
            expires_on: self.expires_on,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn held(category: &str, from: &str, until: &str) -> Certification {
        Certification {
            id: Uuid::from_u128(1),
            person_id: Uuid::from_u128(2),
            state: "CA".into(),
            category: category.into(),
            number: "QA-1".into(),
            valid_from: from.parse().unwrap(),
            expires_on: until.parse().unwrap(),
        }
    }

    #[test]
    fn a_refusal_names_what_is_there_and_what_it_takes() {
        let day = "2026-11-25".parse().unwrap();
        let why = |held: &[Certification]| may_sign(held, "Landscape", day).unwrap_err().words("Landscape");
        assert!(why(&[]).ends_with("None is entered for you."));
        let old = held("landscape ", "2024-01-01", "2025-12-31");
        assert!(why(std::slice::from_ref(&old)).ends_with("Yours holds from Jan 1, 2024 to Dec 31, 2025."));
        let other = held("structural", "2024-01-01", "2026-12-31");
        assert!(why(std::slice::from_ref(&other)).ends_with("You are certified in structural."));
        let good = held("landscape", "2026-01-01", "2026-11-25");
        assert!(may_sign(&[old, other, good], "Landscape", day).is_ok());
    }
}
