//! Passwords: argon2id at the least that OWASP's password storage sheet asks for
//! (19 MiB, two passes, one lane), at most two at a time so that a rush of
//! sign-ins neither fills memory nor starves the pages.
use argon2::{
    Algorithm, Argon2, Params, PasswordHasher, PasswordVerifier, Version, password_hash::phc::PasswordHash,
};
use std::sync::LazyLock;
use tokio::sync::Semaphore;

/// NIST SP 800-63B-4: a password that stands alone has at least 15 characters.
pub const SHORTEST: usize = 15;
/// Long enough for any phrase, short enough not to be a burden.
pub const LONGEST: usize = 200;

static AT_ONCE: Semaphore = Semaphore::const_new(2);

/// Checked when nobody has the e-mail, so that both answers take as long.
static NOBODY: LazyLock<Option<String>> = LazyLock::new(|| hash_now("a password that nobody has").ok());

fn hasher() -> anyhow::Result<Argon2<'static>> {
    let params = Params::new(19 * 1024, 2, 1, None).map_err(|e| anyhow::anyhow!("argon2: {e}"))?;
    Ok(Argon2::new(Algorithm::Argon2id, Version::V0x13, params))
}

fn hash_now(password: &str) -> anyhow::Result<String> {
    let hash: PasswordHash =
        hasher()?.hash_password(password.as_bytes()).map_err(|e| anyhow::anyhow!("argon2: {e}"))?;
    Ok(hash.to_string())
}

/// Why a password will not do, or nothing.
#[must_use]
pub fn weakness(password: &str, email: &str, name: &str) -> Option<String> {
    let count = password.chars().count();
    if count < SHORTEST {
        return Some(format!(
            "Use at least {SHORTEST} characters; a phrase of four or five words does well."
        ));
    }
    if count > LONGEST {
        return Some(format!("Use at most {LONGEST} characters."));
    }
    let plain = password.to_lowercase();
    let mut letters: Vec<char> = plain.chars().collect();
    letters.sort_unstable();
    letters.dedup();
    if letters.len() < 5 || plain == email || plain == name.to_lowercase() {
        return Some("That is too easy to guess; use a phrase of four or five words.".into());
    }
    None
}

/// The hash to keep of a password.
///
/// # Errors
/// When the machine has no memory or randomness to give.
pub async fn hash(password: String) -> anyhow::Result<String> {
    let _turn = AT_ONCE.acquire().await?;
    tokio::task::spawn_blocking(move || hash_now(&password)).await?
}

/// Whether the password belongs to the hash. Without a hash it takes as long and says no.
///
/// # Errors
/// When the check could not be made.
pub async fn verify(password: String, hash: Option<String>) -> anyhow::Result<bool> {
    let _turn = AT_ONCE.acquire().await?;
    tokio::task::spawn_blocking(move || {
        let known = hash.is_some();
        let Some(hash) = hash.or_else(|| NOBODY.clone()) else { return Ok(false) };
        let hash = PasswordHash::new(&hash).map_err(|e| anyhow::anyhow!("stored hash: {e}"))?;
        Ok(hasher()?.verify_password(password.as_bytes(), &hash).is_ok() && known)
    })
    .await?
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_hash_names_its_cost_and_fits_only_its_password() {
        let kept = hash("five green hedges in a row".into()).await.unwrap();
        assert!(kept.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{kept}");
        assert!(verify("five green hedges in a row".into(), Some(kept.clone())).await.unwrap());
        assert!(!verify("five green hedges in a rov".into(), Some(kept)).await.unwrap());
        assert!(!verify("a password that nobody has".into(), None).await.unwrap());
    }

    #[test]
    fn weak_passwords_are_named() {
        for weak in ["short", "aaaaaaaaaaaaaaaaaaaa", "june.harrow@example.test"] {
            assert!(weakness(weak, "june.harrow@example.test", "June Harrow").is_some(), "{weak}");
        }
        assert_eq!(weakness("five green hedges in a row", "x@example.test", "X"), None);
    }
}
