//! Signing in and out, and the links that let a person choose a password.
use super::{Doer, Error, Result, password, secret};
use crate::db::{company, invitation, person, session};
use crate::domain::user::Role;
use crate::texts::Language;
use chrono::Duration;
use serde_json::json;
use uuid::Uuid;

/// Failures are counted over this long.
const THROTTLE_WINDOW: Duration = Duration::minutes(15);
/// So many failures, and sign-in pauses: for one e-mail from one address of the net, for one address
/// whatever the e-mail, for one e-mail from everywhere. The last is high, so that a stranger cannot
/// lock somebody out from afar with a few tries.
const FAILURES: [i64; 3] = [6, 30, 100];

/// How a sign-in went.
#[derive(Debug)]
pub enum SignIn {
    /// The secret for the cookie.
    Welcome(String),
    /// E-mail and password do not belong together.
    Wrong,
    /// Too many failures; try again when the window has passed.
    Pause,
}

/// Signs a person in.
///
/// # Errors
/// When the database or the hashing fails.
pub async fn sign_in(
    doer: &Doer,
    email: &str,
    given: String,
    address: &str,
    user_agent: &str,
) -> Result<SignIn> {
    let now = doer.clock.now();
    let email = email.trim().to_lowercase();
    let keys = [format!("{email} from {address}"), format!("from {address}"), email.clone()];
    let mut conn = doer.pool.acquire().await?;
    let since = now - THROTTLE_WINDOW;
    for (key, most) in keys.iter().zip(FAILURES) {
        if session::failures(&mut conn, key, since).await? >= most {
            return Ok(SignIn::Pause);
        }
    }
    let known = person::secret_of(&mut conn, &email).await?;
    drop(conn); // the hash takes a while; others need the connection
    let (id, hash) = known.unzip();
    let fits = password::verify(given, hash).await?;
    let mut tx = doer.pool.begin().await?;
    let (Some(id), true) = (id, fits) else {
        session::note_failure(&mut tx, &keys, now).await?;
        tx.commit().await?;
        return Ok(SignIn::Wrong);
    };
    let cookie = secret::fresh()?;
    session::insert(&mut tx, &secret::hash(&cookie), id, &secret::fresh()?, user_agent, now).await?;
    doer.acting(id).note(&mut tx, "signed in", "person", id, json!({})).await?;
    tx.commit().await?;
    Ok(SignIn::Welcome(cookie))
}

/// Ends this session.
///
/// # Errors
/// When the database fails.
pub async fn sign_out(doer: &Doer, secret_hash: &[u8]) -> Result<()> {
    session::delete(&mut *doer.pool.acquire().await?, secret_hash).await?;
    Ok(())
}

/// Chooses the language in which the person reads the field pages.
///
/// # Errors
/// When the database does not answer.
pub async fn choose_language(doer: &Doer, id: Uuid, language: Language) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    person::set_language(&mut tx, id, language.code()).await?;
    doer.note(&mut tx, "chose a language", "person", id, json!({ "language": language.code() })).await?;
    tx.commit().await?;
    Ok(())
}

/// Ends every session of a person; how many there were.
///
/// # Errors
/// When the database fails.
pub async fn sign_out_everywhere(doer: &Doer, id: Uuid) -> Result<u64> {
    let mut tx = doer.pool.begin().await?;
    let count = session::delete_all(&mut tx, id).await?;
    doer.note(&mut tx, "signed out everywhere", "person", id, json!({})).await?;
    tx.commit().await?;
    Ok(count)
}

/// Takes up an invitation: the person chooses a password and every older session ends.
///
/// # Errors
/// When the link is spent or the password too weak (field `password`).
pub async fn accept(doer: &Doer, link: &str, given: String) -> Result<()> {
    let now = doer.clock.now();
    let hash = secret::hash(link);
    let invited =
        invitation::find_open(&mut *doer.pool.acquire().await?, &hash, now).await?.ok_or(Error::NotFound)?;
    strong_enough(&given, &invited.email, &invited.name)?;
    let kept = password::hash(given).await?;
    let mut tx = doer.pool.begin().await?;
    if !invitation::use_up(&mut tx, &hash, now).await? {
        return Err(Error::NotFound);
    }
    person::set_password(&mut tx, invited.person_id, &kept).await?;
    session::delete_all(&mut tx, invited.person_id).await?;
    doer.acting(invited.person_id)
        .note(&mut tx, "chose a password", "person", invited.person_id, json!({}))
        .await?;
    tx.commit().await?;
    Ok(())
}

/// The secret of a fresh set-up link, while nobody has been entered yet.
///
/// # Errors
/// When the database fails.
pub async fn setup_link(doer: &Doer) -> Result<Option<String>> {
    let mut tx = doer.pool.begin().await?;
    if person::anyone(&mut tx).await? {
        return Ok(None);
    }
    let link = secret::fresh()?;
    invitation::save_setup(&mut tx, &secret::hash(&link), doer.clock.now()).await?;
    tx.commit().await?;
    Ok(Some(link))
}

/// What the first person enters: themselves, and the company.
#[derive(Debug)]
pub struct SetUp {
    pub name: String,
    pub email: String,
    pub password: String,
    pub company: company::Company,
}

/// The first set-up: makes the company and its owner. Works once.
///
/// # Errors
/// When the link is spent or the password too weak (field `password`).
pub async fn set_up(doer: &Doer, link: &str, new: SetUp) -> Result<()> {
    let now = doer.clock.now();
    strong_enough(&new.password, &new.email, &new.name)?;
    let kept = password::hash(new.password).await?;
    let mut tx = doer.pool.begin().await?;
    if !invitation::use_up_setup(&mut tx, &secret::hash(link)).await? {
        return Err(Error::NotFound);
    }
    let owner = person::Person {
        id: Uuid::now_v7(),
        name: new.name,
        email: new.email,
        role: Role::Owner,
        service_area: String::new(),
        has_password: false,
        retired_at: None,
    };
    company::save(&mut tx, &new.company).await?;
    person::insert(&mut tx, &owner, now).await?;
    person::set_password(&mut tx, owner.id, &kept).await?;
    doer.acting(owner.id).note(&mut tx, "set the company up", "person", owner.id, json!({})).await?;
    tx.commit().await?;
    Ok(())
}

fn strong_enough(given: &str, email: &str, name: &str) -> Result<()> {
    password::weakness(given, email, name).map_or(Ok(()), |words| Err(Error::field("password", words)))
}

/// Forgets sessions older than the limit, and failures that no longer count.
///
/// # Errors
/// When the database fails.
pub async fn sweep(doer: &Doer, session_limit: Duration) -> Result<()> {
    let now = doer.clock.now();
    let mut conn = doer.pool.acquire().await?;
    Ok(session::sweep(&mut conn, now - session_limit, now - THROTTLE_WINDOW).await?)
}
