//! Secrets for cookies and links: 256 random bits, of which only a hash is kept.
use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use sha2::{Digest, Sha256};

/// A fresh secret, safe in an address.
///
/// # Errors
/// When the machine has no randomness to give.
pub fn fresh() -> anyhow::Result<String> {
    let mut bytes = [0u8; 32];
    getrandom::fill(&mut bytes).map_err(|e| anyhow::anyhow!("no randomness: {e}"))?;
    Ok(URL_SAFE_NO_PAD.encode(bytes))
}

/// What the database keeps of a secret. A plain hash is enough: 256 random bits cannot be guessed.
#[must_use]
pub fn hash(secret: &str) -> Vec<u8> {
    Sha256::digest(secret.as_bytes()).to_vec()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn secrets_differ_and_fit_an_address() {
        let (a, b) = (fresh().unwrap(), fresh().unwrap());
        assert_ne!(a, b);
        assert_eq!(a.len(), 43, "256 bits in base64 without padding");
        assert!(a.bytes().all(|c| c.is_ascii_alphanumeric() || c == b'-' || c == b'_'));
    }

    /// FIPS 180-4 example: SHA-256 of "abc".
    #[test]
    fn the_hash_is_sha_256() {
        assert_eq!(hash("abc")[..4], [0xba, 0x78, 0x16, 0xbf]);
    }
}
