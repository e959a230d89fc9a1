//! Sites out of a table, each on land of its own.
use super::stage::{NUMBER_TWICE, TWICE};

pub(super) const CHECKS: [&str; 8] = [
    TWICE,
    NUMBER_TWICE,
    // Whose each is: by number where one is given, else by name.
    "create temp table import_ref on commit drop as
        with named as (select lower(name) as name, min(id::text)::uuid as id, count(*) as many from customer
            where retired_at is null and lower(name) in (select lower(customer) from import_row) group by 1)
        select t.line, coalesce(k.noun_id, n.id) as ref, case when t.customer_number is null then n.many end as many
        from import_row t
        left join import_key k on k.kind = 'customers' and k.key = t.customer_number
        left join named n on t.customer_number is null and n.name = lower(t.customer)",
    "create unique index on import_ref (line)",
    "insert into import_wrong select t.line, 'customer_number', t.customer_number,
        'No customer has this number of the old books. Bring the customers in first, with their numbers.'
     from import_row t join import_ref r using (line) where t.customer_number is not null and r.ref is null",
    "insert into import_wrong select t.line, 'customer', t.customer, case when r.many is null
        then 'There is no customer of this name. Bring the customers in first.'
        else r.many || ' customers have this name. Give the customer''s number of the old books.' end
     from import_row t join import_ref r using (line)
     where t.customer_number is null and coalesce(r.many, 0) <> 1",
    "update import_row t set present = true from import_key k where k.kind = 'sites' and k.key = t.number",
    "update import_row t set present = true where not present and exists (select 1 from site s
        where lower(s.street) = lower(t.street) and lower(s.city) = lower(t.city) and s.zip = t.zip
          and lower(s.name) = lower(coalesce(t.name, '')))",
];

pub(super) const WRITES: [&str; 3] = [
    "insert into parcel (id, lot_sqft, landscaped_sqft, treated_bed_sqft)
     select id, lot_sqft::numeric, landscaped_sqft::numeric, treated_bed_sqft::numeric from import_row
     where not present and $1::timestamptz is not null and $2::uuid is not null",
    "insert into site (id, customer_id, parcel_id, name, street, city, state, zip, county, municipality, latitude,
        longitude, agricultural, water_distance_ft, access_note, service_area, created_at)
     select t.id, r.ref, t.id, coalesce(t.name, ''), t.street, t.city, t.state, t.zip, t.county,
        coalesce(t.municipality, ''), t.latitude::double precision, t.longitude::double precision,
        coalesce(t.agricultural, 'no') = 'yes', t.water_distance_ft::numeric, coalesce(t.access_note, ''),
        coalesce(t.service_area, ''), $1
     from import_row t join import_ref r using (line) where not t.present and $2::uuid is not null",
    "insert into import_key (kind, key, noun_id, import_id)
     select 'sites', number, id, $2 from import_row
     where not present and number is not null and $1::timestamptz is not null",
];
