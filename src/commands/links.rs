//! The one-time links that the command line prints, without the address in front.

use anyhow::{Context, bail};
use sqlx::PgPool;
use uuid::Uuid;

use crate::{
    actions::{Doer, account, person},
    clock::Clock,
    config::UserAddConfig,
    db::person::Person,
    domain::user::Role,
};

/// Invites a person; the path of the link that lets them choose a password.
pub(super) async fn invitation(pool: &PgPool, clock: &Clock, new: &UserAddConfig) -> anyhow::Result<String> {
    let Some(role) = Role::from_code(&new.role) else {
        let roles = Role::ALL.map(Role::code).join(", ");
        bail!("there is no role `{}`; give one of {roles}", new.role);
    };
    let person = Person {
        id: Uuid::now_v7(),
        name: new.name.trim().to_owned(),
        email: new.email.trim().to_lowercase(),
        role,
        service_area: String::new(),
        has_password: false,
        retired_at: None,
    };
    let invited = person::invite(&Doer::program(pool, clock), &person).await;
    Ok(format!("/invitation/{}", invited.context("nobody was invited")?))
}

/// The path of the set-up link while nobody has been entered; none afterwards.
pub(super) async fn set_up(pool: &PgPool, clock: &Clock) -> anyhow::Result<Option<String>> {
    let link = account::setup_link(&Doer::program(pool, clock)).await?;
    Ok(link.map(|link| format!("/setup/{link}")))
}
