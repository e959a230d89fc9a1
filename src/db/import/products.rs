//! Products out of a table.
use super::stage::TWICE;

pub(super) const CHECKS: [&str; 2] = [
    TWICE,
    "update import_row t set present = true from product p where p.registration_number = t.registration_number",
];

pub(super) const WRITES: [&str; 2] = [
    "insert into product (id, name, registration_number, form, price, price_unit, created_at)
     select id, name, registration_number, form, price::numeric, price_unit, $1 from import_row
     where not present and $2::uuid is not null",
    "insert into product_registration (product_id, state, expires_on)
     select id, registered_in, registered_until::date from import_row
     where not present and registered_in is not null and $1::timestamptz is not null and $2::uuid is not null",
];
