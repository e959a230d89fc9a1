//! Customers out of a table.
use super::stage::{NUMBER_TWICE, TWICE};

pub(super) const CHECKS: [&str; 4] = [
    TWICE,
    NUMBER_TWICE,
    "update import_row t set present = true from import_key k where k.kind = 'customers' and k.key = t.number",
    "update import_row t set present = true where not present and exists (select 1 from customer c
        where lower(c.name) = lower(t.name) and lower(c.street) = lower(coalesce(t.street, ''))
          and lower(c.city) = lower(coalesce(t.city, '')))",
];

/// `$1` when, `$2` the table.
pub(super) const WRITES: [&str; 2] = [
    "insert into customer (id, name, email, phone, street, city, state, zip, note, created_at)
     select id, name, coalesce(email, ''), coalesce(phone, ''), coalesce(street, ''), coalesce(city, ''),
        coalesce(state, ''), coalesce(zip, ''), coalesce(note, ''), $1
     from import_row where not present and $2::uuid is not null",
    "insert into import_key (kind, key, noun_id, import_id)
     select 'customers', number, id, $2 from import_row
     where not present and number is not null and $1::timestamptz is not null",
];
