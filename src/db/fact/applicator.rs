//! Who would apply, as the rules of states ask about them.
use crate::db::{Conn, person};
use crate::domain::{
    calendar::add_months,
    due::HORIZON_MONTHS,
    permission::{Applicator, Course},
};
use chrono::NaiveDate;
use uuid::Uuid;

/// The person, with what they and a supervisor hold in that state on that day. Somebody without a
/// certification counts as supervised only under a named supervisor who has one; the courses are always those
/// of the person who applies.
///
/// # Errors
/// When the database does not answer.
pub async fn applicator(
    conn: &mut Conn,
    id: Uuid,
    supervisor: Option<Uuid>,
    state: &str,
    on: NaiveDate,
) -> sqlx::Result<Applicator> {
    let own = person::categories_on(conn, id, state, on).await?;
    let theirs = match supervisor {
        Some(other) if own.is_empty() => person::categories_on(conn, other, state, on).await?,
        _ => vec![],
    };
    let supervised = own.is_empty() && !theirs.is_empty();
    Ok(Applicator {
        certified: !own.is_empty() || supervised,
        supervised,
        categories: if supervised { theirs } else { own },
        courses: person::courses(conn, id).await?.into_iter().map(|one| one.taken()).collect(),
    })
}

/// The same for the state of a parcel.
///
/// # Errors
/// When the database does not answer.
pub async fn person_as_applicator(
    conn: &mut Conn,
    id: Uuid,
    supervisor: Option<Uuid>,
    parcel: Uuid,
    on: NaiveDate,
) -> sqlx::Result<Applicator> {
    let state = super::rows::state(conn, parcel).await?;
    applicator(conn, id, supervisor, &state, on).await
}

/// What those at work hold together in the parcel's state on that day: due days ask whether the company may do
/// the work at all, a booking asks who comes. A course that counts on that day is expected to be taken again
/// every year, as registrations are expected to be renewed.
///
/// # Errors
/// When the database does not answer.
pub async fn company_as_applicator(conn: &mut Conn, parcel: Uuid, on: NaiveDate) -> sqlx::Result<Applicator> {
    let state = super::rows::state(conn, parcel).await?;
    company_in(conn, &state, on).await
}

/// The same for a state.
pub(super) async fn company_in(conn: &mut Conn, state: &str, on: NaiveDate) -> sqlx::Result<Applicator> {
    let categories = person::company_categories(conn, state, on).await?;
    let courses = person::company_courses(conn, state).await?.into_iter().map(|one| one.taken());
    let counting = courses.filter(|one| one.on <= on && on <= one.last_day());
    let renewed = |one: Course| {
        (0..=HORIZON_MONTHS / 12 + 1).map(move |years| Course {
            state: one.state.clone(),
            on: add_months(one.on, years * 12),
            until: None,
        })
    };
    Ok(Applicator {
        certified: !categories.is_empty(),
        supervised: false,
        categories,
        courses: counting.take(1).flat_map(renewed).collect(),
    })
}

/// What the company can show in each state on that day, as far as due days depend on it.
///
/// # Errors
/// When the database does not answer.
pub async fn company_holds(conn: &mut Conn, on: NaiveDate) -> sqlx::Result<Vec<(String, String)>> {
    let mut held = person::company_certifications(conn, on).await?;
    let states: Vec<String> = person::course_states(conn).await?;
    for state in states {
        let courses = person::company_courses(conn, &state).await?.into_iter().map(|one| one.taken());
        let days = courses.filter(|one| one.on <= on && on <= one.last_day()).map(|one| one.on).take(1);
        held.extend(days.map(|day| (state.clone(), format!("course {day}"))));
    }
    Ok(held)
}
