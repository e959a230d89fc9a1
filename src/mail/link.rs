//! Signed links for customers. A link holds whom it is for, what it opens and until when, and a signature over all
//! of it (HMAC-SHA-256, RFC 2104) with a key that only the company's database has. Nothing about a link is kept:
//! it cannot be guessed, changed, used after its day, for another customer or for another purpose, and it ends for
//! one customer when their count of generations is raised, and for all when the key is.
use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use chrono::{DateTime, Utc};
use hmac::{Hmac, KeyInit, Mac};
use sha2::Sha256;
use uuid::Uuid;

/// What a link opens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// The customer's page.
    Page,
    /// The end of offers by mail.
    NoOffers,
}

impl Purpose {
    fn words(self) -> &'static [u8] {
        match self {
            Self::Page => b"customer page",
            Self::NoOffers => b"no offers",
        }
    }
}

/// What a link says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Claim {
    pub customer: Uuid,
    /// The first moment at which it no longer works.
    pub until: DateTime<Utc>,
    /// The customer's count when it was made.
    pub generation: i32,
}

const CLAIM: usize = 16 + 8 + 4;
const SIGNATURE: usize = 32;

/// The part of the address that carries it.
#[must_use]
pub fn sign(key: &[u8], purpose: Purpose, claim: &Claim) -> String {
    let mut bytes = claimed(claim).to_vec();
    bytes.extend_from_slice(&mac(key, purpose, &bytes).finalize().into_bytes());
    URL_SAFE_NO_PAD.encode(bytes)
}

/// What the link says, where its signature is ours and its day has not come; anything else is nothing.
#[must_use]
pub fn open(key: &[u8], purpose: Purpose, link: &str, now: DateTime<Utc>) -> Option<Claim> {
    // Anything much longer is no link of ours, and is not even decoded.
    if link.len() > 128 {
        return None;
    }
    let bytes = URL_SAFE_NO_PAD.decode(link).ok()?;
    if bytes.len() != CLAIM + SIGNATURE {
        return None;
    }
    let (claim, signature) = bytes.split_at(CLAIM);
    // Compared in constant time by the library.
    mac(key, purpose, claim).verify_slice(signature).ok()?;
    let claim = Claim {
        customer: Uuid::from_slice(&claim[..16]).ok()?,
        until: DateTime::from_timestamp(i64::from_be_bytes(claim[16..24].try_into().ok()?), 0)?,
        generation: i32::from_be_bytes(claim[24..].try_into().ok()?),
    };
    (now < claim.until).then_some(claim)
}

fn claimed(claim: &Claim) -> [u8; CLAIM] {
    let mut bytes = [0; CLAIM];
    bytes[..16].copy_from_slice(claim.customer.as_bytes());
    bytes[16..24].copy_from_slice(&claim.until.timestamp().to_be_bytes());
    bytes[24..].copy_from_slice(&claim.generation.to_be_bytes());
    bytes
}

fn mac(key: &[u8], purpose: Purpose, claim: &[u8]) -> Hmac<Sha256> {
    let mut mac = Hmac::<Sha256>::new_from_slice(key).expect("HMAC takes a key of any length");
    mac.update(purpose.words());
    // The purpose's words hold no NUL, so purpose and claim cannot be read differently.
    mac.update(&[0]);
    mac.update(claim);
    mac
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::TimeDelta;
    use proptest::prelude::*;

    const KEY: [u8; 32] = [7; 32];

    fn now() -> DateTime<Utc> {
        "2026-11-25T18:00:00Z".parse().unwrap()
    }

    fn claim() -> Claim {
        Claim { customer: Uuid::from_u128(42), until: now() + TimeDelta::days(90), generation: 3 }
    }

    /// RFC 4231, test case 2: the library is the HMAC that we mean.
    #[test]
    fn the_signature_is_hmac_sha_256() {
        let mut mac = Hmac::<Sha256>::new_from_slice(b"Jefe").unwrap();
        mac.update(b"what do ya want for nothing?");
        let bytes = mac.finalize().into_bytes();
        assert_eq!(bytes[..8], [0x5b, 0xdc, 0xc1, 0x46, 0xbf, 0x60, 0x75, 0x4e]);
    }

    #[test]
    fn a_link_opens_for_its_purpose_until_its_day() {
        let link = sign(&KEY, Purpose::Page, &claim());
        assert_eq!(open(&KEY, Purpose::Page, &link, now()), Some(claim()));
        assert_eq!(open(&KEY, Purpose::NoOffers, &link, now()), None, "another purpose");
        assert_eq!(open(&[8; 32], Purpose::Page, &link, now()), None, "another key");
        let last = claim().until - TimeDelta::seconds(1);
        assert!(open(&KEY, Purpose::Page, &link, last).is_some());
        assert_eq!(open(&KEY, Purpose::Page, &link, claim().until), None, "its day has come");
        assert!(link.len() <= 80, "it fits a line of a mail: {}", link.len());
    }

    #[test]
    fn every_single_changed_bit_is_found() {
        let bytes = URL_SAFE_NO_PAD.decode(sign(&KEY, Purpose::Page, &claim())).unwrap();
        for bit in 0..bytes.len() * 8 {
            let mut changed = bytes.clone();
            changed[bit / 8] ^= 1 << (bit % 8);
            let link = URL_SAFE_NO_PAD.encode(changed);
            assert_eq!(open(&KEY, Purpose::Page, &link, now()), None, "bit {bit}");
        }
    }

    proptest! {
        #[test]
        fn nothing_typed_opens_anything(link in "[A-Za-z0-9_=+/%-]{0,140}") {
            prop_assert_eq!(open(&KEY, Purpose::Page, &link, now()), None);
        }

        #[test]
        fn no_part_of_one_link_makes_another(a in 0u128.., b in 0u128.., cut in 1usize..60) {
            let link = |n| {
                let claim = Claim { customer: Uuid::from_u128(n), ..claim() };
                URL_SAFE_NO_PAD.decode(sign(&KEY, Purpose::Page, &claim)).unwrap()
            };
            prop_assume!(a != b);
            let mixed = [&link(a)[..cut], &link(b)[cut..]].concat();
            let opened = open(&KEY, Purpose::Page, &URL_SAFE_NO_PAD.encode(mixed.clone()), now());
            let whole = mixed == link(a) || mixed == link(b);
            prop_assert!(opened.is_none() || whole);
        }
    }
}
