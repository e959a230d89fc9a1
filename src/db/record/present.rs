//! Which of the things that states ask for a version holds.
use super::{Item, Version};
use crate::{db::Conn, domain::record::Field};
use std::collections::BTreeSet;
use uuid::Uuid;

/// What the version holds. Something that every item must state counts only where all of them do.
#[must_use]
pub fn present(version: &Version) -> BTreeSet<Field> {
    let head = &version.head;
    let all = |has: fn(&Item) -> bool| !version.items.is_empty() && version.items.iter().all(has);
    let certified = !head.applicator_certification.is_empty();
    let supervised = !head.supervisor_certification.is_empty();
    let zip = head.site_address.split_whitespace().last().is_some_and(five_digits);
    let stated = [
        (Field::Date, true),
        (Field::StartTime, head.started_at.is_some()),
        (Field::EndTime, head.finished_at.is_some()),
        (Field::Customer, !head.customer_name.is_empty()),
        (Field::CustomerAddress, !head.customer_address.is_empty()),
        (Field::SiteAddress, !head.site_address.is_empty()),
        (Field::SiteZip, zip),
        (Field::County, !head.site_county.is_empty()),
        (Field::Treated, all(|i| !i.host_plant.is_empty() || !i.plant_words.is_empty())),
        // A plant record says how many plants it stands for; other ground needs its area.
        (Field::Size, head.area_treated_sqft.is_some() || all(|i| i.plant_id.is_some())),
        (Field::TargetPest, all(|i| !i.target_pest.is_empty())),
        (Field::Product, all(|i| !i.product_name.is_empty())),
        (Field::RegistrationNumber, all(|i| !i.registration_number.is_empty())),
        (Field::Amount, all(|_| true)),
        (Field::Rate, all(|i| i.rate.is_some())),
        (Field::Mixture, all(|i| i.water.is_some())),
        (Field::Method, all(|i| !i.method.is_empty())),
        (Field::Applicator, !head.applicator_name.is_empty()),
        (Field::CertificationNumber, certified || supervised),
        // Who is certified works under nobody.
        (Field::Supervisor, certified || supervised),
        (Field::WindSpeed, head.wind_mph.is_some()),
        (Field::WindDirection, !head.wind_direction.is_empty()),
        (Field::AirTemperature, head.temperature_f.is_some()),
    ];
    stated.into_iter().filter(|(_, holds)| *holds).map(|(field, _)| field).collect()
}

fn five_digits(text: &str) -> bool {
    text.len() >= 5 && text.bytes().take(5).all(|b| b.is_ascii_digit())
}

/// Which of these label versions are of restricted-use products.
///
/// # Errors
/// When the database does not answer.
pub async fn restricted_among(conn: &mut Conn, versions: &[Uuid]) -> sqlx::Result<Vec<Uuid>> {
    sqlx::query_scalar("select id from label_version where restricted_use and id = any($1)")
        .bind(versions)
        .fetch_all(conn)
        .await
}
